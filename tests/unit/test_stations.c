/* Which radio a device joins, in the demo house. */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "load/stations.h"
#include "promise/evaluation.h"

struct home {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    const struct fields *fields;
};

/* In its place: the evaluation points into it. */
static void home_begin(struct home *home)
{
    *home = (struct home){ .c = check_run_begin() };
    struct check_run *c = &home->c;
    CHECK_OK(c, house_read(&c->run, check_path(c, "houses/larch_end.house.yaml"), &home->h, &c->problems));
    struct field_options options = evaluation_default_options(home->h);
    options.cell_m = 1.0; /* enough to tell who is near */
    options.trace.order = 1;
    options.trace.diffraction = false;
    CHECK_OK(c, evaluation_begin(&home->ev, &c->run, home->h, options, &c->problems));
    CHECK_OK(c, evaluation_fields(&home->ev, options.trace.estimate, &home->fields, &c->problems));
}

static const struct station *station_of(const struct stations *s, const char *device)
{
    const uint32_t d = house_find_device(s->h, str_from(device));
    CHECK("a device on Wi-Fi", d != NO_REF && s->of_device[d] != NO_REF);
    return &s->list.v[s->of_device[d]];
}

TEST(devices_join_the_radio_that_is_fastest_for_them)
{
    struct home home;
    home_begin(&home);
    struct check_run *c = &home.c;
    struct stations *s = NULL;
    CHECK_OK(c, stations_choose(&c->run, home.h, home.fields, NULL, &s, &c->problems));
    for (uint32_t i = 0; i < s->list.n; i++) {
        const struct station *t = &s->list.v[i];
        const struct device *d = &home.h->devices.v[t->device];
        CHECK("on Wi-Fi", d->link == LINK_WIFI);
        CHECK("joined, or a reason", (t->radio != NO_REF) == (t->why_not.n == 0));
        if (t->radio == NO_REF)
            continue;
        const struct ap_radio *r = &home.fields->radios.v[t->radio];
        CHECK("a band it has", d->radio.bands >> r->band & 1);
        CHECK("it hears and is heard", t->link.payload_mbps > 0.0 && t->link.uplink_payload_mbps > 0.0);
        bool is_carried = false;
        for (uint32_t k = 0; k < home.h->ssids.n; k++)
            is_carried |=
                home.h->ssids.v[k].segment.i == d->segment.i && house_ssid_is_on(home.h, k, r->equipment, r->band);
        CHECK("an SSID of its segment", is_carried);
    }
    check_run_end(c);
}

/* The ways to a fixed device are traced again, one by one, to its cell. */
TEST(no_other_radio_would_be_faster_for_a_fixed_device)
{
    struct home home;
    home_begin(&home);
    struct check_run *c = &home.c;
    struct stations *s = NULL;
    CHECK_OK(c, stations_choose(&c->run, home.h, home.fields, NULL, &s, &c->problems));
    const struct station *t = station_of(s, "anna_work_laptop");
    const struct device *d = &home.h->devices.v[t->device];
    const uint32_t grid = field_grid_at(home.fields, t->floor, STATION_HEIGHT_M);
    const struct grid *g = &home.fields->grids.v[grid];
    const struct vec3 cell = { g->x0_m + (floor((d->at_m.x - g->x0_m) / g->cell_m) + 0.5) * g->cell_m,
                               g->y0_m + (floor((d->at_m.y - g->y0_m) / g->cell_m) + 0.5) * g->cell_m, g->z_m };
    for (uint32_t r = 0; r < home.fields->radios.n; r++) {
        const struct ap_radio *radio = &home.fields->radios.v[r];
        path_list paths;
        double gain_db;
        CHECK_OK(c, spot_paths(&c->run, home.ev.walls, home.ev.scene, radio, cell, home.ev.options.trace, 1, &paths,
                               &gain_db, &c->problems));
        if (r == t->radio)
            CHECK_NEAR("gain of the way", t->gain_db, gain_db, 0.05, "dB");
        else if (radio->band != BAND_2G4 && link_is_possible(radio, &d->radio)) /* the work SSID is on 5 and 6 GHz */
            CHECK("not faster",
                  link_compute(radio, &d->radio, gain_db, 0.5, -INFINITY).payload_mbps <= t->link.payload_mbps + 1e-9);
    }
    check_run_end(c);
}

TEST(a_dead_radio_is_left_for_the_next)
{
    struct home home;
    home_begin(&home);
    struct check_run *c = &home.c;
    struct stations *s = NULL;
    bool alive[64];
    for (size_t i = 0; i < RT_COUNT(alive); i++)
        alive[i] = true;
    CHECK_OK(c, stations_choose(&c->run, home.h, home.fields, alive, &s, &c->problems));
    const struct station before = *station_of(s, "family_tablet");
    CHECK("joined", before.radio != NO_REF);
    alive[before.radio] = false;
    CHECK_OK(c, stations_choose(&c->run, home.h, home.fields, alive, &s, &c->problems));
    const struct station *after = station_of(s, "family_tablet");
    CHECK("another", after->radio != before.radio && after->radio != NO_REF);
    CHECK("not faster", after->link.payload_mbps <= before.link.payload_mbps);
    for (size_t i = 0; i < RT_COUNT(alive); i++)
        alive[i] = false;
    CHECK_OK(c, stations_choose(&c->run, home.h, home.fields, alive, &s, &c->problems));
    after = station_of(s, "family_tablet");
    CHECK("none", after->radio == NO_REF);
    CHECK_TEXT("why", after->why_not, STR("no access point carries an SSID of its segment on a band that it has"));
    check_run_end(c);
}

/* A promise about the floor's level lays a grid there, low in all rooms of the house; who hears whom stays as it was. */
TEST(a_promise_at_another_height_moves_nobody)
{
    struct home home, low;
    home_begin(&home);
    low = (struct home){ .c = check_run_begin() };
    CHECK_OK(&low.c,
             house_read(&low.c.run, check_path(&low.c, "houses/larch_end.house.yaml"), &low.h, &low.c.problems));
    for (uint32_t i = 0; i < low.h->promises.n; i++)
        if (low.h->promises.v[i].kind == PROMISE_SIGNAL)
            low.h->promises.v[i].height_m = 0.5;
    CHECK_OK(&low.c, evaluation_begin(&low.ev, &low.c.run, low.h, home.ev.options, &low.c.problems));
    CHECK_OK(&low.c, evaluation_fields(&low.ev, low.ev.options.trace.estimate, &low.fields, &low.c.problems));
    CHECK("more grids", low.fields->grids.n > home.fields->grids.n);
    struct stations *s = NULL, *t = NULL;
    CHECK_OK(&home.c, stations_choose(&home.c.run, home.h, home.fields, NULL, &s, &home.c.problems));
    CHECK_OK(&low.c, stations_choose(&low.c.run, low.h, low.fields, NULL, &t, &low.c.problems));
    for (uint32_t i = 0; i < s->list.n; i++) {
        const struct str id = home.h->devices.v[s->list.v[i].device].id;
        const char *who = str_dup(home.c.run.arena, id).p;
        CHECK(who, s->list.v[i].radio == t->list.v[i].radio);
        if (s->list.v[i].radio != NO_REF)
            CHECK_NEAR(who, t->list.v[i].gain_db, s->list.v[i].gain_db, 1e-6, "dB");
    }
    check_run_end(&low.c);
    check_run_end(&home.c);
}
