//! Drawings of made-up studies: they contain the required words, keep labels apart, and come out the same each time.
use wideenough::drawing::labels::Rect;
use wideenough::drawing::scene::{Geom, Role};
use wideenough::drawing::svg::placed_texts;
use wideenough::drawing::{case_sheet, case_svg, vehicle_sheet, vehicle_svg};
use wideenough::geometry::length::{Round, show};
use wideenough::geometry::{Outline, Point, Pose, Shape, Units};
use wideenough::motion::{Chain, Direction, Leg, Path, Segment, State, Trajectory};
use wideenough::opening::{Answer, Case, Contact, Demanded, DrawnGate, DrawnWay, Outcome, Study};
use wideenough::site::{
    Anchor, Arrangement, Fence, Frame, Gate, Ground, Leaves, Maneuver, Obstacle, Post, Road, RoadEnds,
    RoadUse, Side, Site, Swing,
};
use wideenough::sweep::{Cover, envelope};
use wideenough::vehicle::find;

pub(super) const FOOT: f64 = 0.3048;

fn ring(corners: &[(f64, f64)]) -> Outline {
    Outline(corners.iter().map(|(x, y)| Point::new(*x, *y)).collect()).counterclockwise()
}

fn ground(label: &str, corners: &[(f64, f64)]) -> Ground {
    Ground { label: label.into(), outer: ring(corners), holes: vec![] }
}

fn obstacle(label: &str, outer: Outline, radius_m: f64, bottom_m: f64, top_m: f64) -> Obstacle {
    let shapes = vec![Shape { outer, holes: vec![], radius_m }];
    Obstacle { label: label.into(), shapes, bottom_m, top_m }
}

/// A road along the x axis 20 ft wide, a ditch, and a 14-ft gate 15 ft back in a fence.
fn site(units: Units) -> Site {
    let half = 10.0 * FOOT;
    let line = half + 15.0 * FOOT;
    let face = 7.0 * FOOT;
    let ditch =
        |x0: f64, x1: f64| ring(&[(x0, half + 0.8), (x1, half + 0.8), (x1, half + 2.2), (x0, half + 2.2)]);
    Site {
        title: "North field entrance".into(),
        note: String::new(),
        units,
        drives_on: Side::Right,
        frame: Frame::Local { meters_per_unit: 1.0 },
        north_known: true,
        roads: vec![Road {
            surface: ground("county road", &[(-60.0, -half), (60.0, -half), (60.0, half), (-60.0, half)]),
            centerline: vec![Point::new(-60.0, 0.0), Point::new(60.0, 0.0)],
            width_m: 2.0 * half,
            usage: RoadUse::Full,
            continues: RoadEnds { start: true, end: true },
            speed: None,
        }],
        beside_gate: 0,
        drives: vec![
            ground("culvert apron", &[(-9.0, half - 0.1), (9.0, half - 0.1), (5.0, line), (-5.0, line)]),
            ground("yard", &[(-12.0, line), (12.0, line), (12.0, line + 26.0), (-12.0, line + 26.0)]),
        ],
        gate: Gate {
            left: Point::new(-face, line),
            right: Point::new(face, line),
            inward: Point::new(0.0, 1.0),
            post: Post { width_m: 0.2, depth_m: 0.2, top_m: 1.8 },
            leaves: Leaves {
                arrangement: Arrangement::Double,
                opens: Swing::In,
                open_angle_rad: std::f64::consts::FRAC_PI_2,
                thickness_m: 0.06,
                bottom_m: 0.1,
                top_m: 1.4,
            },
            anchor: Anchor::Center,
            setback_m: 15.0 * FOOT,
            skew_rad: 0.0,
        },
        fences: vec![
            Fence {
                label: "fence".into(),
                line: vec![Point::new(-60.0, line), Point::new(-face - 0.2, line)],
                thickness_m: 0.1,
                top_m: 1.2,
            },
            Fence {
                label: "fence".into(),
                line: vec![Point::new(face + 0.2, line), Point::new(60.0, line)],
                thickness_m: 0.1,
                top_m: 1.2,
            },
        ],
        obstacles: vec![
            obstacle("west ditch", ditch(-60.0, -9.0), 0.0, -1.0, 0.0),
            obstacle("east ditch", ditch(9.0, 60.0), 0.0, -1.0, 0.0),
            obstacle("oak", ring(&[(7.0, line + 6.0)]), 0.45, 0.0, 9.0),
            obstacle("limb", ring(&[(5.0, line + 6.0)]), 1.8, 3.8, 5.0),
            obstacle("mailbox", ring(&[(-10.5, half + 0.5)]), 0.15, 0.0, 1.1),
        ],
        spots: vec![],
        routes: vec![],
        boundaries: vec![],
        vehicles: vec![],
        permit: wideenough::site::Permit::default(),
        warnings: vec![],
    }
}

