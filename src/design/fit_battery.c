/* Batteries: the least money with which everything that a promise of an outage needs lives as long as was promised.
 *
 * What is needed is what the promise's own judge lists.  Things that stand in one room share a battery or two: of what is there, then
 * with one more, then with two, the cheapest parts first, each way of plugging the things in is tried; loads and minutes are those of
 * the plan of energy, and at the end the promise itself is judged. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "design/fit_int.h"
#include "promise/outage_stages.h"

enum { GROUP_MOST = 10, BINS_MOST = 3, PARTS_MOST = 32 };

/* Something with a plug that has to live on. */
struct needy {
    struct str id;
    double minutes, load_w;
    uint32_t room;    /* where its battery stands; NO_REF: not known */
    uint32_t battery; /* it is on; NO_REF */
};

struct bin {
    uint32_t battery; /* of h->batteries; NO_REF: one is bought */
    uint32_t part;
    double other_w; /* what else hangs there */
};

struct battery_fit {
    struct fitter *f;
    struct evaluation *ev;
    struct house *probe; /* the house with one battery for each needy thing, then one of each part */
    VEC(struct needy) needy;
    uint32_t parts[PARTS_MOST], n_parts; /* rising in price */
};

/* ---- what is needed ---- */

static uint32_t room_of(const struct house *h, struct str id)
{
    const uint32_t e = house_find_equipment(h, id), d = house_find_device(h, id);
    if (e != NO_REF)
        return h->equipment.v[e].room.i;
    if (d != NO_REF)
        return h->devices.v[d].room.i;
    const uint32_t gateway = tree_gateway(h); /* the line's box stands by it */
    return gateway == NO_REF ? NO_REF : h->equipment.v[gateway].room.i;
}

static uint32_t battery_by_id(const struct house *h, struct str id)
{
    for (uint32_t b = 0; b < h->batteries.n; b++)
        if (str_eq(h->batteries.v[b].id, id))
            return b;
    return NO_REF;
}

static void need(struct battery_fit *b, struct str id, struct str battery, double minutes)
{
    for (uint32_t i = 0; i < b->needy.n; i++)
        if (str_eq(b->needy.v[i].id, id)) {
            b->needy.v[i].minutes = fmax(b->needy.v[i].minutes, minutes);
            return;
        }
    const struct needy n = { .id = id,
                             .minutes = minutes,
                             .room = room_of(b->f->h, id),
                             .battery = battery.n ? battery_by_id(b->f->h, battery) : NO_REF };
    b->f->failed |= !VEC_PUSH(b->f->a, &b->needy, n);
}

/* Things that are fed over their cable live on what feeds them, which is in the list too or is what the cable leads to. */
static void need_all(struct battery_fit *b, const struct promise *promise, const struct promise_result *r)
{
    const struct fact *list = fact_find(r->evidence, "things");
    for (const struct fact *x = list ? list->first : NULL; x; x = x->next) {
        const struct str id = fact_find_str(x, "id"), fed_by = fact_find_str(x, "fed_by");
        need(b, fed_by.n ? fed_by : id, fed_by.n ? STR("") : fact_find_str(x, "battery"), promise->minutes);
    }
}

/* A source that is fed itself lives on what feeds that. */
static void follow_feeds(struct battery_fit *b, const struct power_plan *power)
{
    const struct house *h = b->f->h;
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->needy.n; i++) {
        struct needy x = b->needy.v[i];
        for (uint32_t steps = 0; steps < h->equipment.n; steps++) {
            const uint32_t e = house_find_equipment(h, x.id);
            const uint32_t feed = e == NO_REF ? NO_REF : power->feed_of_equipment[e];
            if (feed == NO_REF || power->feeds.v[feed].source == NO_REF)
                break;
            x.id = h->equipment.v[power->feeds.v[feed].source].id;
            x.room = room_of(h, x.id);
        }
        bool is_there = false;
        for (uint32_t k = 0; k < n && !is_there; k++)
            if (str_eq(b->needy.v[k].id, x.id)) {
                b->needy.v[k].minutes = fmax(b->needy.v[k].minutes, x.minutes);
                is_there = true;
            }
        if (!is_there)
            b->needy.v[n++] = x;
    }
    b->needy.n = n;
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < h->batteries.n; k++)
            for (uint32_t m = 0; m < h->batteries.v[k].feeds.n; m++)
                if (str_eq(h->batteries.v[k].feeds.v[m], b->needy.v[i].id))
                    b->needy.v[i].battery = k;
}

