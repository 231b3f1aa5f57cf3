//! The shot ribbon: the case as a strip, with hours in which nothing happened folded, so that it still shows where the
//! shots went when a case is resumed the next day.

use super::case_view::model;
use crate::case::{Case, State};
use crate::pathway::Place;
use brimline_ui::{CaseView, RibbonFold, RibbonSegment};

/// Time that the whole strip stands for: an hour at least, so that the first shots have room.
const WHOLE_MS_MIN: u64 = 3_600_000;
/// A fold takes the room of one part in so many of what was worked, so that its words fit.
const FOLD_PART: u64 = 16;

/// Fills the strip.
pub(super) fn fill(view: &CaseView<'_>, case: &Case) {
    let strip = Strip::of(case.state());
    view.set_ribbon(model(segments(case, &strip)));
    view.set_ribbon_folds(model(strip.folds()));
    view.set_shot_ticks(model(ticks(case, &strip)));
}

/// Where moments of the case lie on the strip.
struct Strip<'a> {
    gaps: &'a [(u64, u64)],
    /// What each gap is folded to.
    fold_ms: u64,
    whole_ms: u64,
}

impl<'a> Strip<'a> {
    fn of(state: &'a State) -> Self {
        let gaps = state.gaps.as_slice();
        let left_out: u64 = gaps.iter().map(|(from, to)| to.saturating_sub(*from)).sum();
        let worked_ms = state.timeline.elapsed().ms.saturating_sub(left_out);
        let fold_ms = worked_ms.max(WHOLE_MS_MIN) / FOLD_PART;
        let shown = worked_ms.saturating_add(fold_ms.saturating_mul(gaps.len() as u64));
        Self { gaps, fold_ms, whole_ms: (shown.saturating_mul(5) / 4).max(WHOLE_MS_MIN) }
    }

    /// From the left, in parts of the strip.
    fn at(&self, ms: u64) -> f32 {
        let mut shown = ms;
        for (from, to) in self.gaps.iter().filter(|(from, _)| ms > *from) {
            let inside = ms.min(*to) - from;
            let kept = if ms >= *to { self.fold_ms } else { inside.min(self.fold_ms) };
            shown = shown.saturating_sub(inside).saturating_add(kept);
        }
        part(shown, self.whole_ms)
    }

    fn folds(&self) -> Vec<RibbonFold> {
        let fold = |(from, to): &(u64, u64)| RibbonFold {
            from: self.at(*from),
            to: self.at(*to),
            words: long(to.saturating_sub(*from)).into(),
        };
        self.gaps.iter().map(fold).collect()
    }
}

#[allow(clippy::cast_precision_loss, reason = "a part of a strip on screen")]
fn part(ms: u64, of: u64) -> f32 {
    (ms as f32 / of.max(1) as f32).clamp(0.0, 1.0)
}

/// A gap in as few letters as a fold has room for.
fn long(ms: u64) -> String {
    match ms / 3_600_000 {
        hours @ 0..=47 => format!("{hours} h"),
        hours => format!("{} d", hours / 24),
    }
}

/// The phases as they were come to, from the first entry of each to the next.
fn segments(case: &Case, strip: &Strip<'_>) -> Vec<RibbonSegment> {
    let state = case.state();
    let mut begun: Vec<(u64, usize)> = Vec::new();
    let mut entries: Vec<(u64, &Place)> = state.entered.iter().map(|(place, at)| (at.ms, place)).collect();
    entries.sort();
    for (at, place) in entries {
        let Some(phase) = case.step_at(place).and_then(|step| step.phase) else { continue };
        if !begun.iter().any(|(_, known)| *known == phase) {
            begun.push((at, phase));
        }
    }
    let here = case.step_at(&state.here).and_then(|step| step.phase);
    let ends = begun.iter().skip(1).map(|(at, _)| *at).chain([state.timeline.elapsed().ms]);
    let segments = begun.iter().zip(ends).map(|((from, phase), to)| RibbonSegment {
        title: case.pathway().phases[*phase].title.as_str().into(),
        from: strip.at(*from),
        to: strip.at(to),
        here: here == Some(*phase),
    });
    segments.collect()
}

fn ticks(case: &Case, strip: &Strip<'_>) -> Vec<f32> {
    let shots = case.state().shots.iter();
    shots.flat_map(|shot| std::iter::repeat_n(strip.at(shot.at.ms), shot.shots as usize)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOUR: u64 = 3_600_000;

    #[test]
    fn a_night_takes_no_more_room_than_its_words_and_order_is_kept() {
        let gaps = [(HOUR, 15 * HOUR)];
        let strip = Strip { gaps: &gaps, fold_ms: HOUR / 8, whole_ms: 3 * HOUR };
        assert!((strip.at(HOUR) - 1.0 / 3.0).abs() < 1e-6);
        assert!((strip.at(15 * HOUR) - (1.0 + 1.0 / 8.0) / 3.0).abs() < 1e-6);
        assert!((strip.at(16 * HOUR) - (2.0 + 1.0 / 8.0) / 3.0).abs() < 1e-6);
        let fold = &strip.folds()[0];
        assert_eq!(fold.words, "14 h");
        let moments = [0, HOUR / 2, HOUR, 5 * HOUR, 15 * HOUR, 15 * HOUR + 1_000, 16 * HOUR];
        assert!(moments.windows(2).all(|two| strip.at(two[0]) <= strip.at(two[1])));
    }

    #[test]
    fn without_a_gap_the_strip_is_time_itself() {
        let strip = Strip { gaps: &[], fold_ms: 1, whole_ms: 2 * HOUR };
        assert!((strip.at(HOUR) - 0.5).abs() < 1e-6);
        assert_eq!(long(49 * HOUR), "2 d");
    }
}
