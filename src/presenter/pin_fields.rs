//! What the two views and the tool are known by: rows to fill in, and what a touch on one asks.

use super::app::Shared;
use super::around::{self, AroundAsked};
use super::picture::Picture;
use super::pictures;
use super::pin_draft::{Draft, FrameSaid, Mark, Pane};
use super::pin_view::{edit, fill, pick};
use super::questions::{self, NumberOf, row};
use super::view_known::{TURNS, detector_spacing, distances};
use super::{moved, numbers};
use crate::carm::{PatientPosition, ViewName};
use crate::pin::DeclaredBy;
use crate::plan::Plan;
use brimline_ui::FieldLine;

/// A number that is asked: its title, its unit, and what is taken.
struct Asks {
    title: &'static str,
    hint: &'static str,
    unit: &'static str,
    from: f64,
    to: f64,
}

/// The number behind a row, if it is one.
fn asks(id: &str) -> Option<Asks> {
    let asks = |title, hint, unit, from, to| Some(Asks { title, hint, unit, from, to });
    match id.split('-').next()? {
        "angle" => asks("Angle of the view", "From the vertical, as the machine reads it", "°", 0.0, 90.0),
        "length" => {
            asks("The known length", "A marker, or a part of known size that is touched at both ends", "mm", 1.0, 500.0)
        }
        "pin" => asks("Guide pin", "Its width", "mm", 1.0, 6.0),
        "tool" => asks("Largest tool along this pin", "Margins run from its surface", "mm", 1.0, 20.0),
        "joint" => match id.matches('/').count() {
            0 => {
                asks("Height of this part of the joint", "From the S1 endplate, below it negative", "mm", -150.0, 150.0)
            }
            1 => asks("The joint on the axial cut there", "Positive: front edge farther lateral", "°", -60.0, 60.0),
            _ => asks("The joint on the coronal cut there", "Positive: upper edge farther lateral", "°", -60.0, 60.0),
        },
        _ => None,
    }
}

/// Rows of a third view that was not asked for yet.
const THIRD: &str = "third";

/// The rows of the form.
pub(super) fn rows(app: &Shared, draft: &Draft, plan: &Plan) -> Vec<FieldLine> {
    let mut rows = vec![frame_row(draft)];
    let moved_row = moved::row(app);
    for (number, pane) in draft.panes.iter().enumerate() {
        rows.extend(pane_rows(app, draft, plan, number, pane));
    }
    let app = app.borrow();
    let mm = |value: Option<f64>| value.map(|value| format!("{} mm", app.decimal(value))).unwrap_or_default();
    rows.push(line("tool", "Largest tool", mm(draft.tool_mm), "", draft.tool_mm.is_none()));
    rows.push(line("pin", "Guide pin", mm(Some(draft.pin_mm)), "", false));
    rows.extend(draft.joint.iter().enumerate().map(|(number, at)| {
        let said = at.whole().map(|[height, axial, coronal]| {
            let [height, axial, coronal] = [height, axial, coronal].map(|value| app.decimal(value));
            format!("{height} mm: {axial}° axial, {coronal}° coronal")
        });
        let label = format!("Joint, {}", at.level.word());
        line(&format!("joint-{number}"), &label, said.unwrap_or_default(), "it twists", false)
    }));
    let third = if draft.panes.len() > 2 { "taken" } else { "none" };
    rows.push(line(THIRD, "Third view", third.to_owned(), "", false));
    rows.push(line("lying", "The patient lies", lying(draft.room.position).to_owned(), "", false));
    rows.push(moved_row);
    rows
}

fn line(id: &str, label: &str, value: String, detail: &str, heed: bool) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), detail: detail.into(), heed, locked: false }
}

fn frame_row(draft: &Draft) -> FieldLine {
    let said = match draft.frame {
        FrameSaid::NotAsked => String::new(),
        FrameSaid::Unmoved(by) => format!("nothing moved, says the {}", by.word()),
        FrameSaid::Landmarks => "landmarks on both views".to_owned(),
        FrameSaid::Unknown => "nobody can say: angles only".to_owned(),
    };
    let heed = matches!(draft.frame, FrameSaid::NotAsked | FrameSaid::Unknown);
    line("frame", "Between the views", said, "", heed)
}

