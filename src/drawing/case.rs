//! The sheet of one case: the whole way in, the gate close up, and the answers in words.
use super::figure::{CaseFigures, FIGURE_WIDTH, figures};
use super::gate;
use super::ink::Ink;
use super::labels::TEXT_SIZE;
use super::leaf_panel;
use super::scene::{Geom, Item, Label, PANEL_WIDTH, Panel, Role, Sheet, View};
use super::shapes::{ground_edges, ground_items, vehicle_items};
use super::site_names::site_labels;
use super::{overhead, through, way_out};
use crate::geometry::length::{Round, show, show_bound, show_drawn, show_kept};
use crate::geometry::{Outline, Point};
use crate::motion::{Chain, Path, Sample, State, Trajectory};
use crate::opening::{Answer, Case, CaseLane, Contact, DrawnGate, DrawnWay, Outcome, Study, leaves_open};
use crate::site::{Faces, Maneuver, Site};
use crate::sweep::{Covered, Envelope};
use crate::vehicle::Vehicle;
use std::sync::Arc;

/// Caution printed on every sheet.
pub(super) const CAUTION: &str = "Planning aid, not a survey. Local codes, the fire authority and licensed \
     professionals decide. Use a spotter when backing.";
/// Spacing of the samples the ghosts are picked from.
const SAMPLE_M: f64 = 0.2;

/// Width up to which a road is shown whole before a gate that nothing gets through: a turnaround is wider than the rest.
const WIDEST_ROAD_M: f64 = 25.0;

/// Room around the tightest place in the gate close up.
const TIGHT_ROOM_M: f64 = 0.9;

/// Everything of one case that is drawn, computed once.
pub(super) struct Drawn<'a> {
    pub(super) study: &'a Study,
    pub(super) case: &'a Case,
    pub(super) vehicle: &'a Vehicle,
    /// The answer whose path is drawn, and its name.
    pub(super) answer: Option<(&'a Answer, &'static str)>,
    /// The path through the gate as drawn, if that is drawn instead.
    pub(super) through: Option<&'a DrawnWay>,
    samples: Vec<Sample>,
    chain: Chain,
    body: Option<Arc<Envelope>>,
    tracks: Option<Arc<Envelope>>,
    fault: Option<String>,
}

/// The sheet of a case of a study; `None` if there is no such case, or if its vehicle does not exist.
#[must_use]
pub fn case_sheet(study: &Study, case_index: usize) -> Option<Sheet> {
    let case = study.cases.get(case_index)?;
    let vehicle = study.vehicles.get(case.vehicle)?;
    let drawn = Drawn::through(study, case, vehicle);
    let mut panels = vec![drawn.site_panel(PANEL_WIDTH), drawn.gate_panel(PANEL_WIDTH)];
    let mut notes = drawn.notes();
    if drawn.through.is_some() && drawn.answer.is_some() {
        let narrowest = Drawn::new(study, case, vehicle);
        panels.push(narrowest.narrowest_panel(PANEL_WIDTH));
        for note in narrowest.notes() {
            // What both ways pass under is said once.
            if !notes.contains(&note) {
                notes.push(note);
            }
        }
    }
    let mut leaves = leaf_panel::panel(study, case.vehicle, PANEL_WIDTH);
    if case.maneuver == Maneuver::BackIn
        && let Some(heading) = leaves.as_mut().and_then(|panel| panel.heading.as_mut())
    {
        // The vehicle stands there as one that drives in does.
        *heading = heading.replacen("waiting room", "waiting room to drive in", 1);
    }
    panels.extend(leaves);
    notes.extend(leaf_panel::note(study, case.vehicle));
    notes.push(CAUTION.to_owned());
    Some(drawn.sheet(panels, notes))
}

/// The drawings of a case for a page; `None` as for [`case_sheet`].
#[must_use]
pub fn case_figures(study: &Study, case_index: usize) -> Option<CaseFigures> {
    let case = study.cases.get(case_index)?;
    let vehicle = study.vehicles.get(case.vehicle)?;
    let drawn = Drawn::through(study, case, vehicle);
    let lines = drawn.lines();
    let narrowest = (drawn.through.is_some() && drawn.answer.is_some())
        .then(|| Drawn::new(study, case, vehicle).narrowest_panel(FIGURE_WIDTH));
    let panels = (drawn.site_panel(FIGURE_WIDTH), drawn.gate_panel(FIGURE_WIDTH));
    let start = drawn.samples.first().map(|sample| (vehicle, sample.state.lead));
    let way = lines.first().map_or("", String::as_str);
    let names = (format!("Plan: {way}"), format!("At the gate, from above: {way}"));
    let names = (names.0.as_str(), names.1.as_str());
    let mut figures = figures((&panels.0, &panels.1), start, drawn.description(&lines), names);
    if let Some(panel) = &narrowest {
        figures.add_narrowest(panel, &format!("The narrowest opening, from above: {way}"));
    }
    Some(figures)
}

