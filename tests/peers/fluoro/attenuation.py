"""Largest relative difference of mass attenuation from xraydb, for the compositions of the program's own table."""
import json
import sys

import xraydb

table = json.load(open(sys.argv[1]))
ours = json.load(sys.stdin)
worst = {}
for material in table["materials"]:
    parts = material["composition"]
    whole = sum(parts.values())
    for kev, mine in ours[material["name"]]:
        theirs = sum(share / whole * xraydb.mu_elam(element, kev * 1000.0) for element, share in parts.items())
        off = abs(mine / theirs - 1)
        worst[material["name"]] = max(worst.get(material["name"], 0.0), float(off))
json.dump(worst, sys.stdout)
