#include "promise/mend.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "promise/mend_int.h"

/* ---- one house that is tried ---- */

/* Does it help against every other failure that was promised about? */
static enum rt_code tell_survival(const struct mender *m, struct evaluation *with, struct buf *b, struct rt_problems *p)
{
    struct promise_result r;
    RT_TRY(promise_evaluate(with, &with->h->promises.v[m->out->survive], &r, p));
    buf_text(b, r.state == PROMISE_KEPT ? ", and any other one may fail instead" : "; other failures still break it");
    return RT_OK;
}

/* Is the promise kept there after the failure?  A cheaper one than the best so far becomes the best. */
enum rt_code mend_try(struct mender *m, struct evaluation *with, const char *says, struct rt_problems *p)
{
    const struct bill *before = NULL, *after = NULL;
    const struct promise_result *r = NULL;
    struct damage *d = NULL;
    m->out->n_tried++;
    RT_TRY(damage_make(with, &m->table->rows.v[m->out->row].failure, &d, p));
    RT_TRY(promise_after(with, d, m->out->promise, &r, p));
    if (r->state != PROMISE_KEPT)
        return RT_OK;
    RT_TRY(evaluation_bill(m->whole, &before, p));
    RT_TRY(evaluation_bill(with, &after, p));
    const int64_t price = after->total - before->total;
    if (m->out->is_found && price >= m->out->price)
        return RT_OK;
    m->out->is_found = true;
    m->out->price = price;
    struct buf b = { .arena = m->arena };
    buf_text(&b, says);
    if (is_given(r->margin))
        buf_printf(&b, "; then %+.*f %s", r->margin_decimals, r->margin, r->unit);
    if (m->out->survive != NO_REF)
        RT_TRY(tell_survival(m, with, &b, p));
    m->out->says = buf_done(&b);
    return b.failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code mend_quietly(struct mender *m, enum rt_code code, struct rt_problems *p)
{
    rt_problems_init(&m->unheard, m->arena);
    if (code == RT_NOMEM)
        return rt_fail_memory(p);
    if (code == RT_CANCELLED)
        return rt_fail(p, RT_CANCELLED, RT_NOWHERE, NULL, "stopped");
    return RT_OK;
}

/* The same house with other lists; fields and proof do not change with them. */
void mend_begin(const struct mender *m, struct house *h, struct evaluation *with)
{
    *with = *m->whole;
    with->h = h;
    with->cables = NULL;
    with->ports = NULL;
    with->power = NULL;
    with->energy = NULL;
    with->bill = NULL;
    with->tree = NULL;
    with->stations = NULL;
    with->demand = NULL;
    with->airtime = NULL;
    with->results = NULL;
    with->failures = NULL;
}

/* ---- a battery ---- */

static bool add_id(struct arena *a, str_list *list, struct str id)
{
    struct str *grown = ARENA_ARRAY(a, struct str, (size_t)list->n + 1);
    if (!grown)
        return false;
    for (uint32_t i = 0; i < list->n; i++)
        grown[i] = list->v[i];
    grown[list->n] = id;
    list->v = grown;
    list->n++;
    return true;
}

/* The equipment that stops, and the line's box. */
static bool what_stops(struct mender *m, const struct damage *d, str_list *feeds)
{
    for (uint32_t e = 0; e < m->h->equipment.n; e++)
        if (d->death[e] == DEATH_MAINS && !add_id(m->arena, feeds, m->h->equipment.v[e].id))
            return false;
    return !d->line_dead || d->gateway_dead || add_id(m->arena, feeds, STR(LINE_BOX_NAME));
}

static enum rt_code try_battery(struct mender *m, uint32_t part, str_list feeds, struct rt_problems *p)
{
    struct house *h = ARENA_NEW(m->arena, struct house);
    struct battery *list = ARENA_ARRAY(m->arena, struct battery, (size_t)m->h->batteries.n + 1);
    struct evaluation *with = ARENA_NEW(m->arena, struct evaluation);
    if (!h || !list || !with)
        return rt_fail_memory(p);
    *h = *m->h;
    for (uint32_t b = 0; b < h->batteries.n; b++)
        list[b] = h->batteries.v[b];
    list[h->batteries.n] = (struct battery){ .id = STR("one more"),
                                             .part.i = part,
                                             .room.i = NO_REF,
                                             .feeds = feeds,
                                             .capacity_wh = RT_NOT_GIVEN,
                                             .temperature_degc = 20.0 };
    h->batteries.v = list;
    h->batteries.n++;
    mend_begin(m, h, with);
    const char *says = arena_printf(m->arena, "a battery, `%.*s`, that feeds %u things more",
                                    STR_ARG(h->parts.list.v[part].id), feeds.n);
    return says ? mend_try(m, with, says, p) : rt_fail_memory(p);
}

static enum rt_code try_batteries(struct mender *m, const struct damage *d, struct rt_problems *p)
{
    str_list feeds = { 0 };
    if (!what_stops(m, d, &feeds))
        return rt_fail_memory(p);
    for (uint32_t i = 0; feeds.n && i < m->h->parts.list.n; i++)
        if (m->h->parts.list.v[i].kind == PART_BATTERY)
            RT_TRY(mend_quietly(m, try_battery(m, i, feeds, &m->unheard), p));
    return RT_OK;
}

/* ---- a second disk ---- */

static enum rt_code try_disk(struct mender *m, uint32_t recording, uint32_t disk, struct rt_problems *p)
{
    struct house *h = ARENA_NEW(m->arena, struct house);
    struct recording *list = ARENA_ARRAY(m->arena, struct recording, m->h->recordings.n);
    struct equipment *things = ARENA_ARRAY(m->arena, struct equipment, (size_t)m->h->equipment.n + 1);
    struct evaluation *with = ARENA_NEW(m->arena, struct evaluation);
    const struct recording *r = &m->h->recordings.v[recording];
    struct ref *disks = ARENA_ARRAY(m->arena, struct ref, (size_t)r->disks.n + 1);
    if (!h || !list || !things || !with || !disks)
        return rt_fail_memory(p);
    *h = *m->h;
    for (uint32_t i = 0; i < h->recordings.n; i++)
        list[i] = h->recordings.v[i];
    for (uint32_t e = 0; e < h->equipment.n; e++)
        things[e] = h->equipment.v[e];
    for (uint32_t i = 0; i < r->disks.n; i++)
        disks[i] = r->disks.v[i];
    things[h->equipment.n] = things[disk];
    things[h->equipment.n].id = STR("one more disk");
    things[h->equipment.n].owned = false;
    disks[r->disks.n] = (struct ref){ .i = h->equipment.n };
    list[recording].disks.v = disks;
    list[recording].disks.n++;
    list[recording].mirrored = true;
    h->recordings.v = list;
    h->equipment.v = things;
    h->equipment.n++;
    mend_begin(m, h, with);
    const char *says = arena_printf(m->arena, "one more disk, `%.*s`, and all of `%.*s` mirrored",
                                    STR_ARG(h->parts.list.v[things[disk].part.i].id), STR_ARG(r->id));
    return says ? mend_try(m, with, says, p) : rt_fail_memory(p);
}

/* ---- which way ---- */

static struct str in_words(struct arena *a, const struct failure *f)
{
    const char *text = NULL;
    switch (f->kind) {
    case FAILURE_LINE:
        text = "only a second line, by another way (a mobile one), lives through that: ask what it costs";
        break;
    case FAILURE_GATEWAY:
    case FAILURE_SWITCH:
        text =
            arena_printf(a, "no part that was tried stands in for %.*s: keep a second one in the house, set up alike",
                         STR_ARG(f->id));
        break;
    case FAILURE_CABLE:
        text = arena_printf(a, "nothing that was tried stands in for cable %.*s: pull a second one beside it now",
                            STR_ARG(f->id));
        break;
    default:
        text = "no part in hand that was tried keeps it";
    }
    return str_from(text ? text : "");
}

static bool is_of_the_air(enum promise_kind kind)
{
    return kind == PROMISE_SIGNAL || kind == PROMISE_RATE || kind == PROMISE_ROAMING;
}

static enum rt_code mend_one(struct mender *m, struct rt_problems *p)
{
    const struct damage *d = NULL;
    const struct promise *promise = &m->h->promises.v[m->out->promise];
    RT_TRY(failure_damage(m->table, m->out->row, &d, p));
    if (d->failure.kind == FAILURE_MAINS)
        RT_TRY(try_batteries(m, d, p));
    if (d->failure.kind == FAILURE_DISK && d->failure.i != NO_REF && promise->kind == PROMISE_RECORDING)
        RT_TRY(mend_quietly(m, try_disk(m, promise->recording.i, d->failure.i, &m->unheard), p));
    if (is_of_the_air(promise->kind) && d->n_dead_radios)
        RT_TRY(mend_by_access_point(m, d, p));
    if (!m->out->is_found)
        m->out->says = in_words(m->arena, &d->failure);
    return m->out->says.p ? RT_OK : rt_fail_memory(p);
}

/* The worst failure of a promise to survive, and the promise that decides it; false: it is not broken by a failure. */
static bool worst_of(const struct failure_table *t, const struct promise_result *r, struct mend *out)
{
    const struct str says = fact_find_str(r->evidence, "worst_failure"),
                     id = fact_find_str(r->evidence, "worst_promise");
    out->row = out->promise = NO_REF;
    for (uint32_t i = 0; i < t->rows.n; i++)
        if (says.n && str_eq(t->rows.v[i].failure.says, says))
            out->row = i;
    for (uint32_t k = 0; k < t->whole->h->promises.n; k++)
        if (id.n && str_eq(t->whole->h->promises.v[k].id, id))
            out->promise = k;
    return r->state == PROMISE_BROKEN && out->row != NO_REF && out->promise != NO_REF;
}

static enum rt_code add_survivals(struct failure_table *t, struct mends *out, struct rt_problems *p)
{
    for (uint32_t k = 0; k < t->whole->h->promises.n; k++) {
        const struct promise_result *r = NULL;
        struct mend mend = { .survive = k };
        if (t->whole->h->promises.v[k].kind != PROMISE_SURVIVE)
            continue;
        RT_TRY(promise_of_whole(t->whole, k, &r, p));
        if (worst_of(t, r, &mend))
            out->v[out->n++] = mend;
    }
    return RT_OK;
}

static void add_worst_row(const struct failure_table *t, struct mends *out)
{
    uint32_t worst = 0;
    for (uint32_t i = 1; i < t->rows.n; i++)
        if (t->rows.v[i].n_broken > t->rows.v[worst].n_broken)
            worst = i;
    for (uint32_t k = 0; t->rows.n && k < t->whole->h->promises.n && out->n == 0; k++)
        if (failure_breaks(t, worst, k))
            out->v[out->n++] = (struct mend){ .row = worst, .promise = k, .survive = NO_REF };
}

enum rt_code failures_mend(struct failure_table *t, struct mends *out, struct rt_problems *p)
{
    struct arena *a = t->whole->run->arena;
    struct mender m = { .table = t, .whole = t->whole, .h = t->whole->h, .arena = a };
    *out = (struct mends){ .v = ARENA_ARRAY(a, struct mend, (size_t)m.h->promises.n + 1) };
    m.fields = ARENA_ARRAY(a, struct fields *, (size_t)m.h->mounts.n * m.h->parts.list.n * MEND_ESTIMATES);
    if (!out->v || !m.fields)
        return rt_fail_memory(p);
    rt_problems_init(&m.unheard, a);
    RT_TRY(failure_table_fill(t, p));
    RT_TRY(add_survivals(t, out, p));
    if (out->n == 0)
        add_worst_row(t, out);
    for (uint32_t i = 0; i < out->n; i++) {
        m.out = &out->v[i];
        RT_TRY(mend_one(&m, p));
    }
    return RT_OK;
}

/* ---- told ---- */

void mends_write_json(struct json *j, const char *key, const struct failure_table *t, const struct mends *list)
{
    const struct house *h = t->whole->h;
    json_begin_array(j, key);
    for (uint32_t i = 0; i < list->n; i++) {
        const struct mend *m = &list->v[i];
        json_begin_object(j, NULL);
        json_str(j, "failure", t->rows.v[m->row].failure.says);
        json_str(j, "promise", h->promises.v[m->promise].id);
        json_bool(j, "found", m->is_found);
        json_fixed(j, "price", m->is_found ? money_value(h->currency, m->price) : RT_NOT_GIVEN, 2);
        json_int(j, "tried", m->n_tried);
        json_str(j, "says", m->says);
        json_end_object(j);
    }
    json_end_array(j);
}

void mends_write_text(struct buf *out, const struct failure_table *t, const struct mends *list, unsigned columns,
                      bool colour)
{
    const struct house *h = t->whole->h;
    for (uint32_t i = 0; i < list->n; i++) {
        const struct mend *m = &list->v[i];
        struct buf b = { .arena = out->arena };
        buf_printf(&b, "`%.*s` without %.*s: ", STR_ARG(h->promises.v[m->promise].id),
                   STR_ARG(t->rows.v[m->row].failure.says));
        buf_str(&b, m->says);
        if (m->is_found)
            buf_printf(&b, "; %.*s more, the cheapest of %u tried",
                       STR_ARG(money_words(out->arena, h->currency, m->price)), m->n_tried);
        if (i == 0)
            buf_printf(out, "\n%sWhat would mend it%s\n", colour ? "\033[1m" : "", colour ? "\033[0m" : "");
        for (struct str rest = buf_done(&b); rest.n;) {
            buf_text(out, "  ");
            buf_str(out, str_take_line(&rest, columns > 40 ? columns - 2 : 38));
            buf_char(out, '\n');
        }
        out->failed |= b.failed;
    }
}
