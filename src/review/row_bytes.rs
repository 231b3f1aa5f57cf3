//! A row as bytes, for an index to keep: a version, then its members in a fixed order.
//!
//! Derived data that can be made again from the record, so a newer version is simply not read and the index rebuilt.
//! Integers are LEB128, texts carry their length, numbers with a fraction stand as eight bytes little-endian.

use super::row::{CheckRow, CostRow, Dose, Marks, Month, PlaceRow, Row};
use crate::case::{CaseKind, Outcome};
use crate::plan::SacrumShape;
use crate::units::Side;
use thiserror::Error;

/// The version written.
const VERSION: u8 = 2;
/// The oldest one read: rows of version 1 say nothing of what places cost, until the index is rebuilt.
const OLDEST: u8 = 1;
/// Longest list or text in a row.
const LENGTH_MAX: u64 = 1 << 20;

/// Why bytes are no row.
#[derive(Debug, PartialEq, Eq, Error)]
pub enum RowFault {
    #[error("a row of version {found}, this program reads {OLDEST} to {VERSION}")]
    Version { found: u8 },
    #[error("the bytes end or go wrong at {at}")]
    Damaged { at: usize },
}

impl Row {
    /// The row as bytes.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = Writer(vec![VERSION]);
        out.text(&self.digest);
        out.small(kind_code(self.kind));
        out.small(outcome_code(self.outcome));
        out.text(&self.pathway);
        for text in [&self.label, &self.site, &self.machine, &self.surgeon] {
            out.maybe_text(text.as_deref());
        }
        out.maybe(self.age.map(u64::from));
        out.maybe_number(self.weight_kg);
        out.small(u8::from(self.left) | u8::from(self.right) << 1 | sacrum_code(self.sacrum) << 2);
        out.small(self.implants);
        out.text(&self.team);
        out.maybe(self.opened_ms.map(zigzag));
        out.maybe(self.month.map(|at| zigzag(i64::from(at.year) * 12 + i64::from(at.month) - 1)));
        out.integer(u64::from(self.shots));
        out.maybe(self.operation_ms);
        out.maybe_number(self.dose.kerma_area_product_gy_cm2);
        out.maybe_number(self.dose.reference_air_kerma_mgy);
        out.maybe_number(self.dose.fluoroscopy_s);
        out.small(self.nerve_findings);
        out.small(self.addenda);
        out.integer(self.places.len() as u64);
        self.places.iter().for_each(|place| out.place(place));
        out.integer(self.checks.len() as u64);
        self.checks.iter().for_each(|check| out.check(check));
        out.integer(self.costs.len() as u64);
        self.costs.iter().for_each(|cost| out.cost(cost));
        out.0
    }

    /// The row that an index kept.
    ///
    /// # Errors
    /// [`RowFault`] if the bytes are of another version or damaged.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, RowFault> {
        let mut input = Reader { bytes, at: 0 };
        let version = input.small()?;
        if !(OLDEST..=VERSION).contains(&version) {
            return Err(RowFault::Version { found: version });
        }
        let digest = input.text()?;
        let kind = input.code(|code| KINDS.get(code).copied())?;
        let outcome = input.code(|code| OUTCOMES.get(code).copied())?;
        let pathway = input.text()?;
        let [label, site, machine, surgeon] =
            [input.maybe_text()?, input.maybe_text()?, input.maybe_text()?, input.maybe_text()?];
        let age = input.maybe()?.and_then(|age| u8::try_from(age).ok());
        let weight_kg = input.maybe_number()?;
        let sides = input.small()?;
        let row = Self {
            digest,
            kind,
            outcome,
            pathway,
            label,
            site,
            machine,
            surgeon,
            age,
            weight_kg,
            left: sides & 1 != 0,
            right: sides & 2 != 0,
            sacrum: SHAPES.get(usize::from(sides >> 2)).copied().ok_or(RowFault::Damaged { at: input.at })?,
            implants: input.small()?,
            team: input.text()?,
            opened_ms: input.maybe()?.map(unzigzag),
            month: input.maybe()?.map(unzigzag).map(month),
            shots: input.narrow()?,
            operation_ms: input.maybe()?,
            dose: Dose {
                kerma_area_product_gy_cm2: input.maybe_number()?,
                reference_air_kerma_mgy: input.maybe_number()?,
                fluoroscopy_s: input.maybe_number()?,
            },
            nerve_findings: input.small()?,
            addenda: input.small()?,
            places: input.list(Reader::place)?,
            checks: input.list(Reader::check)?,
            costs: if version == OLDEST { Vec::new() } else { input.list(Reader::cost)? },
        };
        let there = |place: u16| usize::from(place) < row.places.len();
        let fits = row.checks.iter().all(|check| there(check.place)) && row.costs.iter().all(|cost| there(cost.place));
        if input.at == bytes.len() && fits { Ok(row) } else { Err(RowFault::Damaged { at: input.at }) }
    }
}

