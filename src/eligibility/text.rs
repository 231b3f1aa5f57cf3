//! An assessment in words, as screens and reports print it.

use super::judge::list;
use super::{Against, Assessment, Judged, PostTest, Standing};
use std::fmt::Write;

/// The last line of every assessment.
const ADVISORY: &str = "Advisory: the surgeon, local policy and licensed practice decide.";

/// The whole assessment, a line each.
#[must_use]
pub fn text(assessment: &Assessment) -> String {
    let mut out = format!("Eligibility, {} side, under {}\n", assessment.side, assessment.policy_name);
    line(&mut out, format!("Source: {}", assessment.source));
    for note in &assessment.notes {
        line(&mut out, format!("Note: {note}"));
    }
    out.push('\n');
    for finding in assessment.findings.iter().filter(|finding| finding.judged != Judged::NotAsked) {
        line(&mut out, format!("{:<8} {}: {}", finding.judged.word(), finding.kind.word(), finding.found));
        line(&mut out, format!("         asked: {}", finding.asked));
    }
    let silent = assessment.findings.iter().filter(|finding| finding.judged == Judged::NotAsked);
    let silent = list(silent.map(|finding| finding.kind.word()));
    if !silent.is_empty() {
        line(&mut out, format!("Not asked by this policy: {silent}"));
    }
    line(&mut out, counts(assessment));
    out.push('\n');
    contraindications(&mut out, &assessment.against);
    out.push('\n');
    probability(&mut out, assessment);
    line(&mut out, ADVISORY.to_owned());
    out
}

fn line(out: &mut String, words: String) {
    out.push_str(&words);
    out.push('\n');
}

fn counts(assessment: &Assessment) -> String {
    let count = |judged: Judged| format!("{} {}", assessment.count(judged), judged.word());
    format!("In all: {}, {}, {}.", count(Judged::Met), count(Judged::Unmet), count(Judged::Unknown))
}

fn contraindications(out: &mut String, against: &[Against]) {
    let of = |standing: Standing| {
        let words = against.iter().filter(|against| against.standing == standing);
        words.map(|against| against.what.word()).collect::<Vec<_>>().join("; ")
    };
    for (title, standing) in [
        ("Stands against", Standing::Present),
        ("Asked and absent", Standing::Absent),
        ("Not asked", Standing::NotAsked),
    ] {
        let words = of(standing);
        if !words.is_empty() {
            line(out, format!("{title}: {words}"));
        }
    }
}

fn probability(out: &mut String, assessment: &Assessment) {
    if assessment.post_tests.is_empty() {
        line(out, "Probability after the tests: not known, no published battery is complete enough.".to_owned());
    }
    for post in &assessment.post_tests {
        line(out, post_test(post));
    }
}

fn post_test(post: &PostTest) -> String {
    let [from, to] = post.prior_percent;
    let [low, high] = post.post_percent;
    let count = if post.positive { "three or more" } else { "fewer than three" };
    let mut words = format!(
        "Probability that the joint is the source: {low:.0} to {high:.0} % after {count} positive of {}, from {from:.0} to \
         {to:.0} % before (likelihood ratio {:.2}; {})",
        list(post.battery.tests().iter().map(|test| test.word())),
        post.likelihood_ratio,
        post.battery.source(),
    );
    let none = post.count_positive == 0 && post.count_done == post.battery.tests().len();
    if none && post.battery == super::Battery::SixWithoutFaber {
        write!(words, ". In that series no positive test at all ruled the joint out").expect("a string takes words");
    }
    words
}
