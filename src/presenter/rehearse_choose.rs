//! Rehearse: what, on whom, and where the machine stands; then the model is built beside the window and the case opened.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::case_view::model;
use super::questions::{self, row};
use super::{exercise, exercise_case, home, keys, say, touch, worker};
use crate::carm::{Tube, ViewName};
use crate::case::{Exercise, PersonKind, Task};
use crate::people::{PersonId, Role, Roster};
use crate::rehearse::{Rehearsal, wanted};
use crate::units::Side;
use brimline_ui::{AppWindow, FieldLine, PickRow, Place, Rehearse, Shell};
use slint::ComponentHandle;

/// People are counted from 1 to this one.
const PEOPLE: u32 = 9_999;
/// Views that the model shows truly and an exercise may ask for.
const VIEWS: [ViewName; 7] = [
    ViewName::Lateral,
    ViewName::InletBody,
    ViewName::InletCanal,
    ViewName::OutletWorking,
    ViewName::OutletEndplate,
    ViewName::OutletEnFace,
    ViewName::Ap,
];

/// What is chosen so far.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Draft {
    pub exercise: Exercise,
    pub trainee: Option<PersonId>,
}

impl Default for Draft {
    fn default() -> Self {
        let exercise = Exercise {
            task: Task::View(ViewName::InletBody),
            person: PersonKind::Normal,
            operated: Side::Right,
            stand: Side::Left,
            tube: Tube::Under,
            seed: 1,
        };
        Self { exercise, trainee: None }
    }
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Rehearse>();
    screen.on_change(touch::named(app, change));
    screen.on_another(touch::plain(app, another));
    screen.on_begin(touch::plain(app, begin));
    screen.on_leave(touch::plain(app, home::show));
}

/// Shows the choice, as it was left.
pub(super) fn show(app: &Shared) {
    // A roster that cannot be read is told on Home, where one came from.
    let _ = keys::load(app);
    fill(app);
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Rehearse);
    }
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let draft = around::of(app).choosing.borrow().clone();
    let screen = window.global::<Rehearse>();
    let trainee = trainee(&app.borrow().roster, &draft);
    let name = trainee.as_ref().map(|(person, _)| app.borrow().name_of(person));
    screen.set_rows(model(rows(&draft.exercise, name.as_deref())));
    screen.set_seed(format!("Person {}", draft.exercise.seed).into());
    screen.set_about(about(draft.exercise.task).into());
    screen.set_ready(trainee.is_some());
    let missing = if trainee.is_some() { "the model is built first, a moment" } else { "nobody is on the roster yet" };
    screen.set_missing(missing.into());
    screen.set_busy(worker::busy(app).into());
}

/// The rows of the form.
fn rows(exercise: &Exercise, trainee: Option<&str>) -> Vec<FieldLine> {
    let line = |id: &str, label: &str, value: String| FieldLine {
        id: id.into(),
        label: label.into(),
        value: say::capitalised(&value).into(),
        ..FieldLine::default()
    };
    vec![
        line("task", "Exercise", exercise.task.to_string()),
        line("person", "Person on the table", exercise.person.to_string()),
        line("operated", "Operated side", exercise.operated.to_string()),
        line("stand", "The machine stands on", format!("the patient's {}", exercise.stand)),
        line("tube", "The tube is", tube_words(exercise.tube).to_owned()),
        line("trainee", "Who rehearses", trainee.unwrap_or_default().to_owned()),
    ]
}

fn tube_words(tube: Tube) -> &'static str {
    match tube {
        Tube::Under => "under the table",
        Tube::Over => "over the table",
    }
}

/// What a task asks, in a line.
fn about(task: Task) -> String {
    let views = wanted(task).iter().map(|view| view.word().to_lowercase()).collect::<Vec<_>>().join("; ");
    match task {
        Task::View(_) => {
            "From a random start: bring the machine to the view, expose, and accept it or look again.".into()
        }
        Task::ReAim => format!("The pelvis turns on the table meanwhile: find both views again ({views})."),
        Task::Pin => format!("Set the pin on the lateral, advance it watched, and accept every view ({views})."),
        Task::Pathway => "All of Operate with the machine beside it; something goes wrong on the way.".into(),
    }
}

/// Who rehearses and as what: the one chosen, else the first on the roster.
fn trainee(roster: &Roster, draft: &Draft) -> Option<(PersonId, Role)> {
    let chosen = draft.trainee.as_ref().and_then(|kid| roster.person(kid));
    let person = chosen.or_else(|| roster.people().iter().find(|person| !person.retired()))?;
    Some((person.kid().clone(), *person.roles().first()?))
}

fn change(app: &Shared, what: &str) {
    let draft = around::of(app).choosing.borrow().clone();
    let exercise = draft.exercise;
    let (title, rows) = match what {
        "task" => ("Exercise", task_rows(exercise.task)),
        "person" => ("Person on the table", person_rows(exercise.person)),
        "operated" => ("Operated side", side_rows(exercise.operated, "")),
        "stand" => ("The machine stands on", side_rows(exercise.stand, "the patient's ")),
        "tube" => ("The tube is", tube_rows(exercise.tube)),
        "trainee" => ("Who rehearses", trainee_rows(&app.borrow().roster, draft.trainee.as_ref())),
        _ => return,
    };
    questions::pick(app, AroundAsked::Rehearse(what.to_owned()), title, "", rows);
}

