//! Every check of the built-in pathways has room on a page, with all its cautions, and its words stay inside it.

use crate::scenes::{line, model, options};
use crate::stage::{SIZES, Stage};
use brimline::carm::ViewName;
use brimline::pathway::{self, Check, CheckKind, Pathway, Step};
use brimline_ui::{AppWindow, CaseView, CheckAsk, CheckLine, CheckRoom, Operate};
use i_slint_backend_testing::{ElementHandle, ElementQuery};
use slint::{ComponentHandle, SharedString};

/// Layout works in fractions of a pixel, and a line box is a little taller than its letters.
const SLACK: f32 = 2.0;

fn pathways() -> Vec<Pathway> {
    let read = |id: &&str| pathway::read(pathway::built_in(id).expect("it is built in")).expect("it is well formed");
    pathway::built_in_ids().iter().map(read).collect()
}

fn lines(texts: &[String], characters: i32) -> i32 {
    let per_line = usize::try_from(characters).expect("a count of characters");
    let all: usize = texts.iter().map(|text| text.chars().count().div_ceil(per_line)).sum();
    i32::try_from(all).expect("few lines")
}

/// The fullest form of a check: every caution in force, a planned angle at every view.
fn fullest(app: &AppWindow, check: &Check) -> CheckLine {
    let room = app.global::<CheckRoom>();
    let cautions: Vec<String> = check.cautions.iter().map(|caution| caution.text.clone()).collect();
    let shared = |texts: &[String]| model(texts.iter().map(SharedString::from).collect::<Vec<_>>());
    let mut drawn = CheckLine {
        detail: check.detail.clone().unwrap_or_default().into(),
        held: check.held,
        caution_lines: lines(&cautions, room.get_caution_characters()),
        cautions: shared(&cautions),
        ..line(&check.id, CheckAsk::Confirm, &check.text)
    };
    match &check.ask {
        CheckKind::View { criteria, .. } | CheckKind::Pin { criteria, .. } => {
            drawn.ask = CheckAsk::View;
            drawn.shows = matches!(check.ask, CheckKind::View { .. });
            drawn.angle = "-43°".into();
            drawn.view = "Outlet, working · planned 43° · plan turned 6° ± 2° forward".into();
            drawn.angle_words =
                "displays: tilt 121°, orbit 0° · tilt: image receptor 37° toward the head · scale 24 · floor mark B"
                    .into();
            // Only what a re-aim changes says more than its plan.
            let re_aimed = match &check.ask {
                CheckKind::View { view, .. } => !matches!(view, ViewName::Ap | ViewName::Lateral),
                _ => false,
            };
            if !re_aimed {
                drawn.view = "Outlet, working".into();
                drawn.angle_words = "tilt, image receptor toward the feet · scale 24 · floor mark B".into();
            }
            drawn.criteria_lines = lines(criteria, room.get_criterion_characters());
            drawn.criteria = shared(criteria);
            drawn.scale = true;
        }
        CheckKind::Choice { options: all } => {
            drawn.ask = CheckAsk::Choice;
            drawn.options = options(&all.iter().map(|option| (option.text.as_str(), option.heed)).collect::<Vec<_>>());
        }
        _ => {}
    }
    drawn
}

/// Shows one check alone in its step and returns its block.
fn alone(stage: &Stage, step: &Step, check: &CheckLine, page: i32) -> ElementHandle {
    let operate = stage.app.global::<Operate>();
    operate.set_title(step.title.as_str().into());
    operate.set_hint(step.hint.clone().unwrap_or_default().into());
    operate.set_pages(page + 1);
    operate.set_page(page);
    operate.set_checks(model(vec![check.clone()]));
    stage.frame();
    let mut items = ElementQuery::from_root(&stage.app).match_inherits("CheckItem").find_all();
    assert_eq!(items.len(), 1, "one check is drawn");
    items.remove(0)
}

fn every_check(mut look: impl FnMut(&Stage, &Step, &CheckLine, ElementHandle)) {
    let stage = Stage::open(SIZES[0]);
    stage.app.global::<CaseView>().set_rehearsal(true);
    for pathway in pathways() {
        for (_, step) in pathway.steps() {
            for (index, check) in step.checks.iter().enumerate() {
                let drawn = fullest(&stage.app, check);
                let item = alone(&stage, step, &drawn, i32::from(index > 0));
                look(&stage, step, &drawn, item);
            }
        }
    }
}

#[test]
fn every_check_of_the_built_in_pathways_has_room_on_a_page() {
    let mut looked = 0;
    every_check(|stage, step, check, item| {
        let room = stage.app.global::<CheckRoom>();
        let hint = step.hint.clone().unwrap_or_default();
        let turned = stage.app.global::<Operate>().get_page() > 0;
        let free = room.invoke_room(800.0, step.title.as_str().into(), hint.into(), turned, true);
        let height = room.invoke_height(check.clone(), false);
        assert!((item.size().height - height).abs() <= SLACK, "{}: drawn {:?}", check.text, item.size());
        assert!(height <= free, "{} / {}: {height} of {free}", step.title, check.text);
        looked += 1;
    });
    assert!(looked > 60, "only {looked} checks");
}

#[test]
fn the_words_of_every_check_stay_inside_it() {
    every_check(|_, step, check, item| {
        let (top, bottom) = (item.absolute_position().y, item.absolute_position().y + item.size().height);
        let words = item.query_descendants().match_inherits("Text").find_all();
        assert!(!words.is_empty());
        for text in words {
            let (at, size) = (text.absolute_position(), text.size());
            let inside = at.y + SLACK >= top && at.y + size.height <= bottom + SLACK;
            assert!(inside, "{} / {}: words at {at:?} {size:?} in {top} to {bottom}", step.title, check.text);
        }
    });
}

#[test]
fn the_head_of_every_step_stays_above_its_checks() {
    every_check(|stage, step, _, item| {
        let heads = ElementQuery::from_root(&stage.app).match_inherits("StepHead").find_all();
        let words = heads.iter().flat_map(|head| head.query_descendants().match_inherits("Text").find_all());
        // The key back to earlier checks stands beside the words and has none of its own.
        let words = words.filter(|text| text.accessible_label().is_some_and(|label| !label.is_empty()));
        let bottoms: Vec<f32> = words.map(|text| text.absolute_position().y + text.size().height).collect();
        assert_eq!(bottoms.len(), 1 + usize::from(step.hint.is_some()), "{}: title and hint", step.title);
        let top = item.absolute_position().y;
        for bottom in bottoms {
            assert!(bottom <= top + SLACK, "{}: head to {bottom}, checks from {top}", step.title);
        }
    });
}
