//! Eligibility in the plan: what is known of the patient, and each criterion met, unmet or unknown, in words.

use super::plan_form::{Asks, Takes, code, of};
use crate::eligibility::{
    Block, Care, Confirmed, Contraindication, Facts, Fortin, Imaging, ImagingKind, Judged, Kind, Nicotine,
    PRIOR_PERCENT, ProvocationTest, SideFacts, Standing, TestDone, judge, policies,
};
use crate::plan::{EligibilityPlan, Plan};
use crate::settings::EligibilitySettings;
use crate::units::Side;
use brimline_ui::SummaryLine;
use serde_json::{Value, json};
use std::sync::LazyLock;

/// Stands under what is judged.
pub(super) const ADVISORY: &str = "Advisory: the surgeon, local policy and licensed practice decide.";

const TESTS: [ProvocationTest; 8] = [
    ProvocationTest::Distraction,
    ProvocationTest::Compression,
    ProvocationTest::ThighThrust,
    ProvocationTest::Faber,
    ProvocationTest::Gaenslen,
    ProvocationTest::GaenslenOther,
    ProvocationTest::SacralThrust,
    ProvocationTest::PosteriorProvocation,
];
const CARE: &[(&str, &str)] = &[
    ("medication", "Medication"),
    ("activity-modification", "Activity modification"),
    ("bracing", "Bracing"),
    ("active-exercise", "Active exercise"),
    ("home-programme", "Home programme"),
    ("manual-therapy", "Manual therapy"),
    ("injection", "Injection"),
];
const REGIONS: &[(&str, &str)] =
    &[("sacroiliac-joint", "Sacroiliac joint"), ("lumbar-spine", "Lumbar spine"), ("hip", "Hip"), ("pelvis", "Pelvis")];
const IMAGING: [(ImagingKind, &str); 3] =
    [(ImagingKind::PlainFilm, "Plain film"), (ImagingKind::Ct, "CT"), (ImagingKind::Mri, "MRI")];
const DIAGNOSES: &[(&str, &str)] = &[
    ("degenerative-sacroiliitis", "Degenerative sacroiliitis"),
    ("joint-disruption", "Disruption of the joint"),
    ("other", "Another one"),
];
const APPROACHES: &[(&str, &str)] =
    &[("lateral-transarticular", "Lateral, through the joint"), ("posterior", "Posterior"), ("other", "Another one")];
const POSITIVE: Takes = Takes::YesNo("positive", "negative");
const YES: Takes = Takes::YesNo("yes", "no");
const MONTHS: Takes = Takes::Number { unit: "months", from: 0.0, to: 1200.0 };

static POLICIES: LazyLock<Vec<(&'static str, &'static str)>> =
    LazyLock::new(|| policies().iter().map(|policy| (policy.id.as_str(), policy.name.as_str())).collect());

