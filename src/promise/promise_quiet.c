/* `quiet`: own channels, the neighbours' and the low-power mesh leave one another room.
 *
 * Judged in each radio's busiest hour, in the mean: what neighbours, the mesh, beacons, own stations and radios on the same channel
 * take of its time; and for the mesh, how much of the time Wi-Fi lies over its channel. */
#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "promise/line_facts.h"
#include "promise/result.h"

#define WORTH_MOVING 0.05 /* a change of channel is proposed for at least so much of the time */

struct quiet_view {
    struct evaluation *ev;
    const struct airtime *air;
    const struct promise *promise;
    uint32_t worst_radio; /* NO_REF: the mesh */
    unsigned hour;
    double worst_share; /* -1: nothing was judged */
    bool mesh_is_flat;  /* Wi-Fi lies over it as long in every hour */
};

static bool is_meant(const struct promise *promise, enum band band)
{
    return promise->bands == 0 || (promise->bands >> band & 1);
}

static void judge(struct quiet_view *v, uint32_t radio, unsigned hour, double share)
{
    if (share <= v->worst_share)
        return;
    v->worst_share = share;
    v->worst_radio = radio;
    v->hour = hour;
}

/* ---- evidence ---- */

/* What neighbours and the mesh leave of the time: the house's own traffic takes its part of that. */
static double left_share(const struct cell *c) { return (1.0 - c->neighbours_share) * (1.0 - c->mesh_share); }

static double sharers_share(const struct airtime *air, const struct cell *c, unsigned hour)
{
    double sum = 0.0;
    for (uint32_t i = 0; i < c->sharers.n; i++)
        if (c->sharers.v[i].radio != NO_REF)
            sum +=
                airtime_own(air, c->sharers.v[i].radio, hour, 1.0) + air->cells.v[c->sharers.v[i].radio].beacon_share;
    return sum * left_share(c);
}

static void radio_facts(struct quiet_view *v, struct fact *list, const struct cell *c, unsigned hour, double share)
{
    struct arena *a = v->ev->run->arena;
    const struct house *h = v->ev->h;
    const struct ap_radio *r = &v->ev->radios.v[c->radio];
    struct fact *o = fact_object(a, list, NULL);
    fact_str(a, o, "access_point", h->equipment.v[r->equipment].id);
    fact_text(a, o, "band", band_name(r->band));
    fact_num(a, o, "channel", r->channel, 0);
    fact_num(a, o, "width_mhz", r->width_hz / 1e6, 0);
    fact_str(a, o, "hour", radio_hour_words(a, v->air, c->radio));
    fact_num(a, o, "busy_share", share, 3);
    fact_num(a, o, "own_share", left_share(c) * airtime_own(v->air, c->radio, hour, 1.0), 3);
    fact_num(a, o, "beacon_share", left_share(c) * c->beacon_share, 3);
    fact_num(a, o, "neighbours_share", c->neighbours_share, 3);
    fact_num(a, o, "own_radios_share", sharers_share(v->air, c, hour), 3);
    fact_num(a, o, "mesh_share", (1.0 - c->neighbours_share) * c->mesh_share, 3);
    struct fact *heard = fact_array(a, o, "heard");
    for (uint32_t i = 0; i < c->sharers.n; i++) {
        const struct air_sharer *s = &c->sharers.v[i];
        struct fact *w = fact_object(a, heard, NULL);
        fact_str(a, w, "id",
                 s->neighbour != NO_REF ? h->neighbours.v[s->neighbour].id
                                        : h->equipment.v[v->ev->radios.v[s->radio].equipment].id);
        fact_num(a, w, "level_dbm", s->level_dbm, 1);
        fact_num(a, w, "busy_share",
                 s->neighbour != NO_REF ? h->neighbours.v[s->neighbour].busy_share
                                        : airtime_own(v->air, s->radio, hour, 1.0),
                 3);
    }
}

static void judge_radios(struct quiet_view *v, struct fact *evidence)
{
    struct fact *list = fact_array(v->ev->run->arena, evidence, "radios");
    for (uint32_t r = 0; r < v->ev->radios.n; r++) {
        if (!is_meant(v->promise, v->ev->radios.v[r].band) || evaluation_radio_is_dead(v->ev, r))
            continue;
        const unsigned hour = airtime_busy_hour(v->air, r);
        const double share = airtime_busy(v->air, r, hour, 1.0);
        radio_facts(v, list, &v->air->cells.v[r], hour, share);
        judge(v, r, hour, share);
    }
}

static struct str mesh_hour(const struct quiet_view *v, unsigned hour)
{
    return v->mesh_is_flat ? STR(EVERY_HOUR) : line_hour_words(v->ev->run->arena, hour);
}

/* In the hour in which Wi-Fi lies over it longest. */
static void judge_mesh(struct quiet_view *v, struct fact *evidence)
{
    const struct house *h = v->ev->h;
    struct arena *a = v->ev->run->arena;
    if (!is_given(h->mesh.channel) || !is_meant(v->promise, BAND_2G4))
        return;
    unsigned hour = 0;
    double most = -1.0, least = 1.0;
    for (unsigned k = 0; k < HOURS_OF_WEEK; k++) {
        const double share = airtime_over_mesh(v->air, (int)h->mesh.channel, k);
        least = fmin(least, share);
        if (share > most) {
            most = share;
            hour = k;
        }
    }
    v->mesh_is_flat = lround(100.0 * least) == lround(100.0 * most);
    struct fact *o = fact_object(a, evidence, "mesh");
    fact_num(a, o, "channel", h->mesh.channel, 0);
    fact_str(a, o, "hour", mesh_hour(v, hour));
    fact_num(a, o, "busy_share", most, 3);
    judge(v, NO_REF, hour, most);
}

