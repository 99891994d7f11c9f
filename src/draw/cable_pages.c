/* The sheets of cables that belong to no single floor: schedule, holes and boards; cable_risers.c has the view of the ways
 * up and down. */
#include "draw/cable_pages.h"

#include <math.h>

#include "base/units.h"
#include "reach/layer2.h"
#include "wire/end_label.h"

#define TOP_MM 36.0
#define LEFT_MM 15.0
#define FOOT_MM 33.0 /* for cautions and the title block */

enum page_kind { PAGE_SCHEDULE, PAGE_WORK, PAGE_RISERS, PAGE_KIND_COUNT };

static const struct table_column SCHEDULE[] = {
    { "cable", 32, true },           { "from", 58, false },  { "to", 58, false },
    { "kind", 30, false },           { "cut, m", 13, true }, { "spare in it", 15, false },
    { "way, in order", 134, false }, { "notes", 48, false },
};

static const struct table_column WORK[] = {
    { "mark", 13, true },       { "floor", 32, false },  { "where: from the face of the wall", 108, false },
    { "through", 54, false },   { "bit, mm", 18, true }, { "cables", 74, false },
    { "take care", 88, false },
};

/* What a row is of, and its cells. */
struct page_row {
    table_row cells;
    double h_mm;
};

typedef VEC(struct page_row) row_vec;

/* A sheet: some rows of a table, or some columns of the view. */
struct page {
    enum page_kind kind;
    uint32_t first, n;
    uint32_t number, of; /* of its kind, from 1 */
};

struct pages {
    struct install *in;
    const struct port_numbers *numbers; /* of each of house->cables */
    row_vec rows[2];
    VEC(struct page) list;
};

static const struct sheet_table TABLES[] = { [PAGE_SCHEDULE] = { SCHEDULE, RT_COUNT(SCHEDULE), LEFT_MM, 0.9 },
                                             [PAGE_WORK] = { WORK, RT_COUNT(WORK), LEFT_MM, 0.9 } };

static const struct {
    const char *word, *title, *head, *soft;
} KINDS[] = {
    [PAGE_SCHEDULE] = { "schedule", "Cable schedule",
                        "every cable: where it begins and ends, what it is, what to cut, and its way",
                        "* a way that nobody gave, worked out from walls and floors: look before you cut.  +2.70: "
                        "metres above the floor named.  H hole, B board to lift, R place where cable goes up or down, "
                        "T trench or duct: the same on every sheet" },
    [PAGE_WORK] = { "holes", "Holes and boards", "what is drilled and lifted, once for all cables that pass",
                    "distances in metres; the bit leaves the cables 60 % of the hole, so that they are pulled without "
                    "force; ~ a cable in it does not tell how thick it is" },
    [PAGE_RISERS] = { "risers", "Up and down",
                      "each place where cable goes up or down, and each duct and trench; heights are true",
                      "side by side, not as far apart as they are; heights in metres above the datum of the house" },
};

/* ---- rows ---- */

static table_row *new_row(struct sheet *s, row_vec *rows, uint32_t n)
{
    struct page_row row = { .cells = { ARENA_ARRAY(s->arena, struct str, n), n } };
    if (!row.cells.v || !VEC_PUSH(s->arena, rows, row)) {
        s->failed = true;
        return NULL;
    }
    return &rows->v[rows->n - 1].cells;
}

static struct str text_of(struct sheet *s, const struct buf *b)
{
    s->failed |= b->failed;
    return b->failed ? (struct str){ 0 } : buf_done(b);
}

static struct str figure(struct sheet *s, double value, const char *fmt_unknown, int decimals)
{
    struct buf b = { .arena = s->arena };
    if (is_given(value))
        buf_printf(&b, "%.*f", decimals, value);
    else
        buf_text(&b, fmt_unknown);
    return text_of(s, &b);
}

static struct str way_of(struct sheet *s, const struct install *in, uint32_t cable)
{
    struct buf b = { .arena = s->arena };
    for (uint32_t i = 0; i < in->cables[cable].steps.n; i++) {
        const struct str words = install_step_words(s->arena, in, cable, i);
        buf_printf(&b, "%s%u  %.*s", i ? "\n" : "", i + 1, STR_ARG(words));
    }
    return text_of(s, &b);
}

