//! The board's folder, which is the current one: plans, drafts and vehicle files in it, and nothing outside of it.
use super::failure::Failure;
use super::locked;
use crate::cli::fingerprint::Hash;
use axum::http::StatusCode;
use serde_json::{Value, json};
use std::fs;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::UNIX_EPOCH;

/// Ending of plans.
pub const PLAN: &str = ".geojson";
/// Ending of vehicle files.
pub const VEHICLE: &str = ".json";
/// Largest file read: the largest body that a page may send, so that what is opened can be saved.
pub const MOST_BYTES: usize = 2 << 20;
/// Longest name of a file, in bytes; with the ending of a draft it is still one that all file systems take.
const LONGEST_NAME: usize = 120;
/// Longest name of a tab of the browser, in bytes.
const LONGEST_TAB: usize = 32;
/// Most files listed.
const MOST_LISTED: usize = 500;
/// Most drafts sent at once; older ones stay in the folder.
const MOST_DRAFTS: usize = 12;

/// Held while a file is compared and replaced: two tabs that save at once take turns.
static SAVING: Mutex<()> = Mutex::new(());

/// A plain file name with this ending: no folder, nothing hidden, nothing that some system reads in another way.
pub fn name<'n>(name: &'n str, ending: &str) -> Result<&'n str, Failure> {
    let plain = |c: char| !c.is_control() && !"/\\:*?\"<>|".contains(c);
    let stem = name.strip_suffix(ending).unwrap_or_default();
    if name.len() <= LONGEST_NAME
        && !stem.trim().is_empty()
        && !name.starts_with('.')
        && name.chars().all(plain)
    {
        return Ok(name);
    }
    Err(Failure::bad(format!("a file is named like \"my-place{ending}\", without any folder")))
}

/// The text of a plain file of the folder; `None` if there is no such file. A link is not followed.
fn text(path: &Path) -> Result<Option<String>, Failure> {
    let shown = path.display();
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
        Ok(about) if about.is_file() => {}
        _ => return Err(Failure::bad(format!("{shown}: is not a plain file"))),
    }
    let mut bytes = Vec::new();
    let limit = u64::try_from(MOST_BYTES).unwrap_or(u64::MAX);
    let read = fs::File::open(path).and_then(|file| file.take(limit + 1).read_to_end(&mut bytes));
    read.map_err(|e| Failure::bad(format!("{shown}: cannot be read: {e}")))?;
    if bytes.len() > MOST_BYTES {
        let message = format!("{shown}: is too large for the board (at most {MOST_BYTES} bytes)");
        return Err(Failure::new(StatusCode::PAYLOAD_TOO_LARGE, message));
    }
    let text = String::from_utf8(bytes);
    text.map(Some).map_err(|_| Failure::bad(format!("{shown}: is not UTF-8 text; save it as UTF-8")))
}

/// Digits that change when a text does.
fn revision(text: &str) -> String {
    Hash::new().and(text.as_bytes()).hex()
}

/// A plan with its revision, when it was written, and its drafts.
pub fn open(plan: &str) -> Result<Value, Failure> {
    let plan = name(plan, PLAN)?;
    let path = Path::new(plan);
    let text = text(path)?.ok_or_else(Failure::not_found)?;
    let (drafts, at) = (drafts(Some(plan)), written_ms(path));
    let draft = drafts.first().cloned();
    Ok(
        json!({ "name": plan, "revision": revision(&text), "text": text, "at": at, "draft": draft, "drafts": drafts }),
    )
}

fn written_ms(path: &Path) -> u64 {
    let at = fs::metadata(path).and_then(|about| about.modified()).ok();
    let since = at.and_then(|at| at.duration_since(UNIX_EPOCH).ok()).unwrap_or_default();
    u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
}

/// File of the draft of a plan in one tab of the browser: `.yard.geojson.draft`, or `.yard.geojson.TAB.draft`.
fn draft_path(plan: &str, tab: Option<&str>) -> Result<PathBuf, Failure> {
    let plan = name(plan, PLAN)?;
    match tab {
        None => Ok(PathBuf::from(format!(".{plan}.draft"))),
        Some(tab) if is_tab(tab) => Ok(PathBuf::from(format!(".{plan}.{tab}.draft"))),
        Some(_) => Err(Failure::bad("a tab has a short name of letters and digits")),
    }
}

fn is_tab(tab: &str) -> bool {
    (1..=LONGEST_TAB).contains(&tab.len()) && tab.bytes().all(|b| b.is_ascii_alphanumeric())
}

