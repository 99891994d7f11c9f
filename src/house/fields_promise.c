/* The rows of promises, and which keys go with which kind. */
#include "house/field_int.h"

static const char *const KIND_WORDS[] = {
#define X(upper, lower, heading) [PROMISE_##upper] = #lower,
    PROMISE_KINDS(X)
#undef X
};
const struct words WORDS_PROMISE_KIND = { KIND_WORDS, RT_COUNT(KIND_WORDS), false };
STATIC_WORDS(WORDS_DIRECTION, [DIRECTION_BOTH] = "both", [DIRECTION_DOWN] = "down", [DIRECTION_UP] = "up");
STATIC_WORDS(WORDS_WHEN, [WHEN_ALONE] = "alone", [WHEN_BUSY_HOUR] = "busy_hour");
STATIC_WORDS(WORDS_FAILURE, "access_point", "cable", "switch", "gateway", "line", "mains", "disk");
STATIC_WORDS(WORDS_LIMIT, "icnirp_2020", "fcc");

static const struct field PROMISE[] = {
    ENUM(promise, kind, REQUIRED, WORDS_PROMISE_KIND, "what kind of promise it is"),
    TEXT(promise, says, REQUIRED, TEXT_ANY, "the sentence the household was given"),
    REFS(promise, rooms, OPTIONAL, ROOM, 1, "in these rooms"),
    BITS(promise, bands, OPTIONAL, WORDS_BAND, "in each of these bands (GHz); left out: the best band at each spot"),
    NUM(promise, level_dbm, OPTIONAL, -110, -20, "at least this level"),
    NUM(promise, mbps, OPTIONAL, 0.001, 1e5, "at least this rate down"),
    NUM(promise, up_mbps, OPTIONAL, 0.001, 1e5, "at least this rate up; left out: not promised"),
    NUM(promise, area_share, DEFAULT(0.95), 0.01, 1, "over this share of each room's area"),
    NUM(promise, availability, DEFAULT(0.90), 0.5, 0.999, "at this share of like places or times"),
    NUM(promise, height_m, OPTIONAL, 0, 20, "height of the device above the floor; left out: by the room's use"),
    ENUM(promise, direction, DEFAULT(DIRECTION_DOWN), WORDS_DIRECTION, "which way: to the device, from it, or both"),
    NUM(promise, uplink_level_dbm, OPTIONAL, -110, -20,
        "at least this level of the device at the access point; left out: as level_dbm"),
    ENUM(promise, when, DEFAULT(WHEN_ALONE), WORDS_WHEN, "with the air to itself, or in the busy hour"),
    NAME(promise, device_kind, OPTIONAL, IN(DEVICE_KIND), "whose radio; left out: a common phone"),
    ENDPOINTS(promise, from, OPTIONAL, "who starts the conversation"),
    ENDPOINTS(promise, to, OPTIONAL, "with whom"),
    NAMES(promise, services, OPTIONAL, IN(SERVICE) | IN(OWN_SERVICE),
          "apart: only these services are excepted; reach: all of these work"),
    REF(promise, hours, OPTIONAL, HOURS, "at these hours"),
    NAMES(promise, devices, OPTIONAL, IN(DEVICE) | IN(EQUIPMENT), "for these devices and equipment; left out: for all"),
    NUM(promise, headroom_share, DEFAULT(0.2), 0, 1, "what must be left over"),
    WHOLE(promise, spare_ports, OPTIONAL, 0, 96,
          "at each switch so many free copper ports that are not meant for the way to the gateway"),
    NUM(promise, probability, DEFAULT(0.95), 0.5, 0.9999, "in this share of busy hours"),
    NUM(promise, minutes, OPTIONAL, 0.1, 100000, "for so long"),
    NUM(promise, days, OPTIONAL, 0.01, 3660, "for so many days"),
    REF(promise, recording, OPTIONAL, RECORDING, "of this recording"),
    NAMES(promise, promises, OPTIONAL, IN(PROMISE), "these promises still hold"),
    WORDS_LIST(promise, failures, OPTIONAL, WORDS_FAILURE, "after any single one of these fails"),
    NUM(promise, times, OPTIONAL, 1, 100, "so many times the devices"),
    NUM(promise, years, OPTIONAL, 0, 50, "over so many years"),
    NUM(promise, purchase, OPTIONAL, 0, 1e9, "at most this for buying; left out: what `budget` says"),
    NUM(promise, yearly, OPTIONAL, 0, 1e9, "at most this for each year of running; left out: what `budget` says"),
    REF(promise, phase, OPTIONAL, PHASE, "in this phase; left out: altogether"),
    WORD(promise, limit, DEFAULT_TEXT("icnirp_2020"), WORDS_LIMIT, "which public limit"),
    NUM(promise, max_busy_share, DEFAULT(0.5), 0.01, 1, "each channel is busy for at most this share of the time"),
};

static const struct variant KINDS[PROMISE_KIND_COUNT] = {
    [PROMISE_SIGNAL] = { "signal", "rooms level_dbm",
                         "bands area_share availability height_m direction uplink_level_dbm device_kind" },
    [PROMISE_RATE] = { "rate", "rooms mbps", "up_mbps area_share availability height_m when device_kind bands" },
    [PROMISE_ROAMING] = { "roaming", "rooms level_dbm", "bands area_share availability height_m device_kind" },
    [PROMISE_QUIET] = { "quiet", "", "bands max_busy_share" },
    [PROMISE_APART] = { "apart", "from to", "services hours" },
    [PROMISE_REACH] = { "reach", "from to services", "hours" },
    [PROMISE_HOURS] = { "hours", "from hours", "to" },
    [PROMISE_POWER] = { "power", "", "devices headroom_share" },
    [PROMISE_CABLE] = { "cable", "", "devices mbps headroom_share spare_ports" },
    [PROMISE_LINE] = { "line", "", "probability" },
    [PROMISE_RECORDING] = { "recording", "recording days", "" },
    [PROMISE_OUTAGE] = { "outage", "minutes", "devices" },
    [PROMISE_SURVIVE] = { "survive", "promises failures", "" },
    [PROMISE_GROWTH] = { "growth", "times", "years headroom_share" },
    [PROMISE_COST] = { "cost", "", "purchase yearly phase" },
    [PROMISE_EXPOSURE] = { "exposure", "", "rooms limit" },
};

SHAPE(SHAPE_PROMISE, promise, PROMISE, "a promise", .has_id = true, .variants = KINDS, .n_variants = RT_COUNT(KINDS),
      .doc = "Something the household was told it will have.");
