"""Reads dose reports with pydicom alone and prints their figures as JSON: one object, file name to report.

Usage: walk.py FOLDER   Units become this program's: Gy.cm2, mGy, s, ms, kV, mA, mm, deg, cm2.
"""

import json
import sys
import warnings
from pathlib import Path

import pydicom

warnings.simplefilter("ignore")

# What one of the unit is in the unit wanted, as a pair to multiply and to divide by.
AREA_PRODUCT = {"Gy.m2": (1e4, 1), "mGy.cm2": (1, 1e3), "dGy.cm2": (1, 10)}
KERMA = {"Gy": (1e3, 1), "mGy": (1, 1)}
PLAIN = {unit: (1, 1) for unit in ("s", "ms", "kV", "mA", "mm", "deg", "{pulse}/s", "1", "%")} | {"m2": (1e4, 1)}
TOTALS = {"113722": "kerma_area_product", "113725": "reference_air_kerma", "113726": "fluoroscopy_kerma_area_product",
          "113728": "fluoroscopy_air_kerma", "113730": "fluoroscopy_time",
          "113727": "acquisition_kerma_area_product", "113729": "acquisition_air_kerma",
          "113855": "acquisition_time", "113731": "frames"}
EVENT = {"122130": "kerma_area_product", "113738": "reference_air_kerma", "113742": "duration", "113768": "pulses",
         "113791": "pulse_rate", "113793": "pulse_width_ms", "113824": "exposure_time_ms",
         "113735": "exposure_time_ms", "113733": "tube_voltage", "113734": "tube_current",
         "112011": "primary_angle_deg", "112012": "secondary_angle_deg", "113739": "primary_end_angle_deg",
         "113740": "secondary_end_angle_deg", "113750": "source_to_detector_mm",
         "113748": "source_to_isocentre_mm", "113790": "field_area_cm2"}
PLANES = {"113622": "single", "113620": "a", "113621": "b"}
TYPES = {"44491008": "fluoroscopy", "P5-06000": "fluoroscopy", "113611": "stationary-acquisition"}


def code(item, sequence="ConceptNameCodeSequence"):
    return item[sequence].value[0].CodeValue if item.get(sequence) else None


def number(item):
    measured = item.MeasuredValueSequence[0]
    units = measured.get("MeasurementUnitsCodeSequence")
    if not units or units[0].CodingSchemeDesignator != "UCUM":
        return None
    factors = (AREA_PRODUCT | KERMA | PLAIN).get(units[0].CodeValue)
    # Twice: the text is read as a number first, and then converted, as a reader of doubles does.
    return None if factors is None else float(str(measured.NumericValue)) * factors[0] / factors[1]


def figures(container, names):
    found, voltages = {}, []
    for item in container.get("ContentSequence", []):
        name = code(item)
        if item.get("ValueType") == "CONTAINER" and name not in ("122505", "113771"):
            found |= figures(item, names)
        elif name in names and item.get("ValueType") == "NUM" and number(item) is not None:
            found[names[name]] = number(item)
            if name == "113733":
                voltages.append(number(item))
        elif name in ("113764", "113832"):
            found["plane"] = PLANES[code(item, "ConceptCodeSequence")]
        elif name == "113721":
            found["type"] = TYPES[code(item, "ConceptCodeSequence")]
        elif name in ("113769", "113853"):
            found["uid"] = str(item.UID)
        elif name in ("111526", "113809"):
            found["started"] = str(item.DateTime)
    if len(voltages) > 1:
        found["tube_voltage"] = sum(voltages) / len(voltages)
    return found


def read(path):
    dataset = pydicom.dcmread(path)
    children = dataset.get("ContentSequence", [])
    return {"uid": str(dataset.SOPInstanceUID), "patient_number": str(dataset.PatientID),
            "station": str(dataset.StationName), "zone": str(dataset.get("TimezoneOffsetFromUTC", "")),
            "planes": [figures(item, TOTALS) for item in children if code(item) in ("113702", "130500")],
            "events": [figures(item, EVENT) for item in children if code(item) in ("113706", "130501")]}


if __name__ == "__main__":
    print(json.dumps({path.stem: read(path) for path in sorted(Path(sys.argv[1]).glob("*.dcm"))
                      if "truncated" not in path.stem}))
