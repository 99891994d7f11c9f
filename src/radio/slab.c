/* The matrix product of the layers overflows in thick lossy layers, as it holds both the growing and the decaying wave.
 * The recursion from the back holds ratios only: inside a layer every exponential is at most 1. */
#include "radio/slab.h"

#include <math.h>

#include "base/units.h"

/* Below this cosine (89.99994 degrees) nothing in a house is flat enough for an angle to mean anything. */
static const double COS_MIN = 1e-6;
static const double LOSS_MAX_DB = 200.0;

/* One wave (TE or TM) at the plane between a medium and all that lies behind it. */
struct behind {
    double complex r, t;
};

/* Puts an interface in front of `rest`: from admittance y_front into y_back, where `rest` sits behind a layer that a wave
 * crosses once with the factor u. */
static struct behind put_in_front(double complex y_front, double complex y_back, double complex u, struct behind rest)
{
    const double complex sum = y_front + y_back;
    const double complex r = (y_front - y_back) / sum;
    const double complex back = rest.r * u * u;
    const double complex echo = 1.0 / (1.0 + r * back);
    return (struct behind){ (r + back) * echo, 2.0 * y_front / sum * rest.t * u * echo };
}

struct slab_waves slab_at(const struct slab_layer *layers, size_t n, double f_hz, double cos_incidence)
{
    const double c = fmin(fmax(cos_incidence, COS_MIN), 1.0);
    const double k0 = 2.0 * RT_PI * f_hz / RT_C0_M_S;
    struct behind te = { 0.0, 1.0 }, tm = te;
    double complex s = c, y_te = c, y_tm = c, u = 1.0; /* of the medium behind: the air at the back first */
    for (size_t i = n; i-- > 0;) {
        /* Component of the wave number along the normal, over k0: sqrt(eps - sin^2), written so that air gives c exactly. */
        double complex s_front = csqrt(layers[i].eps - 1.0 + c * c);
        if (cimag(s_front) > 0.0) /* the decaying branch, also for a negative real permittivity */
            s_front = -s_front;
        const double complex y_te_front = s_front, y_tm_front = s_front / layers[i].eps;
        te = put_in_front(y_te_front, y_te, u, te);
        tm = put_in_front(y_tm_front, y_tm, u, tm);
        s = s_front;
        y_te = y_te_front;
        y_tm = y_tm_front;
        u = cexp(CMPLX(0.0, -k0 * layers[i].thickness_m) * s);
    }
    te = put_in_front(c, y_te, u, te);
    tm = put_in_front(c, y_tm, u, tm);
    return (struct slab_waves){ { te.r, te.t }, { tm.r, tm.t } };
}

double slab_loss_db(double complex amplitude)
{
    const double a = cabs(amplitude);
    return a > 0.0 ? fmin(-20.0 * log10(a), LOSS_MAX_DB) : LOSS_MAX_DB;
}
