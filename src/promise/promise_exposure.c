/* `exposure`: where people are, the power density of the house's radios stays under the public limit.
 *
 * Worst case on purpose: every radio of the house at full power without pause, nothing in the way, the field doubled by
 * reflections, all radios added up.  People may be anywhere on a floor, or in the rooms that are named, from the surface to a tall
 * person's reach, on the floor above a ceiling too. */
#include <math.h>

#include "base/units.h"
#include "promise/result.h"
#include "promise/spot_words.h"
#include "radio/exposure.h"

/* Standing height that is taken as filled with people. */
static const double PERSON_M = 2.0;
/* Nobody is nearer than this for long: mobile equipment is assessed at 0.20 m (47 CFR 2.1091, from memory). */
static const double TOUCH_M = 0.20;

/* Others are mentioned from this share of the sum on. */
static const double WORTH_SAYING = 0.01;

/* Where a person can be. */
struct place {
    uint32_t floor;
    struct vec3 at_m; /* z above that floor */
};

typedef VEC(struct place) place_vec;

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

static double distance_m(const struct house *h, struct place q, struct vec3 antenna_m)
{
    const struct vec3 d = { antenna_m.x - q.at_m.x, antenna_m.y - q.at_m.y,
                            antenna_m.z - h->floors.v[q.floor].level_m - q.at_m.z };
    return fmax(vec3_len(d), TOUCH_M);
}

static struct place nearest_on(const struct house *h, uint32_t floor, vec2_list outline, struct vec3 antenna_m)
{
    const struct vec2 q = nearest_in_outline(outline, (struct vec2){ antenna_m.x, antenna_m.y });
    const double above_m = antenna_m.z - h->floors.v[floor].level_m;
    return (struct place){ floor, { q.x, q.y, fmin(fmax(above_m, 0.0), PERSON_M) } };
}

/* The place nearest to an antenna, of all floors or of the promise's rooms. */
static struct place nearest_person(const struct house *h, const struct promise *promise, struct vec3 antenna_m)
{
    struct place best = { .floor = NO_REF };
    const uint32_t n = promise->rooms.n ? promise->rooms.n : h->floors.n;
    for (uint32_t i = 0; i < n; i++) {
        const struct room *room = promise->rooms.n ? &h->rooms.v[promise->rooms.v[i].i] : NULL;
        const struct place q = room ? nearest_on(h, room->floor.i, room->outline, antenna_m)
                                    : nearest_on(h, i, h->floors.v[i].outline, antenna_m);
        if (best.floor == NO_REF || distance_m(h, q, antenna_m) < distance_m(h, best, antenna_m))
            best = q;
    }
    return best;
}

static bool is_first_of_equipment(const struct evaluation *ev, uint32_t radio)
{
    return radio == 0 || ev->radios.v[radio - 1].equipment != ev->radios.v[radio].equipment;
}

static bool is_where_people_are(const struct house *h, const struct promise *promise, uint32_t floor, struct vec3 at_m)
{
    const struct vec2 at = { at_m.x, at_m.y };
    bool is = !promise->rooms.n && polygon_contains(h->floors.v[floor].outline, at);
    for (uint32_t i = 0; i < promise->rooms.n && !is; i++) {
        const struct room *room = &h->rooms.v[promise->rooms.v[i].i];
        is = room->floor.i == floor && polygon_contains(room->outline, at);
    }
    return is;
}

/* Places where the sum can be largest: the nearest to each access point, and between two of these on one floor. */
static bool find_places(struct evaluation *ev, const struct promise *promise, place_vec *out)
{
    struct arena *a = ev->run->arena;
    bool ok = true;
    for (uint32_t r = 0; r < ev->radios.n && ok; r++)
        if (is_first_of_equipment(ev, r))
            ok = VEC_PUSH(a, out, nearest_person(ev->h, promise, ev->radios.v[r].at_m));
    for (uint32_t i = 0, n = out->n; i < n; i++)
        for (uint32_t k = i + 1; k < n && ok; k++) {
            const struct vec3 mid = vec3_scale(vec3_add(out->v[i].at_m, out->v[k].at_m), 0.5);
            if (out->v[i].floor == out->v[k].floor && is_where_people_are(ev->h, promise, out->v[i].floor, mid))
                ok = VEC_PUSH(a, out, ((struct place){ out->v[i].floor, mid }));
        }
    return ok;
}

