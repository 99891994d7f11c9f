/* Access points: a file of the access-point daemon for each radio (syntax of hostapd 2.10), and the interfaces they hang on.
 *
 * One bridge that keeps VLANs apart holds the cable's interface and one for each SSID; each SSID's frames bear its segment's
 * VLAN there.  IEEE Std 802.11-2020, with 802.11ax-2021 for 6 GHz (from memory). */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "data/channels.h"
#include "reach/export_linux_int.h"

void linux_radio_name(char out[16], enum band band, uint32_t nth)
{
    static const char *const NAMES[BAND_COUNT] = { "wlan24", "wlan5", "wlan6" };
    if (nth)
        snprintf(out, 16, "%s_%u", NAMES[band], (unsigned)nth + 1);
    else
        snprintf(out, 16, "%s", NAMES[band]);
}

bool linux_nth_ssid(const struct layer2 *l2, uint32_t equipment, enum band band, uint32_t nth, uint32_t *ssid)
{
    for (uint32_t s = 0; s < l2->plan->h->ssids.n; s++)
        for (uint32_t i = 0; i < l2->ssids[s].cells.n; i++)
            if (l2->ssids[s].cells.v[i].equipment == equipment && l2->ssids[s].cells.v[i].band == band && nth-- == 0) {
                *ssid = s;
                return true;
            }
    return false;
}

/* ---- the radio ---- */

struct radio {
    enum band band;
    const struct part_radio *part;
    const struct radio_setting *setting; /* NULL: none */
    int channel, width_mhz, centre;      /* channel: of 20 MHz; 0: to be chosen by the daemon */
};

/* IEEE Std 802.11-2020 Table E-4 (from memory): operating classes of the 6 GHz band. */
static int class_6ghz(int width_mhz)
{
    switch (width_mhz) {
    case 40:
        return 132;
    case 80:
        return 133;
    case 160:
        return 134;
    default:
        return 131;
    }
}

/* The house file gives the first 20 MHz channel or the wide channel's centre; the daemon wants the former. */
static void set_channel(struct radio *r)
{
    static const int WIDEST[BAND_COUNT] = { 40, 160, 160 };      /* that the daemon's version knows */
    static const double USUAL_MHZ[BAND_COUNT] = { 20, 80, 160 }; /* as a width left out is judged (radio/ap_radio.h) */
    const double usual_mhz = fmin(USUAL_MHZ[r->band], r->part->width_mhz);
    r->width_mhz = (int)given_or(r->setting ? r->setting->width_mhz : RT_NOT_GIVEN, usual_mhz);
    if (r->width_mhz > WIDEST[r->band])
        r->width_mhz = WIDEST[r->band];
    const int said = (int)given_or(r->setting ? r->setting->channel : RT_NOT_GIVEN, 0);
    r->channel = said;
    if (said && !channel_exists(r->band, said, 20))
        r->channel = channel_primary(r->band, said, channel_width_mhz(r->band, said));
    r->centre = said ? channel_around(r->band, r->channel, r->width_mhz) : 0;
    if (said && !r->centre)
        r->width_mhz = 20;
}

static void put_width(struct buf *b, const struct radio *r)
{
    static const char *const PLUS = "ht_capab=[HT40+]\n", *const MINUS = "ht_capab=[HT40-]\n";
    const int wide = r->width_mhz >= 160 ? 2 : r->width_mhz >= 80 ? 1 : 0;
    const bool is_ax = r->part->phy >= PHY_AX;
    if (r->band != BAND_6G) {
        buf_text(b, "ieee80211n=1\n");
        if (r->width_mhz >= 40 && r->centre) /* is the second 20 MHz channel above or below? */
            buf_text(b, channel_around(r->band, r->channel, 40) > r->channel ? PLUS : MINUS);
    }
    if (r->band == BAND_5G && r->part->phy >= PHY_AC) {
        buf_text(b, "ieee80211ac=1\n");
        buf_printf(b, "vht_oper_chwidth=%d\n", wide);
        if (wide && r->centre)
            buf_printf(b, "vht_oper_centr_freq_seg0_idx=%d\n", r->centre);
    }
    if (!is_ax)
        return;
    buf_text(b, "ieee80211ax=1\n");
    if (r->band == BAND_6G)
        buf_printf(b, "op_class=%d\n", class_6ghz(r->width_mhz));
    if (r->band != BAND_2G4) {
        buf_printf(b, "he_oper_chwidth=%d\n", wide);
        if ((wide || r->band == BAND_6G) && r->centre)
            buf_printf(b, "he_oper_centr_freq_seg0_idx=%d\n", r->centre);
    }
}

