//! The case record: build, sign, verify, redact, merge, and addenda.
//!
//! A record is a JWS in General JSON Serialization (RFC 7515 section 7.2.1) over a canonical JSON payload (RFC 8785),
//! signed with Ed25519 (RFC 8037, RFC 9864) by each required signer, with selectively disclosable claims (RFC 9901)
//! whose disclosures stand in the first signature's unprotected header. A strict profile: one sequence of bytes per
//! record, no unknown member, no unmatched disclosure, so that every flipped bit is caught.
//!
//! The envelope is a thin layer of our own. Weighed and rejected: `josekit` (knows the General form, but links
//! OpenSSL, which a tablet build would have to bring along), `jsonwebtoken` (compact form only, no General
//! serialization, no second signature), `jwt-simple` (compact tokens with claims of time, which a record may not
//! hold), `jose-jws` (types only, signs and verifies nothing), `sd-jwt-payload` and `sd-jwt-rs` (written to drafts of
//! what became RFC 9901, and the compact form at their centre). None refuses what this profile refuses.
//!
//! What it does not do: no files, no clock, no policy on who must sign (that is the pathway). What may never change:
//! the meaning of payload format 1, the names of claims, the media types of the headers.

mod addendum;
mod build;
mod build_places;
mod canonical;
mod claim;
mod disclosure;
mod envelope;
mod error;
mod findings;
mod header;
mod merge;
mod payload;
mod place;
mod put_back;
mod radiation;
mod radiation_text;
mod redact;
mod scan;
mod signed;
mod text;
mod text_findings;
mod unsigned;
mod verified;

pub use addendum::{Addendum, AddendumKind, NerveFinding, NerveRoot, Sensation, addend};
pub use build::{ChainPoint, Names, build};
pub use claim::{CLAIMS, Claim, is_claim};
pub use error::RecordError;
pub use findings::{MoveEntry, PinFindingEntry, ReAimEntry, ViewFindingEntry};
pub use header::{Meaning, Protected};
pub use merge::merge;
pub use payload::{
    CArm, Closing, Correction, FORMAT, ImplantCount, MovedShots, PathwayName, PatientClaims, PlanDigest,
    PlannedImplant, PlannedSide, Reasoned, Record, Remark, ShotEntry, Shots, StaffMember, Time, Who,
};
pub use place::{CheckEntry, Entered, GateEntry, OverrideEntry, PlaceEntry, RecordedAnswer, Release};
pub use radiation::{ImageEntry, MachineEntry, RadiationEntry, ReadingEntry, ReportEntry, SettingEntry, TotalEntry};
pub use redact::{redact, redact_all};
pub use signed::{Document, MAX_BYTES, SignatureOf, Signed};
pub use text::{text, text_of_addendum};
pub use unsigned::Unsigned;
pub use verified::{Verified, VerifiedSignature, verify, verify_addendum};

/// A record before its first signature.
pub type UnsignedRecord = Unsigned<Record>;
/// A record with at least one signature, none of them checked against a roster.
pub type SignedRecord = Signed<Record>;
/// A record whose every required signature was verified.
pub type VerifiedRecord = Verified<Record>;
/// An addendum before its first signature.
pub type UnsignedAddendum = Unsigned<Addendum>;
/// An addendum with at least one signature, none of them checked against a roster.
pub type SignedAddendum = Signed<Addendum>;
/// An addendum whose every required signature was verified.
pub type VerifiedAddendum = Verified<Addendum>;
