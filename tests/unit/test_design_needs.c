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
    struct house *h;      /* nothing hangs in it ... */
    uint32_t n_equipment; /* ... but did in the file */
    struct design_space space;
    struct needs *needs;
};

/* Promises of three small rooms of the flat, so that every form a row can take occurs and the fields are soon computed. */
static const char FLAT[] = "houses/quay_flat.house.yaml";
static const char MORE[] =
    "  x_any: {kind: signal, says: x, rooms: [kitchen, hall, bath], level_dbm: -66}\n"
    "  x_two_bands: {kind: signal, says: x, rooms: [kitchen, hall], bands: [2.4, 5], level_dbm: -68}\n"
    "  x_some_of_it: {kind: signal, says: x, rooms: [kitchen, bath], bands: [5], level_dbm: -68, area_share: 0.4}\n"
    "  x_heard: {kind: signal, says: x, rooms: [kitchen, hall], level_dbm: -70, direction: both, uplink_level_dbm: "
    "-66}\n"
    "  x_calls: {kind: signal, says: x, rooms: [kitchen, hall, bath], direction: up, level_dbm: -62, area_share: 0.8}\n"
    "  x_change: {kind: roaming, says: x, rooms: [hall, kitchen, bath], level_dbm: -72}\n"
    "  x_change_both: {kind: roaming, says: x, rooms: [hall, kitchen], bands: [2.4, 5], level_dbm: -72}\n"
    "  x_fast: {kind: rate, says: x, rooms: [hall, kitchen], mbps: 300, device_kind: laptop, when: alone}\n"
    "  x_fast_5: {kind: rate, says: x, rooms: [bath], mbps: 200, up_mbps: 150, bands: [5], device_kind: laptop, when: "
    "alone}\n"
    "  x_in_bed: {kind: rate, says: x, rooms: [bath], mbps: 250, device_kind: tablet, height_m: 0.7, when: alone}\n"
    "  x_easy_lost: {kind: survive, says: x, promises: [x_some_of_it], failures: [access_point, line]}\n"
    "  x_fast_lost: {kind: survive, says: x, promises: [x_fast], failures: [access_point]}\n"
    "  x_heard_lost: {kind: survive, says: x, promises: [x_any], failures: [access_point]}\n"
    "  x_one_lost: {kind: survive, says: x, promises: [x_any, x_change, x_two_bands, x_fast], failures: "
    "[access_point]}\n";

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
    q->n_equipment = q->h->equipment.n;
    q->h->devices.n = 0; /* nobody's field need be computed where no promise is made */
    q->h->equipment.n = q->h->cables.n = q->h->batteries.n = q->h->recordings.n = 0;
    q->space = (struct design_space){ .asked = q->h, .house = q->h, .options.allows_radar = true };
}

static void close_home(struct home *q) { check_run_end(&q->c); }

/* Only these promises: fewer rooms, sooner computed. */
static void keep_promises(struct home *q, uint32_t n, const char *const *ids)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < q->h->promises.n; i++)
        for (uint32_t k = 0; k < n; k++)
            if (str_is(q->h->promises.v[i].id, ids[k]))
                q->h->promises.v[kept++] = q->h->promises.v[i];
    CHECK_NEAR("promises", kept, n, 0, "");
    q->h->promises.n = kept;
}

static void open_flat(struct home *q)
{
    uint32_t kept = 0;
    open_home(q, FLAT, MORE);
    for (uint32_t i = 0; i < q->h->promises.n; i++)
        if (q->h->promises.v[i].id.n > 2 && memcmp(q->h->promises.v[i].id.p, "x_", 2) == 0)
            q->h->promises.v[kept++] = q->h->promises.v[i];
    q->h->promises.n = kept;
}

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

/* The share of a room that keeps the promise, in whichever direction falls shorter; NaN: the room was not judged. */
static double kept_share(const struct house *h, const struct promise_result *r, uint32_t room)
{
    for (const struct fact *f = r->evidence->first; f; f = f->next)
        for (const struct fact *o = f->key && strcmp(f->key, "rooms") == 0 ? f->first : NULL; o; o = o->next)
            if (str_eq(fact_find_str(o, "room"), h->rooms.v[room].id))
                return fact_find_num(o, "area_share");
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
    const bool may_hope = (promise->kind == PROMISE_SIGNAL && promise->direction != DIRECTION_DOWN) ||
                          (promise->kind == PROMISE_RATE && q->h->neighbours.n);
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
        const double share = kept_share(ev->h, &r, room);
        const bool in_room = share >= promise->area_share - 1e-9;
        const bool by_rows = rows_hold(&q->space.placing, i, room, chosen);
        if (!isnan(share) && (may_hope ? in_room && !by_rows : in_room != by_rows))
            fail_msg("%.*s in %.*s: kept in %g of it, and the rows say %s", STR_ARG(promise->id),
                     STR_ARG(ev->h->rooms.v[room].id), share, by_rows ? "kept" : "broken");
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
    CHECK("some are kept", tally.n_kept > 1);
    CHECK("some are broken", tally.n_broken > 1);
}

