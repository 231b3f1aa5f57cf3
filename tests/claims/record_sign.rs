//! Signing, verifying, what is asked of the signers.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{
    Counted, Dry, case, closing, half_signed, name_of, nurse, roster, signed, stranger, surgeon, unsigned,
};
use brimline::people::{Role, Roster};
use brimline::record::{
    self, AddendumKind, ChainPoint, Meaning, NerveFinding, NerveRoot, RecordError, Sensation, SignedRecord, Who,
};
use brimline::units::Side;

#[test]
fn a_record_signed_by_both_is_valid_and_complete() {
    let verified = record::verify(&signed().to_bytes(), &roster()).unwrap();
    let names: Vec<_> = verified.signatures().iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["Sam Invented", "Nora Invented"]);
    assert_eq!(verified.signatures()[0].meaning, Meaning::Responsibility);
    assert_eq!(verified.digest(), unsigned().digest());
    assert_eq!(verified.document(), unsigned().document());
}

#[test]
fn the_payload_says_what_happened() {
    let unsigned = unsigned();
    let record = unsigned.document();
    assert_eq!(record.shots.total, 3, "the sum over the places, corrected");
    assert_eq!(record.shots.total, record.places.iter().map(|place| place.shots).sum::<u32>());
    assert_eq!(serde_json::to_value(record.shots.moved[0].shots).unwrap(), 2, "taken over, kept apart");
    assert_eq!((record.shots.corrections[0].from, record.shots.corrections[0].to), (4, 3));
    assert_eq!(record.overrides.len(), 1);
    assert_eq!(record.overrides[0].by.kid, surgeon().person());
    assert_eq!(record.overrides[0].logged_by.kid, nurse().person());
    let depth = &record.places[0].checks[3];
    assert!(depth.done.as_ref().unwrap().unusual);
    assert_eq!(depth.done.as_ref().unwrap().at.ms, 40_000);
    assert_eq!(record.places[0].checks[1].reason.value().unwrap(), "the films did not load");
    assert_eq!(record.closing.seq, closing().seq);
    assert_eq!(record.opened_at.value().unwrap(), "2031-03-04T08:00:10+01:00");
}

/// [R-RECORD-4]
#[test]
fn a_missing_signature_reads_incomplete_and_names_the_signer() {
    let missing = Who { role: Role::CirculatingNurse, kid: nurse().person() };
    let fault = record::verify(&half_signed().to_bytes(), &roster()).unwrap_err();
    assert_eq!(fault, RecordError::Incomplete { missing: vec![missing] });
    assert!(!fault.is_unreadable());
}

/// [R-RECORD-4]
#[test]
fn the_second_signer_may_be_the_first_and_the_order_in_the_file_is_the_same() {
    let other = unsigned().sign(&nurse(), Role::CirculatingNurse, Meaning::Authorship, 210_000).unwrap();
    let other = other.add(&surgeon(), Role::Surgeon, Meaning::Responsibility, 200_000).unwrap();
    assert_eq!(other.to_bytes(), signed().to_bytes());
}

#[test]
fn nobody_signs_whom_the_record_does_not_ask() {
    let wrong = unsigned().sign(&stranger(), Role::Surgeon, Meaning::Review, 1).unwrap_err();
    assert!(matches!(wrong, RecordError::NotASigner { role: Role::Surgeon, .. }));
    let wrong = unsigned().sign(&surgeon(), Role::CirculatingNurse, Meaning::Review, 1).unwrap_err();
    assert!(matches!(wrong, RecordError::NotASigner { .. }));
    let twice = half_signed().add(&surgeon(), Role::Surgeon, Meaning::Review, 1).unwrap_err();
    assert_eq!(twice, RecordError::SignedAlready { role: Role::Surgeon });
}

#[test]
fn an_unknown_key_and_a_role_the_roster_does_not_give_are_refused() {
    let fault = record::verify(&signed().to_bytes(), &Roster::default()).unwrap_err();
    assert!(matches!(fault, RecordError::UnknownKey { index: 0, role: Role::Surgeon, .. }));
    let mut swapped = Roster::default();
    swapped.add("Sam Invented", &[Role::Assistant], &surgeon().public()).unwrap();
    let fault = record::verify(&signed().to_bytes(), &swapped).unwrap_err();
    assert!(matches!(fault, RecordError::RoleNotHeld { index: 0, role: Role::Surgeon, .. }));
}

