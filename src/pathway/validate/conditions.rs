//! Conditions: each can be decided when it is asked, and each can hold.

use super::index::{Index, Known, Standing};
use super::kinds::often;
use super::report::Report;
use crate::pathway::{CheckId, CheckKind, Condition, Flaw};
use std::collections::BTreeMap;

/// Judges one condition. `around`: the conditions that already hold where it is asked.
pub(super) fn judge<'a>(
    report: &mut Report,
    at: &str,
    when: &'a Condition,
    standing: Standing,
    around: &[&'a Condition],
    index: &Index<'a>,
) {
    if *when == Condition::default() {
        return report.say(at, Flaw::EmptyCondition);
    }
    let mut sound = true;
    for (id, option) in &when.answers {
        if let Some(what) = answer(id, option, standing, index) {
            report.say(format!("{at}.answers.{id}"), what);
            sound = false;
        }
    }
    if sound && let Some(what) = never(when, standing, around, index) {
        report.say(at, what);
    }
}

fn answer(id: &CheckId, option: &str, standing: Standing, index: &Index<'_>) -> Option<Flaw> {
    let Some(known) = index.check(id) else { return Some(Flaw::UnknownCheck(id.clone())) };
    let CheckKind::Choice { options } = &known.check.ask else { return Some(Flaw::NotAChoice(id.clone())) };
    if !options.iter().any(|known| known.id == option) {
        return Some(Flaw::UnknownOption { check: id.clone(), option: option.to_owned() });
    }
    if known.standing.stop.is_some() && known.standing.stop != standing.stop {
        return Some(Flaw::OtherOutcome(id.clone()));
    }
    if let Some(circle) = circle(known, standing, index) {
        return Some(Flaw::Cycle { circle });
    }
    (!known.standing.is_before(&standing)).then(|| Flaw::LooksAhead(id.clone()))
}

/// The way from a check back to the place that asks for it, if its own conditions lead there.
fn circle(from: &Known<'_>, asked_at: Standing, index: &Index<'_>) -> Option<Vec<CheckId>> {
    let mut ways = vec![vec![from.check.id.clone()]];
    let mut seen = vec![from.check.id.clone()];
    while let Some(way) = ways.pop() {
        let here = index.check(way.last()?)?;
        if closes(here.standing, asked_at) {
            let first = way[0].clone();
            return Some(way.into_iter().chain([first]).collect());
        }
        for next in here.conditions().flat_map(|when| when.answers.keys()) {
            if !seen.contains(next) && index.check(next).is_some() {
                seen.push(next.clone());
                ways.push(way.iter().cloned().chain([next.clone()]).collect());
            }
        }
    }
    None
}

/// Whether the check at `here` depends on what is asked: it is that check, or stands in that step.
fn closes(here: Standing, asked_at: Standing) -> bool {
    let same_step = here.step == asked_at.step && here.stop == asked_at.stop;
    same_step && (asked_at.check.is_none() || asked_at.check == here.check)
}

/// Why the condition cannot hold together with those around it and those of the checks it asks.
fn never<'a>(when: &'a Condition, standing: Standing, around: &[&'a Condition], index: &Index<'a>) -> Option<Flaw> {
    if when.procedure.is_some_and(|procedure| procedure != index.procedure) {
        return Some(Flaw::NeverHolds("the pathway is for the other procedure".to_owned()));
    }
    let mut all: Vec<(&Condition, Option<&CheckId>)> = around.iter().map(|outer| (*outer, None)).collect();
    for id in when.answers.keys() {
        let known = index.check(id)?;
        all.extend(known.conditions().map(|inner| (inner, Some(id))));
    }
    for (other, through) in all {
        if let Some(member) = against(when, other, through.is_some()) {
            let whose = through.map_or("what surrounds it".to_owned(), |id| format!("the check \"{id}\""));
            return Some(Flaw::NeverHolds(format!("\"{member}\" contradicts {whose}")));
        }
    }
    let outer: BTreeMap<&CheckId, &String> = around.iter().flat_map(|outer| &outer.answers).collect();
    for (id, option) in &when.answers {
        let single = often(index.check(id)?.standing.scope) <= often(standing.scope);
        if single && outer.get(id).is_some_and(|wanted| *wanted != option) {
            let why = format!("what surrounds it wants another answer to the check \"{id}\"");
            return Some(Flaw::NeverHolds(why));
        }
    }
    None
}

/// The member of the plan on which two conditions disagree. Across places the sides may differ, so that
/// `dysmorphic` is compared only where both are asked at one place.
fn against(one: &Condition, other: &Condition, across: bool) -> Option<&'static str> {
    fn differ<T: PartialEq>(one: Option<T>, other: Option<T>) -> bool {
        matches!((one, other), (Some(one), Some(other)) if one != other)
    }
    let disagreements = [
        (differ(one.procedure, other.procedure), "procedure"),
        (!across && differ(one.dysmorphic, other.dysmorphic), "dysmorphic"),
        (differ(one.bilateral, other.bilateral), "bilateral"),
        (differ(one.nerves_monitored, other.nerves_monitored), "nerves_monitored"),
        (differ(one.antibiotic, other.antibiotic), "antibiotic"),
        (differ(one.compressing, other.compressing), "compressing"),
        (differ(one.transitional, other.transitional), "transitional"),
    ];
    disagreements.into_iter().find(|(differs, _)| *differs).map(|(_, member)| member)
}
