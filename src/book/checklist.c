#include "book/checklist.h"

#include <math.h>

#include "base/json.h"
#include "base/units.h"
#include "book/floors.h"
#include "book/wires_int.h"

struct listing {
    struct book b;
    struct cable_book c;
    struct buf text;
    struct json j;
    VEC(struct checklist_box) boxes;
    bool failed; /* the arena's ceiling */
};

/* ---- boxes ---- */

/* `of`, the key of its id in the object that is open; ids that two things share are told apart by a number. */
static void add_box(struct listing *l, const char *key, struct str id, struct str name,
                    const struct acceptance_row *row)
{
    struct str own = id;
    for (uint32_t i = 0, n = 1; i < l->boxes.n; i++)
        if (str_eq(l->boxes.v[i].id, own)) {
            own = book_text(&l->b, "%.*s #%u", STR_ARG(id), ++n);
            i = 0;
        }
    const struct checklist_box box = { .id = own,
                                       .name = name,
                                       .at_least = row ? row->at_least : RT_NOT_GIVEN,
                                       .at_most = row ? row->at_most : RT_NOT_GIVEN };
    l->failed |= !VEC_PUSH(l->b.arena, &l->boxes, box);
    json_str(&l->j, key, own);
}

static void write_floor(struct listing *l, uint32_t floor)
{
    if (floor == NO_REF)
        json_null(&l->j, "floor");
    else
        json_str(&l->j, "floor", l->b.h->floors.v[floor].id);
}

static void write_point(struct listing *l, const char *key, struct vec3 at)
{
    if (!is_given(at.x)) {
        json_null(&l->j, key);
        return;
    }
    json_begin_array(&l->j, key);
    json_fixed(&l->j, NULL, at.x, 3);
    json_fixed(&l->j, NULL, at.y, 3);
    json_fixed(&l->j, NULL, at.z, 3);
    json_end_array(&l->j);
}

/* ---- the lists ---- */

static void list_order(struct listing *l)
{
    struct str what, minds;
    uint32_t n;
    const char *const *cautions = install_cautions(&n);
    json_begin_array(&l->j, "cautions");
    for (uint32_t i = 0; i < n; i++)
        json_text(&l->j, NULL, cautions[i]);
    json_end_array(&l->j);
    json_begin_array(&l->j, "order");
    for (uint32_t i = 0; l->b.h->cables.n && cables_step(&l->c, i, &what, &minds); i++) {
        json_begin_object(&l->j, NULL);
        add_box(l, "box", book_text(&l->b, "order/%u", i + 1), what, NULL);
        json_str(&l->j, "says", what);
        json_str(&l->j, "minds", minds);
        json_end_object(&l->j);
    }
    json_end_array(&l->j);
}

static void list_fix(struct listing *l)
{
    const struct house *h = l->b.h;
    json_begin_array(&l->j, "fix");
    for (uint32_t pass = 0; pass < 2; pass++)
        for (uint32_t i = 0; i < (pass ? h->devices.n : h->equipment.n); i++) {
            struct floor_fixed f;
            if (!floor_fixed(&l->b, pass == 1, i, &f))
                continue;
            json_begin_object(&l->j, NULL);
            add_box(l, "box", book_text(&l->b, "fix/%.*s", STR_ARG(f.id)), book_text(&l->b, "fix %.*s", STR_ARG(f.id)),
                    NULL);
            json_str(&l->j, "id", f.id);
            json_str(&l->j, "what", f.what);
            write_floor(l, f.floor);
            write_point(l, "at_m", f.at_m);
            json_str(&l->j, "where", f.where);
            json_str(&l->j, "how", f.how);
            json_str(&l->j, "arrives", f.arrives);
            json_end_object(&l->j);
        }
    json_end_array(&l->j);
}

static struct str place_key(struct listing *l, const struct cable_work *w)
{
    const struct str floor = w->floor == NO_REF ? STR("-") : l->b.h->floors.v[w->floor].id;
    return book_text(&l->b, "%s/%.*s/%.0f,%.0f,%.0f", w->kind == WORK_BOARD ? "board" : "hole", STR_ARG(floor),
                     round(w->at_m.x * 10.0) + 0.0, round(w->at_m.y * 10.0) + 0.0, round(w->at_m.z * 10.0) + 0.0);
}

