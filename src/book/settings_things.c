/* Pictures, the battery, and what is to be set on the devices themselves. */
#include <math.h>

#include "base/units.h"
#include "book/settings_int.h"
#include "load/recordings.h"
#include "promise/wire_words.h"

/* ---- pictures ---- */

static const char *const CAMERA_COLUMNS[] = { "picture", "bit rate", "recording" };

static void camera(struct settings_maker *m, const struct recording *r, const struct camera_rate *c, struct str why)
{
    const struct str id = m->h->devices.v[c->device].id;
    if (!isfinite(c->mbps)) {
        settings_add_open(m, id, CAMERA_COLUMNS[0], c->how, why);
        settings_add_open(m, id, CAMERA_COLUMNS[1], STR("not known until its picture is"), why);
    } else {
        settings_add(m, id, CAMERA_COLUMNS[0], c->how.n ? c->how : STR("as it was made"), why);
        settings_add(m, id, CAMERA_COLUMNS[1], settings_text(m, "at most %.1f Mb/s", c->mbps), why);
    }
    settings_add(m, id, CAMERA_COLUMNS[2],
                 r->motion_only
                     ? settings_text(m, "while something moves (taken as %.0f %% of the day)", 100 * c->share)
                     : STR("always"),
                 why);
    settings_add(m, id, "time", STR("by NTP, from the gateway"), why);
    settings_add(m, id, "cloud service of the maker", STR("off, unless a statement lets it out"), why);
}

static struct str days_words(struct settings_maker *m, const struct recording_life *life)
{
    if (isinf(life->days))
        return STR("as long as you like: nothing is written");
    return settings_text(m, "%.1f days fit on the disk", life->days);
}

static void recorder(struct settings_maker *m, const struct recording *r, const struct recording_life *life,
                     struct str why)
{
    settings_add(m, r->recorder, CAMERA_COLUMNS[2],
                 is_given(r->days_wanted) ? settings_text(m, "kept %.0f days, then overwritten", r->days_wanted)
                                          : STR("the oldest is overwritten when the disk is full"),
                 why);
    if (is_given(life->days))
        settings_add(m, r->recorder, "disk", days_words(m, life), why);
    for (uint32_t i = 0; i < life->missing.n; i++)
        settings_add_open(m, r->recorder, "disk", life->missing.v[i], why);
    if (r->disks.n > 1)
        settings_add(m, r->recorder, "disks together", r->mirrored ? STR("mirrored") : STR("one after the other"), why);
    settings_add(m, r->recorder, "all cameras at once", settings_text(m, "%.1f Mb/s", life->peak_mbps), why);
}

enum rt_code settings_pictures(struct settings_maker *m)
{
    settings_thing(m, STR("pictures"), STR("Cameras and recorders"),
                   STR("Point no camera at a neighbour's door or the street beyond what the law of the place allows."));
    for (uint32_t i = 0; i < m->h->recordings.n; i++) {
        const struct recording *r = &m->h->recordings.v[i];
        struct recording_life life = { 0 };
        RT_TRY(recording_life_of(m->run, m->h, i, &life, m->p));
        const struct str why = settings_because(m, settings_promise_of_recording(m, i), settings_quote(m, r->says),
                                                "days, disk and cables were reckoned with these");
        settings_block(m,
                       (struct settings_block){
                           .title = settings_text(m, "Recording: %.*s", STR_ARG(r->says.n ? r->says : r->id)),
                           .where = STR("Video encoding, recording"),
                           .standard = STR("ITU-T H.264, H.265"),
                           .instead = STR("A camera that only knows qualities: take the one whose rate, measured over "
                                          "a busy hour, comes nearest below. Without a limit of the rate a windy "
                                          "night fills the disk."),
                           .check = STR("After a day look how much of the disk it took, and play the first minute."),
                           .of = "thing",
                           SETTINGS_COLUMNS(CAMERA_COLUMNS) });
        for (uint32_t k = 0; k < life.cameras.n; k++)
            camera(m, r, &life.cameras.v[k], why);
        recorder(m, r, &life, why);
    }
    return RT_OK;
}

/* ---- the battery ---- */

