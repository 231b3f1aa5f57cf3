//! Who qualifies, judged under a named policy: each criterion met, unmet, unknown or not asked, in words.
//!
//! What it is for: the published policies disagree, so each ships as data with its source and how sure each threshold is
//! (`policies.json` beside this module). What it deliberately does not do: it never says yes or no as a whole, and a
//! threshold that is not sure enough decides nothing until a site confirms it. What may never change: the codes of
//! facts, policies and criteria, which stand in plans.

mod battery;
mod contraindication;
mod criterion;
mod facts;
mod judge;
mod policy;
mod text;

pub use battery::{Battery, Likelihood, PRIOR_PERCENT, PostTest};
pub use contraindication::{Against, Contraindication, Standing};
pub use criterion::{Finding, Judged, Kind, Rule, StudyWanted};
pub use facts::{
    Approach, Block, Care, Diagnosis, Facts, FactsError, Fortin, Imaging, ImagingKind, Nicotine, ProvocationTest,
    Region, SideFacts, TestDone,
};
pub use judge::{Assessment, Confirmed, EligibilityError, judge};
pub use policy::{Criterion, Policy, Sure, policies, policy};
pub use text::text;
