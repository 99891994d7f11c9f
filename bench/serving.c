/* The server's own lanes (src/web/study.h), asked as its answers ask them. */
#include "serving.h"

#include <math.h>
#include <time.h>

#include "base/file.h"
#include "web/preview.h"

enum { REPEATS = 3, FRAMES = 40 };

struct serving {
    const struct run *run;
    struct rt_problems *p;
    struct field_nodes nodes;
    uint32_t frame, n_judged;
    bool is_signal; /* was the last one judged such that it needs a field? */
};

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* The level at the highest band that the first access point has, on a floor. */
static enum rt_code ask_for(const struct evaluation *ev, uint32_t floor, struct field_asked *out, struct rt_problems *p)
{
    const char *band = ev->radios.n > 1 ? band_name(ev->radios.v[1].band) : "2.4";
    const struct field_words words = { .floor = ev->h->floors.v[floor].id, .band = str_from(band) };
    return field_asked_read(ev, &words, out, p);
}

static enum rt_code draw(struct lane *lane, void *user, struct rt_problems *p)
{
    const struct cable_plan *cables;
    const struct wire_links *links;
    (void)user;
    return evaluation_cables(&lane->ev, &cables, &links, p);
}

static enum rt_code sketch(struct lane *lane, void *user, struct rt_problems *p)
{
    struct serving *s = user;
    for (uint32_t f = 0; f < lane->ev.h->floors.n; f++) {
        struct field_asked asked;
        RT_TRY(ask_for(&lane->ev, f, &asked, p));
        RT_TRY(preview_still(lane, s->run, &asked, &s->nodes, p));
    }
    return RT_OK;
}

static enum rt_code paint(struct lane *lane, void *user, struct rt_problems *p)
{
    const struct fields *whole;
    (void)user;
    return evaluation_fields(&lane->ev, lane->ev.options.trace.estimate, &whole, p);
}

/* The next promise in the order in which they are told. */
static enum rt_code judge_one(struct lane *lane, void *user, struct rt_problems *p)
{
    struct serving *s = user;
    const struct promise_result *r;
    const struct house *h = lane->ev.h;
    if (s->n_judged == h->promises.n)
        return RT_OK;
    RT_TRY(lane_judge_one(lane, s->n_judged, &r, p));
    s->n_judged++;
    s->is_signal = promise_needs_field(r->promise->kind);
    return RT_OK;
}

/* All promises, one after the other; when the first was there, when the last that needs no field was, and when all were. */
static void judge_all(struct serving *s, struct study *study, double start, double told_s[3])
{
    uint32_t before;
    double at_s[3] = { 0 };
    s->n_judged = 0;
    do {
        before = s->n_judged;
        rows_must(s->run, study_ask(study, LANE_JUDGE, judge_one, s, s->p), s->p);
        at_s[2] = now_s() - start;
        if (s->n_judged == 1)
            at_s[0] = at_s[2];
        if (!s->is_signal)
            at_s[1] = at_s[2];
    } while (s->n_judged > before);
    for (int i = 0; i < 3; i++)
        told_s[i] = fmin(told_s[i], at_s[i]);
}

/* The first access point, a centimetre further each time. */
static enum rt_code drag(struct lane *lane, void *user, struct rt_problems *p)
{
    struct serving *s = user;
    const struct evaluation *ev = &lane->ev;
    const struct ap_radio *radio = &ev->radios.v[0];
    const struct equipment *e = &ev->h->equipment.v[radio->equipment];
    struct field_asked asked;
    RT_TRY(ask_for(ev, e->floor.i, &asked, p));
    const struct held held = { .equipment = e->id,
                               .floor = e->floor.i,
                               .at_m = { radio->at_m.x + 0.01 * s->frame, radio->at_m.y,
                                         radio->at_m.z - ev->h->floors.v[e->floor.i].level_m },
                               .faces_deg = NAN,
                               .tilt_deg = NAN };
    s->frame++;
    return preview_make(lane, s->run, &held, &asked, &s->nodes, p);
}

static struct study *open_study(struct serving *s, const char *path)
{
    struct str bytes = { 0 };
    rows_must(s->run, file_read(s->run->arena, path, HOUSE_MAX_BYTES, &bytes, s->p), s->p);
    struct study *study = study_new(s->run, path, (struct study_state){ .number = 1 }, bytes);
    if (!study)
        rows_must(s->run, rt_fail_memory(s->p), s->p);
    return study;
}

void bench_serving(const struct run *run, const char *house_path, struct rows *rows, struct rt_problems *p)
{
    struct serving s = { .run = run, .p = p };
    double drawn_s = INFINITY, sketched_s = INFINITY, whole_s = INFINITY, frame_s = INFINITY;
    double told_s[3] = { INFINITY, INFINITY, INFINITY };
    for (int i = 0; i < REPEATS; i++) {
        const struct arena_mark mark = arena_mark(run->arena);
        const double start = now_s();
        struct study *study = open_study(&s, house_path);
        rows_must(run, study_ask(study, LANE_HOUSE, draw, &s, p), p);
        drawn_s = fmin(drawn_s, now_s() - start);
        rows_must(run, study_ask(study, LANE_PREVIEW, sketch, &s, p), p);
        sketched_s = fmin(sketched_s, now_s() - start);
        rows_must(run, study_ask(study, LANE_FIELD, paint, &s, p), p);
        whole_s = fmin(whole_s, now_s() - start);
        judge_all(&s, study, start, told_s);
        for (int f = 0; f < FRAMES; f++) {
            const struct arena_mark frame = arena_mark(run->arena);
            const double began = now_s();
            rows_must(run, study_ask(study, LANE_PREVIEW, drag, &s, p), p);
            frame_s = fmin(frame_s, now_s() - began);
            arena_reset(run->arena, frame);
        }
        study_drop(study);
        arena_reset(run->arena, mark);
    }
    rows_heading(rows, "In the browser: what the server computes (by the clock, two cores, one thing after the other)");
    rows_add(rows, "the drawing, cables and all", drawn_s, 3, "s", "from the house file's bytes");
    rows_add(rows, "first view: a quick field of every floor", sketched_s, 3, "s",
             "from the same moment; without HTTP and browser");
    rows_add(rows, "the whole field of every floor and band", whole_s, 3, "s", "from the same moment");
    rows_add(rows, "the whole field over the quick one", (whole_s - sketched_s) / (sketched_s - drawn_s), 1, "times",
             "their times alone");
    rows_add(rows, "the first promise", told_s[0], 3, "s", "from the same moment, when the whole field is there");
    rows_add(rows, "the promises that need no field", told_s[1], 3, "s", "from the same moment");
    rows_add(rows, "all promises", told_s[2], 3, "s", "from the same moment");
    rows_add(rows, "pictures while an access point is dragged", 1.0 / frame_s, 0, "a second", "one floor, one band");
}
