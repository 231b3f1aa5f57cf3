//! Anatomy in the plan: what was measured, each side apart, and what it says without deciding anything.

use super::measure_draft::Measured;
use super::plan_form::{Asks, Takes, code, of};
use crate::anatomy::{
    self, Anatomy, Angle, Corridor, JointLevel, Length, Level, Midline, Reader, Seen, SideAnatomy, Sign,
};
use crate::plan::Plan;
use crate::units::Side;
use brimline_ui::SummaryLine;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Stands under what was measured.
pub(super) const ADVISORY: &str = "± is one standard deviation. Advisory: the surgeon's reading of the image decides.";

const TRANSITIONAL: &[(&str, &str)] =
    &[("none", "None"), ("present", "Present"), ("not-excluded", "Looked for, not excluded")];
const SIGNS: &[(&str, &str)] = &[
    ("colinear-with-crests", "Upper sacrum level with the crests"),
    ("mammillary-bodies", "Mammillary bodies"),
    ("misshapen-foramina", "Upper foramina large, not round"),
    ("residual-disc", "Residual disc between S1 and S2"),
    ("acute-alar-slope", "Acute alar slope"),
    ("tongue-in-groove", "Tongue-in-groove joint"),
    ("alar-indentation", "Indented front of the ala"),
];
const READERS: [&str; 2] = ["first reader", "second reader"];
const MIDLINE: [(&str, &str); 6] = [
    ("s1_anterior_cortex", "Front of S1"),
    ("s2_anterior_cortex", "Front of S2"),
    ("s1_posterior_cortex", "Back of the S1 body"),
    ("s1_endplate", "S1 endplate"),
    ("s1_body_normal", "S1 body, seen en face"),
    ("s2_to_symphysis", "S2 to the symphysis"),
];
const INCLINATION: Takes = Takes::Number { unit: "°", from: -90.0, to: 90.0 };
const SCORED: Takes = Takes::Number { unit: "°", from: -60.0, to: 60.0 };
const SLOPE: &str = "from front to back, mid-sagittal; positive: front end nearer the head";

/// The rows, in the order they are asked.
pub(super) fn asks() -> Vec<Asks> {
    let mut rows = vec![Asks::new("transitional", "Transitional vertebra", Takes::One(TRANSITIONAL)).wanted()];
    for side in [Side::Left, Side::Right] {
        let id = |what: &str| format!("{side}.{what}");
        let named = |words: &str| format!("{words}, {side}");
        let foramina = Takes::Number { unit: "", from: 2.0, to: 6.0 };
        rows.push(Asks::new(id("foramina"), named("Foramina counted"), foramina).hint("before a segment is called S1"));
        rows.push(Asks::new(id("s1_coronal"), named("S1 corridor, coronal"), SCORED).hint("positive toward the head"));
        rows.push(Asks::new(id("s1_axial"), named("S1 corridor, axial"), SCORED).hint("positive to the front"));
        for level in [Level::S1, Level::S2] {
            let width = Takes::Number { unit: "mm", from: 0.0, to: 60.0 };
            let words = format!("{} corridor, narrowest", level.word());
            rows.push(Asks::new(id(&format!("corridor.{}", level.word())), named(&words), width));
        }
        rows.push(Asks::new(id("anterior_ala"), named("Front of the ala"), INCLINATION).hint(SLOPE));
        for level in JointLevel::ALL {
            let (word, id) = (level.word(), |what: &str| id(&format!("joint.{}.{what}", level.word())));
            let height = Takes::Number { unit: "mm", from: -150.0, to: 150.0 };
            let joint = |what: &str| named(&format!("Joint, {word}, {what}"));
            rows.push(Asks::new(id("height"), joint("height"), height).hint("from the S1 endplate, below it negative"));
            rows.push(Asks::new(id("axial"), joint("axial"), SCORED).hint("positive: front edge farther lateral"));
            rows.push(Asks::new(id("coronal"), joint("coronal"), SCORED).hint("positive: upper edge farther lateral"));
        }
        for (number, reader) in READERS.iter().enumerate() {
            let of = |what: &str| (id(&format!("{what}.{number}")), named(&format!("Signs {what}, {reader}")));
            for what in ["present", "absent"] {
                let (id, label) = of(what);
                rows.push(Asks::new(id, label, Takes::Some(SIGNS)));
            }
        }
    }
    rows.extend(MIDLINE.map(|(id, words)| Asks::new(format!("midline.{id}"), words, INCLINATION).hint(SLOPE)));
    let lever = Takes::Number { unit: "mm", from: 0.0, to: 250.0 };
    rows.push(Asks::new("midline.s1_to_s2", "Between S1 and S2", lever).hint("lever of the inlet"));
    let of_outlet = Asks::new("midline.s2_to_symphysis_distance", "Between S2 and symphysis", lever);
    rows.push(of_outlet.hint("lever of the outlet"));
    rows
}

