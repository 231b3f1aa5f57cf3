//! What an overlay is for, and what its answer does.

use super::app::{Shared, act, act_as_holder, close_overlay};
use super::late::{self, Late};
use super::operate_touch::{count_shots, give};
use super::{around, count, more, numbers, operate_touch, phrases};
use crate::case::{Answer, Command};
use crate::pathway::{CheckId, Place};
use crate::people::{PersonId, Role};
use crate::units::Side;
use brimline_ui::{
    AppWindow, MessageShown, MoreActions, NumberAsked, PasscodeAsked, PickAsked, ReasonAsked, StepList, TextAsked,
};
use slint::ComponentHandle;

/// The question on screen.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) enum Asked {
    #[default]
    Nothing,
    /// A message to be read.
    Message,
    /// One of the screens around the case asks; it knows what.
    Around,
    Measure {
        place: Place,
        check: CheckId,
    },
    /// The same value again, outside what is expected.
    MeasureAgain {
        check: CheckId,
        value: f64,
    },
    /// Minutes since a time began.
    Timer {
        check: CheckId,
    },
    /// The machine's scale, then the floor mark.
    Scale {
        check: CheckId,
    },
    FloorMark {
        check: CheckId,
        scale_deg: f64,
    },
    Run,
    Correction {
        place: Place,
    },
    Label {
        check: CheckId,
    },
    Words {
        check: CheckId,
    },
    Note,
    Deviation,
    CArm,
    Option {
        check: CheckId,
    },
    /// The criterion that was not met.
    Rejected {
        check: CheckId,
    },
    NotDone {
        place: Place,
        check: CheckId,
    },
    Reopen {
        place: Place,
        check: CheckId,
    },
    CorrectShots {
        place: Place,
        to: u32,
    },
    Word {
        gate: Place,
    },
    Pause,
    Paused,
    /// A list of what the More overlay offers.
    Role,
    Person {
        role: Role,
    },
    ImplantSide,
    /// Late entry: the step, the check, what was found, and when it was done.
    LateStep {
        places: Vec<Place>,
    },
    LateCheck {
        place: Place,
    },
    LateOption(Late),
    LateMeasure(Late),
    LateWords(Late),
    LateTime(Late),
    Count {
        place: Place,
        check: CheckId,
        numbers: Vec<Option<u32>>,
        second: Option<(Role, PersonId)>,
    },
    Second,
    Finish,
}

/// Binds the overlays.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    connect_entry(window, app);
    connect_lists(window, app);
    let shown = window.global::<MessageShown>();
    let on = app.clone();
    shown.on_accept(move || accepted(&on));
    let on = app.clone();
    shown.on_decline(move || {
        if !around::message_declined(&on) {
            close_overlay(&on);
        }
    });
    let passcode = window.global::<PasscodeAsked>();
    let on = app.clone();
    passcode.on_accept(move |digits| {
        around::passcode(&on, &digits);
    });
    let on = app.clone();
    passcode.on_cancel(move || cancelled(&on));
    count::connect(window, app);
}

fn connect_entry(window: &AppWindow, app: &Shared) {
    let asked = window.global::<NumberAsked>();
    let on = app.clone();
    asked.on_accept(move |text| {
        if !around::accepted_number(&on, &text) {
            numbers::accepted(&on, &text);
        }
    });
    let on = app.clone();
    asked.on_cancel(move || cancelled(&on));
    let on = app.clone();
    asked.on_other_asked(move || numbers::other_asked(&on));
    let asked = window.global::<TextAsked>();
    let on = app.clone();
    asked.on_accept(move |text| {
        if !around::accepted_text(&on, &text) {
            text_accepted(&on, &text);
        }
    });
    let on = app.clone();
    asked.on_cancel(move || cancelled(&on));
}

fn connect_lists(window: &AppWindow, app: &Shared) {
    let asked = window.global::<PickAsked>();
    let on = app.clone();
    asked.on_pick(move |id| {
        if !around::picked(&on, &id) {
            picked(&on, &id);
        }
    });
    let on = app.clone();
    asked.on_cancel(move || cancelled(&on));
    let asked = window.global::<ReasonAsked>();
    let on = app.clone();
    asked.on_pick(move |id| {
        let reason = super::reasons::chosen(&on, &id);
        reasoned(&on, &reason);
    });
    let on = app.clone();
    asked.on_in_words(move || {
        let asked = on.borrow().asked.clone();
        numbers::ask_text(&on, asked, "Reason", "No names of patients or staff", false);
    });
    let on = app.clone();
    asked.on_cancel(move || cancelled(&on));
    let steps = window.global::<StepList>();
    let on = app.clone();
    steps.on_go(move |id| more::go(&on, &id));
    let on = app.clone();
    steps.on_cancel(move || close_overlay(&on));
    let actions = window.global::<MoreActions>();
    let on = app.clone();
    actions.on_pick(move |id| more::picked(&on, &id));
    let on = app.clone();
    actions.on_cancel(move || close_overlay(&on));
}

