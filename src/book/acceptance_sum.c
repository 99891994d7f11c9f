/* Tests of what is counted: the line, the pictures, what is free for later, the money. */
#include <math.h>

#include "book/acceptance_int.h"

/* ---- line ---- */

static void way_row(struct acceptance_view *v, const struct fact *way)
{
    const struct str name = fact_find_str(way, "way");
    const struct fact *worst = fact_find(way, "worst_hour");
    const double needed = fact_find_num(worst, "needed_mbps");
    const struct str hour = fact_find_str(worst, "says");
    if (!isfinite(needed))
        return;
    acceptance_least(
        v,
        (struct acceptance_row){
            .where = acceptance_text(v, "%.*s, in the fullest hour (%.*s), with everything of the house silent",
                                     STR_ARG(name), STR_ARG(hour)),
            .passes = acceptance_text(v, "%.1f Mb/s or more", needed),
            .computed = acceptance_text(v, "the line is sold as %.0f Mb/s, %.1f of them for use",
                                        fact_find_num(way, "line_mbps"), fact_find_num(way, "payload_mbps")) },
        needed, "Mb/s", 2);
}

enum rt_code acceptance_line(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct fact *e = test->result->evidence, *calls = fact_find(e, "calls");
    const uint32_t before = v->rows.n;
    (void)p;
    for (const struct fact *w = fact_find_first(e, "ways"); w; w = w->next)
        way_row(v, w);
    if (v->rows.n == before)
        acceptance_see(v, STR("Down and up, in the fullest hour of the week"), STR("what the contract says, or more"));
    if (calls && fact_find_num(calls, "up_mbps") > 0.0) {
        const double most_ms = 2.0 * fact_find_num(calls, "good_ms");
        acceptance_most(
            v,
            (struct acceptance_row){
                .where = STR("While a large file is sent out: ping something on the internet 50 times, the mean"),
                .passes = acceptance_text(v, "at most %.0f ms there and back", most_ms),
                .computed = acceptance_text(v, "%.0f ms; %.0f ms with the line shaped",
                                            2.0 * fact_find_num(calls, "one_way_ms"),
                                            2.0 * fact_find_num(calls, "one_way_shaped_ms")) },
            most_ms, "ms", 0);
    }
    if (is_given(v->h->line.cap_gb_per_month))
        acceptance_most(v,
                        (struct acceptance_row){
                            .where = STR("The provider's counter, a month after the day"),
                            .passes = acceptance_text(v, "at most %.0f GB", v->h->line.cap_gb_per_month),
                            .computed = acceptance_text(v, "%.0f GB", fact_find_num(fact_find(e, "month"), "gb")) },
                        v->h->line.cap_gb_per_month, "GB", 0);
    test->how =
        STR("From a computer on a cable at the gateway, against a test server of the provider, three times; the least "
            "counts.");
    return RT_OK;
}

/* ---- pictures ---- */

enum rt_code acceptance_recording(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct fact *e = test->result->evidence;
    const double disk_gb = fact_find_num(e, "disk_gb"), days = fact_find_num(e, "days");
    const struct recording *rec = &v->h->recordings.v[promise->recording.i];
    (void)p;
    acceptance_least(
        v,
        (struct acceptance_row){
            .where = acceptance_text(v, "%.0f days after the day, on %.*s: the oldest picture of each camera",
                                     promise->days, STR_ARG(acceptance_thing(v, rec->recorder))),
            .passes = acceptance_text(v, "%.0f days old or older", promise->days),
            .computed = isfinite(days) ? acceptance_text(v, "%.1f days", days) : STR("") },
        promise->days, "days", 0);
    if (is_given(disk_gb)) {
        const double share = fact_find_num(e, "gb_per_day") / fact_find_num(e, "disk_gb_per_day");
        const double most_gb = disk_gb * share / promise->days;
        acceptance_most(v,
                        (struct acceptance_row){
                            .where = STR("Without waiting: how much these pictures grow in one whole day, a busy one"),
                            .passes = acceptance_text(v, "at most %.1f GB", most_gb),
                            .computed = acceptance_text(v, "%.1f GB", fact_find_num(e, "gb_per_day")) },
                        most_gb, "GB", 1);
    }
    for (uint32_t i = 0; i < rec->cameras.n; i++)
        acceptance_see(v,
                       acceptance_text(v, "%.*s: one picture by day and one by night",
                                       STR_ARG(acceptance_thing(v, v->h->devices.v[rec->cameras.v[i].i].id))),
                       STR("sharp; place and time are right"));
    test->how = STR(
        "On the recorder's own page. Nobody's garden, window or footpath beyond what was agreed is in the pictures.");
    return RT_OK;
}

