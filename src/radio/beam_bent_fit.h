/* beam_bent_fit.h - made by tools/fit_transition.py short, which explains it; do not edit. */
#ifndef RT_RADIO_BEAM_BENT_FIT_H
#define RT_RADIO_BEAM_BENT_FIT_H

#define BEAM_BENT_FIT_C 2.0f

/* Relative error of the fit: 8.6e-05. */
enum { BEAM_BENT_FIT_DEGREE = 10 };
static const float beam_bent_fit[BEAM_BENT_FIT_DEGREE + 1][2] = {
    /* [power of u][re, im] */
    { 4.28095766e-01f, -3.42491792e-01f }, { -4.75415448e-01f, 1.23751313e-01f },
    { 3.69676875e-01f, 2.14572274e-01f },  { -3.95531665e-05f, -3.77373567e-01f },
    { -3.18104146e-01f, 1.27009356e-01f }, { 1.54004933e-01f, 2.31360122e-01f },
    { 1.83944785e-01f, -1.79813112e-01f }, { -1.08820573e-01f, -1.00398225e-01f },
    { -8.41365414e-02f, 1.10458581e-01f }, { 3.00207339e-02f, 2.29341619e-02f },
    { 2.02680905e-02f, -2.94848074e-02f },
};

#endif