/* ---- loads ---- */

bool fit_evaluation_with(const struct fitter *f, const struct evaluation *ev, struct house *h, struct evaluation *with)
{
    struct cable_plan *cables = ARENA_NEW(f->a, struct cable_plan);
    struct port_plan *ports = ARENA_NEW(f->a, struct port_plan);
    struct power_plan *power = ARENA_NEW(f->a, struct power_plan);
    if (!cables || !ports || !power)
        return false;
    *with = *ev;
    *cables = *ev->cables;
    *ports = *ev->ports;
    *power = *ev->power;
    with->h = cables->h = ports->h = power->h = h;
    with->cables = cables;
    with->ports = ports;
    with->power = power;
    with->energy = NULL;
    with->bill = NULL;
    with->results = NULL;
    with->failures = NULL;
    return true;
}

static struct battery new_battery(struct str id, uint32_t part, uint32_t room)
{
    return (struct battery){
        .id = id, .part.i = part, .room.i = room, .capacity_wh = RT_NOT_GIVEN, .temperature_degc = 20.0
    };
}

/* Each thing's load alone, read off a battery of its own. */
static enum rt_code measure(struct battery_fit *b)
{
    struct fitter *f = b->f;
    struct house *h = ARENA_NEW(f->a, struct house);
    struct battery *list = ARENA_ARRAY(f->a, struct battery, b->needy.n + b->n_parts);
    struct str *ids = ARENA_ARRAY(f->a, struct str, b->needy.n);
    const struct energy_plan *energy = NULL;
    struct evaluation with;
    if (!h || !list || !ids || !b->n_parts)
        return h && list && ids ? RT_OK : rt_fail_memory(f->p);
    *h = *f->h;
    h->batteries.v = list;
    h->batteries.n = 0;
    for (uint32_t i = 0; i < b->needy.n; i++) {
        ids[i] = b->needy.v[i].id;
        list[i] = new_battery(STR("probe"), b->parts[0], NO_REF);
        list[i].feeds.v = &ids[i];
        list[i].feeds.n = 1;
    }
    for (uint32_t i = 0; i < b->n_parts; i++)
        list[b->needy.n + i] = new_battery(STR("part"), b->parts[i], NO_REF);
    h->batteries.n = b->needy.n + b->n_parts;
    if (!fit_evaluation_with(f, b->ev, h, &with))
        return rt_fail_memory(f->p);
    RT_TRY(evaluation_energy(&with, &energy, f->p));
    for (uint32_t i = 0; i < b->needy.n; i++) {
        b->needy.v[i].load_w = energy->batteries[i].load_w;
    }
    b->probe = h;
    return RT_OK;
}

static int by_price(const struct fitter *f, uint32_t x, uint32_t y)
{
    const double a = fit_part(f, x)->price, b = fit_part(f, y)->price;
    return a != b ? (a > b ? 1 : -1) : (x > y) - (x < y);
}

static void list_parts(struct battery_fit *b)
{
    for (uint32_t i = 0; i < b->f->h->parts.list.n && b->n_parts < PARTS_MOST; i++) {
        uint32_t at = b->n_parts;
        if (fit_part(b->f, i)->kind != PART_BATTERY)
            continue;
        for (; at > 0 && by_price(b->f, b->parts[at - 1], i) > 0; at--)
            b->parts[at] = b->parts[at - 1];
        b->parts[at] = i;
        b->n_parts++;
    }
}

/* ---- one room ---- */

