//! `brimline rehearse image`: what is written, what our own reader makes of it, and what is refused.

use brimline::adapters::images::ImageFiles;
use brimline::ports::image::{GreyImage, ImageReader, Modality, Pixels, SpacingAt};
use std::path::Path;
use std::process::{Command, Output};

fn image(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(["rehearse", "image"]).args(arguments).output().unwrap()
}

fn made(folder: &Path, name: &str, arguments: &[&str]) -> Vec<u8> {
    let path = folder.join(name);
    let output = image(&[arguments, &["-o", path.to_str().unwrap()]].concat());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    std::fs::read(path).unwrap()
}

fn read(bytes: &[u8]) -> GreyImage {
    ImageFiles.read(bytes).unwrap()
}

/// [R-FLUORO-5]
#[test]
fn our_own_reader_finds_pixels_and_geometry() {
    let folder = tempfile::tempdir().unwrap();
    let dicom = made(folder.path(), "a.dcm", &["--person", "3", "--primary", "-172.5", "--secondary", "33.25"]);
    let picture = read(&dicom);
    assert_eq!((picture.width, picture.height, picture.modality), (512, 512, Modality::Projection));
    let geometry = &picture.geometry;
    assert_eq!(geometry.source_to_detector_mm, Some(1000.0));
    let spacing = geometry.spacing.unwrap();
    assert_eq!((spacing.across_mm, spacing.at), (300.0 / 512.0, SpacingAt::Detector));
    assert!((geometry.stated_magnification().unwrap() - 1000.0 / 650.0).abs() < 1e-12);
    let (primary, secondary) = (geometry.primary_deg.unwrap(), geometry.secondary_deg.unwrap());
    assert!((primary + 172.5).abs() < 1e-9 && (secondary - 33.25).abs() < 1e-9, "{primary} {secondary}");
    let png = made(folder.path(), "a.png", &["--person", "3", "--primary", "-172.5", "--secondary", "33.25"]);
    assert_eq!(read(&png).pixels, picture.pixels);
    let Pixels::Eight(greys) = &picture.pixels else { panic!("8 bits") };
    let dark = greys.iter().filter(|grey| **grey < 64).count();
    let (least, most) = (greys.len() / 100, greys.len() / 2);
    assert!(dark > least && dark < most, "bone darkens a part of the picture: {dark}");
    let again = made(folder.path(), "b.dcm", &["--person", "3", "--primary", "-172.5", "--secondary", "33.25"]);
    assert!(again == dicom, "the same arguments give the same bytes");
}

#[test]
fn what_cannot_be_is_refused_in_one_line_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.png");
    let path = path.to_str().unwrap();
    for (arguments, said) in [
        (vec!["--person", "1", "--view", "ap", "-o", "x.tif"], "a picture is a .png or a .dcm file"),
        (
            vec!["--person", "1", "--primary", "200", "--secondary", "0", "-o", path],
            "--primary: an angle is -180 to 180",
        ),
        (
            vec!["--person", "1", "--primary", "0", "--secondary", "NaN", "-o", path],
            "--secondary: an angle is -90 to 90",
        ),
        (vec!["--person", "1", "--view", "inlet", "-o", path], "views are ap, inlet-body"),
        (vec!["--person", "1", "--primary", "0", "-o", path], "--secondary"),
        (vec!["--person", "1", "-o", path], "--view"),
        (vec!["--person", "-1", "--view", "ap", "-o", path], "--person"),
    ] {
        let output = image(&arguments);
        let stderr = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {stderr}");
        assert!(stderr.contains(said), "{arguments:?}: {stderr}");
    }
    assert!(std::fs::read_dir(folder.path()).unwrap().next().is_none(), "nothing is written");
    let output = image(&["--person", "1", "--view", "ap", "-o", "/no/such/folder/x.png"]);
    assert_eq!(output.status.code(), Some(3), "{}", String::from_utf8_lossy(&output.stderr));
}
