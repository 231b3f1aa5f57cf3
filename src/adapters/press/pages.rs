//! A report as PDF: A4 across, words, columns and a scene on each page.

use super::type_face::TypeFace;
use super::{BOLD, REGULAR};
use crate::review::{Anchor, Element, Ink, Page, Scene, Table, Weight};
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Rect, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::{Document, SerializeSettings};

/// A4 across, points. Source: ISO 216, 297 mm by 210 mm.
const WIDE: f32 = 841.89;
const HIGH: f32 = 595.28;
const MARGIN: f32 = 40.0;
const BODY: f32 = 10.5;
const LINE: f32 = 15.0;
/// More rows than a page has lines.
const ROWS_MAX: usize = 60;

struct Faces {
    regular: TypeFace,
    bold: TypeFace,
}

/// The pages as a file.
pub(super) fn write(title: &str, pages: &[Page]) -> Result<Vec<u8>, String> {
    let faces = Faces { regular: TypeFace::of(REGULAR)?, bold: TypeFace::of(BOLD)? };
    let mut document = Document::new_with(SerializeSettings::default());
    document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
    let settings = PageSettings::from_wh(WIDE, HIGH).ok_or("a page without size")?;
    for (number, page) in pages.iter().enumerate() {
        let mut sheet = document.start_page_with(settings.clone());
        let mut surface = sheet.surface();
        draw_page(&mut surface, &faces, page);
        let foot = format!("{title} · page {} of {}", number + 1, pages.len());
        words(&mut surface, &faces.regular, (WIDE - MARGIN, HIGH - 22.0), &foot, 9.0, Ink::Quiet, Anchor::End);
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|fault| format!("{fault:?}"))
}

fn draw_page(surface: &mut Surface<'_>, faces: &Faces, page: &Page) {
    let mut y = MARGIN + 16.0;
    if page.scene.is_none() {
        words(surface, &faces.bold, (MARGIN, y), &page.title, 20.0, Ink::Text, Anchor::Start);
        y += 28.0;
    }
    for paragraph in &page.words {
        for line in broken(&faces.regular, paragraph, WIDE - 2.0 * MARGIN, BODY) {
            words(surface, &faces.regular, (MARGIN, y), &line, BODY, Ink::Text, Anchor::Start);
            y += LINE;
        }
        y += 4.0;
    }
    if !page.table.is_empty() {
        y = draw_table(surface, faces, &page.table, y + 10.0);
    }
    if let Some(scene) = &page.scene {
        draw_scene(surface, faces, scene, y);
    }
}

