/* A card for each Wi-Fi name: a code for a phone's camera, name and passphrase in letters beneath.  Made only when asked for. */
#include <math.h>

#include "book/flow_int.h"
#include "book/net_words.h"
#include "book/paper.h"
#include "book/qr.h"
#include "book/wifi_uri.h"

static const double CARD_W_MM = 84.0, CARD_H_MM = 66.0, PAD_MM = 4.0, QR_LEAST_MM = 27.0, MODULE_LEAST_MM = 0.5,
                    EDGE_LEAST_MM = 6.0;

enum { CARD_COLUMNS = 2 };

struct card {
    struct str name, passphrase; /* passphrase with blanks made visible; empty: it takes none */
    struct str for_whom, note;
    struct qr qr;
};

struct deck {
    const struct house *h;
    const struct book_options *options;
    struct card *cards;
    uint32_t n, rows; /* rows of a page */
    double w_mm, h_mm;
};

/* ---- what is on them ---- */

static bool takes_passphrase(const struct ssid *s)
{
    return s->security != SECURITY_OPEN && s->security != SECURITY_OWE;
}

/* A blank is an open box, so that it is typed: of several, and at the end of a line. */
static struct str show_blanks(struct arena *a, struct str text)
{
    struct buf out = { .arena = a };
    for (size_t i = 0; i < text.n; i++) {
        if (text.p[i] == ' ')
            buf_text(&out, "\u2423");
        else
            buf_char(&out, text.p[i]);
    }
    return out.failed ? (struct str){ 0 } : buf_done(&out);
}

static bool has_blank(struct str text) { return text.n && memchr(text.p, ' ', text.n); }

/* Blanks that are not seen for what they are: at an end, or two together. */
static bool has_odd_blank(struct str text)
{
    bool was = true;
    for (size_t i = 0; i < text.n; i++) {
        const bool is = text.p[i] == ' ';
        if (is && was)
            return true;
        was = is;
    }
    return text.n && was;
}

static struct str note_words(struct arena *a, const struct ssid *s, struct str name, struct str passphrase)
{
    struct buf out = { .arena = a };
    if (s->security == SECURITY_OPEN)
        buf_text(&out, "No passphrase, and not encrypted: others can listen in.");
    else if (s->security == SECURITY_OWE)
        buf_text(&out, "No passphrase: joining is enough. It is encrypted all the same; very old things cannot join.");
    else if (s->security == SECURITY_WPA3)
        buf_text(&out, "For things that know WPA3.");
    if (has_blank(passphrase) || has_odd_blank(name))
        buf_printf(&out, "%s\u2423 is a blank.", out.n ? " " : "");
    if (wifi_uri_encodes(name) || wifi_uri_encodes(passphrase))
        buf_printf(&out, "%sIf the camera does not take it, type it.", out.n ? " " : "");
    return out.n ? buf_done(&out) : STR("");
}

static enum rt_code fill(const struct run *run, struct evaluation *ev, struct deck *d, struct rt_problems *p)
{
    const struct secrets *secrets = d->options->secrets;
    for (uint32_t i = 0; i < d->h->ssids.n; i++) {
        const struct ssid *s = &d->h->ssids.v[i];
        const struct segment *segment = &d->h->segments.v[s->segment.i];
        const struct str passphrase = takes_passphrase(s) ? secrets->passphrases.v[i] : STR(""),
                         name = ev->layer2->ssids[i].name;
        const struct str uri = wifi_uri(run->arena, name, s->security, passphrase);
        struct card *c = &d->cards[d->n++];
        if (!uri.p)
            return rt_fail_memory(p);
        RT_TRY(qr_make(run->arena, uri, &c->qr, p));
        c->name = has_odd_blank(name) ? show_blanks(run->arena, name) : name;
        c->passphrase = show_blanks(run->arena, passphrase);
        c->for_whom = segment->says.n ? segment->says : segment->id;
        c->note = note_words(run->arena, s, name, passphrase);
        if ((passphrase.n && !c->passphrase.n) || !c->name.p)
            return rt_fail_memory(p);
    }
    return RT_OK;
}

/* ---- how they look ---- */

