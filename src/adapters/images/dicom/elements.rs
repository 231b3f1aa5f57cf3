//! The elements of a DICOM file that a picture needs, borrowed from its bytes.
//!
//! Sequences are walked over and not entered: no attribute read here lies in one. A value's length is held against the
//! bytes that are left before anything is done with it.

use super::super::one_line;
use crate::ports::image::ImageError;
use dicom_core::header::{DataElementHeader, Header};
use dicom_core::{Tag, VR};
use dicom_dictionary_std::{tags, uids};
use dicom_encoding::decode::Decode;
use dicom_encoding::decode::explicit_le::ExplicitVRLittleEndianDecoder;
use dicom_encoding::decode::implicit_le::ImplicitVRLittleEndianDecoder;
use std::collections::BTreeMap;

/// Tags kept; everything else is walked over.
const KEPT: [Tag; 38] = [
    tags::SOP_CLASS_UID,
    tags::DISTANCE_SOURCE_TO_DETECTOR,
    tags::DISTANCE_SOURCE_TO_PATIENT,
    tags::ESTIMATED_RADIOGRAPHIC_MAGNIFICATION_FACTOR,
    tags::IMAGER_PIXEL_SPACING,
    tags::POSITIONER_PRIMARY_ANGLE,
    tags::POSITIONER_SECONDARY_ANGLE,
    tags::POSITIONER_MOTION,
    tags::POSITIONER_PRIMARY_ANGLE_INCREMENT,
    tags::POSITIONER_SECONDARY_ANGLE_INCREMENT,
    tags::PATIENT_POSITION,
    tags::PATIENT_ORIENTATION,
    tags::IMAGE_POSITION_PATIENT,
    tags::IMAGE_ORIENTATION_PATIENT,
    tags::LATERALITY,
    tags::IMAGE_LATERALITY,
    tags::SAMPLES_PER_PIXEL,
    tags::PHOTOMETRIC_INTERPRETATION,
    tags::NUMBER_OF_FRAMES,
    tags::ROWS,
    tags::COLUMNS,
    tags::PIXEL_SPACING,
    tags::PIXEL_ASPECT_RATIO,
    tags::BITS_ALLOCATED,
    tags::BITS_STORED,
    tags::HIGH_BIT,
    tags::PIXEL_REPRESENTATION,
    tags::PIXEL_PADDING_VALUE,
    tags::PIXEL_SPACING_CALIBRATION_TYPE,
    tags::WINDOW_CENTER,
    tags::WINDOW_WIDTH,
    tags::RESCALE_INTERCEPT,
    tags::RESCALE_SLOPE,
    tags::VOILUT_FUNCTION,
    tags::MODALITY_LUT_SEQUENCE,
    tags::VOILUT_SEQUENCE,
    tags::MASK_SUBTRACTION_SEQUENCE,
    tags::TRANSFER_SYNTAX_UID,
];

const ITEM: Tag = Tag(0xFFFE, 0xE000);
const ITEM_END: Tag = Tag(0xFFFE, 0xE00D);
const SEQUENCE_END: Tag = Tag(0xFFFE, 0xE0DD);

/// How the pixels are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coding {
    Native,
    RunLength,
    JpegLossless,
}

/// What was kept.
#[derive(Debug)]
pub struct Elements<'a> {
    kept: BTreeMap<Tag, &'a [u8]>,
    pub coding: Coding,
    /// The fragments of coded pixels, joined; empty if they are native.
    pub coded: Vec<u8>,
}

impl<'a> Elements<'a> {
    /// Walks the file from where its meta information begins.
    ///
    /// # Errors
    /// [`ImageError`] with the tag and the byte where it does not go on.
    pub fn read(bytes: &'a [u8], from: usize) -> Result<Self, ImageError> {
        let mut walk = Walk { bytes, at: from, implicit: false };
        let mut kept = BTreeMap::new();
        while walk.next_group() == Some(2) {
            let header = walk.header()?;
            let value = walk.value(&header)?;
            kept.insert(header.tag, value);
        }
        let syntax = kept.get(&tags::TRANSFER_SYNTAX_UID).map(|value| text_of(value));
        let syntax = syntax.flatten().ok_or(ImageError::Missing { attribute: "Transfer Syntax UID" })?;
        let (implicit, coding) = coding(syntax)?;
        walk.implicit = implicit;
        let mut elements = Self { kept, coding, coded: Vec::new() };
        elements.data_set(&mut walk)?;
        Ok(elements)
    }

    fn data_set(&mut self, walk: &mut Walk<'a>) -> Result<(), ImageError> {
        while walk.at < walk.bytes.len() {
            let header = walk.header()?;
            if header.tag == tags::PIXEL_DATA {
                return self.pixel_data(walk, &header);
            }
            let value = if header.len.is_undefined() {
                walk.over_sequence(header.vr)?;
                &[]
            } else {
                walk.value(&header)?
            };
            if KEPT.contains(&header.tag) && self.kept.insert(header.tag, value).is_some() {
                return Err(walk.damaged(header.tag, "stands twice"));
            }
        }
        Err(ImageError::Missing { attribute: "Pixel Data" })
    }

    fn pixel_data(&mut self, walk: &mut Walk<'a>, header: &DataElementHeader) -> Result<(), ImageError> {
        match (self.coding, header.len.is_undefined()) {
            (Coding::Native, false) => {
                let value = walk.value(header)?;
                self.kept.insert(header.tag, value);
                Ok(())
            }
            (Coding::Native, true) => Err(walk.damaged(header.tag, "has no length, though it is not compressed")),
            (_, false) => Err(walk.damaged(header.tag, "has a length, though it is compressed")),
            (_, true) => {
                self.coded = walk.fragments()?;
                self.kept.insert(header.tag, &[]);
                Ok(())
            }
        }
    }

