/* What a design may choose from, on the three demo houses: places judged by plain geometry written here, and what is there already. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "promise/promise.h"
#include "space_kit.h"

/* ---- plain geometry, on its own ---- */

static bool is_inside(vec2_list outline, double x, double y)
{
    bool inside = false;
    for (uint32_t i = 0, k = outline.n - 1; i < outline.n; k = i++) {
        const struct vec2 a = outline.v[i], b = outline.v[k];
        if ((a.y > y) != (b.y > y) && x < (b.x - a.x) * (y - a.y) / (b.y - a.y) + a.x)
            inside = !inside;
    }
    return inside;
}

/* From a point to a stretch; *along: how far along it the foot is. */
static double away_from(struct vec2 a, struct vec2 b, double x, double y, double *along)
{
    const double dx = b.x - a.x, dy = b.y - a.y, len2 = dx * dx + dy * dy;
    double t = len2 > 0.0 ? ((x - a.x) * dx + (y - a.y) * dy) / len2 : 0.0;
    t = t < 0.0 ? 0.0 : t > 1.0 ? 1.0 : t;
    *along = t * sqrt(len2);
    return hypot(x - a.x - t * dx, y - a.y - t * dy);
}

static double away_from_outline(vec2_list outline, double x, double y)
{
    double least = INFINITY, along;
    for (uint32_t i = 0; i < outline.n; i++)
        least = fmin(least, away_from(outline.v[i], outline.v[(i + 1) % outline.n], x, y, &along));
    return least;
}

static double half_of(const struct house *h, const struct wall *w)
{
    const struct construct *c = &h->constructs.v[w->construct.i];
    double sum = 0.0;
    for (uint32_t i = 0; i < c->layers.n; i++)
        sum += c->layers.v[i].thickness_m;
    return sum / 2.0;
}

/* The nearest face of a wall of a floor; *wall and *along: where. */
static double away_from_walls(const struct house *h, uint32_t floor, double x, double y, uint32_t *wall, double *along)
{
    double least = INFINITY;
    for (uint32_t i = 0; i < h->walls.n; i++) {
        const struct wall *w = &h->walls.v[i];
        double before = 0.0, at = 0.0;
        for (uint32_t k = 0; w->floor.i == floor && k + 1 < w->line.n; k++) {
            const double away = away_from(w->line.v[k], w->line.v[k + 1], x, y, &at) - half_of(h, w);
            if (away < least) {
                least = away;
                *wall = i;
                *along = before + at;
            }
            before += hypot(w->line.v[k + 1].x - w->line.v[k].x, w->line.v[k + 1].y - w->line.v[k].y);
        }
    }
    return least;
}

/* The lowest roof or flight over a point, by the plane through three corners of its outline (all are flat); INFINITY: none. */
static double roof_over(const struct house *h, uint32_t floor, double x, double y)
{
    double least = INFINITY;
    for (uint32_t i = 0; i < h->planes.n; i++) {
        const struct plane *q = &h->planes.v[i];
        vec2_list plan = { .v = (struct vec2[16]){ { 0 } }, .n = q->outline.n };
        CHECK("corners", q->outline.n >= 3 && q->outline.n <= 16);
        for (uint32_t k = 0; k < plan.n; k++)
            plan.v[k] = (struct vec2){ q->outline.v[k].x, q->outline.v[k].y };
        if (q->floor.i != floor || !is_inside(plan, x, y))
            continue;
        const struct vec3 a = q->outline.v[0], b = q->outline.v[1], c = q->outline.v[2];
        const double det = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
        const double u = ((x - a.x) * (c.y - a.y) - (c.x - a.x) * (y - a.y)) / det;
        const double v = ((b.x - a.x) * (y - a.y) - (x - a.x) * (b.y - a.y)) / det;
        least = fmin(least, a.z + u * (b.z - a.z) + v * (c.z - a.z));
    }
    return least;
}

/* ---- mounts ---- */

/* Clear of walls by half a metre, or a hand's breadth and a half in narrow rooms; of what reaches the ceiling; under the roof; where a
 * ladder stands (common practice, no source). */
