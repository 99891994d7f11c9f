/* Fields of the house as it is: as numbers to paint, and as lines of equal value. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "promise/damage.h"
#include "web/api.h"
#include "web/api_field.h"
#include "web/field_bytes.h"
#include "web/preview.h"

static const char BYTES[] = "application/octet-stream";

/* ---- what is asked for ---- */

static const struct field_kind FIELD_KINDS[] = { FIELD_KIND_SIGNAL, FIELD_KIND_RATE, FIELD_KIND_SECOND };
static const char *const KIND_WORDS[] = { "level", "rate", "second" };

static enum rt_code read_kind(struct str word, const struct field_kind **out, struct rt_problems *p)
{
    for (size_t i = 0; i < RT_COUNT(KIND_WORDS); i++)
        if (str_is(word, KIND_WORDS[i]) || (!word.n && i == 0)) {
            *out = &FIELD_KINDS[i];
            return RT_OK;
        }
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "level, rate or second", "there is no field '%.*s'", STR_ARG(word));
}

static enum rt_code read_band(struct str word, enum band *out, struct rt_problems *p)
{
    for (enum band band = 0; band < BAND_COUNT; band++)
        if (str_is(word, band_name(band))) {
            *out = band;
            return RT_OK;
        }
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "2.4, 5 or 6", "say the band");
}

static enum rt_code read_estimate(struct str word, enum estimate otherwise, enum estimate *out, struct rt_problems *p)
{
    *out = otherwise;
    for (enum estimate e = 0; word.n && e < 3; e++)
        if (str_is(word, estimate_name(e))) {
            *out = e;
            return RT_OK;
        }
    return word.n ? rt_fail(p, RT_SHAPE, RT_NOWHERE, "careful, middle or hopeful", "there is no estimate '%.*s'",
                            STR_ARG(word))
                  : RT_OK;
}

static enum rt_code read_number(struct str word, double otherwise, double least, double most, double *out,
                                struct rt_problems *p)
{
    char kept[32], *end;
    *out = otherwise;
    if (!word.n)
        return RT_OK;
    snprintf(kept, sizeof kept, "%.*s", STR_ARG(word));
    *out = strtod(kept, &end);
    return *end == '\0' && *out >= least && *out <= most
               ? RT_OK
               : rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "'%s' is no number between %g and %g", kept, least, most);
}

enum rt_code api_read_number(const struct request *q, const char *key, double least, double most, double *out,
                             struct rt_problems *p)
{
    return read_number(q->query(q, key), *out, least, most, out, p);
}

enum rt_code field_asked_read(const struct evaluation *ev, const struct field_words *w, struct field_asked *out,
                              struct rt_problems *p)
{
    const struct str device = w->device.n ? w->device : STR(DEVICE_KIND_USUAL);
    const struct radio_ability *ability = evaluation_radio_of(ev, device);
    if (!ability)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "take phone, tablet, laptop ...",
                       "no device of that kind has a radio");
    *out = (struct field_asked){ .options = draw_options_usual(ability, device) };
    RT_TRY(read_kind(w->what, &out->kind, p));
    RT_TRY(read_band(w->band, &out->subject.band, p));
    RT_TRY(read_estimate(w->estimate, ev->options.trace.estimate, &out->estimate, p));
    RT_TRY(read_number(w->availability, out->options.availability, 0.5, 0.999, &out->options.availability, p));
    RT_TRY(read_number(w->height, 1.2, 0.0, 20.0, &out->height_m, p));
    out->floor = house_find_floor(ev->h, w->floor);
    return out->floor == NO_REF
               ? rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, NULL, "the house has no floor '%.*s'", STR_ARG(w->floor))
               : RT_OK;
}

static struct field_words words_of(const struct request *q)
{
    return (struct field_words){ .what = q->query(q, "what"),
                                 .floor = q->query(q, "floor"),
                                 .band = q->query(q, "band"),
                                 .device = q->query(q, "device"),
                                 .availability = q->query(q, "availability"),
                                 .estimate = q->query(q, "estimate"),
                                 .height = q->query(q, "height") };
}

/* ---- whose field ---- */

/* The field without some of its radios; false: the arena's ceiling. */
static bool leave_out(struct arena *a, const struct fields *f, const bool *out_of_use, struct fields *kept)
{
    struct ap_radio *radios = ARENA_ARRAY(a, struct ap_radio, f->radios.n);
    float **gain_db = ARENA_ARRAY(a, float *, (size_t)f->grids.n * f->radios.n);
    uint32_t n = 0, n_rasters = 0;
    *kept = *f;
    kept->radios.v = radios;
    kept->gain_db = gain_db;
    if (!radios || !gain_db)
        return false;
    for (uint32_t r = 0; r < f->radios.n; r++)
        if (!out_of_use[r])
            radios[n++] = f->radios.v[r];
    for (uint32_t g = 0; g < f->grids.n; g++)
        for (uint32_t r = 0; r < f->radios.n; r++)
            if (!out_of_use[r])
                gain_db[n_rasters++] = f->gain_db[(size_t)g * f->radios.n + r];
    kept->radios.n = n;
    return true;
}

