/* The rows of what is built in: equipment, cables, batteries, recordings, phases, budget. */
#include "house/field_int.h"

static const struct field SETTING[] = {
    ENUM(radio_setting, band, REQUIRED, WORDS_BAND, "band in GHz"),
    WHOLE(radio_setting, channel, OPTIONAL, 1, 233,
          "channel; left out: not chosen, and judged on the lowest that is allowed, until `design` chooses"),
    NUM_OF(radio_setting, width_mhz, OPTIONAL, WORDS_WIDTH,
           "channel width; left out: 20, 80 and 160 MHz at 2.4, 5 and 6 GHz, or the part's widest if that is less, and "
           "less where the channel allows no more"),
    NUM(radio_setting, power_dbm, OPTIONAL, -10, 36,
        "power at the antenna; left out: the most that part and country allow"),
    BOOL(radio_setting, off, DEFAULT(false), "switched off"),
};
static SHAPE(SHAPE_SETTING, radio_setting, SETTING, "a radio's setting",
             .doc = "How one radio of an access point is set.");

static const struct field PORT_SETTING[] = {
    WHOLE(port_setting, port, REQUIRED, 1, 512, "number that stands at the port"),
    REF(port_setting, untagged, OPTIONAL, SEGMENT, "segment whose frames bear no VLAN tag; left out: none"),
    REFS(port_setting, tagged, OPTIONAL, SEGMENT, 0, "segments whose frames bear their VLAN tag"),
};
static SHAPE(SHAPE_PORT_SETTING, port_setting, PORT_SETTING, "a port's setting",
             .doc = "Which segments a port carries. Ports without one carry what hangs behind them.");

STATIC_WORDS(WORDS_OPEN_KIND, "access_point", "switch", "gateway", "injector", "converter");

STATIC_WORDS(WORDS_AIR, "closed", "slots", "fan");

static const struct field EQUIPMENT[] = {
    TEXT(equipment, says, OPTIONAL, TEXT_ANY, "what the household calls it"),
    REF(equipment, part, OPTIONAL, PART, "which part of the parts file it is"),
    WORD(equipment, kind, OPTIONAL, WORDS_OPEN_KIND, "in place of part: the cheapest part of this kind that will do"),
    REF(equipment, mount, OPTIONAL, MOUNT, "the mount it hangs on"),
    REF(equipment, floor, OPTIONAL, FLOOR, "the floor, where it has neither mount nor room"),
    REF(equipment, room, OPTIONAL, ROOM, "the room it stands in"),
    POINT3(equipment, at_m, OPTIONAL, "its place [x, y, z], z above the floor, where it has no mount"),
    NUM(equipment, faces_deg, OPTIONAL, -360, 360,
        "where its front looks: 0 along +y, 90 along +x; left out: as its mount"),
    NUM(equipment, tilt_deg, OPTIONAL, -90, 90, "tilt; left out: as its mount, else 0"),
    REF(equipment, inside, OPTIONAL, EQUIPMENT, "the cabinet it is built into"),
    WHOLE(equipment, unit, OPTIONAL, 1, 60, "lowest rack unit it takes there, 1 at the bottom; left out: to be chosen"),
    TEXT(equipment, circuit, OPTIONAL, TEXT_ANY,
         "mains circuit it is plugged into, any word, the same for all on it: one fuse takes them all along"),
    WORD(equipment, air, DEFAULT_TEXT("closed"), WORDS_AIR,
         "how a cabinet is aired: closed, slots at foot and top, or a fan"),
    LIST_OF(equipment, radios, OPTIONAL, SHAPE_SETTING, 0, "settings of its radios"),
    LIST_OF(equipment, ports, OPTIONAL, SHAPE_PORT_SETTING, 0, "settings of its ports"),
    REF(equipment, segment, OPTIONAL, SEGMENT, "segment in which its own settings are reached"),
    BOOL(equipment, movable, DEFAULT(false), "a design may put it elsewhere"),
    BOOL(equipment, tune, DEFAULT(true), "a design may change its channels and power"),
    BOOL(equipment, owned, DEFAULT(false), "already there: costs nothing"),
    REF(equipment, phase, OPTIONAL, PHASE, "when it is bought"),
};
SHAPE(SHAPE_EQUIPMENT, equipment, EQUIPMENT, "equipment", .has_id = true, .one_of = "part kind",
      .doc = "A part placed in the house: on a mount, at a place (at_m with room or floor), or inside a cabinet.");

