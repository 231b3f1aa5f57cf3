//! View correction over random pelves, with cone beam and joint chain, and against worked values.

use brimline::carm::correction::{Axes, Correction, CorrectionError, Length, Sighting, closed_form, correct, measure};
use brimline::carm::{
    Arm, Direction, Distances, ImagePoint, Joint, Joints, Lying, PatientPosition, Point, Tube, Vector,
};
use brimline::units::{Degrees, Millimetres, Side};

/// Random pelves per view.
const PELVES: u32 = 10_000;
/// Largest error of a view in this check, degrees.
const ERROR_MAX_DEG: f64 = 15.0;
/// What an answer from exact touches may be off by, degrees.
const EXACT_DEG: f64 = 0.1;
/// Noise of one coordinate of one touch, millimetres at the landmarks.
const NOISE_MM: f64 = 1.0;
/// How far the spread of the answers may lie from the Cramér-Rao bound.
const OF_BOUND: f64 = 0.1;

/// A reproducible stream of numbers (xorshift64*, Vigna 2016), since nothing here is random to a reader.
struct Stream(u64);

impl Stream {
    fn unit(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn within(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.unit()
    }

    fn either<T>(&mut self, one: T, other: T) -> T {
        if self.unit() < 0.5 { one } else { other }
    }

    /// Normal with standard deviation 1, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

/// A kind of view in this check.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Inlet,
    Outlet,
    Lateral,
    Rotation,
}

/// A pelvis on the table, a machine beside it, a pair of landmarks.
#[derive(Debug, Clone, Copy)]
struct Scene {
    arm: Arm,
    distances: Distances,
    isocentre: Point,
    axes: Axes,
    /// Along the pair, from the source's side to the detector's.
    along: Direction,
    middle: Point,
    lever: f64,
    joints: Joints,
    /// Where the beam runs along the pair.
    truth: Joints,
}

impl Scene {
    fn random(kind: Kind, random: &mut Stream) -> Self {
        let lying = Lying {
            position: random.either(PatientPosition::Supine, PatientPosition::Prone),
            turn: Degrees(random.within(-10.0, 10.0)),
        };
        let tube = random.either(Tube::Under, Tube::Over);
        let off_square = Degrees(random.within(-20.0, 20.0));
        let arm = Arm { lying, tube, stand: random.either(Side::Left, Side::Right), off_square };
        let side = random.either(1.0, -1.0);
        let truth = match kind {
            Kind::Inlet => joints(0.0, side * random.within(10.0, 50.0), random.within(-15.0, 15.0)),
            Kind::Outlet => joints(0.0, side * random.within(30.0, 63.0), random.within(-15.0, 15.0)),
            Kind::Lateral => joints(random.within(-12.0, 12.0), 0.0, side * random.within(80.0, 100.0)),
            Kind::Rotation => joints(0.0, random.within(-50.0, 50.0), random.within(-15.0, 15.0)),
        };
        let (axes, lever) = match kind {
            Kind::Inlet => (Axes::HeadFoot, random.within(22.0, 40.0)),
            Kind::Outlet => (Axes::Both, random.within(85.0, 130.0)),
            Kind::Lateral => (Axes::Both, random.within(100.0, 145.0)),
            Kind::Rotation => (Axes::Across, random.within(40.0, 90.0)),
        };
        let error = random.within(-ERROR_MAX_DEG, ERROR_MAX_DEG);
        let way = random.within(0.0, std::f64::consts::TAU);
        let joints = match kind {
            Kind::Inlet => truth.moved(Joint::Tilt, Degrees(error)),
            Kind::Rotation => truth.moved(Joint::Orbit, Degrees(error)),
            Kind::Outlet => {
                truth.moved(Joint::Tilt, Degrees(error * way.cos())).moved(Joint::Orbit, Degrees(error * way.sin()))
            }
            Kind::Lateral => {
                truth.moved(Joint::Wag, Degrees(error * way.cos())).moved(Joint::Orbit, Degrees(error * way.sin()))
            }
        };
        let distances = Distances {
            source_to_isocentre: Millimetres(random.within(500.0, 700.0)),
            source_to_detector: Millimetres(random.within(950.0, 1100.0)),
        };
        let mut place = || random.within(-50.0, 50.0);
        let (isocentre, middle) = (Point::origin(), Point::new(place(), place(), place()));
        Self { arm, distances, isocentre, axes, along: arm.beam(&truth), middle, lever, joints, truth }
    }

