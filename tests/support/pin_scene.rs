//! A pin of the reference specimen's right side, seen on two views, to be changed by the test.
#![allow(dead_code, reason = "the bench and the peers use a part")]

use brimline::carm::space::Point;
use brimline::carm::{Direction, ImagePoint, Pose, PositionerAngles, Vector, ViewName};
use brimline::pin::{
    Crossing, DeclaredBy, Edge, EdgeName, Frame, Joint, PinLine, PinView, Scene, Seen, Station, Tool, ViewErrors,
};
use brimline::units::{Degrees, Millimetres, Side};

/// Where the pin crosses the right joint of the reference specimen, near its centre.
///
/// Source: figures of one CT specimen, package gias2 0.7.14 of the Python Package Index, MPL-2.0 (Auckland
/// Bioengineering Institute and GIAS2 authors); derived figures, notice kept.
pub const CROSSING: [f64; 3] = [-47.9, 36.6, -9.6];
/// Axial and coronal angles of that joint, caudal and cranial limb. Source: as above.
pub const STATIONS: [(f64, f64, f64); 2] = [(-28.0, 12.9, -8.3), (-5.0, 28.2, -7.6)];

/// Errors of a careful team: 1 mm at the patient, 1 % of scale, 1° of angle.
pub const ERRORS: ViewErrors = ViewErrors { touch: Millimetres(1.0 / 0.65), scale: 0.01, angle: Degrees(1.0) };

pub fn direction(x: f64, y: f64, z: f64) -> Direction {
    Direction::new_normalize(Vector::new(x, y, z))
}

/// 14 mm past the joint.
pub fn true_pin() -> PinLine {
    let axis = direction(0.955, -0.29, 0.06);
    PinLine { tip: Point::from(CROSSING) + axis.into_inner() * 14.0, axis }
}

pub fn pose(primary: f64, secondary: f64) -> Pose {
    let beam = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) }.beam();
    Pose::looking(beam, Point::origin(), Millimetres(650.0), Millimetres(1000.0), Degrees(0.0))
}

/// A view with exact touches: the tip, and 40 and 80 mm up the shank.
pub fn view(name: ViewName, pose: Pose, pin: &PinLine) -> PinView {
    let seen = |at: Point| pose.project(&at).expect("in front of the source");
    PinView {
        name,
        pose,
        isocentre: Point::origin(),
        errors: ERRORS,
        tip: seen(pin.tip),
        shank: vec![seen(pin.at(-40.0)), seen(pin.at(-80.0))],
        pictured_width: None,
    }
}

pub const INLET: (f64, f64) = (180.0, -21.0);
pub const OUTLET: (f64, f64) = (180.0, 43.0);

/// Inlet 21° and outlet 43°, prone, of that pin.
pub fn views(pin: &PinLine) -> Vec<PinView> {
    vec![
        view(ViewName::InletBody, pose(INLET.0, INLET.1), pin),
        view(ViewName::OutletWorking, pose(OUTLET.0, OUTLET.1), pin),
    ]
}

pub fn unmoved() -> Frame {
    Frame::ColumnUnmoved { declared_by: DeclaredBy::Radiographer, drift: Millimetres(1.0) }
}

pub fn stations() -> Vec<Station> {
    let station = |(height, axial, coronal)| Station {
        height: Millimetres(height),
        axial: Degrees(axial),
        coronal: Degrees(coronal),
    };
    STATIONS.into_iter().map(station).collect()
}

/// The joint with its crossing touched on the inlet.
pub fn joint(views: &[PinView], crossing: Point) -> Joint {
    let at = views[0].pose.project(&crossing).expect("in front of the source");
    Joint::Normals {
        stations: stations(),
        sigma: Degrees(2.0),
        height_sigma: Millimetres(3.0),
        crossing: Crossing::Touched { view: 0, at },
    }
}

/// Points on an edge in the patient, touched exactly on a view.
pub fn edge(name: EdgeName, view: usize, views: &[PinView], points: &[[f64; 3]], closed: bool) -> Edge {
    let pose = &views[view].pose;
    let seen = |at: &[f64; 3]| pose.project(&Point::from(*at)).expect("in front of the source");
    Edge { name, seen: vec![Seen { view, profiled: true, points: points.iter().map(seen).collect(), closed }] }
}

pub const FRONT_CORTEX: [[f64; 3]; 4] =
    [[-36.0, -2.0, -13.0], [-28.0, -4.0, -13.0], [-10.0, -7.2, -13.2], [0.0, -7.5, -13.3]];

/// A circle of 5 mm about the S1 foramen, across the outlet's beam.
pub fn foramen(views: &[PinView]) -> Edge {
    let (centre, pose) = (Point::new(-24.0, 30.0, -24.0), &views[1].pose);
    let at = |step: u32| {
        let (sin, cos) = (f64::from(step) * std::f64::consts::FRAC_PI_4).sin_cos();
        (centre + (pose.across.into_inner() * cos + pose.down.into_inner() * sin) * 5.0).into()
    };
    let points: Vec<[f64; 3]> = (0..8).map(at).collect();
    edge(EdgeName::S1Foramen, 1, views, &points, true)
}

/// The whole scene of a pin, everything known and touched exactly.
pub fn scene_of(pin: &PinLine, side: Side, views: Vec<PinView>, frame: &Frame) -> Scene {
    Scene {
        side,
        frame: frame.common(&views),
        pin_diameter: Millimetres(3.2),
        tool: Some(Tool { diameter: Millimetres(12.0), length: Millimetres(100.0) }),
        margin_limit: brimline::pin::MARGIN_LIMIT,
        joint: Some(joint(&views, pin.at(-14.0))),
        edges: Vec::new(),
        further: vec![Millimetres(10.0), Millimetres(20.0)],
        midline: None,
        views,
    }
}

pub fn scene() -> Scene {
    let pin = true_pin();
    let views = views(&pin);
    let edges = vec![foramen(&views), edge(EdgeName::FrontCortex, 0, &views, &FRONT_CORTEX, false)];
    Scene { edges, ..scene_of(&pin, Side::Right, views, &unmoved()) }
}

pub fn shifted(at: ImagePoint, across: f64, down: f64) -> ImagePoint {
    ImagePoint { across_mm: at.across_mm + across, down_mm: at.down_mm + down }
}
