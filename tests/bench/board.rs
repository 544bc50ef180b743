//! From a move to its answer: `cargo bench --bench board [-- MOVES]`.
//!
//! A board is started and asked as its page asks: the right post of an example's gate is dragged outward and back, a
//! question for each place, each sent when the last is answered. Prints the first answer, which is a study, and of 100
//! moves the median and the slowest by the clock, and (Linux) the processor time that one takes on all cores: the clock
//! tells little while other programs run.
#[allow(dead_code, reason = "the tests use the rest of it")]
#[path = "../common/board.rs"]
mod board;
use board::Board;
use serde_json::{Value, json};
use std::time::Instant;

/// Examples and vehicles: rigid, and with a trailer.
const PLACES: [(&str, &str); 6] = [
    ("field-sketch", "pickup"),
    ("town-lot", "pickup"),
    ("rural-entrance", "motorhome"),
    ("field-sketch", "gooseneck-horse-40"),
    ("town-lot", "pickup-travel-trailer"),
    ("rural-entrance", "gooseneck-horse-40"),
];
const MOVES: usize = 100;
/// Distance of one move, meters, and moves in one direction.
const STEP_M: f64 = 0.01;
const THERE: usize = 25;

/// Processor time of a program so far, in hundredths of a second.
fn processor(id: u32) -> Option<f64> {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
    let mut words = stat.rsplit_once(") ")?.1.split(' ').skip(11);
    Some(words.next()?.parse::<f64>().ok()? + words.next()?.parse::<f64>().ok()?)
}

fn main() {
    let moves = std::env::args().skip(1).find_map(|arg| arg.parse().ok()).unwrap_or(MOVES);
    let board = Board::start();
    for (number, (name, vehicle)) in PLACES.into_iter().enumerate() {
        let local =
            board.ask("local", &json!({ "text": board::example(name) }))["text"].as_str().unwrap().to_owned();
        let mut plan: Value = serde_json::from_str(&local).unwrap();
        let unit_m = if plan["plan"]["coordinates"] == "local-ft" { 0.3048 } else { 1.0 };
        plan["plan"]["vehicles"] = json!([vehicle]);
        let features = plan["features"].as_array().unwrap();
        let gate = features.iter().position(|f| f["properties"]["role"] == "gate").unwrap();
        let ends = &features[gate]["geometry"]["coordinates"];
        let at = |end: usize, axis: usize| ends[end][axis].as_f64().unwrap();
        let (x, y) = (at(1, 0) - at(0, 0), at(1, 1) - at(0, 1));
        let (long, from) = (wideenough::geometry::trig::hypot(x, y), [at(1, 0), at(1, 1)]);
        let mut ask = |sequence: usize| {
            let there = sequence % (2 * THERE);
            let by = STEP_M / unit_m * there.min(2 * THERE - there) as f64;
            // Into the opening, away from the fence behind the post.
            plan["features"][gate]["geometry"]["coordinates"][1] =
                json!([from[0] - by * x / long, from[1] - by * y / long]);
            let question =
                json!({ "session": number.to_string(), "sequence": sequence, "text": plan.to_string() });
            let begin = Instant::now();
            let answer = board.ask("live", &question);
            (begin.elapsed().as_secs_f64() * 1000.0, answer)
        };
        let (first_ms, first) = ask(0);
        let before = processor(board.process.id());
        let mut times: Vec<f64> = (1..=moves).map(|sequence| ask(sequence).0).collect();
        let spent = processor(board.process.id()).zip(before);
        times.sort_by(f64::total_cmp);
        let spent = spent.map_or_else(String::new, |(now, before)| {
            format!(", {:.0} ms of processor time each", (now - before) * 10.0 / moves as f64)
        });
        println!(
            "{name}, {vehicle}: first {first_ms:.0} ms ({} cases); {moves} moves: median {:.0} ms, slowest {:.0} ms{spent}",
            first["cases"].as_array().map_or(0, Vec::len),
            times[times.len() / 2],
            times[times.len() - 1],
        );
    }
}
