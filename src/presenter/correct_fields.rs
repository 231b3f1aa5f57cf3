//! What a view correction rests on: rows to fill in, and what a touch on one asks.

use super::app::{App, Shared};
use super::around::{self, AroundAsked};
use super::correct_draft::{About, DEPTH_MAX_MM, Draft};
use super::correct_view::edit;
use super::picture::Picture;
use super::pictures;
use super::questions::{self, NumberOf, row};
use super::view_known::{TURNS, machine};
use super::{moved, numbers};
use crate::carm::correction::{Told, pair_names};
use crate::carm::{Joint, Joints, MachineScale, PatientPosition, Tube, ViewName};
use crate::plan::Plan;
use crate::units::{Degrees, Side};
use brimline_ui::{FieldLine, PickRow};

/// The two ends of a way, positive first.
type Ways = [&'static str; 2];

/// A number that is asked, with the two ways it may point.
struct Asks {
    title: &'static str,
    hint: &'static str,
    unit: &'static str,
    from: f64,
    to: f64,
}

fn asks(what: &str) -> Option<Asks> {
    let asks = |title, hint, unit, from, to| Some(Asks { title, hint, unit, from, to });
    match what {
        "head" | "side" => asks("How far apart", "At the patient, not on the screen", "mm", 0.0, 200.0),
        "lever" => {
            asks("Between the two landmarks", "Along the beam of the true view, on this patient", "mm", 1.0, 300.0)
        }
        "depth" => asks("Source to the landmarks", "Along the central ray", "mm", 200.0, DEPTH_MAX_MM - 1.0),
        "tilt" => asks("Tilt now", "From a vertical beam, as the machine reads it", "°", 0.0, 90.0),
        "tilt-display" => {
            asks("What the tilt display reads", "By the zero and way that the site learnt", "°", -360.0, 360.0)
        }
        "orbit-display" => {
            asks("What the orbit display reads", "By the zero and way that the site learnt", "°", -360.0, 360.0)
        }
        "square" => asks("Arm off square", "The boom against the table, with the wag at zero", "°", 0.0, 45.0),
        "orbit" => asks("Orbit now", "From a vertical beam, as the machine reads it", "°", 0.0, 180.0),
        _ => None,
    }
}

/// Which way a number points: positive, then negative.
fn ways(draft: &Draft, what: &str) -> Option<Ways> {
    Some(match (what, draft.alike()) {
        ("head", false) => ["toward the feet", "toward the head"],
        ("side", false) => ["toward the left", "toward the right"],
        ("head", true) => ["toward the head", "toward the feet"],
        ("side", true) => ["toward the front", "toward the back"],
        ("tilt", _) => ["receptor toward the head", "receptor toward the feet"],
        ("square", _) => ["anticlockwise from above", "clockwise from above"],
        ("orbit", _) => ["receptor toward the patient's left", "receptor toward the patient's right"],
        _ => return None,
    })
}

/// The rows of the form.
pub(super) fn rows(app: &Shared, draft: &Draft, plan: &Plan) -> Vec<FieldLine> {
    let moved = moved::row(app);
    let app = app.borrow();
    let mut rows = apart(&app, draft);
    let lever = draft.lever(plan);
    let usual = lever.as_ref().is_none_or(|lever| lever.usual);
    let said = lever.map(|lever| format!("{} mm ± {}", app.fixed(lever.mm, 0), app.fixed(lever.sd_mm, 0)));
    let detail = if usual { "usual, not measured on this patient" } else { "" };
    rows.push(line("lever", "Between the two landmarks", said.unwrap_or_default(), detail, usual));
    let (joints, words) = draft.joints(plan);
    let [tilt, orbit] = draft.joints_deg;
    let joint = |id: &str, value: f64| signed(&app, value, "°", ways(draft, id).unwrap_or(["", ""]));
    rows.push(line(
        "tilt",
        "Tilt now",
        joint("tilt", joints.tilt.0),
        if tilt.is_some() { "as read" } else { &words },
        false,
    ));
    if draft.view == ViewName::Lateral || orbit.is_some() {
        let from = if orbit.is_some() { "as read" } else { &words };
        rows.push(line("orbit", "Orbit now", joint("orbit", joints.orbit.0), from, false));
    }
    let stand = format!("the patient's {}", draft.room.stand);
    rows.push(line("stand", "The stand is on", stand, "", false));
    let picture = draft.picture.as_ref().map_or_else(|| "none".to_owned(), Picture::words);
    rows.push(line("picture", "Picture", picture, "from the images of this case", false));
    if draft.picture.is_some() {
        rows.push(line("turned", "The picture shows", draft.turned.words().to_owned(), "", false));
    }
    let depth = format!("{} mm ± 20", app.fixed(draft.lengths()[2], 0));
    rows.push(line("depth", "Source to the landmarks", depth, "", false));
    if draft.view == ViewName::Lateral || pair_names(draft.view).is_some() {
        let about = if draft.about == About::Pair { "the view's own pair" } else { "rotation: the midlines" };
        rows.push(line("about", "What stands apart", about.to_owned(), "", false));
    }
    let lying = match draft.room.position {
        PatientPosition::Prone => "prone",
        PatientPosition::Supine => "supine",
    };
    let tube = match draft.room.tube {
        Tube::Under => "under the table",
        Tube::Over => "over the table",
    };
    rows.push(line("lying", "The patient lies", lying.to_owned(), "", false));
    rows.push(line("tube", "The tube is", tube.to_owned(), "", false));
    let square = signed(&app, draft.room.off_square_deg, "°", ways(draft, "square").unwrap_or(["", ""]));
    rows.push(line("square", "Arm off square", square, "", false));
    rows.push(moved);
    rows
}

/// What stands apart, as typed or as touched.
fn apart(app: &App, draft: &Draft) -> Vec<FieldLine> {
    let [front, back] = draft.names();
    let touched = draft.told() == Told::Touched;
    let label = match (draft.alike(), draft.about) {
        (true, _) => "Larger from smaller notch".to_owned(),
        (false, About::Rotation) => "Midline behind from the one in front".to_owned(),
        (false, About::Pair) => format!("{} from {front}", super::say::capitalised(back)),
    };
    let row = |(number, id): (usize, &str)| {
        let said = draft.typed[number].map(|mm| signed(app, mm, " mm", ways(draft, id).unwrap_or(["", ""])));
        let said = if touched { "as touched".to_owned() } else { said.unwrap_or_default() };
        FieldLine { locked: touched, ..line(id, &label, said, "", false) }
    };
    let shown = ["head", "side"].into_iter().enumerate().filter(|(number, _)| draft.counts()[*number]);
    shown.map(row).collect()
}

fn signed(app: &App, value: f64, unit: &str, ways: Ways) -> String {
    let way = if value < 0.0 { ways[1] } else { ways[0] };
    let amount = app.fixed(value.abs(), usize::from(value.fract() != 0.0));
    if value == 0.0 { format!("0{unit}") } else { format!("{amount}{unit} {way}") }
}

fn line(id: &str, label: &str, value: String, detail: &str, heed: bool) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), detail: detail.into(), heed, locked: false }
}

