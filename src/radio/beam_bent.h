/* beam_bent.h - what an edge bends, erfc(sqrt(j x)) / 2 of wedge.h, for all lanes at once in single precision. */
#ifndef RT_RADIO_BEAM_BENT_H
#define RT_RADIO_BEAM_BENT_H

#include <math.h>

#include "base/compiler.h"
#include "radio/beam.h"
#include "radio/beam_bent_fit.h"

/* Cosine and sine of x >= 0.  Reduction and polynomials as in the usual single-precision libraries (Cody and Waite; from memory):
 * within 1e-6 for x up to 1e4, beyond which nobody asks. */
static RT_INLINE void beam_cos_sin(float x, float *out_c, float *out_s)
{
    const float y = x < 3e4f ? x : 3e4f;
    const int32_t turns = (int32_t)(y * 0.636619772f + 0.5f);
    const float k = (float)turns;
    const float r = ((y - k * 1.5703125f) - k * 4.837512969970703e-4f) - k * 7.549789948768648e-8f, r2 = r * r;
    const float sr = r + r * r2 * (-1.6666654611e-1f + r2 * (8.3321608736e-3f - r2 * 1.9515295891e-4f));
    const float cr = 1.0f - 0.5f * r2 + r2 * r2 * (4.166664568e-2f + r2 * (-1.388731625e-3f + r2 * 2.443315711e-5f));
    const float odd = (float)(turns & 1), even = 1.0f - odd;
    *out_s = (even * sr + odd * cr) * (float)(1 - (turns & 2));
    *out_c = (even * cr + odd * sr) * (float)(1 - ((turns + 1) & 2));
}

/* Its value at x[lane] >= 0 to 2e-4 (tested), or without the turn by its phase -x where nobody asks for it. */
static RT_INLINE void beam_bent(const float *x, bool with_phase, float *re, float *im)
{
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        const float s = sqrtf(x[l]), over = 1.0f / (s + BEAM_BENT_FIT_C), u = (s - BEAM_BENT_FIT_C) * over;
        float p = beam_bent_fit[BEAM_BENT_FIT_DEGREE][0], q = beam_bent_fit[BEAM_BENT_FIT_DEGREE][1];
        for (int i = BEAM_BENT_FIT_DEGREE - 1; i >= 0; i--) {
            p = p * u + beam_bent_fit[i][0];
            q = q * u + beam_bent_fit[i][1];
        }
        re[l] = p * over;
        im[l] = q * over;
    }
    if (!with_phase)
        return;
#pragma omp simd
    for (int l = 0; l < BEAM_LANES; l++) {
        float c, s;
        beam_cos_sin(x[l], &c, &s);
        const float a = re[l], b = im[l];
        re[l] = a * c + b * s;
        im[l] = b * c - a * s;
    }
}

/* The most that its size is at the square of s >= 0, 0.3 dB too large at most (tested): the inverse of its size is 3.54 s far out
 * and lies above its tangents near 0. */
static RT_INLINE float beam_most_bent(float s)
{
    const float far = 3.5449077f * s, near = 1.317f + 2.881f * s, nearest = 1.942f + 1.978f * s;
    const float least = far > near ? far : near;
    return 1.0f / (least > nearest ? least : nearest);
}

#endif
