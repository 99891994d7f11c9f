#include "reach/ask.h"

/* A calendar of one week that is this one moment. */
static enum rt_code moment(const struct run *run, const struct calendar *c, int64_t at_s, struct calendar **out,
                           struct rt_problems *p)
{
    struct arena *a = run->arena;
    const uint32_t n = c->h->hours.n;
    struct calendar *one = ARENA_NEW(a, struct calendar);
    struct week_kind *week = ARENA_NEW(a, struct week_kind);
    span_list *hours = ARENA_ARRAY(a, span_list, n);
    struct span *minute = ARENA_NEW(a, struct span);
    if (!one || !week || !hours || !minute)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        hours[i] = calendar_holds(c, i, at_s) ? (span_list){ minute, 1 } : (span_list){ 0 };
    *week =
        (struct week_kind){ .first_monday_s = at_s, .n_weeks = 1, .n_minutes = 1, .hours = hours, .is_ordinary = true };
    *one = *c;
    one->kinds.v = week;
    one->kinds.n = 1;
    *out = one;
    return RT_OK;
}

static uint32_t first_device(struct arena *a, const struct address_plan *plan, const struct endpoint *e, bool *failed)
{
    if (e->kind == END_SEGMENT || e->kind == END_ANYONE)
        return NO_REF;
    const index_list devices = endpoint_devices(a, plan->h, e, failed);
    for (uint32_t i = 0; i < devices.n; i++)
        if (plan->devices[devices.v[i]].zone != NO_REF)
            return devices.v[i];
    return NO_REF;
}

/* A device without a segment (a bulb on the mesh) is not on IP: nothing can be asked of it. */
static enum rt_code can_be_asked(struct arena *a, const struct address_plan *plan, const struct endpoint *e,
                                 struct rt_problems *p)
{
    bool failed = false;
    if (e->kind != END_DEVICE || first_device(a, plan, e, &failed) != NO_REF)
        return failed ? rt_fail_memory(p) : RT_OK;
    return rt_fail(p, RT_UNKNOWN_REF, plan->h->devices.v[e->i].at,
                   "give it a `segment` if it speaks IP; else ask about its hub",
                   "%.*s is in no segment, so that it sends and hears no packets", STR_ARG(e->name));
}

/* ---- the way ---- */

struct way {
    struct arena *a;
    VEC(struct ask_step) steps;
    bool failed;
};

static void step(struct way *w, struct ask_step s)
{
    if (!VEC_PUSH(w->a, &w->steps, s))
        w->failed = true;
}

/* A step of the way up, gone down. */
static struct str step_backwards(struct way *w, const struct l2_step *s)
{
    struct buf out = { .arena = w->a };
    if (s->in == 0 && s->out == 0)
        return s->says;
    buf_str(&out, s->id);
    if (s->out)
        buf_printf(&out, ", in at port %u", s->out);
    if (s->in)
        buf_printf(&out, ", out at port %u", s->in);
    w->failed = w->failed || out.failed;
    return buf_done(&out);
}

static void steps_of(struct way *w, const l2_way *way, bool backwards)
{
    for (uint32_t i = 0; i < way->n; i++) {
        const struct l2_step *s = &way->v[backwards ? way->n - 1 - i : i];
        step(w, (struct ask_step){ .kind = s->kind, .id = s->id, .says = backwards ? step_backwards(w, s) : s->says });
    }
}

/* Between a side and the gateway; the gateway itself is left to the caller. */
static void side_way(struct way *w, const struct layer2 *l2, const struct endpoint *e, uint32_t device, bool backwards)
{
    if (device != NO_REF) {
        l2_way way = layer2_way(w->a, l2, device, NO_REF, &w->failed);
        if (way.n && way.v[way.n - 1].kind == STEP_GATEWAY)
            way.n--;
        steps_of(w, &way, backwards);
    } else if (e->kind != END_GATEWAY) {
        step(w, (struct ask_step){ .is_side = true, .id = e->name, .says = e->name });
    }
}

static void gateway_step(struct way *w, const struct layer2 *l2, bool passes)
{
    step(w,
         (struct ask_step){ .kind = STEP_GATEWAY,
                            .id = l2->gateway == NO_REF ? (struct str){ 0 } : l2->plan->h->equipment.v[l2->gateway].id,
                            .says = passes ? STR("gateway") : STR("gateway, and no further"),
                            .decides = true });
}

static void whole_way(struct way *w, const struct layer2 *l2, const struct asked *q, uint32_t from, uint32_t to,
                      enum ask_verdict verdict)
{
    if (verdict == ASK_UNFILTERED) {
        const l2_way way = layer2_way_between(w->a, l2, from, to, &w->failed);
        steps_of(w, &way, false);
    } else {
        side_way(w, l2, &q->from, from, false);
        gateway_step(w, l2, verdict == ASK_ALLOWED);
        if (verdict == ASK_ALLOWED)
            side_way(w, l2, &q->to, to, true);
    }
}

/* ---- the answer ---- */

/* One segment: what the switch or the access point does. */
static enum rt_code answer_inside(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to,
                                  struct answer *out, bool *is_answered, struct rt_problems *p)
{
    bool failed = false;
    struct str because = { 0 };
    const enum l2_talk talk = layer2_talk(a, l2, from, to, &because, &failed);
    *is_answered = talk != TALK_BY_GATEWAY;
    if (*is_answered) {
        out->verdict = talk == TALK_UNFILTERED ? ASK_UNFILTERED : ASK_REFUSED;
        out->reason = because;
    }
    return failed ? rt_fail_memory(p) : RT_OK;
}

