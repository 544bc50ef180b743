//! Laws between the answers of related places: one place in other coordinates is the same problem, and more room, more
//! stops or a longer search never give a wider opening.
use super::common::every_case;
use super::generator::{self, AS_DRAWN, Axes, Place, drives_on};
use super::judge::{Fault, Judge, widest};
use super::{answers, maneuvers, options, places, settle, study_of};
use geo::{Distance, Euclidean};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use wideenough::geometry::Point;
use wideenough::opening::{Answer, Case, Outcome, Study, StudyOptions, reversing};
use wideenough::search::Effort;
use wideenough::site::{Maneuver, Side, Site, Travel};

/// Share by which two answers to one problem differ at most, and by which an answer is worse at most.
const SHARE: f64 = 0.001;

/// Likewise for a gate farther from the road: more turns are needed there, and the ends of two searches differ a little
/// more.
const SHARE_FARTHER_BACK: f64 = 0.005;

/// Likewise for mirror images with random vehicles: only the certificates of the same path differ, by the rounding where
/// roads and drives are united.
const SHARE_MIRRORED: f64 = 1e-4;

/// Likewise for roads drawn as outlines: the middle of an outline cuts the corner of a sharp bend.
const SHARE_AS_OUTLINES: f64 = 0.03;

/// Share by which the distances differ that a vehicle reverses at a place and at the same place drawn otherwise, ...
const SHARE_REVERSED: f64 = 0.01;
/// ... where that leaves every length as it is. In degrees a length may fall on the next millimeter.
const SAME_PATH: [&str; 3] = ["mirrored", "turned", "shifted"];

/// Number of places unless the environment sets another: one of each kind of road.
const USUAL: u64 = 9;

/// Laws that compare with another study; comfort is compared with bare in all.
const LAWS: [&str; 11] = [
    "mirrored",
    "turned",
    "shifted",
    "in degrees",
    "wider road",
    "obstacle removed",
    "more shunts",
    "thorough",
    "near lane",
    "farther back",
    "as outlines",
];

/// Comparisons made, and the worst of each law.
#[derive(Default)]
struct Book {
    faults: Vec<Fault>,
    seen: BTreeMap<&'static str, (usize, f64, String)>,
}

impl Book {
    fn note(&mut self, law: &'static str, place: &Place, case: &str, amount: f64, most: f64, values: &str) {
        let name = format!("seed {} ({})", place.seed, place.kind);
        let worst = self.seen.entry(law).or_insert((0, f64::NEG_INFINITY, String::new()));
        worst.0 += 1;
        if amount > worst.1 {
            (worst.1, worst.2) = (amount, format!("{name}, {case}: {values}"));
        }
        if amount.is_nan() || amount > most {
            let (case, note) = (case.to_owned(), values.to_owned());
            self.faults.push(Fault { place: name, case, kind: law, amount, unit: "of the opening", note });
        }
    }

    fn print(&self) {
        for (law, (count, worst, of)) in &self.seen {
            println!("laws: {law}: {count} compared, the worst {:.3} %: {of}", worst * 100.0);
        }
    }
}

fn shown(answer: &Answer) -> String {
    match (&answer.outcome, answer.opening_m) {
        (Outcome::Found, Some(m)) => format!("{m:.4} m"),
        (outcome, _) => format!("{outcome:?}"),
    }
}

/// Excess of the second answer's width over the first, as a share of the first; infinite where only the first is found.
fn wider_by(first: &Answer, second: &Answer) -> f64 {
    match (first.opening_m, second.opening_m) {
        (Some(a), Some(b)) => b / a - 1.0,
        (Some(_), None) => f64::INFINITY,
        (None, Some(_)) => f64::NEG_INFINITY,
        (None, None) => 0.0,
    }
}

