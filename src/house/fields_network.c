/* The rows of network.h that say what is there: the line, what is heard, people, devices and their traffic. */
#include "house/field_int.h"

NUMBER_WORDS(WORDS_BAND, [BAND_2G4] = "2.4", [BAND_5G] = "5", [BAND_6G] = "6");
NUMBER_WORDS(WORDS_WIDTH, "20", "40", "80", "160", "320");
WORDS(WORDS_PHY, [PHY_N] = "n", [PHY_AC] = "ac", [PHY_AX] = "ax", [PHY_BE] = "be");
WORDS(WORDS_CODEC, "h264", "h265", "mjpeg");
WORDS(WORDS_QUALITY, "low", "normal", "high");
STATIC_WORDS(WORDS_LINE, [LINE_FIBRE] = "fibre", [LINE_CABLE] = "cable", [LINE_DSL] = "dsl", [LINE_MOBILE] = "mobile",
             [LINE_FIXED_WIRELESS] = "fixed_wireless", [LINE_SATELLITE] = "satellite", [LINE_OTHER] = "other");
STATIC_WORDS(WORDS_FRAMING, [FRAMING_BY_KIND] = "by_kind", [FRAMING_NONE] = "none", [FRAMING_PTM] = "ptm",
             [FRAMING_ATM] = "atm", [FRAMING_DOCSIS] = "docsis", [FRAMING_ETHERNET] = "ethernet");
STATIC_WORDS(WORDS_PUBLIC, [PUBLIC_IPV4_OWN] = "own", [PUBLIC_IPV4_SHARED] = "shared", [PUBLIC_IPV4_NONE] = "none");
STATIC_WORDS(WORDS_BOX, [BOX_MODEM] = "modem", [BOX_ROUTER] = "router", [BOX_NONE] = "none");
STATIC_WORDS(WORDS_PERSON, [PERSON_ADULT] = "adult", [PERSON_CHILD] = "child", [PERSON_LODGER] = "lodger",
             [PERSON_GUEST] = "guest");
STATIC_WORDS(WORDS_WAITS, [WAITS_NEVER] = "never", [WAITS_BRIEFLY] = "briefly", [WAITS_TILL_NIGHT] = "till_night");
STATIC_WORDS(WORDS_LINK, [LINK_NONE] = "none", [LINK_WIRED] = "wired", [LINK_WIFI] = "wifi", [LINK_MESH] = "mesh");

static const struct field BOX[] = {
    ENUM(provider_box, mode, REQUIRED, WORDS_BOX, "how it is set: passing the line through, or routing itself"),
    TEXT(provider_box, ipv4, OPTIONAL, TEXT_IPV4_SUBNET, "its own subnet when it routes"),
    BOOL(provider_box, wifi_on, DEFAULT(false), "its own Wi-Fi is switched on"),
    NUM(provider_box, power_w, OPTIONAL, 0, 500, "what it draws"),
    TEXT(provider_box, circuit, OPTIONAL, TEXT_ANY, "mains circuit it is plugged into, any word"),
};
static SHAPE(SHAPE_BOX, provider_box, BOX, "a provider's box", .doc = "The box the provider put in the house.");

static const struct field LINE[] = {
    ENUM(line, kind, REQUIRED, WORDS_LINE, "how the internet comes"),
    NUM(line, down_mbps, REQUIRED, 0.01, 1e6, "speed down, as it really is"),
    NUM(line, up_mbps, REQUIRED, 0.01, 1e6, "speed up, as it really is"),
    NUM(line, latency_ms, OPTIONAL, 0, 5000, "time to the provider's network and back, idle"),
    NUM(line, overhead_bytes, DEFAULT(18), 0, 200, "added to each packet by the line's framing"),
    ENUM(line, framing, DEFAULT(FRAMING_BY_KIND), WORDS_FRAMING,
         "how packets are packed; by_kind: ptm for dsl (an old one has atm), docsis for cable, none for all others"),
    WHOLE(line, ipv6_prefix_len, OPTIONAL, 32, 64, "length of the delegated IPv6 prefix; left out: no IPv6"),
    ENUM(line, public_ipv4, DEFAULT(PUBLIC_IPV4_OWN), WORDS_PUBLIC,
         "own: an address of its own; shared: behind the provider's translation"),
    REF(line, floor, OPTIONAL, FLOOR, "floor on which it enters"),
    POINT3(line, at_m, OPTIONAL, "where it enters [x, y, z], z above the floor"),
    OBJECT(line, box, OPTIONAL, SHAPE_BOX, "the provider's box"),
    NUM(line, price_per_month, OPTIONAL, 0, 1e6, "what it costs"),
    NUM(line, cap_gb_per_month, OPTIONAL, 0.1, 1e7, "volume included; left out: no cap"),
};
SHAPE(SHAPE_LINE, line, LINE, "a line", .doc = "The internet line.");

