//! Draws of a rehearsal: one generator per purpose, each begun from the seed that is handed in.
//!
//! What it does not do: no ambient randomness. What may never change: the generator and the meaning of a stream, since
//! a seed must give the same person, machine and mishaps for ever.

use rand_core::Rng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// A source of draws.
#[derive(Debug, Clone)]
pub struct Chance(Xoshiro256PlusPlus);

/// Mixes stream numbers into seeds, so that neighbouring seeds share no stream.
///
/// Source: the 64-bit golden ratio, as in Steele, Lea and Flood, OOPSLA 2014; from memory.
const MIX: u64 = 0x9E37_79B9_7F4A_7C15;

impl Chance {
    /// The draws of `stream` under `seed`.
    #[must_use]
    pub fn of(seed: u64, stream: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed ^ stream.wrapping_mul(MIX)))
    }

    /// The generator itself, for laws that another module draws.
    pub fn generator(&mut self) -> &mut Xoshiro256PlusPlus {
        &mut self.0
    }

    /// Normal, of mean 0.
    pub fn normal(&mut self, deviation: f64) -> f64 {
        let drawn: f64 = StandardNormal.sample(&mut self.0);
        drawn * deviation
    }

    /// Even between 0 and 1.
    pub fn even(&mut self) -> f64 {
        const STEPS: f64 = (1_u64 << 53) as f64;
        (self.0.next_u64() >> 11) as f64 / STEPS
    }

    /// Even between `from` and `to`.
    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.even()
    }

    /// Even among the whole numbers from 0 to `count` less one; `count` is 1 or more.
    pub fn below(&mut self, count: usize) -> usize {
        let among = u64::try_from(count).expect("a list is no longer than 2^64");
        // The first few of so many numbers are more likely by less than one part in 2^32.
        usize::try_from(self.0.next_u64() % among).expect("less than the count")
    }

    /// True in this share of draws.
    pub fn whether(&mut self, share: f64) -> bool {
        self.even() < share
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stream_is_the_same_for_ever_and_no_other_stream() {
        let draw = |seed, stream| Chance::of(seed, stream).even();
        assert_eq!(draw(7, 1).to_bits(), draw(7, 1).to_bits());
        assert_ne!(draw(7, 1).to_bits(), draw(7, 2).to_bits());
        assert_ne!(draw(7, 1).to_bits(), draw(8, 1).to_bits());
    }
}
