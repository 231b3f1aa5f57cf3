//! What a view must show: asked for when a view check comes on screen, drawn beside the window, shown when touched.
//!
//! Pictures are kept for the case that is open; each errand carries the generation of that case, and what comes back
//! for one that was left is dropped. What it does not do: nothing is decided from a model's picture.

use super::app::{self, Shared, window};
use super::case_view::model;
use super::errand::Errand;
use super::target_model::{self, Drawn, Model};
use super::view_known::Room;
use super::{around, operate_touch, pin_view, touch};
use crate::carm::ViewName;
use crate::case::Case;
use crate::fluoro::Structure;
use crate::pathway::CheckKind;
use crate::pelvis::Fitted;
use brimline_ui::{
    AppWindow, CheckLine, CheckRoom, ImageMark, ImagePane, Operate, Place as Screen, RowState, Shell, TargetLine,
    TargetMark, TargetRoom, TargetView,
};
use slint::{ComponentHandle, Image, Model as _};
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

const LABEL: &str = "model, not this patient";
const ADVISORY: &str = "A model's picture, labelled as that: distances in it are not this patient's. Advisory: the surgeon's \
                        reading of the image decides.";
/// A side of the field on which lines over a picture are written.
const FIELD: f64 = 1000.0;

/// A view that was drawn, with its pictures as the window takes them.
struct Made {
    small: Image,
    large: Image,
    drawn: Drawn,
}

/// The pictures of the open case.
#[derive(Default)]
pub(super) struct Shelf {
    /// Folder of the case they belong to.
    case: RefCell<Option<PathBuf>>,
    generation: Cell<u64>,
    model: RefCell<Option<Arc<Model>>>,
    made: RefCell<BTreeMap<ViewName, Result<Made, String>>>,
    /// The view on screen.
    shown: Cell<Option<ViewName>>,
    errand: Errand,
}

impl Shelf {
    /// The small picture of a view, once there is one.
    pub fn small(&self, view: ViewName) -> Option<Image> {
        self.made.borrow().get(&view)?.as_ref().ok().map(|made| made.small.clone())
    }

    fn of_case(&self, folder: PathBuf) {
        if self.case.borrow().as_ref() == Some(&folder) {
            return;
        }
        self.case.replace(Some(folder));
        self.generation.set(self.generation.get() + 1);
        self.model.take();
        self.made.borrow_mut().clear();
        self.shown.set(None);
    }
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    window.global::<TargetView>().on_leave(touch::plain(app, leave));
    window.global::<Operate>().on_show_target(touch::named(app, show));
}

/// Begins to draw what a view on screen must show, unless it was drawn or something is being drawn.
pub(super) fn want(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let shelf = &around.targets;
    let Some((folder, view)) = next_view(app, &window) else { return };
    shelf.of_case(folder);
    let Some(view) = view.or_else(|| shelf.shown.get()) else { return };
    let (plan, room) = {
        let app = app.borrow();
        let Some(case) = app.case() else { return };
        (case.plan().clone(), room(case))
    };
    let (known_model, generation) = (shelf.model.borrow().clone(), shelf.generation.get());
    let scale = f64::from(window.window().scale_factor());
    let sizes = [window.global::<CheckRoom>().get_tile(), window.global::<TargetRoom>().get_pane()];
    let pixels = sizes.map(|length| pin_view::whole(f64::from(length) * scale));
    let work = move || {
        let model = known_model.unwrap_or_else(|| Arc::new(Model::of(&target_model::known(&plan))));
        let drawn = target_model::drawn(&model, &plan, view, room, pixels);
        (model, drawn)
    };
    shelf.errand.run(app, work, move |app, (model, drawn)| {
        if around::of(app).targets.generation.get() == generation {
            keep(app, view, model, drawn);
        }
        want(app);
    });
}

/// The folder of the open case, and the first view on the page that was not drawn yet.
fn next_view(app: &Shared, window: &AppWindow) -> Option<(PathBuf, Option<ViewName>)> {
    let around = around::of(app);
    let folder = app.borrow().open.as_ref()?.folder().to_owned();
    let same = around.targets.case.borrow().as_ref() == Some(&folder);
    let made = around.targets.made.borrow();
    let open = |line: &CheckLine| line.shows && line.state == RowState::Open;
    let views = window.global::<Operate>().get_checks().iter().filter(open).collect::<Vec<_>>();
    let mut views = views.iter().filter_map(|line| view_of(app, &line.id));
    let view = views.find(|view| !same || !made.contains_key(view));
    let shown = around.targets.shown.get().filter(|view| !made.contains_key(view));
    (view.is_some() || shown.is_some()).then_some((folder, view))
}

fn view_of(app: &Shared, check: &str) -> Option<ViewName> {
    match operate_touch::here(app, check)?.1.ask {
        CheckKind::View { view, .. } => Some(view),
        _ => None,
    }
}

/// Prone and the tube below, as the built-in pathways have it; an exercise says where its machine stands.
fn room(case: &Case) -> Room {
    let exercise = case.state().opening.exercise;
    exercise.map_or(Room::USUAL, |exercise| Room { tube: exercise.tube, stand: exercise.stand, ..Room::USUAL })
}

fn keep(app: &Shared, view: ViewName, model: Arc<Model>, drawn: Result<Drawn, String>) {
    let around = around::of(app);
    around.targets.model.replace(Some(model));
    let made = drawn.map(|drawn| {
        let [small, large] = [&drawn.small, &drawn.large].map(|buffer| Image::from_rgb8(buffer.clone()));
        Made { small, large, drawn }
    });
    around.targets.made.borrow_mut().insert(view, made);
    show_small(app, view);
    if around.targets.shown.get() == Some(view) {
        fill(app);
    }
}

