//! `wideenough study`: from a plan to a folder of answers.
use super::gate::GateArgs;
use super::inputs::{self, BesideArgs, Faults, Inputs, PlanArgs};
use super::many::{self, Shard};
use super::printed::{self, PrintedArgs};
use super::progress::Telling;
use super::sight::SightArgs;
use super::terminal::{paint, print, takes_color, width};
use super::{UnitsWord, output};
use clap::{Args, ValueEnum};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use wideenough::geometry::length;
use wideenough::opening::{self, GateOptions, Study, StudyOptions};
use wideenough::search::Effort;
use wideenough::sight::{SightOptions, checks, survey};
use wideenough::site::Visit;
use wideenough::{drawing, report};

/// Study one plan or many: the opening that each vehicle needs, a table, drawings and results.json
///
/// Exit status: 0 every vehicle can come and go as required through the gate as drawn, in comfort; 1 one cannot; 2
/// input or usage at fault.
///
/// With many plans, each is studied into a folder of its own, using all cores, and a summary of them all is written
/// beside these folders: summary.csv, summary.jsonl, summary.txt and gates.geojson, a map. A plan at fault is listed
/// and skipped (exit status 2 in the end; the others are still studied), and one whose inputs have not changed since
/// its last study is not studied again.
#[derive(Clone, Debug, Args)]
pub struct StudyArgs {
    /// The site plan: a GeoJSON file; several, or folders of them, for a study of many sites
    ///
    /// Folders are searched with their subfolders for *.geojson files, and for *.json files that hold GeoJSON features.
    #[arg(value_name = "PLAN", required = true)]
    pub plans: Vec<PathBuf>,
    #[command(flatten)]
    pub beside: BesideArgs,
    /// Vehicle to study instead of the plan's: a library name or a vehicle file; may be repeated
    ///
    /// A vehicle that the plan also names keeps the plan's visits and directions of travel.
    #[arg(long = "vehicle", value_name = "V")]
    pub vehicles: Vec<String>,
    /// Visit that a vehicle may make where the plan lists none; may be repeated, and any one of them is enough
    ///
    /// Without it, driving in and backing out must be possible.
    #[arg(long = "visit", value_name = "VISIT", value_enum)]
    visits: Vec<VisitWord>,
    /// Clearance of the comfortable answers, like "1 ft" or "0.3 m"
    #[arg(long, value_name = "LENGTH", default_value = "0.30 m", value_parser = clearance, allow_hyphen_values = true)]
    clearance: f64,
    /// Show lengths in feet and inches or in meters, whatever the plan says
    #[arg(long, value_enum)]
    units: Option<UnitsWord>,
    /// Stops to change direction allowed beyond those a maneuver needs
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = clap::value_parser!(u32).range(0..=9))]
    shunts: u32,
    /// Stops to change direction allowed for turning around inside, if a vehicle's visits list it
    #[arg(long, value_name = "N", default_value_t = opening::TURN_STOPS, value_parser = clap::value_parser!(u32).range(0..=6))]
    turn_stops: u32,
    /// Search effort: "thorough" takes longer and may find a narrower opening
    #[arg(long, value_enum, default_value = "usual")]
    effort: EffortWord,
    /// Prove a lower bound on each opening: a few seconds for each answer
    ///
    /// Without it, at_least_m in results.json is the plain width of the vehicle.
    #[arg(long)]
    prove: bool,
    #[command(flatten)]
    pub gate: GateArgs,
    #[command(flatten)]
    sight: SightArgs,
    /// Leave out the savings from changes to the site (farther back, a wider road, a flare...), which take longer
    #[arg(long)]
    no_changes: bool,
    /// If the gate fails a vehicle, also find the least change of each kind that would fix it (wider, farther back,
    /// turned, flared, other leaves), and write each as a plan
    ///
    /// Each is confirmed by a whole study of the changed plan, which takes some ten times as long. If every vehicle
    /// passes in comfort, it takes no time.
    #[arg(long)]
    pub fix: bool,
    /// Also describe how to drive each path that counts through the gate as drawn: a card of a few steps with
    /// landmarks, and how much earlier or later, farther left or right it may begin
    #[arg(long)]
    how_to_drive: bool,
    /// Also chart the opening against setback and skew: two drawings and tradeoff.json; takes some ten times as long
    #[arg(long)]
    tradeoff: bool,
    /// Also draw each way in in landscape, for a desk or a README: <case>-wide.svg
    #[arg(long)]
    landscape: bool,
    /// Also write study.geojson in layers, a file for each kind of geometry: points, lines, polygons
    #[arg(long)]
    layers: bool,
    #[command(flatten)]
    printed: PrintedArgs,
    /// Folder to write into; the files go to a subfolder with the plan's name
    #[arg(long, value_name = "DIR", default_value = "out")]
    pub out: PathBuf,
    /// With many plans, also study those whose inputs have not changed
    #[arg(long, help_heading = "Many sites")]
    pub again: bool,
    /// With many plans, study only the I-th of N equal shares, for parallel runs on several machines; `wideenough
    /// summary` then joins their results
    #[arg(long, value_name = "I/N", help_heading = "Many sites")]
    pub shard: Option<Shard>,
    /// Run for the planning board: the plan's text is in this file, progress goes to standard output as lines of JSON,
    /// and the end of standard input ends the study
    #[cfg(feature = "board")]
    #[arg(long, value_name = "FILE", hide = true)]
    for_board: Option<PathBuf>,
}

