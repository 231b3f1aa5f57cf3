//! Score and debrief of a rehearsal: pass or fail first and why, then the shots one by one beside the solid.
//!
//! Here alone stands what the room could not know. What it does not do: it names no person, and what it says of the
//! trainee goes nowhere but into the record that the trainee signs.

use super::app::{App, Shared, window};
use super::case_view::{self, model};
use super::exercise_picture::{self, Asked};
use super::outline::{Frame, line, outline};
use super::say::capitalised;
use super::{around, clocks, sign_off, touch};
use crate::carm::Point;
use crate::pelvis::Bones;
use crate::rehearse::{
    Aspect, Debrief as Found, InPicture, NOTICE, Rehearsal, Replayed, SHOT_S, Score, Shot, Taught, Verdict,
};
use brimline_ui::{AppWindow, Debrief, DebriefShows, FindingLine, ImagePane, Place, Shell, SolidDrawing};
use slint::{ComponentHandle, Image};

/// A side of a picture and of a drawing on the screen.
const PANE: f64 = 404.0;
/// The two sides the solid is seen from, with the part of the plane that is drawn, mm.
const SIDES: [(Aspect, &str, Frame); 2] = [
    (Aspect::Front, "from the front", Frame { left: -150.0, top: 95.0, side: 300.0 }),
    (Aspect::Left, "from the patient's left", Frame { left: -170.0, top: 95.0, side: 300.0 }),
];
/// Distance of the balls a drawing is made of, and how much of the pin stands out, mm.
const COARSE_MM: f64 = 8.0;
const STANDS_OUT_MM: f64 = 60.0;

/// A debrief on screen.
pub(super) struct Shown {
    found: Found,
    score: Score,
    /// The bones from the two sides, as commands of a path.
    bones: [String; 2],
    at: usize,
    shows: DebriefShows,
    picture: Option<(u32, Image)>,
}

/// Binds the screen.
pub(super) fn connect(window: &AppWindow, app: &Shared) {
    let screen = window.global::<Debrief>();
    let to = |does: fn(&Shared)| touch::plain(app, does);
    screen.on_show_score(to(|app| turn(app, DebriefShows::Score)));
    screen.on_show_shots(to(|app| turn(app, DebriefShows::Shots)));
    screen.on_earlier(to(|app| step(app, |at| at.saturating_sub(1))));
    screen.on_later(to(|app| step(app, |at| at + 1)));
    screen.on_go_on(to(|app| {
        around::of(app).debriefing.take();
        around::of(app).rehearsing.take();
        sign_off::show(app);
    }));
}

/// Shows the score of the rehearsal that ended.
pub(super) fn show(app: &Shared) {
    let around = around::of(app);
    if around.debriefing.borrow().is_none() {
        let shown = {
            let (app, running) = (app.borrow(), around.rehearsing.borrow());
            let (Some(running), Some(case)) = (running.as_ref(), app.case()) else { return };
            Shown {
                found: Found::of(&running.session),
                score: Score::of(&running.session, Some(case.state())),
                bones: bones(&running.session),
                at: 0,
                shows: DebriefShows::Score,
                picture: None,
            }
        };
        around.debriefing.replace(Some(shown));
    }
    let Some(window) = window(app) else { return };
    case_view::fill(&window, app);
    fill(app);
    window.global::<Shell>().set_place(Place::Debrief);
}

/// The bones from the two sides, each bone with a border of its own.
fn bones(session: &Rehearsal) -> [String; 2] {
    let bones = Bones::of(&session.person().shape);
    let balls = [&bones.sacrum, &bones.hips[0], &bones.hips[1]].map(|bone| bone.balls(COARSE_MM));
    SIDES.map(|(aspect, _, frame)| balls.iter().map(|balls| outline(&frame, &aspect.shadow(balls))).collect())
}

fn turn(app: &Shared, shows: DebriefShows) {
    if let Some(shown) = around::of(app).debriefing.borrow_mut().as_mut() {
        shown.shows = shows;
    }
    fill(app);
    want(app);
}

