/* A house's radios: channels and widths by one program for all, then powers; judged by the promises themselves. */
#include <math.h>

#include "base/units.h"
#include "data/channels.h"
#include "design/house_tune_int.h"
#include "promise/line_facts.h"

/* ---- what is asked ---- */

static bool is_of_radio(enum promise_kind kind)
{
    return kind == PROMISE_SIGNAL || kind == PROMISE_RATE || kind == PROMISE_ROAMING || kind == PROMISE_QUIET;
}

/* Of promises to survive those that access points fail, and that name nothing but what rests on radios. */
static bool survives_by_radio(const struct house *h, const struct promise *q)
{
    bool fails = false, is_radio = true;
    for (uint32_t i = 0; i < q->failures.n; i++)
        fails |= str_is(q->failures.v[i], "access_point");
    for (uint32_t i = 0; i < q->promises.n; i++)
        for (uint32_t k = 0; k < h->promises.n; k++)
            if (str_eq(h->promises.v[k].id, q->promises.v[i]))
                is_radio = is_radio && is_of_radio(h->promises.v[k].kind);
    return fails && is_radio;
}

static bool *find_asked(struct arena *a, const struct house *h)
{
    bool *asked = ARENA_ARRAY(a, bool, h->promises.n);
    for (uint32_t i = 0; asked && i < h->promises.n; i++) {
        const struct promise *q = &h->promises.v[i];
        asked[i] = is_of_radio(q->kind) || (q->kind == PROMISE_SURVIVE && survives_by_radio(h, q));
    }
    return asked;
}

/* ---- judging ---- */

/* An evaluation of the same field with other powers.  Only verdicts are wanted, at the one estimate: the others' field is not asked for. */
static bool begin_at(const struct house_tuner *t, const struct evaluation *ev, const double *power_dbm,
                     struct evaluation *out)
{
    struct arena *a = t->run->arena;
    struct fields *f = ARENA_NEW(a, struct fields);
    struct ap_radio *radios = ARENA_ARRAY(a, struct ap_radio, ev->radios.n);
    struct wall_tables *walls =
        ARENA_NEW(a, struct wall_tables); /* those of ev would outlive what is made here for them */
    if (!f || !radios || !walls)
        return false;
    *out = *ev;
    *walls = (struct wall_tables){ .run = t->run };
    out->walls = walls;
    *f = *ev->fields[ev->options.trace.estimate];
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        radios[r] = ev->radios.v[r];
        if (power_dbm) {
            radios[r].eirp_dbm += power_dbm[r] - radios[r].power_dbm;
            radios[r].power_dbm = power_dbm[r];
        }
    }
    out->radios.v = f->radios.v = radios;
    for (int e = 0; e <= ESTIMATE_HOPEFUL; e++)
        out->fields[e] = f;
    out->stations = NULL;
    out->demand = NULL;
    out->airtime = NULL;
    out->results = NULL;
    out->failures = NULL;
    return true;
}

static uint32_t deciding_radio(const struct evaluation *ev, const struct promise_result *result)
{
    const struct str id = fact_find_str(result->evidence, "access_point"),
                     band = fact_find_str(result->evidence, "band");
    for (uint32_t r = 0; r < ev->radios.n; r++)
        if (str_eq(ev->h->equipment.v[ev->radios.v[r].equipment].id, id) &&
            str_is(band, band_name(ev->radios.v[r].band)))
            return r;
    return NO_REF;
}

enum rt_code tune_judge(const struct house_tuner *t, const struct evaluation *ev, const double *power_dbm,
                        struct tune_verdict *out)
{
    struct arena *a = t->run->arena;
    const struct arena_mark mark = arena_mark(a);
    struct evaluation at;
    struct rt_problems p;
    rt_problems_init(&p, a);
    enum rt_code code = begin_at(t, ev, power_dbm, &at) ? RT_OK : RT_NOMEM;
    for (uint32_t i = 0; i < t->h->promises.n && !code; i++) {
        struct promise_result result;
        out[i] = (struct tune_verdict){ .state = PROMISE_UNKNOWN, .margin = RT_NOT_GIVEN, .radio = NO_REF };
        if (!t->asked[i])
            continue;
        code = run_is_cancelled(t->run) ? RT_CANCELLED : promise_evaluate(&at, &at.h->promises.v[i], &result, &p);
        if (!code)
            out[i] = (struct tune_verdict){ .state = result.state,
                                            .margin = result.margin,
                                            .radio = deciding_radio(&at, &result) };
    }
    arena_reset(a, mark);
    return code;
}

