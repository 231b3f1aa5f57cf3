//! From console readings to what each part of the operation cost.
//!
//! Readings are running totals of a machine. A difference of two is what lay between them; a counter that fell was
//! reset, or the number stands in another unit than before; a second machine begins an account of its own. Nothing is
//! corrected: what does not fit is named, and the difference that it spoils stays unknown.

use super::plausible::{self, Implausible};
use super::{Figures, Moment, Reading};
use crate::units::{GrayCm2, KermaAreaUnit};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What one machine gave between two readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    pub machine: String,
    /// `None` if the machine came in later: counted from its first reading on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<Moment>,
    pub to: Moment,
    pub figures: Figures,
    /// The counter was reset in between, so this is what it showed since: a least value.
    pub at_least: bool,
}

/// Something to look at. `reading` is the position in the list of readings, from 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "finding", rename_all = "kebab-case", rename_all_fields = "snake_case", deny_unknown_fields)]
pub enum Finding {
    /// Every figure fell: the counter was set back.
    Reset { reading: usize },
    /// The kerma-area product fell or jumped while the rest went on; in these units its number would fit.
    OtherUnit { reading: usize, shown: KermaAreaUnit, would_fit: Vec<KermaAreaUnit> },
    /// One figure fell, another rose, and no unit explains it.
    Contradiction { reading: usize },
    /// A machine that was not there before; its account begins here.
    SecondMachine { reading: usize },
    /// The first reading of the case is later than its opening: what was given before is unknown.
    NoOpening { reading: usize },
    /// The figures themselves ask for a second look.
    Implausible { reading: usize, why: Implausible, confirmed: bool },
    /// What was given since the reading before asks for a second look.
    ImplausibleSince { reading: usize, why: Implausible, confirmed: bool },
}

impl Finding {
    /// Position of the reading it is about.
    #[must_use]
    pub fn reading(&self) -> usize {
        match self {
            Self::Reset { reading }
            | Self::OtherUnit { reading, .. }
            | Self::Contradiction { reading }
            | Self::SecondMachine { reading }
            | Self::NoOpening { reading }
            | Self::Implausible { reading, .. }
            | Self::ImplausibleSince { reading, .. } => *reading,
        }
    }

    /// Whether it is worth looking at the console again before the reading is taken.
    #[must_use]
    pub fn asks(&self) -> bool {
        !matches!(self, Self::SecondMachine { .. } | Self::NoOpening { .. })
    }

    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Reset { .. } => "Every figure fell since the reading before: the counter was set back".to_owned(),
            Self::OtherUnit { shown, would_fit, .. } => {
                let fits: Vec<&str> = would_fit.iter().map(|unit| unit.symbol()).collect();
                format!("Does not follow in {}; it would in {}", shown.symbol(), fits.join(" or "))
            }
            Self::Contradiction { .. } => "One figure fell while another rose since the reading before".to_owned(),
            Self::SecondMachine { .. } => "Another machine: its account begins here".to_owned(),
            Self::NoOpening { .. } => "No reading at opening: what was given before is unknown".to_owned(),
            Self::Implausible { why, .. } => why.words(),
            Self::ImplausibleSince { why, .. } => format!("Since the reading before: {}", why.words()),
        }
    }
}

/// The account of a case from its readings.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Account {
    pub differences: Vec<Difference>,
    /// Sum of the differences over all machines; a figure that one of them lacks is unknown.
    pub total: Option<Figures>,
    /// The total is a least value: a counter was reset, a machine was read only once, or none at the opening.
    pub at_least: bool,
    pub findings: Vec<Finding>,
}

/// Draws up the account. Readings in the order they were taken.
#[must_use]
pub fn account(readings: &[Reading]) -> Account {
    let mut account = Account::default();
    for (at, reading) in readings.iter().enumerate() {
        let before = readings[..at].iter().rev().find(|earlier| earlier.machine == reading.machine);
        let why = plausible::implausible(&reading.figures());
        let confirmed = reading.confirmed;
        // Where a machine's totals began elsewhere, their mean says little of this case.
        let own = before.is_none() || why.contains(&Implausible::Impossible) || hardly_ever(&why);
        let why = why.into_iter().filter(|_| own);
        account.findings.extend(why.map(|why| Finding::Implausible { reading: at, why, confirmed }));
        match before {
            Some(before) => account.go_on(at, before, reading),
            None if at > 0 => account.findings.push(Finding::SecondMachine { reading: at }),
            None if reading.moment != Moment::Opening => account.findings.push(Finding::NoOpening { reading: at }),
            None => {}
        }
    }
    account.total = account.differences.iter().map(|one| one.figures).reduce(Figures::plus);
    let late = account.findings.iter().any(|finding| matches!(finding, Finding::NoOpening { .. }));
    account.at_least = late || account.differences.iter().any(|one| one.at_least) || read_once(readings);
    account
}

