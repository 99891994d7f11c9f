/* Everything that is said about the commands, from their table. */
#include <string.h>

#include "cli/command.h"

static const char JOB[] =
    "Rooftree plans, proves and keeps the data network of a house: it reads one text file that describes the house and "
    "what was promised, and computes whether every promise is kept, with the evidence.";

static void write_usage(const struct command *c, struct buf *out)
{
    buf_printf(out, "rooftree %s", c->name);
    if (c->takes)
        buf_printf(out, c->takes_required ? " %s" : " [%s]", c->takes);
    for (size_t i = 0; i < c->n_opts; i++)
        if (c->opts[i].required)
            buf_printf(out, " --%s %s", c->opts[i].name, c->opts[i].value);
    buf_text(out, " [options]");
}

/* Words of a paragraph, at most `columns` wide, each line indented. */
static void write_paragraph(const char *text, size_t indent, size_t columns, struct buf *out)
{
    size_t used = 0;
    while (*text) {
        const size_t n = strcspn(text, " ");
        if (used && used + 1 + n > columns) {
            buf_char(out, '\n');
            used = 0;
        }
        if (used)
            buf_char(out, ' ');
        else
            buf_fill(out, ' ', indent);
        buf_add(out, text, n);
        used += n + (used ? 1 : 0);
        text += n + strspn(text + n, " ");
    }
    buf_char(out, '\n');
}

static void write_opts(const struct opt *opts, size_t n, struct buf *out)
{
    for (size_t i = 0; i < n; i++) {
        const size_t from = out->n;
        buf_printf(out, "  --%s%s%s", opts[i].name, opts[i].value ? " " : "", opts[i].value ? opts[i].value : "");
        const size_t used = out->n - from;
        if (used > 26)
            buf_printf(out, "\n%28s%s\n", "", opts[i].says);
        else
            buf_printf(out, "%*s%s\n", (int)(28 - used), "", opts[i].says);
    }
}

void help_overview(struct buf *out)
{
    size_t n;
    const struct command *c = commands(&n);
    write_paragraph(JOB, 0, 80, out);
    buf_text(out, "\n");
    for (size_t i = 0; i < n; i++)
        buf_printf(out, "  rooftree %-8s %-8s %s\n", c[i].name, c[i].takes ? c[i].takes : "", c[i].says);
    buf_text(out, "\nrooftree help COMMAND shows one with its options.  Begin with:\n\n");
    buf_printf(out, "  rooftree %s\n", c[0].example);
}

void help_command(const struct command *c, struct buf *out)
{
    size_t n;
    const struct opt *common = common_opts(&n);
    buf_printf(out, "%s\n\n  ", c->says);
    write_usage(c, out);
    buf_text(out, "\n\n");
    if (c->more) {
        write_paragraph(c->more, 0, 80, out);
        buf_char(out, '\n');
    }
    write_opts(c->opts, c->n_opts, out);
    write_opts(common, n, out);
    buf_printf(out, "\nExample:\n\n  rooftree %s\n", c->example);
}

/* ---- manual page ---- */

/* Text with what troff would take for itself made plain. */
static void roff(const char *text, struct buf *out)
{
    for (; *text; text++) {
        if (*text == '\\')
            buf_text(out, "\\e");
        else if (*text == '-')
            buf_text(out, "\\-");
        else
            buf_char(out, *text);
    }
}

static void roff_opts(const struct opt *opts, size_t n, struct buf *out)
{
    for (size_t i = 0; i < n; i++) {
        buf_text(out, ".TP\n.B \\-\\-");
        roff(opts[i].name, out);
        if (opts[i].value) {
            buf_text(out, " \\fI");
            roff(opts[i].value, out);
            buf_text(out, "\\fR");
        }
        buf_char(out, '\n');
        roff(opts[i].says, out);
        buf_char(out, '\n');
    }
}

void help_manual_page(struct buf *out)
{
    size_t n, n_common;
    const struct command *c = commands(&n);
    const struct opt *common = common_opts(&n_common);
    buf_text(out, ".TH ROOFTREE 1 \"\" \"rooftree " RT_VERSION "\" \"User commands\"\n.SH NAME\n"
                  "rooftree \\- plan, prove and keep the data network of a house\n.SH SYNOPSIS\n");
    for (size_t i = 0; i < n; i++) {
        buf_text(out, i ? ".br\n.B " : ".B ");
        struct buf usage = { .arena = out->arena };
        write_usage(&c[i], &usage);
        roff(usage.p ? usage.p : "", out);
        buf_char(out, '\n');
    }
    buf_text(out, ".SH DESCRIPTION\n");
    roff(JOB, out);
    buf_text(out, "\n.SH COMMANDS\n");
    for (size_t i = 0; i < n; i++) {
        buf_printf(out, ".SS %s\n", c[i].name);
        roff(c[i].says, out);
        buf_text(out, ".\n");
        if (c[i].more) {
            buf_text(out, ".PP\n");
            roff(c[i].more, out);
            buf_char(out, '\n');
        }
        roff_opts(c[i].opts, c[i].n_opts, out);
        buf_text(out, ".PP\nExample:\n.B rooftree ");
        roff(c[i].example, out);
        buf_char(out, '\n');
    }
    buf_text(out, ".SH OPTIONS OF EVERY COMMAND\n");
    roff_opts(common, n_common, out);
    buf_text(out,
             ".SH EXIT STATUS\n.TP\n.B 0\nevery promise is kept, or the command did what was asked\n.TP\n.B 1\n"
             "a promise is broken or unknown\n.TP\n.B 2\nthe file or the command line is wrong, or something failed\n"
             ".SH ENVIRONMENT\n.TP\n.B NO_COLOR\nif set, no colour is used\n.TP\n.B COLUMNS\n"
             "width of the text when it does not go to a terminal\n");
}

