#include "base/file.h"
#include "base/units.h"
#include "cli/cmd_house.h"
#include "cli/parts_path.h"
#include "data/device_kinds.h"
#include "design/compare.h"
#include "design/design_text.h"
#include "draw/side_sheet.h"
#include "wire/open_parts.h"

static struct design_options options_of(const struct args *a)
{
    return (struct design_options){ .anew = a->anew,
                                    .generates = !a->own_mounts,
                                    .allows_radar = a->radar,
                                    .seconds = given_or(a->seconds, DESIGN_SECONDS),
                                    .gap = DESIGN_GAP,
                                    .grid_m = DESIGN_GRID_M };
}

static int status_of(const struct promise_results *r) { return r->n_broken || r->n_unknown ? EXIT_BROKEN : EXIT_KEPT; }

/* ---- a design ---- */

static enum rt_code write_house(struct cli *cli, const struct house *h, const struct design *d)
{
    struct str bytes;
    RT_TRY(fit_write(&cli->run, h, d->fitted.house, &bytes, &cli->problems));
    RT_TRY(parts_path_move(&cli->run, h, cli->args.out, &bytes, &cli->problems));
    return file_write(cli->args.out, bytes, 0644, &cli->problems);
}

static enum rt_code design(struct cli *cli, struct design **d, stage_list *stages)
{
    struct house *h;
    if (!cli->args.out)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say where it goes: --out FILE.house.yaml",
                       "a design is written to a file of its own");
    if (cli_is_same_file(cli->args.file, cli->args.out))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "give --out another name, and compare the two",
                       "the design would take the place of the house it is made from, %s", cli->args.file);
    RT_TRY(house_open(&cli->run, cli->args.file, &h, &cli->problems));
    RT_TRY(design_make(&cli->run, h, options_of(&cli->args), d, &cli->problems));
    cli->run.cancel = NULL; /* asked to stop, it still writes the best so far */
    if (cli->args.phases)
        RT_TRY(stages_split(&cli->run, *d, stages, &cli->problems));
    return write_house(cli, h, *d);
}

static int run_design(struct cli *cli)
{
    struct design *d;
    stage_list stages = { 0 };
    if (design(cli, &d, &stages) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        design_write_json(&j, d, cli->args.phases ? &stages : NULL);
    } else {
        design_write_text(&out, d, cli->args.phases ? &stages : NULL, cli->columns, cli->colour);
        buf_printf(&out, "\n%s\n", cli->args.out);
    }
    return cli_problems(cli, cli_print(cli, &out, status_of(&d->results)));
}

/* ---- two houses side by side ---- */

static enum rt_code open_both(struct cli *cli, struct comparison *c)
{
    struct evaluation *ev[2];
    const char *files[] = { cli->args.file, cli->args.compare };
    for (int i = 0; i < 2; i++) {
        struct house *h;
        ev[i] = ARENA_NEW(cli->run.arena, struct evaluation);
        if (!ev[i])
            return rt_fail_memory(&cli->problems);
        RT_TRY(house_open(&cli->run, files[i], &h, &cli->problems));
        RT_TRY(evaluation_begin(ev[i], &cli->run, h, evaluation_default_options(h), &cli->problems));
    }
    return houses_compare(ev[0], ev[1], c, &cli->problems);
}

static enum rt_code draw_both(struct cli *cli, const struct comparison *c, struct draw_files *files)
{
    struct evaluation *first = c->house[0].ev, *second = c->house[1].ev;
    const struct house *const h[2] = { first->h, second->h };
    const struct fields *f[2];
    const struct str device = STR(DEVICE_KIND_USUAL);
    const struct draw_options options = draw_options_usual(evaluation_radio_of(first, device), device);
    RT_TRY(evaluation_fields(first, first->options.trace.estimate, &f[0], &cli->problems));
    RT_TRY(evaluation_fields(second, second->options.trace.estimate, &f[1], &cli->problems));
    return draw_side_by_side(&cli->run, h, f, &options, cli->args.out, files, &cli->problems);
}

static int run_compare(struct cli *cli)
{
    struct comparison c;
    struct draw_files files = { 0 };
    if (open_both(cli, &c) != RT_OK || (cli->args.out && draw_both(cli, &c, &files) != RT_OK))
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        comparison_write_json(&j, &c, files.paths.v, files.paths.n);
    } else {
        comparison_write_text(&out, &c, cli->columns, cli->colour);
        for (uint32_t i = 0; i < files.paths.n; i++)
            buf_printf(&out, "%s%.*s\n", i ? "" : "\n", STR_ARG(files.paths.v[i]));
    }
    return cli_problems(cli, cli_print(cli, &out, status_of(&c.house[1].results)));
}

int cmd_design(struct cli *cli) { return cli->args.compare ? run_compare(cli) : run_design(cli); }
