/* The building site: what is to be done, what was, and what was read. */
#include <math.h>
#include <string.h>
#include <time.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "house/polygon.h"
#include "web/api.h"
#include "web/api_json.h"

enum { ID_MOST = 600, NAME_MOST = 400, NOTE_MOST = 2000, FLOOR_MOST = 64 };

static struct store *store_of(const struct request *q) { return q->server->houses.store; }

static enum rt_code enter(struct request *q, struct workspace **w, struct site **site, struct rt_problems *p)
{
    RT_TRY(api_house(q, w, p));
    return site_enter(&q->server->sites, *w, q->params[0], q->arena, site, p);
}

/* ---- what is to be done ---- */

static enum rt_code give_list(struct request *q, struct reply *r, struct workspace *w, struct site *site,
                              struct rt_problems *p)
{
    RT_TRY(site_need_list(site, w, q->arena, p));
    r->body = str_dup(q->arena, site->list.json);
    r->etag = api_etag_of(q, site->of);
    return r->body.p ? RT_OK : rt_fail_memory(p);
}

enum rt_code api_installation(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct site *site;
    RT_TRY(enter(q, &w, &site, p));
    const enum rt_code code = give_list(q, r, w, site, p);
    site_leave(site);
    return code;
}

/* ---- what was done ---- */

static void write_done(struct json *j, const struct done *d, const struct checklist_box *box)
{
    const int passes = box ? checklist_passes(box, d->reading) : -1;
    json_begin_object(j, NULL);
    json_str(j, "box", d->box);
    json_bool(j, "is_ticked", d->is_ticked);
    json_str(j, "note", d->note);
    json_num(j, "read", d->reading);
    if (passes < 0)
        json_null(j, "passed");
    else
        json_bool(j, "passed", passes == 1);
    json_int(j, "at_s", d->at_s);
    json_bool(j, "is_gone", box == NULL);
    json_str(j, "name", box ? box->name : d->name);
    json_end_object(j);
}

/* Empty boxes are left out: a tick that was taken back is no tick. */
static bool is_empty(const struct done *d) { return !d->is_ticked && !d->note.n && !isfinite(d->reading); }

static enum rt_code give_done(struct request *q, struct reply *r, struct workspace *w, struct site *site,
                              struct rt_problems *p)
{
    struct json_body b;
    done_list done;
    RT_TRY(site_need_list(site, w, q->arena, p));
    RT_TRY(records_done(store_of(q), q->arena, q->params[0], &done, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "done");
    for (uint32_t i = 0; i < done.n; i++)
        if (!is_empty(&done.v[i]))
            write_done(j, &done.v[i], site_box(site, done.v[i].box));
    json_end_array(j);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

/* Asked every few seconds by each telephone: what has not changed is told from the numbers alone. */
enum rt_code api_installation_done(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct site *site;
    int64_t state = 0;
    RT_TRY(enter(q, &w, &site, p));
    enum rt_code code = records_done_state(store_of(q), q->params[0], &state, p);
    const char *tag = arena_printf(q->arena, "%.*s-d%lld", STR_ARG(api_etag_of(q, site->of)), (long long)state);
    if (!code && tag && q->if_none_match.n && http_list_has(q->if_none_match, str_from(tag)))
        r->status = 304;
    else if (!code)
        code = give_done(q, r, w, site, p);
    site_leave(site);
    r->etag = str_from(tag ? tag : "");
    return code;
}

static bool is_text(struct str text, size_t most)
{
    for (size_t i = 0; i < text.n; i++)
        if ((unsigned char)text.p[i] < 32 && text.p[i] != '\n')
            return false;
    return text.n <= most;
}

static enum rt_code read_mark(const struct api_json *body, struct done_change *c, struct rt_problems *p)
{
    *c = (struct done_change){ .box = api_json_text(body, "box"),
                               .name = api_json_text(body, "name"),
                               .note = api_json_text(body, "note"),
                               .is_ticked = api_json_true(body, "is_ticked"),
                               .reading = api_json_number(body, "read"),
                               .sets_tick = api_json_has(body, "is_ticked"),
                               .sets_note = api_json_has(body, "note"),
                               .sets_reading = api_json_has(body, "read") };
    if (!c->box.n || !is_text(c->box, ID_MOST) || !is_text(c->name, NAME_MOST) || !is_text(c->note, NOTE_MOST))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "give `box` as the list has it; a note has 2000 letters at most",
                       "that is no box that can be ticked");
    if (isfinite(c->reading) && fabs(c->reading) > 1e12)
        return rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "no instrument shows such a figure");
    return c->sets_tick || c->sets_note || c->sets_reading
               ? RT_OK
               : rt_fail(p, RT_SHAPE, RT_NOWHERE, "give `is_ticked`, `note` or `read`", "nothing is said of the box");
}