/// The rows, in the order they are asked.
pub(super) fn asks(plan: &Plan) -> Vec<Asks> {
    let hint = "the published ones disagree; which applies is the site's to say";
    let mut rows = vec![Asks::new("policy", "Policy", Takes::One(&POLICIES)).hint(hint).wanted()];
    for side in plan.sides.iter().map(|side| side.side) {
        let id = |what: &str| format!("{side}.{what}");
        rows.extend(TESTS.map(|test| {
            Asks::new(id(&format!("test.{}", code(test))), format!("{}, {side}", capital(test.word())), POSITIVE)
        }));
        rows.push(Asks::new(id("fortin"), format!("One finger points below the spine, {side}"), YES));
        rows.push(Asks::new(id("elsewhere"), format!("Somewhere else as tender, {side}"), YES));
        let relief = Takes::Number { unit: "%", from: 0.0, to: 100.0 };
        rows.push(Asks::new(id("block.0"), format!("Relief after the first block, {side}"), relief));
        rows.push(Asks::new(id("block.1"), format!("Relief after the second block, {side}"), relief));
        rows.push(Asks::new(id("guided"), format!("Blocks under an image, {side}"), YES));
    }
    rows.push(Asks::new("failed_care_months", "Care that did not help enough", MONTHS));
    rows.push(Asks::new("care", "What that care was", Takes::Some(CARE)));
    for (kind, words) in IMAGING {
        rows.push(Asks::new(format!("imaging.{}", code(kind)), format!("{words} of"), Takes::Some(REGIONS)));
        rows.push(Asks::new(format!("age.{}", code(kind)), format!("{words} is this old"), MONTHS));
    }
    rows.push(Asks::new("other_causes_excluded", "Other causes of the pain excluded", YES));
    rows.push(Asks::new("diagnosis", "Diagnosis", Takes::One(DIAGNOSES)));
    rows.push(Asks::new("nicotine", "Free of nicotine", YES));
    let cotinine = Takes::Number { unit: "ng/mL", from: 0.0, to: 10_000.0 };
    rows.push(Asks::new("cotinine", "Cotinine", cotinine).hint("asked after nicotine"));
    rows.push(Asks::new("bilateral_same_day", "Both sides on the same day", YES));
    rows.push(Asks::new("severity_scored", "Severity scored by an index or a scale", YES));
    rows.push(Asks::new("surgeon_trained", "Surgeon trained, uses image guidance regularly", YES));
    rows.push(Asks::new("approach", "Approach", Takes::One(APPROACHES)));
    rows.push(Asks::new("symptom_months", "The pain began", MONTHS).hint("so long ago"));
    let percent = Takes::Number { unit: "%", from: 1.0, to: 99.0 };
    let hint = "of a hundred such patients; the site's range where it is empty";
    rows.push(Asks::new("prior.from", "Joint is the source, at least", percent).hint(hint));
    rows.push(Asks::new("prior.to", "Joint is the source, at most", percent).hint(hint));
    let against = |what: Contraindication| Asks::new(format!("against.{}", code(what)), capital(what.word()), YES);
    rows.extend(Contraindication::ALL.map(against));
    rows
}

fn capital(words: &str) -> String {
    super::say::capitalised(words)
}

fn side_of(word: &str) -> Option<Side> {
    [Side::Left, Side::Right].into_iter().find(|side| side.to_string() == word)
}

/// The value of a row.
pub(super) fn value(plan: &Plan, id: &str) -> Option<Value> {
    let planned = plan.eligibility.as_ref()?;
    let facts = &planned.facts;
    if let Some((word, what)) = id.split_once('.')
        && let Some(side) = side_of(word)
    {
        return of_side(facts.side(side)?, what);
    }
    match id.split_once('.') {
        Some(("imaging", kind)) => study(facts, kind).map(|study| json!(study.regions)),
        Some(("prior", end)) => facts.prior_percent.map(|range| json!(range[usize::from(end == "to")])),
        Some(("age", kind)) => study(facts, kind)?.months_old.map(|months| json!(months)),
        Some((_, what)) => facts.contraindications.get(&of(Some(&json!(what)))?).map(|present| json!(present)),
        None => match id {
            "policy" => (!planned.policy.is_empty()).then(|| json!(planned.policy)),
            "nicotine" => facts.nicotine.map(|nicotine| json!(nicotine.free)),
            "cotinine" => facts.nicotine?.cotinine_ng_per_ml.map(|value| json!(value)),
            member => serde_json::to_value(facts).ok()?.get(member).cloned(),
        },
    }
}

fn of_side(side: &SideFacts, what: &str) -> Option<Value> {
    if let Some(test) = what.strip_prefix("test.") {
        let test: ProvocationTest = of(Some(&json!(test)))?;
        return side.tests.iter().find(|done| done.test == test).map(|done| json!(done.positive));
    }
    let block = |at: usize| side.blocks.as_ref()?.get(at).copied();
    match what {
        "fortin" => side.fortin.map(|fortin| json!(fortin.positive)),
        "elsewhere" => side.fortin?.equal_tenderness_elsewhere.map(|value| json!(value)),
        "block.0" => block(0).map(|block| json!(block.relief_percent)),
        "block.1" => block(1).map(|block| json!(block.relief_percent)),
        _ => block(0)?.image_guided.map(|value| json!(value)),
    }
}

