//! What Review computes and writes, against `NumPy`, `SciPy`, pandas, pyarrow, qpdf and pdftotext.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::review_world::{Site, word};
use super::synthetic::{Chance, Model, records};
use brimline::review::{
    Counted, QuantileType, ascending, figure, individuals, laney_chart, learning, quantile, ranks, t_975,
};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const SCRIPTS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers/review");

fn python() -> PathBuf {
    std::env::var_os("BRIMLINE_PEERS").expect("BRIMLINE_PEERS names the Python of the peers").into()
}

/// Hands a script JSON on its standard input; its standard error is the failure.
fn ask(script: &str, arguments: &[&str], input: &Value) -> String {
    let mut child = Command::new(python())
        .arg(Path::new(SCRIPTS).join(script))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the peer starts");
    child.stdin.take().unwrap().write_all(input.to_string().as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn samples() -> Vec<Vec<f64>> {
    let mut chance = Chance::of(77);
    [11, 12, 13, 20, 30, 64, 101, 500].map(|n| (0..n).map(|_| (3.0 + 0.4 * chance.normal()).exp()).collect()).into()
}

/// [R-REVIEW-3]
/// Source: `NumPy` `percentile`, `SciPy` `quantile_test` and `t.ppf`, and Laney's limits written out in `NumPy`.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn numpy_and_scipy_compute_the_same() {
    let mut cases = Vec::new();
    for values in samples() {
        let sorted = ascending(values.clone());
        let at = |p, kind| quantile(&sorted, p, kind).unwrap();
        let within = |p| {
            let ranks = ranks(sorted.len(), p).unwrap();
            json!([sorted[ranks.low - 1], sorted[ranks.high - 1], ranks.coverage])
        };
        let counts: Vec<Counted> = values
            .iter()
            .enumerate()
            .map(|(at, value)| Counted { count: value.round(), area: if at % 3 == 0 { 2.0 } else { 1.0 } })
            .collect();
        let (laney, single) = (laney_chart(&counts).unwrap(), individuals(&values).unwrap());
        cases.push(json!({
            "values": values,
            "type6": [at(0.25, QuantileType::Six), at(0.5, QuantileType::Six), at(0.75, QuantileType::Six)],
            "type7": [at(0.25, QuantileType::Seven), at(0.5, QuantileType::Seven), at(0.75, QuantileType::Seven)],
            "median": within(0.5), "upper": within(0.75),
            "counts": counts.iter().map(|one| one.count).collect::<Vec<_>>(),
            "areas": counts.iter().map(|one| one.area).collect::<Vec<_>>(),
            "laney": [laney.mean, laney.spread, laney.limits[0].upper, laney.limits[1].lower],
            "individuals": [single.limits.lower, single.limits.upper],
            "t": [sorted.len(), t_975(sorted.len())],
        }));
    }
    let said = ask("statistics.py", &[], &json!(cases));
    assert_eq!(said.trim(), format!("{} samples agree", cases.len()));
}

/// [R-REVIEW-3]
/// Source: `SciPy` `curve_fit` on the same series; and the certified values of the NIST sets Norris, which the `SciPy`
/// wheel ships, and Misra1a.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn scipy_fits_the_same_learning_curve() {
    let mut chance = Chance::of(5);
    let series: Vec<f64> =
        (0..80).map(|n| 18.0 + 14.0 * (-0.07 * f64::from(n)).exp() + 2.0 * chance.normal()).collect();
    let curve = learning(&series).unwrap();
    let (plateau, fall) = (curve.plateau(), curve.fall());
    let input = json!({
        "series": series, "plateau": plateau.value, "fall": fall.value, "half": curve.half_after_cases(),
        "plateau_half_width": plateau.high - plateau.value, "fall_half_width": fall.high - fall.value,
        "at_40": [curve.at(40).low, curve.at(40).value, curve.at(40).high],
    });
    assert_eq!(ask("curve.py", &[], &input).trim(), "the curve agrees");
}

/// [R-REVIEW-3]
/// Source: NIST `StRD` Norris as the `SciPy` wheel ships it, certified values in the file itself.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn the_solver_meets_the_certified_line_of_norris() {
    use brimline::review::{Curve, fit};
    use nalgebra::Vector2;
    struct Straight;
    impl Curve<2> for Straight {
        fn at(&self, p: &Vector2<f64>, x: f64) -> (f64, Vector2<f64>) {
            (p[0] + p[1] * x, Vector2::new(1.0, x))
        }
    }
    let set: Value = serde_json::from_str(&ask("norris.py", &[], &Value::Null)).unwrap();
    let pairs: Vec<(f64, f64)> = serde_json::from_value(set["points"].clone()).unwrap();
    let certified: [f64; 4] = serde_json::from_value(set["certified"].clone()).unwrap();
    let fit = fit(&Straight, &pairs, Vector2::new(1.0, 0.5)).unwrap();
    let found = [fit.parameters[0], fit.error(0), fit.parameters[1], fit.error(1)];
    for (found, wanted) in found.into_iter().zip(certified) {
        assert!((found / wanted - 1.0).abs() < 1e-9, "{found} is not {wanted}");
    }
}

/// [R-REVIEW-5]
/// Source: pandas and pyarrow read what was written, types and all.
#[test]
#[ignore = "needs the peers of tests/peers/requirements.txt in BRIMLINE_PEERS"]
fn pandas_and_pyarrow_read_the_exports_back_alike() {
    let site = Site::new();
    let folder = site.write("in", &records(&Model::steady(41, 60)));
    site.says(&["review", "import", word(&folder)]);
    for (name, words) in [("figures", &["--by", "size"][..]), ("cases", &["--cases"])] {
        let mut paths = Vec::new();
        for form in ["csv", "parquet"] {
            let path = site.path(&format!("{name}.{form}"));
            let flag = format!("--{form}");
            let words: Vec<&str> =
                ["review", "summary", &flag, "-o", word(&path)].iter().chain(words).copied().collect();
            assert_eq!(site.says(&words).code, 0);
            paths.push(path);
        }
        let said = ask("exports.py", &[word(&paths[0]), word(&paths[1])], &Value::Null);
        let rows = std::fs::read_to_string(&paths[0]).unwrap().lines().count() - 1;
        assert_eq!(said.trim(), format!("{rows} rows alike"));
    }
    let figure = figure(vec![1.0, 2.0, 3.0, 4.0], QuantileType::Seven).unwrap();
    assert!(figure.middle.is_none());
}

/// [R-REVIEW-4]
/// Source: `qpdf --check` and `pdftotext`.
#[test]
#[ignore = "needs qpdf and poppler-utils, as the other peers need theirs"]
fn a_report_is_sound_pdf_whose_words_can_be_read() {
    let site = Site::new();
    let folder = site.write("in", &records(&Model::steady(42, 60)));
    site.says(&["review", "import", word(&folder)]);
    let path = site.path("month.pdf");
    assert_eq!(site.says(&["review", "report", "2031-02", "-o", word(&path)]).code, 0);
    let check = Command::new("qpdf").arg("--check").arg(&path).output().expect("qpdf starts");
    assert!(check.status.success(), "{}", String::from_utf8_lossy(&check.stdout));
    let text = Command::new("pdftotext").arg("-layout").arg(&path).arg("-").output().expect("pdftotext starts");
    let text = String::from_utf8(text.stdout).unwrap();
    for words in ["Review of 2031-02", "27 live cases in 2031-02", "Where the shots go", "Guide pin", "page 13 of 13"] {
        assert!(text.contains(words), "{words} in\n{text}");
    }
}
