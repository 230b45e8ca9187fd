"""Dew point, humidity ratio and wet bulb of moist air, by psychrolib. Usage: moist_air.py [ROW] > tables/moist_air.csv"""
import hashlib
import sys
from importlib.metadata import version

import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)


def rows():
    for pressure in (101325.0, 84300.0, 70000.0):
        for celsius in range(-20, 55, 5):
            for humidity in (0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95, 1.0):
                dew = psychrolib.GetTDewPointFromRelHum(celsius, humidity)
                ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure)
                wet = psychrolib.GetTWetBulbFromRelHum(celsius, humidity, pressure)
                yield f"{celsius + 273.15:.2f},{humidity},{pressure:.0f},{dew + 273.15:.8g},{ratio:.8g},{wet + 273.15:.8g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# psychrolib {version('psychrolib')}, moist_air.py, sha256 {script}")
    print("dry_bulb_k,relative_humidity,pressure_pa,dew_point_k,humidity_ratio,wet_bulb_k")
    print("\n".join(rows()))
