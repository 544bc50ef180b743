//! Pictures of vehicles: `wideenough vehicles NAME --out FILE` and `wideenough template VEHICLE`.
use super::inputs::{self, Faults};
use super::terminal::print;
use super::{UnitsWord, output};
use clap::Args;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use wideenough::drawing;
use wideenough::geometry::length;
use wideenough::vehicle::Vehicle;

/// Draw a vehicle's turning template: its swept path round turns at walking speed
///
/// The middle of the front axle is led along an arc; the drawing gives the ground the body covers, the ways of the
/// wheels, and the off-tracking. It goes to standard output as SVG, or to a file.
#[derive(Debug, Args)]
pub struct TemplateArgs {
    /// A library name or a vehicle file
    vehicle: String,
    /// Angle of a turn in degrees; may be repeated
    #[arg(long = "turn", value_name = "DEGREES", default_values_t = [90.0, 180.0], value_parser = turn)]
    turns: Vec<f64>,
    /// Radius of the front axle's way; the tightest the vehicle can if not given, or if this is tighter
    #[arg(long, value_name = "LENGTH", value_parser = radius)]
    radius: Option<f64>,
    /// Show lengths in feet and inches or in meters
    #[arg(long, value_enum, default_value = "ft")]
    units: UnitsWord,
    /// File to write; an existing one is left alone
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// A turn of more than this goes over its own ground.
const MOST_TURN_DEG: f64 = 360.0;
/// No yard has room for a wider turn.
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
        Err(format!("a radius is more than 0 and at most {MOST_RADIUS_M} m"))
    }
}

/// Draws a template.
pub fn template(args: &TemplateArgs) -> Result<ExitCode, Faults> {
    let vehicle = inputs::vehicle(&args.vehicle, None)?;
    let text = drawing::template_svg(&vehicle, &args.turns, args.radius, args.units.into())
        .map_err(|e| Faults::one(format!("{}: its turning template: {e}", args.vehicle)))?;
    match &args.out {
        Some(file) => output::write_new(file, &text).map(|()| eprintln!("Written: {}.", file.display()))?,
        None => print(&text)?,
    }
    Ok(ExitCode::SUCCESS)
}

/// Writes a vehicle's picture.
pub fn vehicle(vehicle: &Vehicle, units: UnitsWord, file: &Path) -> Result<(), Faults> {
    output::write_new(file, &drawing::vehicle_svg(vehicle, units.into()))?;
    eprintln!("Written: {}.", file.display());
    Ok(())
}
