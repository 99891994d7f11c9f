/* However little memory there is: a clean end, or the whole plan. */
#include "check.h"
#include "wire/links.h"

TEST(little_memory_ends_cleanly)
{
    struct check_run c = check_run_begin();
    struct house *h = NULL;
    CHECK_OK(&c, house_read(&c.run, check_path(&c, "houses/quay_flat.house.yaml"), &h, &c.problems));
    bool is_whole = false;
    uint32_t n_stopped = 0;
    for (size_t limit = 1024; !is_whole && limit < (size_t)1 << 26; limit += limit / 16) {
        struct arena *a = arena_new(limit);
        CHECK("an arena", a);
        struct run run = c.run;
        struct rt_problems problems;
        struct cable_plan *plan = NULL;
        struct wire_links links;
        run.arena = a;
        rt_problems_init(&problems, a);
        enum rt_code code = cables_plan(&run, h, &plan, &problems);
        if (!code)
            code = wire_links_judge(&run, plan, &links, &problems);
        CHECK("memory alone is missing", code == RT_OK || code == RT_NOMEM);
        is_whole = code == RT_OK;
        n_stopped += !is_whole;
        arena_free(a);
    }
    CHECK("it was stopped at many places, and got through", is_whole && n_stopped > 30);
    check_run_end(&c);
}
