/* The household's sheet: which network for what, on one page for the fridge's door. */
#include <math.h>

#include "book/flow_int.h"
#include "book/net_words.h"
#include "book/paper.h"
#include "draw/week_rows.h"

/* Letters are made so much larger or smaller that all stands on one page, down to paragraphs of 2.7 mm (7.7 points); what does not fit
 * then goes on further ones. */
static const double SCALE_MOST = 1.45, SCALE_LEAST = 0.85, SCALE_STEP = 0.01;
static const double COLUMN_1 = 0.2, COLUMN_2 = 0.47, APART_MM = 4.0, NUMBER_MM = 6.0, HEADING_ABOVE_MM = 5.0,
                    SOFT_ABOVE_MM = 1.0;

enum { ROW_DEVICES_MOST = 16 }; /* a longer list is several rows, so that a page can end between them */

enum hand_kind { HAND_TITLE, HAND_HEADING, HAND_TEXT, HAND_SOFT, HAND_ROW, HAND_STEP, HAND_WRITE };

struct hand_line {
    enum hand_kind kind;
    struct str a, b, c; /* text; of a row its three columns; of a step its number and what to do */
    bool goes_on;       /* a row of the one above: no rule between */
};

struct hand {
    struct book *b;
    VEC(struct hand_line) lines;
    double scale, w_mm, h_mm; /* of the page; scale: of all that stands on it */
    uint32_t *from;           /* the first line of each page, and the end */
    uint32_t n_pages;
    bool failed;
};

static void add(struct hand *h, enum hand_kind kind, struct str a, struct str b, struct str c)
{
    h->failed |= !VEC_PUSH(h->b->arena, &h->lines, ((struct hand_line){ kind, a, b, c, false }));
}

/* ---- what it says: people ---- */

/* Names of the Wi-Fi networks of a segment: "“Larch End”". */
static struct str ssid_names(struct book *b, uint32_t segment)
{
    struct buf text = { .arena = b->arena };
    for (uint32_t i = 0; i < b->h->ssids.n; i++)
        if (b->h->ssids.v[i].segment.i == segment)
            buf_printf(&text, "%s\u201c%.*s\u201d", text.n ? " or " : "", STR_ARG(b->ev->layer2->ssids[i].name));
    return buf_done(&text);
}

static struct str why_words(struct book *b, uint32_t segment)
{
    const struct segment *s = &b->h->segments.v[segment];
    return s->says.n ? s->says : net_plain_words(b, s->id);
}

static struct str join_words(struct book *b, uint32_t segment)
{
    const struct str names = ssid_names(b, segment);
    return names.n ? book_text(b, "join %.*s (%.*s)", STR_ARG(names), STR_ARG(why_words(b, segment)))
                   : STR("there is no Wi-Fi for it: by cable only");
}

/* Devices of an owner (NO_REF: the household's) on Wi-Fi in a segment: at most so many of them as a row takes, from the `first` on. */
static struct str wifi_devices(struct book *b, uint32_t owner, uint32_t segment, uint32_t first)
{
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < b->h->devices.n; i++) {
            const struct device *d = &b->h->devices.v[i];
            if (d->owner.i != owner || d->segment.i != segment || d->link != LINK_WIFI)
                continue;
            if (pass == 0)
                n++;
            else if (k++ >= first && k <= first + ROW_DEVICES_MOST)
                net_list_word(&text, k - 1 - first, n - first, net_device_short(b, i));
        }
    return buf_done(&text);
}

static void tell_owner(struct hand *h, uint32_t owner, struct str name)
{
    struct book *b = h->b;
    bool any = false;
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        struct str devices = wifi_devices(b, owner, s, 0);
        for (uint32_t first = 0; devices.n; devices = wifi_devices(b, owner, s, first += ROW_DEVICES_MOST)) {
            add(h, HAND_ROW, any ? STR("") : name, devices, first ? STR(" ") : join_words(b, s));
            if (any && !h->failed)
                h->lines.v[h->lines.n - 1].goes_on = true;
            any = true;
        }
    }
}

