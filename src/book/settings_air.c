/* Access points, radio by radio, and the low-power mesh. */
#include <math.h>

#include "base/units.h"
#include "book/settings_int.h"
#include "data/channels.h"
#include "data/wifi.h"

enum { FOR_RADIOS = 1u << PROMISE_SIGNAL | 1u << PROMISE_RATE | 1u << PROMISE_ROAMING };

/* ---- SSIDs ---- */

static const char *const SSID_COLUMNS[] = { "bands", "VLAN", "security", "protected management frames (PMF)",
                                            "client isolation" };

static const char *security_words(enum security s)
{
    static const char *const WORDS[] = { [SECURITY_WPA3] = "WPA3-Personal (SAE)",
                                         [SECURITY_WPA2_WPA3] = "WPA2- and WPA3-Personal (PSK and SAE)",
                                         [SECURITY_WPA2] = "WPA2-Personal (PSK)",
                                         [SECURITY_OWE] = "Enhanced Open (OWE)",
                                         [SECURITY_OPEN] = "open" };
    return WORDS[s];
}

static const char *protection_words(enum security s)
{
    static const char *const WORDS[] = { [SECURITY_WPA3] = "required",
                                         [SECURITY_WPA2_WPA3] = "optional",
                                         [SECURITY_WPA2] = "optional",
                                         [SECURITY_OWE] = "required",
                                         [SECURITY_OPEN] = "off" };
    return WORDS[s];
}

static bool has_passphrase(enum security s) { return s != SECURITY_OWE && s != SECURITY_OPEN; }

/* Bands in which the access point carries the SSID; empty: none. */
static struct str bands_of(struct settings_maker *m, const struct l2_ssid *ssid, uint32_t e)
{
    struct buf b = settings_buf(m);
    for (uint32_t i = 0; i < ssid->cells.n; i++)
        if (ssid->cells.v[i].equipment == e)
            buf_printf(&b, "%s%s GHz", b.n ? ", " : "", band_name(ssid->cells.v[i].band));
    return b.n ? settings_done(m, &b) : STR("");
}

static bool is_on_others(const struct l2_ssid *ssid, uint32_t e)
{
    for (uint32_t i = 0; i < ssid->cells.n; i++)
        if (ssid->cells.v[i].equipment != e)
            return true;
    return false;
}

static void one_ssid(struct settings_maker *m, uint32_t s, uint32_t e)
{
    const struct l2_ssid *row = &m->x->l2->ssids[s];
    const struct ssid *said = &m->h->ssids.v[s];
    const struct str bands = bands_of(m, row, e);
    if (!bands.n)
        return;
    const struct segment *segment = &m->h->segments.v[row->segment];
    const struct str why = settings_because(
        m, settings_promise_of_segment(m, 1u << PROMISE_APART | 1u << PROMISE_REACH, row->segment), STR(""),
        settings_text(m, "the way into %.*s", STR_ARG(segment->says.n ? segment->says : segment->id)).p);
    settings_add(m, row->name, SSID_COLUMNS[0], bands, why);
    settings_add(m, row->name, SSID_COLUMNS[1], settings_segment(m, row->segment), why);
    settings_add(m, row->name, SSID_COLUMNS[2], str_from(security_words(said->security)), why);
    settings_add(m, row->name, SSID_COLUMNS[3], str_from(protection_words(said->security)), why);
    settings_add(m, row->name, "passphrase",
                 has_passphrase(said->security) ? STR("from the card of this SSID") : STR("none"), why);
    settings_add(m, row->name, SSID_COLUMNS[4], row->isolate ? STR("on") : STR("off"), why);
    settings_add(m, row->name, "neighbour reports and steering (802.11k, 802.11v)",
                 is_on_others(row, e) ? STR("on") : STR("off: no other access point has it"), why);
    settings_add(m, row->name, "fast transition (802.11r)", STR("off"), why);
}

static void ssids(struct settings_maker *m, uint32_t e)
{
    settings_block(m,
                   (struct settings_block){
                       .title = STR("SSIDs"),
                       .where = STR("Wireless networks, each with its VLAN"),
                       .standard = STR("IEEE 802.11-2020 (SAE, PMF of 802.11w, 802.11k, v, r); RFC 8110 (OWE)"),
                       .intro = STR("Passphrases stand on the cards, which are printed on demand, and nowhere else. "
                                    "In the 6 GHz band WPA3 and PMF are required in any case. 802.11r stays off: "
                                    "older devices do not join where it is on; try it when a call drops on the "
                                    "stairs."),
                       .instead = STR("An access point without VLANs carries one SSID, on a port with that segment "
                                      "untagged. Without WPA3 take WPA2 with PMF optional; lost: who listens to one "
                                      "device joining can try passphrases at home. Without client isolation things of "
                                      "one SSID talk to one another, which no rule of the gateway sees."),
                       .check = STR("A phone joins each SSID and shows an address of that segment."),
                       .of = "SSID",
                       SETTINGS_COLUMNS(SSID_COLUMNS) });
    for (uint32_t s = 0; s < m->h->ssids.n; s++)
        one_ssid(m, s, e);
}

