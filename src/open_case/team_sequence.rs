//! A case's journal as the plain sequence that a reconciliation compares: where the team was, what it counted.
//!
//! The view of a moment is the one whose answer comes next within the stay, since a view's shots come before its
//! answer. Behind the last answer of a stay nothing tells the view, so none is named.

use crate::carm::ViewName;
use crate::case::{Case, Did, ReplayError};
use crate::dose::reconcile::{Span, Tag, Tap, TeamSequence};
use crate::journal::VerifiedJournal;
use crate::pathway::{CheckKind, Pathway, Place};
use std::sync::Arc;

/// A stay at a place, with the answers on views that were given there.
struct Stay {
    from_ms: u64,
    place: Place,
    views: Vec<(u64, ViewName)>,
}

/// Reads the sequence out of a journal.
///
/// # Errors
/// [`ReplayError`] if the events are not the history of a case.
pub fn team_sequence(journal: &VerifiedJournal, case: &Case) -> Result<TeamSequence, ReplayError> {
    let mut replay: Option<Case> = None;
    let (mut stays, mut counts, mut corrections) = (Vec::<Stay>::new(), Vec::new(), Vec::new());
    let (mut end_ms, mut swaps_ms) = (0, Vec::new());
    for event in journal.events() {
        match &mut replay {
            None => replay = Some(Case::open(Arc::clone(case.pathway()), Arc::clone(case.plan()), event)?),
            Some(replay) => replay.apply(event)?,
        }
        let state = replay.as_ref().expect("opened by the first event").state();
        let at_ms = state.timeline.elapsed().ms;
        if !matches!(event.did, Did::RecordSigned { .. }) {
            end_ms = at_ms;
        }
        if stays.last().is_none_or(|stay| stay.place != state.here) {
            stays.push(Stay { from_ms: at_ms, place: state.here.clone(), views: Vec::new() });
        }
        let stay = stays.last_mut().expect("pushed above");
        match &event.did {
            Did::CArmSwapped { .. } => swaps_ms.push(at_ms),
            Did::ShotsCounted { place, shots } => counts.push((at_ms, *shots, place.clone())),
            Did::RunLogged { place, seconds } => counts.push((begin_of_run(at_ms, *seconds), 1, place.clone())),
            Did::ShotsCorrected { place, from, to, .. } => {
                corrections.push((place.clone(), i64::from(*to) - i64::from(*from)));
            }
            did => stay.views.extend(view_answered(did, case.pathway(), &stay.place).map(|view| (at_ms, view))),
        }
    }
    Ok(TeamSequence { swaps_ms, ..sequence(&stays, end_ms, counts, corrections) })
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a run is shorter than a case")]
fn begin_of_run(at_ms: u64, seconds: f64) -> u64 {
    at_ms.saturating_sub((seconds.max(0.0) * 1_000.0) as u64)
}

/// The view that was accepted or rejected just now, here.
fn view_answered(did: &Did, pathway: &Pathway, here: &Place) -> Option<ViewName> {
    let (Did::CheckAnswered { place, check, done_at: None, .. }
    | Did::ViewRejected { place, check, .. }
    | Did::PinRejected { place, check, .. }) = did
    else {
        return None;
    };
    let (_, step) = pathway.step(&place.step).filter(|_| place == here)?;
    match &step.checks.iter().find(|one| one.id == *check)?.ask {
        CheckKind::View { view, .. } => Some(*view),
        CheckKind::Pin { views, .. } => views.first().copied().filter(|_| views.len() == 1),
        _ => None,
    }
}

fn sequence(
    stays: &[Stay],
    end_ms: u64,
    counts: Vec<(u64, u32, Place)>,
    corrections: Vec<(Place, i64)>,
) -> TeamSequence {
    let mut team = TeamSequence::default();
    for (number, stay) in stays.iter().enumerate() {
        let to_ms = stays.get(number + 1).map_or(end_ms, |next| next.from_ms).max(stay.from_ms);
        let mut from_ms = stay.from_ms;
        for (answered_ms, view) in &stay.views {
            push(&mut team, &stay.place, Some(*view), from_ms..*answered_ms);
            from_ms = *answered_ms;
        }
        push(&mut team, &stay.place, None, from_ms..to_ms);
    }
    for (at_ms, shots, place) in counts {
        let wanted = tag(&place, None);
        let here = team.span_at(at_ms).map(|span| span.tag).filter(|here| team.tags[*here].same_place(&wanted));
        let tag = here.unwrap_or_else(|| position(&mut team.tags, wanted));
        team.taps.push(Tap { at_ms, shots, tag });
    }
    for (place, by) in corrections {
        let wanted = tag(&place, None);
        let last = team.taps.iter().rev().map(|tap| tap.tag).find(|known| team.tags[*known].same_place(&wanted));
        let tag = last.unwrap_or_else(|| position(&mut team.tags, wanted));
        team.corrections.push((tag, by));
    }
    team.taps.sort_by_key(|tap| tap.at_ms);
    team
}

fn push(team: &mut TeamSequence, place: &Place, view: Option<ViewName>, ms: std::ops::Range<u64>) {
    let tag = position(&mut team.tags, tag(place, view));
    team.spans.push(Span { from_ms: ms.start, to_ms: ms.end, tag });
}

fn tag(place: &Place, view: Option<ViewName>) -> Tag {
    let view = view.map(|view| view.word().to_owned());
    Tag { step: place.step.clone(), side: place.side, implant: place.implant, view }
}

/// Where the tag stands, put at the end if it is new.
fn position(tags: &mut Vec<Tag>, tag: Tag) -> usize {
    tags.iter().position(|known| *known == tag).unwrap_or_else(|| {
        tags.push(tag);
        tags.len() - 1
    })
}