fn pane_rows(app: &Shared, draft: &Draft, plan: &Plan, number: usize, pane: &Pane) -> Vec<FieldLine> {
    let view = pane.view.map(ViewName::word).unwrap_or_default();
    let id = |what: &str| format!("{what}-{number}");
    let picture = pane.picture.as_ref();
    let name = picture.map(Picture::words).unwrap_or_default();
    let known = pane.known(plan, draft.room);
    let guessed = known.as_ref().is_none_or(|known| known.guessed);
    let angle = known.map(|known| known.words).unwrap_or_default();
    let mut rows = vec![
        line(&id("picture"), "Picture", name, view, picture.is_none()),
        line(
            &id("view"),
            "View",
            view.to_owned(),
            ["first picture", "second picture", "third picture"][number.min(2)],
            false,
        ),
        line(&id("angle"), "Angle", angle, view, guessed),
        line(&id("turned"), "The picture shows", pane.turned.words().to_owned(), view, false),
    ];
    if pane.needs_length() {
        let app = app.borrow();
        let length = pane.length_mm.map(|mm| format!("{} mm", app.decimal(mm))).unwrap_or_default();
        rows.push(line(
            &id("length"),
            "Known length on it",
            length,
            "its file gives no size",
            pane.length_mm.is_none(),
        ));
    } else if let Some(picture) = picture {
        let (.., told) = distances(Some(&picture.image.geometry), draft.room.distances_mm);
        let from = match (told, draft.room.distances_mm) {
            (true, _) => "spacing and distances of the file",
            (false, Some(_)) => "spacing of the file, the site's distances",
            (false, None) => "spacing of the file, usual distances",
        };
        let said = detector_spacing(picture, draft.room.distances_mm).map_or("", |_| from);
        rows.push(FieldLine { locked: true, ..line(&id("size"), "Size from", said.to_owned(), view, !told) });
    }
    rows
}

fn lying(position: PatientPosition) -> &'static str {
    match position {
        PatientPosition::Prone => "prone",
        PatientPosition::Supine => "supine",
    }
}

/// A row was touched.
pub(super) fn change(app: &Shared, id: &str) {
    if let Some(asks) = asks(id) {
        let range = format!("{} to {} {}", asks.from, asks.to, asks.unit);
        let (title, hint, unit) = (asks.title, asks.hint, asks.unit);
        let number = NumberOf { title, hint, unit, range: &range, negatives: asks.from < 0.0, refusal: "" };
        return questions::number(app, AroundAsked::Pin(id.to_owned()), &number);
    }
    let (what, number) = id.split_once('-').unwrap_or((id, ""));
    match what {
        "frame" => {
            let moved = {
                let around = around::of(app);
                around.pin.borrow().as_ref().is_some_and(Draft::moved_between)
            };
            let hint = if moved {
                "Patient or table moved between the two pictures, as was entered"
            } else {
                "Has column, table or patient moved?"
            };
            pick(app, id, "Between the two views", hint, frames(moved));
        }
        "moved" => moved::ask(app),
        THIRD => edit(app, third),
        "picture" => {
            let chosen = {
                let around = around::of(app);
                let draft = around.pin.borrow();
                let pane = draft.as_ref().and_then(|draft| draft.panes.get(number.parse::<usize>().ok()?));
                pane.and_then(|pane| pane.picture.as_ref()).map(|picture| picture.name.clone())
            };
            let hint = "The newest first, from the images of this case";
            pick(app, id, "Which picture", hint, pictures::rows(app, chosen.as_deref()));
        }
        "view" => {
            let views = ViewName::ALL.iter().map(|view| row(view.word(), view.word(), "", false)).collect();
            pick(app, id, "Which view is it", "What the team sees on it, never what an angle says", views);
        }
        "turned" => {
            let turns = TURNS.iter().map(|(id, words, _)| row(id, words, "", false)).collect();
            pick(app, id, "How the picture is turned", "Seen from the image receptor", turns);
        }
        "lying" => {
            let rows = vec![row("prone", "Prone", "", false), row("supine", "Supine", "", false)];
            pick(app, id, "The patient lies", "", rows);
        }
        _ => {}
    }
}

/// What can be said of the frame; `moved`: a move was entered between the two pictures, so that nobody says none.
fn frames(moved: bool) -> Vec<brimline_ui::PickRow> {
    let says = |id: &str, who: &str| {
        row(id, &format!("Nothing moved, says the {who}"), "positions are given, on the word of that person", false)
    };
    let mut rows = vec![says("radiographer", "radiographer"), says("surgeon", "surgeon"), says("nurse", "nurse")];
    if moved {
        rows.clear();
    }
    rows.extend([
        row("landmarks", "Something moved: touch landmarks", "three or four, the same on both views", false),
        row("unknown", "Nobody can say", "angles only, no position and no depth", false),
    ]);
    rows
}

