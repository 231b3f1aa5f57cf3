//! The joint chain against what is published and against itself.

use super::*;
use crate::carm::{PatientPosition, PositionerAngles};

/// Rounding of a handful of trigonometric calls, degrees.
const ROUNDING_DEG: f64 = 1e-9;
/// Half of the last digit that the reference values print.
const PRINTED_DEG: f64 = 0.05;

fn arm(position: PatientPosition, tube: Tube, off_square: f64, turn: f64) -> Arm {
    let lying = Lying { position, turn: Degrees(turn) };
    Arm { lying, tube, stand: Side::Right, off_square: Degrees(off_square) }
}

fn joints(wag: f64, tilt: f64, orbit: f64) -> Joints {
    Joints { wag: Degrees(wag), tilt: Degrees(tilt), orbit: Degrees(orbit) }
}

fn every_arm() -> Vec<Arm> {
    let mut all = Vec::new();
    for position in [PatientPosition::Supine, PatientPosition::Prone] {
        for tube in [Tube::Under, Tube::Over] {
            all.extend([(0.0, 0.0), (20.0, 0.0), (-13.0, 6.0)].map(|(off, turn)| arm(position, tube, off, turn)));
        }
    }
    all
}

/// Source: computed from the joint chain and the definition of the positioner angles in DICOM PS3.3 C.8.7.5.1.2; the
/// arithmetic is `asin(cos 10 sin 43)` and `atan(tan 10 / cos 43)`.
#[test]
fn tilt_minus_43_with_orbit_10_is_primary_13_6_secondary_minus_42_2() {
    let supine = arm(PatientPosition::Supine, Tube::Under, 0.0, 0.0);
    let angles = PositionerAngles::of(&supine.beam(&joints(0.0, -43.0, 10.0)));
    assert!((angles.primary.0 - 13.6).abs() < PRINTED_DEG, "{angles:?}");
    assert!((angles.secondary.0 + 42.2).abs() < PRINTED_DEG, "{angles:?}");
}

/// Source: DICOM PS3.3 C.8.7.5.1.2 applied to a tube under the table: the same beam line has its detector at the front
/// and toward the head supine, at the back and toward the feet prone.
#[test]
fn inlet_25_and_outlet_43_point_as_dicom_has_them_supine_and_prone() {
    let cases = [
        (PatientPosition::Supine, 25.0, (0.0, 25.0), [0.0, -0.906, 0.423]),
        (PatientPosition::Prone, -25.0, (180.0, -25.0), [0.0, 0.906, -0.423]),
        (PatientPosition::Supine, -43.0, (0.0, -43.0), [0.0, -0.731, -0.682]),
        (PatientPosition::Prone, 43.0, (180.0, 43.0), [0.0, 0.731, 0.682]),
    ];
    for (position, tilt, (primary, secondary), [x, y, z]) in cases {
        let beam = arm(position, Tube::Under, 0.0, 0.0).beam(&joints(0.0, tilt, 0.0));
        assert!((beam.into_inner() - Vector::new(x, y, z)).amax() < 5e-4 + 1e-9, "{position:?} {tilt}: {beam:?}");
        let angles = PositionerAngles::of(&beam);
        assert!((angles.primary.0.abs() - primary).abs() < ROUNDING_DEG, "{angles:?}");
        assert!((angles.secondary.0 - secondary).abs() < ROUNDING_DEG, "{angles:?}");
    }
}

#[test]
fn joints_return_from_their_beam() {
    for arm in every_arm() {
        for (tilt, orbit) in [(0.0, 0.0), (25.0, 0.0), (-43.0, 10.0), (12.0, -60.0), (-60.0, 30.0)] {
            let found = arm.by_tilt(&arm.beam(&joints(3.0, tilt, orbit)), Degrees(3.0)).expect("not along the boom");
            assert!((found.tilt.0 - tilt).abs() < ROUNDING_DEG, "{arm:?} {tilt} {orbit}: {found:?}");
            assert!((found.orbit.0 - orbit).abs() < ROUNDING_DEG, "{arm:?} {tilt} {orbit}: {found:?}");
        }
        for (wag, orbit) in [(0.0, 90.0), (5.0, 88.0), (-7.0, -93.0), (0.0, -90.0), (12.0, 75.0)] {
            let found = arm.by_wag(&arm.beam(&joints(wag, 2.0, orbit)), Degrees(2.0)).expect("within reach");
            assert!((found.wag.0 - wag).abs() < ROUNDING_DEG, "{arm:?} {wag} {orbit}: {found:?}");
            assert!((found.orbit.0 - orbit).abs() < ROUNDING_DEG, "{arm:?} {wag} {orbit}: {found:?}");
        }
    }
}

