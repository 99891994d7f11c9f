/* Tests at ports, cables and plugs: watts, testers, pulling the plug. */
#include <math.h>

#include "book/acceptance_int.h"
#include "promise/failure_table.h"
#include "promise/spot_words.h"
#include "wire/end_label.h"

/* ---- power ---- */

static void feed_row(struct acceptance_view *v, const struct fact *f)
{
    const struct str id = fact_find_str(f, "id"), name = acceptance_thing(v, id), source = fact_find_str(f, "source"),
                     cable = fact_find_str(f, "cable");
    const uint32_t d = house_find_device(v->h, id);
    const double port = fact_find_num(f, "port"), class = fact_find_num(f, "class_granted"),
                 most_w = fact_find_num(f, "drawn_w");
    if (!source.n || !is_given(class)) {
        acceptance_see(v, acceptance_text(v, "%.*s, in full use", STR_ARG(name)),
                       STR("it runs on the power of its cable alone"));
        return;
    }
    const struct str plug = end_label_port(v->arena, source, is_given(port) ? (unsigned)port : 0);
    const struct str where =
        acceptance_text(v, "Port %.*s, cable %.*s: %.*s in full use%s", STR_ARG(plug), STR_ARG(cable), STR_ARG(name),
                        d != NO_REF && v->h->devices.v[d].camera.at.line ? ", its lamp on" : "");
    acceptance_most(
        v,
        (struct acceptance_row){
            .where = where,
            .passes = acceptance_text(v, "class %.0f, and at most %.1f W", class, most_w),
            .computed = acceptance_text(v, "%.1f W in use",
                                        fact_find_num(f, "typical_w") + given_or(fact_find_num(f, "loss_w"), 0.0)) },
        most_w, "W", 2);
}

enum rt_code acceptance_power(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct fact *e = test->result->evidence;
    const double headroom = test->result->promise->headroom_share;
    const uint32_t before = v->rows.n;
    (void)p;
    for (const struct fact *f = fact_find_first(e, "feeds"); f; f = f->next)
        feed_row(v, f);
    for (const struct fact *s = fact_find_first(e, "sources"); s; s = s->next) {
        const struct str id = fact_find_str(s, "id"), name = acceptance_thing(v, id);
        const double most_w = fact_find_num(s, "budget_w") * (1.0 - headroom);
        if (!is_given(most_w))
            continue;
        acceptance_most(
            v,
            (struct acceptance_row){
                .where = acceptance_text(v, "%.*s: watts over all its ports, everything in full use", STR_ARG(name)),
                .passes = acceptance_text(v, "at most %.1f W (%.0f %% of its %.0f W kept free)", most_w,
                                          headroom * 100.0, fact_find_num(s, "budget_w")),
                .computed = acceptance_text(v, "%.1f W at most", fact_find_num(s, "worst_w")) },
            most_w, "W", 1);
    }
    if (v->rows.n == before)
        acceptance_see(v, STR("Everything that is promised its watts, in full use"), STR("it runs"));
    test->how =
        STR("From the page of ports of what feeds, or with a meter for power over Ethernet between port and cable.");
    return RT_OK;
}

/* ---- cables ---- */

static uint32_t cable_of_id(const struct house *h, struct str id)
{
    for (uint32_t c = 0; c < h->cables.n; c++)
        if (str_eq(h->cables.v[c].id, id))
            return c;
    return NO_REF;
}

static struct str ends_words(struct acceptance_view *v, uint32_t cable, const struct port_plan *ports)
{
    const struct cable *c = &v->h->cables.v[cable];
    const struct str from =
        end_label_port(v->arena, c->from.what, end_label_number(&c->from, ports->numbers[cable].from));
    const struct str to = end_label_port(v->arena, c->to.what, end_label_number(&c->to, ports->numbers[cable].to));
    const struct str room = end_label_room(v->h, &c->to);
    return acceptance_text(v, "%.*s: from %.*s to %.*s%s%.*s", STR_ARG(c->id), STR_ARG(from), STR_ARG(to),
                           room.n ? ", " : "", STR_ARG(room));
}

/* Light that is lost in this one; NaN: it is copper. */
static double fibre_most_db(const struct fact *evidence, struct str id)
{
    for (const struct fact *f = fact_find_first(evidence, "fibre"); f; f = f->next)
        if (str_eq(fact_find_str(f, "id"), id))
            return fact_find_num(f, "loss_max_db");
    return RT_NOT_GIVEN;
}