static enum rt_code answer_by_rules(struct proof *proof, const struct question *question, struct answer *out,
                                    struct proof_witness *shown, struct rt_problems *p)
{
    struct proof_witness w;
    RT_TRY(proof_find_refusal(proof, question, &w, p));
    out->verdict = w.is_found ? ASK_REFUSED : ASK_ALLOWED;
    if (!w.is_found)
        RT_TRY(proof_find_allowed(proof, question, &w, p));
    if (!w.is_found)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE,
                       "name devices with a segment, and a service that is not local to one",
                       "there is no packet of that kind from %.*s to %.*s", STR_ARG(question->from.v[0].name),
                       STR_ARG(question->to.v[0].name));
    out->rule = w.rule;
    out->reason = proof_decision_words(proof, &w);
    *shown = w;
    return RT_OK;
}

enum rt_code ask(const struct run *run, const struct proof *house, const struct layer2 *l2, const struct asked *q,
                 struct answer *out, struct rt_problems *p)
{
    struct arena *a = run->arena;
    struct calendar *now = NULL;
    struct proof *proof;
    *out = (struct answer){ 0 };
    RT_TRY(moment(run, house->calendar, q->at_s, &now, p));
    RT_TRY(proof_begin(run, house->policy, now, house->is_foreign ? house->table : NULL, &proof, p));
    proof->tells_no_time = true;
    out->proof = proof;
    bool failed = false, is_answered = false;
    RT_TRY(can_be_asked(a, house->policy->plan, &q->from, p));
    RT_TRY(can_be_asked(a, house->policy->plan, &q->to, p));
    uint32_t from = first_device(a, house->policy->plan, &q->from, &failed);
    uint32_t to = first_device(a, house->policy->plan, &q->to, &failed);
    if (from != NO_REF && from == to && q->from.kind == END_DEVICE && q->to.kind == END_DEVICE)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "name another device after --to",
                       "%.*s does not talk with itself over the network", STR_ARG(q->from.name));
    if (from != NO_REF && to != NO_REF)
        RT_TRY(answer_inside(a, l2, from, to, out, &is_answered, p));
    if (!is_answered) {
        struct endpoint ends[2] = { q->from, q->to };
        const struct question question = {
            .from = { &ends[0], 1 }, .to = { &ends[1], 1 }, .services = q->services, .hours = { .i = NO_REF }
        };
        struct proof_witness shown;
        RT_TRY(answer_by_rules(proof, &question, out, &shown, p));
        /* the way is that of the packet shown, where several devices are meant */
        from = proof_sender(proof, &shown) != NO_REF ? proof_sender(proof, &shown) : from;
        to = proof_receiver(proof, &shown) != NO_REF ? proof_receiver(proof, &shown) : to;
    }
    struct way way = { .a = a };
    whole_way(&way, l2, q, from, to, out->verdict);
    out->way.v = way.steps.v;
    out->way.n = way.steps.n;
    out->when = calendar_time_words(a, house->calendar, q->at_s);
    return failed || way.failed ? rt_fail_memory(p) : RT_OK;
}

/* ---- written down ---- */

static const char *const VERDICTS[] = {
    [ASK_ALLOWED] = "allowed", [ASK_REFUSED] = "refused", [ASK_UNFILTERED] = "unfiltered"
};

static struct str statement_of(const struct answer *a)
{
    const struct rule *r = a->rule;
    if (!r || r->origin != ORIGIN_STATEMENT)
        return STR("");
    return a->proof->policy->h->statements.v[r->which].id;
}

static void step_write_json(struct json *j, const struct ask_step *s)
{
    static const char *const KINDS[] = { [STEP_DEVICE] = "device",  [STEP_AIR] = "air",
                                         [STEP_CABLE] = "cable",    [STEP_ACCESS_POINT] = "access_point",
                                         [STEP_SWITCH] = "switch",  [STEP_THROUGH] = "through",
                                         [STEP_GATEWAY] = "gateway" };
    json_begin_object(j, NULL);
    json_text(j, "kind", s->is_side ? "side" : KINDS[s->kind]);
    json_str(j, "id", s->id);
    json_str(j, "says", s->says);
    json_bool(j, "decides", s->decides);
    json_end_object(j);
}

void answer_write_json(struct json *j, const struct answer *a)
{
    json_begin_object(j, NULL);
    json_text(j, "verdict", VERDICTS[a->verdict]);
    if (a->rule) {
        json_begin_object(j, "rule");
        json_int(j, "number", a->rule->number);
        if (a->rule->at.line)
            json_int(j, "line", a->rule->at.line);
        else
            json_null(j, "line");
        json_str(j, "statement", statement_of(a));
        json_str(j, "says", a->rule->says);
        json_end_object(j);
    } else {
        json_null(j, "rule");
    }
    json_begin_array(j, "way");
    for (uint32_t i = 0; i < a->way.n; i++)
        json_str(j, NULL, a->way.v[i].says);
    json_end_array(j);
    json_begin_array(j, "steps");
    for (uint32_t i = 0; i < a->way.n; i++)
        step_write_json(j, &a->way.v[i]);
    json_end_array(j);
    json_str(j, "when", a->when);
    json_str(j, "reason", a->reason);
    json_end_object(j);
    json_end(j);
}

void answer_write_text(struct buf *out, const struct answer *a)
{
    buf_printf(out, "%s   %.*s\n\n  %.*s\n", VERDICTS[a->verdict], STR_ARG(a->when), STR_ARG(a->reason));
    for (uint32_t i = 0; i < a->way.n; i++)
        buf_printf(out, "%s  %2u  %.*s\n", i ? "" : "\n  The way\n", (unsigned)(i + 1), STR_ARG(a->way.v[i].says));
}
