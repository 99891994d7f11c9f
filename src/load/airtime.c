/* Who shares a channel, and how much of the time they take. */
#include "load/airtime.h"

#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "load/airtime_int.h"
#include "radio/interference.h"
#include "radio/mac.h"

/* A beacon of an SSID: about 300 octets at the lowest basic rate (1 Mb/s with the long preamble at 2.4 GHz, 6 Mb/s elsewhere), every
 * 102.4 ms (common practice, no source). */
#define BEACON_BYTES 300.0
#define BEACON_EVERY_S 0.1024
#define OLD_PREAMBLE_S 192e-6
#define OLD_RATE_BPS 1e6
#define BASIC_RATE_BPS 6e6
/* A mesh device speaks every ten seconds, its frame (133 octets at 250 kb/s: IEEE 802.15.4-2006 6.5, from memory) is passed on once
 * (common practice, no source). */
#define MESH_FRAME_S (133.0 * 8.0 / 250e3)
#define MESH_FRAMES_PER_S (2.0 / 10.0)
#define MESH_WIDTH_HZ 2e6

static const struct ap_radio *radio_of(const struct airtime *a, uint32_t radio)
{
    return &a->stations->fields->radios.v[radio];
}

static uint32_t floor_of(const struct airtime *a, uint32_t radio)
{
    return a->demand->h->equipment.v[radio_of(a, radio)->equipment].floor.i;
}

/* ---- the parts that do not change with the hour ---- */

static double beacon_s(enum band band)
{
    return band == BAND_2G4 ? OLD_PREAMBLE_S + BEACON_BYTES * 8.0 / OLD_RATE_BPS
                            : mac_legacy_frame_s(BEACON_BYTES, BASIC_RATE_BPS);
}

static double beacons_of(const struct house *h, const struct ap_radio *r)
{
    uint32_t n = 0;
    for (uint32_t s = 0; s < h->ssids.n; s++)
        n += house_ssid_is_on(h, s, r->equipment, r->band);
    return fmin(n * beacon_s(r->band) / BEACON_EVERY_S, 1.0);
}

static double mesh_overlap(const struct house *h, double centre_hz, double width_hz)
{
    const int channel = is_given(h->mesh.channel) ? (int)h->mesh.channel : 0;
    return channel ? interference_overlap_share(mesh_channel_centre_hz(channel), MESH_WIDTH_HZ, centre_hz, width_hz)
                   : 0.0;
}

double airtime_of_mesh(const struct house *h)
{
    uint32_t n = 0;
    for (uint32_t d = 0; d < h->devices.n; d++)
        n += h->devices.v[d].link == LINK_MESH;
    return fmin(n * MESH_FRAMES_PER_S * MESH_FRAME_S, 1.0);
}

static double mesh_of(const struct house *h, const struct ap_radio *r)
{
    return r->band == BAND_2G4 && mesh_overlap(h, r->centre_hz, r->width_hz) > 0.0 ? airtime_of_mesh(h) : 0.0;
}

/* ---- who is heard ---- */

/* The cell of the field for where a radio hangs; false: there is none. */
static bool find_cell_of(const struct house *h, const struct fields *f, const struct ap_radio *r, uint32_t *grid,
                         uint32_t *ix, uint32_t *iy)
{
    const uint32_t floor = h->equipment.v[r->equipment].floor.i;
    *grid = floor == NO_REF ? NO_REF : field_grid_at(f, floor, STATION_HEIGHT_M);
    return *grid != NO_REF && field_nearest_cell(f, *grid, (struct vec2){ r->at_m.x, r->at_m.y }, ix, iy);
}

void airtime_want(const struct house *h, ap_radio_list radios, struct fields *fields)
{
    uint32_t grid = 0, ix = 0, iy = 0;
    for (uint32_t r = 0; r < radios.n; r++)
        if (find_cell_of(h, fields, &radios.v[r], &grid, &ix, &iy))
            fields_want_cell(fields, grid, ix, iy);
}

double airtime_gain_db(const struct airtime *a, uint32_t from, uint32_t to)
{
    const struct fields *f = a->stations->fields;
    uint32_t grid = 0, ix = 0, iy = 0;
    return find_cell_of(a->demand->h, f, radio_of(a, to), &grid, &ix, &iy)
               ? (double)field_gain_db(f, grid, from, ix, iy)
               : RT_NOT_GIVEN;
}

static double level_of_radio(const struct airtime *a, uint32_t from, uint32_t to, double centre_hz, double width_hz)
{
    const struct ap_radio *r = radio_of(a, from);
    const double share = interference_overlap_share(r->centre_hz, r->width_hz, centre_hz, width_hz);
    const double gain_db = share > 0.0 ? airtime_gain_db(a, from, to) : RT_NOT_GIVEN;
    return is_given(gain_db) ? r->power_dbm + gain_db + 10.0 * log10(share) : (double)-INFINITY;
}

