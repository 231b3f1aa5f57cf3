//! Reading the input of a pin finding: bounded, strict, one clear error, and the scene it describes.
//!
//! What it does not do: it judges no geometry. A pose that cannot be is a finding's business, and is caught there by
//! name; a number that no document may hold is refused here.

use super::bundle::{KnownLength, Landmark};
use super::document::{
    CrossingDocument, EdgeDocument, FORMAT, FrameDocument, JointDocument, JointPointDocument, PinDocument, Pixel,
    PointDocument, ScaleDocument, SeenDocument, StationDocument, TouchDocument, ViewDocument,
};
use super::edge::{Edge, Seen};
use super::evaluate::{MARGIN_LIMIT, Scene, VIEWS_MAX};
use super::frame::Frame;
use super::joint::{Crossing, Joint, JointError, JointPoint, Station, Surface};
use super::tool::Tool;
use super::view::{PinView, TouchError, TouchPlane, ViewErrors};
use crate::carm::{ImagePoint, Point, Pose, ViewName};
use crate::settings::PinSettings;
use crate::strict_json::{self, ReadError};
use crate::units::{Degrees, Millimetres};
use thiserror::Error;

/// The largest document accepted, bytes.
pub const MAX_BYTES: u64 = 1 << 18;

/// Why bytes are no input of a pin finding.
#[derive(Debug, Error)]
pub enum PinError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("{place}: between {min} and {max} of them, {found} are given")]
    Count { place: String, min: usize, max: usize, found: usize },
    #[error("{place}: {value} is not {what}")]
    Implausible { place: String, what: String, value: f64 },
    #[error("{place}: the view {view} is not among the views")]
    NoSuchView { place: String, view: ViewName },
    #[error("{place}: the view {view} is named twice")]
    ViewTwice { place: String, view: ViewName },
    #[error("{place}: heights rise from one station to the next")]
    Heights { place: String },
    #[error("{place}: no landmark of that number, or twice the same")]
    NoSuchLandmark { place: String },
    #[error("joint.surface.points: {0}")]
    Joint(#[from] JointError),
    #[error("{place}: from_px and to_px are at one place")]
    NoLength { place: String },
    #[error("{place}: an edge named twice")]
    EdgeTwice { place: String },
}

/// Defaults, each named where the document describes it. Common practice, no source, if nothing else is said.
mod default {
    pub const FURTHER_MM: f64 = 20.0;
    pub const STEP_MM: f64 = 10.0;
    pub const TOUCH_MM: f64 = 1.0;
    pub const ANGLE_DEG: f64 = 1.0;
    pub const DRIFT_MM: f64 = 2.0;
    pub const DEPTH_MM: f64 = 30.0;
    pub const SCALE_PERCENT: f64 = 1.0;
    pub const LENGTH_DEPTH_MM: f64 = 10.0;
    pub const TOOL_MM: f64 = 100.0;
    pub const JOINT_DEG: f64 = 3.0;
    pub const HEIGHT_MM: f64 = 5.0;
}

/// Reads the document and builds the scene it describes.
///
/// # Errors
/// [`PinError`] names the place in the document.
pub fn read(bytes: &[u8]) -> Result<Scene, PinError> {
    read_of_site(bytes, PinSettings::default())
}

/// Reads the document, with the site's limit of a short margin where the document names none.
///
/// # Errors
/// [`PinError`] names the place in the document.
pub fn read_of_site(bytes: &[u8], site: PinSettings) -> Result<Scene, PinError> {
    let document: PinDocument = strict_json::read(bytes, "brimline_pin", FORMAT, MAX_BYTES)?;
    let views = views(&document)?;
    let book = Book { document: &document, views: &views };
    let frame = book.frame()?.common(&views);
    let tool = document.tool.map(|tool| {
        let length = within("tool.length_mm", tool.length_mm.unwrap_or(default::TOOL_MM), 10.0, 300.0, "mm")?;
        let diameter = within("tool.diameter_mm", tool.diameter_mm, 1.0, 20.0, "mm")?;
        Ok::<Tool, PinError>(Tool { diameter: Millimetres(diameter), length: Millimetres(length) })
    });
    let limit = document.margin_limit_mm.or(site.margin_mm).unwrap_or(MARGIN_LIMIT.0);
    let further_to = document.further_to_mm.unwrap_or(default::FURTHER_MM);
    let steps = within("further_to_mm", further_to, 0.0, 100.0, "mm")? / default::STEP_MM;
    let further = (1..=10).map(f64::from).filter(|step| *step <= steps);
    Ok(Scene {
        side: document.side,
        frame,
        pin_diameter: Millimetres(within("pin_diameter_mm", document.pin_diameter_mm, 1.0, 6.0, "mm")?),
        tool: tool.transpose()?,
        margin_limit: Millimetres(within("margin_limit_mm", limit, 0.0, 50.0, "mm")?),
        joint: document.joint.as_ref().map(|joint| book.joint(joint)).transpose()?,
        edges: book.edges()?,
        further: further.map(|step| Millimetres(step * default::STEP_MM)).collect(),
        midline: document.midline.map(|touch| book.touch("midline", &touch)).transpose()?,
        views,
    })
}

