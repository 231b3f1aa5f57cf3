//! Changes to a case being set up: what a touched row asks, and what the answer does.

use super::app::Shared;
use super::around::{self, AroundAsked};
use super::questions::{self, NumberOf, TextOf, row};
use super::set_up::{self, Draft, candidates};
use super::{pathways, phrases};
use crate::dose::SizeBand;
use crate::pathway::AntibioticCover;
use crate::people::Role;
use crate::plan::{ImplantPlan, Plan, SacrumShape, SidePlan};
use crate::units::Side;
use brimline_ui::PickRow;

/// What about the draft an overlay asks.
pub(super) enum SetUpAsked {
    /// A row of the plan, by its id.
    Field(String),
    Caution,
    Role(Role),
    Holder,
    Implants {
        side: Side,
    },
    ImplantLevel {
        side: Side,
    },
    /// The diameter, then the length.
    Implant {
        side: Side,
        level: String,
        diameter_mm: Option<f64>,
    },
}

/// Longest name of a patient typed here, characters.
const NAME_MAX: i32 = 80;
/// Longest number of a patient typed here, characters.
const NUMBER_MAX: i32 = 32;
/// Longest label, characters: what the reader of plans accepts.
const LABEL_MAX: i32 = 16;
/// Longest caution, characters.
const CAUTION_MAX: i32 = 160;
/// Levels offered; another is typed in words.
const LEVELS: [&str; 3] = ["S1", "S2", "S3"];

fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    let around = around::of(app);
    if let Some(draft) = around.set_up.borrow_mut().as_mut() {
        change(draft);
    }
    set_up::fill(app);
}

fn edit_plan(app: &Shared, change: impl FnOnce(&mut Plan)) {
    edit(app, |draft| {
        let before = draft.plan.clone();
        change(&mut draft.plan);
        if draft.plan != before {
            draft.bytes = None;
        }
    });
}

fn edit_side(app: &Shared, side: Side, change: impl FnOnce(&mut SidePlan)) {
    edit_plan(app, |plan| {
        if let Some(side) = plan.sides.iter_mut().find(|plan| plan.side == side) {
            change(side);
        }
    });
}

fn plan(app: &Shared) -> Option<Plan> {
    around::of(app).set_up.borrow().as_ref().map(|draft| draft.plan.clone())
}

/// A row of the plan was touched.
pub(super) fn change(app: &Shared, id: &str) {
    let Some(plan) = plan(app) else { return };
    let words = |title: &str, typed: &str, characters_max: i32, may_be_empty: bool| {
        let question = TextOf { title, hint: "", typed, characters_max, may_be_empty };
        questions::text(app, AroundAsked::SetUp(SetUpAsked::Field(id.to_owned())), &question);
    };
    match id {
        "patient-name" => words("Name of the patient", &plan.patient.name, NAME_MAX, false),
        "patient-number" => words("The hospital's number of the patient", &plan.patient.number, NUMBER_MAX, false),
        "label" => words("Label of the case, without the patient's name", &plan.label, LABEL_MAX, false),
        "c-arm" => words("The C-arm, as the room calls it", plan.c_arm.as_deref().unwrap_or(""), NUMBER_MAX, true),
        "weight" | "thickness" => ask_body(app, id, ""),
        "nerves-monitored" => edit_plan(app, |plan| plan.nerves_monitored = !plan.nerves_monitored),
        "compressing" => edit_plan(app, |plan| plan.compressing = !plan.compressing),
        "transitional" => edit_plan(app, |plan| plan.transitional = !plan.transitional),
        _ => match id.strip_prefix("implants-").and_then(phrases::side_of) {
            Some(side) => ask_implants(app, side),
            None => ask_rows(app, id, &plan),
        },
    }
}

fn ask_rows(app: &Shared, id: &str, plan: &Plan) {
    let (title, rows) = match id {
        "pathway" => ("Pathway", pathway_rows(app)),
        "sides" => ("Which side is operated on", side_rows(plan)),
        "antibiotic" => ("Antibiotic", antibiotics(plan)),
        _ => match id.strip_prefix("sacrum-").and_then(phrases::side_of).and_then(|side| plan.side(side)) {
            Some(side) => ("Shape of the upper sacrum", shapes(side)),
            None => return,
        },
    };
    questions::pick(app, AroundAsked::SetUp(SetUpAsked::Field(id.to_owned())), title, "", rows);
}

