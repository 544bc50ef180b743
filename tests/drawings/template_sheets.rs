//! Turning template sheets: they settle on their circle, and their swing-out and reach are the turn's alone.
use std::f64::consts::FRAC_PI_2;
use wideenough::drawing::paper::{Paper, TitleBlock, page_svg};
use wideenough::drawing::template::{offtracking_m, radii_about_center, template_path, tightest_radius_m};
use wideenough::drawing::{template_pages, template_svg};
use wideenough::geometry::Units;
use wideenough::geometry::trig::{cos, sin};
use wideenough::motion::Chain;
use wideenough::sweep::body_envelope_led_by_front_axle;
use wideenough::vehicle::{PartKind, find};

/// Words of a drawing as read, without its markup.
fn words(drawing: &str) -> String {
    let texts = drawing.split('<').filter_map(|tag| tag.split_once('>')).map(|(_, text)| text.trim());
    let text = texts.filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" ");
    text.replace("&apos;", "'").replace("&quot;", "\"").replace("&#39;", "'")
}

/// A template of one unit settles on its circle: with the front axle's middle on R the rear axle's runs on
/// √(R² − L²), and the body's inner side half a width inside that.
#[test]
fn a_template_settles_on_its_circle() {
    let bus = find("aashto-su-30").expect("in the library");
    let radius = tightest_radius_m(&bus);
    let unit = &bus.units[0];
    let rear = (radius * radius - unit.wheelbase_m * unit.wheelbase_m).sqrt();
    let chain = Chain::led_by_front_axle(&bus);
    let path = template_path(&bus, 270.0, radius);
    let swept = body_envelope_led_by_front_axle(&bus, &path, 0.005).expect("swept");
    let (inner, outer) = radii_about_center(&swept, 270.0);
    assert!((inner - (rear - unit.width_m / 2.0)).abs() < 0.02, "{inner} {rear}");
    let front = unit.wheelbase_m + unit.front_overhang_m;
    let corner = ((rear + unit.width_m / 2.0).powi(2) + front * front).sqrt();
    assert!(outer <= corner + 0.005, "{outer} {corner}");
    let off = offtracking_m(&chain, &path.samples(&chain, 0.05));
    assert!((off - (radius - rear)).abs() < 0.01, "{off} {}", radius - rear);
    for name in ["aashto-su-30", "aashto-wb-40", "pickup-travel-trailer"] {
        let vehicle = find(name).expect("in the library");
        let drawing = template_svg(&vehicle, &[90.0, 180.0], None, Units::Feet).expect("drawn");
        let text = words(&drawing);
        assert!(text.contains("90-degree turn") && text.contains("180-degree turn"), "{text}");
        std::fs::write(format!("{}/template-{name}.svg", env!("CARGO_TARGET_TMPDIR")), drawing)
            .expect("written");
    }
}

/// The figures beside a template: the way of the outer front wheel follows from the arc and the track.
#[test]
fn a_template_page_gives_its_radii_angles_and_dimensions() {
    let bus = find("aashto-su-30").expect("in the library");
    let radius = tightest_radius_m(&bus);
    let unit = &bus.units[0];
    let half_track = unit.tires.iter().filter(|t| t.steered).map(|t| t.center.y.abs()).fold(0.0, f64::max);
    // As the turn begins the axle stands square to the arc, and its outer wheel half a track outside.
    let outer = radius + half_track;
    let page = |name: &str, units| {
        let vehicle = find(name).expect("in the library");
        let pages = template_pages(&vehicle, &[270.0], None, units, Paper::Tabloid).expect("drawn");
        words(&page_svg(&pages[0], &TitleBlock::default(), 0, 1))
    };
    let text = page("aashto-su-30", Units::Meters);
    let said = |text: &str, before: &str| {
        let rest =
            &text[text.find(before).unwrap_or_else(|| panic!("{before} is not in {text}")) + before.len()..];
        rest.trim_start()
            .split(' ')
            .next()
            .unwrap()
            .trim_end_matches(|c: char| !c.is_ascii_digit())
            .parse::<f64>()
            .unwrap()
    };
    let m = said(&text, "wheel runs up to");
    assert!((m - outer).abs() < 0.02, "{m} {outer}");
    let lock = bus.steering.lock_angle_rad.to_degrees();
    assert!((said(&text, "turned by up to") - lock).abs() < 1.5, "{lock} in {text}");
    for words in ["curb to curb", "wall to wall", "wheelbase", "Over all", "overhang"] {
        assert!(text.contains(words), "{words} is not in {text}");
    }
    let rig = page("pickup-travel-trailer", Units::Feet);
    assert!(rig.contains("its limit is") && rig.contains("hitch to axle"), "{rig}");
}

