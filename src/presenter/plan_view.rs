//! Plan: one patient's plan, a part at a time, saved among the plans of the store.
//!
//! The plan being made is that of case set-up, so that the way from one to the other loses nothing. What it does not do:
//! it opens no case.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::case_view::model;
use super::measure_draft::{Measured, measures};
use super::plan_form::Asks;
use super::questions::row;
use super::set_up_rows::plan_rows;
use super::{
    home, measure_view, phrases, plan_anatomy as anatomy, plan_eligibility as eligibility, plan_graft as graft,
    plan_targets as targets, questions, set_up, set_up_change, touch, worker,
};
use crate::plan::{self, Plan};
use brimline_ui::{AppWindow, Place, PlanPart, PlanView, SetUp, SetUpPage, Shell, SummaryLine};
use serde_json::Value;
use slint::ComponentHandle;
use std::path::{Path, PathBuf};

/// Longest name of a file made here, characters.
const NAME_MAX: usize = 40;

/// What the screen keeps beside the plan.
#[derive(Default)]
pub(super) struct Shown {
    /// The file the plan came from or was saved as.
    path: Option<PathBuf>,
    around: targets::Around,
    /// The plan as it was saved last.
    saved: Option<Plan>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<PlanView>();
    let on = std::rc::Rc::downgrade(app);
    screen.on_show(move |part| {
        if let (Some(app), Some(window)) = (on.upgrade(), on.upgrade().and_then(|app| window_of(&app))) {
            window.global::<PlanView>().set_part(part);
            fill(&app);
        }
    });
    screen.on_change(touch::named(app, change));
    screen.on_save(touch::plain(app, save));
    screen.on_set_up(touch::plain(app, to_set_up));
    screen.on_leave(touch::plain(app, leave));
}

fn window_of(app: &Shared) -> Option<AppWindow> {
    window(app)
}

/// Plans a patient: the plan of that file, or a new one.
pub(super) fn show(app: &Shared, path: Option<&Path>) {
    let begun = match path {
        Some(path) => set_up::draft_of_file(app, path),
        None => set_up::draft_of_nobody(app),
    };
    if !begun {
        return;
    }
    let saved = path.and_then(|_| plan_of(app));
    let site = app.borrow().settings.machine.clone();
    around::of(app).plan.replace(Shown { path: path.map(Path::to_owned), around: targets::usual(&site), saved });
    if let Some(window) = window(app) {
        window.global::<PlanView>().set_part(PlanPart::Patient);
        window.global::<Shell>().set_place(Place::Plan);
    }
    fill(app);
}

fn plan_of(app: &Shared) -> Option<Plan> {
    around::of(app).set_up.borrow().as_ref().map(|draft| draft.plan.clone())
}

fn part(app: &Shared) -> PlanPart {
    window(app).map_or(PlanPart::Patient, |window| window.global::<PlanView>().get_part())
}

/// Shows the plan, if this screen is on.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app).filter(|window| window.global::<Shell>().get_place() == Place::Plan) else { return };
    let screen = window.global::<PlanView>();
    let Some(plan) = plan_of(app) else { return };
    let title = set_up::pathway_title(&plan.pathway);
    screen.set_side(phrases::operated(&phrases::sides(&plan)));
    screen.set_patient(phrases::whose(&plan).into());
    screen.set_procedure(title.as_str().into());
    let part = screen.get_part();
    let rows = match part {
        PlanPart::Patient => {
            let (app_of, around) = (app.borrow(), around::of(app));
            let draft = around.set_up.borrow();
            let sign = app_of.settings.decimal_sign.character();
            draft.as_ref().map(|draft| plan_rows(draft, &title, sign)).unwrap_or_default()
        }
        part => {
            let asks = asks(&plan, part);
            let of = |asks: &Asks| asks.line(&app.borrow(), value(app, &plan, part, &asks.id).as_ref());
            asks.iter().map(of).collect()
        }
    };
    screen.set_rows(model(rows));
    screen.set_lines(model(lines(app, &plan, part)));
    screen.set_advisory(advisory(part).into());
    let refusal = refusal(&plan);
    screen.set_refusal(refusal.unwrap_or_default().into());
    screen.set_saved(saved(app, &plan).into());
}