static void check_ceiling(const struct house *h, const struct mount *m, const char *id)
{
    const double x = m->at_m.x, y = m->at_m.y;
    uint32_t wall = 0;
    double along = 0.0;
    CHECK(id, away_from_walls(h, m->floor.i, x, y, &wall, &along) >= 0.3 - 1e-9);
    CHECK(id, m->at_m.z < h->floors.v[m->floor.i].height_m && m->at_m.z < roof_over(h, m->floor.i, x, y));
    CHECK(id, m->at_m.z > 1.7 && m->at_m.z <= 5.5);
    for (uint32_t i = 0; i < h->obstacles.n; i++) {
        const struct obstacle *o = &h->obstacles.v[i];
        if (o->floor.i == m->floor.i && o->outline.n && o->to_m >= m->at_m.z)
            CHECK(id, !is_inside(o->outline, x, y) && away_from_outline(o->outline, x, y) >= 0.3 - 1e-9);
    }
    for (uint32_t f = 0; f < h->floors.n; f++) {
        const double over = h->floors.v[f].level_m - h->floors.v[m->floor.i].level_m - h->floors.v[m->floor.i].height_m;
        for (uint32_t k = 0; (f == m->floor.i || (over > 0.0 && over < 1.0)) && k < h->floors.v[f].holes.n; k++)
            CHECK(id, !is_inside(h->floors.v[f].holes.v[k].outline, x, y));
    }
    for (uint32_t i = 0; i < h->devices.n; i++)
        if (h->devices.v[i].floor.i == m->floor.i && str_is(h->devices.v[i].kind, "light") &&
            h->devices.v[i].at_m.z > 2.0)
            CHECK(id, hypot(h->devices.v[i].at_m.x - x, h->devices.v[i].at_m.y - y) >= 0.5 - 1e-9);
}

/* Before the face of a wall of one of the storeys, not before an opening, looking away from it. */
static void check_on_wall(const struct house *h, const struct mount *m, const char *id)
{
    const double x = m->at_m.x, y = m->at_m.y, level = h->floors.v[m->floor.i].level_m;
    const double look_x = sin(m->faces_deg * RT_PI / 180.0), look_y = cos(m->faces_deg * RT_PI / 180.0);
    bool is_at_one = false;
    for (uint32_t f = 0; f < h->floors.n; f++) {
        uint32_t wall = 0, other = 0;
        double along = 0.0, other_along = 0.0;
        const double away = h->floors.v[f].open_air ? (double)INFINITY : away_from_walls(h, f, x, y, &wall, &along);
        const double z = m->at_m.z + level - h->floors.v[f].level_m;
        if (!(away > 0.0 && away < 0.06) || z < 0.0 || z > given_or(h->walls.v[wall].height_m, h->floors.v[f].height_m))
            continue;
        is_at_one = true;
        const double before = away_from_walls(h, f, x + 0.2 * look_x, y + 0.2 * look_y, &other, &other_along);
        CHECK(id, before > away + 0.1);
        for (uint32_t k = 0; k < h->walls.v[wall].openings.n; k++) {
            const struct opening *o = &h->walls.v[wall].openings.v[k];
            CHECK(id, along < o->at_m - 0.1 || along > o->at_m + o->width_m + 0.1 || z < o->sill_m || z > o->head_m);
        }
    }
    CHECK(id, is_at_one);
}

static bool is_promised(const struct house *h, uint32_t room)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        for (uint32_t k = 0; k < h->promises.v[i].rooms.n; k++)
            if (h->promises.v[i].rooms.v[k].i == room)
                return true;
    return false;
}

static void check_mount(const struct house *h, const struct house *old, uint32_t i, const char *id)
{
    const struct mount *m = &h->mounts.v[i];
    const struct room *r = &h->rooms.v[m->room.i];
    const bool is_outside = h->floors.v[m->floor.i].open_air;
    CHECK(id, m->use & MOUNT_ACCESS_POINT && r->floor.i == m->floor.i && m->outdoors == is_outside);
    CHECK(id, is_inside(r->outline, m->at_m.x, m->at_m.y));
    CHECK(id, !(r->keep_free & (FREE_EQUIPMENT | FREE_CABLE)));
    CHECK(id, m->at_m.z <= 5.5); /* of a ladder on that floor: common practice, no source */
    if (m->surface == SURFACE_CEILING) {
        check_ceiling(h, m, id);
    } else {
        CHECK(id, is_outside ? is_promised(h, m->room.i) : !(r->keep_free & FREE_OUTLETS));
        check_on_wall(h, m, id);
    }
    for (uint32_t k = 0; k < old->mounts.n; k++)
        if (old->mounts.v[k].floor.i == m->floor.i &&
            (old->mounts.v[k].surface == SURFACE_CEILING) == (m->surface == SURFACE_CEILING))
            CHECK(id, hypot(old->mounts.v[k].at_m.x - m->at_m.x, old->mounts.v[k].at_m.y - m->at_m.y) >= 1.0 - 1e-9);
}

