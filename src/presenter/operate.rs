//! Operate: the step the team is at, and the short list of an outcome, which is a step as well.

use super::app::{App, Shared};
use super::case_view::{self, model};
use super::dose_rows;
use super::operate_rows::{LineWidths, lines};
use crate::case::{Case, PlaceLayout, Status};
use crate::open_case::SaveState;
use brimline_ui::{AppWindow, CheckLine, CheckRoom, Operate, RowState};
use slint::{ComponentHandle, Model};

/// Fills the screen from the place the team is at.
pub(super) fn fill(window: &AppWindow, app: &Shared) {
    let Some(shown) = shown(window, &app.borrow()) else { return };
    app.borrow_mut().page = shown.page;
    let marking = app.borrow().marking;
    let operate = window.global::<Operate>();
    operate.set_title(shown.title.into());
    operate.set_hint(shown.hint.into());
    operate.set_pages(case_view::count(shown.pages));
    operate.set_page(case_view::count(shown.page));
    operate.set_checks_after(case_view::count(shown.after));
    // A list that is set anew takes a held touch that is under way with it: what was saved or received meanwhile must
    // not cost a confirmation.
    let lines: Vec<String> = shown.lines.iter().map(said).collect();
    if app.borrow().lines_shown != lines {
        operate.set_checks(model(shown.lines));
        app.borrow_mut().lines_shown = lines;
    }
    operate.set_next(shown.next.into());
    operate.set_next_detail(shown.next_detail.into());
    operate.set_next_enabled(shown.next_enabled);
    operate.set_marking(marking);
    operate.set_ending(shown.ending);
    operate.set_read_only(shown.read_only);
    operate.set_machine(super::exercise::runs(app));
    super::target_view::want(app);
}

/// Everything that a line shows, to tell whether it changed; models inside it are equal only to themselves.
fn said(line: &CheckLine) -> String {
    let mut said = format!("{:?} {:?} {} {} {}", line.ask, line.state, line.held, line.scale, line.id);
    for text in [&line.text, &line.detail, &line.view, &line.angle, &line.angle_words] {
        said.push('\n');
        said.push_str(text);
    }
    for text in line.cautions.iter().chain(line.criteria.iter()) {
        said.push('\n');
        said.push_str(&text);
    }
    said
}

struct Shown {
    title: String,
    hint: String,
    lines: Vec<CheckLine>,
    pages: usize,
    page: usize,
    after: usize,
    next: String,
    next_detail: String,
    next_enabled: bool,
    ending: bool,
    read_only: bool,
}

fn shown(window: &AppWindow, app: &App) -> Option<Shown> {
    let open = app.open.as_ref()?;
    let case = open.case();
    let place = case.state().here.clone();
    let step = case.step_at(&place)?;
    let at = PlaceLayout { place: place.clone(), step };
    let widths = widths(&window.global::<CheckRoom>());
    let all = lines(app, case, &at, widths);
    let title = case_view::title(case, &place);
    let hint = [step.hint.map(str::to_owned), dose_rows::image_here(case)].into_iter().flatten();
    let hint = hint.collect::<Vec<_>>().join(" · ");
    let pages = pages(window, app, &all, &title, &hint);
    let page = app.page.min(pages.len() - 1);
    let after = pages[page + 1..].iter().map(Vec::len).sum();
    let lines = pages[page].iter().map(|index| all[*index].clone()).collect();
    let open_here = case.open_checks(&at).len();
    let ending = matches!(case.state().status, Status::Ending(_));
    let read_only = open.save_state() == SaveState::ReadOnly;
    let (next, next_enabled) = next(case, &at, open_here, ending);
    let next_detail = match open_here {
        0 => "all answered in this step".to_owned(),
        1 => "1 check open in this step".to_owned(),
        more => format!("{more} checks open in this step"),
    };
    let pages = pages.len();
    Some(Shown { title, hint, lines, pages, page, after, next, next_detail, next_enabled, ending, read_only })
}

/// What the main action does, and whether it does it now.
fn next(case: &Case, at: &PlaceLayout<'_>, open_here: usize, ending: bool) -> (String, bool) {
    if ending {
        return ("Close the case".to_owned(), open_here == 0);
    }
    if let (Some(gate), false) = (at.step.gate, case.gate_passed(&at.place)) {
        return (format!("Gate: {}", gate.title), true);
    }
    match case.next_place() {
        Some(next) => (format!("Next: {}", case_view::title(case, &next)), true),
        None => ("Finish the case".to_owned(), open_here == 0),
    }
}

/// Checks of a step laid out on pages, as many as fit; at least one page.
fn pages(window: &AppWindow, app: &App, lines: &[CheckLine], title: &str, hint: &str) -> Vec<Vec<usize>> {
    let size = window.window().size().to_logical(window.window().scale_factor());
    let room = window.global::<CheckRoom>();
    let rehearsal = app.case().is_some_and(|case| case.state().opening.kind == crate::case::CaseKind::Rehearsal);
    let full = |turned| room.invoke_room(size.height, title.into(), hint.into(), turned, rehearsal);
    let mut pages = vec![Vec::new()];
    let mut left = full(false);
    for (index, line) in lines.iter().enumerate() {
        let height = room.invoke_height(line.clone(), app.marking) + room.invoke_gap();
        if height > left && pages.last().is_some_and(|page: &Vec<usize>| !page.is_empty()) {
            pages.push(Vec::new());
            left = full(true);
        }
        left -= height;
        pages.last_mut().expect("there is at least one page").push(index);
    }
    pages
}

/// The page turned to, while something is open on it; else the first with something open.
pub(super) fn page_after_answer(window: &AppWindow, app: &App) -> usize {
    let open_pages = open_pages(window, app);
    if open_pages.get(app.page).copied().unwrap_or(false) {
        return app.page;
    }
    open_pages.iter().position(|open| *open).unwrap_or(app.page)
}

/// The page of a place on which the first open check stands.
pub(super) fn first_open_page(window: &AppWindow, app: &App) -> usize {
    open_pages(window, app).iter().position(|open| *open).unwrap_or(0)
}

/// For each page of the present step, whether something is open on it.
fn open_pages(window: &AppWindow, app: &App) -> Vec<bool> {
    let Some(open) = &app.open else { return Vec::new() };
    let case = open.case();
    let place = case.state().here.clone();
    let Some(step) = case.step_at(&place) else { return Vec::new() };
    let at = PlaceLayout { place: place.clone(), step };
    let widths = widths(&window.global::<CheckRoom>());
    let all = lines(app, case, &at, widths);
    let pages = pages(window, app, &all, &case_view::title(case, &place), step.hint.unwrap_or_default());
    pages.iter().map(|page| page.iter().any(|index| all[*index].state == RowState::Open)).collect()
}

/// How many characters the screen puts on a line.
fn widths(room: &CheckRoom<'_>) -> LineWidths {
    let characters = |number: i32| usize::try_from(number).unwrap_or(1);
    LineWidths {
        caution: characters(room.get_caution_characters()),
        criterion: characters(room.get_criterion_characters()),
    }
}
