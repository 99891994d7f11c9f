/* Disks and the room in runs. */
#include <math.h>

#include "base/units.h"
#include "data/picture_codecs.h"
#include "data/separation.h"
#include "load/recordings.h"
#include "promise/growth.h"
#include "wire/cable_rules.h"

/* ---- disks ---- */

/* The most that was promised of a recording; 0: nothing was. */
static double promised_days(const struct house *h, uint32_t recording)
{
    double days = 0.0;
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (h->promises.v[i].kind == PROMISE_RECORDING && h->promises.v[i].recording.i == recording)
            days = fmax(days, h->promises.v[i].days);
    return days;
}

static struct str larger_disk(struct growth *g, const struct growth_use *use)
{
    enum { STEP_GB = 100 };
    const double gb = growth_used(use, g->times) / (1.0 - g->headroom) / DISK_USABLE_SHARE;
    if (!isfinite(gb))
        return STR("a far larger disk");
    const char *text = arena_printf(g->a, "a disk of %.0f GB", ceil(gb / STEP_GB - 1e-9) * STEP_GB);
    g->failed |= !text;
    return str_from(text ? text : "");
}

/* What the promised days of all pictures on the disk take: those of the recordings that share it too. */
static enum rt_code add_disk(struct growth *g, uint32_t recording, double days, struct rt_problems *p)
{
    const struct house *h = g->h;
    const struct recording *r = &h->recordings.v[recording];
    const char *what =
        arena_printf(g->a, "disk for %g days of pictures (%.*s)", days, STR_ARG(r->says.n ? r->says : r->id));
    struct growth_use use = {
        .what = str_from(what ? what : ""), .where = r->id, .unit = "GB", .kept_free = g->headroom
    };
    g->failed |= !what;
    for (uint32_t i = 0; i < h->recordings.n; i++) {
        if (!recordings_share_disk(h, recording, i))
            continue;
        struct recording_life life;
        RT_TRY(recording_life_of(g->ev->run, h, i, &life, p));
        for (uint32_t k = 0; k < life.cameras.n; k++) {
            const struct camera_rate *c = &life.cameras.v[k];
            growth_of_device(g, c->device, c->mbps * c->share * GB_PER_MBPS_DAY * days, &use);
        }
        if (life.missing.n && !use.missing.n)
            use.missing = life.missing.v[0];
        if (i == recording)
            use.limit = life.disk_gb * DISK_USABLE_SHARE;
    }
    if (!use.missing.n)
        use.mend = larger_disk(g, &use);
    growth_add(g, use);
    return RT_OK;
}

enum rt_code growth_disks(struct growth *g, struct rt_problems *p)
{
    for (uint32_t i = 0; i < g->h->recordings.n; i++) {
        const double days = promised_days(g->h, i);
        if (days > 0.0)
            RT_TRY(add_disk(g, i, days, p));
    }
    return RT_OK;
}

/* ---- room in runs ---- */

struct run_growth {
    double n, n_growing; /* cables that lie there; of them, by the shares of the devices at their ends */
    double mm2, growing_mm2;
};

static double share_of_cable(const struct growth *g, const struct cable *c)
{
    const double from = c->from.device == NO_REF ? 0.0 : g->share[c->from.device];
    const double to = c->to.device == NO_REF ? 0.0 : g->share[c->to.device];
    return fmax(from, to);
}

static double mm2_of(const struct run_growth *r, double n)
{
    return r->mm2 + (n > r->n ? (n - r->n) * r->growing_mm2 / r->n_growing : 0.0);
}

/* Cables are whole, and how much of a run they may fill goes by their number: each next one is tried, up to the first that does not
 * fit.  That is looked at beyond the promised number too, for the years that the run lasts. */
static void fill(const struct growth *g, const struct cable_run *run, const struct run_growth *r,
                 struct growth_use *use)
{
    enum { CABLES_MAX = 1 << 20 };
    const double n_then = ceil(r->n + r->n_growing * (g->times - 1.0) - 1e-9);
    double n = r->n, n_told = r->n;
    use->is_curve = true;
    use->curve.now = r->mm2;
    use->limit_now = run->area_mm2 * fill_share_max((uint32_t)r->n);
    use->curve.lasts_times = INFINITY;
    for (; n <= CABLES_MAX && (n <= r->n || r->n_growing > 0.0); n++) {
        const bool fits = mm2_of(r, n) <= run->area_mm2 * fill_share_max((uint32_t)n) + 1e-9;
        if (n <= n_then)
            n_told = n;
        if (fits)
            continue;
        use->curve.lasts_times = n <= r->n ? 0.0 : 1.0 + (n - 1.0 - r->n) / r->n_growing;
        break;
    }
    use->curve.then = mm2_of(r, n_told);
    use->limit = run->area_mm2 * fill_share_max((uint32_t)n_told);
}

static void add_run(struct growth *g, uint32_t run, const struct run_growth *r)
{
    const struct cable_run *q = &g->h->runs.v[run];
    const char *what = arena_printf(g->a, "room for cables (%.*s)", STR_ARG(q->says.n ? q->says : q->id));
    struct growth_use use = { .what = str_from(what ? what : ""), .where = q->id, .unit = "mm2" };
    fill(g, q, r, &use);
    const bool is_pipe = q->kind == RUN_DUCT || q->kind == RUN_TRENCH;
    const char *mend = arena_printf(g->a, "a second %s beside it, or one of %.0f mm2", is_pipe ? "duct" : "run",
                                    ceil(use.curve.then / use.limit * q->area_mm2 - 1e-9));
    g->failed |= !what || !mend;
    use.mend = str_from(mend ? mend : "");
    growth_add(g, use);
}

enum rt_code growth_runs(struct growth *g, struct rt_problems *p)
{
    const struct house *h = g->h;
    const struct cable_plan *plan = NULL;
    const struct wire_links *links = NULL;
    RT_TRY(evaluation_cables(g->ev, &plan, &links, p));
    for (uint32_t run = 0; run < h->runs.n; run++) {
        struct run_growth r = { 0 };
        for (uint32_t c = 0; is_given(h->runs.v[run].area_mm2) && c < h->cables.n; c++) {
            if (!is_given(cable_metres_in(plan, c, run)))
                continue;
            const double share = share_of_cable(g, &h->cables.v[c]), mm2 = cable_section_mm2(h, links, c);
            r.n += 1.0;
            r.mm2 += mm2;
            r.n_growing += share;
            r.growing_mm2 += mm2 * share;
        }
        if (r.n > 0.0)
            add_run(g, run, &r);
    }
    return RT_OK;
}
