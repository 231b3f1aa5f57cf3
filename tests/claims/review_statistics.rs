//! The statistics of Review against published numbers.

use brimline::review::{
    Beyond, Counted, Curve, D2, INTERVAL_MIN, QuantileType, SLACK, ascending, binomial, coverage, first_shift, fit,
    hidden, individuals, laney_chart, learning, limit_for, quantile, ranks, run_length_by_chance, sums, t_975, u_chart,
};
use nalgebra::{Vector2, Vector3};

/// Figures are printed to four places.
const PRINTED: f64 = 5e-5;

fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value} is not {wanted}");
}

/// [R-REVIEW-3]
/// Source: NIST/SEMATECH e-Handbook, section 7.2.6.2: the 90th percentile of 12 resistivities is 95.1981 (type 6).
/// The others: `NumPy` 2, `numpy.percentile` with `method="weibull"` and `"linear"`.
#[test]
fn percentiles_are_of_the_type_they_say() {
    let resistivities = ascending(vec![
        95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682,
    ]);
    let at = |p, kind| quantile(&resistivities, p, kind).unwrap();
    near(at(0.9, QuantileType::Six), 95.1981, PRINTED);
    near(at(0.9, QuantileType::Seven), 95.19568, 1e-9);
    near(at(0.75, QuantileType::Seven), 95.181_325, 1e-9);
    near(at(0.75, QuantileType::Six), 95.189_575, 1e-9);
    near(at(0.5, QuantileType::Seven), 95.1579, PRINTED + 5e-5);
    assert_eq!(quantile(&[], 0.5, QuantileType::Seven), None);
    assert_eq!(quantile(&[4.0], 0.9, QuantileType::Six), Some(4.0));
}

/// [R-REVIEW-3]
/// Source: exact binomial; the table of intervals for a median (Hahn and Meeker, from memory: 97.9 % for n = 10 between
/// ranks 2 and 9, 95.9 % for n = 20 between 6 and 15), re-computed with `SciPy` 1.17, `scipy.stats.binom`.
#[test]
fn order_statistics_enclose_a_quantile_as_often_as_they_say() {
    for (n, p, low, high, covered) in [(10, 0.5, 2, 9, 0.9785), (20, 0.5, 6, 15, 0.9586), (20, 0.75, 11, 19, 0.9618)] {
        let ranks = ranks(n, p).unwrap();
        assert_eq!((ranks.low, ranks.high), (low, high), "n = {n}");
        near(ranks.coverage, covered, PRINTED);
    }
    let table = [(12, 6, 12, 0.954), (30, 18, 28, 0.968), (50, 32, 44, 0.952), (100, 67, 84, 0.951)];
    for (n, low, high, covered) in table {
        near(coverage(n, 0.75, low, high), covered, 6e-4);
    }
    assert!(ranks(5, 0.5).is_none() && ranks(6, 0.5).is_some());
    assert!(ranks(INTERVAL_MIN - 1, 0.75).is_none() && ranks(INTERVAL_MIN, 0.75).is_some());
    near(binomial(1_000, 0.25).iter().sum(), 1.0, 1e-12);
}

/// [R-REVIEW-3]
/// Source: NIST/SEMATECH e-Handbook, section 6.3.3.1: 25 wafers, limits 4 and 28; wafer 24 is out, wafer 3 stands on
/// the limit and is not.
#[test]
fn a_point_on_the_limit_is_no_signal() {
    let defects = [16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13];
    let counts = defects.map(|count| Counted { count: f64::from(count), area: 1.0 });
    let chart = u_chart(&counts).unwrap();
    near(chart.limits[0].upper, 28.0, 1e-12);
    near(chart.limits[0].lower, 4.0, 1e-12);
    let out: Vec<usize> =
        (0..25).filter(|at| chart.limits[*at].beyond(counts[*at].count).is_some()).map(|at| at + 1).collect();
    assert_eq!(out, [24]);
    assert_eq!(chart.limits[0].beyond(3.0), Some(Beyond::Below));
}

