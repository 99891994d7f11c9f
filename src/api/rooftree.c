#include "rooftree.h"

#include <math.h>
#include <omp.h>
#include <time.h>

#include "data/device_kinds.h"
#include "promise/promise.h"
#include "promise/spot_report.h"
#include "wire/open_parts.h"

static const double AVAILABILITY = 0.90;

struct rooftree_house {
    struct arena *arena;
    struct run run;
    struct rt_problems problems;
    struct house *h;
    struct evaluation ev;
    bool is_good;
};

struct rooftree_house *rooftree_open(const char *path)
{
    struct arena *arena = arena_new((size_t)ARENA_DEFAULT_LIMIT_MB << 20);
    struct rooftree_house *r = arena ? ARENA_NEW(arena, struct rooftree_house) : NULL;
    if (!r) {
        arena_free(arena);
        return NULL;
    }
    r->arena = arena;
    r->run = (struct run){ .arena = arena, .seed = 1, .n_threads = omp_get_num_procs(), .now_s = time(NULL) };
    rt_problems_init(&r->problems, arena);
    r->is_good = house_open(&r->run, path, &r->h, &r->problems) == RT_OK &&
                 evaluation_begin(&r->ev, &r->run, r->h, evaluation_default_options(r->h), &r->problems) == RT_OK;
    return r;
}

void rooftree_close(struct rooftree_house *house)
{
    if (house)
        arena_free(house->arena); /* the handle lives in it too */
}

int rooftree_is_good(const struct rooftree_house *house) { return house->is_good; }

const char *rooftree_problems(struct rooftree_house *house)
{
    struct buf out = { .arena = house->arena };
    rt_problems_format(&house->problems, &out);
    return out.failed ? "the memory set aside for this house is used up\n" : out.p ? out.p : "";
}

const char *rooftree_check(struct rooftree_house *house)
{
    struct promise_results results;
    if (!house->is_good || promises_evaluate(&house->ev, ALL_PROMISE_KINDS, &results, &house->problems) != RT_OK)
        return NULL;
    struct buf out = { .arena = house->arena };
    struct json j = { .out = &out };
    promises_write_json(&j, &house->ev, &results, NULL, NULL);
    return out.failed ? NULL : out.p;
}

const char *rooftree_signal(struct rooftree_house *house, const char *floor, double x_m, double y_m, double z_m,
                            const char *device)
{
    if (!house->is_good)
        return NULL;
    const struct str kind = str_from(device ? device : DEVICE_KIND_USUAL);
    const struct radio_ability *radio = evaluation_radio_of(&house->ev, kind);
    const uint32_t i = house_find_floor(house->h, str_from(floor));
    if (i == NO_REF || !radio || !isfinite(x_m) || !isfinite(y_m) || !isfinite(z_m)) {
        rt_fail(&house->problems, RT_UNKNOWN_REF, RT_NOWHERE, NULL,
                "no floor `%s`, no radio of a `%.*s`, or no such spot", floor, STR_ARG(kind));
        return NULL;
    }
    struct spot_report report;
    if (spot_report_make(&house->ev, i, (struct vec3){ x_m, y_m, z_m }, radio, kind, AVAILABILITY, 0, &report,
                         &house->problems) != RT_OK)
        return NULL;
    struct buf out = { .arena = house->arena };
    struct json j = { .out = &out };
    spot_report_write_json(&j, &report);
    return out.failed ? NULL : out.p;
}

const char *rooftree_schema(struct rooftree_house *house)
{
    struct buf out = { .arena = house->arena };
    house_write_schema(&out);
    return out.failed ? NULL : out.p;
}

const char *rooftree_version(void) { return RT_VERSION; }