fn ramp(length_m: f64, curvature_start: f64, curvature_end: f64) -> Segment {
    Segment { length_m, curvature_start, curvature_end }
}

/// A turn of a quarter to the left, of curvature `k`, with ramps of `l` meters.
fn quarter_left(k: f64, l: f64, before: f64, after: f64) -> Vec<Segment> {
    let arc = (std::f64::consts::FRAC_PI_2 - k * l) / k;
    vec![
        Segment::arc(before, 0.0),
        ramp(l, 0.0, k),
        Segment::arc(arc, k),
        ramp(l, k, 0.0),
        Segment::arc(after, 0.0),
    ]
}

/// The path moved so that it ends on the gate's middle line.
fn onto_the_gate(mut path: Path, chain: &Chain) -> Path {
    let off = path.end(chain).lead.position.x;
    path.start.lead.position.x -= off;
    path
}

fn driving_in(name: &str, k: f64, before: f64, after: f64) -> Path {
    let vehicle = find(name).expect("in the library");
    let start = State { lead: Pose::new(0.0, -5.0 * FOOT, 0.0), ..State::default() };
    let path = Path {
        start,
        legs: vec![Leg { direction: Direction::Forward, segments: quarter_left(k, 3.0, before, after) }],
    };
    onto_the_gate(path, &Chain::of(&vehicle))
}

/// Path for backing in: along the road past the gate, then the reverse of driving out to the right.
fn backing_in(name: &str, k: f64) -> Path {
    let vehicle = find(name).expect("in the library");
    let chain = Chain::of(&vehicle);
    let mut out = quarter_left(-k, 3.0, 14.0, 10.0);
    // Lengths of the turn follow from its size, not its sign.
    out[2].length_m = (std::f64::consts::FRAC_PI_2 - k * 3.0) / k;
    let heading = std::f64::consts::FRAC_PI_2 + std::f64::consts::PI;
    let start = State { lead: Pose::new(0.0, 26.0, heading), ..State::default() };
    let mut path =
        Path { start, legs: vec![Leg { direction: Direction::Forward, segments: out }] }.reversed(&chain);
    path.start.lead.heading -= 2.0 * std::f64::consts::PI;
    // Before that it came along the road.
    let back = chain.advance(&path.start, -12.0, 0.0, 0.0);
    path.start = State { hitch: path.start.hitch, ..back };
    path.legs.insert(0, Leg { direction: Direction::Forward, segments: vec![Segment::arc(12.0, 0.0)] });
    path
}

fn answer(opening_m: f64, witness: Option<Path>, tightest: Option<Contact>) -> Answer {
    let mut answer = Answer::new(Outcome::Found, 2.0);
    (answer.opening_m, answer.tightest) = (Some(opening_m), tightest);
    answer.witness = witness.map(Trajectory::new);
    answer
}