enum rt_code api_installation_mark(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct api_json body;
    struct done_change change;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = read_mark(&body, &change, p);
    if (!code)
        code = records_mark(store_of(q), q->params[0], &change, time(NULL), p);
    api_json_end(&body);
    r->status = code ? 0 : 204;
    return code;
}

/* ---- levels read at a spot ---- */

/* Of the differences so far. */
struct sum {
    uint32_t n;
    double sum_db, squares_db2;
};

static void add(struct sum *s, double difference_db)
{
    s->n++;
    s->sum_db += difference_db;
    s->squares_db2 += difference_db * difference_db;
}

static void write_sum(struct json *j, const struct sum *s)
{
    json_int(j, "compared", s->n);
    json_fixed(j, "mean_db", s->n ? s->sum_db / s->n : RT_NOT_GIVEN, 1);
    json_fixed(j, "rms_db", s->n ? sqrt(s->squares_db2 / s->n) : RT_NOT_GIVEN, 1);
}

static void write_reading(struct json *j, const struct reading *r, const struct expected *e)
{
    json_begin_object(j, NULL);
    json_int(j, "number", r->number);
    json_str(j, "floor", r->floor);
    json_begin_array(j, "at_m");
    json_num(j, NULL, r->x_m);
    json_num(j, NULL, r->y_m);
    json_num(j, NULL, r->z_m);
    json_end_array(j);
    json_str(j, "where", e->where);
    json_str(j, "access_point", r->access_point);
    json_str(j, "band", r->band);
    json_num(j, "level_dbm", r->level_dbm);
    json_fixed(j, "expected_dbm", e->level_dbm, 2);
    json_fixed(j, "difference_db", r->level_dbm - e->level_dbm, 2);
    json_bool(j, "is_gone", e->is_gone);
    json_int(j, "at_s", r->at_s);
    json_str(j, "note", r->note);
    reply_json_made(j, "promises", e->promises);
    json_end_object(j);
}

/* Each access point and band by itself, in the order in which they were read first. */
static void write_groups(struct json *j, const struct site *site, const reading_list *list)
{
    json_begin_array(j, "by_access_point");
    for (uint32_t i = 0; i < list->n; i++) {
        const struct reading *of = &list->v[i];
        struct sum sum = { 0 };
        bool is_first = true;
        for (uint32_t k = 0; k < list->n; k++) {
            const struct reading *r = &list->v[k];
            const struct expected *e = site_expected(site, r->number);
            if (!str_eq(r->access_point, of->access_point) || !str_eq(r->band, of->band))
                continue;
            is_first &= k >= i;
            if (e && isfinite(e->level_dbm))
                add(&sum, r->level_dbm - e->level_dbm);
        }
        if (!is_first)
            continue;
        json_begin_object(j, NULL);
        json_str(j, "access_point", of->access_point);
        json_str(j, "band", of->band);
        write_sum(j, &sum);
        json_end_object(j);
    }
    json_end_array(j);
}

