//! Settings written as a file: read back, they are the same.

use brimline::settings::{
    CountsSetting, DecimalSign, DisplaySetting, DoseSettings, EligibilitySettings, EntryLimits, Layer, LyingSetting,
    MachineSettings, PinSettings, ReceiveSettings, Settings, TubeSetting, WindowSize, read, write,
};
use std::path::PathBuf;

fn read_back(settings: &Settings) -> Settings {
    let text = write(settings);
    let layer = read(text.as_bytes()).unwrap_or_else(|fault| panic!("{fault}:\n{text}"));
    Settings::of(Layer::default(), Layer::default(), layer)
}

fn whole() -> Settings {
    Settings {
        site: Some("Demo \"North\" Hospital, theatre 3 \\ west".to_owned()),
        language: "de-AT".to_owned(),
        decimal_sign: DecimalSign::Comma,
        pedal_key: "PageDown".parse().expect("a key"),
        hold_ms: 800,
        store: Some(PathBuf::from("/srv/brimline")),
        signers: vec!["surgeon".to_owned(), "circulating-nurse".to_owned()],
        review_index: Some("audit".to_owned()),
        entry: EntryLimits { burst_ms: 1_500, burst_answers: 4, late_ms: 600_000 },
        window: WindowSize { width: 1_920, height: 1_200 },
        full_screen: true,
        receive: receive(),
        dose: DoseSettings {
            coefficients: Some("icrp-103".to_owned()),
            levels: Some("aapm-mppg-12a".to_owned()),
            confirmed: vec!["icrp-103".to_owned(), "scatter".to_owned()],
            position: LyingSetting::Supine,
            tube: TubeSetting::AboveTable,
        },
        machine: machine(),
        pin: PinSettings { margin_mm: Some(6.5) },
        eligibility: EligibilitySettings {
            confirmed: vec!["isass-2016/block-relief".to_owned()],
            prior_percent: Some([20.0, 35.0]),
        },
    }
}

fn machine() -> MachineSettings {
    let display = |zero_deg, counts| Some(DisplaySetting { zero_deg, counts });
    MachineSettings {
        name: Some("Arm of room 4".to_owned()),
        tube: Some(TubeSetting::UnderTable),
        displays: [None, display(90.0, CountsSetting::Down), display(-2.5, CountsSetting::Up)],
        lengths_mm: [Some(1000.0), Some(620.5), None, None, Some(400.0), None, None, Some(270.0)],
    }
}

fn receive() -> ReceiveSettings {
    ReceiveSettings {
        ae_title: "THEATRE 3".to_owned(),
        address: "0.0.0.0".parse().expect("an address"),
        port: 10_104,
        peers: vec!["ARM@10.0.0.7".parse().expect("a peer"), "ARCHIVE".parse().expect("a peer")],
        certificate: Some(PathBuf::from("/etc/brimline/chain.pem")),
        key: Some(PathBuf::from("/etc/brimline/key.pem")),
        clients: Some(PathBuf::from("/etc/brimline/clients.pem")),
        keep_days: 14,
        object_mib: 64,
        objects: 100,
        idle_s: 20,
        deadline_s: 300,
        associations: 2,
        agree_min: 5,
    }
}

#[test]
fn every_member_written_is_read_back() {
    assert_eq!(read_back(&whole()), whole());
}

#[test]
fn each_member_alone_is_read_back() {
    let (whole, default) = (whole(), Settings::default());
    let alone = [
        Settings { site: whole.site, ..default.clone() },
        Settings { language: whole.language, ..default.clone() },
        Settings { decimal_sign: whole.decimal_sign, ..default.clone() },
        Settings { pedal_key: whole.pedal_key, ..default.clone() },
        Settings { dose: whole.dose, ..default.clone() },
        Settings { machine: whole.machine, ..default.clone() },
        Settings { pin: whole.pin, ..default.clone() },
        Settings { eligibility: whole.eligibility, ..default.clone() },
        Settings { hold_ms: whole.hold_ms, ..default.clone() },
        Settings { store: whole.store, ..default.clone() },
        Settings { signers: whole.signers, ..default.clone() },
        Settings { entry: EntryLimits { late_ms: 10_000, ..default.entry }, ..default.clone() },
        Settings { window: WindowSize { height: 1_200, ..default.window }, ..default.clone() },
        Settings { full_screen: true, ..default.clone() },
        Settings { receive: ReceiveSettings { agree_min: 5, ..default.receive.clone() }, ..default.clone() },
    ];
    for settings in alone {
        assert_ne!(settings, default);
        assert_eq!(read_back(&settings), settings);
    }
}

#[test]
fn defaults_write_nothing_but_the_version() {
    assert_eq!(write(&Settings::default()), "brimline_settings = 1\n");
    assert_eq!(read_back(&Settings::default()), Settings::default());
}
