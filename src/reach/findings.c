/* findings.c - what is odd about a table: rules no packet gets to, rules that change nothing, pairs that contradict each other.
 *
 * The first two come from one descent through the table that keeps, behind each rule that decides, what would decide in its
 * place (judge_descend.c); the pairs from comparing the rules as sets (subjects.c). */
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

static int by_number(const void *a, const void *b)
{
    const uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x > y) - (x < y);
}

/* The rules that decide packets of a set, in words: "rules 1, 2 and 7 together take". */
static bool put_deciders(struct seeker *s, packet_set set, struct buf *out)
{
    struct space *space = s->judge.space;
    struct arena *a = s->judge.stack;
    const packet_set decided = set_apply(space, OP_WITHIN, s->decisions, set);
    VEC(uint32_t) todo = { 0 }, numbers = { 0 };
    unsigned char *seen = ARENA_ARRAY(a, unsigned char, space->n_nodes);
    if (!seen || !VEC_PUSH(a, &todo, decided))
        return false;
    for (uint32_t i = 0; i < todo.n; i++) {
        const packet_set at = todo.v[i];
        if (at & DECISION) {
            if (!VEC_PUSH(a, &numbers, decision_number(at)))
                return false;
            continue;
        }
        if (is_end(at) || seen[at])
            continue;
        seen[at] = 1;
        for (uint32_t k = 0; k < node_at(space, at)->n; k++)
            if (!VEC_PUSH(a, &todo, node_at(space, at)->to[k]))
                return false;
    }
    if (numbers.n)
        qsort(numbers.v, numbers.n, sizeof *numbers.v, by_number);
    uint32_t n = 0;
    for (uint32_t i = 0; i < numbers.n; i++)
        if (i == 0 || numbers.v[i] != numbers.v[i - 1])
            numbers.v[n++] = numbers.v[i];
    buf_text(out, n == 1 ? "rule" : "rules");
    for (uint32_t i = 0; i < n && i < NAMED_IN_WORDS; i++)
        buf_printf(out, "%s %u", i == 0 ? "" : i + 1 == n ? " and" : ",", (unsigned)numbers.v[i]);
    if (n > NAMED_IN_WORDS)
        buf_printf(out, " and %u more", (unsigned)(n - NAMED_IN_WORDS));
    buf_text(out, n == 1 ? " takes" : " together take");
    return true;
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
        const struct arena_mark mark = arena_mark(s->judge.stack);
        const bool ok = put_deciders(s, subject_set(s, i), &b);
        arena_reset(s->judge.stack, mark);
        if (!ok)
            return false;
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

static bool find_single(struct seeker *s, uint32_t i)
{
    const struct marks *m = &s->judge.marks;
    const uint32_t step = s->subjects.v[i].step;
    if (!m->hit[step] && !find_unreachable(s, i))
        return false;
    const bool may_go = s->judge.steps.v[step].kind != STEP_COUNT && !m->needed[step];
    return !may_go || find_redundant(s, i, m->hit[step]);
}

/* Rules in chains that nothing calls. */
static bool find_uncalled(struct seeker *s)
{
    const struct judge *j = &s->judge;
    for (uint32_t c = 0; c < j->table->chains.n; c++)
        for (uint32_t i = 0; i < j->table->chains.v[c].rules.n; i++) {
            const struct rule *r = &j->table->chains.v[c].rules.v[i];
            if (!judge_asks(j, r) || j->step_of_rule[r->number] != NO_REF)
                continue;
            struct buf b = { .arena = words(s) };
            s->out->all[FINDING_UNREACHABLE]++;
            buf_printf(&b, "nothing calls its chain %.*s", STR_ARG(j->table->chains.v[c].name));
            if (!add(s, FINDING_UNREACHABLE, r->number, 0, &b))
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

static enum rt_code seek(struct seeker *s, const struct table *t, const struct week_kind *week, struct rt_problems *p)
{
    struct space *space = s->judge.space;
    RT_TRY(subjects_find(s, p));
    judge_run(&s->judge);
    RT_TRY(space_state(space, p));
    struct judgement *j;
    RT_TRY(judge_table(space, t, week, &j, p));
    s->decisions = judged_decisions(j);
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
        code = seek(&s, t, week, p);
    judge_close(&s.judge);
    if (code == RT_OK)
        *out = made;
    return code;
}