fn saved(app: &Shared, plan: &Plan) -> String {
    let around = around::of(app);
    let shown = around.plan.borrow();
    let name = shown.path.as_ref().and_then(|path| path.file_name()).map(|name| name.to_string_lossy().into_owned());
    match (&shown.saved, name) {
        (Some(saved), Some(name)) if saved == plan => format!("saved as {name}"),
        (_, Some(name)) => format!("changed since {name}"),
        _ => "not saved yet".to_owned(),
    }
}

fn asks(plan: &Plan, part: PlanPart) -> Vec<Asks> {
    match part {
        PlanPart::Patient => Vec::new(),
        PlanPart::Eligibility => eligibility::asks(plan),
        PlanPart::Anatomy => anatomy::asks(),
        PlanPart::Targets => targets::asks(),
        PlanPart::Graft => graft::asks(plan),
    }
}

fn value(app: &Shared, plan: &Plan, part: PlanPart, id: &str) -> Option<Value> {
    match part {
        PlanPart::Patient => None,
        PlanPart::Eligibility => eligibility::value(plan, id),
        PlanPart::Anatomy => anatomy::value(plan, id),
        PlanPart::Targets => targets::value(plan, &around::of(app).plan.borrow().around, id),
        PlanPart::Graft => graft::value(plan, id),
    }
}

fn lines(app: &Shared, plan: &Plan, part: PlanPart) -> Vec<SummaryLine> {
    match part {
        PlanPart::Patient => summary(plan),
        PlanPart::Eligibility => eligibility::lines(plan, &app.borrow().settings.eligibility),
        PlanPart::Anatomy => anatomy::lines(plan),
        PlanPart::Targets => {
            targets::lines(plan, &around::of(app).plan.borrow().around, &app.borrow().settings.machine)
        }
        PlanPart::Graft => graft::lines(plan),
    }
}

fn advisory(part: PlanPart) -> &'static str {
    match part {
        PlanPart::Patient => "Read aloud at case set-up. Advisory: the surgeon decides.",
        PlanPart::Eligibility => eligibility::ADVISORY,
        PlanPart::Anatomy => anatomy::ADVISORY,
        PlanPart::Targets => targets::ADVISORY,
        PlanPart::Graft => graft::ADVISORY,
    }
}

/// How far each part of the plan is.
fn summary(plan: &Plan) -> Vec<SummaryLine> {
    let line = |label: &str, text: &str, heed: bool| SummaryLine {
        label: label.into(),
        text: text.into(),
        heed,
        heading: false,
    };
    let judged = plan.eligibility.as_ref().is_some_and(|planned| !planned.policy.is_empty());
    let measured = plan.anatomy.as_ref().is_some_and(|anatomy| !anatomy.sides.is_empty());
    let said = |done: bool, yes: &'static str, no: &'static str| if done { yes } else { no };
    vec![
        SummaryLine { label: "What is planned".into(), heading: true, ..SummaryLine::default() },
        line("Eligibility", said(judged, "judged under a named policy", "no policy chosen yet"), !judged),
        line("Anatomy", said(measured, "measured", "nothing measured yet"), !measured),
        line(
            "Views",
            said(!plan.views.is_empty(), "angles taken into the plan", "no angles taken yet"),
            plan.views.is_empty(),
        ),
        line("Graft", said(!plan.graft.is_empty(), "volumes planned", "nothing planned"), false),
        line("Cautions", said(!plan.cautions.is_empty(), "read aloud with the plan", "none"), false),
    ]
}

