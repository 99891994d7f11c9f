/* Pages of a PDF through poppler's programs, which are under the GPL and so are never linked, only run. */
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/pidfd.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "web/picture.h"

enum {
    SECONDS = 30, /* of the clock; of the processor as well */
    OUTPUT_MOST = 64 << 20,
    WORDS_MOST = 4000 /* of what it says */
};
static const rlim_t MEMORY_MOST = (rlim_t)2 << 30;

/* Where Debian's packages and a user's own are. */
static const char *const PLACES[] = { "/usr/bin", "/usr/local/bin" };

static const char *find_program(struct arena *a, const char *name)
{
    for (size_t i = 0; i < RT_COUNT(PLACES); i++) {
        const char *path = arena_printf(a, "%s/%s", PLACES[i], name);
        if (path && access(path, X_OK) == 0)
            return path;
    }
    return NULL;
}

/* ---- a process of its own ---- */

struct child {
    int in, out, said; /* files in memory: what it reads, what it writes, what it says */
    int status;
    bool is_late;
};

static bool limit(int what, rlim_t most)
{
    const struct rlimit both = { most, most };
    return setrlimit((__rlimit_resource_t)what, &both) == 0;
}

/* In the child: nothing of ours stays open but its three files, and what it may use is bounded. */
static _Noreturn void become(const struct child *c, const char *path, char *const words[])
{
    char language[] = "LC_ALL=C";
    char *const environment[] = { language, NULL };
    if (dup2(c->in, STDIN_FILENO) < 0 || dup2(c->out, STDOUT_FILENO) < 0 || dup2(c->said, STDERR_FILENO) < 0 ||
        close_range(STDERR_FILENO + 1, ~0U, 0) != 0 || chdir("/") != 0 || !limit(RLIMIT_CORE, 0) ||
        !limit(RLIMIT_CPU, SECONDS) || !limit(RLIMIT_FSIZE, OUTPUT_MOST) || !limit(RLIMIT_AS, MEMORY_MOST))
        _exit(126);
    execve(path, words, environment);
    _exit(127);
}

/* False: no process could be begun. */
static bool run(struct child *c, const char *path, char *const words[])
{
    const pid_t pid = fork();
    if (pid == 0)
        become(c, path, words);
    if (pid < 0)
        return false;
    const int handle = pidfd_open(pid, 0);
    struct pollfd ended = { .fd = handle, .events = POLLIN };
    int got = -1;
    if (handle >= 0)
        do
            got = poll(&ended, 1, SECONDS * 1000);
        while (got < 0 && errno == EINTR);
    c->is_late = got <= 0;
    if (c->is_late)
        (void)kill(pid, SIGKILL);
    while (waitpid(pid, &c->status, 0) < 0 && errno == EINTR)
        continue;
    if (handle >= 0)
        close(handle);
    return true;
}

static bool fill(int file, struct str bytes)
{
    for (size_t done = 0; done < bytes.n;) {
        const ssize_t n = write(file, bytes.p + done, bytes.n - done);
        if (n <= 0)
            return false;
        done += (size_t)n;
    }
    return lseek(file, 0, SEEK_SET) == 0;
}

static bool take(struct arena *a, int file, size_t most, struct str *out)
{
    struct stat st;
    if (fstat(file, &st) != 0 || st.st_size < 0)
        return false;
    const size_t n = (size_t)st.st_size < most ? (size_t)st.st_size : most;
    char *bytes = ARENA_ARRAY(a, char, n + 1);
    size_t done = 0;
    while (bytes && done < n) {
        const ssize_t got = pread(file, bytes + done, n - done, (off_t)done);
        if (got <= 0)
            return false;
        done += (size_t)got;
    }
    *out = (struct str){ bytes, n };
    return bytes != NULL;
}

static enum rt_code open_files(struct child *c, struct str pdf, struct rt_problems *p)
{
    c->in = memfd_create("pdf", MFD_CLOEXEC);
    c->out = memfd_create("out", MFD_CLOEXEC);
    c->said = memfd_create("said", MFD_CLOEXEC);
    return c->in >= 0 && c->out >= 0 && c->said >= 0 && fill(c->in, pdf)
               ? RT_OK
               : rt_fail(p, RT_IO, RT_NOWHERE, "close something else", "there is no room for the PDF: %s",
                         strerror(errno));
}

