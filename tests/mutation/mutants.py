"""Mutation tests: a sample of small faults in motion, clearance, search and opening, and the tests that detect them.

cargo-mutants lists the faults (a + for a -, a function that gives a constant, ...); this runs a random sample of them.
Rebuilding the program for each would take most of the time, so the whole sample is built into one copy of it: a
function with a fault to be tried first checks whether that fault is the one named by MUTANT, and then runs a
faulty copy of its body. Each test is timed once and records which faulty functions it runs through; a fault is tried
against those tests alone, the quicker and the more telling first, until one fails or takes six times as much processor
time as usual. An example is such a test too: it fails if any of its files differs from what the program writes
without a fault. Time is processor time throughout, so that a busy machine changes nothing.

    python tests/mutation/mutants.py --seconds 6     (all steps; finished ones are not repeated)
    python tests/mutation/mutants.py --seconds 120   (faults not detected so far, against tests not yet tried)
    python tests/mutation/mutants.py --table         (the counts of what has been run so far)

Needs cargo-mutants on the path. Everything it writes is in target/mutants. Faults that are not tried: those in
constants, in functions that return an opaque type, and those that do not compile.
"""

import argparse
import collections
import contextlib
import hashlib
import json
import os
import random
import re
import resource
import shutil
import signal
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WORK = ROOT / "target" / "mutants"
TREE = WORK / "tree"
MODULES = ["motion", "clearance", "search", "opening"]
SEED = 20261125
# Test programs that run through these modules; those for drawings, pages and files are left out.
PROGRAMS = """motion_closed_forms motion_limits path_limits shortest published laws routes clearance_closed_forms
clearance_laws crowds search_bounds search_slopes search_lattice standard_problems programs proof limits gate cli trade
changes sweep hostile plans second_opinion proof_drives proof_thousands fixes""".split()
EXAMPLES = ["town-lot", "small-lane", "field-sketch", "workshop-lane", "rural-entrance", "workshop-lane --fix"]
PROFILE = """
[profile.mutants]
inherits = "dev"
debug = 0

[profile.mutants.package."*"]
opt-level = 2
debug = 0
"""
SWITCH = """
pub(crate) mod mutant {
    use std::sync::LazyLock;
    use std::sync::atomic::{AtomicBool, Ordering};
    static ONE: LazyLock<u32> =
        LazyLock::new(|| std::env::var("MUTANT").ok().and_then(|m| m.parse().ok()).unwrap_or(0));
    static SEEN: [AtomicBool; 8192] = [const { AtomicBool::new(false) }; 8192];
    #[inline]
    pub(crate) fn is(n: u32) -> bool {
        let one = *ONE;
        one == n || (one == u32::MAX && note(n))
    }
    #[cold]
    fn note(n: u32) -> bool {
        use std::io::Write;
        if !SEEN[n as usize].swap(true, Ordering::Relaxed) {
            let path = std::env::var("MUTANT_SEEN").unwrap();
            let mut file = std::fs::OpenOptions::new().append(true).create(true).open(path).unwrap();
            file.write_all(format!("{n}\\n").as_bytes()).unwrap();
        }
        false
    }
}
"""
ALL = 2**32 - 1


def load(name, otherwise):
    path = WORK / name
    return json.loads(path.read_text()) if path.exists() else otherwise


def save(name, value):
    (WORK / name).write_text(json.dumps(value, indent=0))


def draw(each):
    """The sample, taken in turn from each module: any part of it that has been run is a fair one."""
    files = [arg for module in MODULES for arg in ("-f", f"src/{module}/**")]
    listed = subprocess.run(
        ["cargo", "mutants", "--list", "--json", *files], cwd=ROOT, check=True, capture_output=True, text=True
    )
    every = sorted(json.loads(listed.stdout), key=lambda m: m["name"])
    dice = random.Random(SEED)
    drawn = []
    for module in MODULES:
        mine = [m for m in every if m["file"].startswith(f"src/{module}/")]
        dice.shuffle(mine)
        print(f"{module}: {len(mine)} in all")
        drawn.append([dict(m, module=module) for m in mine[:each]])
    sample = [m for turn in zip(*drawn) for m in turn]
    for number, mutant in enumerate(sample, 1):
        mutant["id"] = number
        function = mutant["function"]
        opaque = function and "impl " in function["return_type"]
        mutant["left_out"] = "constant" if not function else "opaque" if opaque else ""
    return sample


def patched(text, diff):
    """A text with a unified diff applied."""
    old, new, at = text.split("\n"), [], 0
    for line in diff.split("\n"):
        if hunk := re.match(r"@@ -(\d+)", line):
            start = int(hunk[1]) - 1
            new += old[at:start]
            at = start
        elif line.startswith(("---", "+++")) and at == 0:
            continue
        elif line.startswith("+"):
            new.append(line[1:])
        elif line.startswith(("-", " ")):
            assert old[at] == line[1:], (old[at], line)
            if line[0] == " ":
                new.append(old[at])
            at += 1
    return "\n".join(new + old[at:])


