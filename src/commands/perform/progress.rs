//! How far a script has come, read from the journal alone.

use super::Timed;
use crate::case::{Case, Did, Event, Issue};
use crate::commands::script::{Action, Cast};
use crate::journal::{self, VerifiedJournal};
use crate::open_case::OpenCase;
use crate::people::Actor;

/// Number of commands whose events the journal holds, in order from the first.
///
/// The script is decided again on a case of its own; what the journal holds beyond it (a return, a clock's jump) is
/// passed over.
pub(super) fn acknowledged(open: &OpenCase, bytes: &[u8], actions: &[Timed], cast: &Cast) -> usize {
    let Ok(reading) = journal::read(bytes) else { return 0 };
    let journal: VerifiedJournal = reading.journal;
    let Some((first, rest)) = journal.events().split_first() else { return 0 };
    let (pathway, plan) = (open.case().pathway().clone(), open.case().plan().clone());
    let Ok(opened) = Case::open(pathway, plan, first) else { return 0 };
    let mut walk = Walk { case: opened, rest };
    actions.iter().take_while(|timed| walk.holds(timed, cast)).count()
}

struct Walk<'e> {
    case: Case,
    rest: &'e [Event],
}

impl Walk<'_> {
    /// Whether the journal goes on with the events of this command; moves behind them if so.
    fn holds(&mut self, timed: &Timed, cast: &Cast) -> bool {
        match &timed.action {
            Action::PowerCut => self.skip_to(|did| matches!(did, Did::CaseReturned { .. })).is_some(),
            Action::Sign(role) => {
                let signed =
                    self.skip_to(|did| matches!(did, Did::RecordSigned { role: signed, .. } if signed == role));
                signed.is_some_and(|steps| self.take(steps + 1))
            }
            Action::JoinReport(name) => {
                let file = |did: &Did| matches!(did, Did::DoseReportJoined(report) if report.file == *name);
                let joined = self.skip_to(file).is_some_and(|steps| self.take(steps + 1));
                let attributed = |did: &Did| matches!(did, Did::DoseReconciled(_));
                joined && self.skip_to(attributed).is_some_and(|steps| self.take(steps + 1))
            }
            Action::Case(command) => {
                let actor = |role| cast.team.get(&role).map(|person| Actor::new(role, person.clone()));
                let (Some(by), Some(logged_by)) = (actor(timed.by), actor(timed.logged_by)) else { return false };
                let Some(next) = self.rest.first() else {
                    // Nothing is left; only a command that makes no event counts as held.
                    let stamp = self.case.state().timeline.last().cloned();
                    let Some(stamp) = stamp else { return false };
                    let issue = Issue { stamp, by, logged_by, command: command.clone() };
                    return self.case.decide(&issue).is_ok_and(|dids| dids.is_empty());
                };
                let issue = Issue { stamp: next.stamp.clone(), by, logged_by, command: command.clone() };
                let Ok(dids) = self.case.decide(&issue) else { return false };
                dids.iter().all(|did| self.skip_to(|found| found == did).is_some_and(|steps| self.take(steps + 1)))
            }
        }
    }

    /// How many events stand before the wanted one, if only such as a script does not make.
    fn skip_to(&self, wanted: impl Fn(&Did) -> bool) -> Option<usize> {
        let at = self.rest.iter().position(|event| wanted(&event.did))?;
        let passed_over = |event: &Event| matches!(event.did, Did::CaseReturned { .. } | Did::ClockJumped { .. });
        self.rest[..at].iter().all(passed_over).then_some(at)
    }

    fn take(&mut self, events: usize) -> bool {
        let (now, rest) = self.rest.split_at(events);
        self.rest = rest;
        now.iter().all(|event| self.case.apply(event).is_ok())
    }
}
