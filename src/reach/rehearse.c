#include "reach/rehearse.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

#include "reach/export_nft.h"
#include "reach/rehearse_apart.h"
#include "reach/rehearse_scene.h"

enum {
    WEEK_S = 7 * 86400,
    DAY_S = 86400,
    HOUR_S = 3600,
    MONDAYS_OFFSET_S = 3 * DAY_S /* 1 January 1970 was a Thursday */
};
/* Hours that hold for sure while a rehearsal runs, and those that do not. */
enum { AROUND_NOW_S = 2 * HOUR_S };
enum { ALONE_MAX = 6, CHANGES_MAX = 6, CONVERSATIONS_MAX = 64, CONVERSATIONS_ALIKE = 2, LIVING_MAX = 12 };

/* The rules at one state of the hours, and the questions asked of them. */
struct round {
    bool *hold; /* by house->hours */
    struct str says;
    struct verdicts verdicts;
    VEC(uint32_t) which; /* questions */
    struct probe *probes;
    struct expectation *expected;
    struct act act;
};

/* From one state of the hours to another, while conversations run. */
struct change {
    struct rehearsing *r;
    uint32_t before, after; /* rounds */
    VEC(uint32_t) which;    /* questions */
    struct probe *probes;
    uint8_t *expected;
    struct scene scene;
};

struct rehearsing {
    const struct run *run;
    const struct policy *policy;
    const struct rehearse_options *options;
    struct rt_problems *p;
    struct cast *cast;
    struct questions q;
    VEC(struct round) rounds; /* the first: none hold; the second, if there are hours: all hold */
    struct change changes[CHANGES_MAX];
    uint32_t n_changes;
    uint8_t *alike; /* conversations over a change, by the rule that decides, protocol and family */
    bool *touched;  /* by question: a rule with hours may decide it */
    uint8_t *shared;
    size_t n_shared;
    bool *answers_unlimited;
};

static double now_s(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* ---- hours as the kernel takes them ---- */

/* n_s seconds of the week from from_s on, in UTC. */
static span_list week_spans(struct arena *a, int64_t from_s, int64_t n_s, bool *failed)
{
    struct span v[2];
    const uint64_t from = (uint64_t)(from_s + MONDAYS_OFFSET_S) % WEEK_S, to = from + (uint64_t)n_s - 1;
    v[0] = (struct span){ from, to < WEEK_S ? to : WEEK_S - 1 };
    v[1] = (struct span){ 0, to >= WEEK_S ? to - WEEK_S : 0 };
    return spans_tidy(a, v, to < WEEK_S ? 1 : 2, failed);
}

/* From from_s on for n_s seconds, every week. */
static bool kernel_hours(struct arena *a, int64_t from_s, int64_t n_s, kernel_span_list *out)
{
    bool failed = false;
    out->v = ARENA_NEW(a, struct kernel_span);
    if (!out->v)
        return false;
    out->n = 1;
    *out->v = (struct kernel_span){ from_s - 4 * DAY_S, from_s + 4 * DAY_S, week_spans(a, from_s, n_s, &failed) };
    return !failed;
}

static enum rt_code export(struct rehearsing *r, const kernel_span_list *hours, struct buf *out,
                           struct rt_problems *p) {
    const struct nft_options options = { .hours = hours,
                                         .n_hours = r->policy->h->hours.n,
                                         .translation = true,
                                         .log = false };
    RT_TRY(nft_export(r->run, r->policy, &options, out, p)); buf_text(out, "\n");
    const struct table *t = &r->policy->table;
    for (uint32_t i = 0; i < r->policy->names.n; i++) for (unsigned f = 0; f < FAMILY_COUNT; f++){
        const enum family family = (enum family)f; if (!r->cast->named[f][i]) continue;
        buf_printf(out, "add element inet house %.*s { ",
                   STR_ARG(nft_set_name(r->run->arena, t, r->policy->names.v[i].axis - AXIS_NAMED, family)));
        address_write(out, family, r->cast->named[f][i]); buf_text(out, " }\n"); }
if (out->failed) return rt_fail_memory(p);
if (r->options && r->options->tamper) {
    const struct str changed = r->options->tamper(r->options->user, r->run->arena, buf_done(out));
    *out = (struct buf){ .arena = r->run->arena };
    buf_str(out, changed);
}
return RT_OK;
}

/* ---- rounds: the hours stand still ---- */

static enum rt_code add_round(struct rehearsing *r, uint32_t n_holding, uint32_t alone, uint64_t bits)
{
    struct arena *a = r->run->arena;
    const struct house *h = r->policy->h;
    struct round round = { .hold = ARENA_ARRAY(a, bool, h->hours.n) };
    struct buf says = { .arena = a };
    if (!round.hold)
        return rt_fail_memory(r->p);
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->hours.n; i++) {
        round.hold[i] = n_holding == h->hours.n || i == alone || (bits >> (i % 64) & 1);
        n += round.hold[i];
    }
    for (uint32_t i = 0, k = 0; i < h->hours.n; i++)
        if (round.hold[i] && n < h->hours.n)
            buf_printf(&says, "%s%.*s", k++ ? " and " : "", STR_ARG(h->hours.v[i].id));
    buf_text(&says, h->hours.n == 0   ? "at all hours"
                    : n == 0          ? "when no hours hold"
                    : n == h->hours.n ? "when all hours hold"
                    : n == 1          ? " holds alone"
                                      : " hold");
    round.says = buf_done(&says);
    if (says.failed || !VEC_PUSH(a, &r->rounds, round))
        return rt_fail_memory(r->p);
    struct round *at = &r->rounds.v[r->rounds.n - 1];
    return verdicts_make(r->run, r->policy, at->hold, &at->verdicts, r->p);
}

