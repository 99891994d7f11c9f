#!/usr/bin/python3
"""Makes wedge_check.csv: values for src/radio/wedge.c, none of them by its method.

Time factor exp(+j w t); polarisation soft: field 0 on the faces, hard: its normal derivative 0.  Rows (column what):

transition  F(x), x in column kl.  By quadrature along the steepest descent from sqrt(x): with t = s + y exp(-j pi/4)
            F = 2 s exp(j pi/4) * integral over y from 0 of exp(-y^2 - 2 s exp(j pi/4) y).
coefficient D of the perfectly conducting wedge, Kouyoumjian and Pathak, Proc. IEEE 62 (1974) 1448, eq. (25) written out
            term by term (formula from memory), F by the quadrature above, N+ and N- by search.
half_plane  total field of a plane wave exp(j k rho cos(phi - phi')) over a half-plane, Sommerfeld's closed form
            (Born and Wolf, Principles of Optics, 7th ed., section 11.5; form and clause from memory), with the Fresnel
            integrals of SciPy (Cephes).
plane       total field of the same plane wave over a wedge: the eigenfunction series (Bessel functions of order m / n).
line        total field of a line source H0(2)(k R) at distance s_in over a wedge: eigenfunction series, divided by
            |H0(2)(k s_in)|.

    /usr/bin/python3 tests/reference/make_wedge_check.py > tests/reference/wedge_check.csv
"""
import numpy as np
from scipy.integrate import quad
from scipy.special import fresnel, hankel2, jv

PI = np.pi
TURN = np.exp(1j * PI / 4)


def transition(x):
    s = np.sqrt(x)
    g = lambda y: np.exp(-y * y - 2 * s * TURN * y)
    opts = dict(epsabs=1e-15, epsrel=1e-13, limit=400)
    top = min(12.0, 60.0 / (s + 1e-30))
    re = quad(lambda y: g(y).real, 0, top, **opts)[0]
    im = quad(lambda y: g(y).imag, 0, top, **opts)[0]
    return 2 * s * TURN * (re + 1j * im)


def coefficient(k, n, length, sin_beta0, phi_in, phi_out, sign):
    def a(beta, plus):
        target = PI if plus else -PI
        best = min(range(-2, 3), key=lambda m: abs(2 * PI * n * m - beta - target))
        return 2 * np.cos((2 * PI * n * best - beta) / 2) ** 2

    def pair(beta):
        return (1 / np.tan((PI + beta) / (2 * n)) * transition(k * length * a(beta, True))
                + 1 / np.tan((PI - beta) / (2 * n)) * transition(k * length * a(beta, False)))

    front = -np.exp(-1j * PI / 4) / (2 * n * np.sqrt(2 * PI * k) * sin_beta0)
    return front * (pair(phi_out - phi_in) + sign * pair(phi_out + phi_in))


def half_plane(k, rho, phi_in, phi_out, sign):
    def part(beta):
        # exp(j k rho cos beta) exp(j pi/4)/sqrt(pi) * integral of exp(-j t^2) from -sqrt(2 k rho) cos(beta/2) on
        edge = -np.sqrt(2 * k * rho) * np.cos(beta / 2)
        s, c = fresnel(edge * np.sqrt(2 / PI))
        tail = np.sqrt(PI / 2) * ((0.5 - c) - 1j * (0.5 - s))
        return np.exp(1j * k * rho * np.cos(beta)) * TURN / np.sqrt(PI) * tail

    return part(phi_out - phi_in) + sign * part(phi_out + phi_in)


def series(n, radial, phi_in, phi_out, sign, terms):
    m = np.arange(terms)
    weight = np.where(m == 0, 1.0, 2.0)
    angular = np.cos(m / n * (phi_out - phi_in)) + sign * np.cos(m / n * (phi_out + phi_in))
    value = weight * radial(m / n) * angular
    value = value[np.isfinite(value)]
    assert abs(value[-1]) < 1e-14, "series not at its end"
    return value.sum() / n


def plane(k, n, rho, phi_in, phi_out, sign):
    return series(n, lambda v: np.exp(0.5j * PI * v) * jv(v, k * rho), phi_in, phi_out, sign,
                  int(n * (k * rho + 40 + 8 * (k * rho) ** (1 / 3))))


def line(k, n, s_in, s_out, phi_in, phi_out, sign):
    lo, hi = sorted((k * s_in, k * s_out))
    u = series(n, lambda v: jv(v, lo) * hankel2(v, hi), phi_in, phi_out, sign, int(n * (lo + 40 + 8 * lo ** (1 / 3))))
    return u / abs(hankel2(0, k * s_in))


def row(what, n, k, s_in, s_out, sin_beta0, phi_in, phi_out, pol, kl, value):
    cells = [what, *(f"{v:.12g}" for v in (n, k, s_in, s_out, sin_beta0, phi_in, phi_out)), pol, f"{kl:.17g}",
             f"{value.real:.13g}", f"{value.imag:.13g}"]
    print(",".join(cells))


def spots(random, n, phi_in):
    """Angles of the spot: near the boundaries (phi = pi +- phi', (2n - 1) pi - phi') and anywhere."""
    edges = [180 + phi_in, 180 - phi_in, (2 * n - 1) * 180 - phi_in]
    near = [e + d for e in edges for d in (-2, -0.02, 0.02, 2) if 1 < e + d < n * 180 - 1]
    return near + list(random.uniform(2, n * 180 - 2, 8))


def main():
    random = np.random.default_rng(1974)
    for text in __doc__.splitlines()[:-3]:
        print("# " + text if text else "#")
    print("what,n,k_per_m,s_in_m,s_out_m,sin_beta0,phi_in_deg,phi_out_deg,pol,kl,re,im")
    for x in [0.0, *10.0 ** np.arange(-12, 5.01, 0.25)]:
        row("transition", 0, 0, 0, 0, 0, 0, 0, "", x, complex(transition(x)))
    rad = np.radians
    for n in (2.0, 1.5, 1.25):
        for case in range(6):
            k = 2 * PI / random.choice([0.125, 0.055, 0.05])
            s_in, s_out, phi_in = random.uniform(0.5, 8), random.uniform(0.5, 8), random.uniform(3, n * 180 - 3)
            sb = 1.0 if case % 2 else random.uniform(0.4, 1)
            length = s_in * s_out / (s_in + s_out) * sb * sb
            for phi_out in spots(random, n, phi_in):
                for pol, sign in (("soft", -1), ("hard", 1)):
                    d = coefficient(k, n, length, sb, rad(phi_in), rad(phi_out), sign)
                    row("coefficient", n, k, s_in, s_out, sb, phi_in, phi_out, pol, k * length, d)
                    if sb == 1.0 and case < 4:
                        rho = s_out if n == 2.0 else s_out * 4
                        if n == 2.0:
                            row("half_plane", n, k, np.inf, rho, 1, phi_in, phi_out, pol, k * rho,
                                half_plane(k, rho, rad(phi_in), rad(phi_out), sign))
                        row("plane", n, k, np.inf, rho, 1, phi_in, phi_out, pol, k * rho,
                            plane(k, n, rho, rad(phi_in), rad(phi_out), sign))
                        row("line", n, k, s_in, s_out, 1, phi_in, phi_out, pol, k * length,
                            line(k, n, s_in, s_out, rad(phi_in), rad(phi_out), sign))


main()
