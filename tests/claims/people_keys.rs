//! Keys under a passcode, and the roster.

#![allow(clippy::unwrap_used)] // helpers of tests, where a panic is the answer

use super::record_fixture::{Counted, Dry, nurse, roster, surgeon};
use brimline::people::{DeviceSecret, KeyError, Passcode, PersonKey, Role, Roster, RosterError};

fn passcode(digits: &str) -> Passcode {
    Passcode::new(digits).unwrap()
}

/// [R-PEOPLE-1]
#[test]
fn a_sealed_key_opens_with_its_passcode_on_its_device_only() {
    let random = Counted::default();
    let (here, elsewhere) = (DeviceSecret::generate(&random).unwrap(), DeviceSecret::generate(&random).unwrap());
    let file = surgeon().seal(&passcode("482913"), &here, &random).unwrap();
    assert_eq!(PersonKey::open(&file, &passcode("482913"), &here).unwrap().public(), surgeon().public());
    assert!(matches!(PersonKey::open(&file, &passcode("482914"), &here), Err(KeyError::WrongPasscode)));
    assert!(matches!(PersonKey::open(&file, &passcode("482913"), &elsewhere), Err(KeyError::WrongPasscode)));
}

#[test]
fn a_key_sealed_twice_has_no_bytes_in_common_that_tell() {
    let random = Counted::default();
    let device = DeviceSecret::generate(&random).unwrap();
    let one = surgeon().seal(&passcode("482913"), &device, &random).unwrap();
    let other = surgeon().seal(&passcode("482913"), &device, &random).unwrap();
    assert_ne!(one[one.len() - 48..], other[other.len() - 48..]);
}

#[test]
fn a_damaged_or_costlier_key_file_is_refused_before_any_work() {
    let random = Counted::default();
    let device = DeviceSecret::generate(&random).unwrap();
    let file = surgeon().seal(&passcode("482913"), &device, &random).unwrap();
    for cut in [0, 1, 20, file.len() - 1] {
        let fault = PersonKey::open(&file[..cut], &passcode("482913"), &device).unwrap_err();
        assert!(matches!(fault, KeyError::Damaged { .. }), "{fault}");
    }
    // N stands as the DER integer 02 02 40 00: 16384. Raised to 32512 it would ask for twice the memory.
    let at = file.windows(4).position(|four| four == [2, 2, 0x40, 0]).unwrap();
    let mut costly = file.clone();
    costly[at + 2] = 0x7f;
    let fault = PersonKey::open(&costly, &passcode("482913"), &device).unwrap_err();
    assert!(matches!(fault, KeyError::Damaged { .. }), "{fault}");
}

#[test]
fn without_unpredictable_bytes_no_key_is_made_or_sealed() {
    assert!(matches!(PersonKey::generate(&Dry), Err(KeyError::Randomness(_))));
    let device = DeviceSecret::generate(&Counted::default()).unwrap();
    assert!(matches!(surgeon().seal(&passcode("482913"), &device, &Dry), Err(KeyError::Randomness(_))));
}

#[test]
fn a_device_secret_is_sixty_four_hex_digits() {
    let secret = DeviceSecret::generate(&Counted::default()).unwrap();
    let text = secret.to_text();
    assert_eq!(DeviceSecret::parse(format!("{}\n", *text).as_bytes()).unwrap().to_text(), text);
    for bad in [&b""[..], b"00", "A".repeat(64).as_bytes(), "0".repeat(65).as_bytes(), b"\n"] {
        assert!(DeviceSecret::parse(bad).is_err());
    }
}

#[test]
fn a_roster_reads_back_what_it_wrote() {
    let roster = roster();
    assert_eq!(Roster::read(&roster.to_bytes()).unwrap(), roster);
}

#[test]
fn a_replaced_key_stays_and_is_retired() {
    let mut roster = roster();
    let lost = surgeon().person();
    let new = roster.replace(&lost, &PersonKey::from_seed(&[9; 32]).public()).unwrap();
    assert!(roster.person(&lost).unwrap().retired());
    assert_eq!(roster.person(&new).unwrap().name(), "Sam Invented");
    assert_eq!(roster.person(&new).unwrap().replaces(), Some(&lost));
    assert_eq!(roster.retire(&lost), Err(RosterError::RetiredAlready(lost)));
    assert_eq!(Roster::read(&roster.to_bytes()).unwrap(), roster);
}

#[test]
fn a_key_stands_in_a_roster_once_and_is_a_usable_one() {
    let mut roster = roster();
    let again = roster.add("Nora Other", &[Role::Assistant], &nurse().public());
    assert_eq!(again, Err(RosterError::KnownAlready(nurse().person())));
    let mut small_order = [0; 32];
    small_order[0] = 1;
    assert_eq!(roster.add("Nobody", &[Role::Assistant], &small_order), Err(RosterError::PublicKey));
    let fresh = PersonKey::from_seed(&[9; 32]).public();
    assert_eq!(roster.add("", &[Role::Assistant], &fresh), Err(RosterError::Name));
    assert_eq!(roster.add("Nora Other", &[], &fresh), Err(RosterError::Roles));
}

#[test]
fn a_bad_roster_is_refused_with_its_entry_and_member() {
    let good = String::from_utf8(roster().to_bytes()).unwrap();
    let kid = surgeon().person().0;
    let cases = [
        (good.replace(&kid, &nurse().person().0), "keys[0].kid"),
        (good.replace("\"OKP\"", "\"RSA\""), "keys[0].kty"),
        (good.replace("\"Ed25519\"", "\"X25519\""), "keys[0].crv"),
        (good.replace("Sam Invented", "Sam\\u0007"), "keys[0].name"),
        (good.replace("\"surgeon\"", "\"surgeon\",\"surgeon\""), "keys[0].roles"),
        (good.replace("\"surgeon\"", "\"pilot\""), "keys[0].roles[0]"),
        (good.replace("\"brimline_roster\": 1", "\"brimline_roster\": 2"), "newer"),
        (good.replace("\"brimline_roster\": 1", "\"roster\": 1"), "brimline_roster"),
        (good.replace("\"use\"", "\"d\""), "keys[0]"),
        (good[..good.len() / 2].to_owned(), "line"),
    ];
    for (text, place) in cases {
        let fault = Roster::read(text.as_bytes()).unwrap_err().to_string();
        assert!(fault.contains(place), "{place}: {fault}");
        assert!(!fault.contains('\n'));
    }
}
