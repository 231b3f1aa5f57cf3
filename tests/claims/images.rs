//! Pictures: what is read of them, what is refused, and that nothing a file claims makes the reader fail.
//!
//! `tests/peers/images/samples.py` wrote the files of `tests/vectors/images` with pydicom; `pydicom.json` there is what
//! pydicom read from the good ones.

use crate::image_facts;
use brimline::adapters::images::ImageFiles;
use brimline::dose::NoPose;
use brimline::ports::image::{
    Depth, FILE_BYTES_MAX, GreyImage, ImageError, ImageReader, Pixels, Plane, SIDE_MAX, SpacingAt,
};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/images")
}

fn bytes(name: &str) -> Vec<u8> {
    fs::read(folder().join(name)).expect("a sample")
}

fn read(name: &str) -> GreyImage {
    ImageFiles.read(&bytes(name)).unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

fn names(wanted: impl Fn(&str) -> bool) -> Vec<String> {
    let entries = fs::read_dir(folder()).expect("the samples").flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.retain(|name| wanted(name));
    names.sort();
    names
}

/// [R-IMAGE-1]
///
/// Source: pydicom 3.0.2 with GDCM 3.2.6, which read the same files.
#[test]
fn pixels_and_geometry_of_every_sample_are_what_pydicom_read() {
    let found: BTreeMap<String, serde_json::Value> =
        serde_json::from_slice(&bytes("pydicom.json")).expect("what pydicom read");
    let good = names(|name| name.ends_with(".dcm") && !name.starts_with("bad-"));
    assert_eq!(good, found.keys().cloned().collect::<Vec<_>>());
    assert!(good.len() >= 10, "{good:?}");
    for name in good {
        image_facts::agrees(&name, &read(&name), &found[&name]);
    }
}

/// [R-IMAGE-2]
#[test]
fn every_bad_file_is_refused_in_its_one_line() {
    let expected = fs::read_to_string(folder().join("bad.expected")).expect("the lines");
    let lines: BTreeMap<&str, &str> = expected.lines().filter_map(|line| line.split_once(": ")).collect();
    let bad = names(|name| name.starts_with("bad-"));
    assert!(bad.len() >= 30, "{bad:?}");
    let mut said = String::new();
    for name in &bad {
        let fault = ImageFiles.read(&bytes(name)).expect_err(name).to_string();
        assert!(!fault.contains('\n'), "{name}: {fault}");
        writeln!(said, "{name}: {fault}").unwrap();
    }
    if std::env::var_os("BRIMLINE_UPDATE").is_some() {
        fs::write(folder().join("bad.expected"), &said).expect("written");
        return;
    }
    for name in &bad {
        let fault = said.lines().find_map(|line| line.strip_prefix(&format!("{name}: ")));
        assert_eq!(fault, lines.get(name.as_str()).copied(), "{name}");
    }
}

/// Source: the values the samples were written with.
#[test]
fn a_grey_png_is_read_at_every_depth_and_has_no_spacing() {
    let eight = read("grey-8.png");
    let wanted: Vec<u8> = (0..48).map(|value| value * 5).collect();
    assert_eq!((eight.width, eight.height), (8, 6));
    assert_eq!(eight.pixels, Pixels::Eight(wanted.clone()));
    assert_eq!(eight.geometry.spacing_in_patient(), None);
    let sixteen = wanted.iter().map(|value| u16::from(*value) * 257).collect();
    assert_eq!(read("grey-16.png").pixels, Pixels::Sixteen(sixteen));
    // Four bits are spread over eight: 0x1 is 0x11.
    let four = (0..24).flat_map(|byte| [byte >> 4, byte & 15]).map(|value: u8| value * 17).collect();
    assert_eq!(read("grey-4.png").pixels, Pixels::Eight(four));
}

/// Source: DICOM PS3.3, (0018,1164) is at the detector and (0018,1114) is source to detector over source to object.
#[test]
fn a_detector_spacing_reaches_the_patient_only_by_distances_or_magnification() {
    let inlet = read("xa-prone-inlet.dcm").geometry;
    assert_eq!(inlet.spacing.map(|spacing| spacing.at), Some(SpacingAt::Detector));
    let spacing = inlet.spacing_in_patient().expect("distances");
    assert!((spacing.across_mm - 0.2 * 650.0 / 1000.0).abs() < 1e-12);
    let stated = read("rf-magnification.dcm").geometry.spacing_in_patient().expect("a magnification");
    assert!((stated.down_mm - 0.3 / 1.5).abs() < 1e-12 && (stated.across_mm - 0.2 / 1.5).abs() < 1e-12);
    let calibrated = read("rf-fiducial-implicit.dcm").geometry.spacing_in_patient().expect("a calibration");
    assert_eq!(calibrated.at, SpacingAt::Patient(Depth::Fiducial));
}

#[test]
fn a_spacing_without_ground_is_left_aside_and_said_so() {
    let capture = read("sc-uncalibrated.dcm");
    assert_eq!(capture.geometry.spacing, None);
    assert!((capture.geometry.aspect() - 1.2).abs() < 1e-12, "a pixel is higher than wide");
    assert_eq!(capture.left_aside.len(), 1, "{:?}", capture.left_aside);
    assert!(read("rf-magnification.dcm").left_aside[0].contains("source to detector"));
}

#[test]
fn a_reformat_turned_40_degrees_is_a_coronal_slice_turned_40_degrees() {
    let slice = read("ct-oblique-coronal-signed.dcm").geometry.slice.expect("a plane");
    let (plane, turned) = slice.nearest();
    assert!(plane == Plane::Coronal && (turned - 40.0).abs() < 1e-3, "{plane:?} {turned}");
}

/// [R-IMAGE-3]
///
/// Every prefix of every good sample, and every sample with one byte changed in any place, comes back.
#[test]
fn a_file_cut_anywhere_or_changed_anywhere_never_panics() {
    for name in names(|name| !name.starts_with("bad-") && (name.ends_with(".dcm") || name.ends_with(".png"))) {
        let whole = bytes(&name);
        let from = if name.ends_with(".png") { 0 } else { 128 };
        for at in from..whole.len() {
            let cut = ImageFiles.read(&whole[..at]);
            // A PNG may lack bytes of its last chunk and still be whole.
            assert!(cut.is_err() || name.ends_with(".png"), "{name} cut at {at}");
            let mut changed = whole.clone();
            changed[at] ^= [0x01, 0x80, 0xff][at % 3];
            if let Err(fault) = ImageFiles.read(&changed) {
                assert!(!fault.to_string().contains('\n'), "{name} changed at {at}: {fault}");
            }
        }
    }
}

#[test]
fn a_file_beyond_the_bound_is_not_looked_at() {
    let bytes = vec![0; usize::try_from(FILE_BYTES_MAX).expect("fits") + 1];
    assert!(matches!(ImageFiles.read(&bytes), Err(ImageError::TooLarge { .. })));
}

#[test]
fn a_buffer_of_another_size_is_no_picture() {
    assert_eq!(GreyImage::plain(2, 2, Pixels::Eight(vec![0; 3])), None);
    assert_eq!(GreyImage::plain(0, 2, Pixels::Eight(Vec::new())), None);
    assert_eq!(GreyImage::plain(SIDE_MAX + 1, 1, Pixels::Eight(vec![0; SIDE_MAX as usize + 1])), None);
}

const XA: &str = "1.2.840.10008.5.1.4.1.1.12.1";
const ENHANCED_XA: &str = "1.2.840.10008.5.1.4.1.1.12.1.1";

/// A file in explicit little endian of these elements, by group, element, representation and text.
fn file(elements: &[(u16, u16, &str, &str)]) -> Vec<u8> {
    let mut bytes = [&[0; 128][..], b"DICM"].concat();
    let mut put = |(group, element, vr, text): (u16, u16, &str, &str)| {
        bytes.extend_from_slice(&group.to_le_bytes());
        bytes.extend_from_slice(&element.to_le_bytes());
        bytes.extend_from_slice(vr.as_bytes());
        let padding = if vr == "UI" { 0 } else { b' ' };
        let length = u16::try_from(text.len() + text.len() % 2).unwrap();
        bytes.extend_from_slice(&length.to_le_bytes());
        bytes.extend_from_slice(text.as_bytes());
        bytes.extend(std::iter::repeat_n(padding, text.len() % 2));
    };
    put((2, 0x10, "UI", "1.2.840.10008.1.2.1"));
    for element in elements {
        put(*element);
    }
    bytes.extend_from_slice(&[0xE0, 0x7F, 0x10, 0, b'O', b'B', 0, 0, 2, 0, 0, 0, 7, 7]);
    bytes
}

/// [R-IMAGE-4]
///
/// Source: DICOM PS3.3, C.8.7.5: Positioner Motion (0018,1500) is STATIC or DYNAMIC; increments stand in (0018,1520)
/// and (0018,1521).
#[test]
fn a_file_of_many_frames_says_each_frames_pose_or_why_not() {
    let of = |class: &str, frames: &str, more: &[(u16, u16, &'static str, &'static str)]| {
        let mut elements = vec![(8, 0x16, "UI", class)];
        elements.extend_from_slice(more);
        elements.push((0x28, 8, "IS", frames));
        ImageFiles.poses(&file(&elements))
    };
    let angles = [(0x18, 0x1510, "DS", "13.6"), (0x18, 0x1511, "DS", "-42.2")];
    let with = |first: Option<(u16, u16, &'static str, &'static str)>,
                last: Option<(u16, u16, &'static str, &'static str)>| {
        first.into_iter().chain(angles).chain(last).collect::<Vec<_>>()
    };
    let still = of(XA, "12", &with(Some((0x18, 0x1500, "CS", "STATIC")), Some((0x18, 0x1520, "DS", "0\\0\\0"))));
    assert_eq!((still.frames, still.pose), (12, Ok((13.6, -42.2))));
    assert_eq!(of(XA, "12", &angles).pose, Ok((13.6, -42.2)));
    assert_eq!(of(XA, "12", &with(Some((0x18, 0x1500, "CS", "DYNAMIC")), None)).pose, Err(NoPose::Moves));
    assert_eq!(of(XA, "3", &with(None, Some((0x18, 0x1520, "DS", "0\\1\\1")))).pose, Err(NoPose::Moves));
    assert_eq!(of(XA, "1", &with(Some((0x18, 0x1500, "CS", "DYNAMIC")), None)).pose, Ok((13.6, -42.2)));
    assert_eq!((of(XA, "5", &[]).frames, of(XA, "5", &[]).pose), (5, Err(NoPose::NotStated)));
    assert_eq!(of(ENHANCED_XA, "7", &angles).pose, Err(NoPose::FrameByFrame));
    assert_eq!(ImageFiles.poses(b"neither picture nor DICOM").pose, Err(NoPose::Unreadable));
    let whole = file(&[(8, 0x16, "UI", XA), (0x18, 0x1510, "DS", "13.6"), (0x18, 0x1511, "DS", "-42.2")]);
    for end in 0..whole.len() {
        // Cut anywhere it never fails otherwise than by saying so.
        let _ = ImageFiles.poses(&whole[..end]);
    }
    // What pydicom wrote says the same by either way.
    for name in names(|name| name.ends_with(".dcm") && !name.starts_with("bad-")) {
        let image = read(&name);
        let stated = image.geometry.primary_deg.zip(image.geometry.secondary_deg);
        let poses = ImageFiles.poses(&bytes(&name));
        if image.modality == brimline::ports::image::Modality::Projection {
            assert_eq!((poses.frames, poses.pose.ok()), (1, stated), "{name}");
        }
    }
}
