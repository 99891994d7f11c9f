/* Sharing one channel, against published values and against an event simulation that knows nothing of the model. */
#include <math.h>

#include "check.h"
#include "csv.h"
#include "load/contention.h"
#include "radio/mac.h"

static struct contention solve(struct check_run *c, const struct contender *classes, uint32_t n, double slot_s,
                               struct contender_result *results)
{
    struct contention out = { 0 };
    CHECK_OK(c, contention_solve(classes, n, slot_s, results, &out, &c->problems));
    return out;
}

/* G. Bianchi, IEEE JSAC 18(3), 2000: its parameters and equations; the fixed points were found by other code. */
TEST(fixed_points_and_throughput_of_bianchi_2000)
{
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_bianchi.csv"));
    uint32_t n_seen = 0;
    for (uint32_t i = 0; i < t.rows.n; i++) {
        if (isnan(csv_num(&t, i, "tau")) || isnan(csv_num(&t, i, "window_min_W")))
            continue;
        const struct contender one = {
            .n = (uint32_t)csv_num(&t, i, "stations_n"),
            .window = csv_num(&t, i, "window_min_W"),
            .stages = (int)csv_num(&t, i, "stages_m"),
            .success_s = csv_num(&t, i, "Ts_us") * 1e-6,
            .collision_s = csv_num(&t, i, "Tc_us") * 1e-6,
            .payload_bits = 8184, /* of the paper's table II */
            .offered_bps = INFINITY,
        };
        struct contender_result r;
        const struct contention out = solve(&c, &one, 1, 50e-6, &r);
        CHECK_NEAR("chance to send", r.tau, csv_num(&t, i, "tau"), 1e-11, "");
        CHECK_NEAR("chance to collide", r.collision, csv_num(&t, i, "p"), 1e-11, "");
        CHECK_NEAR("share of the time for payload at 1 Mb/s", out.throughput_bps / 1e6,
                   csv_num(&t, i, "throughput_ratio"), 1e-9, "");
        CHECK_NEAR("all time", out.idle_share + out.success_share + out.collision_share, 1.0, 1e-12, "");
        n_seen++;
    }
    CHECK("42 rows", n_seen == 42);
    check_run_end(&c);
}

static double ofdm_s(double bytes, double upper_bits, double rate_bps, double preamble_s, double symbol_s)
{
    return preamble_s + symbol_s * ceil((16 + 8 * bytes + upper_bits + 6) / (rate_bps * symbol_s) - 1e-9);
}

/* Reference values of an academic network simulator (rows and parameters in the file's head).  Its frames are made here; the
 * times of acknowledgements are the program's own. */
