//! Makes user-written texts safe to show: one line, without characters that reorder, hide or end the text around them.
//!
//! Titles, labels and notes end up in a terminal, in SVG, HTML, PDF and JSON. Escaping keeps markup apart there; this
//! removes what escaping cannot help against: characters XML forbids, escape sequences of a terminal, and the invisible
//! marks that reverse the direction of the text that follows. Letters of every script stay, right-to-left ones too, and
//! so do the two joiners that scripts and emoji are spelled with.
use serde_json::Value;
use std::borrow::Cow;

/// Longest text that is kept. A longer one is no title, label or note; it is cut, and ends in an ellipsis.
const MOST_CHARS: usize = 1000;

/// A text as one line that can be shown anywhere.
///
/// ```
/// use wideenough::geometry::text::tidy;
/// assert_eq!(tidy("North\nfield\u{1b}[31m"), "North field [31m");
/// assert_eq!(tidy("gate \u{202e}evil\u{200b}"), "gate evil");
/// assert_eq!(tidy("\u{5e9}\u{5e2}\u{5e8} <b>"), "\u{5e9}\u{5e2}\u{5e8} <b>");
/// assert!(tidy(&"x".repeat(5000)).chars().count() == 1000);
/// ```
#[must_use]
pub fn tidy(text: &str) -> Cow<'_, str> {
    let plain = |c: char| shown(c) == Some(c);
    if text.len() <= MOST_CHARS && text.chars().all(plain) {
        return Cow::Borrowed(text);
    }
    let mut tidied: String = text.chars().filter_map(shown).take(MOST_CHARS + 1).collect();
    if let Some((end, _)) = tidied.char_indices().nth(MOST_CHARS) {
        tidied.truncate(end);
        tidied.pop();
        tidied.push('\u{2026}');
    }
    Cow::Owned(tidied)
}

/// The replacement for a character: itself, a space, or nothing.
fn shown(c: char) -> Option<char> {
    match c {
        // Ends of lines and paragraphs, and characters that XML does not allow.
        '\u{2028}' | '\u{2029}' | '\u{fffe}' | '\u{ffff}' => Some(' '),
        c if c.is_control() => Some(' '),
        // Marks of direction: implicit, embedding and overriding, isolating.
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => None,
        // Zero-width characters: soft hyphen, separators, joiners of words, deprecated and tagging characters.
        '\u{ad}' | '\u{180e}' | '\u{200b}' | '\u{2060}'..='\u{2064}' | '\u{206a}'..='\u{206f}' => None,
        '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}' => None,
        c => Some(c),
    }
}

/// Tidies every text in a JSON value. The names of members stay, because they identify the place of a fault.
pub(crate) fn tidy_values(value: &mut Value) {
    match value {
        Value::String(text) => {
            if let Cow::Owned(tidied) = tidy(text) {
                *text = tidied;
            }
        }
        Value::Array(list) => list.iter_mut().for_each(tidy_values),
        Value::Object(members) => members.values_mut().for_each(tidy_values),
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}
