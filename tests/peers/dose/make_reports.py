"""Writes dose reports with highdicom and pydicom: people, machines and figures are invented.

Usage: make_reports.py FOLDER [NAME...]   Without names, all but thousand-events, which takes half a minute and is
frozen in tests/vectors/dose. The same call writes the same bytes.
"""

import sys
from functools import cache
from pathlib import Path
from typing import NamedTuple

import highdicom.sr as highdicom
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.sequence import Sequence
from pydicom.uid import (DeflatedExplicitVRLittleEndian, ExplicitVRBigEndian, ExplicitVRLittleEndian,
                         ImplicitVRLittleEndian)
from pydicom.valuerep import DT

ROOT = "2.25.90210"
XRAY = "1.2.840.10008.5.1.4.1.1.88.67"
ENHANCED = "1.2.840.10008.5.1.4.1.1.88.76"
CONTAINS, PROPERTY, MODIFIER, CONTEXT = "CONTAINS", "HAS PROPERTIES", "HAS CONCEPT MOD", "HAS OBS CONTEXT"



class Coded(NamedTuple):
    """A code for pydicom's writer, under highdicom's names."""

    value: str
    scheme_designator: str
    meaning: str


def CodedConcept(value, scheme, meaning):
    return (Coded if WRITER is Plain else highdicom.CodedConcept)(value, scheme, meaning)


@cache
def sequence_of(concept):
    """Items of pydicom's writer share their codes; a hundred thousand of their own would take a minute."""
    item = Dataset()
    item.CodeValue, item.CodingSchemeDesignator, item.CodeMeaning = concept.value, concept.scheme_designator, concept.meaning
    return Sequence([item])


class Plain:
    """Content items by pydicom alone, under the names that highdicom has for them."""

    @staticmethod
    def item(kind, name, relation):
        made = Dataset()
        made.RelationshipType, made.ValueType, made.ConceptNameCodeSequence = relation, kind, sequence_of(name)
        return made

    @classmethod
    def ContainerContentItem(cls, name, relationship_type):
        made = cls.item("CONTAINER", name, relationship_type)
        made.ContinuityOfContent = "SEPARATE"
        return made

    @classmethod
    def NumContentItem(cls, name, value, unit, relationship_type):
        made, measured = cls.item("NUM", name, relationship_type), Dataset()
        measured.NumericValue, measured.MeasurementUnitsCodeSequence = value, sequence_of(unit)
        made.MeasuredValueSequence = [measured]
        return made

    @classmethod
    def CodeContentItem(cls, name, value, relationship_type):
        made = cls.item("CODE", name, relationship_type)
        made.ConceptCodeSequence = sequence_of(value)
        return made

    @classmethod
    def TextContentItem(cls, name, value, relationship_type):
        made = cls.item("TEXT", name, relationship_type)
        made.TextValue = value
        return made

    @classmethod
    def UIDRefContentItem(cls, name, value, relationship_type):
        made = cls.item("UIDREF", name, relationship_type)
        made.UID = value
        return made

    @classmethod
    def DateTimeContentItem(cls, name, value, relationship_type):
        made = cls.item("DATETIME", name, relationship_type)
        made.DateTime = value
        return made


WRITER = highdicom
FLUORO = ("44491008", "SCT", "Fluoroscopy")
FLUORO_SRT = ("P5-06000", "SRT", "Fluoroscopy")
STATIONARY = ("113611", "DCM", "Stationary Acquisition")
PLANES = {"single": ("113622", "Single Plane"), "A": ("113620", "Plane A"), "B": ("113621", "Plane B")}
UNITS = {"Gy.m2": "Gy.m2", "mGy.cm2": "mGy.cm2", "dGy.cm2": "dGy.cm2", "Gy": "Gy", "mGy": "mGy", "s": "s", "ms": "ms",
         "deg": "deg", "kV": "kV", "mA": "mA", "mm": "mm", "{pulse}/s": "{pulse}/s", "1": "no units", "%": "%",
         "m2": "m2", "furlong": "furlong"}


def dcm(value, meaning):
    return CodedConcept(value, "DCM", meaning)


