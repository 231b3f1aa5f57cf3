//! The projector: lengths through plain shapes, attenuation, quanta, and no crack between triangles.

use brimline::carm::{Direction, Point, Pose, PositionerAngles};
use brimline::fluoro::{Body, CastError, Exposure, Material, Raster, Scene, Spectrum, cast};
use brimline::pelvis::{Mesh, shapes};
use brimline::units::{Degrees, Millimetres};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// Relative, away from edges: single precision, and the flats of a finely cut ball or rod.
const LENGTH: f64 = 1e-4;
/// What rounding leaves outside a shape, mm.
const NOTHING_MM: f32 = 2e-3;

fn pose(primary: f64, secondary: f64, roll: f64) -> Pose {
    let angles = PositionerAngles { primary: Degrees(primary), secondary: Degrees(secondary) };
    let (near, far) = (Millimetres(650.0), Millimetres(1000.0));
    Pose::looking(angles.beam(), Point::new(4.0, -3.0, 7.0), near, far, Degrees(roll))
}

/// Holds every pixel against a length known in closed form; `None` where the ray passes close to an edge.
fn hold(mesh: &Mesh, known: impl Fn(&Point, &Direction) -> Option<f64>) {
    mesh.closed().unwrap();
    let raster = Raster::square(96, 280.0);
    for (primary, secondary, roll) in [(0.0, 25.0, 0.0), (180.0, 43.0, 30.0), (90.0, 3.0, -12.0), (14.0, -42.0, 170.0)]
    {
        let pose = pose(primary, secondary, roll);
        let lengths = cast(&pose, &raster, &[&[mesh]], 2).unwrap().remove(0);
        let (mut held, mut inside) = (0, 0);
        for (at, length) in lengths.iter().enumerate() {
            let (across_mm, down_mm) = raster.centre_of(at % 96, at / 96);
            let ray = pose.ray(brimline::carm::ImagePoint { across_mm, down_mm });
            let Some(known) = known(&ray.origin, &ray.direction) else { continue };
            let within = (known * LENGTH).max(f64::from(NOTHING_MM));
            assert!((f64::from(*length) - known).abs() < within, "pixel {at}: {length} for {known}");
            held += 1;
            inside += usize::from(known > 0.0);
        }
        assert!(held > 8000 && inside > 100, "{held} {inside}");
    }
}

/// [R-FLUORO-1]
///
/// Source: chord of a ball, 2·sqrt(r² − d²), d the ray's distance from the middle.
#[test]
fn a_ball_is_as_long_as_its_chord() {
    let (middle, radius) = (Point::new(10.0, 20.0, -15.0), 50.0);
    hold(&shapes::ball(middle, radius, 400, 800), |origin, direction| {
        let distance = (middle - origin).cross(direction).norm();
        if (distance - radius).abs() < 5.0 {
            return None;
        }
        Some(2.0 * (radius * radius - distance * distance).max(0.0).sqrt())
    });
}

/// Source: the slab method, entry and exit of each pair of planes.
#[test]
fn a_box_is_as_long_as_its_slabs() {
    let (low, high) = (Point::new(-40.0, -30.0, -20.0), Point::new(45.0, 35.0, 60.0));
    hold(&shapes::block(low, high), |origin, direction| {
        let (mut enters, mut leaves) = (f64::NEG_INFINITY, f64::INFINITY);
        for axis in 0..3 {
            let (a, b) = ((low[axis] - origin[axis]) / direction[axis], (high[axis] - origin[axis]) / direction[axis]);
            (enters, leaves) = (enters.max(a.min(b)), leaves.min(a.max(b)));
        }
        let length = leaves - enters;
        if length.abs() < 1.0 { None } else { Some(length.max(0.0)) }
    });
}

/// Source: chord of an infinite cylinder cut by the planes of its ends.
#[test]
fn a_rod_is_as_long_as_its_chord() {
    let (start, end, radius) = (Point::new(-60.0, 10.0, -20.0), Point::new(70.0, -15.0, 25.0), 30.0);
    let along = Direction::new_normalize(end - start);
    hold(&shapes::rod(start, end, radius, 900), |origin, direction| {
        let flat = |vector: brimline::carm::Vector| vector - along.into_inner() * vector.dot(&along);
        let (way, from) = (flat(direction.into_inner()), flat(origin - start));
        let (a, b, c) = (way.norm_squared(), way.dot(&from), from.norm_squared() - radius * radius);
        let root = b * b - a * c;
        let closest = (from.norm_squared() - b * b / a).max(0.0).sqrt();
        if (closest - radius).abs() < 3.0 {
            return None;
        }
        if root <= 0.0 {
            return Some(0.0);
        }
        let end_at = |plane: &Point| (plane - origin).dot(&along) / direction.dot(&along);
        let (one, other) = (end_at(&start), end_at(&end));
        let enters = ((-b - root.sqrt()) / a).max(one.min(other));
        let leaves = ((-b + root.sqrt()) / a).min(one.max(other));
        if (leaves - enters).abs() < 6.0 { None } else { Some((leaves - enters).max(0.0)) }
    });
}

