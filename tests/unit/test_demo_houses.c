/* The demo houses and the demo parts: they read without a word of complaint and hold what their page says they hold. */
#include <math.h>
#include <stdio.h>

#include "base/units.h"
#include "check.h"
#include "house/house.h"

/* Neither error nor warning; shows them if there are. */
static void check_no_complaint(struct check_run *c)
{
    struct buf text = { .arena = c->run.arena };
    rt_problems_format(&c->problems, &text);
    CHECK_TEXT("errors and warnings", ((struct str){ text.p, text.n }), STR(""));
}

static const struct house *read_house(struct check_run *c, const char *below_root)
{
    struct house *h = NULL;
    CHECK_OK(c, house_read(&c->run, check_path(c, below_root), &h, &c->problems));
    check_no_complaint(c);
    return h;
}

static uint32_t devices_of_kind(const struct house *h, const char *kind)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->devices.n; i++)
        n += str_is(h->devices.v[i].kind, kind);
    return n;
}

/* The wishes of the main demo, as the task of the demo states them: four people and a lodger, about 45 devices, eight or
 * more that watch or feel, a work tunnel's range, a busy 2.4 GHz band, every kind of promise. */
TEST(larch_end_holds_what_it_should)
{
    struct check_run c = check_run_begin();
    const struct house *h = read_house(&c, "houses/larch_end.house.yaml");
    CHECK_TEXT("country", h->country, str_from("GB"));
    CHECK_NEAR("devices", (double)h->devices.n, 45, 3, "");
    CHECK("eight cameras or sensors",
          devices_of_kind(h, "camera") + devices_of_kind(h, "doorbell") + devices_of_kind(h, "sensor") >= 8);
    CHECK_NEAR("people", (double)h->people.n, 5, 0, "");
    uint32_t n_home_workers = 0, n_lodgers = 0, n_at_2g4 = 0;
    for (uint32_t i = 0; i < h->people.n; i++) {
        n_home_workers += h->people.v[i].works_from_home;
        n_lodgers += h->people.v[i].kind == PERSON_LODGER;
    }
    for (uint32_t i = 0; i < h->neighbours.n; i++)
        n_at_2g4 += h->neighbours.v[i].band == BAND_2G4;
    CHECK_NEAR("work from home", n_home_workers, 2, 0, "");
    CHECK_NEAR("lodgers", n_lodgers, 1, 0, "");
    CHECK("a neighbourly 2.4 GHz band", n_at_2g4 >= 6);
    CHECK("a work tunnel's range", h->foreign_ranges.n >= 2);
    CHECK("a sloping roof", h->planes.n >= 2);

    bool has[PROMISE_KIND_COUNT] = { false };
    for (uint32_t i = 0; i < h->promises.n; i++)
        has[h->promises.v[i].kind] = true;
    for (int k = 0; k < PROMISE_KIND_COUNT; k++)
        CHECK(promise_kind_name((enum promise_kind)k), has[k]);
    check_run_end(&c);
}

static uint32_t access_points(const struct house *h)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->equipment.n; i++)
        n += h->parts.list.v[h->equipment.v[i].part.i].kind == PART_ACCESS_POINT;
    return n;
}

TEST(larch_end_has_four_access_points)
{
    struct check_run c = check_run_begin();
    CHECK_NEAR("access points", access_points(read_house(&c, "houses/larch_end.house.yaml")), 4, 0, "");
    check_run_end(&c);
}

TEST(quay_flat_is_small)
{
    struct check_run c = check_run_begin();
    const struct house *h = read_house(&c, "houses/quay_flat.house.yaml");
    CHECK("at most two access points", access_points(h) >= 1 && access_points(h) <= 2);
    CHECK("a dozen devices at most", h->devices.n <= 12);
    CHECK("the provider's box is the router", h->line.box.mode == BOX_ROUTER);
    CHECK("many neighbours", h->neighbours.n >= 10);
    check_run_end(&c);
}

