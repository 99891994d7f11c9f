#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/json.h"
#include "base/units.h"
#include "book/paper.h"
#include "cli/cmd_house.h"
#include "house/field.h"
#include "reach/export.h"

/* What was asked for, and what came of it. */
struct order {
    const struct paper *paper;
    struct book_options options;
    struct secrets *secrets;
    struct flow_made made;
    struct export_folder files; /* of pages as pictures */
};

static bool is_file(const struct order *o) { return o->options.form.format == FLOW_PDF; }

/* A file that is there keeps its mode when it is replaced: first nobody else may read it, then the secrets go in. */
static enum rt_code close_to_others(struct cli *cli)
{
    if (chmod(cli->args.out, 0600) == 0 || errno == ENOENT)
        return RT_OK;
    return rt_fail(&cli->problems, RT_IO, RT_NOWHERE, "take another name, or a folder of your own",
                   "%s cannot be closed to others, so no passphrase is written into it", cli->args.out);
}

static enum rt_code take_secrets(struct cli *cli, const struct house *h, struct order *o)
{
    if (cli->args.with_secrets)
        RT_TRY(secrets_open(&cli->run, h, &o->secrets, &cli->problems));
    o->options.secrets = o->secrets;
    return RT_OK;
}

/* Is there a file of this name that holds something else than a PDF: a house, parts, passphrases? */
static bool holds_something_else(const char *path)
{
    static const char PDF[] = "%PDF-"; /* ISO 32000-1:2008, 7.5.2 */
    char begin[sizeof PDF - 1];
    FILE *f = fopen(path, "rb");
    if (!f)
        return false; /* writing it will say what is wrong */
    const size_t n = fread(begin, 1, sizeof begin, f);
    fclose(f);
    return n && (n < sizeof begin || memcmp(begin, PDF, sizeof begin) != 0);
}

static bool is_text(struct str s)
{
    for (size_t i = 0; i < s.n;) {
        const size_t n = str_letter(s, i);
        if (n == 0 || (unsigned char)s.p[i] < ' ')
            return false;
        i += n;
    }
    return true;
}

/* What was written behind the options that become words of the book. */
static enum rt_code check_words(struct cli *cli, const struct order *o)
{
    const struct args *a = &cli->args;
    if (a->date && !text_format_row(TEXT_DATE)->is_right(str_from(a->date)))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "for example --date 2026-11-25",
                       "--date takes a day of the calendar as YYYY-MM-DD, not `%s`", a->date);
    if (a->by && !is_text(str_from(a->by)))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "for example --by \"Ada Example\"",
                       "--by takes a name in letters (UTF-8)");
    if ((a->labels || is_given(a->skip)) && !(a->what && str_is(str_from(a->what), "labels")))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say --what labels too",
                       "--labels and --skip are for sheets of labels");
    if (is_given(a->dpi) && o->options.form.format != FLOW_PNG)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say --format png too", "--dpi is for pictures in PNG");
    if (a->with_secrets && !o->paper->holds_secrets)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "leave --with-secrets out, or say --what cards",
                       "only the cards have a place for secrets");
    return RT_OK;
}

/* Where it goes: told at once, not after all is computed. */
static enum rt_code check_place(struct cli *cli, const struct order *o)
{
    const struct args *a = &cli->args;
    if (!a->out)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE,
                       is_file(o) ? "say where it goes: --out FILE.pdf" : "say where they go: --out FOLDER",
                       is_file(o) ? "a book is written to a file" : "pages as pictures are written to a folder");
    if (!is_file(o))
        return export_check(cli->run.arena, a->out, &cli->problems);
    if (cli_is_same_file(a->file, a->out))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "give --out another name, such as book.pdf",
                       "the book would take the place of the house it is made from, %s", a->file);
    if (holds_something_else(a->out))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "give --out another name, such as book.pdf",
                       "%s is there and is no PDF; it is not replaced", a->out);
    return file_check_place(a->out, &cli->problems);
}

