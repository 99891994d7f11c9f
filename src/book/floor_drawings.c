/* Which drawings a floor gets.  A full page: its cables, if there are many, and in a house of few storeys the signal.  In the text: the
 * signal of the band that most is promised about, and what is broken.  All else is drawn by `rooftree draw`. */
#include <math.h>

#include "base/units.h"
#include "book/floors.h"

static const double FIGURE_MOST_MM = 104.0; /* two of them on a page */
static const double SMALL_MOST_MM = 66.0;   /* of a small or an open floor: there are several, and little on each */
static const double SMALL_M2 = 30.0;        /* a floor no larger is shown in the text alone */
enum {
    FIGURE_CABLES_MOST = 5, /* a figure has no tables beside it */
    WORDS_CABLES_MOST = 3,  /* so few are told in words alone */
    STOREYS_FEW = 2,
    FIELDS_MOST = 2 /* of a floor: the signal, and what is broken */
};

/* What is promised about one band of a floor. */
struct about {
    uint32_t kinds;    /* bits 1 << enum promise_kind */
    uint32_t n_broken; /* whose spot is here */
    uint32_t weight;
};

static bool touches(const struct house *h, const struct promise *p, uint32_t floor)
{
    for (uint32_t i = 0; i < p->rooms.n; i++)
        if (h->rooms.v[p->rooms.v[i].i].floor.i == floor)
            return true;
    return false;
}

static bool is_of_fields(enum promise_kind kind)
{
    return kind == PROMISE_SIGNAL || kind == PROMISE_RATE || kind == PROMISE_ROAMING;
}

/* A promise that names its bands weighs more than one that any band may keep; a broken one most. */
static struct about about_band(const struct book *b, uint32_t floor, enum band band)
{
    struct about out = { .weight = band == BAND_5G }; /* of equals, the one most devices use */
    for (uint32_t i = 0; i < b->results.n; i++) {
        const struct promise_result *r = &b->results.v[i];
        const struct promise *p = r->promise;
        if (!is_of_fields(p->kind) || !touches(b->h, p, floor) || (p->bands && !(p->bands & 1u << band)))
            continue;
        const bool broken = r->state == PROMISE_BROKEN && r->witness.is_set && r->witness.floor == floor &&
                            (!r->witness.bands || r->witness.bands & 1u << band);
        out.kinds |= 1u << p->kind;
        out.n_broken += broken;
        out.weight += (p->bands ? 4u : 2u) + (broken ? 20u : 0u);
    }
    return out;
}

static enum promise_kind kind_of(enum draw_what what)
{
    return what == DRAW_SIGNAL ? PROMISE_SIGNAL : what == DRAW_RATE ? PROMISE_RATE : PROMISE_ROAMING;
}

/* The first band of the most weight among the signal's sheets; BAND_COUNT: there is none. */
static enum band main_band(const struct book *b, uint32_t floor, const struct draw_subject *v, uint32_t n)
{
    enum band best = BAND_COUNT;
    uint32_t most = 0;
    for (uint32_t i = 0; i < n; i++) {
        const uint32_t weight = about_band(b, floor, v[i].band).weight;
        if (v[i].what != DRAW_SIGNAL || (best != BAND_COUNT && weight <= most))
            continue;
        best = v[i].band;
        most = weight;
    }
    return best;
}

static bool is_small(const struct house *h, uint32_t floor)
{
    const struct floor *f = &h->floors.v[floor];
    return f->open_air || fabs(polygon_area_m2(f->outline)) < SMALL_M2;
}

static const char *name_of(enum draw_what what)
{
    return what == DRAW_SIGNAL ? "Signal" : what == DRAW_RATE ? "Rate" : "Second access point";
}

static struct str caption_of(struct book *b, const struct draw_subject *s)
{
    static const char *const SAYS[] = { "the strongest access point at each spot",
                                        "what one device gets when it is alone on the air",
                                        "what a device that walks can change to" };
    const double height_m = b->fields->grids.v[s->grid].height_m;
    if (s->what == DRAW_CABLE)
        return STR("Cables: where they lie, their ends, holes and boards.");
    return book_text(b, "%s at %s GHz, %.2g m up: %s; it holds in %.0f of 100 places.", name_of(s->what),
                     band_name(s->band), height_m,
                     SAYS[s->what == DRAW_SIGNAL ? 0
                          : s->what == DRAW_RATE ? 1
                                                 : 2],
                     100.0 * b->draw.availability);
}

/* Does an access point hang here? */
static bool has_access_point(const struct book *b, uint32_t floor)
{
    for (uint32_t i = 0; i < b->fields->radios.n; i++)
        if (b->h->equipment.v[b->fields->radios.v[i].equipment].floor.i == floor)
            return true;
    return false;
}

