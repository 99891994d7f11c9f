/* What the rows say of a choice of places, against what the promises' own judges say of a house in which just those access points
 * hang.  Judges, fields and radios of that house are made without the rows: the check from outside the module. */
#include "design/needs.h"

#include <math.h>
#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "check.h"
#include "promise/coverage.h"
#include "promise/failure_table.h"
#include "promise/promise.h"

struct home {
    struct check_run c;
    struct house *h; /* nothing hangs in it */
    struct design_space space;
    struct needs *needs;
};

/* More promises for the flat, so that every form a row can take occurs. */
static const char MORE[] =
    "  x_two_bands: {kind: signal, says: x, rooms: [living_room, bedroom, kitchen], bands: [2.4, 5], level_dbm: -66}\n"
    "  x_most_of_it: {kind: signal, says: x, rooms: [kitchen, bath], bands: [5], level_dbm: -68, area_share: 0.4}\n"
    "  x_heard: {kind: signal, says: x, rooms: [living_room, hall, bedroom], level_dbm: -70, direction: both,\n"
    "            uplink_level_dbm: -66}\n"
    "  x_change: {kind: roaming, says: x, rooms: [hall, living_room, kitchen], level_dbm: -72}\n"
    "  x_change_both: {kind: roaming, says: x, rooms: [hall, living_room], bands: [2.4, 5], level_dbm: -70}\n"
    "  x_fast: {kind: rate, says: x, rooms: [living_room, bedroom, hall], mbps: 300, device_kind: laptop, when: "
    "alone}\n"
    "  x_fast_5: {kind: rate, says: x, rooms: [bedroom], mbps: 200, up_mbps: 150, bands: [5], device_kind: laptop}\n"
    "  x_one_lost: {kind: survive, says: x, promises: [whole_flat, lena_desk, x_change, x_two_bands],\n"
    "               failures: [access_point]}\n";

static void open_home(struct home *q, const char *file, const char *more)
{
    struct buf b = { 0 };
    struct str bytes;
    *q = (struct home){ .c = check_run_begin() };
    struct check_run *c = &q->c;
    const char *path = check_path(c, file);
    b.arena = c->run.arena;
    CHECK_OK(c, file_read(c->run.arena, path, HOUSE_MAX_BYTES, &bytes, &c->problems));
    buf_str(&b, bytes);
    buf_text(&b, more);
    CHECK_OK(c, house_read_bytes(&c->run, path, buf_done(&b), &q->h, &c->problems));
    q->h->equipment.n = q->h->cables.n = q->h->batteries.n = q->h->recordings.n = 0;
    q->space = (struct design_space){ .asked = q->h, .house = q->h, .options.allows_radar = true };
}

static void close_home(struct home *q) { check_run_end(&q->c); }

/* Sites: every `every`-th mount for access points; offers: the parts that are made for its surface. */
static void offer_parts(struct home *q, uint32_t every)
{
    const struct house *h = q->h;
    struct arena *a = q->c.run.arena;
    struct design_space *s = &q->space;
    uint32_t n_seen = 0;
    s->sites.v = ARENA_ARRAY(a, struct design_site, h->mounts.n);
    s->placing.offers.v = ARENA_ARRAY(a, struct place_offer, (size_t)h->mounts.n * h->parts.list.n);
    s->pieces.v = ARENA_ARRAY(a, uint32_t, 8);
    for (uint32_t m = 0; m < h->mounts.n; m++) {
        const struct mount *mount = &h->mounts.v[m];
        if (!(mount->use & MOUNT_ACCESS_POINT) || n_seen++ % every)
            continue;
        for (uint32_t i = 0; i < h->parts.list.n; i++) {
            const struct part *part = &h->parts.list.v[i];
            if (part->kind == PART_ACCESS_POINT && part->surface == mount->surface &&
                (part->outdoors || !mount->outdoors))
                s->placing.offers.v[s->placing.offers.n++] =
                    (struct place_offer){ .site = s->sites.n, .part = i, .piece = NO_REF };
        }
        s->sites.v[s->sites.n++] = (struct design_site){ .mount = m };
    }
    s->placing.n_sites = s->sites.n;
}

static void make(struct home *q, const struct tighter *tighter)
{
    if (!q->needs)
        CHECK_OK(&q->c, needs_begin(&q->c.run, &q->space, &q->needs, &q->c.problems));
    CHECK_OK(&q->c, needs_make(&q->c.run, q->needs, tighter, &q->space.placing, &q->c.problems));
}

/* ---- what the rows say: the words of placing.h ---- */

