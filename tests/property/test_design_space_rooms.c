/* Rows of rooms drawn by chance: where something may hang in them, and what the cables of all their devices cost together. */
#include <math.h>

#include "base/units.h"
#include "check.h"
#include "design/space.h"
#include "wire/open_parts.h"

enum { ROOMS_MAX = 5 };
#define HALF_WALL_M 0.05 /* of stud_wall: two boards of 12.5 mm, 75 mm between them */

struct row {
    uint32_t n;
    double x_m[ROOMS_MAX + 1], depth_m, height_m;
    unsigned kept_free[ROOMS_MAX]; /* 0: not; 1: equipment; 2: outlets; 3: cable */
    uint32_t n_devices;
};

static double tenths(double x) { return round(x * 10.0) / 10.0; }

static struct row draw_row(struct random *r)
{
    struct row q = { .n = 2 + random_below(r, ROOMS_MAX - 1),
                     .depth_m = tenths(random_between(r, 2.4, 6.0)),
                     .height_m = tenths(random_between(r, 2.2, 3.2)) };
    for (uint32_t i = 0; i < q.n; i++) {
        q.x_m[i + 1] = q.x_m[i] + tenths(random_between(r, 2.4, 7.0));
        q.kept_free[i] = i > 0 && random_below(r, 3) == 0 ? 1 + random_below(r, 3) : 0;
    }
    return q;
}

static void write_rooms(struct buf *b, const struct row *q)
{
    static const char *const FREE[] = { "", ", keep_free: [equipment]", ", keep_free: [outlets]",
                                        ", keep_free: [cable]" };
    const double far = q->x_m[q->n], deep = q->depth_m;
    buf_printf(b,
               "rooftree: 1\nname: Row\ncountry: GB\ntime_zone: Europe/London\ncurrency: GBP\n"
               "parts_file: ../../parts/demo.parts.yaml\n"
               "floors:\n  ground: {level_m: 0, height_m: %g, outline: [[0, 0], [%g, 0], [%g, %g], [0, %g]], "
               "ceiling: plasterboard_ceiling}\nrooms:\n",
               q->height_m, far, far, deep, deep);
    for (uint32_t i = 0; i < q->n; i++)
        buf_printf(b, "  r%u: {floor: ground, use: %s, outline: [[%g, 0], [%g, 0], [%g, %g], [%g, %g]]%s}\n", i,
                   i ? "bedroom" : "store", q->x_m[i], q->x_m[i + 1], q->x_m[i + 1], deep, q->x_m[i], deep,
                   FREE[q->kept_free[i]]);
    buf_printf(
        b,
        "walls:\n  outer: {floor: ground, construct: stud_wall, line: [[0, 0], [%g, 0], [%g, %g], [0, %g], [0, 0]]}\n",
        far, far, deep, deep);
    for (uint32_t i = 1; i < q->n; i++)
        buf_printf(b,
                   "  w%u: {floor: ground, construct: stud_wall, line: [[%g, 0], [%g, %g]], openings: "
                   "[{kind: door, at_m: 0.5, width_m: 0.8, sill_m: 0, head_m: 2, construct: hollow_door}]}\n",
                   i, q->x_m[i], q->x_m[i], deep);
    buf_printf(
        b,
        "runs:\n  void: {kind: ceiling_void, floors: [ground], price_per_m: 2, outline: [[0, 0], [%g, 0], [%g, %g], "
        "[0, %g]]}\n"
        "mounts:\n  box: {room: r0, at_m: [0.3, 1.2, 1.4], surface: wall, faces_deg: 90, use: [cabinet], price: 20}\n"
        "line: {kind: fibre, down_mbps: 100, up_mbps: 20, floor: ground, at_m: [0.2, 1, 0.4]}\n"
        "segments:\n  home: {vlan: 10}\nssids:\n  home: {segment: home, bands: [2.4, 5], security: wpa3}\n"
        "budget: {purchase: 5000, contingency_share: 0}\n",
        far, far, deep, deep);
}

