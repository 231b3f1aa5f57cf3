//! Home: the cases of the store, which one goes on, and the ways to everything else.

use super::app::{self, Shared, window};
use super::case_view::model;
use super::shelf::{Does, Entry, Ours, Signed, entries};
use super::touch;
use super::{about, around, keys, people, plan_view, record, returning, review, set_up, settings, sign_off};
use crate::case::Status;
use brimline_ui::{AppWindow, CaseLine, Home, OperatedSide, Over, Place, Shell};
use slint::ComponentHandle;
use std::path::{Path, PathBuf};

/// What Home shows, and which line is chosen.
#[derive(Default)]
pub(super) struct Shown {
    entries: Vec<Entry>,
    chosen: Option<String>,
    banner: String,
    pub signed: Signed,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Home>();
    let weak = std::rc::Rc::downgrade(app);
    screen.on_touch_case(move |id| {
        let Some(app) = weak.upgrade() else { return };
        around::of(&app).home.borrow_mut().chosen = Some(id.into());
        fill(&app);
    });
    let to = |does: fn(&Shared)| touch::plain(app, does);
    screen.on_act(to(act));
    screen.on_new_case(to(set_up::new));
    screen.on_review(to(review::show));
    screen.on_rehearse(to(super::rehearse_choose::show));
    screen.on_plan(to(plan));
    screen.on_people(to(people::show));
    screen.on_settings(to(settings::show));
    screen.on_about(to(about::show));
}

/// A case that something received may belong to.
pub(super) struct CaseChoice {
    pub folder: PathBuf,
    pub patient: String,
    /// Where it stands, in words.
    pub words: String,
    /// At least one signature stands under its record.
    pub signed: bool,
}

/// Cases of the store, as Home read them last.
pub(super) fn cases(app: &Shared) -> Vec<CaseChoice> {
    let around = around::of(app);
    let shown = around.home.borrow();
    let case = |entry: &Entry| {
        let signed = match entry.does {
            Does::Resume => false,
            Does::Sign => entry.line.words == "incomplete",
            Does::Show => true,
            _ => return None,
        };
        let (patient, words) = (entry.line.patient.to_string(), entry.line.words.to_string());
        Some(CaseChoice { folder: entry.path.clone(), patient, words, signed })
    };
    shown.entries.iter().filter_map(case).collect()
}

/// Reads the store again and shows Home.
pub(super) fn show(app: &Shared) {
    let roster = keys::load(app).err().map(|fault| fault.to_string());
    let arrivals = super::arrivals::fault(app);
    super::arrivals::sort(app);
    let around = around::of(app);
    {
        let app = app.borrow();
        let mut shown = around.home.borrow_mut();
        let ours = app.open.as_ref().map(|open| Ours { folder: open.folder(), case: open.case() });
        let (found, faults) = entries(&app.world, &app.store, ours.as_ref(), &mut shown.signed);
        let received = Some(arrivals).filter(|fault| !fault.is_empty());
        shown.banner = roster.into_iter().chain(faults).chain(received).collect::<Vec<_>>().join(" · ");
        shown.entries = found;
    }
    fill(app);
    let Some(window) = window(app) else { return };
    let shell = window.global::<Shell>();
    shell.set_over(Over::Nothing);
    shell.set_place(Place::Home);
}

/// Sets the clock; called once a second.
pub(super) fn tick(window: &AppWindow, app: &Shared) {
    if window.global::<Shell>().get_place() == Place::Home {
        let now = app.borrow().world.clock.now().at;
        window.global::<Home>().set_clock(now.format("%H:%M").to_string().into());
    }
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let (now, site) = {
        let app = app.borrow();
        (app.world.clock.now().at, app.settings.site.clone().unwrap_or_default())
    };
    let (rows, banner, main) = {
        let around = around::of(app);
        let shown = around.home.borrow();
        let chosen = chosen(&shown.entries, shown.chosen.as_deref());
        (rows(&shown.entries, chosen), shown.banner.clone(), chosen.map(main).unwrap_or_default())
    };
    let screen = window.global::<Home>();
    screen.set_day(now.format("%A, %-d %B").to_string().into());
    screen.set_clock(now.format("%H:%M").to_string().into());
    screen.set_site(site.into());
    screen.set_banner(banner.into());
    screen.set_cases(model(rows));
    screen.set_main(main.words.into());
    screen.set_main_detail(main.detail.into());
    screen.set_main_enabled(main.enabled);
}