/* "access_point:a2", as `failures` tells of them. */
static enum rt_code find_failure(struct arena *a, const struct house *h, struct str word, struct failure *out,
                                 struct rt_problems *p)
{
    failure_list all;
    RT_TRY(failures_of_house(a, h, ALL_FAILURE_KINDS, &all, p));
    for (uint32_t i = 0; i < all.n; i++) {
        const char *name = arena_printf(a, "%s:%.*s", failure_kind_name(all.v[i].kind), STR_ARG(all.v[i].id));
        if (!name)
            return rt_fail_memory(p);
        if (!str_is(word, name))
            continue;
        *out = all.v[i];
        return RT_OK;
    }
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "send failed=kind:id, as `failures` has them",
                   "nothing of the house fails as '%.*s'", STR_ARG(word));
}

/* Radios that are lost with what failed. */
static enum rt_code out_after_failure(struct evaluation *ev, struct arena *a, struct str word, bool *out_of_use,
                                      struct rt_problems *p)
{
    struct failure failure;
    struct damage *damage = NULL;
    RT_TRY(find_failure(a, ev->h, word, &failure, p));
    RT_TRY(damage_make(ev, &failure, &damage, p));
    for (uint32_t r = 0; r < damage->n_radios; r++)
        out_of_use[r] |= damage->dead_radio[r];
    return RT_OK;
}

/* All radios but those of one piece of equipment. */
static enum rt_code out_but_one(const struct evaluation *ev, struct str id, bool *out_of_use, struct rt_problems *p)
{
    bool any = false;
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        const bool is_its = str_eq(ev->h->equipment.v[ev->radios.v[r].equipment].id, id);
        any |= is_its;
        out_of_use[r] |= !is_its;
    }
    return any ? RT_OK
               : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "name an access point", "'%.*s' has no radio", STR_ARG(id));
}

/* The house's field, or that of the radios that are asked for. */
static enum rt_code whose(const struct request *q, struct evaluation *ev, const struct fields **f,
                          struct rt_problems *p)
{
    const struct str failed = q->query(q, "failed"), only = q->query(q, "only");
    bool *out_of_use = ARENA_ARRAY(q->arena, bool, ev->radios.n);
    struct fields *kept = ARENA_NEW(q->arena, struct fields);
    if (!failed.n && !only.n)
        return RT_OK;
    if (!out_of_use || !kept)
        return rt_fail_memory(p);
    if (failed.n)
        RT_TRY(out_after_failure(ev, q->arena, failed, out_of_use, p));
    if (only.n)
        RT_TRY(out_but_one(ev, only, out_of_use, p));
    if (!leave_out(q->arena, *f, out_of_use, kept))
        return rt_fail_memory(p);
    *f = kept;
    return RT_OK;
}

/* ---- the raster ---- */

struct fielding {
    struct request *q;
    struct workspace *w;
    struct field_asked asked;
    struct raster raster;
    double z_m;
    struct field_nodes nodes;
    struct json_body body;
    struct json *j;
};

static enum rt_code build(struct evaluation *ev, struct fielding *f, struct rt_problems *p)
{
    const struct fields *fields = NULL;
    struct field_asked *a = &f->asked;
    const struct field_words words = words_of(f->q);
    RT_TRY(field_asked_read(ev, &words, a, p));
    RT_TRY(evaluation_fields(ev, a->estimate, &fields, p));
    a->subject.grid = field_grid_at(fields, a->floor, a->height_m);
    if (a->subject.grid == NO_REF)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "draw its outline", "this floor has no outline, so no field");
    a->height_m = fields->grids.v[a->subject.grid].height_m;
    f->z_m = fields->grids.v[a->subject.grid].z_m;
    RT_TRY(whose(f->q, ev, &fields, p));
    return raster_build(f->q->arena, ev->h, fields, &a->options, a->subject, a->kind->quantity, a->kind->rank,
                        &f->raster)
               ? RT_OK
               : rt_fail_memory(p);
}

