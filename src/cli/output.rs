//! Writes a study's folder: all files whole or none, and no misleading file of an earlier run.
use super::inputs::Faults;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use wideenough::report::summary::faults_json;
use wideenough::report::{FORMAT, SCHEDULE_FILE, TRADEOFF_FILE, safe_name};

/// File that lists the others; written last, so that it names only files that exist.
pub const RESULTS: &str = "results.json";
/// Fingerprint of the inputs that the study in a folder was made from, where it is one of many; written after all
/// others.
pub const FINGERPRINT: &str = "study.fingerprint";
/// File with the faults of a plan that could not be studied, where it is one of many.
pub const FAULTS: &str = "study-faults.json";
/// Map of all gates, beside the folders of the sites.
pub const MAP: &str = "gates.geojson";

/// Suffixes of the files that depend on the options of a study.
const KINDS: [&str; 6] = [".svg", ".envelope.json", ".geojson", ".html", ".pdf", ".png"];

/// Folder of a plan in `out`: "yards/North field.geojson" goes to "out/north-field".
pub fn folder(out: &Path, plan: &Path) -> PathBuf {
    let stem = plan.file_stem().map(|s| s.to_string_lossy().into_owned()).unwrap_or_default();
    out.join(safe_name(&stem))
}

/// Writes a file that does not exist yet: an existing drawing is worth more than a command typed twice.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Faults> {
    let file = std::fs::File::create_new(path).and_then(|mut file| {
        use std::io::Write;
        // Remove half a drawing: it would block the next attempt.
        file.write_all(bytes).inspect_err(|_| _ = std::fs::remove_file(path))
    });
    file.map_err(|e| {
        let what = match e.kind() {
            ErrorKind::AlreadyExists => "already exists; name another file".to_owned(),
            _ => format!("cannot be written: {e}"),
        };
        Faults::one(format!("{}: {what}", path.display()))
    })
}

/// Creates the folder, or reports why it cannot, before the work, so that an hour of it is not lost.
pub fn prepare(folder: &Path) -> Result<(), Faults> {
    make_folder(folder)?;
    no_folder(folder, [RESULTS, FINGERPRINT, FAULTS].into_iter())
}

/// Creates a folder and those above it.
pub fn make_folder(folder: &Path) -> Result<(), Faults> {
    let fault = |e: &std::io::Error| Faults::one(format!("{}: cannot write there: {e}", folder.display()));
    std::fs::create_dir_all(folder).map_err(|e| fault(&e))
}

/// True if a folder holds the files that a study wrote of one site.
pub fn is_of_a_study(folder: &Path) -> bool {
    [RESULTS, FINGERPRINT, FAULTS].iter().any(|name| folder.join(name).is_file())
}

/// True if a folder holds a summary of many sites.
pub fn is_summarized(folder: &Path) -> bool {
    folder.join("summary.jsonl").is_file()
}

/// Checks that no folder has the name of one of the files.
fn no_folder<'n>(folder: &Path, names: impl Iterator<Item = &'n str>) -> Result<(), Faults> {
    match names.map(|name| folder.join(name)).find(|path| path.is_dir()) {
        None => Ok(()),
        Some(path) => {
            let message = format!("{}: is a folder where a file must be written; remove it", path.display());
            Err(Faults::one(message))
        }
    }
}