/// What keeps the plan from being saved: what its own reader says.
fn refusal(plan: &Plan) -> Option<String> {
    if plan.patient.name.is_empty() || plan.patient.number.is_empty() {
        return Some("The patient's name and number are needed".to_owned());
    }
    if plan.sides.iter().any(|side| side.implants.is_empty()) {
        return Some("Say which implants are planned on each side".to_owned());
    }
    let bytes = serde_json::to_vec(&current(plan)).map_err(|fault| fault.to_string());
    let read = bytes.and_then(|bytes| plan::read(&bytes).map_err(|fault| fault.to_string()));
    read.err().map(|fault| super::say::capitalised(&fault))
}

/// The plan in the format that has all its members.
fn current(plan: &Plan) -> Plan {
    Plan { brimline_plan: plan::FORMAT, ..plan.clone() }
}

/// A row was touched.
fn change(app: &Shared, id: &str) {
    let (Some(plan), part) = (plan_of(app), part(app)) else { return };
    if part == PlanPart::Patient {
        return set_up_change::change(app, id);
    }
    if id == targets::TAKE && part == PlanPart::Targets {
        return take(app);
    }
    let Some(asks) = asks(&plan, part).into_iter().find(|asks| asks.id == id) else { return };
    if part == PlanPart::Anatomy && measures(id).is_some() {
        let rows = vec![
            row("touch", "Touch it on a picture", "from the images of plans, or what was received", false),
            row("type", "Type it", "measured elsewhere", false),
            row("nothing", "Not known", "left out of the plan", false),
        ];
        return questions::pick(app, AroundAsked::TypeOrTouch(id.to_owned()), &asks.label, asks.hint, rows);
    }
    asks.ask(app, value(app, &plan, part, id).as_ref(), "");
}

/// A number of the anatomy is typed, touched, or left out.
pub(super) fn type_or_touch(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    let (Some(plan), part) = (plan_of(app), part(app)) else { return };
    let Some(asks) = asks(&plan, part).into_iter().find(|asks| asks.id == id) else { return };
    match (chosen, measures(id)) {
        ("touch", Some(what)) => measure_view::show(app, id, &asks.label, what),
        ("type", _) => asks.ask(app, value(app, &plan, part, id).as_ref(), ""),
        _ => put(app, part, id, None),
    }
}

/// Puts a touched number into the anatomy, with the ± of its touches.
pub(super) fn measured(app: &Shared, id: &str, value: &Measured) {
    {
        let around = around::of(app);
        if let Some(draft) = around.set_up.borrow_mut().as_mut() {
            draft.bytes = None;
            anatomy::measured(&mut draft.plan, id, value);
        }
    }
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Plan);
    }
    fill(app);
}

fn take(app: &Shared) {
    let site = app.borrow().settings.machine.clone();
    let taken = {
        let around = around::of(app);
        let shown = around.plan.borrow();
        let mut draft = around.set_up.borrow_mut();
        draft.as_mut().map(|draft| {
            draft.bytes = None;
            targets::take(&mut draft.plan, &shown.around, &site)
        })
    };
    if let Some(Err(fault)) = taken {
        return questions::tell(
            app,
            "No angles were taken",
            &fault,
            "The plan is as it was.",
            "Put right what is named.",
        );
    }
    fill(app);
}

/// Puts a value into the plan and shows it.
fn put(app: &Shared, part: PlanPart, id: &str, value: Option<&Value>) {
    {
        let around = around::of(app);
        if part == PlanPart::Targets {
            targets::set(&mut around.plan.borrow_mut().around, id, value);
        } else if let Some(draft) = around.set_up.borrow_mut().as_mut() {
            draft.bytes = None;
            match part {
                PlanPart::Eligibility => eligibility::set(&mut draft.plan, id, value),
                PlanPart::Anatomy => anatomy::set(&mut draft.plan, id, value),
                _ => graft::set(&mut draft.plan, id, value),
            }
        }
    }
    fill(app);
}