/* Networks with a Wi-Fi name and no device of the file are for who comes. */
static void tell_comers(struct hand *h)
{
    struct book *b = h->b;
    for (uint32_t s = 0; s < b->h->segments.n; s++) {
        bool any = false;
        for (uint32_t i = 0; i < b->h->devices.n; i++)
            any |= b->h->devices.v[i].segment.i == s;
        const struct str names = ssid_names(b, s);
        if (!any && names.n)
            add(h, HAND_ROW, why_words(b, s), STR("what they bring"), book_text(b, "join %.*s", STR_ARG(names)));
    }
}

static void tell_wifi(struct hand *h)
{
    struct book *b = h->b;
    add(h, HAND_HEADING, STR("Which Wi-Fi for what"), STR(""), STR(""));
    if (!b->h->ssids.n) {
        add(h, HAND_TEXT, STR("The house has no Wi-Fi of its own: everything goes by cable."), STR(""), STR(""));
        return;
    }
    for (uint32_t i = 0; i < b->h->people.n; i++)
        tell_owner(h, i, net_person_words(b, i));
    tell_owner(h, NO_REF, STR("the house"));
    tell_comers(h);
    bool known = false;
    for (uint32_t s = 0; s < b->h->segments.n; s++)
        known |= b->h->segments.v[s].known_only && ssid_names(b, s).n;
    struct buf text = { .arena = b->arena };
    for (uint32_t s = 0; known && s < b->h->segments.n; s++)
        if (b->h->segments.v[s].known_only && ssid_names(b, s).n)
            buf_printf(&text, "%s%.*s", text.n ? " and " : "", STR_ARG(ssid_names(b, s)));
    if (known)
        add(h, HAND_SOFT,
            book_text(b, "Something new is let into %.*s only after it was entered: ask, below.",
                      STR_ARG(buf_done(&text))),
            STR(""), STR(""));
}

/* ---- cables ---- */

static void tell_wired(struct hand *h)
{
    struct book *b = h->b;
    bool any = false;
    for (uint32_t room = 0; room <= b->h->rooms.n; room++) {
        struct buf text = { .arena = b->arena };
        uint32_t n = 0, k = 0;
        for (int pass = 0; pass < 2; pass++)
            for (uint32_t i = 0; i < b->h->devices.n; i++) {
                const struct device *d = &b->h->devices.v[i];
                if (d->link != LINK_WIRED || d->room.i != (room < b->h->rooms.n ? room : NO_REF))
                    continue;
                if (pass == 0)
                    n++;
                else
                    net_list_word(&text, k++, n, net_device_words(b, i));
            }
        if (!n)
            continue;
        if (!any)
            add(h, HAND_HEADING, STR("What stays plugged in"), STR(""), STR(""));
        any = true;
        add(h, HAND_ROW, room < b->h->rooms.n ? house_room_name(b->h, room) : STR("elsewhere"), buf_done(&text),
            STR(""));
    }
    if (any)
        add(h, HAND_SOFT,
            STR("Each socket is for the one thing that is in it, and for nothing else. Anything of your own goes on "
                "Wi-Fi."),
            STR(""), STR(""));
}

static void tell_mesh(struct hand *h)
{
    struct book *b = h->b;
    struct buf text = { .arena = b->arena };
    uint32_t n = 0, k = 0;
    for (int pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < b->h->devices.n; i++)
            if (b->h->devices.v[i].link == LINK_MESH) {
                if (pass == 0)
                    n++;
                else
                    net_list_word(&text, k++, n, net_device_words(b, i));
            }
    if (n)
        add(h, HAND_SOFT, book_text(b, "Nothing to join: %.*s. They find their own way.", STR_ARG(buf_done(&text))),
            STR(""), STR(""));
}

/* ---- hours ---- */

