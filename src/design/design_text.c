/* A design as JSON, and as a person reads it in a terminal: what to buy and why, what the promises cost, what cannot be had. */
#include "design/design_text.h"
#include <string.h>

#include "base/units.h"

enum {
    INDENT = 2,
    ID_COLUMNS = 22,
    PART_COLUMNS = 28,
    COLUMNS_LEAST = 60,
    MONEY_COLUMNS = 16,
    COUNT_COLUMNS = 10,
    WORTHS_SHOWN = 5
};

#define BOLD "\033[1m"
#define PLAIN "\033[0m"

static const struct equipment *thing_of(const struct design *d, struct str id)
{
    const uint32_t e = house_find_equipment(d->fitted.house, id);
    return e == NO_REF ? NULL : &d->fitted.house->equipment.v[e];
}

/* The part of a piece of equipment or of a battery; NULL: not known. */
static const struct part *part_of(const struct design *d, struct str id)
{
    const struct house *h = d->fitted.house;
    const struct equipment *e = thing_of(d, id);
    struct ref part = e ? e->part : (struct ref){ .i = NO_REF };
    for (uint32_t b = 0; !e && b < h->batteries.n; b++)
        if (str_eq(h->batteries.v[b].id, id))
            part = h->batteries.v[b].part;
    return part.i == NO_REF ? NULL : &h->parts.list.v[part.i];
}

/* The chosen offer that hangs where this piece does; NO_REF: it is none of the placing. */
static uint32_t offer_of(const struct design *d, struct str id)
{
    const struct house *h = d->fitted.house;
    const struct equipment *e = thing_of(d, id);
    for (uint32_t i = 0; e && e->mount.i != NO_REF && i < d->placing.offers.n; i++) {
        const uint32_t mount = d->space->sites.v[d->placing.offers.v[i].site].mount;
        if (d->answer.offers[i] && str_eq(d->space->house->mounts.v[mount].id, h->mounts.v[e->mount.i].id))
            return i;
    }
    return NO_REF;
}

/* The promises that the access points would not keep without this one. */
static void name_needing(const struct design *d, uint32_t offer, struct buf *out)
{
    bool *others = ARENA_ARRAY(out->arena, bool, d->placing.offers.n);
    bool *named = ARENA_ARRAY(out->arena, bool, d->results.n);
    bool any = false;
    out->failed |= !others || !named;
    for (uint32_t i = 0; !out->failed && i < d->placing.offers.n; i++)
        others[i] = d->answer.offers[i] && i != offer;
    for (uint32_t i = 0; !out->failed && i < d->placing.needs.n; i++) {
        const uint32_t promise = d->placing.needs.v[i].promise;
        if (named[promise] || d->given_up[promise] || placing_need_holds(&d->placing, i, others))
            continue;
        named[promise] = true;
        buf_printf(out, "%s%.*s", any ? ", " : "; without it not: ", STR_ARG(d->fitted.house->promises.v[promise].id));
        any = true;
    }
}

static struct str reason_of(struct arena *a, const struct design *d, struct str id)
{
    const uint32_t offer = offer_of(d, id);
    struct buf b = { .arena = a };
    for (uint32_t i = 0; i < d->fitted.reasons.n && !b.n; i++)
        if (str_eq(d->fitted.reasons.v[i].id, id))
            buf_str(&b, d->fitted.reasons.v[i].says);
    if (offer != NO_REF)
        name_needing(d, offer, &b);
    return b.failed ? STR("") : buf_done(&b);
}

/* ---- JSON ---- */

