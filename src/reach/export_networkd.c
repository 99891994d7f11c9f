/* Interfaces of the gateway, as files of systemd-networkd (systemd 252): a bridge that keeps VLANs apart over its ports, an interface
 * for each segment with its addresses, the line, the tunnels. */
#include <math.h>

#include "base/units.h"
#include "reach/export_linux_int.h"

static void put_address_line(struct buf *b, enum family family, axis_value address, unsigned len)
{
    if (!address)
        return;
    buf_text(b, "Address=");
    address_write(b, family, address);
    buf_printf(b, "/%u\n", len);
}

void linux_bridge_vlans(struct buf *b, const struct export_house *x, uint32_t untagged, const index_list *tagged)
{
    if (untagged != NO_REF)
        buf_printf(b, "\n[BridgeVLAN]\nPVID=%u\nEgressUntagged=%u\n", x->plan->segments[untagged].vlan,
                   x->plan->segments[untagged].vlan);
    for (uint32_t i = 0; i < tagged->n; i++)
        buf_printf(b, "\n[BridgeVLAN]\nVLAN=%u\n", x->plan->segments[tagged->v[i]].vlan);
}

/* ---- ports ---- */

static void link_file(const struct export_house *x, struct export_folder *out, const char *name, unsigned port)
{
    struct buf b = export_begin(out);
    linux_remark(&b, x, "which socket is ", str_from(name));
    buf_printf(&b, "[Match]\nPermanentMACAddress=WRITE-THE-MAC-ADDRESS-OF-PORT-%u-HERE\n\n[Link]\nName=%s\n", port,
               name);
    export_end(out, &b, 0644, "gateway/systemd/network/10-%s.link", name);
}

static void port_file(const struct export_house *x, struct export_folder *out, const struct l2_port *port)
{
    char name[16];
    struct buf b = export_begin(out);
    snprintf(name, sizeof name, LINUX_PORT, port->number);
    linux_remark(&b, x, "the gateway's socket ", str_from(name));
    buf_printf(&b, "[Match]\nName=%s\n\n[Network]\nBridge=lan\nLinkLocalAddressing=no\nLLDP=no\n", name);
    linux_bridge_vlans(&b, x, port->untagged, &port->tagged);
    export_end(out, &b, 0644, "gateway/systemd/network/30-%s.network", name);
    link_file(x, out, name, port->number);
}

static void line_link(const struct export_house *x, struct export_folder *out, unsigned port)
{
    const struct str name = str_dup(out->arena, zone_interface(x->plan, ZONE_INTERNET));
    out->failed |= !name.p;
    link_file(x, out, name.p ? name.p : "", port);
}

/* Without a gateway in the house file: one socket that carries all segments, tagged. */
static void only_port(const struct export_house *x, struct export_folder *out)
{
    uint32_t *all = ARENA_ARRAY(out->arena, uint32_t, x->h->segments.n);
    struct l2_port port = { .number = 2, .untagged = NO_REF };
    out->failed |= !all;
    for (uint32_t i = 0; all && i < x->h->segments.n; i++)
        all[i] = i;
    port.tagged = (index_list){ all, all ? x->h->segments.n : 0 };
    port_file(x, out, &port);
}

static void ports(const struct export_house *x, struct export_folder *out)
{
    const struct layer2 *l2 = x->l2;
    if (l2->gateway == NO_REF) {
        only_port(x, out);
        line_link(x, out, 1);
        return;
    }
    unsigned line = 1;
    for (uint32_t i = l2->first_port[l2->gateway]; i < l2->first_port[l2->gateway + 1]; i++) {
        if (l2->ports.v[i].mode == PORT_LINE)
            line = l2->ports.v[i].number;
        else if (l2->ports.v[i].mode != PORT_EMPTY)
            port_file(x, out, &l2->ports.v[i]);
    }
    line_link(x, out, line);
}

/* ---- the bridge and the segments ---- */

