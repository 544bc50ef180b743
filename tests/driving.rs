//! scratch
mod common;
use wideenough::opening::{StudyOptions, Wanted, driving, study};
use wideenough::vehicle::find;

#[test]
fn scratch() {
    for name in std::env::var("EX").unwrap_or("small-lane".into()).split(',') {
        let text = std::fs::read_to_string(format!("examples/{name}.geojson")).unwrap();
        let site = wideenough::site::read(&text, name).unwrap();
        let wanted: Vec<Wanted> = site
            .vehicles
            .iter()
            .filter_map(|r| Some(Wanted { vehicle: find(&r.vehicle).ok()?, visits: r.visits.clone(), travels: r.travels.clone() }))
            .collect();
        let options = StudyOptions { changes: false, ..StudyOptions::default() };
        let t = std::time::Instant::now();
        let study = study(site, &wanted, &options, &|_| ());
        println!("{name}: study {:.2} s", t.elapsed().as_secs_f64());
        let t = std::time::Instant::now();
        let all = driving(&study, &options, &|_| ());
        println!("{name}: driving {:.2} s", t.elapsed().as_secs_f64());
        for d in &all {
            let c = d.of(&study);
            println!(
                "{} {} {:?} {:?} drawn {:.3?}",
                study.vehicles[c.vehicle].name, c.travel, c.maneuver, c.drawn_gate, c.drawn.clearance_m
            );
            if let Some(card) = &d.card {
                println!("  keeps {:.3?} turns {} line up {:?}", card.way.clearance_m, card.turns.turns(), card.line_up);
                for s in &card.steps {
                    println!(
                        "   {:?} stop {} wheel {:?} roll {:.3} until {:?} watch {:?}",
                        s.direction, s.after_stop, s.wheel_tenths, s.roll_m,
                        s.until.as_ref().map(|l| (l.reference, l.thing.clone(), l.short_m, l.aside_m)), s.watch
                    );
                }
            } else {
                println!("  NO CARD");
            }
            println!("  window {:?}", d.window);
        }
    }
}
