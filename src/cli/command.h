/* command.h - the commands are one table; help, the manual page, the shell completion and the docs page come from it.
 *
 * A new command: a file cmd_NAME.c with its function, its options and its row in command.c. */
#ifndef RT_CLI_COMMAND_H
#define RT_CLI_COMMAND_H

#include <stdbool.h>
#include <stdint.h>

#include "base/geom.h"
#include "base/problem.h"
#include "base/run.h"

/* Exit statuses of every command. */
enum { EXIT_KEPT = 0, EXIT_BROKEN = 1, EXIT_TROUBLE = 2 };

/* What the command line asked for; each command reads the members that its options set. */
struct args {
    const char *file; /* the house, or whatever the command takes */
    bool help, json;
    double threads; /* 0: one for each processor */
    const char *estimate, *floor, *out, *device, *what, *bands, *format, *form;
    const char *from, *to, *service, *when, *ruleset, *against, *compare, *paper, *date, *by, *page, *labels, *listen,
        *password_file, *name;
    struct vec3 at_m; /* z NaN: 1.2 m */
    bool at_given;
    double order, cell_m, paths, availability, seconds, port, skip, dpi;
    bool no_diffraction, all_heights, parts, with_secrets, failures, mend, anew, own_mounts, radar, phases, rehearses,
        no_open;
};

/* What a command works with. */
struct cli {
    struct run run;
    struct rt_problems problems;
    struct args args;
    unsigned columns; /* of the terminal, or 100 */
    bool colour;
};

enum opt_kind { OPT_FLAG, OPT_TEXT, OPT_WORD, OPT_WORDS, OPT_NUM, OPT_INT, OPT_POINT };

struct opt {
    const char *name; /* without the dashes */
    enum opt_kind kind;
    size_t offset;     /* into struct args */
    const char *value; /* how help names the value; for OPT_WORD and OPT_WORDS the words, parted by | */
    const char *says;
    double lo, hi;
    bool required;
};

struct command {
    const char *name;
    int (*run)(struct cli *cli);
    const char *takes; /* the argument's name in help; NULL: none */
    bool takes_required;
    const struct opt *opts;
    size_t n_opts;
    const char *says;    /* one line */
    const char *more;    /* a paragraph for its own help */
    const char *example; /* words behind the program's name; works in the project's folder */
};

const struct command *commands(size_t *n);
const struct command *command_find(const char *name);
/* Options that every command has. */
const struct opt *common_opts(size_t *n);

/* Fills *args from the words behind the command's name.  Adds a problem with a hint for every word that is off. */
RT_MUST_CHECK enum rt_code args_parse(const struct command *c, int argc, char **argv, struct args *out,
                                      struct rt_problems *p);

/* ---- help.c ---- */
void help_overview(struct buf *out);
void help_command(const struct command *c, struct buf *out);
void help_manual_page(struct buf *out); /* man(7) */
void help_completion(struct buf *out);  /* bash */
void help_markdown(struct buf *out);    /* docs/commands.md */

/* ---- the commands ---- */
int cmd_check(struct cli *cli);
int cmd_design(struct cli *cli);
int cmd_signal(struct cli *cli);
int cmd_draw(struct cli *cli);
int cmd_book(struct cli *cli);
int cmd_prove(struct cli *cli);
int cmd_ask(struct cli *cli);
int cmd_export(struct cli *cli);
int cmd_rehearse(struct cli *cli);
int cmd_serve(struct cli *cli);
int cmd_schema(struct cli *cli);
int cmd_parts(struct cli *cli);
int cmd_help(struct cli *cli);
int cmd_version(struct cli *cli);

/* ---- terminal.c ---- */
/* Writes the text to standard output.  Returns `status`, or EXIT_TROUBLE if it could not all be written. */
int cli_print(struct cli *cli, const struct buf *text, int status);
/* Prints the problems on standard error, and returns EXIT_TROUBLE if there is an error among them, else `status`. */
int cli_problems(struct cli *cli, int status);
/* Asks the terminal; reads NO_COLOR, COLUMNS. */
void cli_look_at_terminal(struct cli *cli);
/* Shows on standard error how far a run is once it takes over a second; stops cleanly on Ctrl-C. */
void cli_watch(struct cli *cli);
/* Wipes the progress line. */
void cli_unwatch(void);

#endif
