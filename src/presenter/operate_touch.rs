//! Touches at Operate become commands, or questions that lead to them.

use super::app::{Shared, act, act_as_holder, refresh, window};
use super::asked::Asked;
use super::{count, exercise_live, more, move_shots, numbers, operate, reasons, say};
use crate::case::{Answer, Command, Status};
use crate::pathway::{Check, CheckKind, Place};
use brimline_ui::{AppWindow, CaseView, Operate, Place as Screen, Shell};
use slint::ComponentHandle;

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    connect_checks(&window.global::<Operate>(), app);
    connect_foot(&window.global::<Operate>(), app);
    connect_frame(window, app);
}

fn connect_checks(operate: &Operate<'_>, app: &Shared) {
    let on = app.clone();
    operate.on_answer(move |id| answer(&on, &id));
    let on = app.clone();
    operate.on_choose(move |touch| {
        let option = touch.option.to_string();
        give(&on, &touch.id, Answer::Chosen { option });
    });
    let on = app.clone();
    operate.on_reject(move |id| reasons::ask_rejection(&on, &id));
    let on = app.clone();
    operate.on_note_scale(move |id| numbers::ask_scale(&on, &id));
    let on = app.clone();
    operate.on_revisit(move |id| {
        if let Some((place, check)) = here(&on, &id) {
            let title = format!("Change: {}", check.text);
            reasons::ask(&on, Asked::Reopen { place, check: check.id }, "Open again: why", &title, reasons::REOPEN);
        }
    });
    let on = app.clone();
    operate.on_not_done(move |id| {
        on.borrow_mut().marking = false;
        if let Some((place, check)) = here(&on, &id) {
            reasons::ask(
                &on,
                Asked::NotDone { place, check: check.id },
                "Not done: why",
                &check.text,
                reasons::NOT_DONE,
            );
        }
        refresh(&on);
    });
}

fn connect_foot(operate: &Operate<'_>, app: &Shared) {
    let on = app.clone();
    operate.on_mark_not_done(move || set_marking(&on, true));
    let on = app.clone();
    operate.on_leave_marking(move || set_marking(&on, false));
    let on = app.clone();
    operate.on_turn(move |page| {
        on.borrow_mut().page = usize::try_from(page).unwrap_or(0);
        refresh(&on);
    });
    let on = app.clone();
    operate.on_go_next(move || go_next(&on));
    let on = app.clone();
    operate.on_back(move || go_back(&on));
    let on = app.clone();
    operate.on_note(move || numbers::ask_text(&on, Asked::Note, "Note", "No names of patients or staff", false));
    let on = app.clone();
    operate.on_more(move || more::show(&on));
    let on = app.clone();
    operate.on_show_machine(move || super::exercise::show(&on));
}

fn connect_frame(window: &AppWindow, app: &Shared) {
    let view = window.global::<CaseView>();
    let on = app.clone();
    view.on_count_shot(move || {
        count_shots(&on, 1);
    });
    let on = app.clone();
    view.on_count_run(move |ms| log_run(&on, f64::from(ms) / 1_000.0));
    let on = app.clone();
    view.on_log_run(move || numbers::ask_run(&on));
    let on = app.clone();
    view.on_correct_shots(move || numbers::ask_correction(&on));
    let on = app.clone();
    view.on_show_steps(move || more::show_steps(&on));
    let on = app.clone();
    view.on_stop(move || {
        act_as_holder(&on, Command::Stop { reason: String::new() });
    });
    let on = app.clone();
    window.global::<Shell>().on_pedal(move || {
        let counts = on.borrow().case().is_some_and(|case| !matches!(case.state().status, Status::Closed(_)));
        if counts {
            count_shots(&on, 1);
        }
    });
    let on = app.clone();
    window.global::<Shell>().on_pedal_held(move |ms| {
        // The shot was counted when the pedal went down; now it is known how long it lasted.
        let seconds = f64::from(ms) / 1_000.0;
        if exercise_live::time_shot(&on, seconds) {
            exercise_live::held(&on, seconds);
        }
    });
}

/// Counts shots where the team is, whoever exposes; false if that was refused.
pub(super) fn count_shots(app: &Shared, shots: u32) -> bool {
    let counted = act_as_holder(app, Command::CountShots { shots });
    if counted {
        super::exercise::exposed(app);
    }
    counted
}

/// Logs a run where the team is, held or typed; in a rehearsal the machine makes it.
pub(super) fn log_run(app: &Shared, seconds: f64) {
    if act_as_holder(app, Command::LogRun { seconds }) {
        super::exercise::exposed(app);
        exercise_live::held(app, seconds);
    }
}

/// A check of the place the team is at.
pub(super) fn here(app: &Shared, id: &str) -> Option<(Place, Check)> {
    let app = app.borrow();
    let case = app.case()?;
    let place = case.state().here.clone();
    let check = case.check_at(&place, id)?.clone();
    Some((place, check))
}

