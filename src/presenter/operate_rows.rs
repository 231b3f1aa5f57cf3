//! From the checks of a place to the lines of the screen.

use super::app::App;
use super::clocks;
use super::view_known::{self, Room};
use crate::carm::{MachineScale, ViewName, ViewTarget, Words};
use crate::case::{Answer, AnswerState, Case, Closed, PlaceLayout};
use crate::pathway::{Check, CheckKind, Interval, Place};
use crate::units::Unit;
use brimline_ui::{CheckAsk, CheckLine, OptionKey, RowState};
use slint::SharedString;

/// How many characters the screen puts on one line of a caution and of a criterion.
#[derive(Clone, Copy)]
pub(super) struct LineWidths {
    pub caution: usize,
    pub criterion: usize,
}

/// The lines of a place, in order.
pub(super) fn lines(app: &App, case: &Case, at: &PlaceLayout<'_>, widths: LineWidths) -> Vec<CheckLine> {
    let blocked = case.gate_in_the_way(&at.place).is_some()
        && matches!(case.state().status, crate::case::Status::Running | crate::case::Status::Paused);
    case.checks_at(at).into_iter().map(|check| line(app, case, &at.place, check, blocked, widths)).collect()
}

fn line(app: &App, case: &Case, place: &Place, check: &Check, blocked: bool, widths: LineWidths) -> CheckLine {
    let answered = case.state().answer(place, &check.id);
    let cautions: Vec<&str> = case.cautions(place, check);
    let criteria = criteria(check);
    let aimed = Aimed::of(app, case, check);
    let words = angle_words(app, check, aimed.words);
    let viewed = if let CheckKind::View { view, .. } = &check.ask { Some(*view) } else { None };
    let (shows, picture) = (viewed.is_some(), viewed.and_then(|view| app.around.targets.small(view)));
    let heading =
        [view(check), aimed.remark].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ");
    CheckLine {
        id: check.id.as_str().into(),
        ask: ask(&check.ask),
        state: state(answered, blocked),
        held: check.held,
        text: check.text.as_str().into(),
        detail: answered.map_or_else(|| open_detail(app, check), |answer| answered_detail(case, check, answer)).into(),
        caution_lines: wrapped(&cautions, widths.caution),
        cautions: texts(&cautions),
        options: options(check),
        angle: aimed.angle.into(),
        view: heading.into(),
        angle_words: words.into(),
        criteria_lines: wrapped(&criteria, widths.criterion),
        criteria: texts(&criteria),
        scale: shows,
        shows,
        pictured: picture.is_some(),
        picture: picture.unwrap_or_default(),
    }
}

fn ask(kind: &CheckKind) -> CheckAsk {
    match kind {
        CheckKind::Confirm => CheckAsk::Confirm,
        CheckKind::Choice { .. } => CheckAsk::Choice,
        CheckKind::Measure { .. } => CheckAsk::Measure,
        CheckKind::Count { .. } => CheckAsk::Count,
        CheckKind::View { .. } => CheckAsk::View,
        CheckKind::Pin { .. } => CheckAsk::Pin,
        CheckKind::Timer { .. } => CheckAsk::Timer,
        CheckKind::Scan { .. } => CheckAsk::Scan,
        CheckKind::Note => CheckAsk::Note,
    }
}

fn state(answered: Option<&AnswerState>, blocked: bool) -> RowState {
    match answered {
        None if blocked => RowState::Blocked,
        None => RowState::Open,
        Some(AnswerState { outcome: Closed::NotDone { .. }, .. }) => RowState::NotDone,
        Some(answer) if answer.flags.unusual => RowState::Unusual,
        Some(_) => RowState::Confirmed,
    }
}

fn texts(lines: &[&str]) -> slint::ModelRc<SharedString> {
    super::case_view::model(lines.iter().map(|line| SharedString::from(*line)).collect())
}

fn wrapped(lines: &[&str], width: usize) -> i32 {
    let lines: usize = lines.iter().map(|line| line.chars().count().div_ceil(width.max(1)).max(1)).sum();
    super::case_view::count(lines)
}

fn criteria(check: &Check) -> Vec<&str> {
    match &check.ask {
        CheckKind::View { criteria, .. } | CheckKind::Pin { criteria, .. } => {
            criteria.iter().map(String::as_str).collect()
        }
        _ => Vec::new(),
    }
}

fn options(check: &Check) -> slint::ModelRc<OptionKey> {
    let CheckKind::Choice { options } = &check.ask else { return slint::ModelRc::default() };
    let keys = options.iter().map(|option| OptionKey {
        id: option.id.as_str().into(),
        text: option.text.as_str().into(),
        heed: option.heed,
    });
    super::case_view::model(keys.collect())
}

fn view(check: &Check) -> String {
    match &check.ask {
        CheckKind::View { view, .. } => view.word().to_owned(),
        CheckKind::Pin { views, .. } => views.iter().map(|view| view.word()).collect::<Vec<_>>().join(" · "),
        _ => String::new(),
    }
}

/// Whether a re-aim changes how the view is reached.
fn re_aimable(check: &Check) -> bool {
    matches!(&check.ask, CheckKind::View { view, .. } if !matches!(view, ViewName::Ap | ViewName::Lateral))
}

