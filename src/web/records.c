#include "web/records.h"

#include <math.h>
#include <time.h>

#include "base/csv.h"
#include "base/units.h"
#include "web/store_int.h"

/* ---- boxes ---- */

enum rt_code records_mark(struct store *s, struct str house, const struct done_change *c, int64_t at_s,
                          struct rt_problems *p)
{
    struct store_ask q = store_ask(
        s, "INSERT INTO done (house, box, name, is_ticked, note, reading, at_s, change) SELECT ?1, ?2, ?3, ?4,"
           " ?5, ?6, ?7, 1 + coalesce(max(change), 0) FROM done WHERE house = ?1"
           " ON CONFLICT (house, box) DO UPDATE SET name = excluded.name, at_s = excluded.at_s,"
           " change = excluded.change, is_ticked = iif(?8, excluded.is_ticked, is_ticked),"
           " note = iif(?9, excluded.note, note), reading = iif(?10, excluded.reading, reading)");
    store_bind_text(&q, house);
    store_bind_text(&q, c->box);
    store_bind_text(&q, c->name);
    store_bind_int(&q, c->sets_tick && c->is_ticked);
    store_bind_text(&q, c->sets_note ? c->note : (struct str){ 0 });
    store_bind_number(&q, c->sets_reading ? c->reading : RT_NOT_GIVEN);
    store_bind_int(&q, at_s);
    store_bind_int(&q, c->sets_tick);
    store_bind_int(&q, c->sets_note);
    store_bind_int(&q, c->sets_reading);
    return store_run(&q, p);
}

static double column_number(struct store_ask *q, int column)
{
    return sqlite3_column_type(q->stmt, column) == SQLITE_NULL ? RT_NOT_GIVEN : sqlite3_column_double(q->stmt, column);
}

enum rt_code records_done(struct store *s, struct arena *a, struct str house, done_list *out, struct rt_problems *p)
{
    VEC(struct done) list = { 0 };
    struct store_ask q =
        store_ask(s, "SELECT box, name, note, is_ticked, reading, at_s FROM done WHERE house = ? ORDER BY box");
    store_bind_text(&q, house);
    while (store_next(&q)) {
        const struct done d = { .box = store_column_text(&q, a, 0),
                                .name = store_column_text(&q, a, 1),
                                .note = store_column_text(&q, a, 2),
                                .is_ticked = sqlite3_column_int(q.stmt, 3) != 0,
                                .reading = column_number(&q, 4),
                                .at_s = sqlite3_column_int64(q.stmt, 5) };
        q.is_bad = q.is_bad || !VEC_PUSH(a, &list, d);
    }
    *out = (done_list){ list.v, list.n };
    return store_end(&q, p);
}

enum rt_code records_done_state(struct store *s, struct str house, int64_t *out, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "SELECT coalesce(max(change), 0) FROM done WHERE house = ?");
    store_bind_text(&q, house);
    *out = store_next(&q) ? sqlite3_column_int64(q.stmt, 0) : 0;
    return store_end(&q, p);
}

/* ---- readings ---- */

enum rt_code records_add(struct store *s, struct str house, const struct reading *r, int64_t *number,
                         struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "INSERT INTO reading (house, floor, x_m, y_m, z_m, access_point, band, level_dbm,"
                                      " at_s, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING number");
    store_bind_text(&q, house);
    store_bind_text(&q, r->floor);
    store_bind_number(&q, r->x_m);
    store_bind_number(&q, r->y_m);
    store_bind_number(&q, r->z_m);
    store_bind_text(&q, r->access_point);
    store_bind_text(&q, r->band);
    store_bind_number(&q, r->level_dbm);
    store_bind_int(&q, r->at_s);
    store_bind_text(&q, r->note);
    *number = store_next(&q) ? sqlite3_column_int64(q.stmt, 0) : 0;
    (void)store_next(&q); /* to its end, or it does not count */
    return store_end(&q, p);
}

enum rt_code records_remove(struct store *s, struct str house, int64_t number, struct rt_problems *p)
{
    struct store_ask q = store_ask(s, "DELETE FROM reading WHERE house = ? AND number = ? RETURNING number");
    store_bind_text(&q, house);
    store_bind_int(&q, number);
    const bool was_there = store_next(&q);
    if (was_there)
        (void)store_next(&q);
    RT_TRY(store_end(&q, p));
    return was_there ? RT_OK
                     : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "look at the list: somebody may have taken it out",
                               "this house has no reading %lld", (long long)number);
}

enum rt_code records_readings(struct store *s, struct arena *a, struct str house, reading_list *out,
                              struct rt_problems *p)
{
    VEC(struct reading) list = { 0 };
    struct store_ask q = store_ask(s, "SELECT number, floor, x_m, y_m, z_m, access_point, band, level_dbm, at_s, note"
                                      " FROM reading WHERE house = ? ORDER BY number");
    store_bind_text(&q, house);
    while (store_next(&q)) {
        const struct reading r = { .number = sqlite3_column_int64(q.stmt, 0),
                                   .floor = store_column_text(&q, a, 1),
                                   .x_m = sqlite3_column_double(q.stmt, 2),
                                   .y_m = sqlite3_column_double(q.stmt, 3),
                                   .z_m = sqlite3_column_double(q.stmt, 4),
                                   .access_point = store_column_text(&q, a, 5),
                                   .band = store_column_text(&q, a, 6),
                                   .level_dbm = sqlite3_column_double(q.stmt, 7),
                                   .at_s = sqlite3_column_int64(q.stmt, 8),
                                   .note = store_column_text(&q, a, 9) };
        q.is_bad = q.is_bad || !VEC_PUSH(a, &list, r);
    }
    *out = (reading_list){ list.v, list.n };
    return store_end(&q, p);
}

void readings_write_csv(struct buf *out, const reading_list *list)
{
    static const char *const COLUMNS[] = { "floor",    "x_m",       "y_m", "z_m", "access_point",
                                           "band_ghz", "level_dbm", "at",  "note" };
    for (size_t i = 0; i < RT_COUNT(COLUMNS); i++)
        csv_field(out, str_from(COLUMNS[i]));
    csv_end_row(out);
    for (uint32_t i = 0; i < list->n; i++) {
        const struct reading *r = &list->v[i];
        const time_t at = (time_t)r->at_s;
        struct tm utc;
        char when[40] = "";
        if (gmtime_r(&at, &utc))
            (void)strftime(when, sizeof when, "%Y-%m-%dT%H:%M:%SZ", &utc); /* RFC 3339 */
        csv_field(out, r->floor);
        csv_number(out, r->x_m, 3);
        csv_number(out, r->y_m, 3);
        csv_number(out, r->z_m, 3);
        csv_field(out, r->access_point);
        csv_field(out, r->band);
        csv_number(out, r->level_dbm, 1);
        csv_field(out, str_from(when));
        csv_field(out, r->note);
        csv_end_row(out);
    }
}
