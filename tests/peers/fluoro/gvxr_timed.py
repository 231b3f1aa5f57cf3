"""Renders one surface whenever asked, and says how long that took: a line in, nanoseconds out."""
import json
import sys
import time

from gvxrPython3 import gvxr

case = json.load(open(sys.argv[1]))
gvxr.createWindow(-1, 0, "EGL", 4, 5)
gvxr.usePointSource()
gvxr.setMonoChromatic(60, "keV", 1)
gvxr.setSourcePosition(*case["source"], "mm")
gvxr.setDetectorPosition(*case["detector_centre"], "mm")
gvxr.setDetectorUpVector(*[-v for v in case["down"]])
gvxr.setDetectorNumberOfPixels(case["pixels"], case["pixels"])
gvxr.setDetectorPixelSize(case["pitch"], case["pitch"], "mm")
gvxr.loadMeshFile("bones", sys.argv[2], "mm")
gvxr.setCompound("bones", "H2O")
gvxr.setDensity("bones", 1.0, "g/cm3")
gvxr.computeLBuffer("bones")
print("\nready", flush=True)
for _ in sys.stdin:
    began = time.perf_counter_ns()
    gvxr.computeLBuffer("bones")
    print(f"\ntook {time.perf_counter_ns() - began}", flush=True)
