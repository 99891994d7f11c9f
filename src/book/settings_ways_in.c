/* Ways in from the internet: port openings and tunnels. */
#include "book/settings_int.h"

static const char *const OPENING_COLUMNS[] = { "protocol and ports", "to", "callers" };

static struct str callers(struct settings_maker *m, const struct port_opening *o)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < o->from.n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(o->from.v[i]));
    return o->from.n ? settings_done(m, &b) : STR("anyone");
}

static struct str ports(struct settings_maker *m, const struct translation *t)
{
    const char *protocol = ip_protocol_name(t->protocol);
    return t->port_from == t->port_to
               ? settings_text(m, "%s %u", protocol, (unsigned)t->port_from)
               : settings_text(m, "%s %u-%u", protocol, (unsigned)t->port_from, (unsigned)t->port_to);
}

static void openings(struct settings_maker *m)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Port openings"),
                       .where = STR("Destination translation (IPv4); the rules above let the same in by IPv6"),
                       .standard = STR("RFC 2663 (NAPT); RFC 6092"),
                       .instead = STR("Where callers cannot be limited, leave the opening out and use the tunnel: an "
                                      "opening for anyone is tried by everyone within the hour."),
                       .check = STR("From a phone off the Wi-Fi the service answers, and no other port does."),
                       .of = "opening",
                       SETTINGS_COLUMNS(OPENING_COLUMNS) });
    for (uint32_t i = 0; i < m->x->policy->translations.n; i++) {
        const struct translation *t = &m->x->policy->translations.v[i];
        const struct port_opening *o = &m->h->port_openings.v[t->opening];
        const struct str item = settings_text(m, "%.*s, %.*s", STR_ARG(o->id), STR_ARG(ports(m, t)));
        const struct str why = settings_because(m, settings_quote(m, o->says), STR(""), "");
        settings_add(m, item, OPENING_COLUMNS[0], ports(m, t), why);
        settings_add(m, item, OPENING_COLUMNS[1],
                     settings_text(m, "%.*s, same ports (%.*s)", STR_ARG(settings_address(m, FAMILY_IPV4, t->to_ipv4)),
                                   STR_ARG(m->h->devices.v[o->device.i].id)),
                     why);
        settings_add(m, item, OPENING_COLUMNS[2], callers(m, o), why);
    }
}

static void peers(struct settings_maker *m, uint32_t i)
{
    const struct tunnel_plan *t = &m->x->plan->tunnels[i];
    const struct str why = settings_quote(m, m->h->remote_access.v[i].says);
    for (uint32_t k = 0; k < t->peers.n; k++) {
        const struct peer_plan *peer = &t->peers.v[k];
        settings_add(m, m->h->people.v[peer->person].id, "addresses inside the tunnel",
                     settings_text(m, "%.*s/32, %.*s/128", STR_ARG(settings_address(m, FAMILY_IPV4, peer->ipv4)),
                                   STR_ARG(settings_address(m, FAMILY_IPV6, peer->ula))),
                     why);
        settings_add_open(m, m->h->people.v[peer->person].id, "public key",
                          STR("made on the person's own device; only its public half comes here"), why);
    }
}

static void tunnel(struct settings_maker *m, uint32_t i)
{
    const struct remote_access *said = &m->h->remote_access.v[i];
    const struct tunnel_plan *t = &m->x->plan->tunnels[i];
    const struct str why = settings_quote(m, said->says);
    settings_block(m,
                   (struct settings_block){
                       .title = settings_text(m, "Remote access: %.*s", STR_ARG(said->id)),
                       .where = STR("Tunnel server"),
                       .standard = STR("any that is encrypted, knows each person by a key, and lives on one UDP port"),
                       .instead = STR("A gateway that has IKEv2 with IPsec only (RFC 7296, RFC 4303) needs UDP 500 "
                                      "and 4500 in place of this port: write a statement for them. Without a tunnel "
                                      "there is no safe way in: leave it out rather than open ports."),
                       .check = STR("From a phone off the Wi-Fi, with the tunnel up, the segment answers; with the "
                                    "tunnel down, nothing does."),
                       .of = "thing" });
    settings_add(m, said->id, "listens on", settings_text(m, "udp %u", t->port), why);
    settings_add(m, said->id, "leads into", settings_segment(m, said->segment.i), why);
    settings_add(m, said->id, "its own addresses",
                 settings_text(m, "%.*s, %.*s", STR_ARG(settings_address_in(m, t->ipv4, t->ipv4_gateway)),
                               STR_ARG(settings_address_in(m, t->ula, t->ula_gateway))),
                 why);
    settings_add_open(m, said->id, "key pair", STR("made on the gateway; its private half never leaves it"), why);
    peers(m, i);
}

void settings_ways_in(struct settings_maker *m)
{
    openings(m);
    for (uint32_t i = 0; i < m->h->remote_access.n; i++)
        tunnel(m, i);
}
