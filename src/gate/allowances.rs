//! Hardware allowances, settled: every figure in meters or kilograms with its source.
use super::file::{AllowancesFile, MaterialFile, Weight, schema};
use crate::geometry::document::{Kind, structure};
use crate::geometry::fault::{Fault, list};
use crate::geometry::length;
use crate::vehicle::file::{Length, Written};
use std::collections::BTreeMap;

/// A pound, exactly.
const POUND_KG: f64 = 0.453_592_37;
/// Largest value of any figure: a longer one is a slip of the unit.
const MOST_M: f64 = 15.0;
/// Largest weight of a leaf that was weighed; a heavier one is a slip of the unit.
const MOST_KG: f64 = 5000.0;

/// The file compiled into the program.
const BUILT_IN: &str = include_str!("../../examples/gate-allowances.json");

/// The room and weight of a gate's hardware, beside its leaves.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Allowances {
    /// Origin of these figures; empty if the file does not name one.
    pub about: String,
    /// Between a post and the leaf hinged on it.
    pub hinge_gap_m: f64,
    /// Between a single leaf and the post it latches to.
    pub latch_gap_m: f64,
    /// Between the two leaves of a double gate.
    pub center_gap_m: f64,
    /// Width of a gate post along the gate line.
    pub post_m: f64,
    /// Between a post and the column it stands beside.
    pub column_gap_m: f64,
    /// Thickness of a leaf.
    pub leaf_thickness_m: f64,
    /// Room a swinging leaf needs beyond its own width.
    pub swing_room_m: f64,
    /// The widest single leaf usually made.
    pub widest_single_leaf_m: f64,
    /// Width by which a sliding leaf exceeds the opening between its posts.
    pub slide_overlap_m: f64,
    /// The tail of a sliding leaf that has no track in the ground, as a share of the opening.
    pub slide_tail: f64,
    /// Between the two hinges of a leaf, up and down.
    pub hinge_spacing_m: f64,
    /// Gap that a driver leaves between the vehicle and the gate or its leaves while waiting.
    pub waiting_gap_m: f64,
    /// Usual heights of leaves.
    pub leaf_heights_m: Vec<f64>,
    /// Materials of leaves.
    pub materials: Vec<Material>,
    /// Every figure with its source, in the order of the file's types.
    pub figures: Vec<Figure>,
}

/// A figure of the file with its source.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Figure {
    /// Its name in the file: `hinge_gap`.
    pub name: String,
    /// Value of the figure.
    pub measure: Measure,
    /// Source, in words.
    pub source: String,
}

/// Value of a [`Figure`].
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Measure {
    /// A length in meters.
    Length(f64),
    /// A share between 0 and 1.
    Share(f64),
    /// Kilograms for each meter of a leaf's width.
    WeightPerWidth(f64),
}

/// A material for leaves.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name: "aluminum".
    pub name: String,
    /// Weight for each meter of the leaf's width.
    pub kg_per_m: f64,
}

/// The reason there are no allowances: every fault of the file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", list(.0))]
pub struct AllowancesError(pub Vec<Fault>);

/// Reads a file of allowances. Figures left out keep their built-in values.
///
/// ```
/// use wideenough::gate::read;
/// let mine = read(r#"{ "hinge_gap": "3 in" }"#, "maker.json").unwrap();
/// assert!((mine.hinge_gap_m - 0.0762).abs() < 1e-12 && (mine.latch_gap_m - 0.0508).abs() < 1e-12);
/// let faults = read(r#"{ "hinge_gap": "-3 in", "post": "6 lb" }"#, "maker.json").unwrap_err().to_string();
/// assert!(faults.starts_with("maker.json:1:16: hinge_gap: ") && faults.contains("maker.json:1:33: post: "));
/// ```
///
/// # Errors
/// Every fault of the file, each with its place.
pub fn read(text: &str, file_name: &str) -> Result<Allowances, AllowancesError> {
    let kind = Kind {
        what: "a file of gate allowances",
        holds: "a JSON object of figures such as { \"hinge_gap\": \"2 in\" }",
    };
    let (file, draft) =
        structure::<AllowancesFile>(text, file_name, &kind, &schema()).map_err(AllowancesError)?;
    draft.finish(settle(file, Some(&built_in()))).map_err(AllowancesError)
}

