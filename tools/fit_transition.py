#!/usr/bin/python3
"""Makes src/radio/wedge_fit.h: polynomials for the transition function of the uniform theory of diffraction.

    F(x) = 2 j sqrt(x) exp(jx) * integral from sqrt(x) to infinity of exp(-j t^2) dt
         = s H(s),  s = sqrt(x),  H(s) = sqrt(pi) exp(j pi/4) w(j s exp(j pi/4)),  w: the Faddeeva function

H is smooth at 0 and falls as 1/s, so (s + C) H(s) is smooth and bounded in u = (s - C) / (s + C) on the whole of
[-1, 1]: one polynomial serves every x, with a bounded relative error (the map is Weideman's, SIAM J. Numer. Anal. 31
(1994) 1497).  Interpolated at Chebyshev nodes; w from SciPy.

    /usr/bin/python3 tools/fit_transition.py > src/radio/wedge_fit.h
    /usr/bin/python3 tools/fit_transition.py check src/radio/wedge_fit.h

Single coefficients depend on the linear algebra behind NumPy from their sixth digit on, what the polynomial is worth does
not: `check` measures the error of the one on file, which must not exceed what stands beside it.

A shorter one in single precision, for the fast tracer, is of what an edge bends but for its turning phase,
exp(jx) erfc(sqrt(jx)) / 2 = H(s) exp(-j pi/4) / (2 sqrt(pi)), of the least error that so few coefficients allow:

    /usr/bin/python3 tools/fit_transition.py short > src/radio/beam_bent_fit.h
    /usr/bin/python3 tools/fit_transition.py check src/radio/beam_bent_fit.h
"""
import re
import sys

import numpy as np
from numpy.polynomial import chebyshev, polynomial
from scipy.special import wofz

TURN = np.exp(1j * np.pi / 4)
SHORT = "short" in sys.argv or "beam" in sys.argv[-1]
C = 1.8 if SHORT else 2.5
SCALE = 0.5 / np.sqrt(np.pi) / TURN if SHORT else 1.0


def h(s):
    return SCALE * np.sqrt(np.pi) * TURN * wofz(1j * TURN * s)


def interpolate(degree):
    u = np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
    s = C * (1 + u) / (1 - u)
    q = (s + C) * h(s)
    series = chebyshev.chebfit(u, q.real, degree) + 1j * chebyshev.chebfit(u, q.imag, degree)
    poly = chebyshev.cheb2poly(series)
    return poly, worst_error(poly)


def fit_least_worst(degree):
    """The polynomial of least largest relative error, nearly: least squares, points weighed anew by their errors (C. L. Lawson,
    1961; from memory)."""
    u = np.cos(np.pi * (np.arange(2000) + 0.5) / 2000)
    s = C * (1 + u) / (1 - u)
    relative = np.vander(u, degree + 1, increasing=True) / ((s + C) * h(s))[:, None]
    weight, best, least = np.ones(len(u)), None, np.inf
    for _ in range(60):
        root = np.sqrt(weight)
        poly = np.linalg.lstsq(relative * root[:, None], root.astype(complex), rcond=None)[0]
        error = np.abs(relative @ poly - 1)
        if error.max() < least:
            best, least = poly, error.max()
        weight *= error / error.max() + 1e-3
        weight /= weight.sum()
    return best, worst_error(best)


def worst_error(poly):
    u = np.linspace(-1, 1, 200001)[:-1]
    s = C * (1 + u) / (1 - u)
    return np.abs(polynomial.polyval(u, poly) / ((s + C) * h(s)) - 1).max()


def check(path):
    with open(path) as f:
        text = f.read()
    stated = float(re.search(r"Relative error of the fit: ([^.]*\.[^.]*)\. ", text).group(1))
    poly = np.array([complex(float(re_), float(im)) for re_, im in re.findall(r"\{ (-?[0-9.e+-]+)f?, (-?[0-9.e+-]+)f? \}", text)])
    worst = worst_error(poly)
    if not worst < 1.1 * stated or f"FIT_C {C}" not in text:
        sys.exit(f"{path}: the error of its {len(poly)} coefficients is {worst:.2e}, not {stated:.1e}")
    print(f"{path}: {len(poly)} coefficients, relative error {worst:.2e}")


def table(name, degree, digits, fit):
    poly, worst = fit(degree)
    print(f"\n/* Relative error of the fit: {worst:.1e}. */")
    print(f"enum {{ {name.upper()}_DEGREE = {degree} }};")
    kind, suffix = ("float", "f") if SHORT else ("double", "")
    print(f"static const {kind} {name}[{name.upper()}_DEGREE + 1][2] = {{ /* [power of u][re, im] */")
    for value in poly:
        print(f"    {{ {value.real:.{digits}e}{suffix}, {value.imag:.{digits}e}{suffix} }},")
    print("};")


if sys.argv[1:2] == ["check"]:
    check(sys.argv[2])
    sys.exit()
if SHORT:
    print("/* beam_bent_fit.h - made by tools/fit_transition.py short, which explains it; do not edit. */")
    print("#ifndef RT_RADIO_BEAM_BENT_FIT_H\n#define RT_RADIO_BEAM_BENT_FIT_H")
    print(f"\n#define BEAM_BENT_FIT_C {C}f")
    table("beam_bent_fit", 9, 8, fit_least_worst)
    print("\n#endif")
    sys.exit()
print("/* wedge_fit.h - made by tools/fit_transition.py, which explains it; do not edit. */")
print("#ifndef RT_RADIO_WEDGE_FIT_H\n#define RT_RADIO_WEDGE_FIT_H")
print(f"\n#define WEDGE_FIT_C {C}")
table("wedge_fit", 28, 17, interpolate)
print("\n#endif")
