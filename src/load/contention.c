#include "load/contention.h"

#include <math.h>

/* Classes in order of the time of a collision, and how often each has something to send. */
struct channel {
    const struct contender *classes;
    uint32_t n;
    double slot_s;
    uint32_t by_time[CONTENTION_CLASSES_MAX];
    double ready[CONTENTION_CLASSES_MAX]; /* chance to have something, 1: always */
    double sends[CONTENTION_CLASSES_MAX]; /* chance to send in a slot */
};

/* Bianchi 2000 equation 7, in the form without a pole at p = 1/2. */
static double tau_of(const struct contender *c, double p)
{
    double sum = 0.0, power = 1.0;
    for (int k = 0; k < c->stages; k++) {
        sum += power;
        power *= 2.0 * p;
    }
    return 2.0 / (1.0 + c->window + p * c->window * sum);
}

/* The chance to send of one station of a class, where `idle` is the chance that nobody sends: p = 1 - idle / (1 - sends).  From
 * above, the right side falls to the root step by step, and shrinks the distance by about 2 / window each time. */
static double sends_at(const struct contender *c, double ready, double idle)
{
    double p = 1.0 - idle;
    for (int i = 0; i < 200; i++) {
        const double next = fmax(1.0 - idle / (1.0 - ready * tau_of(c, p)), 0.0);
        if (p - next < 1e-15)
            break;
        p = next;
    }
    return ready * tau_of(c, p);
}

/* Finds the one chance of an idle slot that all classes agree on (equation 9 for every class at once). */
static double settle(struct channel *ch)
{
    double low = 0.0, high = 1.0;
    for (int i = 0; i < 52; i++) { /* one bit each */
        const double idle = 0.5 * (low + high);
        double product = 1.0;
        for (uint32_t k = 0; k < ch->n; k++) {
            ch->sends[k] = ch->classes[k].n ? sends_at(&ch->classes[k], ch->ready[k], idle) : 0.0;
            product *= pow(1.0 - ch->sends[k], ch->classes[k].n);
        }
        if (product > idle)
            low = idle;
        else
            high = idle;
    }
    return 0.5 * (low + high);
}

/* Mean times and what gets through (equation 13). */
static void measure(const struct channel *ch, double idle, struct contender_result *results, struct contention *out)
{
    double success_s = 0.0, collision_s = 0.0, longer_silent = 1.0, bits = 0.0;
    double chance[CONTENTION_CLASSES_MAX];
    for (uint32_t k = 0; k < ch->n; k++) {
        const struct contender *c = &ch->classes[k];
        chance[k] = c->n * ch->sends[k] * idle / (1.0 - ch->sends[k]);
        success_s += chance[k] * c->success_s;
        bits += chance[k] * c->payload_bits;
    }
    for (uint32_t i = ch->n; i-- > 0;) { /* the longest first: it decides where no longer one sends */
        const uint32_t k = ch->by_time[i];
        const double others_silent = longer_silent * pow(1.0 - ch->sends[k], ch->classes[k].n);
        collision_s += fmax(longer_silent - others_silent - chance[k], 0.0) * ch->classes[k].collision_s;
        longer_silent = others_silent;
    }
    const double idle_s = idle * ch->slot_s, slot_s = idle_s + success_s + collision_s;
    *out = (struct contention){ idle_s / slot_s, success_s / slot_s, collision_s / slot_s, bits / slot_s };
    for (uint32_t k = 0; k < ch->n; k++) {
        const struct contender *c = &ch->classes[k];
        results[k] = (struct contender_result){
            .tau = ch->sends[k],
            .collision = c->n ? fmax(1.0 - idle / (1.0 - ch->sends[k]), 0.0) : 0.0,
            .throughput_bps = chance[k] * c->payload_bits / slot_s,
            .airtime_share = chance[k] * c->success_s / slot_s,
        };
    }
}

static void order_by_time(struct channel *ch)
{
    for (uint32_t k = 0; k < ch->n; k++) {
        uint32_t at = k;
        while (at > 0 && ch->classes[ch->by_time[at - 1]].collision_s > ch->classes[k].collision_s) {
            ch->by_time[at] = ch->by_time[at - 1];
            at--;
        }
        ch->by_time[at] = k;
    }
}

static enum rt_code check(const struct contender *classes, uint32_t n, double slot_s, struct rt_problems *p)
{
    bool is_good = n <= CONTENTION_CLASSES_MAX && slot_s > 0.0;
    for (uint32_t k = 0; is_good && k < n; k++) {
        const struct contender *c = &classes[k];
        is_good = c->window >= 2.0 && c->stages >= 0 && c->stages <= 16 && c->success_s > 0.0 &&
                  c->collision_s >= 0.0 && c->payload_bits > 0.0 && c->offered_bps >= 0.0;
    }
    return is_good ? RT_OK : rt_fail(p, RT_RANGE, RT_NOWHERE, NULL, "no such stations on a channel");
}

enum rt_code contention_solve(const struct contender *classes, uint32_t n_classes, double slot_s,
                              struct contender_result *results, struct contention *out, struct rt_problems *p)
{
    enum { ROUNDS = 400 };
    struct channel ch = { .classes = classes, .n = n_classes, .slot_s = slot_s };
    RT_TRY(check(classes, n_classes, slot_s, p));
    order_by_time(&ch);
    for (uint32_t k = 0; k < n_classes; k++)
        ch.ready[k] = classes[k].offered_bps > 0.0 ? 1.0 : 0.0;
    for (int round = 0; round < ROUNDS; round++) {
        measure(&ch, settle(&ch), results, out);
        double change = 0.0;
        for (uint32_t k = 0; k < n_classes; k++) {
            const double wanted_bps = classes[k].offered_bps * classes[k].n, got_bps = results[k].throughput_bps;
            if (!classes[k].n || ch.ready[k] == 0.0 || isinf(wanted_bps))
                continue;
            const double ready = fmin(ch.ready[k] * wanted_bps / got_bps, 1.0);
            change = fmax(change, fabs(ready - ch.ready[k]) / ready);
            ch.ready[k] = ready;
        }
        if (change < 1e-9)
            break;
    }
    return RT_OK;
}
