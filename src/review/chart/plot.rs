//! Axes and the frame that every chart shares.

use super::super::quantile::count;
use super::super::scene::{Anchor, Ink, Scene};
use super::super::table::{Table, number};
use super::{Asked, Chart};

pub(super) const WIDTH: f64 = 960.0;
pub(super) const HEIGHT: f64 = 540.0;
/// Sizes of words.
pub(super) const TITLE: f64 = 24.0;
pub(super) const BODY: f64 = 17.0;
pub(super) const SMALL: f64 = 15.0;

/// A part of the scene with its own scales.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
    pub(super) x: (f64, f64),
    pub(super) y: (f64, f64),
}

impl Plot {
    /// The whole scene below its title, room left for ticks.
    pub(super) fn whole(x: (f64, f64), y: (f64, f64)) -> Self {
        Self { left: 80.0, top: 112.0, right: WIDTH - 80.0, bottom: HEIGHT - 64.0, x: spread(x), y: spread(y) }
    }

    pub(super) fn at(&self, x: f64, y: f64) -> (f64, f64) {
        let part = |value: f64, (from, to): (f64, f64)| (value - from) / (to - from);
        let across = self.left + part(x, self.x) * (self.right - self.left);
        (across, self.bottom - part(y, self.y) * (self.bottom - self.top))
    }

    /// Both axes with ticks; `shown` writes a value of the y axis.
    pub(super) fn axes(&self, scene: &mut Scene, below: &str, shown: impl Fn(f64) -> String) {
        self.axes_with(scene, below, &ticks(self.y), shown);
    }

    /// As [`Self::axes`], with the ticks of the y axis as given.
    pub(super) fn axes_with(&self, scene: &mut Scene, below: &str, upward: &[f64], shown: impl Fn(f64) -> String) {
        scene.line((self.left, self.top), (self.left, self.bottom), Ink::Frame);
        scene.line((self.left, self.bottom), (self.right, self.bottom), Ink::Frame);
        for tick in upward.iter().copied() {
            let at = self.at(self.x.0, tick);
            scene.line((at.0 - 6.0, at.1), at, Ink::Frame);
            scene.words((at.0 - 10.0, at.1 + 5.0), &shown(tick), SMALL, Ink::Quiet, Anchor::End);
        }
        for tick in ticks(self.x) {
            let at = self.at(tick, self.y.0);
            scene.line(at, (at.0, at.1 + 6.0), Ink::Frame);
            scene.words((at.0, at.1 + 23.0), &number(tick), SMALL, Ink::Quiet, Anchor::Middle);
        }
        let middle = f64::midpoint(self.left, self.right);
        scene.words((middle, self.bottom + 46.0), below, SMALL, Ink::Quiet, Anchor::Middle);
    }

    /// Words at the right end of a level.
    pub(super) fn level(&self, scene: &mut Scene, y: f64, text: &str) {
        let at = self.at(self.x.1, y);
        scene.words((at.0 + 8.0, at.1 + 5.0), text, SMALL, Ink::Quiet, Anchor::Start);
    }
}

/// A scene with its title and, below it, how the chart was made.
pub(super) fn titled(title: &str, note: &str) -> Scene {
    let mut scene = Scene::new(WIDTH, HEIGHT);
    scene.bold((24.0, 40.0), title, TITLE, Ink::Text, Anchor::Start);
    for (at, line) in wrapped(note, 126).iter().enumerate() {
        scene.words((24.0, 66.0 + 20.0 * count(at)), line, SMALL, Ink::Quiet, Anchor::Start);
    }
    scene
}

/// A chart that has nothing to show, and says why.
pub(super) fn nothing(title: &str, asked: &Asked, why: &str) -> Chart {
    let note = format!("{}: {why}", asked.title());
    let scene = titled(title, &note);
    Chart { title: title.to_owned(), note, scene, table: Table::default(), signals: Vec::new() }
}

/// Lines of at most so many characters, broken between words.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A range that is not empty.
fn spread((from, to): (f64, f64)) -> (f64, f64) {
    if to - from > f64::EPSILON { (from, to) } else { (from - 0.5, to + 0.5) }
}

/// Round values within a range, about five of them.
pub(super) fn ticks((from, to): (f64, f64)) -> Vec<f64> {
    let rough = (to - from) / 5.0;
    let power = 10_f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|part| part * power).find(|step| *step >= rough).unwrap_or(rough);
    let first = (from / step).ceil();
    let steps = (0..12).map(|at| (first + f64::from(at)) * step);
    steps.take_while(|tick| *tick <= to + step * 1e-9).collect()
}

/// The upper end of an axis that begins at 0, a little above the largest value.
pub(super) fn above(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().filter(|value| value.is_finite()).fold(1.0, f64::max) * 1.08
}