static void tell_dark(struct hand *h)
{
    struct book *b = h->b;
    add(h, HAND_HEADING, STR("What goes dark when"), STR(""), STR(""));
    if (week_next_dark(b->h, 0) == NO_REF)
        add(h, HAND_TEXT, STR("Nothing: everything works day and night."), STR(""), STR(""));
    for (uint32_t i = week_next_dark(b->h, 0); i != NO_REF; i = week_next_dark(b->h, i + 1)) {
        const struct statement *s = &b->h->statements.v[i];
        const struct hours *hours = &b->h->hours.v[s->hours.i];
        struct buf except = { .arena = b->arena };
        for (uint32_t k = 0; k < hours->except.n; k++)
            if (!hours->except.v[k].holds) {
                const struct str says = hours->except.v[k].says, days = net_days_words(b, &hours->except.v[k]);
                buf_printf(&except, "%s%.*s%s%.*s%s", except.n ? ", " : "not in: ", STR_ARG(says), says.n ? " (" : "",
                           STR_ARG(days), says.n ? ")" : "");
            }
        add(h, HAND_ROW, net_hours_words(b, s->hours.i), net_statement_sentence(b, s), buf_done(&except));
    }
}

/* ---- what to do ---- */

static struct str place_words(struct book *b)
{
    const uint32_t gateway = b->ev->layer2->gateway;
    if (gateway == NO_REF)
        return STR("the gateway");
    const struct equipment *e = &b->h->equipment.v[gateway];
    if (e->room.i == NO_REF)
        return book_text(b, "the gateway (%.*s)", STR_ARG(e->id));
    return book_text(b, "the gateway (%.*s, %.*s)", STR_ARG(e->id), STR_ARG(house_room_name(b->h, e->room.i)));
}

static void tell_help(struct hand *h)
{
    struct book *b = h->b;
    const bool has_box = b->h->line.at.line && b->h->line.box.mode != BOX_NONE;
    add(h, HAND_HEADING, STR("If it does not work"), STR(""), STR(""));
    add(h, HAND_STEP, STR("1"),
        STR("Only one thing? See above whether it is on its own Wi\u2011Fi and whether it is dark just now. Switch its "
            "Wi\u2011Fi off and on; then switch the thing itself off and on."),
        STR(""));
    add(h, HAND_STEP, STR("2"),
        book_text(
            b,
            "Everything? Pull the plug of %s%.*s, count to ten, put %s back, and wait five minutes. Leave every other "
            "cable where it is.",
            has_box ? "the provider's box and of " : "", STR_ARG(place_words(b)), has_box ? "both" : "it"),
        STR(""));
    add(h, HAND_STEP, STR("3"), STR("Still not? Ask, and say what you did and what you saw:"), STR(""));
    add(h, HAND_WRITE, b->options->by, STR(""), STR(""));
}

static void tell(struct hand *h)
{
    struct book *b = h->b;
    add(h, HAND_TITLE, b->h->name, STR(""), STR(""));
    add(h, HAND_SOFT, STR("Which network for what. For the door of the fridge; the passphrases are on the cards."),
        STR(""), STR(""));
    tell_wifi(h);
    tell_wired(h);
    tell_mesh(h);
    tell_dark(h);
    tell_help(h);
}

/* ---- how it stands on the page ---- */

static enum text_style style_of(enum hand_kind kind)
{
    static const enum text_style STYLES[] = {
        [HAND_TITLE] = TEXT_PAGE_TITLE,  [HAND_HEADING] = TEXT_PAGE_SECTION,
        [HAND_TEXT] = TEXT_PAGE,         [HAND_SOFT] = TEXT_PAGE_SOFT,
        [HAND_ROW] = TEXT_PAGE,          [HAND_STEP] = TEXT_PAGE,
        [HAND_WRITE] = TEXT_PAGE_COLUMN,
    };
    return STYLES[kind];
}

/* A row without a third column has more room in its second. */
struct columns {
    double x[3], w[3];
};

static struct columns columns_of(const struct hand_line *l, double w_mm)
{
    const double all = w_mm - 2.0 * APART_MM, a = all * COLUMN_1, c = all * (1.0 - COLUMN_1) * (1.0 - COLUMN_2),
                 m = all - a - c;
    return (struct columns){ { 0.0, a + APART_MM, a + m + 2.0 * APART_MM }, { a, l->c.n ? m : m + APART_MM + c, c } };
}

