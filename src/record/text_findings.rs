//! View and pin findings of a record as lines, each number with its uncertainty.

use super::findings::{PinFindingEntry, ReAimEntry, ViewFindingEntry};
use super::payload::Record;
use super::text::{clock, line};
use crate::carm::Words;
use crate::pin::{ADVISORY, Measured};

pub(super) fn lines(out: &mut String, record: &Record) {
    if record.view_findings.is_empty()
        && record.pin_findings.is_empty()
        && record.re_aims.is_empty()
        && record.moves.is_empty()
    {
        return;
    }
    line(out, "", "\nView and pin findings");
    for entry in &record.re_aims {
        re_aim(out, entry);
    }
    for entry in &record.moves {
        line(out, "  ", format_args!("Patient or table moved {} at {}", clock(entry.at), entry.place));
    }
    for entry in &record.view_findings {
        view(out, entry);
    }
    for entry in &record.pin_findings {
        pin(out, entry);
    }
    line(out, "  ", ADVISORY);
}

fn re_aim(out: &mut String, entry: &ReAimEntry) {
    let ReAimEntry { re_aim, .. } = entry;
    let held = if entry.voided { ", void since patient or table moved" } else { "" };
    line(out, "  ", format_args!("Re-aimed {} at {}: {re_aim}{held}", clock(entry.at), entry.place));
    let (line_of, proof, planned) = (re_aim.line.word(), re_aim.proven.word(), re_aim.planned_deg);
    line(out, "    ", format_args!("{line_of}, planned at {planned:.1}°; vertical by {proof}"));
}

fn view(out: &mut String, entry: &ViewFindingEntry) {
    let ViewFindingEntry { finding, .. } = entry;
    line(out, "  ", format_args!("{} {} at {}: {}", finding.view, clock(entry.at), entry.place, finding.seen));
    line(out, "    ", finding.instruction(&Words::built_in()));
    let turns: Vec<String> = finding.turns.iter().map(ToString::to_string).collect();
    let doubt = if finding.within_doubt { ", smaller than its uncertainty" } else { "" };
    let (off, remaining) = (finding.off_by_deg, finding.remaining_mm);
    line(out, "    ", format_args!("off by {off:.1}°, {remaining:.1} mm should remain; {}{doubt}", turns.join(", ")));
}

fn pin(out: &mut String, entry: &PinFindingEntry) {
    let PinFindingEntry { finding, .. } = entry;
    line(out, "  ", format_args!("Pin {} at {}: {}", clock(entry.at), entry.place, entry.decided.word()));
    for mark in &entry.marks {
        line(out, "    ", format_args!("MARK {mark}"));
    }
    if let Some(joint) = &finding.joint {
        line(out, "    ", format_args!("off the joint's perpendicular {}", with(joint.off_perpendicular_deg, "°", 0)));
        if let Some(past) = joint.past_mm {
            line(out, "    ", format_args!("past the joint {}", with(past, " mm", 0)));
        }
    }
    let tool = finding.tool_mm.map_or_else(|| "tool".to_owned(), |tool| format!("{tool} mm tool"));
    for margin in &finding.margins {
        let views: Vec<&str> = margin.views.iter().map(|view| view.word()).collect();
        let seen = if views.len() == 1 { format!(", in this view: {}", views[0]) } else { String::new() };
        line(out, "    ", format_args!("{tool} to {} {}{seen}", margin.edge, with(margin.margin_mm, " mm", 1)));
    }
    for gap in &finding.gaps {
        line(out, "    ", format_args!("rays miss each other by {:.1} mm", gap.gap_mm));
    }
    for caught in &finding.caught {
        line(out, "    ", caught);
    }
    for missing in &finding.not_given {
        line(out, "    ", format_args!("no {}: {}", missing.what, missing.why));
    }
}

fn with(measured: Measured, unit: &str, places: usize) -> String {
    let Measured { value, plus_minus } = measured;
    format!("{value:.places$}{unit} ± {plus_minus:.places$}")
}
