//! Judging facts under one policy, one side at a time. There is no verdict over the criteria together.

use super::contraindication::against;
use super::{
    Against, Approach, Block, Care, Contraindication, Criterion, Facts, Finding, Judged, Kind, PRIOR_PERCENT, Policy,
    PostTest, Rule, SideFacts, StudyWanted, policy,
};
use crate::units::Side;
use serde::Serialize;
use std::collections::BTreeSet;
use thiserror::Error;

/// Criteria whose unsure threshold a site has confirmed, by policy and kind.
pub type Confirmed = BTreeSet<(String, Kind)>;

/// Why nothing is judged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum EligibilityError {
    #[error("policy \"{0}\" is not known here")]
    UnknownPolicy(String),
}

/// The facts of one side under one policy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assessment {
    pub policy: String,
    pub policy_name: String,
    pub source: String,
    pub notes: Vec<String>,
    pub side: Side,
    /// One per [`Kind`], in its order.
    pub findings: Vec<Finding>,
    pub against: Vec<Against>,
    /// One per battery that decides.
    pub post_tests: Vec<PostTest>,
}

impl Assessment {
    /// How many criteria came to that.
    #[must_use]
    pub fn count(&self, judged: Judged) -> usize {
        self.findings.iter().filter(|finding| finding.judged == judged).count()
    }
}

/// Judges one side.
///
/// # Errors
/// [`EligibilityError`] for a policy that is not built in.
pub fn judge(
    policy_id: &str,
    facts: &Facts,
    side: Side,
    confirmed: &Confirmed,
) -> Result<Assessment, EligibilityError> {
    let policy = policy(policy_id).ok_or_else(|| EligibilityError::UnknownPolicy(policy_id.to_owned()))?;
    let of_side =
        facts.side(side).cloned().unwrap_or(SideFacts { side, tests: Vec::new(), fortin: None, blocks: None });
    Ok(Assessment {
        policy: policy.id.clone(),
        policy_name: policy.name.clone(),
        source: policy.source.clone(),
        notes: policy.notes.clone(),
        side,
        findings: Kind::ALL.into_iter().map(|kind| finding(policy, kind, facts, &of_side, confirmed)).collect(),
        against: against(facts),
        post_tests: PostTest::of(&of_side, facts.prior_percent.unwrap_or(PRIOR_PERCENT)),
    })
}

fn finding(policy: &Policy, kind: Kind, facts: &Facts, side: &SideFacts, confirmed: &Confirmed) -> Finding {
    let Some(criterion) = policy.criterion(kind) else {
        return Finding { kind, judged: Judged::NotAsked, found: String::new(), asked: String::new() };
    };
    let (judged, found) = apply(&criterion.rule, facts, side);
    let decides = criterion.sure.decides() || confirmed.contains(&(policy.id.clone(), kind));
    Finding { kind, judged: if decides { judged } else { Judged::Unknown }, found, asked: asked(criterion, decides) }
}

/// What the policy asks, with how sure that is.
fn asked(criterion: &Criterion, decides: bool) -> String {
    let mut words = format!("{} ({})", rule_words(&criterion.rule), criterion.sure.words());
    if let Some(note) = &criterion.note {
        words = format!("{words}. {}", note.trim_end_matches('.'));
    }
    if !decides {
        words += ". Decides nothing until the site confirms it";
    }
    words
}

fn rule_words(rule: &Rule) -> String {
    match rule {
        Rule::ProvocationTests { at_least, of } if of.is_empty() => format!("{at_least} or more positive"),
        Rule::ProvocationTests { at_least, of } => {
            format!("{at_least} or more positive of {}", list(of.iter().map(|test| test.word())))
        }
        Rule::FortinFinger { no_equal_tenderness_elsewhere: true } => "positive, and nowhere else as tender".to_owned(),
        Rule::FortinFinger { .. } => "positive".to_owned(),
        Rule::BlockRelief { at_least_percent, blocks: 1 } => {
            format!("at least {at_least_percent} % after an image-guided block")
        }
        Rule::BlockRelief { at_least_percent, blocks } => {
            format!("at least {at_least_percent} % after each of {blocks} image-guided blocks")
        }
        Rule::FailedCare { at_least_months, includes } if includes.is_empty() => {
            format!("at least {at_least_months} months")
        }
        Rule::FailedCare { at_least_months, includes } => {
            format!("at least {at_least_months} months with {}", list(includes.iter().map(|care| care.word())))
        }
        Rule::Imaging { wanted, at_most_months_old } => {
            let studies: Vec<String> = wanted.iter().map(study_words).collect();
            let age = at_most_months_old.map(|months| format!(", at most {months} months old"));
            format!("{}{}", studies.join("; "), age.unwrap_or_default())
        }
        Rule::DiagnosisConfirmed { of } => list(of.iter().map(|diagnosis| diagnosis.word())),
        Rule::NicotineFree { cotinine_at_most_ng_per_ml } => {
            format!("free of nicotine, cotinine at most {cotinine_at_most_ng_per_ml} ng/mL")
        }
        Rule::OneSideADay => "not both sides on the same day".to_owned(),
        Rule::OtherCausesExcluded => "imaging and examination exclude other causes".to_owned(),
        Rule::SeverityScored => "a disability index or a pain scale".to_owned(),
        Rule::NoGeneralisedPain => "no generalised pain behaviour or disorder".to_owned(),
        Rule::TrainedSurgeon => "regular use of image guidance, and specific training".to_owned(),
        Rule::LateralTransarticular => "lateral transarticular approach".to_owned(),
    }
}