static void paint_card(struct pen *pen, const struct deck *d, const struct card *c, double x_mm, double y_mm)
{
    const double side = qr_side_mm(&c->qr, MODULE_LEAST_MM, QR_LEAST_MM), whole = qr_whole_mm(&c->qr, side),
                 right = x_mm + PAD_MM + whole + 2.0, w = CARD_W_MM - 2.0 * PAD_MM,
                 beside = CARD_W_MM - PAD_MM - (right - x_mm);
    double y = y_mm + PAD_MM;
    pen_ink(pen, INK_HAIR);
    cairo_set_line_width(pen->cr, 0.15);
    pen_path_box(pen, (struct draw_box){ x_mm, y_mm, CARD_W_MM, CARD_H_MM });
    cairo_stroke(pen->cr);
    qr_paint(pen, &c->qr, x_mm + PAD_MM, y, side);
    pen_paragraph(pen, TEXT_PAGE_B, INK_LINE, PEN_LEFT, d->h->name, right, y + 1.0, beside);
    y += 1.0 + pen_paragraph_mm(pen, TEXT_PAGE_B, d->h->name, beside);
    pen_paragraph(pen, TEXT_PAGE_SOFT, INK_SOFT, PEN_LEFT, c->for_whom, right, y, beside);
    y += 2.0 + pen_paragraph_mm(pen, TEXT_PAGE_SOFT, c->for_whom, beside);
    pen_paragraph(pen, TEXT_PAGE_SOFT, INK_SOFT, PEN_LEFT, c->note, right, y, beside);
    y = y_mm + PAD_MM + whole + 1.5;
    pen_text(pen, TEXT_PAGE_COLUMN, STR("Wi-Fi name"), x_mm + PAD_MM, y);
    y += 3.4;
    pen_paragraph(pen, TEXT_PAGE_CODE, INK_LINE, PEN_LEFT, c->name, x_mm + PAD_MM, y, w);
    y += 0.8 + pen_paragraph_mm(pen, TEXT_PAGE_CODE, c->name, w);
    if (!c->passphrase.n)
        return;
    pen_text(pen, TEXT_PAGE_COLUMN, STR("passphrase"), x_mm + PAD_MM, y);
    pen_paragraph(pen, TEXT_PAGE_CODE, INK_LINE, PEN_LEFT, c->passphrase, x_mm + PAD_MM, y + 3.4, w);
}

struct deck_page {
    const struct deck *deck;
    uint32_t first;
};

static enum rt_code paint_page(void *user, cairo_t *cr, struct str page_words, struct rt_problems *p)
{
    const struct deck_page *page = user;
    const struct deck *d = page->deck;
    const double left = (d->w_mm - CARD_COLUMNS * CARD_W_MM) / 2.0, top = (d->h_mm - d->rows * CARD_H_MM) / 2.0;
    struct pen pen;
    (void)page_words; /* nothing beside the cards: they are cut out */
    if (!pen_init(&pen, cr))
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < d->rows * CARD_COLUMNS && page->first + i < d->n; i++)
        paint_card(&pen, d, &d->cards[page->first + i], left + i % CARD_COLUMNS * CARD_W_MM,
                   top + i / CARD_COLUMNS * CARD_H_MM);
    pen_release(&pen);
    return RT_OK;
}

/* ---- the whole ---- */

static enum rt_code check(const struct house *h, const struct book_options *options, struct rt_problems *p)
{
    if (!options->secrets)
        return rt_fail(p, RT_USAGE, RT_NOWHERE, "say --with-secrets too, and keep what is made as you keep a key",
                       "cards show the passphrases of the house");
    if (!h->ssids.n)
        return rt_fail(p, RT_MISSING, RT_NOWHERE, "say under `ssids` which Wi-Fi names there are",
                       "the house has no Wi-Fi name to make a card of");
    return RT_OK;
}

enum rt_code cards_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                        struct flow_made *out, struct rt_problems *p)
{
    const struct house *h = ev->h;
    struct proof *proof;
    struct flow *flow = flow_new(run->arena, options->paper);
    struct deck d = { .h = h,
                      .options = options,
                      .cards = ARENA_ARRAY(run->arena, struct card, h->ssids.n + 1),
                      .w_mm = flow_paper_w_mm(options->paper),
                      .h_mm = flow_paper_h_mm(options->paper) };
    if (!flow || !d.cards)
        return rt_fail_memory(p);
    RT_TRY(check(h, options, p));
    RT_TRY(evaluation_proof(ev, &proof, p)); /* for the names as they are broadcast */
    RT_TRY(fill(run, ev, &d, p));
    d.rows = (uint32_t)floor((d.h_mm - 2.0 * EDGE_LEAST_MM) / CARD_H_MM);
    for (uint32_t i = 0; i < d.n; i += d.rows * CARD_COLUMNS) {
        struct deck_page *page = ARENA_NEW(run->arena, struct deck_page);
        if (!page)
            return rt_fail_memory(p);
        *page = (struct deck_page){ &d, i };
        flow_sheet(flow, NULL, h->name, d.w_mm, d.h_mm, paint_page, page);
    }
    const struct flow_about about = { .form = options->form,
                                      .title = h->name,
                                      .subject = STR("cards to join the Wi-Fi: keep them as a key") };
    return flow_write(run, flow, &about, out, p);
}
