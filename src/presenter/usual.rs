//! The site's own usual, from the verified records of its store: shots by step, dose of the whole case.
//!
//! Compared are finished cases of one machine, pathway and band of patient size. It is read once at the start and after
//! every record that was completed, beside the window. What it does not do: no judgement, no figure below 20 cases.

use super::app::Shared;
use super::around;
use super::shelf::CASES;
use crate::case::{Case, CaseKind, Outcome};
use crate::dose::{Group, Past, SizeBand, Usual, usual};
use crate::open_case::{World, names};
use crate::people::Roster;
use crate::record::{self, Record};
use std::collections::BTreeMap;
use std::path::Path;

/// Figures of past cases.
#[derive(Debug, Clone, Default)]
pub(super) struct Book {
    /// Shots at a place of a step, mean over the case's places of it.
    shots: Vec<Past>,
    /// Kerma-area product of the whole case, Gy·cm².
    areas: Vec<Past>,
}

/// Reads the records again, beside the window.
pub(super) fn learn(app: &Shared) {
    let (world, store, roster) = {
        let app = app.borrow();
        (app.world.clone(), app.store.clone(), app.roster.clone())
    };
    let around = around::of(app);
    around.learning.run(
        app,
        move || read(&world, &store, &roster),
        |app, book| {
            around::of(app).usual.replace(book);
            super::app::refresh(app);
        },
    );
}

fn read(world: &World, store: &Path, roster: &Roster) -> Book {
    let mut book = Book::default();
    let cases = store.join(CASES);
    for name in world.disk.list(&cases).unwrap_or_default() {
        let Ok(bytes) = world.disk.read(&cases.join(name).join(names::RECORD), record::MAX_BYTES) else { continue };
        // What does not verify is nobody's past.
        if let Ok(verified) = record::verify(&bytes, roster) {
            book.add(verified.document());
        }
    }
    book
}

impl Book {
    fn add(&mut self, record: &Record) {
        let whole = record.kind == CaseKind::Live && record.outcome == Outcome::Finished;
        let (Some(machine), Some(size)) = (record.c_arm.c_arm_name.value(), record.radiation.size) else { return };
        if !whole || record.c_arm.swaps > 0 {
            return;
        }
        let group = |step| group(machine, &record.pathway.id, size, step);
        let total = record.radiation.total.as_ref().filter(|total| !total.at_least);
        if let Some(area) = total.and_then(|total| total.figures.kerma_area_product) {
            self.areas.push(Past { group: group(None), value: area.0 });
        }
        let mut steps: BTreeMap<&str, (u32, u32)> = BTreeMap::new();
        for place in record.places.iter().filter(|place| place.entered.is_some()) {
            let (shots, places) = steps.entry(&place.place.step).or_default();
            (*shots, *places) = (*shots + place.shots, *places + 1);
        }
        for (step, (shots, places)) in steps {
            let value = f64::from(shots) / f64::from(places);
            self.shots.push(Past { group: group(Some(step.to_owned())), value });
        }
    }

    /// The usual number of shots at the place where the team is.
    pub fn shots_here(&self, case: &Case) -> Option<Usual> {
        let step = case.state().here.step.clone();
        Some(usual(&self.shots, &of_case(case, Some(step))?))
    }

    /// The usual kerma-area product of a whole case like this.
    pub fn area(&self, case: &Case) -> Option<Usual> {
        Some(usual(&self.areas, &of_case(case, None)?))
    }
}

fn group(machine: &str, pathway: &str, size: SizeBand, step: Option<String>) -> Group {
    Group { machine: machine.to_owned(), pathway: pathway.to_owned(), size, step }
}

/// What a case is compared with; `None` if its machine or the patient's size is not known.
fn of_case(case: &Case, step: Option<String>) -> Option<Group> {
    let size = case.plan().patient.size()?;
    Some(group(case.state().c_arm.as_deref()?, &case.pathway().id, size, step))
}
