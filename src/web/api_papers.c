/* What leaves the screen: the book, drawings, exports; and what the file may hold: its schema, the parts. */
#include <string.h>

#include "book/house_export.h"
#include "book/paper.h"
#include "data/device_kinds.h"
#include "draw/gather.h"
#include "house/parts_words.h"
#include "web/api.h"
#include "wire/open_parts.h"

static const char PDF[] = "application/pdf", SVG[] = "image/svg+xml", SCHEMA[] = "application/schema+json";

/* A house read for one answer, in its own arena, so that what is made of it leaves nothing behind and holds no lock. */
static enum rt_code open_alone(struct request *q, struct house **out, struct rt_problems *p)
{
    struct workspace *w;
    struct workspace_state s;
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_look(w, q->arena, &s, p));
    RT_TRY(workspace_read_house(w, q->arena, s.bytes, out, p));
    return open_parts_choose(&q->run, *out, p);
}

/* ---- the book ---- */

struct papering {
    struct request *q;
    struct flow_made made;
    const struct draw_sheet *sheet;
    struct json_body body;
};

static enum rt_code device_of(const struct request *q, const struct evaluation *ev, const struct radio_ability **out,
                              struct str *name, struct rt_problems *p)
{
    *name = q->query(q, "device").n ? q->query(q, "device") : STR(DEVICE_KIND_USUAL);
    *out = evaluation_radio_of(ev, *name);
    return *out ? RT_OK
                : rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "take phone, tablet, laptop ...",
                          "no device of that kind has a radio");
}

static enum rt_code make_paper(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct papering *b = user;
    const struct request *q = b->q;
    struct str what = q->query(q, "what"), size = q->query(q, "paper");
    struct book_options options = { .date = q->query(q, "date"), .by = q->query(q, "by") };
    const struct paper *paper = paper_find(what.n ? what : STR("book"));
    if (!paper || paper->holds_secrets)
        return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "what holds passphrases is made by the command line alone",
                       "there is no paper '%.*s' here", STR_ARG(what));
    if (size.n && !str_is(size, "a4") && !str_is(size, "letter"))
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "a4 or letter", "nothing is printed on '%.*s'", STR_ARG(size));
    RT_TRY(device_of(q, ev, &options.device, &options.device_name, p));
    options.paper = !size.n ? book_paper_of(ev->h->country) : str_is(size, "letter") ? FLOW_LETTER : FLOW_A4;
    return paper->make(&q->run, ev, &options, &b->made, p);
}

enum rt_code api_book(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct papering b = { .q = q };
    struct workspace *w;
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_compute(w, q->arena, LANE_PAPER, make_paper, &b, &of, p));
    *r = (struct reply){ .status = 200, .type = PDF, .body = b.made.bytes, .etag = api_etag_of(q, of) };
    r->disposition = arena_printf(q->arena, "inline; filename=\"%.*s.pdf\"", STR_ARG(q->params[0]));
    return RT_OK;
}

/* ---- drawings ---- */

static const struct {
    const char *word; /* in the name of its sheets */
    enum draw_what what;
} SHEETS[] = { { "signal", DRAW_SIGNAL },    { "rate", DRAW_RATE },       { "second", DRAW_SECOND },
               { "cable", DRAW_CABLE },      { "cabinet", DRAW_CABINET }, { "ports", DRAW_PORTS },
               { "week", DRAW_WEEK },        { "load", DRAW_LOAD },       { "spectrum", DRAW_SPECTRUM },
               { "failures", DRAW_FAILURES } };

struct sheets {
    struct draw_options options;
    const struct fields *fields;
    struct draw_subject *subjects;
    uint32_t n;
};

static enum rt_code list_sheets(struct request *q, struct evaluation *ev, uint32_t what, struct sheets *out,
                                struct rt_problems *p)
{
    const struct radio_ability *device;
    struct str name;
    RT_TRY(device_of(q, ev, &device, &name, p));
    out->options = draw_options_usual(device, name);
    out->options.what = what;
    out->options.formats = DRAW_SVG;
    RT_TRY(draw_gather(ev, &out->options, &out->fields, p));
    return draw_subjects(&q->run, ev->h, out->fields, &out->options, &out->subjects, &out->n, p);
}

static enum rt_code tell_sheets(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct papering *b = user;
    const struct str asked = b->q->query(b->q, "what");
    uint32_t what = 0;
    struct sheets sheets;
    for (size_t i = 0; i < RT_COUNT(SHEETS); i++)
        if (!asked.n || str_is(asked, SHEETS[i].word))
            what |= SHEETS[i].what;
    if (!what)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "signal, rate, second, cable ...", "there are no drawings '%.*s'",
                       STR_ARG(asked));
    RT_TRY(list_sheets(b->q, ev, what, &sheets, p));
    struct json *j = reply_json(&b->body, b->q);
    json_begin_object(j, NULL);
    json_begin_array(j, "drawings");
    for (uint32_t i = 0; i < sheets.n; i++)
        json_str(j, NULL, draw_name(b->q->arena, ev->h, sheets.fields, sheets.subjects[i]));
    json_end_array(j);
    json_end_object(j);
    return RT_OK;
}

