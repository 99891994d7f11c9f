#include "namespace.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static const char *unshare_words(void) { return geteuid() == 0 ? "unshare -n" : "unshare -rn"; }

static int run_words(struct check_run *c, const char *words, struct str *output)
{
    struct buf out = { .arena = c->run.arena };
    char *quoted = arena_printf(c->run.arena, "exec %s sh -c '%s' 2>&1", unshare_words(), words);
    FILE *f = quoted ? popen(quoted, "r") : NULL;
    if (!f)
        fail_msg("cannot run %s: %s", words, strerror(errno));
    char piece[4096];
    for (size_t n; (n = fread(piece, 1, sizeof piece, f)) > 0;)
        buf_add(&out, piece, n);
    const int status = pclose(f);
    *output = buf_done(&out);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

bool namespace_allowed(void)
{
    struct check_run c = check_run_begin();
    struct str output = { 0 };
    const bool ok = run_words(&c, "nft add table inet t && nft list tables", &output) == 0;
    if (!ok)
        print_message("    skipped: no network namespace with a packet filter may be made here: %.*s\n",
                      STR_ARG(output));
    check_run_end(&c);
    return ok;
}

int namespace_run(struct check_run *c, const char *words, struct str *output)
{
    if (strchr(words, '\''))
        fail_msg("no single quotes in %s", words);
    return run_words(c, words, output);
}

const char *namespace_file(struct check_run *c, struct str text)
{
    const char *folder = getenv("TMPDIR");
    char *path = arena_printf(c->run.arena, "%s/rooftree-test-XXXXXX", folder ? folder : "/tmp");
    const int fd = path ? mkstemp(path) : -1;
    FILE *f = fd >= 0 ? fdopen(fd, "w") : NULL;
    if (!f || fwrite(text.p, 1, text.n, f) != text.n || fclose(f) != 0)
        fail_msg("cannot write %s: %s", path ? path : "a file", strerror(errno));
    return path;
}