/* Height with what it keeps clear above and below. */
static double line_mm(const struct pen *pen, const struct hand_line *l, double w_mm)
{
    const enum text_style style = style_of(l->kind);
    const struct columns k = columns_of(l, w_mm);
    switch (l->kind) {
    case HAND_TITLE:
        return pen_paragraph_mm(pen, style, l->a, w_mm) + 1.5;
    case HAND_HEADING:
        return HEADING_ABOVE_MM + pen_paragraph_mm(pen, style, l->a, w_mm) + 1.5;
    case HAND_ROW:
        return 2.0 + fmax(pen_paragraph_mm(pen, TEXT_PAGE_B, l->a, k.w[0]),
                          fmax(pen_paragraph_mm(pen, style, l->b, k.w[1]), pen_paragraph_mm(pen, style, l->c, k.w[2])));
    case HAND_STEP:
        return 1.5 + pen_paragraph_mm(pen, style, l->b, w_mm - NUMBER_MM);
    case HAND_WRITE:
        return 16.0;
    case HAND_SOFT:
        return SOFT_ABOVE_MM + 1.5 + pen_paragraph_mm(pen, style, l->a, w_mm);
    default:
        return 1.5 + pen_paragraph_mm(pen, style, l->a, w_mm);
    }
}

static void paint_row(struct pen *pen, const struct hand_line *l, double w_mm, double y_mm)
{
    const struct columns k = columns_of(l, w_mm);
    pen_ink(pen, INK_HAIR);
    if (!l->goes_on)
        pen_line(pen, (struct vec2){ 0.0, y_mm }, (struct vec2){ w_mm, y_mm }, 0.15);
    pen_paragraph(pen, TEXT_PAGE_B, INK_LINE, PEN_LEFT, l->a, k.x[0], y_mm + 1.0, k.w[0]);
    pen_paragraph(pen, TEXT_PAGE, INK_LINE, PEN_LEFT, l->b, k.x[1], y_mm + 1.0, k.w[1]);
    pen_paragraph(pen, TEXT_PAGE, INK_LINE, PEN_LEFT, l->c, k.x[2], y_mm + 1.0, k.w[2]);
}

static void paint_write(struct pen *pen, const struct hand_line *l, double w_mm, double y_mm)
{
    static const char *const NAMES[] = { "name", "telephone" };
    const double w = (w_mm - 8.0) / 2.0, base = y_mm + 10.0;
    for (size_t i = 0; i < RT_COUNT(NAMES); i++) {
        const double x = (double)i * (w + 8.0);
        pen_ink(pen, INK_LINE);
        pen_line(pen, (struct vec2){ x, base }, (struct vec2){ x + w, base }, 0.2);
        pen_text(pen, TEXT_PAGE_COLUMN, str_from(NAMES[i]), x, base + 1.0);
    }
    if (l->a.n)
        pen_text(pen, TEXT_PAGE_B, l->a, 0.0, base - 5.0);
}

static void paint_line(struct pen *pen, const struct hand_line *l, double w_mm, double y_mm)
{
    const enum text_style style = style_of(l->kind);
    const double above = l->kind == HAND_HEADING ? HEADING_ABOVE_MM : l->kind == HAND_SOFT ? SOFT_ABOVE_MM : 0.0;
    switch (l->kind) {
    case HAND_ROW:
        paint_row(pen, l, w_mm, y_mm);
        break;
    case HAND_STEP:
        pen_paragraph(pen, TEXT_PAGE_B, INK_LINE, PEN_LEFT, l->a, 0.0, y_mm, NUMBER_MM);
        pen_paragraph(pen, style, INK_LINE, PEN_LEFT, l->b, NUMBER_MM, y_mm, w_mm - NUMBER_MM);
        break;
    case HAND_WRITE:
        paint_write(pen, l, w_mm, y_mm);
        break;
    default:
        pen_paragraph(pen, style, text_look(style)->ink, PEN_LEFT, l->a, 0.0, y_mm + above, w_mm);
    }
}