static void write_work(struct listing *l, uint32_t i)
{
    const struct cable_work *w = &l->c.plan->work.v[i];
    const struct str where = cable_work_where(&l->c, i);
    json_begin_object(&l->j, NULL);
    add_box(l, "box", place_key(l, w),
            book_text(&l->b, "%s %.*s", w->kind == WORK_BOARD ? "lift the board" : "drill", STR_ARG(where)), NULL);
    json_str(&l->j, "mark", install_work_mark(l->b.arena, l->c.in, i));
    json_text(&l->j, "kind", w->kind == WORK_BOARD ? "board" : "hole");
    write_floor(l, w->floor);
    write_point(l, "at", w->at_m);
    json_str(&l->j, "where", where);
    json_str(&l->j, "through", cable_work_through(&l->c, i));
    json_str(&l->j, "bit_mm", cable_work_bit(&l->c, i));
    json_str(&l->j, "caution", install_caution(l->c.in, i));
    json_begin_array(&l->j, "cables");
    for (uint32_t k = 0; k < w->cables.n; k++)
        json_str(&l->j, NULL, l->b.h->cables.v[w->cables.v[k].i].id);
    json_end_array(&l->j);
    json_end_object(&l->j);
}

/* Holes, then boards, as they are numbered. */
static void list_work(struct listing *l)
{
    json_begin_array(&l->j, "work");
    for (int boards = 0; boards < 2; boards++)
        for (uint32_t i = 0; i < l->c.plan->work.n; i++)
            if ((l->c.plan->work.v[i].kind == WORK_BOARD) == (boards == 1) && cable_work_is_new(&l->c, i))
                write_work(l, i);
    json_end_array(&l->j);
}

static void write_end(struct listing *l, uint32_t cable, bool at_from)
{
    const struct cable *of = &l->b.h->cables.v[cable];
    const struct cable_end *end = at_from ? &of->from : &of->to;
    const struct port_numbers ports = l->c.numbers[cable];
    const struct end_label label = cable_end_label(&l->c, cable, at_from);
    json_begin_object(&l->j, at_from ? "from" : "to");
    json_str(&l->j, "what", end->what);
    json_int(&l->j, "port", end_label_number(end, at_from ? ports.from : ports.to));
    json_str(&l->j, "room", end_label_room(l->b.h, end));
    json_str(&l->j, "place", cable_end_place(&l->c, cable, at_from));
    json_str(&l->j, "label", label.name);
    json_str(&l->j, "label_far", label.far);
    json_end_object(&l->j);
}

static void write_boxes(struct listing *l, uint32_t cable)
{
    static const char *const WORDS[] = { "laid", "ended", "tested" };
    const struct cable *of = &l->b.h->cables.v[cable];
    json_begin_array(&l->j, "boxes");
    for (size_t i = 0; i < RT_COUNT(WORDS); i++) {
        if (i < 2 && (of->owned || (i == 1 && cable_is_cord(l->b.h, cable))))
            continue; /* it lies already; a cord comes with its ends */
        json_begin_object(&l->j, NULL);
        add_box(l, "box", book_text(&l->b, "cable/%.*s/%s", STR_ARG(of->id), WORDS[i]),
                book_text(&l->b, "%.*s %s", STR_ARG(of->id), WORDS[i]), NULL);
        json_text(&l->j, "says", WORDS[i]);
        json_end_object(&l->j);
    }
    json_end_array(&l->j);
}

static uint32_t floor_of(const struct routed_cable *r)
{
    for (uint32_t i = 0; i < r->legs.n; i++)
        if (r->legs.v[i].floor != NO_REF)
            return r->legs.v[i].floor;
    return NO_REF;
}

static void list_cables(struct listing *l)
{
    json_begin_array(&l->j, "cables");
    for (uint32_t i = 0; i < l->b.h->cables.n; i++) {
        const uint32_t cable = l->c.order[i];
        const struct cable *of = &l->b.h->cables.v[cable];
        json_begin_object(&l->j, NULL);
        json_str(&l->j, "id", of->id);
        json_str(&l->j, "group", cable_group_words(&l->c, i));
        json_bool(&l->j, "lies_already", of->owned);
        json_bool(&l->j, "is_cord", cable_is_cord(l->b.h, cable));
        write_end(l, cable, true);
        write_end(l, cable, false);
        json_fixed(&l->j, "length_m", bill_cut_m(l->c.plan, l->b.links, cable), 1);
        json_str(&l->j, "kind", cable_kind_words(&l->c, cable));
        json_str(&l->j, "carries", cable_carries_words(&l->c, cable));
        json_str(&l->j, "feeds", cable_feeds_words(&l->c, cable));
        json_str(&l->j, "way", cable_way_words(&l->c, cable));
        write_floor(l, floor_of(&l->c.plan->cables[cable]));
        write_boxes(l, cable);
        json_end_object(&l->j);
    }
    json_end_array(&l->j);
}

/* ---- the tests of the day ---- */

