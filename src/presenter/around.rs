//! What the screens around a case keep between touches, and where the answer to a question of theirs goes.
//!
//! An answer belongs to the screen that asked; each function here says whether one of these screens had. What it does
//! not do: no question of a running case.

use super::addendum::{self, AddendumAsked};
use super::app::{self, Shared};
use super::move_shots::{self, MoveAsked};
use super::people_change::PeopleAsked;
use super::set_up_change::SetUpAsked;
use super::worker::Worker;
use super::{home, people, people_change, questions, returning, set_up, set_up_change, settings_change, sign_off};
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
    /// Something about an addendum being written.
    Addendum(AddendumAsked),
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
    pub worker: Worker,
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
        AroundAsked::Addendum(asked) => addendum::picked(app, &asked, id),
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
        other => return not_ours(app, other),
    }
    true
}

/// A message was declined; none of these screens asks anything by a message.
pub(super) fn message_declined(app: &Shared) -> bool {
    message_accepted(app)
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
