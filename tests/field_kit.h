/* field_kit.h - a house with made-up fields, so that tests of drawings stand without the wave engine: in closed form, with hills,
 * ridges and jumps like real ones. */
#ifndef RT_FIELD_KIT_H
#define RT_FIELD_KIT_H

#include <math.h>

#include "check.h"
#include "draw/draw.h"

struct stage {
    struct check_run c;
    struct house *house;
    struct fields fields;
    struct radio_ability device;
    struct draw_options options;
};

static inline void add_grid(struct stage *s, uint32_t floor)
{
    const vec2_list o = s->house->floors.v[floor].outline;
    struct vec2 lo = o.v[0], hi = o.v[0];
    for (uint32_t i = 1; i < o.n; i++) {
        lo = (struct vec2){ fmin(lo.x, o.v[i].x), fmin(lo.y, o.v[i].y) };
        hi = (struct vec2){ fmax(hi.x, o.v[i].x), fmax(hi.y, o.v[i].y) };
    }
    struct grid *g = &s->fields.grids.v[s->fields.grids.n++];
    *g = (struct grid){ .floor = floor, .x0_m = lo.x, .y0_m = lo.y, .cell_m = 0.5, .height_m = 1.2 };
    g->z_m = s->house->floors.v[floor].level_m + g->height_m;
    g->nx = (uint32_t)ceil((hi.x - lo.x) / g->cell_m);
    g->ny = (uint32_t)ceil((hi.y - lo.y) / g->cell_m);
    g->inside = ARENA_ARRAY(s->c.run.arena, bool, (size_t)g->nx * g->ny);
    g->room = ARENA_ARRAY(s->c.run.arena, uint32_t, (size_t)g->nx * g->ny);
}

/* Free space at 5 GHz (ITU-R P.525), 12 dB a storey, a jump from room to room and a ripple. */
static inline float made_up_gain_db(const struct grid *g, size_t cell, struct vec3 from, uint32_t room)
{
    const double x = g->x0_m + ((double)(cell % g->nx) + 0.5) * g->cell_m;
    const double y = g->y0_m + ((double)(cell / g->nx) + 0.5) * g->cell_m;
    const double d_m = fmax(0.3, hypot(hypot(x - from.x, y - from.y), g->z_m - from.z));
    const double walls_db = 4.0 * fabs(g->z_m - from.z) + (room == NO_REF ? 0.0 : 3.0 * (room % 4));
    return (float)(-20.0 * log10(d_m) - 46.8 - walls_db - 2.0 * sin(2.0 * x) * cos(1.6 * y));
}

/* Fields of the house as it is now. */
static inline void stage_fields(struct stage *s)
{
    struct arena *a = s->c.run.arena;
    const struct house *h = s->house;
    s->fields = (struct fields){ 0 };
    s->fields.radios.v = ARENA_ARRAY(a, struct ap_radio, h->equipment.n);
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        const struct equipment *e = &h->equipment.v[i];
        if (e->part.i == NO_REF || h->parts.list.v[e->part.i].radios.n == 0)
            continue;
        struct vec3 at = e->at_m;
        at.z = house_z_m(h, e->floor.i, at.z);
        s->fields.radios.v[s->fields.radios.n++] = (struct ap_radio){ .equipment = i,
                                                                      .band = BAND_5G,
                                                                      .phy = PHY_AX,
                                                                      .channel = 42,
                                                                      .centre_hz = 5.21e9,
                                                                      .width_hz = 80e6,
                                                                      .streams = 2,
                                                                      .power_dbm = 20,
                                                                      .eirp_dbm = 23,
                                                                      .noise_figure_db = 6,
                                                                      .at_m = at };
    }
    s->fields.grids.v = ARENA_ARRAY(a, struct grid, h->floors.n);
    s->fields.gain_db = ARENA_ARRAY(a, float *, (size_t)h->floors.n * s->fields.radios.n);
    for (uint32_t f = 0; f < h->floors.n; f++) {
        add_grid(s, f);
        const struct grid *g = &s->fields.grids.v[f];
        const size_t n = (size_t)g->nx * g->ny;
        for (uint32_t r = 0; r < s->fields.radios.n; r++)
            s->fields.gain_db[(size_t)f * s->fields.radios.n + r] = ARENA_ARRAY(a, float, n);
        for (size_t i = 0; i < n; i++) {
            const struct vec2 at = { g->x0_m + ((double)(i % g->nx) + 0.5) * g->cell_m,
                                     g->y0_m + ((double)(i / g->nx) + 0.5) * g->cell_m };
            g->inside[i] = polygon_contains(h->floors.v[f].outline, at);
            g->room[i] = house_room_at(h, f, at);
            for (uint32_t r = 0; r < s->fields.radios.n; r++)
                s->fields.gain_db[(size_t)f * s->fields.radios.n + r][i] =
                    g->inside[i] ? made_up_gain_db(g, i, s->fields.radios.v[r].at_m, g->room[i]) : NAN;
        }
    }
}

static inline struct stage stage_begin(const char *path)
{
    struct stage s = { .c = check_run_begin() };
    CHECK_OK(&s.c, house_read(&s.c.run, check_path(&s.c, path), &s.house, &s.c.problems));
    stage_fields(&s);
    s.device = (struct radio_ability){ .phy = PHY_AX,
                                       .bands = 7,
                                       .streams = 2,
                                       .width_mhz = 80,
                                       .power_dbm = 15,
                                       .gain_dbi = -3,
                                       .body_loss_db = 3,
                                       .noise_figure_db = 7 };
    return s;
}

static inline void stage_options(struct stage *s)
{
    s->options = draw_options_usual(&s->device, STR("phone"));
    s->options.devices = true;
}

#endif
