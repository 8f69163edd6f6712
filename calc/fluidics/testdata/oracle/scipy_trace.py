#!/usr/bin/env python3
"""The chamber's equations of fluidics_ref.py solved by scipy: traces of the
worked cases every 5 ms, and with --time the time a series of 10 s takes.

  scipy_trace.py F01 F12 …     case,t_s,chamber,node,irrigation,tip,volume
  scipy_trace.py --time N      seconds of processor time for one series, best of N
"""
import sys, time
import numpy as np
from scipy.integrate import solve_ivp
import fluidics_ref as ref

TOL = dict(method="LSODA", rtol=1e-9, atol=1e-9, max_step=5e-3)

def trace(case):
    m = ref.Model(**dict((c, kw) for c, _, kw in ref.CASES)[case])
    y0 = m.steady(); m.tb = 3.0
    start = y0.copy(); start[3] = 0.0
    t1, t2 = np.arange(0, 3.0+1e-9, 5e-3), np.arange(3.0, 5.5+1e-9, 5e-3)
    a = solve_ivp(lambda t, y: m.f(t, y, True), (0, 3.0), start, t_eval=t1, **TOL)
    b = solve_ivp(lambda t, y: m.f(t, y, False), (3.0, 5.5), a.y[:, -1], t_eval=t2, **TOL)
    for t, y in list(zip(a.t, a.y.T))[1:]+list(zip(b.t, b.y.T))[1:]:
        print(case, "%.4f" % t, "%.9g" % y[0], "%.9g" % y[1], "%.9g" % (y[2]/ref.MLMIN), "%.9g" % (y[3]/ref.MLMIN), "%.9g" % y[7], sep=",")

def series(rtol, atol):
    """four pieces in 10 s: 1.5 s blocked, 1 s free; the same work as the program's series"""
    m = ref.Model()
    y = m.steady(); t = 0.0
    for _ in range(4):
        y = y.copy(); y[3] = 0.0
        for occ, length in ((True, 1.5), (False, 1.0)):
            m.tb = t
            y = solve_ivp(lambda t, y: m.f(t, y, occ), (t, t+length), y, method="RK45", rtol=rtol, atol=atol).y[:, -1]
            t += length
    return y

if __name__ == "__main__":
    if sys.argv[1] == "--time":
        best = 1e9
        for _ in range(int(sys.argv[2])):
            began = time.process_time(); y = series(1e-8, 1e-6); best = min(best, time.process_time()-began)
        print("%.6f %.9g" % (best, y[0]))
    else:
        for case in sys.argv[1:]:
            trace(case)
