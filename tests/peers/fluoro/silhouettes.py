"""Overlap of parallel silhouettes: surfaces from standard input against the specimen's, bone by bone and view by view."""
import json
import sys

import numpy as np
from PIL import Image, ImageDraw
from specimen import surfaces

PIXEL_MM = 0.5
LOW, SIZE = np.array([-190.0, -220.0]), (760, 880)


def views():
    """Right and up on the picture, in the patient frame, by how far the beam is tilted from front-back."""
    made = {"lateral": (np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))}
    for name, inlet in (("AP", 0), ("inlet", 25), ("outlet", -43)):
        angle = np.radians(inlet)
        made[name] = (np.array([1.0, 0.0, 0.0]), np.array([0.0, np.sin(angle), np.cos(angle)]))
    return made


def silhouette(vertices, triangles, axes):
    places = (np.c_[vertices @ axes[0], vertices @ axes[1]] - LOW) / PIXEL_MM
    image = Image.new("1", SIZE)
    draw = ImageDraw.Draw(image)
    for corners in places[triangles]:
        draw.polygon([tuple(p) for p in corners], fill=1)
    return np.array(image)


ours = json.load(sys.stdin)
overlap = {}
for name, (vertices, triangles) in surfaces().items():
    mine = ours[name]
    for view, axes in views().items():
        a = silhouette(vertices, triangles, axes)
        b = silhouette(np.array(mine["vertices"]), np.array(mine["triangles"]), axes)
        overlap[f"{name} {view}"] = float((a & b).sum() / (a | b).sum())
json.dump(overlap, sys.stdout)
