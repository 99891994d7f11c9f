/* How the devices multiply, and how long a limit lasts. */
#include "promise/growth.h"

#include <math.h>

#include "base/units.h"

/* A hair less than one more is rounding, not a socket. */
static const double HAIR = 1e-9;

bool growth_is_one_of_a_house(struct str kind)
{
    static const char *const KINDS[] = { "recorder", "server", "hub", "meter", "weather", "heat_pump", "inverter" };
    for (size_t i = 0; i < RT_COUNT(KINDS); i++)
        if (str_is(kind, KINDS[i]))
            return true;
    return false;
}

double growth_share(const struct house *h, struct str kind)
{
    for (uint32_t i = 0; i < h->growth.n; i++)
        if (str_eq(h->growth.v[i].kind, kind))
            return h->growth.v[i].share;
    return growth_is_one_of_a_house(kind) ? 0.0 : 1.0;
}

void growth_add(struct growth *g, struct growth_use use) { g->failed |= !VEC_PUSH(g->a, &g->uses, use); }

double growth_used(const struct growth_use *use, double times)
{
    if (use->is_curve)
        return times > 1.0 ? use->curve.then : use->curve.now;
    const double used = use->fixed + use->growing * times;
    return use->is_whole ? ceil(used - HAIR) : used;
}

static double usable_of(const struct growth_use *use, double limit)
{
    const double usable = limit * (1.0 - use->kept_free);
    return use->is_whole ? floor(usable + HAIR) : usable;
}

double growth_usable(const struct growth_use *use) { return usable_of(use, use->limit); }

/* What may be used when there are so many times the devices, of a limit that falls evenly over the years. */
static double usable_at(const struct growth *g, const struct growth_use *use, double times)
{
    const double passed = growth_years(g, times) / g->years;
    if (use->limit_now <= 0.0 || !is_given(passed))
        return growth_usable(use);
    return usable_of(use, use->limit_now + (use->limit - use->limit_now) * fmin(passed, 1.0));
}

static bool suffices(const struct growth *g, const struct growth_use *use, double times)
{
    return growth_used(use, times) <= usable_at(g, use, times) + HAIR;
}

double growth_lasts_times(const struct growth *g, const struct growth_use *use)
{
    enum { HALVINGS = 50 };
    if (use->is_curve)
        return use->curve.lasts_times;
    if (!suffices(g, use, 1.0))
        return 0.0;
    if (suffices(g, use, g->times) || use->limit_now <= 0.0)
        return use->growing > HAIR ? fmax((growth_usable(use) - use->fixed) / use->growing, 1.0) : (double)INFINITY;
    double low = 1.0, high = g->times;
    for (int i = 0; i < HALVINGS; i++) {
        const double times = (low + high) / 2.0;
        if (suffices(g, use, times))
            low = times;
        else
            high = times;
    }
    return low;
}

double growth_years(const struct growth *g, double times)
{
    if (!is_given(g->years) || g->times <= 1.0)
        return RT_NOT_GIVEN;
    return times <= 1.0 ? 0.0 : g->years * log(times) / log(g->times);
}