/// The corresponding case of another study: its travel points where this one's does in the other's axes, on the nearest
/// road or on another as this one's.
fn twin<'s>(case: &Case, site: &Site, other: &'s Study, axes: Axes) -> Option<&'s Case> {
    let travel = |site: &Site, word: &str| site.travels().into_iter().find(|t| t.word == word);
    let own = travel(site, &case.travel)?;
    let wanted = axes.turned(own.direction);
    other.cases.iter().find(|c| {
        let same = c.vehicle == case.vehicle && c.maneuver == case.maneuver;
        let like = |t: &Travel| t.direction.dot(wanted) > 0.9 && (t.road == 0) == (own.road == 0);
        same && travel(&other.site, &c.travel).is_some_and(|t| like(&t))
    })
}

/// A change of a place, and how its answers may change.
struct Change {
    law: &'static str,
    plan: Value,
    axes: Axes,
    options: StudyOptions,
    maneuvers: Vec<Maneuver>,
    /// True if the answers must be the same; else they must not be wider.
    same: bool,
    /// Only vehicles that come in the half of the road beside the gate (true), or in the other.
    half: Option<bool>,
    /// The plan that is changed, where that is not the place itself.
    from: Option<Value>,
    /// Share by which answers may be worse.
    share: f64,
}

/// The changes of a place that a law covers.
fn changes(law: &'static str, place: &Place, site: &Site) -> Vec<Change> {
    let change = |plan: Value, axes: Axes| Change {
        law,
        plan,
        axes,
        options: options(),
        maneuvers: maneuvers(place),
        same: true,
        half: None,
        from: None,
        share: SHARE,
    };
    let plan = &place.plan;
    let same = |(plan, axes): (Value, Axes)| vec![change(plan, axes)];
    let more = |plan: Value| Change { same: false, ..change(plan, AS_DRAWN) };
    // An angle of its own for every place.
    let angle = 0.3 + 0.7 * f64::from(u32::try_from(place.seed % 1000).expect("small"));
    match law {
        // A driver on the other side of the road comes in the nearer half, from which the farther one can be reached.
        "near lane" => {
            let from = generator::bare_road(place);
            let swapped = |from: Value| Change {
                half: Some(false),
                from: Some(from.clone()),
                ..more(generator::other_side(&from))
            };
            from.map(swapped).into_iter().collect()
        }
        "farther back" => {
            let from = generator::bare_road(place);
            let back = |from: Value| Change {
                from: Some(from.clone()),
                share: SHARE_FARTHER_BACK,
                ..more(generator::farther_back(&from, 1.0))
            };
            from.map(back).into_iter().collect()
        }
        "mirrored" => same(generator::mirrored(plan)),
        "as outlines" => {
            let drawn = generator::as_outlines(plan, site).into_iter();
            drawn.map(|plan| Change { share: SHARE_AS_OUTLINES, ..change(plan, AS_DRAWN) }).collect()
        }
        "turned" => same(generator::turned(plan, angle)),
        "shifted" => same(generator::shifted(plan, Point::new(123.4, -567.8))),
        "in degrees" => same(generator::in_degrees(plan, 5.3, 51.2)),
        "wider road" => {
            let near_half = site.roads[0].width_m >= 16.0 * 0.3048;
            let wider = generator::wider_road(place, 1.0).filter(|wider| covers(wider, site));
            wider.map(|plan| Change { half: near_half.then_some(true), ..more(plan) }).into_iter().collect()
        }
        "obstacle removed" => {
            let alone =
                generator::without_obstacle(plan).into_iter().find(|less| !stood_beside_road(site, less));
            alone.map(more).into_iter().collect()
        }
        "more shunts" => {
            vec![Change { options: StudyOptions { shunts: 2, ..options() }, ..more(plan.clone()) }]
        }
        _ => {
            let options = StudyOptions { effort: Effort::THOROUGH, ..options() };
            vec![Change { options, maneuvers: vec![Maneuver::DriveIn], ..more(plan.clone()) }]
        }
    }
}

