/* Statements as rules, in the file's order.
 *
 * A statement is every pair of its senders and receivers, for its services.  What is a whole zone is one term; devices are one
 * rule for each of their segments.  No rule is made where the gateway would never see the packet: both ends in one segment, a
 * flow that cannot leave its link. */
#include "reach/policy_int.h"

/* One statement while it is compiled. */
struct job {
    struct compiler *c;
    uint32_t i;
    const struct statement *s;
    struct str name, says;
    struct ends from, to;
    uint32_t n_rules;
    bool within_segment; /* a pair was left out since the gateway never sees it */
};

/* ---- words ---- */

static struct str end_words(const struct house *h, const struct endpoint *e)
{
    struct str says = { 0 };
    if (e->kind == END_GATEWAY)
        return STR("the gateway");
    if (e->kind == END_INTERNET)
        return STR("the internet");
    if (e->kind == END_GROUP)
        says = h->groups.v[e->i].says;
    else if (e->kind == END_DEVICE)
        says = h->devices.v[e->i].says;
    else if (e->kind == END_PERSON)
        says = h->people.v[e->i].says;
    return says.n ? says : e->name;
}

static void add_endpoints(struct buf *b, const struct house *h, const endpoint_list *list)
{
    for (uint32_t i = 0; i < list->n; i++)
        policy_list_word(b, i, list->n, end_words(h, &list->v[i]));
}

struct str statement_words(struct arena *a, const struct house *h, const struct statement *s)
{
    if (s->says.n)
        return s->says;
    struct buf b = { .arena = a };
    add_endpoints(&b, h, &s->from);
    buf_text(&b, s->verdict == VERDICT_ALLOW ? " may talk with " : " may not talk with ");
    add_endpoints(&b, h, &s->to);
    for (uint32_t k = 0; k < s->services.n; k++) {
        buf_text(&b, k == 0 ? " (" : "");
        policy_list_word(&b, k, s->services.n, s->services.v[k]);
        buf_text(&b, k + 1 == s->services.n ? ")" : "");
    }
    return buf_done(&b);
}

struct str policy_statement_name(struct compiler *c, uint32_t i)
{
    const struct statement *s = &c->h->statements.v[i];
    const char *text =
        s->id.n ? arena_printf(c->a, "'%.*s'", STR_ARG(s->id)) : arena_printf(c->a, "statement %u", (unsigned)i + 1);
    c->failed = c->failed || !text;
    return text ? str_from(text) : (struct str){ 0 };
}

/* ---- rules ---- */

static bool is_one_zone(const struct match *m, uint32_t axis, uint32_t *zone)
{
    const span_list *in = match_on(m, axis);
    if (!in || in->n != 1 || in->v[0].lo != in->v[0].hi)
        return false;
    *zone = (uint32_t)in->v[0].lo;
    return true;
}

/* Both ends in the same segment: their packets do not come to the gateway. */
static bool is_within_segment(const struct job *j, const struct match *from, const struct match *to)
{
    uint32_t a, b;
    return is_one_zone(from, AXIS_FROM, &a) && is_one_zone(to, AXIS_TO, &b) && a == b && is_segment_zone(j->c->h, a);
}

static void take_terms(struct compiler *c, struct match *m, const struct match *from)
{
    for (uint32_t i = 0; i < from->terms.n; i++)
        policy_in(c, m, from->terms.v[i].axis, from->terms.v[i].in);
}

static void add_rule(struct job *j, enum policy_chain chain, unsigned families, enum action action,
                     const struct piece *from, const struct piece *to, const struct piece *service)
{
    families &= from->families & to->families & service->families;
    if (!families)
        return;
    if (is_within_segment(j, &from->match, &to->match)) {
        j->within_segment = true;
        return;
    }
    struct rule *r = policy_rule(j->c, chain, families, action, "%.*s", STR_ARG(j->says));
    policy_from(r, ORIGIN_STATEMENT, j->i, j->s->at);
    r->hours = j->s->hours;
    r->log = j->s->log;
    take_terms(j->c, &r->match, &from->match);
    take_terms(j->c, &r->match, &to->match);
    take_terms(j->c, &r->match, &service->match);
    j->n_rules++;
}

