#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "base/units.h"
#include "book/paper.h"
#include "cli/cmd_house.h"
#include "house/field.h"

/* A file that is there keeps its mode when it is replaced: first nobody else may read it, then the secrets go in. */
static enum rt_code close_to_others(struct cli *cli)
{
    if (chmod(cli->args.out, 0600) == 0 || errno == ENOENT)
        return RT_OK;
    return rt_fail(&cli->problems, RT_IO, RT_NOWHERE, "take another name, or a folder of your own",
                   "%s cannot be closed to others, so no passphrase is written into it", cli->args.out);
}

static enum rt_code take_secrets(struct cli *cli, const struct house *h, const struct paper *paper,
                                 struct secrets **secrets)
{
    if (!cli->args.with_secrets)
        return RT_OK;
    if (!paper->holds_secrets)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "leave --with-secrets out, or say --what cards",
                       "only the cards have a place for secrets");
    return secrets_open(&cli->run, h, secrets, &cli->problems);
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
static enum rt_code check_words(struct cli *cli)
{
    const struct args *a = &cli->args;
    if (!a->out)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say where it goes: --out FILE.pdf",
                       "a book is written to a file");
    if (cli_is_same_file(a->file, a->out))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "give --out another name, such as book.pdf",
                       "the book would take the place of the house it is made from, %s", a->file);
    if (holds_something_else(a->out))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "give --out another name, such as book.pdf",
                       "%s is there and is no PDF; it is not replaced", a->out);
    if (a->date && !text_format_row(TEXT_DATE)->is_right(str_from(a->date)))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "for example --date 2026-11-25",
                       "--date takes a day of the calendar as YYYY-MM-DD, not `%s`", a->date);
    if (a->by && !is_text(str_from(a->by)))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "for example --by \"Ada Example\"",
                       "--by takes a name in letters (UTF-8)");
    if ((a->labels || is_given(a->skip)) && !(a->what && str_is(str_from(a->what), "labels")))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say --what labels too",
                       "--labels and --skip are for sheets of labels");
    return RT_OK;
}

static enum rt_code make(struct cli *cli, struct flow_made *made, struct secrets **secrets)
{
    struct house *h;
    struct evaluation ev;
    struct book_options options = { .date = str_from(cli->args.date ? cli->args.date : ""),
                                    .by = str_from(cli->args.by ? cli->args.by : ""),
                                    .rehearses = cli->args.rehearses,
                                    .label_grid = str_from(cli->args.labels ? cli->args.labels : ""),
                                    .labels_used = (uint32_t)given_or(cli->args.skip, 0.0) };
    RT_TRY(check_words(cli));
    RT_TRY(cli_open_house(cli, &h, &ev));
    RT_TRY(cli_device(cli, &ev, &options.device, &options.device_name));
    options.paper = book_paper_of(h->country);
    if (cli->args.paper)
        options.paper = str_is(str_from(cli->args.paper), "letter") ? FLOW_LETTER : FLOW_A4;
    size_t n;
    const struct paper *paper = cli->args.what ? paper_find(str_from(cli->args.what)) : papers(&n);
    RT_TRY(take_secrets(cli, h, paper, secrets));
    options.secrets = *secrets;
    RT_TRY(paper->make(&cli->run, &ev, &options, made, &cli->problems));
    if (paper->holds_secrets)
        RT_TRY(close_to_others(cli));
    return file_write(cli->args.out, made->bytes, paper->holds_secrets ? 0600 : 0644, &cli->problems);
}

int cmd_book(struct cli *cli)
{
    struct flow_made made;
    struct secrets *secrets = NULL;
    if (make(cli, &made, &secrets) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        json_begin_object(&j, NULL);
        json_text(&j, "file", cli->args.out);
        json_int(&j, "pages", made.n_pages);
        json_text(&j, "secrets_file", secrets ? secrets->path : NULL);
        json_int(&j, "passphrases_made", secrets ? secrets->n_made : 0);
        json_end_object(&j);
        json_end(&j);
    } else {
        buf_printf(&out, "%s  %u page%s\n", cli->args.out, made.n_pages, made.n_pages == 1 ? "" : "s");
        if (secrets && secrets->n_made)
            buf_printf(&out, "%u new passphrase%s in %s\n", secrets->n_made, secrets->n_made == 1 ? "" : "s",
                       secrets->path);
    }
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
