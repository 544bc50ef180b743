//! Reads the inputs of a command, the plan and its vehicles, and collects the faults of all of them at once.
use clap::Args;
use std::fmt;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use wideenough::Error;
use wideenough::gate::{self, Allowances};
use wideenough::geometry::text::tidy;
use wideenough::opening::Wanted;
use wideenough::site::{self, Given, Site, Source, VehicleRequest, Visit};
use wideenough::vehicle::{self, Vehicle};

/// Faults of the inputs, one message each; a message may have several lines.
#[derive(Debug, Default)]
pub struct Faults(Vec<String>);

impl Faults {
    /// Creates a collection of one fault.
    pub fn one(message: impl Into<String>) -> Self {
        Self(vec![message.into()])
    }
    /// Adds faults of another input to these.
    pub fn add(&mut self, other: Self) {
        for message in other.0 {
            if !self.0.contains(&message) {
                self.0.push(message);
            }
        }
    }
    /// Returns each message by itself.
    pub fn messages(&self) -> &[String] {
        &self.0
    }
    /// Returns the value, unless there are faults.
    pub fn or<T>(self, value: T) -> Result<T, Self> {
        if self.0.is_empty() { Ok(value) } else { Err(self) }
    }
}

impl From<Error> for Faults {
    /// Takes the library's own words: they name the file and the place.
    fn from(error: Error) -> Self {
        Self::one(error.to_string())
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join("\n"))
    }
}

/// Arguments for the plan and the files that may come with it.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The site plan: a GeoJSON file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    #[command(flatten)]
    pub beside: BesideArgs,
}

/// Arguments for files that may come with a plan.
#[derive(Clone, Debug, Args)]
pub struct BesideArgs {
    /// JSON file with the plan's settings (title, coordinates, units, vehicles...), or another plan to take them from
    ///
    /// The settings are those of a plan's "plan" member, which map programs drop. They take precedence over the plan's
    /// own. A feature with the role "plan" may hold settings too, as its properties.
    #[arg(long, value_name = "FILE")]
    pub settings: Option<PathBuf>,
    /// JSON file of rules that give features a role by their attributes, so that layers need not be retyped
    ///
    /// { "rules": [{ "where": { "layer": "roads" }, "role": "road", "properties": { "width": "20 ft" } }] }: docs/map-data.md
    /// describes the rules, examples/roles.schema.json is their schema.
    #[arg(long, value_name = "FILE")]
    pub roles: Option<PathBuf>,
}

impl BesideArgs {
    /// Lists which of these files cannot be read: reported once, not for each of many plans.
    pub fn unreadable(&self) -> Faults {
        let mut faults = Faults::default();
        for path in [&self.settings, &self.roles].into_iter().flatten() {
            text(path, site::MAX_PLAN_BYTES).err().into_iter().for_each(|e| faults.add(e));
        }
        faults
    }
}

/// Plan and its vehicles, in the same order as the plan's requests.
#[derive(Debug)]
pub struct Inputs {
    /// Text of a plan that is complete by itself: its own, with the settings and roles merged in.
    pub text: String,
    pub site: Site,
    pub vehicles: Vec<Vehicle>,
    /// File beside which the vehicle files named in the plan lie.
    pub beside: PathBuf,
}

/// The vehicles of a plan as a study takes them, in the same order as the plan's requests; one without visits of its own
/// gets those of `otherwise`.
pub fn wanted(site: &Site, vehicles: Vec<Vehicle>, otherwise: &[Visit]) -> Vec<Wanted> {
    let of_request = |(request, vehicle): (&VehicleRequest, Vehicle)| {
        let visits = if request.visits.is_empty() { otherwise } else { &request.visits };
        Wanted { vehicle, visits: visits.to_vec(), travels: request.travels.clone() }
    };
    site.vehicles.iter().zip(vehicles).map(of_request).collect()
}

/// Reads a plan and its vehicles. `chosen` replaces the plan's own list unless it is empty.
pub fn read(args: &PlanArgs, chosen: &[String]) -> Result<Inputs, Faults> {
    let mut faults = Faults::default();
    let read = read_plan(args, &mut faults);
    // Files named in the plan are relative to it; those typed are relative to the current folder.
    let beside = if chosen.is_empty() { read.beside.parent().map(Path::to_owned) } else { None };
    with_vehicles((&args.plan, read), chosen, faults, &|name| vehicle(name, beside.as_deref()))
}

