/* house_kit.h - small houses put together in a test: rectangles, walls, boxes, and the built-in constructs. */
#ifndef RT_HOUSE_KIT_H
#define RT_HOUSE_KIT_H

#include "base/units.h"
#include "check.h"
#include "data/constructs.h"
#include "radio/field.h"

enum { KIT_MAX = 64, KIT_OPENINGS_MAX = 4 };

struct kit {
    struct check_run *c;
    struct house *h;
};

static inline struct ref kit_ref(uint32_t i) { return (struct ref){ .i = i }; }

static inline uint32_t kit_layered(struct kit *k, const char *id, const char *material, double thickness_m)
{
    struct construct *c = &k->h->constructs.v[k->h->constructs.n];
    c->id = str_from(id);
    c->layers.v = ARENA_ARRAY(k->c->run.arena, struct layer, 1);
    c->layers.v[c->layers.n++] = (struct layer){ .material = str_from(material), .thickness_m = thickness_m };
    return k->h->constructs.n++;
}

static inline uint32_t kit_add_built_in(struct kit *k, const struct built_in_construct *b)
{
    struct arena *a = k->c->run.arena;
    struct construct *c = &k->h->constructs.v[k->h->constructs.n++];
    c->id = str_from(b->id);
    c->layers.n = b->n_layers;
    c->layers.v = ARENA_ARRAY(a, struct layer, b->n_layers);
    for (uint32_t i = 0; i < b->n_layers; i++)
        c->layers.v[i] =
            (struct layer){ .material = str_from(b->layers[i].material), .thickness_m = b->layers[i].thickness_m };
    c->measured.n = b->n_measured;
    c->measured.v = ARENA_ARRAY(a, struct measured_loss, b->n_measured);
    for (uint32_t i = 0; i < b->n_measured; i++)
        c->measured.v[i] = (struct measured_loss){ .band_ghz = b->measured[i].band_ghz,
                                                   .loss_db = b->measured[i].loss_db,
                                                   .low_db = b->measured[i].low_db,
                                                   .high_db = b->measured[i].high_db };
    return k->h->constructs.n - 1;
}

/* An empty house that knows "steel", a centimetre of metal. */
static inline struct kit kit_begin(struct check_run *c)
{
    struct arena *a = c->run.arena;
    struct kit k = { .c = c, .h = ARENA_NEW(a, struct house) };
    k.h->constructs.v = ARENA_ARRAY(a, struct construct, KIT_MAX);
    kit_layered(&k, "steel", "metal", 0.01);
    k.h->floors.v = ARENA_ARRAY(a, struct floor, KIT_MAX);
    k.h->walls.v = ARENA_ARRAY(a, struct wall, KIT_MAX);
    k.h->planes.v = ARENA_ARRAY(a, struct plane, KIT_MAX);
    k.h->obstacles.v = ARENA_ARRAY(a, struct obstacle, KIT_MAX);
    k.h->rooms.v = ARENA_ARRAY(a, struct room, KIT_MAX);
    return k;
}

/* By name; a built-in construct joins the house when it is first asked for.  NULL: none. */
static inline uint32_t kit_construct(struct kit *k, const char *id)
{
    if (!id)
        return NO_REF;
    for (uint32_t i = 0; i < k->h->constructs.n; i++)
        if (str_is(k->h->constructs.v[i].id, id))
            return i;
    const struct built_in_construct *b = built_in_construct_find(str_from(id));
    if (!b)
        fail_msg("no construct %s", id);
    return kit_add_built_in(k, b);
}

static inline vec2_list kit_line(struct kit *k, uint32_t n, const double *xy)
{
    vec2_list line = { .v = ARENA_ARRAY(k->c->run.arena, struct vec2, n), .n = n };
    for (uint32_t i = 0; i < n; i++)
        line.v[i] = (struct vec2){ xy[2 * i], xy[2 * i + 1] };
    return line;
}

static inline vec2_list kit_box(struct kit *k, double x0, double y0, double x1, double y1)
{
    return kit_line(k, 4, (const double[]){ x0, y0, x1, y0, x1, y1, x0, y1 });
}

