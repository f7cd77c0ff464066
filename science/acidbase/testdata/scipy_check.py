#!/usr/bin/env python3
"""Reference values for science/acidbase, worked out a second time in Python.

The equations are those of docs/chemistry.md, written anew: nested scalar root
finding (scipy.optimize.brentq) instead of the package's Newton iterations, and
its constants typed in again from the sources. Run from anywhere:

    python3 scipy_check.py > scipy_check.csv

The Go tests need only the table. Inputs are drawn with a fixed seed and rounded,
so that the table holds exactly what was used.
"""
import csv
import math
import platform
import random
import sys

import numpy
import scipy
from scipy.optimize import brentq

LN10 = math.log(10.0)
R = 8.314462618

# pK at 25 C, dH kJ/mol, dCp J/(mol K), shift per % vol (None: the general 0.0135)
ACIDS = {
    "tartaric": (150.087, [(3.036, 2.93, 0, None), (4.366, 0.753, 0, None)]),
    "malic": (134.087, [(3.460, 2.93, -155, None), (5.094, -1.17, -221, None)]),
    "lactic": (90.078, [(3.863, -0.29, -167, None)]),
    "succinic": (118.088, [(4.207, 2.72, -184, None), (5.629, 0.0, -250, None)]),
    "citric": (192.123, [(3.128, 4.06, -111, None), (4.761, 2.05, -165, None), (6.396, -3.347, -213, None)]),
    "acetic": (60.052, [(4.757, -0.41, -144, None)]),
    "phosphate": (97.994, [(2.148, -7.9, 0, None), (7.198, 3.0, 0, None), (12.375, 15.0, 0, None)]),
    "free_so2": (64.058, [(1.860, -17.4, -230, 0.020), (7.170, -3.67, 0, None)]),
    "co2": (44.009, [(6.352, 9.16, 0, None), (10.329, 14.6, 0, None)]),
}
WATER = (13.997, 55.81, -224)
AKERLOF = [(80.37, 73.12), (74.60, 67.86), (68.66, 62.41), (62.63, 56.73)]  # 0, 10, 20, 30 mass %; 20 and 40 C
DENSITY20 = [998.201, 991.059, 984.708, 978.851, 973.083]  # 0, 5, ... 20 % vol
ETHANOL20 = 789.239


def pk_at(pk, dh, dcp, kelvin):
    a = R * LN10
    return pk + dh * 1e3 / a * (1 / kelvin - 1 / 298.15) - dcp / a * (298.15 / kelvin - 1 + math.log(kelvin / 298.15))


def mass_fraction(abv):
    i = min(int(abv / 5), 2)
    x, y = numpy.array([0.0, 5.0, 10.0]) + 5 * i, numpy.array(DENSITY20[i:i + 3])
    # Lagrange's form of the parabola through three points
    rho = sum(y[j] * math.prod((abv - x[k]) / (x[j] - x[k]) for k in range(3) if k != j) for j in range(3))
    return abv / 100 * ETHANOL20 / rho


def permittivity(abv, celsius):
    w = 100 * mass_fraction(abv)
    at20 = numpy.interp(w, [0, 10, 20, 30], [a for a, _ in AKERLOF])
    at40 = numpy.interp(w, [0, 10, 20, 30], [b for _, b in AKERLOF])
    return math.exp(math.log(at20) + (math.log(at40) - math.log(at20)) * (celsius - 20) / 20)


def debye_huckel(abv, celsius):
    e, na, kb, e0 = 1.602176634e-19, 6.02214076e23, 1.380649e-23, 8.8541878128e-12
    kelvin = celsius + 273.15
    eps = e0 * permittivity(abv, celsius)
    a = e ** 3 * math.sqrt(2000 * na) / (8 * math.pi * (eps * kb * kelvin) ** 1.5 * LN10)
    b = math.sqrt(2000 * na * e * e / (eps * kb * kelvin)) * 1e-10
    return a, b


