//! Rarer actions of a case, and the list of all steps.

use super::app::{App, Shared, act_as_holder, close_overlay, window};
use super::asked::{Asked, read_out};
use super::case_view::{self, model};
use super::operate_touch::enter;
use super::{correct_view, late, moved, numbers, phrases, pin_view, re_aim_view, reasons, say};
use crate::carm::ViewName;
use crate::case::{Case, Command};
use crate::pathway::{Check, CheckKind};
use crate::people::{Actor, PersonId, Role};
use brimline_ui::{MoreActions, Over, PickRow, Place as Screen, Shell, Sign, StepList};
use slint::ComponentHandle;

/// Shows the rarer actions.
pub(super) fn show(app: &Shared) {
    let Some(window) = window(app) else { return };
    let actions = [
        ("correct-view", "Correct the view", "what is seen becomes one move", false),
        ("re-aim", "Re-aim the plan", "from the true lateral", false),
        ("moved", "Patient or table moved", "voids the re-aim and what was declared unmoved", false),
        ("find-pin", "Where the pin is", "touched on two views", false),
        ("read-out", "Read-out: 5 shots", "the radiographer reads them aloud", false),
        ("hand-over", "Hand over a role", "somebody takes over", false),
        ("late", "Late entry", "any step the team has been at", false),
        ("implant", "One more implant", "adds its steps", false),
        ("deviation", "Deviation", "something went otherwise than planned", false),
        ("pause", "Pause", "the team leaves the table", false),
        ("word", "Passed by the surgeon's word", "needs a reason, stands first in the record", true),
        ("home", "Leave this case", "it stays open and can be resumed", false),
        // A second page begins behind twelve rows: the rarest stands there.
        ("c-arm", "Another C-arm", "the machine is changed", false),
    ];
    let rows = actions.map(|(id, text, detail, heed)| PickRow { heed, ..reasons::row(id, text, detail) });
    window.global::<MoreActions>().set_rows(model(rows.to_vec()));
    window.global::<Shell>().set_over(Over::More);
}

/// One of them was touched.
pub(super) fn picked(app: &Shared, id: &str) {
    match id {
        "read-out" => read_out(app),
        "hand-over" => ask_role(app),
        "late" => late::ask(app),
        "implant" => add_implant(app),
        "deviation" => {
            numbers::ask_text(app, Asked::Deviation, "Deviation", "What went otherwise than planned; no names", false);
        }
        "c-arm" => numbers::ask_text(app, Asked::CArm, "Another C-arm", "Its name in this hospital", false),
        "pause" => reasons::ask(app, Asked::Pause, "Pause: why", "", reasons::PAUSE),
        "word" => pass_by_word(app),
        "correct-view" => judge(app, Judged::View),
        "re-aim" => judge(app, Judged::Lateral),
        "moved" => moved::ask(app),
        "find-pin" => judge(app, Judged::Pin),
        "home" => leave(app),
        _ => close_overlay(app),
    }
}

fn ask_role(app: &Shared) {
    let rows = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let team = case.state().team.iter();
        let now = |role: &Role, person: &PersonId| {
            reasons::row(
                &phrases::role_code(*role),
                &say::capitalised(role.word()),
                &format!("now: {}", app.name_of(person)),
            )
        };
        team.map(|(role, person)| now(role, person)).collect()
    };
    reasons::pick(app, Asked::Role, "Hand over a role", "Which role", 1, rows);
}

/// Asks who takes over a role.
pub(super) fn ask_person(app: &Shared, role: Role) {
    let (rows, hint) = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let now = case.state().team.get(&role).cloned();
        let people = app.roster.people().iter().filter(|person| !person.retired() && person.roles().contains(&role));
        let rows: Vec<PickRow> = people
            .map(|person| {
                let chosen = now.as_ref() == Some(person.kid());
                let detail = if chosen { "holds the role now" } else { role.word() };
                PickRow { chosen, ..reasons::row(&person.kid().0, person.name(), detail) }
            })
            .collect();
        let hint = now.map(|now| format!("Now: {}", app.name_of(&now))).unwrap_or_default();
        (rows, hint)
    };
    reasons::pick(app, Asked::Person { role }, &format!("Who takes over as {role}"), &hint, 1, rows);
}

/// Hands a role over; whoever holds the tablet goes with their role.
pub(super) fn hand_over(app: &Shared, role: Role, to: PersonId) {
    if act_as_holder(app, Command::HandOver { role, to: to.clone() }) {
        let mut app = app.borrow_mut();
        if app.holder.as_ref().is_some_and(|holder| holder.role == role) {
            app.holder = Some(Actor::new(role, to));
        }
    }
}

fn add_implant(app: &Shared) {
    let sides = app.borrow().case().map(|case| case.facts().sides.clone()).unwrap_or_default();
    if let [side] = sides.as_slice() {
        close_overlay(app);
        act_as_holder(app, Command::AddImplant { side: *side });
        return;
    }
    let rows = sides.iter().map(|side| reasons::row(&side.to_string(), &say::capitalised(&side.to_string()), ""));
    reasons::pick(app, Asked::ImplantSide, "One more implant", "On which side", 2, rows.collect());
}

