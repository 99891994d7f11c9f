#include "draw/gather.h"

#include "base/units.h"
#include "draw/load_view.h"
#include "promise/failure_table.h"
#include "promise/port_map.h"
#include "promise/promise.h"
#include "wire/front.h"

/* On which drawing the witness of a promise belongs; 0: on none of these. */
static uint32_t drawing_of(enum promise_kind kind)
{
    switch (kind) {
    case PROMISE_SIGNAL:
        return DRAW_SIGNAL;
    case PROMISE_RATE:
        return DRAW_RATE;
    case PROMISE_ROAMING:
        return DRAW_SECOND;
    default:
        return 0;
    }
}

enum rt_code draw_notes(struct arena *a, const struct promise_results *results, struct draw_options *options,
                        struct rt_problems *p)
{
    struct draw_note *notes = ARENA_ARRAY(a, struct draw_note, results->n);
    struct str *lines = ARENA_ARRAY(a, struct str, (size_t)results->n * 2);
    if (!notes || !lines)
        return rt_fail_memory(p);
    for (uint32_t i = 0; i < results->n; i++) {
        const struct promise_result *r = &results->v[i];
        const uint32_t what = drawing_of(r->promise->kind);
        if (r->state != PROMISE_BROKEN || !r->witness.is_set || !what)
            continue;
        struct draw_note *note = &notes[options->notes.n++];
        lines[0] = r->promise->says;
        lines[1] = r->witness.lines.n ? r->witness.lines.v[0] : STR("");
        /* Sheets are cut at the usual height; what was promised at another says so. */
        const double height_m = r->promise->height_m;
        const struct str head = is_given(height_m)
                                    ? str_from(arena_printf(a, "%.*s, %.3g m up", STR_ARG(r->witness.title), height_m))
                                    : r->witness.title;
        if (!head.p)
            return rt_fail_memory(p);
        *note = (struct draw_note){ .floor = r->witness.floor,
                                    .at_m = { r->witness.at_m.x, r->witness.at_m.y },
                                    .what = what,
                                    .bands = r->witness.bands,
                                    .state = DRAW_BROKEN,
                                    .head = head };
        note->lines.v = lines;
        note->lines.n = 2;
        lines += 2;
    }
    options->notes.v = notes;
    return RT_OK;
}

/* Where the cables lie, and in which ports they end. */
static enum rt_code compute_cables(struct evaluation *ev, struct draw_options *options, struct rt_problems *p)
{
    const struct wire_links *links = NULL;
    const struct port_plan *ports = NULL;
    RT_TRY(evaluation_cables(ev, &options->cables, &links, p));
    RT_TRY(evaluation_ports(ev, &ports, p));
    options->numbers = ports->numbers;
    return RT_OK;
}

/* Fronts of cabinets with the numbers of the ports, and the port map. */
static enum rt_code compute_ports(struct evaluation *ev, struct draw_options *options, struct rt_problems *p)
{
    const struct wire_links *links = NULL;
    const struct power_plan *power = NULL;
    struct front_plan *fronts = NULL;
    struct port_map *map = NULL;
    struct proof *proof = NULL;
    RT_TRY(evaluation_proof(ev, &proof, p));
    RT_TRY(evaluation_cables(ev, &options->cables, &links, p));
    RT_TRY(evaluation_power(ev, &power, p));
    RT_TRY(evaluation_energy(ev, &options->energy, p));
    RT_TRY(front_plan_make(ev->run, options->energy, &fronts, p));
    RT_TRY(port_map_make(ev->run, ev->layer2, links, power, &map, p));
    options->fronts = fronts;
    options->ports = map;
    return RT_OK;
}

enum rt_code draw_gather(struct evaluation *ev, struct draw_options *options, const struct fields **fields,
                         struct rt_problems *p)
{
    const uint32_t what = options->what ? options->what : DRAW_ALL_WHAT;
    const bool has_field = what & (DRAW_SIGNAL | DRAW_RATE | DRAW_SECOND);
    if (has_field) /* all of it, before anybody asks for a part */
        RT_TRY(evaluation_fields(ev, ev->options.trace.estimate, fields, p));
    if (what & DRAW_CABLE)
        RT_TRY(compute_cables(ev, options, p));
    if (what & (DRAW_CABINET | DRAW_PORTS))
        RT_TRY(compute_ports(ev, options, p));
    if (what & (DRAW_WEEK | DRAW_LOAD | DRAW_SPECTRUM)) {
        struct load_view *load = NULL;
        RT_TRY(load_view_make(ev, &load, p));
        options->load = load;
    }
    if (what & DRAW_FAILURES) {
        struct failure_table *failures = NULL;
        RT_TRY(evaluation_failures(ev, &failures, p));
        RT_TRY(failure_table_fill(failures, p));
        options->failures = failures;
    }
    if (has_field)
        return RT_OK;
    struct fields *grids = ARENA_NEW(ev->run->arena, struct fields);
    if (!grids)
        return rt_fail_memory(p);
    grids->options = ev->options;
    *fields = grids;
    return grids_of_house(ev->run, ev->h, ev->options.cell_m, grids, p);
}
