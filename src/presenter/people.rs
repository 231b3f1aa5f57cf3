//! The roster of this tablet: who can take a role and who can sign.

use super::app::{Shared, window};
use super::case_view::model;
use super::people_change::{self, Newcomer};
use super::touch;
use super::{around, home, keys, phrases};
use crate::people::{Person, PersonId, Roster};
use brimline_ui::{AppWindow, FieldLine, People, PeopleShows, PersonLine, Place, Shell};
use slint::ComponentHandle;

/// What the screen shows beside the roster.
#[derive(Default)]
pub(super) struct Shown {
    pub chosen: Option<PersonId>,
    /// Somebody being added.
    pub newcomer: Option<Newcomer>,
    /// What was refused or done, and whether it asks for attention.
    pub message: Option<(String, bool)>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<People>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    let with = |does: fn(&Shared, &str)| touch::named(app, does);
    screen.on_touch_person(with(|app, id| {
        {
            let around = around::of(app);
            let mut shown = around.people.borrow_mut();
            (shown.chosen, shown.message) = (Some(PersonId(id.to_owned())), None);
        }
        fill(app);
    }));
    screen.on_add(to(people_change::add));
    screen.on_change_draft(with(people_change::change_newcomer));
    screen.on_save_draft(to(people_change::save_newcomer));
    screen.on_leave_draft(to(|app| {
        around::of(app).people.borrow_mut().newcomer = None;
        fill(app);
    }));
    screen.on_change_passcode(to(people_change::ask_old_passcode));
    screen.on_new_key(to(people_change::ask_new_key));
    screen.on_retire(to(people_change::retire));
    screen.on_home(to(home::show));
}

/// Reads the roster again and shows it.
pub(super) fn show(app: &Shared) {
    let fault = keys::load(app).err().map(|fault| (fault.to_string(), true));
    around::of(app).people.replace(Shown { message: fault, ..Shown::default() });
    fill(app);
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::People);
    }
}

/// Shows the roster and whoever is chosen.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let (rows, person, draft, ready, message) = {
        let (app, shown) = (app.borrow(), around.people.borrow());
        let chosen = shown.chosen.as_ref();
        let person = chosen.and_then(|kid| app.roster.person(kid)).cloned();
        let ready = shown.newcomer.as_ref().is_some_and(Newcomer::ready);
        let draft = shown.newcomer.as_ref().map(newcomer_rows);
        (rows(&app.roster, chosen), person, draft, ready, shown.message.clone())
    };
    let screen = window.global::<People>();
    screen.set_shows(match (&draft, &person) {
        (Some(_), _) => PeopleShows::Draft,
        (None, Some(_)) => PeopleShows::Person,
        (None, None) => PeopleShows::Nothing,
    });
    screen.set_rows(model(rows));
    if let Some(person) = person {
        screen.set_name(person.name().into());
        screen.set_roles(phrases::roles(person.roles()).into());
        screen.set_key(key(&person).into());
        screen.set_retired(person.retired());
    }
    screen.set_draft(model(draft.unwrap_or_default()));
    screen.set_draft_ready(ready);
    let (message, heed) = message.unwrap_or_default();
    screen.set_message(message.into());
    screen.set_message_heed(heed);
    screen.set_busy(!super::worker::busy(app).is_empty());
}

/// Everybody, those who sign no more last.
fn rows(roster: &Roster, chosen: Option<&PersonId>) -> Vec<PersonLine> {
    let mut people: Vec<&Person> = roster.people().iter().collect();
    people.sort_by_key(|person| (person.retired(), person.name().to_lowercase()));
    let row = |person: &&Person| PersonLine {
        id: person.kid().0.as_str().into(),
        name: person.name().into(),
        roles: phrases::roles(person.roles()).into(),
        retired: person.retired(),
        chosen: chosen == Some(person.kid()),
    };
    people.iter().map(row).collect()
}

/// The beginning of the key's thumbprint, to compare by eye.
fn key(person: &Person) -> String {
    let begin: Vec<char> = person.kid().0.chars().take(8).collect();
    let groups: Vec<String> = begin.chunks(4).map(|four| four.iter().collect()).collect();
    let replaced = if person.replaces().is_some() { ", in place of an earlier one" } else { "" };
    format!("key {}{replaced}", groups.join(" "))
}

fn newcomer_rows(newcomer: &Newcomer) -> Vec<FieldLine> {
    let field = |id: &str, label: &str, value: String, detail: &str| FieldLine {
        id: id.into(),
        label: label.into(),
        heed: value.is_empty(),
        value: value.into(),
        detail: detail.into(),
        locked: false,
    };
    let passcode = if newcomer.passcode.is_some() { "set" } else { "" };
    vec![
        field("name", "Name", newcomer.name.clone(), ""),
        field("roles", "Roles", phrases::roles(&newcomer.roles), "what they may act and sign as"),
        field("passcode", "Passcode", passcode.to_owned(), "typed twice by its owner"),
    ]
}
