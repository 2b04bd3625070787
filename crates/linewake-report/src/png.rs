//! Figures as PNG, so that they can be put into a slide or a letter. Text is drawn in one font that is part of the
//! program: a PNG looks the same on every machine, whatever fonts it has.

use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::{self, Options, Tree, fontdb::Database};
use std::fmt;
use std::sync::{Arc, OnceLock};

/// Liberation Sans Regular, under the SIL Open Font License 1.1 (fonts/LICENSE-OFL.txt); not modified.
const FONT: &[u8] = include_bytes!("../fonts/LiberationSans-Regular.ttf");
/// Its name: the first of [`crate::style::FIGURE_FONTS`].
const FAMILY: &str = "Liberation Sans";
/// Pixels of the PNG for one pixel of the figure: text stays sharp in print, about 200 to the inch on a wide figure.
const SCALE: f32 = 2.0;
/// The heavier letters are the regular ones with an outline, so that one font does.
const HEAVIER: &str = r##" stroke="#1b1b1b" stroke-width="0.4""##;

/// Why an SVG text could not be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PngError(String);

impl fmt::Display for PngError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "the figure cannot be drawn as PNG: {}", self.0)
    }
}

impl std::error::Error for PngError {}

/// A figure of [`crate::charts`] as PNG, on white, with two pixels for each of its own.
///
/// # Errors
/// If the text is not SVG, or its size is not one that can be drawn. No figure of [`crate::charts`] is like that.
pub fn png(svg: &str) -> Result<Vec<u8>, PngError> {
    let svg = svg.replace(r#" font-weight="600""#, HEAVIER);
    let options = Options { fontdb: fonts(), font_family: FAMILY.to_owned(), ..Options::default() };
    let tree = Tree::from_str(&svg, &options).map_err(|error: usvg::Error| PngError(error.to_string()))?;
    let size = tree.size();
    let pixels = |length: f32| (length * SCALE).ceil() as u32;
    let mut pixmap = Pixmap::new(pixels(size.width()), pixels(size.height()))
        .ok_or_else(|| PngError(format!("{} by {} pixels", size.width(), size.height())))?;
    pixmap.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(SCALE, SCALE), &mut pixmap.as_mut());
    pixmap.encode_png().map_err(|error| PngError(error.to_string()))
}

/// The one font, read once.
fn fonts() -> Arc<Database> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    let read = || {
        let mut fonts = Database::new();
        fonts.load_font_data(FONT.to_vec());
        fonts.set_sans_serif_family(FAMILY);
        Arc::new(fonts)
    };
    Arc::clone(FONTS.get_or_init(read))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::canvas::{Anchor, Canvas, Lettering};
    use resvg::tiny_skia::PremultipliedColorU8;

    fn dark(pixmap: &Pixmap) -> usize {
        let is_dark = |pixel: &&PremultipliedColorU8| pixel.red() < 100;
        pixmap.pixels().iter().filter(is_dark).count()
    }

    fn drawn(lettering: Lettering) -> Pixmap {
        let mut canvas = Canvas::new("t", 120.0);
        canvas.text(4.0, 16.0, Anchor::Start, lettering, "planned stop");
        Pixmap::decode_png(&png(&canvas.finish(24.0, "t", "d").svg).unwrap()).unwrap()
    }

    /// Without a font the text would be missing without a word; bold text must not be either.
    #[test]
    fn text_is_drawn_and_bold_text_is_heavier() {
        let (plain, bold) = (drawn(Lettering::BODY), drawn(Lettering::BODY.bold()));
        assert_eq!((plain.width(), plain.height()), (240, 48));
        assert!(dark(&plain) > 200, "{}", dark(&plain));
        assert!(dark(&bold) > dark(&plain) * 11 / 10, "{} {}", dark(&bold), dark(&plain));
    }

    #[test]
    fn figures_name_the_bundled_font_first() {
        assert!(crate::style::FIGURE_FONTS.starts_with(&format!("'{FAMILY}'")));
        let families: Vec<String> =
            fonts().faces().flat_map(|face| face.families.clone()).map(|it| it.0).collect();
        assert_eq!(families, [FAMILY]);
    }

    #[test]
    fn what_is_no_svg_is_an_error() {
        assert!(png("").is_err() && png("<p>").is_err());
        assert!(png(r#"<svg xmlns="http://www.w3.org/2000/svg" width="1e9" height="1e9"/>"#).is_err());
    }
}
