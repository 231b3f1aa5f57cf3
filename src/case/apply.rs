//! Applying an event.

use super::{Case, Event, ReplayError, State};
use crate::pathway::Pathway;
use crate::plan::Plan;

pub(super) fn opened(_pathway: &Pathway, _plan: &Plan, _event: &Event) -> Result<State, ReplayError> {
    Err(ReplayError::NotOpened)
}

pub(super) fn apply(_case: &mut Case, _event: &Event) -> Result<(), ReplayError> {
    Ok(())
}
