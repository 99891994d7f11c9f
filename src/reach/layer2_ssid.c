/* SSIDs: on which radios they are, and what is wrong with them. */
#include <string.h>

#include "base/units.h"
#include "reach/layer2_int.h"

static bool is_off(const struct equipment *e, enum band band)
{
    for (uint32_t i = 0; i < e->radios.n; i++)
        if (e->radios.v[i].band == band)
            return e->radios.v[i].off;
    return false;
}

static void list_cells(struct layer2_maker *m, uint32_t s)
{
    const struct house *h = m->h;
    VEC(struct l2_cell) cells = { 0 };
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct part *part = net_part(&m->net, e);
        if (!part || part->kind != PART_ACCESS_POINT)
            continue;
        for (enum band band = 0; band < BAND_COUNT; band++) {
            bool has = false;
            for (uint32_t i = 0; i < part->radios.n; i++)
                has |= part->radios.v[i].band == band;
            if (has && house_ssid_is_on(h, s, e, band) && !is_off(&h->equipment.v[e], band) &&
                !VEC_PUSH(m->arena, &cells, ((struct l2_cell){ e, band })))
                m->failed = true;
        }
    }
    m->l2->ssids[s].cells.v = cells.v;
    m->l2->ssids[s].cells.n = cells.n;
}

void layer2_ssids(struct layer2_maker *m)
{
    const struct house *h = m->h;
    m->l2->ssids = ARENA_ARRAY(m->arena, struct l2_ssid, h->ssids.n);
    if (!m->l2->ssids) {
        m->failed = true;
        return;
    }
    for (uint32_t s = 0; s < h->ssids.n; s++) {
        const struct ssid *ssid = &h->ssids.v[s];
        m->l2->ssids[s] = (struct l2_ssid){ .segment = ssid->segment.i,
                                            .name = ssid->name.n ? ssid->name : ssid->id,
                                            .isolate = ssid->isolate };
        list_cells(m, s);
    }
}

bool device_hears(const struct layer2 *l2, uint32_t device, uint32_t ssid, const struct l2_cell *cell)
{
    const struct device *d = &l2->plan->h->devices.v[device];
    return d->link == LINK_WIFI && d->segment.i != NO_REF && d->segment.i == l2->ssids[ssid].segment &&
           (d->radio.bands >> cell->band & 1);
}

/* ---- what is wrong ---- */

bool segment_is_trusted(const struct house *h, uint32_t segment)
{
    static const char *const OWN[] = { "phone", "tablet", "laptop", "work_laptop", "desktop", "server", "watch" };
    for (uint32_t e = 0; e < h->equipment.n; e++)
        if (h->equipment.v[e].segment.i == segment)
            return true;
    for (uint32_t i = 0; i < h->devices.n; i++) {
        const struct device *d = &h->devices.v[i];
        const bool is_guests = d->owner.i != NO_REF && (h->people.v[d->owner.i].kind == PERSON_LODGER ||
                                                        h->people.v[d->owner.i].kind == PERSON_GUEST);
        for (size_t k = 0; d->segment.i == segment && !is_guests && k < RT_COUNT(OWN); k++)
            if (str_is(d->kind, OWN[k]))
                return true;
    }
    return false;
}

/* Access points are those of consecutive cells, since cells are by equipment. */
static uint32_t n_access_points(const struct l2_ssid *s)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < s->cells.n; i++)
        n += i == 0 || s->cells.v[i].equipment != s->cells.v[i - 1].equipment;
    return n;
}

