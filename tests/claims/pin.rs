//! The guide pin from two views: what is found, what is caught by name, what is not given and why.

use crate::pin_scene::{
    FRONT_CORTEX, direction, edge, pose, scene, scene_of, shifted, stations, true_pin, unmoved, view, views,
};
use brimline::carm::{Point, Pose, Rotation, Vector, ViewName};
use brimline::pin::{
    AnglesOnly, Caught, Crossing, EdgeName, Finding, Frame, FrameUsed, Joint, KnownLength, Landmark, Measured, PinLine,
    PinView, PoseFault, Question, Scene, What, Why, find, propagate,
};
use brimline::units::{Millimetres, Side};
use proptest::prelude::*;

/// What rounding of a finding to a hundredth leaves.
const HUNDREDTH: f64 = 0.005 + 1e-9;
/// Rounding of projection and intersection at a metre.
const ROUNDING_MM: f64 = 1e-6;

fn off(found: Measured, wanted: f64) -> f64 {
    (found.value - wanted).abs()
}

/// [R-PIN-1]
#[test]
fn exact_touches_give_tip_angle_and_length_past_the_joint() {
    let finding = find(&scene());
    let (pin, tip) = (true_pin(), finding.tip.expect("a common frame"));
    assert_eq!(finding.caught, []);
    for (found, wanted) in [(tip.left_mm, pin.tip.x), (tip.posterior_mm, pin.tip.y), (tip.head_mm, pin.tip.z)] {
        assert!(off(found, wanted) <= HUNDREDTH && found.plus_minus > 0.5, "{found:?} for {wanted}");
    }
    let joint = finding.joint.expect("a joint");
    assert!(off(joint.past_mm.expect("a crossing"), 14.0) <= HUNDREDTH, "{joint:?}");
    // The crossing stands at z -9.6, a fifth of the way down from the cranial station.
    let share = (-9.6 + 28.0) / 23.0;
    let (axial, coronal) = (12.9 + share * (28.2 - 12.9), -8.3 + share * (-7.6 + 8.3));
    let normal = direction(1.0, -f64::tan(f64::to_radians(axial)), f64::tan(f64::to_radians(coronal)));
    let wanted = pin.axis.angle(&normal).to_degrees();
    assert!(off(joint.off_perpendicular_deg, wanted) <= HUNDREDTH, "{joint:?} for {wanted}");
    let (sin, cos) = wanted.to_radians().sin_cos();
    assert!(off(joint.along_percent, 100.0 * sin) <= HUNDREDTH && off(joint.across_percent, 100.0 * cos) <= HUNDREDTH);
}

proptest! {
    /// [R-PIN-1]
    #[test]
    fn any_pin_on_any_two_views_returns_from_its_shadows(
        place in [-60.0..60.0_f64, -60.0..60.0, -60.0..60.0],
        way in [-1.0..1.0_f64, -1.0..1.0, -1.0..1.0],
        angles in [(-180.0..180.0_f64, -60.0..60.0_f64), (-180.0..180.0, -60.0..60.0)],
    ) {
        let way = Vector::from(way);
        prop_assume!(way.norm() > 0.3);
        let pin = PinLine { tip: Point::from(place), axis: direction(way.x, way.y, way.z) };
        let poses = angles.map(|(primary, secondary)| pose(primary, secondary));
        let planes = poses.map(|pose| (pin.tip - pose.source).cross(&pin.axis).normalize());
        // Planes that are nearly one leave no axis, nearly parallel rays no tip.
        prop_assume!(planes[0].cross(&planes[1]).norm() > 0.26);
        prop_assume!(poses[0].beam().cross(&poses[1].beam()).norm() > 0.26);
        let views = vec![view(ViewName::Ap, poses[0], &pin), view(ViewName::Lateral, poses[1], &pin)];
        prop_assume!(views.iter().all(|view| view.fault().is_none()));
        let scene = scene_of(&pin, Side::Right, views, &unmoved());
        let nominal = propagate(&scene).nominal;
        for axis in 0..3 {
            prop_assert!((nominal[axis] - pin.tip[axis]).abs() < ROUNDING_MM);
            prop_assert!((nominal[3 + axis] - pin.axis[axis]).abs() < 1e-9);
        }
        prop_assert!(nominal[6].abs() < ROUNDING_MM);
    }

    /// A finding is kept and read again without loss, whatever was touched.
    #[test]
    fn a_finding_returns_from_its_json(moves in proptest::collection::vec(-30.0..30.0_f64, 8)) {
        let mut scene = scene();
        for (view, moves) in scene.views.iter_mut().zip(moves.chunks(4)) {
            view.tip = shifted(view.tip, moves[0], moves[1]);
            view.shank[0] = shifted(view.shank[0], moves[2], moves[3]);
        }
        let finding = find(&scene);
        let text = serde_json::to_string(&finding).unwrap();
        prop_assert_eq!(serde_json::from_str::<Finding>(&text).unwrap(), finding);
        prop_assert!(!text.contains("null"), "{}", text);
    }
}

