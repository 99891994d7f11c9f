/* A rehearsal as a person reads it, and as programs do. */
#include <stdio.h>

#include "reach/rehearse.h"

enum { ZONE_COLUMNS_LEAST = 24, FIGURE_COLUMNS = 12, SHOWN_MAX = 20, TITLE_COLUMNS = 32 };

static const char *state_word(axis_value state)
{
    static const char *const WORDS[STATE_COUNT] = {
        "new", "of a running conversation", "an answer", "related", "out of nowhere", "not tracked"
    };
    return state < STATE_COUNT ? WORDS[state] : "";
}

static const char *state_key(axis_value state)
{
    static const char *const KEYS[STATE_COUNT] = { "new", "established", "reply", "related", "invalid", "untracked" };
    return state < STATE_COUNT ? KEYS[state] : "";
}

static bool has_ports(const struct packet *p)
{
    return p->at[AXIS_PROTOCOL] == IP_TCP || p->at[AXIS_PROTOCOL] == IP_UDP;
}

static void end_words(struct buf *out, const struct packet *p, enum axis address, enum axis port)
{
    const bool bracket = p->family == FAMILY_IPV6 && has_ports(p);
    buf_text(out, bracket ? "[" : "");
    address_write(out, p->family, p->at[address]);
    buf_text(out, bracket ? "]" : "");
    if (has_ports(p))
        buf_printf(out, ":%u", (unsigned)p->at[port]);
}

void disagreement_packet_words(struct buf *out, const struct disagreement *d)
{
    const struct packet *p = &d->packet;
    const char *protocol = ip_protocol_name((enum ip_protocol)p->at[AXIS_PROTOCOL]);
    buf_text(out, protocol ? protocol : "?");
    buf_char(out, ' ');
    end_words(out, p, AXIS_SOURCE, AXIS_SOURCE_PORT);
    buf_text(out, " to ");
    end_words(out, p, AXIS_DESTINATION, AXIS_DESTINATION_PORT);
    if (!has_ports(p))
        buf_printf(out, " type %u", (unsigned)p->at[AXIS_ICMP_TYPE]);
    buf_printf(out, ", %s%s", state_word(p->at[AXIS_STATE]), d->is_forged ? ", its sender invented" : "");
}

void rehearsed_rule_words(struct buf *out, const struct rule *rule)
{
    if (!rule) {
        buf_text(out, "no rule");
        return;
    }
    buf_printf(out, "rule %u", rule->number);
    if (rule->at.line)
        buf_printf(out, ", line %u", rule->at.line);
    if (rule->says.n)
        buf_printf(out, ": %.*s", STR_ARG(rule->says));
}

/* ---- text ---- */

static void pad(struct buf *out, struct str s, size_t columns, bool right)
{
    const size_t used = str_columns(s), fill = used < columns ? columns - used : 0;
    if (right)
        buf_fill(out, ' ', fill);
    buf_str(out, s);
    if (!right)
        buf_fill(out, ' ', fill);
}

static void figure(struct buf *out, uint32_t n)
{
    char text[16];
    snprintf(text, sizeof text, "%u", n);
    pad(out, str_from(text), FIGURE_COLUMNS, true);
}

static void write_zones(struct buf *out, const struct rehearsal *r)
{
    static const char *const HEADS[] = { "probes", "let through", "refused", "in silence", "as proven" };
    size_t zone_columns = ZONE_COLUMNS_LEAST;
    for (uint32_t z = 0; z < r->policy->plan->n_zones; z++) {
        const size_t n = str_columns(zone_words(r->policy->plan, z));
        zone_columns = n > zone_columns ? n : zone_columns;
    }
    buf_text(out, "\n  ");
    pad(out, STR("From"), zone_columns, false);
    for (size_t i = 0; i < RT_COUNT(HEADS); i++)
        pad(out, str_from(HEADS[i]), FIGURE_COLUMNS, true);
    buf_char(out, '\n');
    for (uint32_t z = 0; z < r->policy->plan->n_zones; z++) {
        const struct rehearsed_zone *zone = &r->zones[z];
        if (zone->n_probes == 0)
            continue;
        buf_text(out, "  ");
        pad(out, zone_words(r->policy->plan, z), zone_columns, false);
        figure(out, zone->n_probes);
        figure(out, zone->n_through);
        figure(out, zone->n_refused);
        figure(out, zone->n_silent);
        figure(out, zone->n_agreed);
        buf_char(out, '\n');
    }
}

static void write_hours(struct buf *out, const struct rehearsal *r)
{
    if (r->policy->h->hours.n == 0)
        return;
    buf_printf(out, "\n  Hours were moved around now, in %u ways.", r->n_rounds);
    if (r->n_conversations)
        buf_printf(out, "  %u conversations ran while they began or ended: %u had to end and did.", r->n_conversations,
                   r->n_cut);
    buf_char(out, '\n');
}