fn study_words(study: &StudyWanted) -> String {
    let kinds: Vec<_> = study.any_of.iter().map(|kind| kind.word()).collect();
    format!("{} of {}", kinds.join(" or "), study.region.word())
}

pub(super) fn list<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.collect::<Vec<_>>().join(", ")
}

fn apply(rule: &Rule, facts: &Facts, side: &SideFacts) -> (Judged, String) {
    match rule {
        Rule::ProvocationTests { at_least, of } => tests(*at_least, of, side),
        Rule::FortinFinger { no_equal_tenderness_elsewhere } => fortin(*no_equal_tenderness_elsewhere, side),
        Rule::BlockRelief { at_least_percent, blocks } => relief(*at_least_percent, *blocks, side.blocks.as_deref()),
        Rule::FailedCare { at_least_months, includes } => failed_care(*at_least_months, includes, facts),
        Rule::Imaging { wanted, at_most_months_old } => imaging(wanted, *at_most_months_old, facts),
        Rule::DiagnosisConfirmed { of } => match facts.diagnosis {
            Some(diagnosis) => (met(of.contains(&diagnosis)), diagnosis.word().to_owned()),
            None => (Judged::Unknown, "no diagnosis entered".to_owned()),
        },
        Rule::NicotineFree { cotinine_at_most_ng_per_ml } => nicotine(*cotinine_at_most_ng_per_ml, facts),
        Rule::OneSideADay => said(facts.bilateral_same_day, true, "both sides the same day", "one side a day"),
        Rule::OtherCausesExcluded => said(facts.other_causes_excluded, false, "excluded", "not excluded"),
        Rule::SeverityScored => said(facts.severity_scored, false, "scored", "not scored"),
        Rule::NoGeneralisedPain => {
            let present = facts.contraindications.get(&Contraindication::GeneralisedPainDisorder).copied();
            said(present, true, "present", "absent")
        }
        Rule::TrainedSurgeon => said(facts.surgeon_trained, false, "so stated", "not so"),
        Rule::LateralTransarticular => match facts.approach {
            Some(approach) => (met(approach == Approach::LateralTransarticular), approach_word(approach).to_owned()),
            None => (Judged::Unknown, "no approach entered".to_owned()),
        },
    }
}

fn met(yes: bool) -> Judged {
    if yes { Judged::Met } else { Judged::Unmet }
}

/// A yes or no that nobody may have asked; `against` if yes is what the policy does not want.
fn said(fact: Option<bool>, against: bool, yes: &str, no: &str) -> (Judged, String) {
    match fact {
        Some(fact) => (met(fact != against), (if fact { yes } else { no }).to_owned()),
        None => (Judged::Unknown, "not asked".to_owned()),
    }
}

fn approach_word(approach: Approach) -> &'static str {
    match approach {
        Approach::LateralTransarticular => "lateral transarticular",
        Approach::Posterior => "posterior",
        Approach::Other => "another approach",
    }
}

fn tests(at_least: usize, of: &[super::ProvocationTest], side: &SideFacts) -> (Judged, String) {
    let counts = |test: &super::ProvocationTest| of.is_empty() || of.contains(test);
    let done: Vec<_> = side.tests.iter().filter(|done| counts(&done.test)).collect();
    let positive: Vec<_> = done.iter().filter(|done| done.positive).map(|done| done.test.word()).collect();
    if done.is_empty() {
        return (Judged::Unknown, "none done".to_owned());
    }
    let names = if positive.is_empty() { String::new() } else { format!(" ({})", positive.join(", ")) };
    let found = format!("{} of {} done are positive{names}", positive.len(), done.len());
    // Without a named battery what was left out is unknown, so too few positive prove nothing.
    let left = if of.is_empty() { at_least } else { of.len().saturating_sub(done.len()) };
    let judged = match positive.len() {
        count if count >= at_least => Judged::Met,
        count if count + left < at_least => Judged::Unmet,
        _ => Judged::Unknown,
    };
    (judged, found)
}