fn step(app: &Shared, to: fn(usize) -> usize) {
    if let Some(shown) = around::of(app).debriefing.borrow_mut().as_mut() {
        shown.at = to(shown.at).min(shown.found.shots.len().saturating_sub(1));
    }
    fill(app);
    want(app);
}

/// Draws the shot on screen again, beside the window.
pub(super) fn want(app: &Shared) {
    let pixels = exercise_picture::pixels(app, PANE);
    let around = around::of(app);
    let asked = {
        let (shown, running) = (around.debriefing.borrow(), around.rehearsing.borrow());
        let (Some(shown), Some(running)) = (shown.as_ref(), running.as_ref()) else { return };
        let Some(replayed) = shown.found.shots.get(shown.at) else { return };
        let hangs = shown.picture.as_ref().is_some_and(|(number, _)| *number == replayed.shot.number);
        if hangs || shown.shows != DebriefShows::Shots {
            return;
        }
        let (solids, seed) = (running.solids.clone(), running.session.exercise().seed);
        Asked { solids, shot: replayed.shot.clone(), seed, pixels }
    };
    let number = asked.shot.number;
    around.drawing.run(
        app,
        move || exercise_picture::drawn(&asked),
        move |app, drawn| {
            let picture = drawn.map(Image::from_rgb8).unwrap_or_default();
            if let Some(shown) = around::of(app).debriefing.borrow_mut().as_mut() {
                shown.picture = Some((number, picture));
            }
            fill(app);
            want(app);
        },
    );
}

fn fill(app: &Shared) {
    let Some(window) = window(app) else { return };
    let around = around::of(app);
    let shown = around.debriefing.borrow();
    let Some(shown) = shown.as_ref() else { return };
    let screen = window.global::<Debrief>();
    screen.set_shows(shown.shows);
    screen.set_notice(NOTICE.into());
    screen.set_passed(shown.score.verdict == Verdict::Passed);
    screen.set_verdict(verdict_word(&shown.score.verdict).into());
    screen.set_why(model(why(&shown.score.verdict).into_iter().map(Into::into).collect()));
    screen.set_numbers(model(numbers(&app.borrow(), &shown.score, &shown.found)));
    let count = shown.found.shots.len();
    screen.set_first(shown.at == 0);
    screen.set_last(shown.at + 1 >= count);
    let replayed = shown.found.shots.get(shown.at);
    screen.set_shot_words(replayed.map_or_else(|| "No shot was taken".to_owned(), |one| words(one, count)).into());
    screen.set_taught(replayed.map_or_else(String::new, |one| one.taught.to_string()).into());
    screen.set_taught_nothing(replayed.is_some_and(|one| matches!(one.taught, Taught::Nothing(_))));
    screen.set_pane(pane(shown, replayed));
    screen.set_drawings(model(drawings(shown, replayed.map(|one| &one.shot))));
}

fn verdict_word(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Passed => "Passed",
        Verdict::Failed(_) => "Failed",
        Verdict::StoppedUnsure => "Stopped when unsure",
        Verdict::NotDone(_) => "Not done",
    }
}

fn why(verdict: &Verdict) -> Vec<String> {
    match verdict {
        Verdict::Passed => vec!["Passes rank by fewer shots, then less dose, then less time".to_owned()],
        Verdict::Failed(failures) => failures.iter().map(|failure| capitalised(&failure.to_string())).collect(),
        Verdict::StoppedUnsure => vec!["Nothing was breached: stopping when unsure counts for, not against".to_owned()],
        Verdict::NotDone(lacks) => lacks.iter().map(|lack| capitalised(&lack.to_string())).collect(),
    }
}

