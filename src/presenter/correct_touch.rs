//! Touches on the picture of a view correction: two landmarks, each of which can be touched again.

use super::app::Shared;
use super::case_view::model;
use super::correct_draft::Draft;
use super::correct_view::edit;
use super::touch;
use super::view_known::known;
use crate::plan::Plan;
use brimline_ui::{CorrectView, ImageMark, ImagePane, ImageTool};

/// A touch this near to a mark moves it, in parts of the side of the picture.
const NEAR: f64 = 0.06;

pub(super) fn connect(screen: &CorrectView<'_>, app: &Shared) {
    let on = std::rc::Rc::downgrade(app);
    screen.on_pressed(move |x, y| {
        if let Some(app) = on.upgrade() {
            edit(&app, |draft| pressed(draft, f64::from(x), f64::from(y)));
        }
    });
    let on = std::rc::Rc::downgrade(app);
    screen.on_moved(move |x, y| {
        if let Some(app) = on.upgrade() {
            edit(&app, |draft| moved(draft, f64::from(x), f64::from(y)));
        }
    });
    screen.on_released(touch::plain(app, |app| edit(app, released)));
    screen.on_touch_again(touch::plain(app, |app| {
        edit(app, |draft| (draft.touched, draft.chosen, draft.typed) = ([None; 2], 0, [None; 2]));
    }));
    let on = std::rc::Rc::downgrade(app);
    screen.on_use_tool(move |tool: ImageTool| {
        if let Some(app) = on.upgrade() {
            edit(&app, |draft| {
                if let Some(picture) = &mut draft.picture {
                    picture.use_tool(tool);
                }
            });
        }
    });
}

fn pressed(draft: &mut Draft, x: f64, y: f64) {
    let Some(picture) = &draft.picture else { return };
    let near = |spot: &Option<[f64; 2]>| {
        spot.is_some_and(|spot| {
            let [at_x, at_y] = picture.on_screen(spot);
            (at_x - x).hypot(at_y - y) <= NEAR
        })
    };
    let at = picture.spot(x, y);
    let taken = draft.touched.iter().position(near).unwrap_or(draft.chosen);
    draft.touched[taken] = Some(at);
    (draft.chosen, draft.dragging, draft.answer) = (taken, Some(taken), None);
}

fn moved(draft: &mut Draft, x: f64, y: f64) {
    let (Some(taken), Some(picture)) = (draft.dragging, &draft.picture) else { return };
    draft.touched[taken] = Some(picture.spot(x.clamp(0.0, 1.0), y.clamp(0.0, 1.0)));
}

fn released(draft: &mut Draft) {
    if draft.dragging.take().is_some()
        && let Some(open) = draft.touched.iter().position(Option::is_none)
    {
        draft.chosen = open;
    }
}

/// The picture with its two marks; `sizes`: of pane and loupe in pixels.
pub(super) fn pane(draft: &mut Draft, plan: &Plan, sizes: [u32; 2]) -> ImagePane {
    let (names, finished) = (draft.names(), draft.answer.is_some());
    let file = draft.picture.as_ref().map(|picture| &picture.image.geometry);
    let known = known(plan, draft.view, draft.room, draft.joints_deg[0], file).map(|known| known.words);
    let Some(picture) = &mut draft.picture else {
        let empty_text = "No picture: type what stands apart, or choose one at the right".into();
        return ImagePane { empty_text, active: !finished, ..ImagePane::default() };
    };
    let finger = draft.dragging.and_then(|taken| draft.touched[taken]);
    let place = |spot: [f64; 2]| {
        let [x, y] = picture.on_screen(spot);
        #[allow(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let place = (x as f32, y as f32);
        place
    };
    let (finger_x, finger_y) = finger.map(place).unwrap_or_default();
    let marks = draft.touched.iter().enumerate().filter_map(|(number, spot)| {
        let (x, y) = place((*spot)?);
        Some(ImageMark { x, y, chosen: !finished && number == draft.chosen, small: false })
    });
    let marks: Vec<ImageMark> = marks.collect();
    let both_set = draft.touched.iter().all(Option::is_some);
    let wanted = if finished || both_set { "" } else { names[draft.chosen] };
    ImagePane {
        caption: format!("{} · {} · {}", draft.view, known.unwrap_or_default(), picture.when).into(),
        filled: true,
        active: !finished,
        wanted: wanted.into(),
        marks: model(marks),
        loupe: finger.map(|at| picture.loupe(at, sizes[1], sizes[0])).unwrap_or_default(),
        magnified: finger.is_some(),
        finger_x,
        finger_y,
        picture: picture.drawn(sizes[0]),
        ..ImagePane::default()
    }
}
