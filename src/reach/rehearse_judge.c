#include "reach/rehearse_ask.h"

enum { MINUTES_OF_WEEK = 10080 };

struct packet packet_later(const struct packet *first)
{
    struct packet p = *first;
    if (p.at[AXIS_STATE] == STATE_NEW)
        p.at[AXIS_STATE] = STATE_ESTABLISHED;
    return p;
}

/* Types of the answers to echoes: RFC 792, RFC 4443. */
static axis_value answered_type(const struct packet *first)
{
    if (first->at[AXIS_PROTOCOL] == IP_ICMP)
        return first->at[AXIS_ICMP_TYPE] == 8 ? 0 : first->at[AXIS_ICMP_TYPE];
    return first->at[AXIS_PROTOCOL] == IP_ICMPV6 && first->at[AXIS_ICMP_TYPE] == 128 ? 129 : first->at[AXIS_ICMP_TYPE];
}

struct packet packet_answer(const struct packet *first, axis_value answerer_mac)
{
    struct packet p = *first;
    p.at[AXIS_FROM] = first->at[AXIS_TO];
    p.at[AXIS_TO] = first->at[AXIS_FROM];
    p.at[AXIS_SOURCE_MAC] = answerer_mac;
    p.at[AXIS_SOURCE] = first->at[AXIS_DESTINATION];
    p.at[AXIS_DESTINATION] = first->at[AXIS_SOURCE];
    p.at[AXIS_SOURCE_PORT] = first->at[AXIS_DESTINATION_PORT];
    p.at[AXIS_DESTINATION_PORT] = first->at[AXIS_SOURCE_PORT];
    p.at[AXIS_ICMP_TYPE] = answered_type(first);
    p.at[AXIS_STATE] = STATE_REPLY;
    return p;
}

/* "Port unreachable" by whoever it was for: RFC 792 type 3, RFC 4443 type 1. */
static struct packet packet_error(const struct packet *first, axis_value answerer_mac)
{
    struct packet p = packet_answer(first, answerer_mac);
    p.at[AXIS_PROTOCOL] = first->family == FAMILY_IPV4 ? IP_ICMP : IP_ICMPV6;
    p.at[AXIS_ICMP_TYPE] = first->family == FAMILY_IPV4 ? 3 : 1;
    p.at[AXIS_SOURCE_PORT] = p.at[AXIS_DESTINATION_PORT] = 0;
    p.at[AXIS_STATE] = STATE_RELATED;
    return p;
}

/* ---- the proof ---- */

static struct week_kind *frozen_week(struct arena *a, const bool *hours_hold, uint32_t n)
{
    struct week_kind *week = ARENA_NEW(a, struct week_kind);
    struct span *all = ARENA_NEW(a, struct span);
    if (!week || !all)
        return NULL;
    *all = (struct span){ 0, MINUTES_OF_WEEK - 1 };
    *week = (struct week_kind){ .n_weeks = 1, .n_minutes = MINUTES_OF_WEEK, .says = STR("a week that stands still") };
    week->hours = ARENA_ARRAY(a, span_list, n);
    if (!week->hours)
        return NULL;
    for (uint32_t i = 0; i < n; i++)
        if (hours_hold[i])
            week->hours[i] = (span_list){ all, 1 };
    return week;
}

enum rt_code verdicts_make(const struct run *run, const struct policy *policy, const bool *hours_hold,
                           struct verdicts *out, struct rt_problems *p)
{
    *out = (struct verdicts){ .policy = policy };
    const struct week_kind *week = frozen_week(run->arena, hours_hold, policy->h->hours.n);
    if (!week)
        return rt_fail_memory(p);
    for (unsigned f = 0; f < FAMILY_COUNT; f++) {
        struct space *space;
        RT_TRY(space_new(run, (enum family)f, policy->table.named.n, &space, p));
        RT_TRY(judge_table(space, &policy->table, week, &out->judged[f], p));
    }
    return RT_OK;
}

const struct rule *verdict_on(const struct verdicts *v, const struct packet *packet, enum action *action)
{
    return judged_rule(v->judged[packet->family], packet, action);
}

/* ---- expectations ---- */

static enum action judged(const struct verdicts *v, struct packet packet)
{
    enum action action = ACTION_DROP;
    (void)verdict_on(v, &packet, &action);
    return action;
}

struct expectation question_expect(const struct cast *c, const struct verdicts *v, const struct questions *q,
                                   uint32_t i)
{
    const struct probe *probe = &q->probes.v[i];
    const struct packet *packet = &q->packets.v[i];
    const uint8_t talk = probe->protocol == IP_TCP ? SEEN_ANSWERED : SEEN_ARRIVED | SEEN_ANSWERED;
    if (q->unfiltered.v[i]) {
        const uint8_t all = probe->is_forged ? SEEN_ARRIVED : probe->is_closed ? SEEN_ANSWERED : talk;
        return (struct expectation){ all, all };
    }
    const enum action first = judged(v, *packet);
    if (probe->is_forged)
        return (struct expectation){ first == ACTION_ACCEPT ? SEEN_ARRIVED : 0, SEEN_ARRIVED };
    if (first != ACTION_ACCEPT)
        return (struct expectation){ first == ACTION_REJECT ? SEEN_REFUSED : 0,
                                     SEEN_ARRIVED | SEEN_ANSWERED | SEEN_REFUSED };
    if (probe->is_closed)
        return (struct expectation){ judged(v, packet_error(packet, cast_mac_seen(c, probe->to))) == ACTION_ACCEPT
                                         ? SEEN_ANSWERED
                                         : 0,
                                     SEEN_ANSWERED | SEEN_REFUSED };
    const bool answered = judged(v, packet_answer(packet, cast_mac_seen(c, probe->to))) == ACTION_ACCEPT;
    const bool later = probe->protocol != IP_TCP || judged(v, packet_later(packet)) == ACTION_ACCEPT;
    return (struct expectation){ answered && later ? talk : (uint8_t)(talk & SEEN_ARRIVED), talk };
}
