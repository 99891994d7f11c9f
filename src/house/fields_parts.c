/* The rows of parts.h. */
#include "house/field_int.h"

WORDS(WORDS_PART_KIND, [PART_ACCESS_POINT] = "access_point", [PART_SWITCH] = "switch", [PART_GATEWAY] = "gateway",
      [PART_CABLE] = "cable", [PART_CORD] = "cord", [PART_OUTLET] = "outlet", [PART_CAMERA] = "camera",
      [PART_RECORDER] = "recorder", [PART_BATTERY] = "battery", [PART_CABINET] = "cabinet",
      [PART_INJECTOR] = "injector", [PART_CONVERTER] = "converter", [PART_BRIDGE] = "bridge", [PART_DISK] = "disk",
      [PART_OPTIC] = "optic", [PART_PROTECTOR] = "protector", [PART_SUNDRY] = "sundry");
STATIC_WORDS(WORDS_MEDIUM, "copper", "sfp", "sfp_plus");
STATIC_WORDS(WORDS_CATEGORY, "5e", "6", "6a", "7", "7a", "8.1", "8.2", "om1", "om2", "om3", "om4", "om5", "os2",
             "twinax");

static const struct field ANTENNA[] = {
    NUMS(antenna, elevation_deg, REQUIRED, 0, 180, 2, 181, "angles from its front, rising from 0 to 180"),
    NUMS(antenna, elevation_dbi, REQUIRED, -60, 40, 2, 181, "gain at each of them"),
    NUMS(antenna, azimuth_deg, OPTIONAL, -180, 180, 2, 361, "angles about its upright, rising from -180 to 180"),
    NUMS(antenna, azimuth_dbi, OPTIONAL, -60, 40, 2, 361, "gain at each of them"),
};
static SHAPE(SHAPE_ANTENNA, antenna, ANTENNA, "an antenna",
             .doc = "Gain over angle. Between the given angles it runs straight in dB.");

static const struct field PART_RADIO[] = {
    ENUM(part_radio, band, REQUIRED, WORDS_BAND, "band in GHz"),
    ENUM(part_radio, phy, REQUIRED, WORDS_PHY, "IEEE 802.11 generation"),
    WHOLE(part_radio, streams, REQUIRED, 1, 8, "spatial streams"),
    NUM_OF(part_radio, width_mhz, REQUIRED, WORDS_WIDTH, "widest channel"),
    NUM(part_radio, power_dbm, REQUIRED, -10, 36, "most at the antenna ports together"),
    NUM(part_radio, noise_figure_db, DEFAULT(6), 0, 20, "noise figure of the receiver"),
    OBJECT(part_radio, antenna, REQUIRED, SHAPE_ANTENNA, "its antenna"),
};
static SHAPE(SHAPE_PART_RADIO, part_radio, PART_RADIO, "a radio", .doc = "One radio of an access point or bridge.");

static const struct field PORTS[] = {
    WHOLE(port_group, count, REQUIRED, 1, 96, "how many"),
    NUM(port_group, speed_mbps, REQUIRED, 10, 1e5, "fastest speed"),
    WORD(port_group, medium, DEFAULT_TEXT("copper"), WORDS_MEDIUM, "what plugs in"),
    WHOLE(port_group, poe_class, OPTIONAL, 1, 8, "highest class it feeds (IEEE 802.3); left out: none"),
    BOOL(port_group, uplink, DEFAULT(false), "meant for the way to the gateway"),
};
static SHAPE(SHAPE_PORTS, port_group, PORTS, "a group of ports", .doc = "Like ports of a part.");