class Medium:
    def __init__(self, abv, celsius, ion_size=0.0, shift=0.0135):
        kelvin = celsius + 273.15
        self.a, self.b = debye_huckel(abv, celsius)
        self.size = ion_size
        self.kw = 10.0 ** -pk_at(*WATER, kelvin)
        self.k = {
            name: [10.0 ** -(pk_at(p, h, c, kelvin) + (shift if s is None else s) * abv) for p, h, c, s in steps]
            for name, (_, steps) in ACIDS.items()
        }

    def log_gamma(self, z, ionic):
        r = math.sqrt(ionic)
        if self.size:
            return -self.a * z * z * r / (1 + self.b * self.size * r)
        return -self.a * z * z * (r / (1 + r) - 0.3 * ionic)

    def forms(self, name, ph, ionic):
        """Share of each form of an acid, from concentration constants."""
        h_conc = 10.0 ** (-ph - self.log_gamma(1, ionic))
        weights = [1.0]
        for step, k in enumerate(self.k[name]):
            # K = a_H a_A / a_HA in activities; to concentrations
            lg = self.log_gamma(1, ionic) + self.log_gamma(step + 1, ionic) - self.log_gamma(step, ionic)
            weights.append(weights[-1] * k * 10.0 ** -lg / h_conc)
        total = math.fsum(weights)
        return [w / total for w in weights]

    def balance(self, moles, ph, ionic):
        """Strong-ion excess needed at ph, and sum of c z^2 of the weak ions."""
        h = 10.0 ** (-ph - self.log_gamma(1, ionic))
        oh = self.kw * 10.0 ** (ph - self.log_gamma(1, ionic))
        charge, square = [oh, -h], [oh, h]
        for name, c in moles.items():
            for z, share in enumerate(self.forms(name, ph, ionic)):
                charge.append(c * z * share)
                square.append(c * z * z * share)
        return math.fsum(charge), math.fsum(square)


def ionic_at(medium, moles, ph, calcium, inert):
    """Self-consistent ionic strength of the wine titrated to ph."""
    def miss(ionic):
        need, square = medium.balance(moles, ph, ionic)
        return 0.5 * (abs(need - 2 * calcium) + 4 * calcium + square) + inert - ionic
    return brentq(miss, 1e-12, 3.0, xtol=1e-17, rtol=8.9e-16, maxiter=500)


def need(medium, moles, ph, calcium, inert):
    return medium.balance(moles, ph, ionic_at(medium, moles, ph, calcium, inert))[0]


def solve(medium, moles, strong, calcium, inert):
    ph = brentq(lambda x: need(medium, moles, x, calcium, inert) - strong, 0.0, 13.0, xtol=1e-15, rtol=8.9e-16, maxiter=500)
    return ph, ionic_at(medium, moles, ph, calcium, inert)


def moles_of(c):
    m = {name: c[name] / mass for name, (mass, _) in ACIDS.items()}
    m["lactic"] += 0.6 * c["other"]
    m["succinic"] += 0.2 * c["other"]
    return m


def anchor(medium, known, ph, ta_eq, end, calcium):
    """Tartaric acid (mol/L) that honours pH and TA; nested on the acid alone."""
    def miss(t):
        m = dict(known)
        m["tartaric"] = t
        return need(medium, m, end, calcium, 0.0) - need(medium, m, ph, calcium, 0.0) - ta_eq
    return brentq(miss, 0.0, 0.5, xtol=1e-17, rtol=8.9e-16, maxiter=500)


def capacity(medium, moles, ph, calcium, inert):
    """dB/dpH by Richardson extrapolation of central differences, in steps small
    enough not to reach the kink where all strong ions are calcium."""
    def central(d):
        return (need(medium, moles, ph + d, calcium, inert) - need(medium, moles, ph - d, calcium, inert)) / (2 * d)
    table = [[central(0.016 / 2 ** i)] for i in range(4)]
    for i in range(1, 4):
        for j in range(1, i + 1):
            table[i].append(table[i][j - 1] + (table[i][j - 1] - table[i - 1][j - 1]) / (4 ** j - 1))
    return table[3][3]


