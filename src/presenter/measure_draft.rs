//! A number being measured on a picture: its places, touched once or several times, and what follows.
//!
//! What it does not do: it computes no angle and no length itself; `anatomy::touch` does.

use super::picture::{Picture, Spot};
use super::view_known::distances;
use crate::anatomy::touch::{DEPTH_PLUS_MINUS_MM, Line, PictureAxes, Repeatability, Scale, Touch, corridor_angle};
use crate::anatomy::{Angle, Length, TYPED_LENGTH_PLUS_MINUS_MM};
use crate::ports::image::{Modality, SpacingAt};

/// One standard deviation of a touch on the screen until it was touched twice, in parts of the picture's side: 3 of 400.
/// Common practice, no source.
const USUAL_SD: f64 = 3.0 / 400.0;
/// Most rounds of touching.
pub(super) const ROUNDS_MAX: usize = 5;

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Measures {
    /// A line against the front-back line, on a sagittal picture.
    Inclination,
    /// A corridor against a reference line.
    Corridor,
    Distance,
}

/// What came out.
pub(super) enum Measured {
    Angle(Angle),
    Length(Length),
}

/// A number being measured.
pub(super) struct Draft {
    /// The row of the plan.
    pub id: String,
    pub label: String,
    pub measures: Measures,
    pub picture: Option<Picture>,
    /// The front is at the right of a sagittal picture whose file does not say.
    pub front_right: bool,
    pub marker_mm: Option<f64>,
    /// For each place its touches, a round each.
    pub places: Vec<Vec<Spot>>,
    /// Which round, and which place of it, is touched next.
    pub round: usize,
    pub chosen: usize,
    pub dragging: Option<usize>,
}

/// What a row of the plan is measured by; `None`: it is typed alone.
pub(super) fn measures(id: &str) -> Option<Measures> {
    match id.rsplit_once('.') {
        Some(("midline", "s1_to_s2" | "s2_to_symphysis_distance")) => Some(Measures::Distance),
        Some(("midline", _) | (_, "anterior_ala")) => Some(Measures::Inclination),
        Some((_, "s1_coronal" | "s1_axial")) => Some(Measures::Corridor),
        Some((before, _)) if before.ends_with("corridor") => Some(Measures::Distance),
        _ => None,
    }
}

impl Draft {
    pub fn new(id: &str, label: &str, measures: Measures) -> Self {
        Self {
            id: id.to_owned(),
            label: label.to_owned(),
            measures,
            picture: None,
            front_right: false,
            marker_mm: None,
            places: Vec::new(),
            round: 0,
            chosen: 0,
            dragging: None,
        }
    }

    /// The places in the order they are touched.
    pub fn names(&self) -> Vec<&'static str> {
        let own: &[&'static str] = match self.measures {
            Measures::Inclination => &["one end of the line", "its other end"],
            Measures::Corridor => &[
                "one end of the reference line",
                "its other end",
                "the corridor, outer end",
                "the corridor, inner end",
            ],
            Measures::Distance => &["one end", "the other end"],
        };
        let marker: &[&'static str] =
            if self.needs_marker() { &["one end of the marker", "its other end"] } else { &[] };
        marker.iter().chain(own).copied().collect()
    }

    /// A distance on a picture whose file gives no size.
    pub fn needs_marker(&self) -> bool {
        self.measures == Measures::Distance && self.picture.is_some() && self.file_scale().is_none()
    }

    /// Starts anew with what the picture asks.
    pub fn begin(&mut self) {
        self.places = vec![Vec::new(); self.names().len()];
        (self.round, self.chosen, self.dragging) = (0, 0, None);
    }

    /// Every place is touched in every round begun.
    pub fn complete(&self) -> bool {
        !self.places.is_empty() && self.places.iter().all(|touches| touches.len() > self.round)
    }

    /// A place of the present round.
    pub fn shown(&self) -> Vec<Option<Spot>> {
        self.places.iter().map(|touches| touches.get(self.round).copied()).collect()
    }

    pub fn set(&mut self, place: usize, at: Spot) {
        let round = self.round;
        if let Some(touches) = self.places.get_mut(place) {
            if let Some(spot) = touches.get_mut(round) {
                *spot = at;
            } else {
                touches.push(at);
            }
        }
    }

    fn file_scale(&self) -> Option<Scale> {
        let image = &self.picture.as_ref()?.image;
        let spacing = image.geometry.spacing?;
        let (across, down) = (spacing.across_mm, spacing.down_mm);
        let (detector, object, told) = distances(Some(&image.geometry), None);
        let scale = match spacing.at {
            SpacingAt::Slice => Scale::of_slice(across, down),
            SpacingAt::Detector if told => Scale::of_detector(across, down, detector, object, DEPTH_PLUS_MINUS_MM),
            SpacingAt::Patient(_) => Scale::of_calibrated(across, down, object, DEPTH_PLUS_MINUS_MM),
            SpacingAt::Detector => return None,
        };
        scale.ok()
    }

