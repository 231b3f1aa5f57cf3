//! From a pin being touched, and from what was found of it, to the rows of the screen.

use super::app::App;
use super::pin_draft::{Draft, Lacks, Mark};
use super::questions::row;
use crate::carm::ViewName;
use crate::pin::{Caught, EdgeName, Finding, Margin, Measured, PinMark, Question};
use crate::plan::Plan;
use brimline_ui::{FindingLine, ImageMark, ImagePane, PickRow, PinStep, Sign};
use std::fmt::Write;

/// The field that lines are drawn on.
const FIELD: f64 = 1000.0;
/// Boxes below the pictures.
const STEPS: usize = 4;

/// What a callback names a mark by.
pub(super) fn id(pane: usize, mark: Mark) -> String {
    format!("{pane}-{mark:?}")
}

/// One picture with its marks; `sizes`: of pane and loupe in pixels.
pub(super) fn pane(draft: &mut Draft, plan: &Plan, number: usize, sizes: [u32; 2], finding: bool) -> ImagePane {
    let view = draft.panes[number].view.map(ViewName::word).unwrap_or_default();
    let known = draft.panes[number].known(plan, draft.room).map(|known| known.words).unwrap_or_default();
    let empty_text = format!("{view}: no picture yet. Choose one under \"Views and tool\".").into();
    let wanted = if finding || draft.chosen.0 != number { String::new() } else { draft.chosen.1.words() };
    let chosen = (!finding && draft.chosen.0 == number).then_some(draft.chosen.1);
    let dragging = draft.dragging.filter(|(pane, ..)| *pane == number);
    let pane = &mut draft.panes[number];
    let active = !finding && draft.chosen.0 == number;
    let Some(picture) = &mut pane.picture else {
        return ImagePane { empty_text, active, ..ImagePane::default() };
    };
    let finger = dragging.and_then(|(_, mark, index)| pane.touched.get(&mark)?.get(index).copied());
    let [x, y] = finger.map(|at| picture.on_screen(at)).unwrap_or_default();
    let (strokes, dashes) = lines(&pane.touched, picture);
    ImagePane {
        caption: format!("{view} · {known} · {}", picture.when).into(),
        empty_text,
        picture: picture.drawn(sizes[0]),
        filled: true,
        active,
        wanted: wanted.into(),
        marks: super::case_view::model(marks(&pane.touched, picture, chosen)),
        strokes: strokes.into(),
        dashes: dashes.into(),
        loupe: finger.map(|at| picture.loupe(at, sizes[1], sizes[0])).unwrap_or_default(),
        magnified: finger.is_some(),
        finger_x: part(x),
        finger_y: part(y),
    }
}

fn part(of: f64) -> f32 {
    #[allow(clippy::cast_possible_truncation, reason = "a place on the screen")]
    let part = of as f32;
    part
}

type Touched = std::collections::BTreeMap<Mark, Vec<super::picture::Spot>>;

fn marks(touched: &Touched, picture: &super::picture::Picture, chosen: Option<Mark>) -> Vec<ImageMark> {
    let all = touched.iter().flat_map(|(mark, spots)| spots.iter().map(move |spot| (*mark, *spot)));
    let shown = all.map(|(mark, spot)| {
        let [x, y] = picture.on_screen(spot);
        let small = mark.places() > 1 || mark == Mark::Shank;
        ImageMark { x: part(x), y: part(y), chosen: chosen == Some(mark) && !small, small }
    });
    shown.filter(|mark| (0.0..=1.0).contains(&mark.x) && (0.0..=1.0).contains(&mark.y)).collect()
}

/// The pin as a line, edges dashed.
fn lines(touched: &Touched, picture: &super::picture::Picture) -> (String, String) {
    let at = |spot: &super::picture::Spot| picture.on_screen(*spot).map(|part| part.clamp(-1.0, 2.0) * FIELD);
    let first = |mark| touched.get(&mark).and_then(|spots| spots.first()).map(at);
    let strokes = match (first(Mark::Tip), first(Mark::Shank)) {
        (Some([tip_x, tip_y]), Some([x, y])) => format!("M{x:.1} {y:.1} L{tip_x:.1} {tip_y:.1}"),
        _ => String::new(),
    };
    let mut dashes = String::new();
    for (mark, spots) in touched.iter().filter(|(mark, _)| matches!(mark, Mark::Edge(_) | Mark::Length)) {
        let mut spots: Vec<[f64; 2]> = spots.iter().map(at).collect();
        let closed = matches!(mark, Mark::Edge(EdgeName::S1Foramen | EdgeName::S2Foramen));
        if closed && spots.len() > 2 {
            spots.push(spots[0]);
        }
        for pair in spots.windows(2) {
            dash(&mut dashes, pair[0], pair[1]);
        }
    }
    (strokes, dashes)
}

