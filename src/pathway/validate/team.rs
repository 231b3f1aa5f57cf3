//! The team: who must be there, who signs, who releases a gate, who may answer.

use super::report::Report;
use crate::pathway::{Flaw, Gate, Pathway};
use crate::people::Role;

/// Judges the team and the signers.
pub(super) fn members(report: &mut Report, pathway: &Pathway) {
    report.length("team", pathway.team.len(), 1, Role::ALL.len());
    roles(report, "team", &pathway.team, None);
    report.length("signers", pathway.signers.len(), 1, Role::ALL.len());
    roles(report, "signers", &pathway.signers, Some(&pathway.team));
}

/// Judges who releases a gate.
pub(super) fn gate(report: &mut Report, at: &str, gate: &Gate, team: &[Role]) {
    let at = format!("{at}.release");
    if gate.release.is_empty() {
        report.say(at.as_str(), Flaw::NobodyReleases);
    }
    roles(report, &at, &gate.release, Some(team));
}

/// Judges who may answer a check: not every role named must be in the team, but one.
pub(super) fn answerers(report: &mut Report, at: &str, by: &[Role], team: &[Role]) {
    roles(report, at, by, None);
    if !by.is_empty() && !by.iter().any(|role| team.contains(role)) {
        report.say(at, Flaw::NobodyAnswers);
    }
}

fn roles(report: &mut Report, at: &str, named: &[Role], team: Option<&[Role]>) {
    report.twice(at, named.iter().map(|role| role.word()));
    for (number, role) in named.iter().enumerate() {
        if team.is_some_and(|team| !team.contains(role)) {
            report.say(format!("{at}[{number}]"), Flaw::NotInTeam(*role));
        }
    }
}
