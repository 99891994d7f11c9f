/* Tests of what is in the air: level, rate, hand-over, full channels, exposure.  Spots are those of the evidence: first where the
 * promised share of the room just reaches its value, then others spread over it. */
#include <math.h>

#include "book/acceptance_int.h"
#include "data/device_kinds.h"
#include "promise/coverage.h"
#include "promise/spot_words.h"

/* ---- rooms ---- */

/* What is read at each spot of a promise about rooms. */
struct spot_test {
    const char *key; /* of the value in the evidence */
    const char *unit;
    double wanted;
    struct str passes;
    struct str device;
    const char *bands; /* NULL: whichever the device takes */
};

/* "a phone". */
static struct str device_words_of(const struct promise *promise)
{
    const struct str kind = promise->device_kind.n ? promise->device_kind : STR(DEVICE_KIND_USUAL);
    const struct device_kind *known = device_kind_find(kind);
    return known ? str_from(known->says) : kind;
}

static struct vec3 point_of(const struct fact *spot)
{
    const struct fact *x = fact_find_first(spot, "at_m"), *y = x ? x->next : NULL, *z = y ? y->next : NULL;
    return z ? (struct vec3){ x->num, y->num, z->num } : (struct vec3){ 0 };
}

/* "Ravi's room, east side: east wall 0.13 m, north wall 1.88 m". */
static struct str spot_where(struct acceptance_view *v, uint32_t floor, struct vec3 at)
{
    const struct vec2 q = { at.x, at.y };
    const struct str words = spot_words(v->arena, v->h, floor, q), dims = spot_dims_words(v->arena, v->h, floor, q);
    return acceptance_text(v, "%.*s%s%.*s", STR_ARG(words), dims.n ? ": " : "", STR_ARG(dims));
}

static struct str computed_words(struct acceptance_view *v, const struct fact *spot, const struct spot_test *t)
{
    const struct fact *value = fact_find(spot, t->key);
    const struct str ap = fact_find_str(spot, "access_point"), band = fact_find_str(spot, "band");
    if (!value || !isfinite(value->num) || !ap.n)
        return STR("nothing arrives");
    return acceptance_text(v, "%s%.*f %s, from %.*s on %.*s GHz", value->num < 0.0 ? "\u2212" : "", value->decimals,
                           fabs(value->num), t->unit, STR_ARG(ap), STR_ARG(band));
}

enum { ROOMS_IN_FULL = 1 /* of more rooms the book has the deciding spot alone */ };

static uint32_t count_rooms(const struct promise_result *r)
{
    uint32_t n = 0;
    for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next)
        n++;
    return n;
}

/* One row a spot.  Returns how many. */
static uint32_t spot_rows(struct acceptance_view *v, const struct promise_result *r, const struct spot_test *t)
{
    const bool is_full = count_rooms(r) <= ROOMS_IN_FULL;
    uint32_t n = 0;
    for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next) {
        const uint32_t i = house_find_room(v->h, fact_find_str(room, "room"));
        const struct fact *first = i == NO_REF ? NULL : fact_find_first(room, "spots");
        for (const struct fact *s = first; s; s = s->next, n++)
            acceptance_least(v,
                             (struct acceptance_row){ .where = spot_where(v, v->h->rooms.v[i].floor.i, point_of(s)),
                                                      .device = t->device,
                                                      .band = t->bands ? str_from(t->bands) : fact_find_str(s, "band"),
                                                      .passes = t->passes,
                                                      .computed = computed_words(v, s, t),
                                                      .is_further = !is_full && s != first },
                             t->wanted, t->unit, 0);
    }
    return n;
}

/* Without a room that holds a spot: the promise itself. */
static void rooms_by_name(struct acceptance_view *v, const struct promise_result *r, const struct spot_test *t)
{
    for (uint32_t i = 0; i < v->h->rooms.n; i++)
        if (room_is_meant(r->promise, i))
            acceptance_least(v,
                             (struct acceptance_row){
                                 .where = acceptance_text(v, "Anywhere in: %.*s", STR_ARG(house_room_name(v->h, i))),
                                 .device = t->device,
                                 .passes = t->passes },
                             t->wanted, t->unit, 0);
}

#define USUAL_HEIGHT_M 1.2 /* of a promise that names none (house.h) */

/* At which height, and how many of the spots may fall short: a share of places is promised. */
static struct str spot_rule(struct acceptance_view *v, const struct promise *promise, uint32_t n)
{
    const unsigned may = (unsigned)floor((1.0 - promise->availability) * n + 1e-9);
    const double height_m = given_or(promise->height_m, USUAL_HEIGHT_M);
    if (n > 1 && may > 0)
        return acceptance_text(
            v, "Held %.1f m above the floor; of %u spots %u may fall short (%.0f of 100 places are promised).",
            height_m, n, may, promise->availability * 100.0);
    return acceptance_text(v, "Held %.1f m above the floor; every spot must pass.", height_m);
}

