"""Saturation and densities of the five refrigerants, by CoolProp. Usage: refrigerants.py [ROW] > tables/refrigerants.csv

With a row's number only that row is printed, for the test that regenerates one."""
import hashlib
import sys

import CoolProp
from CoolProp.CoolProp import PropsSI

FLUIDS = {"R-12": "R12", "R-134a": "R134a", "R-152a": "R152A", "R-1234yf": "R1234yf", "R-744": "CO2"}


def rows():
    for name, fluid in FLUIDS.items():
        critical = PropsSI("Tcrit", fluid)
        celsius = -30.0
        while celsius <= 90.0 and celsius + 273.15 < critical - 0.3:
            t = celsius + 273.15
            p = PropsSI("P", "T", t, "Q", 1, fluid)
            liquid = PropsSI("D", "T", t, "Q", 0, fluid)
            vapour = PropsSI("D", "T", t, "Q", 1, fluid)
            dilute = PropsSI("D", "T", t, "P", 0.5 * p, fluid)
            yield f"{name},{t:.2f},{p:.10g},{liquid:.10g},{vapour:.10g},{dilute:.10g}"
            celsius += 5.0 if fluid != "CO2" else 2.5


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__}, refrigerants.py, sha256 {script}")
    print("refrigerant,temperature_k,saturation_pa,liquid_kg_per_m3,vapour_kg_per_m3,vapour_at_half_pressure_kg_per_m3")
    print("\n".join(rows()))
