/* `exposure`: where people are, the power density of the house's radios stays under the public limit.
 *
 * Worst case on purpose: every radio of the house at full power without pause, nothing in the way, the ground's reflection
 * added.  People may be anywhere on a floor from its surface to a tall person's reach, on the floor above a ceiling too. */
#include <math.h>

#include "base/units.h"
#include "promise/result.h"
#include "promise/spot_words.h"
#include "radio/exposure.h"

/* Standing height that is taken as filled with people. */
static const double PERSON_M = 2.0;
/* Nobody is nearer than this for long: mobile equipment is assessed at 0.20 m (47 CFR 2.1091, from memory). */
static const double TOUCH_M = 0.20;

/* The nearest place to an antenna at which a person can be. */
struct nearest {
    double distance_m;
    uint32_t floor;
    struct vec3 at_m; /* z above that floor */
};

static struct vec2 nearest_in_outline(vec2_list outline, struct vec2 at)
{
    if (polygon_contains(outline, at))
        return at;
    struct vec2 best = outline.v[0];
    for (uint32_t i = 0; i < outline.n; i++) {
        const struct vec2 a = outline.v[i], ab = vec2_sub(outline.v[(i + 1) % outline.n], a);
        double k = vec2_dot(vec2_sub(at, a), ab) / vec2_dot(ab, ab);
        k = k < 0.0 ? 0.0 : k > 1.0 ? 1.0 : k;
        const struct vec2 q = vec2_add(a, vec2_scale(ab, k));
        if (vec2_len(vec2_sub(at, q)) < vec2_len(vec2_sub(at, best)))
            best = q;
    }
    return best;
}

static struct nearest nearest_person(const struct house *h, struct vec3 antenna_m)
{
    struct nearest best = { .distance_m = INFINITY };
    for (uint32_t i = 0; i < h->floors.n; i++) {
        const struct floor *floor = &h->floors.v[i];
        const struct vec2 q = nearest_in_outline(floor->outline, (struct vec2){ antenna_m.x, antenna_m.y });
        const double above = antenna_m.z - floor->level_m;
        const double z = above < 0.0 ? 0.0 : above > PERSON_M ? PERSON_M : above;
        const struct vec3 d = { antenna_m.x - q.x, antenna_m.y - q.y, above - z };
        if (vec3_len(d) < best.distance_m)
            best = (struct nearest){ vec3_len(d), i, { q.x, q.y, z } };
    }
    return best;
}

/* Largest measure of the part an antenna sits in; 0 if the parts file does not tell. */
static double size_of_m(const struct house *h, uint32_t equipment)
{
    const struct part *part = &h->parts.list.v[h->equipment.v[equipment].part.i];
    return fmax(given_or(part->width_m, 0.0), fmax(given_or(part->height_m, 0.0), given_or(part->depth_m, 0.0)));
}

/* The access point whose nearest person gets the largest share of the limit. */
struct worst {
    uint32_t equipment;
    struct nearest near;
    struct exposure exposure;
};

static bool judge_access_point(struct evaluation *ev, struct str limit, uint32_t equipment, struct vec3 at_m,
                               struct fact *list, struct worst *worst)
{
    struct arena *a = ev->run->arena;
    struct worst w = { .equipment = equipment, .near = nearest_person(ev->h, at_m) };
    w.near.distance_m = fmax(w.near.distance_m, TOUCH_M);
    if (!exposure_of_access_point(&ev->radios, equipment, limit, w.near.distance_m, size_of_m(ev->h, equipment),
                                  &w.exposure))
        return false;
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "id", ev->h->equipment.v[equipment].id);
    fact_num(a, o, "distance_m", w.near.distance_m, 2);
    fact_num(a, o, "share_of_limit", w.exposure.fraction, 4);
    fact_num(a, o, "limit_met_from_m", w.exposure.distance_m, 3);
    fact_num(a, o, "exact_from_m", w.exposure.far_field_m, 3);
    if (w.exposure.fraction > worst->exposure.fraction)
        *worst = w;
    return true;
}

enum rt_code promise_exposure(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                              struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    const struct house *h = ev->h;
    if (ev->radios.n == 0)
        return result_unknown(ev, out, "the house has no access point yet: add one under `equipment`");
    struct worst worst = { .exposure.fraction = -1.0 };
    struct fact *list = fact_array(a, out->evidence, "access_points");
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        const struct ap_radio *radio = &ev->radios.v[r];
        if (r > 0 && ev->radios.v[r - 1].equipment == radio->equipment)
            continue;
        if (!judge_access_point(ev, promise->limit, radio->equipment, radio->at_m, list, &worst))
            return result_unknown(ev, out, "`%.*s` has no public limit at the frequencies of this house",
                                  STR_ARG(promise->limit));
    }
    const double share = worst.exposure.fraction;
    out->state = share <= 1.0 ? PROMISE_KEPT : PROMISE_BROKEN;
    out->margin = -units_db_from_ratio(share);
    out->unit = "dB";
    fact_str(a, out->evidence, "limit", promise->limit);
    fact_num(a, out->evidence, "share_of_limit", share, 4);
    const struct vec3 at_m = worst.near.at_m;
    const struct str where = spot_words(a, h, worst.near.floor, (struct vec2){ at_m.x, at_m.y });
    const struct str id = h->equipment.v[worst.equipment].id;
    struct buf reason = { .arena = a };
    buf_printf(&reason, "%.*s: at most %.2g %% of the limit %.1f m from %.*s", STR_ARG(where), share * 100.0,
               worst.near.distance_m, STR_ARG(id));
    out->reason = buf_done(&reason);
    return reason.failed ? rt_fail_memory(p) : RT_OK;
}