struct room_fit {
    const struct battery_fit *b;
    uint32_t things[GROUP_MOST], n;
    struct bin bins[BINS_MOST];
    uint32_t n_bins;
    uint32_t in[GROUP_MOST];
};

static double minutes_of(const struct room_fit *r, uint32_t bin)
{
    const struct battery_fit *b = r->b;
    const struct bin *x = &r->bins[bin];
    double load_w = x->other_w;
    for (uint32_t i = 0; i < r->n; i++)
        load_w += r->in[i] == bin ? b->needy.v[r->things[i]].load_w : 0.0;
    load_w *= 1.0 + b->f->space->options.battery_reserve;
    if (x->battery != NO_REF)
        return energy_battery_minutes(b->f->h, x->battery, load_w, b->f->h->batteries.v[x->battery].age_years);
    for (uint32_t i = 0; i < b->n_parts; i++)
        if (b->parts[i] == x->part)
            return energy_battery_minutes(b->probe, b->needy.n + i, load_w, 0.0);
    return RT_NOT_GIVEN;
}

static bool lives(const struct room_fit *r)
{
    for (uint32_t k = 0; k < r->n_bins; k++) {
        double wanted = 0.0;
        for (uint32_t i = 0; i < r->n; i++)
            wanted = r->in[i] == k ? fmax(wanted, r->b->needy.v[r->things[i]].minutes) : wanted;
        if (wanted > 0.0 && !(minutes_of(r, k) >= wanted))
            return false;
    }
    return true;
}

/* Plugs that are in another battery now. */
static uint32_t n_moved(const struct room_fit *r)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < r->n; i++) {
        const uint32_t was = r->b->needy.v[r->things[i]].battery;
        n += was != NO_REF && r->bins[r->in[i]].battery != was;
    }
    return n;
}

/* The way to plug the things into the bins that moves the fewest plugs; of equals the one that fills the last bin most. */
static bool plug(struct room_fit *r)
{
    uint32_t n_ways = 1, best[GROUP_MOST] = { 0 }, least = UINT32_MAX;
    for (uint32_t i = 0; i < r->n; i++)
        n_ways *= r->n_bins;
    for (uint32_t way = 0; way < n_ways && least > 0; way++) {
        uint32_t left = way;
        for (uint32_t i = 0; i < r->n; i++) {
            r->in[i] = r->n_bins - 1 - left % r->n_bins;
            left /= r->n_bins;
        }
        if (n_moved(r) >= least || !lives(r))
            continue;
        least = n_moved(r);
        memcpy(best, r->in, sizeof best);
    }
    memcpy(r->in, best, sizeof best);
    return least < UINT32_MAX;
}

static bool try_bins(struct room_fit *r, const struct bin *there, uint32_t x, uint32_t y)
{
    r->n_bins = 0;
    if (there)
        r->bins[r->n_bins++] = *there;
    if (x != NO_REF)
        r->bins[r->n_bins++] = (struct bin){ .battery = NO_REF, .part = x };
    if (y != NO_REF)
        r->bins[r->n_bins++] = (struct bin){ .battery = NO_REF, .part = y };
    return r->n_bins > 0 && plug(r);
}

/* What is there alone; then with one part or two, rising in price, one before two of the same price. */
static bool choose(struct room_fit *r, const struct bin *there)
{
    const struct battery_fit *b = r->b;
    bool found = try_bins(r, there, NO_REF, NO_REF);
    struct room_fit best = *r;
    bool has_best = false;
    double best_price = 0.0;
    for (uint32_t i = 0; !found && i < b->n_parts && !has_best; i++)
        if (try_bins(r, there, b->parts[i], NO_REF)) {
            best = *r;
            has_best = true;
            best_price = fit_part(b->f, b->parts[i])->price;
        }
    for (uint32_t i = 0; !found && i < b->n_parts; i++)
        for (uint32_t k = i; k < b->n_parts; k++) {
            const double price = fit_part(b->f, b->parts[i])->price + fit_part(b->f, b->parts[k])->price;
            if ((!has_best || price < best_price) && try_bins(r, there, b->parts[i], b->parts[k])) {
                best = *r;
                has_best = true;
                best_price = price;
            }
        }
    if (found)
        return true;
    *r = best;
    return has_best;
}

