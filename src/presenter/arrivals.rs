//! The receiver inside the tablet, and the list of what waits for a person.
//!
//! It listens only where a site named its peers. What agrees with a case joins it beside the window; the events of the
//! open case are issued here, like any touch, and wait for nothing. What it does not do: no rule of what agrees (that is
//! `open_case`), no file on the window's thread.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::errand::Errand;
use super::questions::{self, row};
use super::{addendum, home, say};
use crate::open_case::SaveState;
use crate::open_case::arrivals::Why;
use crate::open_case::intake::{self, Came, Intake, Ours, Taken, Waits};
use crate::ports::{Arrival, ArrivalKind, Receiving, Reception, Told};
use brimline_ui::{AppWindow, Home, PickRow, Place, Shell};
use chrono::TimeDelta;
use slint::ComponentHandle;
use std::cell::RefCell;
use std::path::PathBuf;
use std::sync::Arc;

/// What an overlay asks about arrivals.
pub(super) enum ArrivalAsked {
    /// Which of those that wait.
    Which,
    /// Where that one belongs.
    Where(Box<Arrival>),
}

/// The receiver and what waits.
#[derive(Default)]
pub(super) struct Arrivals {
    running: RefCell<Option<Box<dyn Receiving>>>,
    errand: Errand,
    waiting: RefCell<Vec<(Arrival, Waits)>>,
    /// Why nothing is received, though a site asked for it; empty: nothing.
    fault: RefCell<String>,
}

/// Starts the receiver where the site named peers.
pub(super) fn start(window: &AppWindow, app: &Shared) {
    let weak = std::rc::Rc::downgrade(app);
    window.global::<Shell>().on_arrived(move || {
        if let Some(app) = weak.upgrade() {
            sort(&app);
        }
    });
    window.global::<Home>().on_show_received(super::touch::plain(app, show));
    let around = around::of(app);
    let started = {
        let app = app.borrow();
        let Some(station) = app.station.filter(|_| !app.settings.receive.peers.is_empty()) else { return };
        let window = app.window.clone();
        let tell = move |told: Told| {
            if matches!(told, Told::Arrived(_)) {
                // Fails only once the window is gone, when nobody is left to be told.
                let _ = window.upgrade_in_event_loop(|window| window.global::<Shell>().invoke_arrived());
            }
        };
        station.receiver.start(Reception {
            settings: app.settings.receive.clone(),
            store: app.store.clone(),
            disk: app.world.disk.clone(),
            clock: app.world.clock.clone(),
            tell: Arc::new(tell),
        })
    };
    match started {
        Ok(running) => drop(around.arrivals.running.replace(Some(running))),
        Err(fault) => drop(around.arrivals.fault.replace(format!("Nothing is received: {fault}"))),
    }
}

/// Port of the receiver, while it runs.
#[must_use]
pub fn port(app: &Shared) -> Option<u16> {
    around::of(app).arrivals.running.borrow().as_ref().map(|running| running.port())
}

/// Why nothing is received, in words; empty: it is, or nobody asked for it.
pub(super) fn fault(app: &Shared) -> String {
    around::of(app).arrivals.fault.borrow().clone()
}

fn intake(app: &Shared) -> Option<Intake> {
    let app = app.borrow();
    let station = app.station?;
    let receive = &app.settings.receive;
    Some(Intake {
        world: app.world.clone(),
        store: app.store.clone(),
        receiver: station.receiver,
        reports: station.reports,
        images: station.images,
        tolerance: TimeDelta::minutes(i64::from(receive.agree_min)),
        bytes_max: (u64::from(receive.object_mib) + 1) << 20,
    })
}

/// The case that is open, with what it holds durably.
fn ours(app: &Shared) -> Option<Ours> {
    let app = app.borrow();
    let open = app.open.as_ref()?;
    let radiation = &open.case().state().radiation;
    let saved = open.save_state() == SaveState::Saved;
    let holds = radiation.uids().filter(|_| saved).map(str::to_owned).collect();
    Some(Ours { folder: open.folder().to_owned(), holds })
}

/// Goes through what waits, beside the window.
pub(super) fn sort(app: &Shared) {
    let Some(intake) = intake(app) else { return };
    let ours = ours(app);
    around::of(app).arrivals.errand.run(
        app,
        move || intake::take_in(&intake, ours.as_ref()),
        |app, done| match done {
            Ok(taken) => sorted(app, taken),
            Err(fault) => {
                around::of(app).arrivals.fault.replace(format!("What was received cannot be read: {fault}"));
            }
        },
    );
}

fn sorted(app: &Shared, taken: Taken) {
    let around = around::of(app);
    let entered = !taken.for_open.is_empty();
    let faults: Vec<String> = taken.for_open.into_iter().filter_map(|came| enter(app, came).err()).collect();
    around.arrivals.waiting.replace(taken.waiting);
    if !faults.is_empty() {
        around.arrivals.fault.replace(faults.join(" · "));
    }
    fill(app);
    if entered {
        super::app::refresh(app);
        let closed = window(app).is_some_and(|window| window.global::<Shell>().get_place() == Place::SignOff);
        if closed {
            super::sign_off::show(app);
        }
    }
    if around.arrivals.errand.wanted_again() || entered && saved(app) {
        sort(app);
    }
}

