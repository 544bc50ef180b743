//! Terminal-dependent output: its width, color, and the progress of long work.
use super::inputs::Faults;
use std::io::{ErrorKind, IsTerminal, Write};
use wideenough::opening::Verdict;
use wideenough::report::{Line, PAGE_WIDTH};

/// Widest table: a wider one is harder to read.
const WIDEST: u16 = 140;

/// Number of columns to write: the terminal's, or a page's if there is no terminal.
pub fn width() -> u16 {
    if !std::io::stdout().is_terminal() {
        return PAGE_WIDTH;
    }
    terminal_size::terminal_size().map_or(PAGE_WIDTH, |(columns, _)| columns.0.min(WIDEST))
}

/// Writes to standard output. A reader that has gone away (`| head`) is no fault.
pub fn print(text: &str) -> Result<(), Faults> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Faults::one(format!("standard output: {e}"))),
        _ => Ok(()),
    }
}

/// True if standard output takes color: it is a terminal, and the NO_COLOR environment variable (by its convention) is
/// unset or empty.
pub fn takes_color() -> bool {
    let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
    let dumb = std::env::var_os("TERM").is_some_and(|v| v == "dumb");
    std::io::stdout().is_terminal() && !refused && !dumb
}

/// Text of the lines; verdicts in color if requested, though the words state them too.
pub fn paint(lines: &[Line], color: bool) -> String {
    let mut text = String::new();
    for line in lines {
        let code = match line.verdict.filter(|_| color) {
            Some(Verdict::Comfortable) => "\x1b[32m",
            Some(Verdict::Tight | Verdict::OnlyBackingIn) => "\x1b[33m",
            Some(Verdict::No) => "\x1b[31m",
            _ => "",
        };
        text.push_str(code);
        text.push_str(&line.text);
        text.push_str(if code.is_empty() { "\n" } else { "\x1b[0m\n" });
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn color_adds_nothing_but_color() {
        let lines = [
            Line::plain("a table"),
            Line { text: "it passes".to_owned(), verdict: Some(Verdict::Comfortable) },
            Line { text: "it does not".to_owned(), verdict: Some(Verdict::No) },
        ];
        assert_eq!(paint(&lines, false), "a table\nit passes\nit does not\n");
        let painted = paint(&lines, true);
        assert_eq!(painted, "a table\n\x1b[32mit passes\x1b[0m\n\x1b[31mit does not\x1b[0m\n");
    }
}
