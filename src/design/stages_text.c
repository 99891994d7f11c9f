/* The phases of a design as JSON, and as a person reads them in a terminal. */
#include "design/stages.h"
#include "wire/bill.h"

enum { INDENT = 2, COLUMNS_LEAST = 60 };

#define BOLD "\033[1m"
#define PLAIN "\033[0m"

void stages_write_json(struct json *j, const char *key, const struct design *d, const stage_list *stages)
{
    const struct house *h = d->fitted.house;
    json_begin_array(j, key);
    for (uint32_t k = 0; k < stages->n; k++) {
        const struct stage *s = &stages->v[k];
        json_begin_object(j, NULL);
        json_str(j, "phase", h->phases.v[s->phase].id);
        json_str(j, "by_date", h->phases.v[s->phase].by_date);
        json_int(j, "price_minor", s->price);
        if (s->budget == INT64_MAX)
            json_null(j, "budget_minor");
        else
            json_int(j, "budget_minor", s->budget);
        json_begin_array(j, "things");
        for (uint32_t i = 0; i < s->things.n; i++)
            json_str(j, NULL, s->things.v[i]);
        json_end_array(j);
        json_begin_array(j, "promises");
        for (uint32_t i = 0; i < s->promises.n; i++)
            json_str(j, NULL, h->promises.v[s->promises.v[i]].id);
        json_end_array(j);
        json_end_object(j);
    }
    json_end_array(j);
}

static void wrapped(struct buf *out, struct str text, unsigned columns)
{
    while (text.n) {
        buf_fill(out, ' ', 2 * INDENT);
        buf_str(out, str_take_line(&text, columns - 2 * INDENT));
        buf_char(out, '\n');
    }
}

static struct str names_of(struct arena *a, const struct house *h, const struct stage *s, bool *failed)
{
    struct buf b = { .arena = a };
    for (uint32_t i = 0; i < s->things.n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(s->things.v[i]));
    if (s->promises.n)
        buf_text(&b, s->things.n ? "; keeps " : "keeps ");
    for (uint32_t i = 0; i < s->promises.n; i++)
        buf_printf(&b, "%s%.*s", i ? ", " : "", STR_ARG(h->promises.v[s->promises.v[i]].id));
    *failed |= b.failed;
    return b.failed ? STR("") : buf_done(&b);
}

void stages_write_text(struct buf *out, const struct design *d, const stage_list *stages, unsigned columns, bool colour)
{
    const struct house *h = d->fitted.house;
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns;
    buf_printf(out, "\n%sPhases%s\n", colour ? BOLD : "", colour ? PLAIN : "");
    for (uint32_t k = 0; k < stages->n; k++) {
        const struct stage *s = &stages->v[k];
        const struct phase *phase = &h->phases.v[s->phase];
        buf_fill(out, ' ', INDENT);
        buf_printf(out, "%.*s", STR_ARG(phase->says.n ? phase->says : phase->id));
        if (phase->by_date.n)
            buf_printf(out, ", by %.*s", STR_ARG(phase->by_date));
        buf_printf(out, ": %.*s", STR_ARG(money_words(out->arena, h->currency, s->price)));
        if (s->budget < INT64_MAX)
            buf_printf(out, " of %.*s%s", STR_ARG(money_words(out->arena, h->currency, s->budget)),
                       s->price > s->budget ? ", more than it has" : "");
        buf_char(out, '\n');
        wrapped(out, names_of(out->arena, h, s, &out->failed), columns);
    }
}