static void put_radio(struct buf *b, const struct export_house *x, const struct radio *r)
{
    char name[16];
    linux_radio_name(name, r->band, 0);
    buf_printf(b, "driver=nl80211\nctrl_interface=/run/hostapd\ncountry_code=%.*s\nieee80211d=1\n",
               STR_ARG(x->h->country));
    if (r->band == BAND_5G)
        buf_text(b, "ieee80211h=1\n");
    if (r->band == BAND_6G)
        buf_text(b, "country3=0x04\n");
    buf_printf(b, "hw_mode=%s\n", r->band == BAND_2G4 ? "g" : "a");
    if (!r->channel)
        buf_text(b, "# not chosen, the house file gives no channel: the daemon listens, then takes one; `rooftree "
                    "design` chooses\n");
    buf_printf(b, "channel=%d\nwmm_enabled=1\n", r->channel);
    put_width(b, r);
    if (r->setting && is_given(r->setting->power_dbm))
        buf_printf(b, "# once it runs: iw dev %s set txpower fixed %.0f\n", name, r->setting->power_dbm * 100);
}

/* ---- the SSIDs ---- */

static void put_passphrase(struct buf *b, const struct export_house *x, uint32_t ssid)
{
    const struct str id = x->h->ssids.v[ssid].id;
    if (x->secrets && x->secrets->passphrases.v[ssid].n)
        buf_printf(b, "wpa_passphrase=%.*s\n", STR_ARG(x->secrets->passphrases.v[ssid]));
    else
        buf_printf(
            b,
            "# No passphrase yet, and the next line keeps the daemon from starting: export again with --with-secrets.\n"
            "passphrase_is_missing=%.*s\n",
            STR_ARG(id));
}

/* Management frame protection: needed with SAE and OWE, wanted where older devices allow it.  In the 6 GHz band SAE takes hash to
 * element only. */
static void put_security(struct buf *b, const struct export_house *x, uint32_t ssid, enum band band)
{
    const enum security security = x->h->ssids.v[ssid].security;
    const bool is_6ghz = band == BAND_6G;
    const char *keys = "SAE";
    int protection = 2;
    switch (security) {
    case SECURITY_OPEN:
        buf_text(b, "auth_algs=1\n");
        return;
    case SECURITY_OWE:
        keys = "OWE";
        break;
    case SECURITY_WPA3:
        break;
    case SECURITY_WPA2_WPA3:
        keys = is_6ghz ? "SAE" : "SAE WPA-PSK WPA-PSK-SHA256";
        protection = is_6ghz ? 2 : 1;
        break;
    case SECURITY_WPA2:
        keys = "WPA-PSK WPA-PSK-SHA256";
        protection = 1;
        break;
    }
    buf_printf(b, "auth_algs=1\nwpa=2\nrsn_pairwise=CCMP\nwpa_key_mgmt=%s\nieee80211w=%d\n", keys, protection);
    if (security == SECURITY_WPA3 || security == SECURITY_WPA2_WPA3)
        buf_printf(b, "sae_pwe=%d\nsae_require_mfp=1\n", is_6ghz ? 1 : 2);
    if (security != SECURITY_OWE)
        put_passphrase(b, x, ssid);
}

static bool put_cell(struct buf *b, const struct export_house *x, uint32_t ssid, enum band band, uint32_t nth)
{
    char name[16];
    const struct l2_ssid *row = &x->l2->ssids[ssid];
    const uint32_t s = row->segment;
    linux_radio_name(name, band, nth);
    buf_printf(b, "\n# %.*s: segment %.*s, VLAN %u\n%s=%s\nbridge=br\n", STR_ARG(x->h->ssids.v[ssid].id),
               STR_ARG(x->h->segments.v[s].id), x->plan->segments[s].vlan, nth ? "bss" : "interface", name);
    buf_printf(b, "ssid=%.*s\nutf8_ssid=1\n", STR_ARG(row->name));
    if (row->isolate)
        buf_text(b, "ap_isolate=1\n");
    put_security(b, x, ssid, band);
    return x->h->ssids.v[ssid].security != SECURITY_OPEN && x->h->ssids.v[ssid].security != SECURITY_OWE;
}

/* The daemon takes what stands before the first `bss` line as the radio's, and wants `interface` first. */
static void radio_file(const struct export_house *x, struct export_folder *out, uint32_t e, const struct radio *r)
{
    static const char *const BANDS[BAND_COUNT] = { "2.4", "5", "6" };
    struct buf b = export_begin(out);
    const struct str id = x->h->equipment.v[e].id;
    bool has_secrets = false;
    uint32_t ssid, n = 0;
    linux_remark(&b, x, "radio of access point ", id);
    while (linux_nth_ssid(x->l2, e, r->band, n, &ssid)) {
        has_secrets |= put_cell(&b, x, ssid, r->band, n);
        if (n++ == 0)
            put_radio(&b, x, r);
    }
    if (n)
        export_end(out, &b, x->secrets && has_secrets ? 0600 : 0644, "access_points/%.*s/hostapd-%s.conf", STR_ARG(id),
                   BANDS[r->band]);
}

