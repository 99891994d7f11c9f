/* The sheet of settings with little memory.  What it says is judged by tests/cli/test_settings.py and test_settings_page.py. */
#include "book/settings.h"

#include "check.h"

static const char QUAY[] = "houses/quay_flat.house.yaml";

static enum rt_code write_sheet(const struct run *run, const char *path, struct buf *page, struct buf *table,
                                struct rt_problems *p)
{
    struct house *h;
    struct export_house x;
    struct evaluation ev;
    struct port_map *map;
    struct settings *settings;
    const struct port_pick *picks;
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    RT_TRY(house_read(run, path, &h, p));
    RT_TRY(evaluation_begin(&ev, run, h, evaluation_default_options(h), p));
    RT_TRY(evaluation_picks(&ev, &picks, p));
    RT_TRY(export_prepare(run, h, picks, false, &x, p));
    RT_TRY(evaluation_cables(&ev, &cables, &links, p));
    RT_TRY(evaluation_power(&ev, &power, p));
    RT_TRY(port_map_make(run, x.l2, links, power, &map, p));
    RT_TRY(settings_make(&x, &ev, map, &settings, p));
    settings_write_html(page, settings);
    settings_write_csv(table, settings);
    return page->failed || table->failed ? rt_fail_memory(p) : RT_OK;
}

/* Every ceiling below what is needed is a clean RT_NOMEM. */
TEST(little_memory_is_an_error)
{
    struct check_run c = check_run_begin();
    const char *path = check_path(&c, QUAY);
    enum rt_code code = RT_NOMEM;
    unsigned stops = 0;
    for (size_t limit = 256 * 1024; code == RT_NOMEM; limit += limit / 16, stops++) {
        struct arena *a = arena_new(limit);
        struct run run = c.run;
        struct rt_problems problems;
        struct buf page = { .arena = a }, table = { .arena = a };
        run.arena = a;
        rt_problems_init(&problems, a);
        code = write_sheet(&run, path, &page, &table, &problems);
        CHECK("whole or not at all", code == RT_NOMEM || (code == RT_OK && page.n && table.n));
        arena_free(a);
    }
    CHECK("it fits in the end", code == RT_OK && stops > 5);
    check_run_end(&c);
}