/// A row of a list was chosen.
pub(super) fn picked(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    let (what, number) = id.split_once('-').unwrap_or((id, "0"));
    let Ok(number) = number.parse::<usize>() else { return };
    match what {
        "picture" if chosen.is_empty() => edit(app, |draft| forget(draft, number)),
        "picture" => pictures::load(app, chosen, move |app, picture| {
            let placement = moved::placement_of(app, &picture.name);
            edit(app, |draft| {
                forget(draft, number);
                if let Some(pane) = draft.panes.get_mut(number) {
                    (pane.picture, pane.placement) = (Some(picture), placement);
                }
                if draft.moved_between() && matches!(draft.frame, FrameSaid::Unmoved(_)) {
                    draft.frame = FrameSaid::NotAsked;
                }
                draft.chosen = (number.min(draft.panes.len() - 1), Mark::Tip);
            });
        }),
        _ => edit(app, |draft| choose(draft, what, number, chosen)),
    }
    fill(app);
}

/// Takes a third view, or gives it up again.
fn third(draft: &mut Draft) {
    draft.finding = None;
    if draft.panes.len() > 2 {
        draft.panes.truncate(2);
        draft.chosen = (0, Mark::Tip);
        return;
    }
    let offered = [ViewName::Lateral, ViewName::OutletWorking, ViewName::InletBody];
    let taken = |view: &ViewName| draft.panes.iter().any(|pane| pane.view == Some(*view));
    let view = offered.into_iter().find(|view| !taken(view));
    draft.panes.push(Pane { view, ..Pane::default() });
    draft.chosen = (2, Mark::Tip);
}

/// What was touched on a picture goes with it.
fn forget(draft: &mut Draft, number: usize) {
    draft.finding = None;
    if let Some(pane) = draft.panes.get_mut(number) {
        pane.picture = None;
        pane.touched.clear();
    }
}

fn choose(draft: &mut Draft, what: &str, number: usize, chosen: &str) {
    draft.finding = None;
    match what {
        "frame" => {
            draft.frame = match chosen {
                "radiographer" => FrameSaid::Unmoved(DeclaredBy::Radiographer),
                "surgeon" => FrameSaid::Unmoved(DeclaredBy::Surgeon),
                "nurse" => FrameSaid::Unmoved(DeclaredBy::Nurse),
                "landmarks" => FrameSaid::Landmarks,
                _ => FrameSaid::Unknown,
            };
        }
        "lying" => {
            draft.room.position = if chosen == "supine" { PatientPosition::Supine } else { PatientPosition::Prone };
        }
        "view" => {
            let view = ViewName::ALL.into_iter().find(|view| view.word() == chosen);
            let taken = draft.panes.iter().any(|pane| pane.view == view);
            if let (Some(pane), Some(view), false) = (draft.panes.get_mut(number), view, taken) {
                (pane.view, pane.typed_deg) = (Some(view), None);
                pane.touched.retain(|mark, _| !matches!(mark, Mark::Edge(_)));
            }
        }
        "turned" => {
            let turned = TURNS.iter().find(|(id, ..)| *id == chosen).map(|(.., turned)| *turned);
            if let (Some(pane), Some(turned)) = (draft.panes.get_mut(number), turned) {
                pane.turned = turned;
            }
        }
        _ => {}
    }
}

/// A number was typed.
pub(super) fn number(app: &Shared, id: &str, text: &str) {
    let Some(asks) = asks(id) else { return around::close(app) };
    let value = numbers::parse(app, text).filter(|value| (asks.from..=asks.to).contains(value));
    let Some(value) = value else {
        let range = format!("{} to {} {}", asks.from, asks.to, asks.unit);
        let (title, hint, unit) = (asks.title, asks.hint, asks.unit);
        let refusal = format!("Between {} and {} {}", asks.from, asks.to, asks.unit);
        let again = NumberOf { title, hint, unit, range: &range, negatives: asks.from < 0.0, refusal: &refusal };
        return questions::number(app, AroundAsked::Pin(id.to_owned()), &again);
    };
    let typed: Vec<&str> = id.split('/').collect();
    if id.starts_with("joint") && typed.len() < 3 {
        // Height, axial and coronal angle: each question carries the answers before it.
        return change(app, &format!("{id}/{value}"));
    }
    around::close(app);
    let (what, number) = typed[0].split_once('-').unwrap_or((typed[0], "0"));
    let number = number.parse::<usize>().unwrap_or(0);
    let before = |at: usize| typed.get(at).and_then(|text| text.parse::<f64>().ok());
    edit(app, |draft| {
        draft.finding = None;
        match (what, draft.panes.get_mut(number)) {
            ("angle", Some(pane)) => pane.typed_deg = Some(value),
            ("length", Some(pane)) => pane.length_mm = Some(value),
            ("pin", _) => draft.pin_mm = value,
            ("tool", _) => draft.tool_mm = Some(value),
            _ => {
                if let Some(at) = draft.joint.get_mut(number) {
                    (at.height_mm, at.axial_deg, at.coronal_deg) = (before(1), before(2), Some(value));
                }
            }
        }
    });
}
