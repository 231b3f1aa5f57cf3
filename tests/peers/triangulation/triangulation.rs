//! `OpenCV` and `SciPy` triangulate as the program does.

use crate::projection_peers::{Stream, agreed_by};
use brimline::carm::{Direction, ImagePoint, Point, Pose, PositionerAngles};
use brimline::pin::{Shadow, axis, closest_approach};
use brimline::units::Degrees;
use serde_json::{Value, json};

const PAIRS: usize = 1_000;
/// Beams nearer to each other or to the pin's plane than this are another test's matter: rounding grows without bound.
const APART_DEG: f64 = 20.0;

struct Posed {
    pose: Pose,
    made_of: Value,
}

fn posed(random: &mut Stream, isocentre: Point) -> Posed {
    let (primary, secondary) = (random.within(-180.0, 180.0), random.within(-80.0, 80.0));
    let (roll, distances) = (random.within(-180.0, 180.0), random.distances());
    let beam = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) }.beam();
    let (to_isocentre, to_detector) = (distances.source_to_isocentre, distances.source_to_detector);
    let made_of = json!({
        "primary": primary, "secondary": secondary, "roll": roll,
        "isocentre": [isocentre.x, isocentre.y, isocentre.z],
        "source_to_isocentre": to_isocentre.0, "source_to_detector": to_detector.0,
    });
    Posed { pose: Pose::looking(beam, isocentre, to_isocentre, to_detector, Degrees(roll)), made_of }
}

fn touch(at: ImagePoint) -> Value {
    json!([at.across_mm, at.down_mm])
}

/// Two views of one pin with what the program finds; `None` where the views say too nearly the same.
fn pair(random: &mut Stream) -> Option<Value> {
    let isocentre = random.point();
    let both = [posed(random, isocentre), posed(random, isocentre)];
    let tip = isocentre + random.point().coords * 0.4;
    let along = Direction::try_new(random.point().coords, 1.0)?;
    let shank = tip - along.into_inner() * random.within(30.0, 90.0);
    let apart = both[0].pose.beam().cross(&both[1].pose.beam());
    let enough = APART_DEG.to_radians().sin();
    let normal = Direction::try_new(apart, enough)?;
    let in_plane = along.dot(&normal).abs();
    let across = both.iter().all(|view| view.pose.beam().cross(&along).norm() > enough);
    if in_plane < enough || !across {
        return None;
    }
    let seen = |at: &Point| [0, 1].map(|view| both[view].pose.project(at).expect("in front of the source"));
    let (tips, shanks) = (seen(&tip), seen(&shank));
    let shadows: Option<Vec<Shadow>> =
        (0..2).map(|view| Shadow::of(&both[view].pose, tips[view], &[shanks[view]])).collect();
    let axis = axis(&shadows?)?;
    let rays = |touches: &[ImagePoint; 2]| [0, 1].map(|view| both[view].pose.ray(touches[view]));
    let found = closest_approach(&rays(&tips))?.point;
    // Touches that miss each other: nothing is exact any more, and the least squares decide.
    let off = tips.map(|at| ImagePoint {
        across_mm: at.across_mm + random.within(-3.0, 3.0),
        down_mm: at.down_mm + random.within(-3.0, 3.0),
    });
    let nearest = closest_approach(&rays(&off))?.point;
    let [one, other] = both.map(|view| view.made_of);
    Some(json!({
        "poses": [one, other],
        "tips": tips.map(touch), "shanks": shanks.map(touch), "off": off.map(touch),
        "tip": [found.x, found.y, found.z], "axis": [axis.x, axis.y, axis.z],
        "nearest": [nearest.x, nearest.y, nearest.z],
    }))
}

/// [R-VIEW-7] [R-PIN-1]
///
/// Source: `OpenCV`'s `triangulatePoints`, the cross product of planes by `NumPy`, and `SciPy`'s `lstsq`, 1,000
/// random pairs of views of a pin, to 1e-6 mm.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn opencv_and_scipy_find_the_same_tip_axis_and_point_between_rays() {
    let mut random = Stream(3);
    let pairs: Vec<Value> = std::iter::repeat_with(|| pair(&mut random)).flatten().take(PAIRS).collect();
    agreed_by("tests/peers/triangulation/triangulation.py", pairs);
}