/* Largest measure of the part an antenna sits in; 0 if the parts file does not tell. */
static double size_of_m(const struct house *h, uint32_t equipment)
{
    const struct part *part = &h->parts.list.v[h->equipment.v[equipment].part.i];
    return fmax(given_or(part->width_m, 0.0), fmax(given_or(part->height_m, 0.0), given_or(part->depth_m, 0.0)));
}

static bool share_of(const struct evaluation *ev, struct str limit, uint32_t radio, struct place q,
                     struct exposure *out)
{
    const struct ap_radio *r = &ev->radios.v[radio];
    return exposure_of_access_point(&ev->radios, r->equipment, limit, distance_m(ev->h, q, r->at_m),
                                    size_of_m(ev->h, r->equipment), out);
}

/* All access points together at a place. */
struct sum {
    struct place place;
    double share, most; /* of the limit; of that the access point that adds most */
    uint32_t radio;     /* its first */
};

static struct sum sum_at(const struct evaluation *ev, struct str limit, struct place q)
{
    struct sum s = { .place = q, .most = -1.0 };
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        struct exposure e = { 0 };
        if (!is_first_of_equipment(ev, r) || !share_of(ev, limit, r, q, &e))
            continue;
        s.share += e.fraction;
        if (e.fraction > s.most) {
            s.most = e.fraction;
            s.radio = r;
        }
    }
    return s;
}

/* Each access point alone, at the place nearest to it; false: the limit says nothing at one of its frequencies. */
static bool list_access_points(struct evaluation *ev, const struct promise *promise, struct fact *list)
{
    struct arena *a = ev->run->arena;
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        if (!is_first_of_equipment(ev, r))
            continue;
        const struct place q = nearest_person(ev->h, promise, ev->radios.v[r].at_m);
        struct exposure e;
        if (!share_of(ev, promise->limit, r, q, &e))
            return false;
        struct fact *o = fact_object(a, list, NULL);
        fact_str(a, o, "id", ev->h->equipment.v[ev->radios.v[r].equipment].id);
        fact_num(a, o, "distance_m", distance_m(ev->h, q, ev->radios.v[r].at_m), 2);
        fact_num(a, o, "share_of_limit", e.fraction, 4);
        fact_num(a, o, "limit_met_from_m", e.distance_m, 3);
        fact_num(a, o, "exact_from_m", e.far_field_m, 3);
    }
    return true;
}

static struct str reason_of(struct evaluation *ev, const struct sum *s)
{
    struct buf b = { .arena = ev->run->arena };
    const struct vec3 at_m = s->place.at_m;
    const struct str where = spot_words(b.arena, ev->h, s->place.floor, (struct vec2){ at_m.x, at_m.y });
    const struct ap_radio *r = &ev->radios.v[s->radio];
    buf_printf(&b, "%.*s: at most %.2g %% of the limit %.1f m from %.*s%s", STR_ARG(where), s->share * 100.0,
               distance_m(ev->h, s->place, r->at_m), STR_ARG(ev->h->equipment.v[r->equipment].id),
               s->share - s->most > WORTH_SAYING * s->share ? ", with what the others add" : "");
    return b.failed ? (struct str){ 0 } : buf_done(&b);
}

enum rt_code promise_exposure(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                              struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    if (ev->radios.n == 0)
        return result_unknown(ev, out, "the house has no access point yet: add one under `equipment`");
    if (!list_access_points(ev, promise, fact_array(a, out->evidence, "access_points")))
        return result_unknown(ev, out, "`%.*s` has no public limit at the frequencies of this house",
                              STR_ARG(promise->limit));
    place_vec places = { 0 };
    struct sum worst = { .share = -1.0 };
    if (!find_places(ev, promise, &places))
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < places.n; i++) {
        const struct sum s = sum_at(ev, promise->limit, places.v[i]);
        if (s.share > worst.share)
            worst = s;
    }
    out->state = worst.share <= 1.0 ? PROMISE_KEPT : PROMISE_BROKEN;
    out->margin = -units_db_from_ratio(worst.share);
    out->unit = "dB";
    fact_str(a, out->evidence, "limit", promise->limit);
    fact_num(a, out->evidence, "share_of_limit", worst.share, 4);
    out->reason = reason_of(ev, &worst);
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}