fn pick(app: &Shared, id: &str, title: &str, hint: &str, rows: Vec<PickRow>) {
    questions::pick(app, AroundAsked::Correct(id.to_owned()), title, hint, rows);
}

/// The displays of the site's machine, where they were learnt with the tube as it is.
fn learnt(app: &App, draft: &Draft) -> Option<MachineScale> {
    let scale = machine(app).and_then(MachineScale::of_site)?;
    scale.readings(&draft.room.arm(), &Joints::default()).is_ok().then_some(scale)
}

/// Where a joint stands when its display reads so; `None`: nowhere that a joint can.
fn joint_of(app: &App, draft: &Draft, id: &str, read: f64) -> Option<f64> {
    let joint = if id == "tilt-display" { Joint::Tilt } else { Joint::Orbit };
    let readings = Joints { tilt: Degrees(read), orbit: Degrees(read), ..Joints::default() };
    let stands = learnt(app, draft)?.joints(&draft.room.arm(), &readings).ok()?.of(joint).0;
    let most = asks(id.trim_end_matches("-display"))?.to;
    (stands.abs() <= most).then_some(stands)
}

/// A row was touched: its way is asked first, then its number.
pub(super) fn change(app: &Shared, id: &str) {
    let displays = {
        let (app, around) = (app.borrow(), around::of(app));
        around.correct.borrow().as_ref().is_some_and(|draft| learnt(&app, draft).is_some())
    };
    if displays && matches!(id, "tilt" | "orbit") {
        return ask_number(app, &format!("{id}-display"), "+", "");
    }
    let (ways, chosen) = {
        let around = around::of(app);
        let draft = around.correct.borrow();
        let Some(draft) = draft.as_ref() else { return };
        (ways(draft, id), draft.picture.as_ref().map(|picture| picture.name.clone()))
    };
    if let (Some(ways), Some(asks)) = (ways, asks(id)) {
        let rows =
            vec![row("+", ways[0], "", false), row("-", ways[1], "", false), row("0", "No difference", "", false)];
        return pick(app, id, asks.title, "Which way", rows);
    }
    if asks(id).is_some() {
        return ask_number(app, id, "+", "");
    }
    let two = |a: (&str, &str), b: (&str, &str)| vec![row(a.0, a.1, "", false), row(b.0, b.1, "", false)];
    match id {
        "picture" => {
            let hint = "The newest first, from the images of this case";
            pick(app, id, "Which picture", hint, pictures::rows(app, chosen.as_deref()));
        }
        "turned" => {
            let turns = TURNS.iter().map(|(id, words, _)| row(id, words, "", false)).collect();
            pick(app, id, "How the picture is turned", "Seen from the image receptor", turns);
        }
        "stand" => {
            let rows = two(("left", "The patient's left"), ("right", "The patient's right"));
            pick(app, id, "The stand of the C-arm is on", "", rows);
        }
        "about" => {
            let rows = two(("pair", "The view's own pair"), ("rotation", "Rotation: the midlines"));
            pick(app, id, "What stands apart", "", rows);
        }
        "lying" => pick(app, id, "The patient lies", "", two(("prone", "Prone"), ("supine", "Supine"))),
        "tube" => {
            pick(app, id, "The tube is", "", two(("under", "Under the table"), ("over", "Over the table")));
        }
        "moved" => moved::ask(app),
        _ => {}
    }
}

