#include "reach/ask_int.h"

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

/* A side that is a whole segment has no one way into it: it stands for itself. */
static void inside_way(struct way *w, const struct layer2 *l2, const struct asked *q, uint32_t from, uint32_t to)
{
    if (from != NO_REF && to != NO_REF && from != to) {
        const l2_way way = layer2_way_between(w->a, l2, from, to, &w->failed);
        steps_of(w, &way, false);
        return;
    }
    const struct endpoint *const ends[] = { &q->from, &q->to };
    for (size_t i = 0; i < RT_COUNT(ends); i++)
        step(w, (struct ask_step){ .is_side = ends[i]->kind != END_DEVICE,
                                   .kind = STEP_DEVICE,
                                   .id = ends[i]->name,
                                   .says = ends[i]->name });
}

static void whole_way(struct way *w, const struct layer2 *l2, const struct asked *q, uint32_t from, uint32_t to,
                      enum ask_verdict verdict)
{
    const bool passes = verdict == ASK_ALLOWED || verdict == ASK_SOME;
    if (verdict == ASK_UNFILTERED) {
        inside_way(w, l2, q, from, to);
    } else {
        side_way(w, l2, &q->from, from, false);
        gateway_step(w, l2, passes);
        if (passes)
            side_way(w, l2, &q->to, to, true);
    }
}

/* ---- the answer ---- */

/* Two devices: what the switch or the access point does; and whether they have a way to each other at all. */
static enum rt_code answer_two(struct arena *a, const struct layer2 *l2, uint32_t from, uint32_t to, struct answer *out,
                               bool *is_answered, struct rt_problems *p)
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

/* A service: all of it must pass, there and back. */
static enum rt_code answer_service(struct proof *proof, const struct question *question, struct answer *out,
                                   struct proof_witness *shown, struct rt_problems *p)
{
    struct proof_witness w;
    RT_TRY(proof_find_refusal(proof, question, &w, p));
    out->verdict = w.is_found ? ASK_REFUSED : ASK_ALLOWED;
    if (!w.is_found)
        RT_TRY(proof_find_allowed(proof, question, &w, p));
    *shown = w;
    out->rule = w.rule;
    out->reason = w.is_found ? proof_decision_words(proof, &w) : STR("");
    return RT_OK;
}

enum { WORDS_SHOWN = 8 };

/* "protocols 0-255" */
static bool is_span(struct str word)
{
    const struct str begin = STR("protocols ");
    return word.n > begin.n && str_eq((struct str){ word.p, begin.n }, begin);
}

/* "everything", and whole spans of protocols, tell nothing apart. */
static bool tells_apart(const str_list *words)
{
    for (uint32_t i = 0; i < words->n; i++)
        if (str_is(words->v[i], "everything") || is_span(words->v[i]))
            return false;
    return words->n > 0;
}

static void write_services(struct buf *out, const char *before, const str_list *words)
{
    buf_text(out, before);
    for (uint32_t i = 0; i < words->n && i < WORDS_SHOWN; i++)
        buf_printf(out, "%s%.*s", i ? ", " : "", STR_ARG(words->v[i]));
    if (words->n > WORDS_SHOWN)
        buf_printf(out, " and %u more", (unsigned)(words->n - WORDS_SHOWN));
    buf_text(out, "; ");
}

/* What passes or what does not, whichever is said in services; neither where devices are told apart.  And an example of both. */
static struct str share_words(struct proof *proof, const struct proof_share *s)
{
    struct buf out = { .arena = proof->run->arena };
    if (tells_apart(&s->services_let))
        write_services(&out, "only ", &s->services_let);
    else if (tells_apart(&s->services_refused))
        write_services(&out, "all but ", &s->services_refused);
    const struct str yes = proof_decision_words(proof, &s->let), no = proof_decision_words(proof, &s->refused);
    buf_printf(&out, "%.*s; but %.*s", STR_ARG(yes), STR_ARG(no));
    return buf_done(&out);
}

static enum rt_code answer_anything(struct proof *proof, const struct question *question, struct answer *out,
                                    struct proof_witness *shown, struct rt_problems *p)
{
    struct proof_share share;
    RT_TRY(proof_find_share(proof, question, &share, p));
    const bool some = share.let.is_found && share.refused.is_found;
    *shown = share.let.is_found ? share.let : share.refused;
    out->verdict = some ? ASK_SOME : share.let.is_found ? ASK_ALLOWED : ASK_REFUSED;
    out->rule = shown->rule;
    out->reason = some ? share_words(proof, &share) : shown->is_found ? proof_decision_words(proof, shown) : STR("");
    return RT_OK;
}

