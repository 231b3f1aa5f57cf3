//! What is being touched of a pin: two views or three, their marks, and the document that the finding is made from.
//!
//! The document is that of `brimline plan pin`, so that tablet and command judge the same. What it does not do: it finds
//! nothing itself and shows nothing.

use super::picture::{Picture, Spot};
use super::view_known::{Known, Room, Turned, detector_spacing, distances, known, pixel};
use crate::anatomy::{JointAt, JointLevel};
use crate::carm::ViewName;
use crate::pathway::{CheckId, Place};
use crate::pin::{DeclaredBy, EdgeName, Finding};
use crate::plan::Plan;
use crate::units::Side;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// Landmarks that may be touched on both views.
pub(super) const LANDMARKS: u8 = 4;
/// Most places along one edge.
const ALONG_EDGE: usize = 8;
/// Width of the usual guide pin, mm, until the team says another. Source: published sizes 2.8 to 3.2 mm.
const PIN_MM: f64 = 3.2;

/// What a touch stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Mark {
    Tip,
    Shank,
    /// The two ends of something of known length.
    Length,
    Crossing,
    Landmark(u8),
    Edge(EdgeName),
    /// Both edges of the pin, across it: checks the scale, never makes it.
    Width,
    /// A place of the midline: tells a pin of the other side from one touched the wrong way round.
    Midline,
}

impl Mark {
    pub fn words(self) -> String {
        match self {
            Self::Tip => "tip of the pin".to_owned(),
            Self::Shank => "shank, far from the tip".to_owned(),
            Self::Length => "both ends of a known length".to_owned(),
            Self::Crossing => "where the pin crosses the joint".to_owned(),
            Self::Landmark(number) => format!("landmark {number}, the same on both views"),
            Self::Edge(edge) => format!("along the {edge}"),
            Self::Width => "both edges of the pin, across it".to_owned(),
            Self::Midline => "midline of the sacrum".to_owned(),
        }
    }

    /// Most places it takes.
    pub fn places(self) -> usize {
        match self {
            Self::Length | Self::Width => 2,
            Self::Edge(_) => ALONG_EDGE,
            _ => 1,
        }
    }
}

/// What the team can say of the common frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) enum FrameSaid {
    /// Nobody was asked yet.
    #[default]
    NotAsked,
    Unmoved(DeclaredBy),
    Landmarks,
    Unknown,
}

/// One of the views.
#[derive(Default)]
pub(super) struct Pane {
    pub view: Option<ViewName>,
    pub picture: Option<Picture>,
    /// Which placement of patient and table the picture shows.
    pub placement: u32,
    pub touched: BTreeMap<Mark, Vec<Spot>>,
    pub turned: Turned,
    pub typed_deg: Option<f64>,
    pub length_mm: Option<f64>,
}

/// A pin being judged at a check.
pub(super) struct Draft {
    pub place: Place,
    pub check: CheckId,
    pub side: Side,
    /// Two, or three.
    pub panes: Vec<Pane>,
    pub room: Room,
    pub frame: FrameSaid,
    pub pin_mm: f64,
    pub tool_mm: Option<f64>,
    /// The joint at three heights, as planned or typed, from the lower to the upper.
    pub joint: [JointAt; 3],
    pub chosen: (usize, Mark),
    /// A touch under way: the view, the mark, which of its places.
    pub dragging: Option<(usize, Mark, usize)>,
    pub finding: Option<Finding>,
}

/// Edges that a view profiles, the first ones asked for first.
pub(super) fn edges(view: ViewName) -> &'static [EdgeName] {
    match view {
        ViewName::InletBody => &[EdgeName::FrontCortex],
        ViewName::InletCanal => &[EdgeName::SacralCanal],
        ViewName::InletAla => &[EdgeName::AlarSlope],
        ViewName::OutletWorking | ViewName::OutletEnFace => &[EdgeName::S1Foramen, EdgeName::S2Foramen],
        ViewName::OutletEndplate => &[EdgeName::S1Endplate, EdgeName::S1Foramen],
        ViewName::Lateral => &[EdgeName::AlarSlope, EdgeName::IliacCorticalDensity, EdgeName::SacralCanal],
        ViewName::Ap => &[],
    }
}

