#include "web/site.h"

#include <math.h>
#include <string.h>

#include "base/json.h"
#include "base/units.h"
#include "data/device_kinds.h"
#include "promise/coverage.h"
#include "promise/spot_report.h"
#include "promise/spot_words.h"

enum { SITE_MB = 64 };
/* Of what holds at a share of places alone, which is not held against a reading. */
static const double AVAILABILITY = 0.90;

enum rt_code sites_open(struct sites *all, struct rt_problems *p)
{
    *all = (struct sites){ .arena = arena_new((size_t)SITE_MB << 20) };
    pthread_mutex_init(&all->lock, NULL);
    return all->arena ? RT_OK : rt_fail_memory(p);
}

void sites_close(struct sites *all)
{
    for (uint32_t i = 0; i < all->list.n; i++) {
        arena_free(all->list.v[i]->arena);
        pthread_mutex_destroy(&all->list.v[i]->lock);
    }
    pthread_mutex_destroy(&all->lock);
    arena_free(all->arena);
}

static struct site *find(struct sites *all, struct str house)
{
    for (uint32_t i = 0; i < all->list.n; i++)
        if (str_eq(all->list.v[i]->house, house))
            return all->list.v[i];
    struct site *made = ARENA_NEW(all->arena, struct site);
    if (!made)
        return NULL;
    *made = (struct site){ .house = str_dup(all->arena, house) };
    if (!made->house.p || !VEC_PUSH(all->arena, &all->list, made))
        return NULL;
    pthread_mutex_init(&made->lock, NULL);
    return made;
}

enum rt_code site_enter(struct sites *all, struct workspace *w, struct str house, struct arena *scratch,
                        struct site **out, struct rt_problems *p)
{
    struct workspace_state now;
    RT_TRY(workspace_look(w, scratch, &now, p));
    pthread_mutex_lock(&all->lock);
    struct site *site = find(all, house);
    pthread_mutex_unlock(&all->lock);
    if (!site)
        return rt_fail_memory(p);
    pthread_mutex_lock(&site->lock);
    if (!site->arena || site->of.number != now.revision.number || site->of.parts != now.parts) {
        arena_free(site->arena);
        site->arena = arena_new((size_t)SITE_MB << 20);
        site->of = (struct study_state){ now.revision.number, now.parts };
        site->has_list = false;
        memset(&site->expected, 0, sizeof site->expected);
    }
    if (!site->arena) {
        pthread_mutex_unlock(&site->lock);
        return rt_fail_memory(p);
    }
    *out = site;
    return RT_OK;
}

void site_leave(struct site *site) { pthread_mutex_unlock(&site->lock); }

/* ---- the checklist ---- */

static enum rt_code make_list(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct site *site = user;
    struct arena *a = site->arena;
    struct checklist *made;
    RT_TRY(checklist_make(ev, &made, p));
    site->list = (struct checklist){ .json = str_dup(a, made->json) };
    site->list.boxes.v = ARENA_ARRAY(a, struct checklist_box, made->boxes.n);
    if (!site->list.json.p || (!site->list.boxes.v && made->boxes.n))
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < made->boxes.n; i++) {
        struct checklist_box *box = &site->list.boxes.v[site->list.boxes.n++];
        *box = made->boxes.v[i];
        box->id = str_dup(a, box->id);
        box->name = str_dup(a, box->name);
        if (!box->id.p || !box->name.p)
            return rt_fail_memory(p);
    }
    site->has_list = true;
    return RT_OK;
}

enum rt_code site_need_list(struct site *site, struct workspace *w, struct arena *scratch, struct rt_problems *p)
{
    struct study_state of;
    return site->has_list ? RT_OK : workspace_compute(w, scratch, LANE_HOUSE, make_list, site, &of, p);
}

const struct checklist_box *site_box(const struct site *site, struct str id)
{
    for (uint32_t i = 0; i < site->list.boxes.n; i++)
        if (str_eq(site->list.boxes.v[i].id, id))
            return &site->list.boxes.v[i];
    return NULL;
}

/* ---- readings ---- */

struct expecting {
    struct site *site;
    struct arena *scratch;
    const reading_list *readings;
};

const struct expected *site_expected(const struct site *site, int64_t number)
{
    for (uint32_t i = 0; i < site->expected.n; i++)
        if (site->expected.v[i].number == number)
            return &site->expected.v[i];
    return NULL;
}

static bool is_of_band(const struct promise *promise, struct str band)
{
    for (int k = 0; k < BAND_COUNT; k++)
        if (str_is(band, band_name((enum band)k)))
            return !promise->bands || promise->bands & 1u << k;
    return false;
}

