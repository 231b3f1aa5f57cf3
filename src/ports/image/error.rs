//! Why a file is no picture this program can use: one line each, which names what was found.

use thiserror::Error;

/// The caller puts the file's name before it.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ImageError {
    #[error("{bytes} bytes are more than the {max} accepted")]
    TooLarge { bytes: u64, max: u64 },
    #[error("neither a PNG nor a DICOM file")]
    UnknownKind,
    /// The bytes end early or do not fit together.
    #[error("damaged {kind}: {place}: {reason}")]
    Damaged { kind: &'static str, place: String, reason: String },
    #[error("{attribute}: missing")]
    Missing { attribute: &'static str },
    #[error("{attribute}: {value} is not accepted: {reason}")]
    Unusable { attribute: &'static str, value: String, reason: &'static str },
    #[error("a colour picture ({found}); export it in grey")]
    Colour { found: String },
    #[error("{frames} frames; export one of them alone")]
    ManyFrames { frames: u32 },
    #[error("transfer syntax {uid} ({name}) is not read; export it uncompressed")]
    TransferSyntax { uid: String, name: &'static str },
    #[error("{width} by {height} pixels are outside 1 to {side_max} a side, {pixels_max} in all")]
    Size { width: u64, height: u64, side_max: u32, pixels_max: usize },
    #[error("SOP class {uid} is no X-ray projection, CT slice or secondary capture")]
    OtherKind { uid: String },
}