static enum rt_code give_readings(struct request *q, struct reply *r, struct workspace *w, struct site *site,
                                  struct rt_problems *p)
{
    struct json_body b;
    reading_list list;
    struct sum all = { 0 };
    RT_TRY(records_readings(store_of(q), q->arena, q->params[0], &list, p));
    RT_TRY(site_need_expected(site, w, q->arena, &list, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "revision", site->of.number);
    json_text(j, "device", DEVICE_KIND_USUAL);
    json_text(j, "estimate", site->estimate);
    json_begin_array(j, "readings");
    for (uint32_t i = 0; i < list.n; i++) {
        const struct expected *e = site_expected(site, list.v[i].number);
        if (!e)
            continue;
        write_reading(j, &list.v[i], e);
        if (isfinite(e->level_dbm))
            add(&all, list.v[i].level_dbm - e->level_dbm);
    }
    json_end_array(j);
    write_sum(j, &all);
    write_groups(j, site, &list);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

enum rt_code api_readings(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct site *site;
    RT_TRY(enter(q, &w, &site, p));
    const enum rt_code code = give_readings(q, r, w, site, p);
    site_leave(site);
    return code;
}

static enum rt_code read_reading(const struct api_json *body, struct reading *out, struct rt_problems *p)
{
    double at_m[3] = { 0.0, 0.0, 1.2 };
    const size_t n = api_json_numbers(body, "at_m", at_m, 3);
    *out = (struct reading){ .floor = api_json_text(body, "floor"),
                             .access_point = api_json_text(body, "access_point"),
                             .band = api_json_text(body, "band"),
                             .note = api_json_text(body, "note"),
                             .x_m = at_m[0],
                             .y_m = at_m[1],
                             .z_m = at_m[2],
                             .level_dbm = api_json_number(body, "level_dbm"),
                             .at_s = (int64_t)given_or(api_json_number(body, "at_s"), (double)time(NULL)) };
    for (int i = 0; i < 3; i++)
        if (n < 2 || !(fabs(at_m[i]) <= 1e4))
            return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send at_m: [X, Y] or [X, Y, Z] in metres", "that is no spot");
    if (!(out->level_dbm >= -140.0 && out->level_dbm <= 20.0))
        return rt_fail(p, RT_RANGE, RT_NOWHERE, "a level is between \u2212140 and 20 dBm, most often about \u221260",
                       "no access point is heard at such a level");
    if (!is_text(out->note, NOTE_MOST) || out->floor.n > FLOOR_MOST || out->access_point.n > FLOOR_MOST ||
        out->at_s < 0 || out->at_s > INT64_C(253402300799)) /* the year 9999: RFC 3339 */
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "a note has 2000 letters at most", "that is no reading");
    return RT_OK;
}

/* A spot from which no floor is this near was mistyped: what is heard in the garden or on the street is not. */
static const double AWAY_MOST_M = 5.0;

static bool is_near_a_floor(const struct house *h, struct vec2 at_m)
{
    for (uint32_t i = 0; i < h->floors.n; i++)
        if (polygon_contains_within(h->floors.v[i].outline, at_m, AWAY_MOST_M))
            return true;
    return false;
}

/* What the house has now must be what was heard; later changes of the house leave the reading as it is. */
static enum rt_code check_reading(struct request *q, struct workspace *w, const struct reading *r,
                                  struct rt_problems *p)
{
    struct workspace_state s;
    struct house *h = NULL;
    RT_TRY(workspace_look(w, q->arena, &s, p));
    RT_TRY(workspace_read_house(w, q->arena, s.bytes, &h, p));
    if (house_find_floor(h, r->floor) == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no floor '%.*s'", STR_ARG(r->floor));
    if (!is_near_a_floor(h, (struct vec2){ r->x_m, r->y_m }))
        return rt_fail(p, RT_GEOMETRY, RT_NOWHERE, "give the spot in metres, as the house file counts them",
                       "[%.2f, %.2f] is more than %.0f m outside every floor of the house", r->x_m, r->y_m,
                       AWAY_MOST_M);
    if (house_find_equipment(h, r->access_point) == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "take an access point that the spot hears",
                       "the house has no access point '%.*s'", STR_ARG(r->access_point));
    for (int k = 0; k < BAND_COUNT; k++)
        if (str_is(r->band, band_name((enum band)k)))
            return RT_OK;
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "2.4, 5 or 6", "there is no band '%.*s'", STR_ARG(r->band));
}

enum rt_code api_reading_add(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    struct api_json body;
    struct reading reading;
    struct json_body b;
    int64_t number = 0;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(api_json_read(q->body, &body, p));
    enum rt_code code = read_reading(&body, &reading, p);
    if (!code)
        code = check_reading(q, w, &reading, p);
    if (!code)
        code = records_add(store_of(q), q->params[0], &reading, &number, p);
    api_json_end(&body);
    RT_TRY(code);
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_int(j, "number", number);
    json_end_object(j);
    r->status = 201;
    return reply_json_end(&b, r, p);
}

enum rt_code api_reading_remove(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    int64_t number = 0;
    RT_TRY(api_house(q, &w, p));
    const struct str text = q->params[1];
    for (size_t i = 0; i < text.n && i < 18; i++)
        number = text.p[i] >= '0' && text.p[i] <= '9' && number >= 0 ? number * 10 + (text.p[i] - '0') : -1;
    RT_TRY(records_remove(store_of(q), q->params[0], text.n <= 18 ? number : -1, p));
    r->status = 204;
    return RT_OK;
}

enum rt_code api_readings_csv(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct workspace *w;
    reading_list list;
    struct buf text = { .arena = q->arena };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(records_readings(store_of(q), q->arena, q->params[0], &list, p));
    readings_write_csv(&text, &list);
    if (text.failed)
        return rt_fail_memory(p);
    *r = (struct reply){ .status = 200, .type = "text/csv; charset=utf-8", .body = buf_done(&text) };
    r->disposition = arena_printf(q->arena, "attachment; filename=\"%.*s.readings.csv\"", STR_ARG(q->params[0]));
    return RT_OK;
}