static void bridge_files(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    linux_remark(&b, x, "the bridge over the gateway's sockets", STR(""));
    buf_text(
        &b,
        "[NetDev]\nName=lan\nKind=bridge\n\n[Bridge]\nVLANFiltering=yes\nDefaultPVID=none\nMulticastSnooping=yes\n");
    export_end(out, &b, 0644, "gateway/systemd/network/20-lan.netdev");
    b = export_begin(out);
    linux_remark(&b, x, "the bridge over the gateway's sockets", STR(""));
    buf_text(&b, "[Match]\nName=lan\n\n[Link]\nRequiredForOnline=no\n\n[Network]\nLinkLocalAddressing=no\n"
                 "ConfigureWithoutCarrier=yes\n");
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        buf_printf(&b, "VLAN=%.*s\n", STR_ARG(zone_interface(x->plan, ZONE_SEGMENT + s)));
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        buf_printf(&b, "\n[BridgeVLAN]\nVLAN=%u\n", x->plan->segments[s].vlan);
    export_end(out, &b, 0644, "gateway/systemd/network/20-lan.network");
}

/* Which of the delegated networks, and the gateway's place in it. */
static void put_delegation(struct buf *b, const struct export_house *x, const struct segment_plan *s)
{
    const axis_value subnet = (s->global.base - x->plan->delegated.base) >> 64;
    buf_printf(b, "DHCPPrefixDelegation=yes\n\n[DHCPPrefixDelegation]\nUplinkInterface=%.*s\nSubnetId=0x%llx\nToken=",
               STR_ARG(zone_interface(x->plan, ZONE_INTERNET)), (unsigned long long)subnet);
    address_write(b, FAMILY_IPV6, s->global_gateway - s->global.base);
    buf_text(b, "\nAnnounce=no\n");
}

static void segment_files(const struct export_house *x, struct export_folder *out, uint32_t segment)
{
    const struct segment_plan *s = &x->plan->segments[segment];
    const struct segment *said = &x->h->segments.v[segment];
    const struct str name = zone_interface(x->plan, ZONE_SEGMENT + segment);
    struct buf b = export_begin(out);
    linux_remark(&b, x, "segment ", said->says.n ? said->says : said->id);
    buf_printf(&b, "[NetDev]\nName=%.*s\nKind=vlan\n\n[VLAN]\nId=%u\n", STR_ARG(name), s->vlan);
    export_end(out, &b, 0644, "gateway/systemd/network/40-%.*s.netdev", STR_ARG(said->id));
    b = export_begin(out);
    linux_remark(&b, x, "segment ", said->says.n ? said->says : said->id);
    buf_printf(&b,
               "[Match]\nName=%.*s\n\n[Link]\nRequiredForOnline=no\n\n[Network]\nLinkLocalAddressing=no\n"
               "IPv6AcceptRA=no\nConfigureWithoutCarrier=yes\n",
               STR_ARG(name));
    put_address_line(&b, FAMILY_IPV4, s->ipv4_gateway, s->ipv4.len);
    if (s->ula.is_given) {
        put_address_line(&b, FAMILY_IPV6, s->ula_gateway, s->ula.len);
        put_address_line(&b, FAMILY_IPV6, s->link_local_gateway, 64);
    }
    if (s->global.is_given)
        put_delegation(&b, x, s);
    export_end(out, &b, 0644, "gateway/systemd/network/40-%.*s.network", STR_ARG(said->id));
}

/* ---- the line ---- */

