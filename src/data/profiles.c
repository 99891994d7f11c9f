#include "data/profiles.h"

#include <string.h>

const char *patience_name(enum patience p)
{
    static const char *const NAMES[] = { "never", "briefly", "till_night" };
    return NAMES[p];
}

/* Common practice, no source. */
/* clang-format off */
enum { ALWAYS, AWAKE, EVENING, FREE_DAY, OFFICE, NIGHT };
static const struct day_curve CURVES[] = {
    /*                        0    1    2    3    4    5    6    7    8    9    10   11   12   13   14   15   16   17   18   19   20   21   22   23 h */
    [ALWAYS]   = { "always",  { 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0 } },
    [AWAKE]    = { "awake",   { 0.2, 0.1, 0.0, 0.0, 0.0, 0.0, 0.2, 0.5, 0.6, 0.5, 0.5, 0.5, 0.6, 0.6, 0.5, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.0, 0.8, 0.5 } },
    [EVENING]  = { "evening", { 0.1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.2, 0.3, 0.5, 0.6, 0.8, 1.0, 1.0, 0.7, 0.3 } },
    [FREE_DAY] = { "free day",{ 0.2, 0.1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.2, 0.3, 0.4, 0.4, 0.4, 0.4, 0.5, 0.5, 0.5, 0.6, 0.7, 0.8, 1.0, 1.0, 0.8, 0.4 } },
    [OFFICE]   = { "office",  { 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.4, 0.9, 1.0, 0.9, 0.4, 0.7, 1.0, 0.9, 0.7, 0.3, 0.1, 0.0, 0.0, 0.0, 0.0, 0.0 } },
    [NIGHT]    = { "night",   { 0.5, 1.0, 1.0, 1.0, 1.0, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0 } },
};
/* clang-format on */

#define ON(weekday_, weekend_) .weekday = &CURVES[weekday_], .weekend = &CURVES[weekend_]
#define WORKDAYS .weekday = &CURVES[OFFICE], .weekend = NULL

#define UP_OURS "; up: common practice, no source"
#define OURS "common practice, no source"

