/* Before anything, the provider's box, and the line. */
#include "base/units.h"
#include "book/settings_int.h"
#include "data/device_kinds.h"
#include "load/line_load.h"
#include "promise/wire_words.h"

/* ---- before anything ---- */

static const char *const BEFORE[] = { "notes and back-up", "firmware", "administrator's password",
                                      "administration from outside" };

static const char *const BEFORE_WHY =
    "a copy is the way back; old firmware is the usual way in; the password it was made with is in its manual for all "
    "to read; what can be set from outside will be, by others";

static bool is_set_by_hand(const struct part *part)
{
    return part && (part->kind == PART_GATEWAY || part->kind == PART_ACCESS_POINT || part->kind == PART_RECORDER ||
                    (part->kind == PART_SWITCH && part->vlans));
}

/* Does a statement let anyone ask the gateway to open ports by itself? */
static bool may_open_ports(const struct house *h)
{
    for (uint32_t i = 0; i < h->statements.n; i++) {
        const struct statement *s = &h->statements.v[i];
        bool to_gateway = false, asks = false;
        for (uint32_t k = 0; k < s->to.n; k++)
            to_gateway |= s->to.v[k].kind == END_GATEWAY;
        for (uint32_t k = 0; k < s->services.n; k++)
            asks |= str_is(s->services.v[k], "pcp") || str_is(s->services.v[k], "nat_pmp");
        if (to_gateway && asks && s->verdict == VERDICT_ALLOW)
            return true;
    }
    return false;
}

static void before_one(struct settings_maker *m, struct str item, bool has_radio, bool translates)
{
    const struct str why = str_from(BEFORE_WHY);
    settings_add(m, item, BEFORE[0], STR("noted, a copy saved"), why);
    settings_add(m, item, BEFORE[1], STR("the newest, updates by itself"), why);
    settings_add(m, item, BEFORE[2], STR("changed"), why);
    settings_add(m, item, BEFORE[3], STR("off"), why);
    if (has_radio)
        settings_add(m, item, "Wi-Fi Protected Setup (WPS)", STR("off"), why);
    if (translates && may_open_ports(m->h))
        settings_add(m, item, "ports opened on request (UPnP IGD, RFC 6970; PCP, RFC 6887)",
                     STR("on, for those alone that the rules let ask"), why);
    else if (translates)
        settings_add(m, item, "ports opened on request (UPnP IGD, RFC 6970; PCP, RFC 6887)",
                     STR("off: no statement asks for it"), why);
}

static bool takes_pictures(const struct device *d)
{
    const struct device_kind *kind = device_kind_find(d->kind);
    return d->link != LINK_NONE && ((kind && kind->takes_pictures) || str_is(d->kind, "recorder"));
}

void settings_before(struct settings_maker *m)
{
    const struct house *h = m->h;
    settings_thing(m, STR("all"), STR("Before anything"),
                   STR("The network will be away for a while: say so to the house, and have this sheet on paper."));
    settings_block(
        m, (struct settings_block){
               .title = STR("Everything that has settings of its own"),
               .where = STR("Administration, firmware, access to the settings"),
               .standard = STR("RFC 6092 (REC-50, remote administration); else common practice, no source"),
               .intro = STR("From a computer on a cable. Note what it has now, save a copy of its settings, then "
                            "set it back to as it was made. Take the firmware from its maker. The password is "
                            "a long one, another for each thing, kept where the household keeps such things. "
                            "Outside is the internet, and a service of the maker's."),
               .instead = STR("A thing whose password or remote administration cannot be changed does not "
                              "belong into this house: put another in its place."),
               .check = STR("Sign in with the old password: it must be refused."),
               .of = "thing",
               SETTINGS_COLUMNS(BEFORE) });
    if (h->line.box.mode != BOX_NONE)
        before_one(m, STR("the provider's box"), true, h->line.box.mode == BOX_ROUTER);
    if (m->x->l2->gateway == NO_REF)
        before_one(m, STR("the gateway"), false, true);
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *part = settings_part(h, e);
        if (is_set_by_hand(part))
            before_one(m, h->equipment.v[e].id, part->radios.n > 0, part->kind == PART_GATEWAY);
    }
    for (uint32_t d = 0; d < h->devices.n; d++)
        if (takes_pictures(&h->devices.v[d]))
            before_one(m, h->devices.v[d].id, false, false);
}

/* ---- the provider's box ---- */

static void foreign_ranges(struct settings_maker *m)
{
    for (uint32_t i = 0; i < m->h->foreign_ranges.n; i++) {
        const struct foreign_range *r = &m->h->foreign_ranges.v[i];
        settings_add(
            m, r->range, "kept clear", STR("in no segment, no range and no route of the house"),
            settings_because(m, settings_quote(m, r->says), STR(""),
                             "an address that stands on both sides of a tunnel or of the box reaches neither"));
    }
}