static const struct field NEIGHBOUR[] = {
    ENUM(neighbour, band, REQUIRED, WORDS_BAND, "band in GHz"),
    WHOLE(neighbour, channel, REQUIRED, 1, 233,
          "its primary channel, one that its band has; or the number of a wide channel, with its width"),
    NUM_OF(neighbour, width_mhz, DEFAULT(20), WORDS_WIDTH, "its channel width"),
    NUM(neighbour, level_dbm, REQUIRED, -120, 0, "level heard"),
    NUM(neighbour, busy_share, DEFAULT(0.1), 0, 1, "share of the time it is on the air"),
    REF(neighbour, floor, OPTIONAL, FLOOR, "floor where it was heard; left out: all over the house"),
    POINT3(neighbour, at_m, OPTIONAL, "where on that floor it was heard [x, y, z]; it counts all over the floor"),
};
SHAPE(SHAPE_NEIGHBOUR, neighbour, NEIGHBOUR, "a neighbour", .has_id = true,
      .doc = "A foreign cell heard in the house.");

static const struct field MESH[] = {
    WHOLE(mesh, channel, OPTIONAL, 11, 26, "channel of IEEE 802.15.4; left out: to be chosen"),
    NUM(mesh, power_dbm, DEFAULT(8), -20, 20, "transmit power of its radios"),
    BOOL(mesh, tune, DEFAULT(true), "the channel may be changed"),
};
SHAPE(SHAPE_MESH, mesh, MESH, "a mesh", .doc = "The low-power mesh of lights, sensors and locks (IEEE 802.15.4).");

static const struct field FOREIGN_RANGE[] = {
    TEXT(foreign_range, range, REQUIRED, TEXT_SUBNET, "addresses that must stay unused"),
    TEXT(foreign_range, says, OPTIONAL, TEXT_ANY, "whose they are"),
};
SHAPE(SHAPE_FOREIGN_RANGE, foreign_range, FOREIGN_RANGE, "a foreign range", .short_key = "range",
      .doc = "Addresses that the house must not use itself: a work tunnel's, the provider's box's.");

static const struct field PERSON[] = {
    TEXT(person, says, OPTIONAL, TEXT_ANY, "name, for people"),
    ENUM(person, kind, DEFAULT(PERSON_ADULT), WORDS_PERSON, "who it is to the household"),
    BOOL(person, works_from_home, DEFAULT(false), "works from home"),
    REF(person, room, OPTIONAL, ROOM, "where they sleep or work"),
    NAME(person, profile, OPTIONAL, IN(PROFILE),
         "their traffic, on one of their devices at a time; what they carry and has no profile of its own is then "
         "silent; left "
         "out: each device by itself"),
};
SHAPE(SHAPE_PERSON, person, PERSON, "a person", .has_id = true, .id_pattern = END_ID_PATTERN,
      .doc = "Somebody who lives or stays in the house.");

static const struct field RADIO[] = {
    ENUM(radio_ability, phy, OPTIONAL, WORDS_PHY, "IEEE 802.11 generation; left out: by kind"),
    BITS(radio_ability, bands, OPTIONAL, WORDS_BAND, "bands in GHz; left out: by kind"),
    WHOLE(radio_ability, streams, OPTIONAL, 1, 8, "spatial streams; left out: by kind"),
    NUM_OF(radio_ability, width_mhz, OPTIONAL, WORDS_WIDTH, "widest channel; left out: by kind"),
    NUM(radio_ability, power_dbm, OPTIONAL, -10, 30, "transmit power at the antenna; left out: by kind"),
    NUM(radio_ability, gain_dbi, OPTIONAL, -30, 30, "antenna gain; left out: by kind"),
    NUM(radio_ability, body_loss_db, OPTIONAL, 0, 30, "loss by hand, head or table; left out: by kind"),
    NUM(radio_ability, noise_figure_db, OPTIONAL, 0, 20, "noise figure of the receiver; left out: by kind"),
};
static SHAPE(SHAPE_RADIO, radio_ability, RADIO, "a device's radio", .doc = "What the device's radio can do.");

static const struct field CAMERA[] = {
    WHOLE(camera, width_px, OPTIONAL, 16, 16384, "width of the picture"),
    WHOLE(camera, height_px, OPTIONAL, 16, 16384, "height of the picture"),
    NUM(camera, frames_per_s, OPTIONAL, 0.01, 240, "pictures in a second"),
    WORD(camera, codec, DEFAULT_TEXT("h264"), WORDS_CODEC, "how the picture is coded"),
    WORD(camera, quality, DEFAULT_TEXT("normal"), WORDS_QUALITY, "how much is spent on each picture"),
    NUM(camera, rate_mbps, OPTIONAL, 0.001, 1000, "bit rate; left out: computed from the picture"),
    NUM(camera, motion_share, DEFAULT(0.3), 0, 1, "share of the day in which something moves"),
};
SHAPE(SHAPE_CAMERA, camera, CAMERA, "a camera", .doc = "The picture that a device takes.");

