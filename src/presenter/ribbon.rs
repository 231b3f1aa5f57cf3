//! The shot ribbon: the case as a strip, with hours in which nothing happened folded, so that it still shows where the
//! shots went when a case is resumed the next day.

use super::case_view::model;
use crate::case::{Case, State};
use crate::pathway::Place;
use crate::record::Record;
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

/// The strip of a case that is signed.
pub(super) struct Signed {
    pub segments: Vec<RibbonSegment>,
    pub folds: Vec<RibbonFold>,
    pub ticks: Vec<f32>,
}

/// An hour without an entry is folded. Common practice, no source; the same as in a running case.
const GAP_MS: u64 = 3_600_000;

/// The steps of a signed case as they were come to, and its shots as they were counted.
pub(super) fn of_record(record: &Record) -> Signed {
    let mut entered: Vec<(u64, &str)> =
        record.places.iter().filter_map(|entry| Some((entry.entered?.ms, entry.title.as_str()))).collect();
    entered.sort_unstable();
    let answered =
        record.places.iter().flat_map(|entry| &entry.checks).filter_map(|check| Some(check.done.as_ref()?.at));
    let moments = record.shots.entries.iter().map(|shot| shot.at.ms).chain(answered.map(|at| at.ms));
    let mut moments: Vec<u64> = moments.chain(entered.iter().map(|(at, _)| *at)).collect();
    moments.sort_unstable();
    let far = |pair: &[u64]| (pair[1] - pair[0] >= GAP_MS).then_some((pair[0], pair[1]));
    let gaps: Vec<(u64, u64)> = moments.windows(2).filter_map(far).collect();
    let end = moments.last().copied().unwrap_or(0);
    let strip = Strip::over(&gaps, end, false);
    entered.dedup_by_key(|(_, title)| *title);
    let ends = entered.iter().skip(1).map(|(at, _)| *at).chain([end]);
    let segment = |((from, title), to): (&(u64, &str), u64)| RibbonSegment {
        title: (*title).into(),
        from: strip.at(*from),
        to: strip.at(to),
        here: false,
    };
    let ticks = record.shots.entries.iter().flat_map(|shot| {
        let before = moments.partition_point(|moment| *moment < shot.at.ms).checked_sub(1);
        let from = before.map_or(0, |at| moments[at]);
        spread(strip.at(from), strip.at(shot.at.ms), shot.shots)
    });
    Signed { segments: entered.iter().zip(ends).map(segment).collect(), folds: strip.folds(), ticks: ticks.collect() }
}

/// Shots that were counted together stand evenly between the entry before and the count: they lie there, and nobody
/// knows where.
fn spread(from: f32, to: f32, shots: u32) -> impl Iterator<Item = f32> {
    let each = (to - from) / f32::from(u16::try_from(shots.max(1)).unwrap_or(u16::MAX));
    (0..shots).map(move |at| to - each * f32::from(u16::try_from(at).unwrap_or(u16::MAX)))
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
        Self::over(state.gaps.as_slice(), state.timeline.elapsed().ms, true)
    }

    /// Gaps in order and where the case ends; with room for what is to come while it runs.
    fn over(gaps: &'a [(u64, u64)], end_ms: u64, runs: bool) -> Self {
        let left_out: u64 = gaps.iter().map(|(from, to)| to.saturating_sub(*from)).sum();
        let worked_ms = end_ms.saturating_sub(left_out);
        let least_ms = if runs { WHOLE_MS_MIN } else { 1 };
        let fold_ms = worked_ms.max(least_ms) / FOLD_PART;
        let shown = worked_ms.saturating_add(fold_ms.saturating_mul(gaps.len() as u64));
        let whole_ms = if runs { shown.saturating_mul(5) / 4 } else { shown };
        Self { gaps, fold_ms, whole_ms: whole_ms.max(least_ms) }
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
    fn shots_counted_together_stand_between_the_entry_before_and_the_count() {
        assert_eq!(spread(0.2, 0.4, 1).collect::<Vec<_>>(), [0.4]);
        let four: Vec<f32> = spread(0.2, 0.4, 4).collect();
        assert!(four.iter().zip([0.4, 0.35, 0.3, 0.25]).all(|(at, wanted)| (at - wanted).abs() < 1e-6), "{four:?}");
    }

    #[test]
    fn without_a_gap_the_strip_is_time_itself() {
        let strip = Strip { gaps: &[], fold_ms: 1, whole_ms: 2 * HOUR };
        assert!((strip.at(HOUR) - 0.5).abs() < 1e-6);
        assert_eq!(long(49 * HOUR), "2 d");
    }
}
