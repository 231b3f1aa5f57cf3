//! The step, view and implant of each event, and how sure that is.
//!
//! An event's tablet time is known up to a normal error; the share of it that falls into each span is the chance of
//! that span. An event is made before its tap, which cuts the share off. Explanations that fit nearly as well take
//! part with their weight, so that what they would put elsewhere is less sure.

use super::costs::normal_below;
use super::explain::{Explained, Found};
use super::outcome::Attribution;
use super::sequences::{ClockHint, MachineSequence, TeamSequence, milliseconds, seconds_since_opening};

/// A tap counted for another place than the one the team was at says so on purpose; it may still be another's tap.
const COUNTED_ELSEWHERE: f64 = 0.9;
/// Spans are looked at up to so many standard deviations away.
const REACH_SD: f64 = 5.0;

/// Less than this is nothing to divide by.
const ALMOST_NOTHING: f64 = 1e-6;
/// How well a tap alone tells the time of its event, seconds. Common practice, no source.
const TAP_ALONE_SD_S: f64 = 0.5;

/// One attribution per event of the sequence, in its order.
pub fn attribute(team: &TeamSequence, machine: &MachineSequence, found: &Found) -> Vec<Attribution> {
    let places = places(team);
    let mut all: Vec<Attribution> = Vec::with_capacity(machine.events.len());
    for at in 0..machine.events.len() {
        if let Some(twin) = machine.is_second_plane(at).then(|| all.last().cloned()).flatten() {
            all.push(Attribution { event: machine.events[at].event, ..twin });
            continue;
        }
        let shares = match found {
            Found::Clocks(clocks) => by_clocks(team, machine, clocks, at),
            Found::Assumed(hint) => by_hint(team, machine, hint, at),
        };
        all.push(judged(machine, at, &shares, &places, found));
    }
    all
}

/// For each tag the first tag of the same place.
fn places(team: &TeamSequence) -> Vec<usize> {
    let first =
        |tag: &super::Tag| team.tags.iter().position(|other| other.same_place(tag)).expect("it is there itself");
    team.tags.iter().map(first).collect()
}

/// Shares of the probability: by tag, and `None` for outside the case.
type Shares = Vec<(Option<usize>, f64)>;

fn by_clocks(team: &TeamSequence, machine: &MachineSequence, clocks: &[Explained], at: usize) -> Shares {
    let mut shares = Shares::new();
    for one in clocks {
        let time = one.clock.event_time(machine.seconds(at));
        let sd = one.clock.sd(time, f64::from(machine.resolution_ms) / 1_000.0);
        let tap = tap_of(&one.pairs, at).map(|tap| &team.taps[tap]);
        let elsewhere = tap.filter(|tap| {
            team.span_at(tap.at_ms).is_some_and(|span| !team.tags[span.tag].same_place(&team.tags[tap.tag]))
        });
        let by_time = if elsewhere.is_some() { one.weight * (1.0 - COUNTED_ELSEWHERE) } else { one.weight };
        if let Some(tap) = elsewhere {
            add(&mut shares, Some(tap.tag), one.weight * COUNTED_ELSEWHERE);
        }
        let latest = tap.map(|tap| seconds_since_opening(tap.at_ms));
        spread(team, time, sd, latest, by_time, &mut shares);
    }
    shares
}

fn by_hint(team: &TeamSequence, machine: &MachineSequence, hint: &ClockHint, at: usize) -> Shares {
    let mut shares = Shares::new();
    spread(team, machine.seconds(at) - hint.offset_s, hint.sd_s.max(0.1), None, 1.0, &mut shares);
    shares
}

/// The tap that an event was matched with; pairs ascend.
pub fn tap_of(pairs: &[(usize, usize)], at: usize) -> Option<usize> {
    pairs.binary_search_by_key(&at, |(event, _)| *event).ok().map(|found| pairs[found].1)
}

/// Spreads `weight` over the spans around a time with a normal error, none of it behind `latest`.
fn spread(team: &TeamSequence, time: f64, sd: f64, latest: Option<f64>, weight: f64, shares: &mut Shares) {
    let below = |at: f64| normal_below((latest.map_or(at, |latest| at.min(latest)) - time) / sd);
    let whole = latest.map_or(1.0, |latest| normal_below((latest - time) / sd));
    if let Some(latest) = latest.filter(|_| whole < ALMOST_NOTHING) {
        // A tap far ahead of its event cuts off everything: the event is then where the tap is.
        return spread(team, latest, sd.min(TAP_ALONE_SD_S), None, weight, shares);
    }
    let near = latest.map_or(time, |latest| time.min(latest));
    let from = team.spans.partition_point(|span| seconds_since_opening(span.to_ms) < near - REACH_SD * sd);
    let mut inside = 0.0;
    for span in &team.spans[from..] {
        let (begin, end) = (seconds_since_opening(span.from_ms), seconds_since_opening(span.to_ms));
        if begin > time + REACH_SD * sd {
            break;
        }
        let share = (below(end) - below(begin)) / whole;
        if share > 0.0 {
            add(shares, Some(span.tag), weight * share);
            inside += share;
        }
    }
    if inside < 1.0 {
        add(shares, None, weight * (1.0 - inside));
    }
}

fn add(shares: &mut Shares, tag: Option<usize>, share: f64) {
    match shares.iter_mut().find(|(known, _)| *known == tag) {
        Some((_, sum)) => *sum += share,
        None => shares.push((tag, share)),
    }
}

/// The likeliest place, and within it the likeliest view.
fn judged(machine: &MachineSequence, at: usize, shares: &Shares, places: &[usize], found: &Found) -> Attribution {
    let mut by_place = Shares::new();
    for (tag, share) in shares {
        add(&mut by_place, tag.map(|tag| places[tag]), *share);
    }
    let likeliest = |shares: &Shares| shares.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1));
    let (place, confidence) = likeliest(&by_place).unwrap_or((None, 0.0));
    let within: Shares = shares.iter().copied().filter(|(tag, _)| tag.map(|tag| places[tag]) == place).collect();
    let (tag, view_confidence) = likeliest(&within).unwrap_or((None, 0.0));
    let (time, tap) = match found {
        Found::Clocks(clocks) => (clocks[0].clock.event_time(machine.seconds(at)), tap_of(&clocks[0].pairs, at)),
        Found::Assumed(hint) => (machine.seconds(at) - hint.offset_s, None),
    };
    let at_ms = milliseconds(time);
    let confidence = confidence.min(1.0);
    Attribution {
        event: machine.events[at].event,
        at_ms,
        tag,
        confidence,
        view_confidence: view_confidence.min(confidence),
        tap,
    }
}
