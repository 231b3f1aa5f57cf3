//! What every screen of a case shows: side, patient, phases, shots, ribbon, saved state.

use super::app::{App, Shared};
use super::{clocks, ribbon, worker};
use crate::case::{Case, CaseKind, Status};
use crate::open_case::SaveState;
use crate::pathway::Place;
use crate::plan::SacrumShape;
use crate::units::Side;
use brimline_ui::{AppWindow, CaseView, OperatedSide, PhaseRow, PhaseState, SavedState, ShotCount};
use slint::{ComponentHandle, ModelRc, VecModel};

/// Fills the frame of the case's screens.
pub(super) fn fill(window: &AppWindow, app: &Shared) {
    let view = window.global::<CaseView>();
    {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        view.set_side(side(case));
        view.set_patient(format!("{} · {}", case.plan().patient.name, case.plan().label).into());
        view.set_procedure(procedure(case).into());
        view.set_rehearsal(case.state().opening.kind == CaseKind::Rehearsal);
        view.set_counting(!matches!(case.state().status, Status::Closed(_)));
        view.set_shots(shots(case));
        view.set_pedal_words(format!("or pedal, {}", app.settings.pedal_key.name()).into());
        view.set_phases(model(phases(case)));
        ribbon::fill(&view, case);
    }
    fill_clocks(window, app);
}

/// The parts that change without a touch: clocks and saved state.
pub(super) fn fill_clocks(window: &AppWindow, app: &Shared) {
    let busy = worker::busy(app);
    let app = app.borrow();
    let (Some(open), view) = (&app.open, window.global::<CaseView>()) else { return };
    let case = open.case();
    let now = open.elapsed();
    let since = case.state().incision.map(|incision| clocks::long(now.ms.saturating_sub(incision.ms)));
    view.set_since_incision(since.unwrap_or_default().into());
    view.set_clock(app.world.clock.now().at.format("%H:%M").to_string().into());
    let (saved, unsaved, banner) = saved(&open.save_state());
    view.set_saved(saved);
    view.set_unsaved(unsaved);
    view.set_banner(if banner.is_empty() { busy.into() } else { banner.into() });
}

fn saved(state: &SaveState) -> (SavedState, i32, String) {
    match state {
        SaveState::Saved => (SavedState::Saved, 0, String::new()),
        SaveState::Saving => (SavedState::Saving, 0, String::new()),
        SaveState::NotSaved { pending, reason, .. } => {
            let words = format!("Not saved: {reason}. Touches count on; a crash now would lose {pending}.");
            (SavedState::NotSaved, i32::try_from(*pending).unwrap_or(i32::MAX), words)
        }
        SaveState::ReadOnly => (SavedState::ReadOnly, 0, "Read only: the journal is damaged".to_owned()),
    }
}

fn side(case: &Case) -> OperatedSide {
    let here = case.state().here.side;
    let sides = &case.facts().sides;
    match (here, sides.as_slice()) {
        (Some(Side::Left), _) | (None, [Side::Left]) => OperatedSide::Left,
        (Some(Side::Right), _) | (None, [Side::Right]) => OperatedSide::Right,
        (None, _) => OperatedSide::Both,
    }
}

/// The pathway's title and what the plan says of the sacrum on the side operated on.
pub(super) fn procedure(case: &Case) -> String {
    let shapes = case.plan().sides.iter().filter_map(|side| match side.sacrum {
        SacrumShape::Normal => None,
        SacrumShape::Dysmorphic => Some(format!("{} sacrum dysmorphic", side.side)),
        SacrumShape::NotJudged => Some(format!("{} sacrum not judged", side.side)),
    });
    std::iter::once(case.pathway().title.clone()).chain(shapes).collect::<Vec<_>>().join(" · ")
}

fn shots(case: &Case) -> ShotCount {
    let state = case.state();
    ShotCount {
        here: count(state.shots_at(&state.here)),
        case: count(state.shots_kept()),
        time: clocks::short(state.run_seconds).into(),
        ..ShotCount::default()
    }
}

/// A count as the screen takes it.
pub(super) fn count(number: impl TryInto<i32>) -> i32 {
    number.try_into().unwrap_or(i32::MAX)
}

/// Checks of a phase that apply, and how many of them are open.
fn tally(case: &Case, phase: usize) -> (usize, usize) {
    let places = case.places();
    let of_phase = places.iter().filter(|at| at.step.phase == Some(phase));
    of_phase.fold((0, 0), |(all, open), at| (all + case.checks_at(at).len(), open + case.open_checks(at).len()))
}

fn phases(case: &Case) -> Vec<PhaseRow> {
    let here = case.step_at(&case.state().here).and_then(|step| step.phase);
    let rows = case.pathway().phases.iter().enumerate().map(|(index, phase)| {
        let (all, open) = tally(case, index);
        let done = all - open;
        let state = match here {
            Some(here) if here == index => PhaseState::Here,
            _ if open == 0 && all > 0 => PhaseState::Done,
            _ if done > 0 => PhaseState::LeftOpen,
            _ => PhaseState::Ahead,
        };
        let words = match state {
            PhaseState::Here => format!("{done} of {all}"),
            PhaseState::LeftOpen => format!("{open} open"),
            _ => all.to_string(),
        };
        PhaseRow { title: phase.title.as_str().into(), count: words.into(), state }
    });
    rows.collect()
}

/// A model of rows.
pub(super) fn model<T: Clone + 'static>(rows: Vec<T>) -> ModelRc<T> {
    ModelRc::new(VecModel::from(rows))
}

/// The title of a place: its step, its side where there are two, its implant where there are several.
pub(super) fn title(case: &Case, place: &Place) -> String {
    let mut title = case.step_at(place).map(|step| step.title.to_owned()).unwrap_or_default();
    if let (Some(side), true) = (place.side, case.facts().sides.len() > 1) {
        title = format!("{title}, {side}");
    }
    let several = place.side.and_then(|side| case.state().implants.get(&side)).is_some_and(|count| *count > 1);
    match place.implant {
        Some(implant) if several => format!("{title}, implant {implant}"),
        _ => title,
    }
}

impl App {
    /// The phase of a place and its title, for lists.
    pub(super) fn phase_title(case: &Case, place: &Place) -> String {
        let phase = case.step_at(place).and_then(|step| step.phase);
        phase.map(|phase| case.pathway().phases[phase].title.clone()).unwrap_or_default()
    }
}