/// A row of a list was chosen.
pub(super) fn picked(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    let (Some(plan), part) = (plan_of(app), part(app)) else { return };
    let Some(asks) = asks(&plan, part).into_iter().find(|asks| asks.id == id) else { return };
    let (value, more) = asks.chosen(value(app, &plan, part, id).as_ref(), chosen);
    put(app, part, id, value.as_ref());
    if more {
        change(app, id);
    }
}

/// A number was typed.
pub(super) fn number(app: &Shared, id: &str, text: &str) {
    let (Some(plan), part) = (plan_of(app), part(app)) else { return around::close(app) };
    let Some(asks) = asks(&plan, part).into_iter().find(|asks| asks.id == id) else { return around::close(app) };
    match asks.typed(app, text) {
        Ok(value) => {
            around::close(app);
            put(app, part, id, Some(&value));
        }
        Err(refusal) => asks.ask(app, value(app, &plan, part, id).as_ref(), &refusal),
    }
}

/// Writes the plan beside the window, then says so.
fn save(app: &Shared) {
    let Some(plan) = plan_of(app).map(|plan| current(&plan)) else { return };
    let (world, folder) = {
        let app = app.borrow();
        (app.world.clone(), app.store.join(super::shelf::PLANS))
    };
    let known = around::of(app).plan.borrow().path.clone();
    let path = known.unwrap_or_else(|| folder.join(name(&plan, &world.disk.list(&folder).unwrap_or_default())));
    let Ok(bytes) = serde_json::to_vec_pretty(&plan) else { return };
    let to = path.clone();
    let work = move || world.disk.create_folder(&folder).and_then(|()| world.disk.replace(&to, &bytes));
    worker::start(app, "The plan is being saved", work, move |app, done| match done {
        Ok(()) => {
            {
                let around = around::of(app);
                if let Some(draft) = around.set_up.borrow_mut().as_mut() {
                    draft.plan.brimline_plan = plan::FORMAT;
                }
                let mut shown = around.plan.borrow_mut();
                (shown.path, shown.saved) = (Some(path), Some(plan));
            }
            fill(app);
        }
        Err(fault) => questions::tell(
            app,
            "The plan was not saved",
            &format!("{}: {fault}", path.display()),
            "What is on screen stays; the file is as it was.",
            "Make room on the disk, then save again.",
        ),
    });
}

/// A file name of the label, which names no patient, and never one that is taken.
fn name(plan: &Plan, taken: &[String]) -> String {
    let plain = |sign: char| if sign.is_ascii_alphanumeric() { sign.to_ascii_lowercase() } else { '-' };
    let label: String = plan.label.chars().take(NAME_MAX).map(plain).collect();
    let label = label.trim_matches('-');
    let label = if label.is_empty() { "plan" } else { label };
    let numbered = |number: usize| if number == 1 { format!("{label}.json") } else { format!("{label}-{number}.json") };
    let mut names = (1..).map(numbered);
    names.find(|name| !taken.contains(name)).expect("numbers do not end before files do")
}

/// On to case set-up with the same plan.
fn to_set_up(app: &Shared) {
    if let Some(window) = window(app) {
        window.global::<SetUp>().set_page(SetUpPage::Plan);
        window.global::<Shell>().set_place(Place::SetUp);
    }
    set_up::fill(app);
}

