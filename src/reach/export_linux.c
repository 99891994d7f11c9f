/* The folder for a gateway and access points that run Linux: packet filter, addresses and names, time, discovery, interfaces, radios,
 * and what to do with all of it, in which order. */
#include "reach/export_linux_int.h"

#include "base/units.h"
#include "reach/calendar.h"

void linux_remark(struct buf *b, const struct export_house *x, const char *what, struct str of)
{
    buf_text(b, "# ");
    for (size_t i = 0; i < x->h->name.n; i++)
        buf_char(b, (unsigned char)x->h->name.p[i] < ' ' ? ' ' : x->h->name.p[i]);
    buf_printf(b, ": %s", what);
    for (size_t i = 0; i < of.n; i++)
        buf_char(b, (unsigned char)of.p[i] < ' ' ? ' ' : of.p[i]);
    buf_text(b, "\n\n");
}

/* ---- packet filter ---- */

static enum rt_code packet_filter(const struct export_house *x, struct export_folder *out, struct rt_problems *p)
{
    const uint32_t n = x->h->hours.n;
    kernel_span_list *hours = ARENA_ARRAY(out->arena, kernel_span_list, n);
    if (!hours)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < n; i++)
        RT_TRY(calendar_kernel_spans(x->run, x->calendar, i, &hours[i], p));
    const struct nft_options options = {
        .table_name = STR(LINUX_TABLE), .hours = hours, .n_hours = n, .translation = true, .log = true
    };
    struct buf b = export_begin(out);
    RT_TRY(nft_export(x->run, x->policy, &options, &b, p));
    export_end(out, &b, 0644, "gateway/house.nft");
    return RT_OK;
}

/* ---- time ---- */

static void time_service(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    linux_remark(&b, x, "time for the segments (lines of chrony's conf.d)", STR(""));
    for (uint32_t s = 0; s < x->h->segments.n; s++) {
        const struct segment_plan *plan = &x->plan->segments[s];
        if (plan->ipv4.is_given) {
            buf_text(&b, "allow ");
            prefix_write(&b, plan->ipv4);
            buf_char(&b, '\n');
        }
        if (plan->ula.is_given) {
            buf_text(&b, "allow ");
            prefix_write(&b, plan->ula);
            buf_char(&b, '\n');
        }
    }
    export_end(out, &b, 0644, "gateway/chrony/house.conf");
}

/* ---- discovery ---- */

static bool relays_zone(const struct export_house *x, uint32_t segment)
{
    for (uint32_t i = 0; i < x->h->relays.n; i++) {
        const struct relay *r = &x->h->relays.v[i];
        for (uint32_t k = 0; r->kind == RELAY_MDNS && k < r->from.n + r->to.n; k++)
            if ((k < r->from.n ? r->from.v[k] : r->to.v[k - r->from.n]).i == segment)
                return true;
    }
    return false;
}

static bool has_relay(const struct export_house *x, enum relay_kind kind)
{
    for (uint32_t i = 0; i < x->h->relays.n; i++)
        if (x->h->relays.v[i].kind == kind)
            return true;
    return false;
}

/* Service types of all relays; none if one of them relays everything. */
static void put_types(struct buf *b, const struct export_house *x)
{
    VEC(struct str) types = { 0 };
    for (uint32_t i = 0; i < x->h->relays.n; i++) {
        const struct relay *r = &x->h->relays.v[i];
        if (r->kind != RELAY_MDNS)
            continue;
        if (!r->services.n)
            return;
        for (uint32_t k = 0; k < r->services.n; k++) {
            bool seen = false;
            for (uint32_t t = 0; t < types.n; t++)
                seen |= str_eq(types.v[t], r->services.v[k]);
            if (!seen && !VEC_PUSH(b->arena, &types, r->services.v[k]))
                b->failed = true;
        }
    }
    for (uint32_t t = 0; t < types.n; t++)
        buf_printf(b, "%s%.*s.local", t ? "," : "reflect-filters=", STR_ARG(types.v[t]));
    buf_text(b, types.n ? "\n" : "");
}

