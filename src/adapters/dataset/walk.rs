//! The walk over one data set: headers from the library, values as slices.

use super::{DEPTH_MAX, DatasetError, ELEMENTS_MAX, Encoding};
use dicom_core::header::{DataElementHeader, HasLength};
use dicom_core::{Tag, VR};
use dicom_encoding::decode::Decode;
use dicom_encoding::decode::explicit_be::ExplicitVRBigEndianDecoder;
use dicom_encoding::decode::explicit_le::ExplicitVRLittleEndianDecoder;
use dicom_encoding::decode::implicit_le::StandardImplicitVRLittleEndianDecoder;

const ITEM: Tag = Tag(0xFFFE, 0xE000);
const ITEM_END: Tag = Tag(0xFFFE, 0xE00D);
const SEQUENCE_END: Tag = Tag(0xFFFE, 0xE0DD);
/// Pixel data and its kin; nothing this program reads stands behind.
const PIXELS: u16 = 0x7FE0;

/// What an element holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Held<'a> {
    Bytes(&'a [u8]),
    Items(Vec<Dataset<'a>>),
}

/// One element that was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Element<'a> {
    pub tag: Tag,
    pub held: Held<'a>,
}

/// The kept elements of one data set or item, in the order of the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Dataset<'a> {
    pub elements: Vec<Element<'a>>,
}

/// What a walk found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Walked<'a> {
    pub dataset: Dataset<'a>,
    /// Where the bytes end although more was announced.
    pub truncated_at: Option<usize>,
    /// Elements of private groups, passed over.
    pub private: usize,
    /// Where the walk ended.
    pub end: usize,
}

/// Walks a data set and keeps the elements `keep` asks for; what lies inside an element that is not kept is passed
/// over. The walk ends at pixel data, and at the first element of the outer level that `until` names.
///
/// # Errors
/// [`DatasetError`] for nesting, count and structure; an early end is no error.
pub fn walk(
    bytes: &[u8],
    encoding: Encoding,
    keep: fn(Tag) -> bool,
    until: fn(Tag) -> bool,
) -> Result<Walked<'_>, DatasetError> {
    let mut walk = Walk { bytes, at: 0, seen: 0, private: 0, truncated_at: None, keep, until };
    let dataset = walk.dataset(Some(bytes.len()), encoding, 0)?;
    Ok(Walked { dataset, truncated_at: walk.truncated_at, private: walk.private, end: walk.at })
}

struct Walk<'a> {
    bytes: &'a [u8],
    at: usize,
    seen: usize,
    private: usize,
    truncated_at: Option<usize>,
    keep: fn(Tag) -> bool,
    until: fn(Tag) -> bool,
}

impl<'a> Walk<'a> {
    /// Elements up to `end`, or up to an item delimiter where there is none.
    fn dataset(&mut self, end: Option<usize>, encoding: Encoding, depth: usize) -> Result<Dataset<'a>, DatasetError> {
        if depth > DEPTH_MAX {
            return Err(DatasetError::TooDeep { at: self.at, max: DEPTH_MAX });
        }
        let mut dataset = Dataset::default();
        while self.truncated_at.is_none() && end.is_none_or(|end| self.at < end) {
            let begin = self.at;
            let Some(header) = self.header(encoding) else { break };
            if depth == 0 && (header.tag.0 == PIXELS || (self.until)(header.tag)) {
                self.at = begin;
                break;
            }
            if header.tag == ITEM_END && end.is_none() {
                break;
            }
            if header.tag.0 == ITEM.0 {
                return Err(DatasetError::StrayDelimiter { at: begin });
            }
            self.element(&header, encoding, depth, &mut dataset)?;
        }
        Ok(dataset)
    }

    /// The next header, or `None` and an early end.
    fn header(&mut self, encoding: Encoding) -> Option<DataElementHeader> {
        let mut rest = self.bytes.get(self.at..).unwrap_or_default();
        let decoded = match encoding {
            Encoding::ImplicitLittle => StandardImplicitVRLittleEndianDecoder::default().decode_header(&mut rest),
            Encoding::ExplicitLittle => ExplicitVRLittleEndianDecoder::default().decode_header(&mut rest),
            Encoding::ExplicitBig => ExplicitVRBigEndianDecoder::default().decode_header(&mut rest),
        };
        match decoded {
            Ok((header, length)) => {
                self.at += length;
                Some(header)
            }
            Err(_) => {
                self.cut();
                None
            }
        }
    }

    /// Everything from here on is missing.
    fn cut(&mut self) {
        self.truncated_at.get_or_insert(self.bytes.len());
        self.at = self.bytes.len();
    }

    fn element(
        &mut self,
        header: &DataElementHeader,
        encoding: Encoding,
        depth: usize,
        dataset: &mut Dataset<'a>,
    ) -> Result<(), DatasetError> {
        self.seen += 1;
        if self.seen > ELEMENTS_MAX {
            return Err(DatasetError::TooMany { max: ELEMENTS_MAX });
        }
        let tag = header.tag;
        let private = tag.0 % 2 == 1;
        self.private += usize::from(private);
        let keep = !private && (self.keep)(tag);
        let length = header.length().get().map(|length| length as usize);
        if keep && header.vr() == VR::SQ || length.is_none() {
            // An element of unknown kind and length is an implicit sequence: PS3.5, 6.2.2, note on UN.
            let encoding = if header.vr() == VR::UN { Encoding::ImplicitLittle } else { encoding };
            let items = self.items(length, encoding, depth)?;
            if keep {
                dataset.elements.push(Element { tag, held: Held::Items(items) });
            }
            return Ok(());
        }
        let value = length.and_then(|length| self.bytes.get(self.at..self.at.checked_add(length)?));
        let Some(value) = value else {
            self.cut();
            return Ok(());
        };
        self.at += value.len();
        if keep {
            dataset.elements.push(Element { tag, held: Held::Bytes(value) });
        }
        Ok(())
    }

    /// Items of a sequence that is `length` bytes long, or ends with its delimiter.
    fn items(
        &mut self,
        length: Option<usize>,
        encoding: Encoding,
        depth: usize,
    ) -> Result<Vec<Dataset<'a>>, DatasetError> {
        let end = length.map(|length| self.at.saturating_add(length));
        let mut items = Vec::new();
        while self.truncated_at.is_none() && end.is_none_or(|end| self.at < end) {
            let begin = self.at;
            let Some(header) = self.header(encoding) else { break };
            self.seen += 1;
            match header.tag {
                SEQUENCE_END if end.is_none() => break,
                ITEM => {
                    let end = header.length().get().map(|length| self.at.saturating_add(length as usize));
                    items.push(self.dataset(end, encoding, depth + 1)?);
                }
                _ => return Err(DatasetError::NoItem { at: begin }),
            }
        }
        Ok(items)
    }
}
