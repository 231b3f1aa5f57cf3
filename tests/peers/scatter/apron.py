"""Recomputes what lead aprons let through: tungsten at 12 degrees, 3 mm aluminium, narrow beam.

Usage: apron.py SCATTER_JSON. Exit 1 if a value of the table differs by more than TOLERANCE.
Source: the spectrum library spekpy of the Python Package Index.
"""

import json
import sys

try:
    import spekpy
except ImportError as fault:
    print(fault)
    sys.exit(3)

# The table stands with two or three digits: half the last digit of its coarsest value, 0.016, is 3 %.
TOLERANCE = 0.02


def transmission(kv, lead_mm):
    beam = spekpy.Spek(kvp=kv, th=12)
    beam.filter("Al", 3.0)
    free = beam.get_kerma()
    beam.filter("Pb", lead_mm)
    return beam.get_kerma() / free


worst = 0.0
for apron in json.load(open(sys.argv[1]))["aprons"]:
    for kv, stated in apron["transmission"]:
        computed = transmission(kv, apron["lead_mm"])
        worst = max(worst, abs(stated / computed - 1.0))
        print(f"{apron['lead_mm']} mm {kv} kV: stated {stated:.4f}, computed {computed:.5f}")
print(f"worst {worst:.4f}")
sys.exit(0 if worst <= TOLERANCE else 1)
