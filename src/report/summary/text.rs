//! The summary as a text: how many sites of each verdict, and a line for each site.
use super::{SiteSummary, VERDICTS, rank};
use crate::geometry::length::{Round, show};

/// Facts kept of each site until all have been read.
#[derive(Clone, Debug, Default)]
pub struct Totals {
    lines: Vec<Brief>,
    not_on_map: usize,
    failing: usize,
}

/// Summary of a site in one line.
#[derive(Clone, Debug)]
struct Brief {
    site: String,
    gate: String,
    verdict: &'static str,
    /// Vehicles that it does not serve in comfort, or the first fault.
    words: String,
}

/// Verdict on a plan at fault, in words.
const NOT_STUDIED: &str = "not studied";

/// Meaning of each verdict for a site, in the order of [`VERDICTS`].
const MEANINGS: [&str; 4] = [
    "every vehicle passes the gate as drawn in comfort",
    "every vehicle passes, one or more with less than the clearance",
    "one or more get in only by backing in",
    "one or more do not get in, or the leaves do not open",
];

/// Longest name that the columns make room for; a longer one pushes the rest of its own line aside, not of every line.
const LONGEST_NAME: usize = 40;

impl Totals {
    /// Adds a site.
    pub fn add(&mut self, site: &SiteSummary) {
        let name = site.site.clone();
        self.lines.push(match &site.outcome {
            Err(faults) => {
                let first =
                    faults.iter().flat_map(|fault| fault.lines()).find(|l| !l.starts_with("warning:"));
                let more = if faults.len() > 1 {
                    format!(" (and {} more)", faults.len() - 1)
                } else {
                    String::new()
                };
                let words = format!("{}{more}", first.unwrap_or_default());
                Brief { site: name, gate: String::new(), verdict: NOT_STUDIED, words }
            }
            Ok(studied) => {
                self.not_on_map += usize::from(studied.gate.is_none());
                self.failing += usize::from(!studied.passes);
                let served = |verdict: &str| verdict == VERDICTS[0];
                let failed = studied.vehicles.iter().filter(|(_, verdict)| !served(verdict));
                let words = failed.map(|(vehicle, verdict)| format!("{vehicle}: {}", spoken(verdict)));
                let stopped =
                    studied.leaves_stopped.iter().map(|why| format!("its leaves do not open: {why}"));
                Brief {
                    site: name,
                    gate: show(studied.opening_m, studied.units, Round::Nearest),
                    verdict: spoken(studied.verdict()),
                    words: stopped.chain(words).collect::<Vec<String>>().join("; "),
                }
            }
        });
    }

    /// Number of sites.
    #[must_use]
    pub fn sites(&self) -> usize {
        self.lines.len()
    }

    /// Number of sites that could not be studied.
    #[must_use]
    pub fn at_fault(&self) -> usize {
        self.lines.iter().filter(|line| line.verdict == NOT_STUDIED).count()
    }

    /// Number of sites whose gate does not serve every vehicle in comfort.
    #[must_use]
    pub fn failing(&self) -> usize {
        self.failing
    }

    /// Writes summary.txt.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = String::new();
        text.push_str(&match self.sites() {
            1 => "1 site\n".to_owned(),
            n => format!("{n} sites\n"),
        });
        for (verdict, meaning) in VERDICTS.iter().map(|word| spoken(word)).zip(MEANINGS) {
            let count = self.lines.iter().filter(|line| line.verdict == verdict).count();
            text.push_str(&format!("{count:>7}  {verdict}: {meaning}\n"));
        }
        if self.at_fault() > 0 {
            text.push_str(&format!("{:>7}  {NOT_STUDIED}: the plan is at fault\n", self.at_fault()));
        }
        text.push_str(&match self.not_on_map {
            0 => String::new(),
            1 => "1 of them is a sketch in feet or meters: it has no place on Earth, so gates.geojson leaves it out.\n".to_owned(),
            n => format!(
                "{n} of them are sketches in feet or meters: they have no place on Earth, so gates.geojson leaves them out.\n"
            ),
        });
        let widest =
            |of: fn(&Brief) -> &str| self.lines.iter().map(|l| of(l).chars().count()).max().unwrap_or(0);
        let name = widest(|line| &line.site).clamp(4, LONGEST_NAME);
        let gate = widest(|line| &line.gate).max(4);
        let verdict = widest(|line| line.verdict).max(7);
        text.push_str(&format!(
            "\n{:name$}  {:gate$}  {:verdict$}  Which, or why not\n",
            "Site", "Gate", "Verdict"
        ));
        for line in &self.lines {
            let Brief { site, gate: drawn, verdict: word, words } = line;
            let row = format!("{site:name$}  {drawn:>gate$}  {word:verdict$}  {words}");
            text.push_str(row.trim_end());
            text.push('\n');
        }
        text
    }
}

/// Everyday words for a verdict of results.json.
fn spoken(verdict: &str) -> &'static str {
    ["comfortable", "tight", "only backing in", "no"].get(rank(verdict)).copied().unwrap_or("no")
}
