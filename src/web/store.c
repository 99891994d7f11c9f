#include <math.h>
#include <string.h>

#include "base/file.h"
#include "web/store_int.h"

/* bytes are kept whole: a house file is small, and a whole state can be restored even if a neighbour's is damaged.  `marked` counts up
 * with each mark, so that redo finds the child the user was at last. */
static const char SCHEMA[] =
    "BEGIN;" /* one wait for the disk, not one for each table */
    "CREATE TABLE IF NOT EXISTS revision (house TEXT NOT NULL, number INTEGER NOT NULL, parent INTEGER NOT NULL,"
    " at_s INTEGER NOT NULL, what TEXT NOT NULL, bytes BLOB NOT NULL, kept INTEGER NOT NULL DEFAULT -1,"
    " broken INTEGER NOT NULL DEFAULT -1, unknown INTEGER NOT NULL DEFAULT -1, marked INTEGER NOT NULL DEFAULT 0,"
    " PRIMARY KEY (house, number)) WITHOUT ROWID;"
    "CREATE TABLE IF NOT EXISTS mark (house TEXT PRIMARY KEY, number INTEGER NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE IF NOT EXISTS done (house TEXT NOT NULL, box TEXT NOT NULL, name TEXT NOT NULL, is_ticked INTEGER NOT"
    " NULL DEFAULT 0, note TEXT NOT NULL DEFAULT '', reading REAL, at_s INTEGER NOT NULL, change INTEGER NOT NULL,"
    " PRIMARY KEY (house, box)) WITHOUT ROWID;"
    "CREATE TABLE IF NOT EXISTS reading (number INTEGER PRIMARY KEY AUTOINCREMENT, house TEXT NOT NULL, floor TEXT NOT"
    " NULL, x_m REAL NOT NULL, y_m REAL NOT NULL, z_m REAL NOT NULL, access_point TEXT NOT NULL, band TEXT NOT NULL,"
    " level_dbm REAL NOT NULL, at_s INTEGER NOT NULL, note TEXT NOT NULL);"
    "CREATE INDEX IF NOT EXISTS reading_of ON reading (house, number);"
    "CREATE TABLE IF NOT EXISTS picture (number INTEGER PRIMARY KEY AUTOINCREMENT, house TEXT NOT NULL, kind INTEGER "
    "NOT"
    " NULL, width_px INTEGER NOT NULL, height_px INTEGER NOT NULL, page INTEGER NOT NULL, pages INTEGER NOT NULL, floor"
    " TEXT NOT NULL, m_per_px REAL, turn_deg REAL, x_m REAL, y_m REAL, opacity REAL NOT NULL, bytes BLOB NOT NULL,"
    " source BLOB NOT NULL);"
    "CREATE INDEX IF NOT EXISTS picture_of ON picture (house, number);"
    "COMMIT;";

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

struct store_ask store_ask(struct store *s, const char *sql)
{
    struct store_ask q = { .s = s };
    q.is_bad = sqlite3_prepare_v2(s->db, sql, -1, &q.stmt, NULL) != SQLITE_OK;
    return q;
}

void store_bind_text(struct store_ask *q, struct str text)
{
    q->is_bad = q->is_bad || sqlite3_bind_text(q->stmt, ++q->n_bound, text.n ? text.p : "", (int)text.n,
                                               SQLITE_TRANSIENT) != SQLITE_OK;
}

void store_bind_bytes(struct store_ask *q, struct str bytes)
{
    q->is_bad = q->is_bad || sqlite3_bind_blob(q->stmt, ++q->n_bound, bytes.n ? bytes.p : "", (int)bytes.n,
                                               SQLITE_TRANSIENT) != SQLITE_OK;
}

void store_bind_int(struct store_ask *q, int64_t value)
{
    q->is_bad = q->is_bad || sqlite3_bind_int64(q->stmt, ++q->n_bound, value) != SQLITE_OK;
}

void store_bind_number(struct store_ask *q, double value)
{
    q->is_bad = q->is_bad || (isfinite(value) ? sqlite3_bind_double(q->stmt, ++q->n_bound, value)
                                              : sqlite3_bind_null(q->stmt, ++q->n_bound)) != SQLITE_OK;
}

/* True: there is a row. */
bool store_next(struct store_ask *q)
{
    if (q->is_bad)
        return false;
    const int code = sqlite3_step(q->stmt);
    q->is_bad = code != SQLITE_ROW && code != SQLITE_DONE;
    return code == SQLITE_ROW;
}

enum rt_code store_end(struct store_ask *q, struct rt_problems *p)
{
    const enum rt_code code = q->is_bad ? failed(q->s, p) : RT_OK;
    sqlite3_finalize(q->stmt);
    return code;
}

