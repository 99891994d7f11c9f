#include "reach/matrix.h"

#include <stdlib.h>

/* One pair of zones, one family, in the ordinary week. */
struct pair {
    struct proof *proof;
    struct arena *a;
    struct space *s;
    const struct judgement *judged;
    packet_set *by_rule; /* what each rule decides, once asked for; SET_UNASKED before */
    enum family family;
    uint32_t from, to;
    bool failed;
};

/* A rule's packets are dear to find and asked for in many cells. */
#define SET_UNASKED UINT32_MAX

static packet_set packets_of_rule(struct pair *c, uint32_t number)
{
    if (c->by_rule[number] == SET_UNASKED)
        c->by_rule[number] = judged_by(c->judged, number);
    return c->by_rule[number];
}

/* Packets by which an honest station of one zone begins a conversation with one of the other. */
static packet_set pair_asks(struct pair *c)
{
    struct match m = { 0 };
    match_narrow_to(c->a, &m, AXIS_FROM, c->from, c->from, &c->failed);
    match_narrow_to(c->a, &m, AXIS_TO, c->to, c->to, &c->failed);
    match_narrow_to(c->a, &m, AXIS_STATE, STATE_NEW, STATE_NEW, &c->failed);
    match_narrow_to(c->a, &m, AXIS_MINUTE, 0, c->proof->calendar->kinds.v[0].n_minutes - 1, &c->failed);
    const packet_set asked = set_or(c->s, c->proof->honest[c->family], c->proof->called[c->family]);
    return set_and(c->s, set_of(c->s, &m), asked);
}

/* What a device of the file has on the axis: its MAC address or its reserved addresses. */
static span_list device_values(struct pair *c, const struct device_plan *d, bool sends)
{
    const axis_value at[] = { sends                      ? d->mac
                              : c->family == FAMILY_IPV4 ? d->ipv4
                                                         : d->ula,
                              sends || c->family == FAMILY_IPV4 ? 0 : d->global };
    span_list all = { 0 };
    for (size_t i = 0; i < RT_COUNT(at); i++) {
        struct span one = { at[i], at[i] };
        if (at[i])
            all = spans_join(c->a, all, (span_list){ &one, 1 }, &c->failed);
    }
    return all;
}

static void list_devices(struct pair *c, uint32_t zone, span_list some, bool sends, bool are_in, struct buf *out)
{
    const struct address_plan *plan = c->proof->policy->plan;
    uint32_t n = 0;
    for (uint32_t i = 0; i < plan->h->devices.n; i++) {
        if (plan->devices[i].zone != zone)
            continue;
        const span_list own = device_values(c, &plan->devices[i], sends);
        if ((spans_common(c->a, own, some, &c->failed).n > 0) == are_in)
            buf_printf(out, "%s%.*s", n++ ? ", " : "", STR_ARG(plan->h->devices.v[i].id));
    }
}

/* The devices of a zone that a set of packets speaks of: "printer, hub"; "all but printer" where devices are among them that
 * the file does not know; empty for anybody. */
static struct str device_words(struct pair *c, packet_set set, packet_set all, bool sends)
{
    const struct address_plan *plan = c->proof->policy->plan;
    const uint32_t zone = sends ? c->from : c->to, axis = sends ? AXIS_SOURCE_MAC : AXIS_DESTINATION;
    const span_list some = set_values(c->s, set, axis, &c->failed);
    if (zone < ZONE_SEGMENT || spans_equal(some, set_values(c->s, all, axis, &c->failed)))
        return STR("");
    span_list known = { 0 };
    for (uint32_t i = 0; i < plan->h->devices.n; i++)
        if (plan->devices[i].zone == zone)
            known = spans_join(c->a, known, device_values(c, &plan->devices[i], sends), &c->failed);
    const span_list strangers = spans_others(c->a, known, axis_max(axis, c->family), &c->failed);
    const bool of_strangers = spans_common(c->a, some, strangers, &c->failed).n > 0;
    struct buf out = { .arena = c->a };
    if (of_strangers)
        buf_text(&out, "all but ");
    list_devices(c, zone, some, sends, !of_strangers, &out);
    c->failed = c->failed || out.failed;
    return buf_done(&out);
}

static struct passage passage_of(struct pair *c, const struct rule *rule, packet_set set, packet_set all)
{
    struct passage out = { .rule = rule };
    out.services = set_service_words(c->a, c->s, c->proof->policy->h, set, all, &c->failed);
    out.from = device_words(c, set, all, true);
    out.to = device_words(c, set, all, false);
    const span_list minutes = set_values(c->s, set, AXIS_MINUTE, &c->failed);
    const uint32_t last = c->proof->calendar->kinds.v[0].n_minutes - 1;
    if (minutes.n != 1 || minutes.v[0].lo != 0 || minutes.v[0].hi != last)
        out.hours = calendar_span_words(c->a, minutes);
    return out;
}

