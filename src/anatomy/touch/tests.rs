//! Angles and lengths against constructions of known size, and their ± against simulated touches.

use super::*;

fn touch(across_px: f64, down_px: f64) -> Touch {
    Touch { across_px, down_px }
}

fn line(from: (f64, f64), to: (f64, f64)) -> Line {
    Line { from: touch(from.0, from.1), to: touch(to.0, to.1) }
}

const STEADY: Repeatability = Repeatability { sd_px: 1.0 };
const ROUNDING: f64 = 1e-9;

#[test]
fn an_angle_does_not_ask_which_end_was_touched_first() {
    let level = line((0.0, 0.0), (100.0, 0.0));
    for steep in [line((0.0, 0.0), (100.0, 100.0)), line((100.0, 100.0), (0.0, 0.0)), line((0.0, 90.0), (90.0, 0.0))] {
        let angle = angle_between(level, steep, 1.0, STEADY).expect("long lines");
        assert!((angle.deg - 45.0).abs() < ROUNDING, "{angle}");
    }
}

#[test]
fn unequal_pixels_keep_their_angles() {
    // Pixels twice as high as wide: 100 across and 50 down is as far one way as the other.
    let angle = angle_between(line((0.0, 0.0), (80.0, 0.0)), line((0.0, 0.0), (100.0, 50.0)), 2.0, STEADY);
    assert!((angle.expect("long lines").deg - 45.0).abs() < ROUNDING);
}

/// The same corridor, 30° toward the head, drawn on each side of the picture and with the reference either way round.
#[test]
fn a_corridor_toward_the_head_is_positive_on_both_sides() {
    let (sin, cos) = 30_f64.to_radians().sin_cos();
    for reference in [line((0.0, 200.0), (400.0, 200.0)), line((400.0, 200.0), (0.0, 200.0))] {
        // Medial to the right: the picture's left half. Up is fewer rows.
        let left_half = line((50.0, 200.0), (50.0 + 100.0 * cos, 200.0 - 100.0 * sin));
        let right_half = line((350.0, 200.0), (350.0 - 100.0 * cos, 200.0 - 100.0 * sin));
        let downward = line((50.0, 200.0), (50.0 + 100.0 * cos, 200.0 + 100.0 * sin));
        for (corridor, wanted) in [(left_half, 30.0), (right_half, 30.0), (downward, -30.0)] {
            let angle = corridor_angle(reference, corridor, 1.0, STEADY).expect("long lines");
            assert!((angle.deg - wanted).abs() < ROUNDING, "{angle}, wanted {wanted}");
        }
    }
    let across = corridor_angle(line((0.0, 0.0), (100.0, 0.0)), line((0.0, 0.0), (0.0, 100.0)), 1.0, STEADY);
    assert_eq!(across, Err(TouchError::AcrossTheReference));
}

#[test]
fn a_tilted_reference_tilts_the_corridor_with_it() {
    let (sin, cos) = 10_f64.to_radians().sin_cos();
    let reference = line((0.0, 0.0), (300.0 * cos, -300.0 * sin));
    let (sin, cos) = 31_f64.to_radians().sin_cos();
    let angle = corridor_angle(reference, line((0.0, 0.0), (100.0 * cos, -100.0 * sin)), 1.0, STEADY);
    assert!((angle.expect("long lines").deg - 21.0).abs() < ROUNDING);
}

/// Source: a beam of DICOM secondary +22° runs toward the patient's front and head, PS3.3 C.8.7.5.1.2; so does the
/// anterior cortex it profiles.
#[test]
fn an_anterior_cortex_is_positive_and_an_endplate_negative() {
    let scale = Scale::of_slice(0.5, 0.5).expect("a spacing");
    let (sin, cos) = 22_f64.to_radians().sin_cos();
    // Front to the left, head at the top.
    let cortex = line((100.0, 100.0), (100.0 - 60.0 * cos, 100.0 - 60.0 * sin));
    let endplate = line((100.0, 100.0), (100.0 - 60.0, 150.0));
    let of = |axes: PictureAxes, line| axes.inclination(line, scale, STEADY).expect("sagittal").deg;
    assert!((of(PictureAxes::FRONT_LEFT, cortex) - 22.0).abs() < ROUNDING);
    assert!(of(PictureAxes::FRONT_LEFT, endplate) < -30.0);
    // The same line on a picture with the front to the right slopes the other way.
    let front_right = PictureAxes { across: [0.0, -1.0, 0.0], ..PictureAxes::FRONT_LEFT };
    assert!((of(front_right, cortex) + 22.0).abs() < ROUNDING);
    let coronal = PictureAxes { across: [1.0, 0.0, 0.0], down: [0.0, 0.0, -1.0] };
    assert!(matches!(coronal.inclination(cortex, scale, STEADY), Err(TouchError::NotSagittal { .. })));
}

