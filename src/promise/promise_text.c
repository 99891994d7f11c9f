/* The promises as a person reads them in a terminal: grouped as the household thinks of them, the sentence first, then the
 * margin, then why. */
#include <math.h>
#include <string.h>

#include "base/units.h"
#include "promise/promise.h"

/* Order of the headings on screen and paper. */
static const char *const HEADINGS[] = {
    "Signal", "Apart", "Wires and power", "Line and pictures", "When things fail, and later", "Money"
};

const char *const *promise_headings(size_t *n)
{
    *n = RT_COUNT(HEADINGS);
    return HEADINGS;
}

enum { INDENT = 2, STATE_COLUMNS = 10, SAYS_COLUMNS = 50, MARGIN_COLUMNS = 12, COLUMNS_LEAST = 60, WHY_LEAST = 48 };

/* The terminal's own bold and one accent; nothing is told by colour alone. */
#define BOLD "\033[1m"
#define ACCENT "\033[31m"
#define PLAIN "\033[0m"

static struct str margin_words(struct arena *a, const struct promise_result *r)
{
    if (r->state != PROMISE_UNKNOWN && r->in_place)
        return str_from(r->in_place);
    if (r->state == PROMISE_UNKNOWN || !is_given(r->margin))
        return STR("-");
    const char *text = arena_printf(a, "%+.*f %s", r->margin_decimals, r->margin, r->unit);
    return str_from(text ? text : "");
}

static void pad(struct buf *out, struct str s, size_t columns, bool right)
{
    const size_t used = str_columns(s), fill = used < columns ? columns - used : 0;
    if (right)
        buf_fill(out, ' ', fill);
    buf_str(out, s);
    if (!right)
        buf_fill(out, ' ', fill);
}

void promises_write_row(struct buf *out, const struct promise_result *r, unsigned columns, bool colour)
{
    const size_t fixed = INDENT + STATE_COLUMNS + SAYS_COLUMNS + MARGIN_COLUMNS + 2;
    const bool wide = columns >= fixed + WHY_LEAST;
    const size_t why_columns = wide ? columns - fixed : columns - INDENT - STATE_COLUMNS;
    struct str says = r->promise->says, why = r->reason;
    struct str margin = margin_words(out->arena, r);
    const bool mark = colour && r->state == PROMISE_BROKEN;
    for (bool first = true; first || says.n || (wide && why.n); first = false) {
        buf_fill(out, ' ', INDENT);
        if (mark)
            buf_text(out, ACCENT);
        pad(out, first ? str_from(promise_state_name(r->state)) : STR(""), STATE_COLUMNS, false);
        pad(out, str_take_line(&says, SAYS_COLUMNS), SAYS_COLUMNS, false);
        pad(out, first ? margin : STR(""), MARGIN_COLUMNS, true);
        if (mark)
            buf_text(out, PLAIN);
        if (wide && why.n) {
            buf_text(out, "  ");
            buf_str(out, str_take_line(&why, why_columns));
        }
        while (out->n && out->p[out->n - 1] == ' ')
            out->p[--out->n] = '\0';
        buf_char(out, '\n');
    }
    while (!wide && why.n) {
        buf_fill(out, ' ', INDENT + STATE_COLUMNS);
        buf_str(out, str_take_line(&why, why_columns));
        buf_char(out, '\n');
    }
}

static void write_head(struct buf *out, const struct evaluation *ev, const struct promise_results *r, bool colour)
{
    buf_printf(out, "%s%.*s%s", colour ? BOLD : "", STR_ARG(ev->h->name), colour ? PLAIN : "");
    const size_t used = str_columns(ev->h->name);
    buf_fill(out, ' ', used < 30 ? 32 - used : 2);
    buf_printf(out, "%u kept   %u broken   %u unknown   %s estimate\n", (unsigned)r->n_kept, (unsigned)r->n_broken,
               (unsigned)r->n_unknown, estimate_name(ev->options.trace.estimate));
}

/* Which parts were taken where the file leaves them open. */
static void write_chosen(struct buf *out, const struct house *h, unsigned columns, bool colour)
{
    bool any = false;
    for (uint32_t e = 0; e < h->equipment.n; e++) {
        const struct equipment *thing = &h->equipment.v[e];
        if (!thing->because.n || thing->part.i == NO_REF)
            continue;
        const char *text = arena_printf(out->arena, "%.*s: %.*s, because it is %.*s", STR_ARG(thing->id),
                                        STR_ARG(h->parts.list.v[thing->part.i].id), STR_ARG(thing->because));
        struct str rest = str_from(text ? text : "");
        out->failed |= !text;
        if (!any)
            buf_printf(out, "\n%sChosen%s\n", colour ? BOLD : "", colour ? PLAIN : "");
        for (any = true; rest.n;) {
            buf_fill(out, ' ', INDENT);
            buf_str(out, str_take_line(&rest, columns - INDENT));
            buf_char(out, '\n');
        }
    }
}

void promises_write_rows(struct buf *out, const struct promise_results *r, const char *heading, unsigned columns,
                         bool colour)
{
    bool any = false;
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns;
    for (uint32_t i = 0; i < r->n; i++) {
        if (strcmp(promise_heading(r->v[i].promise->kind), heading) != 0)
            continue;
        if (!any)
            buf_printf(out, "\n%s%s%s\n", colour ? BOLD : "", heading, colour ? PLAIN : "");
        any = true;
        promises_write_row(out, &r->v[i], columns, colour);
    }
}

void promises_write_text(struct buf *out, const struct evaluation *ev, const struct promise_results *r,
                         unsigned columns, bool colour)
{
    write_head(out, ev, r, colour);
    for (size_t k = 0; k < RT_COUNT(HEADINGS); k++)
        promises_write_rows(out, r, HEADINGS[k], columns, colour);
    write_chosen(out, ev->h, columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns, colour);
}
