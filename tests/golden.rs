//! Runs of the examples, compared byte for byte with the committed ones in `out/`.
//!
//! `BLESS=1 cargo test --test golden` accepts what the program writes now. A failure leaves it in
//! `out/<example>.actual` and says where the first difference is.
use assert_cmd::Command;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The examples, the number of files each writes, and the extra flags of each. Always written: one drawing and one
/// envelope per case, results.json, table.txt, gate-schedule.txt, report.html and study.geojson; with `--fix` a plan
/// for each fix, with `--how-to-drive` a card for each way that counts, with `--sight` a drawing of each rule. The
/// number stands here so that none can vanish unnoticed.
const EXAMPLES: [(&str, usize, &[&str]); 7] = [
    ("equipment-yard", 25, &[]),
    ("field-sketch", 27, &["--how-to-drive"]),
    ("house-on-a-bend", 23, &["--sight", "us,orlando"]),
    ("rural-entrance", 29, &[]),
    ("small-lane", 25, &["--how-to-drive"]),
    ("town-lot", 21, &[]),
    ("workshop-lane", 26, &["--fix"]),
];

/// Examples run unless `EVERY_CASE` is set, as in `.ci/run`: one with cards in a local frame, the one that README.md shows,
/// and one in degrees.
const SOME: [&str; 3] = ["field-sketch", "rural-entrance", "town-lot"];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeMap::new() };
    let read = |path: PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        (name, fs::read(&path).unwrap())
    };
    entries.map(|entry| read(entry.unwrap().path())).collect()
}

fn write_all(folder: &Path, files: &BTreeMap<String, Vec<u8>>) {
    let _ = fs::remove_dir_all(folder);
    fs::create_dir_all(folder).unwrap();
    for (name, bytes) in files {
        fs::write(folder.join(name), bytes).unwrap();
    }
}

/// First line at which two texts differ: line number and both lines.
fn first_difference(expected: &[u8], actual: &[u8]) -> String {
    let (expected, actual) = (String::from_utf8_lossy(expected), String::from_utf8_lossy(actual));
    let (mut e, mut a) = (expected.lines(), actual.lines());
    for number in 1.. {
        match (e.next(), a.next()) {
            (None, None) => break,
            (e, a) if e == a => {}
            (e, a) => {
                let clip = |line: Option<&str>| {
                    line.map_or("(no line)".to_owned(), |l| l.chars().take(300).collect::<String>())
                };
                return format!("line {number}\n  committed: {}\n  now:       {}", clip(e), clip(a));
            }
        }
    }
    "in line ends only".to_owned()
}

fn run(example: &str, more: &[&str]) -> BTreeMap<String, Vec<u8>> {
    let out = tempfile::tempdir().unwrap();
    let run = Command::cargo_bin("wideenough")
        .unwrap()
        .current_dir(root())
        .args(["study", &format!("examples/{example}.geojson"), "--out"])
        .arg(out.path())
        .args(more)
        .output()
        .unwrap();
    let status = run.status.code();
    assert!(
        matches!(status, Some(0 | 1)),
        "{example}: exit status {status:?}\n{}",
        String::from_utf8_lossy(&run.stderr)
    );
    let written = files(&out.path().join(example));
    assert_eq!(
        String::from_utf8_lossy(&run.stdout),
        String::from_utf8_lossy(&written["table.txt"]),
        "{example}: what is printed and table.txt differ"
    );
    written
}

#[test]
fn examples_write_what_is_committed() {
    let bless = std::env::var_os("BLESS").is_some_and(|v| v == "1");
    let every = bless || std::env::var_os("EVERY_CASE").is_some();
    let asked = EXAMPLES.iter().filter(|(example, ..)| every || SOME.contains(example));
    let mut faults = Vec::new();
    for &(example, count, more) in asked {
        let actual = run(example, more);
        let folder = root().join("out").join(example);
        let left = root().join("out").join(format!("{example}.actual"));
        let _ = fs::remove_dir_all(&left);
        if bless {
            write_all(&folder, &actual);
        }
        let committed = files(&folder);
        if actual.len() != count {
            faults.push(format!("{example}: {} files, not the {count} this test expects", actual.len()));
        }
        let before = faults.len();
        for name in committed.keys().filter(|name| !actual.contains_key(*name)) {
            faults.push(format!("{example}/{name}: is no longer written"));
        }
        for (name, bytes) in &actual {
            match committed.get(name) {
                None => faults.push(format!("{example}/{name}: is new")),
                Some(old) if old != bytes => {
                    faults.push(format!("{example}/{name}: {}", first_difference(old, bytes)));
                }
                Some(_) => {}
            }
        }
        if faults.len() > before {
            write_all(&left, &actual);
        }
    }
    assert!(
        faults.is_empty(),
        "{}\n\nThe new files are in out/*.actual; BLESS=1 cargo test --test golden accepts them.",
        faults.join("\n")
    );
}

