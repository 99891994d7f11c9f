#include "base/json.h"
#include "book/house_export.h"
#include "cli/cmd_house.h"

/* What the export rests on that the householder should know; none of it is a secret. */
static void write_json(struct buf *out, const struct export_folder *files, const char *folder, const struct secrets *s)
{
    struct json j = { .out = out };
    json_begin_object(&j, NULL);
    json_text(&j, "folder", folder);
    json_begin_array(&j, "files");
    for (uint32_t i = 0; i < files->files.n; i++)
        json_str(&j, NULL, files->files.v[i].path);
    json_end_array(&j);
    json_text(&j, "secrets_file", s ? s->path : NULL);
    json_int(&j, "passphrases_made", s ? s->n_made : 0);
    json_end_object(&j);
    json_end(&j);
}

static void write_text(struct buf *out, const struct export_folder *files, const char *folder, const struct secrets *s)
{
    for (uint32_t i = 0; i < files->files.n; i++)
        buf_printf(out, "%s/%.*s\n", folder, STR_ARG(files->files.v[i].path));
    if (s && s->n_made)
        buf_printf(out, "%u new passphrase%s in %s\n", s->n_made, s->n_made == 1 ? "" : "s", s->path);
}

static enum rt_code run_export(struct cli *cli, struct export_house *x, struct export_folder *files)
{
    struct house *h;
    struct evaluation ev;
    const struct export_form *form = export_form_find(str_from(cli->args.what));
    if (cli->args.with_secrets && !house_export_takes_secrets(form))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "leave --with-secrets out, or say --to linux",
                       "only the form 'linux' has a place for secrets");
    RT_TRY(export_check(cli->run.arena, cli->args.out, &cli->problems)); /* told at once, not after all is computed */
    RT_TRY(cli_open_house(cli, &h, &ev));
    RT_TRY(house_export(&cli->run, &ev, form, cli->args.with_secrets, x, files, &cli->problems));
    return export_write(cli->run.arena, files, cli->args.out, &cli->problems);
}

int cmd_export(struct cli *cli)
{
    struct export_house x = { 0 };
    struct export_folder files = { .arena = cli->run.arena };
    if (run_export(cli, &x, &files) != RT_OK)
        return cli_problems(cli, EXIT_TROUBLE);
    struct buf out = { .arena = cli->run.arena };
    if (cli->args.json)
        write_json(&out, &files, cli->args.out, x.secrets);
    else
        write_text(&out, &files, cli->args.out, x.secrets);
    return cli_problems(cli, cli_print(cli, &out, EXIT_KEPT));
}
