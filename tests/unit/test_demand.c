/* Who asks for what, and which cables it passes: counted by hand on a house of two switches in a row. */
#include "load/demand.h"

#include <math.h>

#include "base/units.h"
#include "check.h"

#define HOUSE                                                                                         \
    "rooftree: 1\nname: Test\ncountry: IE\ntime_zone: Europe/Dublin\ncurrency: EUR\n"                 \
    "parts_file: ../parts/demo.parts.yaml\n"                                                          \
    "floors: {g: {level_m: 0, height_m: 2.5, outline: [[0, 0], [9, 0], [9, 9]]}}\n"                   \
    "rooms: {den: {floor: g, outline: [[0, 0], [9, 0], [9, 9]], use: living}}\n"                      \
    "line: {kind: fibre, down_mbps: 100, up_mbps: 20, overhead_bytes: 18}\n"                          \
    "segments: {home: {vlan: 10}, eyes: {vlan: 20}}\n"                                                \
    "equipment:\n"                                                                                    \
    "  gate: {part: gateway_1g, room: den, at_m: [8, 4, 1]}\n"                                        \
    "  near: {part: switch_24, room: den, at_m: [8, 4, 1]}\n"                                         \
    "  far: {part: switch_24, room: den, at_m: [8, 4, 1]}\n"                                          \
    "cables:\n"                                                                                       \
    "  c_near: {from: gate, to: near}\n  c_far: {from: near, to: far}\n  c_pc: {from: far, to: pc}\n" \
    "  c_nas: {from: far, to: nas}\n  c_cam: {from: far, to: cam}\n  c_rec: {from: near, to: rec}\n"
#define WIRED ", room: den, at_m: [8, 4, 1], link: wired"

enum { C_NEAR, C_FAR, C_PC, C_NAS, C_CAM, C_REC };

struct laid {
    struct check_run c;
    struct house *h;
    struct cable_tree tree;
    struct demand *d;
};

static struct laid lay(const char *rest)
{
    struct laid l = { .c = check_run_begin() };
    const struct str text = str_from(arena_printf(l.c.run.arena, "%s%s", HOUSE, rest));
    CHECK_OK(&l.c, house_read_bytes(&l.c.run, check_path(&l.c, "houses/test.house.yaml"), text, &l.h, &l.c.problems));
    CHECK("tree", cable_tree_make(l.c.run.arena, l.h, NULL, NULL, &l.tree));
    CHECK_OK(&l.c, demand_make(&l.c.run, l.h, &l.tree, NULL, NULL, &l.d, &l.c.problems));
    return l;
}

/* All that passes a point at once, each state counted whole. */
static void check_passes(const struct laid *l, const char *what, uint32_t point, double down_mbps, double up_mbps)
{
    double down = 0.0, up = 0.0;
    for (uint32_t i = 0; i < l->d->uses[point].n; i++) {
        down += l->d->uses[point].v[i].down_mbps;
        up += l->d->uses[point].v[i].up_mbps;
    }
    CHECK_NEAR(what, down, down_mbps, 1e-12, "Mb/s down");
    CHECK_NEAR(what, up, up_mbps, 1e-12, "Mb/s up");
}

