#include "promise/prove.h"

#include "base/file.h"

/* The listing once for each kind of week, since its clock is UTC and the house's is not. */
static enum rt_code read_ruleset(struct prove_report *r, const struct proof *own, const char *path,
                                 const struct table ***out, struct rt_problems *p)
{
    const struct run *run = r->ev.run;
    const uint32_t n = own->calendar->kinds.n;
    struct str json;
    struct ruleset_zones zones;
    const struct table **by_week = ARENA_ARRAY(run->arena, const struct table *, n);
    if (!by_week)
        return rt_fail_memory(p);
    RT_TRY(file_read(run->arena, path, RULESET_BYTES_MAX, &json, p));
    RT_TRY(ruleset_zones(run, own->policy->plan, &zones, p));
    for (uint32_t week = 0; week < n; week++) {
        struct ruleset *rules;
        RT_TRY(ruleset_read(run, &zones, &own->calendar->kinds.v[week], path, json, &rules, p));
        by_week[week] = &rules->table;
        if (week == 0)
            r->ruleset_notes = rules->notes;
    }
    *out = by_week;
    return RT_OK;
}

static enum rt_code take_ruleset(struct prove_report *r, const char *path, struct rt_problems *p)
{
    struct proof *own;
    const struct table **by_week = NULL;
    RT_TRY(evaluation_proof(&r->ev, &own, p));
    RT_TRY(read_ruleset(r, own, path, &by_week, p));
    RT_TRY(proof_begin(r->ev.run, own->policy, own->calendar, by_week[0], &r->ev.proof, p));
    r->ev.proof->by_week = by_week;
    return RT_OK;
}

static enum rt_code compare_with(struct prove_report *r, const struct house *other, struct rt_problems *p)
{
    struct evaluation ev = { .run = r->ev.run, .h = other };
    struct proof *proof;
    RT_TRY(evaluation_proof(&ev, &proof, p));
    return difference_make(r->proof, proof, &r->difference, p);
}

enum rt_code prove_report_make(const struct run *run, const struct house *h, const char *ruleset,
                               const struct house *other, struct prove_report *out, struct rt_problems *p)
{
    *out = (struct prove_report){ .ev = { .run = run, .h = h }, .ruleset = ruleset };
    if (h->segments.n == 0)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE,
                       "say under `segments` how the network is divided, and under `statements` "
                       "who may start a conversation with whom",
                       "the house has no segments: there is nothing to prove");
    if (ruleset)
        RT_TRY(take_ruleset(out, ruleset, p));
    RT_TRY(evaluation_proof(&out->ev, &out->proof, p));
    RT_TRY(promises_evaluate(&out->ev, POLICY_PROMISE_KINDS, &out->promises, p));
    RT_TRY(matrix_make(out->proof, &out->matrix, p));
    for (int f = 0; f < FAMILY_COUNT; f++)
        RT_TRY(table_findings(out->proof->spaces[f], out->proof->table, &out->proof->calendar->kinds.v[0],
                              &out->findings[f], p));
    return other ? compare_with(out, other, p) : RT_OK;
}

static const struct rule *rule_by_number(const struct table *t, uint32_t number)
{
    for (uint32_t c = 0; c < t->chains.n; c++)
        for (uint32_t i = 0; i < t->chains.v[c].rules.n; i++)
            if (t->chains.v[c].rules.v[i].number == number)
                return &t->chains.v[c].rules.v[i];
    return NULL;
}

static bool same_finding(const struct finding *a, const struct finding *b)
{
    return a->kind == b->kind && a->rule == b->rule && a->other == b->other;
}

static bool is_among(const finding_list *list, const struct finding *f)
{
    for (uint32_t i = 0; i < list->n; i++)
        if (same_finding(&list->v[i], f))
            return true;
    return false;
}

/* Findings of both families, once each; the callback is told where one holds: both, IPv4 or IPv6 alone. */
typedef void tell_finding(void *user, const struct prove_report *r, const struct finding *f, const char *where);

