#!/usr/bin/env python3
"""The same malolactic density, programmed anew and sampled by emcee.

    go test ./internal/track -run TestDumpForComparison -dump /tmp/parcel.json
    python3 internal/track/study/emcee_compare.py /tmp/parcel.json

Debian: python3-numpy python3-scipy python3-emcee. Steady conditions, readings of pH,
TA, malic acid and chromatograms. The doubts about single readings are taken as the Go
program settled them (they are in the covariance); everything else is computed here.
"""
import json, sys, time
import numpy as np, emcee
from scipy.special import ndtr, lambertw
from scipy.stats import t as student

D = json.load(open(sys.argv[1]))
P, F, C, how = D["priors"], D["faults"], D["conditions"], D["how"]
assert D["conditions_count"] == 1
now, n = D["now"], D["now"] + 1

def at(d, z):
    if d["Family"] == "normal": return d["Location"] + d["Spread"] * z
    if d["Family"] == "log10-normal": return 10 ** (d["Location"] + d["Spread"] * z)
    return d["Location"] * np.exp(d["Spread"] * z)

def cardinal(T, lo, opt, hi):
    lo, hi = np.minimum(lo, opt - 2), np.maximum(hi, opt + 2)
    hi = np.where(opt < (lo + hi) / 2 + 0.1, 2 * opt - lo - 0.2, hi)
    v = (T - hi) * (T - lo) ** 2 / ((opt - lo) * ((opt - lo) * (T - opt) - (opt - hi) * (opt + lo - 2 * T)))
    return np.where((T <= lo) | (T >= hi), 0, v)

def raw(z, T, ph, abv, mol, bound):
    phmin, phsat = at(P["PHMin"], z[:, 7]), at(P["PHSaturated"], z[:, 8])
    acid = np.clip((ph - phmin) / np.maximum(0.1, phsat - phmin), 0, 1)
    emax = at(P["AlcoholMax"], z[:, 13]) + (np.maximum(0, at(P["AlcoholMaxAcclimatised"], z[:, 14])) if how == 3 else 0)
    alc = np.sqrt(np.clip(1 - abv / emax, 0, None))
    opt = at(P["TempOpt"], z[:, 10]) + at(P["TempOptPerAlcohol"], z[:, 11]) * (abv - 12.5)
    heat = cardinal(T, at(P["TempMin"], z[:, 9]), opt, at(P["TempMax"], z[:, 12]))
    so2 = 1 / ((1 + mol / at(P["MolecularHalf"], z[:, 15])) * (1 + bound / at(P["BoundHalf"], z[:, 16])))
    return acid * alc * heat * so2

def course(z):
    """Malic acid at the start of days 0..now+1, initial and resting malic acid."""
    ref = raw(z, 20.0, 3.5, 12.5, 0.0, 15.0)
    f0 = raw(z, C["Temperature"], C["PH"], C["Alcohol"], C["Molecular"] * 1e3, C["Bound"] * 1e3) / np.where(ref <= 0, 1e-3, ref)
    lot, mu = at(P["Lot"], z[:, 6]), at(P["Growth"], z[:, 2])
    ceil = at(P["Ceiling"], z[:, 3])
    start = np.minimum(at(P["Start"][how], z[:, 4]), ceil / 2)
    lag = at(P["Lag"][how], z[:, 5]) / np.sqrt(np.maximum(f0, 1e-300))
    f = f0 * lot
    km, use = at(P["HalfSaturation"], z[:, 1]), at(P["Use"], z[:, 0]) * 1e3
    m0 = np.clip(at(D["malic"], z[:, 17]), 0.03, 12.0)
    rest = np.minimum(at(P["Rest"], z[:, 24]), m0 / 2)
    keep, step = np.exp(-1.0), F["wander_days"]
    x, knots = z[:, 25], [np.exp(F["wander_sd"] * z[:, 25])]
    for k in range(26, z.shape[1]):
        x = keep * x + np.sqrt(1 - keep ** 2) * z[:, k]
        knots.append(np.exp(F["wander_sd"] * x))
    u, on = ndtr(z[:, 23]), D["stop_share"]
    on_way = u < on
    stop_day = np.where(on_way, np.inf, (-np.log1p(-u) + np.log1p(-on)) / D["hazard"])
    amax, y0, g = ceil, ceil / start - 1, mu * f
    grown = lambda t: amax * (t + np.log((1 + y0 * np.exp(-g * t)) / (1 + y0)) / np.maximum(g, 1e-300))
    work = [np.zeros(len(z))]
    for d in range(n):
        a = np.clip(np.maximum(d, lag), None, d + 1)
        b = np.maximum(a, np.minimum(d + 1, stop_day))
        cells = np.where(f > 0, grown(np.maximum(b - lag, 0)) - grown(np.maximum(a - lag, 0)), 0)
        k = int(d / step); w = d / step - k
        work.append(work[-1] + use * f * cells * (knots[k] * (1 - w) + knots[k + 1] * w))
    work = np.array(work)
    conv = m0 - rest
    share = np.where(on_way, np.minimum(u / on, 1 - 1e-15), 0)
    cap = np.where(on_way, -km * np.log1p(-share) + conv * share, np.inf)
    work = np.minimum(work, cap)
    L = np.log(conv / km) + (conv - work) / km
    with np.errstate(over="ignore", invalid="ignore"):
        w = np.real(lambertw(np.exp(np.minimum(L, 600))))
        w = np.where(L < -30, np.exp(L), np.where(L > 600, L - np.log(np.maximum(L, 1)), w))
    return rest + km * w, m0