static void radios(const struct export_house *x, struct export_folder *out, uint32_t e, const struct part *part)
{
    const struct equipment *equipment = &x->h->equipment.v[e];
    for (uint32_t i = 0; i < part->radios.n; i++) {
        struct radio r = { .band = part->radios.v[i].band, .part = &part->radios.v[i] };
        for (uint32_t k = 0; k < equipment->radios.n; k++)
            if (equipment->radios.v[k].band == r.band)
                r.setting = &equipment->radios.v[k];
        set_channel(&r);
        radio_file(x, out, e, &r);
    }
}

/* ---- its interfaces ---- */

static void ssid_ports(const struct export_house *x, struct export_folder *out, uint32_t e)
{
    const index_list none = { 0 };
    for (enum band band = 0; band < BAND_COUNT; band++) {
        uint32_t ssid;
        for (uint32_t n = 0; linux_nth_ssid(x->l2, e, band, n, &ssid); n++) {
            char name[16];
            struct buf b = export_begin(out);
            linux_radio_name(name, band, n);
            linux_remark(&b, x, "SSID ", x->l2->ssids[ssid].name);
            buf_printf(&b, "[Match]\nName=%s\n\n[Network]\nBridge=br\nLinkLocalAddressing=no\n", name);
            if (x->l2->ssids[ssid].isolate) /* nor from one radio of this access point to the other */
                buf_text(&b, "\n[Bridge]\nIsolated=yes\n");
            linux_bridge_vlans(&b, x, x->l2->ssids[ssid].segment, &none);
            export_end(out, &b, 0644, "access_points/%.*s/systemd/network/30-%s.network",
                       STR_ARG(x->h->equipment.v[e].id), name);
        }
    }
}

/* Its other sockets, if any, and the cable that leads to the gateway. */
static void cable_ports(const struct export_house *x, struct export_folder *out, uint32_t e)
{
    for (uint32_t i = x->l2->first_port[e]; i < x->l2->first_port[e + 1]; i++) {
        const struct l2_port *p = &x->l2->ports.v[i];
        char name[16] = LINUX_UPLINK;
        struct buf b = export_begin(out);
        if (p->mode == PORT_EMPTY)
            continue;
        if (!p->towards_gateway)
            snprintf(name, sizeof name, LINUX_PORT, p->number);
        linux_remark(&b, x, "socket ", str_from(name));
        buf_printf(&b, "[Match]\nName=%s\n\n[Network]\nBridge=br\nLinkLocalAddressing=no\n", name);
        linux_bridge_vlans(&b, x, p->untagged, &p->tagged);
        export_end(out, &b, 0644, "access_points/%.*s/systemd/network/30-%s.network", STR_ARG(x->h->equipment.v[e].id),
                   name);
    }
}

static void bridge_of(const struct export_house *x, struct export_folder *out, uint32_t e)
{
    const struct equipment *equipment = &x->h->equipment.v[e];
    struct buf b = export_begin(out);
    linux_remark(&b, x, "the bridge of access point ", equipment->id);
    buf_text(
        &b, "[NetDev]\nName=br\nKind=bridge\n\n[Bridge]\nVLANFiltering=yes\nDefaultPVID=none\nMulticastSnooping=yes\n");
    export_end(out, &b, 0644, "access_points/%.*s/systemd/network/20-br.netdev", STR_ARG(equipment->id));
    b = export_begin(out);
    linux_remark(&b, x, "the bridge of access point ", equipment->id);
    buf_text(&b, "[Match]\nName=br\n\n[Network]\n");
    const index_list none = { 0 };
    if (equipment->segment.i == NO_REF)
        buf_text(&b, "# it has no address of its own: the house file gives no segment for its settings\n"
                     "LinkLocalAddressing=no\nIPv6AcceptRA=no\n");
    else
        buf_text(&b, "DHCP=ipv4\nIPv6AcceptRA=yes\n");
    linux_bridge_vlans(&b, x, equipment->segment.i, &none);
    export_end(out, &b, 0644, "access_points/%.*s/systemd/network/20-br.network", STR_ARG(equipment->id));
}

void linux_access_points(const struct export_house *x, struct export_folder *out)
{
    for (uint32_t e = 0; e < x->h->equipment.n; e++) {
        const uint32_t i = x->h->equipment.v[e].part.i;
        const struct part *part = i == NO_REF ? NULL : &x->h->parts.list.v[i];
        if (!part || part->kind != PART_ACCESS_POINT)
            continue;
        radios(x, out, e, part);
        bridge_of(x, out, e);
        cable_ports(x, out, e);
        ssid_ports(x, out, e);
    }
}
