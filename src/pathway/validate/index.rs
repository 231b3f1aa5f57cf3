//! Where each step and check stands, so that a rule can look one up by name.

use crate::pathway::{Check, CheckKind, Condition, Pathway, Procedure, Scope};
use std::collections::BTreeMap;

/// Where a step or check stands in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Standing {
    /// Position of the step; behind all of them in the list of an outcome.
    pub step: usize,
    /// Position of the check in its step; `None` for the step itself, which is decided before its checks.
    pub check: Option<usize>,
    pub scope: Scope,
    /// The outcome whose list this is.
    pub stop: Option<&'static str>,
}

impl Standing {
    pub fn step(order: usize, scope: Scope) -> Self {
        Self { step: order, check: None, scope, stop: None }
    }

    pub fn stop(behind_all: usize, outcome: &'static str) -> Self {
        Self { step: behind_all, check: None, scope: Scope::Case, stop: Some(outcome) }
    }

    pub fn check(self, number: usize) -> Self {
        Self { check: Some(number), ..self }
    }

    /// Whether it has been dealt with when the other is asked.
    pub fn is_before(&self, other: &Self) -> bool {
        (self.step, self.check) < (other.step, other.check)
    }
}

/// One check with what surrounds it.
pub(super) struct Known<'a> {
    pub check: &'a Check,
    pub step_when: Option<&'a Condition>,
    pub standing: Standing,
    pub at: String,
}

impl<'a> Known<'a> {
    /// The conditions under which it is asked at all.
    pub fn conditions(&self) -> impl Iterator<Item = &'a Condition> {
        self.step_when.into_iter().chain(self.check.when.as_ref())
    }
}

/// The first check and step of each name.
pub(super) struct Index<'a> {
    checks: BTreeMap<&'a str, Known<'a>>,
    steps: BTreeMap<&'a str, String>,
    order: BTreeMap<String, usize>,
    /// The procedure of the whole pathway.
    pub procedure: Procedure,
}

impl<'a> Index<'a> {
    pub fn of(pathway: &'a Pathway) -> Self {
        let procedure = pathway.procedure;
        let mut index = Self { checks: BTreeMap::new(), steps: BTreeMap::new(), order: BTreeMap::new(), procedure };
        for (phase_number, phase) in pathway.phases.iter().enumerate() {
            for (step_number, step) in phase.steps.iter().enumerate() {
                let at = format!("phases[{phase_number}].steps[{step_number}]");
                let standing = Standing::step(index.order.len(), step.per);
                index.order.insert(at.clone(), standing.step);
                index.steps.entry(&step.id).or_insert_with(|| format!("{at}.id"));
                index.add(&at, &step.checks, step.when.as_ref(), standing);
            }
        }
        let behind_all = index.order.len();
        for (name, list) in pathway.stops.named() {
            let at = format!("stops.{name}");
            index.steps.entry(&list.step).or_insert_with(|| format!("{at}.step"));
            index.add(&at, &list.checks, None, Standing::stop(behind_all, name));
        }
        index
    }

    fn add(&mut self, at: &str, checks: &'a [Check], step_when: Option<&'a Condition>, standing: Standing) {
        for (number, check) in checks.iter().enumerate() {
            let at = format!("{at}.checks[{number}]");
            let known = Known { check, step_when, standing: standing.check(number), at };
            self.checks.entry(&check.id).or_insert(known);
        }
    }

    pub fn check(&self, id: &str) -> Option<&Known<'a>> {
        self.checks.get(id)
    }

    /// Checks in no particular order.
    pub fn all(&self) -> impl Iterator<Item = &Known<'a>> {
        self.checks.values()
    }

    /// Items of a count, if the check is one.
    pub fn count_items(&self, id: &str) -> Option<(&Known<'a>, &'a [String])> {
        let known = self.check(id)?;
        match &known.check.ask {
            CheckKind::Count { items, .. } => Some((known, items)),
            _ => None,
        }
    }

    /// Position of the step at that place of the document.
    pub fn step_order(&self, at: &str) -> usize {
        self.order.get(at).copied().unwrap_or(self.order.len())
    }

    /// Where a step of that id stands first.
    pub fn first_step(&self, id: &str) -> Option<String> {
        self.steps.get(id).cloned()
    }

    /// Where a check of that id stands first.
    pub fn first_check(&self, id: &str) -> Option<String> {
        self.check(id).map(|known| format!("{}.id", known.at))
    }
}
