//! Sums per step and view, and the shots that were read out together.

use super::attribute::tap_of;
use super::explain::Explained;
use super::outcome::{Attribution, Row};
use super::sequences::{MachineSequence, TeamSequence, seconds_since_opening};

/// Events that belong to a number read out together, each with the position of that tap.
///
/// The last shot of a number is matched like any tap; the others are events without a tap between it and the tap
/// before, the latest first.
pub fn take_read_outs(team: &TeamSequence, machine: &MachineSequence, best: &Explained) -> Vec<(usize, usize)> {
    let mut taken = Vec::new();
    let mut free: Vec<bool> =
        (0..machine.events.len()).map(|at| tap_of(&best.pairs, at).is_none() && !machine.is_second_plane(at)).collect();
    for (number, tap) in team.taps.iter().enumerate().filter(|(_, tap)| tap.shots > 1) {
        let matched = best.pairs.iter().any(|(_, of)| *of == number);
        let mut wanted = tap.shots - u32::from(matched);
        let earliest = number.checked_sub(1).map_or(0.0, |before| seconds_since_opening(team.taps[before].at_ms));
        let latest = seconds_since_opening(tap.at_ms);
        for at in (0..machine.events.len()).rev() {
            let time = best.clock.expected_tap(machine.seconds(at));
            if wanted == 0 || time < earliest {
                break;
            }
            if free[at] && time <= latest {
                free[at] = false;
                taken.push((at, number));
                wanted -= 1;
            }
        }
    }
    taken.sort_unstable();
    taken
}

/// One row per tag that has an event or a count, in the order of the tags.
pub fn rows(team: &TeamSequence, machine: &MachineSequence, attributions: &[Attribution]) -> Vec<Row> {
    let mut rows: Vec<Row> = team.tags.iter().map(|tag| Row::empty(tag.clone())).collect();
    for (at, attribution) in attributions.iter().enumerate() {
        let Some(row) = attribution.tag.and_then(|tag| rows.get_mut(tag)) else { continue };
        let event = &machine.events[at];
        if !machine.is_second_plane(at) {
            row.events += 1;
        }
        row.duration = sum(row.duration, event.duration);
        row.kerma_area_product = sum(row.kerma_area_product, event.kerma_area_product);
        row.reference_air_kerma = sum(row.reference_air_kerma, event.reference_air_kerma);
        row.without_figures += u32::from(event.kerma_area_product.is_none() && event.reference_air_kerma.is_none());
        row.confidence = Some(row.confidence.map_or(attribution.confidence, |least| least.min(attribution.confidence)));
        let view = attribution.view_confidence;
        row.view_confidence = Some(row.view_confidence.map_or(view, |least| least.min(view)));
    }
    for tap in &team.taps {
        rows[tap.tag].counted += i64::from(tap.shots);
    }
    for (tag, by) in &team.corrections {
        rows[*tag].counted += by;
    }
    rows.retain(|row| row.events > 0 || row.counted != 0);
    rows
}

/// What is known of a sum: a missing figure takes nothing away.
fn sum<Q: std::ops::Add<Output = Q>>(so_far: Option<Q>, more: Option<Q>) -> Option<Q> {
    match (so_far, more) {
        (Some(a), Some(b)) => Some(a + b),
        (a, b) => a.or(b),
    }
}
