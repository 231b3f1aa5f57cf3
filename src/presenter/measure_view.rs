//! Measuring on a picture for the plan: shown, touched, taken into the plan with its ±.

use super::app::{Shared, window};
use super::around::{self, AroundAsked};
use super::case_view::model;
use super::measure_draft::{Draft, Measured, Measures, ROUNDS_MAX};
use super::picture::Picture;
use super::questions::{self, NumberOf, row};
use super::{numbers, phrases, pictures, pin_view, plan_view, touch};
use brimline_ui::{
    AppWindow, FieldLine, FindingLine, ImageMark, ImagePane, ImageRoom, ImageTool, MeasureView, Place, Shell,
};
use slint::ComponentHandle;

/// A touch this near to a mark moves it, in parts of the side of the picture.
const NEAR: f64 = 0.04;
/// Length of a marker that is believed, mm.
const MARKER_MM: [f64; 2] = [1.0, 500.0];

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<MeasureView>();
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
    screen.on_released(touch::plain(app, |app| edit(app, released)));
    screen.on_change(touch::named(app, change));
    screen.on_again(touch::plain(app, |app| edit(app, Draft::begin)));
    screen.on_more(touch::plain(app, |app| edit(app, |draft| (draft.round, draft.chosen) = (draft.round + 1, 0))));
    screen.on_take(touch::plain(app, take));
    screen.on_leave(touch::plain(app, leave));
}

/// Opens the screen for a row of the plan.
pub(super) fn show(app: &Shared, id: &str, label: &str, what: Measures) {
    around::of(app).measure.replace(Some(Draft::new(id, label, what)));
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Measure);
    }
    fill(app);
}

fn edit(app: &Shared, change: impl FnOnce(&mut Draft)) {
    if let Some(draft) = around::of(app).measure.borrow_mut().as_mut() {
        change(draft);
    }
    fill(app);
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
    // In a further round an earlier mark may lie right there: only marks of this round are taken again.
    let taken = draft.shown().iter().position(near).unwrap_or(draft.chosen);
    draft.set(taken, at);
    (draft.chosen, draft.dragging) = (taken, Some(taken));
}

fn moved(draft: &mut Draft, x: f64, y: f64) {
    let (Some(place), Some(picture)) = (draft.dragging, &draft.picture) else { return };
    let at = picture.spot(x.clamp(0.0, 1.0), y.clamp(0.0, 1.0));
    draft.set(place, at);
}

fn released(draft: &mut Draft) {
    if draft.dragging.take().is_some()
        && let Some(open) = draft.shown().iter().position(Option::is_none)
    {
        draft.chosen = open;
    }
}

/// Shows the draft.
fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let mut draft = around.measure.borrow_mut();
    let Some(draft) = draft.as_mut() else { return };
    let screen = window.global::<MeasureView>();
    if let Some(plan) = around.set_up.borrow().as_ref().map(|set_up| &set_up.plan) {
        screen.set_side(phrases::operated(&phrases::sides(plan)));
        screen.set_patient(phrases::whose(plan).into());
    }
    let scale = f64::from(window.window().scale_factor());
    let room = window.global::<ImageRoom>();
    let sizes = [room.get_pane(), room.get_loupe()].map(|length| pin_view::whole(f64::from(length) * scale));
    screen.set_title(draft.label.as_str().into());
    screen.set_pane(pane(draft, sizes));
    screen.set_fields(model(fields(app, draft)));
    let measured = draft.measured();
    let fault = measured.as_ref().and_then(|found| found.as_ref().err().cloned());
    screen.set_ready(matches!(measured, Some(Ok(_))));
    screen.set_once_more(draft.complete() && draft.round + 1 < ROUNDS_MAX);
    let found = measured.and_then(Result::ok);
    screen.set_numbers(model(found.iter().map(|found| number_of(app, draft, found)).collect()));
    screen.set_notice(fault.map_or_else(|| notice(draft), |fault| super::say::capitalised(&fault)).into());
}

fn number_of(app: &Shared, draft: &Draft, found: &Measured) -> FindingLine {
    let app = app.borrow();
    let (value, doubt) = match found {
        Measured::Angle(angle) => (format!("{}°", app.fixed(angle.deg, 1)), angle.plus_minus_deg),
        Measured::Length(length) => (format!("{} mm", app.fixed(length.mm, 1)), length.plus_minus_mm),
    };
    let doubt = format!("± {}", app.fixed(doubt.max(0.1), 1));
    FindingLine { label: draft.label.as_str().into(), value: value.into(), doubt: doubt.into(), heed: false }
}

/// What the ± rests on.
fn notice(draft: &Draft) -> String {
    let projection = draft.is_projection() && draft.measures == Measures::Distance;
    let depth = projection.then_some("On a projection a length holds at one depth: the ± says how far off it may be.");
    let repeats = match (draft.complete(), draft.repeats().1) {
        (false, _) => None,
        (true, true) => Some("The ± is that of your own touches."),
        (true, false) => Some("Touched once: the ± is a usual one. Touch once more to learn your own."),
    };
    depth.into_iter().chain(repeats).collect::<Vec<_>>().join("\n")
}

