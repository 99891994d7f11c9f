#include "base/units.h"
#include "cli/cmd_house.h"
#include "promise/spot_report.h"

static const double DEFAULT_HEIGHT_M = 1.2, DEFAULT_AVAILABILITY = 0.90;
enum { PATHS_FOR_PEOPLE = 4 };

static enum rt_code make_report(struct cli *cli, struct evaluation *ev, struct spot_report *report)
{
    struct house *h;
    uint32_t floor;
    const struct radio_ability *device;
    struct str device_name;
    RT_TRY(cli_open_house(cli, &h, ev));
    RT_TRY(cli_floor(cli, h, &floor));
    RT_TRY(cli_device(cli, ev, &device, &device_name));
    const struct vec3 at_m = { cli->args.at_m.x, cli->args.at_m.y, given_or(cli->args.at_m.z, DEFAULT_HEIGHT_M) };
    if (!polygon_contains(h->floors.v[floor].outline, (struct vec2){ at_m.x, at_m.y }))
        rt_warn(&cli->problems, RT_GEOMETRY, RT_NOWHERE, "the levels hold for that point in the open",
                "%.2f, %.2f lies outside of the floor `%s`", at_m.x, at_m.y, cli->args.floor);
    const double paths = given_or(cli->args.paths, cli->args.json ? 0 : PATHS_FOR_PEOPLE);
    return spot_report_make(ev, floor, at_m, device, device_name,
                            given_or(cli->args.availability, DEFAULT_AVAILABILITY), (uint32_t)paths, report,
                            &cli->problems);
}

int cmd_signal(struct cli *cli)
{
    struct evaluation ev;
    struct spot_report report;
    if (make_report(cli, &ev, &report) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        spot_report_write_json(&j, &report);
    } else {
        spot_report_write_text(&out, &report);
    }
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