static void box_routes(struct settings_maker *m)
{
    const struct house *h = m->h;
    const struct address_plan *plan = m->x->plan;
    const char *own = "the gateway keeps the segments apart; the box only carries them on";
    settings_add(m, STR(""), "mode", STR("routed, as the house file says"),
                 settings_because(m, settings_promise(m, 1u << PROMISE_LINE), STR(""),
                                  "addresses are translated twice; pass the line through instead if the box can"));
    if (plan->box_ipv4.is_given)
        settings_add(m, STR(""), "its own subnet (IPv4)", settings_prefix(m, plan->box_ipv4), str_from(own));
    else
        settings_add_open(m, STR(""), "its own subnet (IPv4)",
                          STR("not in the house file: read it there, and write it under line, box, ipv4"),
                          str_from(own));
    settings_add(m, STR(""), "address of the gateway in it",
                 STR("one reserved by DHCP for the MAC address of the gateway's socket to the line"),
                 STR("what is let through to it must find it there tomorrow"));
    if (plan->delegated.is_given)
        settings_add(m, STR(""), "IPv6 prefix handed on",
                     settings_text(m, "by DHCPv6 prefix delegation, a /%u", plan->delegated.len),
                     STR("each segment needs a /64 of its own (RFC 7084, L-2)"));
    for (uint32_t i = 0; i < m->x->policy->translations.n; i++) {
        const struct translation *t = &m->x->policy->translations.v[i];
        settings_add(
            m, STR(""), "port opening to the gateway",
            settings_text(m, "%s %u-%u", ip_protocol_name(t->protocol), (unsigned)t->port_from, (unsigned)t->port_to),
            settings_quote(m, h->port_openings.v[t->opening].says));
    }
    for (uint32_t i = 0; i < h->remote_access.n && !plan->shared_ipv4 && !plan->no_ipv4; i++)
        settings_add(m, STR(""), "port opening to the gateway", settings_text(m, "udp %u", plan->tunnels[i].port),
                     settings_quote(m, h->remote_access.v[i].says));
}

void settings_box(struct settings_maker *m)
{
    const struct provider_box *box = &m->h->line.box;
    settings_thing(m, STR("line"), STR("The provider's box"), STR(""));
    settings_block(m, (struct settings_block){
                          .title = STR("How the box passes the line on"),
                          .where = STR("Bridge or router, wireless, local network"),
                          .standard = STR("RFC 7084; RFC 8415 (prefix delegation)"),
                          .instead = STR("A box that cannot be a bridge stays a router: say so in the house file and "
                                         "export again. Lost: what comes in by IPv4 needs its settings too, since "
                                         "addresses are translated twice."),
                          .check = STR("A computer in place of the gateway gets an address from the line; no SSID of "
                                       "the box is on the air.") });
    if (box->mode == BOX_NONE)
        settings_add(m, STR(""), "mode", STR("there is no box: the gateway is on the line itself"), STR(""));
    else if (box->mode == BOX_MODEM)
        settings_add(m, STR(""), "mode", STR("bridge: it passes everything through"),
                     settings_because(m, settings_promise(m, 1u << PROMISE_LINE), STR(""),
                                      "one place translates addresses and judges packets, the gateway"));
    else
        box_routes(m);
    if (box->mode != BOX_NONE)
        settings_add(m, STR(""), "its own Wi-Fi",
                     box->wifi_on ? STR("on, as the house file says: on a channel away from the plan's") : STR("off"),
                     settings_because(m, settings_promise(m, 1u << PROMISE_QUIET), STR(""),
                                      "another voice on the air, and a way into the house past the gateway's rules"));
    settings_block(m, (struct settings_block){
                          .title = STR("Addresses kept clear"),
                          .where = STR("Local network, static routes"),
                          .standard = STR("RFC 1918; RFC 6598"),
                          .of = "range",
                          .check = STR("With the work tunnel up, both its far end and the printer answer.") });
    foreign_ranges(m);
}

/* ---- the line ---- */

