//! Savings from changing the site: against searches that know nothing of it, and laws that hold whatever the place.
use crate::common::{box_truck, pickup, standard_site};
use std::sync::Mutex;
use wideenough::opening::{Axis, Case, ConstraintKind, Kind, Study, StudyOptions, Wanted, study};
use wideenough::search::Effort;
use wideenough::site::changes::Change;
use wideenough::site::{Anchor, Site, Visit};
use wideenough::vehicle::Vehicle;

fn asked(site: Site, vehicle: Vehicle, options: &StudyOptions) -> Study {
    let wanted =
        Wanted { vehicle, visits: vec![Visit::DriveInBackOut], travels: vec!["eastbound".to_owned()] };
    let told = Mutex::new(Vec::new());
    let result = study(site, &[wanted], options, &|p| told.lock().expect("no panic").push((p.done, p.total)));
    counted(told.into_inner().expect("no panic"), options);
    result
}

/// Checks the progress: each problem is counted once, and with changed sites and charts the total is an upper bound.
fn counted(mut told: Vec<(usize, usize)>, options: &StudyOptions) {
    told.sort_unstable();
    let total = told[0].1;
    assert!(told.iter().enumerate().all(|(i, p)| *p == (i + 1, total)) && told.len() <= total, "{told:?}");
    let more = options.changes || options.tradeoff;
    assert!(if more { 2 * told.len() > total } else { total == 1 }, "{} of {total}", told.len());
}

fn plain() -> StudyOptions {
    StudyOptions { changes: false, ..StudyOptions::default() }
}

/// Slopes agree with full searches at the changed sites, which are given no path, within 1.5 cm for a foot: half the
/// tolerance to which the standard problems hold such a search. 9 mm is the most seen.
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
            assert!((ours - independent).abs() < 0.015, "{kind:?}: {ours} {independent}");
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
}

/// For the standard pickup more setback never needs more, within a centimeter that chance in the search leaves (7 mm is
/// the most seen, where nothing is left to gain); each vehicle needs at least as much in comfort as bare plus twice the
/// clearance less nothing, and where no gate can stand there is a gap.
#[test]
fn the_chart_falls_with_the_setback() {
    let options = StudyOptions { tradeoff: true, effort: Effort { polished: 1, ..Effort::USUAL }, ..plain() };
    let result = asked(standard_site(1.5), pickup(), &options);
    let axes: Vec<Axis> = result.tradeoffs.iter().map(|t| t.axis).collect();
    assert_eq!(axes, [Axis::Setback, Axis::Skew]);
    let setback = &result.tradeoffs[0];
    assert_eq!((setback.at.len(), setback.at[0], setback.drawn), (10, 0.0, 1.7));
    let series = &setback.series[0];
    println!("{:?}\n{series:?}", setback.at);
    assert_eq!((series.bare_m[0], series.comfortable_m[0]), (None, None), "posts would stand in the road");
    for needs in [&series.bare_m, &series.comfortable_m] {
        let found: Vec<f64> = needs[1..].iter().map(|m| m.expect("found")).collect();
        assert!(found.windows(2).all(|w| w[1] <= w[0] + 0.01), "{found:?}");
        // Straight on, 2.05 m of body (mirrors pass a thin post one after the other) do not get through less.
        assert!(found[0] > found[8] + 0.2 && found[8] > 2.05, "{found:?}");
    }
    for (bare, comfort) in series.bare_m.iter().zip(&series.comfortable_m).skip(1) {
        assert!(comfort.unwrap() >= bare.unwrap() + 2.0 * result.clearance_m - 1e-3);
    }
    let skew = &result.tradeoffs[1];
    println!("{:?}\n{:?}", skew.at, skew.series);
    assert_eq!((skew.at.len(), skew.drawn), (7, 0.0));
}

/// On a site that is identical from both sides one opening for a vehicle from both directions of travel stands in the
/// middle, and is no wider than the one that may only widen about the middle.
#[test]
fn one_opening_for_both_travels_stands_in_the_middle() {
    let both = |anchor: Anchor| {
        let mut site = standard_site(1.5);
        // Both lanes alike: one lane in the middle, driven in either direction.
        site.roads[0].width_m = 4.0;
        site.roads[0].surface.outer = crate::common::rectangle(-200.0, -4.0, 200.0, 0.0);
        site.roads[0].centerline.iter_mut().for_each(|p| p.y = -2.0);
        site.gate.anchor = anchor;
        let wanted = Wanted { vehicle: pickup(), visits: vec![Visit::DriveInBackOut], travels: vec![] };
        study(site, &[wanted], &plain(), &|_| {})
    };
    let (free, centered) = (both(Anchor::Free), both(Anchor::Center));
    let placement = free.placement.as_ref().expect("found");
    let need = centered.needs[0].comfortable_opening_m.expect("found");
    println!("{placement:?}, centered {need}");
    assert!(centered.placement.is_none(), "asked only where the gate may stand anywhere");
    assert!(placement.comfortable);
    assert!(placement.center_u_m.abs() <= 0.02, "{placement:?}");
    // Except for the possible difference between two searches of one problem, a thousandth: 3.2 mm was seen, as the
    // search for comfort at one gate also starts from the bare paths.
    assert!(placement.opening_m <= 1.001 * need, "{placement:?}, centered {need}");
    // Each on its own would do with less, elsewhere, except for what its own search may miss: 3.4 mm was seen.
    let own = free.needs[0].comfortable_opening_m.expect("found");
    assert!(placement.opening_m >= own - 0.005, "{placement:?}, own {own}");
}

