//! What the screens around a case keep between touches, and where the answer to a question of theirs goes.
//!
//! An answer belongs to the screen that asked; each function here says whether one of these screens had. What it does
//! not do: no question of a running case.

use super::addendum::{self, AddendumAsked};
use super::app::{self, Shared};
use super::arrivals::{self, ArrivalAsked, Arrivals};
use super::dose_entry::{self, DoseAsked};
use super::errand::Errand;
use super::move_shots::{self, MoveAsked};
use super::people_change::PeopleAsked;
use super::review_filter::{self, ReviewAsked};
use super::set_up_change::SetUpAsked;
use super::usual::Book;
use super::worker::Worker;
use super::{
    correct_draft, correct_fields, debrief, dose, exercise, home, measure_draft, measure_view, moved, people,
    people_change, pin_draft, pin_fields, pin_view, plan_view, questions, re_aim_draft, re_aim_fields, rehearse_choose,
    returning, review, set_up, set_up_change, settings_change, sign_off, target_view,
};
use crate::case::PinDecision;
use crate::people::{PasscodeDelay, PersonId, Role};
use crate::record::VerifiedRecord;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::rc::Rc;

/// What the overlay on screen was opened for.
#[derive(Default)]
pub(super) enum AroundAsked {
    #[default]
    Nothing,
    Message,
    SetUp(SetUpAsked),
    /// Who holds the tablet after a return.
    Holder,
    /// The passcode of whoever signs in that role.
    Sign(Role),
    People(PeopleAsked),
    /// The setting of that name.
    Setting(String),
    /// Where shots counted in error belong.
    Move(MoveAsked),
    /// Something about what was received.
    Arrival(ArrivalAsked),
    /// Something about a reading being entered.
    Dose(DoseAsked),
    /// Something about an addendum being written.
    Addendum(AddendumAsked),
    /// Which cases Review looks at.
    Review(ReviewAsked),
    /// A row of the pin's form, and whether a pin with a short margin is kept.
    Pin(String),
    KeepPin,
    /// A row of the form of a view correction.
    Correct(String),
    /// A row of the form of a re-aim, and whether patient or table moved.
    ReAim(String),
    Moved,
    /// A row of the plan.
    Plan(String),
    /// Whether a row of the plan is typed or touched, and a row of the form of what is touched.
    TypeOrTouch(String),
    Measure(String),
    /// A row of what is chosen to rehearse, and the view the next shot is meant as.
    Rehearse(String),
    ExerciseView,
}

/// The state of the screens around a case.
#[derive(Default)]
pub(super) struct Around {
    asked: RefCell<AroundAsked>,
    pub home: RefCell<home::Shown>,
    pub set_up: RefCell<Option<set_up::Draft>>,
    pub returning: RefCell<returning::Found>,
    pub signing: RefCell<sign_off::Signing>,
    pub people: RefCell<people::Shown>,
    /// The folder of the record on screen.
    pub record: RefCell<Option<PathBuf>>,
    /// The record on screen, if every signature of it holds.
    pub verified: RefCell<Option<VerifiedRecord>>,
    pub addendum: RefCell<Option<addendum::Draft>>,
    pub review: RefCell<review::Shown>,
    pub dose: RefCell<dose::Shown>,
    /// The site's own usual, as far as its records were read.
    pub usual: RefCell<Book>,
    pub learning: Errand,
    pub arrivals: Arrivals,
    pub pin: RefCell<Option<pin_draft::Draft>>,
    pub correct: RefCell<Option<correct_draft::Draft>>,
    pub re_aim: RefCell<Option<re_aim_draft::Draft>>,
    /// What is chosen to rehearse, the rehearsal beside the open case, and its debrief.
    pub choosing: RefCell<rehearse_choose::Draft>,
    pub rehearsing: RefCell<Option<exercise::Running>>,
    pub debriefing: RefCell<Option<debrief::Shown>>,
    /// Draws pictures of shots.
    pub drawing: Errand,
    /// What views must show.
    pub targets: target_view::Shelf,
    pub plan: RefCell<plan_view::Shown>,
    pub measure: RefCell<Option<measure_draft::Draft>>,
    pub worker: Worker,
    /// Reads records for Review.
    pub reader: Worker,
    /// One delay per person whose passcode was typed wrong.
    pub delays: RefCell<BTreeMap<PersonId, PasscodeDelay>>,
    /// Counts the wait for the next try down.
    pub wait: slint::Timer,
}

/// The state of the screens around a case.
pub(super) fn of(app: &Shared) -> Rc<Around> {
    app.borrow().around.clone()
}

/// Notes what an overlay is opened for.
pub(super) fn ask(app: &Shared, asked: AroundAsked) {
    of(app).asked.replace(asked);
    app.borrow_mut().asked = super::asked::Asked::Around;
}

/// Closes the overlay, asked for by nobody any more.
pub(super) fn close(app: &Shared) {
    let around = of(app);
    around.asked.take();
    around.wait.stop();
    app::close_overlay(app);
}