static void read_order(const struct args *a, struct order *o)
{
    const struct str format = str_from(a->format ? a->format : "pdf");
    size_t n;
    o->paper = a->what ? paper_find(str_from(a->what)) : papers(&n);
    o->options = (struct book_options){ .date = str_from(a->date ? a->date : ""),
                                        .by = str_from(a->by ? a->by : ""),
                                        .rehearses = a->rehearses,
                                        .label_grid = str_from(a->labels ? a->labels : ""),
                                        .labels_used = (uint32_t)given_or(a->skip, 0.0) };
    o->options.form.format = str_is(format, "svg") ? FLOW_SVG : str_is(format, "png") ? FLOW_PNG : FLOW_PDF;
    o->options.form.dpi = given_or(a->dpi, FLOW_USUAL_DPI);
}

/* The pages as files of one folder: "book-07.svg", as many digits as the last one has. */
static enum rt_code write_pages(struct cli *cli, struct order *o)
{
    const uint32_t mode = o->paper->holds_secrets ? 0600 : 0644;
    const char *ending = o->options.form.format == FLOW_SVG ? "svg" : "png";
    int digits = 1;
    for (uint32_t most = 10; most <= o->made.pages.n; most *= 10)
        digits++;
    o->files = (struct export_folder){ .arena = cli->run.arena };
    for (uint32_t i = 0; i < o->made.pages.n; i++) {
        const char *name = arena_printf(cli->run.arena, "%s-%0*u.%s", o->paper->name, digits, i + 1, ending);
        const struct export_file page = { str_from(name ? name : ""), o->made.pages.v[i], mode };
        if (!name || !VEC_PUSH(cli->run.arena, &o->files.files, page))
            return rt_fail_memory(&cli->problems);
    }
    return export_write(cli->run.arena, &o->files, cli->args.out, &cli->problems);
}

static enum rt_code write_file(struct cli *cli, const struct order *o)
{
    if (o->paper->holds_secrets)
        RT_TRY(close_to_others(cli));
    return file_write(cli->args.out, o->made.bytes, o->paper->holds_secrets ? 0600 : 0644, &cli->problems);
}

static enum rt_code make(struct cli *cli, struct order *o)
{
    struct house *h;
    struct evaluation ev;
    read_order(&cli->args, o);
    RT_TRY(check_words(cli, o));
    RT_TRY(check_place(cli, o));
    RT_TRY(cli_open_house(cli, &h, &ev));
    RT_TRY(cli_device(cli, &ev, &o->options.device, &o->options.device_name));
    o->options.paper = book_paper_of(h->country);
    if (cli->args.paper)
        o->options.paper = str_is(str_from(cli->args.paper), "letter") ? FLOW_LETTER : FLOW_A4;
    RT_TRY(take_secrets(cli, h, o));
    RT_TRY(o->paper->make(&cli->run, &ev, &o->options, &o->made, &cli->problems));
    return is_file(o) ? write_file(cli, o) : write_pages(cli, o);
}

static void write_json(struct buf *out, const struct cli *cli, const struct order *o)
{
    struct json j = { .out = out };
    json_begin_object(&j, NULL);
    json_text(&j, "file", is_file(o) ? cli->args.out : NULL);
    json_text(&j, "folder", is_file(o) ? NULL : cli->args.out);
    json_begin_array(&j, "files");
    for (uint32_t i = 0; i < o->files.files.n; i++)
        json_str(&j, NULL, o->files.files.v[i].path);
    json_end_array(&j);
    json_int(&j, "pages", o->made.n_pages);
    json_text(&j, "secrets_file", o->secrets ? o->secrets->path : NULL);
    json_int(&j, "passphrases_made", o->secrets ? o->secrets->n_made : 0);
    json_end_object(&j);
    json_end(&j);
}

static void write_text(struct buf *out, const struct cli *cli, const struct order *o)
{
    const uint32_t n = o->secrets ? o->secrets->n_made : 0;
    if (is_file(o))
        buf_printf(out, "%s  %u page%s\n", cli->args.out, o->made.n_pages, o->made.n_pages == 1 ? "" : "s");
    for (uint32_t i = 0; i < o->files.files.n; i++)
        buf_printf(out, "%s/%.*s\n", cli->args.out, STR_ARG(o->files.files.v[i].path));
    if (n)
        buf_printf(out, "%u new passphrase%s in %s\n", n, n == 1 ? "" : "s", o->secrets->path);
}

int cmd_book(struct cli *cli)
{
    struct order order = { 0 };
    if (make(cli, &order) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json)
        write_json(&out, cli, &order);
    else
        write_text(&out, cli, &order);
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
