"""Cross-check of package gas with SciPy: solubilities, the bottle's balance (mass of
CO2 split between wine and headspace, found with brentq on the balance itself rather
than by the closed form), the sugar that keeps a bottle under a limit, and the air of a
room by numerical integration. Run from its own folder:

    python3 scipy_gas.py > scipy_gas.csv

Made with SciPy 1.10.
"""
import math
import os
import sys

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "strength", "testdata"))
import scipy_strength as strength  # noqa: E402

R, M, ATM = 8.314462618, 12.011 + 2 * 15.999, 101325.0
HEXOSE, MALIC = 2 * M / (6 * 12.011 + 12 * 1.008 + 6 * 15.999), M / (4 * 12.011 + 6 * 1.008 + 5 * 15.999)


def k0(t):
    k = t + 273.15
    return math.exp(-58.0931 + 90.5069 * (100 / k) + 22.2940 * math.log(k / 100))


def liquid(a, s):
    return (0.86 - 0.01 * a) * (1 - 0.00144 * s)


def official(a, s, t):
    return 1.951e-5 * liquid(a, s) * k0(t) / k0(20)


def sparkling(a, s, t):
    return 1.21 / ATM * math.exp(24800 / R * (1 / (t + 273.15) - 1 / 298.15)) * liquid(a, s) / 0.735


def pressure(sol, wine, head, closed, air, abv, dissolved, sugar, malic, extract, t):
    total = wine * (dissolved + HEXOSE * sugar + MALIC * malic)
    v = wine * strength.wine_density(abv, extract, closed) / strength.wine_density(abv, extract, t)
    g = (wine + head) * (1 + 25e-6 * (t - closed)) - v
    s = sol(abv + sugar / 16.83, 0, t)
    balance = lambda p: v * s * p + p * g / 1000 * M / (R * (t + 273.15)) - total
    p = brentq(balance, 0, 60e5, xtol=1e-12, rtol=8.9e-16)
    return p, p + air * head / g * (t + 273.15) / (closed + 273.15) - ATM


def room(q, g, v, hours):
    f = lambda _, c: (g - q * (c - 420e-6)) / v
    return solve_ivp(f, (0, hours), [420e-6], rtol=1e-12, atol=1e-15, method="DOP853").y[0, -1] * 1e6


def main(out):
    row = lambda *a: out.write(",".join([a[0]] + ["%.17g" % x for x in a[1:]]) + "\n")
    out.write("# Output of scipy_gas.py (SciPy 1.10): computed, an independent route.\n")
    out.write("what,a,b,c,d,result\n")
    for a in (0, 9, 12, 12.5, 14, 20):
        for s in (0, 10, 120):
            for t in (0, 5, 10, 15, 20, 25, 35):
                row("official", a, s, t, 0, official(a, s, t))
                row("sparkling", a, s, t, 0, sparkling(a, s, t))
    for sugar in (0, 1, 2.5, 6, 12, 20):
        for malic in (0, 1.5, 3):
            for t in (5, 12, 20, 30):
                p, gauge = pressure(official, 0.75, 0.018, 18, ATM, 12.5, 0.8, sugar, malic, 25.0, t)
                row("partial_official", sugar, malic, t, 0, p)
                row("gauge_official", sugar, malic, t, 0, gauge)
                row("gauge_sparkling", sugar, malic, t, 0, pressure(sparkling, 0.75, 0.018, 18, ATM, 12.5, 0.8, sugar, malic, 25.0, t)[1])
    worst = lambda s, t: max(pressure(f, 0.75, 0.018, 18, ATM, 12.5, 0.8, s, 0, 25.0, t)[1] for f in (official, sparkling))
    for limit in (1.0, 1.5, 3.0):
        for t in (12, 20, 28):
            row("sugar_within", limit, t, 0, 0, brentq(lambda s: worst(s, t) - limit * ATM, 0, 30, xtol=1e-13))
    for q in (0.0, 5000, 20000):
        for g in (10, 38, 300):
            for hours in (0.5, 3, 24):
                row("room_ppm", q, g, 40000, hours, room(q, g, 40000, hours))


if __name__ == "__main__":
    main(sys.stdout)