fn study<'f>(facts: &'f Facts, kind: &str) -> Option<&'f Imaging> {
    facts.imaging.as_ref()?.iter().find(|study| code(study.kind) == kind)
}

/// Puts a value into the plan; `None` takes it out.
pub(super) fn set(plan: &mut Plan, id: &str, value: Option<&Value>) {
    let planned =
        plan.eligibility.get_or_insert_with(|| EligibilityPlan { policy: String::new(), facts: Facts::default() });
    let facts = &mut planned.facts;
    if let Some((word, what)) = id.split_once('.')
        && let Some(side) = side_of(word)
    {
        return set_side(facts, side, what, value);
    }
    match id.split_once('.') {
        Some(("against", what)) => {
            let Some(what) = of::<Contraindication>(Some(&json!(what))) else { return };
            facts.contraindications.remove(&what);
            facts.contraindications.extend(of::<bool>(value).map(|present| (what, present)));
        }
        Some(("prior", end)) => facts.prior_percent = prior(facts.prior_percent, end == "to", of(value)),
        Some((member, kind)) => set_study(facts, kind, member == "imaging", value),
        None => match id {
            "policy" => planned.policy = of(value).unwrap_or_default(),
            "nicotine" => {
                let cotinine_ng_per_ml = facts.nicotine.and_then(|nicotine| nicotine.cotinine_ng_per_ml);
                facts.nicotine = of(value).map(|free| Nicotine { free, cotinine_ng_per_ml });
            }
            "cotinine" => {
                if let Some(nicotine) = &mut facts.nicotine {
                    nicotine.cotinine_ng_per_ml = of(value);
                }
            }
            "failed_care_months" => facts.failed_care_months = of(value),
            "care" => facts.care = of::<Vec<Care>>(value),
            "other_causes_excluded" => facts.other_causes_excluded = of(value),
            "diagnosis" => facts.diagnosis = of(value),
            "bilateral_same_day" => facts.bilateral_same_day = of(value),
            "severity_scored" => facts.severity_scored = of(value),
            "surgeon_trained" => facts.surgeon_trained = of(value),
            "approach" => facts.approach = of(value),
            _ => facts.symptom_months = of(value),
        },
    }
}

/// A range of which one end was typed; the other end never lies on the wrong side of it. Taking an end out takes the range.
fn prior(before: Option<[f64; 2]>, upper: bool, typed: Option<f64>) -> Option<[f64; 2]> {
    let typed = typed?;
    let [from, to] = before.unwrap_or(PRIOR_PERCENT);
    Some(if upper { [from.min(typed), typed] } else { [typed, to.max(typed)] })
}

/// Thresholds that the site confirmed, as the judgement takes them.
fn confirmed(site: &EligibilitySettings) -> Confirmed {
    let of_id = |id: &String| {
        let (policy, kind) = id.split_once('/')?;
        Some((policy.to_owned(), of::<Kind>(Some(&json!(kind)))?))
    };
    site.confirmed.iter().filter_map(of_id).collect()
}

fn set_study(facts: &mut Facts, kind: &str, regions: bool, value: Option<&Value>) {
    let Some(kind) = of::<ImagingKind>(Some(&json!(kind))) else { return };
    let studies = facts.imaging.get_or_insert_default();
    if regions {
        let months_old = studies.iter().find(|study| study.kind == kind).and_then(|study| study.months_old);
        studies.retain(|study| study.kind != kind);
        studies.extend(of(value).map(|regions| Imaging { kind, regions, months_old }));
    } else if let Some(study) = studies.iter_mut().find(|study| study.kind == kind) {
        study.months_old = of(value);
    }
    if studies.is_empty() {
        facts.imaging = None;
    }
}

