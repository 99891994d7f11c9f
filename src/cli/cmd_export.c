#include "base/json.h"
#include "book/acceptance.h"
#include "book/settings.h"
#include "cli/cmd_house.h"
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

/* ---- what rests on more than the network: ports, watts, money, promises ---- */

/* A house on its way to files. */
struct exporting {
    struct cli *cli;
    struct evaluation ev;
    const struct export_house *x;
    struct export_folder *files;
    struct port_map *map; /* NULL until asked for */
};

static enum rt_code make_port_map(struct exporting *e)
{
    struct rt_problems *p = &e->cli->problems;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    RT_TRY(evaluation_cables(&e->ev, &cables, &links, p));
    RT_TRY(evaluation_power(&e->ev, &power, p));
    return port_map_make(&e->cli->run, e->x->l2, links, power, &e->map, p);
}

/* What the ports of the switches are to be set to. */
static enum rt_code add_port_map(struct exporting *e)
{
    RT_TRY(make_port_map(e));
    struct buf table = export_begin(e->files);
    port_map_write_csv(&table, e->map);
    add_table(e->files, &table, "port_map.csv");
    return RT_OK;
}

/* The bill, the cables and what is written on their ends, beside the tables of the network. */
static enum rt_code add_wire_tables(struct exporting *e)
{
    const struct bill *bill;
    RT_TRY(evaluation_bill(&e->ev, &bill, &e->cli->problems));
    struct buf table = export_begin(e->files);
    bill_write_csv(&table, bill);
    add_table(e->files, &table, "bill.csv");
    table = export_begin(e->files);
    cables_write_csv(&table, e->ev.cables, &e->ev.links, e->map->numbers);
    add_table(e->files, &table, "cable_schedule.csv");
    table = export_begin(e->files);
    labels_write_csv(&table, e->map);
    add_table(e->files, &table, "labels.csv");
    return RT_OK;
}

/* The tests of the day: all promises are judged for them. */
static enum rt_code add_acceptance(struct exporting *e)
{
    struct promise_results results;
    struct acceptance *list = NULL;
    RT_TRY(promises_evaluate(&e->ev, ALL_PROMISE_KINDS, &results, &e->cli->problems));
    RT_TRY(acceptance_make(&e->ev, &results, &list, &e->cli->problems));
    struct buf table = export_begin(e->files);
    acceptance_write_csv(&table, list);
    add_table(e->files, &table, "acceptance.csv");
    return RT_OK;
}

static enum rt_code add_all_tables(struct exporting *e)
{
    RT_TRY(add_port_map(e));
    RT_TRY(add_wire_tables(e));
    return add_acceptance(e);
}

static enum rt_code add_settings(struct exporting *e)
{
    struct settings *settings;
    RT_TRY(make_port_map(e));
    RT_TRY(settings_make(e->x, &e->ev, e->map, &settings, &e->cli->problems));
    struct buf page = export_begin(e->files);
    settings_write_html(&page, settings);
    add_table(e->files, &page, "settings.html");
    page = export_begin(e->files);
    settings_write_csv(&page, settings);
    add_table(e->files, &page, "settings.csv");
    return RT_OK;
}

/* What each form gets beside what export_forms() makes. */
static const struct {
    const char *form;
    bool takes_secrets; /* it has a place for them */
    enum rt_code (*add)(struct exporting *e);
} MORE[] = {
    { "linux", true, add_port_map },
    { "acl", false, NULL },
    { "csv", false, add_all_tables },
    { "sheet", false, add_settings },
};

static size_t more_of(const struct export_form *form)
{
    size_t i = 0;
    while (i < RT_COUNT(MORE) - 1 && !str_is(str_from(form->name), MORE[i].form))
        i++;
    return i;
}

static enum rt_code run_export(struct cli *cli, struct export_house *x, struct export_folder *files)
{
    struct house *h;
    const struct export_form *form = export_form_find(str_from(cli->args.what));
    const size_t more = more_of(form);
    if (cli->args.with_secrets && !MORE[more].takes_secrets)
        return rt_fail(&cli->problems, RT_USAGE, RT_NOWHERE, "leave --with-secrets out, or say --to linux",
                       "only the form 'linux' has a place for secrets");
    struct exporting e = { .cli = cli, .x = x, .files = files };
    RT_TRY(cli_open_house(cli, &h, &e.ev));
    const struct port_pick *picks = NULL;
    RT_TRY(evaluation_picks(&e.ev, &picks, &cli->problems));
    RT_TRY(export_prepare(&cli->run, h, picks, cli->args.with_secrets, x, &cli->problems));
    layer2_report(x->l2, &cli->problems);
    if (cli->problems.n_errors)
        return RT_CONFLICT;
    if (form->make)
        RT_TRY(form->make(x, files, &cli->problems));
    if (MORE[more].add)
        RT_TRY(MORE[more].add(&e));
    if (files->failed)
        return rt_fail_memory(&cli->problems);
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