enum rt_code api_drawings(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct papering b = { .q = q };
    struct workspace *w;
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_compute(w, q->arena, LANE_PAPER, tell_sheets, &b, &of, p));
    r->etag = api_etag_of(q, of);
    return reply_json_end(&b.body, r, p);
}

static bool has_word(struct str name, const char *word)
{
    const size_t n = strlen(word);
    for (size_t i = 0; i + n <= name.n; i++)
        if (memcmp(name.p + i, word, n) == 0)
            return true;
    return false;
}

/* What a sheet of this name may show; so only that is computed. */
static enum rt_code draw_sheet(struct lane *lane, void *user, struct rt_problems *p)
{
    struct evaluation *ev = &lane->ev;
    struct papering *b = user;
    struct str name = b->q->params[1];
    static const char END[] = ".svg";
    struct sheets sheets;
    if (name.n > sizeof END - 1 && memcmp(name.p + name.n - (sizeof END - 1), END, sizeof END - 1) == 0)
        name.n -= sizeof END - 1;
    for (size_t k = 0; k < RT_COUNT(SHEETS); k++) {
        if (!has_word(name, SHEETS[k].word))
            continue;
        RT_TRY(list_sheets(b->q, ev, SHEETS[k].what, &sheets, p));
        for (uint32_t i = 0; i < sheets.n; i++) {
            if (!str_eq(draw_name(b->q->arena, ev->h, sheets.fields, sheets.subjects[i]), name))
                continue;
            struct draw_sheet *sheet = ARENA_NEW(b->q->arena, struct draw_sheet);
            b->sheet = sheet;
            return sheet ? draw_one(&b->q->run, ev->h, sheets.fields, &sheets.options, sheets.subjects[i], sheet, p)
                         : rt_fail_memory(p);
        }
    }
    return rt_fail(p, RT_UNKNOWN_REF, RT_NOWHERE, "ask for the list: /drawings", "there is no drawing '%.*s'",
                   STR_ARG(name));
}

enum rt_code api_drawing_sheet(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct papering b = { .q = q };
    struct workspace *w;
    struct study_state of = { 0 };
    RT_TRY(api_house(q, &w, p));
    RT_TRY(workspace_compute(w, q->arena, LANE_PAPER, draw_sheet, &b, &of, p));
    *r = (struct reply){ .status = 200, .type = SVG, .body = b.sheet->svg, .etag = api_etag_of(q, of) };
    return RT_OK;
}

/* ---- exports ---- */

enum rt_code api_export(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct house *h = NULL;
    struct export_house x = { 0 };
    struct export_folder files = { .arena = q->arena };
    struct json_body b;
    const struct str to = q->query(q, "to");
    const struct export_form *form = export_form_find(to);
    if (!form)
        return rt_fail(p, RT_SHAPE, RT_NOWHERE, "to=linux, acl, csv or sheet", "there is no form '%.*s'", STR_ARG(to));
    struct evaluation ev;
    RT_TRY(open_alone(q, &h, p));
    RT_TRY(evaluation_begin(&ev, &q->run, h, evaluation_default_options(h), p));
    RT_TRY(house_export(&q->run, &ev, form, false, &x, &files, p));
    struct json *j = reply_json(&b, q);
    json_begin_object(j, NULL);
    json_begin_array(j, "files");
    for (uint32_t i = 0; i < files.files.n; i++) {
        json_begin_object(j, NULL);
        json_str(j, "path", files.files.v[i].path);
        json_str(j, "text", files.files.v[i].bytes);
        json_end_object(j);
    }
    json_end_array(j);
    json_end_object(j);
    return reply_json_end(&b, r, p);
}

/* ---- what a file may hold ---- */

static enum rt_code give_schema(struct request *q, void (*write)(struct buf *), struct reply *r, struct rt_problems *p)
{
    struct buf text = { .arena = q->arena };
    write(&text);
    if (text.failed)
        return rt_fail_memory(p);
    *r = (struct reply){ .status = 200, .type = SCHEMA, .body = buf_done(&text) };
    return RT_OK;
}

enum rt_code api_schema(struct request *q, struct reply *r, struct rt_problems *p)
{
    return give_schema(q, house_write_schema, r, p);
}

enum rt_code api_schema_parts(struct request *q, struct reply *r, struct rt_problems *p)
{
    return give_schema(q, parts_write_schema, r, p);
}

enum rt_code api_parts(struct request *q, struct reply *r, struct rt_problems *p)
{
    struct house *h = NULL;
    struct json_body b;
    RT_TRY(open_alone(q, &h, p));
    parts_write_json(reply_json(&b, q), &h->parts);
    return reply_json_end(&b, r, p);
}