impl Pane {
    /// What its length on the detector rests on: the file, or a known length that is touched.
    pub fn needs_length(&self) -> bool {
        self.picture.as_ref().is_some_and(|picture| detector_spacing(picture, None).is_none())
    }

    pub fn known(&self, plan: &Plan, room: Room) -> Option<Known> {
        known(plan, self.view?, room, self.typed_deg, self.picture.as_ref().map(|picture| &picture.image.geometry))
    }

    fn spots(&self, mark: Mark) -> &[Spot] {
        self.touched.get(&mark).map_or(&[], Vec::as_slice)
    }

    /// The first mark that a finding needs and that is not touched.
    fn lacks(&self) -> Option<Mark> {
        let length = self.needs_length().then_some(Mark::Length);
        let needed = [Some(Mark::Tip), Some(Mark::Shank), length].into_iter().flatten();
        needed.into_iter().find(|mark| self.spots(*mark).len() < mark.places())
    }

    fn scale(&self, room: Room) -> Option<Value> {
        if let Some((mm_per_px, sigma_percent)) = detector_spacing(self.picture.as_ref()?, room.distances_mm) {
            return Some(json!({"detector-spacing": {"mm_per_px": mm_per_px, "sigma_percent": sigma_percent}}));
        }
        let [from, to] = self.spots(Mark::Length) else { return None };
        let length_mm = self.length_mm?;
        Some(json!({"known-length": {"from_px": pixel(*from), "to_px": pixel(*to), "length_mm": length_mm}}))
    }

    fn document(&self, plan: &Plan, room: Room) -> Option<Value> {
        let (picture, known) = (self.picture.as_ref()?, self.known(plan, room)?);
        let (detector, isocentre, _) = distances(Some(&picture.image.geometry), room.distances_mm);
        let mut document = json!({
            "view": self.view?,
            "angles": known.angles,
            "angle_sigma_deg": known.sd_deg,
            "roll_deg": within_half_turn(self.turned.roll_deg + room.rolls_deg(&known.angles)),
            "mirrored": self.turned.mirrored,
            "source_to_detector_mm": detector,
            "source_to_isocentre_mm": isocentre,
            "centre_px": pixel(picture.centre()),
            "scale": self.scale(room)?,
            "tip_px": pixel(*self.spots(Mark::Tip).first()?),
            "shank_px": self.spots(Mark::Shank).iter().copied().map(pixel).collect::<Vec<_>>(),
        });
        if let [one, other] = self.spots(Mark::Width) {
            document["width_px"] = json!([pixel(*one), pixel(*other)]);
        }
        Some(document)
    }
}

impl Draft {
    pub fn new(place: Place, check: CheckId, side: Side, views: [ViewName; 2], room: Room) -> Self {
        Self {
            place,
            check,
            side,
            panes: views.into_iter().map(|view| Pane { view: Some(view), ..Pane::default() }).collect(),
            room,
            frame: FrameSaid::NotAsked,
            pin_mm: PIN_MM,
            tool_mm: None,
            joint: JointLevel::ALL.map(JointAt::empty),
            chosen: (0, Mark::Tip),
            dragging: None,
            finding: None,
        }
    }

    /// The two views that are on screen: the first, and the second or the third.
    pub fn shown(&self) -> [usize; 2] {
        let second = if self.chosen.0 > 1 { self.chosen.0 } else { 1 };
        [0, second]
    }

    /// The views, that one first.
    pub fn from(&self, first: usize) -> Vec<usize> {
        let others = (0..self.panes.len()).filter(|pane| *pane != first);
        std::iter::once(first).chain(others).collect()
    }

    /// Height, axial and coronal angle wherever the joint is known, from the feet up. A single one needs no height.
    pub fn stations(&self) -> Vec<[f64; 3]> {
        let mut whole: Vec<[f64; 3]> = self.joint.iter().filter_map(JointAt::whole).collect();
        whole.sort_by(|one, other| one[0].total_cmp(&other[0]));
        let alone = self.joint.iter().find_map(|at| Some([0.0, at.axial_deg?, at.coronal_deg?]));
        if whole.is_empty() { alone.into_iter().collect() } else { whole }
    }

    /// Patient or table moved between two of the pictures: nobody can declare that nothing did.
    pub fn moved_between(&self) -> bool {
        let mut shown = self.panes.iter().filter(|pane| pane.picture.is_some()).map(|pane| pane.placement);
        shown.next().is_some_and(|first| shown.any(|other| other != first))
    }

