//! Review on a store of synthetic signed records: walked through by touch, drawn and measured on every page.

use crate::golden;
use crate::hand::{Hand, start};
use crate::looks::keep;
use crate::scenes::{Scene, place};
use crate::stage::{SIZES, Stage};
use crate::synthetic::{Model, Planted, records, roster};
use crate::touch::{MAIN, ROUNDING, apart, buttons, measure};
use brimline::case::CaseKind;
use brimline::presenter;
use brimline_ui::{AppWindow, Over, Place, ReviewShows, ReviewState, ReviewView, Shell};
use slint::{ComponentHandle, Model as _};
use std::path::Path;
use std::thread;

/// Cases that were operated, and rehearsals; one file more is no record.
const LIVE: usize = 120;
const REHEARSED: usize = 30;
/// From this case on one step takes twice the shots.
const SHIFTED: usize = 70;

/// States that hold no figures, filled by hand.
pub const SCENES: &[Scene] = &[
    Scene { name: "review-reading", set: |app| instead(app, ReviewState::Reading, READING) },
    Scene { name: "review-empty", set: |app| instead(app, ReviewState::Empty, EMPTY) },
    Scene { name: "review-failed", set: |app| instead(app, ReviewState::Failed, FAILED) },
];

const READING: [&str; 3] =
    ["Reading the records", "Each is verified before it counts · 512 of 4096 files read", "Reading"];
const EMPTY: [&str; 3] = [
    "No signed record yet",
    "Cases that were signed on this tablet appear here. Nothing is counted before it is signed.",
    "Home",
];
const FAILED: [&str; 3] = [
    "The records could not be read",
    "The index could not be used: database disk image is malformed. What was signed before still stands where it is.",
    "Try again",
];

fn instead(app: &AppWindow, state: ReviewState, [words, detail, main]: [&str; 3]) {
    place(app, Place::Review);
    let view = app.global::<ReviewView>();
    view.set_state(state);
    view.set_words(words.into());
    view.set_words_detail(detail.into());
    view.set_main(main.into());
    view.set_main_enabled(state != ReviewState::Reading);
    let home = view.get_keys().iter().filter(|key| key.id == "home").collect::<Vec<_>>();
    view.set_keys(crate::scenes::model(home));
    view.set_tabs(crate::scenes::model(Vec::new()));
    view.set_title("Every pathway".into());
    view.set_detail("".into());
}

/// A store with a roster and signed cases, as a tablet would have left them.
fn store(folder: &Path) -> std::path::PathBuf {
    let store = folder.join("store");
    std::fs::create_dir_all(store.join("people")).unwrap();
    std::fs::write(store.join("people/roster.json"), roster().to_bytes()).unwrap();
    let planted = Some(Planted { step: "joint", from: SHIFTED, factor: 2.0 });
    let live = Model { gain: 0.6, rate: 0.08, planted, reported: true, ..Model::steady(7, LIVE) };
    let rehearsed = Model { gain: 1.2, rate: 0.15, kind: CaseKind::Rehearsal, ..Model::steady(9, REHEARSED) };
    for (kind, model) in [("live", live), ("rehearsed", rehearsed)] {
        for (at, bytes) in records(&model).into_iter().enumerate() {
            write(&store, &format!("{kind}-{at:04}"), &bytes);
        }
    }
    write(&store, "no-record", b"{\"payload\":\"e30\"}");
    store
}

fn write(store: &Path, case: &str, bytes: &[u8]) {
    let folder = store.join("cases").join(case);
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("record.json"), bytes).unwrap();
}

fn view(hand: &Hand) -> ReviewView<'_> {
    hand.stage.app.global::<ReviewView>()
}

/// Opens the program and turns to Review, once everything is read.
fn begin(store: &Path, size: (u32, u32, f32)) -> (Hand, presenter::Shared) {
    let stage = Stage::open(size);
    let app = presenter::open(&stage.app, start(store));
    let mut hand = Hand { stage, touches: 0, free: true };
    // Asked once in each store.
    if hand.place() == Place::FirstStart {
        hand.touch("I have read this");
    }
    hand.touch("Review");
    assert_eq!(hand.place(), Place::Review);
    let read = |hand: &Hand| {
        let detail = view(hand).get_detail();
        view(hand).get_state() != ReviewState::Reading && !detail.contains("files read") && !detail.contains("Looking")
    };
    hand.until("the records", read);
    (hand, app)
}