/* Against the far wall of some of the rooms. */
static void write_devices(struct buf *b, struct row *q, struct random *r)
{
    buf_text(b, "devices:\n");
    for (uint32_t i = 1; i < q->n; i++)
        if (q->kept_free[i] != 3 && (random_below(r, 2) || i == 1)) {
            const double x = tenths(random_between(r, q->x_m[i] + 0.6, q->x_m[i + 1] - 0.6));
            buf_printf(b, "  d%u: {kind: television, room: r%u, at_m: [%g, %g, 0.8], segment: home, link: wired}\n", i,
                       i, x, q->depth_m - 0.2);
            q->n_devices++;
        }
    if (!q->n_devices) /* the list may not be empty */
        buf_text(b, "  phone: {kind: phone, room: r0, segment: home, link: wifi}\n");
    buf_text(b, "promises:\n  calls: {kind: signal, says: A phone works, level_dbm: -70, rooms: [r0");
    for (uint32_t i = 1; i < q->n; i++)
        buf_printf(b, ", r%u", i);
    buf_text(b, "]}\n");
}

static struct house *read_row(struct check_run *c, struct row *q, struct random *r)
{
    struct house *h = NULL;
    struct buf b = { .arena = c->run.arena };
    write_rooms(&b, q);
    write_devices(&b, q, r);
    CHECK_OK(c,
             house_read_bytes(&c->run, check_path(c, "tests/houses/row.house.yaml"), buf_done(&b), &h, &c->problems));
    CHECK_OK(c, open_parts_choose(&c->run, h, &c->problems));
    return h;
}

static void check_mounts(const struct row *q, const struct house *h, uint32_t n_old)
{
    bool has_ceiling[ROOMS_MAX] = { false };
    for (uint32_t i = n_old; i < h->mounts.n; i++) {
        const struct mount *m = &h->mounts.v[i];
        const uint32_t room = m->room.i;
        const double left = m->at_m.x - q->x_m[room], right = q->x_m[room + 1] - m->at_m.x;
        const double near = fmin(fmin(left, right), fmin(m->at_m.y, q->depth_m - m->at_m.y));
        CHECK("no equipment, no cable", q->kept_free[room] != 1 && q->kept_free[room] != 3);
        if (m->surface == SURFACE_CEILING) {
            has_ceiling[room] = true;
            CHECK("clear of walls", near >= 0.5 + HALF_WALL_M - 1e-9);
            CHECK_NEAR("at the ceiling", m->at_m.z, q->height_m - 0.02, 1e-9, "m");
        } else {
            CHECK("outlets are wanted", q->kept_free[room] == 0);
            CHECK_NEAR("before the wall", near, HALF_WALL_M + 0.03, 0.006, "m");
            const bool is_by_side = near == left || near == right;
            const double along = is_by_side ? m->at_m.y : m->at_m.x;
            CHECK("by no door", !is_by_side || along < 0.4 || along > 1.4 || near == (room ? -1.0 : left) ||
                                    (room + 1 == q->n && near == right));
            CHECK_NEAR("looks into the room", sin(units_rad_from_deg(m->faces_deg)),
                       near == left    ? 1.0
                       : near == right ? -1.0
                                       : 0.0,
                       1e-6, "");
        }
    }
    for (uint32_t i = 0; i < q->n; i++) /* every room is wide enough for its middle */
        CHECK("a ceiling in each", has_ceiling[i] == (q->kept_free[i] != 1 && q->kept_free[i] != 3));
}

/* ---- all devices' cables together ---- */

static struct equipment at_core(const struct design_space *s, uint32_t part)
{
    const struct ref none = { .i = NO_REF };
    return (struct equipment){ .id = STR("switch"),
                               .part.i = part,
                               .mount = none,
                               .floor.i = s->hubs.v[0].floor,
                               .room.i = s->hubs.v[0].room,
                               .at_m = s->hubs.v[0].at_m,
                               .inside = none,
                               .unit = RT_NOT_GIVEN,
                               .segment = none,
                               .phase = none,
                               .owned = true };
}

