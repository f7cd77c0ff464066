"""Writes scipy.csv: the model of Coleman, Fish & Block 2007 (coefficients as in law.go)
solved by SciPy's DOP853 at rtol 1e-13, atol 1e-15, with a temperature profile, a lag, an
addition of nitrogen and lot factors.
Run: python3 testdata/reference.py > testdata/scipy.csv"""
import numpy as np, scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

def k(T):
    return dict(mu=np.exp(-3.92+0.0782*T), KN=np.exp(-4.73), kd=np.exp(-9.81-0.108*T+0.00478*T*T),
                beta=np.exp(-2.30+0.0771*T), KS=np.exp(2.33), Y=np.exp(-0.598))
def cells(n):
    peak = 1/3.61
    return n*np.exp(3.5-3.61*n) if n <= peak else peak*np.exp(3.5-3.61*peak)
cases = {  # S0, N0, X0, temperature(h), lag at 20 C, addition (h, g N/L), factors beta, death, mu
    "steady 20": (240, 0.200, 0.25, lambda h: 20+0*h, 0, None, (1, 1, 1)),
    "stuck 35": (265, 0.080, 0.25, lambda h: 35+0*h, 0, None, (1, 1, 1)),
    "cellar": (245, 0.140, 0.20, lambda h: 18+8*np.sin(h/60), 14, (60, 0.050), (0.8, 1.4, 0.9)),
    "cold, rich": (230, 0.330, 0.25, lambda h: 13+0.01*h, 30, None, (0.7, 0.5, 1.1)),
}
print(f"# SciPy {scipy.__version__}, solve_ivp DOP853, rtol 1e-13, atol 1e-15; written by reference.py")
print("case,hours,cells,active,nitrogen,ethanol,sugar")
for name, (S0, N0, X0, T, lag, add, (fb, fd, fm)) in cases.items():
    yld = cells(N0+(add[1] if add else 0))/(N0+(add[1] if add else 0))
    start = 0.0
    if lag:
        work = lambda h: solve_ivp(lambda t, y: [np.exp(0.0782*(T(t)-20))], (0, h), [0], rtol=1e-12, atol=1e-12).y[0, -1]
        start = brentq(lambda h: work(h)-lag, 0.1, 500, xtol=1e-12)
    def f(t, y):
        X, A, N, E, S = y
        c = k(T(t)); N, S = max(N, 0), max(S, 0)
        mu, b = fm*c["mu"]*N/(c["KN"]+N), fb*c["beta"]*S/(c["KS"]+S)
        return [mu*A, (mu-fd*c["kd"]*E)*A, -mu*A/yld, b*A, -b*A/c["Y"]]
    y, t0, out = [X0, X0, N0, 0, S0], start, []
    for t1, extra in ([(add[0], add[1])] if add else [])+[(720, 0)]:
        ts = [t for t in range(24, 721, 24) if t0 < t <= t1]
        s = solve_ivp(f, (t0, t1), y, method="DOP853", rtol=1e-13, atol=1e-15, t_eval=sorted(set(ts+[t1])))
        out += [(t, s.y[:, i]) for i, t in enumerate(s.t) if t in ts]
        y = s.y[:, -1].copy(); y[2] += extra; t0 = t1
    for t, v in out:
        print(name.replace(",", ";"), t, *(f"{x:.13g}" for x in v), sep=",")
