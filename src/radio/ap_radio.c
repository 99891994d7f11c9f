#include "radio/ap_radio.h"

#include <math.h>

#include "base/units.h"
#include "data/channels.h"

struct resolver {
    const struct house *house;
    const struct regdb_country *rules; /* NULL: not known */
    struct rt_problems *problems;
};

/* One radio on its way: the part's, the file's setting for it, and where mistakes are shown. */
struct wish {
    const struct equipment *equipment;
    const struct part_radio *radio;
    const struct radio_setting *setting; /* NULL: the file says nothing */
    struct rt_place at;
    bool outdoors;
};

struct choice {
    int channel, width_mhz;
    bool was_chosen;
    struct regdb_channel rule;
};

static const char *const BAND_WORDS[BAND_COUNT] = { "2.4 GHz", "5 GHz", "6 GHz" };

static double default_width_mhz(enum band band)
{
    static const double WIDTHS[BAND_COUNT] = { AP_WIDTH_2G4_MHZ, AP_WIDTH_5G_MHZ, AP_WIDTH_6G_MHZ };
    return WIDTHS[band];
}

static struct regdb_channel rule_of(const struct resolver *r, enum band band, int channel, int width_mhz)
{
    if (!r->rules)
        return (struct regdb_channel){ .allowed = true, .max_eirp_dbm = (double)INFINITY };
    return regdb_channel_rules(r->rules, channel_centre_hz(band, channel), width_mhz * 1e6);
}

static bool may_stand_here(const struct wish *w, struct regdb_channel rule)
{
    return rule.allowed && !(w->outdoors && rule.indoor_only);
}

/* ---- a channel left open ---- */

/* How willingly a channel is taken: a search goes through these in order. */
enum burden { BURDEN_NONE, BURDEN_RADAR, BURDEN_PASSIVE, BURDEN_COUNT };

static enum burden burden_of(struct regdb_channel rule)
{
    return rule.passive_only ? BURDEN_PASSIVE : rule.radar ? BURDEN_RADAR : BURDEN_NONE;
}

/* Lowest channel of a width with exactly this burden. */
static bool find_lowest(const struct resolver *r, const struct wish *w, int width_mhz, enum burden burden,
                        struct choice *out)
{
    uint32_t n;
    const struct channel_block *b = channel_blocks(&n);
    for (uint32_t i = 0; i < n; i++) {
        if (b[i].band != w->radio->band || b[i].width_mhz != width_mhz)
            continue;
        for (int ch = b[i].first; ch <= b[i].last; ch += b[i].step) {
            const struct regdb_channel rule = rule_of(r, b[i].band, ch, width_mhz);
            if (may_stand_here(w, rule) && burden_of(rule) == burden) {
                *out = (struct choice){ .channel = ch, .width_mhz = width_mhz, .was_chosen = true, .rule = rule };
                return true;
            }
        }
    }
    return false;
}

static enum rt_code choose_channel(const struct resolver *r, const struct wish *w, int widest_mhz, bool may_narrow,
                                   struct choice *out)
{
    for (enum burden burden = 0; burden < BURDEN_COUNT; burden++)
        for (int width_mhz = widest_mhz; width_mhz >= 20; width_mhz = may_narrow ? width_mhz / 2 : 0)
            if (find_lowest(r, w, width_mhz, burden, out))
                return RT_OK;
    return rt_fail(r->problems, RT_RANGE, w->at,
                   may_narrow ? "switch this radio off (off: true)" : "take a smaller width",
                   "%.*s: no %s channel %s%d MHz wide may be used%s in %s", STR_ARG(w->equipment->id),
                   BAND_WORDS[w->radio->band], may_narrow ? "up to " : "", widest_mhz, w->outdoors ? " outdoors" : "",
                   r->rules ? r->rules->code : "any country");
}

/* ---- a channel the file gives ---- */