fn numbers(app: &App, score: &Score, found: &Found) -> Vec<FindingLine> {
    let row = |label: &str, value: String, heed: bool| FindingLine {
        label: label.into(),
        value: value.into(),
        doubt: slint::SharedString::default(),
        heed,
    };
    let kerma = score.dose.total.and_then(|total| total.reference_air_kerma).map_or(0.0, |kerma| kerma.0);
    let wasted = found.wasted().count();
    let mut rows = vec![
        row("shots", score.shots.to_string(), false),
        row("shots that taught nothing", wasted.to_string(), wasted > 0),
        row("at the console", format!("{} mGy", app.fixed(kerma, 2)), false),
        row("time", clocks::long(score.elapsed_ms), false),
    ];
    for view in &score.views {
        let label = format!("{}, off by", view.view.word());
        let heed = view.off.counts > view.tolerance_deg;
        rows.push(FindingLine {
            doubt: format!("of {:.0}°", view.tolerance_deg).into(),
            ..row(&label, format!("{}°", app.fixed(view.off.counts, 1)), heed)
        });
    }
    for (edge, mm) in &score.margins {
        rows.push(row(&format!("largest tool from the {edge}"), format!("{} mm", app.fixed(*mm, 1)), *mm < 0.0));
    }
    let counted = [
        ("redirections", score.redirections),
        ("gates and mishaps gone past", score.gates_missed),
        ("collisions", score.collisions),
    ];
    rows.extend(counted.into_iter().map(|(label, count)| row(label, count.to_string(), false)));
    rows
}

fn words(replayed: &Replayed, count: usize) -> String {
    let shot = &replayed.shot;
    let meant = shot.meant.map_or_else(String::new, |view| format!(" · meant as {}", view.word().to_lowercase()));
    let off = shot.off.filter(|_| shot.contents != InPicture::Blank);
    let off = off.map_or_else(String::new, |off| format!(" · {:.0}° off", off.counts));
    let accepted = if replayed.accepted.is_some() { " · accepted" } else { "" };
    let run = if shot.seconds > SHOT_S { format!(" · a run of {:.1} s", shot.seconds) } else { String::new() };
    format!("Shot {} of {count}{run}{meant}{off}{accepted}", shot.number)
}

fn pane(shown: &Shown, replayed: Option<&Replayed>) -> ImagePane {
    let number = replayed.map(|one| one.shot.number);
    let drawn = shown.picture.as_ref().filter(|(drawn, _)| Some(*drawn) == number);
    ImagePane {
        caption: number.map_or_else(String::new, |number| format!("Shot {number} · a model")).into(),
        empty_text: if number.is_some() { "The picture is being made again" } else { "No shot was taken" }.into(),
        picture: drawn.map(|(_, picture)| picture.clone()).unwrap_or_default(),
        filled: drawn.is_some(),
        ..ImagePane::default()
    }
}

fn drawings(shown: &Shown, shot: Option<&Shot>) -> Vec<SolidDrawing> {
    let drawing = |((aspect, title, frame), bones): ((Aspect, &str, Frame), &String)| {
        let between = |from: Point, to: Point| frame.clipped(aspect.place(&from), aspect.place(&to)).map(line);
        let beam = shot.and_then(|shot| between(shot.pose.source, shot.pose.detector_centre));
        let pin = shot.and_then(|shot| shot.pin.as_ref());
        let pin = pin.and_then(|pin| between(pin.at(-STANDS_OUT_MM), pin.at(pin.depth)));
        SolidDrawing {
            title: title.into(),
            bones: format!("{bones}{CORNERS}").into(),
            beam: beam.map(|beam| format!("{beam}{CORNERS}")).unwrap_or_default().into(),
            pin: pin.map(|pin| format!("{pin}{CORNERS}")).unwrap_or_default().into(),
        }
    };
    SIDES.into_iter().zip(&shown.bones).map(drawing).collect()
}

/// Nothing is drawn by it: it holds a path to the whole field.
const CORNERS: &str = "M0 0 M1000 1000";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenter::outline::FIELD;
    use crate::rehearse::{Failure, Lack};

    #[test]
    fn corners_hold_the_whole_field() {
        assert_eq!(CORNERS, format!("M0 0 M{FIELD:.0} {FIELD:.0}"));
    }

    #[test]
    fn every_verdict_says_why() {
        let lacks = Verdict::NotDone(vec![Lack::NotFinished, Lack::NotDrilled]);
        let failed = Verdict::Failed(vec![Failure::BlindAdvance { mm: 14.0 }]);
        assert_eq!(why(&failed), ["Blind advance: 14 mm without a look"]);
        for verdict in [Verdict::Passed, failed, Verdict::StoppedUnsure, lacks] {
            assert!(!why(&verdict).is_empty() && !verdict_word(&verdict).is_empty());
        }
    }
}