fn tasks() -> Vec<(String, Task)> {
    let views = VIEWS.map(|view| (exercise_case::check_id(view), Task::View(view)));
    let others = [("re-aim", Task::ReAim), ("pin", Task::Pin), ("pathway", Task::Pathway)];
    views.into_iter().chain(others.map(|(id, task)| (id.to_owned(), task))).collect()
}

fn task_rows(chosen: Task) -> Vec<PickRow> {
    tasks().iter().map(|(id, task)| row(id, &say::capitalised(&task.to_string()), "", *task == chosen)).collect()
}

fn person_rows(chosen: PersonKind) -> Vec<PickRow> {
    let named = |(at, kind): (usize, PersonKind)| {
        row(&at.to_string(), &say::capitalised(&kind.to_string()), "", kind == chosen)
    };
    PersonKind::ALL.into_iter().enumerate().map(named).collect()
}

fn side_rows(chosen: Side, before: &str) -> Vec<PickRow> {
    let named = |(id, side): (&str, Side)| row(id, &say::capitalised(&format!("{before}{side}")), "", side == chosen);
    [("left", Side::Left), ("right", Side::Right)].into_iter().map(named).collect()
}

fn tube_rows(chosen: Tube) -> Vec<PickRow> {
    let named = |(id, tube): (&str, Tube)| row(id, &say::capitalised(tube_words(tube)), "", tube == chosen);
    [("under", Tube::Under), ("over", Tube::Over)].into_iter().map(named).collect()
}

fn trainee_rows(roster: &Roster, chosen: Option<&PersonId>) -> Vec<PickRow> {
    let people = roster.people().iter().filter(|person| !person.retired() && !person.roles().is_empty());
    people.map(|person| row(&person.kid().0, person.name(), "", chosen == Some(person.kid()))).collect()
}

/// A row of a list was touched.
pub(super) fn picked(app: &Shared, what: &str, id: &str) {
    around::close(app);
    {
        let around = around::of(app);
        let mut draft = around.choosing.borrow_mut();
        put(&mut draft, what, id);
    }
    fill(app);
}

fn put(draft: &mut Draft, what: &str, id: &str) {
    let exercise = &mut draft.exercise;
    let side = if id == "left" { Side::Left } else { Side::Right };
    match what {
        "task" => {
            if let Some((_, task)) = tasks().into_iter().find(|(known, _)| known == id) {
                exercise.task = task;
            }
        }
        "person" => {
            let known = id.parse().ok().and_then(|at: usize| PersonKind::ALL.get(at).copied());
            exercise.person = known.unwrap_or(exercise.person);
        }
        "operated" => exercise.operated = side,
        "stand" => exercise.stand = side,
        "tube" => exercise.tube = if id == "over" { Tube::Over } else { Tube::Under },
        "trainee" => draft.trainee = Some(PersonId(id.to_owned())),
        _ => {}
    }
}

fn another(app: &Shared) {
    {
        let around = around::of(app);
        let mut draft = around.choosing.borrow_mut();
        draft.exercise.seed = draft.exercise.seed % PEOPLE + 1;
    }
    fill(app);
}

/// Builds the person beside the window, then opens the case and goes to the machine.
fn begin(app: &Shared) {
    home::put_away(app);
    let chosen = around::of(app).choosing.borrow().exercise;
    let work = move || {
        let rehearsal = Rehearsal::begin(chosen, None);
        let solids = rehearsal.solids();
        (rehearsal, solids)
    };
    worker::start(app, "The model person is being built", work, |app, (rehearsal, solids)| {
        let draft = around::of(app).choosing.borrow().clone();
        let trainee = trainee(&app.borrow().roster, &draft);
        let Some((who, role)) = trainee else { return fill(app) };
        match exercise_case::create(app, &rehearsal, &who, role) {
            Ok(case) => exercise::enter(app, case, (who, role), rehearsal, solids),
            Err(fault) => questions::tell(
                app,
                "The rehearsal is not begun",
                &fault,
                "No case is open.",
                "Put right what is named, or choose another exercise.",
            ),
        }
        fill(app);
    });
    fill(app);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_a_list_is_what_it_says() {
        let mut draft = Draft::default();
        for (id, task) in tasks() {
            put(&mut draft, "task", &id);
            assert_eq!(draft.exercise.task, task);
        }
        for (at, kind) in PersonKind::ALL.into_iter().enumerate() {
            put(&mut draft, "person", &at.to_string());
            assert_eq!(draft.exercise.person, kind);
        }
        put(&mut draft, "operated", "left");
        put(&mut draft, "stand", "right");
        put(&mut draft, "tube", "over");
        let exercise = draft.exercise;
        assert_eq!((exercise.operated, exercise.stand, exercise.tube), (Side::Left, Side::Right, Tube::Over));
        let rows = rows(&exercise, Some("K. Brandt"));
        let said: Vec<&str> = rows.iter().map(|row| row.value.as_str()).collect();
        assert_eq!(
            said,
            ["The whole pathway", "Bowel gas", "Left", "The patient's right", "Over the table", "K. Brandt"]
        );
    }
}
