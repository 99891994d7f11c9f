/* What the gateway does for its segments beside addresses: names, time, finding things. */
#include "book/settings_int.h"

/* ---- names ---- */

static const char *const NAME_COLUMNS[] = { "answers at", "refused names", "names of the house" };

static struct str at_addresses(struct settings_maker *m, const struct segment_plan *s)
{
    const struct str four = s->ipv4.is_given ? settings_address(m, FAMILY_IPV4, s->ipv4_gateway) : STR("");
    const struct str six = s->ula.is_given ? settings_address(m, FAMILY_IPV6, s->ula_gateway) : STR("");
    return settings_text(m, "%.*s%s%.*s", STR_ARG(four), four.n && six.n ? ", " : "", STR_ARG(six));
}

static struct str joined(struct settings_maker *m, const str_list *list)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < list->n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(list->v[i]));
    return settings_done(m, &b);
}

static void names_of(struct settings_maker *m, uint32_t i)
{
    const struct segment *s = &m->h->segments.v[i];
    const struct str promise = settings_promise_of_segment(m, 1u << PROMISE_APART, i);
    const struct str why =
        s->blocked_names.n
            ? settings_because(m, promise, STR(""),
                               "the house file refuses these names here; who knows an address, or "
                               "asks another resolver that the rules let it ask, passes")
            : settings_because(m, promise, STR(""), "a segment is told the names it may use, and no more");
    settings_add(m, s->id, NAME_COLUMNS[0], at_addresses(m, &m->x->plan->segments[i]), why);
    if (s->blocked_names.n)
        settings_add(m, s->id, NAME_COLUMNS[1],
                     settings_text(m, "%.*s; use-application-dns.net too, so that browsers do not pass it by",
                                   STR_ARG(joined(m, &s->blocked_names))),
                     why);
    else
        settings_add(m, s->id, NAME_COLUMNS[1], STR("none"), why);
    settings_add(m, s->id, NAME_COLUMNS[2], STR("its own devices, and those that a statement lets it talk to"), why);
}

static void names(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Names (DNS)"),
                       .where = STR("DNS forwarder, local domain, filtering"),
                       .standard = STR("RFC 1035, RFC 5625 (forwarders), RFC 8375 (home.arpa)"),
                       .intro = STR("The local domain home.arpa is answered by the gateway and never asked outside; "
                                    "answers from outside that hold addresses of the house are refused (rebinding)."),
                       .instead = STR("With one resolver for all segments every segment sees all names, and a refused "
                                      "name is refused to all or to none: where that will not do, leave filtering out "
                                      "and say so to the household."),
                       .check = STR("printer.home.arpa, or any name of the reservations, is found from its own "
                                    "segment; a refused name is not."),
                       .of = "segment",
                       SETTINGS_COLUMNS(NAME_COLUMNS) });
    for (uint32_t i = 0; i < m->h->segments.n; i++)
        names_of(m, i);
    settings_block(m, (struct settings_block){ .title = STR("Names of the whole gateway"),
                                               .where = STR("DNS forwarder"),
                                               .standard = STR("RFC 5625; RFC 8375; RFC 7858"),
                                               .check = STR("A name of the internet is found; one that does not exist "
                                                            "under home.arpa is refused at once.") });
    settings_add_open(m, STR(""), "resolvers asked",
                      STR("the house file names none: those the line gives; write down here if others are taken"),
                      STR("names of the internet come from outside"));
    settings_add(m, STR(""), "local domain", STR("home.arpa, answered here, never asked outside"),
                 STR("its names exist in this house only (RFC 8375)"));
    settings_add(m, STR(""), "answers with addresses of the house from outside", STR("refused"),
                 STR("else a page of the internet talks to the printer by a name of its own"));
    for (uint32_t i = 0; i < m->x->policy->names.n; i++)
        settings_add(m, STR(""), "watched name",
                     settings_text(m, "%.*s: its addresses go into a set that rules use",
                                   STR_ARG(m->x->policy->names.v[i].name)),
                     STR("a statement speaks of it by name, and packets bear addresses alone"));
}

/* ---- time ---- */

static void time_service(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Time"),
                       .where = STR("NTP client and server, time zone"),
                       .standard = STR("RFC 5905; time zone database of IANA"),
                       .instead = STR("Without a server of its own the segments ask the internet: each needs a "
                                      "statement that lets it use ntp."),
                       .check = STR("The gateway's clock is right to the second, and says the house's time zone.") });
    const struct str sentence = settings_promise(m, 1u << PROMISE_HOURS);
    settings_add(
        m, STR(""), "time zone", m->h->time_zone,
        settings_because(m, sentence, STR(""), "hours are those of the clock on the wall, summer time included"));
    settings_add(m, STR(""), "NTP server for the segments", STR("on, at the gateway's address in each"),
                 settings_because(m, sentence, STR(""), "things without a way out have the right time too"));
    settings_add_open(m, STR(""), "NTP servers asked",
                      STR("the house file names none: the provider's, or what the gateway was made with"), sentence);
}

/* ---- finding things ---- */

static const char *const RELAY_COLUMNS[] = { "protocol", "who looks", "where it finds", "services" };

static struct str segments_of(struct settings_maker *m, const ref_list *list)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < list->n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(settings_segment(m, list->v[i].i)));
    return settings_done(m, &b);
}

static void discovery(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Finding things in other segments"),
                       .where = STR("Multicast relay: mDNS, SSDP"),
                       .standard = STR("RFC 6762, RFC 6763 (mDNS, DNS-SD); ISO/IEC 29341-1 (SSDP)"),
                       .intro = STR("To see is not to use: that is for the rules to say."),
                       .instead = STR("A relay without directions shows both sides to each other; one without a list "
                                      "of services shows all. Without a relay, give the device by its name "
                                      "(printer.home.arpa), which most apps take. Lost: finding by itself, and apps "
                                      "that know no other way."),
                       .check = STR("A device of the first segment lists the things of the second, and none other."),
                       .of = "relay",
                       SETTINGS_COLUMNS(RELAY_COLUMNS) });
    for (uint32_t i = 0; i < m->h->relays.n; i++) {
        const struct relay *r = &m->h->relays.v[i];
        const struct str why = settings_because(m, settings_quote(m, r->says), STR(""),
                                                "what calls itself stays in its own segment unless it is said again");
        settings_add(m, r->id, RELAY_COLUMNS[0], r->kind == RELAY_MDNS ? STR("mDNS, UDP 5353") : STR("SSDP, UDP 1900"),
                     why);
        settings_add(m, r->id, RELAY_COLUMNS[1], segments_of(m, &r->from), why);
        settings_add(m, r->id, RELAY_COLUMNS[2], segments_of(m, &r->to), why);
        settings_add(m, r->id, RELAY_COLUMNS[3],
                     r->services.n && r->kind == RELAY_MDNS ? joined(m, &r->services) : STR("all"), why);
    }
}

void settings_names(struct settings_maker *m)
{
    names(m);
    time_service(m);
    discovery(m);
}
