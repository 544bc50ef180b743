//! What changing the site saves: against searches that know nothing of it, and laws that hold whatever the place.
mod common;
use common::{box_truck, pickup, standard_site};
use wideenough::opening::{Kind, STEP_M, Study, StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::{Maneuver, Site};
use wideenough::vehicle::Vehicle;

fn asked(site: Site, vehicle: Vehicle, options: &StudyOptions) -> Study {
    let wanted =
        Wanted { vehicle, maneuvers: vec![Maneuver::DriveIn], travels: vec!["eastbound".to_owned()] };
    study(site, &[wanted], options, &|_| {})
}

fn plain() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

/// Slopes agree with full searches at the changed sites, which are not told of any path, within 1 % of the opening: what
/// such a search is held to by the standard problems.
#[test]
fn savings_agree_with_independent_searches() {
    for (vehicle, setback) in [(pickup(), 1.5), (box_truck(), 4.5)] {
        let site = standard_site(setback);
        let result = asked(site.clone(), vehicle.clone(), &StudyOptions::default());
        let case = &result.cases[0];
        let changes = case.limits.changes.as_ref().expect("the one case governs");
        let base = changes.opening_m;
        let found = case.comfortable.opening_m.expect("found");
        assert!(changes.comfortable && base <= found + 1e-9, "{base} {found}");
        for kind in [Kind::Setback, Kind::RoadWidth] {
            let changed = kind.step(1.0).apply(&site).expect("a site");
            let again = asked(changed, vehicle.clone(), &plain());
            let independent = again.cases[0].comfortable.opening_m.expect("found") - found;
            let ours = changes.of(kind).and_then(|d| d.more_m).expect("measured");
            println!(
                "{} {kind:?}: {ours:.4}, independent {independent:.4}, of {base:.4} ({found:.4})",
                vehicle.name
            );
            assert!((ours - independent).abs() < 0.01 * base, "{kind:?}: {ours} {independent}");
        }
        println!("{changes:?}");
        // More room never costs, thinner posts never do.
        for kind in [Kind::Setback, Kind::RoadWidth] {
            let d = changes.of(kind).expect("measured");
            assert!(
                d.more_m.is_some_and(|m| m <= 0.0) && d.less_m.is_none_or(|m| m >= 0.0),
                "{kind:?}: {d:?}"
            );
        }
        let posts = changes.of(Kind::PostDepth).expect("measured");
        assert!(posts.more_m.is_none_or(|m| m >= 0.0) && posts.less_m.is_some_and(|m| m <= 0.0), "{posts:?}");
        assert!(changes.of(Kind::ApronFlare).is_some_and(|d| d.more_m.is_none()), "no drive, no flare");
    }
    assert!((STEP_M - 0.3048).abs() < 1e-12);
    let _ = Effort::USUAL;
}