static const struct field PART[] = {
    TEXT(part, says, REQUIRED, TEXT_ANY, "its name"),
    TEXT(part, maker, OPTIONAL, TEXT_ANY, "who makes it"),
    ENUM(part, kind, REQUIRED, WORDS_PART_KIND, "what it is"),
    NUM(part, price, REQUIRED, 0, 1e6, "price of one, in the parts file's currency"),
    NUM(part, per_m, OPTIONAL, 0.1, 10000, "cable: the length that the price is for; left out: one piece"),
    NUM(part, power_w, OPTIONAL, 0, 5000, "what it draws itself, typically"),
    NUM(part, power_max_w, OPTIONAL, 0, 5000, "what it draws itself at most"),
    WHOLE(part, poe_class_needed, OPTIONAL, 0, 8,
          "class of power it needs over its cable; left out: has its own supply"),
    NUM(part, poe_budget_w, OPTIONAL, 0, 5000, "power it can give over all its ports; left out: none"),
    NUM(part, width_m, OPTIONAL, 0.001, 5, "width"),
    NUM(part, height_m, OPTIONAL, 0.001, 5, "height"),
    NUM(part, depth_m, OPTIONAL, 0.001, 5, "depth"),
    NUM(part, rack_units, OPTIONAL, 0, 60, "height in a rack, or the room that a cabinet has"),
    ENUM(part, surface, OPTIONAL, WORDS_SURFACE, "how it is meant to be fixed; a ceiling part looks down"),
    BOOL(part, outdoors, DEFAULT(false), "stands the weather"),
    LIST_OF(part, radios, OPTIONAL, SHAPE_PART_RADIO, 1, "its radios, one for each band"),
    LIST_OF(part, ports, OPTIONAL, SHAPE_PORTS, 1, "its ports"),
    BOOL(part, vlans, DEFAULT(true), "keeps VLANs apart on its ports (IEEE 802.1Q); false: a plain switch"),
    BOOL(part, spanning_tree, DEFAULT(false),
         "speaks the spanning tree (IEEE 802.1Q): a second way may rest until the first fails"),
    WHOLE(part, ssids_max, OPTIONAL, 1, 64, "SSIDs it can carry"),
    NUM(part, routed_mbps, OPTIONAL, 1, 1e6, "what it routes with its rules on"),
    NUM(part, capacity_wh, OPTIONAL, 1, 1e6, "what it stores"),
    NUM(part, discharge_w_max, OPTIONAL, 1, 1e6, "what it can give at once"),
    TEXT(part, chemistry, OPTIONAL, TEXT_ANY, "what it is made of inside"),
    NUM(part, disk_tb, OPTIONAL, 0.001, 1000, "size of the disk"),
    NUM(part, write_tb, OPTIONAL, 0.1, 1e6, "what may be written to it in its life"),
    WORD(part, category, OPTIONAL, WORDS_CATEGORY, "category of copper or fibre"),
    BOOL(part, screened, DEFAULT(false), "cable or cord with a screen; categories 7 and up have one anyway"),
    NUM(part, conductor_mm2, OPTIONAL, 0.01, 10, "cross-section of a conductor"),
    NUM(part, outer_mm, OPTIONAL, 0.5, 60, "outer diameter"),
    NUM(part, temperature_max_degc, OPTIONAL, 0, 150, "warmest that it may get"),
    NUM(part, loss_max_db, OPTIONAL, 0.1, 60, "light that may be lost between it and its like"),
    OBJECT(part, camera, OPTIONAL, SHAPE_CAMERA, "the picture it takes"),
};

/* What each kind cannot do without; more may be said of any. */
static const struct variant KINDS[PART_KIND_COUNT] = {
    [PART_ACCESS_POINT] = { "access_point", "radios surface", NULL },
    [PART_SWITCH] = { "switch", "ports", NULL },
    [PART_GATEWAY] = { "gateway", "ports", NULL },
    [PART_CABLE] = { "cable", "category", NULL },
    [PART_CORD] = { "cord", "category", NULL },
    [PART_OUTLET] = { "outlet", "", NULL },
    [PART_CAMERA] = { "camera", "camera", NULL },
    [PART_RECORDER] = { "recorder", "", NULL },
    [PART_BATTERY] = { "battery", "capacity_wh", NULL },
    [PART_CABINET] = { "cabinet", "", NULL },
    [PART_INJECTOR] = { "injector", "poe_budget_w", NULL },
    [PART_CONVERTER] = { "converter", "", NULL },
    [PART_BRIDGE] = { "bridge", "radios surface", NULL },
    [PART_DISK] = { "disk", "disk_tb", NULL },
    [PART_OPTIC] = { "optic", "category", NULL },
    [PART_PROTECTOR] = { "protector", "", NULL },
    [PART_SUNDRY] = { "sundry", "", NULL },
};

static SHAPE(SHAPE_PART, part, PART, "a part", .has_id = true, .variants = KINDS, .n_variants = RT_COUNT(KINDS),
             .doc = "A kind of equipment that can be bought.");

static const struct field PARTS[] = {
    { .key = "rooftree_parts",
      .type = FIELD_VERSION,
      .need = NEED_REQUIRED,
      .offset = MEMBER(parts, version, double),
      .doc = "version of this format: 1" },
    TEXT(parts, currency, REQUIRED, TEXT_CURRENCY, "currency of all prices in it"),
    { .key = "parts",
      .type = FIELD_MAP,
      .offset = offsetof(struct parts, list),
      .item_size = ITEM_SIZE(parts, list),
      .of = &SHAPE_PART,
      .set = SET_PART,
      .doc = "kinds of equipment that can be bought" },
};
SHAPE(SHAPE_PARTS, parts, PARTS, "a parts file", .has_no_place = true, .doc = "What can be bought, and for how much.");