fn contact(what: &str, part: &str, at: (f64, f64), from: (f64, f64), gap_m: f64, station_m: f64) -> Contact {
    Contact {
        thing: match what {
            "left post" => wideenough::clearance::Thing::Post(Side::Left),
            "right post" => wideenough::clearance::Thing::Post(Side::Right),
            _ => wideenough::clearance::Thing::Obstacle(0),
        },
        what: what.into(),
        part: part.into(),
        at: Point::new(at.0, at.1),
        from: Point::new(from.0, from.1),
        gap_m,
        station_m,
    }
}

pub(super) fn study(units: Units) -> Study {
    let line = 25.0 * FOOT;
    let names = ["pickup", "pickup-travel-trailer", "fire-engine"];
    let vehicles = names.map(|n| find(n).expect("in the library")).to_vec();
    let case = |vehicle: usize, maneuver: Maneuver, bare: Answer, comfortable: Answer, drawn: DrawnWay| {
        let travel = if maneuver == Maneuver::DriveIn { "eastbound" } else { "westbound" };
        let mut case = Case::new(vehicle, travel.to_owned(), maneuver, bare, comfortable);
        case.drawn_gate = match drawn.clearance_m {
            Some(m) if m >= 0.3048 => DrawnGate::Comfortable,
            Some(_) => DrawnGate::Tight,
            None => DrawnGate::No,
        };
        case.drawn = drawn;
        case
    };
    let pickup = driving_in("pickup", 0.145, 4.0, 12.0);
    let near = contact("left post", "pickup mirror", (-2.2, line), (-1.9, line), 0.305, 19.0);
    let trailer = backing_in("pickup-travel-trailer", 0.11);
    let far = contact("right post", "trailer body", (2.6, line), (2.3, line), 0.305, 30.0);
    // Through the gate as drawn, a foot and a half from the left post; and an attempt that reaches into the right one.
    let drawn_near = contact("left post", "pickup mirror", (-2.13, line), (-1.67, line), 0.4573, 19.0);
    let mut through = DrawnWay::default();
    (through.clearance_m, through.contacts) = (Some(0.4571), vec![drawn_near]);
    through.witness = Some(Trajectory::new(pickup.clone()));
    let hit = contact("right post", "trailer body", (2.13, line), (2.3, line), 0.0, 30.0);
    let mut fails = DrawnWay::default();
    (fails.overlap_m, fails.contacts) = (Some(0.17), vec![hit]);
    fails.witness = Some(Trajectory::new(trailer.clone()));
    let nothing = |outcome: Outcome| Answer::new(outcome, 2.4);
    let blocked = "the west ditch keeps the rear tires off the apron".to_owned();
    let demanded = vec![Demanded::Either; vehicles.len()];
    let mut study = Study::new(site(units), vehicles, demanded, 0.3048);
    study.cases = vec![
        case(
            0,
            Maneuver::DriveIn,
            answer(3.2, Some(pickup.clone()), None),
            answer(3.93, Some(pickup), Some(near)),
            through,
        ),
        case(
            1,
            Maneuver::BackIn,
            answer(4.4, Some(trailer.clone()), None),
            answer(5.2, Some(trailer), Some(far)),
            fails,
        ),
        case(
            2,
            Maneuver::DriveIn,
            nothing(Outcome::Impossible(blocked.clone())),
            nothing(Outcome::Impossible(blocked)),
            DrawnWay::default(),
        ),
    ];
    study
}

/// Words of a drawing as read, without its markup.
fn words(drawing: &str) -> String {
    let texts = drawing.split('<').filter_map(|tag| tag.split_once('>')).map(|(_, text)| text.trim());
    let text = texts.filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" ");
    text.replace("&apos;", "'").replace("&quot;", "\"").replace("&#39;", "'")
}