/// Value of a measure in a turn's heading.
fn said(heading: &str, measure: &str) -> String {
    let rest = &heading[heading.find(measure).unwrap() + measure.len()..];
    rest.split([',', ';']).next().unwrap().trim().to_owned()
}

/// The tail swings out as the turn begins, however far it goes on; and the front reaches no farther round a full circle
/// than round half of one.
#[test]
fn a_template_tells_swing_out_and_reach_of_the_turn_alone() {
    for (name, least_m, most_m) in [("motorhome", 0.2, 1.0), ("car", 0.0, 0.1)] {
        let vehicle = find(name).unwrap();
        let turns = [90.0, 180.0, 360.0];
        let sheet =
            wideenough::drawing::template::template_sheet(&vehicle, &turns, None, Units::Meters).unwrap();
        let headings: Vec<&str> = sheet.panels.iter().map(|p| p.heading.as_deref().unwrap()).collect();
        let swing: Vec<String> = headings.iter().map(|h| said(h, "swing-out")).collect();
        assert!(swing.iter().all(|s| *s == swing[0]), "{headings:?}");
        let meters: f64 = swing[0].trim_end_matches(" m").parse().unwrap();
        assert!(least_m < meters && meters < most_m, "{headings:?}");
        // "body from 6.78 m to 11.83 m from the center"
        let outer = |h: &str| said(h, " to ").split(' ').next().unwrap().parse::<f64>().unwrap();
        assert!(outer(headings[2]) <= outer(headings[1]) + 0.011, "{headings:?}");
        assert!(outer(headings[2]) >= outer(headings[0]) - 0.011, "{headings:?}");
    }
    // The tail of a rigid truck swings past the side of its body, mirrors not counted: the front axle goes around the circle,
    // and the rear one follows it, integrated here by small steps.
    let truck = find("box-truck-26").unwrap();
    let sheet = wideenough::drawing::template::template_sheet(&truck, &[180.0], None, Units::Meters).unwrap();
    let unit = &truck.units[0];
    let body = unit.parts.iter().filter(|part| part.kind == PartKind::Body);
    let half_m = body.flat_map(|part| &part.outline.0).map(|p| p.y.abs()).fold(0.0, f64::max);
    let radius_m = tightest_radius_m(&truck);
    let (mut heading, mut turned, mut swing_m) = (0.0_f64, 0.0_f64, 0.0_f64);
    while turned < FRAC_PI_2 {
        heading += sin(turned - heading) * 1e-3 * radius_m / unit.wheelbase_m;
        turned += 1e-3;
        let front = radius_m * (1.0 - cos(turned));
        let tail = front - (unit.wheelbase_m + unit.rear_overhang_m) * sin(heading) - half_m * cos(heading);
        swing_m = swing_m.max(-half_m - tail);
    }
    let meters: f64 = said(sheet.panels[0].heading.as_deref().unwrap(), "swing-out")
        .trim_end_matches(" m")
        .parse()
        .unwrap();
    // Shown rounded up to a centimeter.
    assert!(swing_m > 0.15 && (meters - swing_m - 0.005).abs() < 0.006, "{meters} {swing_m}");
    // A long trailer folds up on its tightest circle: that turn is on a wider one, and the sheet says so.
    let rig = find("gooseneck-horse-40").unwrap();
    let sheet =
        wideenough::drawing::template::template_sheet(&rig, &[30.0, 360.0], None, Units::Feet).unwrap();
    let heading = |i: usize| sheet.panels[i].heading.as_deref().unwrap();
    let widened = |i: usize| heading(i).contains(", the tightest its hitch allows: body from");
    assert!(!widened(0) && widened(1) && !heading(1).contains("not to be driven"), "{}", heading(1));
    assert!(
        sheet.lines.iter().any(|line| line.contains("least radius that the hitch allows")),
        "{:?}",
        sheet.lines
    );
}
