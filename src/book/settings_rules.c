/* The gateway's rules: hours, then the compiled policy list by list, each rule in words. */
#include "base/units.h"
#include "book/settings_int.h"
#include "reach/rule_words.h"

/* ---- hours ---- */

static const char *const HOURS_COLUMNS[] = { "days and times", "exceptions" };

static struct str exceptions(struct settings_maker *m, const struct hours *hours)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < hours->except.n; i++) {
        const struct day_exception *e = &hours->except.v[i];
        buf_printf(&b, "%s%.*s to %.*s: %s", i ? "; " : "", STR_ARG(e->from_date), STR_ARG(e->to_date),
                   e->holds ? "they hold" : "they do not hold");
        if (e->says.n)
            buf_printf(&b, " (%.*s)", STR_ARG(e->says));
    }
    return hours->except.n ? settings_done(m, &b) : STR("none");
}

static struct str ordinary_week(struct settings_maker *m, uint32_t hours)
{
    const struct str words = calendar_span_words(m->arena, m->x->calendar->ordinary[hours]);
    m->failed |= !words.p;
    return words;
}

static struct str promise_of_hours(struct settings_maker *m, uint32_t hours)
{
    for (uint32_t i = 0; i < m->h->promises.n; i++)
        if (m->h->promises.v[i].hours.i == hours)
            return settings_quote(m, m->h->promises.v[i].says);
    return settings_quote(m, m->h->hours.v[hours].says);
}

static void hours_block(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Hours"),
                       .where = STR("Schedules that rules refer to"),
                       .intro = STR("By the clock on the wall. A rule with hours is judged with every packet, not only "
                                    "with the first of a conversation: what runs when hours begin or end is cut."),
                       .instead = STR("Where the gateway judges only the first packet, have it forget the "
                                      "conversations of these devices at the beginning and the end (a script, or a "
                                      "restart of its memory). Lost without that: a film that began before bedtime "
                                      "goes on. Where it counts in UTC, change the times with summer time. Where it "
                                      "has no exceptions, switch the rule by hand on those days."),
                       .check = STR("Start a long download on a device of the rule and wait for the hour: it stops."),
                       .of = "hours",
                       SETTINGS_COLUMNS(HOURS_COLUMNS) });
    for (uint32_t i = 0; i < m->h->hours.n; i++) {
        const struct str why = settings_because(m, promise_of_hours(m, i), STR(""), "");
        settings_add(m, m->h->hours.v[i].id, HOURS_COLUMNS[0], ordinary_week(m, i), why);
        settings_add(m, m->h->hours.v[i].id, HOURS_COLUMNS[1], exceptions(m, &m->h->hours.v[i]), why);
    }
}

/* ---- rules ---- */

static const char *const LISTS[CHAIN_COUNT] = {
    [CHAIN_START] = "Rules 1: every packet",
    [CHAIN_CROSSING] = "Rules 2: what may cross the gateway at all",
    [CHAIN_ANSWERS] = "Rules 3: answers, where hours close",
    [CHAIN_TO_GATEWAY] = "Rules 4: to the gateway itself",
    [CHAIN_SERVICES] = "Rules 5: what the gateway does for its segments",
    [CHAIN_THROUGH] = "Rules 6: through the gateway",
};

static const char *const INTROS[CHAIN_COUNT] = {
    [CHAIN_START] =
        "Tried in this order; the first that fits decides. Drop is in silence, reject with an answer. What fits none "
        "is dropped in silence. Answers of "
        "conversations that run pass by the gateway's memory of them (stateful filtering). 2001:db8: stands "
        "for the prefix of the provider, which is known once the line is up.",
    [CHAIN_CROSSING] = "Rules 1 lead here, and go on where they were if none fits.",
    [CHAIN_ANSWERS] = "Rules 1 lead here. An hour that closes must cut both directions.",
    [CHAIN_TO_GATEWAY] = "Rules 1 lead here for packets to an address of the gateway (often called input).",
    [CHAIN_SERVICES] = "Rules 4 lead here: refusing a segment the gateway must not take away what it lives on.",
    [CHAIN_THROUGH] = "Rules 1 lead here for all other packets (often called forward). These are the statements of the "
                      "house.",
};

static struct str action_words(struct settings_maker *m, const struct rule *r)
{
    switch (r->action) {
    case ACTION_ACCEPT:
        return STR("accept");
    case ACTION_DROP:
        return STR("drop");
    case ACTION_REJECT:
        return STR("reject");
    case ACTION_JUMP:
        return settings_text(m, "try Rules %u, then go on", (unsigned)r->chain + 1);
    case ACTION_GOTO:
        return settings_text(m, "go on in Rules %u", (unsigned)r->chain + 1);
    case ACTION_RETURN:
        return STR("go back to where the list was called");
    case ACTION_CONTINUE:
        return STR("count only");
    }
    return STR("");
}

/* Axes by the name of the setting; from and to always stand there. */
static const struct {
    uint32_t axis;
    const char *name;
} AXES[] = {
    { AXIS_PROTOCOL, "protocol" },
    { AXIS_DESTINATION_PORT, "destination port" },
    { AXIS_SOURCE_PORT, "source port" },
    { AXIS_ICMP_TYPE, "ICMP type" },
    { AXIS_SOURCE, "source address" },
    { AXIS_DESTINATION, "destination address" },
    { AXIS_SOURCE_MAC, "source MAC address" },
    { AXIS_MARK, "conversations begun by" },
};
static const char *const RULE_COLUMNS[] = { "action", "from", "to", "protocol", "destination port" };

static struct str axis_words(struct settings_maker *m, const struct rule *r, uint32_t axis)
{
    struct buf b = settings_buf(m);
    if (!rule_put_axis_words(&b, m->x->policy, r, axis, &m->failed))
        return STR("");
    return settings_done(m, &b);
}