/// [R-PIN-2]
///
/// Source: tip error is length times tangent of the angle; 4° is enough to breach, Templeman et al., Clin Orthop 1996.
#[test]
fn four_degrees_are_3_5_mm_at_50_mm_5_2_at_75_and_7_0_at_100() {
    let turn = Rotation::from_axis_angle(&Vector::z_axis(), 4.0_f64.to_radians());
    for (length, wanted) in [(50.0, 3.5), (75.0, 5.2), (100.0, 7.0)] {
        let straight = PinLine { tip: Point::origin(), axis: Vector::x_axis() };
        let turned = PinLine { axis: turn * straight.axis, ..straight };
        // Where both have come as deep as `length`.
        let apart = (turned.at(length / 4.0_f64.to_radians().cos()) - straight.at(length)).norm();
        assert!((apart - wanted).abs() < 0.05, "{apart} at {length}");
    }
}

/// [R-PIN-3]
///
/// Source: arc between inlet and outlet 67° (62 to 76), Graves and Routt, J Trauma 2011; the cosines are computed.
#[test]
fn a_millimetre_here_is_0_39_mm_there_at_67_degrees() {
    for (arc, wanted) in [(67.0, 0.39), (62.0, 0.47), (76.0, 0.24)] {
        let pin = true_pin();
        let outlet = view(ViewName::OutletWorking, pose(180.0, arc - 25.0), &pin);
        let both = vec![view(ViewName::InletBody, pose(180.0, -25.0), &pin), outlet];
        let finding = find(&scene_of(&pin, Side::Right, both, &unmoved()));
        let crossed = finding.cross_views[0];
        assert!((crossed.arc_deg - arc).abs() <= HUNDREDTH && (crossed.seen_mm - wanted).abs() < 1e-9, "{crossed:?}");
    }
}

#[test]
fn of_square_views_nothing_is_said_of_a_millimetre() {
    let pin = true_pin();
    let both = vec![view(ViewName::Ap, pose(180.0, 0.0), &pin), view(ViewName::OutletEnFace, pose(180.0, 88.0), &pin)];
    assert_eq!(find(&scene_of(&pin, Side::Right, both, &unmoved())).cross_views, []);
}

/// [R-PIN-4]
#[test]
fn without_a_common_frame_there_are_angles_and_a_reason_and_no_position() {
    let whole = find(&scene());
    let unknown = find(&Scene { frame: Frame::Unknown.common(&views(&true_pin())), ..scene() });
    assert_eq!(unknown.frame, FrameUsed::AnglesOnly { why: AnglesOnly::ColumnMayHaveMoved });
    assert_eq!((unknown.tip, unknown.further.len(), unknown.gaps.len()), (None, 0, 0));
    assert_eq!(unknown.heading.map(|h| h.left.value), whole.heading.map(|h| h.left.value));
    let (angle, there) = (unknown.joint.unwrap(), whole.joint.unwrap());
    assert_eq!(angle.past_mm, None);
    // Over all heights of the joint, the angle found with positions lies within the ± given without.
    let apart = (angle.off_perpendicular_deg.value - there.off_perpendicular_deg.value).abs();
    assert!(apart <= angle.off_perpendicular_deg.plus_minus);
    assert!(angle.off_perpendicular_deg.plus_minus > there.off_perpendicular_deg.plus_minus);
    let why = Why::AnglesOnly { why: AnglesOnly::ColumnMayHaveMoved };
    assert!(unknown.not_given.iter().any(|missing| missing.what == What::Position && missing.why == why));
}

const LANDMARKS: [[f64; 3]; 5] =
    [[-47.0, 20.0, 12.0], [-5.0, -8.0, -13.0], [20.0, 31.0, -24.0], [-24.0, -66.0, -6.0], [56.0, 23.0, 31.0]];

