/* beam_bent_fit.h - made by tools/fit_transition.py short, which explains it; do not edit. */
#ifndef RT_RADIO_BEAM_BENT_FIT_H
#define RT_RADIO_BEAM_BENT_FIT_H

#define BEAM_BENT_FIT_C 1.8f

/* Relative error of the fit: 1.1e-04. */
enum { BEAM_BENT_FIT_DEGREE = 9 };
static const float beam_bent_fit[BEAM_BENT_FIT_DEGREE + 1][2] = {
    /* [power of u][re, im] */
    { 4.30276314e-01f, -3.30025754e-01f },  { -4.62666182e-01f, 7.48704560e-02f },
    { 2.91010253e-01f, 2.69249155e-01f },   { 1.09979611e-01f, -3.26177486e-01f },
    { -2.90859025e-01f, -2.34573288e-02f }, { 2.97552869e-02f, 2.43381635e-01f },
    { 1.64757217e-01f, -2.71652012e-02f },  { -4.21474281e-02f, -1.19784416e-01f },
    { -4.55084084e-02f, 1.16932280e-02f },  { 1.48455836e-02f, 2.79594093e-02f },
};

#endif
