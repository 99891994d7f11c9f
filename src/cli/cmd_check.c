#include "cli/cmd_house.h"
#include "promise/promise.h"

int cmd_check(struct cli *cli)
{
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    if (cli_open_house(cli, &h, &ev) != RT_OK ||
        promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        promises_write_json(&j, &ev, &results);
    } else {
        promises_write_text(&out, &ev, &results, cli->columns, cli->colour);
    }
    const int status = results.n_broken || results.n_unknown ? EXIT_BROKEN : EXIT_KEPT;
    return cli_problems(cli, cli_print(cli, &out, status));
}
