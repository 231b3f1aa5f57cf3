//! View targets in the plan: how to reach each view of this sacrum on this machine, and whether table and patient are in
//! the way. The document asked is that of `brimline plan targets`.

use super::plan_form::{Asks, Takes, of};
use crate::carm::{ViewName, Words};
use crate::commands::plan::targets::{self, Answer};
use crate::plan::{Plan, ViewPlan};
use crate::settings::MachineSettings;
use brimline_ui::SummaryLine;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// Stands under the targets.
pub(super) const ADVISORY: &str = "± is one standard deviation. Cables, rails and drapes are not counted. Advisory: the \
                                   surgeon's reading of the image decides.";

/// What the room says of machine, table and patient: by the names of the document.
pub(super) type Around = BTreeMap<String, Value>;

const POSITIONS: &[(&str, &str)] = &[("prone", "Prone"), ("supine", "Supine")];
const TUBES: &[(&str, &str)] = &[("under", "Under the table"), ("over", "Over the table")];
const STANDS: &[(&str, &str)] = &[("left", "The patient's left"), ("right", "The patient's right")];
const LENGTHS: [(&str, &str); 8] = [
    ("receptor_distance_mm", "Isocentre to the image receptor"),
    ("receptor_half_width_mm", "Half the receptor's width"),
    ("tube_distance_mm", "Isocentre to the tube's housing"),
    ("tube_half_width_mm", "Half the housing's width"),
    ("table_thickness_mm", "Table with its mattress, thick"),
    ("patient_thickness_mm", "Patient above the table"),
    ("half_width_mm", "Half the width of table or patient"),
    ("isocentre_height_mm", "Isocentre above the table top"),
];
/// The row that takes the angles into the plan.
pub(super) const TAKE: &str = "take";

/// As the built-in pathways have it, with what the site says of its machine.
pub(super) fn usual(site: &MachineSettings) -> Around {
    let mut around: Around = room();
    let told = LENGTHS.iter().filter_map(|(id, _)| Some(((*id).to_owned(), json!(site.length_mm(id)?))));
    around.extend(told);
    around
}

fn room() -> Around {
    [("position", "prone"), ("tube", "under"), ("stand", "left")]
        .map(|(id, value)| (id.to_owned(), json!(value)))
        .into()
}

/// The rows, in the order they are asked.
pub(super) fn asks() -> Vec<Asks> {
    let take = "the angles below become the plan's own";
    let mut rows = vec![
        Asks::new(TAKE, "Angles of the plan", Takes::YesNo("taken", "")).hint(take),
        Asks::new("position", "The patient will lie", Takes::One(POSITIONS)),
        Asks::new("tube", "The tube is", Takes::One(TUBES)),
        Asks::new("stand", "The stand is on", Takes::One(STANDS)),
        Asks::new("off_square_deg", "Arm off square", Takes::Number { unit: "°", from: -45.0, to: 45.0 })
            .hint("anticlockwise from above"),
        Asks::new("turned_back_deg", "Pelvis turned back", Takes::Number { unit: "°", from: -45.0, to: 45.0 })
            .hint("to look at; not taken into the plan"),
    ];
    let length = Takes::Number { unit: "mm", from: 0.0, to: 1500.0 };
    rows.extend(LENGTHS.map(|(id, words)| Asks::new(id, words, length).hint("for the clearance")));
    rows
}

/// The value of a row.
pub(super) fn value(plan: &Plan, around: &Around, id: &str) -> Option<Value> {
    if id == TAKE {
        return (!plan.views.is_empty()).then_some(json!(true));
    }
    around.get(id).cloned()
}

/// The document of `brimline plan targets`.
fn document(plan: &Plan, around: &Around) -> Value {
    let mut arm = Map::new();
    for id in ["position", "tube", "stand", "off_square_deg", "turned_back_deg"] {
        arm.extend(around.get(id).map(|value| (id.to_owned(), value.clone())));
    }
    let mut document = json!({"brimline_targets": 1, "arm": arm, "measured": measured(plan)});
    let lengths = LENGTHS.iter().filter_map(|(id, _)| Some(((*id).to_owned(), around.get(*id)?.clone())));
    let lengths: Map<String, Value> = lengths.collect();
    if lengths.len() == LENGTHS.len() {
        document["clearance"] = Value::Object(lengths);
    }
    document
}