/* The median of the file's prices of that surface: worked by hand from the three files. */
static const struct {
    enum mount_surface surface;
    double price[3];
} FIXING[] = { { SURFACE_CEILING, { 25.0, 45.0, 30.0 } } };

TEST(generated_mounts_hang_where_something_can_hang)
{
    for (size_t k = 0; k < RT_COUNT(SPACE_HOUSES); k++) {
        struct check_run c = check_run_begin();
        const struct house *old = space_house(&c, SPACE_HOUSES[k]);
        struct house *h = NULL;
        uint32_t on_floor[64] = { 0 };
        const struct design_options options = { .generates = true, .grid_m = 3.0 };
        CHECK_OK(&c, mounts_generate(&c.run, old, &options, &h, &c.problems));
        CHECK(SPACE_HOUSES[k], h->mounts.n > old->mounts.n && h->mounts.n <= old->mounts.n + 60);
        for (uint32_t i = 0; i < old->mounts.n; i++)
            CHECK(SPACE_HOUSES[k], memcmp(&h->mounts.v[i], &old->mounts.v[i], sizeof *h->mounts.v) == 0);
        for (uint32_t i = old->mounts.n; i < h->mounts.n; i++) {
            const struct mount *m = &h->mounts.v[i];
            const char *id = str_dup(c.run.arena, m->id).p;
            check_mount(h, old, i, id);
            CHECK(id, ++on_floor[m->floor.i] <= 12);
            CHECK(id, m->surface != SURFACE_CEILING || m->price == FIXING[0].price[k]);
            for (uint32_t n = 0; n < i; n++)
                CHECK(id, !str_eq(h->mounts.v[n].id, m->id));
            CHECK(id, house_find_room(h, m->id) == NO_REF && house_find_device(h, m->id) == NO_REF &&
                          house_find_equipment(h, m->id) == NO_REF && house_find_floor(h, m->id) == NO_REF);
        }
        check_run_end(&c);
    }
}

TEST(no_site_in_a_room_that_is_kept_free)
{
    for (size_t k = 0; k < 2 * RT_COUNT(SPACE_HOUSES); k++) {
        struct check_run c = check_run_begin();
        const struct design_space *s = space_of(&c, space_house(&c, SPACE_HOUSES[k / 2]), k % 2, true);
        CHECK(SPACE_HOUSES[k / 2], s->sites.n > 0 && s->placing.n_sites == s->sites.n);
        for (uint32_t i = 0; i < s->sites.n; i++) {
            const struct mount *m = &s->house->mounts.v[s->sites.v[i].mount];
            CHECK(SPACE_HOUSES[k / 2], m->use & MOUNT_ACCESS_POINT);
            CHECK(SPACE_HOUSES[k / 2],
                  m->room.i == NO_REF || !(s->house->rooms.v[m->room.i].keep_free & FREE_EQUIPMENT));
        }
        check_run_end(&c);
    }
}

/* ---- what refers to what ---- */

static bool is_fit(const struct house *h, const struct place_offer *q, const struct mount *m)
{
    const struct part *p = &h->parts.list.v[q->part];
    return p->kind == PART_ACCESS_POINT && p->surface == m->surface && (p->outdoors || !m->outdoors) &&
           (p->vlans || h->segments.n < 2) && !((double)h->ssids.n > p->ssids_max);
}

static void check_links(const struct design_space *s, const char *what)
{
    const struct placing *q = &s->placing;
    uint32_t n_seen = 0;
    CHECK(what, s->links.n == q->links.n && s->hubs.n == q->hubs.n && s->hubs.n > 0 && q->hubs.v[0].is_core);
    for (uint32_t i = 0; i < q->things.n; i++) {
        const struct place_thing *t = &q->things.v[i];
        CHECK(what, (t->site != NO_REF) + (t->device != NO_REF) + (t->hub != NO_REF) == 1 && t->links.n > 0);
        CHECK(what, t->site == NO_REF || s->sites.v[t->site].thing == i);
        CHECK(what, t->hub != 0);
        for (uint32_t k = 0; k < t->links.n; k++, n_seen++) {
            const struct place_link *l = &q->links.v[t->links.v[k]];
            const struct design_link *d = &s->links.v[t->links.v[k]];
            CHECK(what, l->thing == i && l->hub < q->hubs.n && l->hub != t->hub);
            CHECK(what, l->cabling == NO_REF ? l->length_m == 0.0 : l->cabling < q->cablings.n && l->length_m > 0.0);
            CHECK(what, (d->cable != NO_REF) == (l->price == 0));
            CHECK(what, l->length_m <= 90.0 || d->medium == MEDIUM_FIBRE); /* ISO/IEC 11801-1: fixed cable of a link */
            for (uint32_t w = 0; w < l->works.n; w++)
                CHECK(what, l->works.v[w] < q->works.n && q->works.v[l->works.v[w]] > 0);
        }
    }
    CHECK(what, n_seen == q->links.n);
    for (uint32_t i = 0; i < q->cablings.n; i++)
        CHECK(what, q->cablings.v[i].n_parts > 0);
}

