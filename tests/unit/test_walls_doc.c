/* The tables of docs/walls.md are the program's own, so that they cannot grow old: this test compares them, and with
 * RT_TEST_UPDATE=1 it writes them. */
#include <math.h>

#include "base/file.h"
#include "check.h"
#include "csv.h"
#include "data/constructs.h"
#include "data/materials.h"
#include "radio/slab.h"

enum { LAYERS_MAX = 16 };

static const double FREQUENCIES_HZ[] = { 2.437e9, 5.5e9, 6.465e9 };

static double by_layers_db(const struct built_in_construct *c, double f_hz)
{
    struct slab_layer layers[LAYERS_MAX];
    for (uint32_t i = 0; i < c->n_layers; i++)
        layers[i] = (struct slab_layer){ material_permittivity(material_find(str_from(c->layers[i].material)), f_hz),
                                         c->layers[i].thickness_m };
    return slab_loss_db(slab_at(layers, c->n_layers, f_hz, 1.0).te.t);
}

/* Beyond 60 dB a figure would claim more than anybody can tell. */
static void add_db(struct buf *out, double db)
{
    if (db >= 60.0)
        buf_text(out, "opaque");
    else
        buf_printf(out, "%.1f", db);
}

static void add_constructs(struct buf *out)
{
    buf_text(out, "| construct | what it is | 2.4 GHz | 5 GHz | 6 GHz | by layers, 2.4 / 5 / 6 GHz |\n"
                  "| --- | --- | --- | --- | --- | --- |\n");
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        buf_printf(out, "| `%s` | %s |", c->id, c->says);
        for (size_t b = 0; b < RT_COUNT(FREQUENCIES_HZ); b++) {
            buf_char(out, ' ');
            if (c->n_measured)
                buf_printf(out, "%.1f / %.1f / %.1f", c->measured[b].low_db, c->measured[b].loss_db,
                           c->measured[b].high_db);
            else
                add_db(out, by_layers_db(c, FREQUENCIES_HZ[b]));
            buf_text(out, " |");
        }
        for (size_t b = 0; b < RT_COUNT(FREQUENCIES_HZ); b++) {
            buf_text(out, b ? " / " : " ");
            add_db(out, by_layers_db(c, FREQUENCIES_HZ[b]));
        }
        buf_text(out, " |\n");
    }
}

/* What the layers of one bare material say, beside what was measured (rows of wall_loss_measured.csv). */
static void add_checks(struct buf *out)
{
    static const struct {
        const char *what, *material, *item;
        double thickness_m, f_ghz[2];
    } ROWS[] = {
        { "single glass, 2.5 mm", "glass", "glass single pane", 0.0025, { 2.3, 5.25 } },
        { "particle board, 18 mm", "chipboard", "particle board", 0.018, { 2.3, 5.25 } },
        { "plasterboard, 12.8 mm", "plasterboard", "drywall 12.8 mm", 0.0128, { 2.3, 5.25 } },
        { "red brick, 102 mm", "brick", "red brick dry", 0.102, { 2.3, 5.25 } },
        { "fir, 38 mm", "wood", "fir lumber", 0.038, { 2.3, 5.25 } },
        { "plywood, 18 mm", "plywood", "plywood", 0.01828, { 2.3, 5.25 } },
        { "fresh concrete, 102 mm", "concrete", "plain concrete (fresh)", 0.102, { 2.5, 5.5 } },
    };
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wall_loss_measured.csv"));
    buf_text(out, "| what | GHz | measured, dB | by layers, dB |\n| --- | --- | --- | --- |\n");
    for (size_t i = 0; i < RT_COUNT(ROWS); i++) {
        double measured_db[2] = { 0.0, 0.0 }, slab_db[2];
        for (int k = 0; k < 2; k++) {
            for (uint32_t row = 0; row < t.rows.n; row++)
                if (str_is(csv_cell(&t, row, "item"), ROWS[i].item) && csv_num(&t, row, "f_ghz") == ROWS[i].f_ghz[k] &&
                    csv_num(&t, row, "thickness_m") == ROWS[i].thickness_m)
                    measured_db[k] = csv_num(&t, row, "loss_db");
            const double f_hz = ROWS[i].f_ghz[k] * 1e9;
            const struct slab_layer layer = { material_permittivity(material_find(str_from(ROWS[i].material)), f_hz),
                                              ROWS[i].thickness_m };
            slab_db[k] = slab_loss_db(slab_at(&layer, 1, f_hz, 1.0).te.t);
            CHECK("the row is there", measured_db[k] > 0.0);
        }
        buf_printf(out, "| %s | %g / %g | %.1f / %.1f | %.1f / %.1f |\n", ROWS[i].what, ROWS[i].f_ghz[0],
                   ROWS[i].f_ghz[1], measured_db[0], measured_db[1], slab_db[0], slab_db[1]);
    }
    check_run_end(&c);
}