static void address_of_line(struct settings_maker *m)
{
    const struct address_plan *plan = m->x->plan;
    const struct str why = settings_because(m, settings_promise(m, 1u << PROMISE_LINE), STR(""),
                                            "the line's own addresses come from the provider");
    if (plan->no_ipv4)
        settings_add_open(m, STR(""), "IPv4 over IPv6",
                          STR("the line has no IPv4 of its own; by which way it comes the house file does not say: ask "
                              "the provider (DS-Lite RFC 6333, MAP-E RFC 7597, 464XLAT RFC 6877)"),
                          why);
    else if (plan->translated_twice)
        settings_add(m, STR(""), "IPv4 address", STR("by DHCP (RFC 2131), from the provider's box"), why);
    else
        settings_add_open(m, STR(""), "IPv4 address",
                          STR("which way the house file does not say: DHCP (RFC 2131), or PPPoE (RFC 2516) if the "
                              "provider gave a user name; an 802.1Q tag on the line if the provider names one"),
                          why);
    if (plan->delegated.is_given)
        settings_add(m, STR(""), "IPv6 prefix",
                     settings_text(m, "by DHCPv6 prefix delegation (RFC 8415), hint /%u", plan->delegated.len),
                     settings_text(m,
                                   "one /64 for each of %u segments; addresses of the line itself by router "
                                   "advertisement",
                                   (unsigned)m->h->segments.n));
    else
        settings_add(m, STR(""), "IPv6 on the line", STR("off: the house file gives the line no prefix"),
                     STR("addresses that nobody planned would pass the rules for IPv4"));
    settings_add(m, STR(""), "translation of IPv4 addresses (NAPT)",
                 m->x->policy->translates_ipv4 ? STR("on, for what leaves to the line") : STR("off"),
                 STR("the provider gives one IPv4 address for all (RFC 2663); between segments nothing is translated"));
}

static const char *framing_words(const struct line *line)
{
    static const char *const WORDS[] = {
        [FRAMING_BY_KIND] = "none",
        [FRAMING_NONE] = "none",
        [FRAMING_PTM] = "PTM (64 of 65 octets)",
        [FRAMING_ATM] = "ATM cells (48 of 53 octets)",
        [FRAMING_DOCSIS] = "DOCSIS (at least 64 octets)",
        [FRAMING_ETHERNET] = "Ethernet (at least 84 octets)",
    };
    return WORDS[line_framing_of(line)];
}

static void shaping(struct settings_maker *m)
{
    const struct line *line = &m->h->line;
    const struct line_delay down = line_delay_of(line, LOAD_DOWN), up = line_delay_of(line, LOAD_UP);
    const struct str sentence = settings_promise(m, 1u << PROMISE_LINE);
    settings_block(m, (struct settings_block){
                          .title = STR("Shaping"),
                          .where = STR("Queue management of the interface to the line"),
                          .standard = STR("RFC 8290 (fair queueing with CoDel), RFC 8289"),
                          .instead = STR("With a limit of the rate alone, set the same rates: the line's long queue is "
                                         "gone, but a large transfer still takes from a call. With neither: calls "
                                         "stutter while something is sent."),
                          .check = STR("Send a large file and watch the time of an echo (ping) to the provider: it may "
                                       "not grow by more than a few times ten milliseconds.") });
    settings_add(m, STR(""), "rate, down", settings_text(m, "%.1f Mb/s", down.shaped_rate_mbps),
                 settings_because(m, sentence, STR(""),
                                  settings_text(m,
                                                "%.0f %% of the line, so that the queue is here and not in the box; "
                                                "it takes %.0f ms off the wait",
                                                100 * LINE_SHAPED_SHARE, (down.plain_s - down.shaped_s) * 1e3)
                                      .p));
    settings_add(m, STR(""), "rate, up", settings_text(m, "%.1f Mb/s", up.shaped_rate_mbps),
                 settings_because(
                     m, sentence, STR(""),
                     settings_text(m, "as above; it takes %.0f ms off the wait", (up.plain_s - up.shaped_s) * 1e3).p));
    settings_add(m, STR(""), "queue", STR("fair queueing with CoDel on each of the two"),
                 settings_because(m, sentence, STR(""), "a call does not wait behind a download"));
    settings_add(m, STR(""), "overhead of each packet",
                 settings_text(m, "%.0f octets; framing: %s", line->overhead_bytes, framing_words(line)),
                 STR("small packets cost the line more than they look"));
}

void settings_line(struct settings_maker *m)
{
    if (!m->h->line.at.line) {
        settings_block(m, (struct settings_block){ .title = STR("The line"),
                                                   .where = STR("Interface to the internet"),
                                                   .standard = STR("RFC 2131, RFC 2516, RFC 8415"),
                                                   .check = STR("The gateway shows an address on this interface.") });
        settings_add_open(m, STR(""), "everything of the line",
                          STR("the house file says nothing of a line: ask the provider, and write a line section"),
                          STR(""));
        return;
    }
    settings_block(m, (struct settings_block){
                          .title = STR("The line"),
                          .where = STR("Interface to the internet"),
                          .standard = STR("RFC 2131, RFC 2516, RFC 8415"),
                          .instead = STR("Without DHCPv6 prefix delegation there is no IPv6 to the internet; the "
                                         "segments keep their local addresses (RFC 4193)."),
                          .check = STR("The gateway shows an IPv4 address, and a prefix of the length asked for.") });
    address_of_line(m);
    shaping(m);
}