/// True if the road of a changed plan covers all of the old one: at a sharp bend that is rounded it may not.
fn covers(wider: &Value, site: &Site) -> bool {
    let Ok(wider) = generator::read(wider) else { return false };
    let ring = |s: &Site| {
        let points = s.roads[0].surface.outer.0.iter();
        points.map(|p| geo_types::Coord { x: p.x, y: p.y }).collect::<Vec<_>>()
    };
    let surface = geo_types::Polygon::new(geo_types::LineString::new(ring(&wider)), vec![]);
    let off = |c: &geo_types::Coord| Euclidean.distance(&geo_types::Point::from(*c), &surface);
    ring(site).iter().all(|c| off(c) < 1e-3)
}

/// True if the obstacle that is missing stood so near the road that vehicles set out farther from the edge because of
/// it.
fn stood_beside_road(site: &Site, without: &Value) -> bool {
    const NEAR_M: f64 = 0.5;
    let Ok(less) = generator::read(without) else { return true };
    let gone = site.obstacles.iter().filter(|o| !less.obstacles.contains(o));
    let shapes = gone.flat_map(|o| &o.shapes);
    let near = |p: &Point, radius_m: f64| {
        site.roads.iter().any(|road| {
            let ring = road.surface.outer.0.iter().map(|p| geo_types::Coord { x: p.x, y: p.y }).collect();
            let surface = geo_types::Polygon::new(ring, vec![]);
            Euclidean.distance(&geo_types::Point::new(p.x, p.y), &surface) < radius_m + NEAR_M
        })
    };
    shapes.into_iter().any(|s| s.outer.0.iter().any(|p| near(p, s.radius_m)))
}

/// True if a travel comes in the half of the road beside the gate.
fn comes_beside_gate(site: &Site, plan: &Value, word: &str) -> bool {
    let travel = site.travels().into_iter().find(|t| t.word == word).expect("a travel of the case");
    let gate_is_left = travel.direction.cross(site.gate.inward) > 0.0;
    gate_is_left == (drives_on(plan) == Side::Left)
}

/// Comfort never takes less than bare, and nothing less than the body is wide.
fn of_one_study(study: &Study, place: &Place, book: &mut Book) {
    for case in &study.cases {
        let vehicle = &study.vehicles[case.vehicle];
        let name = format!("{} {} {}", vehicle.name, case.travel, case.maneuver.word());
        let (bare, comfort) = (&case.bare, &case.comfortable);
        let values = format!("bare {}, comfortable {}", shown(bare), shown(comfort));
        if comfort.opening_m.is_some() {
            book.note("comfortable not below bare", place, &name, wider_by(comfort, bare), 0.0, &values);
        }
        for (answer, clearance_m) in [(bare, 0.0), (comfort, study.clearance_m)] {
            if let Some(opening_m) = answer.opening_m {
                let short = (widest(vehicle) + 2.0 * clearance_m) / opening_m - 1.0;
                book.note("not below the body's width", place, &name, short, 1e-6, &values);
            }
        }
    }
}

/// Results of all places: studied once, and checked by two tests.
struct Seen {
    book: Book,
    judged: Judged,
}

/// Answers judged, and the faults found.
#[derive(Default)]
struct Judged {
    faults: Vec<Fault>,
    /// By kind of road: number of answers found, and requested.
    kinds: BTreeMap<&'static str, [u32; 2]>,
}

impl Judged {
    fn look(&mut self, place: &Place, (plan, site): (&Value, &Site), study: &Study, changed: &str) {
        // With many places, prints which answers were not found, and why.
        let told = std::env::var_os("PLACES").is_some();
        for case in &study.cases {
            for answer in [&case.bare, &case.comfortable] {
                let kind = self.kinds.entry(place.kind).or_default();
                kind[0] += u32::from(answer.outcome == Outcome::Found);
                kind[1] += 1;
                if let (true, Outcome::GaveUp(why) | Outcome::Impossible(why)) = (told, &answer.outcome) {
                    let vehicle = &study.vehicles[case.vehicle].name;
                    println!(
                        "not found: seed {} ({}{changed}), {vehicle} {} {:?}: {why}",
                        place.seed, place.kind, case.travel, case.maneuver
                    );
                }
            }
        }
        let name = format!("seed {} ({}{changed})", place.seed, place.kind);
        self.faults.extend(Judge::new(site, plan).faults(study, &name));
    }
}

