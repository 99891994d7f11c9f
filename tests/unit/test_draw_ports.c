/* Sheets of cabinets, walls and ports of the demo houses: well-formed, on the paper, no text on another, nothing left out, and true to
 * their scale. */
#include <expat.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "promise/evaluation.h"
#include "promise/port_map.h"
#include "sheet_kit.h"
#include "wire/front.h"

struct stage {
    struct check_run c;
    struct house *h;
    struct evaluation ev;
    struct fields fields;
    struct draw_options options;
    struct draw_subject *subjects;
    struct draw_sheet *sheets; /* of each */
    uint32_t n;
};

static struct draw_sheet sheet_of(struct stage *s, uint32_t i)
{
    struct draw_sheet sheet;
    CHECK_OK(&s->c, draw_one(&s->c.run, s->h, &s->fields, &s->options, s->subjects[i], &sheet, &s->c.problems));
    return sheet;
}

static struct stage stage_begin(const char *path)
{
    static const struct radio_ability NONE = { 0 };
    struct stage s = { .c = check_run_begin() };
    const struct cable_plan *cables;
    const struct wire_links *links;
    const struct power_plan *power;
    struct proof *proof;
    struct front_plan *fronts = NULL;
    struct port_map *ports = NULL;
    CHECK_OK(&s.c, house_read(&s.c.run, check_path(&s.c, path), &s.h, &s.c.problems));
    s.ev = (struct evaluation){ .run = &s.c.run, .h = s.h };
    s.options = draw_options_usual(&NONE, STR("phone"));
    CHECK_OK(&s.c, evaluation_proof(&s.ev, &proof, &s.c.problems));
    CHECK_OK(&s.c, evaluation_cables(&s.ev, &cables, &links, &s.c.problems));
    CHECK_OK(&s.c, evaluation_power(&s.ev, &power, &s.c.problems));
    CHECK_OK(&s.c, evaluation_energy(&s.ev, &s.options.energy, &s.c.problems));
    CHECK_OK(&s.c, front_plan_make(&s.c.run, s.options.energy, &fronts, &s.c.problems));
    CHECK_OK(&s.c, port_map_make(&s.c.run, s.ev.layer2, links, power, &ports, &s.c.problems));
    CHECK_OK(&s.c, grids_of_house(&s.c.run, s.h, 1.0, &s.fields, &s.c.problems));
    s.options.fronts = fronts;
    s.options.ports = ports;
    s.options.what = DRAW_CABINET | DRAW_PORTS;
    CHECK_OK(&s.c, draw_subjects(&s.c.run, s.h, &s.fields, &s.options, &s.subjects, &s.n, &s.c.problems));
    s.sheets = ARENA_ARRAY(s.c.run.arena, struct draw_sheet, s.n);
    for (uint32_t i = 0; i < s.n; i++)
        s.sheets[i] = sheet_of(&s, i);
    return s;
}

static const char *const HOUSES[] = { "houses/larch_end.house.yaml", "houses/quay_flat.house.yaml",
                                      "houses/whin_farm.house.yaml" };

/* The title block. */
#define BLOCK_W_MM 90.0
#define BLOCK_H_MM 20.0

/* ---- the SVG, read by a general XML parser (expat) ---- */

struct look {
    double w_mm, h_mm;     /* of the paper */
    double want_w, want_h; /* a rectangle of this size ... */
    uint32_t n_found;      /* ... is there so often */
    uint32_t n_outside;    /* paths that leave the paper */
};

static void see_path(struct look *seen, const char *d)
{
    const struct path_box b = path_box_of(d);
    seen->n_found += fabs(b.x1 - b.x0 - seen->want_w) < 1e-2 && fabs(b.y1 - b.y0 - seen->want_h) < 1e-2;
    seen->n_outside += leaves_paper(b, seen->w_mm, seen->h_mm);
}

struct reading {
    struct look *seen;
    int defs; /* depth within definitions: glyphs and clips have axes of their own */
};

static void XMLCALL on_start(void *user, const XML_Char *name, const XML_Char **attributes)
{
    struct reading *r = user;
    r->defs += r->defs > 0 || strcmp(name, "defs") == 0;
    for (; *attributes && strcmp(name, "path") == 0 && !r->defs; attributes += 2)
        if (strcmp(attributes[0], "d") == 0)
            see_path(r->seen, attributes[1]);
}

static void XMLCALL on_end(void *user, const XML_Char *name)
{
    (void)name;
    struct reading *r = user;
    r->defs -= r->defs > 0;
}

static void read_svg(const struct draw_sheet *sheet, struct look *seen)
{
    struct reading r = { seen, 0 };
    XML_Parser parser = XML_ParserCreate(NULL);
    seen->w_mm = sheet->w_mm;
    seen->h_mm = sheet->h_mm;
    XML_SetUserData(parser, &r);
    XML_SetElementHandler(parser, on_start, on_end);
    const enum XML_Status ok = XML_Parse(parser, sheet->svg.p, (int)sheet->svg.n, 1);
    CHECK_TEXT("well-formed XML", str_from(ok == XML_STATUS_OK ? "" : XML_ErrorString(XML_GetErrorCode(parser))),
               STR(""));
    XML_ParserFree(parser);
}