fn leave(app: &Shared) {
    let around = around::of(app);
    around.set_up.take();
    around.plan.take();
    home::show(app);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(label: &str) -> Plan {
        let plan = include_bytes!("../../demo-cases/02-dysmorphic-right/plan.json");
        Plan { label: label.to_owned(), ..plan::read(plan).expect("a plan") }
    }

    #[test]
    fn a_plan_s_file_is_named_after_its_label_and_takes_no_other_s_name() {
        assert_eq!(name(&plan("D 02/x"), &[]), "d-02-x.json");
        assert_eq!(name(&plan("D-02"), &["d-02.json".to_owned(), "d-02-2.json".to_owned()]), "d-02-3.json");
        assert_eq!(name(&plan("é"), &[]), "plan.json");
    }

    #[test]
    fn what_is_put_into_a_part_is_what_stands_there_and_the_plan_stays_readable() {
        let mut plan = plan("D-02");
        for (set, value, id, put) in PUTS {
            let put: Value = serde_json::from_str(put).expect("JSON");
            set(&mut plan, id, Some(&put));
            assert_eq!(value(&plan, id), Some(put), "{id}");
        }
        assert_eq!(refusal(&plan), None);
        for (set, value, id, _) in PUTS.iter().rev() {
            set(&mut plan, id, None);
            let gone = value(&plan, id);
            assert!(gone.is_none() || *id == "right.packing", "{id}: {gone:?}");
        }
    }

    type Set = fn(&mut Plan, &str, Option<&Value>);
    type Get = fn(&Plan, &str) -> Option<Value>;

    const PUTS: &[(Set, Get, &str, &str)] = &[
        (eligibility::set, eligibility::value, "policy", "\"isass-2016\""),
        (eligibility::set, eligibility::value, "right.test.faber", "true"),
        (eligibility::set, eligibility::value, "right.fortin", "true"),
        (eligibility::set, eligibility::value, "right.elsewhere", "false"),
        (eligibility::set, eligibility::value, "right.block.0", "80.0"),
        (eligibility::set, eligibility::value, "right.guided", "true"),
        (eligibility::set, eligibility::value, "care", "[\"bracing\",\"medication\"]"),
        (eligibility::set, eligibility::value, "imaging.ct", "[\"pelvis\"]"),
        (eligibility::set, eligibility::value, "age.ct", "4.0"),
        (eligibility::set, eligibility::value, "nicotine", "true"),
        (eligibility::set, eligibility::value, "cotinine", "3.0"),
        (eligibility::set, eligibility::value, "against.pregnancy", "false"),
        (eligibility::set, eligibility::value, "failed_care_months", "8.0"),
        (eligibility::set, eligibility::value, "prior.from", "20.0"),
        (anatomy::set, anatomy::value, "transitional", "\"not-excluded\""),
        (anatomy::set, anatomy::value, "left.foramina", "4"),
        (anatomy::set, anatomy::value, "right.s1_axial", "15.0"),
        (anatomy::set, anatomy::value, "right.joint.lower.height", "-40.0"),
        (anatomy::set, anatomy::value, "right.joint.lower.axial", "13.0"),
        (anatomy::set, anatomy::value, "right.joint.lower.coronal", "5.0"),
        (anatomy::set, anatomy::value, "right.joint.upper.height", "5.0"),
        (anatomy::set, anatomy::value, "right.corridor.S1", "9.5"),
        (anatomy::set, anatomy::value, "right.present.0", "[\"residual-disc\"]"),
        (anatomy::set, anatomy::value, "right.absent.1", "[\"residual-disc\"]"),
        (anatomy::set, anatomy::value, "midline.s2_to_symphysis", "-43.0"),
        (anatomy::set, anatomy::value, "midline.s1_to_s2", "28.0"),
        (graft::set, graft::value, "tool.drill", "9.0"),
        (graft::set, graft::value, "right.packing", "1.4"),
        (graft::set, graft::value, "right.cavity.0.diameter", "9.0"),
        (graft::set, graft::value, "right.cavity.0.depth", "30.0"),
        (graft::set, graft::value, "right.cavity.1.passes", "2.0"),
        (graft::set, graft::value, "right.cavity.1.diameter", "7.0"),
        (graft::set, graft::value, "right.cavity.1.depth", "25.0"),
        (graft::set, graft::value, "right.injected", "2.5"),
    ];
}
