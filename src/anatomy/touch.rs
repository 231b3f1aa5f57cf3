//! Measuring on a picture by touching it: lines, distances, calibration, and the ± that follows from how well a touch
//! repeats.
//!
//! Uncertainty is propagated to first order from independent touches of equal spread along both axes. A line so short
//! that this no longer holds is refused, not given a wide ±. What it does not do: it reads no picture; places come in
//! as pixels from the upper left corner, and the picture's spacing and axes as plain numbers.

mod calibration;
mod inclination;

pub use calibration::{DEPTH_PLUS_MINUS_MM, Scale};
pub use inclination::{PictureAxes, SAGITTAL_WITHIN_DEG};

use super::{Angle, Length};
use thiserror::Error;

/// One place on a picture, pixels from the upper left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    pub across_px: f64,
    pub down_px: f64,
}

/// Two touches; which is first matters only where it is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    pub from: Touch,
    pub to: Touch,
}

/// How well a touch repeats: one standard deviation along each axis of the picture, pixels of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeatability {
    pub sd_px: f64,
}

/// Why nothing is measured.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TouchError {
    #[error(
        "the line is too short: touches that repeat within {sd_px:.1} pixels would turn it by more than {limit_deg}°"
    )]
    TooShort { sd_px: f64, limit_deg: f64 },
    #[error("{what}: {value} must be above 0")]
    NotPositive { what: &'static str, value: f64 },
    #[error(
        "the picture is turned {turned_deg:.0}° out of the sagittal plane, at most {limit_deg}° for an inclination"
    )]
    NotSagittal { turned_deg: f64, limit_deg: f64 },
    #[error("the line between the crests and the corridor are at right angles: which end is medial is not told")]
    AcrossTheReference,
}

/// A line that touches may turn further than this is no line: first-order propagation ends here. 15° keep its own error
/// below a tenth of the ±; computed.
const TURN_MAX_DEG: f64 = 15.0;

/// A direction with its spread.
#[derive(Debug, Clone, Copy)]
struct Direction {
    across: f64,
    down: f64,
    sd_rad: f64,
}

impl Repeatability {
    /// From the same places touched several times: the spread about each place's own mean, pooled. `None` if no place was
    /// touched twice.
    #[must_use]
    pub fn of(places: &[Vec<Touch>]) -> Option<Self> {
        let mut squares = 0.0;
        let mut freedom = 0.0;
        for touches in places.iter().filter(|touches| touches.len() > 1) {
            #[allow(clippy::cast_precision_loss, reason = "a handful of touches")]
            let count = touches.len() as f64;
            let across = touches.iter().map(|touch| touch.across_px).sum::<f64>() / count;
            let down = touches.iter().map(|touch| touch.down_px).sum::<f64>() / count;
            let from_mean = |touch: &Touch| (touch.across_px - across).powi(2) + (touch.down_px - down).powi(2);
            squares += touches.iter().map(from_mean).sum::<f64>();
            freedom += 2.0 * (count - 1.0);
        }
        (freedom > 0.0).then(|| Self { sd_px: (squares / freedom).sqrt() })
    }
}

impl Line {
    /// The line as a step in millimetres, or in pixel widths with a scale of pixel widths.
    fn step(&self, scale: Scale) -> [f64; 2] {
        [
            (self.to.across_px - self.from.across_px) * scale.across_mm,
            (self.to.down_px - self.from.down_px) * scale.down_mm,
        ]
    }

    fn direction(&self, scale: Scale, repeat: Repeatability) -> Result<Direction, TouchError> {
        let [across, down] = self.step(scale);
        let square = across.mul_add(across, down * down);
        // Both ends move: the variance of a step is twice that of a touch.
        let sideways = (down * scale.across_mm).powi(2) + (across * scale.down_mm).powi(2);
        let sd_rad = (2.0 * sideways).sqrt() * repeat.sd_px / square;
        if sd_rad.is_nan() || square == 0.0 || sd_rad.to_degrees() > TURN_MAX_DEG {
            return Err(TouchError::TooShort { sd_px: repeat.sd_px, limit_deg: TURN_MAX_DEG });
        }
        Ok(Direction { across, down, sd_rad })
    }

    /// The distance between the two touches.
    ///
    /// # Errors
    /// [`TouchError::TooShort`] if the touches' spread is not small against it.
    pub fn length(&self, scale: Scale, repeat: Repeatability) -> Result<Length, TouchError> {
        let Direction { across, down, .. } = self.direction(scale, repeat)?;
        let mm = across.hypot(down);
        let along = (across * scale.across_mm).hypot(down * scale.down_mm) / mm;
        let touched = std::f64::consts::SQRT_2 * along * repeat.sd_px;
        Ok(Length::touched(mm, touched.hypot(mm * scale.relative_sd)))
    }
}

/// The angle between two lines, 0 to 90°, whichever end of each was touched first.
///
/// `aspect`: height of a pixel over its width, so that a picture of unequal pixels keeps its angles.
///
/// # Errors
/// [`TouchError::TooShort`].
pub fn angle_between(first: Line, second: Line, aspect: f64, repeat: Repeatability) -> Result<Angle, TouchError> {
    let signed = turn(first, second, aspect, repeat)?;
    let deg = if signed.deg.abs() > 90.0 { 180.0 - signed.deg.abs() } else { signed.deg.abs() };
    Ok(Angle::touched(deg, signed.plus_minus_deg))
}

/// The inclination of a corridor's axis against a reference line, as the score takes it: positive when the medial end
/// lies toward the top of the picture, which is the head on a coronal picture and the front on an axial one.
///
/// `reference`: the line between the crests or the transverse line, either end first. `corridor`: its lateral end first.
/// `aspect`: see [`angle_between`].
///
/// # Errors
/// [`TouchError`] if a line is too short, or the two are at right angles.
pub fn corridor_angle(
    reference: Line,
    corridor: Line,
    aspect: f64,
    repeat: Repeatability,
) -> Result<Angle, TouchError> {
    let turned = turn(reference, corridor, aspect, repeat)?;
    if (turned.deg.abs() - 90.0).abs() <= turned.plus_minus_deg {
        return Err(TouchError::AcrossTheReference);
    }
    // The reference runs from lateral to medial once it runs with the corridor; a picture's rows run down, so a turn
    // toward the top is one against the rows where medial is to the right, and with them where it is to the left.
    let with = turned.deg.abs() < 90.0;
    let deg = if with { turned.deg } else { turned.deg - 180.0_f64.copysign(turned.deg) };
    let reference_right = reference.to.across_px > reference.from.across_px;
    let medial_right = reference_right == with;
    Ok(Angle::touched(if medial_right { -deg } else { deg }, turned.plus_minus_deg))
}

/// From the first line to the second, -180 to 180°, positive from across to down.
fn turn(first: Line, second: Line, aspect: f64, repeat: Repeatability) -> Result<Angle, TouchError> {
    let scale = Scale::pixels(aspect)?;
    let (a, b) = (first.direction(scale, repeat)?, second.direction(scale, repeat)?);
    let cross = a.across.mul_add(b.down, -(a.down * b.across));
    let dot = a.across.mul_add(b.across, a.down * b.down);
    Ok(Angle::touched(cross.atan2(dot).to_degrees(), a.sd_rad.hypot(b.sd_rad).to_degrees()))
}

#[cfg(test)]
mod tests;
