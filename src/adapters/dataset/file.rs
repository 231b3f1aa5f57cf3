//! A DICOM file (PS3.10): preamble, file meta information, and the data set, inflated where it is deflated.

use super::{DatasetError, Encoding, INFLATED_MAX, Walked, walk};
use dicom_core::Tag;
use dicom_dictionary_std::{tags, uids};
use flate2::read::DeflateDecoder;
use std::borrow::Cow;
use std::io::Read;

const PREAMBLE: usize = 128;
const MAGIC: &[u8] = b"DICM";

/// A file whose meta information was read.
#[derive(Debug)]
pub struct Opened<'a> {
    /// Media Storage SOP Class UID; empty if the file does not say.
    pub class: String,
    pub encoding: Encoding,
    /// The data set, inflated.
    pub body: Cow<'a, [u8]>,
    /// The deflated stream ends early or is damaged.
    pub cut: bool,
}

impl Opened<'_> {
    /// Walks the data set; see [`walk`].
    ///
    /// # Errors
    /// Those of [`walk`].
    pub fn walk(&self, keep: fn(Tag) -> bool) -> Result<Walked<'_>, DatasetError> {
        let mut walked = walk(&self.body, self.encoding, keep, |_| false)?;
        if self.cut {
            walked.truncated_at.get_or_insert(self.body.len());
        }
        Ok(walked)
    }
}

/// Reads preamble and file meta information.
///
/// # Errors
/// [`DatasetError`] if it is no DICOM file, or its transfer syntax is not read.
pub fn open(bytes: &[u8]) -> Result<Opened<'_>, DatasetError> {
    if bytes.get(PREAMBLE..PREAMBLE + MAGIC.len()) != Some(MAGIC) {
        return Err(DatasetError::NotDicom);
    }
    let rest = &bytes[PREAMBLE + MAGIC.len()..];
    // The group length is not trusted: the meta information ends where its group does.
    let meta = walk(rest, Encoding::ExplicitLittle, |tag| tag.0 == 0x0002, |tag| tag.0 != 0x0002)?;
    let syntax = meta.dataset.uid(tags::TRANSFER_SYNTAX_UID).ok_or(DatasetError::NoTransferSyntax)?;
    let class = meta.dataset.uid(tags::MEDIA_STORAGE_SOP_CLASS_UID).unwrap_or_default().to_owned();
    let body = rest.get(meta.end..).unwrap_or_default();
    let (encoding, deflated) = encoding_of(syntax)?;
    if !deflated {
        return Ok(Opened { class, encoding, body: Cow::Borrowed(body), cut: false });
    }
    let (inflated, cut) = inflate(body)?;
    Ok(Opened { class, encoding, body: Cow::Owned(inflated), cut })
}

/// How a transfer syntax encodes the elements, and whether it deflates them. Compressed pixels come explicit.
fn encoding_of(syntax: &str) -> Result<(Encoding, bool), DatasetError> {
    match syntax {
        uids::IMPLICIT_VR_LITTLE_ENDIAN => Ok((Encoding::ImplicitLittle, false)),
        "1.2.840.10008.1.2.2" => Ok((Encoding::ExplicitBig, false)),
        uids::DEFLATED_EXPLICIT_VR_LITTLE_ENDIAN => Ok((Encoding::ExplicitLittle, true)),
        _ if syntax.starts_with("1.2.840.10008.1.2.1") || syntax.starts_with("1.2.840.10008.1.2.4") => {
            Ok((Encoding::ExplicitLittle, false))
        }
        uids::RLE_LOSSLESS => Ok((Encoding::ExplicitLittle, false)),
        _ => Err(DatasetError::TransferSyntax { uid: syntax.chars().take(64).collect() }),
    }
}

/// What can be inflated, and whether the stream ended early.
fn inflate(deflated: &[u8]) -> Result<(Vec<u8>, bool), DatasetError> {
    let mut stream = DeflateDecoder::new(deflated).take(INFLATED_MAX + 1);
    let (mut inflated, mut chunk) = (Vec::new(), vec![0; 64 << 10]);
    let cut = loop {
        match stream.read(&mut chunk) {
            Ok(0) => break false,
            Ok(count) => inflated.extend_from_slice(&chunk[..count]),
            Err(_) => break true,
        }
    };
    if inflated.len() as u64 > INFLATED_MAX {
        return Err(DatasetError::TooLarge { max: INFLATED_MAX });
    }
    Ok((inflated, cut))
}
