//! Project rules that no compiler keeps: the order of the modules, the size of files, and documents that stay true.
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// Every file under a folder of the project, as a path from its top, sorted.
fn files_under(folder: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut open: Vec<PathBuf> = vec![root().join(folder)];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display())) {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                // Left by a failed comparison or by Python, and not part of the project.
                if !name.ends_with(".actual") && name != "__pycache__" {
                    open.push(path);
                }
            } else {
                found.push(path.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/"));
            }
        }
    }
    found.sort();
    found
}

fn rust_files() -> Vec<String> {
    let all = ["src", "tests"].into_iter().flat_map(files_under);
    all.filter(|path| path.ends_with(".rs")).collect()
}

/// The text files of the project: everything a reader may come across.
fn text_files() -> Vec<String> {
    let mut files: Vec<String> = ["src", "tests", "docs", "vehicles", "examples", "out", ".ci"]
        .into_iter()
        .filter(|folder| root().join(folder).exists())
        .flat_map(files_under)
        .filter(|path| !path.ends_with(".png"))
        .collect();
    files.extend(PAGES.map(str::to_owned));
    files.extend(["Cargo.toml", "clippy.toml"].map(str::to_owned));
    files
}

/// The documents at the top of the project.
const PAGES: [&str; 4] = ["README.md", "DEVELOPERS.md", "GLOSSARY.md", "FIGURES.md"];

/// All documents: those at the top, and the README of each module.
fn documents() -> Vec<String> {
    let below =
        ["src", "tests", "docs"].into_iter().flat_map(files_under).filter(|path| path.ends_with(".md"));
    PAGES.map(str::to_owned).into_iter().chain(below).collect()
}

/// The modules in order, as the table in lib.rs gives them.
fn modules() -> Vec<String> {
    let lib = read("src/lib.rs");
    let rows = lib.lines().filter_map(|line| line.strip_prefix("//! | [`"));
    rows.filter_map(|row| row.split('`').next()).map(str::to_owned).collect()
}

#[test]
fn lib_lists_every_module_once() {
    let lib = read("src/lib.rs");
    let declared: BTreeSet<&str> =
        lib.lines().filter_map(|l| l.strip_prefix("pub mod ")).map(|l| l.trim_end_matches(';')).collect();
    let listed = modules();
    assert_eq!(listed.len(), declared.len(), "the table and the modules differ");
    assert_eq!(listed.iter().map(String::as_str).collect::<BTreeSet<_>>(), declared);
}