static struct str reason_of(struct settings_maker *m, const struct rule *r)
{
    switch (r->origin) {
    case ORIGIN_STATEMENT:
        return settings_quote(m, r->says);
    case ORIGIN_SEGMENT: {
        const struct str promise = settings_promise_of_segment(m, 1u << PROMISE_APART, r->which);
        return promise.n ? settings_text(m, "%.*s: %.*s", STR_ARG(promise), STR_ARG(r->says)) : r->says;
    }
    default:
        return r->says;
    }
}

static void watched_names(struct settings_maker *m, struct str item, const struct rule *r, struct str why)
{
    for (uint32_t k = 0; k < m->x->policy->table.named.n; k++) {
        const span_list *in = match_on(&r->match, AXIS_NAMED + k);
        if (in)
            settings_add(m, item, spans_hold(*in, 1) ? "address known for" : "address not known for",
                         m->x->policy->table.named.v[k], why);
    }
}

static void rule(struct settings_maker *m, const struct rule *r)
{
    const struct str item = settings_text(m, "rule %u", (unsigned)r->number), why = reason_of(m, r);
    const struct str from = axis_words(m, r, AXIS_FROM), to = axis_words(m, r, AXIS_TO);
    struct buf states = settings_buf(m);
    rule_put_states(&states, r);
    settings_add(m, item, "action", action_words(m, r), why);
    settings_add(m, item, "from", from.n ? from : STR("any"), why);
    settings_add(m, item, "to", to.n ? to : STR("any"), why);
    for (size_t i = 0; i < RT_COUNT(AXES); i++) {
        const struct str words = axis_words(m, r, AXES[i].axis);
        if (words.n && AXES[i].axis == AXIS_SOURCE_MAC && rule_has_stand_in(m->arena, m->x->plan, r, &m->failed))
            settings_add_open(m, item, AXES[i].name, words, why);
        else if (words.n)
            settings_add(m, item, AXES[i].name, words, why);
    }
    watched_names(m, item, r, why);
    if (r->families != (1u << FAMILY_IPV4 | 1u << FAMILY_IPV6))
        settings_add(m, item, "version", r->families == 1u << FAMILY_IPV4 ? STR("IPv4") : STR("IPv6"), why);
    if (states.n)
        settings_add(m, item, "state", settings_done(m, &states), why);
    if (r->hours.i != NO_REF)
        settings_add(m, item, "hours",
                     settings_text(m, "%.*s (%.*s)", STR_ARG(m->h->hours.v[r->hours.i].id),
                                   STR_ARG(ordinary_week(m, r->hours.i))),
                     why);
    if (r->log)
        settings_add(m, item, "log", STR("on"), why);
}

static void chain(struct settings_maker *m, enum policy_chain c)
{
    const struct chain *chain = &m->x->policy->table.chains.v[c];
    settings_block(m,
                   (struct settings_block){
                       .title = str_from(LISTS[c]),
                       .where = STR("Stateful packet filter, IPv4 and IPv6, in this order"),
                       .standard = STR("RFC 6092 (IPv6), RFC 2827 (honest sources), RFC 4890 (ICMPv6), RFC 6890"),
                       .intro = str_from(INTROS[c]),
                       .instead = c == CHAIN_START
                                      ? STR("A gateway without lists that call each other takes one list: put the "
                                            "rules of the list that is named in the place of the rule that names it, "
                                            "each with the matches of that rule beside its own. One that cannot match "
                                            "MAC addresses cannot tell devices of one segment apart: give them "
                                            "segments of their own, or the rule is lost. One that cannot reject drops "
                                            "instead; lost: apps wait before they give up.")
                                      : STR(""),
                       .check = c == CHAIN_THROUGH
                                    ? STR("From a device of each segment try one thing that is allowed, and one that "
                                          "is not: `rooftree ask` says which rule decides.")
                                    : STR("The gateway counts packets at these rules, and at none that stands behind "
                                          "one that takes all."),
                       .of = "rule",
                       SETTINGS_COLUMNS(RULE_COLUMNS) });
    for (uint32_t i = 0; i < chain->rules.n; i++)
        rule(m, &chain->rules.v[i]);
}

/* Who may get to the gateway's own settings: without a statement nobody will, once the rules stand. */
static void administration(struct settings_maker *m)
{
    uint32_t n = 0;
    settings_block(
        m, (struct settings_block){ .title = STR("Who may set the gateway"),
                                    .where = STR("Access to the administration"),
                                    .standard = STR("RFC 6092 (REC-50)"),
                                    .check = STR("From a visitor's phone the gateway's settings do not open.") });
    for (uint32_t i = 0; i < m->h->statements.n; i++) {
        const struct statement *s = &m->h->statements.v[i];
        bool is_gateway = false;
        for (uint32_t k = 0; k < s->to.n; k++)
            is_gateway |= s->to.v[k].kind == END_GATEWAY;
        if (!is_gateway || s->verdict != VERDICT_ALLOW)
            continue;
        settings_add(m, STR(""), "reached as a statement says", s->says.n ? s->says : s->id,
                     settings_quote(m, s->says));
        n++;
    }
    if (!n)
        settings_add_open(m, STR(""), "reached from",
                          STR("its own console alone: no statement of the house file lets anybody reach it over the "
                              "network; write one before the rules are switched on, or keep a way at its console"),
                          STR("what no statement allows is refused, and the administrator is no exception"));
}

void settings_rules(struct settings_maker *m)
{
    administration(m);
    hours_block(m);
    for (enum policy_chain c = 0; c < CHAIN_COUNT; c++)
        chain(m, c);
}