static void add_rules(struct job *j, enum policy_chain chain, unsigned families, enum action action, piece_list senders,
                      piece_list receivers, piece_list services)
{
    for (uint32_t a = 0; a < senders.n; a++)
        for (uint32_t b = 0; b < receivers.n; b++)
            for (uint32_t k = 0; k < services.n; k++)
                add_rule(j, chain, families, action, &senders.v[a], &receivers.v[b], &services.v[k]);
}

/* The senders of the statement: those of the house, and the internet, apart or together. */
static piece_list senders(struct job *j, bool inside, bool internet)
{
    struct compiler *c = j->c;
    struct ends e = j->from;
    bool *zones = ARENA_ARRAY(c->a, bool, policy_n_zones(c->h)), *none = ARENA_ARRAY(c->a, bool, c->h->devices.n),
         *nobody = ARENA_ARRAY(c->a, bool, c->h->people.n);
    if (!zones || !none || !nobody) {
        c->failed = true;
        return (piece_list){ 0 };
    }
    for (uint32_t z = 0; z < policy_n_zones(c->h); z++)
        zones[z] = j->from.zones[z] && (z == ZONE_INTERNET ? internet : inside);
    e.zones = zones;
    if (!inside) {
        e.devices = none;
        e.people = nobody;
    }
    return ends_senders(c->a, c->h, c->plan, &e, &c->failed);
}

/* By IPv4 the internet gets no further than the gateway unless an opening translates; and what is refused is refused with an
 * answer inside the house, in silence from the internet. */
static void add_pairs(struct job *j, enum policy_chain chain, piece_list receivers, piece_list services)
{
    const bool internet = j->from.zones[ZONE_INTERNET];
    if (j->s->verdict == VERDICT_REFUSE) {
        if (internet)
            add_rules(j, chain, BOTH_FAMILIES, ACTION_DROP, senders(j, false, true), receivers, services);
        add_rules(j, chain, BOTH_FAMILIES, ACTION_REJECT, senders(j, true, false), receivers, services);
    } else if (internet && chain == CHAIN_THROUGH) {
        add_rules(j, chain, IPV4, ACTION_ACCEPT, senders(j, true, false), receivers, services);
        add_rules(j, chain, IPV6, ACTION_ACCEPT, senders(j, true, true), receivers, services);
    } else {
        add_rules(j, chain, BOTH_FAMILIES, ACTION_ACCEPT, senders(j, true, true), receivers, services);
    }
}

/* ---- internet names ---- */

enum { NAMES_MAX = 64 }; /* bits of struct packet's `named` */

static uint32_t name_axis(struct job *j, struct str name)
{
    struct compiler *c = j->c;
    for (uint32_t k = 0; k < c->names.n; k++)
        if (str_eq(c->names.v[k].name, name))
            return c->names.v[k].axis;
    if (c->names.n == NAMES_MAX) {
        policy_fail(c, RT_LIMIT, j->s->at, "leave some of them out",
                    "%.*s: more than %d different internet names are too many for one table", STR_ARG(j->name),
                    NAMES_MAX);
        return AXIS_NAMED;
    }
    const struct watched_name watched = { name, AXIS_NAMED + c->names.n };
    if (!VEC_PUSH(c->a, &c->names, watched))
        c->failed = true;
    return watched.axis;
}

static piece_list name_receivers(struct job *j)
{
    struct compiler *c = j->c;
    piece_list out = { ARENA_ARRAY(c->a, struct piece, j->to.names.n), 0 };
    if (!out.v) {
        c->failed = true;
        return out;
    }
    for (uint32_t k = 0; k < j->to.names.n; k++) {
        struct piece *p = &out.v[out.n++];
        p->families = BOTH_FAMILIES;
        policy_is(c, &p->match, AXIS_TO, ZONE_INTERNET);
        policy_is(c, &p->match, name_axis(j, j->to.names.v[k]), 1);
    }
    return out;
}