nodes, dph, dta = np.array(D["nodes"]), np.array(D["dph"]), np.array(D["dta"])
def table(T, m0, m):
    i = np.clip(np.searchsorted(nodes, m0, side="right") - 1, 0, len(nodes) - 2)
    fx = (m0 - nodes[i]) / (nodes[i + 1] - nodes[i])
    y = np.clip((1 - m / m0) * (T.shape[1] - 1), 0, T.shape[1] - 1.000001)
    j = y.astype(int); fy = y - j
    return (1 - fx) * ((1 - fy) * T[i, j] + fy * T[i, j + 1]) + fx * ((1 - fy) * T[i + 1, j] + fy * T[i + 1, j + 1])

m_count = len(D["gauges"])
Linv = np.zeros((m_count, m_count)); Linv[np.tril_indices(m_count)] = D["chol"]
logdet = -2 * np.log(np.diag(Linv)).sum()

def loglike(z):
    M, m0 = course(z)
    r = np.array([g["y"] - (table(dta, m0, M[int(g["day"])]) if g["ta"] else np.exp(D["spread"] * z[:, 18]) * table(dph, m0, M[int(g["day"])]))
                  for g in D["gauges"]]).T - np.array(D["shift"])
    l = -0.5 * ((r @ Linv.T) ** 2).sum(1) - 0.5 * logdet
    for a in D["assays"]:
        m = M[a["day"]]
        sd, mean = F["assay_fixed_g_l"] + F["assay_share"] * m, m * (1 + F["assay_kit"] * z[:, 19]) + 0.3 * F["assay_fixed_g_l"] * z[:, 19]
        assert a["value"] > 0.05
        l += np.log((1 - F["outlier_rate"]) * student.pdf((a["value"] - mean) / sd, 5) / sd + F["outlier_rate"] / 8)
    for s in D["spots"]:
        x = 3.5 * (np.log(M[s["day"]] / 0.12) - 0.4 * z[:, 21])
        seen, strong = 1 / (1 + np.exp(-x)), 1 / (1 + np.exp(-(x - 3.5 * np.log(2.5))))
        p = {"none": 1 - seen, "strong": strong, "faint": seen - strong}[s["word"]]
        l += np.log((1 - F["spot_misread"]) * p + F["spot_misread"] / 3)
    return l

def logpost(z):
    with np.errstate(all="ignore"):
        l = loglike(z) - 0.5 * (z ** 2).sum(1)
    return np.where(np.isfinite(l), l, -np.inf)

z0 = np.array(D["z0"])[None, :]
print(f"log-likelihood at one particle: Go {D['logl0']:.6f}, here {loglike(z0)[0]:.6f}")
np.random.seed(1)
walkers, steps = 640, int(sys.argv[2]) if len(sys.argv) > 2 else 9000
# The walkers begin in the prior, so that nothing is borrowed from the Go program.
def redraw(z, rng):  # the stop is all or nothing: redraw it from its prior now and then
    new = z.copy(); new[:, 23] = rng.standard_normal(len(z))
    return new, 0.5 * (new[:, 23] ** 2 - z[:, 23] ** 2)
s = emcee.EnsembleSampler(walkers, D["dim"], logpost, vectorize=True, moves=[(emcee.moves.DEMove(), 0.4),
    (emcee.moves.DESnookerMove(), 0.1), (emcee.moves.StretchMove(), 0.3), (emcee.moves.MHMove(redraw), 0.2)])
t0 = time.time(); s.run_mcmc(np.random.randn(walkers, D["dim"]), steps); took = time.time() - t0
chain = s.get_chain(discard=steps // 3, thin=10)
M = np.array([course(c)[0][now] for c in chain]); m0 = np.array([course(c)[1] for c in chain])
q = [0.05, 0.25, 0.5, 0.75, 0.95]
def error(x, f, blocks=5):  # Monte Carlo error from blocks of the chain
    return np.std([f(b) for b in np.array_split(x, blocks)], axis=0) / np.sqrt(blocks)
for name, x, go in (("malic acid now", M, D["now_q"]), ("initial malic acid", m0, D["initial_q"])):
    print(f"| {name} | " + " | ".join(f"{p:.2f}: Go {g:.3f}, emcee {e:.3f} ± {d:.3f}" for p, g, e, d in zip(q, go, np.quantile(x, q), error(x, lambda b: np.quantile(b, q)))) + " |")
e = error(M < 0.1, np.mean)
print(f"| finished | Go {D['p_finished']:.3f} ± {np.sqrt(D['p_finished'] * (1 - D['p_finished']) / D['ess']):.3f}, emcee {np.mean(M < 0.1):.3f} ± {e:.3f} |")
print(f"| seconds | Go {D['seconds']:.2f} for {D['ess']:.0f} effective draws, emcee {took:.0f} for {walkers * steps} evaluations, ratio {took / D['seconds']:.0f}; acceptance {s.acceptance_fraction.mean():.2f}; autocorrelation of ln density about {emcee.autocorr.integrated_time(s.get_log_prob(discard=steps // 3), quiet=True)[0]:.0f} steps |")
