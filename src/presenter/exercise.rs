//! An exercise as it runs: touches become controls of the rehearsal, and what happened stands in the case as well.
//!
//! Every shot is counted in the case as a live one's; an accepted or rejected view is answered there too. What it does
//! not do: it scores nothing and knows nothing that the room would not.

use super::app::{self, Shared, act_as_holder, window};
use super::around::{self, AroundAsked};
use super::exercise_live::{self, LivePictures};
use super::exercise_rows as rows;
use super::questions::{self, row};
use super::{debrief, exercise_end, exercise_picture, operate_touch, say, touch};
use crate::carm::{ImagePoint, Joint, ViewName};
use crate::case::{Answer, Command, Status, Task};
use crate::open_case::OpenCase;
use crate::pathway::{CheckKind, Place};
use crate::pelvis::Pelvis;
use crate::people::{Actor, PersonId, Role};
use crate::rehearse::{Control, Image, Mishap, Rehearsal, Told, wanted};
use crate::units::Degrees;
use brimline_ui::{AppWindow, Exercise, ExerciseShows, Place as Screen, Shell};
use slint::ComponentHandle;
use std::sync::Arc;

/// A rehearsal beside the case that is open.
pub(super) struct Running {
    pub session: Rehearsal,
    pub solids: Arc<Pelvis>,
    /// Milliseconds of the case when the exercise began.
    begun_ms: u64,
    pub shows: ExerciseShows,
    /// The view the next shot is meant as.
    pub view: ViewName,
    /// The next touch of the picture sets the pin.
    pub setting: bool,
    /// A support lies under the pelvis.
    pub supported: bool,
    /// What the pin's own scale says.
    pub pin_mm: Option<f64>,
    /// What the room noticed and nobody saw to yet.
    pub happened: Option<Mishap>,
    pub told: String,
    pub heed: bool,
    /// Number of the shot whose picture hangs, and the picture.
    pub picture: Option<(u32, slint::Image)>,
    /// Pictures while the pedal is held.
    pub live: Option<LivePictures>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Exercise>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    let with = |does: fn(&Shared, &str)| touch::named(app, does);
    let weak = std::rc::Rc::downgrade(app);
    screen.on_drive(move |moved| {
        if let Some(app) = weak.upgrade() {
            drive(&app, &moved.id, f64::from(moved.by));
        }
    });
    let weak = std::rc::Rc::downgrade(app);
    screen.on_touch_picture(move |x, y| {
        if let Some(app) = weak.upgrade() {
            touch_picture(&app, [f64::from(x), f64::from(y)]);
        }
    });
    screen.on_shift(with(shift));
    screen.on_act(with(pin_key));
    exercise_live::connect(window, app);
    screen.on_show_machine(to(|app| turn_to(app, ExerciseShows::Machine)));
    screen.on_show_pin(to(|app| turn_to(app, ExerciseShows::Pin)));
    screen.on_choose_view(to(choose_view));
    screen.on_expose(to(|app| {
        operate_touch::count_shots(app, 1);
    }));
    screen.on_accept(to(accept));
    screen.on_reject(to(reject));
    screen.on_finish(to(exercise_end::finish));
    screen.on_stop(to(exercise_end::stop));
    screen.on_back(to(|app| go_to(app, Screen::Operate)));
}

/// Opens the case of a rehearsal and goes to the machine, or to the first step of the whole pathway.
pub(super) fn enter(app: &Shared, case: OpenCase, (who, role): (PersonId, Role), session: Rehearsal, solids: Pelvis) {
    let task = session.exercise().task;
    let begun_ms = case.elapsed().ms;
    {
        let mut app = app.borrow_mut();
        app.holder = Some(Actor::new(role, who));
        (app.page, app.marking, app.scale) = (0, false, None);
        app.open = Some(case);
    }
    around::of(app).rehearsing.replace(Some(Running {
        view: wanted(task).first().copied().unwrap_or(ViewName::Lateral),
        session,
        solids: Arc::new(solids),
        begun_ms,
        shows: ExerciseShows::Machine,
        setting: false,
        supported: false,
        pin_mm: None,
        happened: None,
        told: String::new(),
        heed: false,
        picture: None,
        live: None,
    }));
    exercise_end::read_console(app, crate::dose::Moment::Opening);
    go_to(app, if task == Task::Pathway { Screen::Operate } else { Screen::Exercise });
}

