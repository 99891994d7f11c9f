#include "base/json.h"
#include "book/acceptance.h"
#include "cli/cmd_house.h"
#include "promise/port_map.h"
#include "reach/export.h"
#include "wire/wire_csv.h"

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

static void add_table(struct export_folder *files, const struct buf *table, const char *path)
{
    export_end(files, table, 0644, "%s", path);
}

/* What the ports of the switches are to be set to. */
static enum rt_code add_port_map(struct cli *cli, struct evaluation *ev, const struct export_house *x,
                                 struct export_folder *files, const struct port_map **out)
{
    struct port_map *map = NULL;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    RT_TRY(evaluation_cables(ev, &cables, &links, &cli->problems));
    RT_TRY(evaluation_power(ev, &power, &cli->problems));
    RT_TRY(port_map_make(&cli->run, x->l2, links, power, &map, &cli->problems));
    struct buf table = export_begin(files);
    port_map_write_csv(&table, map);
    add_table(files, &table, "port_map.csv");
    *out = map;
    return RT_OK;
}

/* The bill, the cables and what is written on their ends, beside the tables of the network. */
static enum rt_code add_wire_tables(struct cli *cli, struct evaluation *ev, const struct port_map *map,
                                    struct export_folder *files)
{
    const struct bill *bill;
    RT_TRY(evaluation_bill(ev, &bill, &cli->problems));
    struct buf table = export_begin(files);
    bill_write_csv(&table, bill);
    add_table(files, &table, "bill.csv");
    table = export_begin(files);
    cables_write_csv(&table, ev->cables, &ev->links, map->numbers);
    add_table(files, &table, "cable_schedule.csv");
    table = export_begin(files);
    labels_write_csv(&table, map);
    add_table(files, &table, "labels.csv");
    return RT_OK;
}

/* The tests of the day: all promises are judged for them. */
static enum rt_code add_acceptance(struct cli *cli, struct evaluation *ev, struct export_folder *files)
{
    struct promise_results results;
    struct acceptance *list = NULL;
    RT_TRY(promises_evaluate(ev, ALL_PROMISE_KINDS, &results, &cli->problems));
    RT_TRY(acceptance_make(ev, &results, &list, &cli->problems));
    struct buf table = export_begin(files);
    acceptance_write_csv(&table, list);
    add_table(files, &table, "acceptance.csv");
    return RT_OK;
}

static enum rt_code run_export(struct cli *cli, struct export_house *x, struct export_folder *files)
{
    struct house *h;
    const struct export_form *form = export_form_find(str_from(cli->args.what));
    if (cli->args.with_secrets && !str_is(str_from(form->name), "linux"))
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "leave --with-secrets out, or say --to linux",
                       "only the form 'linux' has a place for secrets");
    struct evaluation ev;
    RT_TRY(cli_open_house(cli, &h, &ev));
    const struct port_pick *picks = NULL;
    RT_TRY(evaluation_picks(&ev, &picks, &cli->problems));
    RT_TRY(export_prepare(&cli->run, h, picks, cli->args.with_secrets, x, &cli->problems));
    layer2_report(x->l2, &cli->problems);
    if (cli->problems.n_errors)
        return RT_CONFLICT;
    RT_TRY(form->make(x, files, &cli->problems));
    const struct port_map *map = NULL;
    if (!str_is(str_from(form->name), "acl"))
        RT_TRY(add_port_map(cli, &ev, x, files, &map));
    if (str_is(str_from(form->name), "csv"))
        RT_TRY(add_wire_tables(cli, &ev, map, files));
    if (str_is(str_from(form->name), "csv"))
        RT_TRY(add_acceptance(cli, &ev, files));
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
