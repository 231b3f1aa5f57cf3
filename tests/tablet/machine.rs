//! The room's C-arm learnt on the tablet by two readings a joint; then the view steps say what its displays read.

use crate::flows::{alone, begin, open_case};
use crate::hand::Hand;
use crate::pictures::go_to;
use brimline::settings::{self, CountsSetting, DisplaySetting};
use brimline_ui::{CorrectView, NumberAsked, Operate, Over, Place, SettingsView, Shell};
use slint::{ComponentHandle, Model};

/// Types the numbers that a row asks, one after the other.
fn learn(hand: &Hand, id: &str, typed: &[&str]) {
    hand.stage.app.global::<SettingsView>().invoke_change(id.into());
    for typed in typed {
        assert_eq!(hand.over(), Over::Number, "{id} asks for {typed}");
        hand.stage.app.global::<NumberAsked>().invoke_accept((*typed).into());
    }
}

/// [R-SETTINGS-3] Tilt reads 90° with the beam vertical and 70° after 20° to the right of somebody at the stand: it counts
/// down from 90. Prone with the stand at the left, an inlet of 25° is then read as 65°.
#[test]
fn a_machine_learnt_by_two_readings_says_what_its_displays_read_at_the_views() {
    let folder = tempfile::tempdir().unwrap();
    alone(folder.path(), 1);
    let (mut hand, _app) = begin(folder.path());
    hand.touch("Settings");
    assert_eq!(hand.place(), Place::Settings);
    learn(&hand, "machine-tilt", &["90", "87"]);
    let refused = hand.stage.app.global::<NumberAsked>().get_refusal();
    assert!(hand.over() == Over::Number && refused.contains("not the same joint"), "{refused}");
    hand.stage.app.global::<NumberAsked>().invoke_accept("70".into());
    assert_eq!(hand.over(), Over::Nothing);
    learn(&hand, "machine-orbit", &["0", "20"]);
    learn(&hand, "machine-source_to_detector_mm", &["980"]);
    learn(&hand, "pin-margin", &["6.5"]);
    learn(&hand, "prior", &["20", "35"]);
    let rows: Vec<_> = hand.stage.app.global::<SettingsView>().get_rows().iter().collect();
    let tilt = rows.iter().find(|row| row.id == "machine-tilt").expect("a row");
    assert_eq!(tilt.value, "90° at zero, counts down");
    let written = std::fs::read(folder.path().join("settings.toml")).unwrap();
    let layer = settings::read(&written).expect("a settings file");
    assert_eq!(layer.machine.tilt, Some(DisplaySetting { zero_deg: 90.0, counts: CountsSetting::Down }));
    assert_eq!((layer.machine.source_to_detector_mm, layer.pin.margin_mm), (Some(980.0), Some(6.5)));
    assert_eq!(layer.eligibility.prior_percent, Some([20.0, 35.0]));
    hand.touch("Home");
    open_case(&mut hand);
    go_to(&hand, "Every view before draping");
    let mut words = Vec::new();
    for _ in 0..6 {
        let checks = hand.stage.app.global::<Operate>().get_checks();
        words.extend(checks.iter().map(|line| format!("{}: {}", line.view, line.angle_words)));
        if hand.find("More checks").is_none() {
            break;
        }
        hand.touch("More checks");
    }
    let inlet = words.iter().find(|words| words.starts_with("Inlet")).expect("the inlet is asked");
    assert!(inlet.contains("displays: tilt 65°, orbit 0°"), "{inlet}");
    // The other way round: what the display reads is where the joint stands.
    hand.touch("More");
    hand.touch("Correct the view");
    let window = hand.stage.app.clone_strong();
    let view = window.global::<CorrectView>();
    let tilt = || view.get_fields().iter().find(|row| row.id == "tilt").expect("a row").value;
    view.invoke_change("tilt".into());
    window.global::<NumberAsked>().invoke_accept("300".into());
    let refused = window.global::<NumberAsked>().get_refusal();
    assert!(refused.contains("No joint stands there"), "{refused}");
    window.global::<NumberAsked>().invoke_accept("65".into());
    assert_eq!(tilt(), "25° receptor toward the feet");
    assert_eq!(hand.stage.app.global::<Shell>().get_over(), Over::Nothing);
}
