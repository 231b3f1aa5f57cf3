//! Sign off: the totals, what is looked at once more, and who signs with a passcode.
//!
//! The surgeon says every gate passed by spoken word once more before the surgeon's signature is taken.

use super::app::{App, Shared, close_overlay, window};
use super::around::{self, AroundAsked};
use super::case_view::{self, model};
use super::keys::{self, KeysError, Refused};
use super::questions::{self, PasscodeOf};
use super::review::{self, Said};
use super::touch;
use super::{home, phrases, record, say, worker};
use crate::case::Case;
use crate::open_case::{OpenCase, SignError, Written, meaning};
use crate::people::{PersonId, Role};
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
    remark: String,
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
    screen.set_remark(view.remark.into());
    screen.set_signing(worker::busy(app).into());
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
        remark: together(app, case),
        complete: next.is_none() && record.is_ok() && !signed.is_empty(),
    }
}

/// Whoever was chosen and has not signed, else the first who has not.
fn next(signers: &[Role], signed: &[(Role, u64)], chosen: Option<Role>) -> Option<Role> {
    let waits = |role: &Role| !signed.iter().any(|(known, _)| known == role);
    chosen.filter(|role| signers.contains(role) && waits(role)).or_else(|| signers.iter().copied().find(waits))
}

/// What who signs should know of the key.
fn key_words(app: &App, person: &PersonId) -> &'static str {
    match app.roster.present(person) {
        Some(present) if present.kid() != person => "signs with the new key",
        None if app.roster.person(person).is_some() => "the key was retired",
        _ => "",
    }
}

/// One person who signs in two roles.
fn together(app: &App, case: &Case) -> String {
    let team = &case.state().team;
    let signers = case.pathway().signers.iter();
    let held: Vec<_> = signers.filter_map(|role| Some((*role, team.get(role)?.clone()))).collect();
    phrases::together(&app.roster, &held)
}

fn signer(app: &App, open: &OpenCase, role: Role, signed_ms: Option<u64>, chosen: bool) -> SignerLine {
    let case = open.case();
    let person = case.state().team.get(&role);
    let at = signed_ms.and_then(|ms| case.wall_clock(crate::case::Elapsed { ms, by_wall: false }));
    let detail = match (at, person) {
        (Some(at), _) => at.format("%H:%M").to_string(),
        (None, None) => "nobody held this role".to_owned(),
        (None, Some(person)) => key_words(app, person).to_owned(),
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
struct Next {
    role: Role,
    name: String,
    /// The key that signs: that of the case, or the one that took its place; none if the person signs no more.
    key: Option<PersonId>,
}

fn chosen(app: &Shared) -> Option<Next> {
    let around = around::of(app);
    let (app, signing) = (app.borrow(), around.signing.borrow());
    let open = app.open.as_ref()?;
    let record = open.record().ok()?;
    let signatures = record.iter().flat_map(crate::record::Signed::signatures);
    let signed: Vec<_> = signatures.map(|one| (one.header.role, one.header.signed_ms)).collect();
    let role = next(&open.case().pathway().signers, &signed, signing.chosen)?;
    let person = open.case().state().team.get(&role)?;
    let key = app.roster.person(person).map_or_else(
        // Whether this tablet holds a key that the roster does not know is for the store to say.
        || Some(person.clone()),
        |_| app.roster.present(person).map(|present| present.kid().clone()),
    );
    Some(Next { role, name: app.name_of(person), key })
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
    let Some(Next { role, name, key }) = chosen(app) else { return };
    if key.is_none() {
        questions::tell(
            app,
            "That key signs no more",
            &format!("The key of {name} was retired while the case was open, and no other took its place."),
            "The case is closed and saved; the other signatures can be given.",
            "If the key was lost: a new one is made under People, New key, and signs this record. Else the record stays \
             incomplete.",
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
    let next = chosen(app).filter(|next| next.role == role);
    let Some(Next { name, key: Some(kid), .. }) = next else { return around::close(app) };
    let opening = match keys::opening(app, &kid, digits) {
        Ok(opening) => opening,
        Err(Refused { why, wait_seconds }) => return ask(app, &why, wait_seconds),
    };
    questions::clear_secret(app);
    around::close(app);
    let job = {
        let around = around::of(app);
        let app = app.borrow();
        let Some(open) = app.open.as_ref() else { return };
        let passed = open.case().state().overrides();
        let said = passed.filter(|(_, passed)| around.signing.borrow().said.contains(&passed.seq)).count();
        let job = open.signing(role, u32::try_from(said).unwrap_or(u32::MAX));
        job.map(|job| (job, app.roster.clone()))
    };
    match job {
        Ok((job, roster)) => {
            let words = format!("Signing as {role}, {name}: the record is being written");
            let work = move || opening.open().map(|key| job.sign(&key, &roster));
            worker::start(app, &words, work, move |app, done| signed(app, &kid, done));
            fill(app);
        }
        Err(fault) => not_entered(app, &fault),
    }
}

/// What signing came to.
fn signed(app: &Shared, kid: &PersonId, done: Result<Result<Written, SignError>, KeysError>) {
    fill(app);
    let written = match keys::judge(app, kid, done) {
        Err(Refused { why, wait_seconds }) => {
            show(app);
            return ask(app, &why, wait_seconds);
        }
        Ok(Err(fault)) => return not_entered(app, &fault),
        Ok(Ok(written)) => written,
    };
    let noted = {
        let mut app = app.borrow_mut();
        let App { open, holder, .. } = &mut *app;
        let (Some(open), Some(holder)) = (open.as_mut(), holder.clone()) else { return };
        open.note_signed(&written, &holder)
    };
    match noted {
        Ok(()) if written.record().missing().is_empty() => show_record(app),
        Ok(()) => {
            around::of(app).signing.borrow_mut().chosen = None;
            show(app);
        }
        Err(fault) => not_entered(app, &SignError::Issue(fault)),
    }
}

fn not_entered(app: &Shared, fault: &SignError) {
    show(app);
    questions::tell(
        app,
        "The signature was not entered",
        &fault.to_string(),
        "The case is closed and saved. What was signed before still stands.",
        "Put right what is named, then sign again.",
    );
}

fn show_record(app: &Shared) {
    let folder = app.borrow().open.as_ref().map(|open| open.folder().to_owned());
    close_overlay(app);
    if let Some(folder) = folder {
        record::show(app, &folder);
    }
}