static void fed(struct settings_maker *m, struct str id, bool lasts, const struct battery_life *life)
{
    const struct str promise = settings_promise_of_thing(m, 1u << PROMISE_OUTAGE, id);
    const struct str promised = promise.n ? promise : settings_promise(m, 1u << PROMISE_OUTAGE);
    if (!lasts)
        settings_add(m, id, "when mains fails", STR("shuts itself down after 2 minutes, if it can"),
                     STR("no promise asks for it then: what it draws is left to the others"));
    else if (is_given(life->minutes))
        settings_add(m, id, "when mains fails",
                     settings_text(m, "runs on until the battery is empty: %.0f min", life->minutes),
                     settings_because(m, promised, STR(""), ""));
    else
        settings_add_open(
            m, id, "when mains fails",
            settings_text(m, "runs on until the battery is empty; how long: %.*s", STR_ARG(life->missing)),
            settings_because(m, promised, STR(""), ""));
}

/* What hangs on a switch that the battery feeds, over its cable, and is in no promise. */
static void shed_ports(struct settings_maker *m, uint32_t battery)
{
    for (uint32_t i = 0; i < m->power->feeds.n; i++) {
        const struct power_feed *f = &m->power->feeds.v[i];
        if (f->source == NO_REF || m->energy->battery_of_equipment[f->source] != battery || f->class_granted < 0 ||
            settings_is_promised_in_outage(m->h, feed_id(m->h, f)))
            continue;
        settings_add(m, feed_id(m->h, f), "when mains fails",
                     settings_text(m, "goes first: port %u of %.*s stops feeding it, if it can be told to", f->port,
                                   STR_ARG(m->h->equipment.v[f->source].id)),
                     STR("no promise asks for it then: what it draws is left to the others"));
    }
}

/* What the promised hang on lives as long as they. */
static bool carries_others(const struct house *h, struct str id)
{
    const uint32_t e = house_find_equipment(h, id);
    const struct part *part = e == NO_REF ? NULL : settings_part(h, e);
    return part && (part->kind == PART_GATEWAY || part->kind == PART_SWITCH);
}

void settings_battery(struct settings_maker *m)
{
    settings_thing(m, STR("battery"), STR("The battery"), STR(""));
    for (uint32_t b = 0; b < m->h->batteries.n; b++) {
        const struct battery *said = &m->h->batteries.v[b];
        settings_block(
            m, (struct settings_block){
                   .title = settings_text(m, "Without mains: %.*s", STR_ARG(said->id)),
                   .where = STR("Order of shutting down"),
                   .instead = STR("Where nothing can be told to shut down, pull the plugs of the first by hand. "
                                  "The minutes of the plan count all that it feeds as running to the end, so "
                                  "that shutting down only adds to them."),
                   .check = STR("Pull the battery's plug from the wall with the clock in hand; put it back "
                                "when half the minutes are over."),
                   .of = "thing" });
        shed_ports(m, b);
        for (int lasts = 0; lasts < 2; lasts++)
            for (uint32_t i = 0; i < said->feeds.n; i++) {
                const struct str id = said->feeds.v[i];
                const bool is_core =
                    str_is(id, LINE_BOX_NAME) || carries_others(m->h, id) || settings_is_promised_in_outage(m->h, id);
                if (is_core == (lasts == 1))
                    fed(m, id, lasts == 1, &m->energy->batteries[b]);
            }
    }
}

/* ---- on the devices ---- */

void settings_devices(struct settings_maker *m)
{
    settings_thing(m, STR("devices"), STR("On the devices themselves"), STR(""));
    settings_block(m,
                   (struct settings_block){
                       .title = STR("Devices that change their MAC address"),
                       .where = STR("Wi-Fi settings of the device, for this one SSID"),
                       .standard = STR("IEEE 802.11-2020, 12.2.10 (from memory)"),
                       .instead = STR("A device that cannot leave it off is known by nothing: keep rules about it to "
                                      "its whole segment."),
                       .check = STR("The gateway lists it under its name the next day too."),
                       .of = "device" });
    for (uint32_t d = 0; d < m->h->devices.n; d++) {
        const struct device *said = &m->h->devices.v[d];
        if (!said->varies_mac || m->x->plan->devices[d].zone == NO_REF)
            continue;
        settings_add(m, said->id, "changing MAC address", STR("off for this network"),
                     m->h->segments.v[said->segment.i].known_only
                         ? STR("its segment lets known devices in only: it would be kept out")
                         : STR("its address, its name and every rule about it rest on it"));
    }
}
