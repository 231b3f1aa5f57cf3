//! Which cases are looked at, and what they are grouped by.
//!
//! A filter names exactly one stream, so that live, rehearsal, stopped and void cases cannot mix.

use super::cache::Cache;
use super::row::Month;
use crate::case::{CaseKind, Outcome};
use crate::plan::SacrumShape;
use std::fmt;

/// How a case ended, as far as cases may be compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ending {
    Finished,
    /// Cancelled, abandoned or converted.
    Stopped,
    /// Opened in error.
    Void,
}

/// What never mixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Stream {
    pub kind: CaseKind,
    pub ending: Ending,
}

impl Stream {
    /// Live cases that were finished.
    pub const LIVE: Self = Self { kind: CaseKind::Live, ending: Ending::Finished };
    /// Rehearsals that were finished.
    pub const REHEARSAL: Self = Self { kind: CaseKind::Rehearsal, ending: Ending::Finished };
    /// Live cases that were cancelled, abandoned or converted.
    pub const STOPPED: Self = Self { kind: CaseKind::Live, ending: Ending::Stopped };
    /// Every stream, in the order a summary lists them.
    pub const ALL: [Self; 6] = [
        Self::LIVE,
        Self::STOPPED,
        Self { kind: CaseKind::Live, ending: Ending::Void },
        Self::REHEARSAL,
        Self { kind: CaseKind::Rehearsal, ending: Ending::Stopped },
        Self { kind: CaseKind::Rehearsal, ending: Ending::Void },
    ];

    pub(super) fn of(kind: CaseKind, outcome: Outcome) -> Self {
        let ending = match outcome {
            Outcome::Finished => Ending::Finished,
            Outcome::Cancelled | Outcome::Abandoned | Outcome::Converted => Ending::Stopped,
            Outcome::Void => Ending::Void,
        };
        Self { kind, ending }
    }
}

impl Stream {
    /// "1 stopped case", "2 stopped cases".
    #[must_use]
    pub fn counted(self, n: usize) -> String {
        let words = self.to_string();
        if n == 1 { format!("1 {}", words.trim_end_matches('s')) } else { format!("{n} {words}") }
    }
}

impl fmt::Display for Stream {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match (self.kind, self.ending) {
            (CaseKind::Live, Ending::Finished) => "live cases",
            (CaseKind::Live, Ending::Stopped) => "stopped cases",
            (CaseKind::Live, Ending::Void) => "void cases",
            (CaseKind::Rehearsal, Ending::Finished) => "rehearsals",
            (CaseKind::Rehearsal, Ending::Stopped) => "stopped rehearsals",
            (CaseKind::Rehearsal, Ending::Void) => "void rehearsals",
        })
    }
}

/// Patient size by weight; dose is never pooled over it. The bounds: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SizeBand {
    NotDisclosed,
    Below60,
    From60To80,
    From80To100,
    From100,
}

impl SizeBand {
    pub(super) fn of(weight_kg: Option<f64>) -> Self {
        match weight_kg {
            Some(kg) if kg < 60.0 => Self::Below60,
            Some(kg) if kg < 80.0 => Self::From60To80,
            Some(kg) if kg < 100.0 => Self::From80To100,
            Some(_) => Self::From100,
            None => Self::NotDisclosed,
        }
    }

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::NotDisclosed => NOT_DISCLOSED,
            Self::Below60 => "below 60 kg",
            Self::From60To80 => "60 to 80 kg",
            Self::From80To100 => "80 to 100 kg",
            Self::From100 => "100 kg and more",
        }
    }
}

/// Operated sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sides {
    Left,
    Right,
    Both,
}

impl Sides {
    pub(super) fn of(left: bool, right: bool) -> Self {
        match (left, right) {
            (true, true) => Self::Both,
            (_, true) => Self::Right,
            _ => Self::Left,
        }
    }

    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Both => "both",
        }
    }
}

/// What a withheld claim is called.
pub(super) const NOT_DISCLOSED: &str = "not disclosed";

/// What figures are broken down by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    All,
    Pathway,
    Site,
    Machine,
    Size,
    Implants,
    Side,
    Sacrum,
    Team,
    Outcome,
    Period,
}

impl Group {
    /// Every one, in the order a summary lists them.
    pub const ALL: [Self; 11] = [
        Self::All,
        Self::Pathway,
        Self::Site,
        Self::Machine,
        Self::Size,
        Self::Implants,
        Self::Side,
        Self::Sacrum,
        Self::Team,
        Self::Outcome,
        Self::Period,
    ];