static bool add_sharer(struct arena *arena, struct cell *c, uint32_t *room, struct air_sharer s)
{
    if (s.level_dbm < DEFER_DBM)
        return true;
    if (c->sharers.n == *room) {
        *room = *room ? 2 * *room : 8;
        struct air_sharer *v = ARENA_ARRAY(arena, struct air_sharer, *room);
        if (!v)
            return false;
        for (uint32_t i = 0; i < c->sharers.n; i++)
            v[i] = c->sharers.v[i];
        c->sharers.v = v;
    }
    c->sharers.v[c->sharers.n++] = s;
    return true;
}

static bool find_sharers(struct arena *arena, struct airtime *a, struct cell *c)
{
    const struct house *h = a->demand->h;
    const struct ap_radio *r = radio_of(a, c->radio);
    double silent = 1.0;
    uint32_t room = 0;
    for (uint32_t i = 0; i < h->neighbours.n; i++) {
        const double level_dbm =
            h->neighbours.v[i].band == r->band
                ? interference_neighbour_dbm(h, i, floor_of(a, c->radio), r->centre_hz, r->width_hz)
                : (double)-INFINITY;
        if (level_dbm >= DEFER_DBM)
            silent *= 1.0 - h->neighbours.v[i].busy_share;
        if (!add_sharer(arena, c, &room, (struct air_sharer){ i, NO_REF, level_dbm }))
            return false;
    }
    for (uint32_t other = 0; other < a->cells.n; other++) {
        const double level_dbm = other == c->radio || radio_of(a, other)->band != r->band
                                     ? (double)-INFINITY
                                     : level_of_radio(a, other, c->radio, r->centre_hz, r->width_hz);
        if (!add_sharer(arena, c, &room, (struct air_sharer){ NO_REF, other, level_dbm }))
            return false;
    }
    c->neighbours_share = 1.0 - silent;
    return true;
}

enum rt_code airtime_make(const struct run *run, const struct demand *d, const struct stations *s, struct airtime **out,
                          struct rt_problems *p)
{
    struct airtime *a = ARENA_NEW(run->arena, struct airtime);
    const uint32_t n = s->fields->radios.n;
    if (!a)
        return rt_fail_memory(p);
    *a = (struct airtime){ .demand = d, .stations = s };
    a->cells.v = ARENA_ARRAY(run->arena, struct cell, n);
    if (!a->cells.v)
        return rt_fail_memory(p);
    a->cells.n = n;
    for (uint32_t r = 0; r < n; r++) {
        uint32_t grid = 0, ix = 0, iy = 0;
        if (find_cell_of(d->h, s->fields, radio_of(a, r), &grid, &ix, &iy) && !field_is_known(s->fields, grid, ix, iy))
            return rt_fail(p, RT_MISSING, RT_NOWHERE, NULL, "the field was not computed where '%.*s' hangs",
                           STR_ARG(d->h->equipment.v[radio_of(a, r)->equipment].id));
        a->cells.v[r] = (struct cell){ .radio = r,
                                       .beacon_share = beacons_of(d->h, radio_of(a, r)),
                                       .mesh_share = mesh_of(d->h, radio_of(a, r)) };
        if (!find_sharers(run->arena, a, &a->cells.v[r]))
            return rt_fail_memory(p);
    }
    *out = a;
    return RT_OK;
}

/* ---- the hour ---- */

const struct station *air_station_of(const struct airtime *a, uint32_t radio, const struct demand_source *source,
                                     const struct demand_state *state)
{
    const struct house *h = a->demand->h;
    uint32_t ends[2] = { source->device, NO_REF };
    if (state->with != NO_REF && state->with >= h->equipment.n)
        ends[1] = state->with - h->equipment.n;
    for (int i = 0; i < 2; i++) {
        const uint32_t k = ends[i] == NO_REF ? NO_REF : a->stations->of_device[ends[i]];
        if (k != NO_REF && a->stations->list.v[k].radio == radio)
            return &a->stations->list.v[k];
    }
    return NULL;
}

double air_share_of_use(const struct airtime *a, uint32_t radio, const struct load_use *u)
{
    const struct demand_source *source = &a->demand->sources.v[u->source];
    const struct station *s = air_station_of(a, radio, source, &source->states.v[u->state]);
    return s ? u->down_mbps / s->link.payload_mbps + u->up_mbps / s->link.uplink_payload_mbps : 0.0;
}

