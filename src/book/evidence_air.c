/* Evidence of what is in the air: each room against what was promised, each radio's channel, how near one comes to a radio. */
#include <math.h>

#include "base/units.h"
#include "book/evidence.h"
#include "draw/sheet.h"

/* ---- rooms ---- */

static const double ROW_MM = 5.2, NAME_MM = 44.0, FIGURE_MM = 24.0, AXIS_MM = 6.0, DOT_MM = 1.0, CROSS_MM = 1.5;

struct strip {
    struct str name;
    double reached, worst; /* -INFINITY: nothing arrives */
    bool is_kept;
    struct str figure;
};

/* Every room as a line: the dot is what the promised share of it reaches, the tail its worst spot. */
struct strips {
    LIST(struct strip) rooms;
    double wanted, lo, hi;
    struct str wanted_words;
};

static double strip_x(const struct strips *s, double value, double w_mm)
{
    const double share = (value - s->lo) / (s->hi - s->lo);
    return NAME_MM + fmin(fmax(share, 0.0), 1.0) * (w_mm - NAME_MM - FIGURE_MM);
}

static void paint_strip(struct pen *pen, const struct strips *s, const struct strip *r, double y_mm, double w_mm)
{
    const double mid = y_mm + ROW_MM / 2.0, at = strip_x(s, r->reached, w_mm), tail = strip_x(s, r->worst, w_mm);
    const struct text_size size = pen_measure(pen, TEXT_PAGE_CELL, r->figure);
    const enum ink ink = r->is_kept ? INK_LINE : INK_ACCENT;
    pen_text(pen, TEXT_PAGE_CELL, r->name, 7.0, mid - size.h_mm / 2.0);
    pen_ink(pen, INK_HAIR);
    pen_line(pen, (struct vec2){ NAME_MM, mid }, (struct vec2){ w_mm - FIGURE_MM, mid }, 0.15);
    pen_ink(pen, ink);
    pen_line(pen, (struct vec2){ tail, mid }, (struct vec2){ at, mid }, 0.4);
    sheet_draw_state(pen, r->is_kept ? DRAW_KEPT : DRAW_BROKEN, ink, (struct vec2){ at, mid },
                     r->is_kept ? DOT_MM : CROSS_MM);
    pen_text_in(pen, TEXT_PAGE_CELL, ink, r->figure, w_mm - size.w_mm, mid - size.h_mm / 2.0);
}

static void paint_strips(struct pen *pen, double w_mm, double h_mm, void *user)
{
    const struct strips *s = user;
    const double x = strip_x(s, s->wanted, w_mm);
    const struct text_size size = pen_measure(pen, TEXT_PAGE_COLUMN, s->wanted_words);
    pen_text(pen, TEXT_PAGE_COLUMN, s->wanted_words, fmin(fmax(x - size.w_mm / 2.0, NAME_MM), w_mm - size.w_mm), 0.5);
    pen_ink(pen, INK_LINE);
    pen_dashes(pen, 0.8, 0.8);
    pen_line(pen, (struct vec2){ x, AXIS_MM - 1.2 }, (struct vec2){ x, h_mm }, 0.2);
    pen_dashes(pen, 0.0, 0.0);
    for (uint32_t i = 0; i < s->rooms.n; i++)
        paint_strip(pen, s, &s->rooms.v[i], AXIS_MM + i * ROW_MM, w_mm);
}

static bool is_of_uplink(const struct promise *q) { return q->kind == PROMISE_SIGNAL && q->direction == DIRECTION_UP; }

/* The key of the value in the evidence of a promise, and its unit. */
static const char *value_key(const struct promise *q)
{
    return is_of_uplink(q)             ? "uplink_level_dbm"
           : q->kind == PROMISE_SIGNAL ? "level_dbm"
           : q->kind == PROMISE_RATE   ? "mbps"
                                       : "second_level_dbm";
}

static double value_wanted(const struct promise *q)
{
    return q->kind == PROMISE_RATE ? q->mbps
           : is_of_uplink(q)       ? given_or(q->uplink_level_dbm, q->level_dbm)
                                   : q->level_dbm;
}