/// Every page in turn; `look` is called on each.
fn walk(hand: &mut Hand, look: &mut dyn FnMut(&str, &Hand)) {
    look("review-overview", hand);
    for (tab, pages) in [
        ("Overview", &["Shots and dose", "Stopped cases"][..]),
        ("Steps", &["Where shots go", "Step dose", "Passed over"]),
        ("Trend", &["Shots", "Dose", "Lasting shift"]),
        ("Training", &["Rehearsed, live", "Learning curve"]),
    ] {
        hand.touch(tab);
        for page in pages {
            hand.touch(page);
            assert_eq!(view(hand).get_shows(), ReviewShows::Chart, "{page}");
            look(&format!("review-{}", page.to_lowercase().replace([' ', ','], "-").replace("--", "-")), hand);
            hand.touch("Table");
            assert_eq!(view(hand).get_shows(), ReviewShows::Table, "{page}");
            assert!(view(hand).get_table().rows.row_count() > 0, "the table behind {page}");
            match *page {
                "Dose" => look("review-table", hand),
                "Step dose" => look("review-table-cost", hand),
                "Shots" => look("review-table-shots", hand),
                _ => {}
            }
            hand.touch("Table");
        }
    }
    hand.touch("Views");
    look("review-views", hand);
    hand.touch("View dose");
    look("review-view-dose", hand);
    hand.touch("Flagged");
    look("review-flagged", hand);
}

/// Turns to one case and back.
fn one_case(hand: &mut Hand, look: &mut dyn FnMut(&str, &Hand)) {
    hand.touch(view(hand).get_main().as_str());
    hand.until("the case", |hand| view(hand).get_shows() == ReviewShows::OneCase);
    let ticks = view(hand).get_ticks().row_count();
    assert!(ticks > 20 && view(hand).get_ribbon().row_count() > 5, "{ticks} shots along the case");
    look("review-case", hand);
    hand.touch("The record");
    assert!(view(hand).get_facts().row_count() > 10);
    look("review-case-record", hand);
    hand.touch("Table");
    assert_eq!(view(hand).get_shows(), ReviewShows::Table);
    hand.touch("Back");
    assert_eq!(view(hand).get_shows(), ReviewShows::Flagged);
}

/// Narrows by touch; what is looked at says so.
fn narrow(hand: &mut Hand, look: &mut dyn FnMut(&str, &Hand)) {
    let cases = |hand: &Hand| view(hand).get_detail().split(' ').next().unwrap().parse::<usize>().unwrap();
    let all = cases(hand);
    hand.touch("Filter");
    assert_eq!(hand.over(), Over::Pick);
    look("review-filter", hand);
    hand.touch("C-arm");
    look("review-filter-values", hand);
    hand.touch("Arm A");
    assert_eq!(hand.over(), Over::Nothing);
    let arm = cases(hand);
    assert!(arm > 0 && arm < all, "{arm} of {all}");
    hand.touch("Filter");
    hand.touch("Patient size");
    hand.touch("100 kg and more");
    let few = cases(hand);
    assert!(few < arm && view(hand).get_detail().contains("Arm A"), "{few} of {arm}");
    hand.touch("Trend");
    look("review-few", hand);
    hand.touch("Filter");
    hand.touch("Every live case");
    assert_eq!(cases(hand), all);
    narrow_to_somebody(hand);
}

/// Narrowed to one team there is no signal, and the screen says that none is ever raised.
fn narrow_to_somebody(hand: &mut Hand) {
    assert!(!view(hand).get_signal().is_empty(), "there is something to see");
    menu(hand, "Team");
    let rows = buttons(&hand.stage);
    let row = rows.iter().find(|row| row.label.starts_with("Team ")).expect("a team to choose");
    hand.touch(&row.label.clone());
    assert!(view(hand).get_signal().is_empty());
    assert!(view(hand).get_signal_detail().starts_with("None is ever raised"));
    menu(hand, "Outcome");
    hand.touch("Finished");
    hand.touch("Filter");
    hand.touch("Every live case");
    assert!(!view(hand).get_signal().is_empty());
}

/// Asks for one of the rows of the filter, on whichever page it stands.
fn menu(hand: &mut Hand, row: &str) {
    hand.touch("Filter");
    if !buttons(&hand.stage).iter().any(|button| button.label.starts_with(row)) {
        hand.touch("more entries");
    }
    hand.touch(row);
    assert_eq!(hand.over(), Over::Pick);
}