    /// What is offered to be touched on a view, in the order it is asked.
    pub fn marks(&self, pane: usize) -> Vec<Mark> {
        let pane_of = &self.panes[pane];
        let mut marks = vec![Mark::Tip, Mark::Shank];
        marks.extend(pane_of.needs_length().then_some(Mark::Length));
        marks.extend(pane_of.view.into_iter().flat_map(edges).map(|edge| Mark::Edge(*edge)));
        marks.extend((!self.stations().is_empty()).then_some(Mark::Crossing));
        if self.frame == FrameSaid::Landmarks {
            marks.extend((1..=LANDMARKS).map(Mark::Landmark));
        }
        marks.extend([Mark::Width, Mark::Midline]);
        marks
    }

    /// What still keeps the pin from being found, and on which view.
    pub fn lacks(&self) -> Option<(usize, Lacks)> {
        let of = |(number, pane): (usize, &Pane)| {
            if pane.picture.is_none() {
                return Some((number, Lacks::Picture));
            }
            match pane.lacks() {
                Some(mark) => Some((number, Lacks::Touch(mark))),
                None if pane.needs_length() && pane.length_mm.is_none() => Some((number, Lacks::Length)),
                None => None,
            }
        };
        let lacks = self.panes.iter().enumerate().find_map(of);
        lacks.or_else(|| (self.frame == FrameSaid::NotAsked).then_some((0, Lacks::Frame)))
    }

    /// The document of `brimline plan pin`.
    pub fn document(&self, plan: &Plan) -> Option<Value> {
        let views: Option<Vec<Value>> = self.panes.iter().map(|pane| pane.document(plan, self.room)).collect();
        let mut document = json!({
            "brimline_pin": 1, "side": self.side, "pin_diameter_mm": self.pin_mm, "frame": self.frame_document(),
            "views": views?, "edges": self.edges(),
        });
        if let Some(tool) = self.tool_mm {
            document["tool"] = json!({"diameter_mm": tool});
        }
        if let Some(touched) = self.panes.iter().find_map(|pane| on(pane, Mark::Midline)) {
            document["midline"] = touched;
        }
        let stations = self.stations();
        if !stations.is_empty() {
            document["joint"] = self.joint_document(&stations);
        }
        Some(document)
    }

    fn frame_document(&self) -> Value {
        match self.frame {
            FrameSaid::Unmoved(by) => json!({"column-unmoved": {"declared_by": by}}),
            FrameSaid::Landmarks => {
                let touched = |number: u8| -> Vec<Value> {
                    self.panes.iter().filter_map(|pane| on(pane, Mark::Landmark(number))).collect()
                };
                let landmarks = (1..=LANDMARKS).map(touched).filter(|touches| touches.len() == self.panes.len());
                let landmarks: Vec<Value> = landmarks.map(|touched| json!({"touched": touched})).collect();
                json!({"landmarks": {"landmarks": landmarks}})
            }
            FrameSaid::NotAsked | FrameSaid::Unknown => json!("unknown"),
        }
    }

    fn joint_document(&self, stations: &[[f64; 3]]) -> Value {
        let mut normals = Map::new();
        let station = |[height, axial, coronal]: &[f64; 3]| json!({"height_mm": height, "axial_deg": axial, "coronal_deg": coronal});
        normals.insert("stations".to_owned(), stations.iter().map(station).collect());
        if let Some(touched) = self.panes.iter().find_map(|pane| on(pane, Mark::Crossing)) {
            normals.insert("crossing".to_owned(), json!({"touched": touched}));
        }
        json!({"normals": normals})
    }

    /// Every edge touched, once, with each view it was touched on.
    fn edges(&self) -> Vec<Value> {
        let mut edges: BTreeMap<EdgeName, Vec<Value>> = BTreeMap::new();
        for pane in &self.panes {
            for (mark, spots) in &pane.touched {
                let (Mark::Edge(edge), Some(view), false) = (mark, pane.view, spots.is_empty()) else { continue };
                let points: Vec<Value> = spots.iter().copied().map(pixel).collect();
                let closed = matches!(edge, EdgeName::S1Foramen | EdgeName::S2Foramen) && points.len() > 2;
                let seen = json!({"view": view, "profiled": true, "points_px": points, "closed": closed});
                edges.entry(*edge).or_default().push(seen);
            }
        }
        edges.into_iter().map(|(edge, seen)| json!({"edge": edge, "seen": seen})).collect()
    }
}