static struct str band_words(struct acceptance_view *v, uint32_t bands)
{
    struct buf b = { .arena = v->arena };
    for (int k = 0; k < BAND_COUNT; k++)
        if (bands & 1u << k)
            buf_printf(&b, "%s%s", b.n ? " and " : "", band_name((enum band)k));
    v->failed |= b.failed;
    return b.n ? buf_done(&b) : STR("");
}

/* What the access point hears of the device. */
static void uplink_row(struct acceptance_view *v, const struct promise *promise, struct str device)
{
    const double level = given_or(promise->uplink_level_dbm, promise->level_dbm);
    acceptance_least(v,
                     (struct acceptance_row){
                         .where = acceptance_text(v,
                                                  "At the first of these spots, then at the access point that serves "
                                                  "it: the level at which its list of devices shows %.*s",
                                                  STR_ARG(device)),
                         .device = device,
                         .passes = acceptance_text(v, "\u2212%.0f dBm or stronger", -level) },
                     level, "dBm", 0);
}

enum rt_code acceptance_signal(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct str device = device_words_of(promise), bands = band_words(v, promise->bands);
    const struct spot_test t = { .key = "level_dbm",
                                 .unit = "dBm",
                                 .passes = acceptance_text(v, "\u2212%.0f dBm or stronger", -promise->level_dbm),
                                 .wanted = promise->level_dbm,
                                 .device = device,
                                 .bands = bands.n ? bands.p : NULL };
    (void)p;
    const uint32_t n = promise->direction == DIRECTION_UP ? 0 : spot_rows(v, test->result, &t);
    if (promise->direction != DIRECTION_DOWN)
        uplink_row(v, promise, device);
    else if (n == 0)
        rooms_by_name(v, test->result, &t);
    const struct str rule = spot_rule(v, promise, n ? n : 1);
    test->how = acceptance_text(v, "With %.*s on the house's Wi-Fi%s%.*s%s; read the level. %.*s", STR_ARG(device),
                                bands.n ? ", on " : "", STR_ARG(bands), bands.n ? " GHz" : "", STR_ARG(rule));
    return RT_OK;
}

/* The fullest hour of the radios that serve: when a promise about the busy hour is tried. */
static struct str busy_hour(const struct promise_result *r)
{
    const struct str id = fact_find_str(r->evidence, "access_point"), band = fact_find_str(r->evidence, "band");
    for (const struct fact *a = fact_find_first(r->evidence, "air"); a; a = a->next)
        if (str_eq(fact_find_str(a, "access_point"), id) && str_eq(fact_find_str(a, "band"), band))
            return fact_find_str(a, "hour");
    return STR("");
}

enum rt_code acceptance_rate(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct str device = device_words_of(promise);
    struct spot_test t = { .key = "mbps",
                           .unit = "Mb/s",
                           .passes = acceptance_text(v, "%.0f Mb/s or more, fetching", promise->mbps),
                           .wanted = promise->mbps,
                           .device = device };
    (void)p;
    const uint32_t n = spot_rows(v, test->result, &t);
    if (n == 0)
        rooms_by_name(v, test->result, &t);
    if (promise->up_mbps > 0.0)
        acceptance_least(
            v,
            (struct acceptance_row){ .where = STR("At each of these spots, the other way: sending"),
                                     .device = device,
                                     .passes = acceptance_text(v, "%.0f Mb/s or more, sending", promise->up_mbps) },
            promise->up_mbps, "Mb/s", 0);
    const struct str rule = spot_rule(v, promise, n ? n : 1), hour = busy_hour(test->result);
    struct str when = STR("while nobody else is on the air");
    if (promise->when == WHEN_BUSY_HOUR)
        when = hour.n ? acceptance_text(v, "in the busiest hour of its channel (%.*s) with the house in use",
                                        STR_ARG(hour))
                      : STR("in the busiest hour, with the house in use");
    test->how = acceptance_text(v,
                                "With %.*s, to and from a computer that is on cable in the house (not over the "
                                "internet), for 30 s each way, %.*s. %.*s",
                                STR_ARG(device), STR_ARG(when), STR_ARG(rule));
    return RT_OK;
}