FIELDS = ["tartaric", "malic", "lactic", "succinic", "citric", "acetic", "free_so2", "co2", "phosphate", "other",
          "strong", "calcium", "inert", "abv", "celsius", "ion_size"]


def draw(rng):
    c = {
        "tartaric": round(rng.uniform(0.2, 8), 3), "malic": round(rng.uniform(0, 9), 3),
        "lactic": round(rng.uniform(0, 4), 3), "succinic": round(rng.uniform(0, 1.5), 3),
        "citric": round(rng.uniform(0, 1), 3), "acetic": round(rng.uniform(0, 1.2), 3),
        "free_so2": round(rng.uniform(0, 0.08), 4), "co2": round(rng.choice([0, rng.uniform(0, 2)]), 3),
        "phosphate": round(rng.choice([0, rng.uniform(0, 0.8)]), 3), "other": round(rng.uniform(0, 0.05), 4),
        "strong": round(rng.uniform(0.005, 0.08), 5), "calcium": round(rng.choice([0, rng.uniform(0.02, 0.2)]), 3),
        "inert": round(rng.choice([0, rng.uniform(0, 0.05)]), 4), "abv": round(rng.uniform(0, 20), 2),
        "celsius": round(rng.uniform(0, 40), 1), "ion_size": rng.choice([0.0, 0.0, 5.0]),
    }
    return c


def main():
    out = csv.writer(sys.stdout, lineterminator="\n")
    print("# Reference values for science/acidbase from scipy_check.py; Python %s, SciPy %s, NumPy %s"
          % (platform.python_version(), scipy.__version__, numpy.__version__))
    print("# composition in g/L; other, strong (charge), inert in mol/L; calcium g/L; ion_size in angstrom, 0 = Davies.")
    print("# ta7, ta82: equivalents/L; capacity: equivalents/L per pH; anchored (inert salt left out): tartaric g/L and strong ions mol/L from")
    print("# pH and anchor_ta82 with everything else known; curve: strong base at pH 2.5, 4, 6, 8, 10.")
    out.writerow(FIELDS + ["permittivity", "dh_a", "dh_b", "ph", "ionic", "ta7", "ta82", "capacity", "anchor_ta82", "anchored_tartaric", "anchored_strong",
                           "curve2.5", "curve4", "curve6", "curve8", "curve10"])
    rng = random.Random(20260729)
    done = 0
    while done < 160:
        c = draw(rng)
        medium = Medium(c["abv"], c["celsius"], c["ion_size"])
        moles, calcium = moles_of(c), c["calcium"] / 40.078
        try:
            ph, ionic = solve(medium, moles, c["strong"], calcium, c["inert"])
        except ValueError:
            continue
        if not 2.2 < ph < 4.8:
            continue
        ta7 = need(medium, moles, 7.0, calcium, c["inert"]) - c["strong"]
        ta82 = need(medium, moles, 8.2, calcium, c["inert"]) - c["strong"]
        known = {k: v for k, v in moles.items() if k != "tartaric"}
        plain = need(medium, moles, 8.2, calcium, 0.0) - need(medium, moles, ph, calcium, 0.0)
        t = anchor(medium, known, ph, plain, 8.2, calcium)
        strong = need(medium, {**known, "tartaric": t}, ph, calcium, 0.0)
        a, b = debye_huckel(c["abv"], c["celsius"])
        curve = [need(medium, moles, x, calcium, c["inert"]) - c["strong"] for x in (2.5, 4.0, 6.0, 8.0, 10.0)]
        row = [c[f] for f in FIELDS] + [permittivity(c["abv"], c["celsius"]), a, b, ph, ionic, ta7, ta82,
               capacity(medium, moles, ph, calcium, c["inert"]), plain, t * 150.087, strong, *curve]
        out.writerow([repr(float(v)) for v in row])
        done += 1


if __name__ == "__main__":
    main()
