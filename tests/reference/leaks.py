"""One path, two gases, by scipy from first principles. Usage: leaks.py [ROW] > tables/leaks.csv

What the forms of the calculation state in closed form is worked out here the long way: laminar flow by integrating density over viscosity
along the pressure; choked flow by searching the pressure ratio at which an isentropic nozzle carries most; molecular flow by the mean speed of
the molecules. Each is a throughput (Pa m3/s at one temperature) of the second gas for one of the first. The gases' properties are those of
src/calc/physics/data/gases.csv, which gases.py checks."""
import csv
import hashlib
import math
import os
import random
import sys

import scipy
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

T = 298.15
R = 8.31446261815324
DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../src/calc/physics/data/gases.csv")
GASES = {row["gas"]: [float(row[key]) for key in ("viscosity_uPa_s", "molar_mass_g_per_mol", "heat_capacity_ratio")] for row in csv.DictReader(open(DATA))}


def laminar(gas, high, low):
    # A tube of unit conductance: p dV/dt = integral of p dp / viscosity.
    return quad(lambda p: p / (GASES[gas][0] * 1e-6), low, high, epsabs=0, epsrel=1e-13)[0]


def choked(gas, high, low):
    _, m, k = GASES[gas]
    # Mass flux of an isentropic nozzle at pressure ratio r, over the upstream state; turned into throughput by R T / M.
    def flux(r):
        return math.sqrt(2 * k / (k - 1) * (r ** (2 / k) - r ** ((k + 1) / k)))

    best = minimize_scalar(lambda r: -flux(r), bounds=(0.2, 0.95), method="bounded", options={"xatol": 1e-12})
    density = high * m * 1e-3 / (R * T)
    return flux(best.x) * math.sqrt(high * density) * R * T / (m * 1e-3)


def molecular(gas, high, low):
    speed = math.sqrt(8 * R * T / (math.pi * GASES[gas][1] * 1e-3))
    return speed / 4 * (high - low)


def rows():
    generator = random.Random(20260513)
    for _ in range(60):
        first, second = generator.choice(list(GASES)), generator.choice([g for g in GASES if g.startswith("R-")])
        site = generator.uniform(7e4, 1.03e5)
        if generator.random() < 0.5:
            first, high, low = "air", site, generator.uniform(0, 0.3 * site)
        else:
            high, low = generator.uniform(2.5e5, 1.6e6), site
        service = generator.uniform(3e5, 6.5e6)
        high, low, service, site = (round(x, 6) for x in (high, low, service, site))
        forms = [f(second, service, site) / f(first, high, low) for f in (laminar, choked, molecular)]
        year = GASES[second][1] * 1e-3 / (R * T) * 365.25 * 86400
        yield f"{first},{high:.6f},{low:.6f},{second},{service:.6f},{site:.6f}," + ",".join(f"{x:.12g}" for x in forms + [year])


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# scipy {scipy.__version__}, leaks.py, sha256 {script}")
    print("test_gas,test_high_pa,test_low_pa,service_gas,service_high_pa,service_low_pa,laminar,choked,molecular,kg_per_year_of_1_pa_m3_per_s")
    print("\n".join(rows()))
