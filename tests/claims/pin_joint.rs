//! The twist of the joint, held to a real one.

use crate::pin_scene::{direction, scene, stations};
use brimline::carm::{Point, Vector};
use brimline::pin::{JointError, PinLine, Scene, Surface, find, medial_normal};
use brimline::units::Side;

/// Outline of the iliac auricular surface, right and left, mm LPS from the centre of the S1 endplate.
///
/// Source: figures of one CT specimen, package gias2 0.7.14 of the Python Package Index, MPL-2.0 (Auckland
/// Bioengineering Institute and GIAS2 authors); derived figures, notice kept.
const RIGHT: [[f64; 3]; 27] = [
    [-49.7, 24.0, 22.8],
    [-49.1, 27.7, 18.5],
    [-49.7, 29.2, 7.4],
    [-48.4, 31.3, 4.1],
    [-46.4, 34.3, 2.3],
    [-41.1, 40.9, 3.2],
    [-37.9, 46.4, 2.2],
    [-36.5, 49.8, -1.0],
    [-37.7, 53.3, -8.3],
    [-37.1, 57.3, -10.2],
    [-36.4, 65.7, -11.8],
    [-40.3, 63.8, -15.4],
    [-43.9, 63.1, -19.4],
    [-46.5, 62.9, -30.0],
    [-47.9, 60.5, -31.9],
    [-48.3, 59.7, -33.9],
    [-49.8, 56.1, -36.8],
    [-51.0, 47.0, -35.5],
    [-49.6, 42.1, -33.6],
    [-52.6, 22.6, -29.1],
    [-55.5, 16.9, -26.1],
    [-57.2, 14.6, -21.6],
    [-59.0, 12.7, -4.8],
    [-58.2, 15.8, 3.4],
    [-57.7, 16.5, 11.8],
    [-52.9, 19.8, 21.4],
    [-50.7, 22.3, 22.9],
];
const LEFT: [[f64; 3]; 34] = [
    [52.2, 20.9, 15.1],
    [53.5, 19.3, 14.3],
    [54.6, 18.0, 12.3],
    [55.9, 15.4, 1.1],
    [55.3, 14.8, -7.3],
    [53.8, 16.4, -10.9],
    [54.3, 12.3, -13.7],
    [52.0, 14.0, -19.7],
    [51.1, 11.6, -23.6],
    [50.0, 11.6, -27.2],
    [45.6, 17.2, -33.2],
    [43.2, 23.2, -35.6],
    [41.7, 35.8, -36.0],
    [41.8, 43.5, -37.3],
    [42.8, 51.6, -41.3],
    [42.1, 56.4, -40.1],
    [40.4, 61.3, -35.7],
    [39.8, 62.8, -30.9],
    [37.3, 62.3, -23.7],
    [34.8, 63.1, -20.9],
    [32.0, 65.9, -18.5],
    [30.6, 65.8, -16.0],
    [33.2, 52.3, -12.4],
    [33.2, 51.0, -10.4],
    [32.2, 51.9, -8.0],
    [32.2, 51.5, -5.2],
    [33.5, 49.0, -2.8],
    [36.9, 42.6, -2.0],
    [42.1, 35.5, -4.4],
    [45.2, 31.6, -3.3],
    [46.8, 30.0, -0.9],
    [47.5, 30.3, 5.9],
    [49.3, 27.1, 12.3],
    [50.4, 24.1, 15.1],
];
/// The published axial angles are of planes through each limb's whole contact; the surface goes through its outline.
const OUTLINE_DEG: f64 = 2.0;

fn points(outline: &[[f64; 3]]) -> Vec<Point> {
    outline.iter().map(|at| Point::from(*at)).collect()
}

/// The axial angle of a medial normal: positive where the front edge lies farther lateral.
fn axial(side: Side, normal: &Vector) -> f64 {
    let lateral = if side == Side::Right { -1.0 } else { 1.0 };
    (normal.y / (normal.x * lateral)).atan().to_degrees()
}