/// Each angle in its view's own sense.
pub(super) fn measured(plan: &Plan) -> Value {
    let measured = plan.sacral_measurements();
    let angles = [
        ("anterior_cortex", measured.anterior_cortex),
        ("posterior_cortex", measured.posterior_cortex),
        ("alar_surface", measured.alar_surface),
        ("symphysis_over_s2", measured.symphysis_over_s2),
        ("endplate", measured.endplate),
        ("body_normal", measured.body_normal),
    ];
    let told = angles.into_iter().filter_map(|(name, angle)| {
        let angle = angle?;
        Some((name.to_owned(), json!({"deg": angle.value, "sd_deg": angle.sd})))
    });
    Value::Object(told.collect())
}

fn answer(plan: &Plan, around: &Around, site: &MachineSettings) -> Result<Answer, String> {
    let bytes = document(plan, around).to_string();
    let read = targets::read_of_site(bytes.as_bytes(), site).map_err(|fault| fault.to_string())?;
    read.answer().map_err(|fault| fault.to_string())
}

/// Every view with its target.
pub(super) fn lines(plan: &Plan, around: &Around, site: &MachineSettings) -> Vec<SummaryLine> {
    let line = |label: &str, text: String, heed: bool| SummaryLine {
        label: label.into(),
        text: text.into(),
        heed,
        heading: false,
    };
    let answer = match answer(plan, around, site) {
        Ok(answer) => answer,
        Err(fault) => return vec![line("No targets", fault, true)],
    };
    let mut lines = Vec::new();
    lines.extend(answer.scale_note.iter().map(|note| line("displays", note.clone(), answer.scale.is_none())));
    for block in targets::blocks(&answer, &Words::built_in()) {
        lines.push(SummaryLine { label: block.view.word().into(), heading: true, ..SummaryLine::default() });
        let guessed = block.basis.starts_with("NOT");
        lines.push(line("angle", block.basis, guessed));
        for told in block.lines {
            let (label, text) = told.split_once(": ").map_or(("", told.as_str()), |(label, text)| (label, text));
            let (label, text) = if label.len() > 16 { ("", told.as_str()) } else { (label, text) };
            let heed = text.contains("COLLIDES");
            lines.push(line(label.trim(), text.to_owned(), heed));
        }
    }
    lines.extend(answer.first_collision().map(|words| line("clearance", words, false)));
    lines
}

/// Takes the angles of the views that the plan's pathway asks, and of every view that was measured, into the plan.
///
/// The plan holds the pelvis as it was pictured: what it is turned by on the table is measured there, and would be counted
/// twice if it stood in the plan.
pub(super) fn take(plan: &mut Plan, around: &Around, site: &MachineSettings) -> Result<(), String> {
    let mut as_pictured = around.clone();
    as_pictured.remove("turned_back_deg");
    let answer = answer(plan, &as_pictured, site)?;
    let words = Words::built_in();
    let usual = [ViewName::Lateral, ViewName::InletBody, ViewName::OutletWorking];
    let measured = |view: ViewName| answer.is_measured(view);
    let wanted = answer.targets.iter().filter(|target| usual.contains(&target.view) || measured(target.view));
    let views = wanted.map(|target| {
        let said: Vec<String> = target.moves.iter().map(|one| words.say(one)).collect();
        let said = if said.is_empty() { "beam vertical".to_owned() } else { said.join("; ") };
        let guessed = usual.contains(&target.view) && target.angle.is_some() && !measured(target.view);
        let words = if guessed { format!("{said} (not measured, a published mean)") } else { said };
        ViewPlan { view: target.view, tilt_deg: target.joints.tilt.0.abs().round(), words }
    });
    plan.views = views.collect();
    Ok(())
}

/// Puts a value among what the room says; `None` takes it out.
pub(super) fn set(around: &mut Around, id: &str, value: Option<&Value>) {
    around.remove(id);
    let kept = value.filter(|value| of::<f64>(Some(value)).is_some() || value.is_string());
    around.extend(kept.map(|value| (id.to_owned(), value.clone())));
    for (id, value) in room() {
        around.entry(id).or_insert(value);
    }
}
