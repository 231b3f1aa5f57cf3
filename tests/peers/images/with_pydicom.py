"""Reads DICOM images with pydicom and prints what it finds, as one JSON object by file name.

Usage: with_pydicom.py FILE...   Exit: 0 done, 3 a package is missing.
"""

import json
import sys
from pathlib import Path

try:
    import gdcm  # noqa: F401  decodes JPEG Lossless for pydicom
    import pydicom
    from pydicom.pixels import apply_rescale
except ImportError as fault:
    print(fault)
    sys.exit(3)


def decimals(data, member):
    value = data.get(member)
    if value is None or value == "":
        return None
    return [float(part) for part in value] if hasattr(value, "__iter__") else [float(value)]


def look(path):
    data = pydicom.dcmread(path)
    pixels = apply_rescale(data.pixel_array, data)
    names = [
        "ImagerPixelSpacing", "PixelSpacing", "PixelAspectRatio", "DistanceSourceToDetector", "DistanceSourceToPatient",
        "EstimatedRadiographicMagnificationFactor", "PositionerPrimaryAngle", "PositionerSecondaryAngle",
        "ImagePositionPatient", "ImageOrientationPatient", "WindowCenter", "WindowWidth",
    ]
    found = {name: decimals(data, name) for name in names}
    found |= {
        "rows": data.Rows,
        "columns": data.Columns,
        "values": [float(value) for value in pixels.flatten()],
        "photometric": data.PhotometricInterpretation,
        "position": data.get("PatientPosition"),
        "calibration": data.get("PixelSpacingCalibrationType"),
        "laterality": data.get("ImageLaterality"),
        "sop_class": str(data.SOPClassUID),
    }
    return found


print(json.dumps({Path(path).name: look(path) for path in sys.argv[1:]}, indent=1))