/* A rule of one family has its finding there; that of both counts only where it is said of both, else it is told apart. */
static void each_finding(const struct prove_report *r, tell_finding *tell, void *user)
{
    static const char *const NAMES[] = { "ipv4", "ipv6" };
    for (int f = 0; f < FAMILY_COUNT; f++)
        for (uint32_t i = 0; i < r->findings[f].n; i++) {
            const struct finding *one = &r->findings[f].v[i];
            const bool in_both = is_among(&r->findings[1 - f], one);
            if (f == FAMILY_IPV6 && in_both)
                continue;
            tell(user, r, one, in_both ? "both" : NAMES[f]);
        }
}

/* ---- JSON ---- */

static void finding_json(void *user, const struct prove_report *r, const struct finding *f, const char *where)
{
    struct json *j = user;
    const struct rule *rule = rule_by_number(r->proof->table, f->rule);
    json_begin_object(j, NULL);
    json_text(j, "kind", finding_name(f->kind));
    json_int(j, "rule", f->rule);
    if (rule && rule->at.line)
        json_int(j, "line", rule->at.line);
    else
        json_null(j, "line");
    if (f->other)
        json_int(j, "other", f->other);
    else
        json_null(j, "other");
    json_text(j, "family", where);
    json_str(j, "because", f->because);
    json_end_object(j);
}

static void notes_json(struct json *j, const note_list *notes)
{
    for (uint32_t i = 0; i < notes->n; i++) {
        json_begin_object(j, NULL);
        if (notes->v[i].at.line)
            json_int(j, "line", notes->v[i].at.line);
        else
            json_null(j, "line");
        json_str(j, "says", notes->v[i].says);
        json_end_object(j);
    }
}

void prove_report_write_json(struct json *j, const struct prove_report *r)
{
    json_begin_object(j, NULL);
    json_str(j, "house", r->ev.h->name);
    json_text(j, "ruleset", r->ruleset);
    json_int(j, "rules", r->proof->table->n_rules);
    matrix_write_json(j, "matrix", r->matrix);
    promises_write_list(j, &r->promises);
    json_begin_array(j, "findings");
    each_finding(r, finding_json, j);
    json_end_array(j);
    json_begin_array(j, "layer2");
    for (uint32_t i = 0; i < r->ev.layer2->findings.n; i++) {
        const struct l2_finding *f = &r->ev.layer2->findings.v[i];
        json_begin_object(j, NULL);
        json_text(j, "kind", l2_finding_name(f->kind));
        json_bool(j, "error", f->is_error);
        json_int(j, "line", f->at.line);
        json_str(j, "says", f->says);
        json_str(j, "hint", f->hint);
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "notes");
    if (r->ruleset) {
        notes_json(j, &r->ruleset_notes);
    } else {
        notes_json(j, &r->proof->policy->plan->notes);
        notes_json(j, &r->proof->policy->notes);
    }
    json_end_array(j);
    if (r->difference)
        difference_write_json(j, "difference", r->difference);
    json_end_object(j);
    json_end(j);
}

/* ---- for people ---- */

enum { COLUMNS_LEAST = 60 };

struct finding_text {
    struct buf *out;
    unsigned n_shown, n_order; /* findings about the order of rules that hold by design are counted, not shown */
};

/* An unreachable rule is also redundant, perhaps shadowed: said once. */
static bool is_said_by(const finding_list *list, const struct finding *f)
{
    if (f->kind == FINDING_UNREACHABLE)
        return false;
    for (uint32_t i = 0; i < list->n; i++)
        if (list->v[i].rule == f->rule && list->v[i].kind == FINDING_UNREACHABLE)
            return true;
    return false;
}

static void finding_text(void *user, const struct prove_report *r, const struct finding *f, const char *where)
{
    struct finding_text *t = user;
    const struct rule *rule = rule_by_number(r->proof->table, f->rule);
    const enum family family = where[3] == '6' ? FAMILY_IPV6 : FAMILY_IPV4;
    if (f->kind == FINDING_CORRELATED || f->kind == FINDING_GENERALISED) {
        t->n_order++;
        return;
    }
    /* the compiler's own rules are not the user's to mend */
    if (is_said_by(&r->findings[family], f) ||
        (rule && (rule->origin == ORIGIN_SEGMENT || rule->origin == ORIGIN_STANDARD)))
        return;
    if (t->n_shown++ == 0)
        buf_text(t->out, "\nOdd rules\n");
    buf_printf(t->out, "  rule %u", (unsigned)f->rule);
    if (rule && rule->at.line)
        buf_printf(t->out, " (line %u)", (unsigned)rule->at.line);
    buf_printf(t->out, " is %s%s: %.*s\n", finding_name(f->kind),
               where[0] == 'b'         ? ""
               : family == FAMILY_IPV4 ? " in IPv4"
                                       : " in IPv6",
               STR_ARG(f->because));
}