/// [R-REVIEW-3]
/// Source: NIST/SEMATECH e-Handbook, section 6.3.2.2, with 3/1.128 unrounded; the rounded 2.66 would give 55.8049.
#[test]
fn limits_of_individual_values_are_the_handbooks() {
    let flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
    let chart = individuals(&flow).unwrap();
    near(chart.limits.upper, 55.8041, PRINTED);
    near(chart.limits.lower, 45.8159, PRINTED);
    near(chart.mean_moving_range, 1.8778, PRINTED);
    near(chart.range_upper, 6.1347, PRINTED);
    assert!(individuals(&[1.0]).is_none());
}

/// [R-REVIEW-3]
/// Source: Montgomery, Introduction to Statistical Quality Control, u chart with mean 0.074 and 50 units, from memory.
#[test]
fn a_lower_limit_of_a_count_is_never_below_none() {
    let counts = [Counted { count: 3.7, area: 50.0 }, Counted { count: 3.7, area: 50.0 }];
    let limits = u_chart(&counts).unwrap().limits[0];
    near(limits.upper, 0.1894, PRINTED);
    near(limits.lower, 0.0, 0.0);
}

/// [R-REVIEW-3]
/// Source: NIST/SEMATECH e-Handbook, section 6.3.2.3: the first signal is at point 14 with 4.94, no signal below.
#[test]
fn cumulative_sums_signal_where_the_handbook_does() {
    let values = [
        324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
        328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
    ];
    let sums = sums(&values, 325.0, 0.3175);
    let shift = first_shift(&sums, 4.1959).unwrap();
    assert_eq!((shift.seen_at + 1, shift.direction), (14, Beyond::Above));
    near(sums[12].high, 3.01, 5e-3);
    near(sums[13].high, 4.94, 5e-3);
    near(sums[19].high, 19.04, 5e-3);
    assert!(sums.iter().all(|sum| sum.low < 0.73));
}

/// [R-REVIEW-3]
/// Source: Montgomery, example 9.1 (data from memory): signal at sample 29 with 5.28 after 7 in a row, so that the
/// shift begins after sample 22.
#[test]
fn cumulative_sums_say_where_a_shift_began() {
    let values = [
        9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08, 9.37, 10.62,
        10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52,
    ];
    let sums = sums(&values, 10.0, 0.5);
    near(sums[27].high, 4.47, 5e-3);
    near(sums[28].high, 5.28, 5e-3);
    assert_eq!(sums[28].run_high, 7);
    let shift = first_shift(&sums, 5.0).unwrap();
    assert_eq!((shift.seen_at + 1, shift.begins_at), (29, 22));
}

/// Source: average run lengths of both sums together, 465 at a limit of 5 and 168 at 4 (Montgomery, table 9.3).
#[test]
fn the_limit_by_chance_follows_the_published_run_lengths() {
    let both = |limit| run_length_by_chance(limit, SLACK) / 2.0;
    // Siegmund's approximation is good to about 1 %.
    near(both(5.0), 465.0, 6.0);
    near(both(4.0), 168.0, 3.0);
    assert!(limit_for(200, 12, 0.05) > limit_for(50, 1, 0.05));
}

/// [R-REVIEW-3]
/// Source: an independent computation with `NumPy`, tests/peers/review/statistics.py, frozen here.
#[test]
fn laneys_limits_come_from_the_moving_range_and_are_not_cut() {
    let counts = [(21, 1), (30, 2), (18, 1), (44, 2), (15, 1), (25, 1), (39, 2), (20, 1)];
    let counts = counts.map(|(count, area)| Counted { count: f64::from(count), area: f64::from(area) });
    let chart = laney_chart(&counts).unwrap();
    near(chart.mean, 212.0 / 11.0, 1e-12);
    near(chart.spread, LANEY_SPREAD, 1e-12);
    near(chart.limits[0].upper, chart.mean + 3.0 * LANEY_SPREAD * chart.mean.sqrt(), 1e-12);
    // A steady series has less spread than chance, and says so.
    let steady = [20.0, 20.5, 20.0, 20.5, 20.0].map(|count| Counted { count, area: 1.0 });
    assert!(laney_chart(&steady).unwrap().spread < 0.2);
    assert!((D2 - 1.128).abs() < f64::EPSILON);
}

