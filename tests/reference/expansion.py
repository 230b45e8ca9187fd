"""Nitrogen expanding out of a vessel into a circuit at 295.15 K, as a real gas, by CoolProp and scipy. Usage: expansion.py [ROW] > tables/expansion.csv

Mass is kept: the density after is what both volumes had together."""
import hashlib
import sys

import CoolProp
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

T = 295.15


def density(p):
    return PropsSI("D", "T", T, "P", p, "Nitrogen")


def rows():
    for vessel in (0.5, 1.0, 2.0):
        for circuit in (1.2, 2.5, 3.8):
            for before in (3e5, 6e5, 1.1e6):
                for empty in (500.0, 101325.0):
                    mass = vessel * density(before) + circuit * density(empty)
                    after = brentq(lambda p: (vessel + circuit) * density(p) - mass, 1.0001 * empty, before, xtol=1e-9, rtol=1e-14)
                    yield f"{vessel},{circuit},{before:.0f},{empty:.0f},{after:.10g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# CoolProp {CoolProp.__version__}, expansion.py, sha256 {script}")
    print("vessel_l,circuit_l,vessel_before_pa,circuit_before_pa,after_pa")
    print("\n".join(rows()))
