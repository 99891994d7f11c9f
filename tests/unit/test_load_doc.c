/* The tables of docs/load.md are the program's own; with RT_GOLDEN_UPDATE=1 they are written. */
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "check.h"
#include "data/profiles.h"

static void add_profiles(struct buf *out)
{
    uint32_t n;
    const struct default_profile *all = default_profiles(&n);
    buf_text(out, "| profile, for kinds | does | down Mb/s | up Mb/s | waits | with | chance at most | weekdays | "
                  "weekends | rates from |\n"
                  "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < all[i].n_states; k++) {
            const struct default_state *s = &all[i].states[k];
            if (k == 0)
                buf_printf(out, "| `%s`, %s: %s ", all[i].name, all[i].says, all[i].kinds);
            else
                buf_text(out, "| ");
            buf_printf(out, "| %s | %g | %g | %s | %s | %g | %s | %s | %s |\n", s->says, s->down_mbps, s->up_mbps,
                       patience_name(s->waits), s->with == WITH_RECORDER ? "its recorder" : "internet", s->chance,
                       s->weekday ? s->weekday->name : "never", s->weekend ? s->weekend->name : "never", s->source);
        }
}

static void add_curves(struct buf *out)
{
    uint32_t n;
    const struct day_curve *all = day_curves(&n);
    buf_text(out, "| hours |");
    for (unsigned hour = 0; hour < HOURS_OF_DAY; hour++)
        buf_printf(out, " %u |", hour);
    buf_text(out, "\n| --- |");
    for (unsigned hour = 0; hour < HOURS_OF_DAY; hour++)
        buf_text(out, " --- |");
    for (uint32_t i = 0; i < n; i++) {
        buf_printf(out, "\n| %s |", all[i].name);
        for (unsigned hour = 0; hour < HOURS_OF_DAY; hour++)
            buf_printf(out, " %g |", all[i].share[hour]);
    }
    buf_char(out, '\n');
}

/* Copies `from` up to and with the mark, puts the table in, and returns what follows from the table's end on. */
static struct str replace_table(struct buf *out, struct str from, const char *mark, void (*add)(struct buf *))
{
    const char *start = strstr(from.p, mark), *end = start ? strstr(start, "<!-- end of table -->") : NULL;
    CHECK(mark, end != NULL);
    start += strlen(mark);
    buf_add(out, from.p, (size_t)(start - from.p));
    buf_text(out, "\n\n");
    add(out);
    buf_char(out, '\n');
    return (struct str){ end, (size_t)(from.p + from.n - end) };
}

TEST(tables_of_load_md_are_the_programs)
{
    struct check_run c = check_run_begin();
    const char *path = check_path(&c, "docs/load.md");
    struct str have;
    CHECK_OK(&c, file_read(c.run.arena, path, 1 << 20, &have, &c.problems));
    struct buf want = { .arena = c.run.arena };
    struct str rest = replace_table(&want, have, "<!-- table of profiles -->", add_profiles);
    rest = replace_table(&want, rest, "<!-- table of curves -->", add_curves);
    buf_str(&want, rest);
    if (getenv("RT_GOLDEN_UPDATE"))
        CHECK_OK(&c, file_write(path, buf_done(&want), 0644, &c.problems));
    else
        CHECK_TEXT("docs/load.md (RT_GOLDEN_UPDATE=1 writes it)", have, buf_done(&want));
    check_run_end(&c);
}