/// Reads a plan from its text, as [`read`] does from its file, which need not exist.
#[cfg(feature = "board")]
pub fn read_text(plan: &Path, text: String, chosen: &[String]) -> Result<Inputs, Faults> {
    let beside = if chosen.is_empty() { plan.parent() } else { None };
    read_text_with(plan, text, chosen, &|name| vehicle(name, beside))
}

/// As [`read_text`]; `find` reads the vehicles.
#[cfg(feature = "board")]
pub fn read_text_with(
    plan: &Path,
    text: String,
    chosen: &[String],
    find: &dyn Fn(&str) -> Result<Vehicle, Faults>,
) -> Result<Inputs, Faults> {
    let mut faults = Faults::default();
    let read = settle(plan, (text, plan.display().to_string()), (None, None), plan, &mut faults);
    with_vehicles((plan, read), chosen, faults, find)
}

/// The text of a plan.
#[cfg(feature = "board")]
pub fn plan_text(path: &Path) -> Result<String, Faults> {
    text(path, site::MAX_PLAN_BYTES)
}

/// Adds the vehicles to a plan that was read.
fn with_vehicles(
    (plan, read): (&Path, ReadPlan),
    chosen: &[String],
    mut faults: Faults,
    find: &dyn Fn(&str) -> Result<Vehicle, Faults>,
) -> Result<Inputs, Faults> {
    let ReadPlan { site, planned, beside } = read;
    let requests = requests(&planned, chosen);
    let mut vehicles: Vec<Vehicle> = Vec::new();
    for request in &requests {
        match find(&request.vehicle) {
            Err(e) => faults.add(e),
            Ok(found) if vehicles.iter().any(|v| v.name == found.name) => faults.add(Faults::one(format!(
                "\"{}\": there is another vehicle named \"{}\"; name it once, or rename the file",
                request.vehicle, found.name
            ))),
            Ok(found) => vehicles.push(found),
        }
    }
    let Some((text, mut site)) = site else { return Err(faults) };
    site.vehicles = requests;
    let longest_m = vehicles.iter().map(Vehicle::length_m).fold(0.0, f64::max);
    let short = site::short_roads(&site, longest_m);
    site.warnings
        .extend(short.iter().map(|warning| tidy(&format!("{}: {warning}", plan.display())).into_owned()));
    faults.or(Inputs { text, site, vehicles, beside })
}

/// Text with each line made safe to show: names of files and of unknown properties come from outside.
pub fn tidy_lines(text: &str) -> String {
    text.lines().map(|line| tidy(line).into_owned()).collect::<Vec<String>>().join("\n")
}

/// Prints the warnings of a plan, parts that were ignored or look odd, before anything else.
pub fn tell_warnings(site: &Site) {
    site.warnings.iter().for_each(|warning| eprintln!("warning: {warning}"));
}

/// Requests for the vehicles to study. A chosen vehicle that the plan also names keeps the plan's request.
fn requests(planned: &[VehicleRequest], chosen: &[String]) -> Vec<VehicleRequest> {
    if chosen.is_empty() {
        return planned.to_vec();
    }
    let mut requests: Vec<VehicleRequest> = Vec::new();
    for name in chosen {
        if requests.iter().any(|r| r.vehicle == *name) {
            continue;
        }
        let same = planned.iter().find(|r| r.vehicle == *name).cloned();
        requests.push(same.unwrap_or_else(|| any_way(name)));
    }
    requests
}

/// Request without conditions: driving in must be possible, from each direction.
fn any_way(name: &str) -> VehicleRequest {
    VehicleRequest { vehicle: name.to_owned(), visits: Vec::new(), travels: Vec::new() }
}

/// Readable parts of a plan; faults go to the collector of the caller.
struct ReadPlan {
    /// Plain text and site, unless the plan is at fault.
    site: Option<(String, Site)>,
    /// Vehicles named by the plan, as far as they can be read, so that their faults are listed too.
    planned: Vec<VehicleRequest>,
    /// File that names the vehicles.
    beside: PathBuf,
}

