"""Viscosity, molar mass and heat capacity ratio of the gases that leak, by CoolProp at 298.15 K. Usage: gases.py [ROW] > tables/gases.csv

CoolProp's viscosity of R-1234yf is 7.6 % above Huber and Assael (2016); it stands here all the same, and the test says why it is not used."""
import hashlib
import sys

import CoolProp
from CoolProp.CoolProp import PropsSI

GASES = {"air": "Air", "nitrogen": "Nitrogen", "R-134a": "R134a", "R-1234yf": "R1234yf", "R-152a": "R152A", "R-12": "R12", "R-744": "CO2"}


def rows():
    for name, fluid in GASES.items():
        viscosity = PropsSI("V", "T", 298.15, "P", 101325, fluid) * 1e6
        ratio = PropsSI("C", "T", 298.15, "P", 1e5, fluid) / PropsSI("O", "T", 298.15, "P", 1e5, fluid)
        yield f"{name},{viscosity:.8g},{PropsSI('M', fluid) * 1e3:.8g},{ratio:.8g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__}, gases.py, sha256 {script}")
    print("gas,viscosity_uPa_s,molar_mass_g_per_mol,heat_capacity_ratio")
    print("\n".join(rows()))
