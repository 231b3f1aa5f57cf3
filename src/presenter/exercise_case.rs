//! The case of an exercise: a plan of the model person, the pathway of the task, and the journal a live case would have.
//!
//! One trainee holds every role. What it does not do: no machine and no score (that is the rehearsal). The plan tells
//! what a plan would: the angles of the person as measured, not how the pelvis lies today.

use super::app::{App, Shared};
use super::say;
use super::set_up::{dose_configured, new_folder};
use super::view_known::Room;
use crate::carm::{Angle, SacralMeasurements, ViewName, Words};
use crate::case::{CaseKind, Configured, Exercise, PersonKind, Task};
use crate::open_case::{CreateCase, OpenCase};
use crate::pathway::{self, AntibioticCover, Pathway, Procedure};
use crate::people::{Actor, PersonId, Role};
use crate::plan::{self, ImplantPlan, Patient, Plan, SacrumShape, SidePlan, ViewPlan};
use crate::rehearse::{Rehearsal, Truth, wanted};
use crate::units::Degrees;
use serde_json::{Value, json};

/// Id of the short pathway of an exercise that is not the whole one.
const SHORT: &str = "exercise";
/// The whole one.
const WHOLE: &str = "primary-lateral-prone";
/// Of an angle that the model tells to the last bit: what a plan states at best.
const PLANNED_SD: Degrees = Degrees(1.0);

/// How an exercise ended, as its record tells it: id and words.
pub(super) const RESULTS: [(&str, &str); 4] =
    [("passed", "Passed"), ("failed", "Failed"), ("stopped", "Stopped when unsure"), ("not-done", "Not done")];
/// The check that tells it.
pub(super) const RESULT: &str = "result";

/// The room as an exercise has it: prone, as the built-in pathways.
pub(super) fn room(exercise: &Exercise) -> Room {
    Room { tube: exercise.tube, stand: exercise.stand, ..Room::USUAL }
}

/// Opens the case of a rehearsal in a folder of its own; one person holds every role, first `role`.
pub(super) fn create(app: &Shared, rehearsal: &Rehearsal, who: &PersonId, role: Role) -> Result<OpenCase, String> {
    let exercise = *rehearsal.exercise();
    let pathway = pathway_of(&exercise, role)?;
    let plan = plan_of(rehearsal, &pathway);
    let bytes = |value: &Value| serde_json::to_vec_pretty(value).map_err(|fault| fault.to_string());
    let as_value = |fault: serde_json::Error| fault.to_string();
    let pathway_bytes = bytes(&serde_json::to_value(&pathway).map_err(as_value)?)?;
    let plan_bytes = bytes(&serde_json::to_value(&plan).map_err(as_value)?)?;
    plan::read(&plan_bytes).map_err(|fault| fault.to_string())?;
    let notify = app.borrow().notify();
    let app = app.borrow();
    let folder = new_folder(&app.world, &app.store).map_err(|fault| fault.to_string())?;
    let holder = Actor::new(role, who.clone());
    let new = CreateCase {
        pathway: &pathway_bytes,
        plan: &plan_bytes,
        kind: CaseKind::Rehearsal,
        exercise: Some(exercise),
        site: app.settings.site.clone(),
        team: pathway.team.iter().map(|role| (*role, who.clone())).collect(),
        configured: configured(&app),
        by: holder.clone(),
        logged_by: holder,
        notify,
    };
    OpenCase::create(&app.world, &folder, new).map_err(|fault| fault.to_string())
}

fn configured(app: &App) -> Configured {
    let entry = app.settings.entry;
    Configured {
        burst_ms: entry.burst_ms,
        burst_answers: entry.burst_answers,
        late_ms: entry.late_ms,
        dose: dose_configured(&app.settings.dose),
    }
}

/// The pathway of a task: the built-in one for the whole, else one step with the views that the task asks for.
fn pathway_of(exercise: &Exercise, role: Role) -> Result<Pathway, String> {
    if exercise.task == Task::Pathway {
        let built_in = pathway::built_in(WHOLE).ok_or("the built-in pathway is missing")?;
        let mut whole = pathway::read(built_in).map_err(|fault| fault.to_string())?;
        whole.signers = vec![role];
        if !whole.team.contains(&role) {
            whole.team.push(role);
        }
        return Ok(whole);
    }
    let bytes = serde_json::to_vec(&short(exercise, role)).map_err(|fault| fault.to_string())?;
    pathway::read(&bytes).map_err(|fault| fault.to_string())
}

