//! What a filter is narrowed by: the values there are, each with its cases, and the filter that holds one of them.
//!
//! A value is named by the word a reader sees, on the command line as on a screen. What it does not do: no narrowing
//! by what was passed over; and where the cases are one person's or one team's, nothing of that is counted and no signal
//! is raised ([`Filter::is_of_somebody`]).

use super::cache::Cache;
use super::row::Month;
use super::row_bytes::OUTCOMES;
use super::select::{Filter, Group, Sides, SizeBand, outcome, sacrum};
use crate::plan::SacrumShape;
use std::collections::BTreeMap;

/// One thing that cases differ in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Narrow {
    Pathway,
    Site,
    Machine,
    Size,
    Side,
    Sacrum,
    Implants,
    Surgeon,
    Team,
    Outcome,
    /// The first month.
    From,
    /// The last month.
    To,
}

const SHAPES: [SacrumShape; 3] = [SacrumShape::Normal, SacrumShape::Dysmorphic, SacrumShape::NotJudged];

impl Narrow {
    /// Every one, in the order a screen lists them.
    pub const ALL: [Self; 12] = [
        Self::Pathway,
        Self::Site,
        Self::Machine,
        Self::Size,
        Self::Side,
        Self::Sacrum,
        Self::Implants,
        Self::Surgeon,
        Self::From,
        Self::To,
        Self::Team,
        Self::Outcome,
    ];

    fn group(self) -> Option<Group> {
        match self {
            Self::Pathway => Some(Group::Pathway),
            Self::Site => Some(Group::Site),
            Self::Machine => Some(Group::Machine),
            Self::Size => Some(Group::Size),
            Self::Side => Some(Group::Side),
            Self::Sacrum => Some(Group::Sacrum),
            Self::Implants => Some(Group::Implants),
            Self::Team => Some(Group::Team),
            Self::Outcome => Some(Group::Outcome),
            Self::From | Self::To => Some(Group::Period),
            Self::Surgeon => None,
        }
    }

    /// The word for a case, and a number that sorts it; nothing where it is not known.
    fn of(self, cache: &Cache, case: usize) -> Option<(i64, String)> {
        let known = match self {
            Self::Site => cache.site[case] != 0,
            Self::Machine => cache.machine[case] != 0,
            Self::Surgeon => cache.surgeon[case] != 0,
            Self::From | Self::To => cache.month[case].is_some(),
            _ => true,
        };
        let label = || match self.group() {
            Some(group) => (group.code(cache, case), group.label(cache, case)),
            None => (i64::from(cache.surgeon[case]), cache.people.name(cache.surgeon[case]).to_owned()),
        };
        known.then(label)
    }
}

impl Filter {
    /// The word it is narrowed to, if it is.
    #[must_use]
    pub fn value(&self, by: Narrow) -> Option<String> {
        match by {
            Narrow::Pathway => self.pathway.clone(),
            Narrow::Site => self.site.clone(),
            Narrow::Machine => self.machine.clone(),
            Narrow::Surgeon => self.surgeon.clone(),
            Narrow::Team => self.team.clone(),
            Narrow::Outcome => self.outcome.map(|ended| outcome(ended).to_owned()),
            Narrow::Size => self.size.map(|size| size.word().to_owned()),
            Narrow::Side => self.sides.map(|sides| sides.word().to_owned()),
            Narrow::Sacrum => self.sacrum.map(|shape| sacrum(shape).to_owned()),
            Narrow::Implants => self.implants.map(|implants| implants.to_string()),
            Narrow::From => self.from.map(|month| month.to_string()),
            Narrow::To => self.to.map(|month| month.to_string()),
        }
    }

    /// The filter narrowed to that word, or with nothing not narrowed; `None` if no value is called so.
    #[must_use]
    pub fn narrowed(&self, by: Narrow, word: Option<&str>) -> Option<Self> {
        self.with(by, word).ok()
    }

    fn with(&self, by: Narrow, word: Option<&str>) -> Result<Self, NoValue> {
        let mut next = self.clone();
        let name = word.map(str::to_owned);
        match by {
            Narrow::Pathway => next.pathway = name,
            Narrow::Site => next.site = name,
            Narrow::Machine => next.machine = name,
            Narrow::Surgeon => next.surgeon = name,
            Narrow::Team => next.team = name,
            Narrow::Outcome => {
                next.outcome = parsed(word, |word| OUTCOMES.into_iter().find(|one| outcome(*one) == word))?;
            }
            Narrow::Size => next.size = parsed(word, |word| SizeBand::ALL.into_iter().find(|one| one.word() == word))?,
            Narrow::Side => next.sides = parsed(word, |word| Sides::ALL.into_iter().find(|one| one.word() == word))?,
            Narrow::Sacrum => next.sacrum = parsed(word, |word| SHAPES.into_iter().find(|one| sacrum(*one) == word))?,
            Narrow::Implants => next.implants = parsed(word, |word| word.parse().ok())?,
            Narrow::From => next.from = parsed(word, Month::of_word)?,
            Narrow::To => next.to = parsed(word, Month::of_word)?,
        }
        Ok(next)
    }
}

/// A word that names no value.
struct NoValue;

/// Nothing without a word, else its value.
fn parsed<T>(word: Option<&str>, of: impl Fn(&str) -> Option<T>) -> Result<Option<T>, NoValue> {
    word.map(|word| of(word).ok_or(NoValue)).transpose()
}

impl Month {
    /// A month as 2031-03.
    #[must_use]
    pub fn of_word(text: &str) -> Option<Self> {
        let (year, month) = text.split_once('-').filter(|(year, month)| year.len() == 4 && month.len() == 2)?;
        let (year, month) = (year.parse().ok()?, month.parse().ok()?);
        (1..=12).contains(&month).then_some(Self { year, month })
    }
}

impl Cache {
    /// The values among the cases that the filter holds without this narrowing, in order, each with its cases.
    #[must_use]
    pub fn choices(&self, filter: &Filter, by: Narrow) -> Vec<(String, usize)> {
        let Some(wider) = filter.narrowed(by, None) else { return Vec::new() };
        let mut values: BTreeMap<(i64, String), usize> = BTreeMap::new();
        for value in wider.cases(self).into_iter().filter_map(|case| by.of(self, case)) {
            *values.entry(value).or_default() += 1;
        }
        values.into_iter().map(|((_, word), cases)| (word, cases)).collect()
    }
}