def body_at(function):
    """Index of the brace that opens a function's body."""
    depth, at = 0, 0
    while True:
        if function.startswith("//", at):
            at = function.index("\n", at)
        elif function[at] == '"':
            at += 1
            while function[at] != '"':
                at += 2 if function[at] == "\\" else 1
        elif function[at] in "([":
            depth += 1
        elif function[at] in ")]":
            depth -= 1
        elif function[at] == "{" and depth == 0:
            return at
        at += 1


def write_tree(sample):
    """A copy of the program with the faulty bodies beside the right ones."""
    shutil.rmtree(TREE, ignore_errors=True)
    shutil.copytree(ROOT, TREE, ignore=shutil.ignore_patterns("target", ".git", "*.actual", "__pycache__"))
    functions = collections.defaultdict(list)
    for mutant in sample:
        if not mutant["left_out"]:
            ends = [mutant["function"]["span"][end] for end in ("start", "end")]
            place = tuple(end[key] for end in ends for key in ("line", "column"))
            functions[mutant["file"]].append((place, mutant))
    for file, mutants in functions.items():
        text = (ROOT / file).read_text()
        starts = [0]
        for line in text.split("\n"):
            starts.append(starts[-1] + len(line) + 1)
        edits = []
        for place in sorted({place for place, _ in mutants}, reverse=True):
            first, last = (starts[place[i] - 1] + place[i + 1] - 1 for i in (0, 2))
            function = text[first:last]
            body = body_at(function)
            # The switch of the faults is no const function.
            new = re.sub(r"\bconst (?=fn)", "", function[:body]) + "{ "
            for mutant in (m for p, m in mutants if p == place):
                faulty = patched(text, mutant["diff"])
                faulty = faulty[first : len(faulty) - (len(text) - last)][body:]
                number = mutant["id"]
                new += f"if crate::mutant::is({number}) /*begins {number}*/ {faulty} /*ends {number}*/\nelse "
            edits.append((first, last, new + function[body:] + "\n}"))
        for first, last, new in edits:
            text = text[:first] + new + text[last:]
        (TREE / file).write_text(text)
    with (TREE / "src/lib.rs").open("a") as lib:
        lib.write(SWITCH)
    with (TREE / "Cargo.toml").open("a") as manifest:
        manifest.write(PROFILE)


def cargo(*what):
    """Builds in the tree; messages as JSON."""
    env = dict(os.environ, CARGO_TARGET_DIR=str(WORK / "target"))
    command = ["cargo", *what, "--profile", "mutants", "--no-default-features", "--message-format=json"]
    built = subprocess.run(command, cwd=TREE, env=env, capture_output=True, text=True)
    return built, [json.loads(line) for line in built.stdout.split("\n") if line.startswith("{")]


def build(sample):
    """Leaves out faults that do not compile, then builds the tests: name and program of each."""
    while True:
        write_tree(sample)
        built, messages = cargo("build", "--lib")
        if built.returncode == 0:
            break
        bad = set()
        for message in messages:
            if message["reason"] == "compiler-message" and message["message"]["level"] == "error":
                for span in (s for s in message["message"]["spans"] if s["is_primary"]):
                    before = (TREE / span["file_name"]).read_bytes()[: span["byte_start"]].decode()
                    marks = re.findall(r"/\*(begins|ends) (\d+)\*/", before)
                    if marks and marks[-1][0] == "begins":
                        bad.add(int(marks[-1][1]))
        assert bad, built.stderr[-3000:]
        for mutant in sample:
            if mutant["id"] in bad:
                mutant["left_out"] = "does not compile"
    built, messages = cargo("test", "--no-run", "--lib", *(arg for p in PROGRAMS for arg in ("--test", p)))
    assert built.returncode == 0, built.stderr[-3000:]
    made = [m for m in messages if m["reason"] == "compiler-artifact" and m["executable"]]
    programs = {m["target"]["name"]: m["executable"] for m in made if m["profile"]["test"]}
    programs["example"] = next(m["executable"] for m in made if not m["profile"]["test"])
    return programs


def written(name):
    """Files of an example's last run: each file's name and a hash."""
    folder = WORK / "run" / name.split()[0]
    files = (file for file in folder.rglob("*") if file.is_file())
    return {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in files}


def test(of, mutant, most_s):
    """Runs one test: ok, caught or timeout; and the processor time it took."""
    command = [of["path"], "--exact", of["name"]]
    if of["example"]:
        shutil.rmtree(WORK / "run", ignore_errors=True)
        example, *more = of["name"].split()
        command = [of["path"], "study", f"examples/{example}.geojson", "--out", str(WORK / "run"), *more]

    def limits():
        os.setpgrp()
        os.nice(19)
        resource.setrlimit(resource.RLIMIT_AS, (8 << 30, 8 << 30))
        resource.setrlimit(resource.RLIMIT_CPU, (int(most_s) + 1, int(most_s) + 3))

    env = dict(os.environ, MUTANT=str(mutant), MUTANT_SEEN=str(WORK / "seen.txt"), RUST_BACKTRACE="0")
    run = subprocess.Popen(
        command, cwd=TREE, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, preexec_fn=limits
    )
    _, status, used = os.wait4(run.pid, 0)
    run.returncode = status
    # Processes that a test started end with it.
    with contextlib.suppress(ProcessLookupError):
        os.killpg(run.pid, signal.SIGKILL)
    spent = used.ru_utime + used.ru_stime
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL):
        return "timeout", spent
    if of["example"]:
        # Exit status 1: a vehicle does not pass, as some examples have it.
        same = os.waitstatus_to_exitcode(status) in (0, 1) and of.get("files") in (None, written(of["name"]))
        return ("ok" if same else "caught"), spent
    return ("ok" if status == 0 else "caught"), spent