/* None, all, and mixtures: each alone; of many, half of them by each bit of their number and the other half, so that any two are
 * seen apart. */
static enum rt_code plan_rounds(struct rehearsing *r)
{
    const uint32_t n = r->policy->h->hours.n;
    RT_TRY(add_round(r, NO_REF, NO_REF, 0));
    if (n == 0)
        return RT_OK;
    RT_TRY(add_round(r, n, NO_REF, 0));
    for (uint32_t i = 0; n > 1 && n <= ALONE_MAX && i < n; i++)
        RT_TRY(add_round(r, NO_REF, i, 0));
    for (uint32_t bit = 0; n > ALONE_MAX && 1u << bit < n && bit < 6; bit++) {
        uint64_t with = 0;
        for (uint32_t i = 0; i < 64; i++)
            with |= (uint64_t)(i >> bit & 1) << i;
        RT_TRY(add_round(r, NO_REF, NO_REF, with));
        RT_TRY(add_round(r, NO_REF, NO_REF, ~with));
    }
    return RT_OK;
}

static axis_value answerer_mac(const struct rehearsing *r, uint32_t question)
{
    return cast_mac_seen(r->cast, r->q.probes.v[question].to);
}

/* May a rule with hours decide the packet?  Only then does it matter which hours hold. */
static bool meets_hours(const struct table *t, const struct packet *packet)
{
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++)
            if (t->chains.v[c].rules.v[i].hours.i != NO_REF && match_holds(&t->chains.v[c].rules.v[i].match, packet))
                return true;
    return false;
}

static enum rt_code find_touched(struct rehearsing *r)
{
    const struct table *t = &r->policy->table;
    r->touched = ARENA_ARRAY(r->run->arena, bool, r->q.probes.n);
    if (!r->touched)
        return rt_fail_memory(r->p);
    for (uint32_t i = 0; r->policy->h->hours.n && i < r->q.probes.n; i++) {
        const struct packet *first = &r->q.packets.v[i];
        const struct packet later = packet_later(first), answer = packet_answer(first, answerer_mac(r, i));
        r->touched[i] =
            !r->q.unfiltered.v[i] && (meets_hours(t, first) || meets_hours(t, &later) || meets_hours(t, &answer));
    }
    return RT_OK;
}