/// Lines that fit the width, broken between words.
fn broken(face: &TypeFace, text: &str, width: f32, size: f32) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer.filter(|longer| face.width(longer) * size <= width) {
            Some(longer) => *lines.last_mut().expect("there is a line to lengthen") = longer,
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The table as far as the page goes; returns where it ends.
fn draw_table(surface: &mut Surface<'_>, faces: &Faces, table: &Table, top: f32) -> f32 {
    let rows: Vec<Vec<String>> =
        table.rows().take(ROWS_MAX).map(|row| row.iter().map(ToString::to_string).collect()).collect();
    let cells = |at: usize| rows.iter().filter_map(move |row| row.get(at));
    let widest = |at: usize| {
        let head = faces.bold.width(&table.columns[at]);
        cells(at).map(|cell| faces.regular.width(cell)).fold(head, f32::max) * BODY + 18.0
    };
    let widths: Vec<f32> = (0..table.columns.len()).map(widest).collect();
    let mut y = top;
    let heads = std::iter::once((&table.columns, &faces.bold));
    for (row, face) in heads.chain(rows.iter().map(|row| (row, &faces.regular))) {
        if y > HIGH - MARGIN - LINE {
            words(
                surface,
                &faces.regular,
                (MARGIN, y),
                "more rows than the page holds",
                BODY,
                Ink::Quiet,
                Anchor::Start,
            );
            break;
        }
        let mut right = MARGIN;
        for (at, (cell, width)) in row.iter().zip(&widths).enumerate() {
            right += width;
            let (x, anchor) = if at == 0 { (MARGIN, Anchor::Start) } else { (right - 18.0, Anchor::End) };
            words(surface, face, (x, y), cell, BODY, Ink::Text, anchor);
        }
        y += LINE;
    }
    y
}

#[allow(clippy::cast_possible_truncation, reason = "a scene's units are far below the precision of f32")]
fn narrow(value: f64) -> f32 {
    value as f32
}

fn draw_scene(surface: &mut Surface<'_>, faces: &Faces, scene: &Scene, top: f32) {
    let (wide, high) = (WIDE - 2.0 * MARGIN, HIGH - MARGIN - top);
    let scale = (wide / narrow(scene.width)).min(high / narrow(scene.height));
    let left = MARGIN + (wide - scale * narrow(scene.width)) / 2.0;
    surface.push_transform(&Transform::from_row(scale, 0.0, 0.0, scale, left, top - 10.0));
    scene.elements.iter().for_each(|element| draw_element(surface, faces, element));
    surface.pop();
}

fn draw_element(surface: &mut Surface<'_>, faces: &Faces, element: &Element) {
    match element {
        Element::Path { points, ink, width, dashed } => {
            let dash = dashed.then(|| StrokeDash { array: vec![8.0, 6.0], offset: 0.0 });
            stroke(surface, open_path(points, false), *ink, narrow(*width), dash);
        }
        Element::Area { points, ink } => fill(surface, open_path(points, true), *ink),
        Element::Dot { at, radius, ink } => fill(surface, circle(*at, narrow(*radius)), *ink),
        Element::Square { at: (x, y), half, ink } => {
            stroke(surface, rectangle(x - half, y - half, 2.0 * half, 2.0 * half), *ink, 3.0, None);
        }
        Element::Bar { at: (x, y), width, height, ink } => fill(surface, rectangle(*x, *y, *width, *height), *ink),
        Element::Words { at: (x, y), text, size, ink, anchor, weight } => {
            let face = if *weight == Weight::Bold { &faces.bold } else { &faces.regular };
            words(surface, face, (narrow(*x), narrow(*y)), text, narrow(*size), *ink, *anchor);
        }
    }
}

fn paint(ink: Ink) -> krilla::paint::Paint {
    let [red, green, blue] = ink.on_paper();
    rgb::Color::new(red, green, blue).into()
}

fn fill(surface: &mut Surface<'_>, path: Option<Path>, ink: Ink) {
    let Some(path) = path else { return };
    surface.set_stroke(None);
    surface.set_fill(Some(Fill { paint: paint(ink), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }));
    surface.draw_path(&path);
}

fn stroke(surface: &mut Surface<'_>, path: Option<Path>, ink: Ink, width: f32, dash: Option<StrokeDash>) {
    let Some(path) = path else { return };
    surface.set_fill(None);
    surface.set_stroke(Some(Stroke { paint: paint(ink), width, dash, ..Stroke::default() }));
    surface.draw_path(&path);
    surface.set_stroke(None);
}

fn open_path(points: &[(f64, f64)], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    let mut points = points.iter();
    let (x, y) = points.next()?;
    path.move_to(narrow(*x), narrow(*y));
    points.for_each(|(x, y)| path.line_to(narrow(*x), narrow(*y)));
    if closed {
        path.close();
    }
    path.finish()
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Option<Path> {
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(narrow(x), narrow(y), narrow(width), narrow(height))?);
    path.finish()
}

/// A circle of four curves.
///
/// Source: the usual approximation by cubic curves, handle 0.5523 of the radius, from memory.
fn circle((x, y): (f64, f64), r: f32) -> Option<Path> {
    let (x, y, k) = (narrow(x), narrow(y), 0.552_284_8 * r);
    let mut path = PathBuilder::new();
    path.move_to(x + r, y);
    path.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    path.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    path.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    path.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    path.close();
    path.finish()
}

fn words(surface: &mut Surface<'_>, face: &TypeFace, at: (f32, f32), text: &str, size: f32, ink: Ink, anchor: Anchor) {
    let glyphs = face.glyphs(text);
    let width: f32 = glyphs.iter().map(|glyph| glyph.x_advance).sum::<f32>() * size;
    let x = match anchor {
        Anchor::Start => at.0,
        Anchor::Middle => at.0 - width / 2.0,
        Anchor::End => at.0 - width,
    };
    surface.set_stroke(None);
    surface.set_fill(Some(Fill { paint: paint(ink), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }));
    surface.draw_glyphs(Point::from_xy(x, at.1), &glyphs, face.font.clone(), text, size, false);
}