fn go_to(app: &Shared, screen: Screen) {
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(screen);
    }
    app::refresh(app);
}

/// Goes to the machine, from a step of the whole pathway.
pub(super) fn show(app: &Shared) {
    if runs(app) {
        // The view that the step asks for is what the next shot is meant as.
        let asked = view_asked(app);
        with(app, |running| running.view = asked.unwrap_or(running.view));
        go_to(app, Screen::Exercise);
    }
}

/// Whether a rehearsal stands beside the case.
pub(super) fn runs(app: &Shared) -> bool {
    around::of(app).rehearsing.borrow().is_some()
}

/// The first open view check of the step the team is at.
fn view_asked(app: &Shared) -> Option<ViewName> {
    let app = app.borrow();
    let case = app.case()?;
    let here = &case.state().here;
    let places = case.places();
    let at = places.iter().find(|at| at.place == *here)?;
    case.open_checks(at).iter().find_map(|check| match check.ask {
        CheckKind::View { view, .. } => Some(view),
        _ => None,
    })
}

pub(super) fn with<T>(app: &Shared, does: impl FnOnce(&mut Running) -> T) -> Option<T> {
    around::of(app).rehearsing.borrow_mut().as_mut().map(does)
}

/// Shows the exercise.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let (around, plan) = (around::of(app), app.borrow().case().map(|case| case.plan().clone()));
    let running = around.rehearsing.borrow();
    let (Some(running), Some(plan)) = (running.as_ref(), plan) else { return };
    rows::fill(&window, &app.borrow(), running, &plan);
}

/// Carries a control out, says what came of it, and returns it; `None` if it was refused.
pub(super) fn control(app: &Shared, control: Control) -> Option<Told> {
    let now_ms = app.borrow().open.as_ref().map_or(0, |open| open.elapsed().ms);
    let told = with(app, |running| {
        let at_ms = now_ms.saturating_sub(running.begun_ms);
        let told = running.session.act(control, at_ms);
        rows::tell(running, control, &told);
        told.ok()
    });
    fill(app);
    told.flatten()
}

fn turn_to(app: &Shared, shows: ExerciseShows) {
    with(app, |running| (running.shows, running.setting) = (shows, false));
    fill(app);
}

fn drive(app: &Shared, id: &str, by: f64) {
    let joint = match id {
        "tilt" => Joint::Tilt,
        "orbit" => Joint::Orbit,
        "wag" => Joint::Wag,
        _ => return,
    };
    control(app, Control::Drive { joint, by: Degrees(by) });
}

fn shift(app: &Shared, id: &str) {
    let on = with(app, |running| (running.session.magnified(), running.supported)).unwrap_or_default();
    let asked = match id {
        "magnify" => Some(Control::Magnify { on: !on.0 }),
        "support" => Some(Control::Support { back: Degrees(if on.1 { 0.0 } else { rows::SUPPORT_DEG }) }),
        _ => rows::shift_of(id),
    };
    if let Some(asked) = asked {
        control(app, asked);
    }
}

fn pin_key(app: &Shared, id: &str) {
    if id == "set" {
        with(app, |running| {
            (running.setting, running.heed) = (true, false);
            "Touch the start on the lateral picture".clone_into(&mut running.told);
        });
        return fill(app);
    }
    let happened = with(app, |running| running.happened).flatten();
    let asked = if id == "handle" { happened.map(|mishap| Control::Handle { mishap }) } else { rows::pin_of(id) };
    if let Some(asked) = asked {
        control(app, asked);
    }
}

