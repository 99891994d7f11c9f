/* `recording`: so many days of pictures are kept.
 *
 * Kept if they fit on the disk, every camera has a way to the recorder, and no cable on the way is asked for more than it
 * carries.  How long the disk itself bears the writing is told beside it. */
#include <math.h>

#include "base/units.h"
#include "load/recordings.h"
#include "promise/loss.h"
#include "promise/result.h"

#define DISK_LIFE_YEARS 3.0 /* what one expects of a disk that writes all day: common practice, no source */

struct recording_view {
    struct evaluation *ev;
    const struct house *h;
    const struct recording *recording;
    struct recording_life life;
    const struct wire_links *links;
    double *cable_mbps; /* of each cable, by these pictures */
    str_list cut_off;   /* cameras without a way to the recorder */
    uint32_t tight;     /* the cable with the least to spare; NO_REF: none */
};

/* Where a camera's pictures enter the cables: itself, or the access point it is on; NO_REF: nowhere. */
static enum rt_code entry_of(struct recording_view *v, uint32_t device, uint32_t *out, struct rt_problems *p)
{
    *out = tree_device(v->h, device);
    if (v->h->devices.v[device].link != LINK_WIFI)
        return RT_OK;
    const struct stations *stations = NULL;
    RT_TRY(evaluation_stations(v->ev, &stations, p));
    const struct station *s = &stations->list.v[stations->of_device[device]];
    *out = s->radio == NO_REF ? NO_REF : v->ev->radios.v[s->radio].equipment;
    return RT_OK;
}

static enum rt_code lead_pictures(struct recording_view *v, struct rt_problems *p)
{
    struct arena *a = v->ev->run->arena;
    const struct cable_tree *tree = NULL;
    struct cable_tree left;
    const uint32_t to = recorder_thing(v->h, v->recording);
    RT_TRY(evaluation_tree(v->ev, &tree, p));
    if (v->ev->damage) { /* cameras and recorder that still hang together go on without the gateway */
        if (!damage_tree_at(a, v->ev->damage, to, &left))
            return rt_fail_memory(p);
        tree = &left;
    }
    for (uint32_t i = 0; i < v->life.cameras.n; i++) {
        const struct camera_rate *c = &v->life.cameras.v[i];
        uint32_t from = NO_REF;
        cable_way way = { 0 };
        RT_TRY(entry_of(v, c->device, &from, p));
        if (from != NO_REF && !tree_way(a, tree, from, to, &way))
            return rt_fail_memory(p);
        if (way.n == 0 && from != to)
            v->cut_off.v[v->cut_off.n++] = v->h->devices.v[c->device].id;
        for (uint32_t k = 0; k < way.n; k++)
            v->cable_mbps[way.v[k]] += c->mbps;
    }
    return RT_OK;
}

static enum rt_code look(struct recording_view *v, uint32_t recording, struct rt_problems *p)
{
    struct arena *a = v->ev->run->arena;
    const struct cable_plan *cables = NULL;
    RT_TRY(recording_life_of(v->ev->run, v->h, recording, &v->life, p));
    RT_TRY(evaluation_cables(v->ev, &cables, &v->links, p));
    v->cable_mbps = ARENA_ARRAY(a, double, v->h->cables.n);
    v->cut_off.v = ARENA_ARRAY(a, struct str, v->recording->cameras.n);
    if (!v->cable_mbps || !v->cut_off.v)
        return rt_fail_memory(p);
    for (uint32_t c = 0; c < v->h->cables.n; c++)
        v->cable_mbps[c] = 0.0;
    RT_TRY(lead_pictures(v, p));
    double most = 0.0;
    v->tight = NO_REF;
    for (uint32_t c = 0; c < v->h->cables.n; c++) {
        const double share = v->cable_mbps[c] / v->links->v[c].speed_mbps;
        if (v->cable_mbps[c] > 0.0 && v->links->v[c].is_known && share > most) {
            most = share;
            v->tight = c;
        }
    }
    return RT_OK;
}

/* ---- in words ---- */

