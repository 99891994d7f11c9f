/* cmd_house.h - what the commands that read a house have in common. */
#ifndef RT_CLI_CMD_HOUSE_H
#define RT_CLI_CMD_HOUSE_H

#include "cli/command.h"
#include "promise/evaluation.h"

/* Reads the house named on the command line, applies the options, prepares the evaluation. */
RT_MUST_CHECK enum rt_code cli_open_house(struct cli *cli, struct house **h, struct evaluation *ev);
/* The floor named by --floor; adds a problem with the nearest name if there is none. */
RT_MUST_CHECK enum rt_code cli_floor(struct cli *cli, const struct house *h, uint32_t *floor);
/* The radio of --device; *name is how outputs call it. */
RT_MUST_CHECK enum rt_code cli_device(struct cli *cli, const struct evaluation *ev, const struct radio_ability **out,
                                      struct str *name);
/* Are these two names of one file that is there? */
bool cli_is_same_file(const char *a, const char *b);

#endif