def measure(programs, tests):
    """Times each test and records which faulty functions it runs through."""
    for program, path in programs.items():
        names = EXAMPLES
        if program != "example":
            listed = subprocess.run([path, "--list"], cwd=TREE, check=True, capture_output=True, text=True).stdout
            names = re.findall(r"^(.*): test$", listed, re.M)
        for name in names:
            key = f"{program} {name}"
            if key in tests:
                continue
            (WORK / "seen.txt").unlink(missing_ok=True)
            of = dict(path=path, name=name, example=program == "example")
            ended, cpu_s = test(of, ALL, 600)
            seen = (WORK / "seen.txt").read_text().split() if (WORK / "seen.txt").exists() else []
            tests[key] = dict(of, ended=ended, cpu_s=cpu_s, seen=sorted(map(int, set(seen))))
            if of["example"]:
                tests[key]["files"] = written(name)
            if ended != "ok":
                print(f"{key} does not pass without a fault: left out")
        save("tests.json", tests)


def run(sample, tests, results, budget_s):
    """Tries each fault; one that tests of up to `budget_s` in all do not detect is counted as not seen.

    A fault that was not seen with a smaller budget is tried again, against the tests it has not been tried against.
    """
    told = collections.Counter(result["by"] for result in results.values())
    for mutant in sample:
        key = str(mutant["id"])
        result = results.get(key, dict(ended="not seen", by="", seconds=0.0, spent_s=0.0, passed=[]))
        if mutant["left_out"] or result["ended"] != "not seen" or result["seconds"] >= budget_s:
            continue
        reach = [t for t, of in tests.items() if of["ended"] == "ok" and mutant["id"] in of["seen"]]
        result.update(seconds=budget_s, reach=len(reach))
        reach.sort(key=lambda t: (tests[t]["cpu_s"] + 0.05) / (0.3 + told[t]))
        for name in (name for name in reach if name not in result["passed"]):
            of = tests[name]
            if result["spent_s"] + of["cpu_s"] > budget_s:
                continue
            ended, cpu_s = test(of, mutant["id"], max(3.0, 6.0 * of["cpu_s"]))
            result["spent_s"] = round(result["spent_s"] + cpu_s, 1)
            if ended != "ok":
                told[name] += 1
                result.update(ended=ended, by=name)
                break
            result["passed"].append(name)
        results[key] = result
        save("results.json", results)
        tried = f"{len(result['passed'])} of {len(reach)}"
        print(f"{key} {mutant['name']}: {result['ended']} {result['by']} {tried}", flush=True)


def table(sample, results):
    least_s = min((result["seconds"] for result in results.values()), default=0.0)
    print(f"module      drawn  left out  run  caught  of these within {least_s:g} s  by time  not seen")
    for module in MODULES:
        mine = [m for m in sample if m["module"] == module]
        out = sum(bool(m["left_out"]) for m in mine)
        ran = [results[str(m["id"])] for m in mine if str(m["id"]) in results]
        caught = [result for result in ran if result["ended"] != "not seen"]
        quickly = sum(result["seconds"] == least_s for result in caught)
        by_time = sum(result["ended"] == "timeout" for result in caught)
        print(f"{module:<11} {len(mine):>5} {out:>9} {len(ran):>4} {len(caught):>7} {quickly:>19} {by_time:>10}"
              f" {len(ran) - len(caught):>9}")
    for mutant in sample:
        if results.get(str(mutant["id"]), {}).get("ended") == "not seen":
            print(f"not seen: {mutant['id']} {mutant['name']}")


def main():
    asked = argparse.ArgumentParser(description="Runs a sample of mutants of motion, clearance, search and opening.")
    asked.add_argument("--each", type=int, default=150, help="faults drawn from each module")
    asked.add_argument("--seconds", type=float, default=60.0, help="tests tried on a fault, in seconds of their time")
    asked.add_argument("--table", action="store_true", help="only count what has been run")
    asked = asked.parse_args()
    WORK.mkdir(parents=True, exist_ok=True)
    sample, results = load("sample.json", None), load("results.json", {})
    if not asked.table:
        programs = load("programs.json", None)
        if sample is None or programs is None:
            sample = draw(asked.each)
            programs = build(sample)
            save("sample.json", sample)
            save("programs.json", programs)
        tests = load("tests.json", {})
        measure(programs, tests)
        run(sample, tests, results, asked.seconds)
    table(sample or [], results)


if __name__ == "__main__":
    main()