/// Answers a check of the place the team is at.
pub(super) fn give(app: &Shared, id: &str, answer: Answer) {
    let Some((place, check)) = here(app, id) else { return };
    let role = app.borrow().answerer(&check.by);
    let Some(role) = role else {
        return say::refused(app, "nobody who may answer that holds a role in this case");
    };
    act(app, role, Command::Answer { place, check: check.id, answer });
}

fn answer(app: &Shared, id: &str) {
    let Some((place, check)) = here(app, id) else { return };
    match &check.ask {
        CheckKind::Confirm => give(app, id, Answer::Confirmed),
        CheckKind::Pin { .. } => give(app, id, Answer::PinAccepted),
        CheckKind::View { view, .. } if !super::exercise::accepts(app, *view) => {}
        CheckKind::View { .. } => {
            let noted = app.borrow_mut().scale.take().filter(|(of, ..)| of == id);
            let (scale_deg, floor_mark) = noted.map_or((None, None), |(_, scale, mark)| (Some(scale), mark));
            give(app, id, Answer::ViewAccepted { scale_deg, floor_mark });
        }
        CheckKind::Choice { options } => reasons::ask_option(app, &check, options),
        CheckKind::Measure { .. } => numbers::ask_measure(app, place, &check),
        CheckKind::Timer { .. } => numbers::ask_timer(app, place, &check),
        CheckKind::Count { .. } => count::ask(app, place, &check),
        CheckKind::Scan { what } => {
            numbers::ask_text(app, Asked::Label { check: check.id.clone() }, what, &check.text, false);
        }
        CheckKind::Note => {
            numbers::ask_text(
                app,
                Asked::Words { check: check.id.clone() },
                &check.text,
                "No names of patients or staff",
                false,
            );
        }
    }
}

fn set_marking(app: &Shared, marking: bool) {
    app.borrow_mut().marking = marking;
    refresh(app);
}

/// Turns to a place, at the page of its first open check.
pub(super) fn enter(app: &Shared, place: Place) {
    let Some(window) = window(app) else { return };
    {
        let mut app = app.borrow_mut();
        (app.page, app.marking) = (0, false);
    }
    window.global::<Shell>().set_place(Screen::Operate);
    if act_as_holder(app, Command::EnterStep { place }) {
        let page = operate::first_open_page(&window, &app.borrow());
        app.borrow_mut().page = page;
        operate::fill(&window, app);
    }
}

/// After an answer: to the page of what is still open in this step, or to the pause that ends it. A gate is released
/// by held touches only, so that a second tap on the last check does nothing there.
pub(super) fn move_on(app: &Shared) {
    let Some(window) = window(app) else { return };
    let (open, gate) = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let here = &case.state().here;
        let places = case.places();
        let open = places.iter().find(|at| at.place == *here).map_or(0, |at| case.open_checks(at).len());
        let gate = case.gate_at(here).is_some() && !case.gate_passed(here) && case.state().status == Status::Running;
        (open, gate)
    };
    if open == 0 && gate {
        window.global::<Shell>().set_place(Screen::Gate);
    } else if open > 0 {
        let page = operate::page_after_answer(&window, &app.borrow());
        app.borrow_mut().page = page;
    }
}

/// The main action: the gate of this step, the next step, or the end of the case.
pub(super) fn go_next(app: &Shared) {
    let Some(window) = window(app) else { return };
    let ahead = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        let here = &case.state().here;
        match case.state().status {
            Status::Ending(_) => Ahead::Close,
            _ if case.gate_at(here).is_some() && !case.gate_passed(here) => Ahead::Gate,
            _ => case.next_place().map_or(Ahead::Finish, Ahead::Step),
        }
    };
    match ahead {
        Ahead::Gate => {
            window.global::<Shell>().set_place(Screen::Gate);
            refresh(app);
        }
        Ahead::Step(place) => enter(app, place),
        Ahead::Close if move_shots::waiting(app).is_some() => move_shots::ask(app, true),
        Ahead::Close => {
            act_as_holder(app, Command::Close);
        }
        Ahead::Finish => {
            let shown = say::Message {
                title: "Finish the case",
                text: "Everything is answered and every gate is passed. The case is closed, and the record is signed.",
                safe: "No shot is counted after that. Late findings are added to the signed record.",
                advice: "",
                accept: "Finish the case",
                held: true,
                decline: "Not yet",
                heed: false,
            };
            say::message(app, Asked::Finish, &shown);
        }
    }
}

enum Ahead {
    Gate,
    Step(Place),
    Close,
    Finish,
}

/// The place before this one.
fn go_back(app: &Shared) {
    let before = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        if matches!(case.state().status, Status::Ending(_)) {
            None
        } else {
            let places = case.places();
            let at = places.iter().position(|at| at.place == case.state().here);
            at.and_then(|at| at.checked_sub(1)).map(|before| places[before].place.clone())
        }
    };
    let ending = app.borrow().case().is_some_and(|case| matches!(case.state().status, Status::Ending(_)));
    match before {
        Some(place) => enter(app, place),
        None if ending => {
            act_as_holder(app, Command::WithdrawStop);
            super::stop::back_to_case(app);
        }
        None => {}
    }
}