fn within(place: &str, value: f64, from: f64, to: f64, unit: &str) -> Result<f64, PinError> {
    if (from..=to).contains(&value) {
        return Ok(value);
    }
    let what = format!("between {from} and {to} {unit}");
    Err(PinError::Implausible { place: place.to_owned(), what, value })
}

fn count(place: &str, found: usize, min: usize, max: usize) -> Result<(), PinError> {
    if (min..=max).contains(&found) {
        return Ok(());
    }
    Err(PinError::Count { place: place.to_owned(), min, max, found })
}

/// A pixel within any picture.
fn pixel(place: &str, at: Pixel) -> Result<Pixel, PinError> {
    within(place, at[0], -20_000.0, 20_000.0, "pixels")?;
    within(place, at[1], -20_000.0, 20_000.0, "pixels")?;
    Ok(at)
}

fn views(document: &PinDocument) -> Result<Vec<PinView>, PinError> {
    count("views", document.views.len(), 1, VIEWS_MAX)?;
    let touch = document.touch.unwrap_or(TouchError { sigma_mm: default::TOUCH_MM, at: TouchPlane::Patient });
    within("touch.sigma_mm", touch.sigma_mm, 0.01, 20.0, "mm")?;
    let mut views: Vec<PinView> = Vec::new();
    for (number, view) in document.views.iter().enumerate() {
        let place = format!("views[{number}]");
        if views.iter().any(|earlier| earlier.name == view.view) {
            return Err(PinError::ViewTwice { place, view: view.view });
        }
        views.push(self::view(&place, view, touch)?);
    }
    Ok(views)
}

fn view(place: &str, view: &ViewDocument, touch: TouchError) -> Result<PinView, PinError> {
    let member = |name: &str| format!("{place}.{name}");
    within(&member("angles.primary_deg"), view.angles.primary.0, -180.0, 180.0, "degrees")?;
    within(&member("angles.secondary_deg"), view.angles.secondary.0, -90.0, 90.0, "degrees")?;
    let roll = within(&member("roll_deg"), view.roll_deg.unwrap_or(0.0), -180.0, 180.0, "degrees")?;
    let angle = view.angle_sigma_deg.unwrap_or(default::ANGLE_DEG);
    let to_detector = within(&member("source_to_detector_mm"), view.source_to_detector_mm, 1.0, 5000.0, "mm")?;
    let to_isocentre = within(&member("source_to_isocentre_mm"), view.source_to_isocentre_mm, 1.0, 5000.0, "mm")?;
    let isocentre = point(&member("isocentre_mm"), view.isocentre_mm.unwrap_or([0.0; 3]))?;
    let magnification = to_detector / to_isocentre;
    let (mm_per_px, scale_sigma) = scale(place, view, touch, magnification)?;
    let centre = pixel(&member("centre_px"), view.centre_px)?;
    let on_detector = |at: Pixel| on_detector(at, centre, mm_per_px, view.mirrored);
    count(&member("shank_px"), view.shank_px.len(), 1, 4)?;
    let shank: Result<Vec<Pixel>, PinError> = view.shank_px.iter().map(|at| pixel(&member("shank_px"), *at)).collect();
    let width = view.width_px.map(|[one, other]| (one[0] - other[0]).hypot(one[1] - other[1]) * mm_per_px);
    let beam = view.angles.beam();
    Ok(PinView {
        name: view.view,
        pose: Pose::looking(beam, isocentre, Millimetres(to_isocentre), Millimetres(to_detector), Degrees(roll)),
        isocentre,
        errors: ViewErrors {
            touch: touch.on_detector(magnification),
            scale: scale_sigma,
            angle: Degrees(within(&member("angle_sigma_deg"), angle, 0.1, 20.0, "degrees")?),
        },
        tip: on_detector(pixel(&member("tip_px"), view.tip_px)?),
        shank: shank?.into_iter().map(on_detector).collect(),
        pictured_width: width.map(Millimetres),
    })
}

