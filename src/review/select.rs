//! Which cases are looked at, and what they are grouped by.
//!
//! A filter names exactly one stream, so that live, rehearsal, stopped and void cases cannot mix.

use super::cache::Cache;
use super::row::Month;
use crate::case::{CaseKind, Outcome};
use crate::plan::SacrumShape;
use sha2::{Digest, Sha256};
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
    /// Every one, the lightest first.
    pub const ALL: [Self; 5] = [Self::Below60, Self::From60To80, Self::From80To100, Self::From100, Self::NotDisclosed];

    pub(super) fn of(weight_kg: Option<f64>) -> Self {
        match weight_kg {
            Some(kg) if kg < 60.0 => Self::Below60,
            Some(kg) if kg < 80.0 => Self::From60To80,
            Some(kg) if kg < 100.0 => Self::From80To100,
            Some(_) => Self::From100,
            None => Self::NotDisclosed,
        }
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
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
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Left, Self::Right, Self::Both];

    pub(super) fn of(left: bool, right: bool) -> Self {
        match (left, right) {
            (true, true) => Self::Both,
            (_, true) => Self::Right,
            _ => Self::Left,
        }
    }

    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
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
            Self::Team => cache.teams.name(cache.team[case]).to_owned(),
            Self::Outcome => outcome(cache.outcome[case]).to_owned(),
            Self::Period => cache.month[case]
                .map_or_else(|| NOT_DISCLOSED.to_owned(), |at| format!("{:04}-{:02}", at.year, at.month)),
        }
    }
}

/// What a team is called: by its members' thumbprints together, the same in every index, and no name of anybody.
pub(super) fn team_name(members: &str) -> String {
    let digest = Sha256::digest(members.as_bytes());
    format!("team {:02x}{:02x}{:02x}", digest[0], digest[1], digest[2])
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
    /// As [`team_name`] has it.
    pub team: Option<String>,
    pub outcome: Option<Outcome>,
    pub size: Option<SizeBand>,
    pub sides: Option<Sides>,
    pub sacrum: Option<SacrumShape>,
    pub implants: Option<u8>,
    pub from: Option<Month>,
    pub to: Option<Month>,
}

impl Filter {
    /// Everything of one stream.
    #[must_use]
    pub fn of(stream: Stream) -> Self {
        Self {
            stream,
            pathway: None,
            site: None,
            machine: None,
            surgeon: None,
            team: None,
            outcome: None,
            size: None,
            sides: None,
            sacrum: None,
            implants: None,
            from: None,
            to: None,
        }
    }

    /// The cases, in the order of the cache.
    #[must_use]
    pub fn cases(&self, cache: &Cache) -> Vec<usize> {
        self.among(cache, 0..cache.len())
    }

    /// The cases whose time is known, in the order they were opened.
    #[must_use]
    pub fn in_order(&self, cache: &Cache) -> Vec<usize> {
        self.among(cache, cache.in_order().iter().map(|case| *case as usize))
    }

    fn among(&self, cache: &Cache, all: impl Iterator<Item = usize>) -> Vec<usize> {
        let wanted = [
            (&self.pathway, &cache.pathways, &cache.pathway),
            (&self.site, &cache.sites, &cache.site),
            (&self.machine, &cache.machines, &cache.machine),
            (&self.surgeon, &cache.people, &cache.surgeon),
            (&self.team, &cache.teams, &cache.team),
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
        let alike = |case: &usize| {
            self.size.is_none_or(|size| cache.size[*case] == size)
                && self.sides.is_none_or(|sides| cache.sides[*case] == sides)
                && self.sacrum.is_none_or(|shape| cache.sacrum[*case] == shape)
                && self.implants.is_none_or(|implants| cache.implants[*case] == implants)
                && self.outcome.is_none_or(|outcome| cache.outcome[*case] == outcome)
        };
        all.filter(fits).filter(alike).filter(within).collect()
    }

    /// The same narrowings over another stream; an outcome that the stream does not have is no narrowing of it.
    #[must_use]
    pub fn in_stream(&self, stream: Stream) -> Self {
        let outcome = self.outcome.filter(|outcome| Stream::of(stream.kind, *outcome) == stream);
        Self { stream, outcome, ..self.clone() }
    }

    /// Whether the cases are one person's or one team's: then nothing is counted that could be held against them.
    #[must_use]
    pub fn is_of_somebody(&self) -> bool {
        self.surgeon.is_some() || self.team.is_some()
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
            ("team", &filter.team, &self.teams),
        ];
        let missing = |(what, name, names): (&'static str, &Option<String>, &super::names::Names)| {
            name.as_ref().filter(|name| names.find(name).is_none()).map(|name| (what, name.clone()))
        };
        named.into_iter().find_map(missing)
    }
}
