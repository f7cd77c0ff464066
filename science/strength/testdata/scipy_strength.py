"""Cross-check of package strength with NumPy and SciPy.

Coefficients are written here as OIML R 22 / Directive 76/766/EEC and ICUMSA SPS-4
print them, sums are formed term by term, and every root is found by
scipy.optimize.brentq with xtol 1e-15. Run:

    python3 scipy_strength.py > scipy_strength.csv

Made with SciPy 1.10. Columns: what, three arguments, result.
"""
import sys
import numpy as np
from scipy.optimize import brentq

A = [9.982012300e2, -1.929769495e2, 3.891238958e2, -1.668103923e3, 1.352215441e4, -8.829278388e4,
     3.062874042e5, -6.138381234e5, 7.470172998e5, -5.478461354e5, 2.234460334e5, -3.903285426e4]
B = [-2.0618513e-1, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11]
C = [
    [1.693443461530087e-1, -1.046914743455169e1, 7.196353469546523e1, -7.047478054272792e2, 3.924090430035045e3,
     -1.210164659068747e4, 2.248646550400788e4, -2.605562982188164e4, 1.852373922069467e4, -7.420201433430137e3,
     1.285617841998974e3],
    [-1.193013005057010e-2, 2.517399633803461e-1, -2.170575700536993, 1.353034988843029e1, -5.029988758547014e1,
     1.096355666577570e2, -1.422753946421155e2, 1.080435942856230e2, -4.414153236817392e1, 7.442971530188783],
    [-6.802995733503803e-4, 1.876837790289664e-2, -2.002561813734156e-1, 1.022992966719220, -2.895696483903638,
     4.810060584300675, -4.672147440794683, 2.458043105903461, -5.411227621436812e-1],
    [4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6],
    [-2.788074354782409e-8, 1.345612883493354e-8],
]
SPS4 = [
    [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890],
    [-46.2720, -7.1720, 1.1597, 5.1126, 17.5254],
    [59.7712, 7.2491, 12.3630, -35.4791],
    [-47.2207, -21.6977, 27.6301],
    [18.3184, 12.3081],
]


def r22(p, t):
    s = sum(a * p**k for k, a in enumerate(A))
    s += sum(b * (t - 20) ** (k + 1) for k, b in enumerate(B))
    return s + sum(c * p ** (k + 1) * (t - 20) ** (i + 1) for i, row in enumerate(C) for k, c in enumerate(row))


def kell(t):
    return np.polyval([-2.8103006e-10, 1.0584601e-7, -4.6241757e-5, -7.9905127e-3, 16.952577, 999.83952], t) / (1 + 1.6887236e-2 * t)


def sucrose(w, t):
    return kell(t) + sum(c * w ** (k + 1) * ((t - 20) / 100) ** j for j, row in enumerate(SPS4) for k, c in enumerate(row))


def solve(f, a, b):
    return brentq(f, a, b, xtol=1e-15, rtol=8.9e-16, maxiter=500)


def mass_fraction(abv):
    return 0.0 if abv == 0 else 1.0 if abv == 100 else solve(lambda p: 100 * p * r22(p, 20) / r22(1, 20) - abv, 0, 1)


def brix_fraction(sg):
    return solve(lambda w: sucrose(w, 20) / kell(20) - sg, -0.05, 0.7)


def extract(dr):
    w = brix_fraction(dr)
    return w * sucrose(w, 20)


def da(abv):
    return r22(mass_fraction(abv), 20) / A[0]


def expansion(p, w, t):
    return r22(p, t) / r22(p, 20) * sucrose(w, t) / sucrose(w, 20) * r22(0, 20) / r22(0, t)


def fraction_of_extract(x):
    return solve(lambda w: w * sucrose(w, 20) - x, -0.05, 0.5)


def wine_density(abv, x, t):
    p, w = mass_fraction(abv), fraction_of_extract(x)
    return (r22(p, 20) + sucrose(w, 20) - kell(20)) * expansion(p, w, t)


def hydrometer(reading, graduated, t, abv):
    p = mass_fraction(abv)
    mix = r22(p, 20) - r22(0, 20)
    shown = reading * kell(graduated)
    glass = 1 + 25e-6 * (t - graduated)
    w = solve(lambda w: (sucrose(w, 20) + mix) * expansion(p, w, t) * glass - shown, -0.05, 0.7)
    return (sucrose(w, 20) + mix) / kell(20)


def from_gravities(d0, d, f):
    x0 = extract(d0)
    return solve(lambda a: f * a - x0 + extract(d - da(a) + 1), 0, 25)


def blend(v1, a1, x1, v2, a2, x2):
    rho = lambda a, x: r22(mass_fraction(a), 20) + sucrose(fraction_of_extract(x), 20) - kell(20)
    mass = (v1 * rho(a1, x1) + v2 * rho(a2, x2)) / 1e3
    eth, ext = (v1 * a1 + v2 * a2) / 100, v1 * x1 + v2 * x2
    return solve(lambda v: v * rho(100 * eth / v, ext / v) / 1e3 - mass, 0.9 * (v1 + v2), 1.02 * (v1 + v2))


def main(out):
    row = lambda *a: out.write(",".join([a[0]] + ["%.17g" % x for x in a[1:]]) + "\n")
    out.write("# Output of scipy_strength.py (SciPy 1.10): computed, an independent route to the same published formulas.\n")
    out.write("what,a,b,c,result\n")
    for t in (0, 5, 10, 15.5, 20, 25, 30, 40):
        for p in np.linspace(0, 1, 21):
            row("r22", p, t, 0, r22(p, t))
        for b in (-3, 0, 0.5, 5, 10, 15, 20, 25, 30, 40, 55, 70):
            row("sucrose", b, t, 0, sucrose(b / 100, t))
    for abv in np.concatenate([np.linspace(0, 25, 51), np.linspace(30, 100, 15)]):
        row("mass_fraction", abv, 0, 0, mass_fraction(abv))
    for sg in np.linspace(0.985, 1.2, 44):
        row("brix", sg, 0, 0, 100 * brix_fraction(sg))
        row("extract", sg, 0, 0, extract(sg))
    for abv in (0, 5, 12.5, 15, 20):
        for x in (0.0, 25, 120):
            for t in (0, 10, 20, 30, 40):
                row("wine_density", abv, x, t, wine_density(abv, x, t))
    for reading in (0.992, 1.0, 1.02, 1.06, 1.09, 1.12):
        for t in (5, 10, 15, 25, 30):
            row("hydrometer20", reading, t, 12 if reading < 1.01 else 0, hydrometer(reading, 20, t, 12 if reading < 1.01 else 0))
            row("hydrometer60F", reading, t, 12 if reading < 1.01 else 0, hydrometer(reading, 140 / 9, t, 12 if reading < 1.01 else 0))
    for d0 in (1.07, 1.08, 1.09, 1.1, 1.11):
        for d in (1.03, 1.01, 1.0, 0.995, 0.992):
            row("alcohol1683", d0, d, 0, from_gravities(d0, d, 16.83))
            row("alcohol17", d0, d, 0, from_gravities(d0, d, 17))
    for v2, a2 in ((0.5, 96), (5, 96), (20, 96), (20, 77), (60, 40), (100, 14)):
        row("blend100L12pct25gL", v2, a2, 0, blend(100, 12, 25, v2, a2, 0.0))


if __name__ == "__main__":
    main(sys.stdout)
