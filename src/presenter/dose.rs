//! The dose of a case on screen: readings, settings of the machine, estimates, and which step it belongs to.
//!
//! A setting is logged by one touch. Every figure comes from the case's one account; nothing here adds or converts.

use super::app::{self, App, Shared, act, window};
use super::around;
use super::case_view::{self, model};
use super::dose_entry::{self, Draft};
use super::dose_rows as rows;
use super::touch;
use crate::case::{Case, Command, MachineSetting, RadiationCommand, Status};
use crate::dose::Moment;
use crate::people::Role;
use brimline_ui::{AppWindow, CaseView, Dose, DoseShows, Over, Place, Shell};
use slint::{ComponentHandle, Model, ModelRc};

/// What the screen shows, and where it was opened from.
#[derive(Default)]
pub(super) struct Shown {
    shows: DoseShows,
    pub draft: Option<Draft>,
    from: Place,
    /// Settings that the keys show now.
    set: Option<Vec<MachineSetting>>,
}

/// Who reads a console aloud or sets the machine.
const READERS: [Role; 2] = [Role::Radiographer, Role::CirculatingNurse];

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Dose>();
    let weak = std::rc::Rc::downgrade(app);
    screen.on_show(move |shows| {
        if let Some(app) = weak.upgrade() {
            around::of(&app).dose.borrow_mut().shows = shows;
            fill(&app);
        }
    });
    screen.on_touch_field(touch::named(app, touched));
    screen.on_set(touch::named(app, set));
    screen.on_act(touch::plain(app, acted));
    screen.on_back(touch::plain(app, back));
    window.global::<CaseView>().on_show_dose(touch::plain(app, show));
}

/// Turns to the screen, from a screen of the case or from Sign off.
pub(super) fn show(app: &Shared) {
    let Some(window) = window(app) else { return };
    let shell = window.global::<Shell>();
    // What is being typed is not lost to a touch beside it.
    if shell.get_over() != Over::Nothing {
        return;
    }
    let from = shell.get_place();
    if from != Place::Dose {
        let shown = Shown { from, ..Shown::default() };
        around::of(app).dose.replace(shown);
    }
    shell.set_place(Place::Dose);
    case_view::fill(&window, app);
    fill(app);
}

/// Turns to the entry of a reading.
pub(super) fn enter(app: &Shared, moment: Moment) {
    show(app);
    let begun = app.borrow().case().map(|case| Draft::new(case, moment, None));
    around::of(app).dose.borrow_mut().draft = begun;
    fill(app);
}

/// Fills the screen.
pub(super) fn fill(app: &Shared) {
    let (Some(window), around) = (window(app), around::of(app)) else { return };
    let screen = window.global::<Dose>();
    let (app, shown) = (app.borrow(), around.dose.borrow());
    let Some(case) = app.case() else { return };
    let mut set = shown.set.clone();
    let head = rows::head(&app, case, &around.usual.borrow());
    screen.set_total(head.total.into());
    screen.set_total_detail(head.detail.into());
    screen.set_usual(head.usual.into());
    screen.set_usual_from(head.from);
    screen.set_usual_to(head.to);
    screen.set_now(head.now);
    let set_now = Some(case.state().radiation.set_now());
    if shown.set != set_now {
        screen.set_settings(model(rows::settings(case)));
        set = set_now;
    }
    let shows = if shown.draft.is_some() { DoseShows::Reading } else { shown.shows };
    screen.set_shows(shows);
    let (lines, notice) = match shows {
        DoseShows::Estimates => (rows::estimates(case), String::new()),
        DoseShows::Steps => rows::steps(case),
        DoseShows::Readings => (Vec::new(), rows::look_again(case)),
        DoseShows::Reading | DoseShows::Machine => (Vec::new(), String::new()),
    };
    // A list that is set anew takes a press that is under way with it.
    if !is(&screen.get_lines(), &lines) {
        screen.set_lines(model(lines));
    }
    screen.set_notice(notice.into());
    screen.set_notice_heed(shows == DoseShows::Readings);
    screen.set_may_stop(matches!(case.state().status, Status::Running | Status::Paused));
    let fields = shown.draft.as_ref().map_or_else(|| rows::readings(case), |draft| draft.fields(&app, case));
    if !is(&screen.get_fields(), &fields) {
        screen.set_fields(model(fields));
    }
    let (main, detail, enabled) = main(&app, case, shown.draft.as_ref());
    screen.set_main(main.into());
    screen.set_main_detail(detail.into());
    screen.set_main_enabled(enabled);
    drop(shown);
    around.dose.borrow_mut().set = set;
}