/// Plan and tab of a draft, by the name of its file.
fn of_draft(file: &str) -> Option<(&str, Option<&str>)> {
    let stem = file.strip_prefix('.')?.strip_suffix(".draft")?;
    let plain = |plan: &str| name(plan, PLAN).is_ok();
    if plain(stem) {
        return Some((stem, None));
    }
    let (plan, tab) = stem.rsplit_once('.')?;
    (plain(plan) && is_tab(tab)).then_some((plan, Some(tab)))
}

/// The drafts of a plan, or of all plans, newest first: name of the plan, tab, text, and when it was written in milliseconds
/// since 1970. One that cannot be read is left out.
pub fn drafts(plan: Option<&str>) -> Vec<Value> {
    let files = files();
    let mut found: Vec<(u64, &str, &str, Option<&str>)> = files
        .iter()
        .filter_map(|file| {
            let (of, tab) = of_draft(file)?;
            plan.is_none_or(|plan| plan == of).then(|| (written_ms(Path::new(file)), file.as_str(), of, tab))
        })
        .collect();
    found.sort_unstable_by(|a, b| b.cmp(a));
    found.truncate(MOST_DRAFTS);
    let read = found.into_iter().filter_map(|(at, file, of, tab)| {
        let text = text(Path::new(file)).ok()??;
        Some(json!({ "name": of, "tab": tab, "text": text, "at": at }))
    });
    read.collect()
}

/// Names of the plain files with this ending, sorted.
pub fn listed(ending: &str) -> Vec<String> {
    let mut names: Vec<String> = files().into_iter().filter(|file| name(file, ending).is_ok()).collect();
    names.sort();
    names.truncate(MOST_LISTED);
    names
}

fn files() -> Vec<String> {
    let entries = fs::read_dir(".").into_iter().flatten().filter_map(Result::ok);
    let plain = entries.filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
    plain.filter_map(|entry| entry.file_name().into_string().ok()).collect()
}

/// Replaces a plan, if it is still as it was when this page read it (`known`); `None` is a plan that was not there.
pub fn save(plan: &str, text: &str, known: Option<&str>) -> Result<Value, Failure> {
    let plan = name(plan, PLAN)?;
    let _one_at_a_time = locked(&SAVING);
    if let Some(there) = self::text(Path::new(plan))? {
        let now = revision(&there);
        // A text that is there already, word for word, is saved.
        if known != Some(now.as_str()) && there != text {
            let message = "the file has changed since it was opened here";
            return Err(Failure::conflict(message, json!({ "text": there, "revision": now })));
        }
    }
    write(Path::new(plan), text)?;
    Ok(json!({ "revision": revision(text) }))
}

/// Writes the draft of one tab beside its plan.
pub fn save_draft(plan: &str, tab: Option<&str>, text: &str) -> Result<Value, Failure> {
    let path = draft_path(plan, tab)?;
    let _one_at_a_time = locked(&SAVING);
    write(&path, text)?;
    Ok(json!({}))
}

/// Removes the draft of one tab; one that is not there is removed already.
pub fn drop_draft(plan: &str, tab: Option<&str>) -> Result<Value, Failure> {
    let path = draft_path(plan, tab)?;
    match fs::remove_file(&path) {
        Err(e) if e.kind() != ErrorKind::NotFound => {
            Err(Failure::bad(format!("{}: cannot be removed: {e}", path.display())))
        }
        _ => Ok(json!({})),
    }
}

/// The text of a vehicle file.
pub fn vehicle(file: &str) -> Result<String, Failure> {
    text(Path::new(name(file, VEHICLE)?))?.ok_or_else(Failure::not_found)
}

/// Writes a vehicle file.
pub fn save_vehicle(file: &str, text: &str) -> Result<(), Failure> {
    let _one_at_a_time = locked(&SAVING);
    write(Path::new(name(file, VEHICLE)?), text)
}

/// Writes a file whole and then gives it its name, so that nobody reads half of one; a failure leaves what was there.
fn write(path: &Path, text: &str) -> Result<(), Failure> {
    let fault = |e: std::io::Error| Failure::bad(format!("{}: cannot be written: {e}", path.display()));
    if fs::symlink_metadata(path).is_ok_and(|about| !about.is_file()) {
        return Err(Failure::bad(format!("{}: is not a plain file", path.display())));
    }
    let plain = path.to_string_lossy();
    let temporary = PathBuf::from(format!(".{}.tmp", plain.trim_start_matches('.')));
    // A file left by a program that was killed, or a link put in its place.
    _ = fs::remove_file(&temporary);
    let written = fs::File::create_new(&temporary)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&temporary, path));
    written.inspect_err(|_| _ = fs::remove_file(&temporary)).map_err(fault)
}