#[test]
fn no_pixel_falls_into_a_crack_or_counts_twice() {
    // Corners on pixel centres and edges along rows are where a careless rule fails: rays through corners and edges.
    let mesh = shapes::block(Point::new(-32.5, -32.5, -32.5), Point::new(32.5, 32.5, 32.5));
    let angles = PositionerAngles { primary: Degrees(0.0), secondary: Degrees(0.0) };
    let pose = Pose::looking(angles.beam(), Point::origin(), Millimetres(650.0), Millimetres(1000.0), Degrees(0.0));
    for pitch_mm in [0.5, 1.0, 50.0 / 51.0] {
        let raster = Raster { columns: 201, rows: 201, pitch_mm };
        let lengths = cast(&pose, &raster, &[&[&mesh]], 1).unwrap().remove(0);
        let longest = (65.0_f32 * 65.0 * 3.0).sqrt();
        for (at, length) in lengths.iter().enumerate() {
            assert!((-NOTHING_MM..longest).contains(length), "pixel {at}: {length}");
        }
    }
}

/// [R-FLUORO-4]
#[test]
fn rows_shared_among_workers_give_the_same_picture() {
    let mesh = shapes::ball(Point::origin(), 60.0, 40, 60);
    let raster = Raster::square(150, 300.0);
    let alone = cast(&pose(5.0, 30.0, 0.0), &raster, &[&[&mesh]], 1).unwrap();
    assert_eq!(alone, cast(&pose(5.0, 30.0, 0.0), &raster, &[&[&mesh]], 3).unwrap());
}

#[test]
fn a_surface_at_the_source_or_through_the_detector_is_refused() {
    let raster = Raster::square(32, 300.0);
    let here = |z: f64| shapes::ball(Point::new(0.0, z, 0.0), 30.0, 8, 8);
    let pose = Pose::looking(
        -Direction::new_unchecked(brimline::carm::Vector::y()),
        Point::origin(),
        Millimetres(650.0),
        Millimetres(1000.0),
        Degrees(0.0),
    );
    let near = here(640.0);
    assert_eq!(cast(&pose, &raster, &[&[&near]], 1), Err(CastError::AtSource { surface: 0 }));
    let (fine, far) = (here(0.0), here(-340.0));
    assert_eq!(cast(&pose, &raster, &[&[&fine], &[&far]], 1), Err(CastError::ThroughDetector { surface: 1 }));
}

/// Source: NIST SRD 126 compositions, computed with xraylib 4.3 and xraydb 4.5.8, which agree; cm²/g.
#[test]
fn attenuation_agrees_with_the_published_table() {
    let table = [
        (Material::CorticalBone, [0.6655, 0.4242, 0.3148, 0.2229, 0.1855]),
        (Material::SoftTissue, [0.2688, 0.2264, 0.2048, 0.1823, 0.1693]),
        (Material::Fat, [0.2396, 0.2123, 0.1974, 0.1800, 0.1688]),
        (Material::Water, [0.2683, 0.2269, 0.2059, 0.1837, 0.1707]),
        (Material::SpongyBone, [0.3878, 0.2860, 0.2381, 0.1948, 0.1745]),
        (Material::TitaniumAlloy, [2.124, 1.168, 0.740, 0.394, 0.267]),
        (Material::StainlessSteel, [3.808, 2.057, 1.266, 0.623, 0.387]),
    ];
    for (material, row) in table {
        for (kev, known) in [40.0, 50.0, 60.0, 80.0, 100.0].into_iter().zip(row) {
            let found = material.mass_attenuation(kev);
            // The table's last digit, rounded.
            let last = if known < 0.7 && material != Material::TitaniumAlloy && material != Material::StainlessSteel {
                6e-5
            } else {
                6e-4
            };
            assert!((found - known).abs() < last, "{material:?} {kev}: {found} {known}");
        }
    }
}