/// Writes the report of the last month.
fn report(hand: &mut Hand, store: &Path) {
    hand.touch("Overview");
    hand.touch("Report");
    assert_eq!(hand.over(), Over::Pick);
    hand.touch("2031-05");
    hand.until("the report", |hand| hand.over() == Over::Message);
    hand.touch("Understood");
    let bytes = std::fs::read(store.join("review/report-2031-05.pdf")).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
}

/// [R-REVIEW-9] [R-TABLET-8]
#[test]
fn review_is_drawn_on_every_page_at_both_sizes_and_everything_touched_is_large_enough() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path());
    for size in SIZES {
        let store = store.clone();
        let walked = move || {
            let (mut hand, app) = begin(&store, size);
            let mut look = |name: &str, hand: &Hand| {
                let frame = hand.stage.frame();
                keep(name, &frame);
                golden::hold(name, &frame);
                let scene = Scene { name: name.to_owned().leak(), set: |_| {} };
                let found = buttons(&hand.stage);
                measure(&scene, &found);
                apart(&scene, &found);
                let tallest = found.iter().map(|button| button.size.height).fold(0.0, f32::max);
                assert!(hand.over() != Over::Nothing || tallest + ROUNDING >= MAIN, "{name}: {tallest}");
            };
            walk(&mut hand, &mut look);
            one_case(&mut hand, &mut look);
            narrow(&mut hand, &mut look);
            report(&mut hand, &store);
            hand.touch("Home");
            assert_eq!(hand.place(), Place::Home);
            assert_eq!(hand.stage.warnings(), Vec::<String>::new());
            drop(app);
        };
        thread::spawn(walked).join().expect("the walk holds");
    }
}

/// [R-REVIEW-9] [R-REVIEW-7]
#[test]
fn the_tablet_names_the_step_that_was_planted_and_lists_what_it_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let store = store(folder.path());
    let (mut hand, _app) = begin(&store, SIZES[0]);
    hand.touch("Flagged");
    let rows: Vec<_> = view(&hand).get_flagged().iter().collect();
    let shift = rows.iter().find(|row| row.text.starts_with("More shots in \"Drill and prepare the joint\""));
    assert!(shift.is_some(), "{:?}", rows.iter().map(|row| &row.text).collect::<Vec<_>>());
    let left: Vec<_> = rows.iter().filter(|row| row.barred).collect();
    assert_eq!(left.len(), 1);
    assert!(left[0].text.contains("no-record") && !left[0].detail.is_empty(), "{:?}", left[0]);
    // The same figures as the command's, since both read one index.
    let tile = view(&hand).get_tiles().row_data(0).unwrap();
    assert_eq!((tile.label.as_str(), tile.value.as_str()), ("Live cases", "116"));
}

/// [R-REVIEW-9]
#[test]
fn an_empty_store_says_so_and_a_damaged_index_says_what_still_stands() {
    let folder = tempfile::tempdir().unwrap();
    let empty = folder.path().join("empty");
    std::fs::create_dir_all(&empty).unwrap();
    let (mut hand, _app) = begin(&empty, SIZES[0]);
    assert_eq!(view(&hand).get_state(), ReviewState::Empty);
    assert!(!empty.join("review").exists(), "looking makes no index");
    hand.touch("Home");
    assert_eq!(hand.place(), Place::Home);
    let damaged = empty.join("review");
    std::fs::create_dir_all(&damaged).unwrap();
    std::fs::write(damaged.join("index.sqlite"), b"no database, and longer than its header would be".repeat(9))
        .unwrap();
    hand.touch("Review");
    hand.until("a failure", |hand| view(hand).get_state() == ReviewState::Failed);
    let said = view(&hand).get_words_detail();
    assert!(said.contains("damaged") && said.contains("still stands"), "{said}");
    std::fs::remove_dir_all(&damaged).unwrap();
    hand.touch("Try again");
    hand.until("an answer", |hand| view(hand).get_state() == ReviewState::Empty);
}

#[test]
fn review_without_figures_is_drawn_at_both_sizes() {
    crate::looks::draw_each(SCENES);
}

#[test]
fn everything_touched_in_review_without_figures_is_large_enough() {
    crate::touch::in_each(SCENES, |scene, stage| {
        let found = buttons(stage);
        measure(scene, &found);
        apart(scene, &found);
        assert_eq!(stage.app.global::<Shell>().get_place(), Place::Review);
    });
}