/// [R-PEOPLE-3]
#[test]
fn a_retired_or_replaced_key_still_verifies_what_it_signed() {
    let mut roster = roster();
    roster.replace(&surgeon().person(), &stranger().public()).unwrap();
    let verified = record::verify(&signed().to_bytes(), &roster).unwrap();
    assert!(verified.signatures()[0].retired);
    assert!(!verified.signatures()[1].retired);
}

#[test]
fn only_the_closing_event_of_a_closed_case_makes_a_record() {
    let other = ChainPoint { seq: 3, ..closing() };
    let fault = record::build(&case(), &other, &name_of, &Counted::default()).unwrap_err();
    assert_eq!(fault, RecordError::ClosingPoint { closed: closing().seq, given: 3 });
    let no_sum = ChainPoint { sum: "A".repeat(64), ..closing() };
    let fault = record::build(&case(), &no_sum, &name_of, &Counted::default()).unwrap_err();
    assert_eq!(fault, RecordError::NotADigest { what: "closing.sum" });
}

#[test]
fn without_unpredictable_salts_there_is_no_record() {
    let fault = record::build(&case(), &closing(), &name_of, &Dry).unwrap_err();
    assert!(matches!(fault, RecordError::Randomness { .. }));
}

/// [R-RECORD-7]
#[test]
fn the_union_of_two_files_is_one_record_whichever_comes_first() {
    let surgeons = record::redact_all(half_signed()).unwrap();
    let nurses = unsigned().sign(&nurse(), Role::CirculatingNurse, Meaning::Authorship, 210_000).unwrap();
    let one = record::merge(surgeons.clone(), &nurses).unwrap();
    let other = record::merge(nurses, &surgeons).unwrap();
    assert_eq!(one.to_bytes(), signed().to_bytes());
    assert_eq!(other.to_bytes(), signed().to_bytes());
}

#[test]
fn files_of_different_payloads_are_not_joined() {
    let salts = Counted::default();
    let _ = record::build(&case(), &closing(), &name_of, &salts).unwrap();
    let other = record::build(&case(), &closing(), &name_of, &salts).unwrap();
    let other = other.sign(&surgeon(), Role::Surgeon, Meaning::Responsibility, 1).unwrap();
    assert!(matches!(record::merge(signed(), &other), Err(RecordError::OtherPayload { .. })));
    let again = unsigned().sign(&surgeon(), Role::Surgeon, Meaning::Responsibility, 1).unwrap();
    assert!(matches!(record::merge(signed(), &again), Err(RecordError::TwoSignatures { role: Role::Surgeon, .. })));
}

#[test]
fn an_addendum_holds_for_the_record_it_names_and_no_other() {
    let verified = record::verify(&signed().to_bytes(), &roster()).unwrap();
    let finding = NerveFinding { side: Side::Left, root: NerveRoot::L5, power: 5, sensation: Sensation::Unchanged };
    let about = AddendumKind::RecoveryExamination { findings: vec![finding] };
    let who = vec![Who { role: Role::Surgeon, kid: surgeon().person() }];
    let addend = |of: &str| {
        let note = Some("all well".to_owned());
        let unsigned = record::addend(of, 7_200_000, about.clone(), note, who.clone(), &Counted::default()).unwrap();
        unsigned.sign(&surgeon(), Role::Surgeon, Meaning::Authorship, 7_200_000).unwrap().to_bytes()
    };
    let good = record::verify_addendum(&addend(verified.digest()), &verified, &roster()).unwrap();
    assert_eq!(good.document().note.value().unwrap(), "all well");
    let other = record::verify_addendum(&addend(&"b".repeat(64)), &verified, &roster()).unwrap_err();
    assert!(matches!(other, RecordError::OtherRecord { .. }));
    assert!(SignedRecord::read(&addend(verified.digest())).is_err(), "an addendum is no record");
}