static bool clause_holds(const struct placing *q, const struct place_clause *k, const bool *chosen, uint32_t lost_site)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < k->offers.n; i++)
        n += chosen[k->offers.v[i]] && q->offers.v[k->offers.v[i]].site != lost_site;
    return n >= k->at_least;
}

static uint32_t served(const struct placing *q, const struct place_need *need, const bool *chosen, uint32_t lost_site)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < need->cells.n; i++) {
        bool holds = true;
        for (uint32_t k = 0; k < need->cells.v[i].clauses.n; k++)
            holds = holds && clause_holds(q, &need->cells.v[i].clauses.v[k], chosen, lost_site);
        n += holds ? need->cells.v[i].weight : 0;
    }
    return n;
}

static bool need_holds(const struct placing *q, const struct place_need *need, const bool *chosen)
{
    bool holds = served(q, need, chosen, NO_REF) >= need->wanted;
    for (uint32_t site = 0; site < q->n_sites && need->bears_loss; site++)
        holds = holds && served(q, need, chosen, site) >= need->wanted;
    return holds;
}

/* All rows of a promise; room NO_REF: in every room. */
static bool rows_hold(const struct placing *q, uint32_t promise, uint32_t room, const bool *chosen)
{
    for (uint32_t i = 0; i < q->needs.n; i++)
        if (q->needs.v[i].promise == promise && (room == NO_REF || q->needs.v[i].room == room) &&
            !need_holds(q, &q->needs.v[i], chosen))
            return false;
    return true;
}

/* ---- the house with a choice of offers in it ---- */

static struct house *house_of(struct home *q, const bool *chosen)
{
    const struct placing *placing = &q->space.placing;
    struct arena *a = q->c.run.arena;
    struct house *h = ARENA_NEW(a, struct house);
    const struct ref none = { .i = NO_REF };
    *h = *q->h;
    h->equipment.v = ARENA_ARRAY(a, struct equipment, (size_t)q->h->equipment.n + placing->offers.n);
    for (uint32_t e = 0; e < q->h->equipment.n; e++)
        h->equipment.v[e] = q->h->equipment.v[e];
    for (uint32_t o = 0; o < placing->offers.n; o++) {
        const uint32_t m = q->space.sites.v[placing->offers.v[o].site].mount, off = needs_radios_off(q->needs, o);
        const struct mount *mount = &h->mounts.v[m];
        const struct part *part = &h->parts.list.v[placing->offers.v[o].part];
        if (!chosen[o] || placing->offers.v[o].piece != NO_REF)
            continue;
        struct equipment *e = &h->equipment.v[h->equipment.n++];
        *e = (struct equipment){ .id = str_from(arena_printf(a, "ap_%u", (unsigned)o)),
                                 .part.i = placing->offers.v[o].part,
                                 .mount.i = m,
                                 .floor = mount->floor,
                                 .room = mount->room,
                                 .at_m = mount->at_m,
                                 .faces_deg = mount->faces_deg,
                                 .tilt_deg = mount->tilt_deg,
                                 .inside = none,
                                 .unit = RT_NOT_GIVEN,
                                 .segment = none,
                                 .phase = none };
        e->radios.v = ARENA_ARRAY(a, struct radio_setting, part->radios.n);
        for (uint32_t r = 0; r < part->radios.n; r++)
            if (off >> r & 1u) /* no part of the demo has two radios of one band */
                e->radios.v[e->radios.n++] = (struct radio_setting){ .band = part->radios.v[r].band,
                                                                     .channel = RT_NOT_GIVEN,
                                                                     .width_mhz = RT_NOT_GIVEN,
                                                                     .power_dbm = RT_NOT_GIVEN,
                                                                     .off = true };
    }
    return h;
}

/* Only the estimate promises are judged at; what the other end of the walls would say is not asked about here. */
static void begin(struct home *q, const struct house *h, struct evaluation *ev)
{
    const struct fields *f;
    CHECK_OK(&q->c, evaluation_begin(ev, &q->c.run, h, evaluation_default_options(h), &q->c.problems));
    CHECK_OK(&q->c, evaluation_fields_promised(ev, ev->options.trace.estimate, &f, &q->c.problems));
    for (int e = 0; e <= ESTIMATE_HOPEFUL; e++)
        ev->fields[e] = ev->fields[ev->options.trace.estimate];
}

