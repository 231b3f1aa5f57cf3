//! Synthetic pictures as PNG and as DICOM.
//!
//! The DICOM is an X-Ray Angiographic image (PS3.3 A.14) with the positioner module (C.8.7.5), little endian with
//! explicit types. It says of itself that it is derived, a quality control image, and of the patient SYNTHETIC. The same
//! picture gives the same bytes: no clock, and identifiers made of its content. What it does not do: it reads nothing.

mod elements;

use crate::ports::picture::{PictureError, PictureWriter, SyntheticPicture};
use elements::Elements;
use sha2::{Digest, Sha256};

/// The writer.
pub struct PictureFiles;

/// X-Ray Angiographic Image Storage. Source: DICOM PS3.4 B.5.
const CLASS: &str = "1.2.840.10008.5.1.4.1.1.12.1";
/// Explicit VR Little Endian. Source: DICOM PS3.5 A.2.
const SYNTAX: &str = "1.2.840.10008.1.2.1";
/// Names the program that wrote the file: a UUID of its own (PS3.5 B.2).
const IMPLEMENTATION: &str = "2.25.225316094861722951226131868317471905037";

impl PictureWriter for PictureFiles {
    fn png(&self, picture: &SyntheticPicture) -> Result<Vec<u8>, PictureError> {
        checked(picture)?;
        let failed = |fault: png::EncodingError| PictureError::Png { reason: fault.to_string() };
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, u32::from(picture.columns), u32::from(picture.rows));
        encoder.set_color(png::ColorType::Grayscale);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.add_text_chunk("Description".to_owned(), description(picture)).map_err(failed)?;
        let mut writer = encoder.write_header().map_err(failed)?;
        writer.write_image_data(&picture.greys).map_err(failed)?;
        writer.finish().map_err(failed)?;
        Ok(bytes)
    }

    fn angiographic(&self, picture: &SyntheticPicture) -> Result<Vec<u8>, PictureError> {
        checked(picture)?;
        let content = Sha256::new_with_prefix(description(picture)).chain_update(&picture.greys).finalize();
        let instance = uid(&content, 1);
        let mut meta = Elements::default();
        meta.bytes(0x0002, 0x0001, *b"OB", &[0, 1]);
        meta.text(0x0002, 0x0002, *b"UI", CLASS);
        meta.text(0x0002, 0x0003, *b"UI", &instance);
        meta.text(0x0002, 0x0010, *b"UI", SYNTAX);
        meta.text(0x0002, 0x0012, *b"UI", IMPLEMENTATION);
        let mut file = vec![0; 128];
        file.extend_from_slice(b"DICM");
        let mut length = Elements::default();
        let meta = meta.into_bytes();
        length.long(0x0002, 0x0000, u32::try_from(meta.len()).expect("a header is short"));
        file.extend(length.into_bytes());
        file.extend(meta);
        file.extend(dataset(picture, &content, &instance).into_bytes());
        Ok(file)
    }
}

fn checked(picture: &SyntheticPicture) -> Result<(), PictureError> {
    let pixels = usize::from(picture.columns) * usize::from(picture.rows);
    if pixels == 0 || pixels != picture.greys.len() {
        return Err(PictureError::Size { columns: picture.columns, rows: picture.rows });
    }
    Ok(())
}

/// What stands in both kinds of file.
fn description(picture: &SyntheticPicture) -> String {
    format!(
        "Model, no patient: person {}, {}, primary {:.3}, secondary {:.3}",
        picture.person, picture.view, picture.primary_deg, picture.secondary_deg
    )
}

/// An identifier made of the content: a UUID of version 8 as decimal number. Source: PS3.5 B.2; RFC 9562, 5.8.
fn uid(content: &[u8], part: u8) -> String {
    let digest = Sha256::new_with_prefix([part]).chain_update(content).finalize();
    let mut bytes: [u8; 16] = std::array::from_fn(|at| digest[at]);
    bytes[6] = bytes[6] & 0x0f | 0x80;
    bytes[8] = bytes[8] & 0x3f | 0x80;
    format!("2.25.{}", u128::from_be_bytes(bytes))
}