/* The patches as one lattice: a node shows its room, or the rest. */
static void lay_patch(const struct house *h, const struct raster *r, const struct raster_patch *patch, float *v)
{
    const struct lattice *all = &r->patches.v[0].shape, *l = &patch->shape;
    const long dx = lround((l->x0 - all->x0) / l->step), dy = lround((l->y0 - all->y0) / l->step);
    for (uint32_t iy = 0; iy < l->ny; iy++)
        for (uint32_t ix = 0; ix < l->nx; ix++) {
            const long x = dx + (long)ix, y = dy + (long)iy;
            const struct vec2 at = { l->x0 + ix * l->step, l->y0 + iy * l->step };
            if (x < 0 || y < 0 || x >= (long)all->nx || y >= (long)all->ny ||
                (patch->room != NO_REF && !polygon_contains(h->rooms.v[patch->room].outline, at)))
                continue;
            v[(size_t)y * all->nx + (size_t)x] = (float)raster_value(r, patch, ix, iy);
        }
}

static enum rt_code paint(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct fielding *f = user;
    RT_TRY(build(ev, f, p));
    const struct lattice *l = &f->raster.patches.v[0].shape;
    float *v = ARENA_ARRAY(f->q->arena, float, (size_t)l->nx * l->ny);
    if (!v)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < f->raster.patches.n; i++)
        lay_patch(ev->h, &f->raster, &f->raster.patches.v[i], v);
    f->nodes = (struct field_nodes){
        .columns = l->nx, .rows = l->ny, .step_m = l->step, .x0_m = l->x0, .y0_m = l->y0, .z_m = f->z_m, .v = v
    };
    return RT_OK;
}

/* Coarse, and soon there. */
static enum rt_code sketch(struct lane *lane, void *user, struct rt_problems *p)
{
    struct fielding *f = user;
    const struct field_words words = words_of(f->q);
    RT_TRY(field_asked_read(&lane->ev, &words, &f->asked, p));
    return preview_still(lane, &f->q->run, &f->asked, &f->nodes, p);
}

static enum rt_code is_quick(const struct request *q, bool *out, struct rt_problems *p)
{
    const struct str word = q->query(q, "quick");
    *out = str_is(word, "yes");
    if (word.n && !*out && !str_is(word, "no"))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "yes or no", "a field is quick or it is not");
    return *out && (q->query(q, "failed").n || q->query(q, "only").n)
               ? rt_fail(p, RT_SHAPE, RT_NOWHERE, "leave out `quick`", "a quick field is that of the whole house")
               : RT_OK;
}

enum rt_code api_field_reply(struct request *q, const struct field_nodes *nodes, int64_t revision, struct reply *r,
                             struct rt_problems *p)
{
    const struct str bytes = field_bytes(q->arena, nodes, revision);
    if (!bytes.p)
        return rt_fail_memory(p);
    *r = (struct reply){ .status = 200, .body = bytes, .type = BYTES };
    return RT_OK;
}

enum rt_code api_field(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct fielding f = { .q = q };
    struct study_state of = { 0 };
    bool quick;
    RT_TRY(is_quick(q, &quick, p));
    RT_TRY(api_house(q, &f.w, p));
    RT_TRY(workspace_compute(f.w, q->arena, quick ? LANE_PREVIEW : LANE_FIELD, quick ? sketch : paint, &f, &of, p));
    RT_TRY(api_field_reply(q, &f.nodes, of.number, r, p));
    r->etag = api_etag_of(q, of);
    return RT_OK;
}

/* ---- lines ---- */

enum { LINES_MOST = 40 };

/* "-70,-65": the levels asked for; none: those that the drawings have. */
static enum rt_code read_levels(const struct fielding *f, double levels[LINES_MOST], uint32_t *n, struct rt_problems *p)
{
    const struct str text = f->q->query(f->q, "levels");
    char kept[400], *at = kept;
    _Static_assert((int)LINES_MOST >= (int)FIELD_LEVELS_MOST, "all usual levels");
    *n = 0;
    if (!text.n) {
        *n = field_levels_usual(&f->raster, levels);
        return RT_OK;
    }
    snprintf(kept, sizeof kept, "%.*s", STR_ARG(text));
    while (*n < LINES_MOST) {
        char *end;
        levels[*n] = strtod(at, &end);
        if (end == at || !isfinite(levels[*n]))
            break;
        ++*n;
        if (*end == '\0')
            return RT_OK;
        at = end + (*end == ',');
    }
    return rt_fail(p, RT_SHAPE, RT_NOWHERE, "send levels=-70,-65", "that is no list of at most %d levels", LINES_MOST);
}

