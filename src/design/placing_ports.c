/* The rows of ports: what a hub's switches can feed and carry, of all that is linked to it. */
#include <math.h>

#include "design/placing_int.h"

#define PORT_SLACK 1e-4
enum { MOST_LEVELS = 64 };

/* Corners of what is asked of ports at a hub: a thing in the set they span asks as much of class and speed as one of them. */
struct corners {
    struct place_asks at[MOST_LEVELS];
    uint32_t n;
};

static bool is_within(const struct corners *c, int poe_class, double speed_mbps)
{
    for (uint32_t i = 0; i < c->n; i++)
        if (poe_class >= c->at[i].poe_class && speed_mbps >= c->at[i].speed_mbps)
            return true;
    return false;
}

static uint32_t ports_within(const struct corners *c, const struct place_switch *s)
{
    uint32_t n = 0;
    for (uint32_t g = 0; g < s->ports.n; g++)
        n += is_within(c, s->ports.v[g].poe_class, s->ports.v[g].speed_mbps) ? s->ports.v[g].count : 0;
    return n;
}

/* Things of the set are no more than ports of the set: for all sets together that is enough (Hall 1935, from memory: a set of things
 * has places if each of its subsets has; those that reach the same ports make one row). */
static void port_row(struct place_maker *m, uint32_t h, const struct corners *c)
{
    const struct placing *q = m->q;
    const struct place_hub *hub = &q->hubs.v[h];
    const uint32_t row = program_row(&m->program, -INFINITY, 0);
    double there = is_within(c, hub->free.poe_class, hub->free.speed_mbps) ? hub->free.count : 0;
    for (uint32_t w = 0; w < m->ways.n; w++)
        if (place_link_of(m, w)->hub == h && is_within(c, m->ways.v[w].asks.poe_class, m->ways.v[w].asks.speed_mbps))
            program_entry(&m->program, row, m->ways.v[w].column, 1);
    for (uint32_t i = 0; i < hub->there.n; i++)
        there += ports_within(c, &q->switches.v[hub->there.v[i]]);
    program_entry(&m->program, row, m->hubs[h], -there);
    for (uint32_t s = 0; s < q->switches.n; s++) {
        const uint32_t column = m->switches[h * q->switches.n + s], n = ports_within(c, &q->switches.v[s]);
        if (column != NO_REF && n)
            program_entry(&m->program, row, column, -(double)n);
    }
}

/* All sets of corners of which none spans another, from level `from` on; levels rise in class. */
static void port_rows(struct place_maker *m, uint32_t h, const struct corners *levels, uint32_t from, struct corners *c)
{
    for (uint32_t i = from; i < levels->n && !m->program.failed; i++) {
        const struct place_asks at = levels->at[i];
        if (is_within(c, at.poe_class, at.speed_mbps))
            continue;
        c->at[c->n++] = at;
        if (!(c->n == 1 && at.poe_class < 0 && at.speed_mbps <= 0))
            port_row(m, h, c);
        port_rows(m, h, levels, i + 1, c);
        c->n--;
    }
}

static bool comes_after(struct place_asks a, struct place_asks b)
{
    return a.poe_class != b.poe_class ? a.poe_class > b.poe_class : a.speed_mbps > b.speed_mbps;
}

/* What is asked at a hub, by class, then speed; false: too many sorts. */
static bool levels_at(const struct place_maker *m, uint32_t h, struct corners *levels)
{
    levels->n = 0;
    for (uint32_t w = 0; w < m->ways.n; w++) {
        const struct place_asks asks = { m->ways.v[w].asks.poe_class, m->ways.v[w].asks.speed_mbps, 0 };
        bool is_new = place_link_of(m, w)->hub == h;
        for (uint32_t i = 0; i < levels->n && is_new; i++)
            is_new = !place_asks_same(asks, levels->at[i]);
        if (!is_new)
            continue;
        if (levels->n == MOST_LEVELS)
            return false;
        uint32_t at = levels->n++;
        for (; at > 0 && comes_after(levels->at[at - 1], asks); at--)
            levels->at[at] = levels->at[at - 1];
        levels->at[at] = asks;
    }
    return true;
}

static uint32_t n_ports(const struct place_switch *s)
{
    uint32_t n = 0;
    for (uint32_t g = 0; g < s->ports.n; g++)
        n += s->ports.v[g].count;
    return n;
}