fn pane(draft: &mut Draft, sizes: [u32; 2]) -> ImagePane {
    let names = draft.names();
    let (spots, chosen, complete) = (draft.shown(), draft.chosen, draft.complete());
    let finger = draft.dragging.and_then(|place| spots.get(place).copied().flatten());
    let Some(picture) = &mut draft.picture else {
        return ImagePane { empty_text: "Choose a picture at the right".into(), active: true, ..ImagePane::default() };
    };
    let place = |spot: [f64; 2]| {
        let [x, y] = picture.on_screen(spot);
        #[allow(clippy::cast_possible_truncation, reason = "a place on the screen")]
        let place = (x as f32, y as f32);
        place
    };
    let marks = spots.iter().enumerate().filter_map(|(number, spot)| {
        let (x, y) = place((*spot)?);
        Some(ImageMark { x, y, chosen: !complete && number == chosen, small: true })
    });
    let marks: Vec<ImageMark> = marks.collect();
    let lines = spots.chunks(2).filter_map(|pair| match pair {
        [Some(from), Some(to)] => {
            let ([ax, ay], [bx, by]) = (picture.on_screen(*from), picture.on_screen(*to));
            Some(format!("M{:.1} {:.1} L{:.1} {:.1}", ax * 1000.0, ay * 1000.0, bx * 1000.0, by * 1000.0))
        }
        _ => None,
    });
    let strokes = lines.collect::<Vec<_>>().join(" ");
    let (finger_x, finger_y) = finger.map(place).unwrap_or_default();
    ImagePane {
        caption: format!("{} · {}", picture.name, picture.when).into(),
        filled: true,
        active: true,
        wanted: if complete { "".into() } else { names.get(chosen).copied().unwrap_or_default().into() },
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

fn fields(app: &Shared, draft: &Draft) -> Vec<FieldLine> {
    let line = |id: &str, label: &str, value: String, detail: &str, heed: bool| FieldLine {
        id: id.into(),
        label: label.into(),
        value: value.into(),
        detail: detail.into(),
        heed,
        locked: false,
    };
    let name = draft.picture.as_ref().map(Picture::words).unwrap_or_default();
    let mut rows = vec![line("picture", "Picture", name, "PNG or DICOM", draft.picture.is_none())];
    if draft.measures == Measures::Inclination {
        let (said, known) = if draft.lies_known() {
            ("as its file says", true)
        } else {
            (if draft.front_right { "at the right" } else { "at the left" }, false)
        };
        rows.push(FieldLine {
            locked: known,
            ..line("front", "The picture shows the front", said.to_owned(), "", false)
        });
    }
    if draft.needs_marker() {
        let app = app.borrow();
        let mm = draft.marker_mm.map(|mm| format!("{} mm", app.decimal(mm))).unwrap_or_default();
        rows.push(line("marker", "Marker of known length", mm, "the file gives no size", draft.marker_mm.is_none()));
    }
    rows
}

fn change(app: &Shared, id: &str) {
    match id {
        "picture" => {
            let hint = "From the folder plans/images of the store, or received over the network";
            questions::pick(
                app,
                AroundAsked::Measure(id.to_owned()),
                "Which picture",
                hint,
                pictures::rows_for_plans(app),
            );
        }
        "front" => {
            let rows = vec![row("left", "At the left", "", false), row("right", "At the right", "", false)];
            questions::pick(app, AroundAsked::Measure(id.to_owned()), "The picture shows the front", "", rows);
        }
        _ => ask_marker(app, ""),
    }
}

fn ask_marker(app: &Shared, refusal: &str) {
    let range = format!("{} to {} mm", MARKER_MM[0], MARKER_MM[1]);
    let (title, hint) = ("Marker of known length", "A ball, a ruler, or anything of known size in the picture");
    let number = NumberOf { title, hint, unit: "mm", range: &range, negatives: false, refusal };
    questions::number(app, AroundAsked::Measure("marker".to_owned()), &number);
}

/// A row of a list was chosen.
pub(super) fn picked(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    match id {
        "picture" => pictures::load_for_plan(app, chosen, |app, picture| {
            edit(app, |draft| {
                draft.picture = Some(picture);
                draft.begin();
            });
        }),
        _ => edit(app, |draft| draft.front_right = chosen == "right"),
    }
}

/// A number was typed.
pub(super) fn number(app: &Shared, _id: &str, text: &str) {
    let value = numbers::parse(app, text).filter(|mm| (MARKER_MM[0]..=MARKER_MM[1]).contains(mm));
    let Some(value) = value else { return ask_marker(app, "Between 1 and 500 mm") };
    around::close(app);
    edit(app, |draft| draft.marker_mm = Some(value));
}

fn take(app: &Shared) {
    let found = {
        let around = around::of(app);
        let draft = around.measure.borrow();
        draft.as_ref().and_then(|draft| Some((draft.id.clone(), draft.measured()?.ok()?)))
    };
    if let Some((id, found)) = found {
        around::of(app).measure.take();
        plan_view::measured(app, &id, &found);
    }
}

fn leave(app: &Shared) {
    around::of(app).measure.take();
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Plan);
    }
    plan_view::fill(app);
}
