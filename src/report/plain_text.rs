//! A page in Markdown as text for a terminal: paragraphs filled, tables in columns, links as they are named.
use super::table::{clear_table, wrapped};
use super::words::Line;

/// The page as text no wider than `width` columns, but for blocks of code and single words longer than that.
///
/// Only what the pages of `docs/` use is known: headings, paragraphs, lists of one level, tables, blocks of code,
/// links and comments.
///
/// ```
/// let text = wideenough::report::plain_text("# A page\n\nSee [the plan](plan.md)\nfirst.\n", 40);
/// assert_eq!(text, "A page\n------\n\nSee the plan first.\n");
/// ```
#[must_use]
pub fn plain_text(page: &str, width: u16) -> String {
    let mut out: Vec<String> = Vec::new();
    let mut lines = page.lines().peekable();
    while let Some(line) = lines.next() {
        if line.starts_with("<!--") {
            continue;
        }
        if line.starts_with("```") {
            out.extend(lines.by_ref().take_while(|l| !l.starts_with("```")).map(|l| format!("    {l}")));
        } else if let Some(title) = line.strip_prefix('#') {
            let title = without_marks(title.trim_start_matches('#').trim());
            out.push(title.clone());
            out.push("-".repeat(title.chars().count()));
        } else if line.starts_with('|') {
            let mut rows = vec![cells(line)];
            while let Some(row) = lines.next_if(|l| l.starts_with('|')) {
                rows.push(cells(row));
            }
            out.push(columns(&rows, width));
        } else if line.is_empty() {
            // One blank line, however many comments stood between.
            if out.last().is_some_and(|last| !last.is_empty()) {
                out.push(String::new());
            }
        } else {
            let mut paragraph = line.trim().to_owned();
            let ends = |l: &str| l.is_empty() || l.starts_with("```") || l.starts_with("<!--");
            let goes_on = |l: &str| !ends(l) && !l.starts_with("- ") && !l.starts_with(['|', '#']);
            while let Some(more) = lines.next_if(|l| goes_on(l)) {
                paragraph.push(' ');
                paragraph.push_str(more.trim());
            }
            let listed = paragraph.starts_with("- ");
            let rows = wrapped(&Line::plain(without_marks(&paragraph)), width);
            out.extend(rows.into_iter().map(|row| {
                // Only the later lines of an item stand below its text.
                if listed { row.text } else { row.text.trim_start().to_owned() }
            }));
        }
    }
    while out.last().is_some_and(String::is_empty) {
        out.pop();
    }
    out.join("\n") + "\n"
}

/// The cells of a row of a table; a vertical bar within a cell stands behind a backslash.
fn cells(row: &str) -> Vec<String> {
    let row = row.trim().trim_start_matches('|').trim_end_matches('|').replace("\\|", "\u{e000}");
    row.split('|').map(|cell| without_marks(cell.trim()).replace('\u{e000}', "|")).collect()
}

/// The table in columns; its second row only separates the header.
fn columns(rows: &[Vec<String>], width: u16) -> String {
    let mut table = clear_table(width);
    if let Some(header) = rows.first() {
        table.set_header(header.clone());
    }
    for row in rows.iter().skip(2) {
        table.add_row(row.clone());
    }
    for column in table.column_iter_mut() {
        column.set_padding((0, 2));
    }
    table.to_string().lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// Text without the marks of bold words and code, and with links as their words.
fn without_marks(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('[') {
        match after.split_once("](").and_then(|(words, tail)| Some((words, tail.split_once(')')?.1))) {
            Some((words, tail)) if !words.contains('[') => {
                plain.push_str(before);
                plain.push_str(words);
                rest = tail;
            }
            _ => {
                plain.push_str(before);
                plain.push('[');
                rest = after;
            }
        }
    }
    plain.push_str(rest);
    plain.replace("**", "").replace('`', "")
}