fn read_plan(args: &PlanArgs, faults: &mut Faults) -> ReadPlan {
    let name = |path: &Path| path.display().to_string();
    let plan = size(&args.plan)
        .and_then(|bytes| {
            site::check_size(&name(&args.plan), bytes).map_err(Error::from)?;
            text(&args.plan, site::MAX_PLAN_BYTES)
        })
        .map(|text| (text, name(&args.plan)));
    let mut beside_it = |path: &Option<PathBuf>| -> Option<(String, String)> {
        let path = path.as_deref()?;
        let read = text(path, site::MAX_PLAN_BYTES).map_err(|e| faults.add(e));
        Some((read.ok()?, name(path)))
    };
    let (settings, roles) = (beside_it(&args.beside.settings), beside_it(&args.beside.roles));
    let unread = args.beside.settings.is_some() != settings.is_some()
        || args.beside.roles.is_some() != roles.is_some();
    let read = ReadPlan { site: None, planned: Vec::new(), beside: args.plan.clone() };
    let plan = match plan {
        // Without its settings or rules, a plan would show faults that it does not have.
        Ok(_) if unread => return read,
        Ok(plan) => plan,
        Err(e) => {
            faults.add(e);
            return read;
        }
    };
    let settings_file = args.beside.settings.as_deref().unwrap_or(&args.plan);
    settle(&args.plan, plan, (settings, roles), settings_file, faults)
}

/// A text, and the name of its file.
type NamedText = (String, String);

/// Reads the text of a plan, given with its name as the texts of its settings and roles are. `settings_file` is the
/// file of these settings.
fn settle(
    path: &Path,
    plan: NamedText,
    (settings, roles): (Option<NamedText>, Option<NamedText>),
    settings_file: &Path,
    faults: &mut Faults,
) -> ReadPlan {
    let mut read = ReadPlan { site: None, planned: Vec::new(), beside: path.to_owned() };
    fn given(file: &(String, String)) -> Given<'_> {
        Given { text: &file.0, file: &file.1 }
    }
    let source = Source {
        plan: given(&plan),
        settings: settings.as_ref().map(given),
        roles: roles.as_ref().map(given),
    };
    if source.settings_name_vehicles() {
        settings_file.clone_into(&mut read.beside);
    }
    let made = site::read_source(&source).and_then(|site| Ok((site::plain_text(&source, &site)?, site)));
    match made {
        Ok((text, site)) => {
            read.planned.clone_from(&site.vehicles);
            read.site = Some((text, site));
        }
        Err(e) => {
            // A mistyped property is often the cause of a fault.
            e.warnings().iter().for_each(|warning| faults.add(Faults::one(format!("warning: {warning}"))));
            faults.add(Error::from(e).into());
            read.planned = source.vehicles_named().iter().map(|name| any_way(name)).collect();
        }
    }
    read
}

/// Reads a vehicle by library name or file. A file named in a plan lies `beside` the plan.
pub fn vehicle(name: &str, beside: Option<&Path>) -> Result<Vehicle, Faults> {
    let as_path = Path::new(name);
    let path = beside.map_or_else(|| as_path.to_owned(), |folder| folder.join(as_path));
    if !looks_like_a_file(name) {
        match vehicle::find(name) {
            Ok(found) => return Ok(found),
            Err(_) if path.is_file() => {}
            Err(e) => return Err(Error::from(e).into()),
        }
    }
    vehicle_file(&path)
}

/// True if a vehicle is named by its file.
pub fn looks_like_a_file(name: &str) -> bool {
    name.contains(['/', '\\']) || name.to_lowercase().ends_with(".json")
}

