#include "cli/cmd_house.h"
#include "promise/promise.h"
#include "promise/prove.h"
#include "wire/open_parts.h"

static enum rt_code make_report(struct cli *cli, struct prove_report *out)
{
    struct rt_problems *p = &cli->problems;
    struct house *h, *other = NULL;
    RT_TRY(house_open(&cli->run, cli->args.file, &h, p));
    if (cli->args.against)
        RT_TRY(house_open(&cli->run, cli->args.against, &other, p));
    return prove_report_make(&cli->run, h, cli->args.ruleset, other, out, p);
}

int cmd_prove(struct cli *cli)
{
    struct prove_report report;
    if (make_report(cli, &report) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        prove_report_write_json(&j, &report);
    } else {
        prove_report_write_text(&out, &report, cli->columns, cli->colour);
    }
    const int status = report.promises.n_broken || report.promises.n_unknown ? EXIT_BROKEN : EXIT_KEPT;
    return cli_problems(cli, cli_print(cli, &out, status));
}