/// Strokes of 14 with gaps of 10, on the field.
fn dash(out: &mut String, from: [f64; 2], to: [f64; 2]) {
    let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    let length = dx.hypot(dy);
    let mut along = 0.0;
    while along < length {
        let end = (along + 14.0).min(length);
        let place = |along: f64| [from[0] + dx * along / length, from[1] + dy * along / length];
        let ([ax, ay], [bx, by]) = (place(along), place(end));
        let _ = write!(out, "M{ax:.1} {ay:.1} L{bx:.1} {by:.1} ");
        along += 24.0;
    }
}

/// What can be touched, on the view chosen first.
pub(super) fn targets(draft: &Draft) -> Vec<PickRow> {
    let of = |number: usize| {
        let pane = &draft.panes[number];
        let view = pane.view.map(ViewName::word).unwrap_or_default();
        draft.marks(number).into_iter().map(move |mark| {
            let set = pane.touched.get(&mark).map_or(0, Vec::len);
            let count = if mark.places() > 1 && set > 0 { format!("{view} · {set} touched") } else { view.to_owned() };
            let done = set > 0 && (set == mark.places() || matches!(mark, Mark::Edge(_)));
            let mut words = mark.words();
            words.replace_range(..1, &words[..1].to_uppercase());
            let mark_of = if done { Sign::Tick } else { Sign::None };
            let chosen = draft.chosen == (number, mark);
            PickRow { mark: mark_of, ..row(&id(number, mark), &words, &count, chosen) }
        })
    };
    let first = draft.chosen.0;
    draft.from(first).into_iter().flat_map(of).collect()
}

/// What keeps the pin from being found, in words.
pub(super) fn missing(draft: &Draft, lacks: Option<(usize, Lacks)>) -> String {
    match lacks {
        None => "from the places touched".to_owned(),
        Some((_, Lacks::Frame)) => Lacks::Frame.words(),
        Some((pane, lacks)) => {
            let view = draft.panes[pane].view.map(ViewName::word).unwrap_or_default();
            format!("{view}: {}", lacks.words())
        }
    }
}

/// Every number with its ±, what asks first.
pub(super) fn numbers(app: &App, finding: &Finding) -> Vec<FindingLine> {
    let mut lines: Vec<FindingLine> = finding.margins.iter().map(|margin| margin_line(app, finding, margin)).collect();
    if let Some(joint) = &finding.joint {
        lines.push(measured(app, "off the joint's perpendicular", joint.off_perpendicular_deg, "°", 0));
        lines.push(measured(app, "of the force along the joint", joint.along_percent, " %", 0));
        lines.push(measured(app, "of the force across the joint", joint.across_percent, " %", 0));
        lines.extend(joint.past_mm.map(|past| measured(app, "past the joint", past, " mm", 0)));
    }
    if let Some(tip) = &finding.tip {
        lines.push(measured(app, "tip, toward the left of S1", tip.left_mm, " mm", 0));
        lines.push(measured(app, "tip, toward the back of S1", tip.posterior_mm, " mm", 0));
        lines.push(measured(app, "tip, toward the head from S1", tip.head_mm, " mm", 0));
    }
    for gap in &finding.gaps {
        let doubt = format!("≤ {} fits", app.fixed(gap.explained_mm, 1));
        let heed = gap.gap_mm > gap.explained_mm;
        let value = format!("{} mm", app.fixed(gap.gap_mm, 1));
        lines.push(FindingLine {
            label: "rays miss each other by".into(),
            value: value.into(),
            doubt: doubt.into(),
            heed,
        });
    }
    for missing in &finding.not_given {
        let (label, doubt) = (format!("no {}", missing.what), missing.why.to_string());
        lines.push(FindingLine { label: label.into(), doubt: doubt.into(), ..FindingLine::default() });
    }
    lines
}

