//! A key replaced while a case is open: the person's present key signs, both keys are named, and nobody else passes.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{half_signed, nurse, roster, stranger, surgeon, unsigned};
use brimline::people::{PersonKey, Role, Roster};
use brimline::record::{self, Meaning, RecordError, SignedRecord, Who};

fn asked() -> Who {
    Who { role: Role::CirculatingNurse, kid: nurse().person() }
}

/// The fixture's record, its nurse's signature given by that key in place of the one asked for.
fn signed_by(key: &PersonKey) -> SignedRecord {
    half_signed().add_as(key, asked(), Meaning::Authorship, 210_000).unwrap()
}

fn replaced() -> (Roster, PersonKey) {
    let (mut roster, new) = (roster(), PersonKey::from_seed(&[9; 32]));
    roster.replace(&nurse().person(), &new.public()).unwrap();
    (roster, new)
}

/// [R-RECORD-8]
#[test]
fn the_present_key_of_the_same_person_completes_a_record_that_names_both() {
    let (roster, new) = replaced();
    let file = signed_by(&new).to_bytes();
    assert!(SignedRecord::read(&file).unwrap().missing().is_empty());
    let verified = record::verify(&file, &roster).unwrap();
    let second = &verified.signatures()[1];
    assert_eq!((&second.who.kid, second.replaces.as_ref()), (&new.person(), Some(&nurse().person())));
    assert!(!second.retired);
    assert_eq!(verified.document().signers[1], asked(), "what the first signer signed has not changed");
}

/// [R-RECORD-8]
#[test]
fn a_key_that_the_roster_does_not_name_as_successor_is_refused() {
    let (roster, _) = replaced();
    let fault = record::verify(&signed_by(&stranger()).to_bytes(), &roster).unwrap_err();
    assert!(matches!(fault, RecordError::UnknownKey { index: 1, .. }), "{fault}");
    let mut known = roster.clone();
    known.add("Stan Invented", &[Role::CirculatingNurse], &stranger().public()).unwrap();
    let fault = record::verify(&signed_by(&stranger()).to_bytes(), &known).unwrap_err();
    assert!(matches!(fault, RecordError::NotSuccessor { index: 1, .. }), "{fault}");
}

/// [R-RECORD-8]
#[test]
fn a_replaced_key_does_not_stand_for_its_successor_nor_for_another_role() {
    let (roster, new) = replaced();
    let backwards = Who { role: Role::CirculatingNurse, kid: new.person() };
    let fault = half_signed().add_as(&nurse(), backwards, Meaning::Authorship, 1).unwrap_err();
    assert!(matches!(fault, RecordError::NotASigner { .. }));
    let other = Who { role: Role::Surgeon, kid: surgeon().person() };
    let forged = unsigned().sign_as(&new, other, Meaning::Responsibility, 1).unwrap();
    let fault = record::verify(&forged.to_bytes(), &roster).unwrap_err();
    assert!(matches!(fault, RecordError::RoleNotHeld { index: 0, role: Role::Surgeon, .. }), "{fault}");
}

#[test]
fn succession_goes_over_several_keys_and_one_way_only() {
    let (mut roster, new) = replaced();
    let newest = PersonKey::from_seed(&[10; 32]);
    roster.replace(&new.person(), &newest.public()).unwrap();
    let (old, new, newest) = (nurse().person(), new.person(), newest.person());
    assert!(roster.succeeds(&newest, &old) && roster.succeeds(&newest, &new));
    assert!(!roster.succeeds(&old, &newest) && !roster.succeeds(&old, &old));
    assert!(roster.same_person(&old, &newest) && !roster.same_person(&old, &surgeon().person()));
    assert_eq!(roster.present(&old).unwrap().kid(), &newest);
    let held = [(Role::Surgeon, surgeon().person()), (Role::CirculatingNurse, old), (Role::ScrubNurse, newest.clone())];
    assert_eq!(roster.held_together(&held), [(Role::CirculatingNurse, Role::ScrubNurse)]);
    roster.retire(&newest).unwrap();
    assert!(roster.present(&newest).is_none(), "somebody who left signs nothing new");
}

/// [R-RECORD-8] [R-RECORD-2]
#[test]
fn a_header_that_drops_or_changes_the_replaced_key_is_caught() {
    let (roster, new) = replaced();
    let own = signed_by(&nurse()).to_bytes();
    assert!(record::verify(&own, &roster).is_ok(), "the old key signed before it was replaced");
    let file = String::from_utf8(signed_by(&new).to_bytes()).unwrap();
    let mut caught = 0;
    let start = file.rfind("\"protected\":\"").unwrap() + 13;
    for at in (start..start + 200).step_by(7) {
        let mut bytes = file.clone().into_bytes();
        bytes[at] ^= 1;
        assert!(record::verify(&bytes, &roster).is_err(), "byte {at}");
        caught += 1;
    }
    assert!(caught > 20);
}