/* ---- the house as it is ---- */

static void know_radio(struct house_tuner *t, uint32_t r)
{
    const struct ap_radio *a = &t->now.radios.v[r];
    const struct equipment *e = &t->h->equipment.v[a->equipment];
    struct tuned_radio *of = &t->radios[r];
    *of = (struct tuned_radio){ .part = &t->h->parts.list.v[e->part.i].radios.v[a->part_radio],
                                .may_tune = e->tune,
                                .is_outdoors = ap_stands_outdoors(t->h, e),
                                .peak_dbi = antenna_peak_gain_dbi(a->antenna),
                                .beacon_share = t->air->cells.v[r].beacon_share };
    for (unsigned hour = 0; hour < HOURS_OF_WEEK; hour++)
        of->own_share = fmax(of->own_share, airtime_own(t->air, r, hour, 1.0));
}

static enum rt_code begin(struct house_tuner *t)
{
    struct arena *a = t->run->arena;
    struct rt_problems *p = &t->problems;
    t->asked = find_asked(a, t->h);
    RT_TRY(evaluation_begin(&t->now, t->run, t->h, evaluation_default_options(t->h), p));
    t->radios = ARENA_ARRAY(a, struct tuned_radio, t->now.radios.n);
    if (!t->asked || !t->radios)
        return RT_NOMEM;
    if (t->now.radios.n == 0)
        return RT_OK;
    RT_TRY(evaluation_fields_promised(&t->now, t->now.options.trace.estimate, &t->fields, p));
    RT_TRY(evaluation_airtime(&t->now, &t->air, p));
    for (uint32_t r = 0; r < t->now.radios.n; r++)
        know_radio(t, r);
    tune_find_widths(t);
    return RT_OK;
}

/* ---- settings ---- */

/* One radio of a part: what was said of it, with the channel, width and power of the answer; those that are off stay so. */
static struct radio_setting setting_of(const struct house_tuner *t, const struct tuning *q, const uint32_t *options,
                                       const double *power_dbm, uint32_t equipment, uint32_t part_radio)
{
    const struct equipment *e = &t->h->equipment.v[equipment];
    const struct part *part = &t->h->parts.list.v[e->part.i];
    const enum band band = part->radios.v[part_radio].band;
    uint32_t n = 0;
    for (uint32_t i = 0; i < part_radio; i++)
        n += part->radios.v[i].band == band;
    const struct radio_setting *was = radio_setting_nth(e, band, n);
    struct radio_setting s = { .at = was ? was->at : e->at,
                               .band = band,
                               .channel = RT_NOT_GIVEN,
                               .width_mhz = RT_NOT_GIVEN,
                               .power_dbm = RT_NOT_GIVEN,
                               .off = was && was->off };
    if (s.off)
        return *was;
    for (uint32_t r = 0; r < t->now.radios.n; r++)
        if (t->now.radios.v[r].equipment == equipment && t->now.radios.v[r].part_radio == part_radio) {
            const struct tune_option *o = &q->radios.v[r].options.v[options[r]];
            s.channel = tune_channel_to_write(band, o->channel, o->width_hz);
            s.width_mhz = o->width_hz / 1e6;
            s.power_dbm = power_dbm ? power_dbm[r] : RT_NOT_GIVEN;
        }
    return s;
}

/* A copy of the house with the settings in it.  power_dbm: NaN, or NULL: the most. */
static struct house *house_set(const struct house_tuner *t, const struct tuning *q, const uint32_t *options,
                               const double *power_dbm)
{
    struct arena *a = t->run->arena;
    struct house *h = ARENA_NEW(a, struct house);
    struct equipment *things = ARENA_ARRAY(a, struct equipment, t->h->equipment.n);
    if (!h || !things)
        return NULL;
    *h = *t->h;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        things[e] = t->h->equipment.v[e];
    h->equipment.v = things;
    for (uint32_t r = 0; r < t->now.radios.n; r++) {
        const uint32_t e = t->now.radios.v[r].equipment;
        if ((r > 0 && t->now.radios.v[r - 1].equipment == e) || !t->radios[r].may_tune)
            continue;
        const uint32_t n = h->parts.list.v[things[e].part.i].radios.n;
        things[e].radios.v = ARENA_ARRAY(a, struct radio_setting, n);
        if (!things[e].radios.v)
            return NULL;
        things[e].radios.n = n;
        for (uint32_t i = 0; i < n; i++)
            things[e].radios.v[i] = setting_of(t, q, options, power_dbm, e, i);
    }
    if (q->has_mesh) {
        const uint32_t mesh = q->radios.n - 1;
        h->mesh.channel = q->radios.v[mesh].options.v[options[mesh]].channel;
    }
    return h;
}

