//! The machine that a site learnt: what its displays read, its lengths for the clearance, and its limits.

use serde_json::{Value, json};
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Output};

const WHOLE: &str = include_str!("../vectors/targets/whole.json");
/// The scale of the sample document, as settings have it.
const SETTINGS: &str = r#"brimline_settings = 1
[machine]
name = "Arm of room 4"
tube = "TUBE"
wag = { zero_deg = ZERO0, counts = "COUNTS0" }
tilt = { zero_deg = ZERO1, counts = "COUNTS1" }
orbit = { zero_deg = ZERO2, counts = "COUNTS2" }
"#;

fn settings(scale: &Value, tube: &str) -> String {
    let mut text = SETTINGS.replace("TUBE", tube);
    for (at, joint) in ["wag", "tilt", "orbit"].iter().enumerate() {
        let zero = format!("{:?}", scale[joint]["zero_deg"].as_f64().unwrap());
        text = text.replace(&format!("ZERO{at}"), &zero);
        text = text.replace(&format!("COUNTS{at}"), scale[joint]["counts"].as_str().unwrap());
    }
    text
}

fn targets(folder: &Path, document: &Value, settings: &str) -> Output {
    std::fs::write(folder.join("targets.json"), document.to_string()).unwrap();
    std::fs::write(folder.join("settings.toml"), settings).unwrap();
    let arguments = ["--settings", "settings.toml", "plan", "targets", "targets.json"];
    let mut command = Command::new(env!("CARGO_BIN_EXE_brimline"));
    command.args(arguments).current_dir(folder).env_clear().env("HOME", "/nonexistent");
    command.output().expect("the program starts")
}

fn said(output: &Output) -> String {
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn displays(text: &str) -> Vec<&str> {
    text.lines().map(str::trim).filter(|line| line.starts_with("displays:")).collect()
}

/// [R-SETTINGS-3]
#[test]
fn a_document_without_a_scale_is_told_what_the_site_s_machine_reads() {
    let folder = tempfile::tempdir().unwrap();
    let mut document: Value = serde_json::from_str(WHOLE).unwrap();
    let own = said(&targets(folder.path(), &document, "brimline_settings = 1\n"));
    let scale = document.as_object_mut().unwrap().remove("scale").expect("the sample has a scale");
    let tube = |tube: &str| if tube == "under" { "under-table" } else { "above-table" };
    let learnt = document["arm"]["tube"].as_str().unwrap().to_owned();
    let of_site = said(&targets(folder.path(), &document, &settings(&scale, tube(&learnt))));
    assert!(!displays(&own).is_empty());
    assert_eq!(displays(&of_site), displays(&own));
    assert!(of_site.contains("Displays of Arm of room 4 as the site learnt them."), "{of_site}");
    assert!(!own.contains("as the site learnt them"));
    let other = tube(if learnt == "under" { "over" } else { "under" });
    let otherwise = said(&targets(folder.path(), &document, &settings(&scale, other)));
    assert!(displays(&otherwise).is_empty(), "{otherwise}");
    assert!(otherwise.contains("No displays of Arm of room 4: the scale was learnt with the tube on the other side"));
    let nothing = said(&targets(folder.path(), &document, "brimline_settings = 1\n"));
    assert!(displays(&nothing).is_empty() && !nothing.contains("isplays"), "{nothing}");
}

/// [R-SETTINGS-3] A scale in the document stands before that of the site.
#[test]
fn a_document_s_own_scale_holds_over_the_site_s() {
    let folder = tempfile::tempdir().unwrap();
    let document: Value = serde_json::from_str(WHOLE).unwrap();
    let own = said(&targets(folder.path(), &document, "brimline_settings = 1\n"));
    let other = json!({
        "wag": {"zero_deg": 3.0, "counts": "up"}, "tilt": {"zero_deg": 7.0, "counts": "up"},
        "orbit": {"zero_deg": 1.0, "counts": "up"},
    });
    let both = said(&targets(folder.path(), &document, &settings(&other, "under-table")));
    assert_eq!(displays(&both), displays(&own));
}

/// [R-SETTINGS-3]
#[test]
fn lengths_of_the_machine_come_from_the_site_and_a_missing_one_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let mut document: Value = serde_json::from_str(WHOLE).unwrap();
    let own = said(&targets(folder.path(), &document, "brimline_settings = 1\n"));
    let mut machine = "brimline_settings = 1\n[machine]\n".to_owned();
    let around = document["clearance"].as_object_mut().expect("the sample asks the clearance");
    for member in [
        "receptor_distance_mm",
        "receptor_half_width_mm",
        "tube_distance_mm",
        "tube_half_width_mm",
        "table_thickness_mm",
        "half_width_mm",
    ] {
        let length = around.remove(member).and_then(|value| value.as_f64()).unwrap();
        writeln!(machine, "{member} = {length:?}").unwrap();
    }
    let of_site = said(&targets(folder.path(), &document, &machine));
    let gaps =
        |text: &str| text.lines().filter(|line| line.contains("clearance:")).map(str::to_owned).collect::<Vec<_>>();
    assert!(!gaps(&own).is_empty());
    assert_eq!(gaps(&of_site), gaps(&own));
    let bare = targets(folder.path(), &document, "brimline_settings = 1\n");
    assert_eq!(bare.status.code(), Some(2));
    let said = String::from_utf8(bare.stderr).unwrap();
    let wanted = "clearance: receptor_distance_mm stands neither here nor in the site's settings";
    assert!(said.contains(wanted) && said.trim_end().lines().count() == 1, "{said}");
}

