//! The columnar cache: a struct of arrays, from which every figure and chart is computed.
//!
//! It only grows. It knows no duplicates: the index keeps one row per payload digest.

use super::names::{Code, Names};
use super::row::{Marks, Month, Row};
use super::select::{Sides, SizeBand, Stream, team_name};
use crate::case::Outcome;
use crate::plan::SacrumShape;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock};

/// An age that is not known.
pub(super) const NO_AGE: u8 = u8::MAX;

/// Many cases. Every array of the first part has one element per case; places and checks of case `i` stand between
/// the offsets `i` and `i + 1`.
#[derive(Debug, Clone)]
pub struct Cache {
    pub(super) digests: Vec<Box<str>>,
    /// What a reader calls each case.
    pub(super) named: Vec<Arc<str>>,
    /// The cases whose time is known, in the order they were opened; made when it is first asked for.
    in_order: OnceLock<Vec<u32>>,
    pub(super) stream: Vec<Stream>,
    pub(super) outcome: Vec<Outcome>,
    pub(super) pathway: Vec<Code>,
    pub(super) site: Vec<Code>,
    pub(super) machine: Vec<Code>,
    pub(super) surgeon: Vec<Code>,
    pub(super) team: Vec<Code>,
    pub(super) size: Vec<SizeBand>,
    pub(super) age: Vec<u8>,
    pub(super) implants: Vec<u8>,
    pub(super) sides: Vec<Sides>,
    pub(super) sacrum: Vec<SacrumShape>,
    pub(super) opened_ms: Vec<Option<i64>>,
    pub(super) month: Vec<Option<Month>>,
    pub(super) shots: Vec<u32>,
    /// Seconds; not a number where unknown, as the three below.
    pub(super) operation_s: Vec<f64>,
    pub(super) product: Vec<f64>,
    pub(super) kerma: Vec<f64>,
    pub(super) fluoroscopy_s: Vec<f64>,
    pub(super) nerve_findings: Vec<u8>,
    pub(super) place_from: Vec<u32>,
    pub(super) check_from: Vec<u32>,
    pub(super) place_step: Vec<u16>,
    pub(super) place_shots: Vec<u32>,
    pub(super) place_stay_s: Vec<u32>,
    pub(super) place_overridden: Vec<u8>,
    pub(super) check_name: Vec<u16>,
    /// The step of the check's place.
    pub(super) check_step: Vec<u16>,
    pub(super) check_marks: Vec<Marks>,
    pub(super) check_rejected: Vec<u8>,
    pub(super) check_shots: Vec<u16>,
    pub(super) cost_from: Vec<u32>,
    pub(super) cost_step: Vec<u16>,
    /// 0 where no view was being looked for.
    pub(super) cost_view: Vec<u16>,
    pub(super) cost_events: Vec<u32>,
    /// Not a number where unknown, as the one below.
    pub(super) cost_product: Vec<f64>,
    pub(super) cost_kerma: Vec<f64>,
    pub(super) views: Names,
    pub(super) pathways: Names,
    pub(super) sites: Names,
    pub(super) machines: Names,
    pub(super) people: Names,
    pub(super) teams: Names,
    /// The thumbprints behind each team's name.
    members: HashMap<Box<str>, Code>,
    pub(super) steps: Names,
    pub(super) checks: Names,
}

impl Default for Cache {
    fn default() -> Self {
        Self {
            digests: Vec::new(),
            named: Vec::new(),
            in_order: OnceLock::new(),
            stream: Vec::new(),
            outcome: Vec::new(),
            pathway: Vec::new(),
            site: Vec::new(),
            machine: Vec::new(),
            surgeon: Vec::new(),
            team: Vec::new(),
            size: Vec::new(),
            age: Vec::new(),
            implants: Vec::new(),
            sides: Vec::new(),
            sacrum: Vec::new(),
            opened_ms: Vec::new(),
            month: Vec::new(),
            shots: Vec::new(),
            operation_s: Vec::new(),
            product: Vec::new(),
            kerma: Vec::new(),
            fluoroscopy_s: Vec::new(),
            nerve_findings: Vec::new(),
            place_from: vec![0],
            check_from: vec![0],
            place_step: Vec::new(),
            place_shots: Vec::new(),
            place_stay_s: Vec::new(),
            place_overridden: Vec::new(),
            check_name: Vec::new(),
            check_step: Vec::new(),
            check_marks: Vec::new(),
            check_rejected: Vec::new(),
            check_shots: Vec::new(),
            cost_from: vec![0],
            cost_step: Vec::new(),
            cost_view: Vec::new(),
            cost_events: Vec::new(),
            cost_product: Vec::new(),
            cost_kerma: Vec::new(),
            views: Names::default(),
            pathways: Names::default(),
            sites: Names::default(),
            machines: Names::default(),
            people: Names::default(),
            teams: Names::default(),
            members: HashMap::new(),
            steps: Names::default(),
            checks: Names::default(),
        }
    }
}