/* What stems from one line of the house file, for the same devices and hours, is one passage. */
static bool joins(struct pair *c, struct passage *to, const struct passage *more)
{
    if (!to->rule || !more->rule || to->rule->at.line != more->rule->at.line ||
        to->rule->origin != more->rule->origin || !str_eq(to->from, more->from) || !str_eq(to->to, more->to) ||
        !str_eq(to->hours, more->hours))
        return false;
    str_list all = { ARENA_ARRAY(c->a, struct str, to->services.n + more->services.n), 0 };
    if (!all.v) {
        c->failed = true;
        return true;
    }
    for (uint32_t i = 0; i < to->services.n + more->services.n; i++) {
        const struct str word = i < to->services.n ? to->services.v[i] : more->services.v[i - to->services.n];
        uint32_t k = 0;
        while (k < all.n && !str_eq(all.v[k], word))
            k++;
        if (k == all.n)
            all.v[all.n++] = word;
    }
    to->services = all;
    return true;
}

static int by_number(const void *a, const void *b)
{
    const struct rule *x = ((const struct passage *)a)->rule, *y = ((const struct passage *)b)->rule;
    const uint32_t p = x ? x->number : 0, q = y ? y->number : 0;
    return p < q ? -1 : p > q;
}

/* Only rules that let something of the cell through are asked for their packets: a witness names the next one. */
static enum rt_code fill_passages(struct pair *c, packet_set asks, packet_set let, struct matrix_cell *out,
                                  struct rt_problems *p)
{
    VEC(struct passage) found = { 0 }, passages = { 0 };
    struct packet any;
    for (packet_set rest = let; set_witness(c->s, rest, &any);) {
        enum action action;
        const struct rule *rule = judged_rule(c->judged, &any, &action);
        const packet_set part = set_and(c->s, let, packets_of_rule(c, rule ? rule->number : 0));
        if (set_and(c->s, rest, part) == SET_NONE) /* the space has run out of memory: it says so */
            break;
        rest = set_minus(c->s, rest, part);
        if (!VEC_PUSH(c->a, &found, passage_of(c, rule, part, asks)))
            return rt_fail_memory(p);
    }
    if (found.n)
        qsort(found.v, found.n, sizeof *found.v, by_number);
    for (uint32_t k = 0; k < found.n; k++) {
        bool joined = false;
        for (uint32_t i = 0; i < passages.n && !joined; i++)
            joined = joins(c, &passages.v[i], &found.v[k]);
        if (!joined && !VEC_PUSH(c->a, &passages, found.v[k]))
            return rt_fail_memory(p);
    }
    out->passages.v = passages.v;
    out->passages.n = passages.n;
    return RT_OK;
}

static enum rt_code fill_cell(struct pair *c, struct matrix_cell *out, struct rt_problems *p)
{
    const packet_set asks = pair_asks(c), let = set_and(c->s, asks, judged_accept(c->judged));
    out->verdict = let == SET_NONE ? CELL_NONE : let == asks ? CELL_ALL : CELL_SOME;
    if (out->verdict == CELL_SOME)
        RT_TRY(fill_passages(c, asks, let, out, p));
    return c->failed ? rt_fail_memory(p) : space_state(c->s, p);
}

enum rt_code matrix_make(struct proof *proof, struct matrix **out, struct rt_problems *p)
{
    struct arena *a = proof->run->arena;
    struct matrix *m = ARENA_NEW(a, struct matrix);
    if (!m)
        return rt_fail_memory(p);
    *m = (struct matrix){ .proof = proof, .n = proof->policy->plan->n_zones };
    for (int f = 0; f < FAMILY_COUNT; f++) {
        struct pair c = { .proof = proof, .a = a, .s = proof->spaces[f], .family = (enum family)f };
        RT_TRY(proof_judge(proof, c.family, 0, &c.judged, p));
        m->cells[f] = ARENA_ARRAY(a, struct matrix_cell, (size_t)m->n * m->n);
        c.by_rule = ARENA_ARRAY(a, packet_set, (size_t)proof->table->n_rules + 1);
        if (!m->cells[f] || !c.by_rule)
            return rt_fail_memory(p);
        for (uint32_t number = 0; number <= proof->table->n_rules; number++)
            c.by_rule[number] = SET_UNASKED;
        for (c.from = 0; c.from < m->n; c.from++)
            for (c.to = 0; c.to < m->n; c.to++)
                if (c.from != c.to && c.from != ZONE_GATEWAY)
                    RT_TRY(fill_cell(&c, &m->cells[f][c.from * m->n + c.to], p));
    }
    *out = m;
    return RT_OK;
}

const struct matrix_cell *matrix_at(const struct matrix *m, enum family family, uint32_t from, uint32_t to)
{
    return &m->cells[family][from * m->n + to];
}

static bool words_equal(str_list a, str_list b)
{
    if (a.n != b.n)
        return false;
    for (uint32_t i = 0; i < a.n; i++)
        if (!str_eq(a.v[i], b.v[i]))
            return false;
    return true;
}

bool passage_equal(const struct passage *a, const struct passage *b)
{
    return words_equal(a->services, b->services) && str_eq(a->from, b->from) && str_eq(a->to, b->to) &&
           str_eq(a->hours, b->hours);
}
