//! Plans of a study of many sites: which files they are, and the name of each one's folder.
use super::fingerprint::Hash;
use super::inputs::Faults;
use super::output::{self, MAP};
use serde::Deserialize;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::io::BufReader;
use std::path::{Path, PathBuf};
use wideenough::report::safe_name;

/// Plan and the name of its folder, which no other plan of the run has.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedSite {
    pub name: String,
    pub plan: PathBuf,
}

/// Plans found among the files and folders given.
#[derive(Debug)]
pub struct Found {
    /// The sites in the order of their names.
    pub sites: Vec<PlannedSite>,
    /// Files named *.json in the folders that hold no features: vehicles, settings.
    pub passed_over: Vec<PathBuf>,
}

/// Plan with the folders and file names that lead to it, the file's own last.
struct Trail {
    plan: PathBuf,
    words: Vec<String>,
    /// Number of the last words that make up its name.
    used: usize,
}

impl Trail {
    fn name(&self) -> String {
        safe_name(&self.words[self.words.len() - self.used..].join("-"))
    }
}

/// Finds the plans among files and folders. Files written by an earlier study are not taken for plans.
///
/// A file is named after its own name, and one found in a folder after its path from there: "north/lot 7.geojson" is
/// "north-lot-7". Where two names coincide, the folders above are added; where they still do, digits that follow from
/// the path. So a site keeps its name when others come and go, unless a new one has the same name.
pub fn find(given: &[PathBuf], out: &Path) -> Result<Found, Faults> {
    let mut faults = Faults::default();
    let (mut trails, mut passed_over): (Vec<Trail>, Vec<PathBuf>) = (Vec::new(), Vec::new());
    let out = out.canonicalize().ok();
    for path in given {
        if path.is_dir() {
            let mut walk = Walk { out: out.as_deref(), files: Vec::new(), passed_over: Vec::new() };
            if let Err(e) = walk.folder(path) {
                faults.add(e);
            } else if walk.files.is_empty() {
                let message = "there is no plan in it (*.geojson, or *.json with GeoJSON features)";
                faults.add(Faults::one(format!("{}: {message}", path.display())));
            }
            trails.extend(walk.files.into_iter().map(|file| {
                let used = file.strip_prefix(path).map_or(1, |inner| inner.components().count());
                trail(file, used)
            }));
            passed_over.extend(walk.passed_over);
        } else {
            trails.push(trail(path.clone(), 1));
        }
    }
    let mut seen = BTreeSet::new();
    // A file listed twice is one site.
    trails.retain(|trail| seen.insert(trail.plan.canonicalize().unwrap_or_else(|_| trail.plan.clone())));
    faults.or(Found { sites: named(trails), passed_over })
}

fn trail(plan: PathBuf, used: usize) -> Trail {
    let mut words: Vec<String> = plan
        .parent()
        .into_iter()
        .flat_map(Path::components)
        .map(|c| c.as_os_str().to_string_lossy().into_owned())
        .collect();
    words.push(plan.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default());
    Trail { plan, words, used }
}

/// Sites in the order of their names, no two alike.
fn named(mut trails: Vec<Trail>) -> Vec<PlannedSite> {
    loop {
        let mut of_name: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (i, trail) in trails.iter().enumerate() {
            of_name.entry(trail.name()).or_default().push(i);
        }
        let alike: Vec<usize> = of_name.into_values().filter(|group| group.len() > 1).flatten().collect();
        let mut longer = false;
        for i in &alike {
            let trail = &mut trails[*i];
            longer |= trail.used < trail.words.len();
            trail.used = trail.words.len().min(trail.used + 1);
        }
        if !longer {
            let mut sites: Vec<PlannedSite> = trails
                .into_iter()
                .enumerate()
                .map(|(i, trail)| {
                    let name = trail.name();
                    let name = if alike.contains(&i) { with_digits(&name, &trail.plan) } else { name };
                    PlannedSite { name, plan: trail.plan }
                })
                .collect();
            sites.sort_by(|a, b| (&a.name, &a.plan).cmp(&(&b.name, &b.plan)));
            return sites;
        }
    }
}

fn with_digits(name: &str, plan: &Path) -> String {
    let digits = Hash::new().and(plan.to_string_lossy().as_bytes()).hex();
    format!("{name}-{}", &digits[..12])
}

/// Recursive search through a folder.
struct Walk<'o> {
    /// Folder into which this run writes.
    out: Option<&'o Path>,
    files: Vec<PathBuf>,
    passed_over: Vec<PathBuf>,
}