TEST(sheets_are_whole_and_legible)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        CHECK("a wall or cabinet, and the ports", s.n >= 2);
        for (uint32_t i = 0; i < s.n; i++) {
            const struct draw_sheet sheet = s.sheets[i];
            struct look seen = { .want_w = -1 };
            CHECK("bytes", sheet.svg.n > 1000 && sheet.png.n > 1000);
            check_texts(&sheet, BLOCK_W_MM, BLOCK_H_MM);
            read_svg(&sheet, &seen);
            CHECK_NEAR("paths outside of the paper", seen.n_outside, 0, 0, "");
            if (s.subjects[i].what == DRAW_CABINET)
                CHECK_NEAR("bar", sheet.scale_bar.w_mm, sheet.scale_bar_m * 1000.0 / sheet.scale, 1e-9, "mm");
            else
                CHECK_NEAR("a table has no scale", sheet.scale, 0, 0, "");
        }
        const struct draw_sheet again = sheet_of(&s, s.n - 1);
        CHECK("the same each time",
              str_eq(again.svg, s.sheets[s.n - 1].svg) && str_eq(again.png, s.sheets[s.n - 1].png));
        check_run_end(&s.c);
    }
}

/* Larch End's cabinet is 0.57 m wide and 0.50 m high, by its parts file. */
TEST(the_cabinet_is_true_to_scale)
{
    struct stage s = stage_begin(HOUSES[0]);
    const struct draw_sheet sheet = s.sheets[0];
    struct look seen = { .want_w = 570.0 / sheet.scale, .want_h = 500.0 / sheet.scale };
    CHECK_TEXT("name of the file", sheet.name, STR("cabinet-cabinet"));
    CHECK("1:5 or 1:10", sheet.scale == 5.0 || sheet.scale == 10.0);
    read_svg(&sheet, &seen);
    CHECK_NEAR("its outline", seen.n_found, 1, 0, "");
    check_run_end(&s.c);
}

/* ---- nothing is left out ---- */

static uint32_t count(const struct stage *s, enum draw_what what, struct str text)
{
    uint32_t n = 0;
    for (uint32_t i = 0; i < s->n; i++)
        for (uint32_t k = 0; s->subjects[i].what == what && k < s->sheets[i].labels.n; k++)
            n += str_eq(s->sheets[i].labels.v[k].text, text);
    return n;
}

/* A cable of the house file ends at as many sockets as it has ends on parts of two ports or more. */
TEST(every_port_and_cable_is_there)
{
    for (size_t k = 0; k < RT_COUNT(HOUSES); k++) {
        struct stage s = stage_begin(HOUSES[k]);
        uint32_t n_ports = 0, n_empty = 0, n_numbers = 0;
        for (uint32_t e = 0; e < s.h->equipment.n; e++) {
            const struct part *part = &s.h->parts.list.v[s.h->equipment.v[e].part.i];
            uint32_t n = 0;
            for (uint32_t g = 0; g < part->ports.n; g++)
                n += (uint32_t)part->ports.v[g].count;
            n_ports += n > 1 ? n : 0;
        }
        for (uint32_t c = 0; c < s.h->cables.n; c++) {
            const struct cable *q = &s.h->cables.v[c];
            uint32_t n_ends = 0;
            for (int end = 0; end < 2; end++) {
                const uint32_t e = end ? q->to.equipment : q->from.equipment;
                n_ends += e != NO_REF && s.ev.layer2->first_port[e + 1] - s.ev.layer2->first_port[e] > 1;
            }
            CHECK_NEAR(arena_printf(s.c.run.arena, "%.*s", STR_ARG(q->id)), count(&s, DRAW_PORTS, q->id), n_ends, 0,
                       "");
        }
        for (uint32_t i = 0; i < s.ev.layer2->ports.n; i++) {
            const struct l2_port *p = &s.ev.layer2->ports.v[i];
            n_empty += p->mode == PORT_EMPTY &&
                       s.ev.layer2->first_port[p->equipment + 1] - s.ev.layer2->first_port[p->equipment] > 1;
        }
        CHECK_NEAR("free ports", count(&s, DRAW_PORTS, STR("free: switch off")), n_empty, 0, "");
        for (unsigned number = 1; number <= 48; number++)
            n_numbers += count(&s, DRAW_PORTS, str_from(arena_printf(s.c.run.arena, "%u", number)));
        CHECK_NEAR("sockets with their numbers", n_numbers, n_ports, 0, "");
        check_run_end(&s.c);
    }
}

/* What stands in a cabinet or on a wall is named there, and so is every cable that comes in, with its label. */
TEST(every_thing_is_named)
{
    struct stage s = stage_begin(HOUSES[0]);
    static const char *const THINGS[] = { "gateway", "switch", "battery", "injector", "recorder" };
    for (size_t i = 0; i < RT_COUNT(THINGS); i++)
        CHECK(THINGS[i], count(&s, DRAW_CABINET, str_from(THINGS[i])) >= 1);
    CHECK("a label", count(&s, DRAW_CABINET, STR("4  c_hub to hub, landing")) == 1);
    check_run_end(&s.c);
}
