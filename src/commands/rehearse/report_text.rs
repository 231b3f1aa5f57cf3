//! The figures of a comparison as text and as JSON.

use super::interval::{Ratio, Share, Spread};
use super::report::{Against, Pins, Report, Varied, Views, WITHIN_DEG};
use crate::rehearse::compare::{ACCEPT_DEG, PLANNED_LESS_USED, RANGES, Setting, Strategy, split_laws};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// What stands under every report.
const WHAT_IT_IS: &str = "In silico: scripted teams, model people. It says what the geometry is worth under the stated \
                          doubts, and nothing of surgeons or patients.";

/// How the intervals are made.
const INTERVALS: &str = "Intervals of 95 %: shares exact binomial (Clopper and Pearson); medians and 10th percentiles by order statistics; means and their ratios by bootstrap.";

pub(super) fn text(people: u32, seed: u64, setting: &Setting, report: &Report, varied: &[Varied]) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    line(format!("{people} model people, seed {seed}. Every shot counts, centring and the lateral included."));
    line(WHAT_IT_IS.to_owned());
    line(INTERVALS.to_owned());
    line(String::new());
    for text in strategies() {
        line((*text).to_owned());
    }
    line(format!(
        "All judge by the same touches and accept {}° at inlet and outlet, {}° at the lateral.",
        ACCEPT_DEG[0], ACCEPT_DEG[1]
    ));
    line(String::new());
    line(format!(
        "Views: share within {WITHIN_DEG}° at inlet and outlet on the first shot, and on the second; degrees off where accepted; \
         shots"
    ));
    report.views.iter().for_each(|views| line(views_line(views)));
    line(String::new());
    line("Pins: shots in all; right first time; breach by the largest tool toward canal, foramen, front, ala or notch; its margin".to_owned());
    report.pins.iter().for_each(|pins| line(pins_line(pins)));
    line(String::new());
    for aim in aims(report) {
        line(aim);
    }
    line(String::new());
    line("What it depends on, one change at a time: d first, e second; shots of e for the views over those of b and of a".to_owned());
    for varied in varied {
        line(varied_line(varied));
    }
    line(String::new());
    split_lines(setting.doubt.turn_share).into_iter().for_each(&mut line);
    out
}

fn strategies() -> [&'static str; 5] {
    [
        "a  published mean angles, then correction in proportion by an experienced eye",
        "b  published mean angles, then steps of 5°",
        "c  planned angles, then the eye",
        "d  planned angles, re-aimed by the lateral, then the eye",
        "e  d with the view correction in place of the eye",
    ]
}

fn percent(share: &Share) -> String {
    format!("{:.1} % ({:.1} to {:.1})", 100.0 * share.value(), 100.0 * share.low, 100.0 * share.high)
}

/// A ratio as a share, with its interval.
fn ratio(ratio: &Ratio) -> String {
    format!("{:.0} % ({:.0} to {:.0})", 100.0 * ratio.value, 100.0 * ratio.low, 100.0 * ratio.high)
}

/// A median with its interval, where there are enough for one.
fn median(spread: &Spread, digits: usize) -> String {
    let ends = spread.interval.map_or(String::new(), |[low, high]| format!(" ({low:.digits$} to {high:.digits$})"));
    format!("{:.digits$}{ends}", spread.median)
}

/// A mean with its interval.
fn mean(spread: &Spread) -> String {
    let [low, high] = spread.mean_interval;
    format!("{:.2} ({low:.2} to {high:.2})", spread.mean)
}

/// The value below which a tenth lies, with its interval, where there are enough for one.
fn tenth(spread: &Spread) -> String {
    let ends = spread.p10_interval.map_or(String::new(), |[low, high]| format!(" ({low:.1} to {high:.1})"));
    format!("{:.1}{ends}", spread.p10)
}

fn views_line(views: &Views) -> String {
    format!(
        "{}  first {}, second {}; first alone: inlet {}, outlet {}; off: inlet {}°, outlet {}°, lateral {}°; shots {}, \
         mean {}",
        views.strategy.letter(),
        percent(&views.first),
        percent(&views.second),
        percent(&views.inlet_first),
        percent(&views.outlet_first),
        median(&views.inlet_off, 1),
        median(&views.outlet_off, 1),
        median(&views.lateral_off, 1),
        median(&views.shots, 0),
        mean(&views.shots)
    )
}

fn pins_line(pins: &Pins) -> String {
    let mut text = format!(
        "{}{} shots {}, mean {}; right first time {}; breach {}",
        pins.strategy.letter(),
        if pins.finding { " with the finding:" } else { " by eye:          " },
        median(&pins.shots, 0),
        mean(&pins.shots),
        percent(&pins.right_first_time),
        percent(&pins.breach)
    );
    if let Some(margin) = &pins.margin {
        let _ = write!(text, "; margin {} mm, 10th percentile {}", median(margin, 1), tenth(margin));
    }
    let _ = write!(text, "; sacrum held too short {}", percent(&pins.purchase_short));
    let _ = write!(text, "; {} redirections", mean(&pins.redirections));
    if pins.not_placed > 0 {
        let _ = write!(text, "; {} not placed", pins.not_placed);
    }
    if let Some(held) = &pins.held_back {
        let _ = write!(text, "; findings held back {}", percent(held));
    }
    text
}

fn reached(yes: bool) -> &'static str {
    if yes { "reached" } else { "NOT reached" }
}