TEST(whin_farm_has_a_barn_far_off)
{
    struct check_run c = check_run_begin();
    const struct house *h = read_house(&c, "houses/whin_farm.house.yaml");
    const uint32_t barn = house_find_floor(h, str_from("barn")), ground = house_find_floor(h, str_from("ground"));
    CHECK("a barn and a ground floor", barn != NO_REF && ground != NO_REF);
    double barn_y_m = INFINITY, house_y_m = -INFINITY;
    for (uint32_t i = 0; i < h->floors.v[barn].outline.n; i++)
        barn_y_m = fmin(barn_y_m, h->floors.v[barn].outline.v[i].y);
    for (uint32_t i = 0; i < h->floors.v[ground].outline.n; i++)
        house_y_m = fmax(house_y_m, h->floors.v[ground].outline.v[i].y);
    CHECK_NEAR("way across the yard", barn_y_m - house_y_m, 35, 1e-9, "m");
    check_run_end(&c);
}

/* Rooms share out their floor: no spot twice, none left over.  Areas by the shoelace rule. */
TEST(rooms_share_out_their_floors)
{
    static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                          "houses/whin_farm.house.yaml" };
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct check_run c = check_run_begin();
        const struct house *h = read_house(&c, HOUSES[k]);
        for (uint32_t f = 0; f < h->floors.n; f++) {
            double area_m2 = 0;
            for (uint32_t r = 0; r < h->rooms.n; r++)
                if (h->rooms.v[r].floor.i == f)
                    area_m2 += polygon_area_m2(h->rooms.v[r].outline);
            CHECK_NEAR(HOUSES[k], area_m2, polygon_area_m2(h->floors.v[f].outline), 1e-6, "m2");
        }
        check_run_end(&c);
    }
}

/* Where one storey lies on another, the slab between fills the gap: level + height + layers of the slab. */
TEST(storeys_stand_on_one_another)
{
    struct check_run c = check_run_begin();
    const struct house *h = read_house(&c, "houses/larch_end.house.yaml");
    static const char *const UP[] = { "ground", "first", "loft" };
    for (int i = 0; i < 2; i++) {
        const struct floor *below = &h->floors.v[house_find_floor(h, str_from(UP[i]))];
        const struct floor *above = &h->floors.v[house_find_floor(h, str_from(UP[i + 1]))];
        const struct construct *slab = &h->constructs.v[above->slab.i];
        double slab_m = 0;
        for (uint32_t j = 0; j < slab->layers.n; j++)
            slab_m += slab->layers.v[j].thickness_m;
        CHECK_NEAR(UP[i + 1], above->level_m, below->level_m + below->height_m + slab_m, 1e-9, "m");
    }
    check_run_end(&c);
}

static double elevation_dbi(const struct antenna *a, double deg)
{
    uint32_t i = 0;
    while (i + 2 < a->elevation_deg.n && deg > a->elevation_deg.v[i + 1])
        i++;
    const double x0 = a->elevation_deg.v[i], x1 = a->elevation_deg.v[i + 1];
    const double y0 = a->elevation_dbi.v[i], y1 = a->elevation_dbi.v[i + 1];
    return y0 + (y1 - y0) * (deg - x0) / (x1 - x0);
}

/* An antenna radiates no more than it is fed: the mean of its gain over the sphere is at most 1 (C. A. Balanis, Antenna
 * Theory, the chapter on fundamental parameters, from memory); an ordinary one loses a few decibels at most. */
TEST(antennas_radiate_less_than_they_are_fed)
{
    struct check_run c = check_run_begin();
    struct parts parts = { 0 };
    CHECK_OK(&c, parts_read(&c.run, check_path(&c, "parts/demo.parts.yaml"), &parts, &c.problems));
    check_no_complaint(&c);
    uint32_t n_radios = 0;
    for (uint32_t p = 0; p < parts.list.n; p++) {
        const struct part *part = &parts.list.v[p];
        for (uint32_t r = 0; r < part->radios.n; r++, n_radios++) {
            enum { STEPS = 1800 };
            double mean = 0;
            for (int k = 0; k < STEPS; k++) {
                const double deg = (k + 0.5) * 180.0 / STEPS;
                mean += pow(10, elevation_dbi(&part->radios.v[r].antenna, deg) / 10) * sin(deg * M_PI / 180) * M_PI /
                        (2 * STEPS);
            }
            char what[96];
            snprintf(what, sizeof what, "%.*s, %s GHz: mean gain between -3 and 0 dBi", (int)part->id.n, part->id.p,
                     band_name(part->radios.v[r].band));
            CHECK(what, mean <= 1 && mean >= 0.5);
        }
    }
    CHECK("radios were looked at", n_radios >= 16);
    check_run_end(&c);
}