fn take(app: &Shared) -> AroundAsked {
    of(app).asked.take()
}

fn not_ours(app: &Shared, asked: AroundAsked) -> bool {
    of(app).asked.replace(asked);
    false
}

/// Words were typed.
pub(super) fn accepted_text(app: &Shared, text: &str) -> bool {
    match take(app) {
        AroundAsked::SetUp(asked) => set_up_change::text(app, asked, text.trim()),
        AroundAsked::People(asked) => people_change::text(app, asked, text.trim()),
        AroundAsked::Setting(id) => settings_change::text(app, &id, text.trim()),
        AroundAsked::Addendum(asked) => addendum::text(app, &asked, text.trim()),
        other => return not_ours(app, other),
    }
    true
}

/// A number was typed.
pub(super) fn accepted_number(app: &Shared, text: &str) -> bool {
    match take(app) {
        AroundAsked::SetUp(asked) => set_up_change::number(app, asked, text),
        AroundAsked::Dose(asked) => dose_entry::number(app, asked, text),
        AroundAsked::Pin(id) => pin_fields::number(app, &id, text),
        AroundAsked::Correct(id) => correct_fields::number(app, &id, text),
        AroundAsked::ReAim(_) => re_aim_fields::number(app, text),
        AroundAsked::Setting(id) => settings_change::number(app, &id, text),
        AroundAsked::Plan(id) => plan_view::number(app, &id, text),
        AroundAsked::Measure(id) => measure_view::number(app, &id, text),
        other => return not_ours(app, other),
    }
    true
}

/// A row of a list was touched.
pub(super) fn picked(app: &Shared, id: &str) -> bool {
    match take(app) {
        AroundAsked::SetUp(asked) => set_up_change::picked(app, asked, id),
        AroundAsked::Holder => returning::holder_picked(app, id),
        AroundAsked::People(asked) => people_change::picked(app, asked, id),
        AroundAsked::Setting(setting) => settings_change::picked(app, &setting, id),
        AroundAsked::Move(asked) => move_shots::picked(app, asked, id),
        AroundAsked::Review(asked) => review_filter::picked(app, asked, id),
        AroundAsked::Addendum(asked) => addendum::picked(app, &asked, id),
        AroundAsked::Dose(asked) => dose_entry::picked(app, &asked, id),
        AroundAsked::Arrival(asked) => arrivals::picked(app, asked, id),
        AroundAsked::Pin(row) => pin_fields::picked(app, &row, id),
        AroundAsked::Correct(row) => correct_fields::picked(app, &row, id),
        AroundAsked::ReAim(row) => re_aim_fields::picked(app, &row, id),
        AroundAsked::Plan(row) => plan_view::picked(app, &row, id),
        AroundAsked::TypeOrTouch(row) => plan_view::type_or_touch(app, &row, id),
        AroundAsked::Measure(row) => measure_view::picked(app, &row, id),
        AroundAsked::Rehearse(row) => rehearse_choose::picked(app, &row, id),
        AroundAsked::ExerciseView => exercise::view_picked(app, id),
        other => return not_ours(app, other),
    }
    true
}

/// A passcode was typed.
pub(super) fn passcode(app: &Shared, digits: &str) -> bool {
    match take(app) {
        AroundAsked::Sign(role) => sign_off::passcode(app, role, digits),
        AroundAsked::People(asked) => people_change::passcode(app, asked, digits),
        AroundAsked::Addendum(_) => addendum::passcode(app, digits),
        other => return not_ours(app, other),
    }
    true
}

/// A message was read.
pub(super) fn message_accepted(app: &Shared) -> bool {
    match take(app) {
        AroundAsked::Message => close(app),
        AroundAsked::Dose(DoseAsked::StandsSo) => {
            close(app);
            dose_entry::keep(app, true);
        }
        AroundAsked::KeepPin => {
            close(app);
            pin_view::decide(app, PinDecision::Kept);
        }
        AroundAsked::Moved => moved::enter(app),
        other => return not_ours(app, other),
    }
    true
}

/// A message was declined.
pub(super) fn message_declined(app: &Shared) -> bool {
    match take(app) {
        AroundAsked::Message | AroundAsked::Moved | AroundAsked::Dose(DoseAsked::StandsSo) => close(app),
        AroundAsked::KeepPin => {
            close(app);
            pin_view::decide(app, PinDecision::Redirected);
        }
        other => return not_ours(app, other),
    }
    true
}

/// The overlay was left without an answer.
pub(super) fn cancelled(app: &Shared) -> bool {
    match take(app) {
        AroundAsked::Nothing => return false,
        AroundAsked::SetUp(SetUpAsked::Implant { side, .. } | SetUpAsked::ImplantLevel { side }) => {
            // A step back: from the size to the list of implants.
            questions::clear_secret(app);
            set_up_change::ask_implants(app, side);
        }
        _ => {
            questions::clear_secret(app);
            close(app);
        }
    }
    true
}