static void link_row(struct acceptance_view *v, const struct fact *evidence, const struct fact *l,
                     const struct port_plan *ports)
{
    const struct str id = fact_find_str(l, "id");
    const uint32_t cable = cable_of_id(v->h, id);
    const double length_m = fact_find_num(l, "length_m"), most_m = fact_find_num(l, "length_max_m"),
                 mbps = fact_find_num(l, "needed_mbps"), most_db = fibre_most_db(evidence, id);
    if (cable == NO_REF)
        return;
    struct buf passes = { .arena = v->arena };
    if (is_given(most_db))
        buf_printf(&passes, "at most %.1f dB of light lost", most_db);
    else
        buf_text(&passes, "all eight wires right");
    if (isfinite(most_m) && most_m > 0.0)
        buf_printf(&passes, ", at most %.0f m", most_m);
    buf_printf(&passes, ", %.0f Mb/s", mbps);
    v->failed |= passes.failed;
    const struct str computed = isfinite(length_m) ? acceptance_text(v, "%.1f m with cords", length_m) : STR("");
    acceptance_least(v,
                     (struct acceptance_row){
                         .where = ends_words(v, cable, ports), .passes = buf_done(&passes), .computed = computed },
                     mbps, "Mb/s", 0);
}

enum rt_code acceptance_cable(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    const struct fact *e = test->result->evidence;
    const struct port_plan *ports = NULL;
    const uint32_t before = v->rows.n;
    RT_TRY(evaluation_ports(v->ev, &ports, p));
    for (const struct fact *l = fact_find_first(e, "links"); l; l = l->next)
        link_row(v, e, l, ports);
    for (const struct fact *s = is_given(promise->spare_ports) ? fact_find_first(e, "ports") : NULL; s; s = s->next) {
        const struct str id = fact_find_str(s, "id"), name = acceptance_thing(v, id);
        acceptance_least(
            v,
            (struct acceptance_row){ .where = acceptance_text(v, "%.*s: count its free copper ports", STR_ARG(name)),
                                     .passes = acceptance_text(v, "%.0f or more", promise->spare_ports),
                                     .computed = acceptance_text(v, "%.0f", fact_find_num(s, "spare")) },
            promise->spare_ports, "ports", 0);
    }
    if (v->rows.n == before)
        acceptance_see(v, STR("Every cable"), STR("a tester finds no fault, and its length is written down"));
    test->how =
        STR("With a cable tester, cords plugged in as they will stay; the speed from the lights or pages of the port. "
            "The labels of both ends read as in the cable schedule.");
    return RT_OK;
}

/* ---- without mains ---- */

static const char *sign_of_life(const struct acceptance_view *v, struct str id)
{
    const uint32_t d = house_find_device(v->h, id);
    if (str_is(id, LINE_BOX_NAME))
        return "a web page opens, over Wi-Fi or a port that lives";
    if (d != NO_REF && v->h->devices.v[d].camera.at.line)
        return "its picture is live";
    return d == NO_REF ? "its lights are on, and its own page opens" : "it does its work";
}

static void outage_row(struct acceptance_view *v, const struct promise *promise, struct str id)
{
    const struct str name = acceptance_thing(v, id);
    acceptance_least(
        v,
        (struct acceptance_row){ .where = acceptance_text(v, "%.*s: %s", STR_ARG(name), sign_of_life(v, id)),
                                 .passes = acceptance_text(v, "still after %.0f min", promise->minutes) },
        promise->minutes, "min", 0);
}

enum rt_code acceptance_outage(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise_result *r = test->result;
    const uint32_t before = v->rows.n;
    (void)p;
    for (const struct fact *t = fact_find_first(r->evidence, "things"); t; t = t->next)
        outage_row(v, r->promise, fact_find_str(t, "id"));
    if (v->rows.n == before)
        acceptance_least(
            v,
            (struct acceptance_row){ .where = STR("What must live: it works"),
                                     .passes = acceptance_text(v, "still after %.0f min", r->promise->minutes) },
            r->promise->minutes, "min", 0);
    struct buf lasts = { .arena = v->arena };
    for (const struct fact *b = fact_find_first(r->evidence, "batteries"); b; b = b->next)
        if (is_given(fact_find_num(b, "minutes")))
            buf_printf(&lasts,
                       " Battery %.*s is computed to last %.0f min at %.0f W; write down what it feeds and its age.",
                       STR_ARG(fact_find_str(b, "id")), fact_find_num(b, "minutes"), fact_find_num(b, "load_w"));
    v->failed |= lasts.failed;
    test->how = acceptance_text(
        v,
        "Warn the household, save what is open. With the batteries full, switch off the main switch (or "
        "every breaker that feeds a thing of the network), wait %.0f min by a clock, then go round.%.*s",
        r->promise->minutes, STR_ARG(lasts.n ? buf_done(&lasts) : STR("")));
    return RT_OK;
}

/* ---- one thing switched off ---- */

