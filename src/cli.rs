//! The command line: commands, options, and the exit status.
//!
//! Exit status: 0 every vehicle can come and go as required through the gate as drawn, in comfort; 1 one cannot; 2
//! input or usage at fault, and then nothing has been written (of many plans, those at fault have not been studied, and
//! all others have). Answers go to standard output; faults, progress and the names of files written go to standard
//! error.
pub(crate) mod fingerprint;
mod gate;
mod help;
pub(crate) mod inputs;
mod many;
mod output;
mod picture;
mod plans;
mod printed;
mod progress;
mod sight;
mod sketch;
mod study;
mod summary;
mod terminal;

use clap::{Args, Parser, Subcommand, ValueEnum};
use inputs::{Faults, PlanArgs};
#[cfg(feature = "board")]
pub(crate) use output::folder as study_folder;
use std::path::PathBuf;
use std::process::ExitCode;
pub(crate) use terminal::print;
use wideenough::geometry::text::tidy;
use wideenough::geometry::{Units, length};
use wideenough::report;

/// How wide must a driveway gate be?
///
/// Reads a site plan and the vehicles that must get in, drives each one through the gate by its own kinematics, and
/// answers with the narrowest opening each needs: at the very least, and in comfort.
#[derive(Debug, Parser)]
#[command(name = "wideenough", version, max_term_width = 100, disable_help_subcommand = true, after_help = help::topics())]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Study(Box<study::StudyArgs>),
    Summary(summary::SummaryArgs),
    Check(CheckArgs),
    Vehicles(VehiclesArgs),
    Sketch(sketch::SketchArgs),
    Template(picture::TemplateArgs),
    #[cfg(feature = "board")]
    Board(crate::board::BoardArgs),
    Help(help::HelpArgs),
}

/// Read a plan and its vehicles and list every fault at once; draw nothing
#[derive(Debug, Args)]
struct CheckArgs {
    #[command(flatten)]
    plan: PlanArgs,
    /// Vehicle to check instead of the plan's: a library name or a vehicle file; may be repeated
    #[arg(long = "vehicle", value_name = "V")]
    vehicles: Vec<String>,
}

/// List the vehicle library, or show one vehicle with its dimensions and the source of each
#[derive(Debug, Args)]
struct VehiclesArgs {
    /// A library name or a vehicle file
    name: Option<String>,
    /// Show lengths in feet and inches or in meters
    #[arg(long, value_enum, default_value = "ft")]
    units: UnitsWord,
    /// File to draw the vehicle into, as SVG or PNG by its extension; an existing file is not overwritten
    #[arg(long, value_name = "FILE", requires = "name")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum UnitsWord {
    /// Feet and inches
    Ft,
    /// Meters
    M,
}

impl From<UnitsWord> for Units {
    fn from(word: UnitsWord) -> Self {
        match word {
            UnitsWord::Ft => Self::Feet,
            UnitsWord::M => Self::Meters,
        }
    }
}

/// Runs the command given on the command line.
pub fn main() -> ExitCode {
    // Faulty usage ends here with status 2, help and version with 0.
    let cli = Cli::parse();
    let done = match cli.command {
        Command::Study(args) => study::run(&args),
        Command::Summary(args) => summary::run(&args),
        Command::Check(args) => check(&args),
        Command::Vehicles(args) => vehicles(&args),
        Command::Sketch(args) => sketch::run(&args),
        Command::Template(args) => picture::template(&args),
        #[cfg(feature = "board")]
        Command::Board(args) => crate::board::run(&args),
        Command::Help(args) => help::run(&args),
    };
    match done {
        Ok(status) => status,
        Err(faults) => {
            eprintln!("{}", inputs::tidy_lines(&faults.to_string()));
            ExitCode::from(2)
        }
    }
}

fn check(args: &CheckArgs) -> Result<ExitCode, Faults> {
    let read = inputs::read(&args.plan, &args.vehicles)?;
    let site = &read.site;
    inputs::tell_warnings(site);
    let warnings = match site.warnings.len() {
        0 => String::new(),
        1 => ", but a warning".to_owned(),
        n => format!(", but {n} warnings"),
    };
    let shown = |m: f64| length::show(m, site.units, length::Round::Nearest);
    let names: Vec<&str> = read.vehicles.iter().map(|v| v.name.as_str()).collect();
    let mut text = format!(
        "{}: no faults{warnings}. {}: a {} gate {} from the road; ",
        tidy(&args.plan.plan.display().to_string()),
        site.title,
        shown(site.gate.opening_m()),
        shown(site.gate.setback_m)
    );
    text.push_str(&if names.is_empty() {
        "it names no vehicles, so name them when studying it, with --vehicle.".to_owned()
    } else {
        format!("vehicles: {}.", names.join(", "))
    });
    text.push('\n');
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn vehicles(args: &VehiclesArgs) -> Result<ExitCode, Faults> {
    let units = args.units.into();
    let width = terminal::width();
    let text = match &args.name {
        Some(name) => {
            let vehicle = inputs::vehicle(name, None)?;
            if let Some(file) = &args.out {
                picture::vehicle(&vehicle, args.units, file)?;
            }
            report::vehicle_sheet(&vehicle, units, width)
        }
        None => report::vehicle_list(&inputs::library()?, units, width),
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}
