"""By how much real vapour carries more than the ideal gas that the conversion of leaks reckons with, by CoolProp and scipy, at 25 degC from saturation
against 101325 Pa. Usage: real_vapour.py [ROW] > tables/real_vapour.csv

Laminar: density over viscosity integrated along the pressure, against an ideal gas of the viscosity that CoolProp has at 101325 Pa. Choked: the greatest
mass flux of an isentropic expansion from saturated vapour, against that of an ideal gas of the same cp/cv at 100 kPa. (Molecular flow has no dense vapour.)"""
import hashlib
import math
import sys

import CoolProp
import scipy
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

FLUIDS = {"R-12": "R12", "R-134a": "R134a", "R-152a": "R152A", "R-1234yf": "R1234yf", "R-744": "CO2"}
T, AIR, R = 298.15, 101325.0, 8.31446261815324


def laminar(fluid, saturation, molar_mass):
    def along(p):
        return PropsSI("D", "T", T, "P", p, fluid) / PropsSI("V", "T", T, "P", p, fluid)

    ideal = molar_mass / (R * T) * (saturation**2 - AIR**2) / 2 / PropsSI("V", "T", T, "P", AIR, fluid)
    return quad(along, AIR, saturation * (1 - 1e-6), epsrel=1e-9)[0] / ideal


def choked(fluid, saturation, molar_mass):
    h, s = PropsSI("H", "T", T, "Q", 1, fluid), PropsSI("S", "T", T, "Q", 1, fluid)
    k = PropsSI("CPMASS", "T", T, "P", 1e5, fluid) / PropsSI("CVMASS", "T", T, "P", 1e5, fluid)

    def flux(share):
        p = share * saturation
        return PropsSI("D", "P", p, "S", s, fluid) * math.sqrt(2 * max(h - PropsSI("H", "P", p, "S", s, fluid), 0))

    best = minimize_scalar(lambda share: -flux(share), bounds=(0.3, 0.95), method="bounded", options={"xatol": 1e-9})
    ideal = saturation * math.sqrt(k * molar_mass / (R * T)) * ((k + 1) / 2) ** (-(k + 1) / (2 * (k - 1)))
    return flux(best.x) / ideal


def rows():
    for name, fluid in FLUIDS.items():
        saturation, molar_mass = PropsSI("P", "T", T, "Q", 1, fluid), PropsSI("M", fluid)
        yield f"{name},{laminar(fluid, saturation, molar_mass):.9g},{choked(fluid, saturation, molar_mass):.9g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__} and scipy {scipy.__version__}, real_vapour.py, sha256 {script}")
    print("refrigerant,laminar,choked")
    print("\n".join(rows()))
