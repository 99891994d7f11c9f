/* findings.c - what is odd about a table: rules no packet gets to, rules that change nothing, pairs that contradict each other.
 *
 * For the first two each rule is looked for in the part of the table that its packets may come by, until one gets to it and
 * one would fare otherwise without it (judge_descend.c); the pairs come from comparing the rules as sets (subjects.c). */
#include "reach/findings_int.h"

#include <stdlib.h>

enum { BLOCK = 1024, NAMED_IN_WORDS = 6 };

static const char *const NAMES[FINDING_KINDS] = {
    [FINDING_UNREACHABLE] = "unreachable", [FINDING_REDUNDANT] = "redundant",     [FINDING_SHADOWED] = "shadowed",
    [FINDING_CORRELATED] = "correlated",   [FINDING_GENERALISED] = "generalised",
};

const char *finding_name(enum finding_kind kind) { return NAMES[kind]; }

/* By action; of packets. */
static const char *const DOES_WITH_THEM[] = {
    [ACTION_ACCEPT] = "lets them through", [ACTION_DROP] = "drops them", [ACTION_REJECT] = "rejects them"
};

static struct arena *words(const struct seeker *s) { return s->judge.space->run->arena; }

static bool is_listed(const struct seeker *s, enum finding_kind kind)
{
    return kind < FINDING_SHADOWED || s->out->all[kind] <= FINDINGS_LISTED_MAX;
}

static bool add(struct seeker *s, enum finding_kind kind, uint32_t rule, uint32_t other, struct buf *because)
{
    const struct finding f = { kind, rule, other, buf_done(because) };
    return !because->failed && VEC_PUSH(words(s), &s->found, f);
}

static uint32_t number_of(const struct seeker *s, uint32_t subject) { return s->subjects.v[subject].rule->number; }

/* ---- pairs ---- */

static bool add_pair(struct seeker *s, enum finding_kind kind, uint32_t later, uint32_t earlier)
{
    s->out->all[kind]++;
    if (!is_listed(s, kind))
        return true;
    struct buf b = { .arena = words(s) };
    const unsigned other = number_of(s, earlier);
    const char *does = DOES_WITH_THEM[s->subjects.v[earlier].rule->action];
    if (kind == FINDING_SHADOWED)
        buf_printf(&b, "rule %u comes before it, takes all of its packets and %s", other, does);
    else if (kind == FINDING_CORRELATED)
        buf_printf(&b, "rule %u comes before it, takes some of its packets and %s: their order matters", other, does);
    else
        buf_printf(&b, "rule %u before it is an exception to it: it takes some of its packets and %s", other, does);
    return add(s, kind, number_of(s, later), other, &b);
}

/* Which kind of pair two subjects are whose hulls share packets; FINDING_KINDS: none. */
static enum finding_kind kind_of_pair(struct seeker *s, uint32_t later, uint32_t earlier, size_t row)
{
    bool is_within = bit_of(s->block.within + row, earlier), does_hold = bit_of(s->block.holds + row, earlier);
    if (bit_of(s->no_box, later) || bit_of(s->no_box, earlier)) {
        struct space *space = s->judge.space;
        const packet_set x = subject_set(s, later), y = subject_set(s, earlier), both = set_and(space, x, y);
        if (both == SET_NONE)
            return FINDING_KINDS;
        is_within = both == x;
        does_hold = both == y;
    }
    return is_within ? FINDING_SHADOWED : does_hold ? FINDING_GENERALISED : FINDING_CORRELATED;
}

/* Subjects of one word of bits that share packets with this one and decide otherwise. */
static uint64_t against(const struct seeker *s, uint32_t i, uint32_t word)
{
    const struct subject *sub = &s->subjects.v[i];
    uint64_t bits = 0;
    for (enum action a = ACTION_ACCEPT; a <= ACTION_REJECT; a++)
        if (a != sub->rule->action)
            bits |= s->does[a][word];
    return bits & s->block.share[(size_t)(i - s->block.first) * s->block.n_words + word];
}