/* Where an end is, and what is written on it there. */
static struct str end_of(struct sheet *s, const struct pages *p, uint32_t cable, bool at_from)
{
    const struct house *h = s->house;
    const struct cable *c = &h->cables.v[cable];
    const struct port_numbers ports = p->numbers[cable];
    const struct str label = end_label_line(s->arena, end_label_of_cable(s->arena, h, cable, at_from, ports));
    const struct str place =
        install_end_words(s->arena, h, at_from ? &c->from : &c->to, at_from ? ports.from : ports.to);
    struct buf b = { .arena = s->arena };
    buf_printf(&b, "%.*s\nlabel: %.*s", STR_ARG(place), STR_ARG(label));
    return text_of(s, &b);
}

static void add_cable(struct sheet *s, struct pages *p, uint32_t cable)
{
    const struct house *h = s->house;
    const struct cable *c = &h->cables.v[cable];
    const struct routed_cable *r = &p->in->plan->cables[cable];
    table_row *row = new_row(s, &p->rows[PAGE_SCHEDULE], RT_COUNT(SCHEDULE));
    if (!row)
        return;
    const struct str cells[RT_COUNT(SCHEDULE)] = { c->id,
                                                   end_of(s, p, cable, true),
                                                   end_of(s, p, cable, false),
                                                   install_kind_words(s->arena, h, cable),
                                                   figure(s, r->fixed_m, "not known", 1),
                                                   figure(s, r->length_given ? RT_NOT_GIVEN : r->slack_m, "", 1),
                                                   way_of(s, p->in, cable),
                                                   install_notes(s->arena, p->in, cable) };
    memcpy(row->v, cells, sizeof cells);
}

static struct str cables_of(struct sheet *s, const ref_list *cables)
{
    struct buf b = { .arena = s->arena };
    for (uint32_t i = 0; i < cables->n; i++) {
        buf_text(&b, i ? ", " : "");
        buf_str(&b, s->house->cables.v[cables->v[i].i].id);
    }
    return text_of(s, &b);
}

static struct str through(struct sheet *s, const struct install *in, uint32_t work)
{
    const struct cable_work *w = &in->plan->work.v[work];
    struct buf b = { .arena = s->arena };
    if (w->kind == WORK_BOARD)
        return STR("board lifted");
    if (w->construct != NO_REF) {
        buf_str(&b, install_construct_name(s->arena, s->house, w->construct));
        buf_printf(&b, ", %.0f mm", in->work[work].thickness_m * 1000.0);
    }
    return text_of(s, &b);
}

static void add_work(struct sheet *s, struct pages *p, uint32_t work)
{
    const struct cable_work *w = &p->in->plan->work.v[work];
    const struct install_work *i = &p->in->work[work];
    table_row *row = new_row(s, &p->rows[PAGE_WORK], RT_COUNT(WORK));
    struct buf bit = { .arena = s->arena };
    if (w->kind == WORK_HOLE)
        buf_printf(&bit, "%s%.0f", i->is_diameter_sure ? "" : "~", i->diameter_mm);
    if (!row)
        return;
    const struct str cells[RT_COUNT(WORK)] = {
        install_work_mark(s->arena, p->in, work),
        w->floor == NO_REF ? STR("") : install_floor_name(s->house, w->floor),
        install_place_words(s->arena, p->in, work),
        through(s, p->in, work),
        bit.n ? text_of(s, &bit) : STR(""),
        cables_of(s, &w->cables),
        install_caution(p->in, work),
    };
    memcpy(row->v, cells, sizeof cells);
}

/* ---- pages ---- */

static void add_page(struct sheet *s, struct pages *p, struct page page)
{
    s->failed |= !VEC_PUSH(s->arena, &p->list, page);
}

static void paginate(struct sheet *s, struct pages *p, enum page_kind kind)
{
    row_vec *rows = &p->rows[kind];
    const double room_mm = s->h_mm - TOP_MM - FOOT_MM - table_head_mm(s);
    double used_mm = 0.0;
    uint32_t first = 0;
    for (uint32_t i = 0; i < rows->n && !s->failed; i++) {
        rows->v[i].h_mm = table_row_mm(s, &TABLES[kind], &rows->v[i].cells);
        if (used_mm > 0.0 && used_mm + rows->v[i].h_mm > room_mm) {
            add_page(s, p, (struct page){ .kind = kind, .first = first, .n = i - first });
            first = i;
            used_mm = 0.0;
        }
        used_mm += rows->v[i].h_mm;
    }
    if (rows->n > first)
        add_page(s, p, (struct page){ .kind = kind, .first = first, .n = rows->n - first });
}