/* ---- bash completion ---- */

static void bash_words(const struct opt *opts, size_t n, struct buf *out)
{
    for (size_t i = 0; i < n; i++)
        buf_printf(out, " --%s", opts[i].name);
}

static void bash_values(const struct command *c, struct buf *out)
{
    for (size_t i = 0; i < c->n_opts; i++) {
        if (c->opts[i].kind != OPT_WORD && c->opts[i].kind != OPT_WORDS)
            continue;
        buf_printf(out, "        %s:--%s) words=\"", c->name, c->opts[i].name);
        for (const char *w = c->opts[i].value; *w; w++)
            buf_char(out, *w == '|' ? ' ' : *w);
        buf_text(out, "\" ;;\n");
    }
}

void help_completion(struct buf *out)
{
    size_t n, n_common;
    const struct command *c = commands(&n);
    const struct opt *common = common_opts(&n_common);
    buf_text(
        out,
        "# bash completion for rooftree; made from its table of commands\n_rooftree()\n{\n"
        "    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]} words=\n"
        "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n        words=\"");
    for (size_t i = 0; i < n; i++)
        buf_printf(out, "%s%s", i ? " " : "", c[i].name);
    buf_text(out, "\"\n        COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n        return\n    fi\n"
                  "    case \"$command:$before\" in\n");
    for (size_t i = 0; i < n; i++)
        bash_values(&c[i], out);
    buf_text(out,
             "    esac\n    if [ -n \"$words\" ]; then\n        COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n"
             "        return\n    fi\n    if [ \"${word#-}\" = \"$word\" ]; then\n"
             "        COMPREPLY=($(compgen -f -- \"$word\"))\n        return\n    fi\n    case \"$command\" in\n");
    for (size_t i = 0; i < n; i++) {
        buf_printf(out, "        %s) words=\"", c[i].name);
        bash_words(c[i].opts, c[i].n_opts, out);
        bash_words(common, n_common, out);
        buf_text(out, "\" ;;\n");
    }
    buf_text(out, "    esac\n    COMPREPLY=($(compgen -W \"$words\" -- \"$word\"))\n}\n"
                  "complete -o filenames -F _rooftree rooftree\n");
}

/* ---- docs/commands.md ---- */

static void markdown_opts(const struct opt *opts, size_t n, struct buf *out)
{
    if (n == 0)
        return;
    buf_text(out, "\n| option | meaning |\n| --- | --- |\n");
    for (size_t i = 0; i < n; i++) {
        buf_printf(out, "| `--%s%s", opts[i].name, opts[i].value ? " " : "");
        for (const char *v = opts[i].value ? opts[i].value : ""; *v; v++)
            buf_printf(out, *v == '|' ? "\\%c" : "%c", *v);
        buf_printf(out, "` | %s%s |\n", opts[i].says, opts[i].required ? " (needed)" : "");
    }
}

void help_markdown(struct buf *out)
{
    size_t n, n_common;
    const struct command *c = commands(&n);
    const struct opt *common = common_opts(&n_common);
    buf_text(out,
             "# Commands\n\nMade by `rooftree help --form markdown`; a test compares this page with the program.\n");
    for (size_t i = 0; i < n; i++) {
        buf_printf(out, "\n## %s\n\n%s.\n\n    ", c[i].name, c[i].says);
        write_usage(&c[i], out);
        buf_char(out, '\n');
        if (c[i].more)
            buf_printf(out, "\n%s\n", c[i].more);
        markdown_opts(c[i].opts, c[i].n_opts, out);
        buf_printf(out, "\nExample: `rooftree %s`\n", c[i].example);
    }
    buf_text(out, "\n## Options of every command\n");
    markdown_opts(common, n_common, out);
    buf_text(
        out,
        "\nExit status: 0 all promises kept (or done), 1 some broken or unknown, 2 the file or the command line is "
        "wrong or something failed.\n");
}
