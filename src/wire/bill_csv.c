#include "base/csv.h"
#include "base/units.h"
#include "wire/wire_csv.h"

static void amount(struct buf *out, const struct bill *b, double value) { csv_number(out, value, b->digits); }

static void line_row(struct buf *out, const struct bill *b, const struct bill_line *q)
{
    const struct house *h = b->h;
    csv_field(out, q->phase == NO_REF ? STR("") : h->phases.v[q->phase].id);
    csv_field(out, str_from(bill_kind_name(q->kind)));
    csv_field(out, q->part == NO_REF ? STR("") : h->parts.list.v[q->part].id);
    csv_field(out, q->what);
    csv_number(out, q->count, str_is(q->unit, "") ? 0 : 2);
    csv_field(out, q->unit);
    csv_number(out, q->length_m, 1);
    amount(out, b, q->each);
    amount(out, b, q->is_priced ? money_value(h->currency, q->total) : RT_NOT_GIVEN);
    csv_field(out, h->currency);
    csv_field(out, q->owned ? STR("yes") : STR("no"));
    csv_field(out, q->why);
    csv_end_row(out);
}

void bill_write_csv(struct buf *out, const struct bill *b)
{
    buf_text(out, "phase,kind,part,what,count,unit,cable_m,each,total,currency,owned,for\r\n");
    for (uint32_t i = 0; i < b->lines.n; i++)
        line_row(out, b, &b->lines.v[i]);
    csv_field(out, STR(""));
    csv_field(out, STR("total"));
    enum { UP_TO_TOTAL = 6 };
    for (int i = 0; i < UP_TO_TOTAL; i++)
        csv_field(out, STR(""));
    amount(out, b, money_value(b->h->currency, b->total));
    csv_field(out, b->h->currency);
    csv_field(out, STR(""));
    csv_field(out, STR(""));
    csv_end_row(out);
}