/// [R-PIN-9]
///
/// Source: joint of the same specimen: axial 28.2° cranial and 12.9° caudal on the right, 31.6° and 12.7° on the left.
#[test]
fn the_reference_joint_twists_from_about_30_degrees_cranially_to_13_caudally() {
    for (side, outline, wanted) in [(Side::Right, &RIGHT[..], [28.2, 12.9]), (Side::Left, &LEFT[..], [31.6, 12.7])] {
        let surface = Surface::fit(side, &points(outline)).expect("a surface");
        let middle: f64 = outline.iter().map(|at| at[1]).sum::<f64>() / outline.len() as f64;
        for (height, wanted) in [-5.0, -28.0].into_iter().zip(wanted) {
            let normal = surface.medial_normal(&Point::new(0.0, middle, height));
            let found = axial(side, &normal);
            assert!((found - wanted).abs() < OUTLINE_DEG, "{side} at {height}: {found}° for {wanted}°");
            assert!(normal.x * if side == Side::Right { 1.0 } else { -1.0 } > 0.0, "toward the sacrum");
        }
    }
}

/// [R-PIN-9]
#[test]
fn the_angle_is_that_of_the_joint_where_the_pin_crosses() {
    // Square to the cranial limb, moved down along the joint without turning it.
    let at_height = |height: f64| {
        let normal = medial_normal(Side::Right, 28.2_f64.to_radians(), (-7.6_f64).to_radians());
        let pin = PinLine { tip: Point::new(-34.0, 31.0, height), axis: normal };
        let views = crate::pin_scene::views(&pin);
        let scene = crate::pin_scene::scene_of(&pin, Side::Right, views, &crate::pin_scene::unmoved());
        find(&scene).joint.expect("a joint").off_perpendicular_deg.value
    };
    let cranial = at_height(0.0);
    let caudal = at_height(-34.0);
    assert!(cranial < 0.01, "{cranial}");
    // Between the two limbs' normals: 15.3° of axial twist, most of it about the long axis.
    assert!((caudal - 15.1).abs() < 0.3, "{caudal}");
}

#[test]
fn a_line_crosses_a_twisted_surface_where_both_are() {
    let surface = Surface::fit(Side::Right, &points(&RIGHT)).expect("a surface");
    for (y, z, way) in [(20.0, 10.0, [1.0, -0.2, 0.1]), (40.0, -20.0, [0.9, 0.3, -0.4]), (30.0, -5.0, [1.0, 0.0, 0.0])]
    {
        let line = PinLine { tip: Point::new(-20.0, y, z), axis: direction(way[0], way[1], way[2]) };
        let along = surface.crossing(&line).expect("crosses");
        let there = line.at(along);
        // Stepping off by the normal on either side changes the side of the surface.
        let again = surface.crossing(&PinLine { tip: there, ..line }).expect("crosses");
        assert!(again.abs() < 1e-9 && (-60.0..0.0).contains(&along), "{along} {again}");
    }
}

#[test]
fn points_on_one_line_are_no_joint() {
    let line: Vec<Point> = (0..5).map(|step| Point::new(-48.0, f64::from(step), 2.0 * f64::from(step))).collect();
    assert_eq!(Surface::fit(Side::Right, &line), Err(JointError::OnOneLine));
    assert_eq!(Surface::fit(Side::Right, &line[..2]), Err(JointError::TooFew { found: 2 }));
}

#[test]
fn a_pin_along_the_joint_gets_no_length_past_it() {
    let normal = medial_normal(Side::Right, 20.0_f64.to_radians(), 0.0);
    let along = direction(normal.y, -normal.x, 0.0).into_inner() + normal.into_inner() * 0.1;
    let pin = PinLine { tip: Point::new(-40.0, 30.0, -16.0), axis: direction(along.x, along.y, along.z) };
    let pin = if pin.axis.x < 0.0 { PinLine { axis: -pin.axis, ..pin } } else { pin };
    // A lateral of the pelvis shows a pin that runs front to back.
    let views = vec![
        crate::pin_scene::view(brimline::carm::ViewName::Lateral, crate::pin_scene::pose(90.0, 0.0), &pin),
        crate::pin_scene::view(brimline::carm::ViewName::OutletEnFace, crate::pin_scene::pose(180.0, 63.0), &pin),
    ];
    let joint = Some(crate::pin_scene::joint(&views, pin.at(-14.0)));
    let finding =
        find(&Scene { joint, ..crate::pin_scene::scene_of(&pin, Side::Right, views, &crate::pin_scene::unmoved()) });
    let named = |caught: &brimline::pin::Caught| matches!(caught, brimline::pin::Caught::PinAlongJoint { .. });
    assert!(finding.caught.iter().any(named), "{:?}", finding.caught);
    assert_eq!(finding.joint.and_then(|joint| joint.past_mm), None);
    assert_eq!((stations().len(), scene().further.len()), (2, 2));
}