/* The battery that is there in the room; of several the first. */
static struct bin bin_there(const struct battery_fit *b, uint32_t room, const struct energy_plan *energy)
{
    const struct house *h = b->f->h;
    struct bin bin = { .battery = NO_REF, .part = NO_REF };
    for (uint32_t k = 0; k < h->batteries.n; k++) {
        if (bin.battery != NO_REF || (h->batteries.v[k].room.i != room && h->batteries.v[k].room.i != NO_REF))
            continue;
        bin.battery = k;
        bin.other_w = energy->batteries[k].load_w;
        for (uint32_t i = 0; i < b->needy.n; i++)
            bin.other_w -= b->needy.v[i].battery == k ? b->needy.v[i].load_w : 0.0;
        bin.other_w = fmax(bin.other_w, 0.0);
    }
    return bin;
}

static bool is_in(const struct room_fit *r, struct str id)
{
    for (uint32_t i = 0; i < r->n; i++)
        if (str_eq(r->b->needy.v[r->things[i]].id, id))
            return true;
    return false;
}

/* What a battery fed before, without what the room's choice decides, and with what it gives it. */
static bool set_feeds(struct battery_fit *b, const struct room_fit *r, uint32_t bin, struct battery *battery)
{
    struct str *feeds = ARENA_ARRAY(b->f->a, struct str, battery->feeds.n + r->n);
    uint32_t n = 0;
    for (uint32_t i = 0; feeds && i < battery->feeds.n; i++) {
        bool stays = !is_in(r, battery->feeds.v[i]);
        for (uint32_t k = 0; k < r->n && bin != NO_REF; k++)
            stays |= r->in[k] == bin && str_eq(b->needy.v[r->things[k]].id, battery->feeds.v[i]);
        if (stays)
            feeds[n++] = battery->feeds.v[i];
    }
    for (uint32_t k = 0; feeds && k < r->n; k++) {
        const struct str id = b->needy.v[r->things[k]].id;
        bool is_there = r->in[k] != bin;
        for (uint32_t i = 0; i < n; i++)
            is_there |= str_eq(feeds[i], id);
        if (!is_there)
            feeds[n++] = id;
    }
    battery->feeds.v = feeds;
    battery->feeds.n = n;
    return feeds != NULL;
}

static void put_batteries(struct battery_fit *b, const struct room_fit *r, uint32_t room)
{
    struct fitter *f = b->f;
    for (uint32_t k = 0; k < f->batteries.n; k++) {
        uint32_t bin = NO_REF;
        for (uint32_t i = 0; i < r->n_bins; i++)
            bin = r->bins[i].battery == k ? i : bin;
        f->failed |= !set_feeds(b, r, bin, &f->batteries.v[k]);
    }
    for (uint32_t i = 0; i < r->n_bins && !f->failed; i++) {
        if (r->bins[i].battery != NO_REF)
            continue;
        struct battery x = new_battery(fit_battery_name(f, room), r->bins[i].part, room);
        if (!set_feeds(b, r, i, &x) || !x.feeds.n || !VEC_PUSH(f->a, &f->batteries, x)) {
            f->failed |= x.feeds.n > 0;
            continue;
        }
        fit_tell(f, x.id, "%.*s: %.0f minutes for what was promised to live without mains",
                 STR_ARG(fit_part(f, x.part.i)->says), minutes_of(r, i));
    }
    uint32_t n = 0;
    for (uint32_t k = 0; k < f->batteries.n; k++) /* one that feeds nothing any more */
        if (f->batteries.v[k].feeds.n)
            f->batteries.v[n++] = f->batteries.v[k];
    f->batteries.n = n;
    fit_lists(f);
}

