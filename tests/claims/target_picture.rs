//! The model fitted to a plan, and what a view's picture must show, found on it.

use brimline::anatomy::{Anatomy, Angle, SideAnatomy};
use brimline::carm::{
    Arm, Direction, Distances, Lying, PatientPosition, Rotation, Tube, Vector, ViewName, view_sheets, view_target,
};
use brimline::fluoro::{Raster, Structure, apart_deg, pose_of, structures};
use brimline::pelvis::{Bones, Fitted, Known, Pelvis, SLOPE, Shape};
use brimline::units::{Degrees, Millimetres, Side};

/// Angles are met by construction or by halving 63° fourteen times: under 0.01°. The rest is the model's own grid.
const ANGLE_DEG: f64 = 0.05;
/// What a cone beam leaves between two places of one line: up to 30 mm off the central ray, up to 120 mm apart along it,
/// of 650 mm: 8.5 mm on the detector, 15 pixels of 0.59 mm.
const CONE_PX: f64 = 15.0;
/// Off by this much the shortest pair, 28 mm apart, must stand wider apart than in the true view.
const OFF_DEG: f64 = 15.0;

const DISTANCES: Distances =
    Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };

fn measured() -> Known {
    let mut anatomy = Anatomy::default();
    anatomy.midline.s1_endplate = Some(Angle::touched(-35.0, 2.0));
    anatomy.midline.s2_to_symphysis = Some(Angle::touched(-46.0, 2.0));
    let mut left = SideAnatomy::empty(Side::Left);
    (left.s1_coronal, left.s1_axial) = (Some(Angle::typed(29.0)), Some(Angle::typed(12.0)));
    anatomy.sides.push(left);
    Known { anatomy, dysmorphic: [Some(true), None], thickness_mm: Some(240.0) }
}

/// [R-TARGET-1]
#[test]
fn the_model_has_the_angles_that_were_measured_and_names_what_is_typical() {
    let fitted = Fitted::to(&measured());
    let pelvis = Pelvis::of(&fitted.shape);
    let own = pelvis.landmarks.measurements();
    assert!((own.endplate.unwrap().value.0 - 35.0).abs() < ANGLE_DEG, "{own:?}");
    assert!((own.symphysis_over_s2.unwrap().value.0 - 46.0).abs() < ANGLE_DEG, "{own:?}");
    let [coronal, axial] = Bones::of(&fitted.shape).corridor_angles(0);
    assert!((coronal - 29.0).abs() < ANGLE_DEG && (axial - 12.0).abs() < ANGLE_DEG, "{coronal} {axial}");
    assert!((fitted.shape.girth[1] - 120.0).abs() < f64::EPSILON);
    assert!(fitted.shape.dysmorphism[0] > 0.5 && fitted.shape.dysmorphism[1] < f64::EPSILON);
    assert!(fitted.measured.iter().any(|name| name == "form of the left ala"), "{:?}", fitted.measured);
    assert!(fitted.typical.iter().any(|name| name == "form of the right ala"), "{:?}", fitted.typical);
    assert_eq!(fitted.held, [""; 0]);
}

/// [R-TARGET-1]
#[test]
fn where_nothing_was_measured_the_model_is_the_average_and_says_so() {
    let fitted = Fitted::to(&Known::default());
    assert_eq!(fitted.shape, Shape::average());
    assert_eq!(fitted.measured, [""; 0]);
    for name in ["slope of the sacrum", "lie of the symphysis", "thickness of the trunk", "right coronal S1 corridor"] {
        assert!(fitted.typical.iter().any(|typical| typical == name), "{name}");
    }
}

/// [R-TARGET-1]
#[test]
fn a_measure_beyond_the_model_is_held_at_its_border_and_named() {
    let mut known = Known::default();
    known.anatomy.midline.s1_endplate = Some(Angle::touched(-75.0, 2.0));
    known.anatomy.midline.s2_to_symphysis = Some(Angle::touched(-89.0, 2.0));
    let fitted = Fitted::to(&known);
    assert_eq!(fitted.held, ["slope of the S1 endplate", "lie of the symphysis"]);
    assert!((fitted.shape.slope - (SLOPE.mean + 3.0 * SLOPE.deviation)).abs() < 1e-9);
}