fn set_side(facts: &mut Facts, side: Side, what: &str, value: Option<&Value>) {
    if facts.side(side).is_none() {
        facts.sides.push(SideFacts { side, tests: Vec::new(), fortin: None, blocks: None });
    }
    let Some(known) = facts.sides.iter_mut().find(|known| known.side == side) else { return };
    if let Some(test) = what.strip_prefix("test.").and_then(|test| of::<ProvocationTest>(Some(&json!(test)))) {
        known.tests.retain(|done| done.test != test);
        known.tests.extend(of(value).map(|positive| TestDone { test, positive }));
        return;
    }
    match what {
        "fortin" => {
            let equal_tenderness_elsewhere = known.fortin.and_then(|fortin| fortin.equal_tenderness_elsewhere);
            known.fortin = of(value).map(|positive| Fortin { positive, equal_tenderness_elsewhere });
        }
        "elsewhere" => {
            if let Some(fortin) = &mut known.fortin {
                fortin.equal_tenderness_elsewhere = of(value);
            }
        }
        "guided" => {
            for block in known.blocks.iter_mut().flatten() {
                block.image_guided = of(value);
            }
        }
        _ => set_block(known, usize::from(what == "block.1"), of(value)),
    }
}

/// A second block without a first is the first.
fn set_block(side: &mut SideFacts, at: usize, relief: Option<f64>) {
    let blocks = side.blocks.get_or_insert_default();
    let image_guided = blocks.first().and_then(|block| block.image_guided);
    match relief {
        Some(relief_percent) if at < blocks.len() => blocks[at].relief_percent = relief_percent,
        Some(relief_percent) => blocks.push(Block { relief_percent, image_guided }),
        None if at < blocks.len() => drop(blocks.remove(at)),
        None => {}
    }
    if blocks.is_empty() {
        side.blocks = None;
    }
}

/// What follows, side by side.
pub(super) fn lines(plan: &Plan, site: &EligibilitySettings) -> Vec<SummaryLine> {
    let line = |label: &str, text: String, heed: bool| SummaryLine {
        label: label.into(),
        text: text.into(),
        heed,
        heading: false,
    };
    let Some(planned) = plan.eligibility.as_ref().filter(|planned| !planned.policy.is_empty()) else {
        return vec![line("Policy", "Choose the policy that applies here".to_owned(), true)];
    };
    let mut facts = planned.facts.clone();
    facts.prior_percent = facts.prior_percent.or(site.prior_percent);
    let confirmed = confirmed(site);
    let mut lines = Vec::new();
    for side in plan.sides.iter().map(|side| side.side) {
        let judged = match judge(&planned.policy, &facts, side, &confirmed) {
            Ok(judged) => judged,
            Err(fault) => return vec![line("Policy", fault.to_string(), true)],
        };
        let heading = format!("{} side, under {}", capital(&side.to_string()), judged.policy_name);
        lines.push(SummaryLine { label: heading.into(), heading: true, ..SummaryLine::default() });
        for finding in judged.findings.iter().filter(|finding| finding.judged != Judged::NotAsked) {
            let text = format!("{}: {}. Asked: {}", finding.kind.word(), finding.found, finding.asked);
            lines.push(line(finding.judged.word(), text, finding.judged != Judged::Met));
        }
        for post in &judged.post_tests {
            let ([low, high], [from, to]) = (post.post_percent, post.prior_percent);
            let count = if post.positive { "three or more" } else { "fewer than three" };
            let text = format!(
                "{low:.0} to {high:.0} % that the joint is the source after {count} positive, from {from:.0} to {to:.0} % before; {}",
                post.battery.source()
            );
            lines.push(line("Probability", text, false));
        }
        let present = judged.against.iter().filter(|against| against.standing == Standing::Present);
        lines.extend(present.map(|against| line("Against", against.what.word().to_owned(), true)));
        let open = judged.against.iter().filter(|against| against.standing == Standing::NotAsked).count();
        lines.extend((open > 0).then(|| line("Against", format!("{open} not asked"), false)));
    }
    lines
}
