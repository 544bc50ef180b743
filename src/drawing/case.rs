//! The sheet of one case: the whole way in, the gate close up, and what to read off them.
use super::figure::{CaseFigures, FIGURE_WIDTH, figures};
use super::gate;
use super::order;
use super::scene::{Geom, Item, Label, PANEL_WIDTH, Panel, Role, Sheet, View};
use crate::geometry::length::{Round, show};
use crate::geometry::{Outline, Point, Pose};
use crate::motion::{Chain, Path, Sample, Trajectory};
use crate::opening::{Answer, Case, Contact, DrawnGate, Outcome, Study};
use crate::site::{Faces, Ground, Maneuver, Obstacle, Site};
use crate::sweep::{Envelope, union_in_order};
use crate::vehicle::{PartKind, Unit, Vehicle};
use std::sync::Arc;

/// Printed on every sheet.
pub(super) const CAUTION: &str = "Planning aid, not a survey. Local codes, the fire authority and licensed \
     professionals decide. Use a spotter when backing.";
/// Lower than this, only tires meet a thing.
const LOW_M: f64 = 0.25;
/// Higher than this, a thing is overhead: above the hood of most vehicles.
const OVERHEAD_M: f64 = 1.5;
/// Spacing of the samples the ghosts are picked from.
const SAMPLE_M: f64 = 0.2;

/// Everything of one case worth drawing, worked out once.
pub(super) struct Drawn<'a> {
    pub(super) study: &'a Study,
    pub(super) case: &'a Case,
    pub(super) vehicle: &'a Vehicle,
    /// The answer whose path is drawn, and the word for it.
    pub(super) answer: Option<(&'a Answer, &'static str)>,
    samples: Vec<Sample>,
    chain: Chain,
    body: Option<Arc<Envelope>>,
    tracks: Option<Arc<Envelope>>,
    fault: Option<String>,
}

/// The sheet of a case of a study; `None` if there is no such case, or it names a vehicle that is not there.
#[must_use]
pub fn case_sheet(study: &Study, case_index: usize) -> Option<Sheet> {
    let case = study.cases.get(case_index)?;
    let vehicle = study.vehicles.get(case.vehicle)?;
    let drawn = Drawn::new(study, case, vehicle);
    let lines = drawn.lines();
    let mut panels = vec![drawn.site_panel(PANEL_WIDTH), drawn.gate_panel(PANEL_WIDTH)];
    panels.extend(order::panel(study, case.vehicle));
    let mut notes = drawn.notes();
    notes.extend(order::note(study));
    notes.push(CAUTION.to_owned());
    Some(Sheet {
        title: study.site.title.clone(),
        description: drawn.description(&lines),
        lines,
        panels,
        legend: true,
        notes,
    })
}

/// The drawings of a case for a page; `None` as for [`case_sheet`].
#[must_use]
pub fn case_figures(study: &Study, case_index: usize) -> Option<CaseFigures> {
    let case = study.cases.get(case_index)?;
    let vehicle = study.vehicles.get(case.vehicle)?;
    let drawn = Drawn::new(study, case, vehicle);
    let lines = drawn.lines();
    let panels = (drawn.site_panel(FIGURE_WIDTH), drawn.gate_panel(FIGURE_WIDTH));
    let start = drawn.samples.first().map(|sample| (vehicle, sample.state.lead));
    let way = lines.first().map_or("", String::as_str);
    let names = (format!("Plan: {way}"), format!("At the gate, from above: {way}"));
    let names = (names.0.as_str(), names.1.as_str());
    Some(figures((&panels.0, &panels.1), start, drawn.description(&lines), names))
}

impl<'a> Drawn<'a> {
    pub(super) fn new(study: &'a Study, case: &'a Case, vehicle: &'a Vehicle) -> Self {
        let answer = [(&case.comfortable, "comfortable"), (&case.bare, "bare minimum")]
            .into_iter()
            .find(|(a, _)| a.outcome == Outcome::Found && a.witness.is_some());
        let chain = Chain::of(vehicle);
        let mut drawn = Self {
            study,
            case,
            vehicle,
            answer,
            samples: Vec::new(),
            chain,
            body: None,
            tracks: None,
            fault: None,
        };
        if let Some(path) = drawn.path() {
            drawn.samples = path.samples(&drawn.chain, SAMPLE_M);
            match case.covered.body(vehicle, path) {
                Ok(body) => drawn.body = Some(body),
                Err(fault) => drawn.fault = Some(format!("The swept path is missing: {fault}.")),
            }
            // A vehicle file may leave out its tires; then there are no tracks to draw.
            drawn.tracks = case.covered.tires(vehicle, path).ok();
        }
        drawn
    }