TEST(rows_say_what_the_judges_say_in_the_flat)
{
    struct home q;
    open_flat(&q);
    offer_parts(&q, 1);
    make(&q, NULL);
    compare_at_random(&q, 6, 0.6);
    close_home(&q);
}

/* Without foreign cells no channel is better than another. */
TEST(rates_are_as_judged_where_nobody_else_is_heard)
{
    struct home q;
    open_flat(&q);
    q.h->neighbours.n = 0;
    offer_parts(&q, 1);
    make(&q, NULL);
    compare_at_random(&q, 3, 0.6);
    close_home(&q);
}

/* Floors above each other, a garden that hears both ways. */
TEST(rows_say_what_the_judges_say_in_larch_end)
{
    static const char *const IDS[] = { "box_room_5", "lawn" };
    struct home q;
    open_home(&q, "houses/larch_end.house.yaml", "");
    keep_promises(&q, RT_COUNT(IDS), IDS);
    for (uint32_t i = 0; i < q.h->promises.n; i++) /* so that a few access points keep some */
        q.h->promises.v[i].level_dbm -= 10.0;
    offer_parts(&q, 4);
    make(&q, NULL);
    compare_at_random(&q, 3, 0.6);
    close_home(&q);
}

/* ---- what is there already ---- */

/* The flat as it is: its access point on the bookcase stays where it is, and the gateway has been given a radio of its own. */
static struct equipment *leave_there(struct home *q)
{
    struct house *h = q->h;
    struct placing *placing = &q->space.placing;
    h->equipment.n = q->n_equipment;
    const uint32_t a1 = house_find_equipment(h, STR("a1")), gateway = house_find_equipment(h, STR("gateway"));
    struct part *with_radio = &h->parts.list.v[h->equipment.v[gateway].part.i];
    with_radio->radios.v = h->parts.list.v[parts_find(&h->parts, STR("shelf_two_band"))].radios.v;
    with_radio->radios.n = 1;
    q->space.pieces.v[q->space.pieces.n++] = a1;
    placing->n_pieces = 1;
    for (uint32_t o = 0; o < placing->offers.n; o++) {
        struct place_offer *offer = &placing->offers.v[o];
        if (q->space.sites.v[offer->site].mount != h->equipment.v[a1].mount.i)
            continue;
        offer->part = h->equipment.v[a1].part.i;
        offer->piece = 0;
        offer->is_fixed = true;
        return &h->equipment.v[a1];
    }
    fail_msg("no offer where it hangs");
    return NULL;
}

static void compare_with_what_stays(bool tune)
{
    struct home q;
    open_flat(&q);
    offer_parts(&q, 1);
    struct equipment *a1 = leave_there(&q);
    a1->tune = tune;
    make(&q, NULL);
    for (uint32_t i = 0; tune && i < a1->radios.n; i++) /* as the rows have it: on its channels, at any power */
        a1->radios.v[i].power_dbm = RT_NOT_GIVEN;
    compare_at_random(&q, 2, 0.4);
    close_home(&q);
}

TEST(what_stays_serves_as_the_file_has_it) { compare_with_what_stays(false); }

TEST(what_may_be_tuned_serves_on_its_channels_at_the_most_power) { compare_with_what_stays(true); }

/* ---- tighter ---- */

static void tighten_file(struct house *h, const struct tighter *by)
{
    for (uint32_t i = 0; i < h->promises.n; i++) {
        struct promise *q = &h->promises.v[i];
        q->level_dbm += by[i].by_db;
        q->uplink_level_dbm += by[i].by_db;
        q->mbps *= by[i].rate_times;
        q->up_mbps *= by[i].rate_times;
    }
}