/* Taken ports and `spare` at each switch are no more than `per_port` of each port that there is. */
static void taken_row(struct place_maker *m, uint32_t h, double per_port, double spare)
{
    const struct placing *q = m->q;
    const struct place_hub *hub = &q->hubs.v[h];
    const uint32_t row = program_row(&m->program, -INFINITY, PORT_SLACK);
    double used = -per_port * hub->free.count - (hub->free.count == 0);
    for (uint32_t w = 0; w < m->ways.n; w++)
        if (place_link_of(m, w)->hub == h)
            program_entry(&m->program, row, m->ways.v[w].column, 1);
    for (uint32_t i = 0; i < hub->there.n; i++) {
        const struct place_switch *s = &q->switches.v[hub->there.v[i]];
        used += place_joints(s) + spare - per_port * n_ports(s);
    }
    program_entry(&m->program, row, m->hubs[h], used);
    for (uint32_t s = 0; s < q->switches.n; s++)
        if (m->switches[h * q->switches.n + s] != NO_REF)
            program_entry(&m->program, row, m->switches[h * q->switches.n + s],
                          place_joints(&q->switches.v[s]) + spare - per_port * n_ports(&q->switches.v[s]));
}

static void watts_row(struct place_maker *m, uint32_t h)
{
    const struct placing *q = m->q;
    const struct place_hub *hub = &q->hubs.v[h];
    const uint32_t row = program_row(&m->program, -INFINITY, PLACE_HALF_STEP);
    int64_t there_mw = 0;
    for (uint32_t w = 0; w < m->ways.n; w++)
        if (place_link_of(m, w)->hub == h && m->ways.v[w].asks.power_mw)
            program_entry(&m->program, row, m->ways.v[w].column, 1e-3 * (double)m->ways.v[w].asks.power_mw);
    for (uint32_t i = 0; i < hub->there.n; i++)
        there_mw += place_budget_mw(hub, &q->switches.v[hub->there.v[i]]);
    program_entry(&m->program, row, m->hubs[h], -1e-3 * (double)there_mw);
    for (uint32_t s = 0; s < q->switches.n; s++)
        if (m->switches[h * q->switches.n + s] != NO_REF)
            program_entry(&m->program, row, m->switches[h * q->switches.n + s],
                          -1e-3 * (double)place_budget_mw(hub, &q->switches.v[s]));
}

/* Switches are bought where a hub is used, and one at least where nothing else has ports. */
static void switch_rows(struct place_maker *m, uint32_t h)
{
    const struct placing *q = m->q;
    const struct place_hub *hub = &q->hubs.v[h];
    const uint32_t most = program_row(&m->program, 0, INFINITY);
    const uint32_t least = hub->free.count || hub->there.n ? NO_REF : program_row(&m->program, 0, INFINITY);
    program_entry(&m->program, most, m->hubs[h], hub->most);
    if (least != NO_REF)
        program_entry(&m->program, least, m->hubs[h], -1);
    for (uint32_t s = 0; s < q->switches.n; s++)
        if (m->switches[h * q->switches.n + s] != NO_REF) {
            program_entry(&m->program, most, m->switches[h * q->switches.n + s], -1);
            if (least != NO_REF)
                program_entry(&m->program, least, m->switches[h * q->switches.n + s], 1);
        }
}

bool place_add_hubs(struct place_maker *m)
{
    const struct placing *q = m->q;
    struct corners *levels = ARENA_ARRAY(m->a, struct corners, 2), *chosen = levels + 1;
    m->switches = place_columns(m, (size_t)q->hubs.n * q->switches.n);
    if (!levels || m->program.failed)
        return false;
    for (uint32_t h = 0; h < q->hubs.n && !m->program.failed; h++) {
        const struct place_hub *hub = &q->hubs.v[h];
        for (uint32_t i = 0; i < hub->switches.n; i++)
            if (m->switches[h * q->switches.n + hub->switches.v[i]] == NO_REF)
                m->switches[h * q->switches.n + hub->switches.v[i]] = program_column(&m->program, 0, hub->most, true);
        if (!levels_at(m, h, levels))
            return false;
        place_add_bounds(m, m->hubs[h], NO_REF, h);
        switch_rows(m, h);
        chosen->n = 0;
        port_rows(m, h, levels, 0, chosen);
        taken_row(m, h, 1, hub->spare);
        if (hub->headroom_share > 0)
            taken_row(m, h, 1.0 - hub->headroom_share, 0);
        watts_row(m, h);
    }
    return true;
}