/// Studies the places once. Each place is held to one or two of the laws, by turns; with `PLACES` to all of them, or as
/// `PLACES_LAWS` says: "all", "turns", "none" or names with commas between.
fn seen() -> &'static Seen {
    static SEEN: OnceLock<Seen> = OnceLock::new();
    SEEN.get_or_init(|| {
        let usual = if std::env::var_os("PLACES").is_some() { "all" } else { "turns" };
        let which = std::env::var("PLACES_LAWS").unwrap_or_else(|_| usual.to_owned());
        let (mut book, mut judged) = (Book::default(), Judged::default());
        for place in places(USUAL) {
            let site = generator::read(&place.plan).expect("a sound plan");
            let base = study_of(&place, &site);
            of_one_study(&base, &place, &mut book);
            judged.look(&place, (&place.plan, &site), &base, "");
            for (index, law) in LAWS.iter().enumerate() {
                let turn = u64::try_from(index).expect("few");
                let due = match *law {
                    // These searches take longest; not every road can be widened.
                    "more shunts" => place.seed == 3,
                    // A bend, on a road that continues at both ends.
                    "as outlines" => place.seed == 7,
                    "thorough" => place.seed == 1,
                    "wider road" => [0, 3, 7].contains(&place.seed),
                    // Only for roads across the front.
                    "near lane" | "farther back" => place.seed == 0,
                    _ => place.seed < 8 && place.seed % 4 == turn % 4,
                };
                if !(which == "all" || which.split(',').any(|one| one == *law) || (which == "turns" && due)) {
                    continue;
                }
                let any = base.cases.iter().any(|c| c.bare.opening_m.or(c.comfortable.opening_m).is_some());
                // Where nothing is found, nothing can get worse.
                for change in changes(law, &place, &site).into_iter().filter(|c| c.same || any) {
                    hold(&place, &site, &base, &change, &mut book, &mut judged);
                }
            }
        }
        Seen { book, judged }
    })
}

/// A place in other coordinates has the same answers; more room, more stops and more work never worse ones.
#[test]
fn kindred_places_have_kindred_answers() {
    let book = &seen().book;
    book.print();
    assert!(
        std::env::var_os("PLACES").is_some() || book.seen.len() == LAWS.len() + 3,
        "a law was never looked at"
    );
    settle("laws", &book.faults);
}

/// Every path that an answer lists as its proof keeps the rules of a way in.
#[test]
fn witnesses_pass_the_judge() {
    let judged = &seen().judged;
    let [found, asked] = judged.kinds.values().fold([0, 0], |[a, b], [c, d]| [a + c, b + d]);
    println!("judge: {found} of {asked} answers found; by kind of road [found, asked]: {:?}", judged.kinds);
    assert!(2 * found > asked, "only {found} of {asked} answers found");
    settle("judge", &judged.faults);
}

/// Random vehicles at random places, and at their mirror images: the canonical form of both is the same, so are the
/// answers.
#[test]
fn random_vehicles_keep_the_laws() {
    let seeds = if every_case() { vec![5, 13, 24, 42, 45, 46, 47, 48, 49, 50, 51, 52] } else { vec![13, 48] };
    let (mut book, mut judged) = (Book::default(), Judged::default());
    for seed in &seeds {
        let place = generator::with_random_vehicle(generator::place(*seed));
        let site = generator::read(&place.plan).expect("a sound plan");
        let base = answers(&site, &maneuvers(&place), &options());
        of_one_study(&base, &place, &mut book);
        judged.look(&place, (&place.plan, &site), &base, "");
        for change in changes("mirrored", &place, &site) {
            let change = Change { share: SHARE_MIRRORED, ..change };
            hold(&place, &site, &base, &change, &mut book, &mut judged);
        }
    }
    book.print();
    assert!(book.seen["mirrored"].0 >= 2 * seeds.len() && book.seen.len() == 4, "{}", book.seen.len());
    settle("random vehicles", &[book.faults, judged.faults].concat());
}