#[test]
fn a_line_shorter_than_its_touches_repeat_is_refused() {
    let short = line((0.0, 0.0), (3.0, 0.0));
    assert!(matches!(angle_between(short, short, 1.0, STEADY), Err(TouchError::TooShort { .. })));
    let nothing = line((5.0, 5.0), (5.0, 5.0));
    let steady = Repeatability { sd_px: 0.0 };
    assert!(matches!(
        nothing.length(Scale::of_slice(1.0, 1.0).expect("a spacing"), steady),
        Err(TouchError::TooShort { .. })
    ));
}

/// Source: magnification 1000 over 650 is 1.538; computed from DICOM (0018,1114).
#[test]
fn a_marker_and_the_distances_give_the_same_scale() {
    let by_distances = Scale::of_detector(0.2, 0.2, 1000.0, 650.0, DEPTH_PLUS_MINUS_MM).expect("distances");
    assert!(
        (by_distances.across_mm - 0.13).abs() < ROUNDING && (by_distances.relative_sd - 40.0 / 650.0).abs() < ROUNDING
    );
    let marker = line((0.0, 0.0), (300.0, 400.0));
    let known = Length { plus_minus_mm: 0.0, ..Length::typed(65.0) };
    let by_marker = Scale::of_marker(marker, known, 1.0, STEADY, 0.0).expect("a marker");
    assert!((by_marker.across_mm - 0.13).abs() < ROUNDING);
    assert!((by_marker.relative_sd - std::f64::consts::SQRT_2 / 500.0).abs() < ROUNDING);
}

#[test]
fn repeatability_is_the_spread_about_each_place_and_not_between_places() {
    let places = [vec![touch(10.0, 10.0), touch(12.0, 10.0)], vec![touch(500.0, 80.0), touch(500.0, 82.0)]];
    // Each pair lies 1 from its mean along one axis: squares 2 and 2, over 2 + 2 degrees of freedom.
    assert!((Repeatability::of(&places).expect("touched twice").sd_px - 1.0).abs() < ROUNDING);
    assert_eq!(Repeatability::of(&[vec![touch(1.0, 1.0)]]), None);
}

/// A sequence of normal deviates from a linear congruential generator and the Box-Muller transform, the same in every
/// run.
struct Deviates(u64);

impl Deviates {
    fn uniform(&mut self) -> f64 {
        // Knuth's multiplier for 64 bits.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        #[allow(clippy::cast_precision_loss)]
        let uniform = ((self.0 >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
        uniform
    }

    fn next(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }

    fn moved(&mut self, line: Line, sd: f64) -> Line {
        let mut moved = |place: Touch| touch(place.across_px + sd * self.next(), place.down_px + sd * self.next());
        Line { from: moved(line.from), to: moved(line.to) }
    }
}

fn spread(values: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt()
}

/// First-order propagation and 4,000 draws, whose own spread is known to 1.1 %, agree within this share.
const MONTE_CARLO_WITHIN: f64 = 0.05;

/// [R-ANATOMY-3]
#[test]
fn the_plus_minus_of_angle_and_length_is_that_of_simulated_touches() {
    let mut deviates = Deviates(20_260_101);
    let (first, second) = (line((10.0, 20.0), (130.0, 60.0)), line((40.0, 200.0), (110.0, 90.0)));
    let scale = Scale { across_mm: 0.3, down_mm: 0.5, relative_sd: 0.0 };
    let repeat = Repeatability { sd_px: 2.5 };
    let (mut angles, mut lengths) = (Vec::new(), Vec::new());
    for _ in 0..4_000 {
        let (a, b) = (deviates.moved(first, repeat.sd_px), deviates.moved(second, repeat.sd_px));
        angles.push(angle_between(a, b, 5.0 / 3.0, repeat).expect("long").deg);
        lengths.push(a.length(scale, repeat).expect("long").mm);
    }
    let angle = angle_between(first, second, 5.0 / 3.0, repeat).expect("long");
    let length = first.length(scale, repeat).expect("long");
    for (stated, simulated) in [(angle.plus_minus_deg, spread(&angles)), (length.plus_minus_mm, spread(&lengths))] {
        assert!((stated / simulated - 1.0).abs() < MONTE_CARLO_WITHIN, "stated {stated}, simulated {simulated}");
    }
}