static enum rt_code take_away(struct acceptance_view *v, const struct failure *f, struct str *out,
                              struct rt_problems *p)
{
    struct str plug = STR("");
    switch (f->kind) {
    case FAILURE_CABLE: {
        const struct port_plan *ports = NULL;
        RT_TRY(evaluation_ports(v->ev, &ports, p));
        *out = acceptance_text(v, "Pull cable %.*s out at one end", STR_ARG(ends_words(v, f->i, ports)));
        return RT_OK;
    }
    case FAILURE_LINE:
        *out = STR("Pull the line's cable out of the gateway");
        return RT_OK;
    case FAILURE_MAINS:
        *out = f->circuit.n ? acceptance_text(v, "Switch off the circuit %.*s", STR_ARG(f->circuit))
                            : STR("Switch off the main switch");
        return RT_OK;
    case FAILURE_DISK:
        *out =
            acceptance_text(v, "Pull no disk for a test. On the page of %.*s: the state of its disks", STR_ARG(f->id));
        return RT_OK;
    default:
        RT_TRY(acceptance_plug(v, f->i, NO_REF, &plug, p));
    }
    if (f->kind == FAILURE_ACCESS_POINT && plug.n)
        *out = acceptance_text(v, "Pull the cable of %.*s out at %.*s", STR_ARG(f->says), STR_ARG(plug));
    else
        *out = acceptance_text(v, "Take the power from %.*s", STR_ARG(f->says));
    return RT_OK;
}

/* Where the promise is decided then, and what it asks for there. */
static void survive_row(struct acceptance_view *v, struct str away, const struct promise_result *r)
{
    const struct promise *promise = r->promise;
    const bool is_level = promise->kind == PROMISE_SIGNAL || promise->kind == PROMISE_ROAMING;
    struct acceptance_row row = { .where = away,
                                  .passes = acceptance_text(v, "still true: %.*s", STR_ARG(promise->says)) };
    if (r->state == PROMISE_BROKEN)
        row.computed = STR("fails");
    if (!r->witness.is_set || (!is_level && promise->kind != PROMISE_RATE)) {
        row.where =
            acceptance_text(v, "%.*s; then try \u201c%.*s\u201d as above", STR_ARG(away), STR_ARG(promise->says));
        acceptance_least(v, row, RT_NOT_GIVEN, "", 0);
        return;
    }
    const struct vec2 at = { r->witness.at_m.x, r->witness.at_m.y };
    const struct str spot = spot_words(v->arena, v->h, r->witness.floor, at),
                     dims = spot_dims_words(v->arena, v->h, r->witness.floor, at);
    row.where = acceptance_text(v, "%.*s; then in %.*s: %.*s, %.1f m up", STR_ARG(away), STR_ARG(spot), STR_ARG(dims),
                                r->witness.at_m.z);
    row.computed = is_given(r->margin)
                       ? acceptance_text(v, "%s%.*f %s from it%s", r->margin < 0.0 ? "\u2212" : "+", r->margin_decimals,
                                         fabs(r->margin), r->unit, r->margin < 0.0 ? ": fails" : "")
                       : row.computed;
    row.passes = is_level ? acceptance_text(v, "\u2212%.0f dBm or stronger", -promise->level_dbm)
                          : acceptance_text(v, "%.0f Mb/s or more", promise->mbps);
    acceptance_least(v, row, is_level ? promise->level_dbm : promise->mbps, is_level ? "dBm" : "Mb/s", 0);
}

static uint32_t promise_of_id(const struct house *h, struct str id)
{
    for (uint32_t i = 0; i < h->promises.n; i++)
        if (str_eq(h->promises.v[i].id, id))
            return i;
    return NO_REF;
}

static bool is_meant(const struct promise *promise, enum failure_kind kind)
{
    for (uint32_t i = 0; i < promise->failures.n; i++)
        if (str_is(promise->failures.v[i], failure_kind_name(kind)))
            return true;
    return false;
}

enum rt_code acceptance_survive(struct acceptance_view *v, struct acceptance_test *test, struct rt_problems *p)
{
    const struct promise *promise = test->result->promise;
    struct failure_table *t = NULL;
    const uint32_t before = v->rows.n;
    RT_TRY(evaluation_failures(v->ev, &t, p));
    for (uint32_t row = 0; row < t->rows.n; row++) {
        struct str away;
        if (!is_meant(promise, t->rows.v[row].failure.kind))
            continue;
        RT_TRY(take_away(v, &t->rows.v[row].failure, &away, p));
        for (uint32_t i = 0; i < promise->promises.n; i++) {
            const uint32_t k = promise_of_id(v->h, promise->promises.v[i]);
            const struct promise_result *r = NULL;
            if (k == NO_REF)
                continue;
            RT_TRY(failure_result(t, row, k, &r, p));
            survive_row(v, away, r);
        }
    }
    if (v->rows.n == before)
        acceptance_see(v, STR("Nothing of this kind is in the house yet"), STR("to be tried when it is"));
    test->how =
        STR("Take away one thing, wait two minutes, try, put it back, wait until all is as before; then the next.");
    return RT_OK;
}
