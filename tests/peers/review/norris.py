"""NIST StRD Norris as the SciPy wheel ships it: its points and its certified values, as JSON."""
import json
import re
from pathlib import Path

import scipy.stats

text = (Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat").read_text().splitlines()
certified = []
for line in text:
    found = re.match(r"\s+B[01]\s+(\S+)\s+(\S+)", line)
    if found:
        certified += [float(found.group(1)), float(found.group(2))]
begin = max(at for at, line in enumerate(text) if line.startswith("Data:"))
points = []
for line in text[begin + 1:]:
    if line.split():
        y, x = map(float, line.split())
        points.append([x, y])
print(json.dumps({"points": points, "certified": certified}))
