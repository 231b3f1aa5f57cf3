//! A chart as lines, marks, bars and words in abstract units: one scene, several back ends.
//!
//! The origin is at the top left, y grows downward. A scene names the part an ink plays, never a colour; each back
//! end has its own. What colour says, shape or words say too.

/// The part that an ink plays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ink {
    Text,
    /// Notes, tick labels.
    Quiet,
    /// Axes and rules.
    Frame,
    Data,
    /// The middle half, an interval.
    Soft,
    /// A second series.
    Second,
    Limit,
    Signal,
}

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// How heavy a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    Regular,
    Bold,
}

/// One thing drawn. Sizes and places in the scene's units.
#[derive(Debug, Clone, PartialEq)]
pub enum Element {
    /// A line through points.
    Path { points: Vec<(f64, f64)>, ink: Ink, width: f64, dashed: bool },
    /// A round mark.
    Dot { at: (f64, f64), radius: f64, ink: Ink },
    /// A square around a point: a signal.
    Square { at: (f64, f64), half: f64, ink: Ink },
    /// A filled rectangle, from its upper left corner.
    Bar { at: (f64, f64), width: f64, height: f64, ink: Ink },
    /// A filled shape between points.
    Area { points: Vec<(f64, f64)>, ink: Ink },
    /// One line of words; `at` is on its baseline.
    Words { at: (f64, f64), text: String, size: f64, ink: Ink, anchor: Anchor, weight: Weight },
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    pub width: f64,
    pub height: f64,
    pub elements: Vec<Element>,
}

impl Scene {
    /// An empty scene.
    #[must_use]
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, elements: Vec::new() }
    }

    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64), ink: Ink) {
        self.elements.push(Element::Path { points: vec![from, to], ink, width: 1.5, dashed: false });
    }

    pub(super) fn dashes(&mut self, points: Vec<(f64, f64)>, ink: Ink) {
        self.elements.push(Element::Path { points, ink, width: 1.5, dashed: true });
    }

    pub(super) fn path(&mut self, points: Vec<(f64, f64)>, ink: Ink, width: f64) {
        self.elements.push(Element::Path { points, ink, width, dashed: false });
    }

    pub(super) fn dot(&mut self, at: (f64, f64), radius: f64, ink: Ink) {
        self.elements.push(Element::Dot { at, radius, ink });
    }

    pub(super) fn square(&mut self, at: (f64, f64), ink: Ink) {
        self.elements.push(Element::Square { at, half: 9.0, ink });
    }

    pub(super) fn bar(&mut self, at: (f64, f64), width: f64, height: f64, ink: Ink) {
        self.elements.push(Element::Bar { at, width, height, ink });
    }

    pub(super) fn area(&mut self, points: Vec<(f64, f64)>, ink: Ink) {
        self.elements.push(Element::Area { points, ink });
    }

    pub(super) fn words(&mut self, at: (f64, f64), text: &str, size: f64, ink: Ink, anchor: Anchor) {
        let (text, weight) = (text.to_owned(), Weight::Regular);
        self.elements.push(Element::Words { at, text, size, ink, anchor, weight });
    }

    pub(super) fn bold(&mut self, at: (f64, f64), text: &str, size: f64, ink: Ink, anchor: Anchor) {
        let (text, weight) = (text.to_owned(), Weight::Bold);
        self.elements.push(Element::Words { at, text, size, ink, anchor, weight });
    }
}

impl Ink {
    /// The ink on white paper: red, green, blue. Text at 7:1 or more, lines at 3:1 or more.
    #[must_use]
    pub fn on_paper(self) -> [u8; 3] {
        match self {
            Self::Text => [0x1a, 0x20, 0x24],
            Self::Quiet => [0x45, 0x50, 0x57],
            Self::Frame => [0x8a, 0x93, 0x99],
            Self::Data => [0x5a, 0x3d, 0x9e],
            Self::Soft => [0xc9, 0xbd, 0xe6],
            Self::Second => [0x1f, 0x6f, 0x6b],
            Self::Limit => [0x5c, 0x66, 0x6d],
            Self::Signal => [0xa8, 0x4a, 0x00],
        }
    }
}
