//! Graft and tools in the plan: what is drilled, what the cavity holds, and what goes in beside the implants.

use super::plan_form::{Asks, Takes, of};
use crate::plan::{Drilling, Graft, ImplantInCavity, Plan, PlannedTool, ToolKind};
use crate::units::Side;
use brimline_ui::SummaryLine;
use serde_json::{Value, json};

/// Stands under the volumes.
pub(super) const ADVISORY: &str =
    "± is one standard deviation. Holes of one drilling are taken not to overlap. Advisory: the surgeon decides.";

const TOOLS: [(&str, &str, ToolKind); 3] =
    [("pin", "Guide pin", ToolKind::Pin), ("drill", "Drill", ToolKind::Drill), ("sleeve", "Sleeve", ToolKind::Sleeve)];
const WIDTH: Takes = Takes::Number { unit: "mm", from: 0.5, to: 20.0 };
const DEPTH: Takes = Takes::Number { unit: "mm", from: 1.0, to: 200.0 };
const PASSES: Takes = Takes::Number { unit: "", from: 1.0, to: 12.0 };
const ML: Takes = Takes::Number { unit: "mL", from: 0.0, to: 100.0 };
/// Most drillings and implants of one cavity that the screen takes; common practice, no source.
const ENTRIES_MAX: usize = 6;
const PACKING: Takes = Takes::Number { unit: "", from: 0.5, to: 3.0 };

/// The rows, in the order they are asked.
pub(super) fn asks(plan: &Plan) -> Vec<Asks> {
    let tools = TOOLS.map(|(id, words, _)| Asks::new(format!("tool.{id}"), format!("{words}, width"), WIDTH));
    let mut rows: Vec<Asks> = tools.into();
    for side in plan.sides.iter().map(|side| side.side) {
        let ask = |id: &str, words: &str, takes| Asks::new(format!("{side}.{id}"), format!("{words}, {side}"), takes);
        let known = plan.graft.iter().find(|graft| graft.side == side);
        let harvested = known.map_or(0, |graft| graft.harvest.len());
        let drilled = known.map_or(0, |graft| graft.cavity.len());
        for (id, words, entered) in
            [("harvest", "Bone kept from drilling", harvested), ("cavity", "Cavity drilled", drilled)]
        {
            for number in offered(entered) {
                let words = numbered(words, number);
                let of = |what: &str, last: &str, takes| {
                    ask(&format!("{id}.{number}.{what}"), &format!("{words}: {last}"), takes)
                };
                rows.push(of("diameter", "drill", WIDTH));
                rows.push(of("depth", "depth", DEPTH));
                rows.push(of("passes", "holes", PASSES));
                rows.push(of("inner", "core that stays", WIDTH).hint("pin or core, if any"));
            }
        }
        rows.push(ask("packing", "Packing factor", PACKING).hint("loose bone over solid bone"));
        for number in offered(known.map_or(0, |graft| graft.implants.len())) {
            let words = numbered("Implant in the cavity", number);
            let of = |what: &str, last: &str, takes| {
                ask(&format!("implant.{number}.{what}"), &format!("{words}: {last}"), takes)
            };
            rows.push(of("diameter", "width", WIDTH));
            rows.push(of("length", "length", DEPTH));
        }
        rows.push(ask("collected", "Collected in the syringe", ML));
        rows.push(ask("injected", "Put in", ML));
    }
    rows
}

/// What can be entered: what is, and one more.
fn offered(entered: usize) -> std::ops::Range<usize> {
    0..(entered + 1).min(ENTRIES_MAX)
}

/// "Cavity drilled", then "Cavity drilled, 2".
fn numbered(words: &str, number: usize) -> String {
    if number == 0 { words.to_owned() } else { format!("{words}, {}", number + 1) }
}

/// The number of an entry and what of it, from "1.depth".
fn entry(which: &str) -> Option<(usize, &str)> {
    let (number, what) = which.split_once('.')?;
    Some((number.parse().ok().filter(|number| *number < ENTRIES_MAX)?, what))
}

/// The packing factor where none is said.
const UNPACKED: f64 = 1.0;

fn graft(plan: &Plan, word: &str) -> Option<Graft> {
    plan.graft.iter().find(|graft| graft.side.to_string() == word).cloned()
}

/// The value of a row.
pub(super) fn value(plan: &Plan, id: &str) -> Option<Value> {
    let (word, what) = id.split_once('.')?;
    if word == "tool" {
        let (.., kind) = TOOLS.iter().find(|(id, ..)| *id == what)?;
        return plan.tools.iter().find(|tool| tool.kind == *kind).map(|tool| json!(tool.diameter_mm));
    }
    let graft = graft(plan, word)?;
    let drilled = |drilled: &[Drilling], which: &str| {
        let (number, what) = entry(which)?;
        let of = drilled.get(number)?;
        let value = match what {
            "diameter" => Some(of.diameter_mm),
            "depth" => Some(of.depth_mm),
            "passes" => Some(f64::from(of.passes)),
            _ => of.inner_diameter_mm,
        };
        value.filter(|value| *value > 0.0)
    };
    let value = match what.split_once('.') {
        Some(("harvest", what)) => drilled(&graft.harvest, what),
        Some(("cavity", what)) => drilled(&graft.cavity, what),
        Some((_, which)) => entry(which).and_then(|(number, what)| {
            let implant = graft.implants.get(number)?;
            Some(if what == "diameter" { implant.diameter_mm } else { implant.length_mm })
        }),
        None => match what {
            "packing" => Some(graft.packing_factor),
            "collected" => graft.collected_ml,
            _ => graft.injected_ml,
        },
    };
    value.filter(|value| *value > 0.0 || what == "injected").map(|value| json!(value))
}