/* Wired devices that are placed each want one cable: counted in the files by hand. */
TEST(everything_refers_to_something)
{
    static const uint32_t N_WIRED[] = { 11, 0, 7 };
    for (size_t k = 0; k < 2 * RT_COUNT(SPACE_HOUSES); k++) {
        struct check_run c = check_run_begin();
        const char *what = SPACE_HOUSES[k / 2];
        const struct design_space *s = space_of(&c, space_house(&c, what), k % 2, true);
        const struct placing *q = &s->placing;
        uint32_t n_wired = 0, n_fixed = 0;
        check_links(s, what);
        for (uint32_t i = 0; i < q->things.n; i++)
            n_wired += q->things.v[i].device != NO_REF;
        CHECK_NEAR(what, (double)n_wired, (double)N_WIRED[k / 2], 0, "devices");
        for (uint32_t i = 0; i < q->offers.n; i++) {
            const struct place_offer *o = &q->offers.v[i];
            CHECK(what, o->site < s->sites.n && (i == 0 || o->site >= q->offers.v[i - 1].site));
            CHECK(what, o->piece == NO_REF || (o->piece < q->n_pieces && s->pieces.n == q->n_pieces));
            CHECK(what, is_fit(s->house, o, &s->house->mounts.v[s->sites.v[o->site].mount]) || o->piece != NO_REF);
            CHECK(what, !o->is_fixed || o->price == 0);
            n_fixed += o->is_fixed;
        }
        for (uint32_t i = 0; i < q->hubs.n; i++)
            for (uint32_t n = 0; n < q->hubs.v[i].switches.n; n++)
                CHECK(what,
                      q->hubs.v[i].switches.v[n] < q->switches.n && q->hubs.v[i].there.n == s->hubs.v[i].switches.n);
        /* As built: larch a1 a2 a3 stay and a4 is movable, the flat's only one is movable, the farm's five stay. */
        static const uint32_t N_FIXED[] = { 3, 0, 5 }, N_PIECES[] = { 4, 1, 5 };
        CHECK_NEAR(what, (double)n_fixed, k % 2 ? 0.0 : (double)N_FIXED[k / 2], 0, "fixed");
        CHECK_NEAR(what, (double)q->n_pieces, k % 2 ? 0.0 : (double)N_PIECES[k / 2], 0, "pieces");
        check_run_end(&c);
    }
}

/* ---- what is there, and what is missing ---- */

/* a4 of Larch End is owned and movable: nothing where it hangs, its fixing (25 and a tenth) elsewhere.  Its cable is still to be bought, so
 * it is no old one; the workshop's cameras have theirs from the switch there, the injector stands between that and the house. */
