/* The rows of the house file itself, the look-ups in shapes, and the units of keys. */
#include "house/field_int.h"

#include <string.h>

WORDS(WORDS_ESTIMATE, [ESTIMATE_CAREFUL] = "careful", [ESTIMATE_MIDDLE] = "middle", [ESTIMATE_HOPEFUL] = "hopeful");

static const struct field HOUSE[] = {
    { .key = "rooftree",
      .type = FIELD_VERSION,
      .need = NEED_REQUIRED,
      .offset = MEMBER(house, version, double),
      .doc = "version of this format: 1" },
    TEXT(house, name, REQUIRED, TEXT_ANY, "what the house is called"),
    TEXT(house, says, OPTIONAL, TEXT_ANY, "a line about it"),
    TEXT(house, country, REQUIRED, TEXT_COUNTRY, "country whose radio rules hold"),
    TEXT(house, time_zone, REQUIRED, TEXT_TIME_ZONE, "time zone in which hours are meant"),
    TEXT(house, currency, REQUIRED, TEXT_CURRENCY, "currency of all prices in it"),
    ENUM(house, estimate, DEFAULT(ESTIMATE_CAREFUL), WORDS_ESTIMATE,
         "which estimate of wall losses signal is judged at"),
    NUM(house, north_deg, OPTIONAL, -360, 360,
        "direction of north on the drawing, clockwise from +y; left out: not known"),
    TEXT(house, parts_file, OPTIONAL, TEXT_FILE, "parts file, beside the house file"),
    MAP_OF(house, constructs, OPTIONAL, SHAPE_CONSTRUCT, CONSTRUCT, "what walls, doors, windows and slabs are made of"),
    MAP_OF(house, floors, REQUIRED, SHAPE_FLOOR, FLOOR, "storeys, outbuildings, open ground"),
    MAP_OF(house, walls, OPTIONAL, SHAPE_WALL, WALL, "walls with their doors and windows"),
    MAP_OF(house, planes, OPTIONAL, SHAPE_PLANE, PLANE, "slopes of the roof, undersides of stairs"),
    MAP_OF(house, obstacles, OPTIONAL, SHAPE_OBSTACLE, OBSTACLE, "chimney breasts, tanks, fridges, mirrors"),
    MAP_OF(house, rooms, OPTIONAL, SHAPE_ROOM, ROOM, "rooms"),
    MAP_OF(house, runs, OPTIONAL, SHAPE_RUN, RUN, "where cable may be laid"),
    MAP_OF(house, mounts, OPTIONAL, SHAPE_MOUNT, MOUNT, "where things may be fixed"),
    OBJECT(house, line, OPTIONAL, SHAPE_LINE, "the internet line"),
    MAP_OF(house, neighbours, OPTIONAL, SHAPE_NEIGHBOUR, NEIGHBOUR, "foreign cells heard in the house"),
    OBJECT(house, mesh, OPTIONAL, SHAPE_MESH, "the low-power mesh"),
    MAP_OF(house, segments, OPTIONAL, SHAPE_SEGMENT, SEGMENT, "isolated networks"),
    LIST_OF(house, foreign_ranges, OPTIONAL, SHAPE_FOREIGN_RANGE, 0, "addresses that must stay unused"),
    MAP_OF(house, ssids, OPTIONAL, SHAPE_SSID, SSID, "Wi-Fi names"),
    MAP_OF(house, people, OPTIONAL, SHAPE_PERSON, PERSON, "who lives or stays here"),
    MAP_OF(house, devices, OPTIONAL, SHAPE_DEVICE, DEVICE, "what uses the network"),
    MAP_OF(house, groups, OPTIONAL, SHAPE_GROUP, GROUP, "devices spoken of together"),
    MAP_OF(house, profiles, OPTIONAL, SHAPE_PROFILE, PROFILE, "traffic over the week"),
    MAP_OF(house, services, OPTIONAL, SHAPE_OWN_SERVICE, OWN_SERVICE, "services beside the built-in ones"),
    MAP_OF(house, hours, OPTIONAL, SHAPE_HOURS, HOURS, "times of the week"),
    LIST_OF(house, statements, OPTIONAL, SHAPE_STATEMENT, 0, "who may start a conversation with whom, in order"),
    MAP_OF(house, relays, OPTIONAL, SHAPE_RELAY, RELAY, "discovery across segments"),
    MAP_OF(house, port_openings, OPTIONAL, SHAPE_PORT_OPENING, PORT_OPENING, "what the internet may reach"),
    MAP_OF(house, remote_access, OPTIONAL, SHAPE_REMOTE_ACCESS, REMOTE_ACCESS, "tunnels into the house"),
    MAP_OF(house, interfaces, OPTIONAL, SHAPE_INTERFACE, INTERFACE, "interfaces of a foreign ruleset"),
    MAP_OF(house, equipment, OPTIONAL, SHAPE_EQUIPMENT, EQUIPMENT, "parts placed in the house"),
    MAP_OF(house, cables, OPTIONAL, SHAPE_CABLE, CABLE, "cables between ports"),
    MAP_OF(house, batteries, OPTIONAL, SHAPE_BATTERY, BATTERY, "what keeps things up without mains"),
    MAP_OF(house, recordings, OPTIONAL, SHAPE_RECORDING, RECORDING, "which cameras are recorded"),
    MAP_OF(house, phases, OPTIONAL, SHAPE_PHASE, PHASE, "steps in which things are bought"),
    LIST_OF(house, growth, OPTIONAL, SHAPE_GROWTH, 0, "how fast kinds of devices multiply"),
    OBJECT(house, budget, OPTIONAL, SHAPE_BUDGET, "what it may cost"),
    MAP_OF(house, promises, OPTIONAL, SHAPE_PROMISE, PROMISE, "what the household was told it will have"),
};
SHAPE(SHAPE_HOUSE, house, HOUSE, "a house file", .has_no_place = true,
      .doc = "A house: how it is built, what is in it, and what was promised.");

