//! A synthetic picture on its way into a file.
//!
//! What it does not do: it names no format's library (that is `adapters::picture_files`). What may never change: a file
//! made of it says that no patient stands behind it.

use thiserror::Error;

/// A picture of a model person, and how the machine stood.
#[derive(Debug, Clone, PartialEq)]
pub struct SyntheticPicture {
    pub columns: u16,
    pub rows: u16,
    /// 0 black to 255 white, row by row; `columns * rows` of them.
    pub greys: Vec<u8>,
    /// Side of a pixel at the detector, mm.
    pub pitch_mm: f64,
    /// DICOM PS3.3 C.8.7.5.1.2, degrees.
    pub primary_deg: f64,
    pub secondary_deg: f64,
    pub source_to_detector_mm: f64,
    pub source_to_isocentre_mm: f64,
    /// The model lay prone.
    pub prone: bool,
    /// The number of the model person.
    pub person: u64,
    /// What the picture is to show, in words.
    pub view: String,
    /// Tube voltage that the spectrum stands for, kV.
    pub kilovolts: f64,
}

/// Why a picture is not written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PictureError {
    #[error("the picture is no {columns} by {rows} pixels")]
    Size { columns: u16, rows: u16 },
    #[error("PNG: {reason}")]
    Png { reason: String },
}

/// Turns pictures into the bytes of files.
pub trait PictureWriter: Send + Sync {
    /// # Errors
    /// [`PictureError`].
    fn png(&self, picture: &SyntheticPicture) -> Result<Vec<u8>, PictureError>;

    /// An X-Ray Angiographic image, derived, marked as a quality control image of a synthetic patient.
    ///
    /// # Errors
    /// [`PictureError`].
    fn angiographic(&self, picture: &SyntheticPicture) -> Result<Vec<u8>, PictureError>;
}