/// An overlay was left without an answer.
fn cancelled(app: &Shared) {
    let counting = std::mem::take(&mut app.borrow_mut().counting);
    if !around::cancelled(app) {
        close_overlay(app);
    }
    if matches!(counting, Asked::Count { .. }) {
        count::back(app, counting);
    }
}

/// A message was accepted.
fn accepted(app: &Shared) {
    if around::message_accepted(app) {
        return;
    }
    let asked = app.borrow().asked.clone();
    close_overlay(app);
    match asked {
        Asked::Finish => {
            act_as_holder(app, Command::Finish);
        }
        Asked::Paused => {
            act_as_holder(app, Command::Resume);
        }
        Asked::MeasureAgain { check, value } => numbers::give_measure(app, &check, value),
        _ => {}
    }
}

fn text_accepted(app: &Shared, text: &str) {
    let asked = app.borrow().asked.clone();
    close_overlay(app);
    let text = text.trim().to_owned();
    match asked {
        Asked::Note => {
            act_as_holder(app, Command::WriteNote { text });
        }
        Asked::Deviation => {
            act_as_holder(app, Command::NoteDeviation { text });
        }
        Asked::CArm => {
            act_as_holder(app, Command::SwapCArm { to: text });
        }
        Asked::Label { check } => give(app, &check, Answer::Scanned { text }),
        Asked::Words { check } => give(app, &check, Answer::Noted { text }),
        Asked::LateWords(late) => late::words_typed(app, late, text),
        Asked::FloorMark { check, scale_deg } => {
            let mark = Some(text).filter(|text| !text.is_empty());
            app.borrow_mut().scale = Some((check, scale_deg, mark));
            super::app::refresh(app);
        }
        other => {
            app.borrow_mut().asked = other;
            reasoned(app, &text);
        }
    }
}

/// A reason was given, from the list or in words.
fn reasoned(app: &Shared, reason: &str) {
    let asked = app.borrow().asked.clone();
    close_overlay(app);
    let reason = reason.to_owned();
    match asked {
        Asked::NotDone { place, check } => {
            let roles =
                app.borrow().case().and_then(|case| case.check_at(&place, &check).map(|check| check.by.clone()));
            let role = app.borrow().answerer(&roles.unwrap_or_default());
            if let Some(role) = role {
                act(app, role, Command::NotDone { place, check, reason });
            }
        }
        Asked::Reopen { place, check } => {
            act_as_holder(app, Command::Reopen { place, check, reason });
        }
        Asked::CorrectShots { place, to } => {
            act_as_holder(app, Command::CorrectShots { place, to, reason });
        }
        Asked::Word { gate } => {
            let here = app.borrow().case().map(|case| case.state().here.clone());
            if act(app, Role::Surgeon, Command::OverrideGate { place: gate.clone(), reason }) && here == Some(gate) {
                operate_touch::go_next(app);
            }
        }
        Asked::Pause if act_as_holder(app, Command::Pause { reason }) => more::show_paused(app),
        _ => {}
    }
}

fn picked(app: &Shared, id: &str) {
    let asked = app.borrow().asked.clone();
    close_overlay(app);
    match asked {
        Asked::Option { check } => give(app, &check, Answer::Chosen { option: id.to_owned() }),
        Asked::Rejected { check } => {
            if let (Ok(failed), Some((place, found))) = (id.parse::<u8>(), operate_touch::here(app, &check)) {
                let view = matches!(found.ask, crate::pathway::CheckKind::View { .. });
                let failed = vec![failed];
                let command = if view {
                    Command::RejectView { place, check, failed }
                } else {
                    Command::RejectPin { place, check, failed }
                };
                act_as_holder(app, command);
            }
        }
        Asked::Role => {
            if let Some(role) = phrases::role_of(id) {
                more::ask_person(app, role);
            }
        }
        Asked::Person { role } => more::hand_over(app, role, PersonId(id.to_owned())),
        Asked::ImplantSide => {
            let side = if id == "left" { Side::Left } else { Side::Right };
            act_as_holder(app, Command::AddImplant { side });
        }
        Asked::LateStep { places } => late::step_picked(app, &places, id),
        Asked::LateCheck { place } => late::check_picked(app, place, id),
        Asked::LateOption(late) => late::option_picked(app, late, id),
        Asked::Second | Asked::Count { .. } => count::second_picked(app, id),
        _ => {}
    }
}

/// Five shots read out together.
pub(super) fn read_out(app: &Shared) {
    close_overlay(app);
    count_shots(app, 5);
}