#[test]
fn a_case_says_what_it_must() {
    let study = study(Units::Feet);
    let pickup = words(&case_svg(&study, 0));
    for part in [
        "North field entrance",
        "coming eastbound, driving in",
        "Needs an opening of 10' 6\"; comfortable at 12' 11\" (1' kept from everything that stands).",
        "The 14' gate as drawn lets it in, in comfort, with 1' 5 1/2\" clear at the tightest place.",
        "Through the 14' gate as drawn",
        "1' 5 1/2\" to the left post",
        "At an opening of 12' 11\", the least in comfort",
        "Drives in with 1' 5 1/2\" to spare",
        "opening 14'",
        "as drawn 14'",
        "bare 10' 6\"",
        "comfortable 12' 11\"",
        "setback 15'",
        "county road, 20' wide",
        "culvert apron",
        "limb, 12' 5\" up",
        "mailbox",
        "eastbound",
        "tightest place",
        "20 ft",
        "5 m",
        "Backing out covers the same ground.",
        "Planning aid, not a survey.",
        "Use a spotter when backing.",
        "Tightest: 1' 5 1/2\" from the pickup mirror to the left post.",
        "1' to the left post",
    ] {
        assert!(pickup.contains(part), "{part:?} is missing from: {pickup}");
    }
    let trailer = words(&case_svg(&study, 1));
    assert!(trailer.contains("Driving out forward"), "{trailer}");
    for part in [
        "Does not fit: the trailer body hits the right post by 7\"",
        "does not let it in: on the best try found the trailer body hits the right post by 7\"",
        "The best try at the 14' gate as drawn",
        "trailer body hits the right post by 7\"",
        "hit: the vehicle does not fit",
    ] {
        assert!(trailer.contains(part), "{part:?} is missing from: {trailer}");
    }
    assert!(!pickup.contains("does not fit"), "nothing is hit");
    let engine = words(&case_svg(&study, 2));
    assert!(engine.contains("Cannot get in, however wide the gate: the west ditch keeps the rear tires off"));
    assert!(!engine.contains("ground the body covers"), "nothing was driven, so the legend has no envelope");
    assert!(words(&case_svg(&study, 9)).contains("no case 9"));
}

/// Of a vehicle that turns around inside only the leg that it drives out is drawn, not the way along the road to where one
/// that backs in stops; the note tells where it ends.
#[test]
fn a_way_out_is_drawn_without_the_approach() {
    let mut study = study(Units::Feet);
    study.cases[1].drawn.clearance_m = Some(0.4);
    let drawn = |study: &Study| {
        let sheet = case_sheet(study, 1).unwrap();
        let items = sheet.panels[0].items.iter();
        (items.filter(|item| item.role == Role::Path).count(), words(&case_svg(study, 1)))
    };
    let (paths, backing) = drawn(&study);
    assert!(paths == 2 && backing.contains("Driving out forward covers"), "{paths}: {backing}");
    study.demanded[1] = Demanded::TurnAround;
    let (paths, out) = drawn(&study);
    assert_eq!(paths, 1);
    assert!(out.contains("drawn to where the vehicle stands on the road, in line with it."), "{out}");
    assert!(
        !out.contains("covers the same ground") && out.matches("The way out is drawn").count() == 1,
        "{out}"
    );
    // What turns around inside does not back out.
    let driving_in = |study: &Study| words(&case_svg(study, 0));
    assert!(driving_in(&study).contains("Backing out covers the same ground."));
    study.demanded[study.cases[0].vehicle] = Demanded::TurnAround;
    assert!(!driving_in(&study).contains("covers the same ground"), "{}", driving_in(&study));
}

#[test]
fn meters_where_the_plan_asks_for_them() {
    let drawing = words(&case_svg(&study(Units::Meters), 0));
    assert!(drawing.contains("comfortable 3.93 m") && drawing.contains("as drawn 4.27 m"), "{drawing}");
    assert!(!drawing.contains("12' 11"));
}

