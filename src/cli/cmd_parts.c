#include <string.h>

#include "cli/command.h"
#include "house/house.h"
#include "house/parts_words.h"

static bool ends_with(const char *text, const char *end)
{
    const size_t n = strlen(text), k = strlen(end);
    return n >= k && strcmp(text + n - k, end) == 0;
}

static enum rt_code read_parts(struct cli *cli, struct parts *parts)
{
    if (ends_with(cli->args.file, ".parts.yaml"))
        return parts_read(&cli->run, cli->args.file, parts, &cli->problems);
    struct house *h;
    RT_TRY(house_read(&cli->run, cli->args.file, &h, &cli->problems));
    *parts = h->parts;
    return RT_OK;
}

static void write_text(const struct parts *parts, struct buf *out)
{
    size_t widest = 4;
    for (uint32_t i = 0; i < parts->list.n; i++)
        widest = parts->list.v[i].id.n > widest ? parts->list.v[i].id.n : widest;
    for (int kind = 0; kind < PART_KIND_COUNT; kind++) {
        bool any = false;
        for (uint32_t i = 0; i < parts->list.n; i++) {
            const struct part *part = &parts->list.v[i];
            if ((int)part->kind != kind)
                continue;
            if (!any)
                buf_printf(out, "%s%s\n", out->n ? "\n" : "", part_kind_name((enum part_kind)kind));
            any = true;
            buf_printf(out, "  %-*.*s  %9.2f %.*s  ", (int)widest, STR_ARG(part->id), part->price,
                       STR_ARG(parts->currency));
            part_describe(part, out);
            while (out->n && out->p[out->n - 1] == ' ')
                out->p[--out->n] = '\0';
            buf_char(out, '\n');
        }
    }
}

int cmd_parts(struct cli *cli)
{
    struct parts parts = { 0 };
    if (read_parts(cli, &parts) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json) {
        struct json j = { .out = &out };
        parts_write_json(&j, &parts);
        json_end(&j);
    } else {
        write_text(&parts, &out);
    }
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