/// The image, element by element in ascending order. Empty values: required to stand there, and not known.
fn dataset(picture: &SyntheticPicture, content: &[u8], instance: &str) -> Elements {
    let mut set = Elements::default();
    about_the_object(&mut set, picture, instance);
    about_the_machine(&mut set, picture);
    set.text(0x0020, 0x000d, *b"UI", &uid(content, 2));
    set.text(0x0020, 0x000e, *b"UI", &uid(content, 3));
    set.text(0x0020, 0x0010, *b"SH", "");
    set.text(0x0020, 0x0011, *b"IS", "1");
    set.text(0x0020, 0x0013, *b"IS", "1");
    set.text(0x0020, 0x4000, *b"LT", &description(picture));
    about_the_pixels(&mut set, picture);
    set.bytes(0x7fe0, 0x0010, *b"OB", &picture.greys);
    set
}

fn about_the_object(set: &mut Elements, picture: &SyntheticPicture, instance: &str) {
    set.text(0x0008, 0x0005, *b"CS", "ISO_IR 192");
    set.text(0x0008, 0x0008, *b"CS", "DERIVED\\PRIMARY\\SINGLE PLANE");
    set.text(0x0008, 0x0016, *b"UI", CLASS);
    set.text(0x0008, 0x0018, *b"UI", instance);
    set.text(0x0008, 0x0020, *b"DA", "");
    set.text(0x0008, 0x0030, *b"TM", "");
    set.text(0x0008, 0x0050, *b"SH", "");
    set.text(0x0008, 0x0060, *b"CS", "XA");
    set.text(0x0008, 0x0070, *b"LO", "Brimline");
    set.text(0x0008, 0x0090, *b"PN", "");
    set.text(0x0008, 0x103e, *b"LO", &picture.view);
    set.text(0x0008, 0x1090, *b"LO", "Rehearsal");
    set.text(0x0008, 0x2111, *b"ST", "Computed from a model pelvis; no patient, no exposure.");
    set.text(0x0010, 0x0010, *b"PN", "SYNTHETIC");
    set.text(0x0010, 0x0020, *b"LO", &format!("SYNTHETIC-{}", picture.person));
    set.text(0x0010, 0x0030, *b"DA", "");
    set.text(0x0010, 0x0040, *b"CS", "");
}

fn about_the_machine(set: &mut Elements, picture: &SyntheticPicture) {
    set.number(0x0018, 0x0060, picture.kilovolts);
    set.text(0x0018, 0x1020, *b"LO", env!("CARGO_PKG_VERSION"));
    set.number(0x0018, 0x1110, picture.source_to_detector_mm);
    set.number(0x0018, 0x1111, picture.source_to_isocentre_mm);
    set.number(0x0018, 0x1114, picture.source_to_detector_mm / picture.source_to_isocentre_mm);
    set.text(0x0018, 0x1150, *b"IS", "");
    set.text(0x0018, 0x1151, *b"IS", "");
    set.text(0x0018, 0x1152, *b"IS", "");
    set.text(0x0018, 0x1155, *b"CS", "SC");
    set.numbers(0x0018, 0x1164, &[picture.pitch_mm, picture.pitch_mm]);
    set.text(0x0018, 0x1500, *b"CS", "STATIC");
    set.number(0x0018, 0x1510, picture.primary_deg);
    set.number(0x0018, 0x1511, picture.secondary_deg);
    set.text(0x0018, 0x5100, *b"CS", if picture.prone { "HFP" } else { "HFS" });
}

fn about_the_pixels(set: &mut Elements, picture: &SyntheticPicture) {
    set.short(0x0028, 0x0002, 1);
    set.text(0x0028, 0x0004, *b"CS", "MONOCHROME2");
    set.short(0x0028, 0x0010, picture.rows);
    set.short(0x0028, 0x0011, picture.columns);
    set.short(0x0028, 0x0100, 8);
    set.short(0x0028, 0x0101, 8);
    set.short(0x0028, 0x0102, 7);
    set.short(0x0028, 0x0103, 0);
    set.text(0x0028, 0x0300, *b"CS", "YES");
    set.text(0x0028, 0x0301, *b"CS", "NO");
    set.text(0x0028, 0x1040, *b"CS", "DISP");
    set.number(0x0028, 0x1050, 127.5);
    set.number(0x0028, 0x1051, 256.0);
    set.text(0x0028, 0x2110, *b"CS", "00");
}