def num(value, meaning, number, unit, relation=CONTAINS):
    return WRITER.NumContentItem(dcm(value, meaning), number, CodedConcept(unit, "UCUM", UNITS[unit]),
                          relationship_type=relation)


def coded(value, meaning, concept, relation=CONTAINS):
    return WRITER.CodeContentItem(dcm(value, meaning), concept, relationship_type=relation)


def text(value, meaning, content, relation=CONTAINS):
    return WRITER.TextContentItem(dcm(value, meaning), content, relationship_type=relation)


def uid(value, meaning, content, relation=CONTAINS):
    return WRITER.UIDRefContentItem(dcm(value, meaning), content, relationship_type=relation)


def time(value, meaning, content, relation=CONTAINS):
    return WRITER.DateTimeContentItem(dcm(value, meaning), DT(content), relationship_type=relation)


def container(value, meaning, items, relation=CONTAINS):
    item = WRITER.ContainerContentItem(dcm(value, meaning), relationship_type=relation)
    item.ContentSequence = list(items)
    return item


def plane_of(name):
    return CodedConcept(PLANES[name][0], "DCM", PLANES[name][1])


def scale(figure, unit):
    """Figures are in Gy.m2 and Gy; written in another unit they are rounded to ten digits there."""
    factor = {"Gy.m2": 1, "mGy.cm2": 1e7, "dGy.cm2": 1e5, "Gy": 1, "mGy": 1e3}[unit]
    return float(f"{figure * factor:.10g}")


class Options:
    """What differs between the reports."""

    def __init__(self, **given):
        self.events, self.plane_names, self.area_unit, self.kerma_unit = 12, ["single"], "Gy.m2", "Gy"
        self.end_angles, self.old_codes, self.zone, self.totals, self.event_list = True, False, "", True, True
        self.left_out_of_totals, self.without_uid, self.several_pulses = 0, None, False
        self.__dict__.update(given)


def figures_of(index):
    fluoro = index % 4 != 3
    area = float(f"{(1.25 + 0.37 * (index % 7)) * 1e-6 * (1 if fluoro else 3):.6g}")
    kerma = float(f"{(0.11 + 0.021 * (index % 5)) * 1e-3 * (1 if fluoro else 3):.6g}")
    return fluoro, area, kerma, round(0.4 + 0.3 * (index % 6), 2) if fluoro else 0.1


def event(index, plane, options):
    fluoro, area, kerma, seconds = figures_of(index)
    old = options.old_codes and index % 2 == 0
    clock = 8 * 3600 + 300 + 37 * index
    started = f"20260310{clock // 3600:02}{clock // 60 % 60:02}{clock % 60:02}{options.zone and '.250' + options.zone}"
    kind = (FLUORO_SRT if old else FLUORO) if fluoro else STATIONARY
    items = [coded("113764", "Acquisition Plane", plane_of(plane)), time("111526", "DateTime Started", started),
             coded("113721", "Irradiation Event Type", CodedConcept(*kind)), text("125203", "Acquisition Protocol", "Pelvis, pulsed")]
    if options.without_uid != index:
        items.append(uid("113853" if old else "113769", "Irradiation Event UID", f"{ROOT}.7.{index + 1}"))
    items += [coded("113780", "Reference Point Definition", dcm("113861", "30cm in Front of Image Input Surface")),
              num("122130", "Dose Area Product", scale(area, options.area_unit), options.area_unit),
              num("113738", "Dose (RP)", scale(kerma, options.kerma_unit), options.kerma_unit),
              num("113742", "Irradiation Duration", seconds, "s")]
    if fluoro:
        items += [coded("113732", "Fluoro Mode", dcm("113631", "Pulsed")),
                  num("113791", "Pulse Rate", 8, "{pulse}/s")]
    pulses = max(1, round(seconds * 8))
    volts = [80.5 + index % 3 + 0.25 * pulse for pulse in range(3)] if options.several_pulses else [80.5 + index % 3]
    items += [num("113768", "Number of Pulses", pulses, "1"), num("113793", "Pulse Width", 12.5, "ms"),
              *[num("113733", "KVP", volt, "kV") for volt in volts],
              num("113734", "X-Ray Tube Current", 61.25, "mA"),
              num("113735" if old else "113824", "Exposure Time", pulses * 12.5, "ms")]
    copper = CodedConcept("C-12700", "SRT", "Copper") if old else CodedConcept("66925006", "SCT", "Copper")
    items.append(container("113771", "X-Ray Filters", [
        coded("113757", "X-Ray Filter Material", copper),
        num("113758", "X-Ray Filter Thickness Minimum", 0.1, "mm"),
        num("113773", "X-Ray Filter Thickness Maximum", 0.1, "mm")]))
    items += [num("112011", "Positioner Primary Angle", -12.5 + index % 9, "deg"),
              num("112012", "Positioner Secondary Angle", 25.25 - 3 * (index % 11), "deg"),
              num("113750", "Distance Source to Detector", 1000.5, "mm"),
              num("113748", "Distance Source to Isocenter", 600, "mm"),
              num("113790", "Collimated Field Area", 0.0441, "m2")]
    if options.end_angles:
        items += [num("113739", "Positioner Primary End Angle", -12.5 + index % 9, "deg"),
                  num("113740", "Positioner Secondary End Angle", 25.25 - 3 * (index % 11), "deg")]
    return container("113706", "Irradiation Event X-Ray Data", items)


