"""Cross-check of package sulfite with SciPy: Table 1 by bilinear interpolation
(RegularGridInterpolator), the Debye-Hückel term, quantiles of molecular SO2 under
errors of pH and free SO2 (adaptive quadrature and brentq), free SO2 from a total with
binders (brentq), and doses of a solution (brentq on the balance). Run:

    python3 scipy_sulfite.py > scipy_sulfite.csv

Made with SciPy 1.10.
"""
import math
import os
import sys

import numpy as np
from scipy.integrate import quad
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq
from scipy.stats import norm

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "strength", "testdata"))
import scipy_strength as strength  # noqa: E402

PKT = RegularGridInterpolator(
    ([0, 5, 10, 15, 20], [20, 25, 30, 35, 40]),
    np.array([[1.798, 2.000, 2.219, 2.334, 2.493], [1.897, 2.098, 2.299, 2.397, 2.527], [1.997, 2.198, 2.394, 2.488, 2.606],
              [2.099, 2.301, 2.503, 2.607, 2.728], [2.203, 2.406, 2.628, 2.754, 2.895]]))


def mixed(abv, t, ionic):
    p = strength.mass_fraction(abv)
    e20 = np.interp(p, [0, .1, .2, .3], [80.37, 74.60, 68.66, 62.63])
    e40 = np.interp(p, [0, .1, .2, .3], [73.12, 67.86, 62.41, 56.73])
    eps = math.exp(np.interp(t, [20, 40], [math.log(e20), math.log(e40)]))
    # CODATA 2018 values, written out so that the year of SciPy's constants does not matter
    e, na, e0, kb = 1.602176634e-19, 6.02214076e23, 8.8541878128e-12, 1.380649e-23
    s = e0 * eps * kb * (t + 273.15)
    a = e**3 * math.sqrt(2000 * na) / (8 * math.pi * s**1.5 * math.log(10))
    b = math.sqrt(2000 * na * e * e / s) * 1e-10
    return float(PKT((abv, t))) - a * math.sqrt(ionic) / (1 + 5 * b * math.sqrt(ionic))


def below(x, free, sd, ph, phsd, pk):
    """P(molecular < x), integrating over pH when it has a spread, else over nothing."""
    f = lambda h: 1 / (1 + 10 ** (h - pk))
    if phsd == 0:
        return norm.cdf((x / f(ph) - free) / sd)
    if sd == 0:
        return norm.cdf((ph - (pk + math.log10(free / x - 1))) / phsd) if x < free else 1.0
    g = lambda z: norm.pdf(z) * norm.cdf((x / f(ph + z * phsd) - free) / sd)
    return quad(g, -9, 9, epsabs=1e-13, epsrel=1e-13, limit=500)[0]


def quantile(q, free, sd, ph, phsd, pk):
    return brentq(lambda x: below(x, free, sd, ph, phsd, pk) - q, 1e-12, free + 8 * sd, xtol=1e-16, rtol=1e-13)


def free_of(total, binders):
    m = 32.06 + 2 * 15.999
    bound = lambda f: sum(amount * m / mass * (f / m) / (f / m + kd) for amount, mass, kd in binders)
    return brentq(lambda f: f + bound(f) - total, 0, total, xtol=1e-16, rtol=1e-14)


def solution_volume(v, now, aim, binding, content):
    return brentq(lambda x: (now * v + (1 - binding) * content * x) / (v + x) - aim, 0, v, xtol=1e-16, rtol=1e-14)


def main(out):
    row = lambda *a: out.write(",".join([a[0]] + ["%.17g" % x for x in a[1:]]) + "\n")
    out.write("# Output of scipy_sulfite.py (SciPy 1.10): computed, an independent route.\n")
    out.write("what,a,b,c,d,e,result\n")
    for abv in (0, 3, 5, 8.5, 10, 12, 13.7, 15, 18, 20):
        for t in (20, 22.5, 25, 28, 30, 35, 38, 40):
            row("mixed", abv, t, 0.038, 0, 0, mixed(abv, t, 0.038))
            row("mixed", abv, t, 0.02, 0, 0, mixed(abv, t, 0.02))
    for free, sd in ((0.025, 0.004), (0.04, 0.0015), (0.03, 0.0), (0.012, 0.006)):
        for ph, phsd in ((3.3, 0.058), (3.6, 0.03), (3.5, 0.0), (3.8, 0.1)):
            if sd == 0 and phsd == 0:
                continue
            for q in (0.05, 0.5, 0.95):
                row("quantile", free, sd, ph, phsd, q, quantile(q, free, sd, ph, phsd, 1.81))
            row("shortfall", free, sd, ph, phsd, 0.0006, below(0.0006, free, sd, ph, phsd, 1.81))
    usual = [(0.04, 44.053, 0.0015e-3), (0.06, 88.062, 0.14e-3), (0.08, 146.098, 0.49e-3), (0.5, 194.139, 16e-3), (2.0, 180.156, 640e-3)]
    for total in (0.01, 0.03, 0.06, 0.09, 0.15, 0.3):
        row("free_of", total, 0, 0, 0, 0, free_of(total, usual))
    for v, now, aim, binding, content in ((23, 0.0, 0.03, 0.5, 57.0), (225, 0.012, 0.035, 0.35, 100.0), (5, 0.02, 0.025, 0.0, 10.0)):
        row("solution", v, now, aim, binding, content, solution_volume(v, now, aim, binding, content))


if __name__ == "__main__":
    main(sys.stdout)