    /// The word for it on the command line and in exports.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Pathway => "pathway",
            Self::Site => "site",
            Self::Machine => "machine",
            Self::Size => "size",
            Self::Implants => "implants",
            Self::Side => "side",
            Self::Sacrum => "sacrum",
            Self::Team => "team",
            Self::Outcome => "outcome",
            Self::Period => "period",
        }
    }

    /// A number that two cases share if they stand in one group, and that sorts the groups.
    pub(super) fn code(self, cache: &Cache, case: usize) -> i64 {
        match self {
            Self::All => 0,
            Self::Pathway => i64::from(cache.pathway[case]),
            Self::Site => i64::from(cache.site[case]),
            Self::Machine => i64::from(cache.machine[case]),
            Self::Size => cache.size[case] as i64,
            Self::Implants => i64::from(cache.implants[case]),
            Self::Side => cache.sides[case] as i64,
            Self::Sacrum => cache.sacrum[case] as i64,
            Self::Team => i64::from(cache.team[case]),
            Self::Outcome => cache.outcome[case] as i64,
            Self::Period => cache.month[case].map_or(-1, |at| i64::from(at.year) * 12 + i64::from(at.month) - 1),
        }
    }

    /// What a reader calls the group that the case stands in.
    pub(super) fn label(self, cache: &Cache, case: usize) -> String {
        let known = |text: &str| if text.is_empty() { NOT_DISCLOSED.to_owned() } else { text.to_owned() };
        match self {
            Self::All => "all".to_owned(),
            Self::Pathway => cache.pathways.name(cache.pathway[case]).to_owned(),
            Self::Site => known(cache.sites.name(cache.site[case])),
            Self::Machine => known(cache.machines.name(cache.machine[case])),
            Self::Size => cache.size[case].word().to_owned(),
            Self::Implants => cache.implants[case].to_string(),
            Self::Side => cache.sides[case].word().to_owned(),
            Self::Sacrum => sacrum(cache.sacrum[case]).to_owned(),
            Self::Team => format!("team {}", cache.team[case]),
            Self::Outcome => outcome(cache.outcome[case]).to_owned(),
            Self::Period => cache.month[case]
                .map_or_else(|| NOT_DISCLOSED.to_owned(), |at| format!("{:04}-{:02}", at.year, at.month)),
        }
    }
}

/// The word for a shape.
pub(super) fn sacrum(shape: SacrumShape) -> &'static str {
    match shape {
        SacrumShape::Normal => "normal",
        SacrumShape::Dysmorphic => "dysmorphic",
        SacrumShape::NotJudged => "not judged",
    }
}

/// The word for an outcome, that of the record's own format.
#[must_use]
pub fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Finished => "finished",
        Outcome::Cancelled => "cancelled",
        Outcome::Abandoned => "abandoned",
        Outcome::Converted => "converted",
        Outcome::Void => "void",
    }
}

/// Which cases are looked at: one stream, and all that is named besides.
#[derive(Debug, Clone, PartialEq)]
pub struct Filter {
    pub stream: Stream,
    pub pathway: Option<String>,
    pub site: Option<String>,
    pub machine: Option<String>,
    /// Thumbprint.
    pub surgeon: Option<String>,
    pub from: Option<Month>,
    pub to: Option<Month>,
}

impl Filter {
    /// Everything of one stream.
    #[must_use]
    pub fn of(stream: Stream) -> Self {
        Self { stream, pathway: None, site: None, machine: None, surgeon: None, from: None, to: None }
    }

    /// The cases, in the order of the cache.
    #[must_use]
    pub fn cases(&self, cache: &Cache) -> Vec<usize> {
        let wanted = [
            (&self.pathway, &cache.pathways, &cache.pathway),
            (&self.site, &cache.sites, &cache.site),
            (&self.machine, &cache.machines, &cache.machine),
            (&self.surgeon, &cache.people, &cache.surgeon),
        ];
        let mut codes = Vec::new();
        for (name, names, column) in wanted {
            let Some(name) = name else { continue };
            let Some(code) = names.find(name) else { return Vec::new() };
            codes.push((code, column));
        }
        let within = |case: &usize| {
            let (from, to) = (self.from, self.to);
            let month = cache.month[*case];
            from.is_none_or(|from| month.is_some_and(|at| at >= from))
                && to.is_none_or(|to| month.is_some_and(|at| at <= to))
        };
        let fits = |case: &usize| {
            cache.stream[*case] == self.stream && codes.iter().all(|(code, column)| column[*case] == *code)
        };
        (0..cache.len()).filter(fits).filter(within).collect()
    }

    /// The cases whose time is known, in the order they were opened.
    #[must_use]
    pub fn in_order(&self, cache: &Cache) -> Vec<usize> {
        let mut dated: Vec<(i64, usize)> =
            self.cases(cache).into_iter().filter_map(|case| Some((cache.opened_ms[case]?, case))).collect();
        dated.sort_unstable();
        dated.into_iter().map(|(_, case)| case).collect()
    }
}

impl Cache {
    /// The first name of a filter that no case carries, with what it names.
    #[must_use]
    pub fn unknown(&self, filter: &Filter) -> Option<(&'static str, String)> {
        let named = [
            ("pathway", &filter.pathway, &self.pathways),
            ("site", &filter.site, &self.sites),
            ("machine", &filter.machine, &self.machines),
            ("surgeon", &filter.surgeon, &self.people),
        ];
        let missing = |(what, name, names): (&'static str, &Option<String>, &super::names::Names)| {
            name.as_ref().filter(|name| names.find(name).is_none()).map(|name| (what, name.clone()))
        };
        named.into_iter().find_map(missing)
    }
}
