//! A view correction as text that a radiographer acts on, and as JSON.

use super::document::Read;
use crate::carm::correction::{Axes, Correction};
use crate::carm::{Joint, Words};
use crate::commands::plan::ADVISORY;
use crate::commands::plan::setup::{JointAngles, in_words};
use serde_json::{Value, json};
use std::fmt::Write;

/// Parallax smaller than this is not worth a word, millimetres: a touch is no better.
const PARALLAX_SAID_MM: f64 = 1.0;

/// The text.
pub fn text(read: &Read, answer: &Correction, words: &Words) -> String {
    let what = if read.sighting.axes == Axes::Across { ", rotation" } else { "" };
    let mut text = format!("{}{what}. {}.\n\n", read.view, in_words(&read.sighting.arm));
    for one in &answer.moves {
        let _ = writeln!(text, "  {}", words.say(one));
    }
    if answer.moves.is_empty() {
        text.push_str("  no move: less than half a degree from the true view\n");
    }
    let _ = writeln!(text, "\nOff by {:.1}°. {:.1} mm should remain between:", answer.off_by.0, answer.remaining.0);
    let _ = writeln!(text, "  {}\n  {}", read.names[0], read.names[1]);
    for joint in [Joint::Wag, Joint::Tilt, Joint::Orbit] {
        if answer.sd.of(joint).0 > 0.0 {
            let _ = writeln!(text, "{}", doubt(answer, joint));
        }
    }
    if answer.parallax.0 >= PARALLAX_SAID_MM {
        let _ = writeln!(
            text,
            "{:.1} mm apart comes from standing off the centre of the picture: centring removes it, no move does.",
            answer.parallax.0
        );
    }
    if !answer.moves.is_empty() && within_doubt(answer) {
        text.push_str("The move is smaller than its uncertainty: another touch may tell more than another shot.\n");
    }
    let _ = write!(text, "± is one standard deviation. {ADVISORY}");
    text
}

fn doubt(answer: &Correction, joint: Joint) -> String {
    let name = match joint {
        Joint::Wag => "Wag",
        Joint::Tilt => "Tilt",
        Joint::Orbit => "Orbit",
    };
    let (turn, sd, bound) = (answer.turn.of(joint).0, answer.sd.of(joint).0, answer.bound.of(joint).0);
    format!("{name} {:.1}° ± {sd:.1}°; the touches alone leave ± {bound:.1}° at best", turn.abs())
}

/// Whether every move is smaller than its standard uncertainty.
fn within_doubt(answer: &Correction) -> bool {
    [Joint::Wag, Joint::Tilt, Joint::Orbit]
        .into_iter()
        .all(|joint| answer.turn.of(joint).0.abs() <= answer.sd.of(joint).0)
}

/// The JSON.
pub fn json(read: &Read, answer: &Correction, words: &Words) -> Value {
    json!({
        "brimline_correction_answer": 1,
        "view": read.view,
        "landmarks": {"nearer_source": read.names[0], "nearer_detector": read.names[1]},
        "off_by_deg": answer.off_by,
        "turn": JointAngles::of(&answer.turn),
        "sd": JointAngles::of(&answer.sd),
        "bound": JointAngles::of(&answer.bound),
        "moves": answer.moves,
        "words": answer.moves.iter().map(|one| words.say(one)).collect::<Vec<_>>(),
        "remaining_mm": answer.remaining,
        "parallax_mm": answer.parallax,
        "smaller_than_its_uncertainty": within_doubt(answer),
        "advisory": ADVISORY,
    })
}