const KINDS: [CaseKind; 2] = [CaseKind::Live, CaseKind::Rehearsal];
pub(super) const OUTCOMES: [Outcome; 5] =
    [Outcome::Finished, Outcome::Cancelled, Outcome::Abandoned, Outcome::Converted, Outcome::Void];
const SHAPES: [SacrumShape; 3] = [SacrumShape::Normal, SacrumShape::Dysmorphic, SacrumShape::NotJudged];

fn code_of<T: PartialEq>(all: &[T], one: &T) -> u8 {
    let at = all.iter().position(|other| other == one).expect("the list holds every variant");
    u8::try_from(at).expect("a handful of variants")
}

fn kind_code(kind: CaseKind) -> u8 {
    code_of(&KINDS, &kind)
}

fn outcome_code(outcome: Outcome) -> u8 {
    code_of(&OUTCOMES, &outcome)
}

fn sacrum_code(shape: SacrumShape) -> u8 {
    code_of(&SHAPES, &shape)
}

fn zigzag(value: i64) -> u64 {
    (value.cast_unsigned() << 1) ^ (value >> 63).cast_unsigned()
}

fn unzigzag(value: u64) -> i64 {
    (value >> 1).cast_signed() ^ -(value & 1).cast_signed()
}

fn month(months: i64) -> Month {
    let year = i32::try_from(months.div_euclid(12)).unwrap_or(0);
    Month { year, month: u8::try_from(months.rem_euclid(12) + 1).unwrap_or(1) }
}

struct Writer(Vec<u8>);

impl Writer {
    fn small(&mut self, value: u8) {
        self.0.push(value);
    }

    fn integer(&mut self, mut value: u64) {
        while value >= 0x80 {
            self.0.push(value.to_le_bytes()[0] | 0x80);
            value >>= 7;
        }
        self.0.push(value.to_le_bytes()[0]);
    }

    fn text(&mut self, text: &str) {
        self.integer(text.len() as u64);
        self.0.extend_from_slice(text.as_bytes());
    }

    fn maybe_text(&mut self, text: Option<&str>) {
        self.small(u8::from(text.is_some()));
        if let Some(text) = text {
            self.text(text);
        }
    }

    fn maybe(&mut self, value: Option<u64>) {
        self.small(u8::from(value.is_some()));
        if let Some(value) = value {
            self.integer(value);
        }
    }

    fn maybe_number(&mut self, value: Option<f64>) {
        self.small(u8::from(value.is_some()));
        if let Some(value) = value {
            self.0.extend_from_slice(&value.to_le_bytes());
        }
    }

    fn place(&mut self, place: &PlaceRow) {
        self.text(&place.step);
        self.text(&place.title);
        let side = place.side.map_or(0, |side| 1 + u8::from(side == Side::Right));
        self.small(side);
        self.small(place.implant.unwrap_or(0));
        self.integer(u64::from(place.shots));
        self.integer(place.stay_ms);
        self.small(place.overridden);
    }

    fn check(&mut self, check: &CheckRow) {
        self.integer(u64::from(check.place));
        self.text(&check.id);
        self.text(&check.text);
        self.small(check.marks.0);
        self.small(check.rejected);
        self.integer(u64::from(check.shots));
    }

