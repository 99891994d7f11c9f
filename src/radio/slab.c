/* The matrix product of the layers overflows in thick lossy layers, as it holds both the growing and the decaying wave.
 * The recursion from the back holds ratios only: inside a layer every exponential is at most 1. */
#include "radio/slab.h"

#include <math.h>

#include "base/compiler.h"
#include "base/units.h"

/* Below this cosine (89.99994 degrees) nothing in a house is flat enough for an angle to mean anything. */
static const double COS_MIN = 1e-6;
static const double LOSS_MAX_DB = 200.0;

/* Plain products and reciprocals: C's own look for infinities, which cannot come up here, and take three times as long. */
static inline double complex mul(double complex a, double complex b)
{
    return CMPLX(creal(a) * creal(b) - cimag(a) * cimag(b), creal(a) * cimag(b) + cimag(a) * creal(b));
}

static inline double complex inverse(double complex z)
{
    const double k = 1.0 / (creal(z) * creal(z) + cimag(z) * cimag(z));
    return CMPLX(creal(z) * k, -cimag(z) * k);
}

/* The square root that belongs to a wave which does not grow: imaginary part <= 0, as z's, or real and positive. */
static inline double complex root(double complex z)
{
    const double x = creal(z), y = cimag(z), size = sqrt(x * x + y * y);
    if (x >= 0.0) {
        const double re = sqrt(0.5 * (size + x));
        return CMPLX(re, re > 0.0 ? 0.5 * y / re : 0.0);
    }
    const double im = -sqrt(0.5 * (size - x));
    return CMPLX(0.5 * y / im, im);
}

/* Puts an interface, from admittance y_front into y_back, in front of what lies behind the layer of y_back; a wave crosses
 * that layer with the factor u.  With the interface's own r = (front - back) / (front + back) these are
 * (r + B) / (1 + r B) and (1 + r) u t / (1 + r B), B = u^2 times what comes back from behind. */
static inline struct slab_wave put_in_front(double complex y_front, double complex y_back, double complex u,
                                            struct slab_wave behind)
{
    const double complex sum = y_front + y_back, difference = y_front - y_back;
    const double complex back = mul(mul(u, u), behind.r);
    const double complex k = inverse(sum + mul(back, difference));
    return (struct slab_wave){ mul(difference + mul(back, sum), k), mul(mul(2.0 * y_front, k), mul(u, behind.t)) };
}

struct slab_waves slab_at(const struct slab_layer *layers, size_t n, double f_hz, double cos_incidence)
{
    const double c = fmin(fmax(cos_incidence, COS_MIN), 1.0);
    const double k0 = 2.0 * RT_PI * f_hz / RT_C0_M_S;
    struct slab_waves w = { { 0.0, 1.0 }, { 0.0, 1.0 } };
    double complex y_te = c, y_tm = c, u = 1.0; /* of the medium behind: at first the air at the back */
    for (size_t i = n; i-- > 0;) {
        /* The wave number along the normal over k0, sqrt(eps - sin^2), written so that air gives c exactly. */
        const double complex s = root(layers[i].eps - 1.0 + c * c);
        const double complex y_tm_front = mul(s, inverse(layers[i].eps));
        w.te = put_in_front(s, y_te, u, w.te);
        w.tm = put_in_front(y_tm_front, y_tm, u, w.tm);
        y_te = s;
        y_tm = y_tm_front;
        const double k0d = k0 * layers[i].thickness_m, size = exp(k0d * cimag(s)), turn_rad = -k0d * creal(s);
        u = CMPLX(size * cos(turn_rad), size * sin(turn_rad));
    }
    w.te = put_in_front(c, y_te, u, w.te);
    w.tm = put_in_front(c, y_tm, u, w.tm);
    return w;
}

double slab_loss_db(double complex amplitude)
{
    const double a = cabs(amplitude);
    return a > 0.0 ? fmin(-20.0 * log10(a), LOSS_MAX_DB) : LOSS_MAX_DB;
}