/* An evaluation of the house so set: scene, cables and all that no radio changes are those of now. */
static enum rt_code evaluation_of(const struct house_tuner *t, const struct house *h, struct evaluation *out,
                                  struct rt_problems *p)
{
    *out = t->now;
    out->h = h;
    for (int e = 0; e <= ESTIMATE_HOPEFUL; e++)
        out->fields[e] = NULL;
    out->stations = NULL;
    out->demand = NULL;
    out->airtime = NULL;
    out->results = NULL;
    out->failures = NULL;
    out->tree = NULL;
    return ap_radios_resolve(t->run, h, t->now.rules, &out->radios, p);
}

/* ---- the choice ---- */

struct choice {
    struct tuning q;
    struct tuning_answer answer;
    struct evaluation ev; /* at the most power; its field is there */
    struct tune_verdict *verdicts;
    uint32_t n_lost;
};

/* Did the file say on which channels they are? */
static bool was_set(const struct house_tuner *t)
{
    for (uint32_t r = 0; r < t->now.radios.n; r++)
        if (t->radios[r].may_tune && t->now.radios.v[r].channel_was_chosen)
            return false;
    return true;
}

/* It was kept and is not; or it is about the air, which was quieter as the file has it. */
static bool is_lost(const struct house_tuner *t, uint32_t promise, const struct tune_verdict *was,
                    const struct tune_verdict *is)
{
    const bool is_louder = t->h->promises.v[promise].kind == PROMISE_QUIET && was_set(t) && is_given(was->margin) &&
                           is_given(is->margin) && is->margin < was->margin - 1e-9;
    return t->asked[promise] && (is_louder || (was->state == PROMISE_KEPT && is->state != PROMISE_KEPT));
}

static uint32_t count_lost(const struct house_tuner *t, const struct tune_verdict *before, const struct tune_verdict *v)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < t->h->promises.n; i++)
        n += is_lost(t, i, &before[i], &v[i]);
    return n;
}

static enum rt_code choose(struct house_tuner *t, struct tune_freedom freedom, double seconds,
                           const struct tune_verdict *before, struct choice *out)
{
    const struct fields *f = NULL;
    *out = (struct choice){ .verdicts = ARENA_ARRAY(t->run->arena, struct tune_verdict, t->h->promises.n) };
    if (!out->verdicts)
        return RT_NOMEM;
    RT_TRY(tune_make(t, freedom, &out->q));
    RT_TRY(tuning_solve(t->run, &out->q, seconds, &out->answer, &t->problems));
    const struct house *h = house_set(t, &out->q, out->answer.options, NULL);
    if (!h)
        return RT_NOMEM;
    RT_TRY(evaluation_of(t, h, &out->ev, &t->problems));
    if (out->ev.radios.n == 0)
        return RT_OK;
    RT_TRY(evaluation_fields_promised(&out->ev, out->ev.options.trace.estimate, &f, &t->problems));
    RT_TRY(tune_judge(t, &out->ev, NULL, out->verdicts));
    out->n_lost = count_lost(t, before, out->verdicts);
    return RT_OK;
}

/* Radios by which something was lost keep the channels they have; all, where it was by more than one.  False: they do already. */
static bool hold_back(const struct house_tuner *t, const struct tune_verdict *before, const struct tune_verdict *v,
                      bool *stays)
{
    bool is_new = false;
    for (uint32_t i = 0; i < t->h->promises.n; i++)
        for (uint32_t r = 0; is_lost(t, i, &before[i], &v[i]) && r < t->now.radios.n; r++) {
            if (stays[r] || (v[i].radio != NO_REF && v[i].radio != r))
                continue;
            stays[r] = is_new = true;
        }
    return is_new;
}

