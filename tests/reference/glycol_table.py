"""Glycol tables for src/catalogue/glycol.toml, made with the public Python package CoolProp 8.0.0.

    pip install CoolProp==8.0.0 && python tests/reference/glycol_table.py > src/catalogue/glycol.toml
"""

from CoolProp.CoolProp import PropsSI

PRESSURE = 3e5
CELSIUS = range(0, 101, 10)

print("# Water with propylene or ethylene glycol by mass. Made by tests/reference/glycol_table.py.")
print("# rho kg/m3, mu mPa s, cp J/(kg K), at celsius = 0, 10, … 100; freeze = freezing point, °C.")
for name, fluid in (("propylene", "MPG"), ("ethylene", "MEG")):
    for percent in (10, 20, 25, 30, 40, 50):
        fraction = percent / 100
        mix = f"INCOMP::{fluid}[{fraction}]"

        def row(what, scale, digits):
            cells = []
            for celsius in CELSIUS:
                kelvin = min(celsius + 273.15, 373.15)
                cells.append(f"{PropsSI(what, 'T', kelvin, 'P', PRESSURE, mix) * scale:.{digits}f}")
            return "[" + ", ".join(cells) + "]"

        freeze = PropsSI("T_FREEZE", "T", 300, "P", PRESSURE, mix) - 273.15
        print()
        print("[[mix]]")
        print(f'glycol = "{name}"')
        print(f"percent = {percent}.0")
        print(f"freeze = {freeze:.1f}")
        print(f"rho = {row('D', 1, 2)}")
        print(f"mu = {row('V', 1000, 4)}")
        print(f"cp = {row('C', 1, 1)}")
        print(f'source = "CoolProp 8.0.0, incompressible fluid {fluid}, 3 bar"')
        print('mark = "standard"')