static const char *value_unit(enum promise_kind kind) { return kind == PROMISE_RATE ? "Mb/s" : "dBm"; }

static double finite_or(double value, double otherwise) { return isfinite(value) ? value : otherwise; }

/* From the worst to the best of what is shown, and what was promised; a tenth of room at either side. */
static void scale_strips(struct strips *s)
{
    s->lo = s->hi = s->wanted;
    for (uint32_t i = 0; i < s->rooms.n; i++) {
        s->lo = fmin(s->lo, finite_or(s->rooms.v[i].worst, s->lo));
        s->hi = fmax(s->hi, finite_or(s->rooms.v[i].reached, s->hi));
    }
    const double pad = fmax((s->hi - s->lo) * 0.06, 1.0);
    s->lo -= pad;
    s->hi += pad;
}

static void strip_of(struct book *b, const struct promise_result *r, const struct fact *room, struct strip *out)
{
    const enum promise_kind kind = r->promise->kind;
    const struct fact *value = fact_find(room, value_key(r->promise));
    const uint32_t i = house_find_room(b->h, fact_find_str(room, "room"));
    out->name = i == NO_REF ? fact_find_str(room, "room") : house_room_name(b->h, i);
    out->reached = value ? value->num : RT_NOT_GIVEN;
    out->worst = fact_find_num(room, is_of_uplink(r->promise) ? "worst_uplink" : "worst");
    out->is_kept = fact_find_num(room, "area_share") >= r->promise->area_share - 1e-9;
    out->figure = evidence_figure(b, out->reached, value ? value->decimals : 0, value_unit(kind));
}

/* Which radio decides at the worst spot, and by which way. */
static void write_worst(struct book *b, const struct promise_result *r)
{
    const struct fact *spot = fact_find(r->evidence, "worst_spot");
    const struct str where = fact_find_str(spot, "where"), ap = fact_find_str(r->evidence, "access_point"),
                     band = fact_find_str(r->evidence, "band");
    if (where.n && ap.n && r->state == PROMISE_KEPT && r->witness.lines.n)
        flow_soft(b->flow, "Where it is least: %.*s, on %.*s GHz: %.*s.", STR_ARG(where), STR_ARG(band),
                  STR_ARG(r->witness.lines.v[0]));
}

/* Where both ways are promised the strips are of the one towards the device. */
static void write_way_back(struct book *b, const struct promise_result *r)
{
    struct buf rooms = { .arena = b->arena };
    if (r->promise->kind != PROMISE_SIGNAL || r->promise->direction != DIRECTION_BOTH)
        return;
    for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next) {
        const uint32_t i = house_find_room(b->h, fact_find_str(room, "room"));
        const struct str name = i == NO_REF ? fact_find_str(room, "room") : house_room_name(b->h, i);
        const struct str level = evidence_figure(b, fact_find_num(room, "uplink_level_dbm"), 1, "dBm");
        buf_printf(&rooms, "%s%.*s %.*s", rooms.n ? ", " : "", STR_ARG(name), STR_ARG(level));
    }
    const struct str wanted =
        evidence_figure(b, given_or(r->promise->uplink_level_dbm, r->promise->level_dbm), 0, "dBm");
    if (rooms.n && !rooms.failed)
        flow_soft(b->flow, "The way back, promised %.*s: %.*s.", STR_ARG(wanted), STR_ARG(buf_done(&rooms)));
}

static void write_other_estimate(struct book *b, const struct promise_result *r)
{
    const struct fact *o = fact_find(r->evidence, "other_estimate");
    const struct str estimate = fact_find_str(o, "estimate"), state = fact_find_str(o, "state");
    if (o)
        flow_soft(b->flow, "With %.*s walls: %.*s (%.*s).%s", STR_ARG(estimate), STR_ARG(state),
                  STR_ARG(evidence_figure(b, fact_find_num(o, "margin"), r->margin_decimals, r->unit)),
                  r->other_estimate_disagrees ? " The walls decide: measure there before money is spent." : "");
}