/// Options about the gate itself and about sight, common to all plans.
pub struct Asked {
    /// Stock sizes, allowances, rules.
    pub gate: GateOptions,
    /// Rules on sight.
    pub sight: SightOptions,
}

impl StudyArgs {
    /// Returns the options about the gate and about sight, or every fault in them.
    pub fn asked(&self) -> Result<Asked, Faults> {
        match (self.gate.options(), self.sight.options()) {
            (Ok(gate), Ok(sight)) => Ok(Asked { gate, sight }),
            (gate, sight) => {
                let mut faults = Faults::default();
                gate.err().into_iter().chain(sight.err()).for_each(|e| faults.add(e));
                Err(faults)
            }
        }
    }

    /// Copy without the options that do not change the answer for a plan: which plans, the output folder, and which of
    /// them to study now. Everything else counts, so that a new flag is not forgotten.
    pub fn asked_of_each(&self) -> Self {
        Self { plans: Vec::new(), out: PathBuf::new(), again: false, shard: None, ..self.clone() }
    }
}

/// Word of the command line for a vehicle's arrival and departure.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum VisitWord {
    DriveInBackOut,
    BackInDriveOut,
    TurnAround,
}

impl From<VisitWord> for Visit {
    fn from(word: VisitWord) -> Self {
        match word {
            VisitWord::DriveInBackOut => Self::DriveInBackOut,
            VisitWord::BackInDriveOut => Self::BackInDriveOut,
            VisitWord::TurnAround => Self::TurnAround,
        }
    }
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum EffortWord {
    Usual,
    Thorough,
}

/// Largest clearance: more is a typing error, since no gate needs 5 m to spare on each side.
const MOST_CLEARANCE_M: f64 = 5.0;

fn clearance(text: &str) -> Result<f64, String> {
    let meters = length::parse(text).map_err(|e| e.to_string())?;
    if (0.0..=MOST_CLEARANCE_M).contains(&meters) {
        Ok(meters)
    } else {
        Err(format!("a clearance is between 0 and {MOST_CLEARANCE_M} m (16 ft)"))
    }
}

/// Studies a plan and writes its folder, or many plans and a summary of them.
pub fn run(args: &StudyArgs) -> Result<ExitCode, Faults> {
    match args.plans.as_slice() {
        [plan] if args.shard.is_none() && !plan.is_dir() => one(args, plan),
        _ => many::run(args),
    }
}

fn one(args: &StudyArgs, plan: &Path) -> Result<ExitCode, Faults> {
    let mut faults = Faults::default();
    let (read, asked) = match (read(args, plan), args.asked()) {
        (Ok(read), Ok(asked)) => (read, asked),
        (read, asked) => {
            read.err().into_iter().chain(asked.err()).for_each(|e| faults.add(e));
            return Err(faults);
        }
    };
    inputs::tell_warnings(&read.site);
    let read = ready(args, plan, read)?;
    let folder = output::folder(&args.out, plan);
    output::prepare(&folder)?;
    output::clean_up_when_stopped();
    #[cfg(feature = "board")]
    if args.for_board.is_some() {
        super::progress::end_with_standard_input();
        let (study, files) = work_out(args, read, &asked, &folder, &Telling::as_lines)?;
        output::write(&folder, &files)?;
        return Ok(status(&study));
    }
    let (study, files) = work_out(args, read, &asked, &folder, &Telling::of)?;
    output::write(&folder, &files)?;
    print(&paint(&report::table_lines(&study, width()), takes_color()))?;
    eprintln!("Written to {}: {}.", folder.display(), written(&files));
    Ok(status(&study))
}

fn status(study: &Study) -> ExitCode {
    if report::every_vehicle_passes(study) { ExitCode::SUCCESS } else { ExitCode::from(1) }
}

/// Reads a plan and its vehicles.
pub fn read(args: &StudyArgs, plan: &Path) -> Result<Inputs, Faults> {
    #[cfg(feature = "board")]
    if let Some(file) = &args.for_board {
        return inputs::read_text(plan, inputs::plan_text(file)?, &args.vehicles);
    }
    inputs::read(&PlanArgs { plan: plan.to_owned(), beside: args.beside.clone() }, &args.vehicles)
}

/// Prepares the inputs for the study as requested, or reports what of them cannot be studied.
pub fn ready(args: &StudyArgs, plan: &Path, mut read: Inputs) -> Result<Inputs, Faults> {
    if read.vehicles.is_empty() {
        return Err(Faults::one(format!(
            "{}: no vehicle is named, neither in the plan (plan.vehicles) nor with --vehicle; `wideenough vehicles` \
             lists the library",
            plan.display()
        )));
    }
    if let Some(word) = args.units {
        read.site.units = word.into();
    }
    printed::check(&args.printed, &read.site)?;
    Ok(read)
}

/// Computes the study and all of its files. `telling` begins reporting a part of the work.
pub fn work_out(
    args: &StudyArgs,
    read: Inputs,
    asked: &Asked,
    folder: &Path,
    telling: &dyn Fn(&'static str) -> Telling,
) -> Result<(Study, BTreeMap<String, Vec<u8>>), Faults> {
    let Inputs { text, site, vehicles, beside } = read;
    let options = StudyOptions {
        clearance_m: args.clearance,
        shunts: args.shunts,
        turn_stops: args.turn_stops,
        effort: match args.effort {
            EffortWord::Usual => Effort::USUAL,
            EffortWord::Thorough => Effort::THOROUGH,
        },
        prove: args.prove,
        changes: !args.no_changes,
        tradeoff: args.tradeoff,
    };
    let visits: Vec<Visit> = args.visits.iter().map(|word| (*word).into()).collect();
    let wanted = inputs::wanted(&site, vehicles, &visits);
    let bar = telling("ways in done");
    let mut study = opening::study(site, &wanted, &options, &|progress| bar.show(progress));
    bar.finish();
    let bar = telling("vehicles and gate arrangements done");
    let plan = opening::plan_gate(&study, (&wanted, &options), &asked.gate, &|progress| bar.show(progress));
    bar.finish();
    study.gate = Some(plan);
    args.sight.tell_unasked(&study.site);
    if !asked.sight.is_empty() {
        let seen = survey(&study.site, &study.vehicles, &asked.sight);
        let findings = checks(&seen, &study.site);
        study.gate.iter_mut().for_each(|gate| gate.rules.extend(findings.iter().cloned()));
        study.sight = Some(seen);
    }
    if args.how_to_drive {
        let bar = telling("ways to drive done");
        study.driving = opening::driving(&study, &options, &|progress| bar.show(progress));
        bar.finish();
    }
    if args.fix {
        let bar = telling("kinds of changes done");
        let named = |name: &str| inputs::named_from(folder, &beside, name);
        let found =
            opening::fixes(&study, &text, (&wanted, &options), &named, &|progress| bar.show(progress));
        bar.finish();
        study.fixes = Some(found);
    }
    let files = files(&study, args)?;
    Ok((study, files))
}

/// Names of the files written: unique ones by name, the others by their number.
fn written(files: &BTreeMap<String, Vec<u8>>) -> String {
    let kinds = [(".svg", "drawings"), (".envelope.json", "envelopes"), (".png", "pictures")];
    let kind = |name: &str| {
        // A further sheet of the same drawing has its number behind.
        let sheet = name.strip_suffix(".svg").is_some_and(|stem| {
            stem.ends_with("-sheet")
                || stem.trim_end_matches(|c: char| c.is_ascii_digit()).ends_with("-sheet-")
        });
        let by_ending = || kinds.iter().find(|(ending, _)| name.ends_with(ending)).map(|(_, kind)| *kind);
        if sheet { Some("sheets") } else { by_ending() }
    };
    let first = ["report.html", "results.json", "table.txt"];
    let others =
        files.keys().map(String::as_str).filter(|name| !first.contains(name) && kind(name).is_none());
    let mut told: Vec<String> = first.into_iter().chain(others).map(str::to_owned).collect();
    for word in ["sheets"].into_iter().chain(kinds.map(|(_, word)| word)) {
        let count = files.keys().filter(|name| kind(name) == Some(word)).count();
        told.extend((count > 0).then(|| format!("{count} {word}")));
    }
    told.join(", ")
}

/// All files of a study, by name.
fn files(study: &Study, args: &StudyArgs) -> Result<BTreeMap<String, Vec<u8>>, Faults> {
    // Several outputs need the ground a case covers: compute it first, so that none waits for another.
    study.cases.par_iter().for_each(|case| {
        if let Some((_, path)) = report::drawn_path(case) {
            let vehicle = &study.vehicles[case.vehicle];
            // An error is reported by the output that draws it.
            let _ = rayon::join(
                || case.covered.body(vehicle, path.path()),
                || case.covered.tires(vehicle, path.path()),
            );
        }
    });
    // The slowest outputs, in parallel; the results do not depend on the order.
    let drawn = || -> Result<Vec<Named>, Faults> {
        let stems = report::file_stems(study);
        (0..study.cases.len())
            .into_par_iter()
            .map(|index| case_files(study, index, &stems[index], args.landscape))
            .collect()
    };
    let (drawn, (page, overlay)) =
        rayon::join(drawn, || rayon::join(|| report::page(study), || report::geojson(study)));
    let mut files: BTreeMap<String, Vec<u8>> = drawn?.into_iter().flatten().collect();
    let schedule = report::gate_schedule(study, report::PAGE_WIDTH);
    files.extend(schedule.map(|text| (report::SCHEDULE_FILE.to_owned(), text.into_bytes())));
    for turn in &study.turns {
        let drawn = drawing::turn_svg(study, turn);
        files.extend(drawn.map(|svg| (report::turn_file(study, turn), svg.into_bytes())));
    }
    for driving in &study.driving {
        let drawn = drawing::driving_svg(study, driving);
        files.extend(drawn.map(|svg| (report::driving_file(study, driving), svg.into_bytes())));
    }
    for (rule, shown) in drawing::sight_shown(study) {
        let drawn = drawing::sight_svg(study, shown);
        files.extend(drawn.map(|svg| (report::sight_file(rule), svg.into_bytes())));
    }
    for fix in study.fixes.iter().flat_map(|fixes| &fixes.found) {
        files.insert(report::fix_file(fix), report::fix_plan(fix).into_bytes());
    }
    for tradeoff in &study.tradeoffs {
        files.insert(report::tradeoff_file(tradeoff), drawing::tradeoff_svg(study, tradeoff).into_bytes());
    }
    if !study.tradeoffs.is_empty() {
        files.insert(report::TRADEOFF_FILE.to_owned(), report::tradeoff_json(study).into_bytes());
    }
    files.insert("table.txt".to_owned(), report::table(study, report::PAGE_WIDTH).into_bytes());
    files.insert("report.html".to_owned(), page.into_bytes());
    files.insert("study.geojson".to_owned(), overlay.into_bytes());
    let printed = printed::files(study, &args.printed, &files)?;
    let wide = files.keys().filter(|name| args.landscape && name.ends_with(report::WIDE_ENDING));
    let mut names: Vec<String> = printed.keys().chain(wide).cloned().collect();
    if args.layers {
        for (name, text) in report::geojson_layers(study) {
            names.push(name.to_owned());
            files.insert(name.to_owned(), text.into_bytes());
        }
    }
    files.extend(printed);
    files.insert("results.json".to_owned(), report::json_beside(study, &names).into_bytes());
    Ok(files)
}

/// Files with their names.
type Named = Vec<(String, Vec<u8>)>;

/// Files of one case: its drawing, and the envelope drawn in it.
fn case_files(study: &Study, index: usize, stem: &str, landscape: bool) -> Result<Named, Faults> {
    let case = &study.cases[index];
    let mut files = vec![(format!("{stem}.svg"), drawing::case_svg(study, index).into_bytes())];
    if landscape {
        let drawn = drawing::case_wide_svg(study, index);
        files.extend(drawn.map(|svg| (format!("{stem}{}", report::WIDE_ENDING), svg.into_bytes())));
    }
    if let Some((_, path)) = report::drawn_path(case) {
        let swept = case
            .covered
            .body(&study.vehicles[case.vehicle], path.path())
            .map_err(|e| Faults::one(format!("{stem}: its swept path: {e}")))?;
        files.push((format!("{stem}.envelope.json"), report::envelope_json(&swept).into_bytes()));
    }
    Ok(files)
}