/// Puts a value into the plan; `None` takes it out.
pub(super) fn set(plan: &mut Plan, id: &str, value: Option<&Value>) {
    let Some((word, what)) = id.split_once('.') else { return };
    let number: Option<f64> = of(value);
    if word == "tool" {
        let Some((_, name, kind)) = TOOLS.iter().find(|(id, ..)| *id == what) else { return };
        plan.tools.retain(|tool| tool.kind != *kind);
        let tool = |diameter_mm| PlannedTool { name: (*name).to_owned(), kind: *kind, diameter_mm };
        plan.tools.extend(number.map(tool));
        return;
    }
    let Some(side) = [Side::Left, Side::Right].into_iter().find(|side| side.to_string() == word) else { return };
    if graft(plan, word).is_none() {
        plan.graft.push(Graft {
            side,
            harvest: Vec::new(),
            packing_factor: UNPACKED,
            cavity: Vec::new(),
            implants: Vec::new(),
            collected_ml: None,
            injected_ml: None,
        });
    }
    if let Some(graft) = plan.graft.iter_mut().find(|graft| graft.side == side) {
        set_graft(graft, what, number);
    }
    let drilled = |graft: &Graft| !graft.harvest.is_empty() || !graft.cavity.is_empty() || !graft.implants.is_empty();
    let told = |graft: &Graft| graft.collected_ml.is_some() || graft.injected_ml.is_some() || said_packing(graft);
    plan.graft.retain(|graft| drilled(graft) || told(graft));
}

/// Whether the packing factor is another than that of bone which is not packed.
fn said_packing(graft: &Graft) -> bool {
    (graft.packing_factor - UNPACKED).abs() > f64::EPSILON
}

fn set_graft(graft: &mut Graft, what: &str, number: Option<f64>) {
    match what.split_once('.') {
        Some(("harvest", what)) => set_drilling(&mut graft.harvest, what, number),
        Some(("cavity", what)) => set_drilling(&mut graft.cavity, what, number),
        Some((_, which)) => {
            let Some((at, what)) = entry(which) else { return };
            let none = ImplantInCavity { diameter_mm: 0.0, length_mm: 0.0 };
            let implant = put(&mut graft.implants, at, none);
            let member = if what == "diameter" { &mut implant.diameter_mm } else { &mut implant.length_mm };
            *member = number.unwrap_or(0.0);
            graft.implants.retain(|implant| *implant != none);
        }
        None => match what {
            "packing" => graft.packing_factor = number.unwrap_or(UNPACKED),
            "collected" => graft.collected_ml = number,
            _ => graft.injected_ml = number,
        },
    }
}

/// The entry of that number; one more where it is the next.
fn put<T>(entries: &mut Vec<T>, number: usize, none: T) -> &mut T {
    if number >= entries.len() {
        entries.push(none);
    }
    let at = number.min(entries.len() - 1);
    &mut entries[at]
}

fn set_drilling(drilled: &mut Vec<Drilling>, which: &str, number: Option<f64>) {
    let Some((at, what)) = entry(which) else { return };
    let none = Drilling { diameter_mm: 0.0, depth_mm: 0.0, passes: 1, inner_diameter_mm: None };
    let of = put(drilled, at, none);
    match what {
        "diameter" => of.diameter_mm = number.unwrap_or(0.0),
        "depth" => of.depth_mm = number.unwrap_or(0.0),
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 12, as the row takes")]
        "passes" => of.passes = number.unwrap_or(UNPACKED) as u32,
        _ => of.inner_diameter_mm = number,
    }
    drilled.retain(|of| *of != none);
}

/// Volumes, and what they ask.
pub(super) fn lines(plan: &Plan) -> Vec<SummaryLine> {
    let line = |label: &str, text: String, heed: bool| SummaryLine {
        label: label.into(),
        text: text.into(),
        heed,
        heading: false,
    };
    let mut lines = Vec::new();
    for side in plan.sides.iter().map(|side| side.side) {
        let heading = super::say::capitalised(&format!("{side} side"));
        lines.push(SummaryLine { label: heading.into(), heading: true, ..SummaryLine::default() });
        if let Some(widest) = plan.largest_tool_mm(side) {
            lines.push(line("Largest tool", format!("{widest} mm: margins run from its surface"), false));
        }
        let Some(graft) = plan.graft.iter().find(|graft| graft.side == side) else { continue };
        let volumes = graft.volumes();
        lines.push(line(
            "Harvest",
            format!("{}, loose, packing factor {}", volumes.harvest, graft.packing_factor),
            false,
        ));
        lines.push(line("Cavity", format!("{} beside the implant", volumes.cavity), false));
        for (label, value) in [("Collected", graft.collected_ml), ("Put in", graft.injected_ml)] {
            lines.extend(value.map(|ml| line(label, format!("{ml:.1} mL"), false)));
        }
        lines.extend(volumes.question.map(|question| line("Question", question.words(), true)));
    }
    if lines.is_empty() {
        lines.push(line("Side", "choose the operated side first".to_owned(), true));
    }
    lines
}