    /// Whether the file holds the attribute, with or without a value.
    pub fn holds(&self, tag: Tag) -> bool {
        self.kept.contains_key(&tag)
    }

    /// The bytes of a value; `None` if it is missing or empty.
    pub fn bytes(&self, tag: Tag) -> Option<&'a [u8]> {
        self.kept.get(&tag).copied().filter(|value| !value.is_empty())
    }

    /// A value in ASCII without the padding around it; `None` if it is missing, empty or no ASCII.
    pub fn text(&self, tag: Tag) -> Option<&'a str> {
        self.bytes(tag).and_then(text_of)
    }
}

fn text_of(value: &[u8]) -> Option<&str> {
    let text = std::str::from_utf8(value).ok().filter(|text| text.is_ascii())?;
    let text = text.trim_matches([' ', '\0']);
    (!text.is_empty()).then_some(text)
}

/// Whether value representations are implicit, and how pixels are coded.
fn coding(uid: &str) -> Result<(bool, Coding), ImageError> {
    match uid {
        uids::IMPLICIT_VR_LITTLE_ENDIAN => Ok((true, Coding::Native)),
        uids::EXPLICIT_VR_LITTLE_ENDIAN => Ok((false, Coding::Native)),
        uids::RLE_LOSSLESS => Ok((false, Coding::RunLength)),
        uids::JPEG_LOSSLESS | uids::JPEG_LOSSLESS_SV1 => Ok((false, Coding::JpegLossless)),
        other => Err(ImageError::TransferSyntax { uid: one_line(other), name: syntax_name(other) }),
    }
}

/// Source: DICOM PS3.6, table A-1.
fn syntax_name(uid: &str) -> &'static str {
    match uid {
        "1.2.840.10008.1.2.1.99" => "Deflated Explicit VR Little Endian",
        "1.2.840.10008.1.2.2" => "Explicit VR Big Endian, retired",
        "1.2.840.10008.1.2.4.50" => "JPEG Baseline",
        "1.2.840.10008.1.2.4.51" => "JPEG Extended",
        "1.2.840.10008.1.2.4.80" => "JPEG-LS Lossless",
        "1.2.840.10008.1.2.4.81" => "JPEG-LS Near-Lossless",
        "1.2.840.10008.1.2.4.90" => "JPEG 2000 Lossless Only",
        "1.2.840.10008.1.2.4.91" => "JPEG 2000",
        _ if uid.starts_with("1.2.840.10008.1.2.4.10") => "MPEG video",
        _ => "unknown here",
    }
}

/// A place in the bytes.
struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
    implicit: bool,
}

impl<'a> Walk<'a> {
    fn rest(&self) -> &'a [u8] {
        self.bytes.get(self.at..).unwrap_or(&[])
    }

    /// Group of the next element, little endian.
    fn next_group(&self) -> Option<u16> {
        self.rest().first_chunk().map(|pair| u16::from_le_bytes(*pair))
    }

    fn header(&mut self) -> Result<DataElementHeader, ImageError> {
        let mut rest = self.rest();
        let read = if self.implicit {
            ImplicitVRLittleEndianDecoder::default().decode_header(&mut rest)
        } else {
            ExplicitVRLittleEndianDecoder::default().decode_header(&mut rest)
        };
        let (header, _) = read.map_err(|_| ImageError::Damaged {
            kind: "DICOM file",
            place: format!("byte {}", self.at),
            reason: "it ends within the head of an element".to_owned(),
        })?;
        self.at = self.bytes.len() - rest.len();
        Ok(header)
    }

    /// The value of the element whose head was just read.
    fn value(&mut self, header: &DataElementHeader) -> Result<&'a [u8], ImageError> {
        let length = header.len.get().and_then(|length| usize::try_from(length).ok());
        let length = length.ok_or_else(|| self.damaged(header.tag(), "has no length"))?;
        let value = self.rest().get(..length);
        let value = value.ok_or_else(|| self.damaged(header.tag(), "is longer than what is left of the file"))?;
        self.at += length;
        Ok(value)
    }

    /// Walks over a sequence without length, and over what lies in it, by counting what is open.
    fn over_sequence(&mut self, vr: VR) -> Result<(), ImageError> {
        let outside = self.implicit;
        // An unknown element without length is a sequence in implicit representation: PS3.5, 6.2.2, note 4.
        self.implicit |= vr == VR::UN;
        let mut open = 1_usize;
        while open > 0 {
            let header = self.header()?;
            match header.tag {
                ITEM_END | SEQUENCE_END => open -= 1,
                _ if header.len.is_undefined() => open += 1,
                _ => {
                    self.value(&header)?;
                }
            }
        }
        self.implicit = outside;
        Ok(())
    }

    /// The fragments of coded pixels in one piece; the first item, a table of offsets, is of no use for one frame.
    fn fragments(&mut self) -> Result<Vec<u8>, ImageError> {
        let mut joined = Vec::new();
        let mut items = 0_usize;
        loop {
            let header = self.header()?;
            match header.tag {
                SEQUENCE_END => return Ok(joined),
                ITEM => {
                    let value = self.value(&header)?;
                    if items > 0 {
                        joined.extend_from_slice(value);
                    }
                    items += 1;
                }
                other => return Err(self.damaged(other, "stands between the fragments of the pixels")),
            }
        }
    }

    fn damaged(&self, tag: Tag, reason: &str) -> ImageError {
        let place = format!("{tag} at byte {}", self.at);
        ImageError::Damaged { kind: "DICOM file", place, reason: reason.to_owned() }
    }
}