/// Sets the pin where the picture was touched, if that was asked for.
fn touch_picture(app: &Shared, [x, y]: [f64; 2]) {
    let at = with(app, |running| {
        let half = match running.session.image() {
            Image::None => return None,
            Image::Current(shot) | Image::Held(shot) => shot.half_field,
        };
        let place = |part: f64| (part - 0.5) * 2.0 * half;
        std::mem::take(&mut running.setting).then(|| ImagePoint { across_mm: place(x), down_mm: place(y) })
    });
    if let Some(at) = at.flatten() {
        control(app, Control::SetPin { at });
    }
}

fn choose_view(app: &Shared) {
    let Some((chosen, task)) = with(app, |running| (running.view, running.session.exercise().task)) else { return };
    let named = |view: &ViewName| row(view.word(), view.word(), "", *view == chosen);
    let mut rows: Vec<_> = wanted(task).iter().map(named).collect();
    let others = ViewName::ALL.iter().filter(|view| !wanted(task).contains(view) && **view != ViewName::InletAla);
    rows.extend(others.map(named));
    questions::pick(app, AroundAsked::ExerciseView, "The next shot is meant as", "", rows);
}

/// A view was picked.
pub(super) fn view_picked(app: &Shared, word: &str) {
    around::close(app);
    let known = ViewName::ALL.into_iter().find(|view| view.word() == word);
    with(app, |running| running.view = known.unwrap_or(running.view));
    fill(app);
}

/// A shot was counted in the case: the machine takes it. Called wherever a shot is counted, pedal included.
pub(super) fn exposed(app: &Shared) {
    let Some(view) = with(app, |running| running.view) else { return };
    let shown = window(app).map(|window| window.global::<Shell>().get_place());
    let view = if shown == Some(Screen::Operate) { view_asked(app).unwrap_or(view) } else { view };
    with(app, |running| running.view = view);
    if control(app, Control::Expose { view: Some(view) }).is_some() {
        exercise_picture::want(app);
    }
}

/// Takes the picture as the view that a step asks for; true if there is no rehearsal or it was taken.
pub(super) fn accepts(app: &Shared, view: ViewName) -> bool {
    if !runs(app) {
        return true;
    }
    if control(app, Control::Accept { view }).is_some() {
        return true;
    }
    let why = with(app, |running| running.told.clone()).unwrap_or_default();
    say::refused(app, &why);
    false
}

fn accept(app: &Shared) {
    let Some(view) = with(app, |running| running.view) else { return };
    if control(app, Control::Accept { view }).is_none() {
        return;
    }
    if let Some((place, check)) = open_check(app, view) {
        let by = app.borrow().holder.as_ref().map(|holder| holder.role);
        let answer = Answer::ViewAccepted { scale_deg: None, floor_mark: None };
        if let Some(by) = by {
            app::act(app, by, Command::Answer { place, check, answer });
        }
    }
    fill(app);
}

fn reject(app: &Shared) {
    let Some(view) = with(app, |running| running.view) else { return };
    if control(app, Control::Reject { view }).is_none() {
        return;
    }
    if let Some((place, check)) = open_check(app, view) {
        // Which criterion failed is asked at Operate alone.
        act_as_holder(app, Command::RejectView { place, check, failed: Vec::new() });
    }
    fill(app);
}

/// The open check that asks for a view, at the place the case is at.
pub(super) fn open_check(app: &Shared, view: ViewName) -> Option<(Place, String)> {
    let app = app.borrow();
    let case = app.case()?;
    let places = case.places();
    let at = places.iter().find(|at| at.place == case.state().here)?;
    let open = case.open_checks(at);
    let asks =
        |check: &&&crate::pathway::Check| matches!(check.ask, CheckKind::View { view: asked, .. } if asked == view);
    let check = open.iter().find(asks)?;
    Some((at.place.clone(), check.id.clone()))
}

/// The case was closed: the rehearsal ends with it, and its debrief comes first. True if there is one.
pub(super) fn ended(app: &Shared) -> bool {
    let Some(over) = with(app, |running| running.session.over()) else { return false };
    if !over {
        let finished = app
            .borrow()
            .case()
            .is_some_and(|case| matches!(case.state().status, Status::Closed(crate::case::Outcome::Finished)));
        control(app, if finished { Control::Finish } else { Control::StopUnsure });
    }
    debrief::show(app);
    true
}