/// A pole stands inside, a little left of the middle: the best place lies to the right of it, and no gate about another
/// middle, each searched on its own, needs less by more than the difference between two searches.
#[test]
fn a_pole_inside_moves_the_best_place() {
    let with_pole = |anchor: Anchor| {
        let mut site = standard_site(4.5);
        crate::common::add_pole(&mut site, -0.7, 8.0);
        site.gate.anchor = anchor;
        site
    };
    let free = asked(with_pole(Anchor::Free), pickup(), &plain());
    let placement = free.placement.as_ref().expect("found");
    let centered = |along: f64| {
        let moved = Change::Along(along).apply(&with_pole(Anchor::Center)).expect("a site");
        asked(moved, pickup(), &plain()).needs[0].comfortable_opening_m
    };
    let scan: Vec<(f64, Option<f64>)> =
        [-1.0, -0.5, 0.0, 0.4, 0.8, 1.2, 1.6, 2.0].map(|u| (u, centered(u))).to_vec();
    println!("{placement:?}\n{scan:?}");
    assert!(placement.center_u_m > 0.2, "{placement:?}");
    let least = scan.iter().filter_map(|(_, need)| *need).fold(f64::INFINITY, f64::min);
    // Where it is drawn the pickup winds round the pole, which takes far more than the difference between two searches.
    let drawn = scan[2].1.unwrap_or(f64::INFINITY);
    assert!(placement.opening_m <= least + 0.02, "{placement:?} against {least}");
    assert!(placement.opening_m < drawn - 0.05, "{placement:?} against {drawn} where it is drawn");
}

/// The active constraints are read off the path: turning in from 1.5 m a box truck is held by both posts and by its
/// lock; a pickup that may stop twice goes straight between the posts, and no lock holds it there.
#[test]
fn what_binds_is_what_the_path_runs_up_against() {
    let of = |vehicle: Vehicle, shunts: u32| {
        let result = asked(standard_site(1.5), vehicle, &StudyOptions { shunts, ..plain() });
        let case = result.cases[0].clone();
        println!("{:?}, {:.2} of the way at full lock", case.limits.binds, case.limits.full_lock_share);
        case
    };
    let names = |case: &Case, kind: ConstraintKind| -> Vec<String> {
        let mut list: Vec<String> =
            case.limits.binds.iter().filter(|b| b.kind == kind).map(|b| b.what.clone()).collect();
        list.sort();
        list.dedup();
        list
    };
    let truck = of(box_truck(), 0);
    let contacts = names(&truck, ConstraintKind::Contact);
    assert!(contacts.iter().any(|w| w.contains("left post")), "{contacts:?}");
    assert!(contacts.iter().any(|w| w.contains("right post")), "{contacts:?}");
    assert_eq!(names(&truck, ConstraintKind::Lock), ["full lock"]);
    // The share reported is that of the path, sampled every millimeter, and no small one.
    let witness = truck.comfortable.witness.as_ref().expect("a path");
    let lock = 0.995 * box_truck().steering.max_curvature;
    let (mut locked_m, mut driven_m) = (0.0, 0.0);
    for segment in witness.path().legs.iter().flat_map(|leg| &leg.segments) {
        let pieces = (segment.length_m / 0.001).ceil();
        let mut i = 0.5;
        while i < pieces {
            let turned =
                segment.curvature_start + (segment.curvature_end - segment.curvature_start) * (i / pieces);
            locked_m += if turned.abs() >= lock { segment.length_m / pieces } else { 0.0 };
            driven_m += segment.length_m / pieces;
            i += 1.0;
        }
    }
    let share = locked_m / driven_m;
    assert!((truck.limits.full_lock_share - share).abs() < 0.005 && share > 0.15, "{share}");
    // Every contact reported is one that the path keeps no more than a centimeter beyond the clearance.
    let clearance_m = 0.30;
    for bind in truck.limits.binds.iter().filter(|b| b.kind == ConstraintKind::Contact) {
        let seen = truck.contacts.iter().find(|c| c.what == bind.what && c.part == bind.part);
        let gap_m = seen.unwrap_or_else(|| panic!("{bind:?} is no contact")).gap_m;
        assert!(gap_m >= clearance_m - 1e-6 && gap_m <= clearance_m + 0.01 + 1e-6, "{bind:?}, {gap_m}");
    }
    let straight = of(pickup(), 2);
    assert!(straight.limits.full_lock_share < truck.limits.full_lock_share);
    let opening = straight.comfortable.opening_m.expect("found");
    assert!((opening - (2.4384 + 0.60)).abs() < 0.01, "{opening}: over the mirrors and the clearance twice");
}