    fn cost(&mut self, cost: &CostRow) {
        self.integer(u64::from(cost.place));
        self.maybe_text(cost.view.as_deref());
        self.integer(u64::from(cost.events));
        self.maybe_number(cost.kerma_area_product_gy_cm2);
        self.maybe_number(cost.air_kerma_mgy);
    }
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

type Read<T> = Result<T, RowFault>;

impl Reader<'_> {
    fn damaged<T>(&self) -> Read<T> {
        Err(RowFault::Damaged { at: self.at })
    }

    fn small(&mut self) -> Read<u8> {
        let Some(byte) = self.bytes.get(self.at) else { return self.damaged() };
        self.at += 1;
        Ok(*byte)
    }

    fn code<T>(&mut self, of: impl Fn(usize) -> Option<T>) -> Read<T> {
        let code = self.small()?;
        of(usize::from(code)).map_or_else(|| self.damaged(), Ok)
    }

    fn integer(&mut self) -> Read<u64> {
        let mut value = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = self.small()?;
            value |= u64::from(byte & 0x7f) << shift;
            if byte < 0x80 {
                return Ok(value);
            }
        }
        self.damaged()
    }

    fn narrow<T: TryFrom<u64>>(&mut self) -> Read<T> {
        let value = self.integer()?;
        T::try_from(value).or_else(|_| self.damaged())
    }

    fn length(&mut self) -> Read<usize> {
        let length = self.integer()?;
        if length > LENGTH_MAX { self.damaged() } else { usize::try_from(length).or_else(|_| self.damaged()) }
    }

    fn take(&mut self, length: usize) -> Read<&[u8]> {
        let at = self.at;
        let Some(part) = self.bytes.get(at..at.saturating_add(length)) else { return self.damaged() };
        self.at += length;
        Ok(part)
    }

    fn text(&mut self) -> Read<String> {
        let length = self.length()?;
        let at = self.at;
        let bytes = self.take(length)?.to_vec();
        String::from_utf8(bytes).map_err(|_| RowFault::Damaged { at })
    }

    fn some(&mut self) -> Read<bool> {
        match self.small()? {
            0 => Ok(false),
            1 => Ok(true),
            _ => self.damaged(),
        }
    }

    fn maybe_text(&mut self) -> Read<Option<String>> {
        if self.some()? { self.text().map(Some) } else { Ok(None) }
    }

    fn maybe(&mut self) -> Read<Option<u64>> {
        if self.some()? { self.integer().map(Some) } else { Ok(None) }
    }

    fn maybe_number(&mut self) -> Read<Option<f64>> {
        if !self.some()? {
            return Ok(None);
        }
        let bytes = self.take(8)?.try_into().expect("eight bytes were taken");
        Ok(Some(f64::from_le_bytes(bytes)))
    }

    fn list<T>(&mut self, one: impl Fn(&mut Self) -> Read<T>) -> Read<Vec<T>> {
        let length = self.length()?;
        (0..length).map(|_| one(self)).collect()
    }

    fn place(&mut self) -> Read<PlaceRow> {
        Ok(PlaceRow {
            step: self.text()?,
            title: self.text()?,
            side: self.code(|code| [None, Some(Side::Left), Some(Side::Right)].get(code).copied())?,
            implant: Some(self.small()?).filter(|implant| *implant > 0),
            shots: self.narrow()?,
            stay_ms: self.integer()?,
            overridden: self.small()?,
        })
    }

    fn check(&mut self) -> Read<CheckRow> {
        Ok(CheckRow {
            place: self.narrow()?,
            id: self.text()?,
            text: self.text()?,
            marks: Marks(self.small()?),
            rejected: self.small()?,
            shots: self.narrow()?,
        })
    }

    fn cost(&mut self) -> Read<CostRow> {
        Ok(CostRow {
            place: self.narrow()?,
            view: self.maybe_text()?,
            events: self.narrow()?,
            kerma_area_product_gy_cm2: self.maybe_number()?,
            air_kerma_mgy: self.maybe_number()?,
        })
    }
}
