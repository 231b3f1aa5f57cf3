//! What a team may believe of how far a view is off: what aimed it and each sighting since, weighed by their doubts.
//!
//! A re-aim leaves some doubt and so does every sighting. Of two independent answers each counts by the inverse of its
//! variance, so a sighting moves the machine by its share of the two. What it does not do: it knows nothing of wrong
//! landmarks. The program's view correction does not weigh; the comparison shows what that would be worth.

/// One standard deviation of what is believed, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Belief(f64);

/// What a move of the machine adds, one standard deviation, degrees: whole degrees, play and overshoot together.
const MOVE_SD_DEG: f64 = 0.9;

impl Belief {
    /// After an aim of that doubt, degrees.
    pub fn aimed(sd_deg: f64) -> Self {
        Self(sd_deg.hypot(MOVE_SD_DEG))
    }

    /// The share that a sighting of that doubt has, 0 to 1; what is believed afterwards is the surer for it.
    pub fn weigh(&mut self, sd_deg: f64) -> f64 {
        let (before, sighting) = (self.0 * self.0, sd_deg * sd_deg);
        let sum = (before + sighting).max(f64::EPSILON);
        self.0 = (before * sighting / sum).sqrt();
        before / sum
    }

    /// The machine moved.
    pub fn moved(&mut self) {
        self.0 = self.0.hypot(MOVE_SD_DEG);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the mean of two normal answers weighed by inverse variance: shares 4/5 and 1/5 for deviations of 2 and 1.
    #[test]
    fn a_surer_sighting_counts_for_more_and_leaves_less_doubt() {
        let mut belief = Belief(2.0);
        assert!((belief.weigh(1.0) - 0.8).abs() < 1e-12);
        assert!((belief.0 - (4.0_f64 / 5.0).sqrt()).abs() < 1e-12);
        belief.moved();
        assert!(belief.0 > 1.0 && Belief(0.0).weigh(0.0) == 0.0);
    }
}