fn side_of(word: &str) -> Option<Side> {
    [Side::Left, Side::Right].into_iter().find(|side| side.to_string() == word)
}

/// The value of a row.
pub(super) fn value(plan: &Plan, id: &str) -> Option<Value> {
    let anatomy = plan.anatomy.as_ref()?;
    let number = |value: Value, member: &str| value.get(member).cloned();
    match id.split_once('.') {
        None => anatomy.transitional.map(|transitional| json!(transitional)),
        Some(("midline", member)) => {
            let measured = serde_json::to_value(anatomy.midline).ok()?.get(member)?.clone();
            number(measured.clone(), "deg").or_else(|| number(measured, "mm"))
        }
        Some((word, what)) => of_side(anatomy.side(side_of(word)?)?, what),
    }
}

fn of_side(side: &SideAnatomy, what: &str) -> Option<Value> {
    let deg = |angle: Option<Angle>| angle.map(|angle| json!(angle.deg));
    match what.split_once('.') {
        Some(("corridor", level)) => {
            side.corridors.iter().find(|corridor| corridor.level.word() == level).map(|found| json!(found.width.mm))
        }
        Some(("joint", which)) => {
            let (level, what) = joint_of(which)?;
            let at = side.joint_at(level);
            match what {
                "height" => at.height_mm,
                "axial" => at.axial_deg,
                _ => at.coronal_deg,
            }
            .map(|number| json!(number))
        }
        Some((seen, number)) => {
            let reader = side.readers.get(number.parse::<usize>().ok()?)?;
            let seen: Seen = of(Some(&json!(seen)))?;
            let signs = reader.signs.iter().filter(|(_, found)| **found == seen).map(|(sign, _)| code(sign));
            let signs: Vec<String> = signs.collect();
            (!signs.is_empty()).then(|| json!(signs))
        }
        None => match what {
            "foramina" => side.foramina.map(|count| json!(count)),
            "s1_coronal" => deg(side.s1_coronal),
            "s1_axial" => deg(side.s1_axial),
            _ => deg(side.anterior_ala),
        },
    }
}

/// Which level of the joint a row is of, and what of it.
fn joint_of(which: &str) -> Option<(JointLevel, &str)> {
    let (word, what) = which.split_once('.')?;
    Some((JointLevel::ALL.into_iter().find(|level| level.word() == word)?, what))
}

fn set_joint(side: &mut SideAnatomy, which: &str, value: Option<f64>) {
    let Some((level, what)) = joint_of(which) else { return };
    let mut at = side.joint_at(level);
    match what {
        "height" => at.height_mm = value,
        "axial" => at.axial_deg = value,
        _ => at.coronal_deg = value,
    }
    side.joint.retain(|known| known.level != level);
    if !at.is_empty() {
        side.joint.push(at);
        side.joint.sort_by_key(|known| known.level);
    }
}

/// Puts a value into the plan; `None` takes it out.
pub(super) fn set(plan: &mut Plan, id: &str, value: Option<&Value>) {
    let anatomy = plan.anatomy.get_or_insert_default();
    match id.split_once('.') {
        None => anatomy.transitional = of(value),
        Some(("midline", member)) => set_midline(anatomy, member, value),
        Some((word, what)) => {
            let Some(side) = side_of(word) else { return };
            if anatomy.side(side).is_none() {
                anatomy.sides.push(SideAnatomy::empty(side));
            }
            if let Some(known) = anatomy.sides.iter_mut().find(|known| known.side == side) {
                set_side(known, what, value);
            }
        }
    }
    plan.transitional = anatomy.transitional.is_some_and(|found| found != anatomy::Transitional::None);
}

/// An angle or a length as somebody typed it.
fn typed(value: Option<&Value>, length: bool) -> Option<Value> {
    let number: f64 = of(value)?;
    Some(if length { json!(Length::typed(number)) } else { json!(Angle::typed(number)) })
}

