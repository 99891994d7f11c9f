#include "promise/policy_facts.h"

struct question policy_question(const struct promise *promise)
{
    static struct endpoint internet = { .kind = END_INTERNET, .i = NO_REF, .name = { "internet", 8 } };
    return (struct question){ .from = promise->from,
                              .to = promise->to.n ? promise->to : (endpoint_list){ &internet, 1 },
                              .services = promise->services,
                              .hours = promise->hours };
}

static void week_facts(struct evaluation *ev, struct promise_result *out)
{
    struct arena *a = ev->run->arena;
    struct fact *families = fact_array(a, out->evidence, "families");
    fact_text(a, families, NULL, "ipv4");
    fact_text(a, families, NULL, "ipv6");
    struct fact *weeks = fact_array(a, out->evidence, "weeks");
    const struct calendar *c = ev->proof->calendar;
    for (uint32_t i = 0; i < (ev->proof->has_hours ? c->kinds.n : 1); i++)
        fact_str(a, weeks, NULL, c->kinds.v[i].says);
}

enum rt_code result_proven(struct evaluation *ev, struct promise_result *out)
{
    out->state = PROMISE_KEPT;
    out->in_place = "proven";
    out->reason = STR("all packets, IPv4 and IPv6, every minute of the week");
    week_facts(ev, out);
    return RT_OK;
}

static void packet_facts(struct evaluation *ev, struct fact *parent, const struct proof_witness *w)
{
    struct arena *a = ev->run->arena;
    const struct address_plan *plan = ev->proof->policy->plan;
    const struct packet *p = &w->packet;
    struct fact *o = fact_object(a, parent, "witness");
    struct buf source = { .arena = a }, destination = { .arena = a };
    fact_text(a, o, "family", w->family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    fact_str(a, o, "from", zone_id(plan, (uint32_t)p->at[AXIS_FROM]));
    fact_str(a, o, "to", zone_id(plan, (uint32_t)p->at[AXIS_TO]));
    address_write(&source, w->family, p->at[AXIS_SOURCE]);
    address_write(&destination, w->family, p->at[AXIS_DESTINATION]);
    fact_str(a, o, "source", buf_done(&source));
    fact_str(a, o, "destination", buf_done(&destination));
    fact_num(a, o, "protocol", (double)p->at[AXIS_PROTOCOL], 0);
    fact_num(a, o, "destination_port", (double)p->at[AXIS_DESTINATION_PORT], 0);
    fact_str(a, o, "week", ev->proof->calendar->kinds.v[w->week].says);
    fact_num(a, o, "minute", (double)p->at[AXIS_MINUTE], 0);
    fact_str(a, o, "words", proof_packet_words(ev->proof, w));
}

static void rule_facts(struct evaluation *ev, struct fact *parent, const struct rule *rule)
{
    struct arena *a = ev->run->arena;
    if (!rule)
        return;
    struct fact *o = fact_object(a, parent, "rule");
    fact_num(a, o, "number", rule->number, 0);
    if (rule->at.line)
        fact_num(a, o, "line", rule->at.line, 0);
    fact_str(a, o, "says", rule->says);
}

enum rt_code result_by_packet(struct evaluation *ev, struct promise_result *out, const struct proof_witness *w)
{
    packet_facts(ev, out->evidence, w);
    rule_facts(ev, out->evidence, w->rule);
    week_facts(ev, out);
    return result_broken(ev, out, "%.*s", STR_ARG(proof_decision_words(ev->proof, w)));
}

static index_list devices_of(struct evaluation *ev, const endpoint_list *list, bool *failed)
{
    struct arena *a = ev->run->arena;
    bool *is_in = ARENA_ARRAY(a, bool, ev->h->devices.n);
    index_list out = { ARENA_ARRAY(a, uint32_t, ev->h->devices.n), 0 };
    if (!is_in || !out.v) {
        *failed = true;
        return out;
    }
    for (uint32_t i = 0; i < list->n; i++) {
        const index_list some = endpoint_devices(a, ev->h, &list->v[i], failed);
        for (uint32_t k = 0; k < some.n; k++)
            is_in[some.v[k]] = true;
    }
    for (uint32_t i = 0; i < ev->h->devices.n; i++)
        if (is_in[i])
            out.v[out.n++] = i;
    return out;
}

enum rt_code find_insiders(struct evaluation *ev, const struct promise *promise, bool isolated, struct insiders *out,
                           struct rt_problems *p)
{
    bool failed = false;
    *out = (struct insiders){ 0 };
    const index_list from = devices_of(ev, &promise->from, &failed), to = devices_of(ev, &promise->to, &failed);
    for (uint32_t i = 0; i < from.n && !failed; i++)
        for (uint32_t k = 0; k < to.n && !failed; k++) {
            struct insiders one = { true, from.v[i], to.v[k], TALK_NONE, { 0 } };
            const uint32_t zone = ev->proof->policy->plan->devices[one.from].zone;
            if (one.from == one.to || zone == NO_REF || zone != ev->proof->policy->plan->devices[one.to].zone)
                continue;
            one.talk = layer2_talk(ev->run->arena, ev->layer2, one.from, one.to, &one.because, &failed);
            if (one.talk == TALK_NONE) { /* equipment that would join them is not planned yet: it will */
                const char *text = arena_printf(ev->run->arena, "both are in %.*s, and no rule stands between",
                                                STR_ARG(zone_id(ev->proof->policy->plan, zone)));
                one.because = str_from(text ? text : "");
            }
            if (isolated == (one.talk == TALK_ISOLATED)) {
                *out = one;
                return RT_OK;
            }
        }
    return failed ? rt_fail_memory(p) : RT_OK;
}

bool is_bridged(struct evaluation *ev, struct promise_result *out)
{
    for (uint32_t i = 0; i < ev->layer2->findings.n; i++) {
        const struct l2_finding *f = &ev->layer2->findings.v[i];
        if (f->kind != L2_BRIDGED)
            continue;
        result_broken(ev, out, "%.*s (line %u): the gateway's rules prove nothing then", STR_ARG(f->says),
                      (unsigned)f->at.line);
        return true;
    }
    return false;
}

bool is_nowhere(struct evaluation *ev, const struct promise *promise, struct promise_result *out)
{
    const endpoint_list *const sides[] = { &promise->from, &promise->to };
    if (ev->h->segments.n == 0) {
        result_unknown(ev, out, "say under `segments` how the network is divided");
        return true;
    }
    for (size_t i = 0; i < RT_COUNT(sides); i++)
        for (uint32_t k = 0; k < sides[i]->n; k++) {
            const endpoint_list one = { &sides[i]->v[k], 1 };
            if (ev->proof->is_foreign && one.v->kind == END_NAME) {
                result_unknown(ev, out, "which addresses `%.*s` has, only the running gateway knows",
                               STR_ARG(one.v->name));
                return true;
            }
            if (proof_has(ev->proof, &one, FAMILY_IPV4) || proof_has(ev->proof, &one, FAMILY_IPV6))
                continue;
            result_unknown(ev, out, "`%.*s` is not on the network: give its `segment`", STR_ARG(one.v->name));
            return true;
        }
    return false;
}
