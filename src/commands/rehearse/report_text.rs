//! The figures of a comparison as text and as JSON.

use super::interval::{Share, Spread};
use super::report::{Pins, Report, Varied, Views, WITHIN_DEG};
use crate::rehearse::compare::{ACCEPT_DEG, PLANNED_LESS_USED, RANGES, Setting, Strategy, split_laws};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// What stands under every report.
const WHAT_IT_IS: &str = "In silico: scripted teams, model people. It says what the geometry is worth under the stated \
                          doubts, and nothing of surgeons or patients.";

pub(super) fn text(people: u32, seed: u64, setting: &Setting, report: &Report, varied: &[Varied]) -> String {
    let mut out = String::new();
    let mut line = |text: String| {
        out.push_str(&text);
        out.push('\n');
    };
    line(format!("{people} model people, seed {seed}. Every shot counts, centring and the lateral included."));
    line(WHAT_IT_IS.to_owned());
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
        "Views: share within {WITHIN_DEG}° at inlet and outlet on the first shot, and on the second (95 % interval); degrees off where accepted, \
         median and 90th percentile; shots, mean and median"
    ));
    report.views.iter().for_each(|views| line(views_line(views)));
    line(String::new());
    line("Pins: shots in all; right first time; breach by the largest tool; its margin, mm".to_owned());
    report.pins.iter().for_each(|pins| line(pins_line(pins)));
    line(String::new());
    for aim in aims(report) {
        line(aim);
    }
    line(String::new());
    line("What it depends on, one change at a time: d first, e second; shots of e over b and over a, for the views and in all".to_owned());
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

fn off(spread: &Spread) -> String {
    format!("{:.1}°/{:.1}°", spread.median, spread.p90)
}

fn views_line(views: &Views) -> String {
    format!(
        "{}  first {}, second {}; first alone: inlet {:.0} %, outlet {:.0} %; off: inlet {}, outlet {}, lateral {}; shots {:.2}, {}",
        views.strategy.letter(),
        percent(&views.first),
        percent(&views.second),
        100.0 * views.inlet_first.value(),
        100.0 * views.outlet_first.value(),
        off(&views.inlet_off),
        off(&views.outlet_off),
        off(&views.lateral_off),
        views.shots.mean,
        views.shots.median
    )
}

fn pins_line(pins: &Pins) -> String {
    let mut text = format!(
        "{}{} shots {:.2} (median {}); right first time {}; breach {}",
        pins.strategy.letter(),
        if pins.finding { " with the finding:" } else { " by eye:          " },
        pins.shots.mean,
        pins.shots.median,
        percent(&pins.right_first_time),
        percent(&pins.breach)
    );
    if let Some(margin) = &pins.margin {
        let ends = margin.interval.map_or(String::new(), |[low, high]| format!(" ({low:.1} to {high:.1})"));
        let _ = write!(text, "; margin {:.1}{ends}, 10th percentile {:.1}", margin.median, margin.p10);
    }
    let _ = write!(text, "; {:.2} redirections", pins.redirections.mean);
    if pins.not_placed > 0 {
        let _ = write!(text, "; {} not placed", pins.not_placed);
    }
    if let Some(held) = &pins.held_back {
        let _ = write!(text, "; {:.1} % of findings held back", 100.0 * held.value());
    }
    text
}

/// The aims, each with what was found.
pub(super) fn aims(report: &Report) -> Vec<String> {
    let (d, e) = (report.views_of(Strategy::ReAimed), report.views_of(Strategy::Corrected));
    let [a, b] = &report.against;
    let reached = |yes: bool| if yes { "reached" } else { "NOT reached" };
    let mut lines = vec![
        format!(
            "Aim, d on the first shot in 75 % or more: {}, {}",
            reached(d.first.value() >= 0.75),
            percent(&d.first)
        ),
        format!("Aim, e on the second in 90 % or more: {}, {}", reached(e.second.value() >= 0.9), percent(&e.second)),
        format!(
            "Aim, e needs half the shots of b: {} for the views ({:.0} %), {} in all ({:.0} %)",
            reached(b.views <= 0.5),
            100.0 * b.views,
            reached(b.all <= 0.5),
            100.0 * b.all
        ),
        format!(
            "Aim, e needs a third fewer than a: {} for the views ({:.0} %), {} in all ({:.0} %)",
            reached(a.views <= 2.0 / 3.0),
            100.0 * a.views,
            reached(a.all <= 2.0 / 3.0),
            100.0 * a.all
        ),
    ];
    if let Some(less) = &report.margin_against_eye {
        let ends = less.interval.map_or(String::new(), |[low, high]| format!(" ({low:.1} to {high:.1})"));
        lines.push(format!(
            "Aim, margins no smaller: {}; e with the finding less a by eye, person by person: median {:+.1} mm{ends}",
            reached(less.interval.map_or(less.median, |ends| ends[0]) >= 0.0),
            less.median
        ));
    }
    lines
}

fn varied_line(varied: &Varied) -> String {
    let report = &varied.report;
    let [a, b] = &report.against;
    format!(
        "{}: d {:.0} %, e {:.0} %; of b {:.0} % and {:.0} %, of a {:.0} % and {:.0} %  [{} people]",
        varied.what,
        100.0 * report.views_of(Strategy::ReAimed).first.value(),
        100.0 * report.views_of(Strategy::Corrected).second.value(),
        100.0 * b.views,
        100.0 * b.all,
        100.0 * a.views,
        100.0 * a.all,
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
            "other": other, "views": against.views, "all": against.all,
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
