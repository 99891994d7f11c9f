/* What one more device gets of a channel, and the distribution of what the others take. */
#include <math.h>

#include "base/units.h"
#include "load/airtime_int.h"
#include "radio/mac.h"

#define PACKET_BYTES 1500.0
#define LIGHT_PACKETS 8     /* in a frame of everyday traffic: common practice, no source */
#define GREEDY_PACKETS 64.0 /* in a frame of one that has always something: the window of most generations */
#define GREEDY_FRAME_S 4e-3 /* and at most so long */
#define SUM_STEPS 2048.0
#define SUM_TOP 4.0 /* of the time: beyond this it is all one */

static double payload_bits(double packets) { return packets * 8.0 * (PACKET_BYTES - WIFI_IPV4_BYTES - WIFI_UDP_BYTES); }

static struct contender contender_with(double bits, double success_s, double offered_bps)
{
    const struct wifi_edca *e = wifi_edca(ACCESS_BEST_EFFORT);
    return (struct contender){ .n = 1,
                               .window = e->cw_min + 1.0,
                               .stages = (int)lrint(log2((e->cw_max + 1.0) / (e->cw_min + 1.0))),
                               .success_s = success_s,
                               .collision_s = success_s, /* those who heard it wait for the answer that does not come */
                               .payload_bits = bits,
                               .offered_bps = offered_bps };
}

static int width_index(double mhz)
{
    int i = 0;
    while (20 << (i + 1) <= mhz)
        i++;
    return i;
}

/* One direction of a station's everyday traffic. */
static struct contender light_contender(const struct link *l, enum band band, bool is_up, double offered_bps)
{
    const struct phy_mode m = { l->phy, width_index(is_up ? l->uplink_sent_mhz : l->sent_mhz),
                                is_up ? l->uplink_streams : l->streams, is_up ? l->uplink_mcs : l->mcs };
    const double packet_bytes = mac_packet_bytes(PACKET_BYTES, WIFI_CCMP_BYTES);
    const int most = mac_packets_max(m, packet_bytes);
    const struct mac_exchange x = mac_exchange(band, m, most < LIGHT_PACKETS ? most : LIGHT_PACKETS, packet_bytes);
    return contender_with(payload_bits(x.packets), x.total_s - x.backoff_s, offered_bps);
}

static struct contender greedy_contender(enum band band, double alone_mbps)
{
    const double alone_bps = alone_mbps * 1e6;
    const double bits = fmax(fmin(payload_bits(GREEDY_PACKETS), alone_bps * GREEDY_FRAME_S), payload_bits(1.0));
    const double backoff_s = wifi_edca(ACCESS_BEST_EFFORT)->cw_min / 2.0 * wifi_timing(band)->slot_s;
    return contender_with(bits, fmax(bits / alone_bps - backoff_s, 1e-6), (double)INFINITY);
}

/* Contenders whose exchanges last about as long (to a factor of two) become one class of so many stations. */
struct crowd {
    struct contender classes[CONTENTION_CLASSES_MAX];
    uint32_t n;
    double sum_bps[CONTENTION_CLASSES_MAX];
};

static void join(struct crowd *c, struct contender x)
{
    uint32_t k = 0;
    while (k < c->n && floor(log2(c->classes[k].success_s)) != floor(log2(x.success_s)))
        k++;
    if (k == CONTENTION_CLASSES_MAX - 1) /* no such frames exist: 62 powers of two */
        return;
    if (k == c->n) {
        c->classes[c->n] = x;
        c->classes[c->n].n = 0;
        c->sum_bps[c->n++] = 0.0;
    }
    struct contender *of = &c->classes[k];
    const double n = of->n;
    of->success_s = (of->success_s * n + x.success_s) / (n + 1.0);
    of->collision_s = of->success_s;
    of->payload_bits = (of->payload_bits * n + x.payload_bits) / (n + 1.0);
    of->n++;
    c->sum_bps[k] += x.offered_bps;
}

/* The mean traffic of a radio's stations in an hour; `share` of the time is theirs. */
static void join_stations(struct crowd *c, const struct airtime *a, uint32_t radio, unsigned hour, double share)
{
    const struct demand *d = a->demand;
    const load_use_list *uses = &d->uses[demand_radio_point(d->h, radio)];
    const enum band band = a->stations->fields->radios.v[radio].band;
    for (uint32_t s = 0; s < a->stations->list.n; s++) {
        const struct station *station = &a->stations->list.v[s];
        double down_mbps = 0.0, up_mbps = 0.0;
        for (uint32_t i = 0; station->radio == radio && i < uses->n; i++) {
            const struct load_use *u = &uses->v[i];
            const struct demand_source *source = &d->sources.v[u->source];
            if (air_station_of(a, radio, source, &source->states.v[u->state]) != station)
                continue;
            down_mbps += u->down_mbps * source->states.v[u->state].chance[hour];
            up_mbps += u->up_mbps * source->states.v[u->state].chance[hour];
        }
        if (down_mbps > 0.0)
            join(c, light_contender(&station->link, band, false, down_mbps * 1e6 / share));
        if (up_mbps > 0.0)
            join(c, light_contender(&station->link, band, true, up_mbps * 1e6 / share));
    }
}