/// What is missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Lacks {
    Picture,
    Touch(Mark),
    /// How long the known length is.
    Length,
    /// Whether anything moved between the views.
    Frame,
}

impl Lacks {
    pub fn words(self) -> String {
        match self {
            Self::Picture => "choose a picture".to_owned(),
            Self::Touch(mark) => format!("touch {}", mark.words()),
            Self::Length => "say how long the known length is".to_owned(),
            Self::Frame => "say whether anything moved between the views".to_owned(),
        }
    }
}

/// The same direction, -180 to 180 degrees.
fn within_half_turn(degrees: f64) -> f64 {
    degrees - 360.0 * (degrees / 360.0).round()
}

/// A mark of a picture as the document has it.
fn on(pane: &Pane, mark: Mark) -> Option<Value> {
    let at = pane.spots(mark).first()?;
    Some(json!({"view": pane.view?, "at_px": pixel(*at)}))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Distances, Point, Pose};
    use crate::pin;
    use crate::ports::image::{GreyImage, Pixels};
    use crate::presenter::view_known::{SOURCE_TO_DETECTOR_MM, SOURCE_TO_ISOCENTRE_MM, target};
    use crate::units::Millimetres;

    const SIDE: u32 = 1025;
    /// Rounding of angles to beams and back, mm on the detector.
    const ROUNDING_MM: f64 = 1e-6;

    fn plan() -> Plan {
        serde_json::from_slice(include_bytes!("../../tests/support/small_plan.json")).expect("a plan")
    }

    fn touched(view: ViewName, tip: Spot, shank: Spot) -> Pane {
        let pixels = vec![0; (SIDE * SIDE) as usize];
        let image = GreyImage::plain(SIDE, SIDE, Pixels::Eight(pixels)).expect("a picture");
        let picture = Picture::new(image, "a.png".to_owned(), "10:46".to_owned());
        let length = vec![[255.6, 900.0], [768.4, 900.0]];
        let touched = [(Mark::Tip, vec![tip]), (Mark::Shank, vec![shank]), (Mark::Length, length)];
        let (picture, touched) = (Some(picture), touched.into());
        Pane { view: Some(view), picture, touched, length_mm: Some(100.0), ..Pane::default() }
    }

    /// The sample document's touches, mirrored to the left side.
    fn draft() -> Draft {
        let place = serde_json::from_str(r#"{"step": "pin-in", "side": "left", "implant": 1}"#).expect("a place");
        let views = [ViewName::InletBody, ViewName::OutletWorking];
        let mut draft = Draft::new(place, "pin-direction".into(), Side::Left, views, Room::USUAL);
        let mirrored = |[across, down]: Spot| [f64::from(SIDE - 1) - across, down];
        draft.panes = vec![
            touched(ViewName::InletBody, mirrored([680.4, 495.0]), mirrored([992.1, 479.6])),
            touched(ViewName::OutletWorking, mirrored([684.3, 654.7]), mirrored([1009.1, 735.2])),
        ];
        draft.frame = FrameSaid::Unmoved(DeclaredBy::Radiographer);
        draft
    }

    fn found(draft: &Draft) -> Finding {
        let document = draft.document(&plan()).expect("everything is touched").to_string();
        pin::find(&pin::read(document.as_bytes()).unwrap_or_else(|fault| panic!("{fault}: {document}")))
    }

    /// [R-PIN-9] Source of the twist: the reference specimen, about 30° axial cranially and 13° caudally.
    #[test]
    fn a_joint_known_at_three_heights_is_judged_where_the_pin_crosses() {
        let mut draft = draft();
        assert!(draft.stations().is_empty() && found(&draft).joint.is_none());
        let heights = [(-45.0, 13.0), (-25.0, 21.0), (-5.0, 30.0)];
        draft.joint = JointLevel::ALL.map(JointAt::empty);
        for (at, (height, axial)) in draft.joint.iter_mut().zip(heights) {
            (at.height_mm, at.axial_deg, at.coronal_deg) = (Some(height), Some(axial), Some(10.0));
        }
        let document = draft.document(&plan()).expect("everything is touched");
        assert_eq!(document["joint"]["normals"]["stations"].as_array().map(Vec::len), Some(3));
        let off = |draft: &Draft| found(draft).joint.expect("an angle to the joint").off_perpendicular_deg.value;
        let twisted = off(&draft);
        draft.joint[0].axial_deg = None;
        draft.joint[2].axial_deg = None;
        let one = draft.stations();
        assert_eq!(one, [[-25.0, 21.0, 10.0]]);
        assert!((off(&draft) - twisted).abs() < 9.0, "one height is wrong by less than the twist");
        draft.joint[1].height_mm = None;
        assert_eq!(draft.stations(), [[0.0, 21.0, 10.0]], "a single one needs no height");
    }

    /// [R-TABLET-18]
    #[test]
    fn a_third_view_is_found_with_the_others_and_shown_in_place_of_the_second() {
        let mut draft = draft();
        assert_eq!(draft.shown(), [0, 1]);
        let two = found(&draft);
        draft.panes.push(touched(ViewName::OutletEnFace, [340.0, 640.0], [15.0, 720.0]));
        draft.chosen = (2, Mark::Tip);
        assert_eq!((draft.shown(), draft.from(2)), ([0, 2], vec![2, 0, 1]));
        let three = found(&draft);
        assert_eq!((two.views.len(), three.views.len()), (2, 3));
    }

    /// [R-PIN-6] 3.2 mm at a magnification of 1000 over 650 are 4.92 mm, 16.4 of 0.3 mm on the picture.
    #[test]
    fn the_pin_s_own_width_and_a_midline_go_into_the_document() {
        let mut draft = draft();
        let tip = draft.panes[0].touched[&Mark::Tip][0];
        let width = |wide: f64| vec![[tip[0], tip[1] - wide / 2.0], [tip[0], tip[1] + wide / 2.0]];
        draft.panes[0].touched.insert(Mark::Midline, vec![[512.0, 512.0]]);
        draft.panes[0].touched.insert(Mark::Width, width(16.4));
        assert!(draft.document(&plan()).expect("whole")["midline"].is_object());
        let caught =
            |draft: &Draft| found(draft).caught.iter().any(|caught| caught.to_string().starts_with("Scale doubtful"));
        let fits = caught(&draft);
        draft.panes[0].touched.insert(Mark::Width, width(24.0));
        assert!(!fits && caught(&draft), "{:?}", found(&draft).caught);
    }

    /// However the pelvis is turned, a picture with the table's head end up is read as the machine takes it.
    #[test]
    fn pictures_of_a_turned_pelvis_are_read_as_the_machine_takes_them() {
        for (turned_deg, stand) in [(6.0, Side::Left), (-9.0, Side::Left), (6.0, Side::Right), (0.0, Side::Left)] {
            let mut draft = draft();
            draft.room = Room { stand, turned_deg, ..Room::USUAL };
            draft.panes.push(touched(ViewName::Lateral, [500.0, 400.0], [500.0, 300.0]));
            let bytes = draft.document(&plan()).expect("whole").to_string();
            let scene = pin::read(bytes.as_bytes()).expect("a scene");
            for view in &scene.views {
                let arm = draft.room.arm();
                let (target, _) = target(&plan(), view.name, draft.room, None).expect("a target");
                let distances = Distances {
                    source_to_isocentre: Millimetres(SOURCE_TO_ISOCENTRE_MM),
                    source_to_detector: Millimetres(SOURCE_TO_DETECTOR_MM),
                };
                let taken = arm.pose(&target.joints, Point::origin(), distances);
                let places = [Point::new(30.0, -20.0, 40.0), Point::new(-15.0, 25.0, -35.0)];
                for place in places {
                    let seen = |pose: &Pose| pose.project(&place).expect("in front of the source");
                    let (as_read, as_taken) = (seen(&view.pose), seen(&taken));
                    let apart = (as_read.across_mm - as_taken.across_mm).hypot(as_read.down_mm - as_taken.down_mm);
                    assert!(apart < ROUNDING_MM, "{} turned {turned_deg}: {apart} mm apart", view.name);
                }
            }
        }
    }
}
