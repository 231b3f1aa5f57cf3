"""Path lengths through the specimen: `mesh` prints its surfaces; `compare` reads what the program found and answers.

trimesh casts each ray and pairs entries with exits; gVirtualXRay renders the L-buffer.
"""
import json
import os
import sys
import tempfile

import numpy as np
import trimesh
from specimen import surfaces


def whole():
    parts = [trimesh.Trimesh(v, t, process=False) for v, t in surfaces().values()]
    mesh = trimesh.util.concatenate(parts)
    mesh.merge_vertices()
    return mesh


def by_rays(mesh, case):
    """Every fourth pixel each way: length is the sum of exits less entries, each signed by the surface's side."""
    n, pitch = case["pixels"], case["pitch"]
    at = (np.arange(0, n, 4) + 0.5 - n / 2) * pitch
    centre, across, down = (np.array(case[k]) for k in ("detector_centre", "across", "down"))
    ends = centre + at[None, :, None] * across + at[:, None, None] * down
    source = np.array(case["source"])
    way = (ends - source).reshape(-1, 3)
    way /= np.linalg.norm(way, axis=1)[:, None]
    places, rays, faces = mesh.ray.intersects_location(np.tile(source, (len(way), 1)), way, multiple_hits=True)
    depth = np.linalg.norm(places - source, axis=1)
    side = np.sign(np.einsum("ij,ij->i", mesh.face_normals[faces], way[rays]))
    lengths = np.zeros(len(way))
    np.add.at(lengths, rays, side * depth)
    return lengths.reshape(len(at), len(at))


def by_gvxr(mesh, case):
    from gvxrPython3 import gvxr

    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "specimen.stl")
        mesh.export(path)
        if not by_gvxr.opened:
            gvxr.createWindow(-1, 0, "EGL", 4, 5)
            gvxr.usePointSource()
            gvxr.setMonoChromatic(60, "keV", 1)
            gvxr.loadMeshFile("specimen", path, "mm")
            gvxr.setCompound("specimen", "H2O")
            gvxr.setDensity("specimen", 1.0, "g/cm3")
            by_gvxr.opened = True
    gvxr.setSourcePosition(*case["source"], "mm")
    gvxr.setDetectorPosition(*case["detector_centre"], "mm")
    gvxr.setDetectorUpVector(*[-v for v in case["down"]])
    gvxr.setDetectorNumberOfPixels(case["pixels"], case["pixels"])
    gvxr.setDetectorPixelSize(case["pitch"], case["pitch"], "mm")
    return np.array(gvxr.computeLBuffer("specimen")) * 10.0


by_gvxr.opened = False


def compare():
    case_file, lengths_file = sys.argv[2:]
    cases, answers = json.load(open(case_file)), []
    ours = np.fromfile(lengths_file, "<f4").reshape(len(cases), cases[0]["pixels"], cases[0]["pixels"])
    mesh = whole()
    for case, mine in zip(cases, ours):
        cast = by_rays(mesh, case)
        off = np.abs(mine[::4, ::4] - cast)
        hit = (cast > 1.0) | (mine[::4, ::4] > 1.0)
        rendered = by_gvxr(mesh, case)
        # Which way round the other program's rows and columns run is not documented: the best of both ways each.
        turned = [rendered, rendered[::-1], rendered[:, ::-1], rendered[::-1, ::-1]]
        inside = mine > 1.0
        medians = [float(np.median(np.abs(mine - t)[inside])) for t in turned]
        answers.append({
            "rays": int(hit.sum()),
            "trimesh_median": float(np.median(off[hit])),
            "trimesh_p95": float(np.percentile(off[hit], 95)),
            "gvxr_median": min(medians),
        })
    print("\n" + json.dumps(answers))


if sys.argv[1] == "mesh":
    mesh = whole()
    json.dump({"vertices": mesh.vertices.tolist(), "triangles": mesh.faces.tolist()}, sys.stdout)
else:
    compare()