/* RFC 6762 stays within a link; the reflector says again on one what it hears on another. */
static void discovery(const struct export_house *x, struct export_folder *out)
{
    if (!has_relay(x, RELAY_MDNS))
        return;
    struct buf b = export_begin(out);
    linux_remark(&b, x, "what devices call into one segment is heard in others (avahi-daemon 0.8)", STR(""));
    buf_text(
        &b,
        "# The reflector knows no directions: every segment of the list below hears the types below from every other.\n"
        "# What may be used is still for the packet filter to say.\n[server]\nallow-interfaces=");
    uint32_t n = 0;
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        if (relays_zone(x, s))
            buf_printf(&b, "%s%.*s", n++ ? "," : "", STR_ARG(zone_interface(x->plan, ZONE_SEGMENT + s)));
    buf_text(&b,
             "\ndisallow-other-stacks=yes\n\n[wide-area]\nenable-wide-area=no\n\n[publish]\ndisable-publishing=yes\n\n"
             "[reflector]\nenable-reflector=yes\nreflect-ipv=no\n");
    put_types(&b, x);
    export_end(out, &b, 0644, "gateway/avahi/avahi-daemon.conf");
}

/* ---- what to do with it ---- */

static void put_unknown_macs(struct buf *b, const struct export_house *x)
{
    uint32_t n = 0;
    for (uint32_t d = 0; d < x->h->devices.n; d++)
        if (x->plan->devices[d].zone != NO_REF && x->plan->devices[d].mac_is_stand_in)
            buf_printf(b, "%s%.*s", n++ ? ", " : "\nThe MAC addresses of these devices are not known yet:\n  ",
                       STR_ARG(x->h->devices.v[d].id));
    if (n)
        buf_text(b, "\nStand-ins of our own take their place in the rules. Write `mac:` under each in the house file "
                    "and export "
                    "again:\nuntil then rules about one such device do not hold, and a segment for known devices only "
                    "keeps them "
                    "out.\n");
}

static void put_findings(struct buf *b, const struct export_house *x)
{
    for (uint32_t i = 0; i < x->l2->findings.n; i++) {
        const struct l2_finding *f = &x->l2->findings.v[i];
        buf_printf(b, "%s- %s%.*s. To mend it: %.*s.\n", i ? "" : "\nWhat is to be known of ports and SSIDs:\n",
                   f->is_error ? "WRONG: " : "", STR_ARG(f->says), STR_ARG(f->hint));
    }
}

static void put_notes(struct buf *b, const note_list *notes, const char *head)
{
    for (uint32_t i = 0; i < notes->n; i++)
        buf_printf(b, "%s- %.*s.\n", i ? "" : head, STR_ARG(notes->v[i].says));
}

static void put_order(struct buf *b, const struct export_house *x)
{
    buf_text(
        b, "In this order, with a screen and a keyboard at the gateway, since the network will be away for a while:\n\n"
           "1. Write the MAC address of each socket into gateway/systemd/network/10-*.link.\n"
           "2. Copy gateway/systemd/network/* to /etc/systemd/network/, gateway/sysctl.d/* to /etc/sysctl.d/,\n"
           "   gateway/systemd/*.service to /etc/systemd/system/, gateway/dnsmasq/* to /etc/house/dnsmasq/,\n"
           "   gateway/house.nft to /etc/nftables.conf, gateway/chrony/house.conf to /etc/chrony/conf.d/.\n");
    if (has_relay(x, RELAY_MDNS))
        buf_text(b, "   gateway/avahi/avahi-daemon.conf to /etc/avahi/.\n");
    buf_text(b, "3. Look whether the rules are taken: nft -c -f /etc/nftables.conf\n"
                "4. Switch on: systemctl enable --now nftables systemd-networkd systemd-resolved chrony");
    buf_text(b, has_relay(x, RELAY_MDNS) ? " avahi-daemon\n   and for each segment:" : "\n   and for each segment:");
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        buf_printf(b, " house-names@%.*s", STR_ARG(x->h->segments.v[s].id));
    for (uint32_t t = 0; t < x->h->remote_access.n; t++)
        buf_printf(b, " house-names@tunnel.%.*s", STR_ARG(x->h->remote_access.v[t].id));
    buf_text(b, "\n5. Set the ports of the switches as port_map.csv says. Switch off those that are empty.\n"
                "6. On each access point: name its interfaces `uplink` (the cable) and `wlan24`, `wlan5`, `wlan6` (the "
                "radios), copy\n"
                "   access_points/NAME/systemd/network/* and the hostapd files, and start hostapd with all of them.\n"
                "7. Prove it: rooftree rehearse.\n");
}