/// The scene with its second view wheeled and turned without the angles telling, and landmarks touched on both.
fn wheeled(count: usize, turn: Vector, shift: Vector) -> Scene {
    let pin = true_pin();
    let told = views(&pin);
    let (first, there) = (told[0].pose, told[1].pose);
    let turn = Rotation::from_scaled_axis(turn);
    let carry = |point: Point| turn * point + shift;
    let second = Pose {
        source: carry(there.source),
        detector_centre: carry(there.detector_centre),
        across: turn * there.across,
        down: turn * there.down,
    };
    let seen = PinView { pose: there, ..view(ViewName::OutletWorking, second, &pin) };
    let seen_on = |pose: &Pose, at: &[f64; 3]| pose.project(&Point::from(*at)).expect("in front of the source");
    let landmark = |at: &[f64; 3]| Landmark { touches: vec![(0, seen_on(&first, at)), (1, seen_on(&second, at))] };
    let length = |from: usize, to: usize| KnownLength {
        from,
        to,
        length: Millimetres((Point::from(LANDMARKS[from]) - Point::from(LANDMARKS[to])).norm()),
        sigma: Millimetres(0.5),
    };
    let frame = Frame::Landmarks {
        landmarks: LANDMARKS[..count].iter().map(landmark).collect(),
        lengths: if count == 5 { vec![length(0, 4), length(2, 3)] } else { Vec::new() },
        depth: Millimetres(30.0),
    };
    scene_of(&pin, Side::Right, vec![told[0].clone(), seen], &frame)
}

/// [R-PIN-4] The landmarks' middle is the isocentre, so that no prior pulls; 60 mm wheeled, with the pin still on the
/// detector, is then recovered.
#[test]
fn landmarks_on_both_views_recover_how_the_second_stands_to_the_first() {
    let shift = Vector::new(25.0, -40.0, 38.0);
    let scene = wheeled(5, Vector::zeros(), shift);
    let bundle = scene.frame.as_ref().expect("solved").bundles()[0].clone();
    // The prior of the shift, 200 mm, and of the depths, 30 mm, leave less than the stated error of the solve.
    for axis in 0..3 {
        let sigma = bundle.root.row(3 + axis).norm();
        assert!((bundle.shift[axis] - shift[axis]).abs() < 0.5 * sigma, "{} {sigma}", bundle.shift);
    }
    assert!(bundle.agrees() && bundle.residuals.iter().all(|(_, residual)| *residual < 0.1), "{bundle:?}");
    let finding = find(&scene);
    let (tip, pin) = (finding.tip.expect("a common frame"), true_pin());
    for (found, wanted) in [(tip.left_mm, pin.tip.x), (tip.posterior_mm, pin.tip.y), (tip.head_mm, pin.tip.z)] {
        assert!(off(found, wanted) <= 0.5 * found.plus_minus, "{found:?} for {wanted}");
    }
    assert!(matches!(finding.frame, FrameUsed::Landmarks { count: 5, .. }));
}

#[test]
fn a_turn_that_the_angles_do_not_tell_is_found_by_landmarks_and_spoils_a_declared_frame() {
    let scene = wheeled(5, Vector::new(0.03, -0.02, 0.025), Vector::new(20.0, 0.0, 30.0));
    let finding = find(&scene);
    let past = finding.joint.and_then(|joint| joint.past_mm).expect("a crossing");
    assert!(off(past, 14.0) <= past.plus_minus, "{past:?}");
    let declared = find(&Scene { frame: unmoved().common(&scene.views), ..scene });
    assert!(declared.caught.iter().any(|caught| matches!(caught, Caught::RaysMiss { .. })), "{:?}", declared.caught);
}

#[test]
fn a_landmark_touched_at_another_place_is_named() {
    let mut scene = wheeled(5, Vector::zeros(), Vector::zeros());
    let views = scene.views.clone();
    let seen = |view: usize, at: [f64; 3]| (view, views[view].pose.project(&Point::from(at)).unwrap());
    let mut landmarks: Vec<Landmark> =
        LANDMARKS.iter().map(|at| Landmark { touches: vec![seen(0, *at), seen(1, *at)] }).collect();
    let moved = &mut landmarks[2].touches[1].1;
    *moved = shifted(*moved, 15.0, 25.0);
    let frame = Frame::Landmarks { landmarks, lengths: Vec::new(), depth: Millimetres(30.0) };
    scene.frame = frame.common(&views);
    let caught = find(&scene).caught;
    assert!(caught.iter().any(|caught| matches!(caught, Caught::LandmarksDisagree { landmark: 3, .. })), "{caught:?}");
}