fn margin_line(app: &App, finding: &Finding, margin: &Margin) -> FindingLine {
    let tool = finding.tool_mm.map(|tool| format!("{} mm tool to ", app.decimal(tool))).unwrap_or_default();
    let seen = if margin.views.len() == 1 { ", in this view" } else { "" };
    let label = format!("{tool}{}{seen}", margin.edge);
    FindingLine { heed: margin.short, ..measured(app, &label, margin.margin_mm, " mm", 1) }
}

fn measured(app: &App, label: &str, of: Measured, unit: &str, places: usize) -> FindingLine {
    // A ± that rounds to nothing would promise what no touch can.
    let doubt = if places == 0 { of.plus_minus.max(1.0) } else { of.plus_minus.max(0.1) };
    FindingLine {
        label: label.into(),
        value: format!("{}{unit}", app.fixed(of.value, places)).into(),
        doubt: format!("± {}", app.fixed(doubt, places)).into(),
        heed: false,
    }
}

/// What is wrong, then what is asked; empty: nothing.
pub(super) fn question(finding: &Finding) -> String {
    let caught = finding.caught.iter().map(Caught::to_string);
    let edges: Vec<String> =
        finding.questions.iter().map(|Question::ShortMargin { edge, .. }| edge.to_string()).collect();
    let limit = finding.margin_limit_mm;
    let asked = (!edges.is_empty()).then(|| {
        format!("Nearer the edge you touched than this site's {limit} mm: {}. Keep it, or redirect?", edges.join(", "))
    });
    caught.chain(asked).collect::<Vec<_>>().join("\n")
}

/// What keeping the pin does beside keeping it.
pub(super) fn kept_as(finding: &Finding) -> String {
    let word = |mark: PinMark| match mark {
        PinMark::ShortMargin { .. } => "short margin",
        PinMark::AnglesOnly { .. } => "angles only",
        PinMark::HeldBack => "results held back",
    };
    let mut said: Vec<&str> = finding.marks().into_iter().map(word).collect();
    said.dedup();
    if said.is_empty() { "kept in the record".to_owned() } else { format!("marks the record: {}", said.join(", ")) }
}

/// The margin that asks first, now and further on, and what a millimetre is on the other view.
pub(super) fn steps(app: &App, finding: &Finding) -> Vec<PinStep> {
    let nearest =
        finding.margins.iter().enumerate().min_by(|(_, a), (_, b)| a.margin_mm.value.total_cmp(&b.margin_mm.value));
    let mut steps = Vec::new();
    if let Some((number, now)) = nearest {
        steps.push(step(app, "now".to_owned(), now, true));
        for further in &finding.further {
            let title = format!("{} mm further", further.further_mm);
            steps.extend(further.margins.get(number).map(|margin| step(app, title, margin, false)));
        }
    }
    let cross = finding.cross_views.first().filter(|_| !finding.held_back());
    let keep = if cross.is_some() { STEPS - 1 } else { STEPS };
    steps.truncate(keep);
    steps.extend(cross.map(|crossed| PinStep {
        title: "1 mm seen here is".into(),
        value: format!("{} mm", app.fixed(crossed.seen_mm, 1)).into(),
        detail: "on the other view".into(),
        here: false,
    }));
    steps
}

fn step(app: &App, title: String, margin: &Margin, here: bool) -> PinStep {
    let Measured { value, plus_minus } = margin.margin_mm;
    let value = format!("{} ± {} mm", app.fixed(value, 1), app.fixed(plus_minus, 1));
    PinStep { title: title.into(), value: value.into(), detail: margin.edge.to_string().into(), here }
}

impl App {
    /// A number to so many places, with the site's decimal sign and never "-0".
    pub(super) fn fixed(&self, value: f64, places: usize) -> String {
        let text = format!("{value:.places$}");
        let nothing = text.trim_start_matches('-').chars().all(|sign| matches!(sign, '0' | '.'));
        let text = if nothing { text.trim_start_matches('-').to_owned() } else { text };
        text.replace('.', &self.settings.decimal_sign.character().to_string())
    }
}
