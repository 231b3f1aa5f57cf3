//! One font: its glyphs with their widths, so that words can end or centre at a point.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::MetadataProvider;
use skrifa::instance::{LocationRef, Size};

/// A face, for measuring and for drawing.
pub(super) struct TypeFace {
    pub(super) font: Font,
    bytes: &'static [u8],
}

impl TypeFace {
    pub(super) fn of(bytes: &'static [u8]) -> Result<Self, String> {
        let font = Font::new(bytes.into(), 0).ok_or("a font of the program does not open")?;
        Ok(Self { font, bytes })
    }

    /// The glyphs of one line, widths in parts of the size; what the font lacks is its box for "missing".
    pub(super) fn glyphs(&self, text: &str) -> Vec<KrillaGlyph> {
        let Ok(font) = skrifa::FontRef::new(self.bytes) else { return Vec::new() };
        let (map, metrics) = (font.charmap(), font.glyph_metrics(Size::new(1.0), LocationRef::default()));
        let glyph = |(at, c): (usize, char)| {
            let id = map.map(c).unwrap_or_default();
            let width = metrics.advance_width(id).unwrap_or(0.0);
            KrillaGlyph::new(GlyphId::new(id.to_u32()), width, 0.0, 0.0, 0.0, at..at + c.len_utf8(), None)
        };
        text.char_indices().map(glyph).collect()
    }

    /// Width of a line at size 1.
    pub(super) fn width(&self, text: &str) -> f32 {
        self.glyphs(text).iter().map(|glyph| glyph.x_advance).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_have_every_sign_that_charts_write() {
        for bytes in [super::super::REGULAR, super::super::BOLD] {
            let font = skrifa::FontRef::new(bytes).unwrap();
            for sign in "·²°–…±×\"'%()".chars() {
                assert!(font.charmap().map(sign).is_some(), "{sign}");
            }
        }
        let face = TypeFace::of(super::super::REGULAR).unwrap();
        assert!(face.width("mm") > face.width("ii"));
    }
}