#[test]
fn two_landmarks_are_too_few_and_it_says_so() {
    let finding = find(&wheeled(2, Vector::zeros(), Vector::zeros()));
    assert_eq!(finding.frame, FrameUsed::AnglesOnly { why: AnglesOnly::TooFewLandmarks { found: 2 } });
    assert_eq!((finding.tip, finding.joint.is_some()), (None, true));
}

/// [R-PIN-5]
#[test]
fn one_view_gives_margins_in_that_view_alone_and_is_named() {
    let mut scene = scene();
    scene.views.truncate(1);
    scene.edges.remove(0);
    scene.frame = unmoved().common(&scene.views);
    let finding = find(&scene);
    assert_eq!(finding.caught, [Caught::OneViewOnly { view: ViewName::InletBody }]);
    assert!(finding.held_back() && finding.joint.is_none() && finding.tip.is_none());
    assert_eq!(finding.margins[0].views, [ViewName::InletBody]);
    let whole = find(&self::scene()).margins[1].margin_mm;
    let flat = finding.margins[0].margin_mm;
    assert!((flat.value - whole.value).abs() <= flat.plus_minus, "{flat:?} {whole:?}");
}

fn of_two(first: (ViewName, Pose), second: (ViewName, Pose), pin: &PinLine) -> Finding {
    find(&scene_of(pin, Side::Right, vec![view(first.0, first.1, pin), view(second.0, second.1, pin)], &unmoved()))
}

/// [R-PIN-5]
#[test]
fn near_parallel_views_are_named() {
    let finding =
        of_two((ViewName::InletBody, pose(180.0, -21.0)), (ViewName::InletCanal, pose(180.0, -33.0)), &true_pin());
    let (first, second) = (ViewName::InletBody, ViewName::InletCanal);
    assert_eq!(finding.caught, [Caught::NearParallelViews { first, second, arc_deg: 12.0 }]);
    assert_eq!((finding.tip, finding.joint), (None, None));
    // The same beam line from the other end is no second view either.
    let swapped = of_two((first, pose(180.0, -21.0)), (second, pose(0.0, 21.0)), &true_pin());
    assert_eq!(swapped.caught, [Caught::NearParallelViews { first, second, arc_deg: 0.0 }]);
}

/// [R-PIN-5]
#[test]
fn a_pin_in_the_plane_of_both_beams_is_named() {
    // Both beams lie in the sagittal plane; so does this pin, as a midline one would.
    let pin = PinLine { tip: Point::new(0.0, 20.0, -10.0), axis: direction(0.05, -0.8, 0.6) };
    let finding = of_two((ViewName::InletBody, pose(180.0, -21.0)), (ViewName::OutletWorking, pose(180.0, 43.0)), &pin);
    let (first, second) = (ViewName::InletBody, ViewName::OutletWorking);
    assert_eq!(finding.caught, [Caught::PinAlongBothBeams { first, second }]);
}

fn swap(view: &mut PinView) {
    std::mem::swap(&mut view.tip, &mut view.shank[1]);
}

/// [R-PIN-5]
#[test]
fn tip_and_shank_swapped_on_one_view_names_that_view() {
    for (number, name) in [(0, ViewName::InletBody), (1, ViewName::OutletWorking)] {
        let mut scene = scene();
        swap(&mut scene.views[number]);
        let finding = find(&scene);
        assert_eq!(finding.caught, [Caught::TipAndShankSwapped { views: vec![name] }]);
        assert!(finding.tip.is_none() && finding.margins.is_empty() && finding.questions.is_empty());
    }
}

/// [R-PIN-5]
#[test]
fn left_and_right_confused_is_told_from_tip_and_shank_swapped_by_the_midline() {
    let (planned, entered_from) = (Side::Left, Side::Right);
    let other = |midline| find(&Scene { side: planned, midline, ..scene() }).caught;
    assert_eq!(other(None), [Caught::OtherSide { planned, entered_from, or_swapped: true }]);
    let midline = Some((1, views(&true_pin())[1].pose.project(&Point::new(0.0, 40.0, 0.0)).unwrap()));
    assert_eq!(other(midline), [Caught::OtherSide { planned, entered_from, or_swapped: false }]);
    let mut swapped = Scene { midline, ..scene() };
    swapped.views.iter_mut().for_each(swap);
    let views = vec![ViewName::InletBody, ViewName::OutletWorking];
    assert_eq!(find(&swapped).caught, [Caught::TipAndShankSwapped { views }]);
}