static enum rt_code try_freedom(struct house_tuner *t, struct tune_freedom freedom, double seconds,
                                const struct tune_verdict *before, struct choice *last, struct choice *best)
{
    RT_TRY(choose(t, freedom, seconds, before, last));
    if (last->n_lost < best->n_lost)
        *best = *last;
    return RT_OK;
}

enum { HOLD_MOST = 4 /* times that radios are held back: each costs a field */ };

/* As asked; then with the radios held back by which something was lost; then with radar duty and no narrower than now; then on the
 * channels of now.  The first that loses nothing, else the one that loses least. */
static enum rt_code choose_best(struct house_tuner *t, bool allows_radar, double seconds, struct choice *best)
{
    bool *stays = ARENA_ARRAY(t->run->arena, bool, t->now.radios.n);
    struct tune_verdict *before = ARENA_ARRAY(t->run->arena, struct tune_verdict, t->h->promises.n);
    struct choice last;
    if (!before || !stays)
        return RT_NOMEM;
    if (t->now.radios.n)
        RT_TRY(tune_judge(t, &t->now, NULL, before));
    best->n_lost = UINT32_MAX;
    RT_TRY(try_freedom(t, (struct tune_freedom){ .allows_radar = allows_radar }, seconds, before, &last, best));
    for (int i = 0; i < HOLD_MOST && best->n_lost && hold_back(t, before, last.verdicts, stays); i++)
        RT_TRY(try_freedom(t, (struct tune_freedom){ .allows_radar = allows_radar, .stays = stays }, seconds, before,
                           &last, best));
    if (best->n_lost)
        RT_TRY(try_freedom(t, (struct tune_freedom){ .allows_radar = true, .keeps_widths = true }, seconds, before,
                           &last, best));
    if (best->n_lost)
        RT_TRY(try_freedom(t, (struct tune_freedom){ .allows_radar = allows_radar, .keeps_channels = true }, seconds,
                           before, &last, best));
    return RT_OK;
}

/* The powers to write: NaN for the most. */
static enum rt_code find_powers(struct house_tuner *t, struct choice *c, double *power_dbm)
{
    const struct airtime *air = NULL;
    const uint32_t n = c->ev.radios.n;
    if (n == 0)
        return RT_OK;
    for (uint32_t r = 0; r < n; r++)
        power_dbm[r] = c->ev.radios.v[r].power_dbm;
    RT_TRY(evaluation_airtime(&c->ev, &air, &t->problems));
    RT_TRY(tune_lower_powers(t, &c->ev, air, c->verdicts, power_dbm));
    for (uint32_t r = 0; r < n; r++)
        if (power_dbm[r] >= c->ev.radios.v[r].power_dbm)
            power_dbm[r] = RT_NOT_GIVEN;
    return RT_OK;
}

/* ---- in words ---- */

static void sharer_words(const struct house *h, const struct evaluation *ev, const struct cell *c, struct buf *b)
{
    uint32_t n_foreign = 0;
    double strongest_dbm = -(double)INFINITY;
    bool has_own = false;
    for (uint32_t i = 0; i < c->sharers.n; i++) {
        const struct air_sharer *s = &c->sharers.v[i];
        if (s->neighbour != NO_REF) {
            n_foreign++;
            strongest_dbm = fmax(strongest_dbm, s->level_dbm);
            continue;
        }
        buf_printf(b, "%s%.*s", has_own ? ", " : "shared with ",
                   STR_ARG(h->equipment.v[ev->radios.v[s->radio].equipment].id));
        has_own = true;
    }
    if (!has_own)
        buf_text(b, "shared with none of the house's");
    if (n_foreign == 1)
        buf_printf(b, ", one neighbour at %.0f dBm", strongest_dbm);
    else if (n_foreign)
        buf_printf(b, ", %u neighbours, the nearest at %.0f dBm", n_foreign, strongest_dbm);
    else
        buf_text(b, ", no neighbour heard");
}

static struct str radio_words(const struct house_tuner *t, const struct evaluation *ev, uint32_t r)
{
    const struct ap_radio *a = &ev->radios.v[r];
    struct buf b = { .arena = t->run->arena };
    buf_printf(&b, "%.*s %s GHz on %.0f, %.0f MHz, %.0f dBm%s: ", STR_ARG(ev->h->equipment.v[a->equipment].id),
               band_name(a->band), tune_channel_to_write(a->band, a->channel, a->width_hz), a->width_hz / 1e6,
               a->power_dbm,
               !t->radios[r].may_tune     ? ", as it is set"
               : a->needs_radar_detection ? ", with radar duty"
                                          : "");
    sharer_words(ev->h, ev, &ev->airtime->cells.v[r], &b);
    return buf_done(&b);
}

