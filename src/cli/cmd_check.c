#include "cli/cmd_house.h"
#include "promise/mend.h"

/* Ports and cables that cannot work as the file says: told, but the promises are judged all the same. */
static void tell_layer2(struct cli *cli, const struct evaluation *ev)
{
    for (uint32_t i = 0; ev->layer2 && i < ev->layer2->findings.n; i++) {
        const struct l2_finding *f = &ev->layer2->findings.v[i];
        if (f->is_error)
            rt_warn(&cli->problems, RT_CONFLICT, f->at, arena_printf(cli->run.arena, "%.*s", STR_ARG(f->hint)), "%.*s",
                    STR_ARG(f->says));
    }
}

int cmd_check(struct cli *cli)
{
    struct house *h;
    struct evaluation ev;
    struct promise_results results;
    if (cli_open_house(cli, &h, &ev) != RT_OK ||
        promises_evaluate(&ev, ALL_PROMISE_KINDS, &results, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct failure_table *failures = NULL;
    if (cli->args.failures && (evaluation_failures(&ev, &failures, &cli->problems) != RT_OK ||
                               failure_table_fill(failures, &cli->problems) != RT_OK))
        return cli_problems(cli, EXIT_TROUBLE);
    struct mends mends = { 0 };
    if (failures && cli->args.mend && failures_mend(failures, &mends, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    tell_layer2(cli, &ev);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        promises_write_json(&j, &ev, &results, failures, cli->args.mend ? &mends : NULL);
    } else {
        promises_write_text(&out, &ev, &results, cli->columns, cli->colour);
        if (failures)
            failure_table_write_text(&out, failures, cli->columns, cli->colour);
        if (failures)
            mends_write_text(&out, failures, &mends, cli->columns, cli->colour);
    }
    const int status = results.n_broken || results.n_unknown ? EXIT_BROKEN : EXIT_KEPT;
    return cli_problems(cli, cli_print(cli, &out, status));
}