/// The plan of each fix, opened as anyone would open it, gives the verdict that was given with it.
#[test]
#[ignore = "a study of every fix: .ci/run runs it with every case"]
fn fixes_open_and_hold() {
    let mut plans = 0;
    for (example, _, more) in EXAMPLES.iter().filter(|(.., more)| more.contains(&"--fix")) {
        let folder = root().join("out").join(example);
        let results = |folder: &Path| -> Value {
            serde_json::from_slice(&fs::read(folder.join("results.json")).unwrap()).unwrap()
        };
        let before = results(&folder);
        assert_eq!(more.len(), 1);
        for fix in before["fixes"]["found"].as_array().unwrap() {
            let file = fix["file"].as_str().unwrap();
            assert!(before["files"].as_array().unwrap().contains(&fix["file"]), "{file} is not listed");
            let out = tempfile::tempdir().unwrap();
            let run = Command::cargo_bin("wideenough")
                .unwrap()
                .current_dir(&folder)
                .args(["study", file, "--no-changes", "--out"])
                .arg(out.path())
                .output()
                .unwrap();
            // A fix that only lets every vehicle in leaves the gate tight.
            let in_comfort = fix["goal"] == "comfortable";
            let code = run.status.code();
            assert_eq!(
                code,
                Some(i32::from(!in_comfort)),
                "{file}: {}",
                String::from_utf8_lossy(&run.stderr)
            );
            let after = results(&out.path().join(file.trim_end_matches(".geojson")));
            let vehicles = after["vehicles"].as_array().unwrap().iter();
            let verdicts: Vec<(&Value, &Value)> =
                vehicles.map(|v| (&v["vehicle"], &v["drawn_gate"])).collect();
            let given = fix["vehicles"].as_array().unwrap().iter();
            let given: Vec<(&Value, &Value)> = given.map(|v| (&v["vehicle"], &v["drawn_gate"])).collect();
            assert_eq!(verdicts, given, "{file}");
            assert_eq!(after["frame"]["kind"], before["frame"]["kind"], "{file}");
            if let Some(by) = fix["amount_m"].as_f64() {
                let of =
                    |key: &str| after["plan"][key].as_f64().unwrap() - before["plan"][key].as_f64().unwrap();
                let moved = of("opening_m") + of("setback_m");
                assert!((moved - by).abs() < 1e-3, "{file}: {moved} instead of {by}");
            }
            plans += 1;
        }
    }
    assert!(plans >= 3, "only {plans} plans of fixes");
}

#[test]
fn every_example_is_run() {
    let stems = |folder: &str| -> Vec<String> {
        let entries = fs::read_dir(root().join(folder)).unwrap();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().path())
            .filter(|p| p.is_dir() || p.extension().is_some_and(|x| x == "geojson"))
            .map(|p| p.file_name().unwrap().to_string_lossy().trim_end_matches(".geojson").to_owned())
            .filter(|name| !name.ends_with(".actual"))
            .collect();
        names.sort();
        names
    };
    let mut expected: Vec<&str> = EXAMPLES.iter().map(|(name, ..)| *name).collect();
    expected.sort_unstable();
    assert_eq!(stems("examples"), expected, "examples/ and the list of this test differ");
    assert_eq!(stems("out"), expected, "out/ and the list of this test differ");
}

#[test]
fn the_first_difference_is_found() {
    assert_eq!(first_difference(b"a\nb\nc\n", b"a\nB\nc\n"), "line 2\n  committed: b\n  now:       B");
    assert_eq!(first_difference(b"a\n", b"a\nb\n"), "line 2\n  committed: (no line)\n  now:       b");
    assert_eq!(first_difference(b"a\n", b"a"), "in line ends only");
}

/// Words of titles that a table breaks within, and lengths ("25' 6\"", "6.10 m") that it breaks between two lines.
fn broken(text: &str, titles: &[String]) -> Vec<String> {
    let words: Vec<&str> = titles.iter().flat_map(|title| title.split(' ')).collect();
    let is_piece = |token: &&str| {
        let longer = |word: &&&str| word.len() > token.len() && word.starts_with(*token);
        token.len() > 6 && !words.contains(token) && words.iter().any(|word| longer(&word))
    };
    let mut faults: Vec<String> = text.split_whitespace().filter(is_piece).map(str::to_owned).collect();
    let lines: Vec<&str> = text.lines().collect();
    for pair in lines.windows(2) {
        let (end, start) =
            (pair[0].rsplit(' ').next().unwrap_or(""), pair[1].split_whitespace().next().unwrap_or(""));
        let ends_in_number = end.trim_end_matches('\'').parse::<f64>().is_ok();
        let goes_on = start.trim_end_matches([';', ',', '.']) == "m"
            || end.ends_with('\'') && start.trim_end_matches([';', ',', '.', '"']).parse::<f64>().is_ok();
        if pair[1].starts_with(' ') && ends_in_number && goes_on {
            faults.push(format!("{end} / {start}"));
        }
    }
    faults
}

/// No committed table breaks a word of a vehicle's title, or a length.
#[test]
fn tables_break_neither_words_nor_lengths() {
    assert_eq!(
        broken("Dual-rear-whe   8' 2\"\nel pickup", &["Dual-rear-wheel pickup".to_owned()]),
        ["Dual-rear-whe"]
    );
    assert_eq!(broken("needs     6.10\n          m, wider", &[]), ["6.10 / m,"]);
    let out = Path::new(env!("CARGO_MANIFEST_DIR")).join("out");
    let mut tables = 0;
    for folder in fs::read_dir(out).unwrap() {
        let folder = folder.unwrap().path();
        let results: Value = serde_json::from_slice(&fs::read(folder.join("results.json")).unwrap()).unwrap();
        let vehicles = results["vehicles"].as_array().unwrap();
        let titles: Vec<String> = vehicles.iter().map(|v| v["title"].as_str().unwrap().to_owned()).collect();
        for name in ["table.txt", "gate-schedule.txt"] {
            let text = fs::read_to_string(folder.join(name)).unwrap();
            assert_eq!(broken(&text, &titles), Vec::<String>::new(), "{}/{name}", folder.display());
            tables += 1;
        }
    }
    assert!(tables > 10, "{tables}");
}
