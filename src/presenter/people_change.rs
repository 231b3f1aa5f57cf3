//! Changes to the roster: adding, retiring, a new key, another passcode. Each passcode is typed by its owner.

use super::app::Shared;
use super::around::{self, AroundAsked};
use super::keys::{self, Elsewhere, KeysError, Refused};
use super::questions::{self, PasscodeOf, TextOf, row};
use super::{people, phrases, say, worker};
use crate::people::{Passcode, PersonId, Role};
use brimline_ui::PickRow;
use zeroize::Zeroizing;

/// Somebody being added.
#[derive(Default)]
pub(super) struct Newcomer {
    pub name: String,
    pub roles: Vec<Role>,
    pub passcode: Option<Passcode>,
}

impl Newcomer {
    /// Whether everything is there that a new person needs.
    pub fn ready(&self) -> bool {
        !self.name.is_empty() && !self.roles.is_empty() && self.passcode.is_some()
    }
}

/// Whose new passcode is typed.
pub(super) enum NewFor {
    Newcomer,
    /// A lost key or passcode: a new key takes its place.
    NewKey(PersonId),
    /// The old passcode was right.
    Change(PersonId, Passcode),
}

/// What about the people an overlay asks.
pub(super) enum PeopleAsked {
    Name,
    Roles,
    OldPasscode(PersonId),
    /// A new passcode, and what was typed the first time.
    NewPasscode(NewFor, Option<Zeroizing<String>>),
}

/// Longest name, characters: what the roster accepts.
const NAME_MAX: i32 = 80;

fn note(app: &Shared, message: &str, heed: bool) {
    around::of(app).people.borrow_mut().message = Some((say::capitalised(message), heed));
    people::fill(app);
}

fn fault(app: &Shared, fault: &KeysError) {
    note(app, &format!("{fault}. The roster is as it was."), true);
}

fn chosen(app: &Shared) -> Option<(PersonId, String)> {
    let kid = around::of(app).people.borrow().chosen.clone()?;
    let name = app.borrow().name_of(&kid);
    Some((kid, name))
}

/// Begins adding somebody.
pub(super) fn add(app: &Shared) {
    {
        let around = around::of(app);
        let mut shown = around.people.borrow_mut();
        (shown.newcomer, shown.message) = (Some(Newcomer::default()), None);
    }
    people::fill(app);
}

/// A row of the newcomer was touched.
pub(super) fn change_newcomer(app: &Shared, id: &str) {
    let name = around::of(app).people.borrow().newcomer.as_ref().map(|newcomer| newcomer.name.clone());
    let Some(name) = name else { return };
    match id {
        "name" => {
            let title = "Name, as it stands in records";
            let question = TextOf { title, hint: "", typed: &name, characters_max: NAME_MAX, may_be_empty: false };
            questions::text(app, AroundAsked::People(PeopleAsked::Name), &question);
        }
        "roles" => ask_roles(app),
        _ => ask_new(app, NewFor::Newcomer, None, ""),
    }
}

fn ask_roles(app: &Shared) {
    let held = around::of(app).people.borrow().newcomer.as_ref().map(|newcomer| newcomer.roles.clone());
    let held = held.unwrap_or_default();
    let role = |role: Role| row(&phrases::role_code(role), &say::capitalised(role.word()), "", held.contains(&role));
    let mut rows: Vec<PickRow> = Role::ALL.into_iter().map(role).collect();
    rows.push(row("done", "That is all", &phrases::roles(&held), false));
    let hint = "Touch each role this person may act and sign in";
    questions::pick(app, AroundAsked::People(PeopleAsked::Roles), "Roles", hint, rows);
}

/// Words were typed for the newcomer.
pub(super) fn text(app: &Shared, asked: PeopleAsked, text: &str) {
    if matches!(asked, PeopleAsked::Name)
        && let Some(newcomer) = around::of(app).people.borrow_mut().newcomer.as_mut()
    {
        text.clone_into(&mut newcomer.name);
    }
    around::close(app);
    people::fill(app);
}