/// The gate here, or the one in the way: passed by the surgeon's word.
fn pass_by_word(app: &Shared) {
    let gate = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let here = &case.state().here;
        let in_the_way = case.gate_in_the_way(here).map(|at| at.place);
        let own = case.gate_at(here).filter(|_| !case.gate_passed(here)).map(|_| here.clone());
        in_the_way.or(own).map(|place| {
            let title = case.gate_at(&place).map(|gate| gate.title.clone()).unwrap_or_default();
            (place, title)
        })
    };
    match gate {
        Some((gate, title)) => {
            let hint = "The surgeon says it aloud; it is confirmed at signing and stands first in the record";
            reasons::ask(
                app,
                Asked::Word { gate },
                &format!("Gate \"{title}\" passed by word: why"),
                hint,
                reasons::WORD,
            );
        }
        None => say::refused(app, "no gate stands in the way here"),
    }
}

/// The case is paused: one message, one way on.
pub(super) fn show_paused(app: &Shared) {
    let shown = say::Message {
        title: "Paused",
        text: "The case waits. Shots are still counted by pedal.",
        safe: "Everything entered so far is kept.",
        advice: "When the team is back: say patient and side aloud.",
        accept: "Go on with the case",
        held: false,
        decline: "",
        heed: false,
    };
    say::message(app, Asked::Paused, &shown);
}

/// What is judged on pictures.
#[derive(Clone, Copy)]
enum Judged {
    View,
    Lateral,
    Pin,
}

impl Judged {
    fn fits(self, check: &Check) -> bool {
        match (self, &check.ask) {
            (Self::View, CheckKind::View { .. }) | (Self::Pin, CheckKind::Pin { .. }) => true,
            (Self::Lateral, CheckKind::View { view, .. }) => *view == ViewName::Lateral,
            _ => false,
        }
    }

    /// Why nothing is judged here.
    fn missing(self) -> &'static str {
        match self {
            Self::View => "this step asks for no view",
            Self::Lateral => "this step asks for no lateral; go to one that does",
            Self::Pin => "this step asks for no pin",
        }
    }
}

/// The check of this step that is open and fits, else the last of it, on its pictures.
fn judge(app: &Shared, what: Judged) {
    close_overlay(app);
    let found = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let place = case.state().here.clone();
        let at = case.places().into_iter().find(|at| at.place == place);
        let checks = at.map(|at| case.checks_at(&at)).unwrap_or_default();
        let open = |check: &&&Check| case.state().answer(&place, &check.id).is_none();
        let mut fitting = checks.iter().filter(|check| what.fits(check));
        let first = fitting.clone().find(open).or_else(|| fitting.next_back());
        first.map(|check| (place.clone(), (**check).clone()))
    };
    match (found, what) {
        (Some((place, check)), Judged::View) => correct_view::show(app, place, &check),
        (Some((place, check)), Judged::Lateral) => re_aim_view::show(app, place, &check),
        (Some((place, check)), Judged::Pin) => pin_view::show(app, place, &check),
        (None, what) => say::refused(app, what.missing()),
    }
}

fn leave(app: &Shared) {
    close_overlay(app);
    super::home::leave(app);
}

/// Shows all steps.
pub(super) fn show_steps(app: &Shared) {
    let Some(window) = window(app) else { return };
    let rows = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        steps(case)
    };
    let list = window.global::<StepList>();
    list.set_page(0);
    list.set_rows(model(rows));
    window.global::<Shell>().set_over(Over::Steps);
}

fn steps(case: &Case) -> Vec<PickRow> {
    let places = case.places();
    let rows = places.iter().enumerate().map(|(index, at)| {
        let (all, open) = (case.checks_at(at).len(), case.open_checks(at).len());
        let here = at.place == case.state().here;
        let begun = open < all;
        let count =
            if begun && open > 0 { format!("{} of {all} · {open} open", all - open) } else { format!("{all} checks") };
        let detail = [App::phase_title(case, &at.place), count].join(" · ");
        let mark = match (here, open, begun) {
            (true, ..) => Sign::Right,
            (_, 0, _) => Sign::Tick,
            (_, _, true) => Sign::Bang,
            _ => Sign::None,
        };
        let heed = begun && open > 0 && !here;
        PickRow {
            chosen: here,
            heed,
            mark,
            ..reasons::row(&index.to_string(), &case_view::title(case, &at.place), &detail)
        }
    });
    rows.collect()
}

/// A step of the list was touched.
pub(super) fn go(app: &Shared, id: &str) {
    let place = {
        let app = app.borrow();
        let index = id.parse::<usize>().ok();
        app.case().and_then(|case| Some(case.places().get(index?)?.place.clone()))
    };
    close_overlay(app);
    if let (Some(place), Some(window)) = (place, window(app)) {
        window.global::<Shell>().set_place(Screen::Operate);
        enter(app, place);
        super::app::refresh(app);
    }
}