fn transmitted(body: &Mesh, inside: Material, outside: Material, kev: f64) -> f64 {
    let angles = PositionerAngles { primary: Degrees(0.0), secondary: Degrees(0.0) };
    let pose = Pose::looking(angles.beam(), Point::origin(), Millimetres(650.0), Millimetres(1000.0), Degrees(0.0));
    let scene = Scene { bodies: vec![Body { surface: body, inside, outside }] };
    let paths = scene.paths(&pose, &Raster { columns: 1, rows: 1, pitch_mm: 0.1 }, 1).unwrap();
    f64::from(paths.transmission(&Spectrum::line(kev).unwrap(), 1)[0])
}

/// Source: Beer and Lambert over the same published table: a 3.2 mm steel pin, titanium alloy, 2 mm of cortical bone in
/// place of soft tissue, 10 mm of spongy bone, 20 cm of soft tissue.
/// [R-FLUORO-2]
#[test]
fn a_steel_pin_lets_four_hundredths_of_the_beam_pass() {
    let thick = |mm: f64| shapes::block(Point::new(-50.0, -mm / 2.0, -50.0), Point::new(50.0, mm / 2.0, 50.0));
    use Material::{Air, CorticalBone, SoftTissue, SpongyBone, StainlessSteel, TitaniumAlloy};
    for (mm, inside, outside, at_60, at_50) in [
        (3.2, StainlessSteel, Air, 0.0395, 0.0052),
        (3.2, TitaniumAlloy, Air, 0.350, 0.191),
        (2.0, CorticalBone, SoftTissue, 0.925, 0.892),
        (10.0, SpongyBone, SoftTissue, 0.938, 0.907),
        (200.0, SoftTissue, Air, 0.0130, 0.0082),
    ] {
        for (kev, known) in [(60.0, at_60), (50.0, at_50)] {
            let air = if outside == Air { Air.linear_attenuation(kev) * mm } else { 0.0 };
            // The worked values take nothing for the air in which a body stands.
            let found = transmitted(&thick(mm), inside, outside, kev) * (-air).exp();
            let last = if known < 0.1 { 6e-5 } else { 6e-4 };
            assert!((found - known).abs() < last, "{inside:?} {kev}: {found} {known}");
        }
    }
}

/// Source: Poisson's law: the variance of a count equals its mean; checked within four standard errors.
/// [R-FLUORO-3]
#[test]
fn quanta_scatter_as_the_dose_has_it() {
    let body = shapes::block(Point::new(-300.0, -10.0, -300.0), Point::new(300.0, 10.0, 300.0));
    let scene = Scene { bodies: vec![Body { surface: &body, inside: Material::Water, outside: Material::Air }] };
    let paths = scene.paths(&pose(0.0, 0.0, 0.0), &Raster::square(128, 20.0), 1).unwrap();
    let mut random = Xoshiro256PlusPlus::seed_from_u64(20);
    for quanta in [8.0, 400.0] {
        let exposure = Exposure { quanta, blur_mm: 0.0, saturation: f64::MAX, ..Exposure::default() };
        let signal = exposure.expose(&paths, &mut random, 2);
        let counts: Vec<f64> = signal.values.iter().map(|value| f64::from(*value) * quanta).collect();
        let n = counts.len() as f64;
        let mean = counts.iter().sum::<f64>() / n;
        let variance = counts.iter().map(|count| (count - mean).powi(2)).sum::<f64>() / (n - 1.0);
        assert!((mean - quanta).abs() < 4.0 * (quanta / n).sqrt(), "{mean} {quanta}");
        assert!((variance / quanta - 1.0).abs() < 4.0 * ((2.0 + 1.0 / quanta) / n).sqrt(), "{variance} {quanta}");
    }
}

/// Source: contrast of the primary falls by 1 / (1 + scatter-to-primary ratio) under an even veil, by definition.
#[test]
fn scatter_takes_contrast_by_its_ratio() {
    let rod = shapes::rod(Point::new(0.0, 0.0, -200.0), Point::new(0.0, 0.0, 200.0), 1.6, 64);
    let scene =
        Scene { bodies: vec![Body { surface: &rod, inside: Material::StainlessSteel, outside: Material::Air }] };
    let paths = scene.paths(&pose(0.0, 0.0, 0.0), &Raster::square(256, 230.0), 1).unwrap();
    let contrast = |scatter_to_primary: f64| {
        let exposure = Exposure { scatter_to_primary, veil_mm: 400.0, ..Exposure::default() };
        let values = exposure.expected(&paths, 2).values;
        let (low, high) =
            values.iter().fold((f32::MAX, f32::MIN), |(low, high), value| (low.min(*value), high.max(*value)));
        f64::from((high - low) / high)
    };
    let ratio = contrast(3.0) / contrast(0.0);
    // The rod itself takes two hundredths off the mean of the primary, and so of the veil.
    assert!((ratio - 0.25).abs() < 0.01, "{ratio}");
}