fn pathway_rows(app: &Shared) -> Vec<PickRow> {
    let around = around::of(app);
    let draft = around.set_up.borrow();
    draft.as_ref().map(|draft| pathways::rows(&draft.offers, draft.chosen.as_deref())).unwrap_or_default()
}

fn side_rows(plan: &Plan) -> Vec<PickRow> {
    let sides = phrases::sides(plan);
    let is = |wanted: &[Side]| sides == wanted;
    vec![
        row("left", "Left", "of the patient", is(&[Side::Left])),
        row("right", "Right", "of the patient", is(&[Side::Right])),
        row("both", "Both sides", "in one operation", sides.len() == 2),
    ]
}

const SHAPES: [(&str, SacrumShape); 3] =
    [("normal", SacrumShape::Normal), ("dysmorphic", SacrumShape::Dysmorphic), ("not-judged", SacrumShape::NotJudged)];

fn shapes(side: &SidePlan) -> Vec<PickRow> {
    SHAPES.iter().map(|(id, shape)| row(id, phrases::shape(*shape), "", side.sacrum == *shape)).collect()
}

const COVERS: [(&str, AntibioticCover); 3] = [
    ("standard", AntibioticCover::Standard),
    ("long-infusion", AntibioticCover::LongInfusion),
    ("withheld", AntibioticCover::WithheldForCultures),
];

fn antibiotics(plan: &Plan) -> Vec<PickRow> {
    let covers = COVERS.iter().map(|(id, cover)| {
        let (words, meaning) = phrases::antibiotic(*cover);
        row(id, words, meaning, plan.antibiotic == *cover)
    });
    covers.collect()
}

/// Asks what else is to be read aloud with the plan.
pub(super) fn ask_caution(app: &Shared) {
    let question = TextOf {
        title: "A caution, read aloud with the plan",
        hint: "For instance an allergy, or a limit on this side",
        typed: "",
        characters_max: CAUTION_MAX,
        may_be_empty: false,
    };
    questions::text(app, AroundAsked::SetUp(SetUpAsked::Caution), &question);
}

/// Shows the implants planned on a side: touching one takes it away.
pub(super) fn ask_implants(app: &Shared, side: Side) {
    let Some(plan) = plan(app) else { return };
    let sign = app.borrow().settings.decimal_sign.character();
    let planned = plan.side(side).map(|side| side.implants.as_slice()).unwrap_or_default();
    let mut rows: Vec<PickRow> = planned
        .iter()
        .enumerate()
        .map(|(index, implant)| row(&index.to_string(), &phrases::implant(implant, sign), "touch to take away", false))
        .collect();
    rows.push(row("add", "Add an implant", "in the order they are to be placed", false));
    let title = format!("Implants, {side}");
    questions::pick(app, AroundAsked::SetUp(SetUpAsked::Implants { side }), &title, "", rows);
}

fn ask_level(app: &Shared, side: Side) {
    let mut rows: Vec<PickRow> = LEVELS.iter().map(|level| row(level, level, "", false)).collect();
    rows.push(row("words", "Another place, in words", "", false));
    questions::pick(app, AroundAsked::SetUp(SetUpAsked::ImplantLevel { side }), "Where is it planned", "", rows);
}

fn ask_size(app: &Shared, side: Side, level: String, diameter_mm: Option<f64>, refusal: &str) {
    let title = if diameter_mm.is_none() { format!("Diameter, {level}") } else { format!("Length, {level}") };
    let range = if diameter_mm.is_none() { "accepted 4 to 20" } else { "accepted 15 to 200" };
    let question =
        NumberOf { title: &title, hint: "As it stands in the plan", unit: "mm", range, negatives: false, refusal };
    questions::number(app, AroundAsked::SetUp(SetUpAsked::Implant { side, level, diameter_mm }), &question);
}

