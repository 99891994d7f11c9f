/* Air for new cabinets: closed where that will do, else slots at foot and top, else a fan. */
#include "design/fit_int.h"

#define GROWTH_SHARE \
    0.8 /* of the rise that is borne, where growth is promised: what is fed from there grows (our own choice) */

static bool has_growth(const struct house *h)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_GROWTH)
            return true;
    return false;
}

/* How much warmer it is inside; NaN: not known. */
static enum rt_code rise_of(struct fitter *f, const struct evaluation *ev, uint32_t cabinet, double *rise_k)
{
    struct evaluation with;
    const struct energy_plan *energy = NULL;
    if (!fit_evaluation_with(f, ev, f->h, &with))
        return rt_fail_memory(f->p);
    RT_TRY(evaluation_energy(&with, &energy, f->p));
    *rise_k = RT_NOT_GIVEN;
    for (uint32_t i = 0; i < energy->cabinets.n; i++)
        if (energy->cabinets.v[i].equipment == cabinet)
            *rise_k = energy->cabinets.v[i].air_k;
    return RT_OK;
}

static enum rt_code air_cabinet(struct fitter *f, const struct evaluation *ev, uint32_t cabinet)
{
    static const char *const AIR[] = { "closed", "slots", "fan" };
    const double most_k = CABINET_RISE_K * (has_growth(f->h) ? GROWTH_SHARE : 1.0);
    struct equipment *e = &f->things.v[cabinet];
    double closed_k = 0.0;
    for (size_t i = 0; i < RT_COUNT(AIR); i++) {
        double rise_k = 0.0;
        e->air = str_from(AIR[i]);
        RT_TRY(rise_of(f, ev, cabinet, &rise_k));
        closed_k = i ? closed_k : rise_k;
        if (rise_k <= most_k || !is_given(rise_k)) {
            if (i)
                fit_tell(f, e->id, "%s: closed, its air would be %.1f K warmer than the room, so %.1f K",
                         i == 1 ? "slots at foot and top" : "a fan", closed_k, rise_k);
            return RT_OK;
        }
    }
    fit_tell(f, e->id, "even with a fan its air is too warm: leave it open, or take a larger one");
    return RT_OK;
}

enum rt_code fit_air(struct fitter *f, struct evaluation *ev)
{
    const struct power_plan *power = NULL;
    RT_TRY(evaluation_power(ev, &power, f->p));
    for (uint32_t e = 0; e < f->things.n; e++) {
        const struct equipment *cabinet = &f->things.v[e];
        bool is_new = false;
        for (uint32_t i = 0; i < f->added.n; i++)
            is_new |= str_eq(f->added.v[i], cabinet->id);
        if (is_new && cabinet->part.i != NO_REF && fit_part(f, cabinet->part.i)->kind == PART_CABINET)
            RT_TRY(air_cabinet(f, ev, e));
    }
    return RT_OK;
}