/// The answer whose path represents the narrowest opening of a case, and its name.
fn answer_drawn(case: &Case) -> Option<(&Answer, &'static str)> {
    [(&case.comfortable, "comfortable"), (&case.bare, "bare minimum")]
        .into_iter()
        .find(|(a, _)| a.outcome == Outcome::Found && a.witness.is_some())
}

impl<'a> Drawn<'a> {
    /// Sheet with the answer in words, these panels and notes, and a legend.
    pub(super) fn sheet(&self, panels: Vec<Panel>, notes: Vec<String>) -> Sheet {
        let lines = self.lines();
        Sheet {
            place: self.site().title.clone(),
            title: through::answer(self.case, self.study),
            // A way through leaves that do not open is not a good one yet.
            verdict: Some(match self.case.drawn_gate {
                DrawnGate::Comfortable if !leaves_open(self.study) => DrawnGate::Tight,
                verdict => verdict,
            }),
            description: self.description(&lines),
            lines,
            steps: Vec::new(),
            panels,
            legend: true,
            notes,
        }
    }

    /// The way in for the narrowest opening.
    pub(super) fn new(study: &'a Study, case: &'a Case, vehicle: &'a Vehicle) -> Self {
        let mut drawn = Self::site_alone(study, case, vehicle);
        drawn.answer = answer_drawn(case);
        drawn.drive(&case.covered);
        drawn
    }

    /// The path through the gate as drawn, or the best attempt; if neither is known, as [`Self::new`].
    pub(super) fn through(study: &'a Study, case: &'a Case, vehicle: &'a Vehicle) -> Self {
        if case.drawn.witness.is_none() {
            return Self::new(study, case, vehicle);
        }
        let mut drawn = Self::site_alone(study, case, vehicle);
        (drawn.answer, drawn.through) = (answer_drawn(case), Some(&case.drawn));
        drawn.drive(&case.drawn.covered);
        drawn
    }

    fn drive(&mut self, covered: &Covered) {
        let Some(path) = self.path() else { return };
        self.samples = path.samples(&self.chain, SAMPLE_M);
        let first = self.study.first_leg_driven(self.case, path);
        self.samples.retain(|sample| sample.leg >= first);
        // A path that is driven whole is the known one, whose swept path is not computed again.
        let driven = (first > 0).then(|| path.last_leg(&self.chain)).flatten();
        let path = driven.as_ref().unwrap_or(path);
        match covered.body(self.vehicle, path) {
            Ok(body) => self.body = Some(body),
            Err(fault) => self.fault = Some(format!("The swept path is missing: {fault}.")),
        }
        // A vehicle file may leave out its tires; then there are no tracks to draw.
        self.tracks = covered.tires(self.vehicle, path).ok();
    }

    /// The site alone, as the plan draws it.
    pub(super) fn site_alone(study: &'a Study, case: &'a Case, vehicle: &'a Vehicle) -> Self {
        let (samples, chain) = (Vec::new(), Chain::of(vehicle));
        let (answer, through) = (None, None);
        Self { study, case, vehicle, answer, through, samples, chain, body: None, tracks: None, fault: None }
    }

    /// Start position of the vehicle, if there is a way in.
    pub(super) fn start(&self) -> Option<Point> {
        self.samples.first().map(|sample| sample.state.lead.position)
    }

    /// State at the road's end of a way out; `None` for any other case.
    fn end_on_road(&self) -> Option<State> {
        let first = self.samples.first().filter(|_| self.study.drives_out(self.case));
        first.map(|sample| sample.state)
    }