def totals(plane, indices, options):
    sums = {True: [0, 0, 0], False: [0, 0, 0]}
    for index in indices:
        fluoro, area, kerma, seconds = figures_of(index)
        for at, figure in enumerate((scale(area, options.area_unit), scale(kerma, options.kerma_unit), seconds)):
            sums[fluoro][at] += figure

    def written(value):
        return float(f"{value:.10g}")

    fluoro, acquired = sums[True], sums[False]
    items = [coded("113764", "Acquisition Plane", plane_of(plane))]
    for code, meaning, value, unit in [
            ("113722", "Dose Area Product Total", fluoro[0] + acquired[0], options.area_unit),
            ("113725", "Dose (RP) Total", fluoro[1] + acquired[1], options.kerma_unit),
            ("113726", "Fluoro Dose Area Product Total", fluoro[0], options.area_unit),
            ("113728", "Fluoro Dose (RP) Total", fluoro[1], options.kerma_unit),
            ("113730", "Total Fluoro Time", fluoro[2], "s"),
            ("113727", "Acquisition Dose Area Product Total", acquired[0], options.area_unit),
            ("113729", "Acquisition Dose (RP) Total", acquired[1], options.kerma_unit),
            ("113855", "Total Acquisition Time", acquired[2], "s"),
            ("113731", "Total Number of Radiographic Frames", sum(not figures_of(i)[0] for i in indices), "1")]:
        items.append(num(code, meaning, written(value), unit))
    items.append(coded("113780", "Reference Point Definition", dcm("113861", "30cm in Front of Image Input Surface")))
    items.append(container("122505", "Calibration", [
        time("113723", "Calibration DateTime", "20250601120000"), num("122322", "Calibration Factor", 1.03, "1"),
        num("113763", "Calibration Uncertainty", 8, "%")]))
    return container("113702", "Accumulated X-Ray Dose Data", items)


