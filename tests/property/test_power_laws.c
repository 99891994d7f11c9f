/* Laws of watts over the cable, on random houses: more cable never gains, sums add up, nobody gives more than there is. */
#include <math.h>

#include "wire_kit.h"

enum { PORTS = 40 };

static void write_house(struct buf *b, struct random *r, const double *length_m, const int *class, int n, double more_m)
{
    buf_text(b, "equipment:\n  sw: {part: strong, " WIRE_AT "}\ndevices:\n");
    for (int i = 0; i < n; i++)
        buf_printf(b, "  d%d: {kind: camera, " WIRED ", poe_class: %d}\n", i, class[i]);
    buf_text(b, "cables:\n");
    for (int i = 0; i < n; i++)
        buf_printf(b, "  c%d: {from: \"sw:%d\", to: d%d, part: %s, length_m: %.3f}\n", i, i + 1, i,
                   i % 2 ? "thin" : "copper", length_m[i] + more_m);
    (void)r;
}

PROP(more_cable_never_gains, 60)
{
    double length_m[PORTS];
    int class[PORTS];
    const int n = 1 + (int)random_below(r, PORTS);
    for (int i = 0; i < n; i++) {
        length_m[i] = random_between(r, 0.1, 150.0);
        class[i] = (int)random_below(r, 9);
    }
    struct check_run c = check_run_begin();
    struct buf shorter = { .arena = c.run.arena }, longer = { .arena = c.run.arena };
    write_house(&shorter, r, length_m, class, n, 0);
    write_house(&longer, r, length_m, class, n, random_between(r, 0.1, 40.0));
    struct wire_house a = wire_house(buf_done(&shorter).p), b = wire_house(buf_done(&longer).p);
    double worst_w = 0, start_w = 0, granted_w = 0;
    for (int i = 0; i < n; i++) {
        const struct power_feed *x = &a.power->feeds.v[i], *y = &b.power->feeds.v[i];
        CHECK("same class", x->class_granted == y->class_granted);
        CHECK("delivered falls", y->delivered_w <= x->delivered_w + 1e-9);
        CHECK("loop grows", y->loop_ohm > x->loop_ohm);
        /* volts fall while the same power flows; where the cable cannot carry it, less flows and volts hold at the least */
        CHECK("volts fall", y->device_v <= x->device_v + 1e-9 || y->delivered_w < y->wanted_w - 1e-9);
        worst_w += x->drawn_w;
        if (x->class_granted >= 0) {
            const struct power_feed *f = x;
            CHECK("no more than its class",
                  f->delivered_w <= f->wanted_w + 1e-9); /* class is all that is known of them */
            CHECK("Joule",
                  fabs(f->device_v * f->current_a + f->loss_w - fmin(f->wanted_w, f->delivered_w) - f->loss_w) < 1e-6);
            granted_w += f->drawn_w;
        }
    }
    start_w = a.power->sources.v[0].start_w;
    CHECK_NEAR("sum", a.power->sources.v[0].worst_w, worst_w, 1e-6, "W");
    CHECK("start is the most", start_w >= a.power->sources.v[0].worst_w - 1e-9);
    CHECK("within the budget", granted_w <= a.power->sources.v[0].budget_w);
    CHECK("in use at most at full", a.power->sources.v[0].typical_w <= a.power->sources.v[0].worst_w + 1e-9);
    check_run_end(&a.c);
    check_run_end(&b.c);
    check_run_end(&c);
}
