"""A leak beside gas that comes to rest, p = a + b t + c (1 - exp(-t/tau)), c >= 0, through made-up readings, by scipy.
Usage: leak_and_gas.py [ROW] > tables/leak_and_gas.csv

A row: the readings as t:p pairs, then b, c, tau and the sum of squares by scipy.optimize.nnls for a fixed tau and minimize_scalar over tau between
duration/30 and duration; then a greater sum of squares, and the least and the greatest b that leave as little, by brentq over the same profile."""
import hashlib
import math
import random
import sys

import numpy
import scipy
from scipy.optimize import brentq, minimize_scalar, nnls


def profile(t, p, tau, b=None):
    """The least sum of squares for this tau (and b), with a and b free, c >= 0: two columns of either sign where a sign is free."""
    t, p = numpy.array(t), numpy.array(p)
    e = 1 - numpy.exp(-t / tau)
    columns = [numpy.ones_like(t), -numpy.ones_like(t), e]
    if b is None:
        scale = t[-1]
        columns += [t / scale, -t / scale]
    x, norm = nnls(numpy.column_stack(columns), p if b is None else p - b * t)
    leak = (x[3] - x[4]) / t[-1] if b is None else b
    return norm**2, leak, x[2]


def over_tau(t, p, b=None):
    low, high = math.log(t[-1] / 30), math.log(t[-1])
    grid = [low + (high - low) * i / 60 for i in range(61)]
    best = min(grid, key=lambda x: profile(t, p, math.exp(x), b)[0])
    step = (high - low) / 60
    found = minimize_scalar(lambda x: profile(t, p, math.exp(x), b)[0], bounds=(max(best - step, low), min(best + step, high)), method="bounded", options={"xatol": 1e-10})
    at = found.x if found.fun <= profile(t, p, math.exp(best), b)[0] else best
    return (*profile(t, p, math.exp(at), b), math.exp(at))


def rows():
    generator = random.Random(20261127)
    for _ in range(16):
        n = generator.choice([7, 10, 15, 25])
        duration = generator.choice([900.0, 1800.0, 3600.0])
        leak = generator.uniform(0.0, 0.5) * generator.choice([0, 1, 1])
        gas = generator.uniform(100, 900)
        tau = duration * generator.uniform(0.08, 0.4)
        noise = generator.choice([2.0, 5.0, 20.0])
        p0 = generator.uniform(50, 3000)
        t = [round(duration * i / (n - 1), 3) for i in range(n)]
        p = [round(p0 + leak * x + gas * (1 - math.exp(-x / tau)) + generator.gauss(0, noise), 4) for x in t]
        rss, b, c, at = over_tau(t, p)
        most = rss + 4 * noise**2
        reach = lambda x: over_tau(t, p, x)[0] - most
        step = 0.02 * (noise + gas) / duration
        low = high = b
        while reach(low) < 0:
            low -= step
        while reach(high) < 0:
            high += step
        low, high = brentq(reach, low, b, xtol=1e-9), brentq(reach, b, high, xtol=1e-9)
        pairs = " ".join(f"{x:.3f}:{y:.4f}" for x, y in zip(t, p))
        yield f"{pairs},{b:.10g},{c:.10g},{at:.10g},{rss:.10g},{most:.10g},{low:.10g},{high:.10g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# scipy {scipy.__version__}, leak_and_gas.py, sha256 {script}")
    print("readings,leak,gas,tau_s,rss,most_rss,leak_low,leak_high")
    print("\n".join(rows()))
