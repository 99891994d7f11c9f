#include "reach/secret.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "house/yaml.h"

enum { FILE_MAX_BYTES = 1024 * 1024, FILE_MODE = 0600 };

/* ---- one passphrase ---- */

bool secret_make(char out[SECRET_BYTES])
{
    enum { N = sizeof SECRET_ALPHABET - 1, FAIR = 256 / N * N }; /* bytes from FAIR on would favour some letters */
    unsigned n = 0;
    size_t at = 0;
    while (n < SECRET_LETTERS) {
        unsigned char byte;
        const ssize_t got = getrandom(&byte, 1, 0);
        if (got < 0 && errno == EINTR)
            continue;
        if (got != 1)
            return false;
        if (byte >= FAIR)
            continue;
        if (n && n % SECRET_GROUP == 0)
            out[at++] = '-';
        out[at++] = SECRET_ALPHABET[byte % N];
        n++;
    }
    out[at] = '\0';
    return true;
}

bool secret_is_passphrase(struct str s)
{
    for (size_t i = 0; i < s.n; i++)
        if (s.p[i] < 32 || s.p[i] > 126)
            return false;
    return s.n >= 8 && s.n <= 63;
}

/* ---- the file ---- */

const char *secrets_path(struct arena *a, const char *house_path)
{
    static const char END[] = ".house.yaml";
    const size_t n = strlen(house_path), end = sizeof END - 1;
    const size_t stem = n > end && strcmp(house_path + n - end, END) == 0 ? n - end : n;
    return arena_printf(a, "%.*s.secrets.yaml", (int)stem, house_path);
}

struct reading {
    struct arena *arena;
    const char *path;
    struct rt_problems *p;
    struct str bytes;
    const struct yaml_node *passphrases; /* NULL: none yet */
};

static enum rt_code fail_at(const struct reading *r, enum rt_code code, uint32_t line, const char *hint,
                            const char *what)
{
    return rt_fail(r->p, code, (struct rt_place){ .file = r->path, .line = line, .col = line ? 1 : 0 }, hint, "%s",
                   what);
}

/* Nobody else may read it: checked before its bytes are. */
static enum rt_code check_mode(const struct reading *r, bool *exists)
{
    struct stat st;
    *exists = lstat(r->path, &st) == 0;
    if (!*exists)
        return errno == ENOENT ? RT_OK : fail_at(r, RT_IO, 0, NULL, "the file of secrets cannot be looked at");
    if (!S_ISREG(st.st_mode))
        return fail_at(r, RT_CONFLICT, 0, "move it away", "the file of secrets is not a plain file");
    if ((st.st_mode & 077) == 0)
        return RT_OK;
    return rt_fail(r->p, RT_CONFLICT, (struct rt_place){ .file = r->path },
                   "say: chmod 600 on it; then change the "
                   "passphrases that others may have read",
                   "others than its owner may get at the file of secrets: its mode is %04o, and must be 0600",
                   (unsigned)(st.st_mode & 07777));
}

/* Messages of the YAML reader may quote what they stumble over, so they go no further than here. */
static enum rt_code read_tree(struct reading *r)
{
    static const struct yaml_limits LIMITS = { .depth = 4, .aliases = 0, .items = HOUSE_MAX_ITEMS, .weight = 20000 };
    struct rt_problems quiet;
    const struct yaml_node *root = NULL;
    rt_problems_init(&quiet, r->arena);
    RT_TRY(file_read(r->arena, r->path, FILE_MAX_BYTES, &r->bytes, r->p));
    const enum rt_code code = yaml_read(r->arena, r->path, r->bytes, &LIMITS, &root, &quiet);
    if (code == RT_NOMEM)
        return rt_fail_memory(r->p);
    const uint32_t line = quiet.list.n ? quiet.list.v[0].at.line : 0;
    if (code || !root || root->kind != YAML_MAP)
        return fail_at(r, code ? code : RT_SHAPE, line, "each line reads `SSID: passphrase`, under `passphrases:`",
                       "the file of secrets cannot be read");
    const struct yaml_node *version = yaml_get(root, "rooftree_secrets");
    if (!version || version->kind != YAML_WORD || !str_is(version->text, "1"))
        return fail_at(r, RT_SHAPE, 1, "the first key is `rooftree_secrets: 1`", "this is not a file of secrets");
    const struct yaml_node *map = yaml_get(root, "passphrases");
    if (!map || (map->kind == YAML_WORD && map->is_null))
        return fail_at(r, RT_SHAPE, 1, "put `passphrases:` at its end, or move the file away to have a new one made",
                       "the file of secrets has no passphrases");
    if (map->kind != YAML_MAP || map->is_flow)
        return fail_at(r, RT_SHAPE, map->at.line, "each on a line of its own: `SSID: passphrase`",
                       "the passphrases are not written one below the other");
    r->passphrases = map;
    return RT_OK;
}