static void add_materials(struct buf *out)
{
    buf_text(out, "| material | what it is | source |\n| --- | --- | --- |\n");
    for (uint32_t i = 0; i < material_count(); i++) {
        const struct material *m = material_get(i);
        buf_printf(out, "| `%s` | %s | %s |\n", m->name, m->says, m->source);
    }
}

static void add_sources(struct buf *out)
{
    for (uint32_t i = 0; i < built_in_construct_count(); i++) {
        const struct built_in_construct *c = built_in_construct_get(i);
        buf_printf(out, "- `%s`:", c->id);
        for (uint32_t k = 0; k < c->n_layers; k++)
            buf_printf(out, "%s %s %g mm", k ? "," : "", c->layers[k].material, c->layers[k].thickness_m * 1e3);
        for (uint32_t k = 0; k < c->n_measured; k++) {
            const bool again = k > 0 && strcmp(c->measured[k].source, c->measured[k - 1].source) == 0;
            buf_printf(out, "\n  - %g GHz: %s", c->measured[k].band_ghz, again ? "the same" : c->measured[k].source);
        }
        buf_text(out, c->n_measured ? "\n" : "\n  - not measured: the layers decide\n");
    }
}

/* Copies `from` up to and with the mark, puts the table in, and returns what follows the table's end. */
static struct str replace_table(struct buf *out, struct str from, const char *mark, void (*add)(struct buf *))
{
    static const char END[] = "<!-- end of table -->";
    const char *start = strstr(from.p, mark), *end = start ? strstr(start, END) : NULL;
    if (!end)
        fail_msg("docs/walls.md has lost its mark %s", mark);
    start += strlen(mark);
    buf_add(out, from.p, (size_t)(start - from.p));
    buf_text(out, "\n\n");
    add(out);
    buf_char(out, '\n');
    return (struct str){ end, (size_t)(from.p + from.n - end) };
}

TEST(tables_of_walls_md_are_the_programs)
{
    struct check_run c = check_run_begin();
    const char *path = check_path(&c, "docs/walls.md");
    struct str have;
    CHECK_OK(&c, file_read(c.run.arena, path, 1 << 20, &have, &c.problems));
    struct buf want = { .arena = c.run.arena };
    struct str rest = replace_table(&want, have, "<!-- table of constructs -->", add_constructs);
    rest = replace_table(&want, rest, "<!-- table of checks -->", add_checks);
    rest = replace_table(&want, rest, "<!-- table of materials -->", add_materials);
    rest = replace_table(&want, rest, "<!-- table of sources -->", add_sources);
    buf_str(&want, rest);
    if (getenv("RT_TEST_UPDATE"))
        CHECK_OK(&c, file_write(path, buf_done(&want), 0644, &c.problems));
    else
        CHECK_TEXT("docs/walls.md (RT_TEST_UPDATE=1 writes it)", have, buf_done(&want));
    check_run_end(&c);
}
