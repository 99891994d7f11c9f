#include "cli/cmd_house.h"

#include <string.h>
#include <sys/stat.h>

#include "base/units.h"
#include "data/device_kinds.h"
#include "wire/open_parts.h"

static enum estimate estimate_by_name(const char *name)
{
    for (int e = ESTIMATE_CAREFUL; e <= ESTIMATE_HOPEFUL; e++)
        if (strcmp(name, estimate_name((enum estimate)e)) == 0)
            return (enum estimate)e;
    return ESTIMATE_CAREFUL;
}

enum rt_code cli_open_house(struct cli *cli, struct house **h, struct evaluation *ev)
{
    RT_TRY(house_open(&cli->run, cli->args.file, h, &cli->problems));
    struct field_options options = evaluation_default_options(*h);
    options.cell_m = given_or(cli->args.cell_m, options.cell_m);
    options.trace.order = (int)given_or(cli->args.order, options.trace.order);
    options.trace.diffraction = !cli->args.no_diffraction;
    if (cli->args.estimate)
        options.trace.estimate = estimate_by_name(cli->args.estimate);
    return evaluation_begin(ev, &cli->run, *h, options, &cli->problems);
}

enum rt_code cli_floor(struct cli *cli, const struct house *h, uint32_t *floor)
{
    const struct str name = str_from(cli->args.floor);
    *floor = house_find_floor(h, name);
    if (*floor != NO_REF)
        return RT_OK;
    struct str *ids = ARENA_ARRAY(cli->run.arena, struct str, h->floors.n);
    struct buf list = { .arena = cli->run.arena };
    for (uint32_t i = 0; ids && i < h->floors.n; i++) {
        ids[i] = h->floors.v[i].id;
        buf_printf(&list, "%s%.*s", i ? ", " : "", STR_ARG(ids[i]));
    }
    if (!ids || list.failed)
        return rt_fail_memory(&cli->problems);
    const size_t near = str_nearest(name, ids, h->floors.n);
    const char *hint = near < h->floors.n
                           ? arena_printf(cli->run.arena, "did you mean `%.*s`?", STR_ARG(ids[near]))
                           : arena_printf(cli->run.arena, "its floors are: %.*s", STR_ARG(buf_done(&list)));
    return rt_fail(&cli->problems, RT_UNKNOWN_REF, RT_NOWHERE, hint, "the house has no floor `%.*s`", STR_ARG(name));
}

enum rt_code cli_device(struct cli *cli, const struct evaluation *ev, const struct radio_ability **out,
                        struct str *name)
{
    *name = str_from(cli->args.device ? cli->args.device : DEVICE_KIND_USUAL);
    const struct device_kind *kind = device_kind_find(*name);
    *out = evaluation_radio_of(ev, *name);
    if (*out)
        return RT_OK;
    return rt_fail(&cli->problems, RT_UNKNOWN_REF, RT_NOWHERE, "take phone, tablet, laptop, television, camera ...",
                   kind ? "a device of the kind `%.*s` has no radio" : "there is no kind of device `%.*s`",
                   STR_ARG(*name));
}

bool cli_is_same_file(const char *a, const char *b)
{
    struct stat x, y;
    return stat(a, &x) == 0 && stat(b, &y) == 0 && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}
