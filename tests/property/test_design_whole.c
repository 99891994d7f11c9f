/* Designs as a whole, on the flat: no part of the answer can be had cheaper by hand, fewer promises never cost more, and the same file
 * gives the same bytes.
 *
 * Nothing here is compared with figures of our own: a design is held against what `check` says of every house that differs from it by
 * one access point. */
#include <stdio.h>

#include "check.h"
#include "design/design_int.h"
#include "wire/open_parts.h"

enum { VARIATIONS = 30, SECONDS = 3600 /* never the limit */ };

static const char FLAT[] = "houses/quay_flat.house.yaml";

static struct design_options options_of(bool generates)
{
    return (struct design_options){ .anew = true, .generates = generates, .seconds = SECONDS, .grid_m = DESIGN_GRID_M };
}

static struct house *open_flat(struct check_run *c)
{
    struct house *h = NULL;
    CHECK_OK(c, house_open(&c->run, check_path(c, FLAT), &h, &c->problems));
    return h;
}

static struct design *design_of(struct check_run *c, const struct house *h)
{
    struct design *d = NULL;
    CHECK_OK(c, design_make(&c->run, h, options_of(false), &d, &c->problems));
    return d;
}

/* ---- fewer promises ---- */

static int64_t price_of(struct check_run *c, const struct placing *q, const bool *given_up)
{
    struct placing_answer a;
    CHECK_OK(
        c, placing_solve(&c->run, q, given_up, NULL, (struct placing_limits){ .seconds = SECONDS }, &a, &c->problems));
    CHECK("the search ends by itself", a.is_best && !a.is_stopped);
    return a.is_found ? a.price : INT64_MAX;
}

static void describe(const struct house *h, const bool *given_up, uint32_t added, int64_t without, int64_t with)
{
    printf("  with %.*s %lld, without %lld; given up:", STR_ARG(h->promises.v[added].id), (long long)with,
           (long long)without);
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (given_up[i])
            printf(" %.*s", STR_ARG(h->promises.v[i].id));
    printf("\n");
}

/* Thirty random sets of promises, and one promise more: never cheaper.  A set that cannot be kept costs without end. */
TEST(one_promise_more_never_costs_less)
{
    struct check_run c = check_run_begin();
    const struct house *h = open_flat(&c);
    struct design_space *space = NULL;
    struct needs *needs = NULL;
    CHECK_OK(&c, space_make(&c.run, h, options_of(false), &space, &c.problems));
    CHECK_OK(&c, needs_begin(&c.run, space, &needs, &c.problems));
    struct placing q = space->placing;
    CHECK_OK(&c, needs_make(&c.run, needs, NULL, &q, &c.problems));
    const uint32_t n = space->asked->promises.n;
    bool *given_up = ARENA_ARRAY(c.run.arena, bool, n);
    uint32_t *about_rooms = ARENA_ARRAY(c.run.arena, uint32_t, n), n_rooms = 0, n_dearer = 0;
    for (uint32_t i = 0; i < n; i++)
        if (needs_cover(space->asked->promises.v[i].kind))
            about_rooms[n_rooms++] = i;
    struct random r = { .seed = 7 };
    for (int k = 0; k < VARIATIONS; k++) {
        for (uint32_t i = 0; i < n_rooms; i++)
            given_up[about_rooms[i]] = random_below(&r, 2) == 0;
        const uint32_t added = about_rooms[random_below(&r, n_rooms)];
        given_up[added] = true;
        const int64_t without = price_of(&c, &q, given_up);
        given_up[added] = false;
        const int64_t with = price_of(&c, &q, given_up);
        if (with < without)
            describe(h, given_up, added, without, with);
        CHECK("one promise more never costs less", with >= without);
        n_dearer += with > without;
    }
    CHECK("some cost more", n_dearer > 0);
    check_run_end(&c);
}

/* Whole designs: without any one of the promises about rooms the bill is not larger. */
TEST(a_house_without_a_promise_is_not_dearer)
{
    struct check_run c = check_run_begin();
    struct house *h = open_flat(&c);
    const struct design *all = design_of(&c, h);
    const struct promise *promises = h->promises.v;
    const uint32_t n = h->promises.n;
    for (uint32_t gone = 0; gone < n; gone++) {
        if (!needs_cover(promises[gone].kind) || all->results.v[gone].state != PROMISE_KEPT)
            continue;
        struct house fewer = *h;
        fewer.promises.v = ARENA_ARRAY(c.run.arena, struct promise, n);
        fewer.promises.n = 0;
        for (uint32_t i = 0; i < n; i++)
            if (i != gone)
                fewer.promises.v[fewer.promises.n++] = promises[i];
        const struct design *d = design_of(&c, &fewer);
        printf("  all %lld, without %.*s %lld\n", (long long)all->total, STR_ARG(promises[gone].id),
               (long long)d->total);
        CHECK("without a promise it costs no more", d->total <= all->total);
    }
    check_run_end(&c);
}

/* ---- one access point moved by hand ---- */

static uint32_t shifted(uint32_t i, uint32_t gone) { return i == NO_REF || i < gone ? i : i == gone ? NO_REF : i - 1; }