/// No text of a panel meets another or leaves the panel, and none hides the tightest place.
#[test]
fn texts_keep_apart() {
    for units in [Units::Feet, Units::Meters] {
        let study = study(units);
        for case in 0..study.cases.len() {
            let sheet = case_sheet(&study, case).expect("a case");
            for panel in &sheet.panels {
                let texts = placed_texts(panel);
                let wanted = panel.labels.iter().filter(|l| !l.optional).count();
                let strong = texts.iter().filter(|t| t.strong && !t.on_line).count();
                assert_eq!(strong, wanted, "every label that matters found a place");
                let frame = Rect { x0: 0.0, y0: 0.0, x1: panel.view.width, y1: panel.view.height };
                for (i, a) in texts.iter().enumerate() {
                    assert!(frame.holds(&a.rect), "{a:?}");
                    for b in &texts[i + 1..] {
                        assert!(!a.rect.overlaps(&b.rect), "case {case}: {:?} on {:?}", a.lines, b.lines);
                    }
                    for item in &panel.items {
                        if let Geom::Mark { at, .. } = item.geom {
                            assert!(!a.rect.overlaps(&Rect::around(panel.view.page(at), 12.0, 12.0)));
                        }
                    }
                }
            }
        }
    }
}

/// Text is at least 11 pixels high on a phone 390 pixels wide, titles are there for screen readers, names are
/// escaped, coordinates have two decimals at most and the same input gives the same bytes.
#[test]
fn the_file_is_in_order() {
    let mut study = study(Units::Feet);
    study.site.title = "Smith & <sons> \"yard\"".into();
    for case in 0..3 {
        let drawing = case_svg(&study, case);
        assert_eq!(drawing, case_svg(&study, case), "the same bytes each time");
        assert!(drawing.contains("role=\"img\"") && drawing.contains("<desc>"));
        assert!(drawing.contains("Smith &amp; &lt;sons&gt;") && !drawing.contains("<sons>"));
        for size in drawing.split("font-size=\"").skip(1) {
            let size: f64 = size.split('"').next().expect("a value").parse().expect("a number");
            assert!(size * 390.0 / 640.0 > 10.9, "{size}");
        }
        assert!(!drawing.contains("NaN") && !drawing.contains("inf "));
        let numbers = drawing.split(|c: char| !(c.is_ascii_digit() || c == '.'));
        let long = numbers.filter(|n| n.split_once('.').is_some_and(|(_, tail)| tail.len() > 2)).count();
        assert_eq!(long, 0, "coordinates have two decimals");
        std::fs::write(format!("{}/case-{case}.svg", env!("CARGO_TARGET_TMPDIR")), drawing).expect("written");
    }
}

/// The swept path as drawn is the one the bound applies to: its corners in the picture, converted back to meters, lie
/// where the envelope's do.
#[test]
fn the_envelope_is_drawn_to_scale() {
    let study = study(Units::Feet);
    let sheet = case_sheet(&study, 0).expect("a case");
    let view = sheet.panels[0].view;
    let witness = study.cases[0].drawn.witness.as_ref().expect("a path");
    let body = envelope(&study.vehicles[0], witness.path(), Cover::Body, 0.005).expect("swept");
    let outer = &body.rings()[0][0].0;
    let drawing = case_svg(&study, 0);
    let data = drawing.split("<path ").find(|p| p.contains("#c4dfda")).expect("the envelope is drawn");
    let data = data.split(" d=\"").nth(1).or_else(|| data.strip_prefix("d=\"")).expect("path data");
    let drawn = kurbo::BezPath::from_svg(data.split('"').next().expect("data")).expect("path data");
    let mut worst = 0.0_f64;
    for corner in outer {
        let p = view.page(*corner);
        let near = drawn.segments().map(|s| {
            use kurbo::ParamCurveNearest;
            s.nearest(kurbo::Point::new(p.x, p.y), 1e-6).distance_sq.sqrt()
        });
        worst = worst.max(near.fold(f64::MAX, f64::min));
    }
    assert!(worst < 0.2, "the outline strays by {worst} page units ({} m)", worst / view.scale);
    assert!(drawn.elements().iter().any(|e| matches!(e, kurbo::PathEl::CurveTo(..))), "curves, not corners");
}