static void count_pages(struct pages *p)
{
    uint32_t n[PAGE_KIND_COUNT] = { 0 };
    for (uint32_t i = 0; i < p->list.n; i++)
        p->list.v[i].number = ++n[p->list.v[i].kind];
    for (uint32_t i = 0; i < p->list.n; i++)
        p->list.v[i].of = n[p->list.v[i].kind];
}

static bool make_pages(struct sheet *s, struct pages *p)
{
    const struct cable_plan *plan = s->options->cables;
    *p = (struct pages){ .in = install_make(s->arena, plan), .numbers = s->options->numbers };
    if (!p->in) {
        s->failed = true;
        return false;
    }
    for (uint32_t i = 0; i < plan->h->cables.n && !s->failed; i++)
        add_cable(s, p, i);
    for (int boards = 0; boards < 2; boards++)
        for (uint32_t i = 0; i < plan->work.n && !s->failed; i++)
            if ((plan->work.v[i].kind == WORK_BOARD) == (boards == 1))
                add_work(s, p, i);
    paginate(s, p, PAGE_SCHEDULE);
    for (uint32_t i = 0, n = cable_risers_pages(s, p->in); i < n; i++)
        add_page(s, p, (struct page){ .kind = PAGE_RISERS, .first = i });
    paginate(s, p, PAGE_WORK);
    count_pages(p);
    return !s->failed;
}

bool cable_pages(struct sheet *s, str_list *names)
{
    struct pages p;
    if (!s->options->cables || sheet_is_small(s)) /* a book has them as tables */
        return true;
    if (!make_pages(s, &p))
        return false;
    names->v = ARENA_ARRAY(s->arena, struct str, p.list.n);
    for (uint32_t i = 0; names->v && i < p.list.n; i++) {
        const struct page *page = &p.list.v[i];
        const char *name = arena_printf(s->arena, "cables-%s-%u", KINDS[page->kind].word, page->number);
        if (!name)
            return false;
        names->v[names->n++] = str_from(name);
    }
    return names->v;
}

/* ---- painting ---- */

void cable_cautions(struct sheet *s, double y_mm, double w_mm)
{
    uint32_t n_cautions;
    const char *const *cautions = install_cautions(&n_cautions);
    for (uint32_t i = 0; i < n_cautions; i++) {
        struct str *lines = NULL;
        uint32_t n = 0;
        sheet_wrap(s, TEXT_KEY, str_from(cautions[i]), w_mm, &lines, &n);
        for (uint32_t k = 0; k < n; k++) {
            const struct text_size size = pen_measure(&s->pen, TEXT_KEY, lines[k]);
            pen_text_in(&s->pen, TEXT_KEY, INK_LINE, lines[k], LEFT_MM, y_mm);
            label_take(&s->space, lines[k], (struct draw_box){ LEFT_MM, y_mm, size.w_mm, size.h_mm - 0.01 });
            y_mm += size.h_mm;
        }
    }
}

static void paint_rows(struct sheet *s, const struct pages *p, const struct page *page)
{
    const struct sheet_table *t = &TABLES[page->kind];
    double y_mm = TOP_MM;
    table_draw_head(s, t, &y_mm);
    for (uint32_t i = page->first; i < page->first + page->n; i++)
        table_draw_row(s, t, &p->rows[page->kind].v[i].cells, &y_mm);
}

void cable_page_paint(struct sheet *s)
{
    struct pages p;
    if (!make_pages(s, &p) || s->subject.page >= p.list.n)
        return;
    const struct page *page = &p.list.v[s->subject.page];
    struct buf drawing = { .arena = s->arena };
    sheet_begin(s);
    if (page->kind == PAGE_RISERS)
        cable_risers_paint(s, p.in, page->first);
    else
        paint_rows(s, &p, page);
    buf_text(&drawing, KINDS[page->kind].title);
    if (page->of > 1)
        buf_printf(&drawing, ", %u of %u", page->number, page->of);
    const struct sheet_words words = { .title = str_from(KINDS[page->kind].title),
                                       .head = str_from(KINDS[page->kind].head),
                                       .soft = str_from(KINDS[page->kind].soft),
                                       .drawing = text_of(s, &drawing) };
    sheet_finish(s, &words, NULL);
    cable_cautions(s, s->h_mm - FOOT_MM + 7.0, s->w_mm - 2.0 * LEFT_MM - 130.0);
    s->failed |= s->space.failed;
}