static void close_files(const struct child *c)
{
    const int files[] = { c->in, c->out, c->said };
    for (size_t i = 0; i < RT_COUNT(files); i++)
        if (files[i] >= 0)
            close(files[i]);
}

static bool says(struct str said, const char *words) { return memmem(said.p, said.n, words, strlen(words)) != NULL; }

/* Why it did not end well, from its status and what it said. */
static enum rt_code judge(const struct child *c, struct str said, struct rt_problems *p)
{
    if (c->is_late || (WIFSIGNALED(c->status) && (WTERMSIG(c->status) == SIGXCPU || WTERMSIG(c->status) == SIGXFSZ)))
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "print the page as a picture with another program, and send that",
                       "the PDF takes too long to draw, or becomes too large");
    if (says(said, "Incorrect password"))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "save it without a password, and send that",
                       "the PDF is locked with a password");
    if (says(said, "Wrong page range"))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "the PDF has no such page");
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "see that it opens in another program, and send it again",
                   "the PDF is damaged, or none of its pages can be drawn");
}

/* One of poppler's programs over the PDF; words end with NULL, the first is its name. */
static enum rt_code ask(struct arena *a, struct str pdf, char *const words[], struct str *out, struct rt_problems *p)
{
    struct child c = { -1, -1, -1, 0, false };
    struct str said = { 0 };
    const char *path = find_program(a, words[0]);
    if (!path)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install the package poppler-utils, or send the page as PNG or JPEG",
                       "a PDF is drawn by %s, which is not on this machine", words[0]);
    enum rt_code code = open_files(&c, pdf, p);
    if (!code && !run(&c, path, words))
        code = rt_fail(p, RT_IO, RT_NOWHERE, "close something else", "the system starts no further process");
    if (!code && (!take(a, c.out, OUTPUT_MOST, out) || !take(a, c.said, WORDS_MOST, &said)))
        code = rt_fail_memory(p);
    if (!code && (c.is_late || !WIFEXITED(c.status) || WEXITSTATUS(c.status) != 0))
        code = judge(&c, said, p);
    close_files(&c);
    return code;
}

/* ---- what is asked ---- */

enum rt_code pdf_pages(struct arena *a, struct str pdf, uint32_t *pages, struct rt_problems *p)
{
    static const char KEY[] = "\nPages:";
    char name[] = "pdfinfo", input[] = "-";
    char *const words[] = { name, input, NULL };
    struct str told = { 0 };
    *pages = 0;
    RT_TRY(ask(a, pdf, words, &told, p));
    const char *at = memmem(told.p, told.n, KEY, sizeof KEY - 1);
    const long n = at ? strtol(at + sizeof KEY - 1, NULL, 10) : 0; /* a NUL stands behind what was told */
    if (n < 1)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, NULL, "the PDF has no page");
    if (n > PICTURE_MOST_PAGES)
        return rt_fail(p, RT_LIMIT, RT_NOWHERE, "send the page with the plan alone",
                       "the PDF has %ld pages, which are more than are looked through", n);
    *pages = (uint32_t)n;
    return RT_OK;
}

enum rt_code pdf_page(struct arena *a, struct str pdf, uint32_t page, struct str *png, struct picture *size,
                      struct rt_problems *p)
{
    char name[] = "pdftoppm", form[] = "-png", single[] = "-singlefile", from[] = "-f", to[] = "-l",
         scale[] = "-scale-to", side[] = "4000", input[] = "-", number[12];
    char *const words[] = { name, form, single, from, number, to, number, scale, side, input, NULL };
    snprintf(number, sizeof number, "%u", page);
    RT_TRY(ask(a, pdf, words, png, p));
    const enum rt_code code = picture_look(*png, size, p);
    return code || size->kind == PICTURE_PNG ? code
                                             : rt_fail(p, RT_SHAPE, RT_NOWHERE, NULL, "the page could not be drawn");
}
