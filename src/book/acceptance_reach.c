/* Tests of who may talk with whom: from which device what is tried, and what must happen.  The proof has every packet; these are the
 * few that show on the day that its rules are the ones loaded. */
#include <string.h>

#include "book/acceptance_int.h"
#include "data/services.h"

enum { ENDS_MAX = 8, DEVICES_MAX = 4, MINUTES_A_DAY = 1440 };

/* ---- who tries, and whom ---- */

static uint32_t first_on_network(struct acceptance_view *v, const struct endpoint *e, bool wants_offer)
{
    const index_list all = endpoint_devices(v->arena, v->h, e, &v->failed);
    for (uint32_t i = 0; i < all.n && !v->failed; i++)
        if (v->ev->proof->policy->plan->devices[all.v[i]].ipv4 && (!wants_offer || v->h->devices.v[all.v[i]].offers.n))
            return all.v[i];
    return wants_offer && !v->failed ? first_on_network(v, e, false) : NO_REF;
}

/* Can one type an address on it? */
static bool has_keys(const struct device *d)
{
    static const char *const KINDS[] = { "phone", "tablet", "laptop", "work_laptop", "desktop", "server" };
    for (size_t i = 0; i < RT_COUNT(KINDS); i++)
        if (str_is(d->kind, KINDS[i]))
            return true;
    return false;
}

/* "the Wi-Fi `Larch`, or a port of its own". */
static struct str way_in(struct acceptance_view *v, uint32_t segment)
{
    const struct str id = v->h->segments.v[segment].id;
    for (uint32_t i = 0; i < v->h->ssids.n; i++)
        if (v->h->ssids.v[i].segment.i == segment) {
            const struct str name = v->h->ssids.v[i].name.n ? v->h->ssids.v[i].name : v->h->ssids.v[i].id;
            return acceptance_text(v, "network %.*s (Wi-Fi \u201c%.*s\u201d)", STR_ARG(id), STR_ARG(name));
        }
    return acceptance_text(v, "network %.*s (a port that carries it untagged)", STR_ARG(id));
}

static struct str device_tries(struct acceptance_view *v, uint32_t device)
{
    const struct device *d = &v->h->devices.v[device];
    const struct str words = acceptance_thing(v, v->h->devices.v[device].id);
    if (has_keys(d))
        return acceptance_text(v, "From %.*s", STR_ARG(words));
    struct buf at = { .arena = v->arena };
    address_write(&at, FAMILY_IPV4, v->ev->proof->policy->plan->devices[device].ipv4);
    v->failed |= at.failed;
    return acceptance_text(v, "From a laptop in the place of %.*s (its cable or network, its address %.*s)",
                           STR_ARG(words), STR_ARG(buf_done(&at)));
}

static struct str who_tries(struct acceptance_view *v, const struct endpoint *e)
{
    switch (e->kind) {
    case END_SEGMENT:
        return acceptance_text(v, "From a laptop in %.*s", STR_ARG(way_in(v, e->i)));
    case END_GROUP:
    case END_DEVICE:
    case END_PERSON: {
        const uint32_t device = first_on_network(v, e, false);
        return device != NO_REF ? device_tries(v, device) : acceptance_text(v, "From %.*s", STR_ARG(e->name));
    }
    case END_INTERNET:
        return STR("From a phone off the Wi-Fi, over its mobile network");
    case END_GATEWAY:
        return STR("From the gateway itself");
    default:
        return STR("From a laptop in any network of the house");
    }
}

/* "printer (10.20.50.31, printer.home.arpa)". */
static struct str device_tried(struct acceptance_view *v, uint32_t device)
{
    const struct device_plan *plan = &v->ev->proof->policy->plan->devices[device];
    const struct str words = acceptance_thing(v, v->h->devices.v[device].id);
    struct buf b = { .arena = v->arena };
    buf_printf(&b, "%.*s (", STR_ARG(words));
    address_write(&b, FAMILY_IPV4, plan->ipv4);
    buf_printf(&b, ", %.*s)", STR_ARG(plan->name));
    v->failed |= b.failed;
    return buf_done(&b);
}

static struct str whom(struct acceptance_view *v, const struct endpoint *e, bool wants_offer)
{
    if (e->kind == END_INTERNET || e->kind == END_ANYONE)
        return STR("the internet (example.org)"); /* reserved for examples, RFC 2606 */
    if (e->kind == END_GATEWAY)
        return STR("the gateway's own pages");
    if (e->kind == END_NAME)
        return e->name;
    const uint32_t device = first_on_network(v, e, wants_offer);
    if (device != NO_REF)
        return device_tried(v, device);
    if (e->kind == END_SEGMENT)
        return acceptance_text(v, "a second laptop put in %.*s", STR_ARG(way_in(v, e->i)));
    return e->name;
}

/* ---- services and hours ---- */

static struct str service_words(struct acceptance_view *v, struct str name)
{
    uint32_t n;
    const struct service_flow *flow = service_find(name, &n);
    for (uint32_t i = 0; i < v->h->services.n; i++)
        if (str_eq(v->h->services.v[i].id, name) && v->h->services.v[i].says.n)
            return v->h->services.v[i].says;
    if (!flow || str_is(name, flow->says))
        return name;
    return acceptance_text(v, "%.*s (%s)", STR_ARG(name), flow->says);
}

static struct str services_words(struct acceptance_view *v, const str_list *services, const char *between)
{
    struct buf b = { .arena = v->arena };
    for (uint32_t i = 0; i < services->n; i++)
        buf_printf(&b, "%s%.*s", i ? between : "", STR_ARG(service_words(v, services->v[i])));
    v->failed |= b.failed;
    return buf_done(&b);
}