static void put_cautions(struct buf *b, const struct export_house *x)
{
    buf_text(b, "\nCautions:\n"
                "- The gateway's clock and time zone must be UTC: the packet filter counts hours in UTC. The summer "
                "time of the house\n"
                "  is in the rules, for three years from now: export again before they are over.\n"
                "- Every change to the house file: export again, and load the rules again.\n");
    if (x->plan->delegated.is_given)
        buf_text(b, "- The provider's IPv6 prefix is not known before the line is up. A stand-in of 2001:db8::/32 (RFC "
                    "3849) is\n"
                    "  defined at the top of house.nft: write the real one there, and again whenever it changes.\n");
    if (x->secrets)
        buf_text(b, "- The hostapd files hold passphrases, mode 0600. Keep this folder out of every version store, and "
                    "remove it once\n"
                    "  the files are where they belong.\n");
    else
        buf_text(
            b,
            "- The hostapd files hold no passphrases and do not start. Export again with --with-secrets for those.\n");
    for (uint32_t t = 0; t < x->h->remote_access.n; t++)
        buf_printf(
            b,
            "- Tunnel %.*s: make its key with `wg genkey` on the gateway, into /etc/systemd/network/%.*s.key, mode\n"
            "  0640, group systemd-network; each person makes theirs on their own device, and only the public half\n"
            "  comes into 60-%.*s.netdev.\n",
            STR_ARG(x->h->remote_access.v[t].id), STR_ARG(x->h->remote_access.v[t].id),
            STR_ARG(x->h->remote_access.v[t].id));
    if (has_relay(x, RELAY_MDNS))
        buf_text(b, "- The mDNS relay knows no directions: all its segments hear the listed types from each other. To "
                    "see is not to\n"
                    "  use, but names of devices are seen.\n");
    for (uint32_t i = 0; i < x->h->relays.n; i++)
        if (x->h->relays.v[i].kind == RELAY_SSDP)
            buf_printf(b,
                       "- Relay %.*s (SSDP) is not set up: no component of the system relays it. The rules let one in "
                       "once you\n"
                       "  have one.\n",
                       STR_ARG(x->h->relays.v[i].id));
}

static void readme(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    buf_printf(&b, "%.*s: files for a gateway and access points that run Linux\n\n", STR_ARG(x->h->name));
    buf_text(&b, "Made from the house file; change that, not these. They are made for Debian 12 with systemd-networkd, "
                 "nftables,\n"
                 "dnsmasq, chrony, hostapd, avahi-daemon.\n\n");
    put_order(&b, x);
    put_cautions(&b, x);
    put_unknown_macs(&b, x);
    put_findings(&b, x);
    put_notes(&b, &x->plan->notes, "\nOf the addresses:\n");
    put_notes(&b, &x->policy->notes, "\nOf the rules:\n");
    buf_text(&b, "\nFiles:\n");
    for (uint32_t i = 0; i < out->files.n; i++)
        buf_printf(&b, "  %.*s\n", STR_ARG(out->files.v[i].path));
    export_end(out, &b, 0644, "README.txt");
}

enum rt_code export_linux(const struct export_house *x, struct export_folder *out, struct rt_problems *p)
{
    RT_TRY(packet_filter(x, out, p));
    linux_dnsmasq(x, out);
    linux_networkd(x, out);
    time_service(x, out);
    discovery(x, out);
    linux_access_points(x, out);
    readme(x, out);
    return out->failed ? rt_fail_memory(p) : RT_OK;
}