    /// How well the touches repeat, and whether it was learnt from more than one round.
    pub fn repeats(&self) -> (Repeatability, bool) {
        let touches: Vec<Vec<Touch>> =
            self.places.iter().map(|spots| spots.iter().map(|spot| self.touch(*spot)).collect()).collect();
        let side =
            self.picture.as_ref().map_or(1.0, |picture| f64::from(picture.image.width.max(picture.image.height)));
        match Repeatability::of(&touches) {
            Some(learnt) if learnt.sd_px > 0.0 => (learnt, true),
            _ => (Repeatability { sd_px: side * USUAL_SD }, false),
        }
    }

    /// In pixels of the file: rows are counted down in rows again.
    fn touch(&self, spot: Spot) -> Touch {
        let aspect = self.aspect();
        Touch { across_px: spot[0] + 0.5, down_px: (spot[1] + 0.5) / aspect }
    }

    fn aspect(&self) -> f64 {
        self.picture.as_ref().map_or(1.0, |picture| picture.image.geometry.aspect())
    }

    /// The mean of a place's touches.
    fn mean(&self, place: usize) -> Option<Touch> {
        let spots = self.places.get(place).filter(|spots| !spots.is_empty())?;
        #[allow(clippy::cast_precision_loss, reason = "a handful of touches")]
        let count = spots.len() as f64;
        let sum = spots.iter().fold([0.0; 2], |sum, spot| [sum[0] + spot[0], sum[1] + spot[1]]);
        Some(self.touch([sum[0] / count, sum[1] / count]))
    }

    fn line(&self, first: usize) -> Option<Line> {
        Some(Line { from: self.mean(first)?, to: self.mean(first + 1)? })
    }

    fn axes(&self) -> PictureAxes {
        let slice = self.picture.as_ref().and_then(|picture| picture.image.geometry.slice);
        match slice {
            Some(slice) => PictureAxes { across: slice.across, down: slice.down },
            None if self.front_right => PictureAxes { across: [0.0, -1.0, 0.0], ..PictureAxes::FRONT_LEFT },
            None => PictureAxes::FRONT_LEFT,
        }
    }

    /// Whether the file says how the picture lies.
    pub fn lies_known(&self) -> bool {
        self.picture.as_ref().is_some_and(|picture| picture.image.geometry.slice.is_some())
    }

    /// A projection has no slice: its lengths hold at one depth alone.
    pub fn is_projection(&self) -> bool {
        self.picture.as_ref().is_some_and(|picture| picture.image.modality == Modality::Projection)
    }

    /// What follows from the touches; `None` while places are missing.
    pub fn measured(&self) -> Option<Result<Measured, String>> {
        if !self.complete() {
            return None;
        }
        let (repeat, aspect) = (self.repeats().0, self.aspect());
        let found = match self.measures {
            Measures::Inclination => {
                // An angle needs the shape of a pixel, not its size.
                let (line, scale) = (self.line(0)?, Scale::of_slice(1.0, aspect));
                scale.and_then(|scale| self.axes().inclination(line, scale, repeat)).map(Measured::Angle)
            }
            Measures::Corridor => corridor_angle(self.line(0)?, self.line(2)?, aspect, repeat).map(Measured::Angle),
            Measures::Distance => return Some(self.distance(repeat, aspect)),
        };
        Some(found.map_err(|fault| fault.to_string()))
    }

    fn distance(&self, repeat: Repeatability, aspect: f64) -> Result<Measured, String> {
        let missing = || "touch both ends".to_owned();
        let first = if self.needs_marker() { 2 } else { 0 };
        let line = self.line(first).ok_or_else(missing)?;
        let scale = match self.file_scale() {
            Some(scale) => scale,
            None => {
                let mm = self.marker_mm.ok_or_else(|| "say how long the marker is".to_owned())?;
                let known = Length { plus_minus_mm: TYPED_LENGTH_PLUS_MINUS_MM / 10.0, ..Length::typed(mm) };
                let marker = self.line(0).ok_or_else(missing)?;
                let share = if self.is_projection() {
                    DEPTH_PLUS_MINUS_MM / super::view_known::SOURCE_TO_ISOCENTRE_MM
                } else {
                    0.0
                };
                Scale::of_marker(marker, known, aspect, repeat, share).map_err(|fault| fault.to_string())?
            }
        };
        line.length(scale, repeat).map(Measured::Length).map_err(|fault| fault.to_string())
    }
}