static enum rt_code take_known(const struct reading *r, const struct house *h, struct secrets *s)
{
    for (uint32_t i = 0; r->passphrases && i < r->passphrases->pairs.n; i++) {
        const struct yaml_pair pair = r->passphrases->pairs.v[i];
        if (pair.value->kind != YAML_WORD || !secret_is_passphrase(pair.value->text))
            return fail_at(r, RT_RANGE, pair.key->at.line, "8 to 63 letters, digits and signs of plain ASCII",
                           "this is not a passphrase that Wi-Fi can have");
        for (uint32_t k = 0; k < h->ssids.n; k++)
            if (str_eq(h->ssids.v[k].id, pair.key->text))
                s->passphrases.v[k] = pair.value->text;
    }
    return RT_OK;
}

static const char HEAD[] =
    "# Passphrases of the house. Keep this file to yourself: mode 0600, in no version store, in no mail.\n"
    "# A passphrase may be changed here; `rooftree export --with-secrets` then carries it on.\n"
    "rooftree_secrets: 1\n"
    "passphrases:\n";

static bool takes_passphrase(const struct ssid *s)
{
    return s->security != SECURITY_OPEN && s->security != SECURITY_OWE;
}

/* Adds what is missing behind the last passphrase; the rest of the file keeps its bytes. */
static enum rt_code make_missing(const struct reading *r, const struct house *h, struct secrets *s)
{
    struct buf out = { .arena = r->arena };
    const size_t end = r->passphrases ? r->passphrases->end : 0;
    buf_add(&out, r->passphrases ? r->bytes.p : HEAD, r->passphrases ? end : sizeof HEAD - 1);
    if (out.n && out.p[out.n - 1] != '\n')
        buf_char(&out, '\n');
    const unsigned indent = r->passphrases && r->passphrases->pairs.n ? r->passphrases->pairs.v[0].key->at.col - 1 : 2;
    for (uint32_t k = 0; k < h->ssids.n; k++) {
        char made[SECRET_BYTES];
        if (s->passphrases.v[k].n || !takes_passphrase(&h->ssids.v[k]))
            continue;
        if (!secret_make(made))
            return rt_fail(r->p, RT_MISSING, RT_NOWHERE, NULL, "the system gives no random numbers");
        s->passphrases.v[k] = str_dup(r->arena, str_from(made));
        if (!s->passphrases.v[k].p)
            return rt_fail_memory(r->p);
        buf_fill(&out, ' ', indent);
        buf_printf(&out, "%.*s: %s\n", STR_ARG(h->ssids.v[k].id), made);
        s->n_made++;
    }
    if (!s->n_made)
        return RT_OK;
    if (r->passphrases)
        buf_add(&out, r->bytes.p + end, r->bytes.n - end);
    return out.failed ? rt_fail_memory(r->p) : file_write(r->path, buf_done(&out), FILE_MODE, r->p);
}

enum rt_code secrets_open(const struct run *run, const struct house *h, struct secrets **out, struct rt_problems *p)
{
    struct secrets *s = ARENA_NEW(run->arena, struct secrets);
    *out = NULL;
    if (s)
        s->passphrases = (str_list){ ARENA_ARRAY(run->arena, struct str, h->ssids.n), h->ssids.n };
    struct reading r = { .arena = run->arena, .path = h->path ? secrets_path(run->arena, h->path) : NULL, .p = p };
    if (!s || !s->passphrases.v || !r.path)
        return rt_fail_memory(p);
    s->path = r.path;
    bool exists;
    RT_TRY(check_mode(&r, &exists));
    if (exists)
        RT_TRY(read_tree(&r));
    RT_TRY(take_known(&r, h, s));
    RT_TRY(make_missing(&r, h, s));
    *out = s;
    return RT_OK;
}