static struct str mesh_words(const struct house_tuner *t, const struct evaluation *ev)
{
    double most = 0.0;
    for (unsigned hour = 0; ev->airtime && hour < HOURS_OF_WEEK; hour++)
        most = fmax(most, airtime_over_mesh(ev->airtime, (int)ev->h->mesh.channel, hour));
    return str_from(arena_printf(t->run->arena, "mesh on %.0f: Wi-Fi lies over it for at most %.0f %% of an hour",
                                 ev->h->mesh.channel, 100.0 * most));
}

static bool tell(const struct house_tuner *t, const struct evaluation *ev, bool has_mesh, struct tuning_result *out)
{
    out->why.v = ARENA_ARRAY(t->run->arena, struct str, (size_t)ev->radios.n + 1);
    if (!out->why.v)
        return false;
    for (uint32_t r = 0; r < ev->radios.n; r++) {
        out->why.v[out->why.n++] = radio_words(t, ev, r);
        out->n_radar += ev->radios.v[r].needs_radar_detection;
    }
    if (has_mesh)
        out->why.v[out->why.n++] = mesh_words(t, ev);
    for (uint32_t i = 0; i < out->why.n; i++)
        if (!out->why.v[i].p)
            return false;
    return true;
}

/* ---- all of it ---- */

/* The house so set is resolved once more as any reader of it will; what it says of the air is told. */
static enum rt_code finish(struct house_tuner *t, struct choice *c, const double *power_dbm, struct house *h,
                           struct tuning_result *out)
{
    struct evaluation ev;
    const struct airtime *air = NULL;
    struct house *set = house_set(t, &c->q, c->answer.options, power_dbm);
    if (!set)
        return RT_NOMEM;
    RT_TRY(evaluation_of(t, set, &ev, &t->problems));
    if (ev.radios.n) {
        const enum estimate e = ev.options.trace.estimate;
        struct fields *f = ARENA_NEW(t->run->arena, struct fields);
        if (!f)
            return RT_NOMEM;
        *f = *c->ev.fields[e];
        f->radios = ev.radios;
        ev.fields[e] = f;
        RT_TRY(evaluation_airtime(&ev, &air, &t->problems));
    }
    out->answer = c->answer;
    if (!tell(t, &ev, c->q.has_mesh, out))
        return RT_NOMEM;
    for (uint32_t e = 0; e < h->equipment.n; e++)
        h->equipment.v[e].radios = set->equipment.v[e].radios;
    h->mesh.channel = set->mesh.channel;
    return RT_OK;
}

static enum rt_code tune(struct house_tuner *t, struct house *h, bool allows_radar, double seconds,
                         struct tuning_result *out)
{
    struct choice best = { 0 };
    RT_TRY(begin(t));
    RT_TRY(choose_best(t, allows_radar, seconds, &best));
    double *power_dbm = ARENA_ARRAY(t->run->arena, double, best.ev.radios.n);
    if (!power_dbm)
        return RT_NOMEM;
    RT_TRY(find_powers(t, &best, power_dbm));
    return finish(t, &best, power_dbm, h, out);
}

/* The errors that evaluations told in private, so that they are not lost with them. */
static enum rt_code pass_on(const struct rt_problems *from, enum rt_code code, struct rt_problems *p)
{
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < from->list.n; i++)
        if (!from->list.v[i].is_warning)
            rt_fail(p, from->list.v[i].code, from->list.v[i].at, from->list.v[i].hint, "%s", from->list.v[i].msg);
    return from->n_errors ? code : rt_fail(p, code, RT_NOWHERE, NULL, "stopped");
}

enum rt_code house_tune(const struct run *run, struct house *h, bool allows_radar, double seconds,
                        struct tuning_result *out, struct rt_problems *p)
{
    struct house_tuner t = { .run = run, .h = h };
    *out = (struct tuning_result){ 0 };
    rt_problems_init(&t.problems, run->arena);
    const enum rt_code code = tune(&t, h, allows_radar, seconds, out);
    return code ? pass_on(&t.problems, code, p) : RT_OK;
}