fn on_detector(at: Pixel, centre: Pixel, mm_per_px: f64, mirrored: bool) -> ImagePoint {
    let hand = if mirrored { -1.0 } else { 1.0 };
    ImagePoint { across_mm: hand * (at[0] - centre[0]) * mm_per_px, down_mm: (at[1] - centre[1]) * mm_per_px }
}

/// Millimetres per pixel in the detector's plane, and its relative standard deviation.
fn scale(place: &str, view: &ViewDocument, touch: TouchError, magnification: f64) -> Result<(f64, f64), PinError> {
    match view.scale {
        ScaleDocument::DetectorSpacing { mm_per_px, sigma_percent } => {
            let place = format!("{place}.scale.detector-spacing");
            let percent = sigma_percent.unwrap_or(default::SCALE_PERCENT);
            let percent = within(&format!("{place}.sigma_percent"), percent, 0.0, 20.0, "per cent")?;
            Ok((within(&format!("{place}.mm_per_px"), mm_per_px, 0.01, 5.0, "mm")?, percent / 100.0))
        }
        ScaleDocument::KnownLength { from_px, to_px, length_mm, source_to_length_mm, depth_sigma_mm } => {
            let place = format!("{place}.scale.known-length");
            let length = within(&format!("{place}.length_mm"), length_mm, 1.0, 500.0, "mm")?;
            let depth = source_to_length_mm.unwrap_or(view.source_to_isocentre_mm);
            let depth = within(&format!("{place}.source_to_length_mm"), depth, 1.0, 5000.0, "mm")?;
            let off = depth_sigma_mm.unwrap_or(default::LENGTH_DEPTH_MM);
            let off = within(&format!("{place}.depth_sigma_mm"), off, 0.0, 100.0, "mm")?;
            let (from, to) = (pixel(&format!("{place}.from_px"), from_px)?, pixel(&format!("{place}.to_px"), to_px)?);
            let pixels = (from[0] - to[0]).hypot(from[1] - to[1]);
            if pixels < 1.0 {
                return Err(PinError::NoLength { place });
            }
            let pictured = length * view.source_to_detector_mm / depth;
            // Two touches, each off along the length, and the depth at which it lies.
            let touches = touch.on_detector(magnification).0 * std::f64::consts::SQRT_2 / pictured;
            Ok((pictured / pixels, touches.hypot(off / depth)))
        }
    }
}

fn point(place: &str, at: [f64; 3]) -> Result<Point, PinError> {
    for value in at {
        within(place, value, -500.0, 500.0, "mm")?;
    }
    Ok(Point::from(at))
}

/// The document with its views, which all else refers to by name.
struct Book<'a> {
    document: &'a PinDocument,
    views: &'a [PinView],
}

