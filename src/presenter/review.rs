//! Review: the records of the store, read beside the window, and the page turned to.
//!
//! The index as it stands is shown first; then the store's own records are brought into it, and what changed is shown.
//! What it does not do: no figure of its own, and no touch that changes a record or the index's rows.

use super::app::{Shared, window};
use super::review_rows::{self, Tab};
use super::worker::{self, Work};
use super::{around, home, review_case, review_filter, review_report, touch};
use crate::commands;
use crate::commands::review::{Gathered, Progress, ReviewPorts, bring_in, look, one};
use crate::open_case::World;
use crate::review::{Asked, Cache, ChartName, Signal, Stream, signals};
use brimline_ui::{AppWindow, Place, ReviewState, ReviewView, Shell};
use slint::ComponentHandle;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// How far Review is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) enum Stage {
    /// The index, or the first records, are being read.
    #[default]
    Reading,
    Empty,
    /// Why.
    Failed(String),
    Ready,
}

/// What Review shows.
pub(super) struct Shown {
    pub cache: Arc<Cache>,
    pub stage: Stage,
    /// Records are being brought in.
    importing: bool,
    progress: Arc<Progress>,
    /// Files that did not become a row, each with its reason.
    pub left_out: Vec<(PathBuf, String)>,
    /// What went wrong though there are figures; empty: nothing.
    pub remark: String,
    pub tab: Tab,
    /// The chart of the tab; nothing where the tab begins with words.
    pub chart: Option<ChartName>,
    pub table: bool,
    pub asked: Asked,
    /// Signals of the filtered cases.
    pub found: Vec<Signal>,
    /// Which of them the main action is about.
    pub chosen: Option<usize>,
    pub one: Option<review_case::OneCase>,
}

impl Default for Shown {
    fn default() -> Self {
        Self {
            cache: Arc::default(),
            stage: Stage::Reading,
            importing: false,
            progress: Arc::default(),
            left_out: Vec::new(),
            remark: String::new(),
            tab: Tab::Overview,
            chart: None,
            table: false,
            asked: Asked::of(Stream::LIVE),
            found: Vec::new(),
            chosen: None,
            one: None,
        }
    }
}

impl Shown {
    /// Other cases are looked at: the signals are sought anew.
    pub(super) fn seek(&mut self) {
        self.found = signals(&self.cache, &self.asked);
        self.chosen = (!self.found.is_empty()).then_some(0);
        self.one = None;
    }

    fn take(&mut self, cache: Cache) {
        self.cache = Arc::new(cache);
        self.seek();
    }

    /// The signal that the main action is about.
    pub(super) fn signal(&self) -> Option<&Signal> {
        self.found.get(self.chosen?)
    }

    /// How far an import is, in words; nothing while there is none.
    pub(super) fn importing(&self) -> Option<String> {
        let (done, of) = self.progress.read();
        let words = if of == 0 { "Looking for records".to_owned() } else { format!("{done} of {of} files read") };
        self.importing.then_some(words)
    }
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<ReviewView>();
    screen.on_turn(touch::named(app, turn));
    screen.on_key(touch::named(app, key));
    screen.on_choose(touch::named(app, choose));
    screen.on_act(touch::plain(app, act));
}

/// Shows Review and reads the records anew.
pub(super) fn show(app: &Shared) {
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Review);
    }
    read(app);
}

/// Sets how far an import is; called once a second.
pub(super) fn tick(window: &AppWindow, app: &Shared) {
    let here = window.global::<Shell>().get_place() == Place::Review;
    if here && around::of(app).review.borrow().importing {
        review_rows::fill_progress(window, app);
    }
}

/// What a command is given of the world, for work beside the window; its one line of refusal in words.
fn with_world<T>(
    world: &World,
    store: &Path,
    work: impl FnOnce(&mut commands::World<'_>) -> Result<T, u8>,
) -> Result<T, String> {
    let (mut input, mut out, mut err) = (io::empty(), io::sink(), Vec::new());
    let mut given = commands::World {
        disk: &*world.disk,
        random: &*world.randomness,
        store: store.to_owned(),
        input: &mut input,
        out: &mut out,
        err: &mut err,
    };
    let done = work(&mut given);
    let said = String::from_utf8_lossy(&err);
    done.map_err(|_| said.trim().trim_start_matches("brimline: ").to_owned())
}

/// World, store and ports, for a thread of its own.
pub(super) fn outside(app: &Shared) -> (World, PathBuf, ReviewPorts) {
    let app = app.borrow();
    (app.world.clone(), app.store.clone(), app.review.clone())
}

fn read(app: &Shared) {
    let (world, store, ports) = outside(app);
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        shown.remark.clear();
        if shown.cache.is_empty() {
            shown.stage = Stage::Reading;
        }
    }
    let work = move || with_world(&world, &store, |world| look(world, &ports));
    if !worker::start_of(app, Work::OfReview, "Reading the index", work, looked) {
        let busy = "Records are still being read from the time before: a moment";
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        if shown.cache.is_empty() {
            shown.stage = Stage::Failed(busy.to_owned());
        } else {
            busy.clone_into(&mut shown.remark);
        }
    }
    fill(app);
}

