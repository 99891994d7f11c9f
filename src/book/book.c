/* The book: what it tells is computed first, then its chapters write themselves one after another. */
#include "book/book_int.h"

#include <math.h>
#include <stdarg.h>

#include "base/units.h"
#include "draw/gather.h"

/* The chapters in the order in which they are read: promises first, then what the hands need, then what the day and the years need.
 * The book of the main demo has 40 pages, which is as many as anybody carries about: what one table says no drawing says again, and
 * what is kept leaves its figures to the chapter it leads to. */
static book_chapter *const CHAPTERS[] = {
    chapter_promises,   chapter_care,     chapter_floors, chapter_cables, chapter_ports,
    chapter_addresses,  chapter_networks, chapter_week,   chapter_load,   chapter_money,
    chapter_acceptance, chapter_breaks,   chapter_growth, chapter_words,
};

enum flow_paper book_paper_of(struct str country)
{
    static const char *const LETTER[] = { "US", "CA", "MX", "CL", "CO", "CR", "DO",
                                          "GT", "NI", "PA", "PH", "PR", "SV", "VE" };
    for (size_t i = 0; i < RT_COUNT(LETTER); i++)
        if (str_is(country, LETTER[i]))
            return FLOW_LETTER;
    return FLOW_A4;
}

/* ---- words the chapters share ---- */

struct str book_text(struct book *b, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *made = arena_vprintf(b->arena, fmt, args);
    va_end(args);
    if (!made)
        flow_fail(b->flow);
    return str_from(made ? made : "");
}

enum flow_mark book_mark(enum promise_state state)
{
    return state == PROMISE_KEPT ? FLOW_KEPT : state == PROMISE_BROKEN ? FLOW_BROKEN : FLOW_UNKNOWN;
}

struct str book_margin(struct book *b, const struct promise_result *r)
{
    if (r->in_place)
        return str_from(r->in_place);
    if (!is_given(r->margin))
        return STR("");
    const double shown = fabs(r->margin);
    return book_text(b, "%s%.*f %s", r->margin < 0.0 ? "\u2212" : "+", r->margin_decimals, shown, r->unit);
}

struct str book_id_words(struct book *b, struct str id)
{
    const struct str words = str_dup(b->arena, id);
    if (!words.p)
        return id;
    char *made = ARENA_ARRAY(b->arena, char, words.n + 1);
    for (size_t i = 0; made && i < words.n; i++)
        made[i] = words.p[i] == '_' || words.p[i] == '-' ? ' ' : words.p[i];
    return made ? (struct str){ made, words.n } : id;
}

struct str book_capital(struct book *b, struct str text)
{
    const bool is_small = text.n && text.p[0] >= 'a' && text.p[0] <= 'z';
    return is_small ? book_text(b, "%c%.*s", text.p[0] - 'a' + 'A', (int)text.n - 1, text.p + 1) : text;
}

/* ---- the whole ---- */

enum rt_code book_gather(struct book *b, struct rt_problems *p)
{
    RT_TRY(draw_gather(b->ev, &b->draw, &b->fields, p)); /* first: the whole field, before anybody asks for a part */
    RT_TRY(promises_evaluate(b->ev, ALL_PROMISE_KINDS, &b->results, p));
    RT_TRY(draw_notes(b->arena, &b->results, &b->draw, p));
    RT_TRY(evaluation_proof(b->ev, &b->proof, p));
    const struct cable_plan *cables;
    RT_TRY(evaluation_cables(b->ev, &cables, &b->links, p));
    RT_TRY(evaluation_bill(b->ev, &b->bill, p));
    return phases_judge(b->ev, &b->stages, p);
}

enum rt_code book_make(const struct run *run, struct evaluation *ev, const struct book_options *options,
                       struct flow_made *out, struct rt_problems *p)
{
    struct book b = { .run = run,
                      .arena = run->arena,
                      .h = ev->h,
                      .ev = ev,
                      .options = options,
                      .draw = draw_options_usual(options->device, options->device_name),
                      .flow = flow_new(run->arena, options->paper) };
    if (!b.flow)
        return rt_fail_memory(p);
    RT_TRY(book_gather(&b, p));
    for (size_t i = 0; i < RT_COUNT(CHAPTERS); i++)
        RT_TRY(CHAPTERS[i](&b, p));
    const struct flow_about about = { .form = options->form,
                                      .title = ev->h->name,
                                      .author = options->by,
                                      .subject = STR("the data network of the house: hand-over book"),
                                      .date = options->date,
                                      .foot = ev->h->name,
                                      .cover = book_cover,
                                      .cover_user = &b };
    RT_TRY(flow_write(run, b.flow, &about, out, p));
    return b.figure_failed ? rt_fail_memory(p) : RT_OK;
}