/// Name of a plan's vehicle for a plan that lies in `folder`: the file's path relative to that folder, since a plan
/// names files relative to itself. A library name is unchanged.
pub fn named_from(folder: &Path, plan: &Path, name: &str) -> String {
    let file = plan.parent().map_or_else(|| Path::new(name).to_owned(), |beside| beside.join(name));
    if !looks_like_a_file(name) && vehicle::find(name).is_ok() {
        return name.to_owned();
    }
    let (Ok(file), Ok(folder)) = (file.canonicalize(), folder.canonicalize()) else { return name.to_owned() };
    let shared = file.components().zip(folder.components()).take_while(|(a, b)| a == b).count();
    if shared == 0 {
        return file.display().to_string();
    }
    let up = folder.components().skip(shared).map(|_| "..".to_owned());
    let down = file.components().skip(shared).map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<String>>().join("/")
}

fn vehicle_file(path: &Path) -> Result<Vehicle, Faults> {
    let text = small_text(path, "a vehicle file")?;
    Ok(vehicle::read(&text, &path.display().to_string()).map_err(Error::from)?)
}

/// Reads a file of hardware allowances.
pub fn allowances(path: &Path) -> Result<Allowances, Faults> {
    let text = small_text(path, "a file of gate allowances")?;
    Ok(gate::read(&text, &path.display().to_string()).map_err(Error::from)?)
}

/// Reads the text of a file under the size limit of a vehicle file.
fn small_text(path: &Path, what: &str) -> Result<String, Faults> {
    let limit = u64::try_from(vehicle::MAX_FILE_BYTES).unwrap_or(u64::MAX);
    let bytes = size(path)?;
    if bytes > limit {
        return Err(Faults::one(format!(
            "{}: {bytes} bytes is too large for {what} (at most {limit})",
            path.display()
        )));
    }
    text(path, limit)
}

/// Reads every vehicle of the library, in its order.
pub fn library() -> Result<Vec<Vehicle>, Faults> {
    let mut faults = Faults::default();
    let mut vehicles = Vec::new();
    for (name, _) in vehicle::library() {
        match vehicle::find(name) {
            Ok(found) => vehicles.push(found),
            Err(e) => faults.add(Error::from(e).into()),
        }
    }
    faults.or(vehicles)
}

/// Size of a file, before any of it is read.
fn size(path: &Path) -> Result<u64, Faults> {
    let fault = |what: String| Faults::one(format!("{}: {what}", path.display()));
    let about = std::fs::metadata(path).map_err(|e| fault(unreadable(&e)))?;
    if about.is_dir() {
        return Err(fault("is a folder; name the file in it".to_owned()));
    }
    Ok(about.len())
}

/// Text of a file: at most `limit` bytes of it, even if it grows or is no ordinary file.
fn text(path: &Path, limit: u64) -> Result<String, Faults> {
    let fault = |what: String| Faults::one(format!("{}: {what}", path.display()));
    let mut bytes = Vec::new();
    let mut file = File::open(path).map_err(|e| fault(unreadable(&e)))?.take(limit.saturating_add(1));
    file.read_to_end(&mut bytes).map_err(|e| fault(unreadable(&e)))?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > limit {
        return Err(fault(format!("is too large (at most {limit} bytes)")));
    }
    String::from_utf8(bytes).map_err(|e| {
        let before = &e.as_bytes()[..e.utf8_error().valid_up_to()];
        let line = before.iter().filter(|b| **b == b'\n').count() + 1;
        fault(format!("line {line}: is not UTF-8 text; save it as UTF-8"))
    })
}

fn unreadable(e: &std::io::Error) -> String {
    match e.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "may not be read".to_owned(),
        _ => format!("cannot be read: {e}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_vehicle_file_is_named_from_where_the_new_plan_lies() {
        let temp = tempfile::tempdir().unwrap();
        let (plans, out) = (temp.path().join("plans"), temp.path().join("out/yard"));
        std::fs::create_dir_all(plans.join("own")).unwrap();
        std::fs::create_dir_all(&out).unwrap();
        std::fs::write(plans.join("own/truck.json"), "{}").unwrap();
        let plan = plans.join("yard.geojson");
        let named = |name: &str| named_from(&out, &plan, name);
        assert_eq!(named("own/truck.json"), "../../plans/own/truck.json");
        assert!(out.join(named("own/truck.json")).is_file());
        assert_eq!(named("pickup"), "pickup", "the library's");
        assert_eq!(named("missing.json"), "missing.json");
    }
}