impl Cache {
    /// A cache of these rows.
    #[must_use]
    pub fn of<'a>(rows: impl IntoIterator<Item = &'a Row>) -> Self {
        let mut cache = Self::default();
        rows.into_iter().for_each(|row| cache.push(row));
        cache
    }

    /// Adds a case.
    pub fn push(&mut self, row: &Row) {
        self.in_order.take();
        self.digests.push(row.digest.as_str().into());
        let begin = row.digest.get(..8).unwrap_or(&row.digest);
        self.named.push(row.label.as_deref().filter(|label| !label.is_empty()).unwrap_or(begin).into());
        self.stream.push(Stream::of(row.kind, row.outcome));
        self.outcome.push(row.outcome);
        self.pathway.push(self.pathways.titled(&row.pathway, ""));
        self.site.push(self.sites.code(row.site.as_deref()));
        self.machine.push(self.machines.code(row.machine.as_deref()));
        self.surgeon.push(self.people.code(row.surgeon.as_deref()));
        self.push_team(&row.team);
        self.size.push(SizeBand::of(row.weight_kg));
        self.age.push(row.age.unwrap_or(NO_AGE));
        self.implants.push(row.implants);
        self.sides.push(Sides::of(row.left, row.right));
        self.sacrum.push(row.sacrum);
        self.opened_ms.push(row.opened_ms);
        self.month.push(row.month);
        self.shots.push(row.shots);
        self.operation_s.push(row.operation_ms.map_or(f64::NAN, seconds));
        self.product.push(row.dose.kerma_area_product_gy_cm2.unwrap_or(f64::NAN));
        self.kerma.push(row.dose.reference_air_kerma_mgy.unwrap_or(f64::NAN));
        self.fluoroscopy_s.push(row.dose.fluoroscopy_s.unwrap_or(f64::NAN));
        self.nerve_findings.push(row.nerve_findings);
        self.push_places(row);
        self.push_checks(row);
        self.push_costs(row);
    }

    /// Teams repeat: their names are made once.
    fn push_team(&mut self, members: &str) {
        let known = self.members.get(members).copied();
        let code = known.unwrap_or_else(|| self.teams.titled(&team_name(members), ""));
        if known.is_none() {
            self.members.insert(members.into(), code);
        }
        self.team.push(code);
    }

    fn push_places(&mut self, row: &Row) {
        for place in &row.places {
            self.place_step.push(small(self.steps.titled(&place.step, &place.title)));
            self.place_shots.push(place.shots);
            self.place_stay_s.push(u32::try_from(place.stay_ms / 1_000).unwrap_or(u32::MAX));
            self.place_overridden.push(place.overridden);
        }
        self.place_from.push(offset(self.place_step.len()));
    }

    fn push_checks(&mut self, row: &Row) {
        let first = self.place_from[self.place_from.len() - 2] as usize;
        for check in &row.checks {
            self.check_name.push(small(self.checks.titled(&check.id, &check.text)));
            self.check_step.push(self.place_step[first + usize::from(check.place)]);
            self.check_marks.push(check.marks);
            self.check_rejected.push(check.rejected);
            self.check_shots.push(u16::try_from(check.shots).unwrap_or(u16::MAX));
        }
        self.check_from.push(offset(self.check_name.len()));
    }

    fn push_costs(&mut self, row: &Row) {
        let first = self.place_from[self.place_from.len() - 2] as usize;
        for cost in &row.costs {
            self.cost_step.push(self.place_step[first + usize::from(cost.place)]);
            self.cost_view.push(small(self.views.code(cost.view.as_deref())));
            self.cost_events.push(cost.events);
            self.cost_product.push(cost.kerma_area_product_gy_cm2.unwrap_or(f64::NAN));
            self.cost_kerma.push(cost.air_kerma_mgy.unwrap_or(f64::NAN));
        }
        self.cost_from.push(offset(self.cost_step.len()));
    }

    /// How many cases there are, of every kind.
    #[must_use]
    pub fn len(&self) -> usize {
        self.digests.len()
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.digests.is_empty()
    }

    /// What a reader calls the case: its label where disclosed, else the first eight digits of its digest.
    #[must_use]
    pub fn name(&self, case: usize) -> &str {
        &self.named[case]
    }

    /// The same, to be shared.
    pub(super) fn named(&self, case: usize) -> &Arc<str> {
        &self.named[case]
    }

    /// What a reader calls the case of that digest, if it is there.
    #[must_use]
    pub fn name_of(&self, digest: &str) -> Option<&str> {
        self.digests.iter().position(|known| known.as_ref() == digest).map(|case| self.name(case))
    }

    /// The cases whose time is known, of every stream, in the order they were opened; of one time in the order of the
    /// cache.
    pub(super) fn in_order(&self) -> &[u32] {
        self.in_order.get_or_init(|| {
            let dated = (0..).zip(&self.opened_ms).filter_map(|(case, at)| Some(((*at)?, case)));
            let mut dated: Vec<(i64, u32)> = dated.collect();
            dated.sort_unstable();
            dated.into_iter().map(|(_, case)| case).collect()
        })
    }

    pub(super) fn places(&self, case: usize) -> std::ops::Range<usize> {
        self.place_from[case] as usize..self.place_from[case + 1] as usize
    }

    pub(super) fn costs_of(&self, case: usize) -> std::ops::Range<usize> {
        self.cost_from[case] as usize..self.cost_from[case + 1] as usize
    }

    pub(super) fn checks_of(&self, case: usize) -> std::ops::Range<usize> {
        self.check_from[case] as usize..self.check_from[case + 1] as usize
    }
}

