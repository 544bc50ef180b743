//! Progress of long work, on standard error: a bar on a terminal, and elsewhere (a log, a pipe) an occasional line, so
//! that nobody has to guess whether a study of minutes still runs.
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use wideenough::opening::Progress;

/// Interval at which the time on the bar is updated, even if no step of the work has ended.
const TICK: Duration = Duration::from_millis(200);
/// Interval between lines if there is no terminal.
const LINE_EVERY: Duration = Duration::from_secs(15);

/// Reporter of the progress of one part of the work.
pub struct Telling {
    bar: ProgressBar,
    lines: Option<Lines>,
    /// What is counted, if each step is a line of JSON on standard output.
    #[cfg(feature = "board")]
    as_lines: Option<&'static str>,
}

/// Writer of occasional lines, until the sender is gone.
struct Lines {
    done_and_total: Arc<(AtomicUsize, AtomicUsize)>,
    stop: Sender<()>,
    writer: JoinHandle<()>,
}

impl Telling {
    /// Begins reporting work counted in `what`: "ways in done".
    pub fn of(what: &'static str) -> Self {
        if !std::io::stderr().is_terminal() {
            return Self { lines: Some(Lines::of(what, LINE_EVERY)), ..Self::nothing() };
        }
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        let template = format!("{{spinner}} {{bar:30}} {{pos}} of {{len}} {what}, {{elapsed}}");
        if let Ok(style) = ProgressStyle::with_template(&template) {
            bar.set_style(style);
        }
        bar.enable_steady_tick(TICK);
        Self { bar, ..Self::nothing() }
    }

    /// Reports nothing: for a part of work whose progress is reported as a whole.
    pub fn nothing() -> Self {
        Self {
            bar: ProgressBar::hidden(),
            lines: None,
            #[cfg(feature = "board")]
            as_lines: None,
        }
    }

    /// Reports each step as a line of JSON on standard output, for a program that reads it.
    #[cfg(feature = "board")]
    pub fn as_lines(what: &'static str) -> Self {
        Self { as_lines: Some(what), ..Self::nothing() }
    }

    /// Writes lines to standard error, above the bar if there is one.
    pub fn aside(&self, lines: &str) {
        self.bar.suspend(|| eprintln!("{lines}"));
    }

    /// Reports how far the work has come.
    pub fn show(&self, progress: Progress) {
        #[cfg(feature = "board")]
        if let Some(what) = self.as_lines {
            let line = serde_json::json!({ "done": progress.done, "total": progress.total, "what": what });
            // A reader that is gone ends this program by other means.
            _ = super::print(&format!("{line}\n"));
        }
        self.bar.set_length(u64::try_from(progress.total).unwrap_or(u64::MAX));
        self.bar.set_position(u64::try_from(progress.done).unwrap_or(u64::MAX));
        if let Some(lines) = &self.lines {
            lines.done_and_total.0.store(progress.done, Ordering::Relaxed);
            lines.done_and_total.1.store(progress.total, Ordering::Relaxed);
        }
    }

    /// Ends the report: the bar disappears, and no further line is written.
    pub fn finish(self) {
        self.bar.finish_and_clear();
        if let Some(Lines { stop, writer, .. }) = self.lines {
            drop(stop);
            // The thread only writes lines: a study does not fail because one could not be written.
            _ = writer.join();
        }
    }
}

/// Ends this program when its standard input ends: with the program that started it, however that one ended.
#[cfg(feature = "board")]
pub fn end_with_standard_input() {
    std::thread::spawn(|| {
        _ = std::io::copy(&mut std::io::stdin().lock(), &mut std::io::sink());
        std::process::exit(2);
    });
}

impl Lines {
    fn of(what: &'static str, every: Duration) -> Self {
        let done_and_total = Arc::new((AtomicUsize::new(0), AtomicUsize::new(0)));
        let (stop, stopped) = channel();
        let counts = Arc::clone(&done_and_total);
        let writer = std::thread::spawn(move || {
            let start = Instant::now();
            while stopped.recv_timeout(every) == Err(RecvTimeoutError::Timeout) {
                let (done, total) = (counts.0.load(Ordering::Relaxed), counts.1.load(Ordering::Relaxed));
                eprintln!("{}", line(done, total, what, start.elapsed()));
            }
        });
        Self { done_and_total, stop, writer }
    }
}

/// Formats a line of progress: "3 of 12 ways in done, 1 min 10 s".
fn line(done: usize, total: usize, what: &str, elapsed: Duration) -> String {
    let seconds = elapsed.as_secs();
    let time = if seconds < 60 {
        format!("{seconds} s")
    } else {
        format!("{} min {} s", seconds / 60, seconds % 60)
    };
    // Nothing has been counted yet.
    let count = if total == 0 { format!("0 {what}") } else { format!("{done} of {total} {what}") };
    format!("{count}, {time}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_says_how_far_and_how_long() {
        assert_eq!(line(0, 0, "ways", Duration::from_millis(9_900)), "0 ways, 9 s");
        assert_eq!(line(3, 12, "ways", Duration::from_secs(70)), "3 of 12 ways, 1 min 10 s");
    }

    /// The writer ends with the work, whether or not a line was due.
    #[test]
    fn telling_ends_with_the_work() {
        let lines = Lines::of("tests looked at", Duration::from_millis(1));
        let telling = Telling { lines: Some(lines), ..Telling::nothing() };
        telling.show(Progress { done: 1, total: 2 });
        telling.finish();
    }
}