/// [R-PIN-5]
#[test]
fn a_tip_behind_the_joint_is_named_and_shown() {
    let pin = PinLine { tip: true_pin().at(-14.0 - 6.0), ..true_pin() };
    let views = views(&pin);
    let mut scene = scene_of(&pin, Side::Right, views, &unmoved());
    scene.joint = Some(crate::pin_scene::joint(&scene.views, pin.at(6.0)));
    let finding = find(&scene);
    assert_eq!(finding.caught, [Caught::TipBehindJoint { by_mm: 6.0 }]);
    assert!(!finding.held_back() && finding.tip.is_some());
    assert!(off(finding.further[0].past_mm.unwrap(), 4.0) <= HUNDREDTH);
}

/// [R-PIN-5]
#[test]
fn impossible_poses_are_named_with_what_is_wrong() {
    let fault = |change: &dyn Fn(&mut PinView)| {
        let mut scene = scene();
        change(&mut scene.views[1]);
        let finding = find(&scene);
        assert!(finding.held_back() && finding.tip.is_none() && finding.margins.is_empty());
        match finding.caught[..] {
            [Caught::PoseImpossible { view: ViewName::OutletWorking, fault }] => fault,
            ref other => panic!("{other:?}"),
        }
    };
    assert_eq!(fault(&|view| view.pose.detector_centre = view.pose.source), PoseFault::Distance);
    assert_eq!(fault(&|view| view.pose.source.x = f64::NAN), PoseFault::Distance);
    assert_eq!(fault(&|view| view.pose.across = view.pose.down), PoseFault::Axes);
    assert_eq!(fault(&|view| view.isocentre = view.pose.source - view.pose.beam().into_inner()), PoseFault::Isocentre);
    assert_eq!(fault(&|view| view.tip.across_mm = 400.0), PoseFault::TouchOffDetector);
}

/// [R-PIN-5]
#[test]
fn rays_that_miss_by_more_than_the_errors_explain_are_named() {
    let mut scene = scene();
    for at in std::iter::once(&mut scene.views[1].tip) {
        *at = shifted(*at, 25.0, 0.0);
    }
    let finding = find(&scene);
    let [Caught::RaysMiss { gap_mm, explained_mm, .. }] = finding.caught[..] else { panic!("{:?}", finding.caught) };
    // The shift runs along the one direction both views share, so the gap is all of it, at the patient.
    assert!(gap_mm > explained_mm && (10.0..20.0).contains(&gap_mm), "{gap_mm}");
    assert!(finding.tip.is_some());
}

/// [R-PIN-6]
///
/// Source: magnification is SID over SOD, 1000 over 650 is 1.538, and a 3.2 mm pin images as 4.92 mm.
#[test]
fn the_pin_s_own_width_checks_the_scale_to_ten_per_cent_and_never_sets_it() {
    let with_width = |pictured| {
        let pin = PinLine { tip: Point::origin(), axis: direction(1.0, 0.0, 0.0) };
        let mut both = views(&pin);
        assert!((both[0].magnification() - 1.538).abs() < 5e-4);
        both[0].pictured_width = Some(Millimetres(pictured));
        find(&scene_of(&pin, Side::Right, both, &unmoved()))
    };
    let (as_it_is, wide) = (with_width(4.92), with_width(5.6));
    assert!(!as_it_is.caught.iter().any(|caught| matches!(caught, Caught::ScaleDoubtful { .. })));
    let doubtful = Caught::ScaleDoubtful { view: ViewName::InletBody, pictured_mm: 3.64, expected_mm: 3.2 };
    assert!(wide.caught.contains(&doubtful), "{:?}", wide.caught);
    assert_eq!(wide.tip, as_it_is.tip);
}

/// [R-PIN-7]
#[test]
fn a_short_margin_asks_and_stops_nothing() {
    let mut scene = scene();
    scene.margin_limit = Millimetres(50.0);
    let finding = find(&scene);
    assert_eq!(finding.questions.len(), 2);
    let Question::ShortMargin { edge, limit_mm, .. } = finding.questions[0];
    assert_eq!((edge, limit_mm), (EdgeName::S1Foramen, 50.0));
    assert!(finding.margins.iter().all(|margin| margin.short) && !finding.held_back() && finding.tip.is_some());
    let asked = find(&Scene { margin_limit: Millimetres(0.0), ..self::scene() }).questions;
    assert_eq!(asked, []);
}

