//! Sign off: the totals, what is looked at once more, and who signs with a passcode.
//!
//! The surgeon says every gate passed by spoken word once more before the surgeon's signature is taken.

use super::app::{App, Shared, close_overlay, window};
use super::around::{self, AroundAsked};
use super::case_view::{self, model};
use super::keys::{self, Opened};
use super::questions::{self, PasscodeOf};
use super::review::{self, Said};
use super::touch;
use super::{home, phrases, record, say};
use crate::open_case::{OpenCase, meaning};
use crate::people::{PersonId, PersonKey, Role};
use crate::record::Meaning;
use brimline_ui::{AppWindow, Place, Shell, SignOff, SignerLine, SignerState};
use slint::ComponentHandle;

/// What was said and who signs next, of one case.
#[derive(Default)]
pub(super) struct Signing {
    case: String,
    said: Said,
    chosen: Option<Role>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<SignOff>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    let with = |does: fn(&Shared, &str)| touch::named(app, does);
    screen.on_said(with(|app, id| {
        if let Ok(seq) = id.parse() {
            around::of(app).signing.borrow_mut().said.insert(seq);
        }
        fill(app);
    }));
    screen.on_touch_signer(with(|app, id| {
        around::of(app).signing.borrow_mut().chosen = phrases::role_of(id);
        fill(app);
    }));
    screen.on_sign(to(|app| ask(app, "", 0)));
    screen.on_show_record(to(show_record));
    screen.on_later(to(home::leave));
}

/// Turns to the signing of the case that is open, once it is closed.
pub(super) fn show(app: &Shared) {
    let case = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        case.state().opening.case.clone()
    };
    let around = around::of(app);
    {
        let mut signing = around.signing.borrow_mut();
        if signing.case != case {
            *signing = Signing { case, ..Signing::default() };
        }
    }
    let Some(window) = window(app) else { return };
    case_view::fill(&window, app);
    fill(app);
    window.global::<Shell>().set_place(Place::SignOff);
}

/// Everything the screen shows.
struct View {
    outcome: String,
    totals: Vec<brimline_ui::TotalLine>,
    lines: Vec<brimline_ui::ReviewLine>,
    signers: Vec<SignerLine>,
    refusal: String,
    main: String,
    main_detail: String,
    main_enabled: bool,
    complete: bool,
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let view = {
        let (app, signing) = (app.borrow(), around.signing.borrow());
        let Some(open) = &app.open else { return };
        view(&app, open, &signing)
    };
    let screen = window.global::<SignOff>();
    screen.set_outcome(view.outcome.into());
    screen.set_totals(model(view.totals));
    screen.set_lines(model(view.lines));
    screen.set_signers(model(view.signers));
    screen.set_refusal(view.refusal.into());
    screen.set_main(view.main.into());
    screen.set_main_detail(view.main_detail.into());
    screen.set_main_enabled(view.main_enabled);
    screen.set_complete(view.complete);
}

fn view(app: &App, open: &OpenCase, signing: &Signing) -> View {
    let case = open.case();
    let record = open.record();
    let signed: Vec<(Role, u64)> = match &record {
        Ok(Some(record)) => record.signatures().iter().map(|one| (one.header.role, one.header.signed_ms)).collect(),
        _ => Vec::new(),
    };
    let next = next(&case.pathway().signers, &signed, signing.chosen);
    let signers = case.pathway().signers.iter().map(|role| {
        let at = signed.iter().find(|(known, _)| known == role).map(|(_, ms)| *ms);
        signer(app, open, *role, at, next == Some(*role))
    });
    let unsaid = review::unsaid(case, &signing.said);
    let waits = unsaid > 0 && next == Some(Role::Surgeon);
    let refusal = match &record {
        Err(fault) => say::capitalised(&fault.to_string()),
        Ok(_) if waits && unsaid == 1 => "One spoken word waits for the surgeon".to_owned(),
        Ok(_) if waits => format!("{unsaid} spoken words wait for the surgeon"),
        Ok(_) => String::new(),
    };
    let name = next.and_then(|role| case.state().team.get(&role)).map(|person| app.name_of(person));
    View {
        outcome: case.state().outcome().map(phrases::outcome).unwrap_or_default().to_owned(),
        totals: review::totals(case, review::closed_ms(open), app.settings.decimal_sign.character()),
        lines: review::lines(case, &signing.said, &|person| app.name_of(person)),
        signers: signers.collect(),
        main: next.map(|role| format!("Sign as {role}")).unwrap_or_default(),
        main_detail: name.as_ref().map(|name| format!("{name} · passcode")).unwrap_or_default(),
        main_enabled: refusal.is_empty() && name.is_some(),
        refusal,
        complete: next.is_none() && record.is_ok() && !signed.is_empty(),
    }
}