/* Which nodes are the patch's own: in its room; of the rest, in none.  Lines end where these end. */
static bool *own_nodes(struct arena *a, const struct house *h, const struct raster *r, const struct raster_patch *patch)
{
    const struct lattice *l = &patch->shape;
    bool *own = ARENA_ARRAY(a, bool, (size_t)l->nx * l->ny);
    for (size_t i = 0; own && i < (size_t)l->nx * l->ny; i++) {
        const struct vec2 at = { l->x0 + (double)(i % l->nx) * l->step, l->y0 + (double)(i / l->nx) * l->step };
        own[i] = patch->room == NO_REF || polygon_contains(h->rooms.v[patch->room].outline, at);
        for (uint32_t k = 1; patch->room == NO_REF && own[i] && k < r->patches.n; k++)
            own[i] = !polygon_contains(h->rooms.v[r->patches.v[k].room].outline, at);
    }
    return own;
}

static void write_line(struct json *j, const struct contour_line *line)
{
    json_begin_array(j, "line");
    for (uint32_t i = 0; i < line->points.n; i++) {
        json_begin_array(j, NULL);
        json_fixed(j, NULL, line->points.v[i].x, 3);
        json_fixed(j, NULL, line->points.v[i].y, 3);
        json_end_array(j);
    }
    json_end_array(j);
}

static enum rt_code trace(const struct fielding *f, const struct house *h, const struct raster_patch *patch,
                          const bool *own, double level, bool is_promised, struct rt_problems *p)
{
    contour_list found;
    struct lattice l = patch->shape;
    float *spare_db = raster_spare_db(f->q->arena, &f->raster, patch, level);
    for (size_t i = 0; spare_db && i < (size_t)l.nx * l.ny; i++)
        if (!own[i])
            spare_db[i] = NAN;
    l.v = spare_db;
    if (!spare_db || !contour_trace(f->q->arena, &l, 0.0, &found))
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < found.n; i++) {
        json_begin_object(f->j, NULL);
        json_num(f->j, "level", level);
        json_bool(f->j, "is_promised", is_promised);
        json_bool(f->j, "is_closed", found.v[i].is_closed);
        json_str(f->j, "room", patch->room == NO_REF ? STR("") : h->rooms.v[patch->room].id);
        write_line(f->j, &found.v[i]);
        json_end_object(f->j);
    }
    return RT_OK;
}

/* The levels that promises set in a room, each once. */
static uint32_t promised_levels(const struct fielding *f, const struct house *h, uint32_t room,
                                double levels[LINES_MOST])
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->promises.n && n < LINES_MOST; i++) {
        const double level = field_promised_level(f->asked.kind, &f->asked.options, f->asked.subject.band,
                                                  f->asked.height_m, &h->promises.v[i], room);
        bool is_new = is_given(level);
        for (uint32_t k = 0; k < n && is_new; k++)
            is_new = levels[k] != level;
        if (is_new)
            levels[n++] = level;
    }
    return n;
}

static bool holds(const double *levels, uint32_t n, double level)
{
    for (uint32_t i = 0; i < n; i++)
        if (levels[i] == level)
            return true;
    return false;
}

static enum rt_code trace_patch(const struct fielding *f, const struct house *h, const struct raster_patch *patch,
                                const double *levels, uint32_t n, struct rt_problems *p)
{
    double promised[LINES_MOST];
    const uint32_t n_promised = promised_levels(f, h, patch->room, promised);
    const bool *own = own_nodes(f->q->arena, h, &f->raster, patch);
    if (!own)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        if (!holds(promised, n_promised, levels[i]))
            RT_TRY(trace(f, h, patch, own, levels[i], false, p));
    for (uint32_t i = 0; i < n_promised; i++)
        RT_TRY(trace(f, h, patch, own, promised[i], true, p));
    return RT_OK;
}

static enum rt_code outline(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct fielding *f = user;
    double levels[LINES_MOST];
    uint32_t n;
    RT_TRY(build(ev, f, p));
    RT_TRY(read_levels(f, levels, &n, p));
    f->j = reply_json(&f->body, f->q);
    json_begin_object(f->j, NULL);
    json_text(f->j, "unit", f->asked.kind->quantity == RASTER_LEVEL_DBM ? "dBm" : "Mb/s");
    json_fixed(f->j, "height_m", f->asked.height_m, 3);
    json_begin_array(f->j, "levels");
    for (uint32_t i = 0; i < n; i++)
        json_num(f->j, NULL, levels[i]);
    json_end_array(f->j);
    json_begin_array(f->j, "lines");
    for (uint32_t i = 0; i < f->raster.patches.n; i++)
        RT_TRY(trace_patch(f, ev->h, &f->raster.patches.v[i], levels, n, p));
    json_end_array(f->j);
    json_end_object(f->j);
    return RT_OK;
}

enum rt_code api_contours(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct fielding f = { .q = q };
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &f.w, p));
    RT_TRY(workspace_compute(f.w, q->arena, LANE_FIELD, outline, &f, &of, p));
    r->etag = api_etag_of(q, of);
    return reply_json_end(&f.body, r, p);
}
