"""What pydicom reads from a picture, and whether every element conforms to the standard's own dictionary."""
import json
import sys

import pydicom
from pydicom import config

config.settings.reading_validation_mode = config.RAISE
picture = pydicom.dcmread(sys.argv[1])
for element in picture.iterall():
    assert element.value is not None or element.VM == 0, element
    assert element.VR in pydicom.datadict.dictionary_VR(element.tag), element
pixels = picture.pixel_array
json.dump({
    "class": picture.SOPClassUID.name,
    "syntax": picture.file_meta.TransferSyntaxUID.name,
    "type": list(picture.ImageType),
    "quality_control": picture.QualityControlImage,
    "patient": str(picture.PatientName),
    "modality": picture.Modality,
    "motion": picture.PositionerMotion,
    "primary": float(picture.PositionerPrimaryAngle),
    "secondary": float(picture.PositionerSecondaryAngle),
    "sid": float(picture.DistanceSourceToDetector),
    "spacing": [float(v) for v in picture.ImagerPixelSpacing],
    "shape": list(pixels.shape),
    "sum": int(pixels.astype("int64").sum()),
}, sys.stdout)