static int64_t bill_of_all(struct check_run *c, const struct design_space *s)
{
    struct house h = *s->house;
    struct cable_plan *plan = NULL;
    struct wire_links links = { 0 };
    struct bill *bill = NULL;
    uint32_t part = 0;
    while (h.parts.list.v[part].kind != PART_SWITCH)
        part++;
    struct equipment core = at_core(s, part);
    h.equipment.v = &core;
    h.equipment.n = 1;
    h.cables.v = ARENA_ARRAY(c->run.arena, struct cable, h.devices.n);
    h.cables.n = 0;
    for (uint32_t i = 0; i < h.devices.n; i++)
        if (h.devices.v[i].link == LINK_WIRED)
            h.cables.v[h.cables.n++] = (struct cable){
                .id = h.devices.v[i].id,
                .from = { .what = core.id, .equipment = 0, .device = NO_REF, .port = RT_NOT_GIVEN },
                .to = { .what = h.devices.v[i].id, .equipment = NO_REF, .device = i, .port = RT_NOT_GIVEN },
                .part.i = NO_REF,
                .length_m = RT_NOT_GIVEN,
                .cord_from_m = 0.5,
                .cord_to_m = 2.0
            };
    CHECK_OK(c, cables_plan(&c->run, &h, &plan, &c->problems));
    CHECK_OK(c, wire_links_judge(&c->run, plan, &links, &c->problems));
    CHECK_OK(c, bill_make(&c->run, plan, &links, NULL, &bill, &c->problems));
    return bill->total;
}

/* By the words of placing.h: links, each work once, the cheapest boxes for all metres. */
static int64_t price_of_all(struct check_run *c, const struct design_space *s, uint32_t *n_devices)
{
    const struct placing *q = &s->placing;
    bool *is_done = ARENA_ARRAY(c->run.arena, bool, q->works.n);
    double *metres = ARENA_ARRAY(c->run.arena, double, q->cablings.n);
    int64_t sum = 0;
    for (uint32_t i = 0; i < q->things.n; i++) {
        if (q->things.v[i].device == NO_REF)
            continue;
        ++*n_devices;
        CHECK("one hub, one link", q->things.v[i].links.n == 1);
        const struct place_link *l = &q->links.v[q->things.v[i].links.v[0]];
        sum += l->price;
        metres[l->cabling] += l->length_m;
        for (uint32_t w = 0; w < l->works.n; w++) {
            sum += is_done[l->works.v[w]] ? 0 : q->works.v[l->works.v[w]];
            is_done[l->works.v[w]] = true;
        }
    }
    for (uint32_t i = 0; i < q->cablings.n; i++) {
        int64_t least = INT64_MAX;
        for (uint32_t k = 0; k < q->cablings.v[i].n_parts; k++) {
            const struct place_cable_part *p = &q->cablings.v[i].parts[k];
            const int64_t price = (int64_t)ceil(metres[i] / p->per_m - 1e-9) * p->price;
            least = price < least ? price : least;
        }
        sum += metres[i] > 0.0 ? least : 0;
    }
    return sum;
}

PROP(rooms_in_a_row, 25)
{
    struct check_run c = check_run_begin();
    struct row q = draw_row(r);
    const struct house *h = read_row(&c, &q, r);
    struct design_options options = { .generates = true, .grid_m = 3.0 };
    struct design_space *s = NULL;
    uint32_t n_devices = 0;
    CHECK_OK(&c, space_make(&c.run, h, options, &s, &c.problems));
    check_mounts(&q, s->house, h->mounts.n);
    CHECK_NEAR("hubs", s->hubs.n, 1, 0, "");
    /* the cheapest gateway */
    CHECK_NEAR("owing", (double)s->placing.owing, 13800, 0, "pence");
    /* Laid together they find ways to share that cost no more than each by its own way with what is shared paid once; without places for
     * access points, whose cables might open ways for others. */
    options.generates = false;
    CHECK_OK(&c, space_make(&c.run, h, options, &s, &c.problems));
    const int64_t estimate = price_of_all(&c, s, &n_devices), bill = bill_of_all(&c, s);
    CHECK_NEAR("devices", n_devices, q.n_devices, 0, "");
    CHECK("no more than asked", bill <= estimate + (int64_t)n_devices);
    CHECK("not far from it", (double)bill >= 0.8 * (double)estimate);
    check_run_end(&c);
}
