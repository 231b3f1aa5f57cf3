//! Pictures, pages and Parquet: the back ends that need a library.
//!
//! The same fonts as the screens, from the same files; nothing is read from the system, so that a report looks the
//! same everywhere. No date is written into a file: two reports of the same records are the same bytes.

mod pages;
mod parquet_file;
mod type_face;

use crate::review::{Exported, Page, Press, Scene, svg};
use resvg::{tiny_skia, usvg};
use std::sync::Arc;

const REGULAR: &[u8] = include_bytes!("../../ui/fonts/AtkinsonHyperlegibleNext_400Regular.ttf");
const BOLD: &[u8] = include_bytes!("../../ui/fonts/AtkinsonHyperlegibleNext_700Bold.ttf");

/// The only press there is.
pub struct SystemPress;

impl Press for SystemPress {
    fn png(&self, scene: &Scene, title: &str, scale: f32) -> Result<Vec<u8>, String> {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        let family = fonts.faces().next().and_then(|face| face.families.first().cloned());
        let mut options = usvg::Options { fontdb: Arc::new(fonts), ..usvg::Options::default() };
        if let Some((family, _)) = family {
            options.font_family = family;
        }
        let tree = usvg::Tree::from_str(&svg(scene, title), &options).map_err(|fault| fault.to_string())?;
        let size = tree.size().to_int_size().scale_by(scale).ok_or("the picture has no size")?;
        let mut pixels = tiny_skia::Pixmap::new(size.width(), size.height()).ok_or("the picture is too large")?;
        resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
        pixels.encode_png().map_err(|fault| fault.to_string())
    }

    fn parquet(&self, exported: &Exported) -> Result<Vec<u8>, String> {
        parquet_file::write(exported).map_err(|fault| fault.to_string())
    }

    fn pdf(&self, title: &str, pages: &[Page]) -> Result<Vec<u8>, String> {
        pages::write(title, pages)
    }
}
