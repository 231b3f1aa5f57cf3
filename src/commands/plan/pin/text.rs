//! A pin finding as text that is read at a glance: what is wrong, what is asked, then the numbers in one column.
//!
//! What it does not do: no rule and no number of its own.

use crate::carm::ViewName;
use crate::pin::{ADVISORY, CrossView, Finding, FrameUsed, Margin, Measured, Question};
use std::fmt::Write;

/// Width of the labels, of a value, and of its unit with what follows.
const LABEL: usize = 34;
const VALUE: usize = 7;

pub(super) fn text(finding: &Finding) -> String {
    let mut text = String::new();
    let side = finding.side.to_string().to_uppercase();
    let views: Vec<&str> = finding.views.iter().map(|view| view.word()).collect();
    line(&mut text, &format!("PIN {side}   {}", views.join(" + ")));
    for caught in &finding.caught {
        line(&mut text, &format!("\n  !  {caught}"));
    }
    if let Some(question) = question(finding) {
        line(&mut text, &format!("\n  ?  {question}"));
    }
    line(&mut text, "");
    numbers(&mut text, finding);
    further(&mut text, finding);
    left_out(&mut text, finding);
    for crossed in finding.cross_views.iter().filter(|_| !finding.held_back()) {
        line(&mut text, &cross_view(crossed));
    }
    if let Some(frame) = frame(&finding.frame) {
        line(&mut text, &format!("Positions: {frame}."));
    }
    line(&mut text, &format!("± holds in {} of 100, if the stated errors are right.", finding.coverage_percent));
    line(&mut text, ADVISORY);
    text
}

/// All questions in one, since they are answered by one decision.
fn question(finding: &Finding) -> Option<String> {
    let edges: Vec<String> =
        finding.questions.iter().map(|Question::ShortMargin { edge, .. }| edge.to_string()).collect();
    let (limit, edges) = (finding.margin_limit_mm, edges.join(", "));
    (!edges.is_empty()).then(|| format!("Nearer than this site's {limit} mm: {edges}. Keep it, or redirect?"))
}

fn line(text: &mut String, words: &str) {
    text.push_str(words.trim_end());
    text.push('\n');
}

fn row(text: &mut String, label: &str, value: &str, unit: &str, rest: &str) {
    line(text, &format!("  {label:LABEL$}{value:>VALUE$}{unit:3}  {rest}"));
}

fn numbers(text: &mut String, finding: &Finding) {
    let margins = finding.margins.iter();
    let tool = finding.tool_mm.map_or(String::new(), |tool| format!("{tool} mm tool to "));
    let before = text.len();
    for margin in margins {
        let asks = match margin {
            Margin { margin_mm: Measured { value, .. }, .. } if *value < 0.0 => "   ? through it",
            Margin { short: true, .. } => "   ?",
            _ => "",
        };
        let rest = format!("± {:<4.1}  {}{asks}", margin.margin_mm.plus_minus, seen(margin));
        row(text, &format!("{tool}{}", margin.edge), &format!("{:.1}", margin.margin_mm.value), " mm", &rest);
    }
    if let Some(joint) = &finding.joint {
        let whole = |text: &mut String, label: &str, value: Measured, unit: &str| {
            row(text, label, &format!("{:.0}", value.value), unit, &format!("± {:.0}", value.plus_minus.max(1.0)));
        };
        whole(text, "off the joint's perpendicular", joint.off_perpendicular_deg, "°");
        whole(text, "of the force along the joint", joint.along_percent, " %");
        whole(text, "of the force across the joint", joint.across_percent, " %");
        if let Some(past) = joint.past_mm {
            whole(text, "past the joint", past, " mm");
        }
    }
    for gap in &finding.gaps {
        let pair = if finding.gaps.len() > 1 { format!("{} and {}", gap.first, gap.second) } else { String::new() };
        let explained = format!("up to {:.1} explained  {pair}", gap.explained_mm);
        row(text, "rays miss each other by", &format!("{:.1}", gap.gap_mm), " mm", &explained);
    }
    if text.len() > before {
        line(text, "");
    }
}

fn seen(margin: &Margin) -> String {
    match &margin.views[..] {
        [view] => format!("in this view: {view}"),
        views => format!("nearest of {} views", views.len()),
    }
}

fn further(text: &mut String, finding: &Finding) {
    if finding.further.is_empty() {
        return;
    }
    let mut head = format!("  {:LABEL$}{:>VALUE$}{:7}", "further along the pin, mm", "now", "");
    for step in &finding.further {
        let _ = write!(head, "{:>VALUE$}{:7}", format!("+{}", step.further_mm), "");
    }
    line(text, &head);
    let mut table = |label: &str, places: usize, at: &dyn Fn(usize) -> Option<Measured>| {
        if at(0).is_none() {
            return;
        }
        let mut row = format!("  {label:LABEL$}");
        for step in 0..=finding.further.len() {
            let _ = match at(step) {
                Some(Measured { value, plus_minus }) => {
                    write!(row, "{value:>VALUE$.places$} ± {plus_minus:<4.places$}")
                }
                None => write!(row, "{:>VALUE$}{:7}", "-", ""),
            };
        }
        line(text, &row);
    };
    let later = |step: usize| finding.further.get(step.checked_sub(1)?);
    for (number, margin) in finding.margins.iter().enumerate() {
        let at = |step: usize| match step {
            0 => Some(margin.margin_mm),
            _ => later(step)?.margins.get(number).map(|margin| margin.margin_mm),
        };
        table(&margin.edge.to_string(), 1, &at);
    }
    let past = |step: usize| if step == 0 { finding.joint?.past_mm } else { later(step)?.past_mm };
    table("past the joint", 0, &past);
    let tip = |step: usize| if step == 0 { finding.tip } else { Some(later(step)?.tip) };
    table("tip, toward the left", 0, &|step| Some(tip(step)?.left_mm));
    table("tip, toward the back", 0, &|step| Some(tip(step)?.posterior_mm));
    table("tip, toward the head", 0, &|step| Some(tip(step)?.head_mm));
    line(text, "");
}

fn left_out(text: &mut String, finding: &Finding) {
    let mut said: Vec<String> = Vec::new();
    for missing in &finding.not_given {
        let why = missing.why.to_string();
        if said.contains(&why) {
            continue;
        }
        let same = finding.not_given.iter().filter(|other| other.why == missing.why);
        let what: Vec<String> = same.map(|other| other.what.to_string()).collect();
        line(text, &format!("  no {}: {why}", what.join(", no ")));
        said.push(why);
    }
    if !finding.not_given.is_empty() {
        line(text, "");
    }
}

fn cross_view(crossed: &CrossView) -> String {
    let short = |view: ViewName| view.word();
    let (here, there) = (short(crossed.here), short(crossed.there));
    format!("1 mm seen on {here} is {:.1} mm on {there} ({:.0}° apart).", crossed.seen_mm, crossed.arc_deg)
}

/// What positions rest on; where there are none, the reason stands with what is not given.
fn frame(frame: &FrameUsed) -> Option<String> {
    match frame {
        FrameUsed::ColumnUnmoved { declared_by } => Some(format!("column unmoved, as the {} says", declared_by.word())),
        FrameUsed::Landmarks { count, residual_mm } => {
            Some(format!("{count} landmarks on both views, {residual_mm:.1} mm off on the detector"))
        }
        FrameUsed::AnglesOnly { .. } => None,
    }
}