/* Rows made tighter are those of promises that promise so much more; and nothing that holds then fails without. */
TEST(tighter_rows_are_those_of_greater_promises)
{
    static const char *const IDS[] = { "x_any", "x_heard", "x_change", "x_fast_5" };
    struct home q;
    open_flat(&q);
    keep_promises(&q, RT_COUNT(IDS), IDS);
    offer_parts(&q, 1);
    make(&q, NULL);
    const struct placing as_promised = q.space.placing;
    struct tighter by[RT_COUNT(IDS)];
    for (uint32_t i = 0; i < RT_COUNT(IDS); i++)
        by[i] = (struct tighter){ .by_db = 1.5 + i, .rate_times = 1.25 };
    make(&q, by);
    struct random r = { .seed = 11 };
    bool *chosen = ARENA_ARRAY(q.c.run.arena, bool, as_promised.offers.n);
    for (uint32_t t = 0; t < 200; t++) {
        choose(&q, &r, 0.5, chosen);
        for (uint32_t i = 0; i < RT_COUNT(IDS); i++)
            CHECK("monotone",
                  !rows_hold(&q.space.placing, i, NO_REF, chosen) || rows_hold(&as_promised, i, NO_REF, chosen));
    }
    tighten_file(q.h, by);
    compare_at_random(&q, 3, 0.7);
    close_home(&q);
}

/* ---- uplink ---- */

/* A signal that must be heard both ways is judged at the radio the downlink chooses.  Rows ask that some access point serve by
 * itself; in the house a stronger one beside it may be chosen that hears less well: rows hope for more, never for less. */
TEST(uplink_is_hoped_for_at_each_access_point_by_itself)
{
    static const char *const IDS[] = { "x_calls" };
    struct home q;
    open_flat(&q);
    keep_promises(&q, RT_COUNT(IDS), IDS);
    offer_parts(&q, 1);
    for (uint32_t i = 0; i < q.h->parts.list.n; i++) { /* all whisper but those on shelves */
        struct part *part = &q.h->parts.list.v[i];
        for (uint32_t k = 0; k < part->radios.n && part->surface != SURFACE_SHELF; k++)
            part->radios.v[k].power_dbm -= 25.0;
    }
    make(&q, NULL);
    struct random r = { .seed = 3 };
    struct tally tally = { 0 };
    bool *chosen = ARENA_ARRAY(q.c.run.arena, bool, q.space.placing.offers.n);
    for (uint32_t t = 0; t < 3; t++) {
        choose(&q, &r, 0.9, chosen);
        compare(&q, chosen, &tally);
    }
    printf("%u kept, %u broken, %u times the rows hoped for more\n", tally.n_kept, tally.n_broken, tally.n_apart);
    CHECK("it happens", tally.n_apart > 0);
    close_home(&q);
}

/* ---- radar ---- */

/* Where only channels with radar duty may be used outdoors, rows count on the radio if they are allowed: never more without. */
TEST(radar_channels_count_only_if_allowed)
{
    static const char *const IDS[] = { "lawn" };
    struct home q;
    open_home(&q, "houses/larch_end.house.yaml", "");
    keep_promises(&q, RT_COUNT(IDS), IDS);
    q.h->promises.v[0].bands = 1u << BAND_5G;
    q.h->promises.v[0].level_dbm = -85.0;
    q.h->promises.v[0].direction = DIRECTION_DOWN;
    for (uint32_t m = 0; m < q.h->mounts.n; m++) /* the eaves board alone */
        if (!q.h->mounts.v[m].outdoors)
            q.h->mounts.v[m].use = 0;
    offer_parts(&q, 1);
    make(&q, NULL);
    bool *all = ARENA_ARRAY(q.c.run.arena, bool, q.space.placing.offers.n);
    memset(all, true, q.space.placing.offers.n * sizeof *all);
    CHECK("the lawn hears 5 GHz", rows_hold(&q.space.placing, 0, NO_REF, all));
    q.space.options.allows_radar = false;
    q.needs = NULL;
    make(&q, NULL);
    CHECK("but not without radar duty", !rows_hold(&q.space.placing, 0, NO_REF, all));
    close_home(&q);
}

/* The regulatory database keeps 6 GHz indoors in Great Britain (wireless-regdb, country GB: 5925 - 6425, NO-OUTDOOR): a third radio on
 * the eaves board is told of, counts for nothing, and a house with it off is judged as the rows say. */
