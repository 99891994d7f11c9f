#include "base/file.h"
#include "book/paper.h"
#include "cli/cmd_house.h"

static enum rt_code make(struct cli *cli, struct flow_made *made)
{
    struct house *h;
    struct evaluation ev;
    struct book_options options = { .date = str_from(cli->args.date ? cli->args.date : ""),
                                    .by = str_from(cli->args.by ? cli->args.by : ""),
                                    .rehearses = cli->args.rehearses };
    if (!cli->args.out)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "say where it goes: --out FILE.pdf",
                       "a book is written to a file");
    RT_TRY(cli_open_house(cli, &h, &ev));
    RT_TRY(cli_device(cli, &ev, &options.device, &options.device_name));
    options.paper = book_paper_of(h->country);
    if (cli->args.paper)
        options.paper = str_is(str_from(cli->args.paper), "letter") ? FLOW_LETTER : FLOW_A4;
    size_t n;
    const struct paper *paper = cli->args.what ? paper_find(str_from(cli->args.what)) : papers(&n);
    RT_TRY(paper->make(&cli->run, &ev, &options, made, &cli->problems));
    return file_write(cli->args.out, made->bytes, 0644, &cli->problems);
}

int cmd_book(struct cli *cli)
{
    struct flow_made made;
    if (make(cli, &made) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        json_begin_object(&j, NULL);
        json_text(&j, "file", cli->args.out);
        json_int(&j, "pages", made.n_pages);
        json_end_object(&j);
        json_end(&j);
    } else {
        buf_printf(&out, "%s  %u pages\n", cli->args.out, made.n_pages);
    }
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
