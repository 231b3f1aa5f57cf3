//! View targets as text that a radiographer reads at the machine, and as JSON.

use super::document::Answer;
use crate::carm::clearance::{End, Gap};
use crate::carm::{Basis, Joint, Tube, ViewName, ViewTarget, Words};
use crate::commands::plan::ADVISORY;
use crate::commands::plan::setup::{JointAngles, in_words};
use crate::units::Degrees;
use serde_json::{Value, json};
use std::fmt::Write;

/// The text.
pub fn text(answer: &Answer, words: &Words) -> String {
    let mut text = format!("View targets. {}.\n", in_words(&answer.arm));
    if let Some(turn) = answer.turn {
        let _ = writeln!(
            text,
            "Plan turned {:.0}° ± {:.0}° {}, from the true lateral. Void after any move of patient or table.",
            turn.value.0.abs(),
            turn.sd.0,
            if turn.value.0 < 0.0 { "forward" } else { "back" }
        );
    }
    text.push_str("Moves are from a vertical beam.\n");
    if let Some(note) = &answer.scale_note {
        let _ = writeln!(text, "{note}");
    }
    for block in blocks(answer, words) {
        let _ = writeln!(text, "\n{}: {}", block.view, block.basis);
        for line in block.lines {
            let _ = writeln!(text, "  {line}");
        }
    }
    if let Some(line) = answer.first_collision() {
        let _ = writeln!(text, "\n{line}");
    }
    let _ = write!(text, "\n± is one standard deviation. {ADVISORY}");
    text
}

/// One view in words.
pub struct Block {
    pub view: ViewName,
    /// What the target rests on, with its angle.
    pub basis: String,
    pub lines: Vec<String>,
}

/// Every view in words, in the order of the targets.
#[must_use]
pub fn blocks(answer: &Answer, words: &Words) -> Vec<Block> {
    let block =
        |target: &ViewTarget| Block { view: target.view, basis: basis(target), lines: lines(answer, target, words) };
    answer.targets.iter().map(block).collect()
}

/// What the target rests on.
fn basis(target: &ViewTarget) -> String {
    let sd = target.sd.map_or_else(String::new, |sd| format!(" ± {:.0}°", sd.0));
    let angle = target.angle.map_or_else(String::new, |angle| format!(" {:.0}°", angle.0));
    match &target.basis {
        Basis::Measured => format!("measured{angle}{sd}"),
        Basis::Axes => "along the axes of the sacrum".to_owned(),
        Basis::Mean { study, mis_shown } => {
            let share = mis_shown.map_or_else(
                || ", whose spread is not published".to_owned(),
                |share| {
                    format!(": {:.0} % of people are further off than {}°", share * 100.0, target.sheet.tolerance_deg)
                },
            );
            format!("NOT MEASURED, mean of {study}{angle}{sd}{share}")
        }
    }
}

fn lines(answer: &Answer, target: &ViewTarget, words: &Words) -> Vec<String> {
    let mut lines: Vec<String> = target.moves.iter().map(|one| words.say(one)).collect();
    if lines.is_empty() {
        lines.push("beam vertical".to_owned());
    }
    if let Some(scale) = &answer.scale
        && let Ok(read) = scale.readings(&answer.arm, &target.joints)
    {
        lines.push(format!("displays: wag {:.0}°, tilt {:.0}°, orbit {:.0}°", read.wag.0, read.tilt.0, read.orbit.0));
    }
    let (primary, secondary) = (whole(target.positioner.primary.0), whole(target.positioner.secondary.0));
    lines.push(format!("DICOM angles: primary {primary}°, secondary {secondary}°"));
    for sight in &target.sheet.superimpose {
        lines.push(format!("see: {sight}"));
    }
    lines.push(format!("true within {}°", target.sheet.tolerance_deg));
    lines.extend(published(target));
    lines.extend(clearance(answer, target));
    lines
}

/// Whole degrees, never "-0", and 180 rather than -180.
fn whole(degrees: f64) -> i32 {
    let whole = format!("{degrees:.0}").parse().unwrap_or(0);
    if whole == -180 { 180 } else { whole }
}

fn published(target: &ViewTarget) -> Option<String> {
    let means: Vec<f64> = target.sheet.published.iter().map(|one| one.mean_deg).collect();
    let (low, high) = (means.iter().copied().fold(f64::INFINITY, f64::min), means.iter().copied().fold(0.0, f64::max));
    match means.len() {
        0 => None,
        1 => Some(format!("published, supine: mean {low}° (1 series)")),
        series => Some(format!("published, supine: means {low}° to {high}° ({series} series)")),
    }
}