/* ---- radios ---- */

static const char *const RADIO_COLUMNS[] = { "channel", "width", "transmit power" };

static const struct ap_radio *radio_of(const struct settings_maker *m, uint32_t e, uint32_t part_radio)
{
    for (uint32_t i = 0; i < m->ev->radios.n; i++)
        if (m->ev->radios.v[i].equipment == e && m->ev->radios.v[i].part_radio == part_radio)
            return &m->ev->radios.v[i];
    return NULL;
}

/* The 20 MHz channel that beacons are sent on: the file's, if it names one of the wide channel's. */
static int primary_of(const struct settings_maker *m, const struct ap_radio *r, uint32_t nth)
{
    const int centre = (int)r->channel, width_mhz = (int)lround(r->width_hz / 1e6);
    const struct radio_setting *s = radio_setting_nth(&m->h->equipment.v[r->equipment], r->band, nth);
    if (s && is_given(s->channel) && channel_exists(r->band, (int)s->channel, 20) &&
        (width_mhz == 20 || channel_around(r->band, (int)s->channel, width_mhz) == centre))
        return (int)s->channel;
    return channel_primary(r->band, centre, width_mhz);
}

static struct str channel_words(struct settings_maker *m, const struct ap_radio *r, uint32_t nth)
{
    const int primary = primary_of(m, r, nth);
    if (r->channel_was_chosen)
        return settings_text(m, "not chosen; judged as if on %d: run `rooftree design` to choose", primary);
    if (primary == (int)r->channel)
        return settings_text(m, "%d", primary);
    return settings_text(m, "%d (centre %.0f)", primary, r->channel);
}

static struct str power_of(struct settings_maker *m, const struct ap_radio *r)
{
    return settings_text(m, "%.1f dBm EIRP", r->eirp_dbm);
}

/* For menus that know no dBm: shares of the most that the part gives. */
static struct str power_otherwise(struct settings_maker *m, const struct ap_radio *r, const struct part_radio *part)
{
    return settings_text(m,
                         "%.1f dBm at the antenna ports, all chains together; %.1f dBm at each of %.0f; in per cent of "
                         "the most: %.0f %%",
                         r->power_dbm, r->power_dbm - 10.0 * log10(r->streams), r->streams,
                         100.0 * units_ratio_from_db(r->power_dbm - part->power_dbm));
}

static void radio_on(struct settings_maker *m, struct str item, const struct ap_radio *r, const struct part_radio *part,
                     uint32_t nth)
{
    const struct str why = settings_because(
        m, settings_promise_of_band(m, FOR_RADIOS, r->band), settings_promise(m, 1u << PROMISE_QUIET),
        "channel and power are what the plan was judged with; more power is heard further by others, and brings no "
        "weak phone back");
    const struct wifi_generation *g = wifi_generation(r->phy);
    if (r->channel_was_chosen)
        settings_add_open(m, item, RADIO_COLUMNS[0], channel_words(m, r, nth), why);
    else
        settings_add(m, item, RADIO_COLUMNS[0], channel_words(m, r, nth), why);
    settings_add(m, item, RADIO_COLUMNS[1], settings_text(m, "%.0f MHz", r->width_hz / 1e6), why);
    settings_add(m, item, RADIO_COLUMNS[2], power_of(m, r), why);
    settings_add(m, item, "power, said otherwise", power_otherwise(m, r, part), why);
    settings_add(m, item, "automatic choice of channel and power",
                 r->channel_was_chosen ? STR("of the channel on until one is chosen, of the power off") : STR("off"),
                 why);
    settings_add(m, item, "generation", settings_text(m, "802.11%s (%s), with all before it", g->letter, g->name), why);
    if (r->phy >= PHY_AX)
        settings_add(m, item, "BSS colour, OFDMA", STR("automatic; on"), why);
    settings_add(m, item, "lowest basic rate",
                 r->band == BAND_2G4 ? STR("6 Mb/s; 1, 2, 5.5 and 11 Mb/s off") : STR("6 Mb/s"), why);
    if (r->needs_radar_detection)
        settings_add(m, item, "radar detection (DFS)",
                     STR("on, as the law has it: it listens a minute or more before it sends, and leaves the channel "
                         "when it hears radar; let it fall back to a channel without this duty"),
                     why);
}

