#include "cli/command.h"
#include "house/house.h"

int cmd_schema(struct cli *cli)
{
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.parts)
        parts_write_schema(&out);
    else
        house_write_schema(&out);
    return cli_print(cli, &out, EXIT_KEPT);
}