/// [R-PIN-7] The published margin: 5 mm.
#[test]
fn the_default_limit_is_the_published_one() {
    assert_eq!(brimline::pin::MARGIN_LIMIT, Millimetres(5.0));
}

/// [R-PIN-7]
#[test]
fn nothing_untouched_and_nothing_unprofiled_gets_a_distance() {
    let mut scene = scene();
    scene.edges[0].seen[0].profiled = false;
    let finding = find(&scene);
    assert_eq!(finding.margins.iter().map(|margin| margin.edge).collect::<Vec<_>>(), [EdgeName::FrontCortex]);
    let what = What::Margin { edge: EdgeName::S1Foramen };
    assert!(finding.not_given.iter().any(|missing| missing.what == what && missing.why == Why::NotProfiled));
    let without = find(&Scene { tool: None, ..self::scene() });
    assert!(without.margins.is_empty() && without.not_given.iter().all(|missing| missing.why == Why::NoTool));
}

/// [R-PIN-7] The margin runs from the tool's surface: against the distance of the pin's axis to the sheet of rays,
/// searched by brute force over both.
#[test]
fn a_margin_is_the_least_distance_from_the_tool_to_the_touched_edge() {
    let (scene, pin) = (scene(), true_pin());
    let views = &scene.views;
    let front = edge(EdgeName::FrontCortex, 0, views, &FRONT_CORTEX, false);
    let finding = find(&Scene { edges: vec![front], ..scene.clone() });
    let source = views[0].pose.source;
    let mut least = f64::INFINITY;
    for pair in FRONT_CORTEX.windows(2) {
        for share in 0..=200 {
            let share = f64::from(share) / 200.0;
            let shadow = |at: [f64; 3]| views[0].pose.point_of(views[0].pose.project(&Point::from(at)).unwrap());
            let ray = (shadow(pair[0]) + (shadow(pair[1]) - shadow(pair[0])) * share - source).normalize();
            for along in 0..=200 {
                let at = pin.at(-f64::from(along) * 0.5) - source;
                least = least.min(at.cross(&ray).norm());
            }
        }
    }
    let found = finding.margins[0].margin_mm.value;
    assert!((found - (least - 6.0)).abs() < 0.02, "{found} against {}", least - 6.0);
}

#[test]
fn a_joint_of_touched_points_needs_positions_and_one_of_planned_points_does_not() {
    let sheet = [[-49.0, 20.0, 10.0], [-46.0, 42.0, 8.0], [-54.0, 22.0, -22.0], [-48.0, 48.0, -20.0]];
    let (poses, pin) = (views(&true_pin()), true_pin());
    let touched = |at: &[f64; 3]| brimline::pin::JointPoint::Touched {
        touches: (0..2).map(|view| (view, poses[view].pose.project(&Point::from(*at)).unwrap())).collect(),
    };
    let planned = |at: &[f64; 3]| brimline::pin::JointPoint::Planned { at: Point::from(*at), sigma: Millimetres(1.0) };
    let of = |points, frame: Frame| {
        let joint = Some(Joint::Surface { points });
        find(&Scene { joint, frame: frame.common(&poses), ..scene_of(&pin, Side::Right, poses.clone(), &frame) })
    };
    let (by_touch, by_plan) =
        (of(sheet.iter().map(touched).collect(), unmoved()), of(sheet.iter().map(planned).collect(), unmoved()));
    let value = |finding: &Finding| finding.joint.map(|joint| joint.off_perpendicular_deg.value);
    assert!((value(&by_touch).unwrap() - value(&by_plan).unwrap()).abs() <= HUNDREDTH);
    assert!(of(sheet.iter().map(touched).collect(), Frame::Unknown).joint.is_none());
    assert!(of(sheet.iter().map(planned).collect(), Frame::Unknown).joint.is_some());
}

#[test]
fn a_crossing_that_nobody_touched_leaves_the_angle_and_says_so() {
    let mut scene = scene();
    let Some(Joint::Normals { sigma, height_sigma, .. }) = scene.joint else { panic!("normals") };
    scene.joint = Some(Joint::Normals { stations: stations(), sigma, height_sigma, crossing: Crossing::Unknown });
    let finding = find(&scene);
    assert!(finding.joint.is_some_and(|joint| joint.past_mm.is_none()));
    let missing = finding.not_given.iter().find(|missing| missing.what == What::PastJoint).unwrap();
    assert_eq!(missing.why, Why::CrossingNotTouched);
}