/// Whoever was chosen and has not signed, else the first who has not.
fn next(signers: &[Role], signed: &[(Role, u64)], chosen: Option<Role>) -> Option<Role> {
    let waits = |role: &Role| !signed.iter().any(|(known, _)| known == role);
    chosen.filter(|role| signers.contains(role) && waits(role)).or_else(|| signers.iter().copied().find(waits))
}

fn signer(app: &App, open: &OpenCase, role: Role, signed_ms: Option<u64>, chosen: bool) -> SignerLine {
    let case = open.case();
    let person = case.state().team.get(&role);
    let at = signed_ms.and_then(|ms| case.wall_clock(crate::case::Elapsed { ms, by_wall: false }));
    let detail = match (at, person) {
        (Some(at), _) => at.format("%H:%M").to_string(),
        (None, None) => "nobody held this role".to_owned(),
        (None, Some(_)) => String::new(),
    };
    SignerLine {
        id: phrases::role_code(role).into(),
        role: say::capitalised(role.word()).into(),
        name: person.map(|person| app.name_of(person)).unwrap_or_default().into(),
        state: if signed_ms.is_some() { SignerState::Signed } else { SignerState::Waiting },
        detail: detail.into(),
        chosen,
    }
}

/// Who signs next in this case.
fn chosen(app: &Shared) -> Option<(Role, PersonId, String, bool)> {
    let around = around::of(app);
    let (app, signing) = (app.borrow(), around.signing.borrow());
    let open = app.open.as_ref()?;
    let record = open.record().ok()?;
    let signatures = record.iter().flat_map(crate::record::Signed::signatures);
    let signed: Vec<_> = signatures.map(|one| (one.header.role, one.header.signed_ms)).collect();
    let role = next(&open.case().pathway().signers, &signed, signing.chosen)?;
    let person = open.case().state().team.get(&role)?.clone();
    let retired = app.roster.person(&person).is_some_and(crate::people::Person::retired);
    let name = app.name_of(&person);
    Some((role, person, name, retired))
}

/// What a signature means, in the words of whoever signs (21 CFR 11.50).
fn words(meaning: Meaning) -> &'static str {
    match meaning {
        Meaning::Responsibility => "Responsibility: I answer for what was done, and this is its record",
        Meaning::Authorship => "Authorship: I kept this record during the case",
        Meaning::Review => "Review: I read this record and found it right",
        Meaning::Approval => "Approval: I approve this record",
    }
}

fn ask(app: &Shared, refusal: &str, wait_seconds: u64) {
    let Some((role, _, name, retired)) = chosen(app) else { return };
    if retired {
        questions::tell(
            app,
            "That key signs no more",
            &format!("The key of {name} was retired while the case was open."),
            "The case is closed and saved; the other signatures can be given.",
            "The record stays incomplete without it. Ask whoever keeps the roster.",
        );
        return;
    }
    let title = format!("Sign as {role}");
    let hint = words(meaning(role));
    let question = PasscodeOf { title: &title, name: &name, hint, accept: "Sign", refusal, wait_seconds };
    questions::passcode(app, AroundAsked::Sign(role), &question);
}

/// A passcode was typed to sign in that role.
pub(super) fn passcode(app: &Shared, role: Role, digits: &str) {
    let Some((next, person, ..)) = chosen(app).filter(|(next, ..)| *next == role) else {
        return around::close(app);
    };
    match keys::open(app, &person, digits) {
        Opened::Refused { why, wait_seconds } => ask(app, &why, wait_seconds),
        Opened::Key(key) => {
            questions::clear_secret(app);
            around::close(app);
            sign(app, next, &key);
        }
    }
}

fn sign(app: &Shared, role: Role, key: &PersonKey) {
    let around = around::of(app);
    let signed = {
        let mut app = app.borrow_mut();
        let App { open, roster, holder, .. } = &mut *app;
        let (Some(open), Some(holder)) = (open.as_mut(), holder.clone()) else { return };
        let passed = open.case().state().overrides();
        let said = passed.filter(|(_, passed)| around.signing.borrow().said.contains(&passed.seq)).count();
        let names = |kid: &PersonId| roster.person(kid).map(|person| person.name().to_owned());
        let said = u32::try_from(said).unwrap_or(u32::MAX);
        open.sign_record(key, role, &holder, said, &names).map(|record| record.missing().is_empty())
    };
    match signed {
        Ok(true) => show_record(app),
        Ok(false) => {
            around.signing.borrow_mut().chosen = None;
            show(app);
        }
        Err(fault) => {
            show(app);
            questions::tell(
                app,
                "The signature was not entered",
                &fault.to_string(),
                "The case is closed and saved. What was signed before still stands.",
                "Put right what is named, then sign again.",
            );
        }
    }
}

fn show_record(app: &Shared) {
    let folder = app.borrow().open.as_ref().map(|open| open.folder().to_owned());
    close_overlay(app);
    if let Some(folder) = folder {
        record::show(app, &folder);
    }
}
