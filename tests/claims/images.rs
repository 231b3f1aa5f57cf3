//! Pictures: what is read of them, what is refused, and that nothing a file claims makes the reader fail.
//!
//! `tests/peers/images/samples.py` wrote the files of `tests/vectors/images` with pydicom; `pydicom.json` there is what
//! pydicom read from the good ones.

use crate::image_facts;
use brimline::adapters::images::ImageFiles;
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
