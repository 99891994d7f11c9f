#include "web/store.h"

#include <sqlite3.h>
#include <string.h>

#include "base/file.h"

struct store {
    sqlite3 *db;
    const char *path;
};

/* bytes are kept whole: a house file is small, and a whole state can be restored even if a neighbour's is damaged.  `marked` counts up
 * with each mark, so that redo finds the child the user was at last. */
static const char SCHEMA[] =
    "CREATE TABLE IF NOT EXISTS revision (house TEXT NOT NULL, number INTEGER NOT NULL, parent INTEGER NOT NULL,"
    " at_s INTEGER NOT NULL, what TEXT NOT NULL, bytes BLOB NOT NULL, kept INTEGER NOT NULL DEFAULT -1,"
    " broken INTEGER NOT NULL DEFAULT -1, unknown INTEGER NOT NULL DEFAULT -1, marked INTEGER NOT NULL DEFAULT 0,"
    " PRIMARY KEY (house, number)) WITHOUT ROWID;"
    "CREATE TABLE IF NOT EXISTS mark (house TEXT PRIMARY KEY, number INTEGER NOT NULL) WITHOUT ROWID;";

#define COLUMNS "number, parent, at_s, what, kept, broken, unknown"

static enum rt_code failed(struct store *s, struct rt_problems *p)
{
    const int code = sqlite3_errcode(s->db);
    if (code == SQLITE_NOMEM)
        return rt_fail_memory(p);
    return rt_fail(
        p, RT_IO, RT_NOWHERE,
        "see that the folder can be written and has room; the file itself may be moved away: the history begins anew",
        "the history of changes, %s, cannot be used: %s", s->path, sqlite3_errmsg(s->db));
}

/* ---- statements ---- */

/* A statement under way; the first thing that goes wrong is kept. */
struct ask {
    struct store *s;
    sqlite3_stmt *stmt;
    int n_bound;
    bool is_bad;
};

static struct ask begin(struct store *s, const char *sql)
{
    struct ask q = { .s = s };
    q.is_bad = sqlite3_prepare_v2(s->db, sql, -1, &q.stmt, NULL) != SQLITE_OK;
    return q;
}

static void bind_text(struct ask *q, struct str text)
{
    q->is_bad = q->is_bad || sqlite3_bind_text(q->stmt, ++q->n_bound, text.n ? text.p : "", (int)text.n,
                                               SQLITE_TRANSIENT) != SQLITE_OK;
}

static void bind_bytes(struct ask *q, struct str bytes)
{
    q->is_bad = q->is_bad || sqlite3_bind_blob(q->stmt, ++q->n_bound, bytes.n ? bytes.p : "", (int)bytes.n,
                                               SQLITE_TRANSIENT) != SQLITE_OK;
}

static void bind_int(struct ask *q, int64_t value)
{
    q->is_bad = q->is_bad || sqlite3_bind_int64(q->stmt, ++q->n_bound, value) != SQLITE_OK;
}

/* True: there is a row. */
static bool next(struct ask *q)
{
    if (q->is_bad)
        return false;
    const int code = sqlite3_step(q->stmt);
    q->is_bad = code != SQLITE_ROW && code != SQLITE_DONE;
    return code == SQLITE_ROW;
}

static enum rt_code end(struct ask *q, struct rt_problems *p)
{
    const enum rt_code code = q->is_bad ? failed(q->s, p) : RT_OK;
    sqlite3_finalize(q->stmt);
    return code;
}

static enum rt_code run(struct ask *q, struct rt_problems *p)
{
    (void)next(q);
    return end(q, p);
}

/* ---- opening ---- */

