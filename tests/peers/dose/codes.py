"""Holds the codes this program reads by against pydicom's copy of the DICOM ontology.

Usage: codes.py ROOT   Exit: 0 all of them agree, 1 not. Every fault is a line.
"""

import re
import sys
from pathlib import Path

from pydicom.sr._concepts_dict import concepts
from pydicom.sr._snomed_dict import mapping


def meanings(scheme):
    found = {}
    for entries in concepts[scheme].values():
        for code, (meaning, _) in entries.items():
            found.setdefault(code, set()).add(meaning)
    return found


DCM, SCT = meanings("DCM"), meanings("SCT")
root = Path(sys.argv[1])
figures = (root / "src/commands/dose/figures.rs").read_text()
codes = (root / "src/adapters/dose_report/codes.rs").read_text()
faults, seen = [], 0

for code, meaning in re.findall(r'"(\d{6}) ([A-Z][^"]*)"', figures):
    seen += 1
    if meaning not in DCM.get(code, ()):
        faults.append(f"{code} is {DCM.get(code)}, not {meaning}")
for pair, plane in re.findall(r'\("DCM", "(\d{6})"\) => Some\(Plane::(\w+)\)', codes):
    seen += 1
    wanted = {"Single": "Single Plane", "A": "Plane A", "B": "Plane B", "All": "All Planes"}[plane]
    if wanted not in DCM[pair]:
        faults.append(f"{pair} is {DCM[pair]}, not {wanted}")
WORDS = {"IsocentreTowardSource": "15cm from Isocenter toward Source",
         "InFrontOfImageInput": "30cm in Front of Image Input Surface", "AboveTableTop": "1cm above Tabletop",
         "AboveTableTop30Cm": "30cm above Tabletop", "FromTableCentreLine": "15cm from Table Centerline",
         "StationaryAcquisition": "Stationary Acquisition", "SteppingAcquisition": "Stepping Acquisition",
         "RotationalAcquisition": "Rotational Acquisition"}
for code, kind in re.findall(r'\("DCM", "(\d{6})"\) => Some\((?:ReferencePoint|EventType)::(\w+)\)', codes):
    seen += 1
    if WORDS[kind] not in DCM[code]:
        faults.append(f"{code} is {DCM[code]}, not {WORDS[kind]}")
CONSTANTS = {"REPORT": "X-Ray Radiation Dose Report", "ACCUMULATED": "Accumulated X-Ray Dose Data",
             "EVENT": "Irradiation Event X-Ray Data", "ACCUMULATED_ENHANCED": "Accumulated Dose Data",
             "EVENT_ENHANCED": "Irradiation Event Summary Data", "DETAILS_ENHANCED": "Irradiation Details",
             "SCOPE": "Scope of Accumulation", "STARTED_COVER": "Start of X-Ray Irradiation",
             "ENDED_COVER": "End of X-Ray Irradiation", "CALIBRATION": "Calibration", "FILTERS": "X-Ray Filters"}
for name, code in re.findall(r'pub const (\w+): &str = "(\d{6})"', codes):
    seen += 1
    if CONSTANTS[name] not in DCM.get(code, ()):
        faults.append(f"{code} is {DCM.get(code)}, not {CONSTANTS[name]}")
# SRT and SCT of one meaning: Fluoroscopy, aluminium, copper.
for sct, srt, word in [("44491008", "P5-06000", "Fluoroscopy"), ("12503006", "C-12000", "Aluminum"),
                       ("66925006", "C-12700", "Copper")]:
    seen += 1
    if mapping["SRT"].get(srt) != sct or not any(word in meaning for meaning in SCT[sct]):
        faults.append(f"{srt} is {mapping['SRT'].get(srt)}, {sct} is {SCT.get(sct)}, not {word}")
    if f'"{sct}"' not in codes or f'"{srt}"' not in codes:
        faults.append(f"{sct} or {srt} is not read")
for older, newer in [("113853", "113769"), ("113735", "113824")]:
    seen += 1
    if not DCM[older] & DCM[newer]:
        faults.append(f"{older} and {newer} are not of one meaning")

print("\n".join(faults) or f"{seen} codes agree")
sys.exit(1 if faults or seen < 55 else 0)
