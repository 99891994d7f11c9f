#include <string.h>

#include "base/units.h"
#include "cli/cmd_house.h"
#include "draw/draw.h"
#include "draw/load_view.h"
#include "promise/failure_table.h"
#include "promise/port_map.h"
#include "promise/promise.h"
#include "wire/front.h"

/* True if a list of words parted by commas holds the word, or if there is no list. */
static bool wants(const char *list, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = list; at; at = strchr(at, ',')) {
        at += *at == ',';
        if (strncmp(at, word, n) == 0 && (at[n] == ',' || at[n] == '\0'))
            return true;
    }
    return !list;
}

static enum rt_code choose(struct cli *cli, const struct evaluation *ev, struct draw_options *options)
{
    const struct radio_ability *device;
    struct str device_name;
    RT_TRY(cli_device(cli, ev, &device, &device_name));
    const struct args *args = &cli->args;
    *options = draw_options_usual(device, device_name);
    options->availability = given_or(args->availability, options->availability);
    options->all_heights = args->all_heights;
    options->what =
        (wants(args->what, "signal") ? DRAW_SIGNAL : 0u) | (wants(args->what, "rate") ? DRAW_RATE : 0u) |
        (wants(args->what, "second") ? DRAW_SECOND : 0u) | (wants(args->what, "cable") ? DRAW_CABLE : 0u) |
        (wants(args->what, "cabinet") ? DRAW_CABINET : 0u) | (wants(args->what, "ports") ? DRAW_PORTS : 0u) |
        (wants(args->what, "week") ? DRAW_WEEK : 0u) | (wants(args->what, "load") ? DRAW_LOAD : 0u) |
        (wants(args->what, "spectrum") ? DRAW_SPECTRUM : 0u) | (wants(args->what, "failures") ? DRAW_FAILURES : 0u);
    options->formats = (wants(args->format, "svg") ? DRAW_SVG : 0u) | (wants(args->format, "png") ? DRAW_PNG : 0u);
    for (int band = 0; args->bands && band < BAND_COUNT; band++)
        options->bands |= wants(args->bands, band_name((enum band)band)) ? 1u << band : 0u;
    return args->floor ? cli_floor(cli, ev->h, &options->floor) : RT_OK;
}

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