#[test]
fn a_module_reads_only_modules_above_it() {
    let order = modules();
    let place = |name: &str| order.iter().position(|m| m == name);
    let mut looked_at = 0;
    for path in rust_files() {
        let Some(module) = path.strip_prefix("src/").and_then(|p| p.split(['/', '.']).next()) else {
            continue;
        };
        let Some(own) = place(module) else { continue };
        for (number, line) in read(&path).lines().enumerate() {
            // A link in a comment may point anywhere.
            if line.trim_start().starts_with("//") {
                continue;
            }
            for (at, _) in line.match_indices("crate::") {
                let word: String =
                    line[at + 7..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                // The random numbers of the unit tests, which are no part of the library.
                if word == "random" {
                    continue;
                }
                let Some(read) = place(&word) else {
                    panic!("{path}:{}: crate::{word} is no module of the list in lib.rs", number + 1)
                };
                looked_at += 1;
                assert!(
                    read <= own,
                    "{path}:{}: {module} may not read {word}, which comes after it",
                    number + 1
                );
            }
        }
    }
    assert!(looked_at > 50, "only {looked_at} uses were found: the search is broken");
}

#[test]
fn the_command_reads_the_library_like_any_other_program() {
    for path in rust_files().iter().filter(|p| p.starts_with("src/cli") || *p == "src/main.rs") {
        assert!(!read(path).contains("use crate::"), "{path}");
    }
    // The board stands on the command line's reader of files, and on nothing else of the program.
    for path in rust_files().iter().filter(|p| p.starts_with("src/board")) {
        let text = read(path);
        let mut used =
            text.lines().filter(|line| line.contains("crate::") && !line.trim_start().starts_with("//"));
        assert!(used.all(|line| line.contains("crate::cli::")), "{path}");
    }
}

#[test]
fn a_file_fits_one_sitting_and_says_what_it_is_for() {
    let files = rust_files();
    assert!(files.len() > 20, "only {} files were found", files.len());
    for path in files {
        let text = read(&path);
        let lines = text.lines().count();
        assert!(lines <= 600, "{path} has {lines} lines; 600 is the most");
        let first = text.lines().next().unwrap_or_default();
        assert!(first.starts_with("//! ") && first.len() > 20, "{path} starts with: {first}");
    }
}

/// Split so that this file does not find itself.
const MACHINE_PATHS: [&str; 6] = [
    concat!("/", "home/"),
    concat!("/", "root/"),
    concat!("/", "tmp/"),
    concat!("/", "work/"),
    concat!("/", "Users/"),
    concat!("C:", "\\"),
];

#[test]
fn no_path_of_some_machine() {
    let files = text_files();
    assert!(files.len() > 50, "only {} files were found", files.len());
    for path in files {
        let text = read(&path);
        let found = MACHINE_PATHS.iter().find(|p| text.contains(**p));
        assert_eq!(found, None, "{path}");
    }
}

/// Spellings this project does not use, and marks of unfinished work. Split so that this file does not find itself.
const BANNED: [&str; 14] = [
    concat!("ty", "re"),
    concat!("ker", "b"),
    concat!("col", "our"),
    concat!("manoe", "uvre"),
    concat!("anti", "clockwise"),
    concat!("cen", "tre"),
    concat!("neigh", "bour"),
    concat!("behavi", "our"),
    concat!("gr", "ey"),
    concat!("lice", "nce"),
    concat!("to", "do"),
    concat!("fix", "me"),
    concat!("xx", "x"),
    concat!("not yet ", "implemented"),
];

#[test]
fn american_spelling_and_nothing_left_undone() {
    for path in text_files() {
        let text = read(&path).to_lowercase();
        for (number, line) in text.lines().enumerate() {
            for word in BANNED {
                let found = line.match_indices(word).any(|(at, _)| {
                    let before = line[..at].chars().next_back();
                    let after = line[at + word.len()..].trim_start_matches(['s', 'd']).chars().next();
                    let inside = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
                    !inside(before) && !inside(after)
                });
                // A word the vehicle reader must refuse, with advice.
                let refused = word == concat!("ker", "b") && path == "tests/plans/bad_vehicles.rs";
                // The name of a lint.
                let lint = path == "Cargo.toml" && word == concat!("to", "do");
                assert!(!found || refused || lint, "{path}:{}: \"{word}\"", number + 1);
            }
        }
    }
}

/// Former names of things that have the field's name now, split so that this file does not find itself.
const FORMER: [&str; 20] = [
    concat!("Encoun", "ter"),
    concat!("Near", "by"),
    concat!("Pro", "be"),
    concat!("Bin", "ding"),
    concat!("Terr", "ain"),
    concat!("Stair", "case"),
    concat!("Slo", "pe"),
    concat!("Bre", "ach"),
    concat!("Polis", "hed"),
    concat!("Loo", "king"),
    concat!("BROKEN_", "WEIGHT"),
    concat!("broken", "_m"),
    concat!("tell", "_touches"),
    concat!("gla", "nce"),
    concat!("pull", "_out"),
    concat!("past", "_leaves"),
    concat!("largest", "_first"),
    concat!("comp", "ete"),
    concat!("compet", "ition"),
    concat!("lay_out_an", "ew"),
];

/// Parts of former names, between underscores: remeshing and start slack are the words now.
const FORMER_PARTS: [&str; 4] =
    [concat!("AN", "EW"), concat!("an", "ew"), concat!("LOO", "SE"), concat!("loo", "se")];

/// Names that were given up do not come back: a reader would look for two things where there is one.
#[test]
fn no_former_name_stands() {
    let mut names = 0;
    let files = ["src", "tests", "docs"].into_iter().flat_map(files_under).chain(PAGES.map(str::to_owned));
    for path in files.filter(|path| [".rs", ".md", ".py"].iter().any(|ending| path.ends_with(ending))) {
        for (number, line) in read(&path).lines().enumerate() {
            let words =
                line.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|word| !word.is_empty());
            for word in words {
                names += 1;
                let part = word.contains('_') && word.split('_').any(|part| FORMER_PARTS.contains(&part));
                // What is reported is named by what it is.
                let told = word.starts_with(concat!("to", "ld_"));
                assert!(!FORMER.contains(&word) && !part && !told, "{path}:{}: {word}", number + 1);
            }
        }
    }
    assert!(names > 100_000, "only {names} words were read: the search is broken");
}

/// The blocks of a document fenced with this word, each with the line before its fence.
fn blocks(text: &str, fence: &str) -> Vec<(String, String)> {
    let open = format!("```{fence}");
    let mut blocks = Vec::new();
    let mut before = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line == open {
            let body: Vec<&str> = lines.by_ref().take_while(|l| *l != "```").collect();
            blocks.push((before.clone(), format!("{}\n", body.join("\n"))));
        }
        line.clone_into(&mut before);
    }
    blocks
}