/* ---- words ---- */

/* The channel of the same width on which others take least, if that is worth the change; 0: none. */
static int better_channel(const struct quiet_view *v, double *share)
{
    const struct ap_radio *r = &v->ev->radios.v[v->worst_radio];
    const double now = airtime_foreign_at(v->air, v->worst_radio, r->centre_hz, v->hour);
    const bool is_outdoors = ap_stands_outdoors(v->ev->h, &v->ev->h->equipment.v[r->equipment]);
    uint32_t n;
    int best = 0;
    const struct channel_block *b = channel_blocks(&n);
    *share = now - WORTH_MOVING;
    for (uint32_t i = 0; i < n; i++)
        for (int ch = b[i].first; ch <= b[i].last && b[i].band == r->band && b[i].width_mhz * 1e6 == r->width_hz;
             ch += b[i].step) {
            const double centre_hz = channel_centre_hz(r->band, ch);
            if (r->band == BAND_2G4 && ch != 1 && ch != 6 && ch != 11)
                continue; /* what lies between two of these spoils both (common practice, no source) */
            if (v->ev->rules) {
                const struct regdb_channel rule = regdb_channel_rules(v->ev->rules, centre_hz, r->width_hz);
                if (!rule.allowed || rule.passive_only || rule.max_eirp_dbm < r->eirp_dbm ||
                    (rule.indoor_only && is_outdoors))
                    continue;
            }
            const double there = airtime_foreign_at(v->air, v->worst_radio, centre_hz, v->hour);
            if (there < *share) {
                *share = there;
                best = ch;
            }
        }
    return best;
}

static void radio_words(const struct quiet_view *v, struct buf *b, bool is_kept)
{
    const struct ap_radio *r = &v->ev->radios.v[v->worst_radio];
    const struct cell *c = &v->air->cells.v[v->worst_radio];
    double share = 0.0;
    buf_printf(
        b,
        "%s%.*s on channel %.0f (%s GHz), %.*s: busy %.0f %% of the time; neighbours %.0f %%, own devices %.0f %%, "
        "beacons %.0f %%",
        is_kept ? "fullest: " : "", STR_ARG(v->ev->h->equipment.v[r->equipment].id), r->channel, band_name(r->band),
        STR_ARG(radio_hour_words(b->arena, v->air, v->worst_radio)), 100.0 * v->worst_share,
        100.0 * c->neighbours_share, 100.0 * left_share(c) * airtime_own(v->air, v->worst_radio, v->hour, 1.0),
        100.0 * left_share(c) * c->beacon_share);
    const double own_radios = sharers_share(v->air, c, v->hour);
    if (own_radios > 0.0)
        buf_printf(b, ", own radios on the same channel %.0f %%", 100.0 * own_radios);
    const int better = is_kept ? 0 : better_channel(v, &share);
    if (better)
        buf_printf(b, "; on channel %d others would take %.0f %%", better, 100.0 * share);
}

static void mesh_words(const struct quiet_view *v, struct buf *b, bool is_kept)
{
    int best = 0;
    double least = v->worst_share - WORTH_MOVING;
    for (int ch = MESH_CHANNEL_FIRST; ch <= MESH_CHANNEL_LAST; ch++) {
        const double share = airtime_over_mesh(v->air, ch, v->hour);
        if (share < least) {
            least = share;
            best = ch;
        }
    }
    buf_printf(b, "%smesh channel %.0f, %.*s: Wi-Fi lies over it for %.0f %% of the time", is_kept ? "fullest: " : "",
               v->ev->h->mesh.channel, STR_ARG(mesh_hour(v, v->hour)), 100.0 * v->worst_share);
    if (best && !is_kept)
        buf_printf(b, "; over channel %d %.0f %%", best, 100.0 * least);
}

enum rt_code promise_quiet(struct evaluation *ev, const struct promise *promise, struct promise_result *out,
                           struct rt_problems *p)
{
    struct quiet_view v = { .ev = ev, .promise = promise, .worst_radio = NO_REF, .worst_share = -1.0 };
    RT_TRY(evaluation_airtime(ev, &v.air, p));
    fact_num(ev->run->arena, out->evidence, "max_busy_share", promise->max_busy_share, 3);
    judge_radios(&v, out->evidence);
    judge_mesh(&v, out->evidence);
    if (v.worst_share < 0.0)
        return result_unknown(ev, out,
                              "no access point of the house sends in these bands: say in `equipment` what hangs there");
    const bool is_kept = v.worst_share <= promise->max_busy_share;
    struct buf b = { .arena = ev->run->arena };
    if (v.worst_radio == NO_REF)
        mesh_words(&v, &b, is_kept);
    else
        radio_words(&v, &b, is_kept);
    out->state = is_kept ? PROMISE_KEPT : PROMISE_BROKEN;
    out->margin = 100.0 * (promise->max_busy_share - v.worst_share);
    out->unit = "%";
    out->margin_decimals = 0;
    out->reason = buf_done(&b);
    return out->reason.p ? RT_OK : rt_fail_memory(p);
}