/// Every pathway marks an incision behind a gate and a closure; a model has neither, and its record says so.
fn short(exercise: &Exercise, role: Role) -> Value {
    let sheets = crate::carm::view_sheets();
    let view = |view: ViewName| {
        let criteria = sheets.iter().find(|sheet| sheet.view == view).map(|sheet| sheet.superimpose.clone());
        json!({"id": check_id(view), "text": view.word(), "ask": {
            "kind": "view", "view": view, "criteria": criteria.unwrap_or_default()}})
    };
    let mut checks: Vec<Value> = wanted(exercise.task).into_iter().map(view).collect();
    let options: Vec<Value> = RESULTS.iter().map(|(id, text)| json!({"id": id, "text": text})).collect();
    checks.push(json!({"id": RESULT, "text": "How the exercise ended", "ask": {"kind": "choice", "options": options}}));
    let stop = |id: &str, title: &str| json!({"step": id, "title": title, "checks": [{"id": format!("{id}-noted"), "text": "The exercise ends here"}]});
    json!({
        "brimline_pathway": 1, "id": SHORT, "version": "1.0", "title": say::capitalised(&exercise.task.to_string()),
        "procedure": "primary",
        "about": "An exercise on a synthetic machine and a model pelvis. No patient stands behind it.",
        "team": [role], "signers": [role],
        "phases": [{"id": "exercise", "title": "Exercise", "steps": [
            {"id": "task", "title": "On the model", "checks": checks,
             "gate": {"title": "End of the exercise", "release": [role]}},
            {"id": "skin", "title": "What a model has not", "checks": [
                {"id": "skin-cut", "text": "Skin cut", "marks": "incision"},
                {"id": "wound-closed", "text": "Wound closed", "marks": "closure"}]}]}],
        "stops": {
            "cancelled": stop("cancelled", "Cancelled"), "abandoned": stop("abandoned", "Abandoned"),
            "converted": stop("converted", "Converted"), "void": stop("void", "Opened in error"),
        },
    })
}

/// The check of a view in the short pathway.
pub(super) fn check_id(view: ViewName) -> String {
    let code = serde_json::to_value(view).ok();
    format!("view-{}", code.as_ref().and_then(Value::as_str).unwrap_or_default())
}

/// What a plan would say of the model person.
fn plan_of(rehearsal: &Rehearsal, pathway: &Pathway) -> Plan {
    let exercise = rehearsal.exercise();
    let person = format!("Model person {}", exercise.seed);
    let truth = Truth::of(&rehearsal.person().shape);
    let views = ViewName::ALL.into_iter().filter_map(|view| view_plan(&truth, view, room(exercise)));
    let shape = sacrum(exercise);
    let implant = ImplantPlan { level: "S1".to_owned(), diameter_mm: 10.0, length_mm: 45.0 };
    Plan {
        brimline_plan: plan::FORMAT,
        label: format!("R-{}", exercise.seed),
        pathway: pathway.id.clone(),
        procedure: Procedure::Primary,
        patient: Patient {
            name: person,
            number: format!("MODEL-{}", exercise.seed),
            age: None,
            weight_kg: None,
            thickness_cm: Some((rehearsal.person().thickness().0 / 10.0).round()),
        },
        sides: vec![SidePlan { side: exercise.operated, sacrum: shape, implants: vec![implant] }],
        nerves_monitored: false,
        antibiotic: AntibioticCover::Standard,
        compressing: false,
        transitional: false,
        c_arm: Some("Synthetic machine".to_owned()),
        views: views.collect(),
        cautions: Vec::new(),
        team: Vec::new(),
        eligibility: None,
        anatomy: None,
        tools: Vec::new(),
        graft: Vec::new(),
    }
}

fn sacrum(exercise: &Exercise) -> SacrumShape {
    match exercise.person {
        PersonKind::DysmorphicOneSide | PersonKind::DysmorphicBothSides => SacrumShape::Dysmorphic,
        _ => SacrumShape::Normal,
    }
}

/// The person's own angle of a view, as the room says it.
fn view_plan(truth: &Truth, view: ViewName, room: Room) -> Option<ViewPlan> {
    let line = truth.view(view)?.line;
    let inlet = line.z.atan2(-line.y).to_degrees();
    let outlet = matches!(view, ViewName::OutletWorking | ViewName::OutletEndplate | ViewName::OutletEnFace);
    let value = Degrees(if outlet { -inlet } else { inlet });
    let measured = SacralMeasurements::of_one(view, Angle { value, sd: PLANNED_SD });
    let target = room.own_target(view, &measured).ok()?;
    let said: Vec<String> = target.moves.iter().map(|one| Words::built_in().say(one)).collect();
    let words = if said.is_empty() { "beam vertical".to_owned() } else { said.join("; ") };
    Some(ViewPlan { view, tilt_deg: target.joints.tilt.0.abs().round(), words })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::Tube;
    use crate::units::Side;

    fn exercise(task: Task) -> Exercise {
        let (operated, stand) = (Side::Right, Side::Left);
        Exercise { task, person: PersonKind::DysmorphicOneSide, operated, stand, tube: Tube::Under, seed: 17 }
    }

    #[test]
    fn the_pathway_of_every_task_is_free_of_faults_and_its_plan_is_read() {
        let tasks =
            [Task::View(ViewName::Lateral), Task::View(ViewName::InletCanal), Task::ReAim, Task::Pin, Task::Pathway];
        for task in tasks {
            let exercise = exercise(task);
            let pathway = pathway_of(&exercise, Role::Radiographer).unwrap_or_else(|fault| panic!("{task}: {fault}"));
            assert_eq!(pathway.signers, [Role::Radiographer]);
            let plan = plan_of(&Rehearsal::begin(exercise, None), &pathway);
            let bytes = serde_json::to_vec(&plan).expect("JSON");
            assert_eq!(plan::read(&bytes).expect("the reader of plans takes it").label, "R-17", "{task}");
            assert!(plan.views.iter().any(|planned| planned.view == ViewName::InletBody));
        }
    }
}
