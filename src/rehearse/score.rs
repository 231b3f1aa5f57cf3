//! The score of a rehearsal: what fails it, what it still lacks, and how a pass ranks.
//!
//! A breach, a blind advance and an accepted view that hides a breach fail it, whatever else was done well. Shots, dose
//! and time rank passes alone, in that order, so that nobody buys shots with safety. Stopping when unsure counts for the
//! trainee. What it does not do: it names no person, and states no fitness to operate.

use super::control::{Mishap, Noted};
use super::driven::BLIND_MM;
use super::session::Rehearsal;
use super::truth::Off;
use crate::carm::{ViewName, view_sheets};
use crate::case::{State, Task};
use crate::dose::Account;
use crate::pin::EdgeName;
use std::cmp::Ordering;
use std::fmt;

/// What fails a rehearsal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Failure {
    /// Pin or tool left the bone, mm outside.
    Breach { edge: EdgeName, mm: f64 },
    /// Advanced or drilled that far without being seen.
    BlindAdvance { mm: f64 },
    /// The view was accepted, and what it shows as bone is a breach.
    HiddenBreach { view: ViewName, edge: EdgeName },
}

/// What is missing for the task to be done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lack {
    NotAccepted(ViewName),
    /// The last accepted view is further off than its tolerance.
    Off {
        view: ViewName,
        by_deg: f64,
        tolerance_deg: f64,
    },
    /// The pin holds less of the sacrum than is published as acceptable.
    Purchase {
        mm: f64,
    },
    /// Nothing was drilled.
    NotDrilled,
    NotSeenTo(Mishap),
    NotFinished,
}

/// The verdict.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    Failed(Vec<Failure>),
    /// Stopped because it was not safe to go on, before anything was breached.
    StoppedUnsure,
    NotDone(Vec<Lack>),
    Passed,
}

/// An accepted view.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ViewScore {
    pub view: ViewName,
    pub off: Off,
    pub tolerance_deg: f64,
}

/// How a rehearsal went.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    pub verdict: Verdict,
    /// Stopping when unsure; noted even where something had failed before.
    pub stopped_unsure: bool,
    pub shots: u32,
    pub dose: Account,
    pub elapsed_ms: u64,
    /// The last acceptance of each view.
    pub views: Vec<ViewScore>,
    /// How often the pin was turned after it had gone in.
    pub redirections: u32,
    /// Of the largest tool along the pin as it stands, from joint to tip, mm.
    pub margins: Vec<(EdgeName, f64)>,
    /// Mishaps gone past, and gates of the pathway passed by spoken word or not at all.
    pub gates_missed: u32,
    pub collisions: u32,
}

/// Length of the sacrum that a pin must hold, mm. Source: short purchase is less than 10 mm, BMC Musculoskelet Disord
/// 2019;20.
pub const PURCHASE_MM: f64 = 10.0;

/// How far a beam may be from a view, degrees: the view's own sheet.
#[must_use]
pub fn tolerance(view: ViewName) -> f64 {
    let sheet = view_sheets().into_iter().find(|sheet| sheet.view == view);
    sheet.expect("every view has its sheet").tolerance_deg
}

impl Score {
    /// The score so far; `case`: the case that was walked along with it.
    #[must_use]
    pub fn of(rehearsal: &Rehearsal, case: Option<&State>) -> Self {
        let noted = || rehearsal.notes().iter().map(|note| &note.what);
        let count = |wanted: fn(&Noted) -> bool| u32::try_from(noted().filter(|what| wanted(what)).count());
        let many = "fewer notes than 2^32";
        let views = last_views(rehearsal);
        let ignored = count(|what| matches!(what, Noted::Ignored(_))).expect(many);
        Self {
            verdict: verdict(rehearsal, &views),
            stopped_unsure: noted().any(|what| *what == Noted::StoppedUnsure),
            shots: u32::try_from(rehearsal.shots().len()).expect("fewer shots than 2^32"),
            dose: rehearsal.dose(),
            elapsed_ms: rehearsal.elapsed_ms(),
            views,
            redirections: count(|what| matches!(what, Noted::Turned { after_mm } if *after_mm > 0.0)).expect(many),
            margins: margins(rehearsal),
            gates_missed: ignored + case.map_or(0, gates_missed),
            collisions: count(|what| matches!(what, Noted::Collided(_))).expect(many),
        }
    }

