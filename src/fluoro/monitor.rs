//! The console's live picture: pulses averaged as they come, and the last image held when the pedal is let go.
//!
//! What it does not do: no clock. Whoever presses the pedal decides when a pulse comes.

use super::exposure::Signal;

/// A live picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Monitor {
    /// Share that a new pulse has of the picture, over 0 to 1: 1 shows each pulse by itself.
    share: f32,
    pulses: u32,
    pressed: bool,
    held: Option<Signal>,
}

impl Monitor {
    /// `share`: what a new pulse has of the picture, held within a hundredth and 1.
    #[must_use]
    pub fn new(share: f32) -> Self {
        Self { share: share.clamp(0.01, 1.0), pulses: 0, pressed: false, held: None }
    }

    /// The pedal goes down: one exposure begins, and the picture starts afresh with its first pulse.
    pub fn press(&mut self) {
        self.pressed = true;
        self.pulses = 0;
    }

    /// A pulse arrives. One that comes with the pedal up changes nothing.
    ///
    /// The first pulses count alike, so that a short exposure is as quiet as its pulses allow; later ones have their
    /// share. Variance of the picture after many pulses, in that of one: share / (2 − share).
    pub fn pulse(&mut self, signal: Signal) {
        if !self.pressed {
            return;
        }
        self.pulses = self.pulses.saturating_add(1);
        let share = self.share.max(1.0 / self.pulses as f32);
        match &mut self.held {
            Some(held) if self.pulses > 1 && held.values.len() == signal.values.len() => {
                held.values.iter_mut().zip(&signal.values).for_each(|(held, new)| *held += share * (new - *held));
            }
            held => *held = Some(signal),
        }
    }

    /// The pedal is let go: the last image stays.
    pub fn release(&mut self) {
        self.pressed = false;
    }

    /// The picture there is, live or held; `None` before the first pulse.
    #[must_use]
    pub fn picture(&self) -> Option<&Signal> {
        self.held.as_ref()
    }

    /// Pulses of this exposure so far.
    #[must_use]
    pub fn pulses(&self) -> u32 {
        self.pulses
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn flat(value: f32) -> Signal {
        Signal { columns: 2, rows: 1, values: vec![value; 2] }
    }

    #[test]
    fn the_last_image_is_held_until_the_next_exposure() {
        let mut monitor = Monitor::new(0.25);
        monitor.pulse(flat(9.0));
        assert_eq!(monitor.picture(), None);
        monitor.press();
        monitor.pulse(flat(1.0));
        monitor.pulse(flat(2.0));
        assert_eq!(monitor.picture(), Some(&flat(1.5)));
        monitor.release();
        monitor.pulse(flat(9.0));
        assert_eq!((monitor.picture(), monitor.pulses()), (Some(&flat(1.5)), 2));
        monitor.press();
        assert_eq!(monitor.picture(), Some(&flat(1.5)));
        monitor.pulse(flat(4.0));
        assert_eq!(monitor.picture(), Some(&flat(4.0)));
    }

    #[test]
    fn a_long_exposure_follows_what_moves() {
        let mut monitor = Monitor::new(0.5);
        monitor.press();
        for value in [0.0, 0.0, 0.0, 8.0, 8.0] {
            monitor.pulse(flat(value));
        }
        assert_eq!(monitor.picture(), Some(&flat(6.0)));
    }
}