impl Walk<'_> {
    fn folder(&mut self, folder: &Path) -> Result<(), Faults> {
        let fault = |e: std::io::Error| Faults::one(format!("{}: cannot be read: {e}", folder.display()));
        let entries =
            std::fs::read_dir(folder).and_then(Iterator::collect::<Result<Vec<_>, _>>).map_err(fault)?;
        let mut entries: Vec<(PathBuf, bool)> = entries
            .into_iter()
            // A folder that is a link may lead back up, so links are not followed.
            .map(|entry| (entry.path(), entry.file_type().is_ok_and(|kind| kind.is_dir())))
            .collect();
        entries.sort();
        let summarized = output::is_summarized(folder);
        for (path, is_folder) in entries {
            let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
            if name.starts_with('.') {
                continue;
            }
            if is_folder {
                let own = self.out.is_some() && path.canonicalize().ok().as_deref() == self.out;
                if !own && !output::is_of_a_study(&path) {
                    self.folder(&path)?;
                }
            } else if path.is_file() && !(summarized && name == MAP) {
                let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
                match ending.as_str() {
                    "geojson" => self.files.push(path),
                    "json" if may_be_a_plan(&path) => self.files.push(path),
                    "json" => self.passed_over.push(path),
                    _ => {}
                }
            }
        }
        Ok(())
    }
}

/// True if a JSON file holds features, or is too broken to tell.
fn may_be_a_plan(path: &Path) -> bool {
    #[derive(Deserialize)]
    struct Head {
        #[serde(default, rename = "type")]
        kind: Value,
    }
    let Ok(file) = std::fs::File::open(path) else { return true };
    match serde_json::from_reader::<_, Head>(BufReader::new(file)) {
        Ok(head) => head.kind == "FeatureCollection",
        Err(e) => !e.is_data(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    const FEATURES: &str = r#"{ "features": [], "type": "FeatureCollection" }"#;

    fn names(given: &[PathBuf], out: &Path) -> Vec<String> {
        find(given, out).unwrap().sites.into_iter().map(|site| site.name).collect()
    }

    fn made(folder: &Path, files: &[(&str, &str)]) {
        for (name, text) in files {
            let path = folder.join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, text).unwrap();
        }
    }

    #[test]
    fn a_folder_gives_its_plans_and_nothing_else() {
        let temp = tempfile::tempdir().unwrap();
        let top = temp.path();
        made(
            top,
            &[
                ("b.geojson", "any"),
                ("a.JSON", FEATURES),
                ("broken.json", "{ \"type\": "),
                ("truck.json", r#"{ "title": "a truck" }"#),
                ("list.json", "[1]"),
                ("notes.txt", "any"),
                (".hidden.geojson", "any"),
                ("north/Lot 7.geojson", "any"),
                ("out/earlier/results.json", "{}"),
                ("out/earlier/study.geojson", "any"),
                ("out/gates.geojson", "any"),
                ("other/one/results.json", "{}"),
                ("other/one/fix-wider.geojson", "any"),
                ("other/summary.jsonl", ""),
                ("other/gates.geojson", "any"),
            ],
        );
        let found = find(&[top.to_owned()], &top.join("out")).unwrap();
        let names: Vec<&str> = found.sites.iter().map(|site| site.name.as_str()).collect();
        assert_eq!(names, ["a", "b", "broken", "north-lot-7"]);
        assert_eq!(found.sites[3].plan, top.join("north/Lot 7.geojson"));
        assert_eq!(found.passed_over, [top.join("list.json"), top.join("truck.json")]);
    }

    #[test]
    fn no_two_sites_are_called_alike() {
        let temp = tempfile::tempdir().unwrap();
        let top = temp.path();
        made(
            top,
            &[
                ("x/site.geojson", ""),
                ("y/site.geojson", ""),
                ("y/Site.json", FEATURES),
                ("z/one.geojson", ""),
            ],
        );
        let given = |files: &[&str]| files.iter().map(|file| top.join(file)).collect::<Vec<PathBuf>>();
        let out = top.join("out");
        assert_eq!(names(&given(&["y/site.geojson", "z/one.geojson"]), &out), ["one", "site"]);
        assert_eq!(
            names(&given(&["y/site.geojson", "x/site.geojson", "z/one.geojson"]), &out),
            ["one", "x-site", "y-site"]
        );
        // A file reached by two paths is one site.
        assert_eq!(names(&given(&["y/../y/site.geojson", "y/site.geojson"]), &out), ["site"]);
        let three = names(&given(&["y/site.geojson", "y/Site.json", "x/site.geojson"]), &out);
        assert_eq!(three.iter().collect::<BTreeSet<_>>().len(), 3, "{three:?}");
        let turned = names(&given(&["x/site.geojson", "y/Site.json", "y/site.geojson"]), &out);
        assert_eq!(three, turned, "the order of the arguments does not count");
    }

    #[test]
    fn a_folder_without_plans_is_a_fault() {
        let temp = tempfile::tempdir().unwrap();
        let fault = find(&[temp.path().to_owned()], Path::new("out")).unwrap_err().to_string();
        assert!(fault.contains("there is no plan in it"), "{fault}");
    }
}