/// Whether the screen shows these rows already.
fn is<T: Clone + PartialEq + 'static>(shown: &ModelRc<T>, rows: &[T]) -> bool {
    shown.iter().eq(rows.iter().cloned())
}

fn main(app: &App, case: &Case, draft: Option<&Draft>) -> (&'static str, String, bool) {
    let open = app.open.as_ref().is_some_and(|open| open.save_state() != crate::open_case::SaveState::ReadOnly);
    let takes = open && case.state().signed.is_empty();
    match draft {
        Some(draft) => ("Keep the reading", draft.words(), takes && !draft.shown().is_empty()),
        None if takes => ("Read the console", moment(case).words().to_owned(), true),
        None => ("Read the console", "the case is signed or open to read only".to_owned(), false),
    }
}

/// The moment to be read next: what is due, the first at the begin, else the last.
fn moment(case: &Case) -> Moment {
    let none = case.state().radiation.readings.is_empty();
    let running = matches!(case.state().status, Status::Running | Status::Paused);
    case.reading_due().unwrap_or(if none && running { Moment::Opening } else { Moment::End })
}

fn acted(app: &Shared) {
    if around::of(app).dose.borrow().draft.is_some() {
        return dose_entry::keep(app, false);
    }
    let begun = app.borrow().case().map(|case| Draft::new(case, moment(case), None));
    around::of(app).dose.borrow_mut().draft = begun;
    fill(app);
}

/// A reading was touched, to be entered or corrected; or a figure of the one being entered.
fn touched(app: &Shared, id: &str) {
    if around::of(app).dose.borrow().draft.is_some() {
        return dose_entry::ask(app, id);
    }
    let begun = {
        let app = app.borrow();
        let Some(case) = app.case().filter(|case| case.state().signed.is_empty()) else { return };
        rows::touched(case, id).map(|(moment, replaces)| Draft::new(case, moment, replaces))
    };
    around::of(app).dose.borrow_mut().draft = begun;
    fill(app);
}

/// Keys of the machine's settings, each with what it sets.
pub(super) const SETTINGS: [(&str, MachineSetting); 10] = [
    ("pulse-2", MachineSetting::PulseRate { per_s: 2.0 }),
    ("pulse-4", MachineSetting::PulseRate { per_s: 4.0 }),
    ("pulse-8", MachineSetting::PulseRate { per_s: 8.0 }),
    ("pulse-15", MachineSetting::PulseRate { per_s: 15.0 }),
    ("continuous", MachineSetting::Continuous),
    ("magnify-0", MachineSetting::Magnification { step: 0 }),
    ("magnify-1", MachineSetting::Magnification { step: 1 }),
    ("magnify-2", MachineSetting::Magnification { step: 2 }),
    ("collimate-in", MachineSetting::Collimation { drawn_in: true }),
    ("collimate-open", MachineSetting::Collimation { drawn_in: false }),
];

fn set(app: &Shared, id: &str) {
    let Some((_, setting)) = SETTINGS.iter().find(|(known, _)| *known == id) else { return };
    as_reader(app, RadiationCommand::SetMachine { setting: *setting });
}

/// Issues a command as whoever reads the console.
pub(super) fn as_reader(app: &Shared, command: RadiationCommand) -> bool {
    let role = app.borrow().answerer(&READERS);
    role.is_some_and(|role| act(app, role, Command::Radiation(command)))
}

fn back(app: &Shared) {
    let around = around::of(app);
    if around.dose.borrow_mut().draft.take().is_some() {
        return fill(app);
    }
    let from = around.dose.borrow().from;
    let Some(window) = window(app) else { return };
    window.global::<Shell>().set_place(if from == Place::Gate { Place::Gate } else { Place::Operate });
    if from == Place::SignOff {
        return super::sign_off::show(app);
    }
    app::refresh(app);
}
