#include "cli/command.h"
#include "house/house.h"
#include "reach/rehearse.h"
#include "wire/open_parts.h"

int cmd_rehearse(struct cli *cli)
{
    struct house *h;
    struct address_plan *plan;
    struct policy *policy;
    struct rehearsal *r;
    if (house_open(&cli->run, cli->args.file, &h, &cli->problems) != RT_OK ||
        addresses_plan(&cli->run, h, &plan, &cli->problems) != RT_OK ||
        policy_compile(&cli->run, plan, &policy, &cli->problems) != RT_OK ||
        rehearse(&cli->run, policy, NULL, &r, &cli->problems) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        rehearsal_write_json(&j, r);
    } else {
        rehearsal_write_text(&out, r);
    }
    return cli_problems(cli, cli_print(cli, &out, r->disagreed.n ? EXIT_BROKEN : EXIT_KEPT));
}