/// The allowances compiled into the program: `examples/gate-allowances.json`; a test checks that it is sound.
#[must_use]
pub fn built_in() -> Allowances {
    let file: AllowancesFile = serde_json::from_str(BUILT_IN).unwrap_or_default();
    settle(file, None).unwrap_or_else(|_| Allowances::nothing())
}

impl Allowances {
    /// No allowance at all.
    const fn nothing() -> Self {
        Self {
            about: String::new(),
            hinge_gap_m: 0.0,
            latch_gap_m: 0.0,
            center_gap_m: 0.0,
            post_m: 0.0,
            column_gap_m: 0.0,
            leaf_thickness_m: 0.0,
            swing_room_m: 0.0,
            widest_single_leaf_m: 0.0,
            slide_overlap_m: 0.0,
            slide_tail: 0.0,
            hinge_spacing_m: 0.0,
            waiting_gap_m: 0.0,
            leaf_heights_m: Vec::new(),
            materials: Vec::new(),
            figures: Vec::new(),
        }
    }

    fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.iter().find(|f| f.name == name)
    }

    /// These allowances with posts as wide as drawn, if the post is the built-in one; a user's own width holds whatever
    /// is drawn.
    #[must_use]
    pub fn with_post(mut self, drawn_m: f64) -> Self {
        let own = (self.post_m - built_in().post_m).abs() > 1e-9;
        if own || (self.post_m - drawn_m).abs() < 1e-9 {
            return self;
        }
        self.post_m = drawn_m;
        for figure in self.figures.iter_mut().filter(|figure| figure.name == "post") {
            figure.measure = Measure::Length(drawn_m);
            figure.source = "As drawn in the plan.".to_owned();
        }
        self
    }
}

/// Reads figures one by one and collects the faults of each.
struct Settling<'a> {
    sources: BTreeMap<String, String>,
    before: Option<&'a Allowances>,
    figures: Vec<Figure>,
    faults: Vec<(String, String)>,
}

fn settle(file: AllowancesFile, before: Option<&Allowances>) -> Result<Allowances, Vec<(String, String)>> {
    let mut settling = Settling { sources: file.sources, before, figures: Vec::new(), faults: Vec::new() };
    let s = &mut settling;
    let mut allowances = Allowances {
        about: file.about.unwrap_or_default(),
        hinge_gap_m: s.length("hinge_gap", file.hinge_gap, 0.0),
        latch_gap_m: s.length("latch_gap", file.latch_gap, 0.0),
        center_gap_m: s.length("center_gap", file.center_gap, 0.0),
        post_m: s.length("post", file.post, 1e-3),
        column_gap_m: s.length("column_gap", file.column_gap, 0.0),
        leaf_thickness_m: s.length("leaf_thickness", file.leaf_thickness, 0.0),
        swing_room_m: s.length("swing_room", file.swing_room, 0.0),
        widest_single_leaf_m: s.length("widest_single_leaf", file.widest_single_leaf, 1e-3),
        slide_overlap_m: s.length("slide_overlap", file.slide_overlap, 0.0),
        slide_tail: s.share("slide_tail", file.slide_tail.map(|t| (t.value, t.source))),
        // At a smaller spacing the pull on the hinge is meaningless.
        hinge_spacing_m: s.length("hinge_spacing", file.hinge_spacing, 0.1),
        waiting_gap_m: s.length("waiting_gap", file.waiting_gap, 0.0),
        leaf_heights_m: Vec::new(),
        materials: Vec::new(),
        figures: Vec::new(),
    };
    match (file.leaf_heights, before) {
        (Some(heights), _) => {
            for (i, height) in heights.into_iter().enumerate() {
                let name = format!("leaf_heights[{i}]");
                allowances.leaf_heights_m.push(s.length(&name, Some(height), 0.1));
            }
        }
        (None, Some(before)) => {
            allowances.leaf_heights_m.clone_from(&before.leaf_heights_m);
            s.keep(|name| name.starts_with("leaf_heights"));
        }
        (None, None) => {}
    }
    match (file.materials, before) {
        (Some(materials), _) => {
            for (i, material) in materials.into_iter().enumerate() {
                let material = s.material(i, material);
                allowances.materials.push(material);
            }
        }
        (None, Some(before)) => {
            allowances.materials.clone_from(&before.materials);
            s.keep(|name| name.starts_with("leaf of "));
        }
        (None, None) => {}
    }
    allowances.figures = settling.figures;
    if settling.faults.is_empty() { Ok(allowances) } else { Err(settling.faults) }
}