enum rt_code air_curve_make(const struct airtime *a, uint32_t radio, unsigned hour, struct air_curve *out,
                            struct rt_problems *p)
{
    static const double ALONE_MBPS[AIR_CURVE_POINTS] = { 1, 4, 16, 64, 256, 1024 };
    const struct cell *cell = &a->cells.v[radio];
    const enum band band = a->stations->fields->radios.v[radio].band;
    struct crowd crowd = { .n = 1 };
    double share = (1.0 - cell->neighbours_share) * (1.0 - cell->mesh_share), beacons = cell->beacon_share;
    for (uint32_t i = 0; i < cell->sharers.n; i++)
        if (cell->sharers.v[i].radio != NO_REF)
            beacons += a->cells.v[cell->sharers.v[i].radio].beacon_share;
    share *= fmax(1.0 - beacons, 0.0);
    for (int k = 0; k < AIR_CURVE_POINTS; k++) {
        out->alone_mbps[k] = ALONE_MBPS[k];
        out->got_mbps[k] = 0.0;
    }
    if (share <= 0.0)
        return RT_OK;
    crowd.classes[0] = greedy_contender(band, 1.0); /* holds the place; nobody joins it */
    crowd.classes[0].success_s = (double)INFINITY;
    join_stations(&crowd, a, radio, hour, share);
    for (uint32_t i = 0; i < cell->sharers.n; i++)
        if (cell->sharers.v[i].radio != NO_REF)
            join_stations(&crowd, a, cell->sharers.v[i].radio, hour, share);
    for (uint32_t k = 1; k < crowd.n; k++)
        crowd.classes[k].offered_bps = crowd.sum_bps[k] / crowd.classes[k].n;
    for (int k = 0; k < AIR_CURVE_POINTS; k++) {
        struct contender_result results[CONTENTION_CLASSES_MAX];
        struct contention all;
        crowd.classes[0] = greedy_contender(band, ALONE_MBPS[k]);
        RT_TRY(contention_solve(crowd.classes, crowd.n, wifi_timing(band)->slot_s, results, &all, p));
        out->got_mbps[k] = results[0].throughput_bps / 1e6 * share;
    }
    return RT_OK;
}

double air_curve_at(const struct air_curve *c, double alone_mbps)
{
    int k = 0;
    if (alone_mbps <= 0.0)
        return 0.0;
    while (k < AIR_CURVE_POINTS - 2 && alone_mbps > c->alone_mbps[k + 1])
        k++;
    const double t =
        fmin(fmax(log(alone_mbps / c->alone_mbps[k]) / log(c->alone_mbps[k + 1] / c->alone_mbps[k]), 0.0), 1.0);
    const double low = c->got_mbps[k] / c->alone_mbps[k], high = c->got_mbps[k + 1] / c->alone_mbps[k + 1];
    return alone_mbps * (low + t * (high - low));
}

enum rt_code airtime_sum(const struct run *run, const struct airtime *a, uint32_t radio, unsigned hour,
                         struct rate_sum *out, struct rt_problems *p)
{
    const struct demand *d = a->demand;
    const struct cell *cell = &a->cells.v[radio];
    struct rate_source *sources = ARENA_ARRAY(run->arena, struct rate_source, d->sources.n);
    uint32_t n_states = 0;
    for (uint32_t s = 0; s < d->sources.n; s++)
        n_states += d->sources.v[s].states.n;
    struct rate_state *states = ARENA_ARRAY(run->arena, struct rate_state, n_states);
    if (!sources || !states)
        return rt_fail_memory(p);
    for (uint32_t s = 0, at = 0; s < d->sources.n; s++) {
        sources[s] = (struct rate_source){ &states[at], d->sources.v[s].states.n };
        for (uint32_t k = 0; k < d->sources.v[s].states.n; k++)
            states[at++] = (struct rate_state){ 0.0, d->sources.v[s].states.v[k].chance[hour] };
    }
    for (uint32_t i = 0; i <= cell->sharers.n; i++) { /* the radio itself, then those it shares with */
        const uint32_t of = i == 0 ? radio : cell->sharers.v[i - 1].radio;
        if (of == NO_REF)
            continue;
        const load_use_list *uses = &d->uses[demand_radio_point(d->h, of)];
        for (uint32_t k = 0; k < uses->n; k++) {
            const struct load_use *u = &uses->v[k];
            states[sources[u->source].states - states + u->state].mbps += air_share_of_use(a, of, u);
        }
    }
    return rate_sum_make(run, sources, d->sources.n, 1.0 / SUM_STEPS, SUM_TOP, out, p);
}
