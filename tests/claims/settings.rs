//! Site settings: what is read, what is refused, and which source holds.

use brimline::people::Role;
use brimline::settings::{DecimalSign, Layer, Settings, SettingsError, from_environment, read};
use std::collections::BTreeMap;
use std::path::PathBuf;

const WHOLE: &str = r#"
brimline_settings = 1
site = "Demo Hospital"
language = "de-AT"
decimal_sign = "comma"
pedal_key = "PageDown"
hold_ms = 800
store = "/srv/brimline"
signers = ["surgeon", "circulating-nurse"]
review_index = "audit"

[entry]
burst_ms = 1500
burst_answers = 4
late_ms = 600000

[window]
width = 1920
height = 1200
full_screen = true
"#;

fn refused(text: &str) -> String {
    let fault = read(text.as_bytes()).expect_err("refused").to_string();
    assert!(!fault.contains('\n'), "one line: {fault}");
    fault
}

fn environment(pairs: &[(&str, &str)]) -> Result<Layer, SettingsError> {
    let variables: BTreeMap<String, String> =
        pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
    from_environment(&variables)
}

/// [R-SETTINGS-1]
#[test]
fn a_whole_file_sets_every_member() {
    let settings = Settings::of(Layer::default(), Layer::default(), read(WHOLE.as_bytes()).unwrap());
    assert_eq!(settings.site.as_deref(), Some("Demo Hospital"));
    assert_eq!(settings.language, "de-AT");
    assert_eq!(settings.decimal_sign, DecimalSign::Comma);
    assert_eq!(settings.decimal_sign.character(), ',');
    assert_eq!(settings.pedal_key.name(), "PageDown");
    assert_eq!(settings.hold_ms, 800);
    assert_eq!(settings.store, Some(PathBuf::from("/srv/brimline")));
    assert_eq!(settings.signers, ["surgeon", "circulating-nurse"]);
    assert_eq!(settings.review_index.as_deref(), Some("audit"));
    assert_eq!((settings.entry.burst_ms, settings.entry.burst_answers, settings.entry.late_ms), (1_500, 4, 600_000));
    assert_eq!((settings.window.width, settings.window.height, settings.full_screen), (1_920, 1_200, true));
}

#[test]
fn a_file_with_the_version_alone_leaves_the_defaults() {
    let settings = Settings::of(Layer::default(), Layer::default(), read(b"brimline_settings = 1\n").unwrap());
    assert_eq!(settings, Settings::default());
    assert_eq!((settings.pedal_key.name(), settings.hold_ms), ("F9", 600));
}

/// The limits a case is opened with and those of the settings are the same numbers unless a site says otherwise.
#[test]
fn default_entry_limits_are_those_of_a_case() {
    let case = brimline::case::Configured::default();
    let entry = Settings::default().entry;
    assert_eq!((entry.burst_ms, entry.burst_answers, entry.late_ms), (case.burst_ms, case.burst_answers, case.late_ms));
}

/// [R-SETTINGS-2]
#[test]
fn an_index_that_is_no_service_is_named_with_its_member() {
    for bad in ["", "two words", "[audit]", "a=b"] {
        let said = refused(&format!("brimline_settings = 1\nreview_index = \"{bad}\"\n"));
        assert!(said.contains("review_index"), "{said}");
    }
    let fault = environment(&[("BRIMLINE_REVIEW_INDEX", "a b")]).unwrap_err().to_string();
    assert!(fault.contains("BRIMLINE_REVIEW_INDEX"), "{fault}");
}

/// [R-SETTINGS-1]
#[test]
fn a_flag_holds_over_a_variable_over_the_file() {
    let file = read(WHOLE.as_bytes()).unwrap();
    let variables = environment(&[("BRIMLINE_HOLD_MS", "700"), ("BRIMLINE_PEDAL_KEY", "F10")]).unwrap();
    let mut flags = Layer::default();
    flags.hold_ms = Some(900);
    let settings = Settings::of(flags.from_flags().unwrap(), variables, file);
    assert_eq!(settings.hold_ms, 900, "the flag");
    assert_eq!(settings.pedal_key.name(), "F10", "the variable");
    assert_eq!(settings.entry.late_ms, 600_000, "the file");
}

