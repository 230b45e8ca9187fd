"""What a hose holds, and what a circuit without liquid still holds, by CoolProp. Usage: amounts.py [ROW] > tables/amounts.csv

Hose: length times the area of the bore times the density of the saturated liquid or vapour. Left: the density of vapour at a pressure, times a volume."""
import hashlib
import math
import sys

import CoolProp
from CoolProp.CoolProp import PropsSI

FLUIDS = {"R-12": "R12", "R-134a": "R134a", "R-152a": "R152A", "R-1234yf": "R1234yf", "R-744": "CO2"}


def rows():
    for name, fluid in FLUIDS.items():
        for celsius in (-5.0, 10.0, 22.0, 25.0):
            kelvin = celsius + 273.15
            for length, bore in ((1.8, 4.8), (1.8, 6.35), (0.9, 5.0)):
                volume = length * math.pi / 4 * (bore * 1e-3) ** 2
                liquid, vapour = (PropsSI("D", "T", kelvin, "Q", q, fluid) * volume for q in (0, 1))
                yield f"hose,{name},{celsius},{length},{bore},{liquid:.10g},{vapour:.10g}"
            saturation = PropsSI("P", "T", kelvin, "Q", 1, fluid)
            for share in (0.2, 0.5, 0.9):
                for litres in (1.5, 2.5, 6.0):
                    mass = PropsSI("D", "T", kelvin, "P", share * saturation, fluid) * litres * 1e-3
                    yield f"left,{name},{celsius},{share * saturation:.10g},{litres},{mass:.10g},0"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__}, amounts.py, sha256 {script}")
    print("what,refrigerant,celsius,length_m_or_pressure_pa,bore_mm_or_volume_l,liquid_kg_or_left_kg,vapour_kg")
    print("\n".join(rows()))