/// A role of the newcomer was touched.
pub(super) fn picked(app: &Shared, asked: PeopleAsked, id: &str) {
    let role = phrases::role_of(id).filter(|_| matches!(asked, PeopleAsked::Roles));
    let Some(role) = role else {
        around::close(app);
        return people::fill(app);
    };
    if let Some(newcomer) = around::of(app).people.borrow_mut().newcomer.as_mut() {
        match newcomer.roles.iter().position(|held| *held == role) {
            Some(index) => {
                newcomer.roles.remove(index);
            }
            None => newcomer.roles.push(role),
        }
    }
    ask_roles(app);
}

/// Puts the newcomer on the roster with a key of their own.
pub(super) fn save_newcomer(app: &Shared) {
    let newcomer = around::of(app).people.borrow_mut().newcomer.take().filter(Newcomer::ready);
    let Some(Newcomer { name, roles, passcode: Some(passcode) }) = newcomer else { return people::fill(app) };
    let elsewhere = Elsewhere::of(app);
    let work = move || {
        let added = elsewhere.people(|people, random| people.add(&name, &roles, &passcode, random));
        (added, Newcomer { name, roles, passcode: Some(passcode) })
    };
    begin(app, "Making a key", work, |app, (added, newcomer)| {
        match added.and_then(|kid| keys::load(app).map(|()| kid)) {
            Ok(kid) => {
                around::of(app).people.borrow_mut().chosen = Some(kid);
                note(app, &format!("{} is on the roster.", newcomer.name), false);
            }
            Err(why) => {
                around::of(app).people.borrow_mut().newcomer = Some(newcomer);
                fault(app, &why);
            }
        }
    });
}

/// Does what takes long beside the window, and says that it is being done.
fn begin<T: Send + 'static>(
    app: &Shared,
    words: &str,
    work: impl FnOnce() -> T + Send + 'static,
    then: impl FnOnce(&Shared, T) + 'static,
) {
    if worker::start(app, words, work, then) {
        note(app, &format!("{words}: a moment"), false);
    } else {
        people::fill(app);
    }
}

/// Retires the key of whoever is chosen; what it signed stays valid.
pub(super) fn retire(app: &Shared) {
    let Some((kid, name)) = chosen(app) else { return };
    let retired = keys::people(app, |people, _| people.retire(&kid));
    match retired.and_then(|()| keys::load(app)) {
        Ok(()) => note(app, &format!("{name} signs no more. Old records stay valid."), false),
        Err(why) => fault(app, &why),
    }
}

/// Asks the passcode that is to be changed.
pub(super) fn ask_old_passcode(app: &Shared) {
    if let Some((kid, _)) = chosen(app) {
        ask_old(app, kid, "", 0);
    }
}

fn ask_old(app: &Shared, kid: PersonId, refusal: &str, wait_seconds: u64) {
    let name = app.borrow().name_of(&kid);
    let question = PasscodeOf {
        title: "The passcode that holds now",
        name: &name,
        hint: "Then the new one, twice",
        accept: "Go on",
        refusal,
        wait_seconds,
    };
    questions::passcode(app, AroundAsked::People(PeopleAsked::OldPasscode(kid)), &question);
}

/// Asks the passcode of a new key for whoever is chosen.
pub(super) fn ask_new_key(app: &Shared) {
    if let Some((kid, _)) = chosen(app) {
        ask_new(app, NewFor::NewKey(kid), None, "");
    }
}