/* slab and ceiling: names of constructs, or NULL for none. */
static inline struct floor *kit_floor(struct kit *k, double level_m, double height_m, vec2_list outline,
                                      const char *slab, const char *ceiling)
{
    struct floor *f = &k->h->floors.v[k->h->floors.n++];
    *f = (struct floor){ .id = STR("floor"),
                         .level_m = level_m,
                         .height_m = height_m,
                         .outline = outline,
                         .slab = kit_ref(kit_construct(k, slab)),
                         .ceiling = kit_ref(kit_construct(k, ceiling)) };
    return f;
}

/* A wall up to the ceiling of a floor. */
static inline struct wall *kit_wall(struct kit *k, const char *id, uint32_t floor, const char *construct,
                                    vec2_list line)
{
    struct wall *w = &k->h->walls.v[k->h->walls.n++];
    *w = (struct wall){ .id = str_from(id),
                        .floor = kit_ref(floor),
                        .construct = kit_ref(kit_construct(k, construct)),
                        .line = line,
                        .height_m = RT_NOT_GIVEN };
    w->openings.v = ARENA_ARRAY(k->c->run.arena, struct opening, KIT_OPENINGS_MAX);
    return w;
}

static inline struct wall *kit_wall_from(struct kit *k, const char *id, uint32_t floor, const char *construct,
                                         double x0, double y0, double x1, double y1)
{
    return kit_wall(k, id, floor, construct, kit_line(k, 2, (const double[]){ x0, y0, x1, y1 }));
}

/* construct NULL: a gap. */
static inline struct opening *kit_opening(struct kit *k, struct wall *w, const char *id, const char *construct,
                                          double at_m, double width_m, double sill_m, double head_m)
{
    struct opening *o = &w->openings.v[w->openings.n++];
    *o = (struct opening){ .id = str_from(id),
                           .kind = construct ? OPENING_DOOR : OPENING_GAP,
                           .at_m = at_m,
                           .width_m = width_m,
                           .sill_m = sill_m,
                           .head_m = head_m,
                           .construct = kit_ref(kit_construct(k, construct)) };
    return o;
}

static inline struct obstacle *kit_obstacle(struct kit *k, const char *id, uint32_t floor, const char *construct,
                                            vec2_list outline, double from_m, double to_m)
{
    struct obstacle *o = &k->h->obstacles.v[k->h->obstacles.n++];
    *o = (struct obstacle){ .id = str_from(id),
                            .floor = kit_ref(floor),
                            .construct = kit_ref(kit_construct(k, construct)),
                            .outline = outline,
                            .from_m = from_m,
                            .to_m = to_m };
    return o;
}

static inline struct scene *kit_scene(struct kit *k)
{
    struct scene *s = NULL;
    CHECK_OK(k->c, scene_build(&k->c->run, k->h, &s, &k->c->problems));
    return s;
}

/* A radio with an isotropic antenna. */
static inline struct ap_radio kit_radio(double f_hz, struct vec3 at_m)
{
    static const struct antenna round = { 0 };
    return (struct ap_radio){
        .band = f_hz < 3e9     ? BAND_2G4
                : f_hz < 5.9e9 ? BAND_5G
                               : BAND_6G,
        .centre_hz = f_hz,
        .at_m = at_m,
        .antenna = &round,
        .pose = { .front = { 0.0, 0.0, -1.0 }, .up = { 0.0, 1.0, 0.0 } },
    };
}

/* Total gain and all paths at a spot. */
static inline double kit_spot(struct kit *k, const struct scene *s, const struct ap_radio *radio, struct vec3 at_m,
                              struct trace_options options, path_list *paths)
{
    path_list unused;
    double gain_db = 0.0;
    CHECK_OK(k->c, spot_paths(&k->c->run, NULL, s, radio, at_m, options, 0, paths ? paths : &unused, &gain_db,
                              &k->c->problems));
    return gain_db;
}

#endif
