//! The room's words for each move of the machine, as data that a site can re-word.
//!
//! An instruction names the joint and the end that moves. What it does not do: it rounds to the whole degree that a room
//! can set and shows no fraction. The names of the moves follow a published nomenclature (Stroh et al., J Am Acad Orthop
//! Surg Glob Res Rev 2020;4(2):e20.00008) where it has one; the sentences are the program's own. What may never change:
//! the codes of [`MoveKind`], which stand in files.

use super::arm::{Arm, Joint, Joints};
use super::space::left;
use crate::strict_json::{self, ReadError};
use crate::units::{Degrees, Side};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use thiserror::Error;

/// The format of words this program reads.
pub const WORDS_FORMAT: u32 = 1;
/// The largest document of words accepted, bytes.
pub const WORDS_MAX_BYTES: u64 = 16 << 10;
/// Where the number goes.
const DEGREES: &str = "{degrees}";
/// Longest phrase that a line of the screen holds, characters.
const PHRASE_MAX: usize = 80;

/// A way in which a joint moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MoveKind {
    TiltHead,
    TiltFeet,
    /// The image receptor over the patient, away from the stand.
    OrbitOver,
    OrbitBack,
    /// The whole C swings about the stand.
    WagHead,
    WagFeet,
}

impl MoveKind {
    pub const ALL: [Self; 6] =
        [Self::TiltHead, Self::TiltFeet, Self::OrbitOver, Self::OrbitBack, Self::WagHead, Self::WagFeet];
}

/// One move: how, and by how many degrees, positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Move {
    #[serde(rename = "move")]
    pub kind: MoveKind,
    #[serde(rename = "degrees")]
    pub by: Degrees,
}

impl Move {
    /// The move that turns `joint` by `by` on that machine beside that patient.
    #[must_use]
    pub fn of(arm: &Arm, joint: Joint, by: Degrees) -> Self {
        let positive = by.0 >= 0.0;
        let kind = match joint {
            Joint::Tilt if positive => MoveKind::TiltHead,
            Joint::Tilt => MoveKind::TiltFeet,
            Joint::Orbit if positive == (arm.stand == Side::Right) => MoveKind::OrbitOver,
            Joint::Orbit => MoveKind::OrbitBack,
            Joint::Wag if positive == swings_to_head(arm) => MoveKind::WagHead,
            Joint::Wag => MoveKind::WagFeet,
        };
        Self { kind, by: Degrees(by.0.abs()) }
    }

    /// The moves that bring the joints from zero to `joints`, in whole degrees, those of nothing left out.
    #[must_use]
    pub fn to(arm: &Arm, joints: &Joints) -> Vec<Self> {
        [Joint::Wag, Joint::Tilt, Joint::Orbit]
            .into_iter()
            .map(|joint| (joint, joints.of(joint).0.round()))
            .filter(|(_, whole)| *whole != 0.0)
            .map(|(joint, whole)| Self::of(arm, joint, Degrees(whole)))
            .collect()
    }
}

/// Whether an anticlockwise turn, seen from above, swings the C toward the head.
fn swings_to_head(arm: &Arm) -> bool {
    let ahead = match arm.stand {
        Side::Right => left(),
        Side::Left => -left(),
    };
    arm.lying.up().cross(&ahead).dot(&arm.lying.toward_head()) > 0.0
}

/// Why a document holds no words.
#[derive(Debug, Error, PartialEq, Eq)]
pub enum WordsError {
    #[error(transparent)]
    Unreadable(#[from] ReadError),
    #[error("say.{kind}: missing")]
    Missing { kind: String },
    #[error("say.{kind}: a phrase of 1 to {PHRASE_MAX} characters that holds {DEGREES} once")]
    Phrase { kind: String },
}

/// A phrase for each move.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words(BTreeMap<MoveKind, String>);

/// The document of words.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(rename = "brimline_words")]
    _format: u32,
    say: BTreeMap<MoveKind, String>,
}

