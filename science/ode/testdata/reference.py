"""Writes scipy.csv: reference values by SciPy's DOP853 at rtol 1e-13, atol 1e-14.
Run: python3 testdata/reference.py > testdata/scipy.csv (SciPy 1.10)."""
import numpy as np, scipy
from scipy.integrate import solve_ivp
systems = {
    "oscillator": (lambda t, y: [y[1], -y[0]], [1, 0], 20),
    "lotka-volterra": (lambda t, y: [1.1*y[0]-0.4*y[0]*y[1], 0.1*y[0]*y[1]-0.4*y[1]], [10, 5], 15),
    "arenstorf": (None, [0.994, 0, 0, -2.00158510637908252240537862224], 17.0652165601579625588917206249),
    "logistic-season": (lambda t, y: [y[0]*(1-y[0])*(1+np.sin(t))], [0.01], 12),
}
def arenstorf(t, u):
    m, n = 0.012277471, 1-0.012277471
    x, y, vx, vy = u
    d1, d2 = ((x+m)**2+y*y)**1.5, ((x-n)**2+y*y)**1.5
    return [vx, vy, x+2*vy-n*(x+m)/d1-m*(x-n)/d2, y-2*vx-n*y/d1-m*y/d2]
systems["arenstorf"] = (arenstorf, *systems["arenstorf"][1:])
print(f"# SciPy {scipy.__version__}, solve_ivp DOP853, rtol 1e-13, atol 1e-14; written by reference.py")
print("# system,t,component,value")
for name, (f, y0, end) in systems.items():
    ts = np.linspace(0, end, 8)[1:]
    s = solve_ivp(f, (0, end), y0, method="DOP853", rtol=1e-13, atol=1e-14, t_eval=ts)
    for i, t in enumerate(s.t):
        for j, v in enumerate(s.y[:, i]):
            print(f"{name},{t:.17g},{j},{v:.15g}")