static uint64_t below(uint32_t i, uint32_t word)
{
    return word < i / 64 ? ~(uint64_t)0 : word > i / 64 ? 0 : ((uint64_t)1 << i % 64) - 1;
}

static bool find_pairs(struct seeker *s, uint32_t i)
{
    if (!s->subjects.v[i].decides || s->subjects.v[i].is_empty)
        return true;
    const size_t row = (size_t)(i - s->block.first) * s->block.n_words;
    for (uint32_t w = 0; w <= i / 64; w++) {
        uint64_t bits = against(s, i, w) & below(i, w);
        for (; bits; bits &= bits - 1) {
            const uint32_t earlier = w * 64 + (uint32_t)__builtin_ctzll(bits);
            const enum finding_kind kind = kind_of_pair(s, i, earlier, row);
            if (kind != FINDING_KINDS && !add_pair(s, kind, i, earlier))
                return false;
        }
    }
    return true;
}

/* ---- single rules ---- */

static bool lies_within(struct seeker *s, uint32_t i, uint32_t other, size_t row)
{
    if (!bit_of(s->block.share + row, other))
        return false;
    if (!bit_of(s->no_box, i) && !bit_of(s->no_box, other))
        return bit_of(s->block.within + row, other);
    return set_minus(s->judge.space, subject_set(s, i), subject_set(s, other)) == SET_NONE;
}

/* The first earlier rule that decides all packets of this one, whatever it does, or so as `action` says; NO_REF: none. */
static uint32_t earlier_cover(struct seeker *s, uint32_t i, const enum action *action)
{
    const size_t row = (size_t)(i - s->block.first) * s->block.n_words;
    for (uint32_t k = 0; k < i; k++)
        if (s->subjects.v[k].decides && !s->subjects.v[k].is_empty &&
            (!action || s->subjects.v[k].rule->action == *action) && lies_within(s, i, k, row))
            return k;
    return NO_REF;
}

/* The later rule that does the same with all packets of this one, while none in between does otherwise (Al-Shaer and Hamed
 * 2004, section 3.2: redundancy); NO_REF: none. */
static uint32_t later_cover(struct seeker *s, uint32_t i)
{
    const size_t row = (size_t)(i - s->block.first) * s->block.n_words;
    const enum action action = s->subjects.v[i].rule->action;
    for (uint32_t k = i + 1; k < s->subjects.n; k++) {
        const struct subject *sub = &s->subjects.v[k];
        if (!sub->decides || sub->is_empty || !bit_of(s->block.share + row, k))
            continue;
        if (sub->rule->action == action ? lies_within(s, i, k, row) : kind_of_pair(s, i, k, row) != FINDING_KINDS)
            return sub->rule->action == action ? k : NO_REF;
    }
    return NO_REF;
}

/* The rules that take the packets of one that is never reached, in the order in which they do so, in words: "rules 1, 2 and 7
 * together take". */
static void put_deciders(struct seeker *s, uint32_t i, struct buf *out)
{
    const size_t row = (size_t)(i - s->block.first) * s->block.n_words;
    packet_set left = subject_set(s, i);
    uint32_t n = 0, numbers[NAMED_IN_WORDS] = { 0 };
    for (uint32_t k = 0; k < i && left != SET_NONE; k++) {
        if (!s->subjects.v[k].decides || s->subjects.v[k].is_empty || !bit_of(s->block.share + row, k))
            continue;
        const packet_set now = set_minus(s->judge.space, left, subject_set(s, k));
        if (now != left && n++ < NAMED_IN_WORDS)
            numbers[n - 1] = number_of(s, k);
        left = now;
    }
    buf_text(out, n == 1 ? "rule" : "rules");
    for (uint32_t k = 0; k < n && k < NAMED_IN_WORDS; k++)
        buf_printf(out, "%s %u", k == 0 ? "" : k + 1 == n ? " and" : ",", (unsigned)numbers[k]);
    if (n > NAMED_IN_WORDS)
        buf_printf(out, " and %u more", (unsigned)(n - NAMED_IN_WORDS));
    buf_text(out, n == 1 ? " takes" : " together take");
}

