"""Standing cylinders at the printed table's temperatures, by CoolProp. Usage: cylinders.py [ROW] > tables/cylinders.csv

The largest net mass is for a water capacity of 10 kg, 0.80 x 10 x density at 77 degF / 997.05; the last column is saturation + 5 psi at sea
level, rounded down to whole psi."""
import hashlib
import math
import sys

import CoolProp
from CoolProp.CoolProp import PropsSI

FLUIDS = {"R-12": "R12", "R-134a": "R134a", "R-152a": "R152A", "R-1234yf": "R1234yf"}


def rows():
    for name, fluid in FLUIDS.items():
        net = 0.80 * 10.0 * PropsSI("D", "T", (77 + 459.67) / 1.8, "Q", 0, fluid) / 997.05
        for fahrenheit in [65, 70, 75, 77, 80, 85, 90, 95, 100, 105, 110, 115, 120, 131]:
            t = (fahrenheit + 459.67) / 1.8
            p = PropsSI("P", "T", t, "Q", 0, fluid)
            density = PropsSI("D", "T", t, "Q", 0, fluid)
            psig = math.floor((p - 101325.0) / 6894.757 + 5.0)
            yield f"{name},{fahrenheit},{t:.10g},{p:.10g},{density:.10g},{net:.10g},{psig}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__}, cylinders.py, sha256 {script}")
    print("refrigerant,temperature_f,temperature_k,saturation_pa,liquid_kg_per_m3,largest_net_kg_in_10_kg,saturation_and_5_psi_psig")
    print("\n".join(rows()))