/// The index was read as it stands.
fn looked(app: &Shared, done: Result<Cache, String>) {
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        match done {
            Ok(cache) => {
                shown.stage = if cache.is_empty() { Stage::Reading } else { Stage::Ready };
                shown.take(cache);
            }
            Err(why) => shown.stage = Stage::Failed(why),
        }
    }
    if !matches!(around::of(app).review.borrow().stage, Stage::Failed(_)) {
        import(app);
    }
    fill(app);
}

fn import(app: &Shared) {
    let (world, store, ports) = outside(app);
    let progress = {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        shown.importing = true;
        shown.progress = Arc::default();
        shown.progress.clone()
    };
    let work = move || with_world(&world, &store, |world| bring_in(world, &ports, &progress));
    if !worker::start_of(app, Work::OfReview, "Reading records", work, imported) {
        around::of(app).review.borrow_mut().importing = false;
    }
}

/// The store's own records were brought in.
fn imported(app: &Shared, done: Result<Gathered, String>) {
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        shown.importing = false;
        match done {
            Ok(gathered) => {
                if let Some(cache) = gathered.cache {
                    shown.take(cache);
                }
                shown.stage = if shown.cache.is_empty() { Stage::Empty } else { Stage::Ready };
                shown.left_out = gathered.tally.left_out;
            }
            Err(why) if shown.cache.is_empty() => shown.stage = Stage::Failed(why),
            Err(why) => {
                shown.remark = format!("New records were not read: {why}. The figures are those of before.");
            }
        }
    }
    fill(app);
}

/// Fills the screen.
pub(super) fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    review_rows::fill(&window, app);
}

/// A tab was touched.
fn turn(app: &Shared, id: &str) {
    let Some(tab) = Tab::of(id) else { return };
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        (shown.tab, shown.chart, shown.table, shown.one) = (tab, tab.charts().first().copied().flatten(), false, None);
        if tab == Tab::Training && shown.asked.person.is_none() {
            shown.asked.person = review_filter::most_rehearsals(&shown.cache);
        }
    }
    fill(app);
}

/// A key at the right was touched.
fn key(app: &Shared, id: &str) {
    match id {
        "home" => return leave(app),
        "filter" => return review_filter::ask(app),
        "person" => return review_filter::ask_person(app),
        "report" => return review_report::ask(app),
        _ => {}
    }
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        match (id, &mut shown.one) {
            ("facts", Some(one)) => (one.facts, one.table) = (true, false),
            ("case", Some(one)) => (one.facts, one.table) = (false, false),
            ("table", Some(one)) => one.table = !one.table,
            ("table", None) => shown.table = !shown.table,
            _ => {
                let named = ChartName::ALL.into_iter().find(|name| name.word() == id);
                (shown.chart, shown.table) = (named, false);
            }
        }
    }
    fill(app);
}

fn leave(app: &Shared) {
    worker::forget_of(app, Work::OfReview);
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        shown.importing = false;
        shown.progress.stop();
    }
    home::show(app);
}

/// A line of what was flagged was touched.
fn choose(app: &Shared, id: &str) {
    {
        let around = around::of(app);
        let mut shown = around.review.borrow_mut();
        let at = id.parse().ok().filter(|at| *at < shown.found.len());
        shown.chosen = at.or(shown.chosen);
    }
    fill(app);
}

/// The main action.
fn act(app: &Shared) {
    let (stage, open, digest) = {
        let around = around::of(app);
        let shown = around.review.borrow();
        (shown.stage.clone(), shown.one.is_some(), shown.signal().map(|signal| signal.digest.clone()))
    };
    match (stage, open, digest) {
        (Stage::Failed(_), ..) => read(app),
        (Stage::Empty, ..) => leave(app),
        (Stage::Ready, true, _) => {
            around::of(app).review.borrow_mut().one = None;
            fill(app);
        }
        (Stage::Ready, false, Some(digest)) => open_one(app, digest),
        _ => {}
    }
}

fn open_one(app: &Shared, digest: String) {
    let (world, store, ports) = outside(app);
    let wanted = digest.clone();
    let work = move || with_world(&world, &store, |world| one(world, &ports, &wanted));
    worker::start_of(app, Work::OfReview, "Reading a record", work, move |app, done| {
        {
            let around = around::of(app);
            let mut shown = around.review.borrow_mut();
            match done {
                Ok(record) => shown.one = Some(review_case::OneCase::of(record, digest)),
                Err(why) => shown.remark = format!("The record was not opened: {why}"),
            }
        }
        fill(app);
    });
    fill(app);
}

/// The state as the screen knows it.
pub(super) fn state(stage: &Stage) -> ReviewState {
    match stage {
        Stage::Reading => ReviewState::Reading,
        Stage::Empty => ReviewState::Empty,
        Stage::Failed(_) => ReviewState::Failed,
        Stage::Ready => ReviewState::Ready,
    }
}