/* Marks the deciding spot of every promise that is broken. */
static enum rt_code mark_witnesses(struct cli *cli, struct evaluation *ev, struct draw_options *options)
{
    struct promise_results results;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS & ~POLICY_PROMISE_KINDS, &results, &cli->problems));
    struct draw_note *notes = ARENA_ARRAY(cli->run.arena, struct draw_note, results.n);
    struct str *lines = ARENA_ARRAY(cli->run.arena, struct str, (size_t)results.n * 2);
    if (!notes || !lines)
        return rt_fail_memory(&cli->problems);
    for (uint32_t i = 0; i < results.n; i++) {
        const struct promise_result *r = &results.v[i];
        const uint32_t what = drawing_of(r->promise->kind);
        if (r->state != PROMISE_BROKEN || !r->witness.is_set || !what)
            continue;
        struct draw_note *note = &notes[options->notes.n++];
        lines[0] = r->promise->says;
        lines[1] = r->witness.lines.n ? r->witness.lines.v[0] : STR("");
        /* Sheets are cut at the usual height; what was promised at another says so. */
        const double height_m = r->promise->height_m;
        const struct str head =
            is_given(height_m)
                ? str_from(arena_printf(cli->run.arena, "%.*s, %.3g m up", STR_ARG(r->witness.title), height_m))
                : r->witness.title;
        if (!head.p)
            return rt_fail_memory(&cli->problems);
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

static void write_files_json(struct buf *out, const struct draw_files *files)
{
    struct json j = { .out = out };
    json_begin_object(&j, NULL);
    json_begin_array(&j, "files");
    for (uint32_t i = 0; i < files->paths.n; i++)
        json_str(&j, NULL, files->paths.v[i]);
    json_end_array(&j);
    json_end_object(&j);
    json_end(&j);
}

/* Where the cables lie, and in which ports they end. */
static enum rt_code compute_cables(struct cli *cli, struct evaluation *ev, struct draw_options *options)
{
    const struct wire_links *links = NULL;
    const struct port_plan *ports = NULL;
    RT_TRY(evaluation_cables(ev, &options->cables, &links, &cli->problems));
    RT_TRY(evaluation_ports(ev, &ports, &cli->problems));
    options->numbers = ports->numbers;
    return RT_OK;
}

/* Fronts of cabinets with the numbers of the ports, and the port map. */
static enum rt_code compute_ports(struct cli *cli, struct evaluation *ev, struct draw_options *options)
{
    const struct wire_links *links = NULL;
    const struct power_plan *power = NULL;
    struct front_plan *fronts = NULL;
    struct port_map *map = NULL;
    struct proof *proof = NULL;
    RT_TRY(evaluation_proof(ev, &proof, &cli->problems));
    RT_TRY(evaluation_cables(ev, &options->cables, &links, &cli->problems));
    RT_TRY(evaluation_power(ev, &power, &cli->problems));
    RT_TRY(evaluation_energy(ev, &options->energy, &cli->problems));
    RT_TRY(front_plan_make(&cli->run, options->energy, &fronts, &cli->problems));
    RT_TRY(port_map_make(&cli->run, ev->layer2, links, power, &map, &cli->problems));
    options->fronts = fronts;
    options->ports = map;
    return RT_OK;
}

/* What the sheets show.  Those without a field need only its grids. */
static enum rt_code compute(struct cli *cli, struct evaluation *ev, struct draw_options *options,
                            const struct fields **fields)
{
    const bool has_field = options->what & (DRAW_SIGNAL | DRAW_RATE | DRAW_SECOND);
    if (has_field) /* all of it, before anybody asks for a part */
        RT_TRY(evaluation_fields(ev, ev->options.trace.estimate, fields, &cli->problems));
    if (options->what & DRAW_CABLE)
        RT_TRY(compute_cables(cli, ev, options));
    if (options->what & (DRAW_CABINET | DRAW_PORTS))
        RT_TRY(compute_ports(cli, ev, options));
    if (options->what & (DRAW_WEEK | DRAW_LOAD | DRAW_SPECTRUM)) {
        struct load_view *load = NULL;
        RT_TRY(load_view_make(ev, &load, &cli->problems));
        options->load = load;
    }
    if (options->what & DRAW_FAILURES) {
        struct failure_table *failures = NULL;
        RT_TRY(evaluation_failures(ev, &failures, &cli->problems));
        RT_TRY(failure_table_fill(failures, &cli->problems));
        options->failures = failures;
    }
    if (has_field)
        return mark_witnesses(cli, ev, options);
    struct fields *grids = ARENA_NEW(cli->run.arena, struct fields);
    if (!grids)
        return rt_fail_memory(&cli->problems);
    grids->options = ev->options;
    *fields = grids;
    return grids_of_house(&cli->run, ev->h, ev->options.cell_m, grids, &cli->problems);
}

int cmd_draw(struct cli *cli)
{
    struct house *h;
    struct evaluation ev;
    struct draw_options options;
    struct draw_files files;
    const struct fields *fields;
    const char *folder = cli->args.out ? cli->args.out : "drawings";
    if (cli_open_house(cli, &h, &ev) != RT_OK || choose(cli, &ev, &options) != RT_OK ||
        compute(cli, &ev, &options, &fields) != RT_OK ||
        draw_house(&cli->run, h, fields, &options, folder, &files, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json)
        write_files_json(&out, &files);
    else
        for (uint32_t i = 0; i < files.paths.n; i++)
            buf_printf(&out, "%.*s\n", STR_ARG(files.paths.v[i]));
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