TEST(ways_through_the_house)
{
    struct laid l = lay("devices:\n"
                        "  pc: {kind: desktop, segment: home, profile: busy" WIRED "}\n"
                        "  nas: {kind: server, segment: home, profile: still" WIRED "}\n"
                        "  cam: {kind: camera, segment: eyes, profile: eye" WIRED "}\n"
                        "  rec: {kind: recorder, segment: home, profile: still" WIRED "}\n"
                        "profiles:\n"
                        "  busy: {states: [{down_mbps: 10, up_mbps: 2, chance: [0.5]},\n"
                        "    {up_mbps: 50, with: nas, waits: till_night, chance: [0.25]}]}\n"
                        "  still: {states: [{chance: [0]}]}\n"
                        "  eye: {states: [{up_mbps: 4, with: rec, waits: never, chance: [1]}]}\n");
    CHECK_NEAR("all known", l.d->unknown.n, 0, 0, "");
    CHECK_NEAR("sources", l.d->sources.n, 4, 0, "");
    check_passes(&l, "the line: what goes to the internet", 0, 10, 2);
    check_passes(&l, "the computer's cable: all of its own", demand_cable_point(C_PC), 10, 52);
    check_passes(&l, "copies turn back at the switch that both hang on", demand_cable_point(C_NAS), 50, 0);
    check_passes(&l, "the camera's cable", demand_cable_point(C_CAM), 0, 4);
    check_passes(&l, "between the switches", demand_cable_point(C_FAR), 10, 2 + 4);
    check_passes(&l, "to the gateway, pictures both ways: another segment", demand_cable_point(C_NEAR), 10 + 4, 2 + 4);
    check_passes(&l, "the recorder's cable", demand_cable_point(C_REC), 4, 0);
    const struct demand_state *copies = &l.d->sources.v[0].states.v[1];
    CHECK("as the file says", copies->patience == WAITS_TILL_NIGHT && copies->with == tree_device(l.h, 1));
    CHECK_NEAR("chance", copies->chance[167], 0.25, 0, "");
    check_run_end(&l.c);
}

/* One person with a profile: what they carry is silent but for what they do. */
TEST(one_thing_at_a_time)
{
    struct laid l = lay("people: {mia: {says: Mia, profile: evening}}\n"
                        "devices:\n"
                        "  pc: {kind: desktop, owner: mia, segment: home" WIRED "}\n"
                        "  nas: {kind: server, segment: home" WIRED "}\n"
                        "  cam: {kind: camera, segment: eyes, profile: evening" WIRED "}\n"
                        "  rec: {kind: recorder, segment: eyes" WIRED "}\n"
                        "  slate: {kind: tablet, owner: mia, segment: home, link: wifi}\n"
                        "  pocket: {kind: phone, owner: mia, segment: home, link: wifi}\n"
                        "  lamp: {kind: light, room: den, link: mesh}\n"
                        "profiles: {evening: {states: [{says: a film, down_mbps: 5, chance:\n"
                        "  [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0.2, 0.6, 0.4, 0, 0]}]}}\n");
    CHECK_NEAR("computer, server, camera, recorder, Mia", l.d->sources.n, 5, 0, "");
    const struct demand_source *mia = &l.d->sources.v[4];
    CHECK("her film on what she carries first", mia->person == 0 && mia->device == 4 && !mia->is_default);
    CHECK_TEXT("by name", demand_source_words(l.c.run.arena, l.d, 4), STR("Mia"));
    CHECK_TEXT("by kind", demand_source_words(l.c.run.arena, l.d, 1), STR("the server `nas`"));
    CHECK("the computer stands on the desk: by kind", l.d->sources.v[0].is_default);
    CHECK_TEXT("profile", l.d->sources.v[0].profile, STR("computer"));
    double mean[HOURS_OF_WEEK];
    demand_means(l.d, 0, LOAD_DOWN, mean);
    double alone = 0.0;
    for (uint32_t i = 0; i < l.d->uses[0].n; i++) {
        const struct load_use *u = &l.d->uses[0].v[i];
        alone += u->source == 4 || u->source == 2 ? u->down_mbps * 0.6 : 0.0;
    }
    CHECK_NEAR("two films at 8 in the evening", alone, 6.0, 1e-12, "Mb/s");
    CHECK("of all hours the fullest", demand_busy_hour(l.d, 0, LOAD_DOWN) % 24 == 20);
    CHECK("Monday as Tuesday, Saturday not",
          demand_hours_equal(l.d, 0, 20, 44) && !demand_hours_equal(l.d, 0, 17, 137));
    check_run_end(&l.c);
}

