#include "draw/sheet_text.h"

struct str sheet_text(struct sheet *s, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(s->arena, fmt, args);
    va_end(args);
    s->failed = s->failed || !made;
    return str_from(made ? made : "");
}

double sheet_put(struct sheet *s, enum text_style style, enum ink ink, struct str text, double x_mm, double y_mm)
{
    const struct text_size size = pen_measure(&s->pen, style, text);
    pen_text_in(&s->pen, style, ink, text, x_mm, y_mm);
    if (text.n)
        label_take(&s->space, text, (struct draw_box){ x_mm, y_mm, size.w_mm, size.h_mm - 0.01 });
    return x_mm + size.w_mm;
}

static void add_line(struct text_block *b, struct text_line line)
{
    b->s->failed |= !VEC_PUSH(b->s->arena, &b->lines, line);
}

/* The longest beginning that fits, rather one that ends after an underscore; at least one letter. */
static size_t cut(struct text_block *b, enum text_style style, struct str text)
{
    size_t best = 0, best_at_mark = 0;
    if (pen_measure(&b->s->pen, style, text).w_mm <= b->w_mm)
        return text.n;
    for (size_t i = 0; i < text.n;) {
        const size_t letter = str_letter(text, i);
        const size_t end = i + (letter ? letter : 1);
        if (best && pen_measure(&b->s->pen, style, (struct str){ text.p, end }).w_mm > b->w_mm)
            return best_at_mark ? best_at_mark : best;
        best = end;
        if (text.p[i] == '_' || text.p[i] == '-' || text.p[i] == ':')
            best_at_mark = end;
        i = end;
    }
    return text.n;
}

void text_block_add(struct text_block *b, enum text_style style, enum ink ink, struct str paragraph)
{
    struct str *lines = NULL;
    uint32_t n = 0;
    const double h_mm = pen_measure(&b->s->pen, style, STR("x")).h_mm;
    sheet_wrap(b->s, style, paragraph, b->w_mm, &lines, &n);
    for (uint32_t i = 0; i < n && !b->s->failed; i++)
        for (struct str rest = lines[i]; rest.n && !b->s->failed;) {
            const size_t end = cut(b, style, rest);
            add_line(b, (struct text_line){ style, ink, { rest.p, end }, h_mm });
            rest = (struct str){ rest.p + end, rest.n - end };
        }
}

void text_block_space(struct text_block *b, double h_mm)
{
    add_line(b, (struct text_line){ TEXT_NOTE, INK_LINE, STR(""), h_mm });
}

double text_block_mm(const struct text_block *b)
{
    double h_mm = 0.0;
    for (uint32_t i = 0; i < b->lines.n; i++)
        h_mm += b->lines.v[i].h_mm;
    return h_mm;
}

void text_block_put(const struct text_block *b, double x_mm, double y_mm)
{
    for (uint32_t i = 0; i < b->lines.n; i++) {
        const struct text_line *l = &b->lines.v[i];
        if (l->text.n)
            sheet_put(b->s, l->style, l->ink, l->text, x_mm, y_mm);
        y_mm += l->h_mm;
    }
}