/* Are all its things on batteries that last? */
static bool lasts(const struct room_fit *r, const struct energy_plan *energy)
{
    if (r->b->f->space->options.battery_reserve > 0.0)
        return false; /* the plan knows today's load only */
    for (uint32_t i = 0; i < r->n; i++) {
        const struct needy *x = &r->b->needy.v[r->things[i]];
        if (x->battery == NO_REF || !(energy->batteries[x->battery].minutes >= x->minutes))
            return false;
    }
    return true;
}

static enum rt_code fit_room(struct battery_fit *b, uint32_t first, bool *is_done)
{
    struct room_fit r = { .b = b };
    const struct energy_plan *energy = NULL;
    const uint32_t room = b->needy.v[first].room;
    struct evaluation with;
    if (!fit_evaluation_with(b->f, b->ev, b->f->h, &with))
        return rt_fail_memory(b->f->p);
    RT_TRY(evaluation_energy(&with, &energy, b->f->p));
    for (uint32_t i = first; i < b->needy.n; i++) {
        if (b->needy.v[i].room != room || is_done[i])
            continue;
        is_done[i] = true;
        if (r.n == GROUP_MOST) {
            fit_tell(b->f, b->needy.v[i].id, "too many things in one room want a battery");
            return RT_OK;
        }
        r.things[r.n++] = i;
    }
    if (lasts(&r, energy))
        return RT_OK;
    const struct bin there = bin_there(b, room, energy);
    if (choose(&r, there.battery == NO_REF ? NULL : &there))
        put_batteries(b, &r, room);
    else
        fit_tell(b->f, b->needy.v[first].id, "no battery in hand, nor two, keep it alive for %.0f minutes",
                 b->needy.v[first].minutes);
    return b->f->failed ? rt_fail_memory(b->f->p) : RT_OK;
}

/* ---- all ---- */

static enum rt_code gather(struct battery_fit *b, bool *is_broken)
{
    const struct house *h = b->f->h;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        struct promise_result r;
        if (h->promises.v[i].kind != PROMISE_OUTAGE)
            continue;
        RT_TRY(outage_judge(b->ev, &h->promises.v[i], &r, b->f->p));
        *is_broken |= r.state == PROMISE_BROKEN;
        need_all(b, &h->promises.v[i], &r);
        if (r.state == PROMISE_UNKNOWN)
            fit_tell(b->f, h->promises.v[i].id, "no battery can be chosen: %.*s", STR_ARG(r.reason));
    }
    return b->f->failed ? rt_fail_memory(b->f->p) : RT_OK;
}

/* What is still not kept, in the words of the promise's judge. */
static enum rt_code judge(struct battery_fit *b)
{
    const struct house *h = b->f->h;
    for (uint32_t i = 0; i < h->promises.n; i++) {
        struct evaluation with;
        struct promise_result r;
        if (h->promises.v[i].kind != PROMISE_OUTAGE)
            continue;
        if (!fit_evaluation_with(b->f, b->ev, b->f->h, &with))
            return rt_fail_memory(b->f->p);
        RT_TRY(outage_judge(&with, &h->promises.v[i], &r, b->f->p));
        if (r.state == PROMISE_BROKEN)
            fit_tell(b->f, h->promises.v[i].id, "%.*s", STR_ARG(r.reason));
    }
    return b->f->failed ? rt_fail_memory(b->f->p) : RT_OK;
}

enum rt_code fit_battery(struct fitter *f, struct evaluation *ev)
{
    struct battery_fit b = { .f = f, .ev = ev };
    const struct power_plan *power = NULL;
    bool is_broken = false;
    RT_TRY(evaluation_power(ev, &power, f->p));
    RT_TRY(gather(&b, &is_broken));
    if (!is_broken && f->space->options.battery_reserve <= 0.0)
        return RT_OK;
    list_parts(&b);
    follow_feeds(&b, power);
    RT_TRY(measure(&b));
    bool *is_done = ARENA_ARRAY(f->a, bool, b.needy.n);
    if (!is_done)
        return rt_fail_memory(f->p);
    for (uint32_t i = 0; b.probe && i < b.needy.n; i++)
        if (!is_done[i])
            RT_TRY(fit_room(&b, i, is_done));
    return judge(&b);
}
