/* Hours as the kernel's packet filter can judge them: by UNIX time and by the second of the week, both of UTC.
 *
 * While the offset is one, the hours are the same seconds of every UTC week; dated exceptions are cut out of the line of time,
 * or added as stretches of their own. */
#include <stdlib.h>

#include "reach/calendar_int.h"

struct maker {
    struct arena *a;
    const struct hours *hours;
    VEC(struct kernel_span) out;
    bool failed;
};

static void add(struct maker *m, int64_t from_s, int64_t to_s, span_list week_seconds)
{
    const struct kernel_span span = { from_s, to_s, week_seconds };
    if (from_s < to_s && !VEC_PUSH(m->a, &m->out, span))
        m->failed = true;
}

/* The hours of an ordinary week, moved to UTC and round. */
static span_list week_seconds_of(struct maker *m, int32_t offset_s)
{
    struct span v[14];
    uint32_t n = 0;
    for (int weekday = 0; weekday < 7; weekday++) {
        if (!(m->hours->days >> weekday & 1))
            continue;
        const int64_t start_s = weekday * DAY_S + hours_start_s(m->hours) - offset_s;
        const int64_t from_s = start_s - floor_div(start_s, WEEK_S) * WEEK_S, to_s = from_s + hours_length_s(m->hours);
        v[n++] = (struct span){ (axis_value)from_s, (axis_value)(to_s < WEEK_S ? to_s : WEEK_S) - 1 };
        if (to_s > WEEK_S)
            v[n++] = (struct span){ 0, (axis_value)(to_s - WEEK_S) - 1 };
    }
    return spans_tidy(m->a, v, n, &m->failed);
}

static bool is_whole_week(span_list x) { return x.n == 1 && x.v[0].lo == 0 && x.v[0].hi == WEEK_S - 1; }

/* Every week's hours from from_s to to_s, between two exceptions. */
static void add_weekly(struct maker *m, int64_t from_s, int64_t to_s, span_list weekly)
{
    if (weekly.n)
        add(m, from_s, to_s, is_whole_week(weekly) ? (span_list){ 0 } : weekly);
}

/* Days in a row on which the weekly hours fall out make one cut: nothing else of them lies between. */
static void make_stretch(struct maker *m, const struct stretch *s)
{
    const span_list weekly = week_seconds_of(m, s->offset_s);
    const int64_t start_s = hours_start_s(m->hours) - s->offset_s, length_s = hours_length_s(m->hours);
    int64_t from_s = s->from_s;
    for (int64_t day = floor_div(s->from_s + s->offset_s, DAY_S) - 1; day * DAY_S + start_s < s->to_s; day++) {
        const bool weekly_begin = hours_begin_weekly(m->hours, day), begin = hours_begin(m->hours, day);
        const int64_t lo_s = day * DAY_S + start_s, hi_s = lo_s + length_s;
        if (weekly_begin == begin || hi_s <= s->from_s)
            continue;
        if (begin) {
            add(m, lo_s > s->from_s ? lo_s : s->from_s, hi_s < s->to_s ? hi_s : s->to_s, (span_list){ 0 });
            continue;
        }
        int64_t last = day;
        for (int64_t d = day + 1; d * DAY_S + start_s < s->to_s; d++) {
            if (hours_begin(m->hours, d))
                break;
            if (hours_begin_weekly(m->hours, d))
                last = d;
        }
        add_weekly(m, from_s, lo_s, weekly);
        day = last;
        from_s = last * DAY_S + start_s + length_s;
        from_s = from_s < s->to_s ? from_s : s->to_s;
    }
    add_weekly(m, from_s, s->to_s, weekly);
}

static int by_beginning(const void *x, const void *y)
{
    const struct kernel_span *a = x, *b = y;
    if (a->from_s != b->from_s)
        return a->from_s < b->from_s ? -1 : 1;
    return (a->to_s > b->to_s) - (a->to_s < b->to_s);
}

enum rt_code calendar_kernel_spans(const struct run *run, const struct calendar *c, uint32_t hours,
                                   kernel_span_list *out, struct rt_problems *p)
{
    struct maker m = { .a = run->arena, .hours = &c->h->hours.v[hours] };
    for (struct stretch s = { .to_s = c->from_s }; s.to_s < c->to_s && !m.failed;) {
        s = stretch_from(&c->clock, s.to_s, c->to_s);
        make_stretch(&m, &s);
    }
    if (m.failed)
        return rt_fail_memory(p);
    if (m.out.n)
        qsort(m.out.v, m.out.n, sizeof *m.out.v, by_beginning);
    *out = (kernel_span_list){ m.out.v, m.out.n };
    return RT_OK;
}