TEST(throughput_of_a_network_simulator)
{
    static const struct {
        const char *name;
        double rate_bps, acknowledgement_bps;
    } RATES[] = { { "6 Mbit/s", 6e6, 6e6 },
                  { "12 Mbit/s", 12e6, 12e6 },
                  { "24 Mbit/s", 24e6, 24e6 },
                  { "54 Mbit/s", 54e6, 24e6 },
                  { "HE MCS0 20 MHz", 8.603e6, 6e6 },
                  { "HE MCS7 20 MHz", 86e6, 24e6 },
                  { "HE MCS11 20 MHz", 143.4e6, 24e6 } };
    struct check_run c = check_run_begin();
    const struct csv t = csv_read(c.run.arena, check_path(&c, "tests/reference/wifi_bianchi_ofdm.csv"));
    for (uint32_t i = 0; i < t.rows.n; i++) {
        const bool is_old = str_is(csv_cell(&t, i, "phy"), "11a");
        double rate_bps = NAN, acknowledgement_bps = NAN;
        for (size_t k = 0; k < RT_COUNT(RATES); k++)
            if (str_is(csv_cell(&t, i, "rate"), RATES[k].name)) {
                rate_bps = RATES[k].rate_bps;
                acknowledgement_bps = RATES[k].acknowledgement_bps;
            }
        const double data_s =
            is_old ? ofdm_s(1500 + 28, 48, rate_bps, 20e-6, 4e-6) : ofdm_s(1500 + 30, 64, rate_bps, 44e-6, 13.6e-6);
        const double response_s = 16e-6 + mac_legacy_frame_s(14, acknowledgement_bps);
        const double delay_s = str_is(csv_cell(&t, i, "after_collision"), "eifs") ? 1e-7 : 0.0;
        const double again = is_old ? 1.0 - 1.0 / 16 : 1.0; /* the old reference lets the winner win again at once */
        const struct contender one = {
            .n = (uint32_t)csv_num(&t, i, "stations_n"),
            .window = 16,
            .stages = 6,
            .success_s = (data_s + response_s + 34e-6 + delay_s) / again + 9e-6,
            .collision_s = data_s + 34e-6 + (delay_s > 0.0 ? response_s + delay_s : 0.0),
            .payload_bits = 12000 / again,
            .offered_bps = INFINITY,
        };
        struct contender_result r;
        const double mbps = solve(&c, &one, 1, 9e-6, &r).throughput_bps / 1e6;
        CHECK_NEAR("published", mbps, csv_num(&t, i, "value_published_Mbit_per_s"), 7e-4 * mbps, "Mb/s");
    }
    CHECK("44 rows", t.rows.n == 44);
    check_run_end(&c);
}

/* ---- a slotted simulation: every station counts down its own backoff ---- */

struct sim_station {
    uint32_t class;
    int stage;
    uint32_t backoff;
    double waiting_bits; /* of one that does not always have something */
};

static void draw_backoff(struct sim_station *s, const struct contender *c, struct random *r)
{
    s->backoff = (uint32_t)random_below(r, (uint32_t)(c->window * pow(2.0, s->stage)));
}

/* Throughput of each class after so many seconds. */
static void simulate(struct random *r, const struct contender *classes, uint32_t n_classes, double slot_s,
                     double seconds, double *bps)
{
    struct sim_station all[128];
    uint32_t n = 0;
    for (uint32_t k = 0; k < n_classes; k++)
        for (uint32_t i = 0; i < classes[k].n; i++) {
            all[n] = (struct sim_station){ .class = k,
                                           .waiting_bits = isinf(classes[k].offered_bps) ? (double)INFINITY : 0.0 };
            draw_backoff(&all[n++], &classes[k], r);
        }
    double bits[CONTENTION_CLASSES_MAX] = { 0 }, now_s = 0.0;
    while (now_s < seconds) {
        uint32_t n_sending = 0, winner = 0;
        double longest_s = 0.0;
        for (uint32_t i = 0; i < n; i++)
            if (all[i].waiting_bits >= classes[all[i].class].payload_bits && all[i].backoff == 0) {
                n_sending++;
                winner = i;
                longest_s = fmax(longest_s, classes[all[i].class].collision_s);
            }
        const double step_s = n_sending == 0   ? slot_s
                              : n_sending == 1 ? classes[all[winner].class].success_s
                                               : longest_s;
        for (uint32_t i = 0; i < n; i++) {
            const struct contender *k = &classes[all[i].class];
            const bool is_waiting = all[i].waiting_bits >= k->payload_bits;
            if (!is_waiting || all[i].backoff > 0) {
                all[i].backoff -= all[i].backoff > 0;
            } else if (n_sending == 1) {
                bits[all[i].class] += k->payload_bits;
                all[i].waiting_bits -= k->payload_bits;
                all[i].stage = 0;
                draw_backoff(&all[i], k, r);
            } else {
                all[i].stage = all[i].stage < k->stages ? all[i].stage + 1 : k->stages;
                draw_backoff(&all[i], k, r);
            }
            if (!isinf(k->offered_bps))
                all[i].waiting_bits += k->offered_bps * step_s;
        }
        now_s += step_s;
    }
    for (uint32_t k = 0; k < n_classes; k++)
        bps[k] = bits[k] / seconds;
}

