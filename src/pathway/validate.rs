//! Judging a pathway: one walk through the document, every rule at the place it is about.
//!
//! What it does not do: it does not judge whether the content is good surgery. A pathway without faults can be
//! followed to its end: each condition can be decided when it is asked, each gate released, each check answered.

mod conditions;
mod index;
mod kinds;
mod marks;
mod report;
mod team;
mod texts;

use super::{Check, Condition, Fault, Flaw, OutcomeList, Pathway, Phase, Scope, Step};
use index::{Index, Standing};
use report::Report;

/// Most checks of one step: a longer list is ticked unread.
///
/// Source: common practice of checklist design, no source.
pub const PAUSE_MAX: usize = 9;
/// Most phases: what the rail shows at once.
const PHASES_MAX: usize = 12;
/// Most steps of one phase.
const STEPS_MAX: usize = 12;

/// Every fault of the pathway, in document order; empty if it can be used.
#[must_use]
pub fn faults(pathway: &Pathway) -> Vec<Fault> {
    let mut judge = Judge { pathway, index: Index::of(pathway), report: Report::default() };
    judge.head();
    judge.phases();
    for (name, list) in pathway.stops.named() {
        judge.stop_list(name, list);
    }
    judge.report.found
}

struct Judge<'a> {
    pathway: &'a Pathway,
    index: Index<'a>,
    report: Report,
}

impl<'a> Judge<'a> {
    fn head(&mut self) {
        let Pathway { id, version, title, about, .. } = self.pathway;
        texts::id(&mut self.report, "id", id);
        texts::line(&mut self.report, "version", version, texts::VERSION_MAX);
        texts::line(&mut self.report, "title", title, texts::PATHWAY_TITLE_MAX);
        texts::prose(&mut self.report, "about", about, texts::ABOUT_MAX);
        team::members(&mut self.report, self.pathway);
    }

    fn phases(&mut self) {
        let phases = &self.pathway.phases;
        self.report.length("phases", phases.len(), 1, PHASES_MAX);
        for (number, phase) in phases.iter().enumerate() {
            self.phase(&format!("phases[{number}]"), phase, &phases[..number]);
        }
        marks::missing(&mut self.report, self.pathway);
    }

    fn phase(&mut self, at: &str, phase: &'a Phase, before: &[Phase]) {
        let place = format!("{at}.id");
        texts::id(&mut self.report, &place, &phase.id);
        if let Some(first) = before.iter().position(|earlier| earlier.id == phase.id) {
            let first = format!("phases[{first}].id");
            self.report.say(place, Flaw::DuplicateId { id: phase.id.clone(), first });
        }
        texts::line(&mut self.report, &format!("{at}.title"), &phase.title, texts::PHASE_TITLE_MAX);
        self.report.length(&format!("{at}.steps"), phase.steps.len(), 1, STEPS_MAX);
        for (number, step) in phase.steps.iter().enumerate() {
            self.step(&format!("{at}.steps[{number}]"), step);
        }
    }

    fn step(&mut self, at: &str, step: &'a Step) {
        self.step_id(&format!("{at}.id"), &step.id);
        texts::line(&mut self.report, &format!("{at}.title"), &step.title, texts::STEP_TITLE_MAX);
        texts::optional(&mut self.report, &format!("{at}.hint"), step.hint.as_ref());
        let order = self.index.step_order(at);
        if order == 0 && (step.per != Scope::Case || step.when.is_some()) {
            self.report.say(at, Flaw::FirstStep);
        }
        let standing = Standing::step(order, step.per);
        self.condition(&format!("{at}.when"), step.when.as_ref(), standing, &[]);
        self.checks(at, &step.checks, standing, step.when.as_ref());
        if let Some(gate) = &step.gate {
            let at = format!("{at}.gate");
            texts::line(&mut self.report, &format!("{at}.title"), &gate.title, texts::GATE_TITLE_MAX);
            team::gate(&mut self.report, &at, gate, &self.pathway.team);
        }
    }

    fn stop_list(&mut self, name: &'static str, list: &'a OutcomeList) {
        let at = format!("stops.{name}");
        self.step_id(&format!("{at}.step"), &list.step);
        texts::line(&mut self.report, &format!("{at}.title"), &list.title, texts::STEP_TITLE_MAX);
        let standing = Standing::stop(self.pathway.steps().count(), name);
        self.checks(&at, &list.checks, standing, None);
    }

    fn step_id(&mut self, at: &str, id: &str) {
        texts::id(&mut self.report, at, id);
        self.duplicate(at, id, self.index.first_step(id));
    }

    fn duplicate(&mut self, at: &str, id: &str, first: Option<String>) {
        if let Some(first) = first.filter(|first| first != at) {
            self.report.say(at, Flaw::DuplicateId { id: id.to_owned(), first });
        }
    }

    fn checks(&mut self, at: &str, checks: &'a [Check], standing: Standing, step_when: Option<&'a Condition>) {
        if checks.is_empty() {
            self.report.say(format!("{at}.checks"), Flaw::TooFew { min: 1 });
        }
        if checks.len() > PAUSE_MAX {
            let what = Flaw::LongPause { found: checks.len(), max: PAUSE_MAX };
            self.report.say(format!("{at}.checks"), what);
        }
        for (number, check) in checks.iter().enumerate() {
            let at = format!("{at}.checks[{number}]");
            self.check(&at, check, standing.check(number), step_when);
        }
    }

    fn check(&mut self, at: &str, check: &'a Check, standing: Standing, step_when: Option<&'a Condition>) {
        let id_at = format!("{at}.id");
        texts::id(&mut self.report, &id_at, &check.id);
        self.duplicate(&id_at, &check.id, self.index.first_check(&check.id));
        texts::line(&mut self.report, &format!("{at}.text"), &check.text, texts::LINE_MAX);
        texts::optional(&mut self.report, &format!("{at}.detail"), check.detail.as_ref());
        kinds::judge(&mut self.report, &format!("{at}.ask"), &check.ask, standing, &self.index);
        kinds::reads(&mut self.report, &format!("{at}.reads"), check);
        let around: Vec<&Condition> = step_when.into_iter().collect();
        self.condition(&format!("{at}.when"), check.when.as_ref(), standing, &around);
        team::answerers(&mut self.report, &format!("{at}.by"), &check.by, &self.pathway.team);
        marks::judge(&mut self.report, &format!("{at}.marks"), check, standing, self.pathway, &self.index);
        let around: Vec<&Condition> = step_when.into_iter().chain(check.when.as_ref()).collect();
        self.report.length(&format!("{at}.cautions"), check.cautions.len(), 0, texts::CAUTIONS_MAX);
        for (number, caution) in check.cautions.iter().enumerate() {
            let at = format!("{at}.cautions[{number}]");
            texts::line(&mut self.report, &format!("{at}.text"), &caution.text, texts::LINE_MAX);
            self.condition(&format!("{at}.when"), caution.when.as_ref(), standing, &around);
        }
        for (at, when) in kinds::conditions(at, &check.ask) {
            self.condition(&at, Some(when), standing, &around);
        }
    }

    fn condition(&mut self, at: &str, when: Option<&'a Condition>, standing: Standing, around: &[&'a Condition]) {
        if let Some(when) = when {
            conditions::judge(&mut self.report, at, when, standing, around, &self.index);
        }
    }
}