/* Kinds that take pictures have two rows: recorded in the house, and not. */
static const struct default_profile PROFILES[] = {
    { "phone",
      "a telephone in the pocket",
      "phone",
      false,
      4,
      { { "pages and messages", 1.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.07, ON(AWAKE, AWAKE),
          "f: browsing and mail" UP_OURS },
        { "short films", 2.5, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.05, ON(EVENING, FREE_DAY), "c: 720p" UP_OURS },
        { "a video call", 1.2, 1.2, WAITS_NEVER, WITH_INTERNET, 0.02, ON(AWAKE, AWAKE), "g: one to one, 720p" },
        { "pictures to a store", 0.1, 5.0, WAITS_TILL_NIGHT, WITH_INTERNET, 0.003, ON(AWAKE, AWAKE), OURS } } },
    { "tablet",
      "a tablet",
      "tablet",
      false,
      3,
      { { "a film", 5.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.06, ON(EVENING, FREE_DAY), "f: high definition" UP_OURS },
        { "pages", 1.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.03, ON(AWAKE, AWAKE), "f: browsing and mail" UP_OURS },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.002, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS } } },
    { "computer",
      "a computer of the household",
      "laptop desktop",
      false,
      5,
      { { "pages and mail", 1.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.06, ON(AWAKE, AWAKE),
          "f: browsing and mail" UP_OURS },
        { "a film", 5.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.04, ON(EVENING, FREE_DAY), "f: high definition" UP_OURS },
        { "a video call", 1.2, 1.2, WAITS_NEVER, WITH_INTERNET, 0.02, ON(EVENING, FREE_DAY), "g: one to one, 720p" },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.003, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS },
        { "copies to a store", 0.2, 5.0, WAITS_TILL_NIGHT, WITH_INTERNET, 0.004, ON(AWAKE, AWAKE), OURS } } },
    { "work_computer",
      "a work computer with calls",
      "work_laptop",
      false,
      4,
      { { "a call of several with pictures", 1.8, 2.6, WAITS_NEVER, WITH_INTERNET, 0.25, WORKDAYS, "g: group, 720p" },
        { "work on a distant machine", 5.0, 0.5, WAITS_BRIEFLY, WITH_INTERNET, 0.05, WORKDAYS, "f: telework" UP_OURS },
        { "files fetched or sent", 10.0, 5.0, WAITS_BRIEFLY, WITH_INTERNET, 0.01, WORKDAYS,
          "f: file downloading" UP_OURS },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.002, WORKDAYS, "f: file downloading" UP_OURS } } },
    { "television",
      "a large screen",
      "television",
      false,
      3,
      { { "a film in ultra high definition", 25.0, 0.3, WAITS_BRIEFLY, WITH_INTERNET, 0.04, ON(EVENING, FREE_DAY),
          "f: ultra high definition" UP_OURS },
        { "a film in high definition", 5.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.25, ON(EVENING, FREE_DAY),
          "f: high definition" UP_OURS },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.002, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS } } },
    { "player",
      "a player of films behind a screen",
      "stick",
      false,
      3,
      { { "a film in ultra high definition", 15.0, 0.2, WAITS_BRIEFLY, WITH_INTERNET, 0.04, ON(EVENING, FREE_DAY),
          "b: ultra high definition" UP_OURS },
        { "a film in high definition", 5.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.15, ON(EVENING, FREE_DAY),
          "f: high definition" UP_OURS },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.002, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS } } },
    { "console",
      "a console: games, films, updates",
      "console",
      false,
      3,
      { { "a game with others", 4.0, 0.5, WAITS_NEVER, WITH_INTERNET, 0.12, ON(EVENING, FREE_DAY),
          "f: online multiplayer game" UP_OURS },
        { "a film", 5.0, 0.1, WAITS_BRIEFLY, WITH_INTERNET, 0.03, ON(EVENING, FREE_DAY), "f: high definition" UP_OURS },
        { "a game or its update fetched", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.015, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS } } },
    { "speaker",
      "a speaker on the network",
      "speaker",
      false,
      1,
      { { "music", 0.5, 0.02, WAITS_BRIEFLY, WITH_INTERNET, 0.10, ON(AWAKE, AWAKE), "f: online radio" UP_OURS } } },
    { "camera_recorded",
      "a camera whose pictures a recorder of the house keeps",
      "camera doorbell monitor intercom",
      true,
      1,
      { { "pictures to the recorder", 0.02, 3.0, WAITS_BRIEFLY, WITH_RECORDER, 1.0, ON(ALWAYS, ALWAYS),
          "j: 2 megapixel, 15 a second, H.264; down: common practice, no source" } } },
    { "camera_stored",
      "a camera whose pictures go to a store on the internet while something moves",
      "camera doorbell monitor intercom",
      true,
      1,
      { { "pictures to a store", 0.02, 3.0, WAITS_BRIEFLY, WITH_INTERNET, 0.10, ON(ALWAYS, ALWAYS),
          "j: 2 megapixel, 15 a second, H.264; down: common practice, no source" } } },
    { "recorder",
      "a recorder of cameras",
      "recorder",
      false,
      1,
      { { "pictures looked at from away", 0.1, 3.0, WAITS_BRIEFLY, WITH_INTERNET, 0.01, ON(AWAKE, AWAKE),
          "j: 2 megapixel, 15 a second, H.264; down: common practice, no source" } } },
    { "server",
      "a server with copies sent away at night",
      "server",
      false,
      3,
      { { "copies to a store", 0.3, 10.0, WAITS_TILL_NIGHT, WITH_INTERNET, 0.10, ON(NIGHT, NIGHT), OURS },
        { "pictures and music looked at from away", 0.1, 5.0, WAITS_BRIEFLY, WITH_INTERNET, 0.01, ON(AWAKE, AWAKE),
          "f: high definition; down: common practice, no source" },
        { "an update", 10.0, 0.2, WAITS_TILL_NIGHT, WITH_INTERNET, 0.002, ON(AWAKE, AWAKE),
          "f: file downloading" UP_OURS } } },
    { "telephone",
      "a telephone on the desk",
      "desk_phone",
      false,
      1,
      { { "a call", 0.08, 0.08, WAITS_NEVER, WITH_INTERNET, 0.25, WORKDAYS,
          "ITU-T G.711, a packet each 20 ms, with IP, UDP and RTP (RFC 3550)" } } },
    { "thing",
      "a small thing that reports",
      "printer sensor thermostat light plug hub lock meter appliance vacuum charger heat_pump inverter watch weather "
      "other",
      false,
      2,
      { { "reports", 0.01, 0.02, WAITS_BRIEFLY, WITH_INTERNET, 0.05, ON(ALWAYS, ALWAYS), OURS },
        { "an update", 2.0, 0.05, WAITS_TILL_NIGHT, WITH_INTERNET, 0.0005, ON(ALWAYS, ALWAYS), OURS } } },
};

const struct default_profile *default_profiles(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(PROFILES);
    return PROFILES;
}

const struct day_curve *day_curves(uint32_t *n)
{
    *n = (uint32_t)RT_COUNT(CURVES);
    return CURVES;
}

static bool holds_word(const char *list, struct str word)
{
    for (const char *p = list; *p; p += *p == ' ') {
        const size_t n = strcspn(p, " ");
        if (str_eq(word, (struct str){ p, n }))
            return true;
        p += n;
    }
    return false;
}

const struct default_profile *default_profile_find(struct str device_kind, bool is_recorded)
{
    for (size_t i = 0; i < RT_COUNT(PROFILES); i++)
        if (holds_word(PROFILES[i].kinds, device_kind) &&
            (is_recorded || PROFILES[i].states[0].with != WITH_RECORDER)) /* the recorded row comes first */
            return &PROFILES[i];
    return NULL;
}

double default_chance(const struct default_state *s, unsigned hour_of_week)
{
    const struct day_curve *curve = hour_of_week / HOURS_OF_DAY < 5 ? s->weekday : s->weekend;
    return curve ? s->chance * curve->share[hour_of_week % HOURS_OF_DAY] : 0.0;
}