TEST(cameras_by_kind)
{
    struct laid l =
        lay("devices:\n"
            "  pc: {kind: desktop, segment: home" WIRED "}\n"
            "  nas: {kind: server, segment: home" WIRED "}\n"
            "  cam: {kind: camera, segment: eyes, camera: {rate_mbps: 6, motion_share: 0.05}" WIRED "}\n"
            "  rec: {kind: recorder, segment: eyes" WIRED "}\n"
            "  bell: {kind: doorbell, segment: home, camera: {rate_mbps: 2, motion_share: 0.05}" WIRED "}\n");
    CHECK_TEXT("to the recorder of its segment", l.d->sources.v[2].profile, STR("camera_recorded"));
    CHECK("all the time, its own rate",
          l.d->sources.v[2].states.v[0].chance[3] >= 1.0 && l.d->sources.v[2].states.v[0].up_mbps >= 6.0);
    check_passes(&l, "its pictures stay in the house", demand_cable_point(C_CAM), 0.02, 6);
    CHECK_TEXT("no recorder there", l.d->sources.v[4].profile, STR("camera_stored"));
    CHECK_NEAR("while something moves", l.d->sources.v[4].states.v[0].chance[3], 0.05, 0, "");
    CHECK_NEAR("no way for the bell", l.d->unknown.n, 1, 0, "");
    CHECK_TEXT("told", l.d->unknown.v[0], STR("say how `bell` gets to the gateway: no cable leads there"));
    check_run_end(&l.c);
}

TEST(what_can_wait_moves_to_the_night)
{
    struct laid l =
        lay("devices:\n"
            "  pc: {kind: desktop, segment: home, profile: busy" WIRED "}\n"
            "  nas: {kind: server, segment: home, profile: full" WIRED "}\n"
            "  cam: {kind: camera, segment: eyes, profile: full" WIRED "}\n"
            "  rec: {kind: recorder, segment: eyes" WIRED "}\n"
            "profiles:\n"
            "  busy: {states: [{down_mbps: 5, chance: [0.5]}, {up_mbps: 8, waits: till_night, chance: [0.02]}]}\n"
            "  full: {states: [{up_mbps: 8, waits: till_night, chance: [0.9]}]}\n");
    const struct demand *night = demand_by_night(l.c.run.arena, l.d);
    CHECK("made", night != NULL);
    double before[HOURS_OF_WEEK], after[HOURS_OF_WEEK];
    demand_means(l.d, demand_cable_point(C_PC), LOAD_UP, before);
    demand_means(night, demand_cable_point(C_PC), LOAD_UP, after);
    double sum_before = 0.0, sum_after = 0.0;
    for (unsigned i = 0; i < HOURS_OF_WEEK; i++) {
        sum_before += before[i];
        sum_after += after[i];
        const bool is_night = i % 24 >= NIGHT_FROM && i % 24 < NIGHT_TO;
        CHECK("only at night", is_night ? after[i] > 0.0 : !(after[i] > 0.0));
    }
    CHECK_NEAR("all of it", sum_after, sum_before, 1e-9, "Mb/s h");
    CHECK_NEAR("0.48 h a day in 5 h", after[2], 8.0 * 0.48 / 5.0, 1e-9, "Mb/s");
    demand_means(night, demand_cable_point(C_NAS), LOAD_UP, after);
    CHECK_NEAR("more than a night holds stays", after[12], 7.2, 1e-9, "Mb/s");
    check_run_end(&l.c);
}