static const char *day_name(unsigned day)
{
    static const char *const DAYS[] = { "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday" };
    return DAYS[day % 7];
}

static unsigned first_day(const struct hours *h)
{
    unsigned day = 0;
    while (day < 6 && !(h->days & 1u << day))
        day++;
    return day;
}

/* "Monday 20:31", so many minutes after (or before) these hours begin. */
static struct str after_begin(struct acceptance_view *v, const struct hours *h, int minutes)
{
    const int at = (int)h->from_minute + minutes, of_day = (at + MINUTES_A_DAY) % MINUTES_A_DAY;
    const unsigned day = first_day(h) + (at < 0 ? 6 : at >= MINUTES_A_DAY);
    return acceptance_text(v, "%s %02d:%02d", day_name(day), of_day / 60, of_day % 60);
}

/* ---- apart ---- */

/* The packet that shows it broken: it must no longer pass. */
static void witness_row(struct acceptance_view *v, const struct promise_result *r)
{
    const struct fact *w = fact_find(r->evidence, "witness"), *rule = fact_find(r->evidence, "rule");
    const struct str words = fact_find_str(w, "words"), says = fact_find_str(rule, "says");
    if (!words.n)
        return;
    const bool must_pass = r->promise->kind == PROMISE_REACH;
    acceptance_see(v, acceptance_text(v, "The packet that breaks it as planned: %.*s", STR_ARG(words)),
                   acceptance_text(v, "it %s%s%.*s%s", must_pass ? "gets there" : "gets no answer any more",
                                   says.n ? " (decided today by: " : "", STR_ARG(says), says.n ? ")" : ""));
}

static const endpoint_list *to_of(const struct promise *promise)
{
    static struct endpoint internet = { .kind = END_INTERNET, .i = NO_REF, .name = { "internet", 8 } };
    static const endpoint_list INTERNET = { &internet, 1 };
    return promise->to.n ? &promise->to : &INTERNET;
}

enum rt_code acceptance_apart(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const endpoint_list *to = to_of(promise);
    struct proof *proof;
    RT_TRY(evaluation_proof(v->ev, &proof, p));
    struct str passes = STR("no answer within 10 s, or refused");
    if (promise->services.n)
        passes = acceptance_text(v, "nothing but %.*s answers", STR_ARG(services_words(v, &promise->services, ", ")));
    for (uint32_t i = 0; i < promise->from.n && i < ENDS_MAX; i++)
        for (uint32_t k = 0; k < to->n && k < ENDS_MAX; k++)
            acceptance_see(v,
                           acceptance_text(v, "%.*s, ping %.*s and open a page there (https)",
                                           STR_ARG(who_tries(v, &promise->from.v[i])),
                                           STR_ARG(whom(v, &to->v[k], true))),
                           passes);
    witness_row(v, test->result);
    test->how = STR(
        "First see from within the network of the thing that is tried that it answers there; then try it from where "
        "it must not, by address and by name: the name tries IPv6 too.");
    return RT_OK;
}

/* ---- reach ---- */

enum rt_code acceptance_reach(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const endpoint_list *to = to_of(promise);
    struct proof *proof;
    RT_TRY(evaluation_proof(v->ev, &proof, p));
    const struct hours *hours = promise->hours.i == NO_REF ? NULL : &v->h->hours.v[promise->hours.i];
    const struct str what = promise->services.n ? services_words(v, &promise->services, " and ") : STR("anything");
    const struct str when = hours ? acceptance_text(v, "%.*s: ", STR_ARG(after_begin(v, hours, 5))) : STR("");
    for (uint32_t i = 0; i < promise->from.n && i < ENDS_MAX; i++)
        for (uint32_t k = 0; k < to->n && k < ENDS_MAX; k++) {
            const struct str who = who_tries(v, &promise->from.v[i]);
            acceptance_see(v,
                           acceptance_text(v, "%.*s%.*s, use %.*s of %.*s", STR_ARG(when), STR_ARG(who), STR_ARG(what),
                                           STR_ARG(whom(v, &to->v[k], true))),
                           STR("it works, at the first try"));
        }
    witness_row(v, test->result);
    test->how = hours ? STR("Within the hours that are promised; outside of them nothing is.")
                      : STR("Use it as the household would: print a page, play a film, ring the bell.");
    return RT_OK;
}

/* ---- hours ---- */

enum rt_code acceptance_hours(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct hours *hours = &v->h->hours.v[promise->hours.i];
    struct proof *proof;
    RT_TRY(evaluation_proof(v->ev, &proof, p));
    const struct str before = after_begin(v, hours, -5), after = after_begin(v, hours, 1);
    const struct str dark = whom(v, &to_of(promise)->v[0], true);
    for (uint32_t i = 0; i < promise->from.n; i++) {
        const index_list all = endpoint_devices(v->arena, v->h, &promise->from.v[i], &v->failed);
        for (uint32_t k = 0; k < all.n && k < DEVICES_MAX; k++) {
            const struct str name = acceptance_thing(v, v->h->devices.v[all.v[k]].id);
            acceptance_see(v, acceptance_text(v, "%.*s, %.*s: open %.*s", STR_ARG(after), STR_ARG(name), STR_ARG(dark)),
                           STR("it does not open"));
        }
    }
    acceptance_see(
        v, acceptance_text(v, "%.*s: begin a film from the internet on one of them and let it run", STR_ARG(before)),
        acceptance_text(v, "it stops by %.*s, its buffer apart", STR_ARG(after)));
    witness_row(v, test->result);
    test->how =
        acceptance_text(v,
                        "Without waiting: in a copy of the house file let hours `%.*s` begin ten minutes from now, "
                        "export and load it, try, and load the true one again.",
                        STR_ARG(hours->id));
    return RT_OK;
}
