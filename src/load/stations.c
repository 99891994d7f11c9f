#include "load/stations.h"

#include <math.h>
#include <stdlib.h>

#include "base/units.h"
#include "radio/interference.h"

struct chooser {
    const struct run *run;
    const struct house *h;
    const struct fields *fields;
    const bool *alive;
    double *gains; /* room for the cells of the largest grid */
};

/* Where a device is judged: its own cell, or all cells of its room, always at the usual height: grids at other heights are there for
 * promises alone, and a promise must not move what it does not speak of. */
struct whereabouts {
    uint32_t grid, room, ix, iy;
    bool is_cell;
};

static bool find_whereabouts(const struct house *h, const struct fields *f, const struct device *d,
                             struct whereabouts *w)
{
    const bool is_fixed = is_given(d->at_m.x); /* one that is carried has its usual place there */
    const uint32_t floor = d->room.i != NO_REF ? h->rooms.v[d->room.i].floor.i : d->floor.i;
    if (floor == NO_REF)
        return false;
    *w = (struct whereabouts){ .grid = field_grid_at(f, floor, STATION_HEIGHT_M), .room = d->room.i };
    if (w->grid == NO_REF)
        return false;
    if (is_fixed)
        w->is_cell = field_nearest_cell(f, w->grid, (struct vec2){ d->at_m.x, d->at_m.y }, &w->ix, &w->iy);
    return w->is_cell || (!is_fixed && w->room != NO_REF);
}

void stations_want(const struct house *h, struct fields *fields)
{
    for (uint32_t d = 0; d < h->devices.n; d++) {
        struct whereabouts w;
        if (h->devices.v[d].link != LINK_WIFI || !find_whereabouts(h, fields, &h->devices.v[d], &w))
            continue;
        if (w.is_cell)
            fields_want_cell(fields, w.grid, w.ix, w.iy);
        else
            fields_want_room(fields, w.grid, w.room);
    }
}

static bool is_known_there(const struct fields *f, const struct whereabouts *w)
{
    const struct grid *g = &f->grids.v[w->grid];
    bool known = true;
    if (w->is_cell)
        return field_is_known(f, w->grid, w->ix, w->iy);
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++)
            known = known && (g->room[(size_t)iy * g->nx + ix] != w->room || field_is_known(f, w->grid, ix, iy));
    return known;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Of the cell, or the middle one of the room's by level; NaN: the room has no cell. */
static double gain_there(const struct chooser *c, const struct whereabouts *w, uint32_t radio)
{
    const struct grid *g = &c->fields->grids.v[w->grid];
    if (w->is_cell)
        return (double)field_gain_db(c->fields, w->grid, radio, w->ix, w->iy);
    uint32_t n = 0;
    for (uint32_t iy = 0; iy < g->ny; iy++)
        for (uint32_t ix = 0; ix < g->nx; ix++)
            if (g->room[(size_t)iy * g->nx + ix] == w->room)
                c->gains[n++] = (double)field_gain_db(c->fields, w->grid, radio, ix, iy);
    if (n == 0)
        return RT_NOT_GIVEN;
    qsort(c->gains, n, sizeof *c->gains, by_value);
    return c->gains[n / 2];
}

/* Does the radio carry an SSID of the device's segment?  A house that names no SSIDs has one on all. */
static bool carries_segment(const struct house *h, const struct ap_radio *r, const struct device *d)
{
    for (uint32_t s = 0; s < h->ssids.n; s++)
        if (h->ssids.v[s].segment.i == d->segment.i && house_ssid_is_on(h, s, r->equipment, r->band))
            return true;
    return h->ssids.n == 0;
}

static void choose(const struct chooser *c, const struct whereabouts *w, struct station *s)
{
    const struct device *d = &c->h->devices.v[s->device];
    bool carried_anywhere = false;
    s->floor = c->fields->grids.v[w->grid].floor;
    for (uint32_t r = 0; r < c->fields->radios.n; r++) {
        const struct ap_radio *radio = &c->fields->radios.v[r];
        if ((c->alive && !c->alive[r]) || !link_is_possible(radio, &d->radio) || !carries_segment(c->h, radio, d))
            continue;
        carried_anywhere = true;
        const double gain_db = gain_there(c, w, r);
        if (!is_given(gain_db))
            continue;
        const double noise_dbm = interference_neighbours_dbm(c->h, s->floor, radio->centre_hz, radio->width_hz);
        const struct link link = link_compute(radio, &d->radio, gain_db, 0.5, noise_dbm);
        if (link.payload_mbps <= 0.0 || link.uplink_payload_mbps <= 0.0 ||
            (s->radio != NO_REF && link.payload_mbps <= s->link.payload_mbps))
            continue;
        s->radio = r;
        s->gain_db = gain_db;
        s->link = link;
    }
    if (s->radio == NO_REF)
        s->why_not = carried_anywhere ? STR("no access point is heard well enough where it is")
                                      : STR("no access point carries an SSID of its segment on a band that it has");
}

enum rt_code stations_choose(const struct run *run, const struct house *h, const struct fields *fields,
                             const bool *alive, struct stations **out, struct rt_problems *p)
{
    size_t n_cells = 1;
    for (uint32_t g = 0; g < fields->grids.n; g++) {
        const size_t n = (size_t)fields->grids.v[g].nx * fields->grids.v[g].ny;
        n_cells = n > n_cells ? n : n_cells;
    }
    const struct chooser c = { run, h, fields, alive, ARENA_ARRAY(run->arena, double, n_cells) };
    struct stations *s = ARENA_NEW(run->arena, struct stations);
    if (!s || !c.gains)
        return rt_fail_memory(p);
    *s = (struct stations){ .h = h, .fields = fields };
    s->list.v = ARENA_ARRAY(run->arena, struct station, h->devices.n);
    s->of_device = ARENA_ARRAY(run->arena, uint32_t, h->devices.n);
    if (!s->list.v || !s->of_device)
        return rt_fail_memory(p);
    for (uint32_t d = 0; d < h->devices.n; d++) {
        s->of_device[d] = NO_REF;
        if (h->devices.v[d].link != LINK_WIFI)
            continue;
        struct whereabouts w;
        struct station *station = &s->list.v[s->list.n];
        *station = (struct station){ .device = d, .radio = NO_REF, .floor = NO_REF, .gain_db = RT_NOT_GIVEN };
        if (find_whereabouts(h, fields, &h->devices.v[d], &w)) {
            if (!is_known_there(fields, &w))
                return rt_fail(p, RT_MISSING, h->devices.v[d].at, NULL,
                               "the field was not computed where device '%.*s' is", STR_ARG(h->devices.v[d].id));
            choose(&c, &w, station);
        } else
            station->why_not = STR("where it is nobody wrote down: give it `room` or `at_m`");
        s->of_device[d] = s->list.n++;
    }
    *out = s;
    return RT_OK;
}