static const struct field OFFER[] = {
    NAME(service_use, service, REQUIRED, IN(SERVICE) | IN(OWN_SERVICE), "service that others may want of it"),
};
static SHAPE(SHAPE_OFFER, service_use, OFFER, "an offer", .short_key = "service",
             .doc = "A service the device offers.");

static const struct field USE[] = {
    NAME(service_use, service, REQUIRED, IN(SERVICE) | IN(OWN_SERVICE), "service it uses"),
    { .key = "with",
      .type = FIELD_TEXT,
      .offset = MEMBER(service_use, with, struct str),
      .is_endpoint = true,
      .doc = "with whom: a device, group, segment, internet, or an internet name; left out: not said" },
};
static SHAPE(SHAPE_USE, service_use, USE, "a use", .short_key = "service", .doc = "A service the device uses.");

static const struct field DEVICE[] = {
    TEXT(device, says, OPTIONAL, TEXT_ANY, "what the household calls it"),
    NAME(device, kind, REQUIRED, IN(DEVICE_KIND), "what it is; radio, power and traffic follow from it"),
    REF(device, owner, OPTIONAL, PERSON, "whose it is; left out: the household's"),
    REF(device, room, OPTIONAL, ROOM, "the room it is in"),
    REF(device, floor, OPTIONAL, FLOOR, "the floor, where there is no room"),
    POINT3(device, at_m, OPTIONAL, "its place [x, y, z], z above the floor; left out: anywhere in its room"),
    BOOL(device, carried, DEFAULT(false), "moves about the house"),
    REF(device, segment, OPTIONAL, SEGMENT, "the segment it belongs to"),
    ENUM(device, link, REQUIRED, WORDS_LINK, "how it is connected"),
    OBJECT(device, radio, OPTIONAL, SHAPE_RADIO, "what its radio can do; left out: by kind"),
    NUM(device, speed_mbps, OPTIONAL, 0.001, 1e5, "speed needed on its cable; left out: by kind"),
    WHOLE(device, poe_class, OPTIONAL, 0, 8, "class of power over its cable (IEEE 802.3); left out: not powered so"),
    NUM(device, power_w, OPTIONAL, 0, 20000, "what it typically draws; left out: by kind"),
    TEXT(device, circuit, OPTIONAL, TEXT_ANY, "mains circuit it is plugged into, any word, the same for all on it"),
    TEXT(device, mac, OPTIONAL, TEXT_MAC, "its MAC address; left out: not known"),
    BOOL(device, varies_mac, DEFAULT(false), "changes its MAC address by itself"),
    TEXT(device, ipv4, OPTIONAL, TEXT_IPV4, "fixed address asked for; left out: any"),
    LIST_OF(device, offers, OPTIONAL, SHAPE_OFFER, 0, "services it offers"),
    LIST_OF(device, uses, OPTIONAL, SHAPE_USE, 0, "services it uses, and with whom"),
    NAME(device, profile, OPTIONAL, IN(PROFILE), "its traffic; left out: by kind (see load.md), or its owner's"),
    OBJECT(device, camera, OPTIONAL, SHAPE_CAMERA, "the picture it takes"),
    BOOL(device, owned, DEFAULT(true), "already there: costs nothing"),
    NAME(device, part, OPTIONAL, IN(PART), "part of the parts file, if it is still to be bought"),
};
SHAPE(SHAPE_DEVICE, device, DEVICE, "a device", .has_id = true, .id_pattern = END_ID_PATTERN,
      .doc = "Something that uses the network. A device that is not carried says its room, or its floor.");

static const struct field STATE[] = {
    TEXT(profile_state, says, OPTIONAL, TEXT_ANY, "what goes on"),
    NUM(profile_state, down_mbps, DEFAULT(0), 0, 1e5, "what it receives"),
    NUM(profile_state, up_mbps, DEFAULT(0), 0, 1e5, "what it sends"),
    REF(profile_state, with, OPTIONAL, DEVICE, "the other end, a device of the house; left out: the internet"),
    ENUM(profile_state, waits, DEFAULT(WAITS_BRIEFLY), WORDS_WAITS,
         "how long it bears to wait: a call or game never, a film or page briefly, a backup or update till night"),
    NUMS(profile_state, chance, REQUIRED, 0, 1, 1, 168,
         "share of the time: 1 value, 24 by hour of the day, or 168 by hour of the week from Monday 0 h"),
};
static SHAPE(SHAPE_STATE, profile_state, STATE, "a state", .doc = "One thing a device does; else it is silent.");

static const struct field PROFILE[] = {
    LIST_OF(profile, states, REQUIRED, SHAPE_STATE, 1, "what it does, and how often"),
};
SHAPE(SHAPE_PROFILE, profile, PROFILE, "a profile", .has_id = true, .doc = "The traffic of a device over the week.");