/* Pages at a scale; fills from[]. */
static uint32_t lay_out(struct hand *h, const struct pen *pen, double scale)
{
    const double w = (h->w_mm - PAGE_LEFT_MM - PAGE_RIGHT_MM) / scale, high = (h->h_mm - 2.0 * PAGE_BOTTOM_MM) / scale;
    double y = 0.0;
    uint32_t page = 0;
    h->from[0] = 0;
    for (uint32_t i = 0; i < h->lines.n; i++) {
        const struct hand_line *l = &h->lines.v[i];
        const bool leads = l->kind == HAND_HEADING && i + 1 < h->lines.n;
        const double own = line_mm(pen, l, w), wants = own + (leads ? line_mm(pen, l + 1, w) : 0.0);
        if (y + wants > high && y > 0.0) {
            h->from[++page] = i;
            y = 0.0;
        }
        y += own;
    }
    h->from[page + 1] = h->lines.n;
    return page + 1;
}

/* The largest letters with which one page holds it; if even the smallest need more pages, those. */
static enum rt_code choose_scale(struct hand *h, struct rt_problems *p)
{
    struct pen pen;
    if (!pen_init(&pen, NULL))
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "install a font, such as Debian's package fonts-inter",
                       "there is no font on this machine to write the sheet with");
    for (h->scale = SCALE_MOST; h->scale > SCALE_LEAST && lay_out(h, &pen, h->scale) > 1;)
        h->scale -= SCALE_STEP;
    h->n_pages = lay_out(h, &pen, h->scale);
    pen_release(&pen);
    return RT_OK;
}

struct hand_page {
    struct hand *h;
    uint32_t page;
};

static enum rt_code paint_page(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p)
{
    const struct hand_page *page = user;
    const struct hand *h = page->h;
    struct pen pen;
    if (!pen_init(&pen, cr))
        return rt_fail_memory(p);
    const double w = (h->w_mm - PAGE_LEFT_MM - PAGE_RIGHT_MM) / h->scale;
    double y = 0.0;
    cairo_save(cr);
    cairo_translate(cr, PAGE_LEFT_MM, PAGE_BOTTOM_MM);
    cairo_scale(cr, h->scale, h->scale);
    for (uint32_t i = h->from[page->page]; i < h->from[page->page + 1]; i++) {
        paint_line(&pen, &h->lines.v[i], w, y);
        y += line_mm(&pen, &h->lines.v[i], w);
    }
    cairo_restore(cr);
    if (h->n_pages > 1)
        pen_text(&pen, TEXT_PAGE_FOOT, page_words, PAGE_LEFT_MM, h->h_mm - 12.5);
    if (h->b->options->date.n)
        pen_paragraph(&pen, TEXT_PAGE_FOOT, INK_SOFT, PEN_RIGHT, h->b->options->date, PAGE_LEFT_MM, h->h_mm - 12.5,
                      h->w_mm - PAGE_LEFT_MM - PAGE_RIGHT_MM);
    pen_release(&pen);
    return RT_OK;
}

/* ---- the whole ---- */

enum rt_code household_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                            struct flow_made *out, struct rt_problems *p)
{
    struct book b = { .run = run,
                      .arena = run->arena,
                      .h = ev->h,
                      .ev = ev,
                      .options = options,
                      .flow = flow_new(run->arena, options->paper) };
    struct hand *h = ARENA_NEW(run->arena, struct hand);
    if (!b.flow || !h)
        return rt_fail_memory(p);
    RT_TRY(evaluation_proof(ev, &b.proof, p));
    *h = (struct hand){ .b = &b, .w_mm = flow_paper_w_mm(options->paper), .h_mm = flow_paper_h_mm(options->paper) };
    tell(h);
    h->from = ARENA_ARRAY(run->arena, uint32_t, h->lines.n + 2);
    if (h->failed || !h->from)
        return rt_fail_memory(p);
    RT_TRY(choose_scale(h, p));
    for (uint32_t i = 0; i < h->n_pages; i++) {
        struct hand_page *page = ARENA_NEW(run->arena, struct hand_page);
        if (!page)
            return rt_fail_memory(p);
        *page = (struct hand_page){ h, i };
        flow_sheet(b.flow, NULL, ev->h->name, h->w_mm, h->h_mm, paint_page, page);
    }
    const struct flow_about about = { .form = options->form,
                                      .title = ev->h->name,
                                      .author = options->by,
                                      .subject = STR("which network for what: the household's sheet"),
                                      .date = options->date };
    return flow_write(run, b.flow, &about, out, p);
}