/* The value that the promised share of a room reaches; NaN: the room was not judged. */
static double reached(const struct house *h, const struct promise_result *r, uint32_t room)
{
    for (const struct fact *f = r->evidence->first; f; f = f->next)
        for (const struct fact *o = f->key && strcmp(f->key, "rooms") == 0 ? f->first : NULL; o; o = o->next)
            if (str_eq(fact_find_str(o, "room"), h->rooms.v[room].id))
                return o->first->next->next->num; /* room, area_share, the value, worst */
    return (double)NAN;
}

struct tally {
    uint32_t n_kept, n_broken, n_apart;
};

static bool is_about_rooms(const struct promise *q)
{
    return q->kind == PROMISE_SIGNAL || q->kind == PROMISE_ROAMING || q->kind == PROMISE_RATE;
}

static void compare_promise(struct home *q, struct evaluation *ev, uint32_t i, const bool *chosen, struct tally *tally)
{
    const struct promise *promise = &ev->h->promises.v[i];
    const bool may_hope = (promise->kind == PROMISE_SIGNAL && promise->direction != DIRECTION_DOWN);
    struct promise_result r;
    CHECK_OK(&q->c, promise_evaluate(ev, promise, &r, &q->c.problems));
    const bool kept = r.state == PROMISE_KEPT, rows = rows_hold(&q->space.placing, i, NO_REF, chosen);
    tally->n_kept += kept;
    tally->n_broken += !kept;
    tally->n_apart += kept != rows;
    if (may_hope ? kept && !rows : kept != rows)
        fail_msg("%.*s: %s, and the rows say %s", STR_ARG(promise->id), promise_state_name(r.state),
                 rows ? "kept" : "broken");
    for (uint32_t room = 0; is_about_rooms(promise) && room < ev->h->rooms.n; room++) {
        const double value = reached(ev->h, &r, room);
        const bool in_room = value >= (promise->kind == PROMISE_RATE ? promise->mbps : promise->level_dbm);
        const bool by_rows = rows_hold(&q->space.placing, i, room, chosen);
        if (!isnan(value) && (may_hope ? in_room && !by_rows : in_room != by_rows))
            fail_msg("%.*s in %.*s: %g reached, and the rows say %s", STR_ARG(promise->id),
                     STR_ARG(ev->h->rooms.v[room].id), value, by_rows ? "kept" : "broken");
    }
}

/* A promise of the busy hour needs the whole house: its alone part is another promise's. */
static void compare(struct home *q, const bool *chosen, struct tally *tally)
{
    const struct arena_mark mark = arena_mark(q->c.run.arena);
    struct evaluation ev;
    begin(q, house_of(q, chosen), &ev);
    for (uint32_t i = 0; i < q->h->promises.n; i++)
        if (needs_cover(q->h->promises.v[i].kind) && q->h->promises.v[i].when != WHEN_BUSY_HOUR)
            compare_promise(q, &ev, i, chosen, tally);
    arena_reset(q->c.run.arena, mark);
}

static void choose(const struct home *q, struct random *r, double share, bool *chosen)
{
    const struct placing *placing = &q->space.placing;
    memset(chosen, 0, placing->offers.n * sizeof *chosen);
    for (uint32_t site = 0; site < placing->n_sites; site++) {
        const bool is_used = random_unit(r) < share;
        uint32_t n = 0, which = NO_REF;
        for (uint32_t o = 0; o < placing->offers.n; o++)
            if (placing->offers.v[o].site == site && random_below(r, ++n) == 0)
                which = o;
        if (which != NO_REF && is_used)
            chosen[which] = true;
    }
    for (uint32_t o = 0; o < placing->offers.n; o++)
        chosen[o] = chosen[o] || placing->offers.v[o].is_fixed;
}

static void compare_at_random(struct home *q, uint32_t times, double share)
{
    struct random r = { .seed = 7 };
    struct tally tally = { 0 };
    bool *chosen = ARENA_ARRAY(q->c.run.arena, bool, q->space.placing.offers.n);
    for (uint32_t t = 0; t < times; t++) {
        choose(q, &r, share, chosen);
        compare(q, chosen, &tally);
    }
    printf("%u kept, %u broken, %u times the rows hoped for more\n", tally.n_kept, tally.n_broken, tally.n_apart);
    CHECK("some are kept", tally.n_kept > times / 2);
    CHECK("some are broken", tally.n_broken > times / 2);
}

TEST(rows_say_what_the_judges_say_in_the_flat)
{
    struct home q;
    open_home(&q, "houses/quay_flat.house.yaml", MORE);
    offer_parts(&q, 1);
    make(&q, NULL);
    compare_at_random(&q, 12, 0.6);
    close_home(&q);
}