/// Asks the patient's weight, or the thickness in the beam.
fn ask_body(app: &Shared, id: &str, refusal: &str) {
    let (title, unit, range) = match id {
        "weight" => ("Weight of the patient", "kg", "accepted 20 to 400"),
        _ => ("Thickness of the pelvis, front to back", "cm", "accepted 8 to 80"),
    };
    let question = NumberOf {
        title,
        hint: "Its band says with which cases the dose is compared",
        unit,
        range,
        negatives: false,
        refusal,
    };
    questions::number(app, AroundAsked::SetUp(SetUpAsked::Field(id.to_owned())), &question);
}

/// The bounds are those of the bands.
fn body(app: &Shared, id: &str, typed: &str) {
    let sign = app.borrow().settings.decimal_sign.character();
    let value = phrases::typed(typed, sign);
    let fits =
        if id == "weight" { value.and_then(SizeBand::of_weight) } else { value.and_then(SizeBand::of_thickness) };
    if fits.is_none() {
        return ask_body(app, id, &format!("{typed} is not plausible"));
    }
    around::close(app);
    edit_plan(app, |plan| {
        if id == "weight" {
            plan.patient.weight_kg = value;
        } else {
            plan.patient.thickness_cm = value;
            plan.brimline_plan = crate::plan::FORMAT;
        }
    });
}

/// A role, or who holds the tablet, was touched.
pub(super) fn change_team(app: &Shared, code: &str) {
    match phrases::role_of(code) {
        Some(role) => ask_role(app, role),
        None => ask_holder(app),
    }
}

fn ask_role(app: &Shared, role: Role) {
    let around = around::of(app);
    let rows = {
        let (app, draft) = (app.borrow(), around.set_up.borrow());
        let Some(draft) = draft.as_ref() else { return };
        let also = |kid: &crate::people::PersonId| {
            let others = draft.team.iter().filter(|(other, person)| **other != role && *person == kid);
            others.map(|(other, _)| other.word()).collect::<Vec<_>>().join(", ")
        };
        let person = |kid| {
            let detail = also(kid);
            let detail = if detail.is_empty() { detail } else { format!("is {detail} too") };
            row(&kid.0, &app.name_of(kid), &detail, draft.team.get(&role) == Some(kid))
        };
        let mut rows: Vec<PickRow> = candidates(&app.roster, role).map(person).collect();
        rows.push(row("nobody", "Nobody", "the role is not held in this case", !draft.team.contains_key(&role)));
        rows
    };
    let title = format!("Who is {role}");
    let hint = if rows.len() == 1 { "Nobody on the roster can take this role: add somebody under People" } else { "" };
    questions::pick(app, AroundAsked::SetUp(SetUpAsked::Role(role)), &title, hint, rows);
}

fn ask_holder(app: &Shared) {
    let around = around::of(app);
    let rows = {
        let (app, draft) = (app.borrow(), around.set_up.borrow());
        let Some(draft) = draft.as_ref() else { return };
        let held = draft.team.iter().map(|(role, kid)| {
            row(&phrases::role_code(*role), &app.name_of(kid), role.word(), draft.holder == Some(*role))
        });
        held.collect::<Vec<_>>()
    };
    questions::pick(app, AroundAsked::SetUp(SetUpAsked::Holder), "Who holds the tablet", "Logs every touch", rows);
}

/// Words were typed for the draft.
pub(super) fn text(app: &Shared, asked: SetUpAsked, text: &str) {
    match asked {
        SetUpAsked::ImplantLevel { side } => return ask_size(app, side, text.to_owned(), None, ""),
        SetUpAsked::Caution => edit_plan(app, |plan| plan.cautions.push(text.to_owned())),
        SetUpAsked::Field(id) => edit_plan(app, |plan| match id.as_str() {
            "patient-name" => text.clone_into(&mut plan.patient.name),
            "patient-number" => text.clone_into(&mut plan.patient.number),
            "label" => text.clone_into(&mut plan.label),
            _ => plan.c_arm = (!text.is_empty()).then(|| text.to_owned()),
        }),
        _ => {}
    }
    around::close(app);
}

