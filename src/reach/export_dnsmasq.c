/* Addresses, names and router advertisements of each segment: one configuration for each, in the syntax of dnsmasq 2.90, so that
 * each segment is answered from its own and may have names blocked that others have.
 *
 * DHCP: RFC 2131, 2132; DHCPv6: RFC 8415; router advertisements: RFC 4861; names under home.arpa: RFC 8375. */
#include "reach/export_linux_int.h"

static void put_address(struct buf *b, enum family family, axis_value v) { address_write(b, family, v); }

/* ---- which names a segment is told ---- */

/* Some device of the segment, or whoever is in it, is meant. */
static bool end_touches_segment(const struct export_house *x, const struct endpoint *e, uint32_t segment, bool *failed)
{
    if (e->kind == END_ANYONE || (e->kind == END_SEGMENT && e->i == segment))
        return true;
    struct arena *a = x->run->arena;
    const struct arena_mark mark = arena_mark(a);
    const index_list all = endpoint_devices(a, x->h, e, failed);
    bool touches = false;
    for (uint32_t i = 0; i < all.n && !touches; i++)
        touches = x->h->devices.v[all.v[i]].segment.i == segment;
    arena_reset(a, mark);
    return touches;
}

/* Devices whose names a segment is told: its own, and those that a statement lets some of it talk to.  NULL: no memory. */
static bool *known_names(const struct export_house *x, uint32_t segment, bool *failed)
{
    struct arena *a = x->run->arena;
    bool *known = ARENA_ARRAY(a, bool, x->h->devices.n);
    for (uint32_t d = 0; known && d < x->h->devices.n; d++)
        known[d] = x->h->devices.v[d].segment.i == segment;
    for (uint32_t i = 0; known && i < x->h->statements.n; i++) {
        const struct statement *s = &x->h->statements.v[i];
        bool from = false;
        for (uint32_t k = 0; s->verdict == VERDICT_ALLOW && k < s->from.n && !from; k++)
            from = end_touches_segment(x, &s->from.v[k], segment, failed);
        for (uint32_t k = 0; from && k < s->to.n; k++) {
            const struct arena_mark mark = arena_mark(a);
            const index_list to = endpoint_devices(a, x->h, &s->to.v[k], failed);
            for (uint32_t d = 0; d < to.n; d++)
                known[to.v[d]] = true;
            arena_reset(a, mark);
        }
    }
    *failed |= !known;
    return known;
}

static void put_name(struct buf *b, const struct device_plan *d)
{
    if (!d->name.n || (!d->ipv4 && !d->ula))
        return;
    buf_printf(b, "host-record=%.*s", STR_ARG(d->name));
    if (d->ipv4) {
        buf_char(b, ',');
        put_address(b, FAMILY_IPV4, d->ipv4);
    }
    if (d->ula) {
        buf_char(b, ',');
        put_address(b, FAMILY_IPV6, d->ula);
    }
    buf_char(b, '\n');
}

static void put_names(struct buf *b, const struct export_house *x, uint32_t segment)
{
    const bool *known = known_names(x, segment, &b->failed);
    for (uint32_t d = 0; known && d < x->h->devices.n; d++)
        if (x->plan->devices[d].zone != NO_REF && known[d])
            put_name(b, &x->plan->devices[d]);
}

/* ---- the parts of a file ---- */

static void put_head(struct buf *b, const struct export_house *x, struct str interface, struct str id)
{
    buf_printf(b,
               "interface=%.*s\nbind-dynamic\nexcept-interface=lo\npid-file=/run/house/names.%.*s.pid\nuser=dnsmasq\n\n"
               "# names: those of the house under home.arpa, never asked outside; all others by the line's resolvers\n"
               "no-hosts\ndomain-needed\nbogus-priv\nstop-dns-rebind\nlocalise-queries\n"
               "resolv-file=/run/systemd/resolve/resolv.conf\ndomain=home.arpa\nlocal=/home.arpa/\n",
               STR_ARG(interface), STR_ARG(id));
    for (uint32_t i = 0; i < x->policy->names.n; i++) {
        const struct watched_name *w = &x->policy->names.v[i];
        const uint32_t k = w->axis - AXIS_NAMED;
        const struct str four = nft_set_name(b->arena, &x->policy->table, k, FAMILY_IPV4);
        const struct str six = nft_set_name(b->arena, &x->policy->table, k, FAMILY_IPV6);
        buf_printf(b, "nftset=/%.*s/4#inet#" LINUX_TABLE "#%.*s,6#inet#" LINUX_TABLE "#%.*s\n", STR_ARG(w->name),
                   STR_ARG(four), STR_ARG(six));
    }
}

static void put_blocked(struct buf *b, const struct segment *s)
{
    if (!s->blocked_names.n)
        return;
    buf_text(b, "\n# blocked names: there is no such name, says this resolver.  Who asks another one, or knows the "
                "address, is not\n"
                "# stopped by this; the last line asks browsers not to pass it by.\n");
    for (uint32_t i = 0; i < s->blocked_names.n; i++)
        buf_printf(b, "address=/%.*s/\n", STR_ARG(s->blocked_names.v[i]));
    buf_text(b, "address=/use-application-dns.net/\n");
}

static void put_netmask(struct buf *b, unsigned len)
{
    put_address(b, FAMILY_IPV4, len ? (axis_value)(UINT32_MAX << (32 - len)) : 0);
}