    /// Where a pass ranks among passes: fewer shots first, then less dose, then less time. `None` for what is no pass.
    #[must_use]
    pub fn rank(&self) -> Option<Rank> {
        let kerma = self.dose.total.and_then(|total| total.reference_air_kerma).map_or(f64::INFINITY, |kerma| kerma.0);
        (self.verdict == Verdict::Passed).then_some(Rank { shots: self.shots, kerma, elapsed_ms: self.elapsed_ms })
    }
}

/// The place of a pass; the least is the best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rank {
    pub shots: u32,
    /// mGy.
    pub kerma: f64,
    pub elapsed_ms: u64,
}

impl Eq for Rank {}

impl PartialOrd for Rank {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rank {
    fn cmp(&self, other: &Self) -> Ordering {
        let shots = self.shots.cmp(&other.shots);
        shots.then(self.kerma.total_cmp(&other.kerma)).then(self.elapsed_ms.cmp(&other.elapsed_ms))
    }
}

fn verdict(rehearsal: &Rehearsal, views: &[ViewScore]) -> Verdict {
    let failures = failures(rehearsal);
    if !failures.is_empty() {
        return Verdict::Failed(failures);
    }
    if rehearsal.notes().iter().any(|note| note.what == Noted::StoppedUnsure) {
        return Verdict::StoppedUnsure;
    }
    let lacks = lacks(rehearsal, views);
    if lacks.is_empty() { Verdict::Passed } else { Verdict::NotDone(lacks) }
}

/// Each kind of failure once per edge, the worst of it.
fn failures(rehearsal: &Rehearsal) -> Vec<Failure> {
    let mut failures: Vec<Failure> = Vec::new();
    for note in rehearsal.notes() {
        match note.what {
            Noted::Advanced { unseen, breach, .. } | Noted::Drilled { unseen, breach, .. } => {
                if unseen > BLIND_MM {
                    add(&mut failures, Failure::BlindAdvance { mm: unseen });
                }
                if let Some((edge, margin)) = breach {
                    add(&mut failures, Failure::Breach { edge, mm: -margin });
                }
            }
            Noted::Accepted { view, hides: Some(edge), .. } => {
                add(&mut failures, Failure::HiddenBreach { view, edge });
            }
            _ => {}
        }
    }
    failures
}

fn add(failures: &mut Vec<Failure>, new: Failure) {
    let same = failures.iter_mut().find(|old| match (&**old, &new) {
        (Failure::Breach { edge: old, .. }, Failure::Breach { edge: new, .. }) => old == new,
        (Failure::BlindAdvance { .. }, Failure::BlindAdvance { .. }) => true,
        (old, new) => old == new,
    });
    match (same, new) {
        (None, new) => failures.push(new),
        (Some(Failure::Breach { mm: old, .. }), Failure::Breach { mm: new, .. })
        | (Some(Failure::BlindAdvance { mm: old }), Failure::BlindAdvance { mm: new }) => *old = old.max(new),
        (Some(_), _) => {}
    }
}

fn lacks(rehearsal: &Rehearsal, views: &[ViewScore]) -> Vec<Lack> {
    let task = rehearsal.exercise().task;
    let mut lacks: Vec<Lack> = wanted(task).into_iter().filter_map(|view| lack_of(view, views)).collect();
    if matches!(task, Task::Pin | Task::Pathway) {
        let purchase = rehearsal.pin().and_then(|pin| rehearsal.within(pin)).unwrap_or(0.0);
        if purchase < PURCHASE_MM {
            lacks.push(Lack::Purchase { mm: purchase });
        }
    }
    if task == Task::Pathway && rehearsal.pin().is_none_or(|pin| pin.drilled == 0.0) {
        lacks.push(Lack::NotDrilled);
    }
    lacks.extend(rehearsal.open_mishap().map(Lack::NotSeenTo));
    if !rehearsal.notes().iter().any(|note| note.what == Noted::Finished) {
        lacks.push(Lack::NotFinished);
    }
    lacks
}

/// The views that a task asks for.
#[must_use]
pub fn wanted(task: Task) -> Vec<ViewName> {
    match task {
        Task::View(view) => vec![view],
        Task::ReAim => vec![ViewName::InletBody, ViewName::OutletWorking],
        Task::Pin | Task::Pathway => vec![ViewName::Lateral, ViewName::InletBody, ViewName::OutletWorking],
    }
}

fn lack_of(view: ViewName, views: &[ViewScore]) -> Option<Lack> {
    let Some(score) = views.iter().find(|score| score.view == view) else { return Some(Lack::NotAccepted(view)) };
    let (by_deg, tolerance_deg) = (score.off.counts, score.tolerance_deg);
    (by_deg > tolerance_deg).then_some(Lack::Off { view, by_deg, tolerance_deg })
}

/// The last acceptance of each view that still holds: none from before the pelvis turned, and none of the inlet and
/// outlet from before the pin's last advance.
fn last_views(rehearsal: &Rehearsal) -> Vec<ViewScore> {
    let mut views: Vec<ViewScore> = Vec::new();
    for note in rehearsal.notes() {
        match note.what {
            Noted::PelvisTurned(_) => views.clear(),
            Noted::Advanced { .. } | Noted::Drilled { .. } => views.retain(|score| score.view == ViewName::Lateral),
            Noted::Accepted { view, off: Some(off), .. } => {
                views.retain(|score| score.view != view);
                views.push(ViewScore { view, off, tolerance_deg: tolerance(view) });
            }
            _ => {}
        }
    }
    views
}

fn margins(rehearsal: &Rehearsal) -> Vec<(EdgeName, f64)> {
    let within = rehearsal.pin().and_then(|pin| Some((pin, rehearsal.within(pin)?)));
    let Some((pin, length)) = within else { return Vec::new() };
    let bone = rehearsal.truth().bone(rehearsal.exercise().operated);
    bone.margins(&pin.line(), length, rehearsal.tool().diameter.0).into_iter().collect()
}

/// Gates of the case passed by spoken word; those that nobody passed end no finished case.
fn gates_missed(case: &State) -> u32 {
    let passed = case.gates.values().map(|gate| usize::from(gate.overridden.is_some()) + gate.earlier_overrides.len());
    u32::try_from(passed.sum::<usize>()).unwrap_or(u32::MAX)
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Breach { edge, mm } => write!(f, "breach: {mm:.1} mm beyond the bone ({edge})"),
            Self::BlindAdvance { mm } => write!(f, "blind advance: {mm:.0} mm without a look"),
            Self::HiddenBreach { view, edge } => write!(f, "{view} accepted, and it hides a breach ({edge})"),
        }
    }
}

impl fmt::Display for Lack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAccepted(view) => write!(f, "{view}: not accepted since the pin last moved"),
            Self::Off { view, by_deg, tolerance_deg } => {
                write!(f, "{view}: {by_deg:.0}° off, {tolerance_deg:.0}° are allowed")
            }
            Self::Purchase { mm } => {
                write!(f, "the pin holds {mm:.0} mm of the sacrum, {PURCHASE_MM} mm are asked for")
            }
            Self::NotDrilled => f.write_str("nothing was drilled"),
            Self::NotSeenTo(mishap) => write!(f, "{mishap}: not seen to"),
            Self::NotFinished => f.write_str("not finished"),
        }
    }
}