static struct contender he_class(uint32_t n, double rate_bps, int packets, double offered_bps)
{
    const double data_s = 52e-6 + packets * 1548 * 8 / rate_bps;
    return (struct contender){
        n, 16, 6, 43e-6 + data_s + 16e-6 + 32e-6, 43e-6 + data_s + 16e-6 + 32e-6, packets * 11776.0, offered_bps
    };
}

/* The model takes slots to be independent; the published error of that is a few per cent at small n. */
PROP(saturated_classes_share_as_in_a_simulation, 6)
{
    struct check_run c = check_run_begin();
    const struct contender classes[] = {
        he_class(1 + (uint32_t)random_below(r, 5), random_between(r, 100e6, 900e6), 1 + (int)random_below(r, 32),
                 INFINITY),
        he_class(1 + (uint32_t)random_below(r, 5), random_between(r, 10e6, 100e6), 1 + (int)random_below(r, 4),
                 INFINITY),
    };
    struct contender_result results[2];
    double bps[2];
    (void)solve(&c, classes, 2, 9e-6, results);
    simulate(r, classes, 2, 9e-6, 60.0, bps);
    for (int k = 0; k < 2; k++)
        CHECK_NEAR("throughput", results[k].throughput_bps / 1e6, bps[k] / 1e6, 0.05 * bps[k] / 1e6, "Mb/s");
    check_run_end(&c);
}

/* Those who want little get it, and one who wants all gets what the simulation leaves. */
PROP(light_stations_and_a_greedy_one_as_in_a_simulation, 6)
{
    struct check_run c = check_run_begin();
    const struct contender classes[] = {
        he_class(1 + (uint32_t)random_below(r, 8), random_between(r, 50e6, 600e6), 1 + (int)random_below(r, 8),
                 random_between(r, 0.2e6, 3e6)),
        he_class(1, random_between(r, 100e6, 900e6), 32, INFINITY),
    };
    struct contender_result results[2];
    double bps[2];
    (void)solve(&c, classes, 2, 9e-6, results);
    simulate(r, classes, 2, 9e-6, 60.0, bps);
    CHECK_NEAR("the light ones", results[0].throughput_bps / 1e6, classes[0].n * classes[0].offered_bps / 1e6, 1e-3,
               "Mb/s");
    CHECK_NEAR("the same, simulated", bps[0] / 1e6, classes[0].n * classes[0].offered_bps / 1e6, 0.03, "Mb/s");
    CHECK_NEAR("the greedy one", results[1].throughput_bps / 1e6, bps[1] / 1e6, 0.06 * bps[1] / 1e6, "Mb/s");
    check_run_end(&c);
}

PROP(more_stations_never_get_more_each, 50)
{
    struct check_run c = check_run_begin();
    struct contender one = he_class(1, random_between(r, 20e6, 900e6), 1 + (int)random_below(r, 40), INFINITY);
    double last = INFINITY;
    for (uint32_t n = 1; n <= 40; n += 3) {
        struct contender_result result;
        one.n = n;
        (void)solve(&c, &one, 1, 9e-6, &result);
        CHECK("less for each", result.throughput_bps / n < last);
        last = result.throughput_bps / n;
    }
    check_run_end(&c);
}

TEST(nobody_and_nonsense)
{
    struct check_run c = check_run_begin();
    struct contender none = he_class(0, 100e6, 1, INFINITY);
    struct contender_result r;
    struct contention out = solve(&c, &none, 1, 9e-6, &r);
    CHECK_NEAR("all idle", out.idle_share, 1.0, 0.0, "");
    CHECK_NEAR("nothing", r.throughput_bps + r.tau + r.airtime_share + r.collision, 0.0, 0.0, "");
    none.window = 1;
    CHECK("refused", contention_solve(&none, 1, 9e-6, &r, &out, &c.problems) == RT_RANGE);
    check_run_end(&c);
}