/// Puts the small picture into its line in place, so that a held touch beside it goes on.
fn show_small(app: &Shared, view: ViewName) {
    let (Some(window), Some(small)) = (window(app), around::of(app).targets.small(view)) else { return };
    let lines = window.global::<Operate>().get_checks();
    for at in 0..lines.row_count() {
        let Some(line) = lines.row_data(at).filter(|line| line.shows) else { continue };
        if view_of(app, &line.id) == Some(view) {
            lines.set_row_data(at, CheckLine { pictured: true, picture: small.clone(), ..line });
        }
    }
}

/// Shows what the view of a check must show.
fn show(app: &Shared, check: &str) {
    let Some(view) = view_of(app, check) else { return };
    around::of(app).targets.shown.set(Some(view));
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Target);
    }
    fill(app);
    want(app);
}

/// Fills the screen with the view that is shown.
pub(super) fn fill(app: &Shared) {
    let (Some(window), around) = (window(app), around::of(app)) else { return };
    let shelf = &around.targets;
    let Some(view) = shelf.shown.get() else { return };
    let screen = window.global::<TargetView>();
    screen.set_title(view.word().into());
    screen.set_advisory(ADVISORY.into());
    let (made, fitted) = (shelf.made.borrow(), shelf.model.borrow());
    match (made.get(&view), fitted.as_ref()) {
        (Some(Ok(made)), Some(model)) => fill_made(&screen, made, &model.fitted),
        (Some(Err(fault)), _) => fill_empty(&screen, &format!("No picture of the model: {fault}")),
        _ => fill_empty(&screen, "The picture of the model is being drawn"),
    }
}

fn fill_empty(screen: &TargetView<'_>, why: &str) {
    screen.set_pane(ImagePane { caption: LABEL.into(), empty_text: why.into(), ..ImagePane::default() });
    screen.set_marks(model(Vec::new()));
    screen.set_lines(model(Vec::new()));
    for set in [TargetView::set_angle, TargetView::set_angle_words, TargetView::set_measured] {
        set(screen, "".into());
    }
    screen.set_typical("".into());
    screen.set_notice("".into());
}

fn fill_made(screen: &TargetView<'_>, made: &Made, fitted: &Fitted) {
    let drawn = &made.drawn;
    let places = drawn.structures.iter().flat_map(|structure| structure.lines.iter().filter(|line| line.len() == 1));
    let rings = places.flatten().map(|[x, y]| ImageMark { x: single(*x), y: single(*y), chosen: false, small: false });
    screen.set_pane(ImagePane {
        caption: LABEL.into(),
        picture: made.large.clone(),
        filled: true,
        marks: model(rings.collect()),
        strokes: strokes(&drawn.structures).into(),
        ..ImagePane::default()
    });
    screen.set_marks(model(marks(&drawn.structures)));
    screen.set_lines(model(lines(&drawn.structures)));
    screen.set_angle(drawn.angle.as_str().into());
    screen.set_angle_words(drawn.words.as_str().into());
    screen.set_measured(listed("From this patient", &fitted.measured).into());
    screen.set_typical(listed("Typical, not measured", &typical(fitted, drawn)).into());
    screen.set_notice(notice(fitted, drawn).into());
}

fn listed(head: &str, what: &[String]) -> String {
    if what.is_empty() { String::new() } else { format!("{head}: {}", what.join(", ")) }
}

fn typical(fitted: &Fitted, drawn: &Drawn) -> Vec<String> {
    let turned = drawn.turned.iter().filter(|_| !drawn.turned_far);
    fitted.typical.iter().chain(turned).cloned().collect()
}

/// What the model cannot follow.
fn notice(fitted: &Fitted, drawn: &Drawn) -> String {
    let held = listed("Beyond what the model follows, held at its border", &fitted.held);
    let turned = drawn.turned.iter().filter(|_| drawn.turned_far).map(|words| super::say::capitalised(words));
    [held].into_iter().filter(|words| !words.is_empty()).chain(turned).collect::<Vec<_>>().join(". ")
}

#[allow(clippy::cast_possible_truncation, reason = "a place on a screen")]
fn single(part: f64) -> f32 {
    part as f32
}

/// Numbers beside what lies on the picture, one for each structure.
fn marks(structures: &[Structure]) -> Vec<TargetMark> {
    let first = |(at, structure): (usize, &Structure)| {
        let inside = |place: &&[f64; 2]| place.iter().all(|part| (0.0..=1.0).contains(part));
        let [x, y] = structure.lines.iter().flatten().find(inside)?;
        Some(TargetMark { number: number(at), x: single(*x), y: single(*y) })
    };
    structures.iter().enumerate().filter_map(first).collect()
}

fn number(at: usize) -> slint::SharedString {
    slint::format!("{}", at + 1)
}

fn lines(structures: &[Structure]) -> Vec<TargetLine> {
    let row = |(at, structure): (usize, &Structure)| TargetLine { number: number(at), text: structure.name.into() };
    structures.iter().enumerate().map(row).collect()
}

/// Structures that are lines, as commands of a path.
fn strokes(structures: &[Structure]) -> String {
    let mut commands = String::new();
    for line in structures.iter().flat_map(|structure| &structure.lines).filter(|line| line.len() > 1) {
        for (at, [x, y]) in line.iter().enumerate() {
            let letter = if at == 0 { 'M' } else { 'L' };
            let _ = write!(commands, "{letter}{:.1} {:.1} ", x * FIELD, y * FIELD);
        }
    }
    commands
}

/// Back to the step.
fn leave(app: &Shared) {
    around::of(app).targets.shown.set(None);
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Screen::Operate);
    }
    app::refresh(app);
}
