"""Air cooled by a cold coil, by psychrolib: how warm it leaves when so much heat is taken out of it. Usage: cooled_air.py [ROW] > tables/cooled_air.csv"""
import hashlib
import sys
from importlib.metadata import version

import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)


def leaves_at(wanted, ratio, celsius, pressure):
    """Dry where its water stays in it, else saturated: the temperature at which saturated air has that enthalpy, by halving."""
    dry = psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(wanted, ratio)
    if psychrolib.GetSatHumRatio(dry, pressure) >= ratio:
        return dry
    low, high = -60.0, celsius
    for _ in range(60):
        middle = (low + high) / 2
        if psychrolib.GetSatAirEnthalpy(middle, pressure) < wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def rows():
    for pressure in (101325.0, 84300.0, 70000.0):
        for celsius in (15, 20, 25, 30, 35, 40, 45):
            for humidity in (0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95):
                for heat in (5e3, 14e3, 24e3):
                    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure)
                    enthalpy = psychrolib.GetMoistAirEnthalpy(celsius, ratio)
                    leaves = leaves_at(enthalpy - heat, ratio, celsius, pressure)
                    yield f"{celsius + 273.15:.2f},{humidity},{pressure:.0f},{heat:.0f},{enthalpy:.8g},{leaves + 273.15:.8g}"


script = hashlib.sha256(open(__file__, "rb").read()).hexdigest()
if len(sys.argv) > 1:
    print(list(rows())[int(sys.argv[1])])
else:
    print(f"# psychrolib {version('psychrolib')}, cooled_air.py, sha256 {script}")
    print("dry_bulb_k,relative_humidity,pressure_pa,heat_j_per_kg,enthalpy_j_per_kg,leaves_at_k")
    print("\n".join(rows()))
