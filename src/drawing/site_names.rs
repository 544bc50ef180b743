//! Labels of a plan: the names of its roads, drives, obstacles, fences, boundaries and spots, each at places it may stand.
use super::scene::{Label, View};
use super::shapes::{obstacle_words, panel_grid, rings, sampled, shown};
use crate::geometry::length::{Round, show};
use crate::geometry::{Point, Units};
use crate::site::{Road, Site};

/// The label of a road, with its width.
pub(super) fn road_words(road: &Road, units: Units) -> String {
    format!("{}, {} wide", road.surface.label, show(road.width_m, units, Round::Nearest))
}

/// Labels of everything that a plan names and a view shows, each text once.
pub(super) fn site_labels(site: &Site, view: &View) -> Vec<Label> {
    let mut labels = Vec::new();
    let mut say = |text: &str, places: Vec<Point>, within: Vec<Vec<Point>>| {
        if let Some((at, others)) = places.split_first() {
            let (text, or_at, leader) = (text.to_owned(), others.to_vec(), within.is_empty());
            labels.push(Label { text, at: *at, or_at, within, strong: false, leader, optional: true });
        }
    };
    for obstacle in &site.obstacles {
        let corners: Vec<Point> = obstacle.shapes.iter().flat_map(|s| s.outer.0.iter().copied()).collect();
        say(&obstacle_words(obstacle, site), shown(&corners, view), Vec::new());
    }
    for road in &site.roads {
        say(&road_words(road, site.units), panel_grid(view), rings(&road.surface));
    }
    for drive in &site.drives {
        say(&drive.label, panel_grid(view), rings(drive));
    }
    for fence in &site.fences {
        say(&fence.label, shown(&sampled(&fence.line), view), Vec::new());
    }
    for boundary in &site.boundaries {
        say(&boundary.label, shown(&sampled(&boundary.line), view), Vec::new());
    }
    for spot in &site.spots {
        let seen = view.shows(spot.at, 4.0).then_some(spot.at);
        say(&spot.label, seen.into_iter().collect(), Vec::new());
    }
    let mut said: Vec<String> = Vec::new();
    labels.retain(|label| {
        let fresh = !said.contains(&label.text);
        said.push(label.text.clone());
        fresh
    });
    labels
}
