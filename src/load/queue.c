#include "load/queue.h"

#include <math.h>

/* ---- lines and calls ---- */

/* 1 / B(n) = 1 + n / A * 1 / B(n - 1), 1 / B(0) = 1; here of its logarithm, which neither overflows nor loses digits. */
double queue_erlang_b_log(double erlang, uint32_t n)
{
    if (!(erlang > 0.0))
        return n == 0 ? 0.0 : -(double)INFINITY;
    double log_inverse = 0.0;
    for (uint32_t k = 1; k <= n; k++) {
        const double x = log_inverse + log(k / erlang);
        log_inverse = x > 0.0 ? x + log1p(exp(-x)) : log1p(exp(x));
    }
    return -log_inverse;
}

double queue_erlang_b(double erlang, uint32_t n)
{
    double blocking = 1.0;
    for (uint32_t k = 1; k <= n; k++)
        blocking = erlang * blocking / (k + erlang * blocking);
    return blocking;
}

/* Steps of a bisection until a double can halve no further. */
enum { HALVINGS = 200 };

double queue_erlang_b_offered(double blocking, uint32_t n)
{
    double low = 0.0, high = 1.0;
    while (queue_erlang_b(high, n) < blocking) /* ends: it tends to 1 */
        high *= 2.0;
    for (int i = 0; i < HALVINGS && low < high; i++) {
        const double middle = 0.5 * (low + high);
        if (queue_erlang_b(middle, n) < blocking)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

uint32_t queue_erlang_b_lines(double erlang, double blocking)
{
    double now = 1.0;
    uint32_t n = 0;
    while (now > blocking) {
        n++;
        now = erlang * now / (n + erlang * now);
    }
    return n;
}

double queue_erlang_c(double erlang, uint32_t n)
{
    if (!(erlang < n))
        return 1.0;
    const double blocking = queue_erlang_b(erlang, n);
    return n * blocking / (n - erlang * (1.0 - blocking));
}

/* As Erlang's, with the sources that are left: 1 / E(n) = 1 + n / ((S - n + 1) beta) * 1 / E(n - 1). */
double queue_engset_time(uint32_t sources, double beta, uint32_t n)
{
    double busy = 1.0;
    for (uint32_t k = 1; k <= n; k++) {
        const double offered = k > sources ? 0.0 : (sources - k + 1) * beta;
        busy = offered * busy / (k + offered * busy);
    }
    return busy;
}

/* A source that calls sees the others only. */
double queue_engset_calls(uint32_t sources, double beta, uint32_t n)
{
    return sources == 0 ? 0.0 : queue_engset_time(sources - 1, beta, n);
}

/* ---- active at once ---- */

static double binomial_log(uint32_t n, double p, uint32_t k)
{
    double sum = k * log(p) + (n - k) * log1p(-p);
    for (uint32_t i = 0; i < k; i++)
        sum += log((double)(n - i) / (i + 1));
    return sum;
}

/* Terms are summed away from the middle, where they only grow smaller. */
double queue_binomial_over(uint32_t n, double p, uint32_t k)
{
    if (k >= n || !(p > 0.0))
        return 0.0;
    if (p >= 1.0)
        return 1.0;
    const double odds = p / (1.0 - p);
    double sum = 0.0;
    if (k + 1 > n * p) {
        double term = exp(binomial_log(n, p, k + 1));
        for (uint32_t j = k + 1; j <= n; j++) {
            sum += term;
            term *= (double)(n - j) / (j + 1) * odds;
        }
        return sum;
    }
    double term = exp(binomial_log(n, p, k));
    for (uint32_t j = k + 1; j-- > 0;) {
        sum += term;
        term *= (double)j / ((n - j + 1) * odds);
    }
    return 1.0 - sum;
}

/* ---- waiting ---- */

double queue_mg1_wait(double load, double cv2)
{
    return load < 1.0 ? load / (1.0 - load) * (1.0 + cv2) / 2.0 : (double)INFINITY;
}

double queue_mm1_wait_quantile(double load, double chance)
{
    if (!(load < 1.0))
        return (double)INFINITY;
    const double passed = 1.0 - chance;
    return load > passed ? log(load / passed) / (1.0 - load) : 0.0;
}

/* P(A = k) of Poisson arrivals A for k below n, and P(A > k) without a difference of near numbers. */
static void arrivals(double mean, uint32_t n, double *is, double *over)
{
    double term = exp(-mean), tail = 0.0;
    for (uint32_t k = 0; k < n; k++, term *= mean / k)
        is[k] = term;
    for (uint32_t k = n; term > 1e-320 && k < n + 1000; term *= mean / ++k)
        tail += term;
    for (uint32_t k = n; k-- > 0;) {
        over[k] = tail;
        tail += is[k];
    }
}

/* P(at most m wait in line) for m below n.  Of the customers left behind by one who goes, as many go past each number upwards as
 * downwards: p(m+1) a(0) = p(0) P(A > m) + sum of p(j) P(A > m - j + 1), where A arrive in a service time. */
static void lines_of(double load, uint32_t n, double *at_most)
{
    double is[QUEUE_MD1_EXACT + 1], over[QUEUE_MD1_EXACT + 1], p[QUEUE_MD1_EXACT + 1];
    arrivals(load, n + 1, is, over);
    p[0] = 1.0 - load;
    double sum = p[0];
    for (uint32_t m = 0; m < n; m++) {
        double up = p[0] * over[m];
        for (uint32_t j = 1; j <= m; j++)
            up += p[j] * over[m - j + 1];
        p[m + 1] = up / is[0];
        sum += p[m + 1];
        at_most[m] = sum; /* one of them is served */
    }
}

/* Of W <= t with k - 1 <= t < k: who waited in line u = k - t before, and who came since, must be fewer than k, for k begin to be
 * served in k service times (G. J. Franx, "A simple solution for the M/D/c waiting time distribution", Operations Research
 * Letters 29(5), 2001, for one server, from memory).  All terms are positive, unlike Erlang's of 1909. */
static double md1_wait_over_exact(double load, double t)
{
    const uint32_t k = (uint32_t)t + 1;
    double at_most[QUEUE_MD1_EXACT];
    lines_of(load, k, at_most);
    const double mean = load * (k - t);
    double term = exp(-mean), sum = 0.0;
    for (uint32_t j = 0; j < k; j++, term *= mean / j)
        sum += term * at_most[k - 1 - j];
    return fmax(0.0, 1.0 - sum);
}

/* The tail falls by this factor with each service time: 1 / z of the root above 1 of z = exp(load (z - 1)), which lies beyond the
 * least of the difference. */
static double md1_decay(double load)
{
    double low = 1.0 - log(load) / load, high = 2.0 * low;
    while (exp(load * (high - 1.0)) < high)
        high *= 2.0;
    for (int i = 0; i < HALVINGS && low < high; i++) {
        const double middle = 0.5 * (low + high);
        if (exp(load * (middle - 1.0)) < middle)
            low = middle;
        else
            high = middle;
    }
    return 1.0 / low;
}

double queue_md1_wait_over(double load, double t)
{
    if (!(load < 1.0))
        return 1.0;
    if (!(load > 0.0))
        return 0.0;
    const double last = QUEUE_MD1_EXACT - 1;
    if (t <= last)
        return md1_wait_over_exact(load, fmax(t, 0.0));
    return md1_wait_over_exact(load, last) * pow(md1_decay(load), t - last);
}

double queue_md1_wait_quantile(double load, double chance)
{
    if (!(load < 1.0))
        return (double)INFINITY;
    double low = 0.0, high = 1.0;
    if (queue_md1_wait_over(load, 0.0) <= 1.0 - chance)
        return 0.0;
    while (queue_md1_wait_over(load, high) > 1.0 - chance)
        high *= 2.0;
    while (high - low > 1e-9 * high) {
        const double middle = 0.5 * (low + high);
        if (queue_md1_wait_over(load, middle) > 1.0 - chance)
            low = middle;
        else
            high = middle;
    }
    return high;
}