static void write_test_row(struct listing *l, const struct promise *promise, const struct acceptance_row *row,
                           uint32_t number)
{
    json_begin_object(&l->j, NULL);
    add_box(l, "box",
            book_text(&l->b, "test/%.*s/%.*s/%.*s", STR_ARG(promise->id), STR_ARG(row->band), STR_ARG(row->where)),
            book_text(&l->b, "test: %.*s; %.*s", STR_ARG(promise->says), STR_ARG(row->where)), row);
    json_int(&l->j, "number", number);
    json_str(&l->j, "where", row->where);
    json_str(&l->j, "device", row->device);
    json_str(&l->j, "band", row->band);
    json_str(&l->j, "passes", row->passes);
    json_str(&l->j, "computed", row->computed);
    json_fixed(&l->j, "at_least", row->at_least, row->decimals);
    json_fixed(&l->j, "at_most", row->at_most, row->decimals);
    json_text(&l->j, "unit", row->unit);
    json_bool(&l->j, "is_further", row->is_further);
    json_end_object(&l->j);
}

/* Tried by walking about; cables are tested with their own boxes, growth and cost are reckoned at the desk. */
static bool is_tried_here(enum promise_kind kind)
{
    return kind != PROMISE_CABLE && kind != PROMISE_GROWTH && kind != PROMISE_COST;
}

static void list_tests(struct listing *l, const struct acceptance *list)
{
    json_begin_array(&l->j, "tests");
    for (uint32_t t = 0; t < list->tests.n; t++) {
        const struct acceptance_test *test = &list->tests.v[t];
        const struct promise *promise = test->result->promise;
        if (!is_tried_here(promise->kind))
            continue;
        json_begin_object(&l->j, NULL);
        json_str(&l->j, "promise", promise->id);
        json_text(&l->j, "heading", promise_heading(promise->kind));
        json_str(&l->j, "says", promise->says);
        json_text(&l->j, "state", promise_state_name(test->result->state));
        json_str(&l->j, "how", test->how);
        json_str(&l->j, "note", test->note);
        json_begin_array(&l->j, "rows");
        for (uint32_t i = test->first; i < test->first + test->n; i++)
            write_test_row(l, promise, &list->rows.v[i], i + 1);
        json_end_array(&l->j);
        json_end_object(&l->j);
    }
    json_end_array(&l->j);
}

/* ---- all of it ---- */

static enum rt_code gather(struct book *b, struct rt_problems *p)
{
    const struct cable_plan *cables;
    const struct port_plan *ports;
    const struct power_plan *power;
    RT_TRY(promises_evaluate(b->ev, ALL_PROMISE_KINDS, &b->results, p));
    RT_TRY(evaluation_proof(b->ev, &b->proof, p));
    RT_TRY(evaluation_cables(b->ev, &cables, &b->links, p));
    RT_TRY(evaluation_ports(b->ev, &ports, p));
    RT_TRY(evaluation_power(b->ev, &power, p));
    b->draw.numbers = ports->numbers;
    return evaluation_bill(b->ev, &b->bill, p);
}

static enum rt_code write_lists(struct listing *l, struct rt_problems *p)
{
    struct acceptance *tests = NULL;
    RT_TRY(acceptance_make(l->b.ev, &l->b.results, &tests, p));
    if (l->b.h->cables.n)
        RT_TRY(cable_book_begin(&l->c, &l->b, p));
    json_begin_object(&l->j, NULL);
    list_order(l);
    list_fix(l);
    if (l->b.h->cables.n) {
        list_work(l);
        list_cables(l);
    } else {
        json_begin_array(&l->j, "work");
        json_end_array(&l->j);
        json_begin_array(&l->j, "cables");
        json_end_array(&l->j);
    }
    list_tests(l, tests);
    json_end_object(&l->j);
    return l->failed || l->text.failed ? rt_fail_memory(p) : RT_OK;
}

enum rt_code checklist_make(struct evaluation *ev, struct checklist **out, struct rt_problems *p)
{
    struct arena *a = ev->run->arena;
    struct checklist *list = ARENA_NEW(a, struct checklist);
    struct listing *l = ARENA_NEW(a, struct listing);
    if (!list || !l)
        return rt_fail_memory(p);
    *l = (struct listing){ .b = { .run = ev->run, .arena = a, .h = ev->h, .ev = ev, .flow = flow_new(a, FLOW_A4) },
                           .text = { .arena = a } };
    l->j = (struct json){ .out = &l->text, .compact = true };
    if (!l->b.flow)
        return rt_fail_memory(p);
    RT_TRY(gather(&l->b, p));
    RT_TRY(write_lists(l, p));
    list->json = buf_done(&l->text);
    list->boxes.v = l->boxes.v;
    list->boxes.n = l->boxes.n;
    *out = list;
    return RT_OK;
}

int checklist_passes(const struct checklist_box *box, double reading)
{
    if (!isfinite(reading) || (!is_given(box->at_least) && !is_given(box->at_most)))
        return -1;
    return (!is_given(box->at_least) || reading >= box->at_least) &&
           (!is_given(box->at_most) || reading <= box->at_most);
}