/// Writes the files under temporary names first; only when the last of these is complete is each renamed,
/// `results.json` last. A reader never sees half a file, and a full disk or an interrupted run leaves an earlier run's
/// files as they were. Afterwards removes the files that an earlier run of the same plan listed as its own and this one
/// did not write; nothing else is touched.
pub fn write(folder: &Path, files: &BTreeMap<String, Vec<u8>>) -> Result<(), Faults> {
    no_folder(folder, files.keys().map(String::as_str))?;
    let earlier = listed(&folder.join(RESULTS));
    let temporary = |name: &str| folder.join(format!("{name}.tmp"));
    let last = files.keys().filter(|name| *name == RESULTS);
    let names: Vec<&String> = files.keys().filter(|name| *name != RESULTS).chain(last).collect();
    let unfinished_files = Unfinished::of(names.iter().map(|name| temporary(name)).collect());
    let written = names
        .iter()
        .try_for_each(|name| std::fs::write(temporary(name), &files[*name]).map_err(|e| (name.as_str(), e)));
    let done = written.and_then(|()| {
        // Held during the renaming, which takes milliseconds: a run interrupted now still writes all of the files.
        let _held = unfinished();
        // The fingerprint and the faults describe files that are now replaced.
        for name in [FINGERPRINT, FAULTS] {
            remove(&folder.join(name)).map_err(|e| (name, e))?;
        }
        names.iter().try_for_each(|name| {
            std::fs::rename(temporary(name), folder.join(name)).map_err(|e| (name.as_str(), e))
        })
    });
    drop(unfinished_files);
    if let Err((name, e)) = done {
        // Remove the temporary files; if even this fails, the fault below names the problem.
        names.iter().for_each(|name| _ = std::fs::remove_file(temporary(name)));
        return Err(Faults::one(format!("{}: cannot be written: {e}", folder.join(name).display())));
    }
    for name in earlier.iter().filter(|name| !files.contains_key(*name)) {
        let path = folder.join(name);
        remove(&path).map_err(|e| Faults::one(format!("{}: cannot be removed: {e}", path.display())))?;
    }
    Ok(())
}

/// Removes a file, if it is there.
fn remove(path: &Path) -> std::io::Result<()> {
    match std::fs::remove_file(path) {
        Err(e) if e.kind() != ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}

/// Writes one file, whole or not at all.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), Faults> {
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else { return Ok(()) };
    write_together(folder, &[&name.to_string_lossy()], |files| {
        use std::io::Write;
        files.iter_mut().try_for_each(|file| file.write_all(bytes))
    })
}

/// Writes files piece by piece, under temporary names until all of them are whole.
pub fn write_together(
    folder: &Path,
    names: &[&str],
    fill: impl FnOnce(&mut [std::fs::File]) -> std::io::Result<()>,
) -> Result<(), Faults> {
    no_folder(folder, names.iter().copied())?;
    let temporary: Vec<PathBuf> = names.iter().map(|name| folder.join(format!("{name}.tmp"))).collect();
    let _unfinished_files = Unfinished::of(temporary.clone());
    let written = || -> std::io::Result<()> {
        let mut files = temporary.iter().map(std::fs::File::create).collect::<Result<Vec<_>, _>>()?;
        fill(&mut files)?;
        let _held = unfinished();
        temporary.iter().zip(names).try_for_each(|(path, name)| std::fs::rename(path, folder.join(name)))
    };
    written().map_err(|e| {
        temporary.iter().for_each(|path| _ = std::fs::remove_file(path));
        Faults::one(format!("{}: cannot be written: {e}", folder.join(names.join(", ")).display()))
    })
}

/// Writes the faults of a plan into the folder of its site. Files of an earlier study stay, but no longer count.
pub fn write_faults(folder: &Path, faults: &[String]) -> Result<(), Faults> {
    let lines: Vec<String> = faults.iter().map(|fault| super::inputs::tidy_lines(fault)).collect();
    write_file(&folder.join(FAULTS), faults_json(&lines).as_bytes())?;
    let path = folder.join(FINGERPRINT);
    remove(&path).map_err(|e| Faults::one(format!("{}: cannot be removed: {e}", path.display())))
}

/// Temporary files that may exist at this moment.
static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn unfinished() -> MutexGuard<'static, Vec<PathBuf>> {
    // A list of paths is intact even if the thread that held it panicked.
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Guard over some of the temporary files: they count as unfinished as long as it lives.
struct Unfinished(Vec<PathBuf>);

impl Unfinished {
    fn of(paths: Vec<PathBuf>) -> Self {
        unfinished().extend(paths.iter().cloned());
        Self(paths)
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        unfinished().retain(|path| !self.0.contains(path));
    }
}

/// Exit status after an interrupt: 128 plus the signal number, by shell convention.
const INTERRUPTED: i32 = 130;

/// Makes an interrupted run (Ctrl-C, or a request to end) remove its temporary files before it ends.
pub fn clean_up_when_stopped() {
    let handler = || {
        let held = unfinished();
        held.iter().for_each(|path| _ = std::fs::remove_file(path));
        std::process::exit(INTERRUPTED);
    };
    // On a platform without signals, an interrupted run leaves its temporary files.
    _ = ctrlc::set_handler(handler);
}