fn ask_number(app: &Shared, id: &str, way: &str, refusal: &str) {
    let Some(asks) = asks(id) else { return };
    let range = format!("{} to {} {}", asks.from, asks.to, asks.unit);
    let (title, hint, unit) = (asks.title, asks.hint, asks.unit);
    let number = NumberOf { title, hint, unit, range: &range, negatives: asks.from < 0.0, refusal };
    questions::number(app, AroundAsked::Correct(format!("{id}/{way}")), &number);
}

/// A row of a list was chosen.
pub(super) fn picked(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    if asks(id).is_some() {
        if chosen == "0" {
            return edit(app, |draft| set(draft, id, 0.0));
        }
        return ask_number(app, id, chosen, "");
    }
    if id == "picture" && !chosen.is_empty() {
        return pictures::load(app, chosen, |app, picture| {
            edit(app, |draft| {
                (draft.picture, draft.touched, draft.chosen) = (Some(picture), [None; 2], 0);
                draft.typed = [None; 2];
            });
        });
    }
    edit(app, |draft| choose(draft, id, chosen));
}

fn choose(draft: &mut Draft, id: &str, chosen: &str) {
    match id {
        "picture" => (draft.picture, draft.touched) = (None, [None; 2]),
        "turned" => {
            let turned = TURNS.iter().find(|(id, ..)| *id == chosen).map(|(.., turned)| *turned);
            draft.turned = turned.unwrap_or_default();
        }
        "stand" => draft.room.stand = if chosen == "left" { Side::Left } else { Side::Right },
        "about" => {
            draft.about = if chosen == "pair" { About::Pair } else { About::Rotation };
            (draft.touched, draft.typed) = ([None; 2], [None; 2]);
        }
        "lying" => {
            draft.room.position = if chosen == "supine" { PatientPosition::Supine } else { PatientPosition::Prone };
        }
        _ => draft.room.tube = if chosen == "over" { Tube::Over } else { Tube::Under },
    }
}

fn set(draft: &mut Draft, id: &str, value: f64) {
    match id {
        "head" => draft.typed[0] = Some(value),
        "side" => draft.typed[1] = Some(value),
        "lever" => draft.lever_mm = Some(value),
        "depth" => draft.depth_mm = Some(value),
        "square" => draft.room.off_square_deg = value,
        "tilt" => draft.joints_deg[0] = Some(value),
        _ => draft.joints_deg[1] = Some(value),
    }
}

/// A number was typed.
pub(super) fn number(app: &Shared, asked: &str, text: &str) {
    let (id, way) = asked.split_once('/').unwrap_or((asked, "+"));
    let Some(asks) = asks(id) else { return around::close(app) };
    let value = numbers::parse(app, text).filter(|value| (asks.from..=asks.to).contains(value));
    let Some(value) = value else {
        return ask_number(app, id, way, &format!("Between {} and {} {}", asks.from, asks.to, asks.unit));
    };
    if id.ends_with("-display") {
        let stands = {
            let (app, around) = (app.borrow(), around::of(app));
            around.correct.borrow().as_ref().and_then(|draft| joint_of(&app, draft, id, value))
        };
        let Some(stands) = stands else { return ask_number(app, id, way, "No joint stands there: misread?") };
        around::close(app);
        return edit(app, |draft| set(draft, id.trim_end_matches("-display"), stands));
    }
    around::close(app);
    edit(app, |draft| set(draft, id, if way == "-" { -value } else { value }));
}
