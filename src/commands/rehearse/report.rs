//! The figures of a comparison, from the runs of its teams.

use super::interval::{Ratio, Share, Spread};
use crate::rehearse::compare::{Run, Strategy};

/// A view is near enough from here, degrees; the aim of the comparison.
pub const WITHIN_DEG: f64 = 3.0;

/// One strategy's views.
#[derive(Debug, Clone)]
pub struct Views {
    pub strategy: Strategy,
    /// Inlet and outlet both near enough on the first shot, and on the second.
    pub first: Share,
    pub second: Share,
    /// Each alone on the first shot.
    pub inlet_first: Share,
    pub outlet_first: Share,
    /// Degrees off where accepted.
    pub inlet_off: Spread,
    pub outlet_off: Spread,
    pub lateral_off: Spread,
    pub shots: Spread,
}

/// One strategy's pins, by eye or with the finding.
#[derive(Debug, Clone)]
pub struct Pins {
    pub strategy: Strategy,
    pub finding: bool,
    /// All shots, from the first lateral on.
    pub shots: Spread,
    pub right_first_time: Share,
    /// The largest tool would leave the bone.
    pub breach: Share,
    /// mm, of the largest tool.
    pub margin: Option<Spread>,
    pub purchase_short: Share,
    pub redirections: Spread,
    /// No start point met bone, or the pin never reached the sacrum.
    pub not_placed: usize,
    /// Of the findings asked for.
    pub held_back: Option<Share>,
}

/// e against b and a, and the margins with the finding against those by eye.
#[derive(Debug, Clone)]
pub struct Against {
    /// Mean shots of e over those of the other: for the views, and in all (each with the finding).
    pub views: Ratio,
    pub all: Ratio,
    /// Person by person: shots in all of e less those of the other, and margin of e less the other's, mm.
    pub shots_less: Option<Spread>,
    pub margin_less: Option<Spread>,
}

/// All figures.
#[derive(Debug, Clone)]
pub struct Report {
    pub views: Vec<Views>,
    pub pins: Vec<Pins>,
    /// e against a, and against b; both sides with the finding.
    pub against: [Against; 2],
    /// e with the finding against a by eye: the margins' aim.
    pub margin_against_eye: Option<Spread>,
    pub stopped: usize,
}

/// A report under another setting.
#[derive(Debug, Clone)]
pub struct Varied {
    pub what: &'static str,
    pub people: u32,
    pub report: Report,
}

/// Sacrum held, mm. Source: short purchase is less than 10 mm, BMC Musculoskelet Disord 2019;20.
const PURCHASE_MM: f64 = 10.0;

impl Report {
    /// Of one or more people, each with a run of every strategy by eye and with the finding.
    pub fn of(people: &[Vec<Run>]) -> Self {
        let of = |strategy, finding| -> Vec<&Run> {
            let every = people.iter().flatten();
            every.filter(|run| run.strategy == strategy && run.finding == finding).collect()
        };
        let views = Strategy::ALL.map(|strategy| views(strategy, &of(strategy, false))).to_vec();
        let pins = Strategy::ALL.into_iter().flat_map(|strategy| [(strategy, false), (strategy, true)]);
        let pins = pins.map(|(strategy, finding)| pins_of(strategy, finding, &of(strategy, finding))).collect();
        let e = of(Strategy::Corrected, true);
        let against = [Strategy::MeanThenEye, Strategy::MeanThenSteps].map(|other| against(&e, &of(other, true)));
        let by_eye = of(Strategy::MeanThenEye, false);
        let stopped = people.iter().flatten().filter(|run| run.stopped > 0).count();
        Self { views, pins, against, margin_against_eye: margins_less(&e, &by_eye), stopped }
    }

    pub fn views_of(&self, strategy: Strategy) -> &Views {
        self.views.iter().find(|views| views.strategy == strategy).expect("every strategy was run")
    }
}

fn share(runs: &[&Run], of: impl Fn(&Run) -> bool) -> Share {
    Share::exact(runs.iter().filter(|run| of(run)).count(), runs.len())
}

fn spread(runs: &[&Run], of: impl Fn(&Run) -> f64) -> Spread {
    Spread::of(runs.iter().map(|run| of(run))).expect("somebody was met")
}

fn views(strategy: Strategy, runs: &[&Run]) -> Views {
    Views {
        strategy,
        first: share(runs, |run| run.first_within(WITHIN_DEG)),
        second: share(runs, |run| run.second_within(WITHIN_DEG)),
        inlet_first: share(runs, |run| run.inlet.first <= WITHIN_DEG),
        outlet_first: share(runs, |run| run.outlet.first <= WITHIN_DEG),
        inlet_off: spread(runs, |run| run.inlet.accepted),
        outlet_off: spread(runs, |run| run.outlet.accepted),
        lateral_off: spread(runs, |run| run.lateral.accepted),
        shots: spread(runs, |run| f64::from(run.view_shots)),
    }
}

fn pins_of(strategy: Strategy, finding: bool, runs: &[&Run]) -> Pins {
    let given: u32 = runs.iter().map(|run| run.findings[0]).sum();
    let held: u32 = runs.iter().map(|run| run.findings[1]).sum();
    let asked = (given + held) as usize;
    Pins {
        strategy,
        finding,
        shots: spread(runs, |run| f64::from(run.shots)),
        right_first_time: share(runs, Run::right_first_time),
        breach: share(runs, Run::breach),
        margin: Spread::of(runs.iter().filter_map(|run| Some(run.margin?.1))),
        purchase_short: share(runs, |run| run.purchase < PURCHASE_MM),
        redirections: spread(runs, |run| f64::from(run.redirections)),
        not_placed: runs.iter().filter(|run| run.margin.is_none()).count(),
        held_back: (asked > 0).then(|| Share::exact(held as usize, asked)),
    }
}

fn against(e: &[&Run], other: &[&Run]) -> Against {
    let ratio = |of: fn(&Run) -> u32| {
        let pairs = e.iter().zip(other).map(|(e, other)| (f64::from(of(e)), f64::from(of(other))));
        Ratio::of(&pairs.collect::<Vec<_>>())
    };
    let pairs = e.iter().zip(other);
    Against {
        views: ratio(|run| run.view_shots),
        all: ratio(|run| run.shots),
        shots_less: Spread::of(pairs.map(|(e, other)| f64::from(e.shots) - f64::from(other.shots))),
        margin_less: margins_less(e, other),
    }
}

fn margins_less(e: &[&Run], other: &[&Run]) -> Option<Spread> {
    let pairs = e.iter().zip(other).filter_map(|(e, other)| Some(e.margin?.1 - other.margin?.1));
    Spread::of(pairs)
}