double airtime_own(const struct airtime *a, uint32_t radio, unsigned hour, double scale)
{
    const load_use_list *uses = &a->demand->uses[demand_radio_point(a->demand->h, radio)];
    double sum = 0.0;
    for (uint32_t i = 0; i < uses->n; i++) {
        const struct load_use *u = &uses->v[i];
        sum += air_share_of_use(a, radio, u) * a->demand->sources.v[u->source].states.v[u->state].chance[hour];
    }
    return sum * scale;
}

/* Of own stations and those of the radios it shares with, their beacons too. */
static double house_share(const struct airtime *a, uint32_t radio, unsigned hour, double scale)
{
    const struct cell *c = &a->cells.v[radio];
    double sum = airtime_own(a, radio, hour, scale) + c->beacon_share;
    for (uint32_t i = 0; i < c->sharers.n; i++)
        if (c->sharers.v[i].radio != NO_REF)
            sum += airtime_own(a, c->sharers.v[i].radio, hour, scale) + a->cells.v[c->sharers.v[i].radio].beacon_share;
    return sum;
}

double airtime_busy(const struct airtime *a, uint32_t radio, unsigned hour, double scale)
{
    const struct cell *c = &a->cells.v[radio];
    const double silent = (1.0 - c->neighbours_share) * (1.0 - c->mesh_share);
    /* Foreign stations and ours take turns; what each leaves the other can use. */
    return 1.0 - silent + silent * house_share(a, radio, hour, scale);
}

unsigned airtime_busy_hour(const struct airtime *a, uint32_t radio)
{
    unsigned best = 0;
    double most = -1.0;
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++) {
        const double share = house_share(a, radio, hour, 1.0);
        if (share > most) {
            most = share;
            best = hour;
        }
    }
    return best;
}

/* Share of the time that no neighbour heard on the floor lies over the mesh. */
static double silent_over_mesh(const struct house *h, double centre_hz, uint32_t floor)
{
    double silent = 1.0;
    for (uint32_t i = 0; i < h->neighbours.n; i++) {
        const struct neighbour *n = &h->neighbours.v[i];
        if (n->band == BAND_2G4 && n->level_dbm >= DEFER_DBM && interference_is_heard_on(n, floor) &&
            interference_overlap_share(centre_hz, MESH_WIDTH_HZ, interference_neighbour_centre_hz(n),
                                       n->width_mhz * 1e6) > 0.0)
            silent *= 1.0 - n->busy_share;
    }
    return silent;
}

/* A cell that is heard on two floors is entered twice: what counts is the floor with least silence. */
double airtime_over_mesh(const struct airtime *a, int mesh_channel, unsigned hour)
{
    const struct house *h = a->demand->h;
    const double centre_hz = mesh_channel_centre_hz(mesh_channel);
    double silent = 1.0;
    for (uint32_t floor = 0; floor < h->floors.n; floor++)
        silent = fmin(silent, silent_over_mesh(h, centre_hz, floor));
    for (uint32_t r = 0; r < a->cells.n; r++) {
        const struct ap_radio *radio = radio_of(a, r);
        if (radio->band == BAND_2G4 &&
            interference_overlap_share(centre_hz, MESH_WIDTH_HZ, radio->centre_hz, radio->width_hz) > 0.0)
            silent *= 1.0 - fmin(airtime_own(a, r, hour, 1.0) + a->cells.v[r].beacon_share, 1.0);
    }
    return 1.0 - silent;
}

double airtime_foreign_at(const struct airtime *a, uint32_t radio, double centre_hz, unsigned hour)
{
    const struct house *h = a->demand->h;
    const struct ap_radio *r = radio_of(a, radio);
    double silent = 1.0;
    for (uint32_t i = 0; i < h->neighbours.n; i++)
        if (h->neighbours.v[i].band == r->band &&
            interference_neighbour_dbm(h, i, floor_of(a, radio), centre_hz, r->width_hz) >= DEFER_DBM)
            silent *= 1.0 - h->neighbours.v[i].busy_share;
    for (uint32_t other = 0; other < a->cells.n; other++)
        if (other != radio && radio_of(a, other)->band == r->band &&
            level_of_radio(a, other, radio, centre_hz, r->width_hz) >= DEFER_DBM)
            silent *= 1.0 - fmin(airtime_own(a, other, hour, 1.0) + a->cells.v[other].beacon_share, 1.0);
    return 1.0 - silent;
}

bool airtime_is_flat(const struct airtime *a, uint32_t radio)
{
    const long first = lround(100.0 * airtime_busy(a, radio, 0, 1.0));
    for (unsigned hour = 1; hour < HOURS_OF_WEEK; hour++)
        if (lround(100.0 * airtime_busy(a, radio, hour, 1.0)) != first)
            return false;
    return true;
}
