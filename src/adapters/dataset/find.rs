//! Finding elements of a data set by tag, and their text.

use super::{Dataset, Held};
use dicom_core::Tag;
use dicom_dictionary_std::tags;
use dicom_encoding::text::{SpecificCharacterSet, TextCodec};

impl<'a> Dataset<'a> {
    /// The bytes of an element, without the padding at their end.
    #[must_use]
    pub fn bytes(&self, tag: Tag) -> Option<&'a [u8]> {
        self.elements.iter().find(|element| element.tag == tag).and_then(|element| match element.held {
            Held::Bytes(bytes) => Some(trimmed(bytes)),
            Held::Items(_) => None,
        })
    }

    /// The items of a sequence; none if it is missing.
    #[must_use]
    pub fn items(&self, tag: Tag) -> &[Dataset<'a>] {
        let element = self.elements.iter().find(|element| element.tag == tag);
        match element.map(|element| &element.held) {
            Some(Held::Items(items)) => items,
            _ => &[],
        }
    }

    /// A value of the default repertoire: identifiers, codes, numbers, times. `None` if missing, empty or not ASCII.
    #[must_use]
    pub fn ascii(&self, tag: Tag) -> Option<&'a str> {
        let text = std::str::from_utf8(self.bytes(tag)?).ok().filter(|text| text.is_ascii())?;
        Some(text.trim()).filter(|text| !text.is_empty())
    }

    /// A UID: digits and points, at most 64.
    #[must_use]
    pub fn uid(&self, tag: Tag) -> Option<&'a str> {
        self.ascii(tag).filter(|uid| is_uid(uid))
    }

    /// A 16-bit number of a little-endian data set.
    #[must_use]
    pub fn u16(&self, tag: Tag) -> Option<u16> {
        let element = self.elements.iter().find(|element| element.tag == tag)?;
        match element.held {
            Held::Bytes([low, high]) => Some(u16::from_le_bytes([*low, *high])),
            _ => None,
        }
    }
}

/// Whether a text is a UID.
///
/// Source: PS3.5, 9.1.
pub fn is_uid(text: &str) -> bool {
    let digits = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    digits && (1..=64).contains(&text.len()) && !text.starts_with('.') && !text.contains("..")
}

/// Values are padded to an even length with a space or a zero.
fn trimmed(bytes: &[u8]) -> &[u8] {
    let end = bytes.iter().rposition(|byte| *byte != 0 && *byte != b' ').map_or(0, |last| last + 1);
    &bytes[..end]
}

/// Decodes free text by the object's character set.
pub struct Texts(SpecificCharacterSet);

/// Characters of a text that are kept.
const TEXT_MAX: usize = 1_024;

impl Texts {
    /// The character set that the object names; the default repertoire if it names none that is known. Of several,
    /// the first that is named counts: code extensions are not switched within a text.
    #[must_use]
    pub fn of(dataset: &Dataset<'_>) -> Self {
        let named = dataset.ascii(tags::SPECIFIC_CHARACTER_SET).unwrap_or_default();
        let first = named.split('\\').map(str::trim).find(|code| !code.is_empty());
        Self(first.and_then(SpecificCharacterSet::from_code).unwrap_or_default())
    }

    /// A text, trimmed, control characters as spaces; `None` if missing or empty.
    #[must_use]
    pub fn text(&self, dataset: &Dataset<'_>, tag: Tag) -> Option<String> {
        let bytes = dataset.bytes(tag)?;
        let decoded = self.0.decode(bytes).unwrap_or_else(|_| String::from_utf8_lossy(bytes).into_owned());
        let clean: String = decoded.chars().map(|c| if c.is_control() { ' ' } else { c }).take(TEXT_MAX).collect();
        Some(clean.trim().to_owned()).filter(|text| !text.is_empty())
    }
}
