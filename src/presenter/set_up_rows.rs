//! A draft as the rows of case set-up, and what keeps it from being opened.

use super::set_up::{Draft, candidates};
use super::{pathways, phrases};
use crate::pathway::{Pathway, Procedure};
use crate::people::{PersonId, Role, Roster};
use crate::plan::{self, Plan, SacrumShape, SidePlan};
use brimline_ui::FieldLine;

/// Who, pathway, side, sacrum, implants, and what conditions ask, in the order it is read aloud.
pub(super) fn plan_rows(draft: &Draft, pathway: &str, decimal_sign: char) -> Vec<FieldLine> {
    let plan = &draft.plan;
    let (origin, other) = pathways::remark(&draft.offers, draft.chosen.as_deref());
    let patient = &plan.patient;
    let mut rows = vec![
        wanted("patient-name", "Patient", &patient.name),
        wanted("patient-number", "Number", &patient.number),
        FieldLine { detail: "names no patient".into(), ..wanted("label", "Label of the case", &plan.label) },
        FieldLine { detail: origin.into(), heed: other, ..wanted("pathway", "Pathway", pathway) },
        wanted("sides", "Side", &sides(plan)),
    ];
    for side in &plan.sides {
        rows.extend(of_side(side, decimal_sign));
    }
    let (antibiotic, meaning) = phrases::antibiotic(plan.antibiotic);
    rows.push(FieldLine { detail: meaning.into(), ..field("antibiotic", "Antibiotic", antibiotic) });
    let muscles = if plan.nerves_monitored { "no muscle relaxant" } else { "" };
    let monitored = phrases::yes(plan.nerves_monitored);
    rows.push(FieldLine { detail: muscles.into(), ..field("nerves-monitored", "Nerves monitored", monitored) });
    rows.push(field("compressing", "Implants compress", phrases::yes(plan.compressing)));
    let transitional = field("transitional", "Transitional vertebra", phrases::yes(plan.transitional));
    rows.push(FieldLine { detail: "seen, or not excluded".into(), heed: plan.transitional, ..transitional });
    rows.push(field("c-arm", "C-arm", plan.c_arm.as_deref().unwrap_or_default()));
    let planned = plan.views.iter().map(|view| {
        let tilt = phrases::number(view.tilt_deg, decimal_sign);
        let row = field(view.view.word(), view.view.word(), &format!("{tilt}°, {}", view.words));
        FieldLine { locked: true, detail: "from the plan".into(), ..row }
    });
    rows.extend(planned);
    let number = |value: Option<f64>, unit: &str| {
        value.map(|value| format!("{} {unit}", phrases::number(value, decimal_sign))).unwrap_or_default()
    };
    let compared = "with which cases the dose is compared";
    let weight = field("weight", "Weight", &number(patient.weight_kg, "kg"));
    rows.push(FieldLine { detail: compared.into(), ..weight });
    let thickness = field("thickness", "Thickness, front to back", &number(patient.thickness_cm, "cm"));
    rows.push(FieldLine { detail: "stands over the weight".into(), ..thickness });
    rows
}

fn of_side(plan: &SidePlan, decimal_sign: char) -> [FieldLine; 2] {
    let side = plan.side;
    let (sacrum, implants) = (format!("sacrum-{side}"), format!("implants-{side}"));
    let shape = field(&sacrum, &format!("Upper sacrum, {side}"), phrases::shape(plan.sacrum));
    let list: Vec<String> = plan.implants.iter().map(|implant| phrases::implant(implant, decimal_sign)).collect();
    [
        FieldLine { heed: plan.sacrum != SacrumShape::Normal, ..shape },
        wanted(&implants, &format!("Implants, {side}"), &list.join(", ")),
    ]
}

fn sides(plan: &Plan) -> String {
    let sides = phrases::sides(plan);
    let words: Vec<String> = sides.iter().map(|side| super::say::capitalised(&side.to_string())).collect();
    words.join(" and ")
}

fn field(id: &str, label: &str, value: &str) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), ..FieldLine::default() }
}

