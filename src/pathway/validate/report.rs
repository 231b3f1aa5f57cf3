//! Where faults are gathered.

use crate::pathway::{Fault, Flaw};

/// The faults found so far, in document order.
#[derive(Default)]
pub(super) struct Report {
    pub found: Vec<Fault>,
}

impl Report {
    pub fn say(&mut self, place: impl Into<String>, what: Flaw) {
        self.found.push(Fault { place: place.into(), what });
    }

    /// Judges the length of a list.
    pub fn length(&mut self, place: &str, found: usize, min: usize, max: usize) {
        if found < min {
            self.say(place, Flaw::TooFew { min });
        } else if found > max {
            self.say(place, Flaw::TooMany { found, max });
        }
    }

    /// Says each entry that stands a second time in a list.
    pub fn twice<'t>(&mut self, place: &str, entries: impl IntoIterator<Item = &'t str>) {
        let mut seen: Vec<&str> = Vec::new();
        for (number, entry) in entries.into_iter().enumerate() {
            if seen.contains(&entry) {
                self.say(format!("{place}[{number}]"), Flaw::Twice { what: entry.to_owned() });
            }
            seen.push(entry);
        }
    }
}