static void line_file(const struct export_house *x, struct export_folder *out)
{
    struct buf b = export_begin(out);
    linux_remark(&b, x, "the internet line", STR(""));
    buf_printf(&b, "[Match]\nName=%.*s\n\n[Network]\n", STR_ARG(zone_interface(x->plan, ZONE_INTERNET)));
    if (x->plan->delegated.is_given)
        buf_printf(&b,
                   "%sIPv6AcceptRA=yes\nIPv6PrivacyExtensions=no\n\n[IPv6AcceptRA]\nDHCPv6Client=always\n\n"
                   "[DHCPv6]\nPrefixDelegationHint=::/%u\nUseHostname=no\n",
                   x->plan->no_ipv4 ? "DHCP=ipv6\n" : "DHCP=yes\n", x->plan->delegated.len);
    else
        buf_text(&b, "DHCP=ipv4\nLinkLocalAddressing=no\nIPv6AcceptRA=no\n");
    if (!x->plan->no_ipv4)
        buf_text(&b, "\n[DHCPv4]\nUseHostname=no\nSendHostname=no\nUseDomains=no\n");
    export_end(out, &b, 0644, "gateway/systemd/network/50-line.network");
}

/* ---- tunnels ---- */

static void tunnel_files(const struct export_house *x, struct export_folder *out, uint32_t tunnel)
{
    const struct remote_access *said = &x->h->remote_access.v[tunnel];
    const struct tunnel_plan *t = &x->plan->tunnels[tunnel];
    const struct str name = zone_interface(x->plan, t->zone);
    struct buf b = export_begin(out);
    linux_remark(&b, x, "tunnel: ", said->says.n ? said->says : said->id);
    buf_printf(&b,
               "[NetDev]\nName=%.*s\nKind=wireguard\n\n[WireGuard]\nListenPort=%u\n"
               "PrivateKeyFile=/etc/systemd/network/%.*s.key\n",
               STR_ARG(name), t->port, STR_ARG(said->id));
    for (uint32_t i = 0; i < t->peers.n; i++) {
        const struct person *person = &x->h->people.v[t->peers.v[i].person];
        buf_printf(&b, "\n# %.*s\n[WireGuardPeer]\nPublicKey=WRITE-THE-PUBLIC-KEY-OF-%.*s-HERE\nAllowedIPs=",
                   STR_ARG(person->id), STR_ARG(person->id));
        address_write(&b, FAMILY_IPV4, t->peers.v[i].ipv4);
        buf_text(&b, "/32,");
        address_write(&b, FAMILY_IPV6, t->peers.v[i].ula);
        buf_text(&b, "/128\n");
    }
    export_end(out, &b, 0644, "gateway/systemd/network/60-%.*s.netdev", STR_ARG(said->id));
    b = export_begin(out);
    linux_remark(&b, x, "tunnel: ", said->says.n ? said->says : said->id);
    buf_printf(&b, "[Match]\nName=%.*s\n\n[Link]\nRequiredForOnline=no\n\n[Network]\nLinkLocalAddressing=no\n",
               STR_ARG(name));
    put_address_line(&b, FAMILY_IPV4, t->ipv4_gateway, t->ipv4.len);
    put_address_line(&b, FAMILY_IPV6, t->ula_gateway, t->ula.len);
    export_end(out, &b, 0644, "gateway/systemd/network/60-%.*s.network", STR_ARG(said->id));
}

void linux_networkd(const struct export_house *x, struct export_folder *out)
{
    ports(x, out);
    bridge_files(x, out);
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        segment_files(x, out, s);
    line_file(x, out);
    for (uint32_t t = 0; t < x->h->remote_access.n; t++)
        tunnel_files(x, out, t);
    struct buf b = export_begin(out);
    linux_remark(&b, x, "the kernel passes packets on, and leaves what stays within a bridge alone", STR(""));
    buf_text(&b, "net.ipv4.ip_forward = 1\nnet.ipv6.conf.all.forwarding = 1\nnet.ipv6.conf.default.accept_ra = 0\n"
                 "-net.bridge.bridge-nf-call-iptables = 0\n-net.bridge.bridge-nf-call-ip6tables = 0\n"
                 "-net.bridge.bridge-nf-call-arptables = 0\n");
    export_end(out, &b, 0644, "gateway/sysctl.d/60-house.conf");
}