/// A row that must be filled.
fn wanted(id: &str, label: &str, value: &str) -> FieldLine {
    FieldLine { heed: value.is_empty(), ..field(id, label, value) }
}

/// One row for each role, and last who holds the tablet.
pub(super) fn team_rows(draft: &Draft, roster: &Roster, pathway: Option<&Pathway>) -> Vec<FieldLine> {
    let name = |role: Role| {
        let person = draft.team.get(&role).and_then(|kid| roster.person(kid));
        person.map(|person| person.name().to_owned()).unwrap_or_default()
    };
    let held = pathway.map(|pathway| signers(draft, pathway)).unwrap_or_default();
    let shared: Vec<Role> = roster.held_together(&held).into_iter().flat_map(|(one, other)| [one, other]).collect();
    let row = |role: Role| {
        let needed = pathway.is_some_and(|pathway| pathway.team.contains(&role));
        let signs = pathway.is_some_and(|pathway| pathway.signers.contains(&role));
        let value = name(role);
        let detail = match (value.is_empty(), needed, signs) {
            (true, true, _) if candidates(roster, role).next().is_none() => "needed; nobody on the roster can",
            (true, true, _) => "needed by this pathway",
            (_, _, true) if shared.contains(&role) => "signs, and is another signer too",
            (_, _, true) => "signs",
            _ => "",
        };
        FieldLine {
            heed: (value.is_empty() && needed) || (signs && shared.contains(&role)),
            detail: detail.into(),
            ..field(&phrases::role_code(role), &super::say::capitalised(role.word()), &value)
        }
    };
    let holder = draft.holder.map(|role| format!("{}, {role}", name(role))).unwrap_or_default();
    Role::ALL.into_iter().map(row).chain([wanted("holder", "Holds the tablet", &holder)]).collect()
}

fn signers(draft: &Draft, pathway: &Pathway) -> Vec<(Role, PersonId)> {
    pathway.signers.iter().filter_map(|role| Some((*role, draft.team.get(role)?.clone()))).collect()
}

/// What the team should know of who signs, before the case is opened; empty: nothing.
pub(super) fn together(draft: &Draft, roster: &Roster, pathway: &Pathway) -> String {
    phrases::together(roster, &signers(draft, pathway))
}

/// What keeps the case from being opened; nothing: it can be.
pub(super) fn refusal(draft: &Draft, pathway: Result<&Pathway, &str>) -> Option<String> {
    let pathway = match pathway {
        Ok(pathway) => pathway,
        Err(why) => return Some(why.to_owned()),
    };
    let plan = &draft.plan;
    let empty = [(&plan.patient.name, "The patient has no name"), (&plan.patient.number, "The patient has no number")];
    if let Some((_, why)) = empty.iter().find(|(value, _)| value.is_empty()) {
        return Some((*why).to_owned());
    }
    if plan.sides.is_empty() {
        return Some("No side is chosen".to_owned());
    }
    if let Some(side) = plan.sides.iter().find(|side| side.implants.is_empty()) {
        return Some(format!("No implant is planned on the {} side", side.side));
    }
    if plan.procedure != pathway.procedure {
        return Some(format!("The plan is for a {}, the pathway for a {}", of(plan.procedure), of(pathway.procedure)));
    }
    // The reader of plans has the last word, since it will judge the file when the case is opened again.
    let read = serde_json::to_vec(plan).map_err(|fault| fault.to_string());
    if let Err(fault) = read.and_then(|bytes| plan::read(&bytes).map_err(|fault| fault.to_string())) {
        return Some(format!("The plan does not hold: {fault}"));
    }
    if let Some(role) = pathway.team.iter().find(|role| !draft.team.contains_key(role)) {
        return Some(format!("Nobody is named as {role}"));
    }
    draft.holder.is_none().then(|| "Nobody holds the tablet".to_owned())
}

fn of(procedure: Procedure) -> &'static str {
    match procedure {
        Procedure::Primary => "primary fusion",
        Procedure::Revision => "revision",
    }
}
