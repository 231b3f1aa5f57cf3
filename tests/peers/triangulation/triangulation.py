"""Triangulates and intersects as the program does, with OpenCV and SciPy alone, and prints the largest differences.

Reads JSON from standard input: a list of pairs of poses, each with exact touches and what the program found. Exit 0: all
within the tolerance; 1: not; 3: a package is missing.
"""

import json
import sys

try:
    import cv2
    import numpy as np
    from scipy.linalg import lstsq
    from scipy.spatial.transform import Rotation
except ImportError as fault:
    print(fault)
    sys.exit(3)

TOLERANCE_MM = 1e-6


def axes(pose):
    """Across, down and beam of a pose, from its DICOM angles and roll."""
    turn = Rotation.from_euler("ZXY", [pose["primary"], -pose["secondary"], pose["roll"]], degrees=True)
    return turn.apply([[1, 0, 0], [0, 0, -1], [0, -1, 0]])


def camera(pose):
    """OpenCV's 3 by 4 matrix in millimetres; the program's x runs the other way, see projection.py."""
    across, down, beam = axes(pose)
    source = np.array(pose["isocentre"]) - beam * pose["source_to_isocentre"]
    rotation = np.array([-across, down, beam])
    inner = np.diag([pose["source_to_detector"], pose["source_to_detector"], 1.0])
    return inner @ np.hstack([rotation, (-rotation @ source)[:, None]]), source


def ray(pose, touch):
    across, down, beam = axes(pose)
    way = across * touch[0] + down * touch[1] + beam * pose["source_to_detector"]
    return way / np.linalg.norm(way)


def nearest(pair):
    """The point of least squared distance to both rays, by SciPy: linear in the point, so solved at once."""
    rows, aside = [], []
    for pose, touch in zip(pair["poses"], pair["off"]):
        x, y, z = ray(pose, touch)
        across_way = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        rows.append(across_way)
        aside.append(across_way @ camera(pose)[1])
    return lstsq(np.vstack(rows), np.concatenate(aside))[0]


def main():
    pairs = json.load(sys.stdin)
    worst = {"tip_mm": 0.0, "axis": 0.0, "nearest_mm": 0.0}
    for pair in pairs:
        cameras = [camera(pose)[0] for pose in pair["poses"]]
        tips = [np.array(touch, dtype=float) * [-1.0, 1.0] for touch in pair["tips"]]
        found = cv2.triangulatePoints(cameras[0], cameras[1], tips[0][:, None], tips[1][:, None])[:, 0]
        worst["tip_mm"] = max(worst["tip_mm"], np.abs(found[:3] / found[3] - pair["tip"]).max())
        normals = [
            np.cross(ray(pose, tip), ray(pose, shank))
            for pose, tip, shank in zip(pair["poses"], pair["tips"], pair["shanks"])
        ]
        along = np.cross(*normals)
        along /= np.linalg.norm(along)
        worst["axis"] = max(worst["axis"], min(np.abs(along - pair["axis"]).max(), np.abs(along + pair["axis"]).max()))
        worst["nearest_mm"] = max(worst["nearest_mm"], np.abs(nearest(pair) - pair["nearest"]).max())
    print(len(pairs), json.dumps(worst))
    sys.exit(0 if max(worst.values()) < TOLERANCE_MM else 1)


main()
