//! Pictures of vehicles: `wideenough vehicles NAME --out FILE` and `wideenough template VEHICLE`.
use super::inputs::{self, Faults};
use super::printed::{self, PaperWord};
use super::terminal::print;
use super::{UnitsWord, output};
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use wideenough::drawing;
use wideenough::drawing::paper::{TitleBlock, page_svg};
use wideenough::geometry::length;
use wideenough::sweep::SweepError;
use wideenough::vehicle::Vehicle;

/// Draw a vehicle's turning template: its swept path around turns at walking speed
///
/// The middle of the front axle is led along an arc; the drawing shows the ground the body covers, the paths of the
/// wheels, and the offtracking. It goes to standard output as SVG, or to a file.
#[derive(Debug, Args)]
pub struct TemplateArgs {
    /// A library name or a vehicle file
    vehicle: String,
    /// Angle of a turn, degrees; may be repeated
    #[arg(long = "turn", value_name = "DEGREES", default_values_t = TURNS_DEG, value_parser = turn)]
    turns: Vec<f64>,
    /// Radius of the front axle's path; the vehicle's tightest if not given or if the given one is tighter
    #[arg(long, value_name = "LENGTH", value_parser = radius, allow_hyphen_values = true)]
    radius: Option<f64>,
    /// Show lengths in feet and inches or in meters
    #[arg(long, value_enum, default_value = "ft")]
    units: UnitsWord,
    /// Draw sheets to print on this paper, one for each turn, all at one true scale; the file is a PDF
    #[arg(long, value_enum, requires = "out")]
    paper: Option<PaperWord>,
    /// File to write, as SVG, PNG or, with --paper, PDF, by its extension; an existing file is not overwritten
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// Turns shown by published templates, and a full circle.
const TURNS_DEG: [f64; 7] = [30.0, 60.0, 90.0, 120.0, 150.0, 180.0, 360.0];

/// Largest turn: beyond a full circle the vehicle covers its own ground again.
const MOST_TURN_DEG: f64 = 360.0;
/// Largest radius: no yard has room for a wider turn.
const MOST_RADIUS_M: f64 = 200.0;

fn turn(text: &str) -> Result<f64, String> {
    let degrees: f64 = text.parse().map_err(|_| "write a turn in degrees, like 90".to_owned())?;
    if degrees > 0.0 && degrees <= MOST_TURN_DEG {
        Ok(degrees)
    } else {
        Err(format!("a turn is more than 0 and at most {MOST_TURN_DEG} degrees"))
    }
}

fn radius(text: &str) -> Result<f64, String> {
    let meters = length::parse(text).map_err(|e| e.to_string())?;
    if meters > 0.0 && meters <= MOST_RADIUS_M {
        Ok(meters)
    } else {
        Err(format!("a radius is more than 0 and at most {MOST_RADIUS_M} m (656 ft)"))
    }
}

/// Draws a template.
pub fn template(args: &TemplateArgs) -> Result<ExitCode, Faults> {
    let vehicle = inputs::vehicle(&args.vehicle, None)?;
    let fault = |e: SweepError| Faults::one(format!("{}: its turning template: {e}", args.vehicle));
    let units = args.units.into();
    if let (Some(paper), Some(file)) = (args.paper, &args.out) {
        let pages = drawing::template_pages(&vehicle, &args.turns, args.radius, units, paper.into())
            .map_err(fault)?;
        let title = TitleBlock { project: "Turning templates".to_owned(), ..TitleBlock::default() };
        let count = pages.len();
        let svgs = pages.iter().enumerate().map(|(i, page)| page_svg(page, &title, i, count)).collect();
        let bytes = printed::pages(&vehicle.title, "", svgs, file)?;
        output::write_new(file, &bytes)?;
        eprintln!("Written: {}.", file.display());
        return Ok(ExitCode::SUCCESS);
    }
    let text = drawing::template_svg(&vehicle, &args.turns, args.radius, units).map_err(fault)?;
    match &args.out {
        Some(file) => write(file, text)?,
        None => print(&text)?,
    }
    Ok(ExitCode::SUCCESS)
}

/// Writes a drawing in the format given by the extension of its file.
fn write(file: &Path, svg: String) -> Result<(), Faults> {
    let bytes = printed::as_named(file, svg)?;
    output::write_new(file, &bytes)?;
    eprintln!("Written: {}.", file.display());
    Ok(())
}

/// Writes a vehicle's picture.
pub fn vehicle(vehicle: &Vehicle, units: UnitsWord, file: &Path) -> Result<(), Faults> {
    write(file, drawing::vehicle_svg(vehicle, units.into()))
}
