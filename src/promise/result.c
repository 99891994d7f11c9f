#include "promise/result.h"

#include <stdarg.h>

#include "promise/spot_words.h"

enum { PATHS_SHOWN = 5 };

static enum rt_code end_with(struct evaluation *ev, struct promise_result *out, enum promise_state state,
                             const char *fmt, va_list args) RT_PRINTF(4, 0);

static enum rt_code end_with(struct evaluation *ev, struct promise_result *out, enum promise_state state,
                             const char *fmt, va_list args)
{
    const char *text = arena_vprintf(ev->run->arena, fmt, args);
    out->reason = str_from(text ? text : "");
    out->state = state;
    return RT_OK;
}

enum rt_code result_unknown(struct evaluation *ev, struct promise_result *out, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const enum rt_code code = end_with(ev, out, PROMISE_UNKNOWN, fmt, args);
    va_end(args);
    return code;
}

enum rt_code result_broken(struct evaluation *ev, struct promise_result *out, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const enum rt_code code = end_with(ev, out, PROMISE_BROKEN, fmt, args);
    va_end(args);
    return code;
}

enum rt_code result_no_radio(struct evaluation *ev, struct promise_result *out, enum band band)
{
    const char *left = ev->damage ? "left" : "of the house";
    if (band == BAND_COUNT)
        return result_broken(ev, out, "no access point %s serves this device", left);
    return result_broken(ev, out, "no access point %s has a radio on %s GHz for this device", left, band_name(band));
}

static void path_facts(struct arena *a, const struct house *h, path_list paths, struct fact *evidence)
{
    static const char *const KINDS[] = { "direct", "reflected", "diffracted" };
    struct fact *list = fact_array(a, evidence, "paths");
    for (uint32_t i = 0; i < paths.n; i++) {
        const struct path *path = &paths.v[i];
        struct fact *o = fact_object(a, list, NULL);
        fact_text(a, o, "kind", KINDS[path->kind]);
        fact_num(a, o, "order", path->order, 0);
        fact_num(a, o, "length_m", path->length_m, 2);
        fact_num(a, o, "gain_db", path->gain_db, 1);
        struct fact *crossings = fact_array(a, o, "crossings");
        for (uint32_t k = 0; k < path->crossings.n; k++) {
            const struct crossing *c = &path->crossings.v[k];
            struct fact *x = fact_object(a, crossings, NULL);
            fact_str(a, x, "id", c->id);
            fact_str(a, x, "construct", h->constructs.v[c->construct].id);
            fact_num(a, x, "loss_db", c->loss_db, 1);
            fact_bool(a, x, "reflection", c->is_reflection);
        }
    }
}

static void mark_spot(struct arena *a, const struct decision *decision, const char *title, struct str why,
                      struct promise_result *out)
{
    struct str *lines = ARENA_ARRAY(a, struct str, 1);
    out->witness = (struct witness){
        .is_set = lines != NULL,
        .floor = decision->floor,
        .at_m = decision->at_m,
        .bands = 1u << decision->radio->band,
        .title = str_from(title ? title : ""),
    };
    if (lines) {
        lines[0] = why;
        out->witness.lines.v = lines;
        out->witness.lines.n = 1;
    }
}

const struct radio_ability *result_device(struct evaluation *ev, const struct promise *promise,
                                          struct promise_result *out)
{
    const struct radio_ability *device = evaluation_radio_of(ev, promise->device_kind);
    if (!device)
        result_unknown(ev, out, "say in `device_kind` whose radio is meant: `%.*s` has none",
                       STR_ARG(promise->device_kind));
    return device;
}

enum rt_code result_at_spot(struct evaluation *ev, const struct decision *decision, const char *title,
                            struct promise_result *out, struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct house *h = ev->h;
    const struct ap_radio *radio = decision->radio;
    const uint32_t floor = decision->floor;
    const struct vec2 at = { decision->at_m.x, decision->at_m.y };
    const struct vec3 datum_m = { at.x, at.y, house_z_m(h, floor, decision->at_m.z) };
    path_list paths;
    double gain_db;
    RT_TRY(
        spot_paths(ev->run, ev->walls, ev->scene, radio, datum_m, ev->options.trace, PATHS_SHOWN, &paths, &gain_db, p));
    const struct str where = spot_words(a, h, floor, at), why = path_words(a, h, radio, paths);
    struct buf reason = { .arena = a };
    if (out->state == PROMISE_KEPT)
        buf_printf(&reason, "worst: %.*s", STR_ARG(where));
    else
        buf_printf(&reason, "%.*s: %.*s", STR_ARG(where), STR_ARG(why));
    if (out->other_estimate_disagrees)
        buf_printf(&reason, "; %s walls would %s it", estimate_name(out->other_estimate),
                   out->state == PROMISE_KEPT ? "break" : "keep");
    out->reason = buf_done(&reason);
    fact_str(a, out->evidence, "access_point", h->equipment.v[radio->equipment].id);
    fact_text(a, out->evidence, "band", band_name(radio->band));
    path_facts(a, h, paths, out->evidence);
    mark_spot(a, decision, title, why, out);
    return reason.failed ? rt_fail_memory(p) : RT_OK;
}