static enum rt_code refuse_channel(const struct resolver *r, const struct wish *w, const struct choice *c)
{
    if (c->rule.allowed)
        return rt_fail(r->problems, RT_RANGE, w->at, "take another channel, or leave it out to have one chosen",
                       "%.*s stands outdoors, where %s allows no %s channel %d (%d MHz wide): it is for indoors",
                       STR_ARG(w->equipment->id), r->rules->code, BAND_WORDS[w->radio->band], c->channel, c->width_mhz);
    return rt_fail(r->problems, RT_RANGE, w->at, "take another channel or a smaller width, or leave the channel out",
                   "%.*s: %s does not allow %s channel %d at a width of %d MHz", STR_ARG(w->equipment->id),
                   r->rules->code, BAND_WORDS[w->radio->band], c->channel, c->width_mhz);
}

static enum rt_code given_channel(const struct resolver *r, const struct wish *w, int widest_mhz, bool may_narrow,
                                  struct choice *out)
{
    const enum band band = w->radio->band;
    const double given = w->setting->channel;
    const int n = given >= 1 && given <= 253 && given == floor(given) ? (int)given : 0;
    const int own_width_mhz = n ? channel_width_mhz(band, n) : 0;
    if (own_width_mhz == 0)
        return rt_fail(r->problems, RT_RANGE, w->at,
                       "take a channel number of IEEE 802.11, such as 1, 6 or 11 at 2.4 GHz, "
                       "36 or 42 at 5 GHz, 5 or 7 at 6 GHz",
                       "%.*s: the %s band has no channel %g", STR_ARG(w->equipment->id), BAND_WORDS[band], given);
    if (own_width_mhz > 20) { /* the centre of a wide channel says the width */
        if (is_given(w->setting->width_mhz) && w->setting->width_mhz != own_width_mhz)
            return rt_fail(r->problems, RT_RANGE, w->at, "make the two agree, or give one of its 20 MHz channels",
                           "%.*s: channel %d is the centre of a channel %d MHz wide, and the width given is %g MHz",
                           STR_ARG(w->equipment->id), n, own_width_mhz, w->setting->width_mhz);
        if (own_width_mhz > w->radio->width_mhz)
            return rt_fail(r->problems, RT_RANGE, w->at, "take a narrower channel",
                           "%.*s: channel %d is %d MHz wide, and this radio does at most %g MHz",
                           STR_ARG(w->equipment->id), n, own_width_mhz, w->radio->width_mhz);
        widest_mhz = own_width_mhz;
        may_narrow = false;
    }
    *out = (struct choice){ 0 };
    for (int width_mhz = widest_mhz; width_mhz >= 20; width_mhz = may_narrow ? width_mhz / 2 : 0) {
        const int channel = own_width_mhz > 20 ? n : width_mhz == 20 ? n : channel_around(band, n, width_mhz);
        if (!channel)
            continue;
        *out = (struct choice){ channel, width_mhz, false, rule_of(r, band, channel, width_mhz) };
        if (may_stand_here(w, out->rule))
            return RT_OK;
    }
    if (!out->channel)
        return rt_fail(r->problems, RT_RANGE, w->at, "take another channel or a smaller width",
                       "%.*s: no %s channel %d MHz wide holds channel %d", STR_ARG(w->equipment->id), BAND_WORDS[band],
                       widest_mhz, n);
    return refuse_channel(r, w, out);
}

static enum rt_code resolve_channel(const struct resolver *r, const struct wish *w, struct choice *out)
{
    const struct radio_setting *s = w->setting;
    const bool has_width = s && is_given(s->width_mhz), has_channel = s && is_given(s->channel);
    const double width_mhz = has_width ? s->width_mhz : fmin(default_width_mhz(w->radio->band), w->radio->width_mhz);
    if (width_mhz > w->radio->width_mhz)
        return rt_fail(r->problems, RT_RANGE, w->at, "take a smaller width, or another part",
                       "%.*s: this %s radio does channels of at most %g MHz, and %g MHz is asked for",
                       STR_ARG(w->equipment->id), BAND_WORDS[w->radio->band], w->radio->width_mhz, width_mhz);
    int whole_mhz = 20;
    while (whole_mhz < 320 && whole_mhz * 2 <= width_mhz)
        whole_mhz *= 2;
    if (has_width && whole_mhz != width_mhz)
        return rt_fail(r->problems, RT_RANGE, w->at, "take 20, 40, 80, 160 or 320",
                       "%.*s: there is no channel %g MHz wide", STR_ARG(w->equipment->id), width_mhz);
    return has_channel ? given_channel(r, w, whole_mhz, !has_width, out)
                       : choose_channel(r, w, whole_mhz, !has_width, out);
}