TEST(what_is_there_is_used)
{
    struct check_run c = check_run_begin();
    const struct design_space *s = space_of(&c, space_house(&c, SPACE_HOUSES[0]), false, false);
    const struct placing *q = &s->placing;
    uint32_t n_here = 0, n_there = 0, n_old = 0;
    CHECK_NEAR("hubs", q->hubs.n, 2, 0, "");
    for (uint32_t i = 0; i < q->offers.n; i++) {
        const struct place_offer *o = &q->offers.v[i];
        const struct str mount = s->house->mounts.v[s->sites.v[o->site].mount].id;
        if (o->piece == NO_REF || o->is_fixed)
            continue;
        CHECK_TEXT("movable", s->house->equipment.v[s->pieces.v[o->piece]].id, STR("a4"));
        n_here += str_is(mount, "workshop_roof") && o->price == 0;
        n_there += str_is(mount, "hall_ceiling") && o->price == 2750;
    }
    CHECK_NEAR("where it hangs", n_here, 1, 0, "");
    CHECK_NEAR("elsewhere", n_there, 1, 0, "");
    for (uint32_t i = 0; i < q->links.n; i++) {
        const struct place_thing *t = &q->things.v[q->links.v[i].thing];
        const struct str old = s->links.v[i].cable == NO_REF ? STR("") : s->asked->cables.v[s->links.v[i].cable].id;
        if (t->device != NO_REF && str_is(s->house->devices.v[t->device].id, "garden_camera")) {
            CHECK_TEXT("its cable", old, STR("c_garden_camera"));
            CHECK_NEAR("its hub", q->links.v[i].hub, 1, 0, "");
            n_old++;
        } else if (t->hub == 1) {
            CHECK_TEXT("the way up", old, STR("c_workshop"));
            n_old++;
        } else if (t->site != NO_REF && str_is(s->house->mounts.v[s->sites.v[t->site].mount].id, "workshop_roof")) {
            CHECK_TEXT("to be bought", old, STR(""));
        }
    }
    CHECK_NEAR("old cables", n_old, 2, 0, "");
    check_run_end(&c);
}

/* The farm's own promise of watts is kept as it is built (tests of the demo houses): four things of class 3 on a switch that gives 62 W,
 * a fifth of what they draw left over.  So they fit it here, and ask for no less than their classes: 15.4 W each (IEEE 802.3). */
TEST(what_is_fed_as_built_fits_as_built)
{
    struct check_run c = check_run_begin();
    const struct design_space *s = space_of(&c, space_house(&c, SPACE_HOUSES[2]), false, false);
    const struct placing *q = &s->placing;
    double sum_w = 0.0;
    uint32_t n = 0;
    for (uint32_t i = 0; i < q->things.n; i++) {
        const struct place_thing *t = &q->things.v[i];
        int class = t->device == NO_REF ? -1 : t->poe_class;
        double watts = t->power_w;
        for (uint32_t k = 0; t->site != NO_REF && k < q->offers.n; k++)
            if (q->offers.v[k].site == t->site && q->offers.v[k].is_fixed) {
                class = q->offers.v[k].poe_class;
                watts = q->offers.v[k].power_w;
            }
        if (class < 0 || q->links.v[t->links.v[0]].hub != 0)
            continue;
        sum_w += watts;
        n++;
    }
    /* The gateway's four ports and the switch's eight, of which a cord between them takes two, hold the ten cables that are there. */
    uint32_t n_links = 0;
    for (uint32_t i = 0; i < q->links.n; i++)
        n_links += q->links.v[i].hub == 0 && s->links.v[i].cable != NO_REF;
    CHECK_NEAR("cables there", n_links, 10, 0, "");
    CHECK_NEAR("ports of the gateway", q->hubs.v[0].free.count, 4, 0, "");
    CHECK_NEAR("ports of the switch", q->switches.v[q->hubs.v[0].there.v[0]].ports.v[0].count, 8, 0, "");
    CHECK_NEAR("fed from the house", n, 4, 0,
               ""); /* a1, a2, a3, the camera at the back door; a5's gateway feeds nothing */
    CHECK("not more than there is", sum_w <= 62.0);
    CHECK("not less than they ask", sum_w >= 4 * 15.4 - 1e-9);
    check_run_end(&c);
}

/* Says what is missing. */
TEST(nothing_to_choose_from_is_told)
{
    static const struct {
        enum part_kind kind;
        const char *says;
    } LACKING[] = { { PART_ACCESS_POINT, "no access point is among the parts" },
                    { PART_SWITCH, "no switch is among the parts" },
                    { PART_GATEWAY, "no gateway is among the parts" } };
    for (size_t k = 0; k < RT_COUNT(LACKING); k++) {
        struct check_run c = check_run_begin();
        struct house *h = space_house(&c, SPACE_HOUSES[1]);
        struct design_space *s = NULL;
        uint32_t n = 0;
        for (uint32_t i = 0; i < h->parts.list.n; i++)
            if (h->parts.list.v[i].kind != LACKING[k].kind)
                h->parts.list.v[n++] = h->parts.list.v[i];
        h->parts.list.n = n;
        h->equipment.n = h->cables.n = 0;
        const enum rt_code code =
            space_make(&c.run, h, (struct design_options){ .anew = true, .grid_m = 3.0 }, &s, &c.problems);
        CHECK(LACKING[k].says, code == RT_MISSING && !s && c.problems.n_errors == 1);
        CHECK_TEXT(LACKING[k].says, str_from(c.problems.list.v[c.problems.list.n - 1].msg), str_from(LACKING[k].says));
        check_run_end(&c);
    }
}

