//! A grey picture from outside, with what its file says of its geometry.
//!
//! What it is for: one value that screens, measurements and reports share, whatever the file was. What it does not do:
//! it reads no file and names no format's library (that is `adapters::images`), and it never guesses a spacing: what a
//! file does not say is absent. What may never change: pixel (0, 0) is the upper left one, and a place on the picture
//! counts from its outer corner, so that the centre of that pixel is at (0.5, 0.5).

mod display;
mod error;
mod geometry;

use crate::dose::NoPose;
pub use display::{Region, Window};
pub use error::ImageError;
pub use geometry::{Depth, Geometry, Lies, PatientPosition, Plane, SlicePlane, Spacing, SpacingAt};

/// The largest file accepted, bytes.
pub const FILE_BYTES_MAX: u64 = 80 << 20;
/// Most pixels along one side.
pub const SIDE_MAX: u32 = 8_192;
/// Most pixels in all: a picture of 4,096 by 8,192.
pub const PIXELS_MAX: usize = 1 << 25;

/// Reads pictures out of the bytes of a file.
pub trait ImageReader: Send + Sync {
    /// # Errors
    /// [`ImageError`], one line; nothing is kept of a file that is refused.
    fn read(&self, bytes: &[u8]) -> Result<GreyImage, ImageError>;

    /// How the machine stood for each frame of a file, which may have more of them than are shown.
    fn poses(&self, bytes: &[u8]) -> FramePoses {
        match self.read(bytes) {
            Ok(image) => FramePoses::of(1, image.geometry.primary_deg.zip(image.geometry.secondary_deg)),
            Err(_) => FramePoses { frames: 1, pose: Err(NoPose::Unreadable) },
        }
    }
}

/// How the machine stood for every frame of a file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FramePoses {
    /// At least 1.
    pub frames: u32,
    /// Positioner primary and secondary angle of each of the frames, degrees; or why they are not known.
    pub pose: Result<(f64, f64), NoPose>,
}

impl FramePoses {
    /// One pose for all frames, if it is stated.
    #[must_use]
    pub fn of(frames: u32, stated: Option<(f64, f64)>) -> Self {
        Self { frames: frames.max(1), pose: stated.ok_or(NoPose::NotStated) }
    }
}

/// The stored values, row by row from the top, each row from the left.
#[derive(Debug, Clone, PartialEq)]
pub enum Pixels {
    Eight(Vec<u8>),
    Sixteen(Vec<u16>),
}

impl Pixels {
    #[must_use]
    pub fn len(&self) -> usize {
        match self {
            Self::Eight(values) => values.len(),
            Self::Sixteen(values) => values.len(),
        }
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The stored value at an index of the buffer.
    #[must_use]
    pub fn at(&self, index: usize) -> Option<u16> {
        match self {
            Self::Eight(values) => values.get(index).map(|value| u16::from(*value)),
            Self::Sixteen(values) => values.get(index).copied(),
        }
    }
}

/// From a stored value to the modality's own: `slope * stored + intercept`, Hounsfield units on a CT slice.
///
/// Source: DICOM PS3.3 C.11.1, Modality LUT Module.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rescale {
    /// Not 0.
    pub slope: f64,
    pub intercept: f64,
}

impl Rescale {
    /// The values as they are stored.
    pub const NONE: Self = Self { slope: 1.0, intercept: 0.0 };

    #[must_use]
    pub fn value(self, stored: u16) -> f64 {
        self.slope.mul_add(f64::from(stored), self.intercept)
    }
}

/// What kind of picture it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Modality {
    /// An X-ray projection: fluoroscopy, angiography, radiography.
    Projection,
    /// A slice of a computed tomography, original or reformatted.
    Slice,
    /// A picture of a screen or a print, or a file that does not say.
    Capture,
}

/// One grey picture.
#[derive(Debug, Clone, PartialEq)]
pub struct GreyImage {
    /// Columns, 1 to [`SIDE_MAX`].
    pub width: u32,
    /// Rows, 1 to [`SIDE_MAX`].
    pub height: u32,
    /// `width * height` values.
    pub pixels: Pixels,
    pub rescale: Rescale,
    /// Low values are shown white: DICOM MONOCHROME1.
    pub low_is_white: bool,
    /// The first window the file names, in the modality's values.
    pub window: Option<Window>,
    /// Stored value of pixels that are no picture.
    pub padding: Option<u16>,
    pub modality: Modality,
    pub geometry: Geometry,
    /// What of the file was left aside and might matter to a reader, a line each.
    pub left_aside: Vec<&'static str>,
}

impl GreyImage {
    /// A picture without any geometry, as a test or a plain file has it; `None` if the buffer is not of that size.
    #[must_use]
    pub fn plain(width: u32, height: u32, pixels: Pixels) -> Option<Self> {
        let size = usize::try_from(width).ok()?.checked_mul(usize::try_from(height).ok()?)?;
        let fits = (1..=SIDE_MAX).contains(&width) && (1..=SIDE_MAX).contains(&height);
        (fits && size <= PIXELS_MAX && pixels.len() == size).then(|| Self {
            width,
            height,
            pixels,
            rescale: Rescale::NONE,
            low_is_white: false,
            window: None,
            padding: None,
            modality: Modality::Capture,
            geometry: Geometry::default(),
            left_aside: Vec::new(),
        })
    }
}