impl Words {
    /// The words that come with the program.
    #[must_use]
    pub fn built_in() -> Self {
        Self::read(include_bytes!("words.json")).expect("the built-in words are held by a test")
    }

    /// Reads a site's own words.
    ///
    /// # Errors
    /// [`WordsError`] names the phrase.
    pub fn read(bytes: &[u8]) -> Result<Self, WordsError> {
        let document: Document = strict_json::read(bytes, "brimline_words", WORDS_FORMAT, WORDS_MAX_BYTES)?;
        for kind in MoveKind::ALL {
            let code = || serde_json::to_value(kind).ok().and_then(|code| Some(code.as_str()?.to_owned()));
            let name = || code().unwrap_or_default();
            let phrase = document.say.get(&kind).ok_or_else(|| WordsError::Missing { kind: name() })?;
            let length = phrase.chars().count();
            if phrase.matches(DEGREES).count() != 1 || length > PHRASE_MAX || phrase.chars().any(char::is_control) {
                return Err(WordsError::Phrase { kind: name() });
            }
        }
        Ok(Self(document.say))
    }

    /// The instruction, in whole degrees.
    #[must_use]
    pub fn say(&self, one: &Move) -> String {
        let phrase = self.0.get(&one.kind).expect("every move has a phrase, or the words were refused");
        phrase.replace(DEGREES, &format!("{:.0}", one.by.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carm::{Lying, PatientPosition, Tube};

    fn arm(position: PatientPosition, stand: Side) -> Arm {
        Arm { lying: Lying::as_planned(position), tube: Tube::Under, stand, off_square: Degrees(0.0) }
    }

    #[test]
    fn an_instruction_names_the_joint_and_the_end_that_moves() {
        let one = Move::of(&arm(PatientPosition::Prone, Side::Right), Joint::Tilt, Degrees(-4.3));
        assert_eq!(Words::built_in().say(&one), "tilt: image receptor 4° toward the feet");
    }

    #[test]
    fn over_is_away_from_the_stand_on_either_side() {
        for (stand, by) in [(Side::Right, 2.0), (Side::Left, -2.0)] {
            let one = Move::of(&arm(PatientPosition::Prone, stand), Joint::Orbit, Degrees(by));
            assert_eq!(one, Move { kind: MoveKind::OrbitOver, by: Degrees(2.0) });
        }
    }

    /// The C hangs ahead of the stand, so an anticlockwise swing takes it to the left of whoever stands there.
    #[test]
    fn a_swing_is_named_by_where_the_c_goes() {
        let to = |position, stand| Move::of(&arm(position, stand), Joint::Wag, Degrees(5.0)).kind;
        assert_eq!(to(PatientPosition::Supine, Side::Right), MoveKind::WagHead);
        assert_eq!(to(PatientPosition::Prone, Side::Right), MoveKind::WagFeet);
        assert_eq!(to(PatientPosition::Supine, Side::Left), MoveKind::WagFeet);
    }

    #[test]
    fn a_site_may_use_its_own_words_for_every_move_and_for_no_less() {
        let own = String::from_utf8(include_bytes!("words.json").to_vec()).expect("UTF-8");
        let own = own.replace("tilt: image receptor {degrees}° toward the head", "cant {degrees}° cephalad");
        let words = Words::read(own.as_bytes()).expect("a phrase for each move");
        assert_eq!(words.say(&Move { kind: MoveKind::TiltHead, by: Degrees(7.0) }), "cant 7° cephalad");
        let mute = own.replace("{degrees}° cephalad", "cephalad");
        assert_eq!(Words::read(mute.as_bytes()), Err(WordsError::Phrase { kind: "tilt-head".to_owned() }));
        let short = br#"{"brimline_words": 1, "say": {"tilt-head": "up {degrees}"}}"#;
        assert_eq!(Words::read(short), Err(WordsError::Missing { kind: "tilt-feet".to_owned() }));
        let unknown = own.replace("wag-feet", "wag-elsewhere");
        assert!(matches!(Words::read(unknown.as_bytes()), Err(WordsError::Unreadable(_))));
    }
}
