//! Words and codes that several screens share.

use crate::case::{Case, Outcome, Status};
use crate::pathway::{AntibioticCover, Place};
use crate::people::{PersonId, Role, Roster};
use crate::plan::{ImplantPlan, Plan, SacrumShape};
use crate::units::Side;
use brimline_ui::OperatedSide;

/// The code of a role, as a screen names it back.
pub(super) fn role_code(role: Role) -> String {
    role.word().replace(' ', "-")
}

/// The role of a code.
pub(super) fn role_of(code: &str) -> Option<Role> {
    Role::ALL.into_iter().find(|role| role_code(*role) == code)
}

/// Roles in words: "surgeon, assistant".
pub(super) fn roles(roles: &[Role]) -> String {
    roles.iter().map(|role| role.word()).collect::<Vec<_>>().join(", ")
}

/// The code of a side, as a screen names it back.
pub(super) fn side_of(code: &str) -> Option<Side> {
    [Side::Left, Side::Right].into_iter().find(|side| side.to_string() == code)
}

/// The sides operated on, as the bar above a screen shows them.
pub(super) fn operated(sides: &[Side]) -> OperatedSide {
    match sides {
        [] => OperatedSide::None,
        [Side::Left] => OperatedSide::Left,
        [Side::Right] => OperatedSide::Right,
        _ => OperatedSide::Both,
    }
}

/// The sides of a plan.
pub(super) fn sides(plan: &Plan) -> Vec<Side> {
    plan.sides.iter().map(|side| side.side).collect()
}

/// Yes or no.
pub(super) fn yes(is: bool) -> &'static str {
    if is { "Yes" } else { "No" }
}

/// The shape of the upper sacrum in words.
pub(super) fn shape(shape: SacrumShape) -> &'static str {
    match shape {
        SacrumShape::Normal => "Normal",
        SacrumShape::Dysmorphic => "Dysmorphic",
        SacrumShape::NotJudged => "Not judged: treated as dysmorphic",
    }
}

/// The antibiotic in words, with what it means.
pub(super) fn antibiotic(cover: AntibioticCover) -> (&'static str, &'static str) {
    match cover {
        AntibioticCover::Standard => ("Within 60 minutes", "before the incision"),
        AntibioticCover::LongInfusion => ("Within 120 minutes", "vancomycin or a fluoroquinolone"),
        AntibioticCover::WithheldForCultures => ("Held back", "until deep samples are taken"),
    }
}

/// How a case ended, in words.
pub(super) fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "Finished",
        Outcome::Cancelled => "Cancelled before incision",
        Outcome::Abandoned => "Abandoned",
        Outcome::Converted => "Converted to open",
        Outcome::Void => "Void, opened in error",
    }
}

/// Where an open case stands, in words.
pub(super) fn status(status: Status) -> &'static str {
    match status {
        Status::Running => "open",
        Status::Paused => "paused",
        Status::Stopped => "stopped",
        Status::Ending(_) => "ending",
        Status::Closed(_) => "closed",
    }
}

/// A number with the decimal sign of the place.
pub(super) fn number(value: f64, decimal_sign: char) -> String {
    value.to_string().replace('.', &decimal_sign.to_string())
}

/// A number as it was typed with the decimal sign of the place.
pub(super) fn typed(text: &str, decimal_sign: char) -> Option<f64> {
    let value: f64 = text.trim().replace(decimal_sign, ".").parse().ok()?;
    value.is_finite().then_some(value)
}

/// An implant in words: "S1 10 × 45 mm".
pub(super) fn implant(implant: &ImplantPlan, decimal_sign: char) -> String {
    let (diameter, length) = (number(implant.diameter_mm, decimal_sign), number(implant.length_mm, decimal_sign));
    format!("{} {diameter} × {length} mm", implant.level)
}

/// Patient and label, as every screen names a case.
pub(super) fn whose(plan: &Plan) -> String {
    format!("{} · {}", plan.patient.name, plan.label)
}

/// The phase and step of a place.
pub(super) fn phase_and_step(case: &Case, place: &Place) -> String {
    let phase = super::app::App::phase_title(case, place);
    let step = super::case_view::title(case, place);
    if phase.is_empty() { step } else { format!("{phase} · {step}") }
}

/// One or several of something: "1 shot", "4 shots".
pub(super) fn several(count: impl Into<u64>, one: &str) -> String {
    match count.into() {
        1 => format!("1 {one}"),
        more => format!("{more} {one}s"),
    }
}

/// What it means that one person fills two of these roles; empty if nobody does.
pub(super) fn together(roster: &Roster, held: &[(Role, PersonId)]) -> String {
    let pairs = roster.held_together(held);
    let lines = pairs.iter().map(|(one, other)| {
        let kid = held.iter().find(|(role, _)| role == one).map(|(_, kid)| kid);
        let name = kid.and_then(|kid| roster.person(kid)).map_or("One person", crate::people::Person::name);
        format!("{name} signs as {one} and as {other}: the second signature is not an independent one.")
    });
    lines.collect::<Vec<_>>().join(" ")
}

/// Shots that moved between two cases: positive if taken over, negative if handed on.
pub(super) fn moved(shots: i64) -> String {
    let count = several(shots.unsigned_abs(), "shot");
    if shots < 0 {
        format!("{count} handed on to another case")
    } else {
        format!("{count} taken over from another case")
    }
}

/// The beginning of a text, where a line has room for no more.
pub(super) fn short(text: &str) -> String {
    const MOST: usize = 48;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    let begin: String = text.chars().take(MOST).collect();
    format!("{}...", begin.trim_end())
}
