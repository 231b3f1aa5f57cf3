//! placeholder
use super::app::Shared;
pub(super) fn show(_app: &Shared) {}
