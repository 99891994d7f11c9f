/* Random wishes for access points in the demo houses, answered by the quick search and fitted: ports, watts and ways hold for all that
 * is new, what was there stays, and the file reads back. */
#include "design/fit.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "check.h"
#include "wire/cable_tree.h"

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

/* Wishes for access points at random sites: one of a few sites each. */
static void wish(struct check_run *c, struct random *r, struct placing *q, uint32_t n)
{
    q->needs.v = ARENA_ARRAY(c->run.arena, struct place_need, n);
    q->needs.n = q->n_sites ? n : 0;
    q->at_most = INT64_MAX;
    for (uint32_t i = 0; i < q->needs.n; i++) {
        struct place_cell *cell = ARENA_NEW(c->run.arena, struct place_cell);
        struct place_clause *clause = ARENA_NEW(c->run.arena, struct place_clause);
        const uint32_t site = random_below(r, q->n_sites);
        clause->at_least = 1;
        clause->offers.v = ARENA_ARRAY(c->run.arena, uint32_t, q->offers.n);
        for (uint32_t o = 0; o < q->offers.n; o++)
            if (q->offers.v[o].site == site || q->offers.v[o].site == (site + 7) % q->n_sites)
                clause->offers.v[clause->offers.n++] = o;
        *cell = (struct place_cell){ .weight = 1 };
        cell->clauses.v = clause;
        cell->clauses.n = 1;
        q->needs.v[i] = (struct place_need){ .promise = 0, .room = 0, .all = 1, .wanted = 1 };
        q->needs.v[i].cells.v = cell;
        q->needs.v[i].cells.n = 1;
    }
}

static bool was_there(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->cables.n; i++)
        if (str_eq(h->cables.v[i].id, id))
            return true;
    return false;
}

static void check_wires(struct check_run *c, const struct house *before, const struct house *h, bool anew)
{
    struct evaluation ev;
    const struct port_plan *ports = NULL;
    const struct power_plan *power = NULL;
    struct cable_tree tree;
    memset(&ev, 0, sizeof ev);
    CHECK_OK(c, evaluation_begin(&ev, &c->run, h, evaluation_default_options(h), &c->problems));
    CHECK_OK(c, evaluation_ports(&ev, &ports, &c->problems));
    CHECK_OK(c, evaluation_power(&ev, &power, &c->problems));
    CHECK("memory", cable_tree_make(c->run.arena, h, NULL, NULL, &tree));
    for (uint32_t i = 0; i < h->devices.n; i++)
        CHECK("every wired device is joined",
              h->devices.v[i].link != LINK_WIRED || tree_is_joined(&tree, tree_device(h, i)));
    for (uint32_t i = 0; i < h->cables.n; i++) {
        if (!anew && was_there(before, h->cables.v[i].id))
            continue;
        CHECK("ports, watts and speed", !ports->cables[i].from.lacks && !ports->cables[i].to.lacks);
        CHECK("a way", ev.cables->cables[i].is_routed && !(ev.cables->cables[i].lacks_m > 0));
    }
    for (uint32_t e = before->equipment.n; e < h->equipment.n && !anew; e++) {
        const struct part *part = &h->parts.list.v[h->equipment.v[e].part.i];
        const uint32_t feed = power->feed_of_equipment[e];
        CHECK("what is new is joined", !part->ports.n || tree_is_joined(&tree, e));
        CHECK("and fed", feed == NO_REF || power->feeds.v[feed].class_granted >= 0);
    }
}

static void check_access_points(const struct design_space *s, const struct placing_answer *a, const struct house *h)
{
    for (uint32_t i = 0; i < s->placing.offers.n; i++) {
        const struct place_offer *o = &s->placing.offers.v[i];
        uint32_t n = 0;
        if (!a->offers[i] || o->is_fixed)
            continue;
        for (uint32_t e = 0; e < h->equipment.n; e++) {
            const struct equipment *x = &h->equipment.v[e];
            n += x->mount.i != NO_REF && x->part.i == o->part &&
                 str_eq(h->mounts.v[x->mount.i].id, s->house->mounts.v[s->sites.v[o->site].mount].id);
        }
        CHECK("each offer hangs once", n == 1);
    }
}

PROP(a_random_choice_is_a_whole_house, 8)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL, *got = NULL;
    struct design_space *s = NULL;
    struct placing_answer a;
    struct fitted fitted = { 0 };
    struct str bytes = { 0 };
    const bool anew = random_below(r, 2);
    const char *path = check_path(&c, HOUSES[random_below(r, RT_COUNT(HOUSES))]);
    const struct design_options options = { .anew = anew, .generates = true, .seconds = 30, .gap = 0.01, .grid_m = 3 };
    CHECK_OK(&c, house_read(&c.run, path, &h, &c.problems));
    CHECK_OK(&c, space_make(&c.run, h, options, &s, &c.problems));
    wish(&c, r, &s->placing, 1 + random_below(r, 6));
    CHECK_OK(&c, placing_greedy(&c.run, &s->placing, NULL, &a, &c.problems));
    if (!a.is_found) {
        check_run_end(&c);
        return;
    }
    CHECK_OK(&c, fit_house(&c.run, s, &a, &fitted, &c.problems));
    check_wires(&c, h, fitted.house, anew);
    check_access_points(s, &a, fitted.house);
    CHECK_OK(&c, fit_write(&c.run, h, fitted.house, &bytes, &c.problems));
    CHECK_OK(&c, house_read_bytes(&c.run, path, bytes, &got, &c.problems));
    CHECK("all of it", got->equipment.n == fitted.house->equipment.n && got->mounts.n == fitted.house->mounts.n);
    check_run_end(&c);
}