fn fortin(nowhere_else: bool, side: &SideFacts) -> (Judged, String) {
    let Some(fortin) = side.fortin else { return (Judged::Unknown, "not asked".to_owned()) };
    if !fortin.positive {
        return (Judged::Unmet, "negative".to_owned());
    }
    match (nowhere_else, fortin.equal_tenderness_elsewhere) {
        (false, _) => (Judged::Met, "positive".to_owned()),
        (true, Some(false)) => (Judged::Met, "positive, nowhere else as tender".to_owned()),
        (true, Some(true)) => (Judged::Unmet, "positive, elsewhere as tender".to_owned()),
        (true, None) => (Judged::Unknown, "positive; tenderness elsewhere not asked".to_owned()),
    }
}

fn relief(at_least: f64, wanted: usize, blocks: Option<&[Block]>) -> (Judged, String) {
    let Some(blocks) = blocks else { return (Judged::Unknown, "not asked".to_owned()) };
    if blocks.is_empty() {
        return (met(wanted == 0), "no block given".to_owned());
    }
    let enough = |sure: &dyn Fn(Option<bool>) -> bool| {
        blocks.iter().filter(|block| block.relief_percent >= at_least && sure(block.image_guided)).count()
    };
    let words: Vec<String> = blocks.iter().map(block_words).collect();
    let judged = if enough(&|guided| guided == Some(true)) >= wanted {
        Judged::Met
    } else if enough(&|guided| guided != Some(false)) >= wanted {
        Judged::Unknown
    } else {
        Judged::Unmet
    };
    (judged, words.join("; "))
}

fn block_words(block: &Block) -> String {
    let guided = match block.image_guided {
        Some(true) => "image-guided",
        Some(false) => "without image",
        None => "whether under an image not known",
    };
    format!("{} % ({guided})", block.relief_percent)
}

fn failed_care(at_least: f64, includes: &[Care], facts: &Facts) -> (Judged, String) {
    let Some(months) = facts.failed_care_months else { return (Judged::Unknown, "not asked".to_owned()) };
    let found = format!("{months} months");
    if months < at_least {
        return (Judged::Unmet, found);
    }
    let Some(care) = &facts.care else {
        let judged = if includes.is_empty() { Judged::Met } else { Judged::Unknown };
        return (judged, format!("{found}; which care was not asked"));
    };
    let missing: Vec<_> = includes.iter().filter(|wanted| !care.contains(wanted)).map(|care| care.word()).collect();
    if missing.is_empty() {
        return (Judged::Met, found);
    }
    (Judged::Unmet, format!("{found}, without {}", missing.join(", ")))
}

fn imaging(wanted: &[StudyWanted], at_most: Option<f64>, facts: &Facts) -> (Judged, String) {
    let Some(studies) = &facts.imaging else { return (Judged::Unknown, "not asked".to_owned()) };
    let (mut judged, mut words) = (Judged::Met, Vec::new());
    for want in wanted {
        let fitting = studies.iter().filter(|study| want.any_of.contains(&study.kind));
        let mut ages = fitting.filter(|study| study.regions.contains(&want.region)).map(|study| study.months_old);
        let ages: Vec<_> = ages.by_ref().collect();
        let young = |age: &Option<f64>| at_most.is_none_or(|limit| age.is_some_and(|age| age <= limit));
        if ages.iter().any(young) {
            continue;
        }
        if ages.contains(&None) {
            judged = if judged == Judged::Unmet { judged } else { Judged::Unknown };
            words.push(format!("{}: age not known", study_words(want)));
        } else {
            judged = Judged::Unmet;
            let why = if ages.is_empty() { "not at hand" } else { "too old" };
            words.push(format!("{}: {why}", study_words(want)));
        }
    }
    (judged, if words.is_empty() { "at hand".to_owned() } else { words.join("; ") })
}

fn nicotine(at_most: f64, facts: &Facts) -> (Judged, String) {
    let Some(nicotine) = facts.nicotine else { return (Judged::Unknown, "not asked".to_owned()) };
    let free = if nicotine.free { "free by the patient's word" } else { "not free" };
    match nicotine.cotinine_ng_per_ml {
        Some(level) => (met(nicotine.free && level <= at_most), format!("{free}, cotinine {level} ng/mL")),
        None if nicotine.free => (Judged::Unknown, format!("{free}, cotinine not measured")),
        None => (Judged::Unmet, free.to_owned()),
    }
}
