//! Drawings as PDF and PNG: both from the SVG of the same drawing, with fonts that travel with the program.
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::{tiny_skia, usvg};
use std::sync::Arc;

/// The most pixels a side of a picture may have.
const MOST_PIXELS: f32 = 16_000.0;

/// Why a drawing cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum PrintError {
    /// The SVG cannot be read.
    #[error("the drawing cannot be read back: {0}")]
    Svg(String),
    /// It is too large or has no size.
    #[error("the drawing has a size that cannot be printed")]
    Size,
    /// The PDF or PNG writer failed.
    #[error("the writer failed: {0}")]
    Writer(String),
}

fn tree(svg: &str) -> Result<usvg::Tree, PrintError> {
    let mut fonts = usvg::fontdb::Database::new();
    // No font of the machine: the same bytes everywhere.
    fonts.load_font_data(dejavu::sans::regular().to_vec());
    fonts.load_font_data(dejavu::sans::bold().to_vec());
    fonts.set_sans_serif_family("DejaVu Sans");
    let options = usvg::Options {
        font_family: "DejaVu Sans".to_owned(),
        fontdb: Arc::new(fonts),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(svg, &options).map_err(|e| PrintError::Svg(e.to_string()))
}

/// A drawing as PNG, `scale` pixels to a CSS pixel of the SVG: 2 makes text of a phone drawing 36 pixels high.
///
/// # Errors
/// [`PrintError`] if the text is no SVG, or the picture would be too large.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PrintError> {
    let tree = tree(svg)?;
    let size = tree.size();
    let (width, height) = (size.width() * scale, size.height() * scale);
    if !(1.0..=MOST_PIXELS).contains(&width) || !(1.0..=MOST_PIXELS).contains(&height) {
        return Err(PrintError::Size);
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "both lie between 1 and 16000"
    )]
    let (wide, high) = (width.ceil() as u32, height.ceil() as u32);
    let mut picture = tiny_skia::Pixmap::new(wide, high).ok_or(PrintError::Size)?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale, scale), &mut picture.as_mut());
    picture.encode_png().map_err(|e| PrintError::Writer(e.to_string()))
}

/// Pages as one PDF: each SVG a page of its own size, its text still text, its fonts embedded.
///
/// # Errors
/// [`PrintError`] if one of the texts is no SVG.
pub fn pdf(title: &str, author: &str, pages: &[String]) -> Result<Vec<u8>, PrintError> {
    let mut document = Document::new_with(SerializeSettings::default());
    for svg in pages {
        let tree = tree(svg)?;
        // CSS pixels, 96 to an inch; a PDF counts 72 points to an inch.
        let points = |pixels: f32| pixels * 0.75;
        let (width, height) = (points(tree.size().width()), points(tree.size().height()));
        let size = Size::from_wh(width, height).ok_or(PrintError::Size)?;
        let settings = PageSettings::from_wh(width, height).ok_or(PrintError::Size)?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        surface.draw_svg(&tree, size, SvgSettings::default()).ok_or(PrintError::Size)?;
        surface.finish();
        page.finish();
    }
    let mut about = Metadata::new().title(title.to_owned()).language("en-US".to_owned());
    if !author.is_empty() {
        about = about.authors(vec![author.to_owned()]);
    }
    document.set_metadata(about);
    document.finish().map_err(|e| PrintError::Writer(format!("{e:?}")))
}