/// An aim of fewer shots: for the views alone, and in all.
fn fewer(what: &str, most: f64, against: &Against) -> String {
    let (views, all) = (&against.views, &against.all);
    format!(
        "Aim, e needs {what}: {} for the views, {} of them; {} in all, {}",
        reached(views.value <= most),
        ratio(views),
        reached(all.value <= most),
        ratio(all)
    )
}

/// The aims, each with what was found.
pub(super) fn aims(report: &Report) -> Vec<String> {
    let (d, e) = (report.views_of(Strategy::ReAimed), report.views_of(Strategy::Corrected));
    let [a, b] = &report.against;
    let mut lines = vec![
        format!(
            "Aim, d on the first shot in 75 % or more: {}, {}",
            reached(d.first.value() >= 0.75),
            percent(&d.first)
        ),
        format!("Aim, e on the second in 90 % or more: {}, {}", reached(e.second.value() >= 0.9), percent(&e.second)),
        fewer("half the shots of b", 0.5, b),
        fewer("a third fewer than a", 2.0 / 3.0, a),
    ];
    if let Some(less) = &report.margin_against_eye {
        lines.push(format!(
            "Aim, margins no smaller: {}; e with the finding less a by eye, person by person: median {} mm",
            reached(less.interval.map_or(less.median, |ends| ends[0]) >= 0.0),
            median(less, 1)
        ));
    }
    lines
}

fn varied_line(varied: &Varied) -> String {
    let report = &varied.report;
    let [a, b] = &report.against;
    let (d, e) = (report.views_of(Strategy::ReAimed), report.views_of(Strategy::Corrected));
    format!(
        "{}: d {}, e {}; views: of b {}, of a {}  [{} people]",
        varied.what,
        percent(&d.first),
        percent(&e.second),
        ratio(&b.views),
        ratio(&a.views),
        varied.people
    )
}

fn split_lines(share: f64) -> Vec<String> {
    let [turn, inlet, outlet] = split_laws(share);
    let of = |(mean, deviation): (f64, f64)| format!("{mean:+.1}° ± {deviation:.1}°");
    vec![
        format!(
            "Planned less used angle as published (Eastman and Routt 2015, n = 24): inlet {}°, range {}°; outlet +{}°, range {}°.",
            PLANNED_LESS_USED[0], RANGES[0], PLANNED_LESS_USED[1], RANGES[1]
        ),
        format!(
            "Split: {:.0} % of the outlet's variance a turn of the pelvis ({}); the rest misread: inlet {}, outlet {}.",
            100.0 * share,
            of(turn),
            of(inlet),
            of(outlet)
        ),
        "The series does not part the two; how much that matters stands above.".to_owned(),
    ]
}

pub(super) fn json(people: u32, seed: u64, setting: &Setting, report: &Report, varied: &[Varied]) -> Value {
    let [turn, inlet, outlet] = split_laws(setting.doubt.turn_share);
    let law = |(mean, deviation): (f64, f64)| json!({"mean_deg": mean, "sd_deg": deviation});
    json!({
        "brimline_comparison": 1,
        "people": people,
        "seed": seed,
        "what_it_is": WHAT_IT_IS,
        "intervals": INTERVALS,
        "strategies": strategies(),
        "within_deg": WITHIN_DEG,
        "planned_less_used": {
            "turn_share": setting.doubt.turn_share,
            "turn": law(turn), "inlet_misread": law(inlet), "outlet_misread": law(outlet),
        },
        "result": report_json(report),
        "aims": aims(report),
        "depends_on": varied.iter().map(|varied| json!({
            "change": varied.what, "people": varied.people, "result": report_json(&varied.report),
        })).collect::<Vec<_>>(),
    })
}

fn report_json(report: &Report) -> Value {
    let views = report.views.iter().map(|views| {
        json!({
            "strategy": views.strategy.letter().to_string(),
            "first": views.first.json(), "second": views.second.json(),
            "inlet_first": views.inlet_first.json(), "outlet_first": views.outlet_first.json(),
            "inlet_off_deg": views.inlet_off.json(), "outlet_off_deg": views.outlet_off.json(),
            "lateral_off_deg": views.lateral_off.json(), "shots": views.shots.json(),
        })
    });
    let pins = report.pins.iter().map(|pins| {
        json!({
            "strategy": pins.strategy.letter().to_string(), "finding": pins.finding,
            "shots": pins.shots.json(), "right_first_time": pins.right_first_time.json(),
            "breach": pins.breach.json(), "margin_mm": pins.margin.map(|margin| margin.json()),
            "purchase_short": pins.purchase_short.json(), "redirections": pins.redirections.json(),
            "not_placed": pins.not_placed, "findings_held_back": pins.held_back.map(|held| held.json()),
        })
    });
    let against = report.against.iter().zip(["a", "b"]).map(|(against, other)| {
        json!({
            "other": other, "views": against.views.json(), "all": against.all.json(),
            "shots_less": against.shots_less.map(|less| less.json()),
            "margin_less_mm": against.margin_less.map(|less| less.json()),
        })
    });
    json!({
        "views": views.collect::<Vec<_>>(), "pins": pins.collect::<Vec<_>>(), "e_against": against.collect::<Vec<_>>(),
        "margin_against_eye_mm": report.margin_against_eye.map(|less| less.json()),
        "runs_stopped_by_table_or_patient": report.stopped,
    })
}
