//! Identifiers and texts: what fits a screen read at arm's length and what can stand in a journal.

use super::report::Report;
use crate::pathway::Flaw;

/// Longest identifier.
pub(super) const ID_MAX: usize = 32;
/// Longest version of the content.
pub(super) const VERSION_MAX: usize = 16;
/// Longest title of a pathway.
pub(super) const PATHWAY_TITLE_MAX: usize = 60;
/// Longest title of a phase: the rail is read at 1.5 m.
pub(super) const PHASE_TITLE_MAX: usize = 16;
/// Longest title of a step.
pub(super) const STEP_TITLE_MAX: usize = 40;
/// Longest title of a gate.
pub(super) const GATE_TITLE_MAX: usize = 24;
/// Longest option, counted item or name of a label.
pub(super) const SHORT_MAX: usize = 40;
/// Longest line: text, detail, hint, criterion, caution.
pub(super) const LINE_MAX: usize = 90;
/// Longest word on where the content comes from.
pub(super) const ABOUT_MAX: usize = 4_000;
/// Most cautions shown with one check.
pub(super) const CAUTIONS_MAX: usize = 4;

/// Judges an identifier: kebab-case, beginning with a letter.
pub(super) fn id(report: &mut Report, at: &str, id: &str) {
    let words = id
        .split('-')
        .all(|word| !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit()));
    let letter = id.bytes().next().is_some_and(|byte| byte.is_ascii_lowercase());
    if !(words && letter && id.len() <= ID_MAX) {
        report.say(at, Flaw::BadId { id: id.chars().take(2 * ID_MAX).collect(), max: ID_MAX });
    }
}

/// Judges one line of text.
pub(super) fn line(report: &mut Report, at: &str, text: &str, max: usize) {
    judge(report, at, text, max, char::is_control);
}

/// Judges text that may run over several lines.
pub(super) fn prose(report: &mut Report, at: &str, text: &str, max: usize) {
    judge(report, at, text, max, |letter| letter.is_control() && letter != '\n');
}

/// Judges a line that may be left out.
pub(super) fn optional(report: &mut Report, at: &str, text: Option<&String>) {
    if let Some(text) = text {
        line(report, at, text, LINE_MAX);
    }
}

fn judge(report: &mut Report, at: &str, text: &str, max: usize, forbidden: impl Fn(char) -> bool) {
    let found = text.chars().count();
    if text.trim().is_empty() {
        report.say(at, Flaw::Blank);
    } else if text.trim() != text || text.chars().any(forbidden) {
        report.say(at, Flaw::Untidy);
    }
    if found > max {
        report.say(at, Flaw::TooLong { found, max });
    }
}
