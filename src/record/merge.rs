//! Two files of one payload are one record: the union of their signatures and disclosures.

use super::RecordError;
use super::signed::{Document, Signed, of};

/// Joins two files of one payload; which comes first makes no difference.
///
/// # Errors
/// [`RecordError::OtherPayload`] if the payloads differ, [`RecordError::TwoSignatures`] if one signer signed the two
/// differently: nobody but a person can say which is meant.
pub fn merge<D: Document>(left: Signed<D>, right: &Signed<D>) -> Result<Signed<D>, RecordError> {
    if left.payload() != right.payload() {
        return Err(RecordError::OtherPayload { left: left.digest(), right: right.digest() });
    }
    let mut more = Vec::new();
    for (index, signature) in right.signatures().iter().enumerate() {
        match left.signatures().iter().find(|other| of(other) == of(signature)) {
            None => more.push(right.envelope().signatures[index].clone()),
            Some(same) if same == signature => {}
            Some(_) => {
                let who = of(signature);
                return Err(RecordError::TwoSignatures { role: who.role, kid: who.kid });
            }
        }
    }
    let claims = right.envelope().disclosures().to_vec();
    left.with(more, claims)
}