/* The house without one piece of equipment and its cables. */
static struct house *without(struct check_run *c, const struct house *h, uint32_t gone)
{
    struct house *out = ARENA_NEW(c->run.arena, struct house);
    *out = *h;
    out->equipment.v = ARENA_ARRAY(c->run.arena, struct equipment, h->equipment.n);
    out->cables.v = ARENA_ARRAY(c->run.arena, struct cable, h->cables.n);
    out->equipment.n = out->cables.n = 0;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (e != gone) {
            out->equipment.v[out->equipment.n] = h->equipment.v[e];
            out->equipment.v[out->equipment.n++].inside.i = shifted(h->equipment.v[e].inside.i, gone);
        }
    for (uint32_t k = 0; k < h->cables.n; k++) {
        struct cable cable = h->cables.v[k];
        if (cable.from.equipment == gone || cable.to.equipment == gone)
            continue;
        cable.from.equipment = shifted(cable.from.equipment, gone);
        cable.to.equipment = shifted(cable.to.equipment, gone);
        out->cables.v[out->cables.n++] = cable;
    }
    return out;
}

/* The house with another part on another mount in place of one access point; channels and powers are open again. */
static struct house *moved(struct check_run *c, const struct house *h, uint32_t e, const struct mount *mount,
                           uint32_t part)
{
    struct house *out = ARENA_NEW(c->run.arena, struct house);
    *out = *h;
    out->equipment.v = ARENA_ARRAY(c->run.arena, struct equipment, h->equipment.n);
    out->mounts.v = ARENA_ARRAY(c->run.arena, struct mount, (size_t)h->mounts.n + 1);
    for (uint32_t i = 0; i < h->equipment.n; i++)
        out->equipment.v[i] = h->equipment.v[i];
    for (uint32_t i = 0; i < h->mounts.n; i++)
        out->mounts.v[i] = h->mounts.v[i];
    out->mounts.v[out->mounts.n] = *mount;
    struct equipment *thing = &out->equipment.v[e];
    thing->part.i = part;
    thing->mount.i = out->mounts.n++;
    thing->room = mount->room;
    thing->floor = mount->floor;
    thing->at_m = mount->at_m;
    thing->faces_deg = mount->faces_deg;
    thing->tilt_deg = mount->tilt_deg;
    thing->radios.n = 0;
    return out;
}

/* Cheaper than the design, and keeps all that it keeps? */
static bool beats(struct check_run *c, const struct design *d, const struct house *h, bool *is_cheaper)
{
    struct evaluation *ev = ARENA_NEW(c->run.arena, struct evaluation);
    struct promise_results results;
    const struct bill *bill = NULL;
    CHECK_OK(c, evaluation_begin(ev, &c->run, h, evaluation_default_options(h), &c->problems));
    CHECK_OK(c, evaluation_bill(ev, &bill, &c->problems));
    *is_cheaper = bill->total < d->total;
    if (!*is_cheaper)
        return false;
    CHECK_OK(c, promises_evaluate(ev, ALL_PROMISE_KINDS, &results, &c->problems));
    for (uint32_t i = 0; i < results.n; i++)
        if (d->results.v[i].state == PROMISE_KEPT && results.v[i].state != PROMISE_KEPT)
            return false;
    return true;
}

static bool is_taken(const struct house *h, const struct mount *m)
{
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].mount.i != NO_REF && str_eq(h->mounts.v[h->equipment.v[e].mount.i].id, m->id))
            return true;
    return false;
}

/* Every access point of the result taken away, or put, as any part that hangs so, on any other place that was offered. */
TEST(no_access_point_moved_by_hand_is_cheaper)
{
    struct check_run c = check_run_begin();
    const struct design *d = design_of(&c, open_flat(&c));
    const struct house *h = d->fitted.house;
    unsigned n_tried = 0, n_cheaper = 0;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        bool cheaper = false;
        if (h->parts.list.v[h->equipment.v[e].part.i].kind != PART_ACCESS_POINT)
            continue;
        CHECK("needed", !beats(&c, d, without(&c, h, e), &cheaper));
        CHECK("less is cheaper", cheaper);
        for (uint32_t i = 0; i < d->placing.offers.n; i++) {
            const struct place_offer *offer = &d->placing.offers.v[i];
            const struct mount *m = &d->space->house->mounts.v[d->space->sites.v[offer->site].mount];
            const bool here =
                h->equipment.v[e].mount.i != NO_REF && str_eq(h->mounts.v[h->equipment.v[e].mount.i].id, m->id);
            if (!here && is_taken(h, m))
                continue;
            n_tried++;
            CHECK("no cheaper house keeps as much", !beats(&c, d, moved(&c, h, e, m, offer->part), &cheaper));
            n_cheaper += cheaper;
        }
    }
    printf("  %u moves, %u of them cheaper\n", n_tried, n_cheaper);
    CHECK("there were moves to try", n_tried > 0);
    check_run_end(&c);
}

/* ---- the same again ---- */

TEST(the_same_bytes_each_time_and_for_any_number_of_threads)
{
    struct str bytes[2];
    struct check_run runs[2] = { check_run_begin(), check_run_begin() };
    for (int i = 0; i < 2; i++) {
        struct check_run *c = &runs[i];
        c->run.n_threads = i + 1;
        const struct house *h = open_flat(c);
        const struct design *d = design_of(c, h);
        CHECK_OK(c, fit_write(&c->run, h, d->fitted.house, &bytes[i], &c->problems));
    }
    CHECK_TEXT("bytes", bytes[1], bytes[0]);
    check_run_end(&runs[0]);
    check_run_end(&runs[1]);
}
