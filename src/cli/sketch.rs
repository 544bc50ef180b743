//! `wideenough sketch`: a site plan from tape measurements.
use super::inputs::Faults;
use super::terminal::print;
use super::{UnitsWord, output};
use clap::{Args, ValueEnum};
use std::path::PathBuf;
use std::process::ExitCode;
use wideenough::geometry::{Units, length};
use wideenough::site::Side;
use wideenough::site::sketch::{FarSide, TapeMeasurements, to_plan_text};

/// Write a site plan from tape measurements, for someone who has no plan yet
///
/// Lengths are written with their unit: "20 ft", "12' 6\"", "3.66 m".
#[derive(Debug, Args)]
pub struct SketchArgs {
    /// Title of the plan
    #[arg(long, default_value = "Sketch from tape measurements")]
    title: String,
    /// Width of the road's traveled way
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true)]
    road_width: f64,
    /// Distance from the near edge of the road to the middle of the gate line
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true)]
    setback: f64,
    /// Opening of the gate, post face to post face
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true)]
    opening: f64,
    /// Angle of the gate line counterclockwise from the road, degrees
    #[arg(long, value_name = "DEGREES", default_value_t = 0.0, allow_hyphen_values = true)]
    skew: f64,
    /// Side of the square posts
    #[arg(long, value_name = "LENGTH", default_value = "6 in", value_parser = measure, allow_hyphen_values = true)]
    post: f64,
    /// Width of the apron or culvert between road and gate; without it tires may use all the land between road and gate
    /// and behind the gate
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true)]
    apron: Option<f64>,
    /// Radius of the apron's corners at the road
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true, requires = "apron")]
    apron_radius: Option<f64>,
    /// Depth inside that can be driven on, from the gate line
    #[arg(long, value_name = "LENGTH", default_value = "80 ft", value_parser = measure, allow_hyphen_values = true)]
    depth: f64,
    /// Width of the yard inside, if there is an apron; as wide as the depth if not given
    #[arg(long, value_name = "LENGTH", value_parser = measure, allow_hyphen_values = true, requires = "apron")]
    width_inside: Option<f64>,
    /// What is beyond the far edge of the road. Tires stay on the pavement in any case
    #[arg(long, value_enum, default_value = "open")]
    far_side: FarSideWord,
    /// The side of the road people drive on
    #[arg(long, value_enum, default_value = "right")]
    drives_on: SideWord,
    /// Units of the sketch: feet or meters
    #[arg(long, value_enum, default_value = "ft")]
    units: UnitsWord,
    /// Vehicle that must get in; may be repeated
    #[arg(long = "vehicle", value_name = "V")]
    vehicles: Vec<String>,
    /// File to write; without it the plan goes to standard output. An existing file is not overwritten
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum FarSideWord {
    /// Nothing to touch: bumpers and mirrors may hang over the edge of the pavement
    Open,
    /// A ditch: bumpers and mirrors may hang over it
    Ditch,
    /// A wall, bank or hedge at the edge of the pavement: nothing hangs over
    Wall,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum SideWord {
    Left,
    Right,
}

fn measure(text: &str) -> Result<f64, String> {
    length::parse(text).map_err(|e| e.to_string())
}

pub fn run(args: &SketchArgs) -> Result<ExitCode, Faults> {
    let units: Units = args.units.into();
    let tape = TapeMeasurements {
        title: args.title.clone(),
        road_width_m: args.road_width,
        setback_m: args.setback,
        opening_m: args.opening,
        skew_deg: args.skew,
        post_m: args.post,
        apron_width_m: args.apron,
        apron_radius_m: args.apron_radius.unwrap_or(0.0),
        depth_inside_m: args.depth,
        width_inside_m: args.width_inside,
        far_side: match args.far_side {
            FarSideWord::Open => FarSide::Open,
            FarSideWord::Ditch => FarSide::Ditch,
            FarSideWord::Wall => FarSide::Wall,
        },
        drives_on: match args.drives_on {
            SideWord::Left => Side::Left,
            SideWord::Right => Side::Right,
        },
        units,
        vehicles: args.vehicles.clone(),
    };
    let text = to_plan_text(&tape).map_err(wideenough::Error::from)?;
    let Some(path) = &args.out else {
        print(&text)?;
        return Ok(ExitCode::SUCCESS);
    };
    output::write_new(path, text.as_bytes())?;
    eprintln!("{}", tape.far_side.words());
    eprintln!("Written: {}. Study it with: wideenough study {}", path.display(), path.display());
    Ok(ExitCode::SUCCESS)
}