def report(options):
    item = container("113701", "X-Ray Radiation Dose Report", [])
    intent = CodedConcept("G-C0E8", "SRT", "Has Intent") if options.old_codes else CodedConcept(
        "363703001", "SCT", "Has Intent")
    procedure = coded("121058", "Procedure reported", dcm("113704", "Projection X-Ray"), MODIFIER)
    procedure.ContentSequence = [WRITER.CodeContentItem(intent, CodedConcept("373808002", "SCT", "Curative - procedure intent"),
                                                 relationship_type=MODIFIER)]
    scope = coded("113705", "Scope of Accumulation", dcm("113014", "Study"), CONTEXT)
    scope.ContentSequence = [uid("110180", "Study Instance UID", f"{ROOT}.1", PROPERTY)]
    items = [procedure, coded("121005", "Observer Type", dcm("121007", "Device"), CONTEXT),
             uid("121012", "Device Observer UID", f"{ROOT}.9", CONTEXT),
             text("121013", "Device Observer Name", "Arm Two", CONTEXT),
             text("121014", "Device Observer Manufacturer", "Example Works", CONTEXT),
             text("121015", "Device Observer Model Name", "Arc", CONTEXT),
             text("121016", "Device Observer Serial Number", "0042", CONTEXT), scope]
    count = len(options.plane_names)
    for at, plane in enumerate(options.plane_names):
        if options.totals:
            indices = [i for i in range(options.events - options.left_out_of_totals) if i % count == at]
            items.append(totals(plane, indices, options))
    if options.event_list:
        items += [event(i, options.plane_names[i % count], options) for i in range(options.events)]
    items.append(coded("113854", "Source of Dose Information", dcm("113856", "Automated Data Collection")))
    item.ContentSequence = items
    return item


def enhanced():
    """As much of TID 10040 as maps: summaries with their figures one container deeper, in mGy and Gy.m2."""
    item = container("113701", "X-Ray Radiation Dose Report", [])
    accumulated = container("130500", "Accumulated Dose Data", [
        coded("113832", "Identification of the X-Ray Source", plane_of("single")),
        num("113722", "Dose Area Product Total", 0.0000035, "Gy.m2"),
        num("113725", "Dose (RP) Total", 0.375, "mGy")])
    events = []
    for index, (area, kerma) in enumerate([(0.000001, 0.125), (0.0000025, 0.25)]):
        events.append(container("130501", "Irradiation Event Summary Data", [
            uid("113769", "Irradiation Event UID", f"{ROOT}.7.{index + 1}"),
            coded("113832", "Identification of the X-Ray Source", plane_of("single")),
            coded("113721", "Irradiation Event Type", CodedConcept(*FLUORO)),
            time("113809", "Start of X-Ray Irradiation", f"2026031008{index:02}00"),
            num("122130", "Dose Area Product", area, "Gy.m2"),
            container("130502", "Reference Point Dosimetry", [num("113738", "Dose (RP)", kerma, "mGy")])]))
    item.ContentSequence = [accumulated, *events, container("130505", "Irradiation Details", [])]
    return item


def dataset(content, name, sop_class=XRAY):
    made = Dataset()
    made.update(content)
    for keyword, value in {
            "SOPClassUID": sop_class, "SOPInstanceUID": f"{ROOT}.5.{sum(name.encode())}", "Modality": "SR",
            "StudyDate": "20260310", "StudyTime": "075500", "ContentDate": "20260310", "ContentTime": "093000",
            "StudyInstanceUID": f"{ROOT}.1", "SeriesInstanceUID": f"{ROOT}.2", "PatientName": "Example^Person",
            "PatientID": "MRN-0001", "AccessionNumber": "ACC-7", "Manufacturer": "Example Works",
            "StationName": "ROOM-3", "CompletionFlag": "COMPLETE", "VerificationFlag": "UNVERIFIED",
            "InstanceNumber": 1, "SeriesNumber": 1, "StudyID": "1", "ReferringPhysicianName": "",
            "PatientBirthDate": "", "PatientSex": "O", "ManufacturerModelName": "Arc", "DeviceSerialNumber": "0042",
            "SoftwareVersions": "1", "SeriesDescription": ""}.items():
        setattr(made, keyword, value)
    made.ReferencedPerformedProcedureStepSequence = []
    made.PerformedProcedureCodeSequence = []
    if "RelationshipType" in made:
        del made.RelationshipType
    return made


def save(made, path, syntax=ExplicitVRLittleEndian):
    made.file_meta = FileMetaDataset()
    made.file_meta.MediaStorageSOPClassUID = made.SOPClassUID
    made.file_meta.MediaStorageSOPInstanceUID = made.SOPInstanceUID
    made.file_meta.TransferSyntaxUID = syntax
    made.file_meta.ImplementationClassUID = f"{ROOT}.100"
    made.save_as(path, enforce_file_format=True)


def truncated(path, share):
    whole = path.read_bytes()
    path.write_bytes(whole[:int(len(whole) * share)])


