#include <string.h>

#include "base/file.h"
#include "base/units.h"
#include "cli/cmd_house.h"
#include "draw/gather.h"

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

/* The deciding spots of what is broken are marked where a field is drawn. */
static enum rt_code mark_spots(struct cli *cli, struct evaluation *ev, struct draw_options *options)
{
    struct promise_results results;
    if (options->what && !(options->what & (DRAW_SIGNAL | DRAW_RATE | DRAW_SECOND)))
        return RT_OK;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS & ~POLICY_PROMISE_KINDS, &results, &cli->problems));
    return draw_notes(cli->run.arena, &results, options, &cli->problems);
}

int cmd_draw(struct cli *cli)
{
    struct house *h;
    struct evaluation ev;
    struct draw_options options;
    struct draw_files files;
    const struct fields *fields;
    const char *folder = cli->args.out ? cli->args.out : "drawings";
    if (file_check_folder(folder, &cli->problems) != RT_OK || /* told at once, not after all is computed */
        cli_open_house(cli, &h, &ev) != RT_OK || choose(cli, &ev, &options) != RT_OK ||
        draw_gather(&ev, &options, &fields, &cli->problems) != RT_OK || mark_spots(cli, &ev, &options) != RT_OK ||
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
