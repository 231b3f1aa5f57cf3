//! How truth differs from what a team is told, in figures, each with its source or without one.
//!
//! Planned less used angle in practice (Eastman and Routt 2015, n = 24): inlet -4.4° (-21 to +5), outlet +0.45° (-9 to
//! +7). A range of 24 is 3.895 standard deviations (the constant d2 of control charts), so the spreads are taken as 6.7°
//! and 4.1°. Two things make that difference, and the series does not part them: the pelvis lies otherwise than in the
//! scan ("turned", the same angle added to the inlet and taken from the outlet, which a lateral can measure), and the
//! angle was misread in the plan or is accepted otherwise ("misread", each view for itself). With `share` of the outlet's
//! variance given to the turn:
//!
//! | | mean | variance |
//! |---|---|---|
//! | turn | 0.45 · share | 4.1² · share |
//! | outlet misread | -0.45 · (1 - share) | 4.1² · (1 - share) |
//! | inlet misread | 4.4 - 0.45 · share | 6.7² - 4.1² · share |
//!
//! The share is not published: a half is taken, and the result is also given for none and for all. What it does not do:
//! nothing is fitted to any strategy's result.

use super::super::chance::Chance;

/// Sizes of everything that is not as it is thought to be. Lengths at the patient in mm unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Share of the outlet's variance that is a turn of the pelvis, 0 to 1.
    pub turn_share: f64,
    /// Standard deviation of a touch, mm on the detector. 1 mm there is 0.65 mm at the patient; common practice, no
    /// source. The eye sees as well as that.
    pub touch: f64,
    /// Share of touches on a wrong landmark, and how far off those are, mm at the detector. Common practice, no source.
    pub wrong: (f64, f64),
    /// An eye's amount is off by this share, one standard deviation. Common practice, no source.
    pub eye: f64,
    /// The picture's scale is off by this share, one standard deviation. Common practice, no source.
    pub scale: f64,
    /// Standard deviation of the picture's roll, degrees. Common practice, no source.
    pub roll: f64,
    /// Standard deviation of how far the boom stands from square, degrees. Common practice, no source.
    pub wag: f64,
    /// Whole play of each joint, degrees, and standard deviation of overshoot. Common practice, no source.
    pub play: f64,
    pub overshoot: f64,
    /// How far the central ray is from the sacrum at first, and after it was centred. Common practice, no source.
    pub astray: (f64, f64),
    /// A measured lever is off by this share, one standard deviation. Common practice, no source.
    pub lever: f64,
    /// The people's measures spread by this much more than published, and their bones by this much in every direction.
    pub wider: (f64, f64),
    /// Standard deviation of how far the sacrum is turned or leans against the table, degrees. Common practice, no source.
    pub askew: f64,
    /// Standard deviation of how far a support under the pelvis turns it otherwise than it says, degrees. Common practice, no
    /// source.
    pub support: f64,
    /// A hand holds a pin's start to this, and its direction to this many degrees. Source of the latter's size: 4° are
    /// enough to breach (Templeman et al. 1996); half of it is taken; common practice, no source.
    pub hand: (f64, f64),
}

impl Default for Doubt {
    fn default() -> Self {
        Self {
            turn_share: 0.5,
            touch: 1.0,
            wrong: (0.02, 8.0),
            eye: 0.3,
            scale: 0.02,
            roll: 3.0,
            wag: 3.0,
            play: 1.0,
            overshoot: 0.7,
            astray: (35.0, 5.0),
            lever: 0.05,
            wider: (1.3, 0.03),
            askew: 3.0,
            support: 3.0,
            hand: (1.0, 2.0),
        }
    }
}

/// Planned less used angle: mean of inlet and outlet, degrees. Source: Eastman and Routt 2015.
pub const PLANNED_LESS_USED: [f64; 2] = [-4.4, 0.45];
/// Their ranges over 24 people, degrees. Source: the same.
pub const RANGES: [f64; 2] = [26.0, 16.0];
/// Expected range of 24 normal draws, in standard deviations. Source: the constant d2 of control charts; held by a test.
pub const D2_OF_24: f64 = 3.895;

/// What differs for one person, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// The pelvis is turned further back than in the plan.
    pub turn: f64,
    /// The true inlet angle is that much more than planned, and the true outlet angle.
    pub misread: [f64; 2],
}

/// Means and standard deviations of turn, inlet misread and outlet misread.
#[must_use]
pub fn split_laws(share: f64) -> [(f64, f64); 3] {
    let [inlet, outlet] = RANGES.map(|range| (range / D2_OF_24).powi(2));
    let [inlet_mean, outlet_mean] = [-PLANNED_LESS_USED[0], PLANNED_LESS_USED[1]];
    let turn = outlet_mean * share;
    [
        (turn, (outlet * share).sqrt()),
        (inlet_mean - turn, (inlet - outlet * share).sqrt()),
        (turn - outlet_mean, (outlet * (1.0 - share)).sqrt()),
    ]
}

impl Split {
    pub(super) fn drawn(share: f64, chance: &mut Chance) -> Self {
        let [turn, inlet, outlet] = split_laws(share).map(|(mean, deviation)| mean + chance.normal(deviation));
        Self { turn, misread: [inlet, outlet] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: Eastman and Routt 2015, means and ranges; whatever the share, turn and misreading must give them back.
    #[test]
    fn however_it_is_split_planned_less_used_is_as_published() {
        for share in [0.0, 0.25, 0.5, 1.0] {
            let [turn, inlet, outlet] = split_laws(share);
            assert!((-turn.0 - inlet.0 - PLANNED_LESS_USED[0]).abs() < 1e-12);
            assert!((turn.0 - outlet.0 - PLANNED_LESS_USED[1]).abs() < 1e-12);
            assert!((turn.1.hypot(inlet.1) - RANGES[0] / D2_OF_24).abs() < 1e-9);
            assert!((turn.1.hypot(outlet.1) - RANGES[1] / D2_OF_24).abs() < 1e-9);
        }
    }

    /// Source: the constant d2, the mean range of n standard normal draws, by drawing them.
    #[test]
    fn d2_of_24_is_the_mean_range_of_24_draws() {
        let mut chance = Chance::of(5, 5);
        let ranges = (0..20_000).map(|_| {
            let draws: Vec<f64> = (0..24).map(|_| chance.normal(1.0)).collect();
            draws.iter().copied().fold(f64::MIN, f64::max) - draws.iter().copied().fold(f64::MAX, f64::min)
        });
        let mean = ranges.sum::<f64>() / 20_000.0;
        assert!((mean - D2_OF_24).abs() < 0.02, "{mean}");
    }
}