/* The levels promised in the room, of this reading's band. */
static struct str promised_there(struct arena *a, const struct house *h, uint32_t room, const struct reading *r)
{
    struct buf b = { .arena = a };
    struct json j = { .out = &b, .compact = true };
    json_begin_array(&j, NULL);
    for (uint32_t i = 0; room != NO_REF && i < h->promises.n; i++) {
        const struct promise *promise = &h->promises.v[i];
        if (promise->kind != PROMISE_SIGNAL || promise->direction == DIRECTION_UP || !is_of_band(promise, r->band) ||
            !room_is_meant(promise, room))
            continue;
        json_begin_object(&j, NULL);
        json_str(&j, "id", promise->id);
        json_str(&j, "says", promise->says);
        json_num(&j, "needed_dbm", promise->level_dbm);
        json_bool(&j, "passed", r->level_dbm >= promise->level_dbm);
        json_end_object(&j);
    }
    json_end_array(&j);
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

/* Level of the reading's radio at its spot; NaN: the device does not hear it. */
static enum rt_code level_of(const struct evaluation *ev, struct arena *scratch, uint32_t floor,
                             const struct reading *r, double *out, struct rt_problems *p)
{
    struct run run = *ev->run;
    struct evaluation view = *ev; /* only read, with memory of its own */
    struct spot_report report;
    const struct str kind = STR(DEVICE_KIND_USUAL);
    const struct radio_ability *device = evaluation_radio_of(ev, kind);
    const struct arena_mark mark = arena_mark(scratch);
    run.arena = scratch;
    view.run = &run;
    *out = RT_NOT_GIVEN;
    if (!device)
        return RT_OK;
    RT_TRY(spot_report_make(&view, floor, (struct vec3){ r->x_m, r->y_m, r->z_m }, device, kind, AVAILABILITY, 0,
                            &report, p));
    for (uint32_t i = 0; i < report.radios.n; i++) {
        const struct ap_radio *radio = report.radios.v[i].radio;
        if (str_eq(ev->h->equipment.v[radio->equipment].id, r->access_point) && str_is(r->band, band_name(radio->band)))
            *out = report.radios.v[i].link.level_dbm;
    }
    arena_reset(scratch, mark);
    return RT_OK;
}

static bool has_radio(const struct evaluation *ev, const struct reading *r)
{
    for (uint32_t i = 0; i < ev->radios.n; i++)
        if (str_eq(ev->h->equipment.v[ev->radios.v[i].equipment].id, r->access_point) &&
            str_is(r->band, band_name(ev->radios.v[i].band)))
            return true;
    return false;
}

static enum rt_code expect(struct evaluation *ev, struct expecting *x, const struct reading *r, struct rt_problems *p)
{
    struct site *site = x->site;
    const struct house *h = ev->h;
    const uint32_t floor = house_find_floor(h, r->floor);
    const struct vec2 at = { r->x_m, r->y_m };
    struct expected e = { .number = r->number, .level_dbm = RT_NOT_GIVEN, .room = NO_REF };
    e.is_gone = floor == NO_REF || !has_radio(ev, r);
    if (!e.is_gone)
        RT_TRY(level_of(ev, x->scratch, floor, r, &e.level_dbm, p));
    if (floor != NO_REF) {
        e.room = house_room_at(h, floor, at);
        e.where = str_dup(site->arena, spot_words(x->scratch, h, floor, at));
    }
    e.promises = promised_there(site->arena, h, e.room, r);
    return e.promises.p && VEC_PUSH(site->arena, &site->expected, e) ? RT_OK : rt_fail_memory(p);
}

static enum rt_code expect_all(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct expecting *x = user;
    x->site->estimate = estimate_name(ev->options.trace.estimate);
    for (uint32_t i = 0; i < x->readings->n; i++)
        if (!site_expected(x->site, x->readings->v[i].number))
            RT_TRY(expect(ev, x, &x->readings->v[i], p));
    return RT_OK;
}

enum rt_code site_need_expected(struct site *site, struct workspace *w, struct arena *scratch,
                                const reading_list *readings, struct rt_problems *p)
{
    struct expecting x = { .site = site, .scratch = scratch, .readings = readings };
    struct study_state of;
    bool all = site->estimate != NULL;
    for (uint32_t i = 0; i < readings->n; i++)
        all &= site_expected(site, readings->v[i].number) != NULL;
    return all ? RT_OK : workspace_compute(w, scratch, LANE_HOUSE, expect_all, &x, &of, p);
}