/// Whether a machine was read a single time, so that what it gave is in no difference.
fn read_once(readings: &[Reading]) -> bool {
    let of = |machine: &str| readings.iter().filter(|reading| reading.machine == machine).count();
    readings.iter().any(|reading| of(&reading.machine) == 1)
}

impl Account {
    fn go_on(&mut self, at: usize, before: &Reading, reading: &Reading) {
        let (earlier, later) = (before.figures(), reading.figures());
        let mut figures = Figures {
            kerma_area_product: earlier.kerma_area_product.zip(later.kerma_area_product).map(|(a, b)| b - a),
            reference_air_kerma: earlier.reference_air_kerma.zip(later.reference_air_kerma).map(|(a, b)| b - a),
            fluoroscopy_time: earlier.fluoroscopy_time.zip(later.fluoroscopy_time).map(|(a, b)| b - a),
            shots: earlier.shots.zip(later.shots).and_then(|(a, b)| b.checked_sub(a)),
        };
        let mut at_least = false;
        match change(&earlier, &later) {
            Change::Grew => self.judge(at, &mut figures, &earlier, reading),
            Change::AllFell => {
                self.findings.push(Finding::Reset { reading: at });
                (figures, at_least) = (later, true);
            }
            Change::Mixed => {
                self.findings.push(mixed(at, &earlier, reading, &figures));
                forget_fallen(&mut figures);
            }
        }
        let (machine, from, to) = (reading.machine.clone(), Some(before.moment), reading.moment);
        self.differences.push(Difference { machine, from, to, figures, at_least });
    }

    /// A total that grew too fast may stand in another unit than it says.
    fn judge(&mut self, at: usize, figures: &mut Figures, earlier: &Figures, reading: &Reading) {
        for why in plausible::implausible(figures) {
            let other = match why {
                Implausible::Rate { .. } => other_unit(at, earlier, reading, figures),
                _ => None,
            };
            let confirmed = reading.confirmed;
            self.findings.push(other.unwrap_or(Finding::ImplausibleSince { reading: at, why, confirmed }));
        }
    }
}

fn hardly_ever(why: &[Implausible]) -> bool {
    why.iter().any(|why| matches!(why, Implausible::Rate { hardly_ever: true, .. }))
}

/// How a machine's totals changed.
enum Change {
    Grew,
    AllFell,
    Mixed,
}

fn change(earlier: &Figures, later: &Figures) -> Change {
    let area = earlier.kerma_area_product.zip(later.kerma_area_product).map(|(a, b)| b.0 - a.0);
    let kerma = earlier.reference_air_kerma.zip(later.reference_air_kerma).map(|(a, b)| b.0 - a.0);
    let time = earlier.fluoroscopy_time.zip(later.fluoroscopy_time).map(|(a, b)| b.0 - a.0);
    let shots = earlier.shots.zip(later.shots).map(|(a, b)| f64::from(b) - f64::from(a));
    let changes: Vec<f64> = [area, kerma, time, shots].into_iter().flatten().collect();
    let fell = changes.iter().filter(|by| **by < 0.0).count();
    match (fell, changes.iter().any(|by| *by > 0.0)) {
        (0, _) => Change::Grew,
        // What stood at zero cannot fall, so a figure that did not move does not speak against a reset.
        (_, false) => Change::AllFell,
        _ => Change::Mixed,
    }
}

fn mixed(at: usize, earlier: &Figures, reading: &Reading, figures: &Figures) -> Finding {
    other_unit(at, earlier, reading, figures).unwrap_or(Finding::Contradiction { reading: at })
}

fn other_unit(at: usize, earlier: &Figures, reading: &Reading, since: &Figures) -> Option<Finding> {
    let shown = reading.kerma_area_product?;
    let before = earlier.kerma_area_product.unwrap_or(GrayCm2(0.0));
    let mut would_fit = plausible::units_that_fit(shown.value, before, since.fluoroscopy_time);
    would_fit.retain(|unit| *unit != shown.unit);
    (!would_fit.is_empty()).then_some(Finding::OtherUnit { reading: at, shown: shown.unit, would_fit })
}

/// A difference below zero is not one.
fn forget_fallen(figures: &mut Figures) {
    figures.kerma_area_product = figures.kerma_area_product.filter(|by| by.0 >= 0.0);
    figures.reference_air_kerma = figures.reference_air_kerma.filter(|by| by.0 >= 0.0);
    figures.fluoroscopy_time = figures.fluoroscopy_time.filter(|by| by.0 >= 0.0);
}