impl Settling<'_> {
    /// Keeps built-in figures with their sources.
    fn keep(&mut self, of: impl Fn(&str) -> bool) {
        let kept = self.before.iter().flat_map(|b| &b.figures).filter(|f| of(&f.name));
        self.figures.extend(kept.cloned());
    }

    fn source(&mut self, path: &str, name: Option<String>) -> String {
        let Some(name) = name else { return "The file gives no source.".to_owned() };
        if let Some(words) = self.sources.get(&name) {
            return words.clone();
        }
        let known: Vec<&str> = self.sources.keys().map(String::as_str).collect();
        let known = if known.is_empty() { "it names none".to_owned() } else { known.join(", ") };
        self.faults.push((
            format!("{path}.source"),
            format!("\"{name}\" is not among the file's sources; they are: {known}"),
        ));
        String::new()
    }

    fn meters(&mut self, path: &str, written: &Written, least: f64) -> f64 {
        let meters = match written {
            Written::Number(meters) => *meters,
            Written::Text(text) => match length::parse(text) {
                Ok(meters) => meters,
                Err(e) => {
                    self.faults.push((path.to_owned(), e.to_string()));
                    return least;
                }
            },
        };
        if !(least..=MOST_M).contains(&meters) {
            let written = match written {
                Written::Number(meters) => format!("{meters} m"),
                Written::Text(text) => format!("\"{text}\""),
            };
            let message = format!("must be from {least} to {MOST_M} m, and is {written}");
            self.faults.push((path.to_owned(), message));
        }
        meters
    }

    fn length(&mut self, name: &str, figure: Option<Length>, least: f64) -> f64 {
        let Some(Length { value, source }) = figure else { return self.kept(name) };
        let meters = self.meters(name, &value, least);
        let source = self.source(name, source);
        self.figures.push(Figure { name: name.to_owned(), measure: Measure::Length(meters), source });
        meters
    }

    fn share(&mut self, name: &str, figure: Option<(f64, Option<String>)>) -> f64 {
        let Some((value, source)) = figure else { return self.kept(name) };
        if !(0.0..=1.0).contains(&value) {
            self.faults.push((name.to_owned(), format!("must be from 0 to 1, and is {value}")));
        }
        let source = self.source(name, source);
        self.figures.push(Figure { name: name.to_owned(), measure: Measure::Share(value), source });
        value
    }

    /// The built-in figure with this name.
    fn kept(&mut self, name: &str) -> f64 {
        let Some(figure) = self.before.and_then(|b| b.figure(name)).cloned() else { return 0.0 };
        let value = match figure.measure {
            Measure::Length(x) | Measure::Share(x) | Measure::WeightPerWidth(x) => x,
        };
        self.figures.push(figure);
        value
    }

    fn material(&mut self, index: usize, file: MaterialFile) -> Material {
        let path = |field: &str| format!("materials[{index}].{field}");
        let width = self.meters(&path("leaf_width"), &file.leaf_width.value, 0.1);
        let kg = self.kilograms(&path("leaf_weight"), &file.leaf_weight);
        let named = file.leaf_weight.source.or(file.leaf_width.source).or(file.source);
        let source = self.source(&format!("materials[{index}]"), named);
        let kg_per_m = kg / width.max(0.1);
        self.figures.push(Figure {
            name: format!("leaf of {}", file.name),
            measure: Measure::WeightPerWidth(kg_per_m),
            source,
        });
        Material { name: file.name, kg_per_m }
    }

    fn kilograms(&mut self, path: &str, weight: &Weight) -> f64 {
        let kg = match &weight.value {
            Written::Number(kg) => Some(*kg),
            Written::Text(text) => {
                let text = text.trim();
                let with = |unit: &str, each: f64| {
                    text.strip_suffix(unit)?.trim().parse::<f64>().ok().map(|n| n * each)
                };
                with("kg", 1.0).or_else(|| with("lb", POUND_KG)).or_else(|| with("lbs", POUND_KG))
            }
        };
        match kg {
            Some(kg) if kg > 0.0 && kg <= MOST_KG => kg,
            Some(kg) => {
                let message = format!("must be more than 0 and at most {MOST_KG} kg, and is {kg} kg");
                self.faults.push((path.to_owned(), message));
                0.0
            }
            None => {
                let message = "is no weight; write kilograms as a number, or \"50 lb\", \"23 kg\"".to_owned();
                self.faults.push((path.to_owned(), message));
                0.0
            }
        }
    }
}