/* ---- one statement ---- */

static bool senders_are_right(struct job *j)
{
    struct compiler *c = j->c;
    for (uint32_t k = 0; k < j->s->from.n; k++) {
        const struct endpoint *e = &j->s->from.v[k];
        if (e->kind == END_NAME) {
            policy_fail(c, RT_RANGE, e->at, "write 'internet', or a port opening with the caller's address range",
                        "%.*s: '%.*s' cannot start a conversation: whose address it has is known only when the house "
                        "asks for it",
                        STR_ARG(j->name), STR_ARG(e->name));
            return false;
        }
        if (e->kind == END_GATEWAY)
            policy_note(c, e->at, "%.*s: the gateway itself may always talk with anyone", STR_ARG(j->name));
    }
    return true;
}

static void compile_pairs(struct job *j)
{
    struct compiler *c = j->c;
    j->from.zones[ZONE_GATEWAY] = false;
    if (j->to.zones[ZONE_GATEWAY]) {
        struct piece gateway = { .families = BOTH_FAMILIES };
        policy_is(c, &gateway.match, AXIS_TO, ZONE_GATEWAY);
        add_pairs(j, CHAIN_TO_GATEWAY, (piece_list){ &gateway, 1 },
                  services_pieces(c->a, c->h, &j->s->services, true, &c->failed));
        j->to.zones[ZONE_GATEWAY] = false;
    }
    const piece_list services = services_pieces(c->a, c->h, &j->s->services, false, &c->failed);
    add_pairs(j, CHAIN_THROUGH, ends_receivers(c->a, c->h, c->plan, &j->to, &c->failed), services);
    add_pairs(j, CHAIN_THROUGH, name_receivers(j), services);
}

static void compile_statement(struct compiler *c, uint32_t i)
{
    struct job j = { .c = c, .i = i, .s = &c->h->statements.v[i] };
    j.name = policy_statement_name(c, i);
    j.says = statement_words(c->a, c->h, j.s);
    c->failed = c->failed || !j.says.p;
    ends_gather(c->a, c->h, j.s->from.v, j.s->from.n, &j.from, &c->failed);
    ends_gather(c->a, c->h, j.s->to.v, j.s->to.n, &j.to, &c->failed);
    if (c->failed || !senders_are_right(&j))
        return;
    policy_statement_notes(c, i, j.name, &j.from, &j.to);
    compile_pairs(&j);
    if (j.n_rules == 0)
        policy_statement_empty(c, i, j.name, j.within_segment);
}

/* A tunnel's people count as in their segment: what talks there without the gateway talks with them too. */
static void tunnel_in_segment(struct compiler *c, uint32_t i)
{
    const struct remote_access *t = &c->h->remote_access.v[i];
    const struct span inside = { zone_of_segment(t->segment.i), zone_of_segment(t->segment.i) };
    const struct span tunnel = { zone_of_tunnel(c->h, i), zone_of_tunnel(c->h, i) };
    const struct span both[] = { inside, tunnel };
    for (int back = 0; back < 2; back++) {
        struct rule *r = policy_rule(c, CHAIN_THROUGH, BOTH_FAMILIES, ACTION_ACCEPT,
                                     "The people of the tunnel '%.*s' count as in '%.*s'", STR_ARG(t->id),
                                     STR_ARG(c->h->segments.v[t->segment.i].id));
        policy_from(r, ORIGIN_REMOTE_ACCESS, i, t->at);
        policy_within(c, &r->match, AXIS_FROM, back ? inside.lo : tunnel.lo, back ? inside.hi : tunnel.hi);
        policy_in(c, &r->match, AXIS_TO,
                  back ? spans_tidy(c->a, &tunnel, 1, &c->failed) : spans_tidy(c->a, both, 2, &c->failed));
    }
}

void policy_statements(struct compiler *c)
{
    for (uint32_t i = 0; i < c->h->statements.n && !c->failed; i++)
        compile_statement(c, i);
    for (uint32_t i = 0; i < c->h->remote_access.n; i++)
        tunnel_in_segment(c, i);
}
