/* beam_bent_fit.h - made by tools/fit_transition.py short, which explains it; do not edit. */
#ifndef RT_RADIO_BEAM_BENT_FIT_H
#define RT_RADIO_BEAM_BENT_FIT_H

#define BEAM_BENT_FIT_C 2.0f

/* Relative error of the fit: 5.2e-04. */
enum { BEAM_BENT_FIT_DEGREE = 8 };
static const float beam_bent_fit[BEAM_BENT_FIT_DEGREE + 1][2] = {
    /* [power of u][re, im] */
    { 4.28095766e-01f, -3.42491792e-01f }, { -4.76625237e-01f, 1.22842215e-01f },
    { 3.68857688e-01f, 2.15754835e-01f },  { 1.51948616e-02f, -3.65856034e-01f },
    { -3.07813422e-01f, 1.12086146e-01f }, { 1.01099716e-01f, 1.91182799e-01f },
    { 1.48228427e-01f, -1.27925107e-01f }, { -4.00196393e-02f, -4.79738046e-02f },
    { -3.76917830e-02f, 4.29254728e-02f },
};

#endif