/// Files that an earlier results.json lists, if it is one; only plain names of the kinds a study writes.
pub fn listed(results: &Path) -> Vec<String> {
    let Ok(text) = std::fs::read_to_string(results) else { return Vec::new() };
    let Ok(value) = serde_json::from_str::<Value>(&text) else { return Vec::new() };
    if value["format"] != FORMAT {
        return Vec::new();
    }
    let names = value["files"].as_array().into_iter().flatten().filter_map(Value::as_str);
    let ours = |name: &&str| {
        let stem = KINDS.iter().find_map(|kind| name.strip_suffix(kind));
        stem.is_some_and(|stem| stem == safe_name(stem)) || [SCHEDULE_FILE, TRADEOFF_FILE].contains(name)
    };
    names.filter(ours).map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(names: &[&str]) -> BTreeMap<String, Vec<u8>> {
        let listed: Vec<&&str> = names.iter().filter(|n| n.ends_with(".svg")).collect();
        let results = serde_json::json!({ "format": FORMAT, "files": listed }).to_string();
        let mut files: BTreeMap<String, Vec<u8>> =
            names.iter().map(|n| ((*n).to_owned(), format!("text of {n}").into_bytes())).collect();
        files.insert(RESULTS.to_owned(), results.into_bytes());
        files
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = std::fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_second_run_removes_what_the_first_wrote_and_nothing_else() {
        let temp = tempfile::tempdir().unwrap();
        let folder = temp.path();
        std::fs::write(folder.join("mine.svg"), "kept").unwrap();
        write(folder, &files(&["a.svg", "b.svg", "table.txt"])).unwrap();
        write(folder, &files(&["b.svg", "c.svg", "table.txt"])).unwrap();
        assert_eq!(names(folder), ["b.svg", "c.svg", "mine.svg", "results.json", "table.txt"]);
        assert_eq!(std::fs::read_to_string(folder.join("c.svg")).unwrap(), "text of c.svg");
    }

    #[test]
    fn a_list_that_points_elsewhere_is_not_followed() {
        let temp = tempfile::tempdir().unwrap();
        let outside = temp.path().join("precious.svg");
        std::fs::write(&outside, "kept").unwrap();
        let folder = temp.path().join("plan");
        prepare(&folder).unwrap();
        let list =
            serde_json::json!({ "format": FORMAT, "files": ["../precious.svg", "x/../../precious.svg"] });
        std::fs::write(folder.join(RESULTS), list.to_string()).unwrap();
        write(&folder, &files(&["a.svg"])).unwrap();
        assert!(outside.exists());
    }

    #[test]
    fn the_folder_is_named_after_the_plan() {
        let folder = |plan: &str| folder(Path::new("out"), Path::new(plan));
        assert_eq!(folder("yards/North field.geojson"), Path::new("out/north-field"));
        assert_eq!(folder("../..geojson"), Path::new("out/unnamed"));
    }

    #[test]
    fn a_folder_in_a_files_way_is_found_before_anything_is_replaced() {
        let temp = tempfile::tempdir().unwrap();
        let folder = temp.path();
        write(folder, &files(&["a.svg"])).unwrap();
        std::fs::write(folder.join("a.svg"), "of the first run").unwrap();
        std::fs::create_dir(folder.join("b.svg")).unwrap();
        let fault = write(folder, &files(&["a.svg", "b.svg"])).unwrap_err().to_string();
        assert!(fault.contains("b.svg: is a folder where a file must be written"), "{fault}");
        assert_eq!(names(folder), ["a.svg", "b.svg", "results.json"]);
        assert_eq!(std::fs::read_to_string(folder.join("a.svg")).unwrap(), "of the first run");
        std::fs::remove_file(folder.join(RESULTS)).unwrap();
        std::fs::create_dir(folder.join(RESULTS)).unwrap();
        assert!(prepare(folder).unwrap_err().to_string().contains("results.json: is a folder"));
    }

    #[test]
    fn a_file_where_the_folder_should_be_is_a_fault() {
        let temp = tempfile::tempdir().unwrap();
        let path = temp.path().join("out");
        std::fs::write(&path, "").unwrap();
        assert!(prepare(&path.join("plan")).unwrap_err().to_string().contains("cannot write there"));
    }
}