#[test]
fn at_the_lateral_tilt_only_rolls_the_picture() {
    let prone = arm(PatientPosition::Prone, Tube::Under, 0.0, 0.0);
    let distances = Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };
    let level = prone.pose(&joints(0.0, 0.0, 90.0), Point::origin(), distances);
    let tilted = prone.pose(&joints(0.0, 12.0, 90.0), Point::origin(), distances);
    assert!((level.beam().into_inner() - tilted.beam().into_inner()).norm() < 1e-12);
    assert!((level.down.angle(&tilted.down).to_degrees() - 12.0).abs() < ROUNDING_DEG);
    assert_eq!(prone.by_tilt(&left(), Degrees(0.0)), Err(ArmError::AlongTheBoom));
    // Wag turns the beam toward head or feet, orbit toward front or back, and neither does the other's part.
    let (wagged, orbited) = (prone.beam(&joints(4.0, 0.0, 90.0)), prone.beam(&joints(0.0, 0.0, 94.0)));
    assert!(wagged.y.abs() < 1e-12 && (wagged.z.asin().to_degrees().abs() - 4.0).abs() < ROUNDING_DEG, "{wagged:?}");
    assert!(orbited.z.abs() < 1e-12 && (orbited.y.asin().to_degrees().abs() - 4.0).abs() < ROUNDING_DEG, "{orbited:?}");
}

#[test]
fn at_a_vertical_beam_wag_only_rolls_the_picture() {
    let supine = arm(PatientPosition::Supine, Tube::Under, 0.0, 0.0);
    assert_eq!(supine.by_wag(&supine.home(), Degrees(0.0)), Err(ArmError::Vertical));
    let steep = supine.beam(&joints(0.0, 0.0, 60.0));
    assert_eq!(supine.by_wag(&steep, Degrees(80.0)), Err(ArmError::OutOfReach { tilt_deg: 80.0 }));
}

/// The chain as three turns, one inside the other.
#[test]
fn the_chain_is_wag_about_the_vertical_tilt_about_the_boom_orbit_along_the_c() {
    for arm in every_arm() {
        let (vertical, home, head) = (arm.lying.up(), arm.home(), arm.lying.toward_head());
        let boom = Direction::new_normalize(home.cross(&head));
        let along_c = Direction::new_normalize(home.cross(&left()));
        let joints = joints(7.0, -31.0, 17.0);
        let wag = Rotation::from_axis_angle(&vertical, joints.wag.radians() + arm.off_square.radians());
        let tilt = Rotation::from_axis_angle(&boom, joints.tilt.radians());
        let orbit = Rotation::from_axis_angle(&along_c, joints.orbit.radians());
        let (beam, axes) = arm.beam_and_axes(&joints);
        let near = |found: &Direction, wanted: Direction| (found.into_inner() - wanted.into_inner()).norm() < 1e-12;
        assert!(near(&beam, wag * tilt * orbit * home), "{arm:?}");
        assert!(near(&axes[1], wag * boom) && near(&axes[2], wag * tilt * along_c), "{arm:?}");
        let distances = Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };
        let pose = arm.pose(&joints, Point::origin(), distances);
        assert!(near(&pose.down, wag * tilt * orbit * -head), "{arm:?}");
    }
}

#[test]
fn the_pose_of_the_chain_shows_what_a_pose_of_its_beam_shows() {
    let distances = Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };
    for arm in every_arm() {
        let joints = joints(0.0, -31.0, 17.0);
        let pose = arm.pose(&joints, Point::new(1.0, 2.0, 3.0), distances);
        assert!((pose.beam().into_inner() - arm.beam(&joints).into_inner()).norm() < 1e-12);
        assert!((pose.source_to_detector_mm() - 1000.0).abs() < 1e-9);
        // Seen from the detector, never mirrored.
        assert!(pose.across.cross(&pose.down).dot(&pose.beam()) < -1.0 + 1e-12);
    }
}

#[test]
fn a_receptor_stands_where_the_tube_leaves_it() {
    let line = PositionerAngles { primary: Degrees(0.0), secondary: Degrees(25.0) }.beam();
    for (position, tube, front) in [
        (PatientPosition::Supine, Tube::Under, true),
        (PatientPosition::Supine, Tube::Over, false),
        (PatientPosition::Prone, Tube::Under, false),
        (PatientPosition::Prone, Tube::Over, true),
    ] {
        let end = arm(position, tube, 0.0, 0.0).receptor_end(-line, Side::Left);
        assert_eq!(end.y < 0.0, front, "{position:?} {tube:?}");
        let side = arm(position, tube, 0.0, 0.0).receptor_end(left(), Side::Right);
        assert!(side.x < 0.0);
    }
}