const LANEY_SPREAD: f64 = 1.200_401_166_770_738;

struct Misra;

impl Curve<2> for Misra {
    fn at(&self, p: &Vector2<f64>, x: f64) -> (f64, Vector2<f64>) {
        let decay = (-p[1] * x).exp();
        (p[0] * (1.0 - decay), Vector2::new(1.0 - decay, p[0] * x * decay))
    }
}

/// [R-REVIEW-3]
/// Source: NIST Statistical Reference Datasets, nonlinear regression, Misra1a (data and certified values from memory;
/// `SciPy`'s `curve_fit` on the same data gives them to ten digits, tests/peers/review/statistics.py).
#[test]
fn the_solver_finds_the_certified_fit_from_both_starts() {
    let y = [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78];
    let x = [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0];
    let points: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
    for start in [[500.0, 0.0001], [250.0, 0.0005]] {
        let fit = fit(&Misra, &points, Vector2::from(start)).unwrap();
        near(fit.parameters[0] / 2.389_421_291_8E+02, 1.0, 1e-8);
        near(fit.parameters[1] / 5.501_564_318_1E-04, 1.0, 1e-8);
        near(fit.squares / 1.245_513_889_4E-01, 1.0, 1e-8);
        near(fit.error(0) / 2.707_007_524_1, 1.0, 1e-6);
    }
}

struct Line;

impl Curve<3> for Line {
    fn at(&self, p: &Vector3<f64>, x: f64) -> (f64, Vector3<f64>) {
        (p[0] + p[1] * x + p[2] * x * x, Vector3::new(1.0, x, x * x))
    }
}

#[test]
fn a_fit_without_points_enough_is_none() {
    assert!(fit(&Line, &[(0.0, 1.0), (1.0, 2.0), (2.0, 3.0)], Vector3::zeros()).is_none());
    let flat = [(1.0, 1.0); 8];
    assert!(fit(&Line, &flat, Vector3::zeros()).is_none(), "nothing tells the parameters apart");
}

#[test]
fn an_exact_curve_is_found_and_a_flat_series_shows_no_learning() {
    let exact: Vec<f64> = (0..60).map(|n| 20.0 + 15.0 * (-0.08 * f64::from(n)).exp()).collect();
    let curve = learning(&exact).unwrap();
    near(curve.plateau().value, 20.0, 1e-6);
    near(curve.fall().value, 15.0, 1e-6);
    near(curve.half_after_cases(), std::f64::consts::LN_2 / 0.08, 1e-6);
    let flat: Vec<f64> = (0..60).map(|n| 20.0 + f64::from(n * 7 % 5)).collect();
    assert!(learning(&flat).is_none());
    let rising: Vec<f64> = (0..60).map(|n| 20.0 + f64::from(n)).collect();
    assert!(learning(&rising).is_none());
    assert!(learning(&exact[..11]).is_none());
}

/// Source: `SciPy` 1.17, `scipy.stats.t.ppf(0.975, df)`, frozen.
#[test]
fn students_quantile_is_good_to_four_places_from_nine_degrees_on() {
    for (freedom, wanted) in
        [(9, 2.262_157_2), (12, 2.178_812_8), (30, 2.042_272_5), (57, 2.002_465_5), (1_000, 1.962_339_1)]
    {
        near(t_975(freedom), wanted, 1e-4);
    }
}

#[test]
fn a_hidden_cell_cannot_be_had_by_subtraction() {
    assert_eq!(hidden(&[20, 30, 9]), [false, false, false]);
    assert_eq!(hidden(&[20, 3, 9]), [false, true, true]);
    assert_eq!(hidden(&[20, 3, 4]), [false, true, true]);
    assert_eq!(hidden(&[20, 1, 1]), [true, true, true]);
    assert_eq!(hidden(&[0, 3]), [false, true]);
}