impl Book<'_> {
    fn number(&self, place: &str, view: ViewName) -> Result<usize, PinError> {
        let number = self.views.iter().position(|known| known.name == view);
        number.ok_or_else(|| PinError::NoSuchView { place: place.to_owned(), view })
    }

    fn place(&self, place: &str, view: usize, at: Pixel) -> Result<ImagePoint, PinError> {
        let source = &self.document.views[view];
        let touch = TouchError { sigma_mm: 1.0, at: TouchPlane::Detector };
        let (mm_per_px, _) = scale(place, source, touch, 1.0)?;
        Ok(on_detector(pixel(place, at)?, source.centre_px, mm_per_px, source.mirrored))
    }

    fn touch(&self, place: &str, touch: &TouchDocument) -> Result<(usize, ImagePoint), PinError> {
        let view = self.number(&format!("{place}.view"), touch.view)?;
        Ok((view, self.place(&format!("{place}.at_px"), view, touch.at_px)?))
    }

    /// Touches of one thing on several views, each view once.
    fn touches(&self, place: &str, touches: &[TouchDocument]) -> Result<Vec<(usize, ImagePoint)>, PinError> {
        let mut found: Vec<(usize, ImagePoint)> = Vec::new();
        for (number, touch) in touches.iter().enumerate() {
            let place = format!("{place}[{number}]");
            let (view, at) = self.touch(&place, touch)?;
            if found.iter().any(|(earlier, _)| *earlier == view) {
                return Err(PinError::ViewTwice { place, view: touch.view });
            }
            found.push((view, at));
        }
        Ok(found)
    }

    fn frame(&self) -> Result<Frame, PinError> {
        match &self.document.frame {
            FrameDocument::Unknown => Ok(Frame::Unknown),
            FrameDocument::ColumnUnmoved { declared_by, drift_mm } => {
                let drift = drift_mm.unwrap_or(default::DRIFT_MM);
                let drift = Millimetres(within("frame.column-unmoved.drift_mm", drift, 0.0, 20.0, "mm")?);
                Ok(Frame::ColumnUnmoved { declared_by: *declared_by, drift })
            }
            FrameDocument::Landmarks { landmarks, lengths, depth_sigma_mm } => {
                let at = "frame.landmarks";
                let depth = depth_sigma_mm.unwrap_or(default::DEPTH_MM);
                let depth = Millimetres(within(&format!("{at}.depth_sigma_mm"), depth, 1.0, 100.0, "mm")?);
                count(&format!("{at}.landmarks"), landmarks.len(), 0, 12)?;
                count(&format!("{at}.lengths"), lengths.len(), 0, 12)?;
                let landmark = |(number, landmark): (usize, &super::document::LandmarkDocument)| {
                    let place = format!("{at}.landmarks[{number}].touched");
                    Ok::<Landmark, PinError>(Landmark { touches: self.touches(&place, &landmark.touched)? })
                };
                let lengths = lengths.iter().enumerate().map(|(number, known)| {
                    let place = format!("{at}.lengths[{number}]");
                    let there = 1..=landmarks.len();
                    if !there.contains(&known.from) || !there.contains(&known.to) || known.from == known.to {
                        return Err(PinError::NoSuchLandmark { place });
                    }
                    let length = within(&format!("{place}.length_mm"), known.length_mm, 1.0, 500.0, "mm")?;
                    let sigma = within(&format!("{place}.sigma_mm"), known.sigma_mm, 0.01, 50.0, "mm")?;
                    let (from, to) = (known.from - 1, known.to - 1);
                    Ok(KnownLength { from, to, length: Millimetres(length), sigma: Millimetres(sigma) })
                });
                let lengths = lengths.collect::<Result<_, PinError>>()?;
                let landmarks = landmarks.iter().enumerate().map(landmark).collect::<Result<_, PinError>>()?;
                Ok(Frame::Landmarks { landmarks, lengths, depth })
            }
        }
    }

    fn joint(&self, joint: &JointDocument) -> Result<Joint, PinError> {
        match joint {
            JointDocument::Normals { stations, sigma_deg, height_sigma_mm, crossing } => {
                let at = "joint.normals";
                let sigma = sigma_deg.unwrap_or(default::JOINT_DEG);
                let sigma = Degrees(within(&format!("{at}.sigma_deg"), sigma, 0.1, 30.0, "degrees")?);
                let height = height_sigma_mm.unwrap_or(default::HEIGHT_MM);
                let height_sigma = Millimetres(within(&format!("{at}.height_sigma_mm"), height, 0.0, 50.0, "mm")?);
                let stations = stations_of(at, stations)?;
                let crossing = match crossing {
                    None => Crossing::Unknown,
                    Some(CrossingDocument::Touched(touch)) => {
                        let (view, at) = self.touch("joint.normals.crossing.touched", touch)?;
                        Crossing::Touched { view, at }
                    }
                    Some(CrossingDocument::Through(through)) => {
                        let (at, sigma) = planned("joint.normals.crossing.through", through)?;
                        Crossing::Through { at, sigma }
                    }
                };
                Ok(Joint::Normals { stations, sigma, height_sigma, crossing })
            }
            JointDocument::Surface { points } => {
                count("joint.surface.points", points.len(), 3, 16)?;
                let points = points.iter().enumerate().map(|(number, point)| self.joint_point(number, point));
                let points = points.collect::<Result<Vec<JointPoint>, PinError>>()?;
                let planned: Option<Vec<Point>> = points.iter().map(JointPoint::planned).collect();
                if let Some(planned) = planned {
                    Surface::fit(self.document.side, &planned)?;
                }
                Ok(Joint::Surface { points })
            }
        }
    }

    fn joint_point(&self, number: usize, point: &JointPointDocument) -> Result<JointPoint, PinError> {
        let place = format!("joint.surface.points[{number}]");
        match point {
            JointPointDocument::Planned(planned) => {
                let (at, sigma) = self::planned(&format!("{place}.planned"), planned)?;
                Ok(JointPoint::Planned { at, sigma })
            }
            JointPointDocument::Touched(touches) => {
                let place = format!("{place}.touched");
                count(&place, touches.len(), 2, VIEWS_MAX)?;
                Ok(JointPoint::Touched { touches: self.touches(&place, touches)? })
            }
        }
    }

    fn edges(&self) -> Result<Vec<Edge>, PinError> {
        count("edges", self.document.edges.len(), 0, 12)?;
        let mut edges: Vec<Edge> = Vec::new();
        for (number, edge) in self.document.edges.iter().enumerate() {
            let place = format!("edges[{number}]");
            if edges.iter().any(|earlier| earlier.name == edge.edge) {
                return Err(PinError::EdgeTwice { place });
            }
            edges.push(self.edge(&place, edge)?);
        }
        Ok(edges)
    }

    fn edge(&self, place: &str, edge: &EdgeDocument) -> Result<Edge, PinError> {
        count(&format!("{place}.seen"), edge.seen.len(), 1, VIEWS_MAX)?;
        let mut seen: Vec<Seen> = Vec::new();
        for (number, one) in edge.seen.iter().enumerate() {
            let place = format!("{place}.seen[{number}]");
            let view = self.number(&format!("{place}.view"), one.view)?;
            if seen.iter().any(|earlier| earlier.view == view) {
                return Err(PinError::ViewTwice { place, view: one.view });
            }
            seen.push(self.seen(&place, view, one)?);
        }
        Ok(Edge { name: edge.edge, seen })
    }

    fn seen(&self, place: &str, view: usize, seen: &SeenDocument) -> Result<Seen, PinError> {
        let place = format!("{place}.points_px");
        count(&place, seen.points_px.len(), 1, 16)?;
        let points = seen.points_px.iter().map(|at| self.place(&place, view, *at));
        Ok(Seen { view, profiled: seen.profiled, points: points.collect::<Result<_, _>>()?, closed: seen.closed })
    }
}

fn planned(place: &str, planned: &PointDocument) -> Result<(Point, Millimetres), PinError> {
    let sigma = within(&format!("{place}.sigma_mm"), planned.sigma_mm, 0.1, 50.0, "mm")?;
    Ok((point(&format!("{place}.at_mm"), planned.at_mm)?, Millimetres(sigma)))
}

fn stations_of(at: &str, stations: &[StationDocument]) -> Result<Vec<Station>, PinError> {
    let at = format!("{at}.stations");
    count(&at, stations.len(), 1, 8)?;
    let mut found: Vec<Station> = Vec::new();
    for (number, station) in stations.iter().enumerate() {
        let place = format!("{at}[{number}]");
        let height = Millimetres(within(&format!("{place}.height_mm"), station.height_mm, -200.0, 200.0, "mm")?);
        if found.last().is_some_and(|below| below.height >= height) {
            return Err(PinError::Heights { place });
        }
        let axial = Degrees(within(&format!("{place}.axial_deg"), station.axial_deg, -60.0, 60.0, "degrees")?);
        let coronal = Degrees(within(&format!("{place}.coronal_deg"), station.coronal_deg, -60.0, 60.0, "degrees")?);
        found.push(Station { height, axial, coronal });
    }
    Ok(found)
}