fn saved(app: &Shared) -> bool {
    app.borrow().open.as_ref().is_some_and(|open| open.save_state() == SaveState::Saved)
}

/// Enters something into the open case; never waits for the disk.
fn enter(app: &Shared, came: Came) -> Result<(), String> {
    let mut app = app.borrow_mut();
    let Some(open) = app.open.as_mut() else { return Ok(()) };
    let actor = intake::machine_actor(open.case()).ok_or("nobody in the case answers for the machine")?;
    came.enter(open, &actor).map_err(|fault| fault.to_string())
}

/// Says on Home how many wait.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let waiting = around::of(app).arrivals.waiting.borrow().len();
    window.global::<Home>().set_received(super::case_view::count(waiting));
}

/// Lists what waits.
pub(super) fn show(app: &Shared) {
    let rows = {
        let around = around::of(app);
        let waiting = around.arrivals.waiting.borrow();
        waiting.iter().enumerate().map(|(at, (arrival, waits))| line(at, arrival, waits)).collect()
    };
    let hint = "Nothing joins a case by itself unless patient number and time agree";
    questions::pick(app, AroundAsked::Arrival(ArrivalAsked::Which), "Received, waits for a person", hint, rows);
}

fn line(at: usize, arrival: &Arrival, waits: &Waits) -> PickRow {
    let kind = match arrival.kind {
        ArrivalKind::DoseReport => "Dose report",
        ArrivalKind::Image => "Image",
        ArrivalKind::Capture => "Picture of a screen",
        ArrivalKind::Unknown => "Unknown",
    };
    let number = arrival.patient_number.as_deref().unwrap_or("no patient number");
    let made = arrival.made.map_or("no time".to_owned(), |made| made.local.format("%-d %b %H:%M").to_string());
    let why = match waits {
        Waits::Disagrees(Why::NoNumber) => "it names no patient",
        Waits::Disagrees(Why::NoTime) => "it does not say when it was made",
        Waits::Disagrees(Why::OtherPatient) => "no case has that number",
        Waits::Disagrees(Why::OtherTime) => "its patient's case was at another time",
        Waits::Disagrees(Why::Several) => "more than one case agrees",
        Waits::Signed(_) => "its case is signed: can be added to the record",
        Waits::NotTaken(fault) => fault,
    };
    row(&at.to_string(), &format!("{kind} · {number}"), &format!("made {made} · {why}"), false)
}

/// A row was touched.
pub(super) fn picked(app: &Shared, asked: ArrivalAsked, id: &str) {
    around::close(app);
    match asked {
        ArrivalAsked::Which => {
            let found = id.parse::<usize>().ok();
            let arrival = found.and_then(|at| around::of(app).arrivals.waiting.borrow().get(at).cloned());
            if let Some((arrival, waits)) = arrival {
                ask_where(app, arrival, &waits);
            }
        }
        ArrivalAsked::Where(arrival) => place(app, *arrival, id),
    }
}

fn ask_where(app: &Shared, arrival: Arrival, waits: &Waits) {
    let signed = match waits {
        Waits::Signed(folder) => Some(folder.clone()),
        _ => None,
    };
    let cases = home::cases(app);
    let mut rows: Vec<PickRow> = cases
        .iter()
        .filter(|case| !case.signed || arrival.kind == ArrivalKind::DoseReport)
        .map(|case| {
            let agrees = signed.as_ref() == Some(&case.folder);
            let detail =
                if case.signed { format!("{} · becomes an addendum", case.words) } else { case.words.clone() };
            row(&case.folder.to_string_lossy(), &format!("Into {}", case.patient), &detail, agrees)
        })
        .collect();
    rows.push(row("aside", "Set aside", "belongs to no case here; removed when its days are over", false));
    let number = arrival.patient_number.clone().unwrap_or_else(|| "no patient number".to_owned());
    let hint = format!("Its patient: {number}. Say patient and time aloud before it is placed");
    let asked = AroundAsked::Arrival(ArrivalAsked::Where(Box::new(arrival)));
    questions::pick(app, asked, "Which case does it belong to", &hint, rows);
}

fn place(app: &Shared, arrival: Arrival, id: &str) {
    let Some(intake) = intake(app) else { return };
    if id == "aside" {
        let work = move || intake::set_aside(&intake, &arrival).map_err(|fault| fault.to_string());
        super::worker::start(app, "Setting it aside", work, placed);
        return;
    }
    let folder = PathBuf::from(id);
    let signed = home::cases(app).iter().any(|case| case.folder == folder && case.signed);
    if signed {
        return addendum::of_report(app, &intake, arrival, &folder);
    }
    let ours = ours(app);
    let work = move || intake::assign(&intake, ours.as_ref(), &arrival, &folder).map_err(|fault| fault.to_string());
    super::worker::start(app, "Placing what was received", work, |app, done| match done {
        Ok(Some(came)) => placed(app, enter(app, came)),
        Ok(None) => placed(app, Ok(())),
        Err(fault) => placed(app, Err(fault)),
    });
}

fn placed(app: &Shared, done: Result<(), String>) {
    sort(app);
    if let Err(fault) = done {
        questions::tell(
            app,
            "It was not placed",
            &say::capitalised(&fault),
            "It waits as before; nothing was changed.",
            "Put right what is named, then place it again.",
        );
    }
}