static bool find_unreachable(struct seeker *s, uint32_t i)
{
    struct buf b = { .arena = words(s) };
    uint32_t other = NO_REF;
    s->out->all[FINDING_UNREACHABLE]++;
    if (s->subjects.v[i].is_empty) {
        buf_text(&b, "no packet is such that it fits and gets to its chain");
    } else if ((other = earlier_cover(s, i, NULL)) != NO_REF) {
        buf_printf(&b, "rule %u comes before it and takes all of its packets", (unsigned)number_of(s, other));
    } else {
        put_deciders(s, i, &b);
        buf_text(&b, " all of its packets before they get to it");
    }
    return add(s, FINDING_UNREACHABLE, number_of(s, i), other == NO_REF ? 0 : number_of(s, other), &b);
}

static bool find_redundant(struct seeker *s, uint32_t i, bool is_reached)
{
    struct buf b = { .arena = words(s) };
    const struct subject *sub = &s->subjects.v[i];
    uint32_t other = NO_REF;
    s->out->all[FINDING_REDUNDANT]++;
    if (sub->decides && !sub->is_empty) {
        if ((other = earlier_cover(s, i, &sub->rule->action)) == NO_REF)
            other = later_cover(s, i);
    }
    if (other != NO_REF)
        buf_printf(&b, "rule %u %s it does the same with all of its packets", (unsigned)number_of(s, other),
                   other < i ? "before" : "after");
    else if (is_reached)
        buf_text(&b, "without it every packet fares the same");
    else
        buf_text(&b, "no packet gets to it");
    return add(s, FINDING_REDUNDANT, number_of(s, i), other == NO_REF ? 0 : number_of(s, other), &b);
}

/* The part of the program that packets of the rule may come by: rules that share packets with it, and all calls; all of the
 * program for a call itself, since without it packets get to where they did not before. */
static void gather_near(struct seeker *s, uint32_t i)
{
    const struct judge *j = &s->judge;
    const uint64_t *share = s->block.share + (size_t)(i - s->block.first) * s->block.n_words;
    struct list *l = &s->near;
    l->n = 0;
    l->has_skips = j->has_skips;
    for (uint32_t at = 0; at < j->places.n; at++) {
        const uint32_t step = j->places.v[at], sub = s->subject_of[step];
        const bool is_call = j->steps.v[step].kind == STEP_JUMP || j->steps.v[step].kind == STEP_RETURN;
        s->near_at[at] = l->n;
        if (is_call || !s->subjects.v[i].decides || sub == NO_REF || sub == i || bit_of(share, sub)) {
            l->skip[l->n] = at + j->skips.v[at]; /* as a place of the program first */
            l->step[l->n++] = step;
        }
    }
    for (uint32_t k = 0; k < l->n; k++)
        l->skip[k] = (l->skip[k] < j->places.n ? s->near_at[l->skip[k]] : l->n) - k;
}

static bool find_single(struct seeker *s, uint32_t i)
{
    struct judge *j = &s->judge;
    const uint32_t step = s->subjects.v[i].step;
    j->is_hit = j->is_needed = false;
    if (!s->subjects.v[i].is_empty) {
        gather_near(s, i);
        judge_seek(j, step, &s->near);
    }
    const bool may_go = j->steps.v[step].kind != STEP_COUNT && !j->is_needed, is_hit = j->is_hit;
    if (!is_hit && !find_unreachable(s, i))
        return false;
    return !may_go || find_redundant(s, i, is_hit);
}