/// The plan and the gate close up show the path through the gate as drawn, with posts only where they are drawn; the
/// picture below them the narrowest opening, with its posts. Obstacles hit by the best attempt are drawn in red, where
/// they stand.
#[test]
fn the_gate_is_shown_as_drawn() {
    use wideenough::drawing::scene::{Panel, Role};
    let study = study(Units::Feet);
    let count = |panel: &Panel, role: Role| panel.items.iter().filter(|item| item.role == role).count();
    for case in 0..2 {
        let sheet = case_sheet(&study, case).expect("a case");
        assert_eq!(sheet.panels.len(), 3, "case {case}");
        let needed: Vec<usize> = sheet.panels.iter().map(|p| count(p, Role::PostNeeded)).collect();
        assert!(needed[..2] == [0, 0] && needed[2] >= 2, "case {case}: {needed:?}");
        let hits: Vec<usize> = sheet.panels.iter().map(|p| count(p, Role::Hit)).collect();
        // The thing itself, and the two lines of a cross over it.
        assert_eq!(hits, if case == 1 { [3, 3, 0] } else { [0, 0, 0] });
        let contact = &study.cases[case].drawn.contacts[0];
        for panel in &sheet.panels[..2] {
            let marked = |item: &wideenough::drawing::scene::Item| matches!(item.geom, Geom::Mark { at, from } if at == contact.at && from == contact.from);
            assert!(panel.items.iter().any(marked), "case {case}");
        }
        assert!(
            sheet.panels[2].view.height < sheet.panels[1].view.height,
            "the narrowest opening is smaller"
        );
    }
    assert_eq!(case_sheet(&study, 2).expect("a case").panels.len(), 2, "nothing was driven");
}

/// North is up and east to the right; turned to the gate, inward is up.
#[test]
fn a_view_is_not_a_mirror_image() {
    let sheet = case_sheet(&study(Units::Feet), 0).expect("a case");
    for panel in &sheet.panels {
        let view = panel.view;
        let (east, north) = (view.center + Point::new(1.0, 0.0), view.center + Point::new(0.0, 1.0));
        let (middle, e, n) = (view.page(view.center), view.page(east), view.page(north));
        assert!((e.x - middle.x - view.scale).abs() < 1e-9 && (e.y - middle.y).abs() < 1e-9);
        assert!((n.y - middle.y + view.scale).abs() < 1e-9, "y runs down the page");
    }
}

/// Every vehicle of the library has a picture whose texts keep apart and say its length.
#[test]
fn vehicles_have_pictures() {
    for name in ["car", "pickup", "fire-engine", "pickup-travel-trailer", "gooseneck-horse-40", "semitrailer"]
    {
        let vehicle = find(name).expect("in the library");
        let drawing = vehicle_svg(&vehicle, Units::Feet);
        let length = show(vehicle.length_m(), Units::Feet, Round::Nearest);
        assert!(words(&drawing).contains(&format!("{length} over all")), "{name}: {}", words(&drawing));
        let sheet = vehicle_sheet(&vehicle, Units::Feet);
        for panel in &sheet.panels {
            let texts = placed_texts(panel);
            let dimensions = panel.items.iter().filter(|i| matches!(i.geom, Geom::Dimension { .. })).count();
            assert_eq!(texts.len(), dimensions, "{name}: every dimension has its text");
            for (i, a) in texts.iter().enumerate() {
                for b in &texts[i + 1..] {
                    assert!(!a.rect.overlaps(&b.rect), "{name}: {:?} on {:?}", a.lines, b.lines);
                }
            }
        }
        std::fs::write(format!("{}/vehicle-{name}.svg", env!("CARGO_TARGET_TMPDIR")), drawing).unwrap();
    }
}