/* One part of every kind that a plan may need, switches from 5 to 24 ports, with and without power. */
TEST(parts_cover_what_a_house_needs)
{
    struct check_run c = check_run_begin();
    struct parts parts = { 0 };
    CHECK_OK(&c, parts_read(&c.run, check_path(&c, "parts/demo.parts.yaml"), &parts, &c.problems));
    bool has[PART_KIND_COUNT] = { false };
    double fewest = INFINITY, most = 0;
    bool with_power = false, without_power = false, three_bands = false, outdoor = false, wall = false;
    for (uint32_t i = 0; i < parts.list.n; i++) {
        const struct part *p = &parts.list.v[i];
        has[p->kind] = true;
        CHECK("a price", is_given(p->price) && p->price > 0);
        if (p->kind == PART_ACCESS_POINT) {
            three_bands |= p->radios.n == 3;
            outdoor |= p->outdoors;
            wall |= p->surface == SURFACE_WALL && !p->outdoors;
        }
        if (p->kind != PART_SWITCH)
            continue;
        double n_copper = 0;
        for (uint32_t g = 0; g < p->ports.n; g++)
            if (str_is(p->ports.v[g].medium, "copper"))
                n_copper += p->ports.v[g].count;
        fewest = fmin(fewest, n_copper);
        most = fmax(most, n_copper);
        with_power |= is_given(p->poe_budget_w);
        without_power |= !is_given(p->poe_budget_w);
    }
    for (int k = 0; k < PART_KIND_COUNT; k++)
        CHECK(part_kind_name((enum part_kind)k), has[k]);
    CHECK_NEAR("smallest switch", fewest, 5, 0, "ports");
    CHECK_NEAR("largest switch", most, 24, 0, "ports");
    CHECK("switches with and without power over the cable", with_power && without_power);
    CHECK("access points of three bands, for walls, for outdoors", three_bands && wall && outdoor);
    check_run_end(&c);
}

/* 1 if two figures differ; two that are not given are the same. */
static double differs(double a, double b) { return (is_given(a) || is_given(b)) && !(fabs(a - b) <= 0) ? 1 : 0; }

/* The price list in euros holds parts of the other list, with the same figures. */
TEST(the_two_price_lists_differ_in_prices_only)
{
    struct check_run c = check_run_begin();
    struct parts gbp = { 0 }, eur = { 0 };
    CHECK_OK(&c, parts_read(&c.run, check_path(&c, "parts/demo.parts.yaml"), &gbp, &c.problems));
    CHECK_OK(&c, parts_read(&c.run, check_path(&c, "parts/demo_eur.parts.yaml"), &eur, &c.problems));
    check_no_complaint(&c);
    CHECK("some parts", eur.list.n >= 20);
    for (uint32_t i = 0; i < eur.list.n; i++) {
        const struct part *e = &eur.list.v[i];
        const uint32_t k = parts_find(&gbp, e->id);
        CHECK("part stands in both lists", k != NO_REF);
        const struct part *g = &gbp.list.v[k];
        CHECK_TEXT("name", e->says, g->says);
        CHECK("same kind and surface", e->kind == g->kind && e->surface == g->surface && e->outdoors == g->outdoors);
        CHECK("same ports and radios", e->ports.n == g->ports.n && e->radios.n == g->radios.n);
        double n_differ = differs(e->power_w, g->power_w) + differs(e->power_max_w, g->power_max_w) +
                          differs(e->poe_class_needed, g->poe_class_needed) +
                          differs(e->poe_budget_w, g->poe_budget_w) + differs(e->capacity_wh, g->capacity_wh) +
                          differs(e->disk_tb, g->disk_tb) + differs(e->conductor_mm2, g->conductor_mm2) +
                          differs(e->per_m, g->per_m);
        for (uint32_t r = 0; r < e->radios.n; r++) {
            const struct part_radio *a = &e->radios.v[r], *b = &g->radios.v[r];
            n_differ += differs(a->power_dbm, b->power_dbm) + differs(a->streams, b->streams) +
                        differs(a->width_mhz, b->width_mhz) +
                        differs(a->antenna.elevation_dbi.n, b->antenna.elevation_dbi.n);
            for (uint32_t j = 0; j < a->antenna.elevation_dbi.n; j++)
                n_differ += differs(a->antenna.elevation_dbi.v[j], b->antenna.elevation_dbi.v[j]);
        }
        CHECK_NEAR("figures that differ", n_differ, 0, 0, "");
    }
    check_run_end(&c);
}