static void write_things(struct json *j, const char *key, const struct design *d, const str_list *ids)
{
    const struct house *h = d->fitted.house;
    json_begin_array(j, key);
    for (uint32_t i = 0; i < ids->n; i++) {
        const struct equipment *e = thing_of(d, ids->v[i]);
        json_begin_object(j, NULL);
        json_str(j, "id", ids->v[i]);
        const struct part *part = part_of(d, ids->v[i]);
        json_str(j, "part", part ? part->id : STR(""));
        json_str(j, "mount", e && e->mount.i != NO_REF ? h->mounts.v[e->mount.i].id : STR(""));
        json_str(j, "because", reason_of(j->out->arena, d, ids->v[i]));
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_conflict(struct json *j, const struct design *d)
{
    const struct house *h = d->fitted.house;
    json_begin_array(j, "conflict");
    for (uint32_t i = 0; i < d->losses.n; i++) {
        const struct design_loss *loss = &d->losses.v[i];
        json_begin_object(j, NULL);
        json_str(j, "promise", h->promises.v[loss->promise].id);
        json_begin_array(j, "with");
        for (uint32_t k = 0; k < loss->with.n; k++)
            json_str(j, NULL, h->promises.v[loss->with.v[k]].id);
        json_end_array(j);
        json_bool(j, "smallest", loss->is_smallest);
        json_str(j, "says", loss->says);
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_worths(struct json *j, const struct design *d)
{
    json_begin_array(j, "worth");
    for (uint32_t i = 0; i < d->worths.n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "promise", d->fitted.house->promises.v[d->worths.v[i].promise].id);
        json_int(j, "price_minor", d->worths.v[i].price);
        json_bool(j, "proven", d->worths.v[i].is_proven);
        json_end_object(j);
    }
    json_end_array(j);
}

static void write_bill(struct json *j, const struct bill *bill)
{
    json_begin_array(j, "bill");
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *line = &bill->lines.v[i];
        if (line->owned)
            continue;
        json_begin_object(j, NULL);
        json_text(j, "kind", bill_kind_name(line->kind));
        json_str(j, "what", line->what);
        json_fixed(j, "count", line->count, 2);
        json_str(j, "unit", line->unit);
        json_int(j, "total_minor", line->total);
        json_end_object(j);
    }
    json_end_array(j);
}

void design_write_json(struct json *j, const struct design *d, const stage_list *stages)
{
    json_begin_object(j, NULL);
    json_str(j, "house", d->fitted.house->name);
    json_begin_object(j, "cost");
    json_int(j, "total_minor", d->total);
    json_str(j, "currency", d->fitted.house->currency);
    json_end_object(j);
    json_int(j, "bound_minor", d->bound);
    json_fixed(j, "gap", d->gap, 4);
    json_fixed(j, "seconds", d->seconds, 2);
    json_int(j, "rounds", d->rounds);
    json_bool(j, "stopped", d->is_stopped);
    json_int(j, "places", d->space->sites.n);
    write_things(j, "added", d, &d->fitted.added);
    write_things(j, "moved", d, &d->fitted.moved);
    write_bill(j, d->ev->bill);
    json_begin_array(j, "channels");
    for (uint32_t i = 0; i < d->tuned.why.n; i++)
        json_str(j, NULL, d->tuned.why.v[i]);
    json_end_array(j);
    promises_write_list(j, &d->results);
    write_conflict(j, d);
    write_worths(j, d);
    if (stages)
        stages_write_json(j, "stages", d, stages);
    json_end_object(j);
    json_end(j);
}

/* ---- text ---- */

static void heading(struct buf *out, const char *text, bool colour)
{
    buf_printf(out, "\n%s%s%s\n", colour ? BOLD : "", text, colour ? PLAIN : "");
}

/* Text broken to the columns behind what stands on the line already. */
static void wrapped(struct buf *out, struct str text, unsigned indent, unsigned columns)
{
    for (bool first = true; first || text.n; first = false) {
        if (!first)
            buf_fill(out, ' ', indent);
        buf_str(out, str_take_line(&text, columns - indent));
        buf_char(out, '\n');
    }
}

static void column(struct buf *out, struct str text, unsigned width)
{
    const size_t used = str_columns(text);
    buf_str(out, text);
    buf_fill(out, ' ', used < width ? width - used : 1);
}

static void write_list(struct buf *out, const struct design *d, const char *title, const str_list *ids,
                       unsigned columns, bool colour)
{
    if (!ids->n)
        return;
    heading(out, title, colour);
    for (uint32_t i = 0; i < ids->n; i++) {
        const struct part *part = part_of(d, ids->v[i]);
        buf_fill(out, ' ', INDENT);
        column(out, ids->v[i], ID_COLUMNS);
        column(out, part ? part->says.n ? part->says : part->id : STR(""), PART_COLUMNS);
        wrapped(out, reason_of(out->arena, d, ids->v[i]), INDENT + ID_COLUMNS + PART_COLUMNS, columns);
    }
}

static void write_bill_text(struct buf *out, const struct design *d, bool colour)
{
    const struct bill *bill = d->ev->bill;
    heading(out, "Bill", colour);
    for (uint32_t i = 0; i < bill->lines.n; i++) {
        const struct bill_line *line = &bill->lines.v[i];
        if (line->owned || !line->total)
            continue;
        const struct str money = money_words(out->arena, d->fitted.house->currency, line->total);
        const char *count = line->unit.n ? arena_printf(out->arena, "%.1f %.*s", line->count, STR_ARG(line->unit))
                                         : arena_printf(out->arena, "%.0f", line->count);
        const size_t used = str_columns(money), counted = count ? strlen(count) : 0;
        out->failed |= !count;
        buf_fill(out, ' ', used < MONEY_COLUMNS ? MONEY_COLUMNS - used : 1);
        buf_str(out, money);
        buf_fill(out, ' ', counted < COUNT_COLUMNS ? COUNT_COLUMNS - counted : 1);
        buf_printf(out, "%s  %.*s\n", count ? count : "", STR_ARG(line->what));
    }
}

static void write_channels(struct buf *out, const struct design *d, unsigned columns, bool colour)
{
    if (!d->tuned.why.n)
        return;
    heading(out, "Channels", colour);
    for (uint32_t i = 0; i < d->tuned.why.n; i++) {
        buf_fill(out, ' ', INDENT);
        wrapped(out, d->tuned.why.v[i], 2 * INDENT, columns);
    }
}

static void write_losses(struct buf *out, const struct design *d, unsigned columns, bool colour)
{
    if (!d->losses.n)
        return;
    heading(out, "What this design does not keep", colour);
    for (uint32_t i = 0; i < d->losses.n; i++) {
        const struct design_loss *loss = &d->losses.v[i];
        const bool told = i > 0 && str_eq(loss->says, d->losses.v[i - 1].says);
        buf_fill(out, ' ', INDENT);
        wrapped(out, d->fitted.house->promises.v[loss->promise].says, 2 * INDENT, columns);
        if (told || !loss->says.n)
            continue;
        buf_fill(out, ' ', 2 * INDENT);
        wrapped(out, loss->says, 2 * INDENT, columns);
    }
}

static void write_worths_text(struct buf *out, const struct design *d, unsigned columns, bool colour)
{
    const struct house *h = d->fitted.house;
    if (!d->worths.n)
        return;
    heading(out, "The dearest promises", colour);
    for (uint32_t i = 0; i < d->worths.n && i < WORTHS_SHOWN; i++) {
        const struct design_worth *w = &d->worths.v[i];
        const struct str money = money_words(out->arena, h->currency, w->price);
        const size_t used = str_columns(money);
        buf_fill(out, ' ', INDENT + (used < ID_COLUMNS - INDENT ? ID_COLUMNS - INDENT - used : 0));
        buf_printf(out, "%.*s  ", STR_ARG(money));
        wrapped(out, h->promises.v[w->promise].says, INDENT + ID_COLUMNS, columns);
    }
}

static void write_price(struct buf *out, const struct design *d, unsigned columns)
{
    const struct str currency = d->fitted.house->currency;
    struct buf line = { .arena = out->arena };
    buf_str(&line, money_words(out->arena, currency, d->total));
    buf_printf(&line, " to buy.  No choice among the %u places costs less than %.*s", (unsigned)d->space->sites.n,
               STR_ARG(money_words(out->arena, currency, d->bound)));
    buf_printf(&line, " (%.1f %% below).  %.1f s%s.", 100.0 * d->gap, d->seconds,
               d->is_stopped ? ", stopped before the search had ended" : "");
    out->failed |= line.failed;
    buf_fill(out, ' ', INDENT);
    wrapped(out, line.failed ? STR("") : buf_done(&line), INDENT, columns);
}

static void write_cautions(struct buf *out, unsigned columns, bool colour)
{
    heading(out, "Take care", colour);
    buf_fill(out, ' ', INDENT);
    wrapped(out,
            STR("Before drilling find mains cables and pipes, mind old insulation and paint, close holes through "
                "fire-resisting "
                "walls and floors again. Ladders, outdoor cable and lightning, batteries in closed cabinets and radio "
                "have rules of "
                "their own: local codes and licensed trades decide."),
            INDENT, columns);
}

void design_write_text(struct buf *out, const struct design *d, const stage_list *stages, unsigned columns, bool colour)
{
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns;
    promises_write_text(out, d->ev, &d->results, columns, colour);
    write_list(out, d, "To buy", &d->fitted.added, columns, colour);
    write_list(out, d, "To move", &d->fitted.moved, columns, colour);
    write_channels(out, d, columns, colour);
    write_bill_text(out, d, colour);
    write_losses(out, d, columns, colour);
    write_worths_text(out, d, columns, colour);
    if (stages)
        stages_write_text(out, d, stages, columns, colour);
    write_cautions(out, columns, colour);
    heading(out, "Price", colour);
    write_price(out, d, columns);
}
