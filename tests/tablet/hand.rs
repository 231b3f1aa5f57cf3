//! A hand that touches what bears a label, on a stage with a store of its own, and a clock of a team at work.

use crate::stage::{Stage, middle, wait};
use brimline::adapters::files::RealDisk;
use brimline::adapters::images::ImageFiles;
use brimline::adapters::index_sqlite::SqliteIndex;
use brimline::adapters::press::SystemPress;
use brimline::adapters::randomness::SystemRandomness;
use brimline::case::PlaceLayout;
use brimline::commands::Start;
use brimline::commands::review::{Place as IndexPlace, ReviewPorts};
use brimline::open_case::World;
use brimline::pathway::CheckKind;
use brimline::ports::{Clock, Moment};
use brimline::presenter::Shared;
use brimline::review::{Index, IndexError};
use brimline::settings::Settings;
use brimline_ui::{Over, Place, Shell};
use i_slint_backend_testing::{AccessibleRole, ElementHandle, ElementQuery};
use slint::ComponentHandle;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// A held touch lasts 0.6 s; this is longer.
const HELD_MS: u64 = 800;
/// Longest that work beside the window may take on a busy machine.
const LONGEST: Duration = Duration::from_mins(2);

/// A clock that a team at work would see: every reading is some seconds after the one before.
#[derive(Default)]
struct WorkingClock {
    readings: AtomicU64,
}

impl Clock for WorkingClock {
    fn now(&self) -> Moment {
        let boot_ms = (1 + self.readings.fetch_add(1, Ordering::Relaxed)) * 4_000;
        let start = chrono::DateTime::parse_from_rfc3339("2026-03-10T08:00:00+01:00").unwrap();
        Moment { at: start + chrono::TimeDelta::milliseconds(i64::try_from(boot_ms).unwrap()), boot_ms }
    }
}

pub struct Hand {
    pub stage: Stage,
    pub touches: u32,
    /// Touches that are not counted.
    pub free: bool,
}

impl Hand {
    pub fn find(&self, label: &str) -> Option<ElementHandle> {
        let wanted = |element: &ElementHandle| {
            let named = element.accessible_label().unwrap_or_default();
            named == label || named.strip_prefix(label).is_some_and(|detail| detail.starts_with(", "))
        };
        ElementQuery::from_root(&self.stage.app).find_all().into_iter().filter(wanted).find(|element| {
            let touched = matches!(element.accessible_role(), Some(AccessibleRole::Button | AccessibleRole::ListItem));
            touched && element.accessible_enabled() != Some(false) && element.size().height > 0.0
        })
    }

    /// Touches what bears the label, held long enough for a critical confirmation.
    pub fn touch(&mut self, label: &str) {
        let found = self.find(label);
        let element = found.unwrap_or_else(|| {
            panic!("nothing labelled \"{label}\" can be touched at {:?}, {:?}", self.place(), self.over())
        });
        let at = middle(&element);
        self.stage.press(at);
        wait(HELD_MS);
        self.stage.release(at);
        wait(50);
        if !self.free {
            self.touches += 1;
        }
    }

    pub fn type_digits(&mut self, digits: &str) {
        self.free = true;
        for key in digits.chars() {
            let (small, large) = (key.to_string(), key.to_uppercase().to_string());
            let label = if self.find(&small).is_some() { small } else { large };
            self.touch(&label);
        }
        self.free = false;
    }

    /// Lets work beside the window come back: real time for its thread, the stage's own time for the window.
    pub fn until(&self, what: &str, done: impl Fn(&Self) -> bool) {
        let begun = Instant::now();
        while !done(self) {
            assert!(begun.elapsed() < LONGEST, "{what} never came");
            std::thread::sleep(Duration::from_millis(5));
            wait(40);
        }
    }

    pub fn place(&self) -> Place {
        self.stage.app.global::<Shell>().get_place()
    }

    pub fn over(&self) -> Over {
        self.stage.app.global::<Shell>().get_over()
    }
}

/// The embedded index and the press, as the program hands them in.
fn review_ports() -> ReviewPorts {
    let open = |place: &IndexPlace| -> Result<Box<dyn Index>, IndexError> {
        match place {
            IndexPlace::File { path, create } => Ok(Box::new(SqliteIndex::open(path, *create)?)),
            IndexPlace::Service(name) => Err(IndexError::Unusable { reason: format!("no service {name} here") }),
        }
    };
    ReviewPorts { open: Arc::new(open), press: Arc::new(SystemPress), threads: 2, service: None }
}

pub fn start(store: &Path) -> Start {
    let world = World {
        clock: Arc::new(WorkingClock::default()),
        randomness: Arc::new(SystemRandomness),
        disk: Arc::new(RealDisk),
    };
    let settings_path = store.join("settings.toml");
    Start {
        settings: Settings::default(),
        settings_path,
        store: store.to_owned(),
        world,
        review: review_ports(),
        images: &ImageFiles,
        draw: None,
        station: None,
    }
}

/// The touches that answer the next open check of the place the team is at; false if there is none on this page.
pub fn answer_one(hand: &mut Hand, app: &Shared) -> bool {
    let next = {
        let app = app.borrow();
        let case = app.open.as_ref().expect("a case is open").case();
        let here = case.state().here.clone();
        let step = case.step_at(&here).expect("the team is at a step");
        case.open_checks(&PlaceLayout { place: here, step }).first().map(|check| (*check).clone())
    };
    let Some(check) = next else { return false };
    while hand.find("More checks").is_some() && !shown(hand, &check.text) {
        hand.touch("More checks");
    }
    match &check.ask {
        CheckKind::Confirm => hand.touch(&check.text),
        CheckKind::Choice { options } => {
            let beside = format!("{}: {}", check.text, options[0].text);
            if hand.find(&beside).is_some() {
                hand.touch(&beside);
            } else {
                hand.touch(&check.text);
                hand.touch(&options[0].text);
            }
        }
        CheckKind::View { .. } | CheckKind::Pin { .. } => {
            let words = ["View accepted", "Pin position accepted"];
            let labels = words.map(|word| format!("{}: {word}", check.text));
            let shown = labels.iter().find(|label| hand.find(label).is_some());
            hand.touch(&shown.cloned().unwrap_or_else(|| check.text.clone()));
        }
        CheckKind::Measure { expected, .. } => {
            hand.touch(&check.text);
            hand.type_digits(&expected.from.to_string());
            hand.touch("Accept");
        }
        CheckKind::Timer { .. } => {
            hand.touch(&check.text);
            hand.type_digits("9");
            hand.touch("Accept");
        }
        CheckKind::Count { items, .. } => {
            hand.touch(&check.text);
            for item in items {
                hand.free = true;
                hand.touch(item);
                hand.free = false;
                hand.type_digits("4");
            }
            hand.touch("Count agreed");
        }
        CheckKind::Scan { .. } | CheckKind::Note => {
            hand.touch(&check.text);
            hand.type_digits("ab");
            hand.touch("Accept");
        }
    }
    true
}

/// Whether a check of those words stands on the page, with whatever key.
fn shown(hand: &Hand, text: &str) -> bool {
    let checks = hand.stage.app.global::<brimline_ui::Operate>().get_checks();
    slint::Model::iter(&checks).any(|line| line.text == text)
}
