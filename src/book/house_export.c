#include "book/house_export.h"

#include "book/settings.h"
#include "book/tables.h"
#include "data/device_kinds.h"
#include "load/recordings.h"
#include "wire/wire_csv.h"

static void add_table(struct export_folder *files, const struct buf *table, const char *path)
{
    export_end(files, table, 0644, "%s", path);
}

/* ---- what rests on more than the network: ports, watts, money, promises ---- */

/* A house on its way to files. */
struct exporting {
    const struct run *run;
    struct rt_problems *p;
    struct evaluation *ev;
    const struct export_house *x;
    struct export_folder *files;
    struct port_map *map; /* NULL until asked for */
};

static enum rt_code make_port_map(struct exporting *e)
{
    struct rt_problems *p = e->p;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    RT_TRY(evaluation_cables(e->ev, &cables, &links, p));
    RT_TRY(evaluation_power(e->ev, &power, p));
    return port_map_make(e->run, e->x->l2, links, power, &e->map, p);
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

/* What is cut from what, watts, batteries, recordings. */
static enum rt_code add_load_tables(struct exporting *e, const struct bill *bill)
{
    const struct energy_plan *energy;
    const struct cut_plan *cuts = cut_plan_make(e->run->arena, e->ev->cables, &e->ev->links, bill);
    if (!cuts)
        return rt_fail_memory(e->p);
    RT_TRY(evaluation_energy(e->ev, &energy, e->p));
    struct buf table = export_begin(e->files);
    cuts_write_csv(&table, cuts);
    add_table(e->files, &table, "cutting.csv");
    table = export_begin(e->files);
    power_write_csv(&table, energy->power);
    add_table(e->files, &table, "power.csv");
    table = export_begin(e->files);
    batteries_write_csv(&table, energy);
    add_table(e->files, &table, "batteries.csv");
    table = export_begin(e->files);
    RT_TRY(recordings_write_csv(e->run, e->ev->h, &table, e->p));
    add_table(e->files, &table, "recordings.csv");
    return RT_OK;
}

/* The bill, the cables and what is written on their ends, beside the tables of the network. */
static enum rt_code add_wire_tables(struct exporting *e)
{
    const struct bill *bill;
    RT_TRY(evaluation_bill(e->ev, &bill, e->p));
    struct buf table = export_begin(e->files);
    bill_write_csv(&table, bill);
    add_table(e->files, &table, "bill.csv");
    table = export_begin(e->files);
    cables_write_csv(&table, e->ev->cables, &e->ev->links, bill, e->map->numbers);
    add_table(e->files, &table, "cable_schedule.csv");
    table = export_begin(e->files);
    labels_write_csv(&table, e->map);
    add_table(e->files, &table, "labels.csv");
    return add_load_tables(e, bill);
}

/* What the book tells beside: all that it computes is computed. */
static enum rt_code add_book_tables(struct exporting *e)
{
    const struct run *run = e->run;
    const struct str kind = STR(DEVICE_KIND_USUAL);
    struct book b = { .run = run,
                      .arena = run->arena,
                      .h = e->ev->h,
                      .ev = e->ev,
                      .draw = draw_options_usual(evaluation_radio_of(e->ev, kind), kind),
                      .flow = flow_new(run->arena, FLOW_A4) };
    if (!b.flow)
        return rt_fail_memory(e->p);
    RT_TRY(book_gather(&b, e->p));
    return book_tables_add(&b, e->files, e->p);
}

static enum rt_code add_all_tables(struct exporting *e)
{
    RT_TRY(add_port_map(e));
    RT_TRY(add_wire_tables(e));
    return add_book_tables(e);
}

static enum rt_code add_settings(struct exporting *e)
{
    struct settings *settings;
    RT_TRY(make_port_map(e));
    RT_TRY(settings_make(e->x, e->ev, e->map, &settings, e->p));
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

bool house_export_takes_secrets(const struct export_form *form) { return MORE[more_of(form)].takes_secrets; }

enum rt_code house_export(const struct run *run, struct evaluation *ev, const struct export_form *form,
                          bool with_secrets, struct export_house *x, struct export_folder *files, struct rt_problems *p)
{
    struct exporting e = { .run = run, .p = p, .ev = ev, .x = x, .files = files };
    const size_t more = more_of(form);
    const struct port_pick *picks = NULL;
    RT_TRY(evaluation_picks(ev, &picks, p));
    RT_TRY(export_prepare(run, ev->h, picks, with_secrets, x, p));
    layer2_report(x->l2, p);
    if (p->n_errors)
        return RT_CONFLICT;
    if (form->make)
        RT_TRY(form->make(x, files, p));
    if (MORE[more].add)
        RT_TRY(MORE[more].add(&e));
    return files->failed ? rt_fail_memory(p) : RT_OK;
}