    /// What is touched, with noise of `noise_mm` at the landmarks; the depth as it is.
    fn seen(&self, noise_mm: f64, random: &mut Stream) -> Sighting {
        let pose = self.arm.pose(&self.joints, self.isocentre, self.distances);
        let depth = (self.middle - pose.source).dot(&pose.beam());
        let noise = noise_mm * pose.source_to_detector_mm() / depth;
        let mut touch = |reach: f64| {
            let exact = pose.project(&(self.middle + self.along.into_inner() * reach)).expect("in front of the source");
            ImagePoint {
                across_mm: exact.across_mm + noise * random.normal(),
                down_mm: exact.down_mm + noise * random.normal(),
            }
        };
        Sighting {
            arm: self.arm,
            joints: self.joints,
            distances: self.distances,
            axes: self.axes,
            nearer_detector: touch(self.lever / 2.0),
            nearer_source: touch(-self.lever / 2.0),
            lever: exact(self.lever),
            depth: exact(depth),
            touch_sd: Millimetres(noise),
        }
    }

    fn turned(mut self, turn: &Joints) -> Self {
        for joint in [Joint::Wag, Joint::Tilt, Joint::Orbit] {
            self.joints = self.joints.moved(joint, turn.of(joint));
        }
        self
    }

    /// How far the beam is from the pair, degrees.
    fn off_by(&self) -> f64 {
        self.arm.beam(&self.joints).angle(&self.along).to_degrees()
    }
}

fn joints(wag: f64, tilt: f64, orbit: f64) -> Joints {
    Joints { wag: Degrees(wag), tilt: Degrees(tilt), orbit: Degrees(orbit) }
}

fn exact(value: f64) -> Length {
    Length { value: Millimetres(value), sd: Millimetres(0.0) }
}

/// The worst error that is left, degrees: full solve after one picture, closed form after one and after two.
fn worst_from_exact_touches(kind: Kind, seed: u64) -> [f64; 3] {
    let mut random = Stream(seed);
    let mut worst = [0.0_f64; 3];
    for _ in 0..PELVES {
        let scene = Scene::random(kind, &mut random);
        let seen = scene.seen(0.0, &mut random);
        let answer = correct(&seen).unwrap_or_else(|fault| panic!("{scene:?}: {fault}"));
        let once = scene.turned(&closed_form(&seen).expect("within the lever"));
        let twice = once.turned(&closed_form(&once.seen(0.0, &mut random)).expect("within the lever"));
        for (worst, scene) in worst.iter_mut().zip([scene.turned(&answer.turn), once, twice]) {
            *worst = worst.max(scene.off_by());
        }
    }
    worst
}

/// [R-VIEW-1] Over 10,000 random pelves a view, errors to 15°: the full solve returns the angle from exact touches in one
/// step, the closed form in two.
#[test]
fn exact_touches_return_the_angle() {
    std::thread::scope(|scope| {
        for (seed, kind) in [(11, Kind::Inlet), (12, Kind::Outlet), (13, Kind::Lateral), (14, Kind::Rotation)] {
            scope.spawn(move || {
                let [full, once, twice] = worst_from_exact_touches(kind, seed);
                println!("{kind:?}: full solve {full:.1e}°, closed form {once:.2}° then {twice:.3}°");
                assert!(full < EXACT_DEG, "{kind:?}: the full solve is {full}° off");
                assert!(twice < EXACT_DEG, "{kind:?}: the closed form is {twice}° off after two pictures");
            });
        }
    });
}

/// The spread of answers over their bounds, and the mean bound in degrees, for each joint that takes part.
fn spread_over_bound(kind: Kind, seed: u64) -> Vec<(Joint, f64, f64)> {
    let mut random = Stream(seed);
    let mut sums = [(0.0, 0.0); 3];
    for _ in 0..PELVES {
        let scene = Scene::random(kind, &mut random);
        let noisy = scene.seen(NOISE_MM, &mut random);
        // Unlimited: an answer refused for its distance would be missing from the spread.
        let answer = measure(&noisy).unwrap_or_else(|fault| panic!("{scene:?}: {fault}"));
        for (sum, joint) in sums.iter_mut().zip([Joint::Wag, Joint::Tilt, Joint::Orbit]) {
            let bound = answer.bound.of(joint).0;
            if bound > 0.0 {
                sum.0 +=
                    ((scene.joints.of(joint).0 + answer.turn.of(joint).0 - scene.truth.of(joint).0) / bound).powi(2);
                sum.1 += bound;
            }
        }
    }
    let of = |(joint, (squares, bounds)): (Joint, (f64, f64))| {
        (joint, (squares / f64::from(PELVES)).sqrt(), bounds / f64::from(PELVES))
    };
    [Joint::Wag, Joint::Tilt, Joint::Orbit].into_iter().zip(sums).filter(|(_, sum)| sum.1 > 0.0).map(of).collect()
}

/// [R-VIEW-2] With 1 mm of noise at the landmarks the answers spread as the computed Cramér-Rao bound says.
#[test]
fn noisy_touches_spread_as_the_bound_says() {
    std::thread::scope(|scope| {
        for (seed, kind) in [(21, Kind::Inlet), (22, Kind::Outlet), (23, Kind::Lateral), (24, Kind::Rotation)] {
            scope.spawn(move || {
                for (joint, ratio, bound) in spread_over_bound(kind, seed) {
                    println!("{kind:?}, {joint:?}: mean bound {bound:.2}°, spread {ratio:.3} of it");
                    assert!((ratio - 1.0).abs() < OF_BOUND, "{kind:?}, {joint:?}: {ratio} of the bound");
                }
            });
        }
    });
}

/// A prone patient, the tube under the table, the stand on the right, an arm square to the table.
fn plain(joints: Joints, axes: Axes, lever: f64) -> Sighting {
    let lying = Lying::as_planned(PatientPosition::Supine);
    let distances = Distances { source_to_isocentre: Millimetres(650.0), source_to_detector: Millimetres(1000.0) };
    let centre = ImagePoint { across_mm: 0.0, down_mm: 0.0 };
    Sighting {
        arm: Arm { lying, tube: Tube::Under, stand: Side::Right, off_square: Degrees(0.0) },
        joints,
        distances,
        axes,
        nearer_detector: centre,
        nearer_source: centre,
        lever: exact(lever),
        depth: exact(650.0),
        touch_sd: Millimetres(0.0),
    }
}

/// Touches of `a` and `b`, millimetres from the origin of the patient frame, as the machine of `sighting` shows them.
fn touching(mut sighting: Sighting, nearer_detector: Point, nearer_source: Point) -> Sighting {
    let pose = sighting.arm.pose(&sighting.joints, Point::origin(), sighting.distances);
    sighting.nearer_detector = pose.project(&nearer_detector).expect("in front of the source");
    sighting.nearer_source = pose.project(&nearer_source).expect("in front of the source");
    sighting
}

/// Half a lever along a sagittal line, from the middle toward the front; positive angles are inlet, negative outlet.
fn toward_front(angle_deg: f64, lever: f64) -> Vector {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    Vector::new(0.0, -cos, sin) * (lever / 2.0)
}

/// [R-VIEW-3]
///
/// Source: trigonometry, 28 sin(25° - 10°) = 7.2; the sign from the definition of the inlet view.
#[test]
fn an_inlet_set_15_short_shows_s2_7_2_mm_toward_the_symphysis_and_asks_for_more_inlet() {
    let half = toward_front(25.0, 28.0);
    let seen =
        touching(plain(joints(0.0, 10.0, 0.0), Axes::HeadFoot, 28.0), Point::origin() + half, Point::origin() - half);
    // Supine, tube under: S1 at the detector's side, the symphysis at the bottom of the picture.
    let apart = (seen.nearer_source.down_mm - seen.nearer_detector.down_mm) * 0.65;
    assert!((apart - 7.2).abs() < 0.1, "{apart}");
    let answer = correct(&seen).expect("within the lever");
    assert!((answer.turn.tilt.0 - 15.0).abs() < 1e-6, "{answer:?}");
}

/// [R-VIEW-3]
#[test]
fn a_symphysis_below_s2_asks_for_more_outlet() {
    let half = toward_front(-43.0, 108.0);
    let seen =
        touching(plain(joints(0.0, -33.0, 0.0), Axes::Both, 108.0), Point::origin() + half, Point::origin() - half);
    assert!(seen.nearer_detector.down_mm > seen.nearer_source.down_mm, "the symphysis stands below");
    let answer = correct(&seen).expect("within the lever");
    assert!((answer.turn.tilt.0 + 10.0).abs() < 1e-6 && answer.turn.orbit.0.abs() < 1e-6, "{answer:?}");
}

/// [R-VIEW-4]
///
/// Source: intercept theorem, 45 · 650 · (1/585 - 1/715) = 9.1 mm; a correction blind to it answers atan(9.1/130) = 4°.
#[test]
fn a_true_lateral_centred_45_mm_off_answers_0() {
    for off in [Vector::new(0.0, 0.0, 45.0), Vector::new(0.0, 45.0, 0.0), Vector::new(0.0, 27.0, -36.0)] {
        let (left, right) = (Point::new(65.0, 0.0, 0.0) + off, Point::new(-65.0, 0.0, 0.0) + off);
        let seen = touching(plain(joints(0.0, 0.0, 90.0), Axes::Both, 130.0), left, right);
        let apart = (seen.nearer_source.across_mm - seen.nearer_detector.across_mm)
            .hypot(seen.nearer_source.down_mm - seen.nearer_detector.down_mm)
            * 0.65;
        assert!((apart - 9.1).abs() < 0.05, "{apart}");
        assert!(((apart / 130.0).atan().to_degrees() - 4.0).abs() < 0.05);
        let answer = correct(&seen).expect("within the lever");
        assert!(answer.off_by.0 < 1e-6 && answer.moves.is_empty(), "{answer:?}");
        assert!((answer.parallax.0 - 9.1).abs() < 0.05, "{answer:?}");
        assert!(closed_form(&seen).expect("within the lever").wag.0.abs() < EXACT_DEG);
    }
}

/// [R-VIEW-3] At the lateral, wag corrects head-foot and orbit front-back.
#[test]
fn at_the_lateral_wag_corrects_head_foot_and_orbit_front_back() {
    let lean = |along: Vector| along.normalize() * 65.0;
    let at = joints(0.0, 0.0, 90.0);
    for (half, wag, orbit) in
        [(lean(Vector::new(1.0, 0.0, 0.1)), 5.71, 0.0), (lean(Vector::new(1.0, 0.1, 0.0)), 0.0, 5.71)]
    {
        let seen = touching(plain(at, Axes::Both, 130.0), Point::origin() + half, Point::origin() - half);
        let answer = correct(&seen).expect("within the lever");
        assert!((answer.turn.wag.0.abs() - wag).abs() < 0.01, "{answer:?}");
        assert!((answer.turn.orbit.0.abs() - orbit).abs() < 0.01, "{answer:?}");
        assert!(answer.turn.tilt.0.abs() <= 0.0, "{answer:?}");
    }
}

/// Median of the errors of an inlet with a lever of 30 mm, degrees, for touches with `noise` at the detector.
fn median_error(noise_at_detector: f64) -> f64 {
    let mut random = Stream(31);
    let mut errors: Vec<f64> = (0..PELVES)
        .map(|_| {
            let half = toward_front(25.0, 30.0);
            let bare = plain(joints(0.0, 25.0, 0.0), Axes::HeadFoot, 30.0);
            let mut seen = touching(bare, Point::origin() + half, Point::origin() - half);
            seen.nearer_detector.down_mm += noise_at_detector * random.normal();
            seen.nearer_source.down_mm += noise_at_detector * random.normal();
            correct(&seen).map_or(90.0, |answer| answer.turn.tilt.0.abs())
        })
        .collect();
    errors.sort_by(f64::total_cmp);
    errors[errors.len() / 2]
}

/// [R-VIEW-2]
///
/// Source: the median of a normal error, 0.6745 · √2 · 1 mm / 30 mm = 1.8°, and at the detector 1.8° / 1.538 = 1.2°.
#[test]
fn a_lever_of_30_mm_leaves_a_median_of_1_8_degrees_for_1_mm_at_the_patient() {
    let (patient, detector) = (median_error(1000.0 / 650.0), median_error(1.0));
    println!("median error: {patient:.2}° for noise at the patient, {detector:.2}° at the detector");
    assert!((patient - 1.8).abs() < 0.05, "{patient}");
    assert!((detector - 1.2).abs() < 0.05, "{detector}");
}

fn inlet_apart(apart_mm: f64, lever: f64, touch_sd: f64) -> Result<Correction, CorrectionError> {
    let mut seen = plain(joints(0.0, 20.0, 0.0), Axes::HeadFoot, lever);
    seen.nearer_source.down_mm = apart_mm / 2.0 / 0.65;
    seen.nearer_detector.down_mm = -seen.nearer_source.down_mm;
    seen.touch_sd = Millimetres(touch_sd / 0.65);
    correct(&seen)
}

/// [R-VIEW-5] What cannot be answered is refused by name.
#[test]
fn a_short_lever_an_offset_beyond_it_and_a_view_too_far_off_are_refused_by_name() {
    assert!(matches!(inlet_apart(1.0, 12.0, 1.0), Err(CorrectionError::LeverTooShort { .. })));
    assert!(matches!(inlet_apart(30.0, 28.0, 1.0), Err(CorrectionError::OffsetBeyondLever { .. })));
    assert!(matches!(inlet_apart(12.0, 28.0, 1.0), Err(CorrectionError::TooFarOff { .. })));
    assert!(matches!(inlet_apart(f64::NAN, 28.0, 1.0), Err(CorrectionError::Implausible { .. })));
    inlet_apart(7.2, 28.0, 1.0).expect("15° are answered");
}

/// What the doubt of lever and depth adds stands in the answer: `tan(error) · sd / lever` for the lever.
#[test]
fn a_doubtful_lever_widens_the_answer() {
    let half = toward_front(25.0, 28.0);
    let mut seen =
        touching(plain(joints(0.0, 10.0, 0.0), Axes::HeadFoot, 28.0), Point::origin() + half, Point::origin() - half);
    seen.lever.sd = Millimetres(1.0);
    let expected = (15.0_f64.to_radians().tan() / 28.0).to_degrees();
    let answer = correct(&seen).expect("within the lever");
    assert!(answer.bound.tilt.0 <= 0.0, "{answer:?}");
    assert!((answer.sd.tilt.0 - expected).abs() < 0.1 * expected, "{} for {expected}", answer.sd.tilt.0);
}