/* The first round asks everything, later ones what may depend on the hours. */
static enum rt_code fill_round(struct rehearsing *r, struct round *round, bool is_first)
{
    struct arena *a = r->run->arena;
    for (uint32_t i = 0; i < r->q.probes.n; i++)
        if ((is_first || r->touched[i]) && !VEC_PUSH(a, &round->which, i))
            return rt_fail_memory(r->p);
    const uint32_t n = round->which.n;
    round->probes = ARENA_ARRAY(a, struct probe, n);
    round->expected = ARENA_ARRAY(a, struct expectation, n);
    kernel_span_list *hours = ARENA_ARRAY(a, kernel_span_list, r->policy->h->hours.n);
    if (!round->probes || !round->expected || !hours)
        return rt_fail_memory(r->p);
    for (uint32_t k = 0; k < n; k++) {
        const uint32_t i = round->which.v[k];
        round->probes[k] = r->q.probes.v[i];
        round->expected[k] = question_expect(r->cast, &round->verdicts, &r->q, i);
    }
    const int64_t now = (int64_t)now_s(CLOCK_REALTIME);
    for (uint32_t i = 0; i < r->policy->h->hours.n; i++)
        if (!kernel_hours(a, now + (round->hold[i] ? -AROUND_NOW_S : AROUND_NOW_S), 2 * AROUND_NOW_S, &hours[i]))
            return rt_fail_memory(r->p);
    struct buf rules = { .arena = a };
    RT_TRY(export(r, hours, &rules, r->p));
    round->act = (struct act){ buf_done(&rules), round->probes, round->expected, n, NULL };
    return RT_OK;
}

/* ---- changes: the hours begin or end while conversations run ---- */

static enum rt_code changing_rules(void *user, const struct run *run, int64_t change_s, struct buf *out,
                                   struct rt_problems *p)
{
    const struct change *c = user;
    kernel_span_list *hours = ARENA_ARRAY(run->arena, kernel_span_list, c->r->policy->h->hours.n);
    if (!hours)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < c->r->policy->h->hours.n; i++) {
        const bool before = c->r->rounds.v[c->before].hold[i], after = c->r->rounds.v[c->after].hold[i];
        const int64_t begins_s = before ? change_s - AROUND_NOW_S : after ? change_s : change_s + AROUND_NOW_S;
        if (!kernel_hours(run->arena, begins_s, before && after ? 2 * AROUND_NOW_S : AROUND_NOW_S, &hours[i]))
            return rt_fail_memory(p);
    }
    return export(c->r, hours, out, p);
}

static bool passes(const struct verdicts *v, struct packet packet, uint32_t *rule)
{
    enum action action = ACTION_DROP;
    const struct rule *decides = verdict_on(v, &packet, &action);
    *rule = decides ? decides->number : 0;
    return action == ACTION_ACCEPT;
}

/* What passes of a conversation opened before the change; 0: it cannot be opened then.  *rule: what ends it, or lets it be. */
static uint8_t expected_passing(const struct rehearsing *r, uint32_t i, const struct verdicts *before,
                                const struct verdicts *after, uint32_t *rule)
{
    const struct packet *first = &r->q.packets.v[i];
    const struct packet later = packet_later(first), answer = packet_answer(first, answerer_mac(r, i));
    if (!passes(before, *first, rule) || !passes(before, answer, rule) || !passes(before, later, rule))
        return 0;
    uint8_t bits = PASSED_THERE_BEFORE | PASSED_BACK_BEFORE;
    uint32_t then;
    if (passes(after, answer, &then))
        bits |= PASSED_BACK_AFTER;
    if (passes(after, later, &then))
        bits |= PASSED_THERE_AFTER;
    *rule = then ? then : *rule; /* ended by the default: the rule that had let it be */
    return bits;
}