static void put_ranges(struct buf *b, const struct export_house *x, uint32_t segment, struct str interface)
{
    const struct segment_plan *s = &x->plan->segments[segment];
    const bool hands_out = s->dhcp_from != 0;
    buf_printf(b, "\n# addresses\ndhcp-authoritative\ndhcp-leasefile=/var/lib/house/%.*s.leases\n",
               STR_ARG(x->h->segments.v[segment].id));
    if (x->h->segments.v[segment].known_only)
        buf_text(b, "dhcp-ignore=tag:!known\n");
    if (s->ipv4.is_given) {
        buf_text(b, "dhcp-range=");
        put_address(b, FAMILY_IPV4, hands_out ? s->dhcp_from : s->ipv4.base);
        buf_char(b, ',');
        if (hands_out)
            put_address(b, FAMILY_IPV4, s->dhcp_to);
        else
            buf_text(b, "static");
        buf_char(b, ',');
        put_netmask(b, s->ipv4.len);
        buf_printf(b, ",%dh\ndhcp-option=option:ntp-server,", (int)EXPORT_LEASE_HOURS);
        put_address(b, FAMILY_IPV4, s->ipv4_gateway);
        buf_char(b, '\n');
    }
    if (s->ula.is_given) {
        buf_printf(b, "enable-ra\ndhcp-range=%s,constructor:%.*s,slaac,64,%dh\ndhcp-option=option6:ntp-server,[",
                   hands_out ? "::1:0,::1:ffff" : "::,static", STR_ARG(interface), (int)EXPORT_LEASE_HOURS);
        put_address(b, FAMILY_IPV6, s->ula_gateway);
        buf_text(b, "]\n");
    }
}

/* One device's own address.  The same last digits in both IPv6 networks. */
static void put_reservation(struct buf *b, const struct export_house *x, uint32_t device)
{
    const struct device *d = &x->h->devices.v[device];
    const struct device_plan *plan = &x->plan->devices[device];
    const struct segment_plan *s = &x->plan->segments[d->segment.i];
    buf_text(b, plan->mac_is_stand_in ? "#dhcp-host=WRITE-ITS-MAC-HERE" : "dhcp-host=");
    if (!plan->mac_is_stand_in)
        mac_write(b, plan->mac);
    if (plan->ipv4) {
        buf_char(b, ',');
        put_address(b, FAMILY_IPV4, plan->ipv4);
    }
    if (plan->ula) {
        buf_text(b, ",[");
        put_address(b, FAMILY_IPV6, plan->ula - s->ula.base);
        buf_char(b, ']');
    }
    buf_printf(b, ",%.*s\n", (int)(plan->name.n > 10 ? plan->name.n - 10 : 0), plan->name.p ? plan->name.p : "");
}

static void segment_file(const struct export_house *x, struct export_folder *out, uint32_t segment)
{
    const struct segment *s = &x->h->segments.v[segment];
    const struct str interface = zone_interface(x->plan, ZONE_SEGMENT + segment);
    struct buf b = export_begin(out);
    linux_remark(&b, x, "addresses and names of segment ", s->says.n ? s->says : s->id);
    put_head(&b, x, interface, s->id);
    put_blocked(&b, s);
    put_ranges(&b, x, segment, interface);
    buf_text(&b, "\n# devices of the house file; take the # away once the real MAC address stands there\n");
    for (uint32_t d = 0; d < x->h->devices.n; d++)
        if (x->h->devices.v[d].segment.i == segment && x->plan->devices[d].zone != NO_REF)
            put_reservation(&b, x, d);
    buf_text(&b, "\n# names that this segment may know: its own, and what a statement lets it talk to\n");
    put_names(&b, x, segment);
    export_end(out, &b, 0644, "gateway/dnsmasq/%.*s.conf", STR_ARG(s->id));
}

/* Who comes by a tunnel asks for names only. */
static void tunnel_file(const struct export_house *x, struct export_folder *out, uint32_t tunnel)
{
    const struct remote_access *r = &x->h->remote_access.v[tunnel];
    const struct str interface = zone_interface(x->plan, x->plan->tunnels[tunnel].zone);
    struct buf b = export_begin(out);
    linux_remark(&b, x, "names for ", r->says.n ? r->says : r->id);
    put_head(&b, x, interface, r->id);
    put_blocked(&b, &x->h->segments.v[r->segment.i]);
    buf_char(&b, '\n');
    put_names(&b, x, r->segment.i);
    export_end(out, &b, 0644, "gateway/dnsmasq/tunnel.%.*s.conf", STR_ARG(r->id));
}

void linux_dnsmasq(const struct export_house *x, struct export_folder *out)
{
    for (uint32_t s = 0; s < x->h->segments.n; s++)
        segment_file(x, out, s);
    for (uint32_t t = 0; t < x->h->remote_access.n; t++)
        tunnel_file(x, out, t);
    struct buf unit = export_begin(out);
    buf_text(&unit, "[Unit]\nDescription=Addresses and names of segment %i\nAfter=network.target nftables.service\n\n"
                    "[Service]\nRuntimeDirectory=house\nRuntimeDirectoryPreserve=yes\nStateDirectory=house\n"
                    "ExecStartPre=/usr/sbin/dnsmasq --test --conf-file=/etc/house/dnsmasq/%i.conf\n"
                    "ExecStart=/usr/sbin/dnsmasq --keep-in-foreground --conf-file=/etc/house/dnsmasq/%i.conf\n"
                    "Restart=on-failure\n\n[Install]\nWantedBy=multi-user.target\n");
    export_end(out, &unit, 0644, "gateway/systemd/house-names@.service");
}