/// The line chosen, or the first, which needs somebody most.
fn chosen<'a>(entries: &'a [Entry], id: Option<&str>) -> Option<&'a Entry> {
    entries.iter().find(|entry| Some(entry.id.as_str()) == id).or_else(|| entries.first())
}

/// The rows of the screen.
fn rows(entries: &[Entry], chosen: Option<&Entry>) -> Vec<CaseLine> {
    let is_chosen = |entry: &Entry| chosen.is_some_and(|chosen| chosen.id == entry.id);
    entries.iter().map(|entry| CaseLine { chosen: is_chosen(entry), ..entry.line.clone() }).collect()
}

/// The main action in words.
#[derive(Default)]
struct Main {
    words: String,
    detail: String,
    enabled: bool,
}

fn main(entry: &Entry) -> Main {
    let line = &entry.line;
    let words = match entry.does {
        Does::SetUp => "Set up this case".to_owned(),
        Does::Resume => "Resume this case".to_owned(),
        Does::Sign => "Sign the record".to_owned(),
        Does::Show => "Show the record".to_owned(),
        Does::Look => "Look at this case".to_owned(),
        Does::Nothing => "Cannot be opened here".to_owned(),
    };
    let side = match line.side {
        OperatedSide::Left => " · left side",
        OperatedSide::Right => " · right side",
        OperatedSide::Both => " · both sides",
        OperatedSide::None => "",
    };
    Main { words, detail: format!("{}{side}", line.patient), enabled: entry.does != Does::Nothing }
}

fn act(app: &Shared) {
    let entry = {
        let around = around::of(app);
        let shown = around.home.borrow();
        chosen(&shown.entries, shown.chosen.as_deref()).cloned()
    };
    let Some(Entry { does, path, .. }) = entry else { return };
    match does {
        Does::SetUp => set_up::from_file(app, &path),
        Does::Resume if is_ours(app, &path) => go_on(app),
        Does::Resume | Does::Look => returning::show(app, &path),
        Does::Sign => sign(app, &path),
        Does::Show => record::show(app, &path),
        Does::Nothing => {}
    }
}

/// Plans the patient chosen, where there is no case yet, or another one.
fn plan(app: &Shared) {
    let entry = {
        let around = around::of(app);
        let shown = around.home.borrow();
        chosen(&shown.entries, shown.chosen.as_deref()).cloned()
    };
    match entry.filter(|entry| entry.does == Does::SetUp) {
        Some(entry) => plan_view::show(app, Some(&entry.path)),
        None => plan_view::show(app, None),
    }
}

fn is_ours(app: &Shared, folder: &Path) -> bool {
    app.borrow().open.as_ref().is_some_and(|open| open.folder() == folder)
}

/// Goes on with the case that was left for Home and never given up.
fn go_on(app: &Shared) {
    if let Some(window) = window(app) {
        window.global::<Shell>().set_place(Place::Operate);
    }
    app::refresh(app);
}

/// Turns to the signing of a closed case, opening it first if need be.
pub(super) fn sign(app: &Shared, folder: &Path) {
    if is_ours(app, folder) || returning::open(app, folder) {
        sign_off::show(app);
    }
}

/// Gives the case that is open back to the store. Waits until what can be written is.
pub(super) fn put_away(app: &Shared) {
    super::worker::forget(app);
    around::of(app).rehearsing.take();
    around::of(app).debriefing.take();
    let open = {
        let mut app = app.borrow_mut();
        app.holder = None;
        app.open.take()
    };
    drop(open);
}

/// Leaves a case that needs nobody at the table any more, or stays open beside Home.
pub(super) fn leave(app: &Shared) {
    let done = app.borrow().case().is_none_or(|case| matches!(case.state().status, Status::Closed(_)));
    if done {
        put_away(app);
    }
    show(app);
}