static void evidence_of(struct recording_view *v, struct promise_result *out)
{
    struct arena *a = v->ev->run->arena;
    const struct recording_life *l = &v->life;
    fact_num(a, out->evidence, "wanted_days", out->promise->days, 1);
    fact_num(a, out->evidence, "days", l->days, 1);
    fact_num(a, out->evidence, "gb_per_day", l->gb_per_day, 2);
    fact_num(a, out->evidence, "disk_gb", l->disk_gb, 0);
    fact_num(a, out->evidence, "disk_gb_per_day", l->disk_gb_per_day, 2);
    fact_num(a, out->evidence, "peak_mbps", l->peak_mbps, 2);
    fact_num(a, out->evidence, "write_tb", l->write_tb, 0);
    fact_num(a, out->evidence, "endurance_years", l->endurance_years, 1);
    struct fact *cameras = fact_array(a, out->evidence, "cameras");
    for (uint32_t i = 0; i < l->cameras.n; i++) {
        const struct camera_rate *c = &l->cameras.v[i];
        struct fact *o = fact_object(a, cameras, NULL);
        fact_str(a, o, "id", v->h->devices.v[c->device].id);
        fact_num(a, o, "mbps", c->mbps, 3);
        fact_num(a, o, "share", c->share, 3);
        fact_bool(a, o, "given", c->is_given);
        fact_str(a, o, "how", c->how);
    }
    struct fact *cables = fact_array(a, out->evidence, "cables");
    for (uint32_t c = 0; c < v->h->cables.n; c++) {
        if (v->cable_mbps[c] <= 0.0)
            continue;
        struct fact *o = fact_object(a, cables, NULL);
        fact_str(a, o, "id", v->h->cables.v[c].id);
        fact_num(a, o, "mbps", v->cable_mbps[c], 2);
        fact_num(a, o, "speed_mbps", v->links->v[c].is_known ? v->links->v[c].speed_mbps : RT_NOT_GIVEN, 0);
    }
}

static void days_words(struct buf *b, const struct recording_view *v, double wanted_days)
{
    const struct recording_life *l = &v->life;
    buf_printf(b, "%.0f GB a day on %.0f GB of disk: %.1f days", l->disk_gb_per_day, l->disk_gb, l->days);
    if (l->days < wanted_days)
        buf_printf(b, "; %.0f GB would keep %g", ceil(l->disk_gb * wanted_days / l->days), wanted_days);
    if (l->endurance_years < DISK_LIFE_YEARS)
        buf_printf(b, "; the disk is worn out after %.1f years", l->endurance_years);
}

static struct str reason_of(struct recording_view *v, double wanted_days)
{
    struct buf b = { .arena = v->ev->run->arena };
    const bool is_slow = v->tight != NO_REF && v->cable_mbps[v->tight] > v->links->v[v->tight].speed_mbps;
    if (v->cut_off.n)
        buf_printf(&b, "`%.*s` has no way to `%.*s`", STR_ARG(v->cut_off.v[0]), STR_ARG(v->recording->recorder));
    else if (is_slow)
        buf_printf(&b, "cable `%.*s` carries %.0f Mb/s, and the pictures are %.0f Mb/s",
                   STR_ARG(v->h->cables.v[v->tight].id), v->links->v[v->tight].speed_mbps, v->cable_mbps[v->tight]);
    else
        days_words(&b, v, wanted_days);
    return buf_done(&b);
}

enum rt_code promise_recording(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                               struct rt_problems *p)
{
    const uint32_t recording = promise->recording.i;
    struct recording_view v = { .ev = ev, .h = ev->h, .recording = &ev->h->recordings.v[recording] };
    if (breaks_by_recorder(ev, recording, out))
        return RT_OK;
    RT_TRY(look(&v, recording, p));
    evidence_of(&v, out);
    const bool is_led =
        v.cut_off.n == 0 && (v.tight == NO_REF || v.cable_mbps[v.tight] <= v.links->v[v.tight].speed_mbps);
    if (is_led && v.life.missing.n)
        return result_unknown(ev, out, "%.*s", STR_ARG(v.life.missing.v[0]));
    out->state = is_led && v.life.days >= promise->days ? PROMISE_KEPT : PROMISE_BROKEN;
    if (is_led && isfinite(v.life.days)) {
        out->margin = v.life.days - promise->days;
        out->unit = "days";
        out->margin_decimals = 1;
    }
    out->reason = reason_of(&v, promise->days);
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}
