//! Moving the shots of a case that was opened in error to the right one. Both journals tell it.
//!
//! No disk writes two journals at once. The right case takes the shots over first, so that a crash between the two
//! never loses one; the next try sees what was taken over and goes on from there. What it does not do: it removes no
//! event; the counts of the places stay where they were made.

use super::{IssueError, OpenCase, OpenError, Reopened, SaveState, TailFound, World};
use crate::case::{CaseKind, Command, Status};
use crate::people::Actor;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use thiserror::Error;

/// Longest wait for the right case's journal; a disk that is slower is not well.
const SAVE_WAIT: Duration = Duration::from_secs(10);

/// Why shots were not moved.
#[derive(Debug, Error)]
pub enum MoveError {
    #[error("the right case does not open: {0}")]
    Open(#[from] OpenError),
    #[error("the right case refuses: {0}")]
    Issue(#[from] IssueError),
    #[error("the right case is damaged, so nothing can be entered there")]
    Damaged,
    #[error("the right case has ended already")]
    Ended,
    #[error("one of the two cases is a rehearsal and the other is not")]
    OtherKind,
    #[error("the right case's journal was not saved: {0}")]
    NotSaved(String),
    #[error("there is no shot to move")]
    NoShots,
}

/// Shots on their way out of one case, apart from it; to be run where waiting for the disk holds nobody up.
pub struct MovingJob {
    world: World,
    from_case: String,
    kind: CaseKind,
    shots: u32,
    /// Shots each other case was handed before.
    handed: Vec<(String, i64)>,
}

/// Shots that the right case has taken over; the wrong one has yet to hand them on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenOver {
    pub to_case: String,
    pub shots: u32,
}

impl MovingJob {
    /// Lets the case in that folder take the shots over; durable when this returns. Both people must hold the role
    /// they name in that case.
    ///
    /// # Errors
    /// [`MoveError`]; nothing was taken over, or it was and is found on the next try.
    pub fn take_over(self, right: PathBuf, by: &Actor, logged_by: &Actor) -> Result<TakenOver, MoveError> {
        let Reopened { mut case, tail } = OpenCase::reopen(&self.world, &right, Arc::new(|| {}))?;
        if matches!(tail, TailFound::Damaged { .. }) {
            return Err(MoveError::Damaged);
        }
        let state = case.case().state();
        if matches!(state.status, Status::Closed(_)) {
            return Err(MoveError::Ended);
        }
        if state.opening.kind != self.kind {
            return Err(MoveError::OtherKind);
        }
        let to_case = state.opening.case.clone();
        let handed: i64 = self.handed.iter().filter(|(case, _)| *case == to_case).map(|(_, shots)| *shots).sum();
        // What a try before this one brought here and the wrong case never came to hand on.
        let here_already = state.shots_moved_with(&self.from_case).saturating_add(handed).max(0);
        let shots = u32::try_from((i64::from(self.shots) - here_already).max(0)).unwrap_or(0);
        if shots > 0 {
            let from_case = self.from_case.clone();
            case.issue(by, logged_by, Command::MoveShots { from_case, to_case: to_case.clone(), shots })?;
        }
        match case.wait_saved(SAVE_WAIT) {
            SaveState::Saved => Ok(TakenOver { to_case, shots: self.shots }),
            other => Err(MoveError::NotSaved(format!("{other:?}"))),
        }
    }
}

impl OpenCase {
    /// All shots this case still keeps, on their way to another.
    ///
    /// # Errors
    /// [`MoveError::NoShots`].
    pub fn moving_shots(&self) -> Result<MovingJob, MoveError> {
        let state = self.case().state();
        let shots = state.shots_kept();
        if shots == 0 {
            return Err(MoveError::NoShots);
        }
        let (from_case, kind) = (state.opening.case.clone(), state.opening.kind);
        Ok(MovingJob { world: self.world().clone(), from_case, kind, shots, handed: state.shots_moved.clone() })
    }

    /// Hands on what the right case has taken over.
    ///
    /// # Errors
    /// [`IssueError`]; the next try finds what was taken over and hands it on.
    pub fn hand_on(&mut self, taken: &TakenOver, by: &Actor, logged_by: &Actor) -> Result<(), IssueError> {
        let from_case = self.case().state().opening.case.clone();
        let (to_case, shots) = (taken.to_case.clone(), taken.shots);
        self.issue(by, logged_by, Command::MoveShots { from_case, to_case, shots }).map(|_| ())
    }
}