static void radios(struct settings_maker *m, uint32_t e, const struct part *part)
{
    uint32_t nth[BAND_COUNT] = { 0 };
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Radios"),
                       .where = STR("Country, channel, width, transmit power"),
                       .standard = STR("IEEE 802.11-2020, 802.11ax-2021; the country's radio rules decide"),
                       .intro = STR("EIRP is the power at the antenna ports with the gain of the antenna."),
                       .instead = STR("Steps instead of dBm: take the next step below. Without a lowest rate leave it; "
                                      "lost: a little air to slow beacons. Without a fixed channel the plan's quiet "
                                      "does not hold: it picks one that a neighbour has."),
                       .check = STR("With a phone one metre away: the channel, and the level, within a few dB on all "
                                    "access points of one band and power."),
                       .of = "radio",
                       SETTINGS_COLUMNS(RADIO_COLUMNS) });
    settings_add(m, STR("all radios"), "country", m->h->country, STR("it decides which channels and powers are legal"));
    for (uint32_t i = 0; i < part->radios.n; i++) {
        const struct part_radio *pr = &part->radios.v[i];
        const uint32_t n = nth[pr->band]++;
        const struct str item = n ? settings_text(m, "%s GHz, radio %u", band_name(pr->band), n + 1)
                                  : settings_text(m, "%s GHz", band_name(pr->band));
        const struct ap_radio *r = radio_of(m, e, i);
        if (r)
            radio_on(m, item, r, pr, n);
        else
            settings_add(m, item, RADIO_COLUMNS[0], STR("off"),
                         settings_because(m, settings_promise(m, 1u << PROMISE_QUIET), STR(""),
                                          "the plan does without it, and the air is quieter for the others"));
    }
}

/* ---- the access point itself ---- */

static void own_settings(struct settings_maker *m, uint32_t e)
{
    const struct equipment *eq = &m->h->equipment.v[e];
    settings_block(m, (struct settings_block){
                          .title = STR("Its own address"),
                          .where = STR("Management interface"),
                          .standard = STR("IEEE 802.1Q; RFC 2131"),
                          .check = STR("Its settings open from that segment, and from no SSID of another.") });
    if (eq->segment.i == NO_REF)
        settings_add_open(m, STR(""), "management VLAN",
                          STR("not in the house file: write segment under this equipment"),
                          STR("its settings are reached from one segment"));
    else
        settings_add(m, STR(""), "management VLAN",
                     settings_text(m, "%.*s, untagged on its cable", STR_ARG(settings_segment(m, eq->segment.i))),
                     STR("its settings are reached from one segment, and from no other"));
    settings_add(m, STR(""), "address", STR("by DHCP, then reserved for its MAC address"),
                 STR("it does not route, hand out addresses or translate: all that is the gateway's"));
    settings_add(m, STR(""), "mode", STR("bridge (access point)"), STR("one gateway judges all packets"));
    settings_add(m, STR(""), "name", eq->id, STR("the name on its label and in the house file"));
}

static void access_point(struct settings_maker *m, uint32_t e, const struct part *part)
{
    settings_thing(m, m->h->equipment.v[e].id, settings_heading(m, "Access point", e), STR(""));
    own_settings(m, e);
    ssids(m, e);
    radios(m, e, part);
    settings_ports(m, e);
}

/* ---- the low-power mesh ---- */

static void mesh(struct settings_maker *m)
{
    const struct mesh *mesh = &m->h->mesh;
    const struct str why = settings_because(m, settings_promise(m, 1u << PROMISE_QUIET), STR(""),
                                            "it shares the 2.4 GHz band with Wi-Fi and is far weaker");
    if (!mesh->at.line)
        return;
    settings_thing(m, STR("mesh"), STR("The hub of the low-power radio"), STR(""));
    settings_block(m, (struct settings_block){
                          .title = STR("Its channel"),
                          .where = STR("Low-power radio"),
                          .standard = STR("IEEE 802.15.4 (O-QPSK, channels 11 to 26)"),
                          .instead = STR("A hub that chooses by itself: switch it on last, once all access points "
                                         "send, so that it hears them."),
                          .check = STR("The farthest sensor answers within a second, ten times of ten.") });
    if (is_given(mesh->channel))
        settings_add(m, STR(""), "channel", settings_text(m, "%.0f", mesh->channel), why);
    else
        settings_add_open(m, STR(""), "channel",
                          STR("not in the house file: say channel under mesh, or let `rooftree design` choose it"),
                          why);
    settings_add(m, STR(""), "transmit power", settings_text(m, "%.0f dBm", mesh->power_dbm), why);
}

void settings_air(struct settings_maker *m)
{
    for (uint32_t e = 0; e < m->h->equipment.n; e++) {
        const struct part *part = settings_part(m->h, e);
        if (part && part->kind == PART_ACCESS_POINT)
            access_point(m, e, part);
    }
    mesh(m);
}