#[allow(clippy::cast_precision_loss, reason = "a case lasts far less than 2^52 ms")]
fn seconds(ms: u64) -> f64 {
    ms as f64 / 1_000.0
}

/// Steps and checks are few; whatever comes beyond shares the last code.
fn small(code: Code) -> u16 {
    u16::try_from(code).unwrap_or(u16::MAX)
}

fn offset(length: usize) -> u32 {
    u32::try_from(length).expect("a store holds fewer than 2^32 checks")
}

impl Cache {
    /// The columns as CSV, codes in place of names: cases, places and checks, for another engine to compute on.
    #[must_use]
    pub fn columns_as_csv(&self) -> Vec<(&'static str, String)> {
        use std::fmt::Write;
        const FITS: &str = "a string takes everything";
        let mut cases =
            "case,live,pathway,site,machine,size,implants,sides,sacrum,team,month,shots,operation_min,product\n"
                .to_owned();
        let mut places = "case,step,shots,stay_s,overridden\n".to_owned();
        let mut checks = "case,step,name,marks,rejected,shots\n".to_owned();
        for case in 0..self.len() {
            let number = |value: f64| if value.is_nan() { String::new() } else { value.to_string() };
            let month = self.month[case].map_or(-1, |at| at.year * 12 + i32::from(at.month) - 1);
            let codes = [self.pathway[case], self.site[case], self.machine[case], self.size[case] as u32];
            let more =
                [u32::from(self.implants[case]), self.sides[case] as u32, self.sacrum[case] as u32, self.team[case]];
            let all = codes.into_iter().chain(more).map(|code| code.to_string()).collect::<Vec<_>>().join(",");
            let live = u8::from(self.stream[case] == Stream::LIVE);
            let (minutes, product) = (number(self.operation_s[case] / 60.0), number(self.product[case]));
            writeln!(cases, "{case},{live},{all},{month},{},{minutes},{product}", self.shots[case]).expect(FITS);
            for at in self.places(case) {
                let (step, shots) = (self.place_step[at], self.place_shots[at]);
                writeln!(places, "{case},{step},{shots},{},{}", self.place_stay_s[at], self.place_overridden[at])
                    .expect(FITS);
            }
            for at in self.checks_of(case) {
                let (step, name, marks) = (self.check_step[at], self.check_name[at], self.check_marks[at].0);
                writeln!(checks, "{case},{step},{name},{marks},{},{}", self.check_rejected[at], self.check_shots[at])
                    .expect(FITS);
            }
        }
        vec![("cases.csv", cases), ("places.csv", places), ("checks.csv", checks)]
    }
}