fn clearance(answer: &Answer, target: &ViewTarget) -> Vec<String> {
    let Some(clearance) = &answer.clearance else { return Vec::new() };
    if target.view == ViewName::Lateral {
        return vec![format!("clearance: {}", gap(answer, clearance.at_lateral()))];
    }
    let mut lines = vec![format!("clearance: {}", gap(answer, clearance.at(target.joints.tilt)))];
    if clearance.at(target.joints.tilt).gap.0 <= 0.0 {
        let supports = clearance.with_supports(inlet_tilt(answer, target));
        if supports[1].gap.gap.0 <= supports[0].gap.gap.0 {
            lines.push("  a support that turns the pelvis back makes it worse: it adds to this tilt".to_owned());
            return lines;
        }
        for one in &supports[1..] {
            let tilt = one.tilt.0;
            lines.push(format!("  with {:.0}° of support: tilt {tilt:.0}°, {}", one.support.0, gap(answer, one.gap)));
        }
    }
    lines
}

/// The tilt from the vertical, inlet positive, outlet negative.
fn inlet_tilt(answer: &Answer, target: &ViewTarget) -> Degrees {
    let front = if target.beam.y > 0.0 { -target.beam } else { target.beam };
    let inlet = front.dot(&answer.arm.lying.toward_head()) > 0.0;
    let tilt = target.joints.of(Joint::Tilt).0.abs();
    Degrees(if inlet { tilt } else { -tilt })
}

fn gap(answer: &Answer, gap: Gap) -> String {
    let end = end_name(answer, gap.end);
    if gap.gap.0 > 0.0 {
        format!("{:.0} mm at the {end}", gap.gap.0)
    } else {
        format!("COLLIDES, {:.0} mm too close at the {end}", -gap.gap.0)
    }
}

fn end_name(answer: &Answer, end: End) -> &'static str {
    match (end, answer.arm.tube) {
        (End::Upper, Tube::Under) | (End::Lower, Tube::Over) => "image receptor",
        _ => "tube",
    }
}

impl Answer {
    /// The first tilt that collides, in words; `None` without a clearance.
    #[must_use]
    pub fn first_collision(&self) -> Option<String> {
        let (tilt, end) = self.clearance.as_ref()?.first_collision();
        let end = end_name(self, end);
        Some(format!(
            "Clearance: the {end} touches first, at a tilt of {:.0}° either way. Cables, rails and drapes are not counted.",
            tilt.0.floor()
        ))
    }

    /// Whether the view's angle was measured on this patient.
    #[must_use]
    pub fn is_measured(&self, view: ViewName) -> bool {
        self.targets.iter().any(|target| target.view == view && target.basis == Basis::Measured)
    }
}

/// The JSON.
pub fn json(answer: &Answer, words: &Words) -> Value {
    let clearance = answer.clearance.as_ref().map(|clearance| {
        let (tilt, end) = clearance.first_collision();
        json!({"first_collision_deg": tilt, "end": end_name(answer, end)})
    });
    json!({
        "brimline_targets_answer": 1,
        "arm": in_words(&answer.arm),
        "displays": answer.scale_note,
        "plan_turned": answer.turn.map(|turn| json!({"deg": turn.value, "sd_deg": turn.sd, "void_after": "any move of patient or table"})),
        "targets": answer.targets.iter().map(|target| one(answer, target, words)).collect::<Value>(),
        "clearance": clearance,
        "advisory": ADVISORY,
    })
}

fn one(answer: &Answer, target: &ViewTarget, words: &Words) -> Value {
    let basis = match &target.basis {
        Basis::Measured => json!({"kind": "measured"}),
        Basis::Axes => json!({"kind": "axes"}),
        Basis::Mean { study, mis_shown } => json!({"kind": "mean", "study": study, "mis_shown": mis_shown}),
    };
    let displays = answer.scale.as_ref().and_then(|scale| scale.readings(&answer.arm, &target.joints).ok());
    let clearance = answer.clearance.as_ref().map(|clearance| {
        if target.view == ViewName::Lateral {
            return json!({"gap_mm": clearance.at_lateral().gap});
        }
        let supports = clearance.with_supports(inlet_tilt(answer, target));
        let supports =
            supports.iter().map(|one| json!({"support_deg": one.support, "tilt_deg": one.tilt, "gap_mm": one.gap.gap}));
        json!({"gap_mm": clearance.at(target.joints.tilt).gap, "with_support": supports.collect::<Value>()})
    });
    json!({
        "view": target.view,
        "basis": basis,
        "angle_deg": target.angle,
        "sd_deg": target.sd,
        "beam": [target.beam.x, target.beam.y, target.beam.z],
        "positioner": target.positioner,
        "joints": JointAngles::of(&target.joints),
        "displays": displays.as_ref().map(JointAngles::of),
        "moves": target.moves,
        "words": target.moves.iter().map(|one| words.say(one)).collect::<Vec<_>>(),
        "superimpose": target.sheet.superimpose,
        "tolerance_deg": target.sheet.tolerance_deg,
        "tolerance_source": target.sheet.tolerance_source,
        "published": target.sheet.published,
        "clearance": clearance,
    })
}
