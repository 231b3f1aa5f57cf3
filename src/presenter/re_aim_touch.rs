//! Touches on the true lateral of a re-aim: up to four places, each of which can be touched again.

use super::app::Shared;
use super::case_view::model;
use super::re_aim_draft::Draft;
use super::re_aim_view::edit;
use super::touch;
use brimline_ui::{ImageMark, ImagePane, ImageTool, ReAimView};

/// A touch this near to a mark moves it, in parts of the side of the picture.
const NEAR: f64 = 0.04;
/// The field that lines are drawn on.
const FIELD: f64 = 1000.0;

pub(super) fn connect(screen: &ReAimView<'_>, app: &Shared) {
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
        edit(app, |draft| (draft.touched, draft.chosen) = ([None; 4], 0));
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
    let taken = draft.touched.iter().take(draft.places()).position(near).unwrap_or(draft.chosen);
    draft.touched[taken] = Some(at);
    (draft.chosen, draft.dragging, draft.answer) = (taken, Some(taken), None);
}

fn moved(draft: &mut Draft, x: f64, y: f64) {
    let (Some(taken), Some(picture)) = (draft.dragging, &draft.picture) else { return };
    draft.touched[taken] = Some(picture.spot(x.clamp(0.0, 1.0), y.clamp(0.0, 1.0)));
}

fn released(draft: &mut Draft) {
    let open = draft.touched.iter().take(draft.places()).position(Option::is_none);
    if let (Some(_), Some(open)) = (draft.dragging.take(), open) {
        draft.chosen = open;
    }
}

/// The lateral with its marks; `sizes`: of pane and loupe in pixels.
pub(super) fn pane(draft: &mut Draft, sizes: [u32; 2]) -> ImagePane {
    let finished = draft.answer.is_some();
    let open = draft.touched.iter().take(draft.places()).any(Option::is_none);
    let wanted = if finished || !open { String::new() } else { draft.name(draft.chosen) };
    let (touched, places, chosen) = (draft.touched, draft.places(), draft.chosen);
    let finger = draft.dragging.and_then(|taken| touched[taken]);
    let Some(picture) = &mut draft.picture else {
        let empty_text = "Choose the true lateral at the right".into();
        return ImagePane { empty_text, active: !finished, ..ImagePane::default() };
    };
    let place = |spot: [f64; 2]| {
        let [x, y] = picture.on_screen(spot);
        #[allow(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let place = (x as f32, y as f32);
        place
    };
    let (finger_x, finger_y) = finger.map(place).unwrap_or_default();
    let marks = touched.iter().take(places).enumerate().filter_map(|(number, spot)| {
        let (x, y) = place((*spot)?);
        Some(ImageMark { x, y, chosen: !finished && number == chosen, small: true })
    });
    let marks: Vec<ImageMark> = marks.collect();
    let strokes = touched[..places].chunks(2).filter_map(|pair| match pair {
        [Some(from), Some(to)] => {
            let ([ax, ay], [bx, by]) = (picture.on_screen(*from), picture.on_screen(*to));
            Some(format!("M{:.1} {:.1} L{:.1} {:.1}", ax * FIELD, ay * FIELD, bx * FIELD, by * FIELD))
        }
        _ => None,
    });
    let strokes = strokes.collect::<Vec<_>>().join(" ");
    ImagePane {
        caption: format!("Lateral · {}", picture.when).into(),
        filled: true,
        active: !finished,
        wanted: wanted.into(),
        marks: model(marks),
        strokes: strokes.into(),
        loupe: finger.map(|at| picture.loupe(at, sizes[1], sizes[0])).unwrap_or_default(),
        magnified: finger.is_some(),
        finger_x,
        finger_y,
        picture: picture.drawn(sizes[0]),
        ..ImagePane::default()
    }
}