enum rt_code acceptance_roaming(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct str device = device_words_of(promise), bands = band_words(v, promise->bands);
    const struct spot_test t = { .key = "second_level_dbm",
                                 .unit = "dBm",
                                 .passes =
                                     acceptance_text(v, "the next at \u2212%.0f dBm or stronger", -promise->level_dbm),
                                 .wanted = promise->level_dbm,
                                 .device = device,
                                 .bands = bands.n ? bands.p : NULL };
    (void)p;
    const uint32_t n = spot_rows(v, test->result, &t);
    if (n == 0)
        rooms_by_name(v, test->result, &t);
    struct buf way = { .arena = v->arena };
    for (uint32_t i = 0; i < promise->rooms.n; i++)
        buf_printf(&way, "%s%.*s", i ? ", " : "", STR_ARG(house_room_name(v->h, promise->rooms.v[i].i)));
    v->failed |= way.failed;
    acceptance_see(v,
                   acceptance_text(v, "Walk with a call running, at your usual pace, there and back: %.*s",
                                   STR_ARG(way.n ? buf_done(&way) : STR("from end to end of the house"))),
                   STR("the call does not break"));
    const struct str rule = spot_rule(v, promise, n ? n : 1);
    test->how = acceptance_text(v,
                                "With %.*s that lists all access points it hears: leave out the strongest and its "
                                "other bands, and read the next. %.*s",
                                STR_ARG(device), STR_ARG(rule));
    return RT_OK;
}

/* ---- channels ---- */

/* "a1 (dining room)"; its id alone where the file has no words for it. */
static struct str labelled(struct acceptance_view *v, struct str id)
{
    const uint32_t e = house_find_equipment(v->h, id);
    const struct str says = e == NO_REF ? STR("") : v->h->equipment.v[e].says;
    return says.n ? acceptance_text(v, "%.*s (%.*s)", STR_ARG(id), STR_ARG(says)) : id;
}

enum rt_code acceptance_quiet(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise_result *r = test->result;
    const double most = r->promise->max_busy_share * 100.0;
    const struct str passes = acceptance_text(v, "busy at most %.0f %% of the time", most);
    uint32_t n = 0;
    (void)p;
    for (const struct fact *o = fact_find_first(r->evidence, "radios"); o; o = o->next, n++) {
        const struct str id = fact_find_str(o, "access_point"), band = fact_find_str(o, "band"),
                         hour = fact_find_str(o, "hour");
        const struct str name = labelled(v, id);
        acceptance_most(v,
                        (struct acceptance_row){
                            .where = acceptance_text(v, "%.*s, %.*s GHz, channel %.0f; fullest: %.*s", STR_ARG(name),
                                                     STR_ARG(band), fact_find_num(o, "channel"), STR_ARG(hour)),
                            .band = band,
                            .passes = passes,
                            .computed = acceptance_text(v, "%.0f %%", fact_find_num(o, "busy_share") * 100.0) },
                        most, "%", 0);
    }
    const struct fact *mesh = fact_find(r->evidence, "mesh");
    if (mesh) {
        const struct str hour = fact_find_str(mesh, "hour");
        acceptance_see(v,
                       acceptance_text(v,
                                       "The low-power mesh: the channel that its hub shows; Wi-Fi lies over it most: "
                                       "%.*s",
                                       STR_ARG(hour)),
                       acceptance_text(v, "channel %.0f", fact_find_num(mesh, "channel")));
    } else if (n == 0) {
        acceptance_most(v,
                        (struct acceptance_row){ .where = STR("Every access point, on every band"), .passes = passes },
                        most, "%", 0);
    }
    test->how =
        STR("On a usual evening, from the access point's own pages: the share of time its channel is busy (it stands "
            "in the BSS Load of its beacons too, IEEE 802.11, 9.4.2.27), the mean of ten minutes. It is a share of "
            "255 there.");
    return RT_OK;
}

enum rt_code acceptance_exposure(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise_result *r = test->result;
    uint32_t n = 0;
    (void)p;
    for (const struct fact *o = fact_find_first(r->evidence, "access_points"); o; o = o->next, n++) {
        const struct str name = labelled(v, fact_find_str(o, "id"));
        const double least = fact_find_num(o, "limit_met_from_m");
        acceptance_least(
            v,
            (struct acceptance_row){
                .where =
                    acceptance_text(v, "%.*s: from its case to where the nearest head or hand can be", STR_ARG(name)),
                .passes = acceptance_text(v, "%.2f m or more", least),
                .computed = acceptance_text(v, "%.2f m, with %.1f %% of the limit", fact_find_num(o, "distance_m"),
                                            fact_find_num(o, "share_of_limit") * 100.0) },
            least, "m", 3);
    }
    if (n == 0)
        acceptance_see(v, STR("Every access point: its power as set"), STR("not above the settings of this book"));
    test->how =
        STR("With a tape. Beyond that distance the radio power stays under the public limit with every radio of the "
            "box sending without pause; and look that no power is set above this book's.");
    return RT_OK;
}