static bool add_uncalled(struct seeker *s, enum finding_kind kind, const struct rule *r, struct str chain)
{
    struct buf b = { .arena = words(s) };
    s->out->all[kind]++;
    buf_printf(&b, "nothing calls its chain %.*s", STR_ARG(chain));
    return add(s, kind, r->number, 0, &b);
}

/* Rules in chains that nothing calls. */
static bool find_uncalled(struct seeker *s)
{
    const struct judge *j = &s->judge;
    for (uint32_t c = 0; c < j->table->chains.n; c++)
        for (uint32_t i = 0; i < j->table->chains.v[c].rules.n; i++) {
            const struct rule *r = &j->table->chains.v[c].rules.v[i];
            const struct str chain = j->table->chains.v[c].name;
            if (!judge_asks(j, r) || j->step_of_rule[r->number] != NO_REF)
                continue;
            if (!add_uncalled(s, FINDING_UNREACHABLE, r, chain) ||
                (r->action != ACTION_CONTINUE && !add_uncalled(s, FINDING_REDUNDANT, r, chain)))
                return false;
        }
    return true;
}

/* ---- all of them ---- */

static int by_rule(const void *a, const void *b)
{
    const struct finding *x = a, *y = b;
    if (x->rule != y->rule)
        return x->rule < y->rule ? -1 : 1;
    if (x->kind != y->kind)
        return x->kind < y->kind ? -1 : 1;
    return (x->other > y->other) - (x->other < y->other);
}

static bool find_all(struct seeker *s)
{
    for (uint32_t first = 0; first < s->subjects.n; first += BLOCK) {
        const struct arena_mark mark = arena_mark(s->judge.stack);
        const uint32_t n = s->subjects.n - first < BLOCK ? s->subjects.n - first : BLOCK;
        bool ok = relations_make(s, first, n);
        for (uint32_t i = first; i < first + n && ok; i++)
            ok = space_goes_on(s->judge.space) && find_single(s, i) && find_pairs(s, i);
        arena_reset(s->judge.stack, mark);
        if (!ok)
            return false;
    }
    return find_uncalled(s);
}

static bool make_near(struct seeker *s)
{
    struct judge *j = &s->judge;
    s->subject_of = ARENA_ARRAY(j->keep, uint32_t, j->steps.n);
    s->near_at = ARENA_ARRAY(j->keep, uint32_t, j->places.n);
    s->near.step = ARENA_ARRAY(j->keep, uint32_t, j->places.n);
    s->near.skip = ARENA_ARRAY(j->keep, uint32_t, j->places.n);
    if (!s->subject_of || !s->near_at || !s->near.step || !s->near.skip)
        return false;
    for (uint32_t i = 0; i < j->steps.n; i++)
        s->subject_of[i] = NO_REF;
    for (uint32_t i = 0; i < s->subjects.n; i++)
        s->subject_of[s->subjects.v[i].step] = i;
    return true;
}

static enum rt_code seek(struct seeker *s, struct rt_problems *p)
{
    struct space *space = s->judge.space;
    RT_TRY(subjects_find(s, p));
    if (!judge_prepare(&s->judge) || !make_near(s))
        return rt_fail_memory(p);
    if (!find_all(s))
        return space->code ? space_state(space, p) : rt_fail_memory(p);
    RT_TRY(space_state(space, p));
    if (s->found.n)
        qsort(s->found.v, s->found.n, sizeof *s->found.v, by_rule);
    s->out->v = s->found.v;
    s->out->n = s->found.n;
    return RT_OK;
}

enum rt_code table_findings(struct space *space, const struct table *t, const struct week_kind *week, finding_list *out,
                            struct rt_problems *p)
{
    finding_list made = { 0 };
    struct seeker s = { .out = &made };
    enum rt_code code = judge_open(&s.judge, space, t, week, true, p);
    if (code == RT_OK)
        code = seek(&s, p);
    judge_close(&s.judge);
    if (code == RT_OK)
        *out = made;
    return code;
}