def unknown_unit(made):
    first = next(item for item in made.ContentSequence if item.ConceptNameCodeSequence[0].CodeValue == "113706")
    for item in first.ContentSequence:
        code = item.ConceptNameCodeSequence[0].CodeValue
        if code == "122130":
            item.MeasuredValueSequence[0].MeasurementUnitsCodeSequence[0].CodeValue = "furlong"
        if code == "113738":
            del item.MeasuredValueSequence[0].MeasurementUnitsCodeSequence
        if code == "113742":
            item.MeasuredValueSequence[0].MeasurementUnitsCodeSequence[0].CodingSchemeDesignator = "L"


PLAIN = {
    "plain": {}, "biplane": {"plane_names": ["A", "B"]}, "totals-only": {"event_list": False},
    "missing-end-angles": {"end_angles": False}, "off-by-one-event": {"left_out_of_totals": 1},
    "mixed-codes": {"old_codes": True}, "milligray": {"area_unit": "mGy.cm2", "kerma_unit": "mGy"},
    "decigray": {"area_unit": "dGy.cm2"}, "thousand-events": {"events": 1000}, "no-totals": {"totals": False},
    "no-event-uid": {"without_uid": 2}, "per-pulse": {"several_pulses": True}, "small": {"events": 2},
    "small-biplane": {"events": 2, "plane_names": ["A", "B"]},
    "small-off-by-one-event": {"events": 4, "left_out_of_totals": 1},
}


def make(name, folder):
    global WRITER
    WRITER = Plain if name in BY_PYDICOM else highdicom
    path = folder / f"{name}.dcm"
    if name in PLAIN:
        frozen = name == "thousand-events"
        syntax = DeflatedExplicitVRLittleEndian if frozen else ExplicitVRLittleEndian
        return save(dataset(report(Options(**PLAIN[name])), name), path, syntax)
    made = dataset(report(Options(zone="-0330") if name == "time-zones" else Options()), name)
    syntax = {"implicit": ImplicitVRLittleEndian, "deflated": DeflatedExplicitVRLittleEndian,
              "deflated-truncated": DeflatedExplicitVRLittleEndian, "big-endian": ExplicitVRBigEndian}.get(
                  name, ExplicitVRLittleEndian)
    if name == "time-zones":
        made.TimezoneOffsetFromUTC = "+0100"
    elif name == "private-group":
        block = made.private_block(0x0099, "EXAMPLE WORKS 1", create=True)
        block.add_new(0x01, "LO", "Of the maker")
        inner = Dataset()
        inner.add_new(0x00990010, "LO", "EXAMPLE WORKS 1")
        block.add_new(0x02, "SQ", [inner])
        for item in made.ContentSequence:
            item.private_block(0x0099, "EXAMPLE WORKS 1", create=True).add_new(0x03, "DS", "1.5")
    elif name == "unknown-units":
        unknown_unit(made)
    elif name == "characters":
        made.SpecificCharacterSet = "ISO_IR 192"
        made.StationName = "Säulenraum"
    elif name == "enhanced":
        made = dataset(enhanced(), name, ENHANCED)
    save(made, path, syntax)
    if name == "truncated":
        truncated(path, 0.62)
    if name == "deflated-truncated":
        truncated(path, 0.8)
    return None


# Samples in tests/vectors/dose are these, as they come.
SAMPLES = ["small", "small-biplane", "small-off-by-one-event", "totals-only", "enhanced", "deflated",
           "deflated-truncated", "thousand-events"]
BY_PYDICOM = {"thousand-events", "biplane", "mixed-codes", "big-endian", "enhanced"}
OTHER = ["time-zones", "private-group", "implicit", "deflated", "truncated", "deflated-truncated", "big-endian",
         "unknown-units", "characters", "enhanced"]

if __name__ == "__main__":
    into = Path(sys.argv[1])
    into.mkdir(parents=True, exist_ok=True)
    for wanted in sys.argv[2:] or [name for name in [*PLAIN, *OTHER] if name != "thousand-events"]:
        make(wanted, into)