    fn path(&self) -> Option<&'a Path> {
        let of_answer = self.answer.and_then(|(answer, _)| answer.witness.as_ref());
        self.through.map_or(of_answer, |way| way.witness.as_ref()).map(Trajectory::path)
    }

    pub(super) fn site(&self) -> &'a Site {
        &self.study.site
    }

    /// The faces needed for the path that is drawn, if they differ from the drawn ones.
    pub(super) fn faces(&self) -> Option<Faces> {
        self.answer
            .filter(|_| self.through.is_none())
            .and_then(|(answer, _)| gate::needed_faces(&self.site().gate, answer))
    }

    /// The study's clearance, never more than it is.
    pub(super) fn kept(&self) -> String {
        show_kept(self.study.clearance_m, self.site().units)
    }

    pub(super) fn length(&self, meters: f64, round: Round) -> String {
        show(meters, self.site().units, round)
    }

    pub(super) fn lines(&self) -> Vec<String> {
        let case = self.case;
        let how = match (case.maneuver, case.lane) {
            (Maneuver::DriveIn, _) => "driving in",
            (Maneuver::BackIn, CaseLane::Leaving) => "driving out the way it came",
            (Maneuver::BackIn, CaseLane::Coming) if self.study.drives_out(case) => "driving out",
            (Maneuver::BackIn, CaseLane::Coming) => "backing in",
        };
        let way = match &case.route {
            Some(route) => format!("along the route \"{route}\""),
            None if self.study.drives_out(case) => format!("{how}, after coming {}", case.travel),
            None => format!("coming {}, {how}", case.travel),
        };
        let mut lines = vec![format!("{}, {way}", self.vehicle.title)];
        let clearance = self.kept();
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
        lines.push(through::verdict(case, self.study));
        if case.maneuver == Maneuver::DriveIn {
            lines.extend(leaf_panel::waits_in_road(self.study, case.vehicle));
        }
        lines.extend(through::other_half_words(self.study, case));
        lines.extend(leaf_panel::to_order_words(self.study));
        lines.extend(leaf_panel::stopped_words(self.study).map(|why| {
            format!("This holds only if the leaves open fully, and as drawn they do not: {why}.")
        }));
        lines
    }

    pub(super) fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let ending = self.end_on_road().and_then(|end| way_out::ending(self.study, self.case, &end));
        let back = ending.as_deref().unwrap_or_else(|| through::way_back(self.study, self.case));
        let goes = if self.study.drives_out(self.case) { "out" } else { "in" };
        if let Some(way) = self.through {
            notes.push(through::note(way, back, &self.bound()));
        } else if let Some((answer, word)) = self.answer {
            let opening =
                answer.opening_m.map_or_else(String::new, |m| format!(" of {}", self.length(m, Round::Up)));
            // Beside the path through the gate as drawn, its note tells where the way out ends.
            let back = if self.case.drawn.witness.is_some() && ending.is_some() { "" } else { back };
            let note = format!(
                "{} the way {goes} for the {word} opening{opening}; swept path true to {}. {back}",
                if self.case.drawn.witness.is_some() { "The narrowest opening:" } else { "Drawn:" },
                self.bound(),
            );
            notes.push(note.trim_end().to_owned());
        }
        notes.extend(self.fault.clone());
        if let Some(body) = &self.body {
            let site = self.site();
            notes.extend(overhead::passes_under(&site.obstacles, self.vehicle, body, site.units));
        }
        notes
    }

    pub(super) fn description(&self, lines: &[String]) -> String {
        let mut text = format!("Plan of {}. {}", self.study.site.title, lines.join(". ").replace("..", "."));
        match (self.contact(), self.through) {
            (Some(contact), Some(way)) => {
                text.push_str(&format!(" {}", through::sentence(way, contact, self.site().units)));
            }
            (Some(contact), None) => {
                text.push_str(&format!(" Tightest: {}.", self.contact_words(contact)));
            }
            (None, _) => {}
        }
        text
    }

    /// Bound on the error of the swept path, in words.
    fn bound(&self) -> String {
        show_bound(self.body.as_ref().map_or(0.0, |b| b.over_m.max(b.under_m)), self.site().units)
    }

    pub(super) fn contact(&self) -> Option<&'a Contact> {
        let from_m = self.samples.first().map_or(0.0, |sample| sample.station_m);
        let is_driven = |contact: &&Contact| contact.station_m >= from_m;
        if let Some(way) = self.through {
            return way.contacts.iter().find(is_driven);
        }
        let answer = self.answer.map(|(answer, _)| answer)?;
        answer.tightest.as_ref().into_iter().chain(&self.case.contacts).find(is_driven)
    }

    fn contact_words(&self, contact: &Contact) -> String {
        if let Some(way) = self.through {
            return through::label(way, contact, self.site().units);
        }
        let gap = if contact.gap_m < 0.0005 {
            "touches".to_owned()
        } else if (contact.gap_m - self.study.clearance_m).abs() < 0.001 {
            // The requested clearance, in the same words as above.
            format!("{} gap", self.kept())
        } else {
            format!("{} gap", show_kept(contact.gap_m, self.site().units))
        };
        format!("{gap}: {} to {}", contact.part, contact.what)
    }

    /// The tightest place in a few words, for its label.
    fn contact_label(&self, contact: &Contact) -> String {
        if self.through.is_some() {
            return self.contact_words(contact);
        }
        let thing = through::named(contact);
        if contact.gap_m < 0.0005 {
            format!("touches {thing}")
        } else if (contact.gap_m - self.study.clearance_m).abs() < 0.001 {
            format!("{} to {thing}", self.kept())
        } else {
            format!("{} to {thing}", show_kept(contact.gap_m, self.site().units))
        }
    }

    /// The points that a plan of the whole way in must show.
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
            if self.case.drawn.witness.is_none() && answer_drawn(self.case).is_none() {
                // What stops it may stand on the road, so that all of that is shown in front of the gate.
                let road_m = self.site().roads.first().map_or(0.0, |road| road.width_m.min(WIDEST_ROAD_M));
                interest.push(gate.center() - gate.inward * (gate.setback_m + road_m));
            }
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
        items.extend(self.through.into_iter().flat_map(|way| through::hit_items(gate, way)));
        let mut labels = self.contact_items(&mut items, &view);
        labels.extend(self.travel_items(&mut items, &view));
        labels.extend(site_labels(self.site(), &view));
        let gate = show_drawn(gate.opening_m(), self.site().units);
        let heading = self.through.map(|way| through::heading(way, &gate));
        let north = self.site().north_known;
        let mut panel = Panel { heading, view, items, labels, scale_bar: true, north, text_size: TEXT_SIZE };
        let ink = Ink::of(&panel);
        panel.items.push(gate::setback_dimension(self.site(), &view, &ink));
        panel
    }

    /// The points a view of the gate close up must show, with this share of the opening beside each post: with a half there
    /// is room for the label of the tightest place.
    pub(super) fn gate_interest(&self, beside: f64) -> Vec<Point> {
        let gate = &self.site().gate;
        let Faces { mut left, mut right } = gate.drawn_faces();
        let needed = gate::needed_faces(gate, &self.case.bare).filter(|_| self.through.is_none());
        for Faces { left: l, right: r } in self.faces().into_iter().chain(needed) {
            (left, right) = (left.min(l), right.max(r));
        }
        let depth = beside.max(0.4) * (right - left).max(2.0);
        let beside = gate.post.width_m + beside * (right - left).max(2.0);
        let corners = [(left - beside, -depth), (right + beside, depth)];
        let mut points = corners.map(|(u, v)| gate.to_site(Point::new(u, v))).to_vec();
        // The tightest place beside the gate stands clear of the frame.
        let (at, reach) = (self.contact().map(|c| gate.to_gate(c.at)), (right - left).max(3.0));
        if let Some(at) = at.filter(|at| at.x.abs() < reach && at.y.abs() < reach) {
            let around = [-TIGHT_ROOM_M, TIGHT_ROOM_M];
            points.extend(around.map(|by| gate.to_site(at + Point::new(by, by))));
        }
        points
    }

    /// Points of [`Self::gate_interest`] and one as far outside the gate as the farthest inside: room for rows of dimensions.
    fn gate_interest_with_rows(&self) -> Vec<Point> {
        let gate = &self.site().gate;
        let mut points = self.gate_interest(0.55);
        let deepest = points.iter().map(|p| gate.to_gate(*p).y).fold(0.0, f64::max);
        points.push(gate.to_site(Point::new(0.0, -deepest)));
        points
    }

    pub(super) fn gate_panel(&self, width: f64) -> Panel {
        let interest = self.gate_interest_with_rows();
        let view = View::around(&interest, self.site().gate.inward, width, 0.0, 0.6, 0.75);
        self.gate_panel_in(view)
    }

    /// The gate close up, in a view of its own.
    pub(super) fn gate_panel_in(&self, view: View) -> Panel {
        let gate = &self.site().gate;
        let mut items = ground_items(self.site());
        items.extend(self.way_items(false));
        items.extend(gate::items(gate, self.faces()));
        let mut needed: Vec<(&Answer, &'static str)> = match self.through {
            Some(way) => {
                items.extend(through::hit_items(gate, way));
                Vec::new()
            }
            None => vec![(&self.case.bare, "bare"), (&self.case.comfortable, "comfortable")],
        };
        // The opening the panel is about comes first.
        let word = self.answer.map_or("", |(_, word)| word);
        needed.sort_by_key(|(_, of)| !word.starts_with(of));
        items.extend(gate::opening_dimensions(self.site(), &needed));
        let labels = self.contact_items(&mut items, &view);
        let at = if self.through.is_some() { "At the gate as drawn" } else { "At the gate" };
        let heading = Some(format!("{at}, from above, the road below"));
        Panel {
            heading,
            view,
            items,
            labels,
            scale_bar: true,
            north: self.site().north_known,
            text_size: TEXT_SIZE,
        }
    }

    /// A smaller picture of the gate close up, for the narrowest opening.
    fn narrowest_panel(&self, width: f64) -> Panel {
        let interest = self.gate_interest_with_rows();
        let view = View::around(&interest, self.site().gate.inward, width, 0.0, 0.58, 0.6);
        let opening_m = self.answer.and_then(|(answer, _)| answer.opening_m).unwrap_or_default();
        let word = self.answer.map_or("", |(_, word)| word);
        let least =
            if word == "comfortable" { "the least in comfort" } else { "the least that lets it through" };
        let heading = format!("At an opening of {}, {least}", self.length(opening_m, Round::Up));
        Panel { heading: Some(heading), ..self.gate_panel_in(view) }
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
        if !items.is_empty() {
            items.extend(ground_edges(self.site()));
        }
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
        } else if let Some(sample) = self.at_gate() {
            items.extend(self.outline_items(Role::Ghost, sample));
        }
        items
    }

    /// The vehicle at the gate: at the tightest place if that is near it, else with its front unit in the opening.
    fn at_gate(&self) -> Option<&Sample> {
        let center = self.site().gate.center();
        let reach = self.site().gate.opening_m().max(3.0);
        let near = self.contact().filter(|c| c.at.distance(center) < reach);
        if let Some(contact) = near {
            return self.nearest_sample(contact.station_m);
        }
        let off = |s: &Sample| s.state.lead.position.distance(center);
        self.samples.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    fn nearest_sample(&self, station_m: f64) -> Option<&Sample> {
        self.samples
            .iter()
            .min_by(|a, b| (a.station_m - station_m).abs().total_cmp(&(b.station_m - station_m).abs()))
    }

    fn outline_items(&self, role: Role, sample: &Sample) -> Vec<Item> {
        vehicle_items(role, self.vehicle, &self.chain.unit_poses(&sample.state), sample.state.curvature)
    }

    /// The vehicle at its start, stops and end, at the tightest place, and faintly in between.
    fn ghosts(&self) -> Vec<Item> {
        let (Some(first), Some(last)) = (self.samples.first(), self.samples.last()) else {
            return Vec::new();
        };
        let mut stands = vec![first.station_m, last.station_m];
        for pair in self.samples.windows(2).filter(|pair| pair[0].leg != pair[1].leg) {
            stands.push(pair[1].station_m);
        }
        let mut ghosts: Vec<f64> = self.contact().map(|c| c.station_m).into_iter().collect();
        let spacing = (self.vehicle.length_m() * 0.6).max((last.station_m - first.station_m) / 9.0).max(1.0);
        let mut station = first.station_m + spacing;
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

    fn contact_items(&self, items: &mut Vec<Item>, view: &View) -> Vec<Label> {
        let Some(contact) = self.contact().filter(|c| view.shows(c.at, 2.0)) else { return Vec::new() };
        items.push(Item::new(Role::Contact, Geom::Mark { at: contact.at, from: contact.from }));
        vec![Label {
            text: self.contact_label(contact),
            at: contact.at,
            or_at: Vec::new(),
            within: Vec::new(),
            strong: true,
            leader: true,
            optional: false,
        }]
    }

    /// An arrow and a word at the place the vehicle comes from.
    fn travel_items(&self, items: &mut Vec<Item>, view: &View) -> Vec<Label> {
        let Some(first) = self.samples.first() else { return Vec::new() };
        let ahead = Point::at_angle(first.state.lead.heading);
        let length = (60.0 / view.scale).max(1.0);
        let tail = first.state.lead.position + ahead * 0.4;
        items.push(Item::new(Role::Travel, Geom::Arrow { from: tail, to: tail + ahead * length }));
        let text = match &self.case.route {
            Some(_) => "start",
            // A way out is held as a path of backing in: it ends where that begins.
            None if self.study.drives_out(self.case) => "out",
            None => self.case.travel.as_str(),
        };
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
}
