//! What depends on the terminal: its width, color, and the progress of long work.
use super::inputs::Faults;
use std::io::{ErrorKind, IsTerminal, Write};
use wideenough::report::PAGE_WIDTH;

/// A wider table is harder to read, not easier.
const WIDEST: u16 = 140;

/// Columns to write for: the terminal's, or a page's when there is no terminal.
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