TEST(a_radio_without_a_channel_is_off)
{
    static const char *const IDS[] = { "lawn" };
    struct home q;
    open_home(&q, "houses/larch_end.house.yaml", "");
    keep_promises(&q, RT_COUNT(IDS), IDS);
    struct parts *parts = &q.h->parts;
    const struct part *lender = &parts->list.v[parts_find(parts, STR("wall_three_band"))];
    for (uint32_t i = 0; i < parts->list.n; i++) {
        struct part *part = &parts->list.v[i];
        if (part->kind != PART_ACCESS_POINT || !part->outdoors)
            continue;
        part->radios.v = lender->radios.v;
        part->radios.n = lender->radios.n;
    }
    for (uint32_t m = 0; m < q.h->mounts.n; m++)
        if (!q.h->mounts.v[m].outdoors)
            q.h->mounts.v[m].use = 0;
    offer_parts(&q, 1);
    make(&q, NULL);
    struct tally tally = { 0 };
    bool *chosen = ARENA_ARRAY(q.c.run.arena, bool, q.space.placing.offers.n);
    chosen[0] = true;
    CHECK_NEAR("radios off", needs_radios_off(q.needs, 0), 1u << 2, 0, "");
    CHECK("the third is for 6 GHz", lender->radios.v[2].band == BAND_6G);
    compare(&q, chosen, &tally);
    close_home(&q);
}

TEST(it_stops_when_told)
{
    struct home q;
    open_flat(&q);
    offer_parts(&q, 1);
    const atomic_bool stop = true;
    struct needs *n;
    q.c.run.cancel = &stop;
    CHECK("stopped", needs_begin(&q.c.run, &q.space, &n, &q.c.problems) == RT_CANCELLED);
    close_home(&q);
}

/* ---- threads ---- */

static void check_same_rows(const struct placing *a, const struct placing *b)
{
    CHECK_NEAR("needs", b->needs.n, a->needs.n, 0, "");
    for (uint32_t i = 0; i < a->needs.n; i++) {
        const struct place_need *x = &a->needs.v[i], *y = &b->needs.v[i];
        CHECK("need", x->promise == y->promise && x->room == y->room && x->all == y->all && x->always == y->always &&
                          x->wanted == y->wanted && x->bears_loss == y->bears_loss && x->cells.n == y->cells.n);
        for (uint32_t k = 0; k < x->cells.n; k++) {
            CHECK("cell",
                  x->cells.v[k].weight == y->cells.v[k].weight && x->cells.v[k].clauses.n == y->cells.v[k].clauses.n);
            for (uint32_t l = 0; l < x->cells.v[k].clauses.n; l++) {
                const struct place_clause *u = &x->cells.v[k].clauses.v[l], *v = &y->cells.v[k].clauses.v[l];
                CHECK("clause", u->at_least == v->at_least && u->offers.n == v->offers.n &&
                                    memcmp(u->offers.v, v->offers.v, u->offers.n * sizeof *u->offers.v) == 0);
            }
        }
    }
}

TEST(rows_are_the_same_for_any_number_of_threads)
{
    static const int THREADS[] = { 1, 2, 7 };
    static const char *const IDS[] = { "x_any", "x_change_both", "x_fast" };
    struct placing first = { 0 };
    struct home q;
    open_flat(&q);
    keep_promises(&q, RT_COUNT(IDS), IDS);
    offer_parts(&q, 1);
    for (size_t i = 0; i < RT_COUNT(THREADS); i++) {
        q.c.run.n_threads = THREADS[i];
        q.needs = NULL;
        make(&q, NULL);
        if (i == 0)
            first = q.space.placing;
        check_same_rows(&first, &q.space.placing);
    }
    CHECK("there are rows", first.needs.n > 0 && first.needs.v[0].cells.n > 1);
    close_home(&q);
}

/* ---- memory ---- */

TEST(too_little_memory_is_said)
{
    struct home q;
    open_flat(&q);
    offer_parts(&q, 1);
    struct needs *n;
    enum rt_code code = RT_NOMEM;
    for (size_t more = 1 << 14; code == RT_NOMEM && more < 1 << 28; more <<= 1) {
        struct run small = q.c.run;
        struct rt_problems p;
        small.arena = arena_new(more);
        rt_problems_init(&p, q.c.run.arena);
        code = needs_begin(&small, &q.space, &n, &p);
        if (code == RT_OK)
            code = needs_make(&small, n, NULL, &q.space.placing, &p);
        CHECK("said", (code == RT_NOMEM) == (p.n_errors == 1));
        arena_free(small.arena);
    }
    CHECK("enough in the end", code == RT_OK);
    close_home(&q);
}