#[test]
fn every_variable_sets_its_member() {
    let layer = environment(&[
        ("BRIMLINE_SITE", "Demo"),
        ("BRIMLINE_LANGUAGE", "fr"),
        ("BRIMLINE_DECIMAL_SIGN", "comma"),
        ("BRIMLINE_STORE", "store"),
        ("BRIMLINE_SIGNERS", "surgeon, scrub-nurse"),
        ("BRIMLINE_ENTRY_BURST_MS", "1000"),
        ("BRIMLINE_ENTRY_BURST_ANSWERS", "5"),
        ("BRIMLINE_ENTRY_LATE_MS", "20000"),
        ("BRIMLINE_WINDOW", "1920x1200"),
        ("BRIMLINE_WINDOW_FULL_SCREEN", "1"),
        ("BRIMLINE_PEERS", "belongs to the tests"),
        ("BRIMLINE_HOLD_MS", ""),
    ]);
    let settings = Settings::of(Layer::default(), layer.unwrap(), Layer::default());
    assert_eq!(settings.site.as_deref(), Some("Demo"));
    assert_eq!((settings.language.as_str(), settings.decimal_sign), ("fr", DecimalSign::Comma));
    assert_eq!(settings.store, Some(PathBuf::from("store")));
    assert_eq!(settings.signers, ["surgeon", "scrub-nurse"]);
    assert_eq!((settings.entry.burst_ms, settings.entry.burst_answers, settings.entry.late_ms), (1_000, 5, 20_000));
    assert_eq!((settings.window.width, settings.window.height, settings.full_screen), (1_920, 1_200, true));
    assert_eq!(settings.hold_ms, 600, "an empty variable is not set");
}

/// [R-SETTINGS-2]
#[test]
fn a_refusal_names_line_and_column() {
    assert_eq!(refused("brimline_settings = 1\nhold_ms = \"long\"\n").find("line 2, column 11: "), Some(0));
    assert!(
        refused("brimline_settings = 1\n\n  hold_sm = 600\n").starts_with("line 3, column 3: unknown field `hold_sm`")
    );
    assert!(
        refused("brimline_settings = 1\n[window]\ndepth = 3\n").starts_with("line 3, column 1: unknown field `depth`")
    );
    assert!(refused("brimline_settings = 1\nsite = \"a\"\nsite = \"b\"\n").starts_with("line 3, "), "named twice");
    assert!(refused("brimline_settings = 1\npedal_key = \"Return\"\n").starts_with("line 2, column 13: "));
    assert!(refused("brimline_settings = 1\nsite = \"open\n").starts_with("line 2, "));
}

/// [R-SETTINGS-2]
#[test]
fn a_value_outside_its_range_names_the_member_of_its_own_source() {
    assert_eq!(refused("brimline_settings = 1\nhold_ms = 299\n"), "hold_ms: 299 is outside 300 to 1500");
    assert_eq!(
        refused("brimline_settings = 1\n[entry]\nlate_ms = 9999\n"),
        "entry.late_ms: 9999 is outside 10000 to 86400000"
    );
    let variable = environment(&[("BRIMLINE_WINDOW", "100x100")]).expect_err("too small").to_string();
    assert_eq!(variable, "BRIMLINE_WINDOW: 100 is outside 1280 to 7680");
    let mut flags = Layer::default();
    flags.hold_ms = Some(2_000);
    assert_eq!(flags.from_flags().expect_err("too long").to_string(), "--hold-ms: 2000 is outside 300 to 1500");
}

#[test]
fn limits_are_part_of_their_range() {
    for hold_ms in [300, 1_500] {
        assert!(read(format!("brimline_settings = 1\nhold_ms = {hold_ms}\n").as_bytes()).is_ok());
    }
}

