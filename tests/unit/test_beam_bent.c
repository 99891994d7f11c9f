/* What an edge bends, in single precision for many lanes, against the function in double precision, which test_wedge.c checks
 * against exact values. */
#include "radio/beam_bent.h"

#include "check.h"
#include "radio/wedge.h"

/* Sizes from nothing to far from the edge's shadow, 16 at a time. */
static void fill(float x[BEAM_LANES], int step)
{
    for (int l = 0; l < BEAM_LANES; l++)
        x[l] = (float)pow(10.0, -6.0 + 0.01 * (BEAM_LANES * step + l));
}

TEST(bent_wave_in_single_precision)
{
    for (int step = 0; step < 60; step++) { /* up to 3e3, where the phase still has its digits */
        float x[BEAM_LANES], re[BEAM_LANES], im[BEAM_LANES], plain_re[BEAM_LANES], plain_im[BEAM_LANES];
        fill(x, step);
        x[0] = step ? x[0] : 0.0f;
        beam_bent(x, true, re, im);
        beam_bent(x, false, plain_re, plain_im);
        for (int l = 0; l < BEAM_LANES; l++) {
            const double complex want = wedge_bent((double)x[l]);
            CHECK_NEAR("bent", cabs(CMPLX((double)re[l], (double)im[l]) - want), 0.0, 2e-4 * cabs(want), "");
            CHECK_NEAR("size without the phase", cabs(CMPLX((double)plain_re[l], (double)plain_im[l])), cabs(want),
                       2e-4 * cabs(want), "");
        }
    }
}

TEST(bound_of_its_size)
{
    CHECK_NEAR("at the edge's shadow", (double)beam_most_bent(0.0f), 0.5, 0.015, "");
    for (int step = 0; step < 80; step++) {
        float x[BEAM_LANES];
        fill(x, step);
        for (int l = 0; l < BEAM_LANES; l++) {
            const double size = cabs(wedge_bent((double)x[l])), bound = (double)beam_most_bent(sqrtf(x[l]));
            CHECK("never less", bound > (1.0 - 1e-6) * size);
            CHECK_NEAR("but little more", 20.0 * log10(bound / size), 0.0, 0.3, "dB");
        }
    }
}