enum rt_code evidence_rooms(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    struct strips *s = ARENA_NEW(b->arena, struct strips);
    uint32_t n = 0;
    for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next)
        n++;
    if (!s || !(s->rooms.v = ARENA_ARRAY(b->arena, struct strip, n)))
        return rt_fail_memory(p);
    for (const struct fact *room = fact_find_first(r->evidence, "rooms"); room; room = room->next)
        strip_of(b, r, room, &s->rooms.v[s->rooms.n++]);
    if (n == 0)
        return RT_OK;
    s->wanted = value_wanted(r->promise);
    s->wanted_words =
        book_text(b, "promised %.*s", STR_ARG(evidence_figure(b, s->wanted, 0, value_unit(r->promise->kind))));
    scale_strips(s);
    flow_figure(b->flow, AXIS_MM + n * ROW_MM, paint_strips, s, STR(""));
    write_way_back(b, r);
    write_worst(b, r);
    write_other_estimate(b, r);
    return RT_OK;
}

/* ---- channels ---- */

enum rt_code evidence_quiet(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    static const struct flow_column COLUMNS[] = { { "radio", 0.30, FLOW_LEFT },        { "channel", 0.12, FLOW_RIGHT },
                                                  { "fullest hour", 0.24, FLOW_LEFT }, { "busy", 0.10, FLOW_RIGHT },
                                                  { "neighbours", 0.12, FLOW_RIGHT },  { "own", 0.10, FLOW_RIGHT } };
    (void)p;
    if (!fact_find_first(r->evidence, "radios"))
        return RT_OK;
    flow_table(b->flow, COLUMNS, RT_COUNT(COLUMNS));
    for (const struct fact *o = fact_find_first(r->evidence, "radios"); o; o = o->next) {
        const double busy = fact_find_num(o, "busy_share"), theirs = fact_find_num(o, "neighbours_share");
        const struct str ap = fact_find_str(o, "access_point"), band = fact_find_str(o, "band");
        const bool is_over = busy > r->promise->max_busy_share;
        const struct flow_cell cells[] = { evidence_cell(book_text(b, "%.*s, %.*s GHz", STR_ARG(ap), STR_ARG(band))),
                                           evidence_cell(book_text(b, "%.0f", fact_find_num(o, "channel"))),
                                           evidence_cell(fact_find_str(o, "hour")),
                                           { .text = evidence_share(b, busy, 0), .is_accent = is_over },
                                           evidence_cell(evidence_share(b, theirs, 0)),
                                           evidence_cell(evidence_share(b, fmax(busy - theirs, 0.0), 0)) };
        flow_row(b->flow, cells);
    }
    const struct fact *mesh = fact_find(r->evidence, "mesh");
    if (mesh)
        flow_soft(b->flow, "The low-power mesh, channel %.0f: Wi-Fi lies over it for %.*s of its worst hour.",
                  fact_find_num(mesh, "channel"), STR_ARG(evidence_share(b, fact_find_num(mesh, "busy_share"), 0)));
    return RT_OK;
}

/* ---- exposure ---- */

enum rt_code evidence_exposure(struct book *b, const struct promise_result *r, struct rt_problems *p)
{
    struct buf text = { .arena = b->arena };
    (void)p;
    for (const struct fact *o = fact_find_first(r->evidence, "access_points"); o; o = o->next)
        buf_printf(&text, "%s%.*s %.2f m away with %.*s of the limit", text.n ? "; " : "",
                   STR_ARG(fact_find_str(o, "id")), fact_find_num(o, "distance_m"),
                   STR_ARG(evidence_share(b, fact_find_num(o, "share_of_limit"), 1)));
    if (text.n)
        flow_soft(b->flow,
                  "Where a person can come nearest, every radio sending at full power without pause, nothing in the "
                  "way: %.*s.",
                  STR_ARG(buf_done(&text)));
    return RT_OK;
}
