"""Captures to send, each with a picture of its own; and the check of what was received against them.

Usage: objects.py make FOLDER FIRST COUNT | objects.py compare RECEIVED SENT   Exit of compare: 0 equal, 1 not.
"""

import sys
from pathlib import Path

import pydicom
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import ExplicitVRLittleEndian

CAPTURE = "1.2.840.10008.5.1.4.1.1.7"


def made(number):
    capture = Dataset()
    capture.SOPClassUID, capture.SOPInstanceUID = CAPTURE, f"2.25.4711.{number}"
    capture.StudyInstanceUID, capture.SeriesInstanceUID = "2.25.4711", "2.25.4712"
    capture.PatientID, capture.PatientName, capture.Modality = "MRN-0001", "Example^Person", "OT"
    capture.ContentDate, capture.ContentTime = "20260310", "081500"
    capture.Rows = capture.Columns = 96
    capture.SamplesPerPixel, capture.PhotometricInterpretation = 1, "MONOCHROME2"
    capture.BitsAllocated = capture.BitsStored = 8
    capture.HighBit, capture.PixelRepresentation = 7, 0
    capture.PixelData = bytes((at * 7 + number) % 256 for at in range(96 * 96))
    capture.file_meta = FileMetaDataset()
    capture.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    return capture


def compare(received, sent):
    faults = 0
    sent = {pydicom.dcmread(path).SOPInstanceUID: pydicom.dcmread(path) for path in Path(sent).glob("*.dcm")}
    seen = []
    for path in Path(received).glob("*.dcm"):
        there = pydicom.dcmread(path)
        uid = there.SOPInstanceUID
        seen.append(uid)
        if there.file_meta.MediaStorageSOPInstanceUID != uid or there != sent.get(uid):
            faults += 1
            print(f"{path.name} differs from what was sent")
    if len(seen) != len(set(seen)):
        faults += 1
        print("an object is there twice")
    print(f"{len(seen)} objects equal what was sent" if not faults else f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    if sys.argv[1] == "compare":
        sys.exit(compare(*sys.argv[2:]))
    folder, first, count = Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])
    for number in range(first, first + count):
        made(number).save_as(folder / f"{number}.dcm", enforce_file_format=True)
