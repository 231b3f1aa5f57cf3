"""Surfaces of the scanned specimen that comes as an example of PyPI gias2 0.7.14 (MPL-2.0), in the patient frame.

`pip install --no-deps gias2==0.7.14`: the file alone is wanted, not the library.
"""
import re
import sysconfig
from pathlib import Path

import numpy as np

FILE = "gias2/examples/fieldwork/fit_whole_pelvis_data/2007_5028_short_closedsacrum.wrl"
# From the scan's own origin to the centre of the S1 superior endplate, mm.
SHIFT = np.array([-40.48, -6.42, -1327.2])


def surfaces():
    """Right hip, left hip, sacrum: vertices in mm and triangles."""
    text = (Path(sysconfig.get_paths()["purelib"]) / FILE).read_text()
    found = []
    for shape in re.finditer(r"point \[(.*?)\].*?coordIndex \[(.*?)\]", text, re.S):
        points = [[float(v) for v in p.split()] for p in shape.group(1).split(",") if p.strip()]
        corners = np.array(shape.group(2).replace(",", " ").split(), int).reshape(-1, 4)[:, :3]
        found.append((np.array(points) + SHIFT, corners))
    assert len(found) == 3, len(found)
    return dict(zip(("hip-right", "hip-left", "sacrum"), found))
