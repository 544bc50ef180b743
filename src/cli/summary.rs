//! `wideenough summary`: one table and one map of all sites that have been studied.
use super::inputs::Faults;
use super::output::{self, FAULTS, MAP, RESULTS};
use super::terminal;
use clap::Args;
use std::collections::BTreeMap;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use wideenough::report::summary::{self, SiteSummary, Totals};

/// Write one summary of all studies in some folders: a table, a map of the gates, and what could not be studied
///
/// Reads results.json of each site and writes summary.csv, summary.jsonl, summary.txt and gates.geojson, with the same
/// bytes as one run over all the plans. Use it to join what several machines have studied (`study --shard`).
///
/// Exit status: 0 every gate as drawn lets every vehicle come and go as required, in comfort; 1 one does not; 2 a plan
/// is at fault, or input or usage.
#[derive(Debug, Args)]
pub struct SummaryArgs {
    /// Folder that studies wrote into, each to a subfolder; or the folder of one study
    #[arg(value_name = "FOLDER", required = true)]
    folders: Vec<PathBuf>,
    /// Folder to write into; needed with several folders, else the folder itself
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Files of a summary, beside the folders of the sites.
pub const FILES: [&str; 4] = ["summary.csv", "summary.jsonl", "summary.txt", MAP];

/// Reads the folders and writes their summary.
pub fn run(args: &SummaryArgs) -> Result<ExitCode, Faults> {
    let out = match (&args.out, args.folders.as_slice()) {
        (Some(out), _) => out,
        (None, [folder]) if !output::is_of_a_study(folder) => folder,
        _ => return Err(Faults::one("say with --out where to write the summary")),
    };
    let mut faults = Faults::default();
    let mut sites: BTreeMap<String, PathBuf> = BTreeMap::new();
    for folder in &args.folders {
        let found = match sites_in(folder) {
            Ok(found) => found,
            Err(e) => {
                faults.add(e);
                continue;
            }
        };
        if found.is_empty() {
            let message = "there is no study in it: no folder with a results.json";
            faults.add(Faults::one(format!("{}: {message}", folder.display())));
        }
        for (name, folder) in found {
            if let Some(other) = sites.insert(name, folder.clone())
                && other != folder
            {
                let message = format!(
                    "{} and {}: two studies have the same name; remove one of them",
                    other.display(),
                    folder.display()
                );
                faults.add(Faults::one(message));
            }
        }
    }
    let sites = faults.or(sites)?;
    output::make_folder(out)?;
    output::clean_up_when_stopped();
    let totals = write(out, sites.into_iter())?;
    terminal::print(&totals.text())?;
    eprintln!("Written to {}: {}.", out.display(), FILES.join(", "));
    Ok(status(&totals))
}

/// Exit status of a study of many plans.
pub fn status(totals: &Totals) -> ExitCode {
    match (totals.at_fault(), totals.failing()) {
        (0, 0) => ExitCode::SUCCESS,
        (0, _) => ExitCode::from(1),
        _ => ExitCode::from(2),
    }
}

/// Lists the folders of studies in a folder, by name; or the folder itself, if it is one.
pub fn sites_in(folder: &Path) -> Result<Vec<(String, PathBuf)>, Faults> {
    let fault = |e: std::io::Error| Faults::one(format!("{}: cannot be read: {e}", folder.display()));
    let name = |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned());
    if output::is_of_a_study(folder) {
        let whole = folder.canonicalize().map_err(fault)?;
        return Ok(name(&whole).map(|name| (name, folder.to_owned())).into_iter().collect());
    }
    let mut sites = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(fault)? {
        let path = entry.map_err(fault)?.path();
        if output::is_of_a_study(&path) {
            sites.extend(name(&path).map(|name| (name, path)));
        }
    }
    sites.sort();
    Ok(sites)
}

/// Reads a site's summary from its folder. A study that cannot be read counts as a site at fault.
fn site(name: &str, folder: &Path) -> SiteSummary {
    let read = |file: &str, how: fn(&str, &str) -> Result<SiteSummary, String>| {
        let text = std::fs::read_to_string(folder.join(file)).map_err(|e| e.to_string());
        text.and_then(|text| how(name, &text)).unwrap_or_else(|e| SiteSummary {
            site: name.to_owned(),
            outcome: Err(vec![format!("{file}: cannot be read, study it again: {e}")]),
        })
    };
    if folder.join(FAULTS).is_file() {
        read(FAULTS, summary::site_at_fault)
    } else {
        read(RESULTS, summary::site_of_results)
    }
}

/// Counts the sites for a summary, without writing one.
pub fn totals(sites: impl Iterator<Item = (String, PathBuf)>) -> Result<Totals, Faults> {
    let mut totals = Totals::default();
    sites.for_each(|(name, folder)| totals.add(&site(&name, &folder)));
    Ok(totals)
}

/// Writes the summary of sites, which come in the order of their names.
pub fn write(out: &Path, sites: impl Iterator<Item = (String, PathBuf)>) -> Result<Totals, Faults> {
    let mut totals = Totals::default();
    output::write_together(out, &FILES, |files| {
        let mut files: Vec<BufWriter<&mut std::fs::File>> = files.iter_mut().map(BufWriter::new).collect();
        let [table, lines, text, map] = files.as_mut_slice() else { return Ok(()) };
        table.write_all(summary::csv_header().as_bytes())?;
        map.write_all(summary::map_start().as_bytes())?;
        let mut first = true;
        for (name, folder) in sites {
            let site = site(&name, &folder);
            table.write_all(summary::csv(&site).as_bytes())?;
            lines.write_all(summary::json_lines(&site).as_bytes())?;
            if let Some(feature) = summary::map_feature(&site, first) {
                map.write_all(feature.as_bytes())?;
                first = false;
            }
            totals.add(&site);
        }
        map.write_all(summary::map_end().as_bytes())?;
        text.write_all(totals.text().as_bytes())?;
        files.iter_mut().try_for_each(Write::flush)
    })?;
    Ok(totals)
}
