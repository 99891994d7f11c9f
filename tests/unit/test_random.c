#include "base/random.h"

#include <math.h>

#include "base/sum.h"
#include "check.h"

/* Chi-squared over 64 cells of 64,000 draws: mean 63, standard deviation sqrt(2 * 63) = 11.2 (any statistics handbook);
 * within 5 standard deviations. */
TEST(draws_fill_the_unit_interval_evenly)
{
    for (uint64_t stream = 0; stream < 5; stream++) {
        struct random r = { .seed = 7, .stream = stream };
        double counts[64] = { 0 }, chi2 = 0.0;
        for (int i = 0; i < 64000; i++)
            counts[(int)(random_unit(&r) * 64.0)] += 1.0;
        for (int i = 0; i < 64; i++)
            chi2 += (counts[i] - 1000.0) * (counts[i] - 1000.0) / 1000.0;
        CHECK_NEAR("chi squared", chi2, 63.0, 56.0, "");
    }
}

TEST(a_draw_depends_on_its_key_alone)
{
    CHECK("same key", random_u64(1, 2, 3) == random_u64(1, 2, 3));
    CHECK("other index", random_u64(1, 2, 3) != random_u64(1, 2, 4));
    CHECK("other stream", random_u64(1, 2, 3) != random_u64(1, 3, 2));
}

TEST(compensated_sum_keeps_what_a_plain_sum_loses)
{
    /* Neumaier's own example: 1 + 1e100 + 1 - 1e100 = 2, plain summation gives 0. */
    struct sum s = { 0 };
    const double terms[] = { 1.0, 1e100, 1.0, -1e100 };
    for (size_t i = 0; i < RT_COUNT(terms); i++)
        sum_add(&s, terms[i]);
    CHECK_NEAR("sum", sum_value(&s), 2.0, 0, "");
}
