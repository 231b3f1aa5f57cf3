"""Projects and turns as the program does, with SciPy and OpenCV alone, and prints the largest differences.

Reads JSON from standard input: a list of poses, each with what it was made of and what the program found. Exit 0: all
within the tolerance; 1: not; 3: a package is missing.
"""

import json
import sys

try:
    import cv2
    import numpy as np
    from scipy.spatial.transform import Rotation
except ImportError as fault:
    print(fault)
    sys.exit(3)

TOLERANCE_MM = 1e-6


def project(camera, source, reach, points):
    """OpenCV's pinhole: x right, y down, z away from the source. The program's picture is seen from the detector, so its
    x is the other way round."""
    matrix = np.diag([reach, reach, 1.0])
    rotation, _ = cv2.Rodrigues(np.array(camera))
    shift = -np.array(camera) @ np.array(source)
    found, _ = cv2.projectPoints(np.array(points), rotation, shift, matrix, None)
    return found.reshape(-1, 2) * [-1.0, 1.0]


def of_angles(pose):
    """The axes of a pose from its DICOM angles and roll: across, down, beam."""
    turn = Rotation.from_euler("ZXY", [pose["primary"], -pose["secondary"], pose["roll"]], degrees=True)
    return turn.apply([[1, 0, 0], [0, 0, -1], [0, -1, 0]])


def of_joints(pose):
    """The axes of a pose from the joint chain: wag about the vertical, tilt about the boom, orbit along the C."""
    lie = Rotation.from_rotvec([np.radians(pose["turn"]), 0, 0])
    front, head = lie.apply([0, -1, 0]), lie.apply([0, 0, 1])
    up = front if pose["supine"] else -front
    home = up if pose["tube_under"] else -up
    in_front = 1.0 if np.dot(home, front) > 0 else -1.0
    boom, along_c = np.array([-in_front, 0, 0]), in_front * head
    wag = Rotation.from_rotvec(np.radians(pose["wag"] + pose["off_square"]) * up)
    tilt = Rotation.from_rotvec(np.radians(pose["tilt"]) * boom)
    orbit = Rotation.from_rotvec(np.radians(pose["orbit"]) * along_c)
    return (wag * tilt * orbit).apply([np.cross(home, -head), -head, home])


def main():
    poses = json.load(sys.stdin)
    worst = {"projection_mm": 0.0, "source_mm": 0.0}
    for pose in poses:
        across, down, beam = of_angles(pose) if "primary" in pose else of_joints(pose)
        source = np.array(pose["isocentre"]) - beam * pose["source_to_isocentre"]
        found = project([-across, down, beam], source, pose["source_to_detector"], pose["points"])
        ours = np.array(pose["projected"])
        worst["projection_mm"] = max(worst["projection_mm"], np.abs(found - ours).max())
        worst["source_mm"] = max(worst["source_mm"], np.abs(source - pose["source"]).max())
    print(len(poses), json.dumps(worst))
    sys.exit(0 if max(worst.values()) < TOLERANCE_MM else 1)


main()