/// [R-SETTINGS-2] [R-SETTINGS-3]
#[test]
fn a_machine_that_cannot_be_is_refused_by_its_member() {
    for (text, wanted) in [
        ("[machine]\nsource_to_detector_mm = 600\nsource_to_isocentre_mm = 650\n", "machine.source_to_detector_mm"),
        ("[machine]\ntilt = { zero_deg = nan, counts = \"up\" }\n", "machine.tilt.zero_deg"),
        ("[machine]\nreceptor_distance_mm = 0\n", "machine.receptor_distance_mm"),
        ("[machine]\nname = \"\"\n", "machine.name"),
        ("[pin]\nmargin_mm = 60.0\n", "pin.margin_mm"),
        ("[eligibility]\nconfirmed = [\"isass-2016/fortin-finger\"]\n", "eligibility.confirmed"),
        ("[eligibility]\nprior_percent = [30.0, 15.0]\n", "eligibility.prior_percent"),
    ] {
        let text = format!("brimline_settings = 1\n{text}");
        let fault = brimline::settings::read(text.as_bytes()).expect_err(wanted).to_string();
        assert!(fault.contains(wanted) && !fault.contains('\n'), "{fault}");
    }
}

/// What a site may confirm is exactly what the policies are not sure of.
#[test]
fn the_thresholds_that_a_site_may_confirm_are_those_that_are_not_firm() {
    let unsure = brimline::eligibility::policies().iter().flat_map(|policy| {
        let unsure = policy.criteria.iter().filter(|criterion| !criterion.sure.decides());
        unsure.map(move |criterion| {
            let kind = serde_json::to_value(criterion.rule.kind()).unwrap();
            format!("{}/{}", policy.id, kind.as_str().unwrap())
        })
    });
    assert_eq!(unsure.collect::<Vec<_>>(), brimline::settings::UNSURE);
}

/// [R-SETTINGS-3] The site's limit of a margin stands where the document names none.
#[test]
fn a_pin_is_judged_by_the_site_s_limit() {
    let bytes = include_bytes!("../vectors/pin/good-two-views.json");
    let mut document: Value = serde_json::from_slice(bytes).unwrap();
    document.as_object_mut().unwrap().remove("margin_limit_mm");
    let site = |margin_mm| brimline::settings::PinSettings { margin_mm };
    let limit = |document: &Value, margin_mm| {
        let scene = brimline::pin::read_of_site(document.to_string().as_bytes(), site(margin_mm)).expect("a scene");
        brimline::pin::find(&scene).margin_limit_mm
    };
    assert_eq!(limit(&document, None), 5.0);
    assert_eq!(limit(&document, Some(8.0)), 8.0);
    document["margin_limit_mm"] = json!(3.0);
    assert_eq!(limit(&document, Some(8.0)), 3.0);
}
