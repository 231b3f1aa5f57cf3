//! Redaction: leaving disclosures out. Every signature still verifies, since only digests were signed.

use super::RecordError;
use super::claim::is_claim;
use super::disclosure::name_of;
use super::signed::{Document, Signed};

/// Drops every disclosure but those of the named claims.
///
/// # Errors
/// [`RecordError::NoSuchClaim`] if a name is none of [`super::CLAIMS`].
pub fn redact<D: Document>(signed: Signed<D>, keep: &[String]) -> Result<Signed<D>, RecordError> {
    if let Some(name) = keep.iter().find(|name| !is_claim(name)) {
        return Err(RecordError::NoSuchClaim { name: name.clone() });
    }
    let mut kept = Vec::new();
    for (position, disclosure) in signed.envelope().disclosures().iter().enumerate() {
        if keep.contains(&name_of(position, disclosure)?) {
            kept.push(disclosure.clone());
        }
    }
    signed.with_disclosures(kept)
}

/// Drops every disclosure.
///
/// # Errors
/// None that a well-formed file can cause.
pub fn redact_all<D: Document>(signed: Signed<D>) -> Result<Signed<D>, RecordError> {
    signed.with_disclosures(Vec::new())
}