/* ---- power ---- */

static enum rt_code resolve_power(const struct resolver *r, const struct wish *w, const struct choice *c,
                                  double peak_dbi, double *power_dbm)
{
    const bool asked = w->setting && is_given(w->setting->power_dbm);
    *power_dbm = asked ? w->setting->power_dbm : w->radio->power_dbm;
    if (*power_dbm > w->radio->power_dbm)
        return rt_fail(r->problems, RT_RANGE, w->at, "take less power, or another part",
                       "%.*s: this %s radio gives at most %g dBm, and %g dBm is asked for", STR_ARG(w->equipment->id),
                       BAND_WORDS[w->radio->band], w->radio->power_dbm, *power_dbm);
    const double most_dbm = c->rule.max_eirp_dbm - peak_dbi;
    if (*power_dbm <= most_dbm)
        return RT_OK;
    if (asked)
        rt_warn(
            r->problems, RT_RANGE, w->at, "ask for less, or leave the power out",
            "%.*s: %s allows %g dBm (EIRP) on %s channel %d; with the antenna's %g dBi the power is lowered from %g "
            "to %.2f dBm",
            STR_ARG(w->equipment->id), r->rules->code, c->rule.max_eirp_dbm, BAND_WORDS[w->radio->band], c->channel,
            peak_dbi, *power_dbm, most_dbm);
    *power_dbm = most_dbm;
    return RT_OK;
}

/* ---- a radio, an access point, the house ---- */

bool ap_stands_outdoors(const struct house *h, const struct equipment *e)
{
    if (e->mount.i != NO_REF && h->mounts.v[e->mount.i].outdoors)
        return true;
    if (e->room.i != NO_REF && h->rooms.v[e->room.i].use == USE_OUTDOOR)
        return true;
    return e->floor.i != NO_REF && h->floors.v[e->floor.i].open_air;
}

static enum rt_code resolve_radio(const struct resolver *r, const struct wish *w, struct ap_radio *out)
{
    struct choice c = { 0 };
    RT_TRY(resolve_channel(r, w, &c));
    const double peak_dbi = antenna_peak_gain_dbi(&w->radio->antenna);
    double power_dbm;
    RT_TRY(resolve_power(r, w, &c, peak_dbi, &power_dbm));
    if (c.rule.passive_only)
        rt_warn(r->problems, RT_RANGE, w->at, "make sure that the access point is approved for it",
                "%.*s: on %s channel %d the regulatory database of %s lets a device send only where it hears another; "
                "its limit for such devices, %g dBm, is taken",
                STR_ARG(w->equipment->id), BAND_WORDS[w->radio->band], c.channel, r->rules->code, c.rule.max_eirp_dbm);
    *out = (struct ap_radio){ .band = w->radio->band,
                              .phy = w->radio->phy,
                              .channel = c.channel,
                              .centre_hz = channel_centre_hz(w->radio->band, c.channel),
                              .width_hz = c.width_mhz * 1e6,
                              .streams = w->radio->streams,
                              .power_dbm = power_dbm,
                              .eirp_dbm = power_dbm + peak_dbi,
                              .noise_figure_db = w->radio->noise_figure_db,
                              .antenna = &w->radio->antenna,
                              .channel_was_chosen = c.was_chosen,
                              .needs_radar_detection = c.rule.radar };
    return RT_OK;
}

const struct radio_setting *radio_setting_nth(const struct equipment *e, enum band band, uint32_t n)
{
    for (uint32_t i = 0; i < e->radios.n; i++)
        if (e->radios.v[i].band == band && n-- == 0)
            return &e->radios.v[i];
    return NULL;
}