/* A few conversations for each rule that ends some, protocol and family, and some that must live on. */
static enum rt_code plan_change(struct rehearsing *r, struct change *c)
{
    struct arena *a = r->run->arena;
    const struct verdicts *before = &r->rounds.v[c->before].verdicts, *after = &r->rounds.v[c->after].verdicts;
    c->probes = ARENA_ARRAY(a, struct probe, CONVERSATIONS_MAX);
    c->expected = ARENA_ARRAY(a, uint8_t, CONVERSATIONS_MAX);
    if (!c->probes || !c->expected)
        return rt_fail_memory(r->p);
    uint32_t n_living = 0, n_cut = 0;
    for (uint32_t i = 0; i < r->q.probes.n && c->which.n < CONVERSATIONS_MAX; i++) {
        const struct probe *probe = &r->q.probes.v[i];
        uint32_t rule;
        if ((!r->touched[i] && n_living >= LIVING_MAX) || probe->is_forged || r->q.unfiltered.v[i] ||
            (probe->protocol != IP_TCP && probe->protocol != IP_UDP))
            continue;
        const uint8_t bits = expected_passing(r, i, before, after, &rule);
        uint8_t *seen = &r->alike[rule * 4 + (probe->protocol == IP_TCP ? 2u : 0u) + probe->family];
        if (!bits || *seen >= CONVERSATIONS_ALIKE || (bits == PASSED_ALL && n_living >= LIVING_MAX))
            continue;
        (*seen)++;
        n_living += bits == PASSED_ALL;
        n_cut += bits != PASSED_ALL;
        c->probes[c->which.n] = *probe;
        c->expected[c->which.n] = bits;
        if (!VEC_PUSH(a, &c->which, i))
            return rt_fail_memory(r->p);
    }
    if (n_cut == 0)
        c->which.n = 0; /* nothing to see */
    return RT_OK;
}

static enum rt_code add_change(struct rehearsing *r, uint32_t before, uint32_t after)
{
    if (r->n_changes == CHANGES_MAX)
        return RT_OK;
    struct change *c = &r->changes[r->n_changes];
    *c = (struct change){ .r = r, .before = before, .after = after };
    RT_TRY(plan_change(r, c));
    c->scene = (struct scene){
        .probes = c->probes, .expected = c->expected, .n = c->which.n, .rules = changing_rules, .user = c
    };
    r->n_changes += c->which.n > 0;
    return RT_OK;
}

/* All begin, all end; then each alone, for the rules that the others hid.  Each change takes a few seconds, and one that ends
 * nothing new is left out. */
static enum rt_code plan_changes(struct rehearsing *r)
{
    enum { NONE, ALL, ALONE };
    if (r->rounds.n <= ALL)
        return RT_OK;
    r->alike = ARENA_ARRAY(r->run->arena, uint8_t, ((size_t)r->policy->table.n_rules + 1) * 4);
    if (!r->alike)
        return rt_fail_memory(r->p);
    RT_TRY(add_change(r, NONE, ALL));
    RT_TRY(add_change(r, ALL, NONE));
    for (uint32_t i = ALONE; i < r->rounds.n; i++) {
        RT_TRY(add_change(r, NONE, i));
        RT_TRY(add_change(r, i, NONE));
    }
    return RT_OK;
}

static enum rt_code perform_changes(void *user, const struct run *run, const struct stage *s, struct rt_problems *p)
{
    struct rehearsing *r = user;
    for (uint32_t i = 0; i < r->n_changes; i++)
        RT_TRY(scene_perform(run, s, &r->changes[i].scene, p));
    return RT_OK;
}

/* ---- on the stage ---- */

static enum rt_code share_memory(struct rehearsing *r)
{
    const size_t times = CHANGES_MAX * sizeof(int64_t);
    r->n_shared = times + sizeof(bool);
    for (uint32_t i = 0; i < r->rounds.n; i++)
        r->n_shared += r->rounds.v[i].act.n;
    for (uint32_t i = 0; i < r->n_changes; i++)
        r->n_shared += r->changes[i].which.n;
    r->shared = apart_memory(r->n_shared);
    if (!r->shared)
        return rt_fail_memory(r->p);
    int64_t *changed_s = (int64_t *)(void *)r->shared;
    r->answers_unlimited = (bool *)(r->shared + times);
    uint8_t *next = r->shared + times + sizeof(bool);
    for (uint32_t i = 0; i < r->rounds.n; i++) {
        r->rounds.v[i].act.seen = next;
        next += r->rounds.v[i].act.n;
    }
    for (uint32_t i = 0; i < r->n_changes; i++) {
        struct change *c = &r->changes[i];
        c->scene.passed = next;
        c->scene.changed_s = &changed_s[i];
        next += c->which.n;
    }
    return RT_OK;
}