/// [R-TARGET-1]
#[test]
fn the_front_cortex_or_the_body_sets_the_slope_where_no_endplate_was_measured() {
    for view in [ViewName::InletBody, ViewName::OutletEnFace] {
        let mut known = Known::default();
        let wanted = match view {
            ViewName::InletBody => {
                known.anatomy.midline.s1_anterior_cortex = Some(Angle::touched(27.0, 2.0));
                27.0
            }
            _ => {
                known.anatomy.midline.s1_body_normal = Some(Angle::touched(-50.0, 2.0));
                50.0
            }
        };
        let pelvis = Pelvis::of(&Fitted::to(&known).shape);
        let own = pelvis.landmarks.measurements().of(view).unwrap().value.0;
        assert!((own - wanted).abs() < ANGLE_DEG, "{view}: {own} for {wanted}");
    }
}

fn beam(pelvis: &Pelvis, view: ViewName) -> Direction {
    let arm = Arm {
        lying: Lying::as_planned(PatientPosition::Prone),
        tube: Tube::Under,
        stand: Side::Left,
        off_square: Degrees(0.0),
    };
    let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view).unwrap();
    let target = view_target(sheet, &pelvis.landmarks.measurements(), &arm, Side::Right).unwrap();
    assert!(apart_deg(pelvis, &target).is_none_or(|apart| apart.abs() < 1e-9), "{view}: its own view is its own");
    target.beam
}

/// How far apart the places of a structure fall, pixels, of a line its middle: head to foot, and at a lateral any way. What
/// a cone beam adds farther from its central ray is no error of the view.
fn spread(structure: &Structure, any_way: bool) -> f64 {
    let starts: Vec<[f64; 2]> = structure.lines.iter().map(|line| line[line.len() / 2]).collect();
    let apart = |one: &[f64; 2], other: &[f64; 2]| {
        let across = if any_way { one[0] - other[0] } else { 0.0 };
        across.hypot(one[1] - other[1])
    };
    starts.iter().flat_map(|one| starts.iter().map(move |other| apart(one, other))).fold(0.0, f64::max)
}

/// [R-TARGET-2]
#[test]
fn what_a_view_superimposes_falls_together_in_the_true_view_and_apart_beside_it() {
    let pelvis = Pelvis::of(&Shape::average());
    let raster = Raster::square(512, 300.0);
    let mut faults = Vec::new();
    for view in ViewName::ALL {
        let true_beam = beam(&pelvis, view);
        let lateral = view == ViewName::Lateral;
        let axis = if lateral { Vector::z_axis() } else { Vector::x_axis() };
        let off = Rotation::from_axis_angle(&axis, OFF_DEG.to_radians()) * true_beam;
        let [shown, missed] = [true_beam, off].map(|beam| {
            let pose = pose_of(view, &pelvis, beam, DISTANCES);
            structures(view, &pelvis, &pose, &raster)
        });
        assert!(!shown.is_empty(), "{view}");
        for (shown, missed) in shown.iter().zip(&missed) {
            let inside = |place: &[f64; 2]| place.iter().all(|at| (0.0..512.0).contains(at));
            if !shown.lines.iter().flatten().all(inside) {
                faults.push(format!("{view}, {}: {:?}", shown.name, shown.lines));
            }
            if shown.superimposed {
                let (near, far) = (spread(shown, lateral), spread(missed, lateral));
                if near >= CONE_PX || far <= near + 4.0 {
                    faults.push(format!("{view}, {}: {near:.1} apart, {far:.1} beside it", shown.name));
                }
            }
        }
    }
    assert_eq!(faults, [""; 0]);
}