/// A size was typed. The bounds are those of the reader of plans.
pub(super) fn number(app: &Shared, asked: SetUpAsked, typed: &str) {
    let (side, level, diameter_mm) = match asked {
        SetUpAsked::Field(id) => return body(app, &id, typed),
        SetUpAsked::Implant { side, level, diameter_mm } => (side, level, diameter_mm),
        _ => return around::close(app),
    };
    let sign = app.borrow().settings.decimal_sign.character();
    let range = if diameter_mm.is_none() { 4.0..=20.0 } else { 15.0..=200.0 };
    let value = phrases::typed(typed, sign).filter(|value| range.contains(value));
    match (value, diameter_mm) {
        (None, _) => {
            let refusal = format!("{typed} mm is not a plausible size");
            ask_size(app, side, level, diameter_mm, &refusal);
        }
        (Some(value), None) => ask_size(app, side, level, Some(value), ""),
        (Some(length_mm), Some(diameter_mm)) => {
            edit_side(app, side, |plan| plan.implants.push(ImplantPlan { level, diameter_mm, length_mm }));
            ask_implants(app, side);
        }
    }
}

/// A row of a list was touched for the draft.
pub(super) fn picked(app: &Shared, asked: SetUpAsked, id: &str) {
    match asked {
        SetUpAsked::Field(field) => picked_field(app, &field, id),
        SetUpAsked::Role(role) => edit(app, |draft| {
            draft.team.remove(&role);
            if id != "nobody" {
                draft.team.insert(role, crate::people::PersonId(id.to_owned()));
            }
            let held = draft.holder.filter(|holder| draft.team.contains_key(holder));
            draft.holder = held.or_else(|| draft.team.keys().next().copied());
        }),
        SetUpAsked::Holder => edit(app, |draft| draft.holder = phrases::role_of(id).or(draft.holder)),
        SetUpAsked::Implants { side } if id == "add" => return ask_level(app, side),
        SetUpAsked::Implants { side } => {
            edit_side(app, side, |plan| {
                if let Some(index) = id.parse().ok().filter(|index| *index < plan.implants.len()) {
                    plan.implants.remove(index);
                }
            });
            return ask_implants(app, side);
        }
        SetUpAsked::ImplantLevel { side } if id == "words" => {
            let title = "Where is it planned";
            let question = TextOf { title, hint: "", typed: "", characters_max: NUMBER_MAX, may_be_empty: false };
            return questions::text(app, AroundAsked::SetUp(SetUpAsked::ImplantLevel { side }), &question);
        }
        SetUpAsked::ImplantLevel { side } => return ask_size(app, side, id.to_owned(), None, ""),
        SetUpAsked::Caution | SetUpAsked::Implant { .. } => {}
    }
    around::close(app);
}

fn picked_field(app: &Shared, field: &str, id: &str) {
    match field {
        "pathway" => choose_pathway(app, id),
        "sides" => edit_plan(app, |plan| choose_sides(plan, id)),
        "antibiotic" => edit_plan(app, |plan| {
            let cover = COVERS.iter().find(|(known, _)| *known == id);
            plan.antibiotic = cover.map_or(plan.antibiotic, |(_, cover)| *cover);
        }),
        _ => {
            let side = field.strip_prefix("sacrum-").and_then(phrases::side_of);
            let shape = SHAPES.iter().find(|(known, _)| *known == id);
            if let (Some(side), Some((_, shape))) = (side, shape) {
                edit_side(app, side, |plan| plan.sacrum = *shape);
            }
        }
    }
}

fn choose_pathway(app: &Shared, key: &str) {
    edit(app, |draft| {
        let Some((pathway, _)) = pathways::of(&draft.offers, Some(key)) else { return };
        let (id, procedure) = (pathway.id.clone(), pathway.procedure);
        draft.chosen = Some(key.to_owned());
        if (draft.plan.pathway.as_str(), draft.plan.procedure) != (id.as_str(), procedure) {
            (draft.plan.pathway, draft.plan.procedure, draft.bytes) = (id, procedure, None);
        }
    });
}

/// Keeps what is planned on a side that stays; a side that comes has nothing planned yet, its sacrum not judged.
fn choose_sides(plan: &mut Plan, id: &str) {
    let chosen = [Side::Left, Side::Right].into_iter().filter(|side| id == "both" || id == side.to_string());
    let old = std::mem::take(&mut plan.sides);
    plan.sides = chosen
        .map(|side| {
            let kept = old.iter().find(|plan| plan.side == side).cloned();
            kept.unwrap_or(SidePlan { side, sacrum: SacrumShape::NotJudged, implants: Vec::new() })
        })
        .collect();
}