/* ---- growth ---- */

/* Things that one can count or read on the day; the others rest on computation alone. */
static bool is_countable(const struct fact *use)
{
    static const char *const RESOURCES[] = { "sockets", "power", "cabinet", "addresses", "disk" };
    for (size_t i = 0; i < RT_COUNT(RESOURCES); i++)
        if (str_is(fact_find_str(use, "resource"), RESOURCES[i]))
            return fact_find_str(use, "missing").n == 0;
    return false;
}

static void use_row(struct acceptance_view *v, const struct fact *use)
{
    const double now = fact_find_num(use, "now"), then = fact_find_num(use, "then"),
                 usable = fact_find_num(use, "usable");
    const double most = usable - (then - now);
    const struct str what = fact_find_str(use, "what"), unit = fact_find_str(use, "unit");
    const int decimals = unit.n ? 1 : 0;
    acceptance_most(
        v,
        (struct acceptance_row){ .where = acceptance_text(v, "In use today: %.*s", STR_ARG(what)),
                                 .passes = acceptance_text(v, "at most %.*f %.*s", decimals, most, STR_ARG(unit)),
                                 .computed = acceptance_text(v, "%.*f of %.*f; then %.*f", decimals, now, decimals,
                                                             fact_find_num(use, "limit_now"), decimals, then) },
        most, acceptance_text(v, "%.*s", STR_ARG(unit)).p, decimals);
}

enum rt_code acceptance_growth(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    /* What lasts far beyond the promise needs no counting. */
    static const double FAR_BEYOND = 4.0;
    const struct fact *e = test->result->evidence;
    const double times = test->result->promise->times;
    const uint32_t before = v->rows.n;
    (void)p;
    for (const struct fact *u = fact_find_first(e, "uses"); u; u = u->next)
        if (is_countable(u) && fact_find_num(u, "lasts_times") < times * FAR_BEYOND)
            use_row(v, u);
    if (v->rows.n == before)
        acceptance_see(v, STR("Free sockets, watts, addresses and disk"), STR("as the chapter on growth counts them"));
    test->how = acceptance_text(
        v, "Count on the day; what would be used then, at %g times the devices, must still fit.", times);
    return RT_OK;
}

/* ---- money ---- */

enum rt_code acceptance_cost(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct fact *e = test->result->evidence;
    const struct str currency = fact_find_str(e, "currency");
    const uint32_t before = v->rows.n;
    (void)p;
    for (const struct fact *l = fact_find_first(e, "limits"); l; l = l->next) {
        const struct fact *most = fact_find(l, "most"), *comes = fact_find(l, "comes_to");
        const struct str what = fact_find_str(l, "what"), phase = fact_find_str(l, "phase");
        if (!most || !comes)
            continue;
        const bool is_year = str_is(what, "yearly");
        acceptance_most(
            v,
            (struct acceptance_row){
                .where = is_year ? STR("Bills of energy and line, a year after the day")
                                 : acceptance_text(v, "Receipts and invoices, added up: %.*s%s%.*s", STR_ARG(what),
                                                   phase.n ? " " : "", STR_ARG(phase)),
                .passes = acceptance_text(v, "at most %.*f %.*s", most->decimals, most->num, STR_ARG(currency)),
                .computed = acceptance_text(v, "%.*f %.*s", comes->decimals, comes->num, STR_ARG(currency)) },
            most->num, acceptance_text(v, "%.*s", STR_ARG(currency)).p, most->decimals);
    }
    if (v->rows.n == before)
        acceptance_see(v, STR("Receipts and invoices, added up"), STR("within what was promised"));
    test->how = STR("From the papers, not from the plan.");
    return RT_OK;
}