/* A sentence over as many lines as it needs, the later ones set in. */
static void write_wrapped(struct buf *out, struct str text, unsigned columns)
{
    enum { INDENT = 2, HANG = 4 };
    for (size_t indent = INDENT; text.n; indent = HANG) {
        buf_fill(out, ' ', indent);
        buf_str(out, str_take_line(&text, columns - indent));
        buf_char(out, '\n');
    }
}

static void write_said(struct buf *out, const char *heading, bool *any, struct str says, uint32_t line,
                       unsigned columns)
{
    const char *text = line ? arena_printf(out->arena, "%.*s (line %u)", STR_ARG(says), (unsigned)line) : NULL;
    if (!*any)
        buf_printf(out, "\n%s\n", heading);
    *any = true;
    write_wrapped(out, text ? str_from(text) : says, columns);
}

static void notes_text(struct buf *out, const note_list *notes, bool *any, unsigned columns)
{
    for (uint32_t i = 0; i < notes->n; i++)
        write_said(out, "To know", any, notes->v[i].says, notes->v[i].at.line, columns);
}

static void layer2_text(struct buf *out, const struct layer2 *l2, unsigned columns)
{
    bool any = false;
    for (uint32_t i = 0; i < l2->findings.n; i++) {
        const struct l2_finding *f = &l2->findings.v[i];
        const char *text =
            arena_printf(out->arena, "%s%.*s: %.*s", f->is_error ? "wrong: " : "", STR_ARG(f->says), STR_ARG(f->hint));
        write_said(out, "Ports, sockets and Wi-Fi names", &any, str_from(text ? text : ""), f->at.line, columns);
    }
}

static void sections_text(struct buf *out, const struct prove_report *r, unsigned columns)
{
    struct finding_text findings = { .out = out };
    bool any = false;
    each_finding(r, finding_text, &findings);
    if (findings.n_order && r->ruleset) /* those of the compiled rules are exceptions on purpose */
        buf_printf(out, "%s  %u pairs of rules depend on their order, as exceptions do; --json lists them\n",
                   findings.n_shown ? "" : "\nOdd rules\n", findings.n_order);
    if (r->ruleset) { /* the other notes are about the compiled rules */
        notes_text(out, &r->ruleset_notes, &any, columns);
        return;
    }
    layer2_text(out, r->ev.layer2, columns);
    notes_text(out, &r->proof->policy->plan->notes, &any, columns);
    notes_text(out, &r->proof->policy->notes, &any, columns);
}

void prove_report_write_text(struct buf *out, const struct prove_report *r, unsigned columns, bool colour)
{
    const struct promise_results *q = &r->promises;
    buf_printf(out, "%.*s", STR_ARG(r->ev.h->name));
    const size_t used = str_columns(r->ev.h->name);
    buf_fill(out, ' ', used < 30 ? 32 - used : 2);
    buf_printf(out, "%u kept   %u broken   %u unknown   ", (unsigned)q->n_kept, (unsigned)q->n_broken,
               (unsigned)q->n_unknown);
    if (r->ruleset)
        buf_printf(out, "%u rules of %s\n", (unsigned)r->proof->table->n_rules, r->ruleset);
    else
        buf_printf(out, "%u statements, %u rules\n", (unsigned)r->ev.h->statements.n,
                   (unsigned)r->proof->table->n_rules);
    buf_text(out, "\nWho may begin a conversation with whom\n\n");
    matrix_write_text(out, r->matrix, columns);
    promises_write_rows(out, q, "Apart", columns, colour);
    sections_text(out, r, columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns);
    if (r->difference) {
        buf_printf(out, "\nAgainst %s\n", r->difference->other->policy->h->path);
        difference_write_text(out, r->difference);
    }
}
