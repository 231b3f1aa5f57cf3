//! What a re-aim rests on: rows to fill in, and what a touch on one asks.

use super::app::Shared;
use super::around::{self, AroundAsked};
use super::numbers;
use super::picture::Picture;
use super::pictures;
use super::questions::{self, NumberOf, row};
use super::re_aim_draft::{Draft, lines};
use super::re_aim_view::edit;
use super::{moved, say};
use crate::carm::{PatientPosition, PictureSide, SacralLine, VerticalProof};
use crate::plan::Plan;
use brimline_ui::{FieldLine, PickRow};

/// Rolls that are believed, degrees.
const ROLL_DEG: [f64; 2] = [-180.0, 180.0];

const SIDES: [(PictureSide, &str, &str); 4] = [
    (PictureSide::Right, "right", "At the right of the picture"),
    (PictureSide::Left, "left", "At the left of the picture"),
    (PictureSide::Top, "top", "At the top of the picture"),
    (PictureSide::Bottom, "bottom", "At the bottom of the picture"),
];

/// The rows of the form.
pub(super) fn rows(app: &Shared, draft: &Draft, plan: &Plan) -> Vec<FieldLine> {
    let picture = draft.picture.as_ref().map(Picture::words).unwrap_or_default();
    let line_of = draft.line.map(|of| say::capitalised(of.word())).unwrap_or_default();
    let planned = draft.line.and_then(|of| of.planned(&plan.sacral_measurements()));
    let planned = planned.map_or_else(String::new, |planned| format!("planned {:.0}°", planned.value.0.abs()));
    let head = draft.head.and_then(|head| SIDES.iter().find(|(side, ..)| *side == head));
    let lying = match draft.room.position {
        PatientPosition::Prone => "prone",
        PatientPosition::Supine => "supine",
    };
    let mut rows = vec![
        line("picture", "True lateral", picture, "", draft.picture.is_none()),
        line("line", "Line touched", line_of, &planned, draft.line.is_none()),
        line("proof", "Vertical from", say::capitalised(draft.proven.word()), "", false),
        line(
            "head",
            "The head is",
            head.map(|(.., words)| (*words).to_owned()).unwrap_or_default(),
            "",
            head.is_none(),
        ),
    ];
    if draft.proven == VerticalProof::ArmRoll {
        let roll = draft.roll_deg.map(|roll| format!("{}° ± 2", app.borrow().decimal(roll))).unwrap_or_default();
        rows.push(line("roll", "Top of the picture leans", roll, "to its right", draft.roll_deg.is_none()));
    }
    rows.push(line("lying", "The patient lies", lying.to_owned(), "", false));
    rows.push(moved::row(app));
    rows
}

fn line(id: &str, label: &str, value: String, detail: &str, heed: bool) -> FieldLine {
    FieldLine { id: id.into(), label: label.into(), value: value.into(), detail: detail.into(), heed, locked: false }
}

fn pick(app: &Shared, id: &str, title: &str, hint: &str, rows: Vec<PickRow>) {
    questions::pick(app, AroundAsked::ReAim(id.to_owned()), title, hint, rows);
}

/// A row was touched.
pub(super) fn change(app: &Shared, id: &str) {
    match id {
        "picture" => pick(app, id, "The true lateral", "The newest first, of this case", pictures::rows(app, None)),
        "line" => {
            let rows = {
                let app = app.borrow();
                let Some(case) = app.case() else { return };
                let of = |line: SacralLine| row(line.word(), &say::capitalised(line.word()), "", false);
                lines(case.plan()).into_iter().map(of).collect()
            };
            pick(app, id, "Which line is touched", "Only what the plan measured shows a turn", rows);
        }
        "proof" => {
            let of = |proof: VerticalProof| row(proof.word(), &say::capitalised(proof.word()), "", false);
            let rows = VerticalProof::ALL.into_iter().map(of).collect();
            pick(app, id, "What proves the vertical", "The picture's own top proves none", rows);
        }
        "head" => {
            let rows = SIDES.iter().map(|(_, id, words)| row(id, words, "", false)).collect();
            pick(app, id, "Where the patient's head is", "As the picture is shown", rows);
        }
        "lying" => {
            let rows = vec![row("prone", "Prone", "", false), row("supine", "Supine", "", false)];
            pick(app, id, "The patient lies", "", rows);
        }
        "roll" => ask_roll(app, ""),
        _ => moved::ask(app),
    }
}

fn ask_roll(app: &Shared, refusal: &str) {
    let range = format!("{} to {} °", ROLL_DEG[0], ROLL_DEG[1]);
    let (title, hint) = ("How far the picture's top leans", "From the vertical, positive to the right of the picture");
    let number = NumberOf { title, hint, unit: "°", range: &range, negatives: true, refusal };
    questions::number(app, AroundAsked::ReAim("roll".to_owned()), &number);
}

/// A row of a list was chosen.
pub(super) fn picked(app: &Shared, id: &str, chosen: &str) {
    around::close(app);
    if id == "picture" && !chosen.is_empty() {
        return pictures::load(app, chosen, |app, picture| {
            let placement = moved::placement_of(app, &picture.name);
            edit(app, |draft| {
                (draft.picture, draft.touched, draft.chosen) = (Some(picture), [None; 4], 0);
                draft.placement = placement;
            });
        });
    }
    edit(app, |draft| choose(draft, id, chosen));
}

fn choose(draft: &mut Draft, id: &str, chosen: &str) {
    match id {
        "picture" => (draft.picture, draft.touched, draft.chosen) = (None, [None; 4], 0),
        "line" => {
            draft.line = SacralLine::ALL.into_iter().find(|line| line.word() == chosen).or(draft.line);
            (draft.touched[0], draft.touched[1], draft.chosen) = (None, None, 0);
        }
        "proof" => {
            let proof = VerticalProof::ALL.into_iter().find(|proof| proof.word() == chosen);
            draft.proven = proof.unwrap_or(draft.proven);
            (draft.touched[2], draft.touched[3]) = (None, None);
            draft.chosen = draft.touched.iter().take(draft.places()).position(Option::is_none).unwrap_or(0);
        }
        "head" => draft.head = SIDES.iter().find(|(_, id, _)| *id == chosen).map(|(side, ..)| *side),
        _ => {
            draft.room.position = if chosen == "supine" { PatientPosition::Supine } else { PatientPosition::Prone };
        }
    }
}

/// A number was typed.
pub(super) fn number(app: &Shared, text: &str) {
    let value = numbers::parse(app, text).filter(|value| (ROLL_DEG[0]..=ROLL_DEG[1]).contains(value));
    let Some(value) = value else { return ask_roll(app, "Between -180 and 180 °") };
    around::close(app);
    edit(app, |draft| draft.roll_deg = Some(value));
}