static enum rt_code go_on_stage(struct rehearsing *r)
{
    struct act *acts = ARENA_ARRAY(r->run->arena, struct act, r->rounds.n);
    if (!acts)
        return rt_fail_memory(r->p);
    for (uint32_t i = 0; i < r->rounds.n; i++)
        acts[i] = r->rounds.v[i].act;
    struct play play = { .stage = &r->cast->stage,
                         .acts = acts,
                         .n_acts = r->rounds.n,
                         .answers_unlimited = r->answers_unlimited,
                         .finale = perform_changes,
                         .user = r };
    return apart_run(r->run, play_perform, &play, r->p);
}

/* ---- what came of it ---- */

static const char *seen_words(const struct probe *probe, uint8_t seen)
{
    if (seen & SEEN_FAULT)
        return "could not be sent";
    if (seen & SEEN_ANSWERED)
        return "let through and answered";
    if (seen & SEEN_ARRIVED)
        return probe->is_forged ? "let through" : "let through, its answer was not";
    return seen & SEEN_REFUSED ? "refused" : "not let through";
}

/* The packet that the difference is about: the first, unless only what follows it is cut. */
static void blame(const struct rehearsing *r, uint32_t question, const struct verdicts *v, struct disagreement *d)
{
    const struct packet *first = &r->q.packets.v[question];
    const struct packet later = packet_later(first), answer = packet_answer(first, answerer_mac(r, question));
    enum action action = ACTION_ACCEPT;
    d->packet = *first;
    if (r->q.unfiltered.v[question])
        return;
    d->rule = verdict_on(v, first, &action);
    if (action != ACTION_ACCEPT || r->q.probes.v[question].is_forged)
        return;
    enum action after;
    const struct rule *rule = verdict_on(v, &answer, &after);
    d->packet = after == ACTION_ACCEPT ? *first : answer;
    d->rule = after == ACTION_ACCEPT ? d->rule : rule;
    if (after != ACTION_ACCEPT)
        return;
    rule = verdict_on(v, &later, &after);
    d->packet = after == ACTION_ACCEPT ? *first : later;
    d->rule = after == ACTION_ACCEPT ? d->rule : rule;
}

struct report {
    struct rehearsal *out;
    VEC(struct disagreement) disagreed;
};

static struct disagreement about(const struct rehearsing *r, uint32_t question, const struct verdicts *v)
{
    const struct probe *probe = &r->q.probes.v[question];
    struct disagreement d = { .from = r->cast->players[probe->from].name,
                              .to = r->cast->players[probe->to].name,
                              .is_forged = probe->is_forged };
    blame(r, question, v, &d);
    return d;
}

static enum rt_code report_round(struct rehearsing *r, const struct round *round, struct report *report)
{
    for (uint32_t k = 0; k < round->act.n; k++) {
        const struct probe *probe = &round->probes[k];
        const struct expectation x = round->expected[k];
        const uint8_t seen = round->act.seen[k];
        struct rehearsed_zone *zone = &report->out->zones[r->cast->players[probe->from].zone];
        const bool through = seen & (SEEN_ANSWERED | SEEN_ARRIVED),
                   agrees = act_agrees(probe, x, seen, *r->answers_unlimited);
        zone->n_probes++;
        zone->n_through += through;
        zone->n_refused += !through && (seen & SEEN_REFUSED);
        zone->n_silent += !through && !(seen & SEEN_REFUSED);
        zone->n_agreed += agrees;
        if (agrees)
            continue;
        struct disagreement d = about(r, round->which.v[k], &round->verdicts);
        d.hours = round->says;
        d.kernel = str_from(seen_words(probe, seen));
        d.proof = r->q.unfiltered.v[round->which.v[k]] ? STR("never met by a rule: inside one segment")
                                                       : str_from(seen_words(probe, x.bits));
        if (!VEC_PUSH(r->run->arena, &report->disagreed, d))
            return rt_fail_memory(r->p);
    }
    return RT_OK;
}