/// How a view is reached: as planned, or as re-aimed.
#[derive(Default)]
struct Aimed {
    angle: String,
    /// How the room says it.
    words: Option<String>,
    /// By how much the plan is turned, or that it is no more known; empty: nothing to say.
    remark: String,
}

impl Aimed {
    fn of(app: &App, case: &Case, check: &Check) -> Self {
        let CheckKind::View { view, .. } = &check.ask else { return Self::default() };
        let planned = case.plan().views.iter().find(|plan| plan.view == *view);
        let Some(planned) = planned else { return Self::default() };
        let void = if re_aimable(check) && case.state().re_aim_void() { "moved since: re-aim void" } else { "" };
        let room = Room::of(app);
        let target = view_known::target(case.plan(), *view, room, None).map(|(target, _)| target);
        let displays = target.as_ref().and_then(|target| displays(app, room, target));
        let as_planned = format!("{:.0}°", planned.tilt_deg.abs());
        let re_aimed = case.state().re_aim().filter(|re_aimed| re_aimed.finding.adds_deg(*view) != 0.0);
        let (angle, words, remark) = match (re_aimed, target) {
            (Some(re_aimed), Some(target)) => {
                let moves: Vec<String> = target.moves.iter().map(|one| Words::built_in().say(one)).collect();
                let angle = format!("{:.0}°", target.joints.tilt.0.abs());
                (angle, moves.join("; "), format!("planned {as_planned} · {}", re_aimed.finding))
            }
            _ => (as_planned, planned.words.clone(), void.to_owned()),
        };
        Self { angle, words: Some(displays.into_iter().chain([words]).collect::<Vec<_>>().join(" · ")), remark }
    }
}

/// What the displays of the site's machine read at a target; nothing where it was not learnt, or learnt otherwise.
fn displays(app: &App, room: Room, target: &ViewTarget) -> Option<String> {
    let scale = view_known::machine(app).and_then(MachineScale::of_site)?;
    let read = scale.readings(&room.arm(), &target.joints).ok()?;
    Some(format!("displays: tilt {:.0}°, orbit {:.0}°", read.tilt.0, read.orbit.0))
}

fn angle_words(app: &App, check: &Check, words: Option<String>) -> String {
    let noted = app.scale.as_ref().filter(|(id, ..)| *id == check.id).map(|(_, scale, mark)| {
        let mark = mark.as_ref().map(|mark| format!(" · floor mark {mark}")).unwrap_or_default();
        format!("scale {}{mark}", app.decimal(*scale))
    });
    words.into_iter().chain(noted).collect::<Vec<_>>().join(" · ")
}

fn open_detail(app: &App, check: &Check) -> String {
    let expected = match &check.ask {
        CheckKind::Measure { unit, expected, .. } => Some(format!("expected {}", app.interval(*expected, *unit))),
        _ => None,
    };
    check.detail.iter().cloned().chain(expected).collect::<Vec<_>>().join(" · ")
}

/// What was answered, when, and by whom.
fn answered_detail(case: &Case, check: &Check, answer: &AnswerState) -> String {
    let said = match &answer.outcome {
        Closed::NotDone { reason } => format!("not done: {reason}"),
        Closed::Answered { answer, .. } => words(check, answer),
    };
    let (when, who) = (clocks::wall(case, answer.at), answer.by.role.word().to_owned());
    let late = if answer.flags.late { Some("late entry".to_owned()) } else { None };
    let parts = [said, when, who].into_iter().filter(|part| !part.is_empty()).chain(late);
    parts.collect::<Vec<_>>().join(" · ")
}

/// An answer in words; nothing for a plain yes.
pub(super) fn words(check: &Check, answer: &Answer) -> String {
    match answer {
        Answer::Confirmed | Answer::PinAccepted => String::new(),
        Answer::Chosen { option } => match &check.ask {
            CheckKind::Choice { options } => {
                let known = options.iter().find(|known| known.id == *option);
                known.map_or_else(|| option.clone(), |known| known.text.clone())
            }
            _ => option.clone(),
        },
        Answer::Measured { value, unit, .. } => format!("{value} {}", unit.symbol()),
        Answer::Counted { numbers, second } => {
            let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
            format!("{}, with {}", numbers.join(", "), second.role)
        }
        Answer::ViewAccepted { scale_deg, floor_mark } => {
            let scale = scale_deg.map(|scale| format!("scale {scale}°"));
            let mark = floor_mark.as_ref().map(|mark| format!("floor mark {mark}"));
            ["accepted".to_owned()].into_iter().chain(scale).chain(mark).collect::<Vec<_>>().join(", ")
        }
        Answer::TimerStarted { ago_min: 0 } => "started".to_owned(),
        Answer::TimerStarted { ago_min } => format!("started {ago_min} min before"),
        Answer::Scanned { text } | Answer::Noted { text } => text.clone(),
    }
}

impl App {
    /// A number with the site's decimal sign.
    pub(super) fn decimal(&self, value: f64) -> String {
        value.to_string().replace('.', &self.settings.decimal_sign.character().to_string())
    }

    /// An interval with its unit.
    pub(super) fn interval(&self, interval: Interval, unit: Unit) -> String {
        format!("{} to {} {}", self.decimal(interval.from), self.decimal(interval.to), unit.symbol())
    }
}