/* ---- a stripped house ---- */

TEST(a_stripped_house_can_be_judged)
{
    for (size_t k = 0; k < RT_COUNT(SPACE_HOUSES); k++) {
        struct check_run c = check_run_begin();
        const struct house *h = space_house(&c, SPACE_HOUSES[k]);
        struct house *s = NULL;
        const struct cable_plan *cables = NULL;
        const struct wire_links *links = NULL;
        const struct port_plan *ports = NULL;
        const struct power_plan *power = NULL;
        const struct bill *bill = NULL;
        struct evaluation ev = { 0 };
        CHECK_OK(&c, house_strip(&c.run, h, &s, &c.problems));
        CHECK(SPACE_HOUSES[k], s->equipment.n == 0 && s->cables.n == 0 && s->batteries.n == 0);
        CHECK(SPACE_HOUSES[k],
              s->devices.n == h->devices.n && s->promises.n == h->promises.n && s->mounts.n == h->mounts.n);
        for (uint32_t i = 0; i < s->recordings.n; i++)
            CHECK(SPACE_HOUSES[k], s->recordings.v[i].disks.n == 0);
        for (uint32_t i = 0; i < s->ssids.n; i++)
            CHECK(SPACE_HOUSES[k], s->ssids.v[i].equipment.n == 0);
        CHECK_OK(&c, evaluation_begin(&ev, &c.run, s, evaluation_default_options(s), &c.problems));
        CHECK_OK(&c, evaluation_cables(&ev, &cables, &links, &c.problems));
        CHECK_OK(&c, evaluation_ports(&ev, &ports, &c.problems));
        CHECK_OK(&c, evaluation_power(&ev, &power, &c.problems));
        CHECK_OK(&c, evaluation_bill(&ev, &bill, &c.problems));
        CHECK_NEAR(SPACE_HOUSES[k], (double)ev.radios.n, 0, 0, "radios");
        CHECK_NEAR(SPACE_HOUSES[k], ports->n_free, 0, 0, "ports");
        struct promise_results results = { 0 };
        CHECK_OK(&c, promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, &c.problems));
        for (uint32_t i = 0; i < results.n; i++)
            if (s->promises.v[i].kind == PROMISE_SIGNAL || s->promises.v[i].kind == PROMISE_ROAMING)
                CHECK(SPACE_HOUSES[k], results.v[i].state == PROMISE_BROKEN);
        check_run_end(&c);
    }
}

/* ---- the same each time ---- */

static struct str told(struct check_run *c, const struct design_space *s)
{
    struct buf b = { .arena = c->run.arena };
    const struct placing *q = &s->placing;
    for (uint32_t i = 0; i < s->sites.n; i++) {
        const struct mount *m = &s->house->mounts.v[s->sites.v[i].mount];
        buf_printf(&b, "%.*s %.9g %.9g %.9g\n", STR_ARG(m->id), m->at_m.x, m->at_m.y, m->at_m.z);
    }
    for (uint32_t i = 0; i < q->offers.n; i++)
        buf_printf(&b, "%u %u %lld %.17g\n", q->offers.v[i].site, q->offers.v[i].part, (long long)q->offers.v[i].price,
                   q->offers.v[i].sent_w);
    for (uint32_t i = 0; i < q->links.n; i++)
        buf_printf(&b, "%u %u %lld %.17g %u\n", q->links.v[i].thing, q->links.v[i].hub, (long long)q->links.v[i].price,
                   q->links.v[i].length_m, q->links.v[i].works.n);
    for (uint32_t i = 0; i < q->works.n; i++)
        buf_printf(&b, "%lld\n", (long long)q->works.v[i]);
    return buf_done(&b);
}

TEST(the_same_house_gives_the_same_space)
{
    for (size_t k = 0; k < RT_COUNT(SPACE_HOUSES); k++) {
        struct check_run a = check_run_begin(), b = check_run_begin();
        b.run.n_threads = 2;
        const struct str first = told(&a, space_of(&a, space_house(&a, SPACE_HOUSES[k]), true, true));
        const struct str second = told(&b, space_of(&b, space_house(&b, SPACE_HOUSES[k]), true, true));
        CHECK(SPACE_HOUSES[k], first.n > 1000);
        CHECK_TEXT(SPACE_HOUSES[k], first, second);
        check_run_end(&a);
        check_run_end(&b);
    }
}