    /// The site alone, as the plan draws it.
    pub(super) fn site_alone(study: &'a Study, case: &'a Case, vehicle: &'a Vehicle) -> Self {
        let (samples, chain) = (Vec::new(), Chain::of(vehicle));
        Self { study, case, vehicle, answer: None, samples, chain, body: None, tracks: None, fault: None }
    }

    /// Where the vehicle starts, if there is a way in.
    pub(super) fn start(&self) -> Option<Point> {
        self.samples.first().map(|sample| sample.state.lead.position)
    }

    fn path(&self) -> Option<&'a Path> {
        self.answer.and_then(|(answer, _)| answer.witness.as_ref()).map(Trajectory::path)
    }

    pub(super) fn site(&self) -> &'a Site {
        &self.study.site
    }

    pub(super) fn faces(&self) -> Option<Faces> {
        self.answer.and_then(|(answer, _)| gate::needed_faces(&self.site().gate, answer))
    }

    pub(super) fn length(&self, meters: f64, round: Round) -> String {
        show(meters, self.site().units, round)
    }

    pub(super) fn lines(&self) -> Vec<String> {
        let case = self.case;
        let how = match case.maneuver {
            Maneuver::DriveIn => "driving in",
            Maneuver::BackIn => "backing in",
        };
        let way = match &case.route {
            Some(route) => format!("along the route \"{route}\""),
            None => format!("coming {}, {how}", case.travel),
        };
        let mut lines = vec![format!("{}, {way}", self.vehicle.title)];
        let clearance = self.length(self.study.clearance_m, Round::Nearest);
        lines.push(match (&case.bare.outcome, case.bare.opening_m) {
            (Outcome::Found, Some(bare)) => {
                let comfort = match (&case.comfortable.outcome, case.comfortable.opening_m) {
                    (Outcome::Found, Some(opening)) => format!(
                        "comfortable at {} ({clearance} kept from everything that stands)",
                        self.length(opening, Round::Up)
                    ),
                    (Outcome::Impossible(why), _) => {
                        format!("never in comfort: {}", why.trim_end_matches('.'))
                    }
                    (Outcome::GaveUp(why), _) => {
                        format!(
                            "no comfortable way in found (what stopped it: {})",
                            why.trim_end_matches('.')
                        )
                    }
                    (Outcome::Found, None) => "no comfortable opening known".to_owned(),
                };
                format!("Needs an opening of {}; {comfort}.", self.length(bare, Round::Up))
            }
            (Outcome::Impossible(why), _) => {
                format!("Cannot get in, however wide the gate: {}.", why.trim_end_matches('.'))
            }
            (Outcome::GaveUp(why), _) => {
                format!("No way in found. What stopped it: {}.", why.trim_end_matches('.'))
            }
            (Outcome::Found, None) => "No opening known.".to_owned(),
        });
        let gate = self.length(self.site().gate.opening_m(), Round::Nearest);
        lines.push(match case.drawn_gate {
            DrawnGate::Comfortable => format!("The {gate} gate as drawn lets it in, in comfort."),
            DrawnGate::Tight => format!("The {gate} gate as drawn lets it in, but tightly."),
            DrawnGate::No => format!("The {gate} gate as drawn does not let it in."),
        });
        lines
    }

    pub(super) fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if let Some((answer, word)) = self.answer {
            let opening =
                answer.opening_m.map_or_else(String::new, |m| format!(" of {}", self.length(m, Round::Up)));
            let bound = self.body.as_ref().map_or(0.0, |b| b.over_m.max(b.under_m)) * 1000.0;
            notes.push(format!(
                "Drawn: the way in for the {word} opening{opening}; swept path true to {bound:.0} mm. {}",
                match self.case.maneuver {
                    Maneuver::DriveIn => "Backing out covers the same ground.",
                    Maneuver::BackIn => "Driving out forward covers the same ground.",
                }
            ));
        }
        notes.extend(self.fault.clone());
        notes
    }

    pub(super) fn description(&self, lines: &[String]) -> String {
        let mut text = format!("Plan of {}. {}", self.study.site.title, lines.join(". ").replace("..", "."));
        if let Some(contact) = self.contact() {
            text.push_str(&format!(" Tightest: {}.", self.contact_words(contact)));
        }
        text
    }

    fn contact(&self) -> Option<&'a Contact> {
        let answer = self.answer.map(|(answer, _)| answer)?;
        answer.tightest.as_ref().or(self.case.contacts.first())
    }

    fn contact_words(&self, contact: &Contact) -> String {
        let gap = if contact.gap_m < 0.0005 {
            "touches".to_owned()
        } else if (contact.gap_m - self.study.clearance_m).abs() < 0.001 {
            // The clearance asked for, in the words it is given in above.
            format!("{} gap", self.length(self.study.clearance_m, Round::Nearest))
        } else {
            format!("{} gap", self.length(contact.gap_m, Round::Down))
        };
        format!("{gap}: {} to {}", contact.part, contact.what)
    }

    /// The points a plan of the whole way in must show.
    pub(super) fn interest(&self) -> Vec<Point> {
        let gate = &self.site().gate;
        let mut interest = vec![gate.left, gate.right, gate.center() - gate.inward * (gate.setback_m + 2.0)];
        interest.extend(gate::posts(gate, gate.drawn_faces()).into_iter().flatten());
        interest.extend(gate::leaves(gate, gate.drawn_faces()).into_iter().flatten());
        if let Some(body) = &self.body {
            interest.extend(body.rings().into_iter().flatten().flat_map(|ring| ring.0));
        } else {
            let reach = self.vehicle.length_m().clamp(6.0, 25.0);
            interest.extend([-1.0, 1.0].map(|s| gate.center() + gate.along() * (s * reach)));
            interest.extend([-0.8, 0.8].map(|s| gate.center() + gate.inward * (s * reach)));
        }
        interest
    }

    pub(super) fn site_panel(&self, width: f64) -> Panel {
        let view = View::around(&self.interest(), Point::new(0.0, 1.0), width, 1.5, 0.55, 1.15);
        self.site_panel_in(view)
    }

    /// The whole way in, in a view of its own.
    pub(super) fn site_panel_in(&self, view: View) -> Panel {
        let gate = &self.site().gate;
        let mut items = ground_items(self.site());
        items.extend(self.way_items(true));
        items.extend(gate::items(gate, self.faces()));
        items.push(gate::setback_dimension(self.site()));
        let mut labels = self.contact_items(&mut items, &view);
        labels.extend(self.travel_items(&mut items, &view));
        labels.extend(self.site_labels(&view));
        Panel {
            heading: None,
            view,
            items,
            labels,
            busy: self.busy(),
            scale_bar: true,
            north: self.site().north_known,
        }
    }

    /// The points a view of the gate close up must show.
    pub(super) fn gate_interest(&self) -> Vec<Point> {
        let gate = &self.site().gate;
        let Faces { mut left, mut right } = gate.drawn_faces();
        for Faces { left: l, right: r } in
            self.faces().into_iter().chain(gate::needed_faces(gate, &self.case.bare))
        {
            (left, right) = (left.min(l), right.max(r));
        }
        let beside = gate.post.width_m + 0.35 * (right - left).max(2.0);
        let depth = 0.55 * (right - left).max(2.0);
        let corners = [(left - beside, -depth), (right + beside, depth)];
        corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec()
    }

    fn gate_panel(&self, width: f64) -> Panel {
        let view = View::around(&self.gate_interest(), self.site().gate.inward, width, 0.0, 0.6, 0.75);
        self.gate_panel_in(view)
    }

    /// The gate close up, in a view of its own.
    pub(super) fn gate_panel_in(&self, view: View) -> Panel {
        let gate = &self.site().gate;
        let mut items = ground_items(self.site());
        items.extend(self.way_items(false));
        items.extend(gate::items(gate, self.faces()));
        items.extend(gate::opening_dimensions(self.site(), &self.case.bare, &self.case.comfortable));
        let labels = self.contact_items(&mut items, &view);
        let heading = Some("At the gate, from above, the road below".to_owned());
        Panel {
            heading,
            view,
            items,
            labels,
            busy: Vec::new(),
            scale_bar: true,
            north: self.site().north_known,
        }
    }

    /// Envelope, tracks, ghosts and the rear axle's path.
    fn way_items(&self, ghosts: bool) -> Vec<Item> {
        let smooth = |role: Role, envelope: &Envelope| {
            let area = |rings: Vec<Outline>| Geom::Smooth(rings.into_iter().map(|ring| ring.0).collect());
            envelope.rings().into_iter().map(|rings| Item::new(role, area(rings))).collect::<Vec<_>>()
        };
        let mut items = Vec::new();
        items.extend(self.body.iter().flat_map(|body| smooth(Role::Envelope, body)));
        items.extend(self.tracks.iter().flat_map(|tracks| smooth(Role::Track, tracks)));
        if ghosts {
            items.extend(self.ghosts());
            let mut start = 0;
            for leg in 0..=self.samples.last().map_or(0, |s| s.leg) {
                let of_leg: Vec<Point> = self.samples[start..]
                    .iter()
                    .take_while(|s| s.leg == leg)
                    .map(|s| s.state.lead.position)
                    .collect();
                start += of_leg.len();
                if of_leg.len() > 1 {
                    items.push(Item::new(Role::Path, Geom::Curve(of_leg)));
                }
            }
        } else if let Some(sample) = self.contact().and_then(|c| self.nearest_sample(c.station_m)) {
            items.extend(self.outline_items(Role::Ghost, sample));
        }
        items
    }

    fn nearest_sample(&self, station_m: f64) -> Option<&Sample> {
        self.samples
            .iter()
            .min_by(|a, b| (a.station_m - station_m).abs().total_cmp(&(b.station_m - station_m).abs()))
    }

    fn outline_items(&self, role: Role, sample: &Sample) -> Vec<Item> {
        let poses = self.chain.unit_poses(&sample.state);
        let units = self.vehicle.units.iter().zip(poses);
        let mut items: Vec<Item> = units.flat_map(|(unit, pose)| unit_items(role, unit, &pose)).collect();
        items.extend(self.vehicle.units.first().map(|lead| nose(lead, &poses[0])));
        items
    }

    /// Where it starts, stops and ends, where it is tightest, and faintly in between.
    fn ghosts(&self) -> Vec<Item> {
        let Some(last) = self.samples.last() else { return Vec::new() };
        let mut stands = vec![0.0, last.station_m];
        for pair in self.samples.windows(2).filter(|pair| pair[0].leg != pair[1].leg) {
            stands.push(pair[1].station_m);
        }
        let mut ghosts: Vec<f64> = self.contact().map(|c| c.station_m).into_iter().collect();
        let spacing = (self.vehicle.length_m() * 0.6).max(last.station_m / 9.0).max(1.0);
        let mut station = spacing;
        while station < last.station_m {
            let near = |list: &[f64]| list.iter().any(|s| (s - station).abs() < 0.55 * spacing);
            if !near(&stands) && !near(&ghosts) {
                ghosts.push(station);
            }
            station += spacing * 0.25;
        }
        let draw = |role: Role, stations: &[f64]| {
            let samples = stations.iter().filter_map(|s| self.nearest_sample(*s));
            samples.flat_map(|sample| self.outline_items(role, sample)).collect::<Vec<_>>()
        };
        let mut items = draw(Role::Ghost, &ghosts);
        items.extend(draw(Role::Stand, &stands));
        items
    }

    /// Where the vehicle drives: labels of the site keep off it while they can.
    fn busy(&self) -> Vec<(Point, f64)> {
        let every = self.samples.iter().step_by(4);
        every
            .flat_map(|sample| {
                let poses = self.chain.unit_poses(&sample.state);
                self.vehicle
                    .units
                    .iter()
                    .zip(poses)
                    .flat_map(|(unit, pose)| {
                        let half = unit.width_m / 2.0;
                        let along = [
                            -unit.rear_overhang_m,
                            0.0,
                            0.5 * unit.wheelbase_m,
                            unit.wheelbase_m + unit.front_overhang_m,
                        ];
                        along.map(|x| (pose.to_site(Point::new(x, 0.0)), half))
                    })
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    fn contact_items(&self, items: &mut Vec<Item>, view: &View) -> Vec<Label> {
        let Some(contact) = self.contact().filter(|c| view.shows(c.at, 2.0)) else { return Vec::new() };
        items.push(Item::new(Role::Contact, Geom::Mark { at: contact.at, from: contact.from }));
        vec![Label {
            text: self.contact_words(contact),
            at: contact.at,
            or_at: Vec::new(),
            within: Vec::new(),
            strong: true,
            leader: true,
            optional: false,
        }]
    }

    /// An arrow and a word where the vehicle comes from.
    fn travel_items(&self, items: &mut Vec<Item>, view: &View) -> Vec<Label> {
        let Some(first) = self.samples.first() else { return Vec::new() };
        let ahead = Point::at_angle(first.state.lead.heading);
        let length = (60.0 / view.scale).max(1.0);
        let tail = first.state.lead.position + ahead * 0.4;
        items.push(Item::new(Role::Travel, Geom::Arrow { from: tail, to: tail + ahead * length }));
        let text = if self.case.route.is_some() { "start" } else { self.case.travel.as_str() };
        vec![Label {
            text: text.to_owned(),
            at: tail,
            or_at: Vec::new(),
            within: Vec::new(),
            strong: true,
            leader: true,
            optional: false,
        }]
    }

    fn site_labels(&self, view: &View) -> Vec<Label> {
        let site = self.site();
        let mut labels = Vec::new();
        let mut say = |text: &str, places: Vec<Point>, within: Vec<Vec<Point>>| {
            if let Some((at, others)) = places.split_first() {
                let (text, or_at, leader) = (text.to_owned(), others.to_vec(), within.is_empty());
                labels.push(Label { text, at: *at, or_at, within, strong: false, leader, optional: true });
            }
        };
        for obstacle in &site.obstacles {
            let corners: Vec<Point> =
                obstacle.shapes.iter().flat_map(|s| s.outer.0.iter().copied()).collect();
            say(&obstacle_words(obstacle, site), shown(&corners, view), Vec::new());
        }
        for road in &site.roads {
            let words = format!("{}, {} wide", road.surface.label, self.length(road.width_m, Round::Nearest));
            say(&words, panel_grid(view), rings(&road.surface));
        }
        for drive in &site.drives {
            say(&drive.label, panel_grid(view), rings(drive));
        }
        for fence in &site.fences {
            say(&fence.label, shown(&sampled(&fence.line), view), Vec::new());
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
}

/// Places all over a panel, from its middle outward.
fn panel_grid(view: &View) -> Vec<Point> {
    let step = 0.04;
    let mut shares: Vec<(f64, f64)> =
        (1..25).flat_map(|i| (1..25).map(move |j| (f64::from(i) * step, f64::from(j) * step))).collect();
    let far = |(x, y): &(f64, f64)| (x - 0.5).abs().max((y - 0.5).abs());
    shares.sort_by(|a, b| far(a).total_cmp(&far(b)));
    let right = -view.up.left();
    let site = |(x, y): (f64, f64)| {
        view.center
            + right * ((x - 0.5) * view.width / view.scale)
            + view.up * ((0.5 - y) * view.height / view.scale)
    };
    shares.into_iter().map(site).collect()
}

fn rings(ground: &Ground) -> Vec<Vec<Point>> {
    std::iter::once(&ground.outer).chain(&ground.holes).map(|ring| ring.0.clone()).collect()
}

/// The label of an obstacle with what its height means to a driver.
fn obstacle_words(obstacle: &Obstacle, site: &Site) -> String {
    if obstacle.bottom_m > OVERHEAD_M {
        return format!("{}, {} up", obstacle.label, show(obstacle.bottom_m, site.units, Round::Down));
    }
    obstacle.label.clone()
}

/// Places of a shape that are on the panel: its middle first, then its corners.
fn shown(corners: &[Point], view: &View) -> Vec<Point> {
    let middle =
        corners.iter().fold(Point::default(), |sum, p| sum + *p) * (1.0 / corners.len().max(1) as f64);
    let between = corners.iter().map(|p| (*p + middle) * 0.5);
    std::iter::once(middle)
        .chain(between)
        .chain(corners.iter().copied())
        .filter(|p| view.shows(*p, 12.0))
        .collect()
}

/// A line with points every meter, so that some of them are on the panel.
fn sampled(line: &[Point]) -> Vec<Point> {
    let mut points = Vec::new();
    for pair in line.windows(2) {
        let length = pair[0].distance(pair[1]);
        let mut at = 0.0;
        while at < length {
            points.push(pair[0] + (pair[1] - pair[0]) * (at / length));
            at += 1.0;
        }
    }
    points.extend(line.last());
    points
}

/// A wedge at the front of the lead unit.
pub(super) fn nose(lead: &Unit, pose: &Pose) -> Item {
    let front = lead.wheelbase_m + lead.front_overhang_m;
    let (tip, tail, half) = (front - 0.15, front - 0.15 - 0.35 * lead.width_m, 0.22 * lead.width_m);
    let corners = [(tip, 0.0), (tail, half), (tail, -half)].map(|(x, y)| pose.to_site(Point::new(x, y)));
    Item::new(Role::Nose, Geom::Area(vec![corners.to_vec()]))
}

/// A unit's outline, its mirrors and bodies in one.
pub(super) fn unit_items(role: Role, unit: &Unit, pose: &Pose) -> Vec<Item> {
    unit_outline(unit)
        .into_iter()
        .map(|rings| {
            let rings = rings.into_iter().map(|ring| ring.0.iter().map(|p| pose.to_site(*p)).collect());
            Item::new(role, Geom::Area(rings.collect()))
        })
        .collect()
}

/// The outline of a unit's body and mirrors in its own frame, as polygons of rings.
pub(super) fn unit_outline(unit: &Unit) -> Vec<Vec<Outline>> {
    let parts: Vec<Outline> =
        unit.parts.iter().filter(|p| p.kind != PartKind::Tire).map(|p| p.outline.clone()).collect();
    match union_in_order(parts.clone()) {
        Ok(polygons) => Envelope { polygons, over_m: 0.0, under_m: 0.0 }.rings(),
        // Drawn piece by piece it is as true, only busier.
        Err(_) => parts.into_iter().map(|part| vec![part]).collect(),
    }
}

/// The ground and what stands on it, without the gate.
pub(super) fn ground_items(site: &Site) -> Vec<Item> {
    let mut items = Vec::new();
    items.extend(site.drives.iter().map(|d| Item::new(Role::Drive, Geom::Area(rings(d)))));
    items.extend(site.roads.iter().map(|r| Item::new(Role::Road, Geom::Area(rings(&r.surface)))));
    items.extend(site.roads.iter().map(|r| Item::new(Role::CenterLine, Geom::Line(r.centerline.clone()))));
    for obstacle in &site.obstacles {
        let role = if obstacle.bottom_m > OVERHEAD_M {
            Role::Overhead
        } else if obstacle.top_m < LOW_M {
            Role::Low
        } else {
            Role::Obstacle
        };
        for shape in &obstacle.shapes {
            items.push(Item::new(
                role,
                match shape.outer.0.as_slice() {
                    [center] => Geom::Disc { center: *center, radius_m: shape.radius_m },
                    [from, to] => stadium(*from, *to, shape.radius_m),
                    _ => Geom::Area(
                        std::iter::once(&shape.outer)
                            .chain(&shape.holes)
                            .map(|ring| ring.0.clone())
                            .collect(),
                    ),
                },
            ));
        }
    }
    items.extend(site.fences.iter().map(|f| Item::new(Role::Fence, Geom::Line(f.line.clone()))));
    items
}

/// All points within a radius of a segment, as a ring.
fn stadium(from: Point, to: Point, radius_m: f64) -> Geom {
    let along = (to - from).unit().unwrap_or(Point::new(1.0, 0.0));
    let angle = along.angle();
    let cap = |at: Point, start: f64| {
        (0..=8)
            .map(move |i| at + Point::at_angle(start + std::f64::consts::PI * f64::from(i) / 8.0) * radius_m)
    };
    let quarter = std::f64::consts::FRAC_PI_2;
    Geom::Area(vec![cap(to, angle - quarter).chain(cap(from, angle + quarter)).collect()])
}