/// The first lines of an output, up to the note on what its words do not say.
fn start_of(output: &str) -> String {
    let last = "No and tight: no better path was found at the gate as drawn. That is not a proof.\n";
    let end = output.find(last).expect("the note below the table") + last.len();
    output[..end].to_owned()
}

/// `BLESS=1 cargo test --test project_rules` puts the committed output into README.md.
#[test]
fn the_readme_shows_real_output() {
    let mut readme = read("README.md");
    let mut shown = 0;
    for (before, body) in blocks(&readme.clone(), "text") {
        let Some(path) = before.strip_prefix("<!-- ").and_then(|b| b.strip_suffix(" -->")) else {
            panic!("a block of output must say in a comment above it which file it is, not: {before:?}");
        };
        let output = match path.strip_prefix("the start of ") {
            Some(path) => start_of(&read(path)),
            None => read(path),
        };
        if std::env::var_os("BLESS").is_some_and(|v| v == "1") {
            readme = readme.replace(&format!("```text\n{body}"), &format!("```text\n{output}"));
            fs::write(root().join("README.md"), &readme).unwrap();
        } else {
            assert_eq!(body, output, "README.md shows an old {path}");
        }
        shown += 1;
    }
    assert!(shown >= 1, "README.md shows no output");
}

/// The list of topics in README.md is the one the program has, and each page is one of them.
#[test]
fn every_page_is_a_topic_of_the_help() {
    let readme = read("README.md");
    let run = |args: &[&str]| {
        let output = assert_cmd::Command::cargo_bin("wideenough").unwrap().args(args).output().unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    let (_, help) = run(&["help"]);
    let pages: Vec<String> = files_under("docs").into_iter().filter(|file| file.ends_with(".md")).collect();
    assert!(pages.len() >= 10, "{pages:?}");
    for page in pages {
        let topic = page.trim_start_matches("docs/").trim_end_matches(".md");
        let text = read(&page);
        let title = text.lines().next().unwrap().trim_start_matches("# ");
        assert!(
            readme.contains(&format!("| `{topic}` | [{title}]({page})")),
            "README.md does not list {page}"
        );
        let listed =
            help.lines().any(|line| line.trim().strip_prefix(topic).is_some_and(|l| l.trim() == title));
        assert!(listed, "wideenough help does not list {topic}");
        let (status, shown) = run(&["help", topic]);
        assert!(status == Some(0) && shown.starts_with(&format!("{title}\n---")), "{topic}: {shown}");
        // The last word of the page, so that none of it is lost.
        let mut lines = text.lines().filter(|line| !line.is_empty() && !line.starts_with("<!--"));
        let last = lines.next_back().unwrap().trim_end_matches(['`', '.', '|', ' ', ')']);
        let last = last.split(' ').next_back().unwrap().trim_matches(['`', '(']);
        assert!(shown.trim_end().lines().rev().take(8).any(|line| line.contains(last)), "{topic}: no {last}");
    }
    assert_eq!(run(&["help", "nonsense"]).0, Some(2));
    // The help of a command is still that command's own.
    assert!(run(&["help", "check"]).1 == run(&["check", "--help"]).1);
}

/// Every command in the documents is one the program has, with flags it knows and files that exist.
#[test]
fn commands_in_the_documents_work() {
    let mut commands = 0;
    for document in documents() {
        for (_, body) in blocks(&read(&document), "sh") {
            for line in body.lines().map(|l| l.split(" #").next().unwrap_or(l).trim()) {
                let words: Vec<&str> = line.split_whitespace().collect();
                let args = match words.as_slice() {
                    ["wideenough", args @ ..] => args,
                    ["cargo", "run", "--release", "--", args @ ..] => args,
                    _ => {
                        // Files that a command makes in target/ do not exist in a new clone.
                        let made = |w: &&&str| w.starts_with("target/");
                        for path in words.iter().filter(|w| w.contains('/') && !w.contains("://") && !made(w))
                        {
                            assert!(root().join(path).exists(), "{document}: {line}: {path} does not exist");
                        }
                        continue;
                    }
                };
                commands += 1;
                let help =
                    assert_cmd::Command::cargo_bin("wideenough").unwrap().args([args[0], "--help"]).output();
                let help = help.unwrap();
                assert!(help.status.success(), "{document}: {line}: there is no command {}", args[0]);
                let help = String::from_utf8(help.stdout).unwrap();
                for word in &args[1..] {
                    if let Some(flag) = word.split('=').next().filter(|w| w.starts_with("--")) {
                        assert!(help.contains(flag), "{document}: {line}: {flag} is not in the help");
                    } else if word.starts_with("examples/") {
                        assert!(root().join(word).exists(), "{document}: {line}: {word} does not exist");
                    }
                }
            }
        }
    }
    assert!(commands >= 3, "only {commands} commands were found");
}

/// Files and folders the documents name in backticks or link to.
#[test]
fn paths_in_the_documents_exist() {
    let tops = ["src/", "tests/", "docs/", "vehicles/", "examples/", "out/", ".ci/"];
    let mut paths = 0;
    for document in documents() {
        let text = read(&document);
        let folder = document.trim_end_matches("README.md");
        // A file named without its folder stands in the document's own.
        for name in text.split('`').skip(1).step_by(2).filter(|n| n.ends_with(".rs") && !n.contains('/')) {
            let beside = |under: &str| root().join(under).join(name).exists();
            let nested = files_under("src")
                .iter()
                .any(|path| path.starts_with(folder) && path.ends_with(&format!("/{name}")));
            if folder.starts_with("src/") && !name.contains(['<', '*']) {
                paths += 1;
                assert!(beside(folder) || nested, "{document}: {name} does not exist");
            }
        }
        let ticked = text.split('`').skip(1).step_by(2);
        let linked = text.split("](").skip(1).filter_map(|rest| rest.split(')').next());
        for path in ticked.chain(linked) {
            let path = path.split('#').next().unwrap_or(path);
            let ours = tops.iter().any(|top| path.starts_with(top)) && !path.contains(['<', '*', ' ', '{']);
            if ours {
                paths += 1;
                assert!(root().join(path).exists(), "{document}: {path} does not exist");
            }
        }
    }
    assert!(paths >= 5, "only {paths} paths were found");
}

/// Every module has a README.md that gives its input and output and follows one number, and DEVELOPERS.md leads to it.
#[test]
fn every_module_has_its_page() {
    let developers = read("DEVELOPERS.md");
    let listed = modules();
    for module in listed.iter().map(String::as_str).chain(["cli", "board"]) {
        let path = format!("src/{module}/README.md");
        let text = read(&path);
        for part in ["**Comes in**", "**Goes out**", "**Guarantees**"] {
            assert!(text.contains(part), "{path} does not say {part}");
        }
        assert!(
            ["cli", "board"].contains(&module) || text.contains("**A number followed through**"),
            "{path} follows no number"
        );
        assert!(developers.contains(&format!("({path})")), "DEVELOPERS.md does not lead to {path}");
    }
    assert!(developers.lines().count() <= 110, "DEVELOPERS.md has {} lines", developers.lines().count());
}

/// The number that the modules' pages follow is the one in the example's committed output.
#[test]
fn the_number_followed_is_the_one_committed() {
    let results: serde_json::Value = serde_json::from_str(&read("out/field-sketch/results.json")).unwrap();
    let case = &results["cases"][0];
    assert_eq!((case["vehicle"].as_str(), case["travel"].as_str()), (Some("pickup"), Some("eastbound")));
    let said = |module: &str, value: &serde_json::Value| {
        let (text, number) = (read(&format!("src/{module}/README.md")), value.as_f64().unwrap().to_string());
        assert!(text.contains(&number), "src/{module}/README.md does not say {number}");
    };
    for module in ["clearance", "search", "opening", "drawing", "report"] {
        said(module, &case["bare"]["opening_m"]);
    }
    // In feet as people read it, on the row of that case.
    let table = read("out/field-sketch/table.txt");
    let row = table.lines().find(|line| line.starts_with("- eastbound, driving in")).unwrap();
    let feet = row.split("   ").nth(1).unwrap().trim();
    for module in ["drawing", "report"] {
        let text = read(&format!("src/{module}/README.md"));
        assert!(text.contains(&format!("`{feet}`")), "src/{module}: {feet}");
    }
    said("search", &case["bare"]["at_least_m"]);
    said("opening", &case["drawn_clearance_m"]);
    said("site", &results["gate"]["right_face"]["x_m"]);
    said("gate", &results["gate"]["leaf_width_m"]);
    said("gate", &results["gate"]["outside_m"]);
}

#[test]
fn the_check_runs_what_the_readme_says() {
    let ci = read(".ci/run");
    let commands: Vec<String> = blocks(&read("README.md"), "sh")
        .into_iter()
        .flat_map(|(_, body)| body.lines().map(str::to_owned).collect::<Vec<_>>())
        .collect();
    let test = commands.iter().find(|l| l.starts_with("cargo test")).expect("README.md has a test command");
    assert!(ci.lines().any(|l| l.trim() == test), ".ci/run does not run: {test}");
    let study =
        commands.iter().find(|l| l.starts_with("cargo run --release -- study")).expect("a main command");
    let plan = study.split_whitespace().find(|w| w.starts_with("examples/")).unwrap();
    assert!(ci.contains(plan), ".ci/run does not study {plan}");
}