static uint32_t count_cables(const struct book *b, uint32_t floor)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->h->cables.n; i++) {
        const struct routed_cable *r = &b->draw.cables->cables[i];
        bool here = false;
        for (uint32_t k = 0; k < r->legs.n; k++)
            here |= r->legs.v[k].floor == floor;
        n += here;
    }
    return n;
}

/* What a floor gets: of each subject whether it is a figure, a sheet, or neither. */
struct choice {
    struct draw_subject *v;
    uint32_t n;
    enum band main;
    bool is_small;
};

static enum rt_code choose(struct book *b, uint32_t floor, struct choice *c, struct rt_problems *p)
{
    RT_TRY(book_sheets_find(b, DRAW_SIGNAL | DRAW_RATE | DRAW_SECOND | DRAW_CABLE, floor, &c->v, &c->n, p));
    c->main = main_band(b, floor, c->v, c->n);
    c->is_small = is_small(b->h, floor);
    return RT_OK;
}

/* Of a house with few storeys the signal gets a page of its own too. */
static bool has_few_storeys(const struct house *h)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < h->floors.n; i++)
        n += !is_small(h, i);
    return n <= STOREYS_FEW;
}

static bool is_sheet(const struct book *b, const struct choice *c, const struct draw_subject *s)
{
    const uint32_t floor = b->fields->grids.v[s->grid].floor;
    if (s->what == DRAW_CABLE)
        return count_cables(b, floor) > FIGURE_CABLES_MOST;
    return s->what == DRAW_SIGNAL && s->band == c->main && !c->is_small && has_few_storeys(b->h);
}

static bool is_figure(const struct book *b, const struct choice *c, const struct draw_subject *s)
{
    const uint32_t floor = b->fields->grids.v[s->grid].floor;
    if (is_sheet(b, c, s))
        return false;
    if (s->what == DRAW_CABLE)
        return count_cables(b, floor) > WORDS_CABLES_MOST;
    const struct about about = about_band(b, floor, s->band);
    if (s->what == DRAW_SIGNAL && s->band == c->main)
        return c->is_small ? about.n_broken > 0 : about.kinds || has_access_point(b, floor);
    return about.kinds & 1u << kind_of(s->what) && about.n_broken; /* what is kept is drawn by `rooftree draw` */
}

static struct str sheet_title(struct book *b, const struct draw_subject *s)
{
    return s->what == DRAW_CABLE ? STR("cables") : book_text(b, "signal at %s GHz", band_name(s->band));
}

enum rt_code floor_sheets_write(struct book *b, uint32_t floor, struct rt_problems *p)
{
    struct choice c;
    struct buf sheets = { .arena = b->arena };
    const struct floor *f = &b->h->floors.v[floor];
    RT_TRY(choose(b, floor, &c, p));
    for (uint32_t i = 0; i < c.n; i++)
        if (is_sheet(b, &c, &c.v[i]))
            buf_printf(&sheets, "%s%.*s", sheets.n ? "; " : "", STR_ARG(sheet_title(b, &c.v[i])));
    if (sheets.n && !sheets.failed)
        flow_soft(b->flow, "On pages of their own, behind this one: %.*s.", STR_ARG(buf_done(&sheets)));
    for (uint32_t i = 0; i < c.n; i++) {
        if (!is_sheet(b, &c, &c.v[i]))
            continue;
        const bool is_cable = c.v[i].what == DRAW_CABLE;
        const struct str id = book_text(b, "floors-%.*s-%s", STR_ARG(f->id), is_cable ? "cables" : "signal");
        const struct str name = book_capital(b, install_floor_name(b->h, floor));
        RT_TRY(book_sheet(b, c.v[i], id.p, book_text(b, "%.*s: %.*s", STR_ARG(name), STR_ARG(sheet_title(b, &c.v[i]))),
                          p));
    }
    return RT_OK;
}

enum rt_code floor_figures_write(struct book *b, uint32_t floor, struct rt_problems *p)
{
    struct choice c;
    RT_TRY(choose(b, floor, &c, p));
    uint32_t n_fields = 0;
    for (uint32_t i = 0; i < c.n; i++)
        if (is_figure(b, &c, &c.v[i]) && (c.v[i].what == DRAW_CABLE || n_fields++ < FIELDS_MOST))
            RT_TRY(book_figure(b, c.v[i], c.is_small ? SMALL_MOST_MM : FIGURE_MOST_MM, caption_of(b, &c.v[i]), p));
    return RT_OK;
}
