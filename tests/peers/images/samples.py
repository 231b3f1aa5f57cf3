"""Writes small DICOM and PNG images with pydicom: good ones of every kind that is read, and bad ones.

Usage: samples.py FOLDER [SEED]
Without a seed the images are those kept in tests/vectors/images; with one, pixels and geometry are drawn from it.
Exit: 0 done, 3 a package is missing.
"""

import random
import struct
import sys
import zlib
from pathlib import Path

try:
    import gdcm
    import numpy
    from pydicom.dataset import Dataset, FileMetaDataset
    from pydicom.sequence import Sequence
    from pydicom.uid import UID, ExplicitVRLittleEndian, ImplicitVRLittleEndian, RLELossless
except ImportError as fault:
    print(fault)
    sys.exit(3)

XA = "1.2.840.10008.5.1.4.1.1.12.1"
RF = "1.2.840.10008.5.1.4.1.1.12.2"
SC = "1.2.840.10008.5.1.4.1.1.7"
CT = "1.2.840.10008.5.1.4.1.1.2"
ROOT = "2.25.2026"
ROWS, COLUMNS = 6, 8


class Make:
    def __init__(self, folder, seed):
        self.folder = Path(folder)
        self.fresh = seed is not None
        self.random = random.Random(seed if self.fresh else 1)

    def number(self, kept, low, high):
        """The frozen sample's own number, or one drawn from the seed."""
        return round(self.random.uniform(low, high), 4) if self.fresh else kept

    def data_set(self, sop_class, bits, stored, signed):
        data = Dataset()
        data.SOPClassUID = sop_class
        data.SOPInstanceUID = f"{ROOT}.1"
        data.PatientName = "Example^Demo"
        data.PatientID = "DEMO"
        data.SamplesPerPixel = 1
        data.PhotometricInterpretation = "MONOCHROME2"
        data.Rows, data.Columns = ROWS, COLUMNS
        data.BitsAllocated, data.BitsStored, data.HighBit = bits, stored, stored - 1
        data.PixelRepresentation = int(signed)
        low, high = (-(1 << (stored - 1)), (1 << (stored - 1)) - 1) if signed else (0, (1 << stored) - 1)
        values = [self.random.randint(low, high) for _ in range(ROWS * COLUMNS)]
        values[:3] = [low, high, high // 2]
        kind = numpy.dtype(f"{'i' if signed else 'u'}{bits // 8}")
        data.PixelData = numpy.array(values, dtype=kind).reshape(ROWS, COLUMNS).tobytes()
        data["PixelData"].VR = "OW" if bits > 8 else "OB"
        return data

    def beam(self, data):
        data.ImagerPixelSpacing = [self.number(0.2, 0.1, 0.4)] * 2
        data.DistanceSourceToDetector = self.number(1000, 900, 1200)
        data.DistanceSourceToPatient = self.number(650, 500, 700)
        data.PositionerPrimaryAngle = self.number(180, -180, 180)
        data.PositionerSecondaryAngle = self.number(-25, -90, 90)
        data.PatientPosition = "HFP"

    def write(self, name, data, syntax=ExplicitVRLittleEndian):
        meta = FileMetaDataset()
        meta.MediaStorageSOPClassUID = data.SOPClassUID
        meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID
        run_length = syntax == RLELossless
        meta.TransferSyntaxUID = ExplicitVRLittleEndian if run_length else syntax
        meta.ImplementationClassUID = UID(f"{ROOT}.2")
        data.file_meta = meta
        if run_length:
            data.compress(RLELossless, encoding_plugin="pydicom", generate_instance_uid=False)
        path = self.folder / f"{name}.dcm"
        data.save_as(path, enforce_file_format=True)
        return path


def good(make):
    data = make.data_set(XA, 16, 12, False)
    make.beam(data)
    data.WindowCenter, data.WindowWidth = 2048, 4096
    make.write("xa-prone-inlet", data)

    data = make.data_set(RF, 8, 8, False)
    make.beam(data)
    data.PhotometricInterpretation = "MONOCHROME1"
    data.PatientPosition = "HFS"
    data.PixelSpacing = [make.number(0.13, 0.1, 0.2)] * 2
    data.PixelSpacingCalibrationType = "FIDUCIAL"
    data.ImageLaterality = "L"
    data.DerivationCodeSequence = Sequence([Dataset(), Dataset()])
    data.DerivationCodeSequence[0].CodeValue = "1"
    data["DerivationCodeSequence"].is_undefined_length = True
    data.DerivationCodeSequence[0].is_undefined_length_sequence_item = True
    make.write("rf-fiducial-implicit", data, ImplicitVRLittleEndian)

    data = make.data_set(RF, 16, 16, False)
    data.EstimatedRadiographicMagnificationFactor = make.number(1.5, 1.1, 1.9)
    data.ImagerPixelSpacing = [make.number(0.3, 0.1, 0.4), make.number(0.2, 0.1, 0.4)]
    data.PixelSpacing = data.ImagerPixelSpacing
    data.DistanceSourceToDetector = 0
    make.write("rf-magnification", data)

    data = make.data_set(SC, 8, 8, False)
    data.PixelSpacing = [0.5, 0.5]
    data.PixelAspectRatio = [6, 5]
    make.write("sc-uncalibrated", data)

    data = make.data_set(CT, 16, 16, True)
    data.RescaleSlope, data.RescaleIntercept = 1, -1024
    data.WindowCenter, data.WindowWidth = [400, 40], [2000, 350]
    data.PixelPaddingValue = -2000
    data["PixelPaddingValue"].VR = "SS"
    data.PixelSpacing = [make.number(0.7, 0.4, 1.0), make.number(0.6, 0.4, 1.0)]
    data.ImagePositionPatient = [make.number(-120.5, -200, 0), -80, 40]
    data.ImageOrientationPatient = [1, 0, 0, 0, 0.642788, -0.766044]
    make.write("ct-oblique-coronal-signed", data)

    data = make.data_set(CT, 16, 12, True)
    data.PixelSpacing = [0.5, 0.5]
    data.RescaleSlope, data.RescaleIntercept = 2, 10
    make.write("ct-twelve-bits-signed", data)

    data = make.data_set(XA, 16, 12, False)
    make.beam(data)
    make.write("xa-run-length", data, RLELossless)

    data = make.data_set(RF, 8, 8, False)
    make.write("rf-run-length-bytes", data, RLELossless)

    for name, bits, stored in [("xa-jpeg-lossless", 16, 12), ("rf-jpeg-lossless-bytes", 8, 8)]:
        data = make.data_set(XA, bits, stored, False)
        make.beam(data)
        native = make.write("native", data)
        compress(native, make.folder / f"{name}.dcm")
        native.unlink()

    depth8 = numpy.arange(48, dtype=numpy.uint8).reshape(ROWS, COLUMNS) * 5
    depth16 = depth8.astype(">u2") * 257
    (make.folder / "grey-8.png").write_bytes(png(depth8.tobytes(), 8, 0))
    (make.folder / "grey-16.png").write_bytes(png(depth16.tobytes(), 16, 0))
    (make.folder / "grey-4.png").write_bytes(png(bytes(range(24)), 4, 0, row=4))


def compress(native, path):
    reader = gdcm.ImageReader()
    reader.SetFileName(str(native))
    assert reader.Read()
    change = gdcm.ImageChangeTransferSyntax()
    change.SetTransferSyntax(gdcm.TransferSyntax(gdcm.TransferSyntax.JPEGLosslessProcess14_1))
    change.SetInput(reader.GetImage())
    assert change.Change()
    writer = gdcm.ImageWriter()
    writer.SetFileName(str(path))
    writer.SetFile(reader.GetFile())
    writer.SetImage(change.GetOutput())
    assert writer.Write()


def png(rows, depth, colour, row=None, extra=b""):
    channels = {0: 1, 2: 3, 3: 1, 4: 2}[colour]
    row = row or COLUMNS * channels * depth // 8
    lines = b"".join(b"\0" + rows[at : at + row] for at in range(0, len(rows), row))

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", COLUMNS, ROWS, depth, colour, 0, 0, 0)
    parts = [chunk(b"IHDR", head), extra and chunk(*extra), chunk(b"IDAT", zlib.compress(lines)), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(part for part in parts if part)


def bad(make):
    def changed(name, change, sop_class=XA, **syntax):
        data = make.data_set(sop_class, 16, 12, False)
        make.beam(data)
        change(data)
        return make.write(name, data, **syntax)

    def assign(**values):
        return lambda data: [setattr(data, member, value) for member, value in values.items()]

    changed("bad-many-frames", assign(NumberOfFrames=3, PixelData=bytes(ROWS * COLUMNS * 6)))
    changed("bad-colour", assign(SamplesPerPixel=3, PhotometricInterpretation="RGB", PlanarConfiguration=0))
    changed("bad-palette", assign(PhotometricInterpretation="PALETTE COLOR"))
    changed("bad-pixels-short", assign(PixelData=bytes(90)))
    changed("bad-pixels-long", assign(PixelData=bytes(200)))
    changed("bad-bits-stored", assign(BitsStored=17, HighBit=16))
    changed("bad-high-bit", assign(HighBit=14))
    changed("bad-bits-allocated", assign(BitsAllocated=32))
    changed("bad-no-rows", lambda data: data.pop("Rows"))
    changed("bad-no-columns-at-all", assign(Columns=0))
    changed("bad-too-wide", assign(Columns=60000))
    changed("bad-slope", assign(RescaleSlope=0))
    changed("bad-laterality", assign(ImageLaterality="L", Laterality="R"))
    changed("bad-primary-angle", assign(PositionerPrimaryAngle=200))
    changed("bad-orientation", assign(ImagePositionPatient=[0, 0, 0], ImageOrientationPatient=[1, 0, 0, 1, 0, 0]), CT)
    changed("bad-spacing-count", assign(ImagerPixelSpacing=[0.2, 0.2, 0.2]))
    changed("bad-other-kind", assign(), "1.2.840.10008.5.1.4.1.1.4")
    changed("bad-no-pixels", lambda data: data.pop("PixelData"))

    path = changed("bad-distance-words", assign())
    path.write_bytes(path.read_bytes().replace(b"\x18\x00\x10\x11DS\x06\x001000.0", b"\x18\x00\x10\x11DS\x06\x00far   "))
    path = changed("bad-syntax", assign())
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"1.2.840.10008.1.2.1\0", b"1.2.840.10008.1.2.2\0"))
    (make.folder / "bad-cut-off.dcm").write_bytes(whole[:-60])
    (make.folder / "bad-cut-in-head.dcm").write_bytes(whole[: whole.index(b"\x28\x00\x10\x00") + 5])
    (make.folder / "bad-preamble-alone.dcm").write_bytes(whole[:132])
    (make.folder / "bad-no-prefix.dcm").write_bytes(whole[:128] + b"DIC_" + whole[132:])
    # An element that claims four gigabytes, and a sequence in a sequence two hundred thousand deep.
    claim = b"\x10\x00\x10\x40UN\0\0\xfe\xff\xff\xff"
    at = whole.index(b"\x18\x00\x10\x11DS")
    (make.folder / "bad-length-claimed.dcm").write_bytes(whole[:at] + claim + whole[at:])
    start = b"\x18\x00\x12\x90SQ\0\0\xff\xff\xff\xff\xfe\xff\x00\xe0\xff\xff\xff\xff"
    (make.folder / "bad-deep.dcm").write_bytes(whole[:at] + start * 2_000)
    twice = whole.index(b"\x28\x00\x10\x00")
    (make.folder / "bad-rows-twice.dcm").write_bytes(whole[:twice] + whole[twice : twice + 10] * 2 + whole[twice + 10 :])

    grey = bytes(48)
    (make.folder / "bad-colour.png").write_bytes(png(grey * 3, 8, 2))
    (make.folder / "bad-see-through.png").write_bytes(png(grey * 2, 8, 4))
    (make.folder / "bad-palette.png").write_bytes(png(grey, 8, 3, extra=(b"PLTE", bytes(9))))
    (make.folder / "bad-animated.png").write_bytes(png(grey, 8, 0, extra=(b"acTL", struct.pack(">II", 4, 0))))
    (make.folder / "bad-cut-off.png").write_bytes(png(grey, 8, 0)[:60])
    (make.folder / "bad-empty.dcm").write_bytes(b"")

    coded = make.folder / "xa-run-length.dcm"
    if coded.exists():
        whole = coded.read_bytes()
        (make.folder / "bad-run-length-short.dcm").write_bytes(whole[:-40] + b"\xfe\xff\xdd\xe0\0\0\0\0")
        lossless = (make.folder / "xa-jpeg-lossless.dcm").read_bytes()
        frame = lossless.index(b"\xff\xc3")
        taller = lossless[: frame + 5] + b"\xff\xff" + lossless[frame + 7 :]
        (make.folder / "bad-jpeg-taller.dcm").write_bytes(taller)
        (make.folder / "bad-jpeg-other-frame.dcm").write_bytes(lossless.replace(b"\xff\xc3", b"\xff\xc0"))


def main(folder, seed=None):
    make = Make(folder, seed)
    good(make)
    if seed is None:
        bad(make)


main(*sys.argv[1:])
