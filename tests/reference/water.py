"""Saturation of water by IAPWS-IF97 and of ice by IAPWS R14-08, by the package iapws. Usage: water.py [ROW] > tables/water.csv"""
import hashlib
import sys
from importlib.metadata import version

from iapws._iapws import _Sublimation_Pressure
from iapws.iapws97 import _PSat_T


def rows():
    for i in range(0, 41):
        t = 213.15 + 1.5 * i
        if t < 273.16:
            yield f"{t:.2f},{_Sublimation_Pressure(t) * 1e6:.12g}"
    for i in range(0, 60):
        t = 273.16 + 2.5 * i
        yield f"{t:.2f},{_PSat_T(t) * 1e6:.12g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# iapws {version('iapws')}, water.py, sha256 {script}")
    print("temperature_k,saturation_pa")
    print("\n".join(rows()))
