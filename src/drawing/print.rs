//! Drawings as PDF and PNG: both from the SVG of the drawing, with fonts that travel with the program.
use super::paper::WORDS_CLASS;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{ContentTag, Node, SpanTag, Tag, TagGroup, TagTree};
use krilla::{Document, SerializeSettings};
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::usvg::roxmltree;
use resvg::{tiny_skia, usvg};
use std::sync::Arc;

/// The most pixels a side of a picture may have.
const MOST_PIXELS: f32 = 16_000.0;

/// The language of every text the program writes.
const LANGUAGE: &str = "en-US";

/// The reason a drawing cannot be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PrintError {
    /// The SVG cannot be read.
    #[error("the drawing cannot be read back: {0}")]
    Svg(String),
    /// The picture is too large or has no size.
    #[error("the drawing has a size that cannot be printed")]
    Size,
    /// The PDF or PNG writer failed.
    #[error("the writer failed: {0}")]
    Writer(String),
}

fn tree(svg: &str) -> Result<usvg::Tree, PrintError> {
    let mut fonts = usvg::fontdb::Database::new();
    // No font of the machine is used: the same bytes everywhere.
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

/// A page in the two parts a PDF distinguishes for a screen reader: the drawing, represented by its description, and
/// the words beside it, which are read out.
struct Parts {
    drawing: String,
    description: String,
    words: Option<String>,
}

fn parts(svg: &str) -> Result<Parts, PrintError> {
    let document = roxmltree::Document::parse(svg).map_err(|e| PrintError::Svg(e.to_string()))?;
    let root = document.root_element();
    let child = |name: &str| root.children().find(|n| n.tag_name().name() == name);
    let description = child("desc").and_then(|n| n.text()).unwrap_or_default().trim().to_owned();
    let of_words: Vec<_> =
        root.descendants().filter(|n| n.attribute("class") == Some(WORDS_CLASS)).map(|n| n.range()).collect();
    if of_words.is_empty() {
        return Ok(Parts { drawing: svg.to_owned(), description, words: None });
    }
    let (mut drawing, mut at) = (String::new(), 0);
    for range in &of_words {
        drawing.push_str(&svg[at..range.start]);
        at = range.end;
    }
    drawing.push_str(&svg[at..]);
    let head = root.first_child().map_or(0, |n| n.range().start);
    let mut words = svg[..head].to_owned();
    words.extend(child("defs").map(|n| &svg[n.range()]));
    words.extend(of_words.into_iter().map(|range| &svg[range]));
    words.push_str("</svg>");
    // A row ends in a space that is drawn, or its last word is read out as one with the first of the next.
    let words = words.replace("\n</text>", "\u{a0}</text>");
    Ok(Parts { drawing, description, words: Some(words) })
}

/// Draws one part over the whole page under a tag of its own.
fn draw(surface: &mut Surface<'_>, svg: &str, size: Size, tag: TagGroup) -> Result<Node, PrintError> {
    let (mut tag, tree) = (tag, tree(svg)?);
    let marked = surface.start_tagged(ContentTag::Span(SpanTag::empty()));
    let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
    surface.end_tagged();
    drawn.ok_or(PrintError::Size)?;
    tag.push(marked);
    Ok(tag.into())
}

/// Pages as one PDF: each SVG a page of its own size, its text still text, its fonts embedded. The PDF is tagged: the
/// drawing of each page is a figure with the SVG's description, and the words beside it are a paragraph.
///
/// # Errors
/// [`PrintError`] if one of the texts is no SVG.
pub fn pdf(title: &str, author: &str, pages: &[String]) -> Result<Vec<u8>, PrintError> {
    let mut document = Document::new_with(SerializeSettings::default());
    let mut tags = TagTree::new().with_lang(Some(LANGUAGE.to_owned()));
    for svg in pages {
        let Parts { drawing, description, words } = parts(svg)?;
        // CSS pixels, 96 to an inch; a PDF counts 72 points to an inch.
        let points = |pixels: f32| pixels * 0.75;
        let whole = tree(svg)?.size();
        let (width, height) = (points(whole.width()), points(whole.height()));
        let size = Size::from_wh(width, height).ok_or(PrintError::Size)?;
        let settings = PageSettings::from_wh(width, height).ok_or(PrintError::Size)?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let mut section = TagGroup::new(Tag::Section);
        let figure = TagGroup::new(Tag::Figure(Some(description)));
        section.push(draw(&mut surface, &drawing, size, figure)?);
        if let Some(words) = words {
            section.push(draw(&mut surface, &words, size, TagGroup::new(Tag::P))?);
        }
        tags.push(section);
        surface.finish();
        page.finish();
    }
    document.set_tag_tree(tags);
    let mut about = Metadata::new().title(title.to_owned()).language(LANGUAGE.to_owned());
    if !author.is_empty() {
        about = about.authors(vec![author.to_owned()]);
    }
    document.set_metadata(about);
    document.finish().map_err(|e| PrintError::Writer(format!("{e:?}")))
}