const struct field *shape_field(const struct shape *shape, struct str key)
{
    for (uint32_t i = 0; i < shape->n_fields; i++)
        if (str_is(key, shape->fields[i].key))
            return &shape->fields[i];
    return NULL;
}

const char *shape_name(const struct shape *shape)
{
    const char *blank = strchr(shape->a_name, ' ');
    return blank ? blank + 1 : shape->a_name;
}

const struct variant *shape_variant(const struct shape *shape, struct str word)
{
    for (uint32_t i = 0; i < shape->n_variants; i++)
        if (str_is(word, shape->variants[i].word))
            return &shape->variants[i];
    return NULL;
}

bool word_is_in(const char *list, struct str key)
{
    for (const char *p = list; p && *p;) {
        const size_t n = strcspn(p, " ");
        if (str_eq((struct str){ p, n }, key))
            return true;
        p += n;
        p += strspn(p, " ");
    }
    return false;
}

bool variant_requires(const struct variant *variant, const struct field *field)
{
    return variant && word_is_in(variant->must, str_from(field->key));
}

bool variant_takes(const struct shape *shape, const struct variant *variant, const struct field *field)
{
    if (!shape->variants || !variant || !variant->may || field->need == NEED_REQUIRED)
        return true;
    return variant_requires(variant, field) || word_is_in(variant->may, str_from(field->key));
}

const char *key_unit(const char *key)
{
    /* Longer endings stand before the shorter ones that they end in. */
    static const struct {
        const char *ending, *unit;
    } UNITS[] = {
        { "price_per_m", "of the currency for each metre" },
        { "cap_gb_per_month", "gigabytes a month" },
        { "_per_month", "of the currency a month" },
        { "_per_h", "of the currency an hour" },
        { "_per_kwh", "of the currency for a kilowatt-hour" },
        { "frames_per_s", "a second" },
        { "per_m", "metres" },
        { "_mm2", "square millimetres" },
        { "_mm", "millimetres" },
        { "_m", "metres" },
        { "_degc", "degrees Celsius" },
        { "_deg", "degrees" },
        { "_dbm", "dBm" },
        { "_dbi", "dBi" },
        { "_db", "dB" },
        { "mbps", "Mb/s" },
        { "_ms", "milliseconds" },
        { "_mhz", "MHz" },
        { "_ghz", "GHz" },
        { "_wh", "watt-hours" },
        { "_w_max", "watts" },
        { "_w", "watts" },
        { "_gb", "gigabytes" },
        { "_tb", "terabytes" },
        { "_px", "pixels" },
        { "_bytes", "bytes" },
        { "years", "years" },
        { "minutes", "minutes" },
        { "days", "days" },
        { "days_wanted", "days" },
    };
    const size_t n = strlen(key);
    for (size_t i = 0; i < RT_COUNT(UNITS); i++) {
        const size_t m = strlen(UNITS[i].ending);
        if (n >= m && strcmp(key + n - m, UNITS[i].ending) == 0)
            return UNITS[i].unit;
    }
    return "";
}
