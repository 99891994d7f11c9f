/* The table of failures as JSON, and as a person reads it in a terminal: what fails, what it takes along, what it breaks. */
#include "promise/failure_table.h"

enum { INDENT = 2, LOSS_INDENT = 12, COLUMNS_LEAST = 60, LOST_SHOWN = 12 /* --json has all */ };

#define BOLD "\033[1m"
#define PLAIN "\033[0m"

static uint32_t n_things(const struct failure_table *t) { return t->whole->h->equipment.n + t->whole->h->devices.n; }

/* ---- JSON ---- */

static const char *loss_name(const struct damage *d, uint32_t thing)
{
    if (d->death[thing] == DEATH_FAILED)
        return "failed";
    return d->dead_thing[thing] ? "no_power" : "cut_off";
}

/* A cable that failed, that has a dead end, or leads from what is cut off to what is cut off. */
static bool is_cable_lost(const struct damage *d, uint32_t cable)
{
    const struct cable *c = &d->h->cables.v[cable];
    const uint32_t from = tree_thing_of(d->h, &c->from), to = tree_thing_of(d->h, &c->to);
    if (d->dead_cable[cable])
        return true;
    if (from == NO_REF || to == NO_REF)
        return false;
    return d->dead_thing[from] || d->dead_thing[to] || (d->cut_off[from] && d->cut_off[to]);
}

static void write_lost(struct json *j, const struct failure_table *t, const struct damage *d)
{
    struct arena *a = t->whole->run->arena;
    json_begin_array(j, "lost");
    for (uint32_t i = 0; i < n_things(t); i++) {
        if (!damage_has_lost(d, i))
            continue;
        json_begin_object(j, NULL);
        json_str(j, "id", damage_thing_id(d->h, i));
        json_text(j, "state", loss_name(d, i));
        json_str(j, "because", damage_words(a, d, i));
        json_end_object(j);
    }
    json_end_array(j);
    json_begin_array(j, "cables_lost");
    for (uint32_t c = 0; c < d->h->cables.n; c++)
        if (is_cable_lost(d, c))
            json_str(j, NULL, d->h->cables.v[c].id);
    json_end_array(j);
    json_bool(j, "line_lost", d->line_dead);
    json_begin_array(j, "pictures_lost");
    for (uint32_t i = 0; i < d->h->recordings.n; i++)
        if (d->pictures_lost[i])
            json_str(j, NULL, d->h->recordings.v[i].id);
    json_end_array(j);
}

static void write_promises(struct json *j, const struct failure_table *t, uint32_t row)
{
    json_begin_array(j, "promises");
    for (uint32_t k = 0; k < t->whole->h->promises.n; k++) {
        const struct promise_result *r = t->rows.v[row].results[k];
        json_begin_object(j, NULL);
        json_str(j, "id", r->promise->id);
        json_text(j, "state", promise_state_name(r->state));
        json_bool(j, "by_this", failure_breaks(t, row, k));
        json_fixed(j, "margin", r->margin, r->margin_decimals);
        json_text(j, "unit", r->unit);
        json_str(j, "reason", r->reason);
        json_end_object(j);
    }
    json_end_array(j);
}

void failure_table_write_json(struct json *j, const char *key, const struct failure_table *t)
{
    json_begin_array(j, key);
    for (uint32_t i = 0; i < t->rows.n; i++) {
        const struct failure_row *row = &t->rows.v[i];
        json_begin_object(j, NULL);
        json_text(j, "kind", failure_kind_name(row->failure.kind));
        json_str(j, "id", row->failure.id);
        json_str(j, "says", row->failure.says);
        json_int(j, "broken", row->n_broken);
        write_lost(j, t, row->damage);
        write_promises(j, t, i);
        json_end_object(j);
    }
    json_end_array(j);
}

/* ---- text ---- */

static void write_wrapped(struct buf *out, struct str text, unsigned columns)
{
    while (text.n) {
        buf_fill(out, ' ', LOSS_INDENT);
        buf_str(out, str_take_line(&text, columns - LOSS_INDENT));
        buf_char(out, '\n');
    }
}

static bool is_told(const struct damage *d, uint32_t thing, bool dead)
{
    return d->death[thing] != DEATH_FAILED && (dead ? d->dead_thing[thing] : d->cut_off[thing]);
}

/* "without power: a, b"; false: there is none. */
static bool list_lost(struct buf *b, const struct failure_table *t, const struct damage *d, bool dead, const char *head)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < n_things(t); i++) {
        const struct str id = damage_thing_id(d->h, i);
        if (is_told(d, i, dead) && n++ < LOST_SHOWN)
            buf_printf(b, "%s%.*s", n > 1 ? ", " : head, STR_ARG(id));
    }
    if (n > LOST_SHOWN)
        buf_printf(b, " and %u more", n - LOST_SHOWN);
    return n > 0;
}

static void write_losses(struct buf *out, const struct failure_table *t, const struct damage *d, unsigned columns)
{
    struct buf dead = { .arena = out->arena }, cut = { .arena = out->arena };
    if (list_lost(&dead, t, d, true, "without power: "))
        write_wrapped(out, buf_done(&dead), columns);
    if (list_lost(&cut, t, d, false, "cut off: "))
        write_wrapped(out, buf_done(&cut), columns);
    if (d->line_dead && d->failure.kind != FAILURE_LINE)
        write_wrapped(out, STR("without internet: the whole house"), columns);
    out->failed |= dead.failed || cut.failed;
}

static void write_row(struct buf *out, const struct failure_table *t, uint32_t row, unsigned columns, bool colour)
{
    const struct failure_row *r = &t->rows.v[row];
    buf_printf(out, "\n%sWithout %.*s%s: %u broken\n", colour ? BOLD : "", STR_ARG(r->failure.says),
               colour ? PLAIN : "", r->n_broken);
    write_losses(out, t, r->damage, columns);
    for (uint32_t k = 0; k < t->whole->h->promises.n; k++)
        if (failure_breaks(t, row, k))
            promises_write_row(out, r->results[k], columns, colour);
}

/* Those that break nothing, with what they take along. */
static void write_harmless(struct buf *out, const struct failure_table *t, unsigned columns, bool colour)
{
    bool any = false;
    for (uint32_t i = 0; i < t->rows.n; i++) {
        const struct failure_row *r = &t->rows.v[i];
        if (r->n_broken)
            continue;
        if (!any)
            buf_printf(out, "\n%sNothing promised breaks without%s\n", colour ? BOLD : "", colour ? PLAIN : "");
        any = true;
        buf_fill(out, ' ', INDENT);
        buf_str(out, r->failure.says);
        buf_char(out, '\n');
        write_losses(out, t, r->damage, columns);
    }
}

void failure_table_write_text(struct buf *out, const struct failure_table *t, unsigned columns, bool colour)
{
    uint32_t n_breaking = 0;
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns;
    for (uint32_t i = 0; i < t->rows.n; i++)
        n_breaking += t->rows.v[i].n_broken > 0;
    buf_printf(out, "\n%sWhen one thing fails%s            %u single failures, %u break a promise\n",
               colour ? BOLD : "", colour ? PLAIN : "", (unsigned)t->rows.n, n_breaking);
    for (uint32_t i = 0; i < t->rows.n; i++)
        if (t->rows.v[i].n_broken)
            write_row(out, t, i, columns, colour);
    write_harmless(out, t, columns, colour);
}
