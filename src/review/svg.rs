//! A scene as SVG 1.1 on white paper.
//!
//! Words stay words, so that a reader can search and a screen reader can speak them.

use super::scene::{Anchor, Element, Ink, Scene, Weight};
use std::fmt::Write;

/// The family named for words; what renders the picture brings it or falls back.
const FAMILY: &str = "Atkinson Hyperlegible Next";

/// The scene as a document; `title` is what a screen reader says first.
#[must_use]
pub fn svg(scene: &Scene, title: &str) -> String {
    let (width, height) = (scene.width, scene.height);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"'{FAMILY}', sans-serif\">\n\
         <title>{}</title>\n<rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n",
        escaped(title)
    );
    for element in &scene.elements {
        out.push_str(&drawn(element));
        out.push('\n');
    }
    out.push_str("</svg>\n");
    out
}

fn drawn(element: &Element) -> String {
    match element {
        Element::Path { points, ink, width, dashed } => {
            let dash = if *dashed { " stroke-dasharray=\"8 6\"" } else { "" };
            let (points, colour) = (listed(points), colour(*ink));
            format!(
                "<polyline points=\"{points}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" \
                 stroke-linejoin=\"round\"{dash}/>"
            )
        }
        Element::Dot { at: (x, y), radius, ink } => {
            format!("<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{radius}\" fill=\"{}\"/>", colour(*ink))
        }
        Element::Square { at: (x, y), half, ink } => format!(
            "<rect x=\"{:.2}\" y=\"{:.2}\" width=\"{side}\" height=\"{side}\" fill=\"none\" stroke=\"{}\" \
             stroke-width=\"3\"/>",
            x - half,
            y - half,
            colour(*ink),
            side = 2.0 * half
        ),
        Element::Bar { at: (x, y), width, height, ink } => format!(
            "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{width:.2}\" height=\"{height:.2}\" fill=\"{}\"/>",
            colour(*ink)
        ),
        Element::Area { points, ink } => {
            format!("<polygon points=\"{}\" fill=\"{}\"/>", listed(points), colour(*ink))
        }
        Element::Words { at: (x, y), text, size, ink, anchor, weight } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let weight = if *weight == Weight::Bold { " font-weight=\"700\"" } else { "" };
            format!(
                "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" text-anchor=\"{anchor}\" fill=\"{}\"{weight}>{}</text>",
                colour(*ink),
                escaped(text)
            )
        }
    }
}

fn listed(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    for (x, y) in points {
        write!(out, "{x:.2},{y:.2} ").expect("a string takes everything");
    }
    out.truncate(out.trim_end().len());
    out
}

fn colour(ink: Ink) -> String {
    let [red, green, blue] = ink.on_paper();
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// What XML 1.0 cannot hold is left out; what it would read as markup is written as an entity.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => {}
            c => out.push(c),
        }
    }
    out
}