fn ask_new(app: &Shared, whose: NewFor, first: Option<Zeroizing<String>>, refusal: &str) {
    let name = match &whose {
        NewFor::Newcomer => {
            around::of(app).people.borrow().newcomer.as_ref().map(|newcomer| newcomer.name.clone()).unwrap_or_default()
        }
        NewFor::NewKey(kid) | NewFor::Change(kid, _) => app.borrow().name_of(kid),
    };
    let question = PasscodeOf {
        title: if first.is_none() { "A new passcode" } else { "The new passcode once more" },
        name: &name,
        hint: "Typed by its owner, known to nobody else",
        accept: if first.is_none() { "Once more" } else { "Set" },
        refusal,
        wait_seconds: 0,
    };
    questions::passcode(app, AroundAsked::People(PeopleAsked::NewPasscode(whose, first)), &question);
}

/// A passcode was typed.
pub(super) fn passcode(app: &Shared, asked: PeopleAsked, digits: &str) {
    match asked {
        PeopleAsked::OldPasscode(kid) => old_passcode(app, kid, digits),
        PeopleAsked::NewPasscode(whose, first) => new_passcode(app, whose, first, digits),
        PeopleAsked::Name | PeopleAsked::Roles => around::close(app),
    }
}

fn old_passcode(app: &Shared, kid: PersonId, digits: &str) {
    let (opening, old) = match (keys::opening(app, &kid, digits), Passcode::new(digits)) {
        (Ok(opening), Ok(old)) => (opening, old),
        (Err(Refused { why, wait_seconds }), _) => return ask_old(app, kid, &why, wait_seconds),
        (Ok(_), Err(fault)) => return ask_old(app, kid, &say::capitalised(&fault.to_string()), 0),
    };
    questions::clear_secret(app);
    around::close(app);
    begin(
        app,
        "Opening the key",
        move || opening.open().map(|_| ()),
        move |app, opened| {
            around::of(app).people.borrow_mut().message = None;
            people::fill(app);
            match keys::judge(app, &kid, opened) {
                Ok(()) => ask_new(app, NewFor::Change(kid, old), None, ""),
                Err(Refused { why, wait_seconds }) => ask_old(app, kid, &why, wait_seconds),
            }
        },
    );
}

fn new_passcode(app: &Shared, whose: NewFor, first: Option<Zeroizing<String>>, digits: &str) {
    let passcode = match Passcode::new(digits) {
        Ok(passcode) => passcode,
        Err(fault) => return ask_new(app, whose, None, &say::capitalised(&fault.to_string())),
    };
    match first {
        None => ask_new(app, whose, Some(Zeroizing::new(digits.to_owned())), ""),
        Some(first) if first.as_str() != digits => {
            ask_new(app, whose, None, "The two differ: type the new passcode again, twice");
        }
        Some(_) => {
            questions::clear_secret(app);
            around::close(app);
            set(app, whose, passcode);
        }
    }
}

fn set(app: &Shared, whose: NewFor, passcode: Passcode) {
    let elsewhere = Elsewhere::of(app);
    match whose {
        NewFor::Newcomer => {
            if let Some(newcomer) = around::of(app).people.borrow_mut().newcomer.as_mut() {
                newcomer.passcode = Some(passcode);
            }
            people::fill(app);
        }
        NewFor::NewKey(kid) => {
            let work = move || elsewhere.people(|people, random| people.replace(&kid, &passcode, random)).map(Some);
            begin(app, "Making a key", work, is_set);
        }
        NewFor::Change(kid, old) => {
            let change = move || {
                elsewhere.people(|people, random| people.change_passcode(&kid, &old, &passcode, random)).map(|()| None)
            };
            begin(app, "Sealing the key", change, is_set);
        }
    }
}

/// A new key or a new passcode holds, or does not.
fn is_set(app: &Shared, done: Result<Option<PersonId>, KeysError>) {
    match done.and_then(|kid| keys::load(app).map(|()| kid)) {
        Ok(Some(kid)) => {
            around::of(app).people.borrow_mut().chosen = Some(kid);
            note(app, "A new key holds from now on. The old one stays for the records it signed.", false);
        }
        Ok(None) => note(app, "The new passcode holds from now on.", false),
        Err(why) => fault(app, &why),
    }
}
