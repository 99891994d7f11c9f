#include "base/csv.h"

#include <math.h>

void csv_field(struct buf *out, struct str text)
{
    const bool is_first = !out->n || out->p[out->n - 1] == '\n';
    const bool is_formula = text.n && (text.p[0] == '=' || text.p[0] == '+' || text.p[0] == '@');
    bool is_plain = !is_formula;
    if (!is_first)
        buf_char(out, ',');
    for (size_t i = 0; i < text.n; i++)
        is_plain &= text.p[i] != ',' && text.p[i] != '"' && text.p[i] != '\n' && text.p[i] != '\r';
    if (is_plain && (text.n || !is_first)) {
        buf_str(out, text);
        return;
    }
    buf_char(out, '"');
    if (is_formula)
        buf_char(out, '\''); /* else a spreadsheet runs it */
    for (size_t i = 0; i < text.n; i++) {
        if (text.p[i] == '"')
            buf_char(out, '"');
        buf_char(out, text.p[i]);
    }
    buf_char(out, '"');
}

void csv_number(struct buf *out, double value, int decimals)
{
    struct buf text = { .arena = out->arena };
    if (isfinite(value))
        buf_printf(&text, "%.*f", decimals, value);
    out->failed |= text.failed;
    csv_field(out, buf_done(&text));
}

void csv_end_row(struct buf *out) { buf_text(out, "\r\n"); }