/* Sets no `shown` where there is no packet of that kind between them. */
static enum rt_code answer_by_rules(struct proof *proof, const struct asked *q, struct answer *out,
                                    struct proof_witness *shown, struct rt_problems *p)
{
    struct endpoint ends[2] = { q->from, q->to };
    const struct question question = {
        .from = { &ends[0], 1 }, .to = { &ends[1], 1 }, .services = q->services, .hours = { .i = NO_REF }
    };
    return q->services.n ? answer_service(proof, &question, out, shown, p)
                         : answer_anything(proof, &question, out, shown, p);
}

static void add_reason(struct arena *a, struct answer *out, const char *between, struct str more, bool *failed)
{
    const char *text = arena_printf(a, "%.*s; %s%.*s", STR_ARG(out->reason), between, STR_ARG(more));
    *failed = *failed || !text;
    out->reason = str_from(text ? text : "");
}

/* What those may begin who share a segment, as if a rule had said it. */
static enum ask_verdict inside_verdict(const struct ask_sides *sides, const struct asked *q)
{
    if (!sides->apart)
        return ASK_ALLOWED;
    return sides->together && q->services.n == 0 ? ASK_SOME : ASK_REFUSED;
}

/* All of them share a segment; only who comes into it by a tunnel meets the rules. */
static enum rt_code answer_inside(struct proof *proof, const struct ask_sides *sides, const struct asked *q,
                                  struct answer *out, struct rt_problems *p)
{
    bool failed = false;
    const enum ask_verdict verdict = inside_verdict(sides, q);
    out->verdict = verdict == ASK_ALLOWED ? ASK_UNFILTERED : verdict;
    out->reason = sides->because;
    if (sides->by_tunnel) {
        struct answer tunnel = { 0 };
        struct proof_witness shown;
        RT_TRY(answer_by_rules(proof, q, &tunnel, &shown, p));
        if (shown.is_found)
            add_reason(proof->run->arena, out, "who comes in by a tunnel meets the rules: ", tunnel.reason, &failed);
    }
    return failed ? rt_fail_memory(p) : RT_OK;
}

/* Some of them meet at the gateway, others share a segment. */
static enum rt_code add_inside(struct arena *a, const struct ask_sides *sides, const struct asked *q,
                               struct answer *out, struct rt_problems *p)
{
    bool failed = false;
    const enum ask_verdict inside = inside_verdict(sides, q);
    if (q->services.n)
        out->verdict = inside == ASK_REFUSED ? ASK_REFUSED : out->verdict;
    else
        out->verdict = inside == out->verdict ? inside : ASK_SOME;
    add_reason(a, out, "others share a segment: ", sides->because, &failed);
    return failed ? rt_fail_memory(p) : RT_OK;
}

static enum rt_code decide(struct proof *proof, const struct layer2 *l2, const struct asked *q, uint32_t *from,
                           uint32_t *to, struct answer *out, struct rt_problems *p)
{
    struct arena *a = proof->run->arena;
    struct ask_sides sides;
    struct proof_witness shown;
    bool is_answered = false;
    const bool are_two = q->from.kind == END_DEVICE && q->to.kind == END_DEVICE;
    if (are_two && *from == *to)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "name another device after --to",
                       "%.*s does not talk with itself over the network", STR_ARG(q->from.name));
    if (are_two)
        RT_TRY(answer_two(a, l2, *from, *to, out, &is_answered, p));
    if (is_answered)
        return RT_OK;
    RT_TRY(ask_sides_find(a, l2, q, &sides, p));
    if (sides.inside && !sides.by_rules)
        return answer_inside(proof, &sides, q, out, p);
    RT_TRY(answer_by_rules(proof, q, out, &shown, p));
    if (!shown.is_found && sides.inside)
        return answer_inside(proof, &sides, q, out, p);
    if (!shown.is_found)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE,
                       "name devices with a segment, and a service that is not local to one",
                       "there is no packet of that kind from %.*s to %.*s", STR_ARG(q->from.name), STR_ARG(q->to.name));
    /* the way is that of the packet shown, where several devices are meant */
    const uint32_t sender = proof_sender(proof, &shown), receiver = proof_receiver(proof, &shown);
    *from = sender != NO_REF ? sender : *from;
    *to = receiver != NO_REF ? receiver : *to;
    return sides.inside ? add_inside(a, &sides, q, out, p) : RT_OK;
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
    bool failed = false;
    RT_TRY(can_be_asked(a, house->policy->plan, &q->from, p));
    RT_TRY(can_be_asked(a, house->policy->plan, &q->to, p));
    uint32_t from = first_device(a, house->policy->plan, &q->from, &failed);
    uint32_t to = first_device(a, house->policy->plan, &q->to, &failed);
    RT_TRY(decide(proof, l2, q, &from, &to, out, p));
    struct way way = { .a = a };
    whole_way(&way, l2, q, from, to, out->verdict);
    out->way.v = way.steps.v;
    out->way.n = way.steps.n;
    out->when = calendar_time_words(a, house->calendar, q->at_s);
    return failed || way.failed ? rt_fail_memory(p) : RT_OK;
}