static const struct field CABLE[] = {
    CABLE_END(cable, from, REQUIRED, "equipment or device at one end, and its port: switch_1:3"),
    CABLE_END(cable, to, REQUIRED, "the same for the other end"),
    REF(cable, part, OPTIONAL, PART, "which cable of the parts file; left out: to be chosen"),
    REFS(cable, route, OPTIONAL, RUN, 0, "runs it lies in, in order"),
    NUM(cable, length_m, OPTIONAL, 0.1, 10000, "length of the fixed cable; left out: computed"),
    NUM(cable, cord_from_m, DEFAULT(0.5), 0, 50, "length of the cord at its first end"),
    NUM(cable, cord_to_m, DEFAULT(2), 0, 50, "length of the cord at its second end"),
    WHOLE(cable, splices, DEFAULT(0), 0, 100, "splices in a fibre on its way"),
    BOOL(cable, rests, DEFAULT(false),
         "a second way that rests until the first fails; both ends must speak the spanning tree"),
    BOOL(cable, owned, DEFAULT(false), "already there: costs nothing"),
};
SHAPE(SHAPE_CABLE, cable, CABLE, "a cable", .has_id = true, .doc = "A cable between two ports.");

static const struct field BATTERY[] = {
    REF(battery, part, REQUIRED, PART, "which battery of the parts file"),
    REF(battery, room, OPTIONAL, ROOM, "where it stands"),
    NAMES(battery, feeds, REQUIRED, IN(DEVICE) | IN(EQUIPMENT) | IN(LINE_BOX),
          "devices and equipment that stay up on it; line: the provider's box"),
    NUM(battery, capacity_wh, OPTIONAL, 1, 1e6, "capacity; left out: the part's"),
    NUM(battery, age_years, DEFAULT(0), 0, 50, "how old it is"),
    NUM(battery, temperature_degc, DEFAULT(20), -40, 70, "how warm it stands"),
};
SHAPE(SHAPE_BATTERY, battery, BATTERY, "a battery", .has_id = true, .doc = "What keeps things up without mains.");

static const struct field RECORDING[] = {
    TEXT(recording, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    NAME(recording, recorder, REQUIRED, IN(DEVICE) | IN(EQUIPMENT), "what records"),
    REFS(recording, cameras, REQUIRED, DEVICE, 1, "what is recorded"),
    NUM(recording, disk_gb, OPTIONAL, 1, 1e7, "disk for pictures; left out: of its disks, else the recorder's part's"),
    REFS(recording, disks, OPTIONAL, EQUIPMENT, 1, "the disks in it: equipment whose parts are disks"),
    BOOL(recording, mirrored, DEFAULT(false), "each disk holds all pictures, so that one may die"),
    BOOL(recording, motion_only, DEFAULT(false), "recorded only while something moves"),
    NUM(recording, days_wanted, OPTIONAL, 0.01, 3660, "days that pictures are to be kept"),
};
SHAPE(SHAPE_RECORDING, recording, RECORDING, "a recording", .has_id = true,
      .doc = "Which cameras are recorded, and where.");

static const struct field PHASE[] = {
    TEXT(phase, says, OPTIONAL, TEXT_ANY, "what it is, for people"),
    TEXT(phase, by_date, OPTIONAL, TEXT_DATE, "when it is done"),
    NUM(phase, budget, OPTIONAL, 0, 1e9, "what it may cost"),
};
SHAPE(SHAPE_PHASE, phase, PHASE, "a phase", .has_id = true, .doc = "A step in which things are bought.");

static const struct field GROWTH[] = {
    NAME(growth_rate, kind, REQUIRED, IN(DEVICE_KIND), "kind of device"),
    NUM(growth_rate, share, REQUIRED, 0, 100,
        "share of the promised growth that it takes: 0 stays as it is, 1 grows as promised"),
};
SHAPE(SHAPE_GROWTH, growth_rate, GROWTH, "a growth",
      .doc =
          "How fast a kind of device multiplies. Kinds left out grow as a promise says, and recorders, servers, hubs, "
          "meters, weather stations, heat pumps and inverters, of which a house has one, stay as they are.");

static const struct field BUDGET[] = {
    NUM(budget, purchase, OPTIONAL, 0, 1e9, "for buying"),
    NUM(budget, yearly, OPTIONAL, 0, 1e9, "for each year of running"),
    NUM(budget, labour_per_h, OPTIONAL, 0, 1e5, "price of labour; left out: own work"),
    NUM(budget, energy_per_kwh, OPTIONAL, 0, 1000, "price of energy"),
    NUM(budget, contingency_share, DEFAULT(0.1), 0, 1, "added for what was not foreseen"),
    NUM(budget, house_cost, OPTIONAL, 0, 1e12, "what the house cost, for comparison"),
};
SHAPE(SHAPE_BUDGET, budget, BUDGET, "a budget", .doc = "What it may cost, in the house's currency.");