static struct str passed_words(struct arena *a, uint8_t bits)
{
    static const char *const WORDS[] = { "neither direction", "the beginner's direction only", "the answers only",
                                         "both directions" };
    const char *text = arena_printf(a, "before: %s; after: %s", WORDS[bits & 3], WORDS[bits >> 2 & 3]);
    return text ? str_from(text) : STR("");
}

static struct str change_words(const struct rehearsing *r, const struct change *c)
{
    const char *text = arena_printf(r->run->arena, "running from %.*s to %.*s", STR_ARG(r->rounds.v[c->before].says),
                                    STR_ARG(r->rounds.v[c->after].says));
    return text ? str_from(text) : STR("");
}

static enum rt_code report_change(struct rehearsing *r, const struct change *c, struct report *report)
{
    for (uint32_t k = 0; k < c->which.n; k++) {
        const uint8_t passed = c->scene.passed[k], expected = c->expected[k];
        struct rehearsed_zone *zone = &report->out->zones[r->cast->players[c->probes[k].from].zone];
        report->out->n_conversations++;
        zone->n_probes++;
        zone->n_through++;
        zone->n_agreed += passed == expected;
        report->out->n_cut += passed == expected && expected != PASSED_ALL;
        if (passed == expected)
            continue;
        struct disagreement d = about(r, c->which.v[k], &r->rounds.v[c->after].verdicts);
        d.hours = change_words(r, c);
        d.kernel = passed_words(r->run->arena, passed);
        d.proof = passed_words(r->run->arena, expected);
        if (!VEC_PUSH(r->run->arena, &report->disagreed, d))
            return rt_fail_memory(r->p);
    }
    return RT_OK;
}

static enum rt_code report_all(struct rehearsing *r, struct rehearsal *out)
{
    struct report report = { .out = out };
    out->zones = ARENA_ARRAY(r->run->arena, struct rehearsed_zone, r->policy->plan->n_zones);
    if (!out->zones)
        return rt_fail_memory(r->p);
    for (uint32_t i = 0; i < r->rounds.n; i++)
        RT_TRY(report_round(r, &r->rounds.v[i], &report));
    for (uint32_t i = 0; i < r->n_changes; i++)
        RT_TRY(report_change(r, &r->changes[i], &report));
    for (uint32_t z = 0; z < r->policy->plan->n_zones; z++) {
        out->n_probes += out->zones[z].n_probes;
        out->n_agreed += out->zones[z].n_agreed;
    }
    out->disagreed.v = report.disagreed.v;
    out->disagreed.n = report.disagreed.n;
    out->n_nodes = r->cast->stage.nodes.n;
    out->n_rounds = r->rounds.n;
    out->refusals_counted = *r->answers_unlimited;
    return RT_OK;
}

enum rt_code rehearse(const struct run *run, const struct policy *policy, const struct rehearse_options *options,
                      struct rehearsal **out, struct rt_problems *p)
{
    const double started_s = now_s(CLOCK_MONOTONIC);
    struct rehearsing *r = ARENA_NEW(run->arena, struct rehearsing);
    struct rehearsal *result = ARENA_NEW(run->arena, struct rehearsal);
    if (!r || !result)
        return rt_fail_memory(p);
    *r = (struct rehearsing){ .run = run, .policy = policy, .options = options, .p = p };
    *result = (struct rehearsal){ .policy = policy };
    RT_TRY(cast_make(run, policy, &r->cast, p));
    RT_TRY(questions_make(run, r->cast, &r->q, p));
    RT_TRY(plan_rounds(r));
    RT_TRY(find_touched(r));
    for (uint32_t i = 0; i < r->rounds.n; i++)
        RT_TRY(fill_round(r, &r->rounds.v[i], i == 0));
    RT_TRY(plan_changes(r));
    RT_TRY(share_memory(r));
    enum rt_code code = go_on_stage(r);
    if (code == RT_OK)
        code = report_all(r, result);
    apart_memory_free(r->shared, r->n_shared);
    result->seconds = now_s(CLOCK_MONOTONIC) - started_s;
    *out = result;
    return code;
}