/// Puts a touched number into the plan, with the ± of its touches.
pub(super) fn measured(plan: &mut Plan, id: &str, found: &Measured) {
    let (number, whole) = match found {
        Measured::Angle(angle) => (json!(tenth(angle.deg)), json!(Angle { deg: tenth(angle.deg), ..*angle })),
        Measured::Length(length) => (json!(tenth(length.mm)), json!(Length { mm: tenth(length.mm), ..*length })),
    };
    // As if typed, so that everything it needs is there; then with its own ±.
    set(plan, id, Some(&number));
    let Some(anatomy) = plan.anatomy.as_mut() else { return };
    let Some((word, what)) = id.split_once('.') else { return };
    if word == "midline" {
        return put_midline(anatomy, what, Some(whole));
    }
    let Some(side) = side_of(word).and_then(|side| anatomy.sides.iter_mut().find(|known| known.side == side)) else {
        return;
    };
    match what {
        "s1_coronal" => side.s1_coronal = of(Some(&whole)),
        "s1_axial" => side.s1_axial = of(Some(&whole)),
        "anterior_ala" => side.anterior_ala = of(Some(&whole)),
        _ => {
            let level = what.rsplit('.').next().unwrap_or_default();
            let corridor = side.corridors.iter_mut().find(|corridor| corridor.level.word() == level);
            if let (Some(corridor), Some(width)) = (corridor, of(Some(&whole))) {
                corridor.width = width;
            }
        }
    }
}

/// No touch is better than a tenth.
fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn set_midline(anatomy: &mut Anatomy, member: &str, value: Option<&Value>) {
    let length = matches!(member, "s1_to_s2" | "s2_to_symphysis_distance");
    put_midline(anatomy, member, typed(value, length));
}

fn put_midline(anatomy: &mut Anatomy, member: &str, value: Option<Value>) {
    let Ok(Value::Object(mut midline)) = serde_json::to_value(anatomy.midline) else { return };
    midline.remove(member);
    midline.extend(value.map(|value| (member.to_owned(), value)));
    if let Some(midline) = of::<Midline>(Some(&Value::Object(midline))) {
        anatomy.midline = midline;
    }
}

fn set_side(side: &mut SideAnatomy, what: &str, value: Option<&Value>) {
    let angle = of::<f64>(value).map(Angle::typed);
    match what.split_once('.') {
        Some(("corridor", level)) => {
            side.corridors.retain(|corridor| corridor.level.word() != level);
            let level: Option<Level> = of(Some(&json!(level)));
            let width = of::<f64>(value).map(Length::typed);
            side.corridors.extend(level.zip(width).map(|(level, width)| Corridor { level, width }));
        }
        Some(("joint", which)) => set_joint(side, which, of(value)),
        Some((seen, number)) => {
            let (Some(seen), Ok(number)) = (of::<Seen>(Some(&json!(seen))), number.parse::<usize>()) else { return };
            set_signs(side, number, seen, &of::<Vec<Sign>>(value).unwrap_or_default());
        }
        None => match what {
            // A count that came as a fraction is none.
            "foramina" => side.foramina = of::<f64>(value).filter(|count| count.fract() == 0.0).map(whole),
            "s1_coronal" => side.s1_coronal = angle,
            "s1_axial" => side.s1_axial = angle,
            _ => side.anterior_ala = angle,
        },
    }
}

fn whole(count: f64) -> u8 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "2 to 6, as the row takes")]
    let count = count as u8;
    count
}

fn set_signs(side: &mut SideAnatomy, number: usize, seen: Seen, signs: &[Sign]) {
    while side.readers.len() <= number.min(READERS.len() - 1) {
        let reader = READERS[side.readers.len()].to_owned();
        side.readers.push(Reader { reader, signs: BTreeMap::new() });
    }
    if let Some(reader) = side.readers.get_mut(number) {
        reader.signs.retain(|_, found| *found != seen);
        reader.signs.extend(signs.iter().map(|sign| (*sign, seen)));
    }
    while side.readers.last().is_some_and(|reader| reader.signs.is_empty()) {
        side.readers.pop();
    }
}

/// Longest label beside a line, characters.
const LABEL_MAX: usize = 34;

/// What was measured, in the words of `anatomy`.
pub(super) fn lines(plan: &Plan) -> Vec<SummaryLine> {
    let anatomy = plan.anatomy.clone().unwrap_or_default();
    let text = anatomy::text(&anatomy);
    let said = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let said = said.filter(|line| !line.starts_with("Advisory") && !line.starts_with('±'));
    said.map(|line| {
        let heading = matches!(line, "Left" | "Right") || line.starts_with("Mid-sagittal");
        let (label, text) = match line.split_once(": ") {
            _ if heading => (line, ""),
            Some((label, text)) if label.chars().count() <= LABEL_MAX => (label, text),
            _ => ("", line),
        };
        let heed = line.starts_with("Before") || line.contains("disagree");
        SummaryLine { label: label.into(), text: text.into(), heed, heading }
    })
    .collect()
}
