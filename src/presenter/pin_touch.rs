//! Touches on the pictures of the pin: marks are set, moved and touched again, and the next one is asked for.

use super::app::Shared;
use super::pin_draft::{Draft, Mark};
use super::pin_view;
use brimline_ui::{ImageTool, PaneTouch, PinView};

/// A touch this near to a mark moves it, in parts of the side of the picture: 16 of 400 px, half a fingertip.
const NEAR: f64 = 0.04;

pub(super) fn connect(screen: &PinView<'_>, app: &Shared) {
    let on = std::rc::Rc::downgrade(app);
    screen.on_pressed(move |touch| {
        if let Some(app) = on.upgrade() {
            edit(&app, &touch, pressed);
        }
    });
    let on = std::rc::Rc::downgrade(app);
    screen.on_moved(move |touch| {
        if let Some(app) = on.upgrade() {
            edit(&app, &touch, moved);
        }
    });
    let on = std::rc::Rc::downgrade(app);
    screen.on_released(move |_| {
        if let Some(app) = on.upgrade() {
            pin_view::edit(&app, released);
        }
    });
    let on = std::rc::Rc::downgrade(app);
    screen.on_use_tool(move |tool: ImageTool| {
        if let Some(app) = on.upgrade() {
            pin_view::edit(&app, |draft| {
                if let Some(picture) = &mut draft.panes[draft.chosen.0].picture {
                    picture.use_tool(tool);
                }
            });
        }
    });
}

fn edit(app: &Shared, touch: &PaneTouch, change: fn(&mut Draft, usize, f64, f64)) {
    let Ok(pane) = usize::try_from(touch.pane) else { return };
    let (x, y) = (f64::from(touch.x), f64::from(touch.y));
    pin_view::edit(app, |draft| {
        if let Some(pane) = draft.shown().get(pane).copied() {
            change(draft, pane, x, y);
        }
    });
}

/// A finger came down: takes the mark beneath it, or sets the one that is asked for.
fn pressed(draft: &mut Draft, pane: usize, x: f64, y: f64) {
    let Some(picture) = &draft.panes[pane].picture else {
        draft.chosen.0 = pane;
        return;
    };
    let near = |spot: &[f64; 2]| {
        let [at_x, at_y] = picture.on_screen(*spot);
        (at_x - x).hypot(at_y - y) <= NEAR
    };
    let touched = draft.panes[pane].touched.iter();
    let found = touched.flat_map(|(mark, spots)| spots.iter().enumerate().map(move |(at, spot)| (*mark, at, spot)));
    let taken = found.filter(|(.., spot)| near(spot)).map(|(mark, at, _)| (mark, at)).next();
    let at = picture.spot(x, y);
    let (mark, index) = taken.unwrap_or_else(|| next_place(draft, pane));
    draft.chosen = (pane, mark);
    let spots = draft.panes[pane].touched.entry(mark).or_default();
    if index < spots.len() {
        spots[index] = at;
    } else {
        spots.push(at);
    }
    draft.dragging = Some((pane, mark, index));
    draft.finding = None;
}

/// The mark asked for on a view, and which of its places the touch sets.
fn next_place(draft: &Draft, pane: usize) -> (Mark, usize) {
    let wanted = if draft.chosen.0 == pane {
        draft.chosen.1
    } else {
        let open = |mark: &Mark| draft.panes[pane].touched.get(mark).is_none_or(Vec::is_empty);
        draft.marks(pane).into_iter().find(open).unwrap_or(Mark::Tip)
    };
    let set = draft.panes[pane].touched.get(&wanted).map_or(0, Vec::len);
    (wanted, set.min(wanted.places() - 1))
}

fn moved(draft: &mut Draft, pane: usize, x: f64, y: f64) {
    let Some((dragged, mark, index)) = draft.dragging else { return };
    let Some(picture) = draft.panes[pane].picture.as_ref().filter(|_| dragged == pane) else { return };
    let at = picture.spot(x.clamp(0.0, 1.0), y.clamp(0.0, 1.0));
    if let Some(spot) = draft.panes[pane].touched.get_mut(&mark).and_then(|spots| spots.get_mut(index)) {
        *spot = at;
    }
}

/// The finger left: asks for what a finding needs next, and stays where several places are touched.
fn released(draft: &mut Draft) {
    let Some((pane, mark, _)) = draft.dragging.take() else { return };
    let set = draft.panes[pane].touched.get(&mark).map_or(0, Vec::len);
    if set < mark.places() {
        return;
    }
    let open = |pane: usize, mark: &Mark| draft.panes[pane].touched.get(mark).map_or(0, Vec::len) < mark.places();
    let needed = |mark: &Mark| matches!(mark, Mark::Tip | Mark::Shank | Mark::Length);
    let on = |pane: usize| draft.marks(pane).into_iter().filter(needed).find(|mark| open(pane, mark));
    let next = draft.from(pane).into_iter().find_map(|pane| Some((pane, on(pane)?)));
    if let Some(next) = next {
        draft.chosen = next;
    }
}