static void find_security(struct layer2_maker *m, const struct ssid *ssid)
{
    const struct str name = ssid->name.n ? ssid->name : ssid->id;
    const bool is_trusted = segment_is_trusted(m->h, ssid->segment.i);
    const bool is_known_only = m->h->segments.v[ssid->segment.i].known_only;
    const char *segment = segment_words(m, ssid->segment.i);
    /* Wi-Fi in the 6 GHz band needs WPA3 or OWE, both with protected management frames, and knows no transition modes:
     * IEEE Std 802.11ax-2021, clause 12.12.2 (from memory). */
    if ((ssid->bands >> BAND_6G & 1) && ssid->security != SECURITY_WPA3 && ssid->security != SECURITY_OWE)
        finding_add(m, L2_SSID_BAND, true, ssid->at, "say 'security: wpa3', or leave 6 out of its bands",
                    "SSID '%.*s' is to be on 6 GHz, where only WPA3 and OWE are allowed", STR_ARG(name));
    if ((ssid->security == SECURITY_OPEN || ssid->security == SECURITY_OWE) && (is_trusted || is_known_only))
        finding_add(m, L2_SSID_WEAK, true, ssid->at, "give it a passphrase: 'security: wpa3' or 'wpa2_wpa3'",
                    "SSID '%.*s' lets anyone who hears it into %s", STR_ARG(name), segment);
    else if (ssid->security == SECURITY_OPEN)
        finding_add(m, L2_SSID_WEAK, false, ssid->at, "say 'security: owe', or give it a passphrase",
                    "what is sent over SSID '%.*s' can be read by anyone who hears it", STR_ARG(name));
    else if (ssid->security == SECURITY_WPA2 && is_trusted)
        finding_add(m, L2_SSID_WEAK, false, ssid->at, "say 'security: wpa2_wpa3', or 'wpa3' if all its devices can",
                    "SSID '%.*s' leads to %s with WPA2 alone: who listens to one device joining can try passphrases "
                    "at home, as many as they like",
                    STR_ARG(name), segment);
}

static void find_ssid(struct layer2_maker *m, uint32_t s)
{
    const struct ssid *ssid = &m->h->ssids.v[s];
    const struct l2_ssid *row = &m->l2->ssids[s];
    if (!row->cells.n)
        finding_add(m, L2_SSID_NOWHERE, true, ssid->at,
                    "name access points that have a radio for one of its bands, switched on",
                    "SSID '%.*s' is on no access point", STR_ARG(row->name));
    find_security(m, ssid);
    if (ssid->isolate && n_access_points(row) > 1)
        finding_add(
            m, L2_ISOLATION_GAP, false, ssid->at,
            "keep the access points' ports apart in this VLAN on the switch, or put the SSID on one access point",
            "SSID '%.*s' keeps its clients apart at each access point, but not those of one access point from "
            "those of another",
            STR_ARG(row->name));
}

static void find_crowded(struct layer2_maker *m, uint32_t e)
{
    const struct part *part = net_part(&m->net, e);
    uint32_t n = 0;
    if (!part || part->kind != PART_ACCESS_POINT || !is_given(part->ssids_max))
        return;
    for (uint32_t s = 0; s < m->h->ssids.n; s++) {
        bool has = false;
        for (uint32_t i = 0; i < m->l2->ssids[s].cells.n; i++)
            has |= m->l2->ssids[s].cells.v[i].equipment == e;
        n += has;
    }
    if (n > part->ssids_max)
        finding_add(m, L2_SSID_TOO_MANY, true, m->h->equipment.v[e].at,
                    "name under 'equipment' of the SSIDs where each is needed, or take a part that carries more",
                    "%s has %u SSIDs to carry, but can carry %.0f", thing_words(m, e), n, part->ssids_max);
}

static void find_deaf(struct layer2_maker *m, uint32_t device)
{
    const struct device *d = &m->h->devices.v[device];
    if (d->link != LINK_WIFI || d->segment.i == NO_REF)
        return;
    for (uint32_t s = 0; s < m->h->ssids.n; s++)
        for (uint32_t i = 0; i < m->l2->ssids[s].cells.n; i++)
            if (device_hears(m->l2, device, s, &m->l2->ssids[s].cells.v[i]))
                return;
    finding_add(m, L2_NO_RADIO, true, d->at, "put an SSID of its segment on a band that it has",
                "%s is on Wi-Fi, but no SSID of %s is on the air in a band that it has",
                thing_words(m, m->h->equipment.n + device), segment_words(m, d->segment.i));
}

void layer2_find_air(struct layer2_maker *m)
{
    for (uint32_t s = 0; s < m->h->ssids.n; s++)
        find_ssid(m, s);
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        find_crowded(m, e);
    for (uint32_t d = 0; d < m->h->devices.n; d++)
        find_deaf(m, d);
}