static uint32_t count_radios(const struct part *part, enum band band)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < part->radios.n; i++)
        n += part->radios.v[i].band == band;
    return n;
}

static enum rt_code check_settings(const struct resolver *r, const struct equipment *e, const struct part *part)
{
    enum rt_code first = RT_OK;
    for (uint32_t i = 0; i < e->radios.n; i++) {
        const enum band band = e->radios.v[i].band;
        uint32_t n_before = 0;
        for (uint32_t k = 0; k < i; k++)
            n_before += e->radios.v[k].band == band;
        const uint32_t n_has = count_radios(part, band);
        if (n_before < n_has)
            continue;
        const enum rt_code code =
            rt_fail(r->problems, RT_CONFLICT, e->radios.v[i].at, "remove this setting, or take another part",
                    n_has ? "%.*s: there is a setting too many for %s; the part %.*s has fewer such radios"
                          : "%.*s: there is a setting for %s, and the part %.*s has no such radio",
                    STR_ARG(e->id), BAND_WORDS[band], STR_ARG(part->id));
        first = first ? first : code;
    }
    return first;
}

static enum rt_code resolve_equipment(const struct resolver *r, uint32_t index, struct ap_radio *v, uint32_t *n)
{
    const struct equipment *e = &r->house->equipment.v[index];
    const struct part *part = &r->house->parts.list.v[e->part.i];
    enum rt_code first = check_settings(r, e, part);
    for (enum band band = 0; band < BAND_COUNT; band++) {
        uint32_t n_of_band = 0;
        for (uint32_t i = 0; i < part->radios.n; i++) {
            if (part->radios.v[i].band != band)
                continue;
            const struct radio_setting *setting = radio_setting_nth(e, band, n_of_band++);
            if (setting && setting->off)
                continue;
            const struct wish w = { .equipment = e,
                                    .radio = &part->radios.v[i],
                                    .setting = setting,
                                    .at = setting ? setting->at : e->at,
                                    .outdoors = ap_stands_outdoors(r->house, e) };
            struct ap_radio radio;
            const enum rt_code code = resolve_radio(r, &w, &radio);
            first = first ? first : code;
            if (code)
                continue;
            radio.equipment = index;
            radio.part_radio = i;
            radio.at_m = e->at_m;
            if (e->floor.i != NO_REF)
                radio.at_m.z = house_z_m(r->house, e->floor.i, e->at_m.z);
            radio.pose = antenna_pose_of(r->house, e);
            v[(*n)++] = radio;
        }
    }
    return first;
}

static bool has_radios(const struct house *h, const struct equipment *e)
{
    if (e->part.i == NO_REF)
        return false;
    const enum part_kind kind = h->parts.list.v[e->part.i].kind;
    return kind == PART_ACCESS_POINT || kind == PART_GATEWAY;
}

enum rt_code ap_radios_resolve(const struct run *run, const struct house *h, const struct regdb_country *rules,
                               ap_radio_list *out, struct rt_problems *p)
{
    const struct resolver r = { .house = h, .rules = rules, .problems = p };
    uint32_t n_most = 0;
    for (uint32_t i = 0; i < h->equipment.n; i++)
        if (has_radios(h, &h->equipment.v[i]))
            n_most += h->parts.list.v[h->equipment.v[i].part.i].radios.n;
    struct ap_radio *v = ARENA_ARRAY(run->arena, struct ap_radio, n_most);
    if (!v)
        return rt_fail_memory(p);
    if (!rules && n_most > 0)
        rt_warn(p, RT_MISSING, RT_NOWHERE, "install the package wireless-regdb, and see that `country` is right",
                "the radio rules of %.*s are not known here: channels and powers are as the parts have them",
                STR_ARG(h->country));
    enum rt_code first = RT_OK;
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->equipment.n; i++) {
        if (!has_radios(h, &h->equipment.v[i]))
            continue;
        const enum rt_code code = resolve_equipment(&r, i, v, &n);
        first = first ? first : code;
    }
    if (first)
        return first;
    out->v = v;
    out->n = n;
    return RT_OK;
}