/* One hour's sum at the line: capacity in 4096 steps. */
TEST(sum_at_the_line)
{
    struct laid l = lay("devices:\n"
                        "  pc: {kind: desktop, segment: home, profile: film" WIRED "}\n"
                        "  nas: {kind: server, segment: home, profile: film" WIRED "}\n"
                        "  cam: {kind: camera, segment: eyes, profile: call" WIRED "}\n"
                        "  rec: {kind: recorder, segment: eyes, profile: film" WIRED "}\n"
                        "profiles:\n"
                        "  film: {states: [{down_mbps: 40, up_mbps: 1, chance: [0.5]}]}\n"
                        "  call: {states: [{down_mbps: 15, up_mbps: 10, waits: never, chance: [0.1]}]}\n");
    struct rate_sum all, calls;
    CHECK_OK(&l.c, demand_sum(&l.c.run, l.d, 0, 5, LOAD_DOWN, 1.0, &all, &l.c.problems));
    CHECK_OK(&l.c, demand_sum_urgent(&l.c.run, l.d, 0, 5, LOAD_DOWN, 1.0, &calls, &l.c.problems));
    CHECK_NEAR("mean", all.mean_mbps, 3 * 20 + 1.5, 1e-9, "Mb/s");
    CHECK_NEAR("calls", calls.mean_mbps, 1.5, 1e-9, "Mb/s");
    CHECK_NEAR("step", all.step_mbps, l.d->points.v[0].down_mbps / 4096.0, 1e-12, "Mb/s");
    /* three films at once: 1 in 8, on a line of 94 Mb/s; two films and a call, 95 Mb/s: 3/8 of 1 in 10 */
    CHECK_NEAR("too much", rate_sum_over(&all, l.d->points.v[0].down_mbps).high, 0.125 + 0.375 * 0.1, 1e-12, "");
    struct rate_sum twice;
    CHECK_OK(&l.c, demand_sum(&l.c.run, l.d, 0, 5, LOAD_DOWN, 2.0, &twice, &l.c.problems));
    CHECK_NEAR("all rates twice", rate_sum_quantile(&twice, 0.9999).high, 270.0, 4 * twice.step_mbps, "Mb/s");
    check_run_end(&l.c);
}

/* Two and a half times: two whole copies, and one that is there half of the time. */
TEST(more_of_the_same)
{
    struct laid l = lay("devices:\n"
                        "  pc: {kind: desktop, segment: home, profile: film" WIRED "}\n"
                        "  nas: {kind: server, segment: home, profile: copy" WIRED "}\n"
                        "  cam: {kind: camera, segment: eyes, profile: film" WIRED "}\n"
                        "  rec: {kind: recorder, segment: eyes, profile: film" WIRED "}\n"
                        "profiles:\n"
                        "  film: {states: [{down_mbps: 10, chance: [0.5]}, {down_mbps: 2, chance: [0.2]}]}\n"
                        "  copy: {states: [{up_mbps: 5, with: pc, chance: [0.4]}]}\n");
    const double times[] = { 2.5, 2.0, 0.0, 1.0 };
    const struct demand *more = demand_multiplied(l.c.run.arena, l.d, times);
    CHECK("made", more != NULL);
    CHECK_NEAR("copies", more->sources.n, 3 + 2 + 0 + 1, 0, "");
    double mean[HOURS_OF_WEEK];
    demand_means(more, 0, LOAD_DOWN, mean);
    CHECK_NEAR("the line", mean[0], (2.5 + 1.0) * 5.4, 1e-12, "Mb/s");
    demand_means(more, demand_cable_point(C_PC), LOAD_DOWN, mean);
    CHECK_NEAR("the computer's cable, copies from the server too", mean[0], 2.5 * 5.4 + 2 * 2.0, 1e-12, "Mb/s");
    struct rate_sum sum;
    CHECK_OK(&l.c, demand_sum(&l.c.run, more, 0, 0, LOAD_DOWN, 1.0, &sum, &l.c.problems));
    /* all four films at once: 0.5 x 0.5 x 0.25 x 0.5; three of them and more than 1 Mb/s of the small ones */
    CHECK_NEAR("all at once", rate_sum_over(&sum, 39.0).high, 0.5 * 0.5 * 0.25 * 0.5, 1e-12, "");
    check_run_end(&l.c);
}