/// A truck of 9.8 m comes along a road of 3.8 m to leaves that swing out toward it: what it needs grows with the leaves,
/// which grow with the opening. It gets in all the same, at about 6.06 m from both sides.
#[test]
fn leaves_that_stand_in_the_way_are_passed_at_a_wider_opening() {
    let place = generator::with_random_vehicle(generator::place(49));
    let site = generator::read(&place.plan).expect("a sound plan");
    let study = answers(&site, &[Maneuver::DriveIn], &options());
    let needs: Vec<f64> = study.cases.iter().filter_map(|case| case.bare.opening_m).collect();
    assert!(needs.len() == 2 && needs.iter().all(|m| *m < 6.2), "{needs:?}");
}

/// Holds the answers of a changed place to those of the place.
fn hold(place: &Place, site: &Site, base: &Study, change: &Change, book: &mut Book, judged: &mut Judged) {
    // The comparison may start from the place with less in it.
    let less = change.from.as_ref().map(|plan| {
        let site = generator::read(plan).expect("a sound plan");
        let study = answers(&site, &change.maneuvers, &change.options);
        (site, study)
    });
    let (site, base) = less.as_ref().map_or((site, base), |(site, study)| (site, study));
    let other = match generator::read(&change.plan) {
        Ok(other) => other,
        Err(fault) => {
            book.note(change.law, place, "the changed plan", f64::NAN, SHARE, &fault);
            return;
        }
    };
    let done = answers(&other, &change.maneuvers, &change.options);
    judged.look(place, (&change.plan, &other), &done, &format!(", {}", change.law));
    if change.same && done.cases.len() != base.cases.len() {
        let values = format!("{} cases, then {}", base.cases.len(), done.cases.len());
        book.note(change.law, place, "all", f64::INFINITY, SHARE, &values);
    }
    for case in base.cases.iter().filter(|c| change.maneuvers.contains(&c.maneuver)) {
        let on_first = site.travels().into_iter().any(|t| t.word == case.travel && t.road == 0);
        if change
            .half
            .is_some_and(|near| !on_first || near != comes_beside_gate(site, &place.plan, &case.travel))
        {
            continue;
        }
        let vehicle = &base.vehicles[case.vehicle];
        let name = format!("{} {} {}", vehicle.name, case.travel, case.maneuver.word());
        let Some(twin) = twin(case, site, &done, change.axes) else {
            // Of a gate farther back another road may lie too far away.
            if !on_first && change.law == "farther back" {
                continue;
            }
            book.note(change.law, place, &name, f64::INFINITY, SHARE, "the case is missing");
            continue;
        };
        for (word, a, b) in
            [("bare", &case.bare, &twin.bare), ("comfortable", &case.comfortable, &twin.comfortable)]
        {
            let by = wider_by(a, b);
            let by = if change.same { by.abs() } else { by };
            let values = format!("{}, then {}", shown(a), shown(b));
            book.note(change.law, place, &format!("{name} {word}"), by, change.share, &values);
        }
        let reversed_m = |site: &Site, case: &Case| reversing(site, vehicle, case).map(|of| of.total_m);
        let both = reversed_m(site, case).zip(reversed_m(&other, twin));
        if let Some((a, b)) =
            both.filter(|_| SAME_PATH.contains(&change.law) && case.maneuver == Maneuver::BackIn)
        {
            let values = format!("{a:.2} m, then {b:.2} m");
            book.note("reverses as far", place, &name, (b / a - 1.0).abs(), SHARE_REVERSED, &values);
        }
    }
}