static void write_disagreements(struct buf *out, const struct rehearsal *r)
{
    for (uint32_t i = 0; i < r->disagreed.n && i < SHOWN_MAX; i++) {
        const struct disagreement *d = &r->disagreed.v[i];
        buf_printf(out, "\n  %.*s to %.*s, %.*s\n    packet    ", STR_ARG(d->from), STR_ARG(d->to), STR_ARG(d->hours));
        disagreement_packet_words(out, d);
        buf_printf(out, "\n    kernel    %.*s\n    proof     %.*s, by ", STR_ARG(d->kernel), STR_ARG(d->proof));
        rehearsed_rule_words(out, d->rule);
        buf_char(out, '\n');
    }
    if (r->disagreed.n > SHOWN_MAX)
        buf_printf(out, "\n  and %u more (--json lists them all)\n", r->disagreed.n - SHOWN_MAX);
}

void rehearsal_write_text(struct buf *out, const struct rehearsal *r)
{
    pad(out, r->policy->h->name, TITLE_COLUMNS, false);
    buf_printf(out, "%u of %u probes as proven   %u namespaces   %.1f s\n\n", r->n_agreed, r->n_probes, r->n_nodes,
               r->seconds);
    if (r->disagreed.n == 0)
        buf_text(out, "The kernel does what is proven: every packet passed or was stopped as the proof says.\n");
    else
        buf_printf(out,
                   "The kernel does otherwise than is proven in %u cases.  That is a mistake of this program: do not "
                   "trust\nthe rules until it is found.\n",
                   r->disagreed.n);
    write_disagreements(out, r);
    write_zones(out, r);
    write_hours(out, r);
    if (!r->refusals_counted)
        buf_text(out,
                 "\n  This kernel limits how often a gateway may refuse, so a refusal and a silence count as one.\n");
}

/* ---- JSON ---- */

static void json_address(struct json *j, struct arena *a, const char *key, enum family family, axis_value address)
{
    struct buf text = { .arena = a };
    address_write(&text, family, address);
    j->out->failed |= text.failed;
    json_str(j, key, buf_done(&text));
}

static void json_disagreement(struct json *j, const struct disagreement *d)
{
    const struct packet *p = &d->packet;
    struct arena *a = j->out->arena;
    json_begin_object(j, NULL);
    json_str(j, "from", d->from);
    json_str(j, "to", d->to);
    json_str(j, "hours", d->hours);
    json_text(j, "family", p->family == FAMILY_IPV4 ? "ipv4" : "ipv6");
    json_text(j, "protocol", ip_protocol_name((enum ip_protocol)p->at[AXIS_PROTOCOL]));
    json_address(j, a, "source", p->family, p->at[AXIS_SOURCE]);
    json_address(j, a, "destination", p->family, p->at[AXIS_DESTINATION]);
    if (has_ports(p)) {
        json_int(j, "source_port", (int64_t)p->at[AXIS_SOURCE_PORT]);
        json_int(j, "destination_port", (int64_t)p->at[AXIS_DESTINATION_PORT]);
    } else {
        json_int(j, "icmp_type", (int64_t)p->at[AXIS_ICMP_TYPE]);
    }
    json_text(j, "state", state_key(p->at[AXIS_STATE]));
    json_bool(j, "forged", d->is_forged);
    json_str(j, "kernel", d->kernel);
    json_str(j, "proof", d->proof);
    if (d->rule) {
        json_begin_object(j, "rule");
        json_int(j, "number", d->rule->number);
        json_int(j, "line", d->rule->at.line);
        json_str(j, "says", d->rule->says);
        json_end_object(j);
    } else {
        json_null(j, "rule");
    }
    json_end_object(j);
}

void rehearsal_write_json(struct json *j, const struct rehearsal *r)
{
    json_begin_object(j, NULL);
    json_str(j, "house", r->policy->h->name);
    json_int(j, "probes", r->n_probes);
    json_int(j, "agreed", r->n_agreed);
    json_begin_array(j, "disagreed");
    for (uint32_t i = 0; i < r->disagreed.n; i++)
        json_disagreement(j, &r->disagreed.v[i]);
    json_end_array(j);
    json_begin_array(j, "from");
    for (uint32_t z = 0; z < r->policy->plan->n_zones; z++) {
        const struct rehearsed_zone *zone = &r->zones[z];
        if (zone->n_probes == 0)
            continue;
        json_begin_object(j, NULL);
        json_str(j, "zone", zone_id(r->policy->plan, z));
        json_int(j, "probes", zone->n_probes);
        json_int(j, "through", zone->n_through);
        json_int(j, "refused", zone->n_refused);
        json_int(j, "silent", zone->n_silent);
        json_int(j, "agreed", zone->n_agreed);
        json_end_object(j);
    }
    json_end_array(j);
    json_int(j, "rounds", r->n_rounds);
    json_begin_object(j, "conversations");
    json_int(j, "ran", r->n_conversations);
    json_int(j, "cut", r->n_cut);
    json_end_object(j);
    json_bool(j, "refusals_counted", r->refusals_counted);
    json_fixed(j, "seconds", r->seconds, 2);
    json_end_object(j);
    json_end(j);
}
