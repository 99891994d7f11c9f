#!/usr/bin/python3
"""Makes src/radio/wedge_fit.h: polynomials for the transition function of the uniform theory of diffraction.

    F(x) = 2 j sqrt(x) exp(jx) * integral from sqrt(x) to infinity of exp(-j t^2) dt
         = s H(s),  s = sqrt(x),  H(s) = sqrt(pi) exp(j pi/4) w(j s exp(j pi/4)),  w: the Faddeeva function

H is smooth at 0 and falls as 1/s, so (s + C) H(s) is smooth and bounded in u = (s - C) / (s + C) on the whole of
[-1, 1]: one polynomial serves every x, with a bounded relative error (the map is Weideman's, SIAM J. Numer. Anal. 31
(1994) 1497).  Interpolated at Chebyshev nodes; w from SciPy.

    /usr/bin/python3 tools/fit_transition.py > src/radio/wedge_fit.h
"""
import numpy as np
from numpy.polynomial import chebyshev
from scipy.special import wofz

C = 2.5
TURN = np.exp(1j * np.pi / 4)


def h(s):
    return np.sqrt(np.pi) * TURN * wofz(1j * TURN * s)


def fit(degree):
    u = np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
    s = C * (1 + u) / (1 - u)
    q = (s + C) * h(s)
    series = chebyshev.chebfit(u, q.real, degree) + 1j * chebyshev.chebfit(u, q.imag, degree)
    u = np.linspace(-1, 1, 200001)[:-1]
    s = C * (1 + u) / (1 - u)
    worst = np.abs(chebyshev.chebval(u, series) / ((s + C) * h(s)) - 1).max()
    return chebyshev.cheb2poly(series), worst


def table(name, degree, digits):
    poly, worst = fit(degree)
    print(f"\n/* Relative error of the fit: {worst:.1e}. */")
    print(f"enum {{ {name.upper()}_DEGREE = {degree} }};")
    print(f"static const double {name}[{name.upper()}_DEGREE + 1][2] = {{ /* [power of u][re, im] */")
    for value in poly:
        print(f"    {{ {value.real:.{digits}e}, {value.imag:.{digits}e} }},")
    print("};")


print("/* wedge_fit.h - made by tools/fit_transition.py, which explains it; do not edit. */")
print("#ifndef RT_RADIO_WEDGE_FIT_H\n#define RT_RADIO_WEDGE_FIT_H")
print(f"\n#define WEDGE_FIT_C {C}")
table("wedge_fit", 28, 17)
print("\n#endif")
