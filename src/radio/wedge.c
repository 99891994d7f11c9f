/* wedge.c - see wedge.h.
 *
 * Each term of the coefficient is cot(delta / 2n) F(k L 2 sin^2(delta / 2)), with delta the angle from the boundary the
 * term belongs to: the cotangent grows without bound where F vanishes as its square root.  F(x) is therefore kept as
 * sqrt(x) H(sqrt(x)) and the root joined to the cotangent by hand, so nothing is lost near the boundary. */
#include "radio/wedge.h"

#include "base/compiler.h"
#include "base/units.h"
#include "radio/wedge_fit.h"

/* H(s) = F(s^2) / s; s >= 0, may be infinite. */
static double complex transition_over_root(double s)
{
    if (isinf(s))
        return 0.0;
    const double u = (s - WEDGE_FIT_C) / (s + WEDGE_FIT_C);
    double re = 0.0, im = 0.0;
    for (int i = WEDGE_FIT_DEGREE; i >= 0; i--) {
        re = re * u + wedge_fit[i][0];
        im = im * u + wedge_fit[i][1];
    }
    return CMPLX(re / (s + WEDGE_FIT_C), im / (s + WEDGE_FIT_C));
}

double complex wedge_transition(double x)
{
    if (isinf(x))
        return 1.0;
    const double s = sqrt(x);
    const double complex h = transition_over_root(s);
    return CMPLX(s * creal(h), s * cimag(h));
}

/* cot(delta / 2n) F(kl 2 sin^2(delta / 2)), delta = the boundary's excess brought within +-n pi; lit side positive. */
static double complex boundary_term(double kl, double excess_rad, double n)
{
    const double delta = excess_rad - 2.0 * RT_PI * n * round(excess_rad / (2.0 * RT_PI * n));
    const double root = sqrt(2.0 * kl), sine = fabs(sin(0.5 * delta));
    const double tangent = tan(0.5 * delta / n);
    /* sine / |tangent| tends to n as delta -> 0. */
    const double slope = fabs(tangent) < 1e-150 ? n : sine / fabs(tangent);
    const double k = (delta < 0.0 ? -root : root) * slope;
    const double complex h = transition_over_root(root * sine);
    return CMPLX(k * creal(h), k * cimag(h));
}

struct wedge_terms wedge_terms(double k_per_m, const struct wedge_ray *ray)
{
    const double n = ray->n, beta_i = ray->phi_out_rad - ray->phi_in_rad, beta_r = ray->phi_out_rad + ray->phi_in_rad;
    const double s_m = isinf(ray->s_in_m) ? ray->s_out_m : ray->s_in_m * ray->s_out_m / (ray->s_in_m + ray->s_out_m);
    const double kl = k_per_m * s_m * ray->sin_beta0 * ray->sin_beta0;
    const double size = -1.0 / (2.0 * n * sqrt(2.0 * RT_PI * k_per_m) * ray->sin_beta0);
    const double complex front = size * CMPLX(sqrt(0.5), -sqrt(0.5)); /* -exp(-j pi/4) / (2 n sqrt(2 pi k) sin beta0) */
    return (struct wedge_terms){
        .incident = front * (boundary_term(kl, RT_PI + beta_i, n) + boundary_term(kl, RT_PI - beta_i, n)),
        .mirror_o = front * boundary_term(kl, RT_PI - beta_r, n),
        .mirror_n = front * boundary_term(kl, RT_PI + beta_r, n),
    };
}

double complex wedge_solid(const struct wedge_terms *terms, double complex r_o, double complex r_n)
{
    return terms->incident + r_o * terms->mirror_o + r_n * terms->mirror_n;
}

double complex wedge_screen(const struct wedge_terms *terms, double complex t, double complex r)
{
    return (1.0 - t) * terms->incident + r * (terms->mirror_o + terms->mirror_n);
}

double complex wedge_bent(double x)
{
    /* exp(-j (x + pi/4)) F(x) / (2 sqrt(pi x)): Fresnel's integral written with F. */
    if (isinf(x))
        return 0.0;
    const double angle = -(x + 0.25 * RT_PI), size = 0.5 / sqrt(RT_PI);
    return transition_over_root(sqrt(x)) * CMPLX(size * cos(angle), size * sin(angle));
}