enum rt_code store_open(struct arena *a, const char *folder, struct store **out, struct rt_problems *p)
{
    struct store *s = ARENA_NEW(a, struct store);
    const char *home = arena_printf(a, "%s/.rooftree", folder);
    *out = NULL;
    if (!s || !home || !(s->path = arena_printf(a, "%s/revisions.sqlite", home)))
        return rt_fail_memory(p);
    RT_TRY(file_make_folder(home, p));
    const int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_FULLMUTEX | SQLITE_OPEN_NOFOLLOW;
    enum rt_code code = RT_OK;
    if (sqlite3_open_v2(s->path, &s->db, flags, NULL) != SQLITE_OK || sqlite3_busy_timeout(s->db, 5000) != SQLITE_OK ||
        sqlite3_exec(s->db, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;", NULL, NULL, NULL) != SQLITE_OK ||
        sqlite3_exec(s->db, SCHEMA, NULL, NULL, NULL) != SQLITE_OK)
        code = failed(s, p);
    if (code) {
        store_close(s);
        return code;
    }
    *out = s;
    return RT_OK;
}

void store_close(struct store *s)
{
    if (s)
        sqlite3_close_v2(s->db);
}

/* ---- reading ---- */

static struct str column_bytes(struct ask *q, struct arena *a, int column)
{
    const void *bytes = sqlite3_column_blob(q->stmt, column);
    const int n = sqlite3_column_bytes(q->stmt, column);
    const struct str kept = str_dup(a, (struct str){ bytes, bytes ? (size_t)n : 0 });
    q->is_bad = q->is_bad || !kept.p;
    return kept;
}

/* Of a row that begins with COLUMNS. */
static void read_row(struct ask *q, struct arena *a, struct revision *out)
{
    *out = (struct revision){ .number = sqlite3_column_int64(q->stmt, 0),
                              .parent = sqlite3_column_int64(q->stmt, 1),
                              .at_s = sqlite3_column_int64(q->stmt, 2),
                              .what = column_bytes(q, a, 3),
                              .kept = sqlite3_column_int(q->stmt, 4),
                              .broken = sqlite3_column_int(q->stmt, 5),
                              .unknown = sqlite3_column_int(q->stmt, 6) };
}

/* The one row of an ask, if there is one; bytes: its eighth column. */
static enum rt_code read_one(struct ask *q, struct arena *a, struct revision *out, struct str *bytes,
                             struct rt_problems *p)
{
    *out = (struct revision){ 0 };
    if (next(q)) {
        read_row(q, a, out);
        if (bytes)
            *bytes = column_bytes(q, a, 7);
    }
    return end(q, p);
}

enum rt_code store_marked(struct store *s, struct arena *a, struct str house, struct revision *out, struct str *bytes,
                          struct rt_problems *p)
{
    struct ask q = begin(s, "SELECT " COLUMNS ", bytes FROM revision JOIN mark USING (house, number) WHERE house = ?");
    bind_text(&q, house);
    return read_one(&q, a, out, bytes, p);
}

enum rt_code store_read(struct store *s, struct arena *a, struct str house, int64_t number, struct revision *out,
                        struct str *bytes, struct rt_problems *p)
{
    struct ask q = begin(s, "SELECT " COLUMNS ", bytes FROM revision WHERE house = ? AND number = ?");
    bind_text(&q, house);
    bind_int(&q, number);
    RT_TRY(read_one(&q, a, out, bytes, p));
    return out->number ? RT_OK
                       : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of revisions",
                                 "this house has no revision %lld", (long long)number);
}

enum rt_code store_find(struct store *s, struct arena *a, struct str house, struct str bytes, struct revision *out,
                        struct rt_problems *p)
{
    struct ask q =
        begin(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND bytes = ? ORDER BY number DESC LIMIT 1");
    bind_text(&q, house);
    bind_bytes(&q, bytes);
    return read_one(&q, a, out, NULL, p);
}

enum rt_code store_child(struct store *s, struct arena *a, struct str house, int64_t number, struct revision *out,
                         struct rt_problems *p)
{
    struct ask q = begin(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND parent = ? AND marked > 0"
                            " ORDER BY marked DESC LIMIT 1");
    bind_text(&q, house);
    bind_int(&q, number);
    return read_one(&q, a, out, NULL, p);
}

enum rt_code store_list(struct store *s, struct arena *a, struct str house, uint32_t most, revision_list *out,
                        struct rt_problems *p)
{
    VEC(struct revision) list = { 0 };
    struct ask q = begin(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND marked > 0"
                            " ORDER BY number DESC LIMIT ?");
    bind_text(&q, house);
    bind_int(&q, most);
    while (next(&q)) {
        struct revision r;
        read_row(&q, a, &r);
        q.is_bad = q.is_bad || !VEC_PUSH(a, &list, r);
    }
    *out = (revision_list){ list.v, list.n };
    return end(&q, p);
}

/* ---- writing ---- */

enum rt_code store_add(struct store *s, struct str house, int64_t parent, int64_t at_s, struct str what,
                       struct str bytes, int64_t *number, struct rt_problems *p)
{
    struct ask q = begin(s, "INSERT INTO revision (house, number, parent, at_s, what, bytes) SELECT ?1,"
                            " 1 + coalesce(max(number), 0), ?2, ?3, ?4, ?5 FROM revision WHERE house = ?1"
                            " RETURNING number");
    bind_text(&q, house);
    bind_int(&q, parent);
    bind_int(&q, at_s);
    bind_text(&q, what);
    bind_bytes(&q, bytes);
    *number = next(&q) ? sqlite3_column_int64(q.stmt, 0) : 0;
    (void)next(&q); /* to its end, or it does not count */
    return end(&q, p);
}

enum rt_code store_mark(struct store *s, struct str house, int64_t number, struct rt_problems *p)
{
    struct ask count = begin(s, "UPDATE revision SET marked = 1 + (SELECT max(marked) FROM revision WHERE house = ?1)"
                                " WHERE house = ?1 AND number = ?2");
    bind_text(&count, house);
    bind_int(&count, number);
    RT_TRY(run(&count, p));
    struct ask q = begin(s, "INSERT INTO mark (house, number) VALUES (?1, ?2)"
                            " ON CONFLICT (house) DO UPDATE SET number = ?2");
    bind_text(&q, house);
    bind_int(&q, number);
    return run(&q, p);
}

enum rt_code store_judge(struct store *s, struct str house, int64_t number, int32_t kept, int32_t broken,
                         int32_t unknown, struct rt_problems *p)
{
    struct ask q =
        begin(s, "UPDATE revision SET kept = ?3, broken = ?4, unknown = ?5 WHERE house = ?1 AND number = ?2");
    bind_text(&q, house);
    bind_int(&q, number);
    bind_int(&q, kept);
    bind_int(&q, broken);
    bind_int(&q, unknown);
    return run(&q, p);
}