enum rt_code store_run(struct store_ask *q, struct rt_problems *p)
{
    (void)store_next(q);
    return store_end(q, p);
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

struct str store_column_text(struct store_ask *q, struct arena *a, int column)
{
    const void *bytes = sqlite3_column_blob(q->stmt, column);
    const int n = sqlite3_column_bytes(q->stmt, column);
    const struct str kept = str_dup(a, (struct str){ bytes, bytes ? (size_t)n : 0 });
    q->is_bad = q->is_bad || !kept.p;
    return kept;
}

/* Of a row that begins with COLUMNS. */
static void read_row(struct store_ask *q, struct arena *a, struct revision *out)
{
    *out = (struct revision){ .number = sqlite3_column_int64(q->stmt, 0),
                              .parent = sqlite3_column_int64(q->stmt, 1),
                              .at_s = sqlite3_column_int64(q->stmt, 2),
                              .what = store_column_text(q, a, 3),
                              .kept = sqlite3_column_int(q->stmt, 4),
                              .broken = sqlite3_column_int(q->stmt, 5),
                              .unknown = sqlite3_column_int(q->stmt, 6) };
}

/* The one row of an ask, if there is one; bytes: its eighth column. */
static enum rt_code read_one(struct store_ask *q, struct arena *a, struct revision *out, struct str *bytes,
                             struct rt_problems *p)
{
    *out = (struct revision){ 0 };
    if (store_next(q)) {
        read_row(q, a, out);
        if (bytes)
            *bytes = store_column_text(q, a, 7);
    }
    return store_end(q, p);
}

enum rt_code store_marked(struct store *s, struct arena *a, struct str house, struct revision *out, struct str *bytes,
                          struct rt_problems *p)
{
    struct store_ask q =
        store_ask(s, "SELECT " COLUMNS ", bytes FROM revision JOIN mark USING (house, number) WHERE house = ?");
    store_bind_text(&q, house);
    return read_one(&q, a, out, bytes, p);
}

enum rt_code store_read(struct store *s, struct arena *a, struct str house, int64_t number, struct revision *out,
                        struct str *bytes, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "SELECT " COLUMNS ", bytes FROM revision WHERE house = ? AND number = ?");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    RT_TRY(read_one(&q, a, out, bytes, p));
    return out->number ? RT_OK
                       : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list of revisions",
                                 "this house has no revision %lld", (long long)number);
}

enum rt_code store_find(struct store *s, struct arena *a, struct str house, struct str bytes, struct revision *out,
                        struct rt_problems *p)
{
    struct store_ask q =
        store_ask(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND bytes = ? ORDER BY number DESC LIMIT 1");
    store_bind_text(&q, house);
    store_bind_bytes(&q, bytes);
    return read_one(&q, a, out, NULL, p);
}

enum rt_code store_child(struct store *s, struct arena *a, struct str house, int64_t number, struct revision *out,
                         struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND parent = ? AND marked > 0"
                                      " ORDER BY marked DESC LIMIT 1");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    return read_one(&q, a, out, NULL, p);
}

enum rt_code store_newest(struct store *s, struct arena *a, struct str *house, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "SELECT house FROM revision ORDER BY at_s DESC, number DESC, house LIMIT 1");
    *house = store_next(&q) ? store_column_text(&q, a, 0) : (struct str){ 0 };
    return store_end(&q, p);
}

enum rt_code store_list(struct store *s, struct arena *a, struct str house, uint32_t most, revision_list *out,
                        struct rt_problems *p)
{
    VEC(struct revision) list = { 0 };
    struct store_ask q = store_ask(s, "SELECT " COLUMNS " FROM revision WHERE house = ? AND marked > 0"
                                      " ORDER BY number DESC LIMIT ?");
    store_bind_text(&q, house);
    store_bind_int(&q, most);
    while (store_next(&q)) {
        struct revision r;
        read_row(&q, a, &r);
        q.is_bad = q.is_bad || !VEC_PUSH(a, &list, r);
    }
    *out = (revision_list){ list.v, list.n };
    return store_end(&q, p);
}

/* ---- writing ---- */

enum rt_code store_add(struct store *s, struct str house, int64_t parent, int64_t at_s, struct str what,
                       struct str bytes, int64_t *number, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "INSERT INTO revision (house, number, parent, at_s, what, bytes) SELECT ?1,"
                                      " 1 + coalesce(max(number), 0), ?2, ?3, ?4, ?5 FROM revision WHERE house = ?1"
                                      " RETURNING number");
    store_bind_text(&q, house);
    store_bind_int(&q, parent);
    store_bind_int(&q, at_s);
    store_bind_text(&q, what);
    store_bind_bytes(&q, bytes);
    *number = store_next(&q) ? sqlite3_column_int64(q.stmt, 0) : 0;
    (void)store_next(&q); /* to its end, or it does not count */
    return store_end(&q, p);
}

enum rt_code store_mark(struct store *s, struct str house, int64_t number, struct rt_problems *p)
{
    struct store_ask count =
        store_ask(s, "UPDATE revision SET marked = 1 + (SELECT max(marked) FROM revision WHERE house = ?1)"
                     " WHERE house = ?1 AND number = ?2");
    store_bind_text(&count, house);
    store_bind_int(&count, number);
    RT_TRY(store_run(&count, p));
    struct store_ask q = store_ask(s, "INSERT INTO mark (house, number) VALUES (?1, ?2)"
                                      " ON CONFLICT (house) DO UPDATE SET number = ?2");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    return store_run(&q, p);
}

enum rt_code store_judge(struct store *s, struct str house, int64_t number, int32_t kept, int32_t broken,
                         int32_t unknown, struct rt_problems *p)
{
    struct store_ask q =
        store_ask(s, "UPDATE revision SET kept = ?3, broken = ?4, unknown = ?5 WHERE house = ?1 AND number = ?2");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    store_bind_int(&q, kept);
    store_bind_int(&q, broken);
    store_bind_int(&q, unknown);
    return store_run(&q, p);
}