/// [R-SETTINGS-2]
#[test]
fn a_newer_or_foreign_file_is_told_from_a_broken_one() {
    let newer = read(b"brimline_settings = 2\nsomething_new = true\n");
    assert_eq!(newer, Err(SettingsError::Newer { found: 2, newest: 1 }));
    assert_eq!(read(b"[package]\nname = \"x\"\n"), Err(SettingsError::NotSettings));
    assert_eq!(read(b""), Err(SettingsError::NotSettings));
    assert_eq!(read(b"brimline_settings = 0\n"), Err(SettingsError::NoVersion));
}

/// [R-INPUT-1]
#[test]
fn size_encoding_and_depth_are_bounded() {
    let large = format!("brimline_settings = 1\n# {}\n", "x".repeat(70_000));
    assert!(matches!(read(large.as_bytes()), Err(SettingsError::TooLarge { .. })));
    assert_eq!(read(b"site = \"\xff\"\n"), Err(SettingsError::NotUtf8 { at: 8 }));
    let deep = format!("brimline_settings = 1\na = {}1{}\n", "[".repeat(20_000), "]".repeat(20_000));
    assert!(refused(&deep).starts_with("line 2, "));
}

#[test]
fn text_members_are_judged() {
    for bad in [
        "site = \"\"",
        "site = \"a\\u0007\"",
        "language = \"English\"",
        "language = \"de_AT\"",
        "store = \"relative/path\"",
        "signers = []",
        "signers = [\"porter\"]",
        "signers = [\"surgeon\", \"surgeon\"]",
        "decimal_sign = \"dot\"",
        "pedal_key = \"F25\"",
        "pedal_key = \"F09\"",
        "hold_ms = -1",
    ] {
        let fault = refused(&format!("brimline_settings = 1\n{bad}\n"));
        let member = bad.split(' ').next().expect("a member");
        assert!(fault.starts_with(member) || fault.starts_with("line 2, "), "{bad}: {fault}");
    }
}

/// The settings know the roles by code alone, so that they lie under every module; this holds the codes together.
#[test]
fn signers_accepted_are_exactly_the_roles() {
    for role in Role::ALL {
        let code = serde_json::to_value(role).unwrap();
        let text = format!("brimline_settings = 1\nsigners = [{code}]\n");
        assert!(read(text.as_bytes()).is_ok(), "{code}");
    }
    assert!(refused("brimline_settings = 1\nsigners = [\"x\"]\n").matches(", ").count() == Role::ALL.len() - 1);
}

/// [R-RECEIVE-1] By default it listens to this machine alone and accepts nobody.
#[test]
fn the_receiver_is_closed_until_a_site_opens_it() {
    let receive = Settings::default().receive;
    assert!(receive.address.is_loopback() && receive.peers.is_empty() && receive.certificate.is_none());
    let file = b"brimline_settings = 1\n[receive]\npeers = [\"ARM@10.0.0.7\", \"ARCHIVE\"]\nport = 104\n";
    let read = Settings::of(Layer::default(), Layer::default(), read(file).unwrap()).receive;
    assert_eq!((read.port, read.peers.len(), read.peers[0].ae_title.as_str()), (104, 2, "ARM"));
    let variables = BTreeMap::from([("BRIMLINE_RECEIVE_PEERS".to_owned(), "A, B@::1".to_owned())]);
    let peers = from_environment(&variables).unwrap().receive.peers.unwrap();
    assert_eq!(peers.iter().map(ToString::to_string).collect::<Vec<_>>(), ["A", "B@::1"]);
}

/// [R-SETTINGS-2]
#[test]
fn a_wrong_member_of_the_receiver_is_named() {
    let said =
        |line: &str| read(format!("brimline_settings = 1\n[receive]\n{line}\n").as_bytes()).unwrap_err().to_string();
    assert!(said("keep_days = 0").starts_with("receive.keep_days: 0 is outside 1 to"));
    assert!(said("ae_title = \"A NAME THAT IS TOO LONG\"").starts_with("receive.ae_title: "));
    assert!(said("key = \"key.pem\"").starts_with("receive.key: "));
    assert!(said("peers = [\"A@nowhere\"]").contains("\"nowhere\" is no IP address"));
    assert!(said("password = \"x\"").contains("unknown field"));
}
