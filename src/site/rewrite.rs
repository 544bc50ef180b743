//! Applies a change to a plan's own text: only what the change moves is rewritten; everything else, names and notes and
//! members of other programs, stays as it was drawn.
//!
//! A plan in longitude and latitude stays one and a sketch keeps its units. Corners are written to ten places of a
//! degree or six of a unit: a hundredth of a millimeter, finer than any site is drawn.
use super::changes::{Change, ChangeError, Flare, gives_way};
use super::lines::SAME_POINT_M;
use super::{Arrangement, Fence, Frame, Leaves, PlanError, Side, Site, Swing, read};
use crate::geometry::Point;
use serde_json::{Map, Value, json};

/// Least movement for which a corner is rewritten: a micrometer.
const MOVED_M: f64 = 1e-6;

/// The reason a changed plan cannot be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RewriteError {
    /// The plan itself is at fault.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The change makes no site.
    #[error(transparent)]
    Change(#[from] ChangeError),
}

/// The plan of `text` with a change made to its gate or its apron, as JSON. `vehicle_named` gives the name to write for
/// each vehicle of the plan's list: a file named in a plan is looked up beside that plan, and the new one may lie
/// elsewhere.
///
/// A wider road is not written: nobody who plans a gate widens the road, and [`Change::RoadWidth`] leaves the text as
/// it is. Deeper posts and a gate elsewhere along its line are.
///
/// ```
/// use wideenough::site::{changes::Change, read, rewrite};
/// let plan = r#"{ "type": "FeatureCollection", "plan": { "coordinates": "local-ft" }, "features": [
///     { "type": "Feature", "properties": { "role": "road", "width": "20 ft" },
///       "geometry": { "type": "LineString", "coordinates": [[-100, 0], [100, 0]] } },
///     { "type": "Feature", "properties": { "role": "gate" },
///       "geometry": { "type": "LineString", "coordinates": [[-8, 25], [8, 25]] } } ] }"#;
/// let wider = rewrite(plan, &Change::Opening(2.0 * 0.3048), &str::to_owned).unwrap();
/// assert_eq!(wider["features"][1]["geometry"]["coordinates"].to_string(), "[[-9.0,25],[9.0,25]]");
/// assert!((read(&wider.to_string(), "wider").unwrap().gate.opening_m() - 18.0 * 0.3048).abs() < 1e-9);
/// ```
///
/// # Errors
/// [`RewriteError`], if the text is no plan or the change cannot be made to it.
pub fn rewrite(
    text: &str,
    change: &Change,
    vehicle_named: &dyn Fn(&str) -> String,
) -> Result<Value, RewriteError> {
    let before = read(text, "plan")?;
    let after = change.apply_to_each(&before)?;
    let flare = match change {
        Change::ApronFlare(by) => Some(Flare::of(&before, *by)?),
        _ => None,
    };
    // This text has been parsed before.
    let mut root: Value =
        serde_json::from_str(text.strip_prefix('\u{feff}').unwrap_or(text)).unwrap_or_default();
    if let Some(entries) = root.pointer_mut("/plan/vehicles").and_then(Value::as_array_mut) {
        entries.iter_mut().for_each(|entry| rename(entry, vehicle_named));
    }
    let mut pen = Pen { before: &before, after: &after, flare, fences: 0, obstacles: 0 };
    if let Some(features) = root["features"].as_array_mut() {
        features.retain_mut(|feature| pen.feature(feature));
    }
    Ok(root)
}

fn rename(entry: &mut Value, vehicle_named: &dyn Fn(&str) -> String) {
    let name = match entry {
        Value::Object(words) => words.get_mut("vehicle"),
        entry => Some(entry),
    };
    if let Some(Value::String(name)) = name {
        *name = vehicle_named(name.trim());
    }
}

/// Goes through the features in the order in which the reader took them in.
struct Pen<'a> {
    before: &'a Site,
    after: &'a Site,
    flare: Option<Flare>,
    fences: usize,
    obstacles: usize,
}

impl Pen<'_> {
    /// Applies the change to a feature; false if nothing is left of it.
    fn feature(&mut self, feature: &mut Value) -> bool {
        let role = feature["properties"]["role"].as_str().unwrap_or_default().to_owned();
        match role.as_str() {
            "gate" => self.gate(feature),
            "fence" => return self.fence(&mut feature["geometry"]),
            "drive" => self.flared_drive(&mut feature["geometry"]),
            "obstacle" => {
                let low = self.before.obstacles.get(self.obstacles).is_some_and(gives_way);
                self.obstacles += 1;
                if low {
                    self.flared(&mut feature["geometry"]["coordinates"]);
                }
            }
            _ => {}
        }
        true
    }

    fn gate(&self, feature: &mut Value) {
        let (old, new) = (&self.before.gate, &self.after.gate);
        let is_point = feature["geometry"]["type"] == "Point";
        let drawn = &mut feature["geometry"]["coordinates"];
        if is_point {
            put(&self.before.frame, drawn, old.center(), new.center());
        } else if let Some(positions) = drawn.as_array_mut() {
            for position in positions {
                let Some(at) = place(&self.before.frame, position) else { continue };
                let is_left = at.distance(old.left) < at.distance(old.right);
                put(&self.before.frame, position, at, if is_left { new.left } else { new.right });
            }
        }
        let Some(words) = feature["properties"].as_object_mut() else { return };
        // The width of a point is its opening; that of a line is checked against the line, which has another length now.
        if (old.opening_m() - new.opening_m()).abs() > MOVED_M && words.contains_key("width") {
            if is_point {
                words.insert("width".to_owned(), json!(format!("{} m", new.opening_m())));
            } else {
                words.shift_remove("width");
            }
        }
        if old.leaves != new.leaves {
            leaves(words, &old.leaves, &new.leaves);
        }
        if old.post != new.post {
            let [width, depth, top] =
                [new.post.width_m, new.post.depth_m, new.post.top_m].map(|m| format!("{m} m"));
            words.insert("post".to_owned(), json!({ "width": width, "depth": depth, "top": top }));
        }
    }

    /// Rewrites a fence of one line or several, without the lines that gave way altogether; false if none is left.
    fn fence(&mut self, geometry: &mut Value) -> bool {
        let many = geometry["type"] == "MultiLineString";
        let coordinates = &mut geometry["coordinates"];
        let lines: Vec<&mut Value> =
            if many { coordinates.as_array_mut().into_iter().flatten().collect() } else { vec![coordinates] };
        let mut kept = Vec::new();
        for line in lines {
            let index = self.fences;
            self.fences += 1;
            let (Some(old), Some(new)) = (self.before.fences.get(index), self.after.fences.get(index)) else {
                continue;
            };
            kept.push(self.fence_line(line, old, new));
        }
        if many && let Some(lines) = coordinates.as_array_mut() {
            let mut kept = kept.iter();
            lines.retain(|_| kept.next().copied().unwrap_or(true));
        }
        kept.is_empty() || kept.contains(&true)
    }

    /// Rewrites one line of a fence; false if fewer than two corners are left.
    fn fence_line(&self, line: &mut Value, old: &Fence, new: &Fence) -> bool {
        let frame = &self.before.frame;
        let Some(positions) = line.as_array_mut() else { return true };
        for position in positions.iter_mut() {
            let Some(at) = place(frame, position) else { continue };
            let pairs = old.line.iter().zip(&new.line);
            let nearest = pairs.min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)));
            if let Some((from, to)) = nearest.filter(|(from, _)| from.distance(at) < 2.0 * SAME_POINT_M) {
                put(frame, position, *from, *to);
            }
        }
        positions.dedup_by(|a, b| match (place(frame, a), place(frame, b)) {
            (Some(a), Some(b)) => a.distance(b) < 2.0 * SAME_POINT_M,
            _ => false,
        });
        positions.len() > 1
    }

    /// Moves the outer edges of a drive by the flare; its islands stay.
    fn flared_drive(&self, geometry: &mut Value) {
        let many = geometry["type"] == "MultiPolygon";
        let coordinates = &mut geometry["coordinates"];
        let drives: Vec<&mut Value> =
            if many { coordinates.as_array_mut().into_iter().flatten().collect() } else { vec![coordinates] };
        drives.into_iter().filter_map(|rings| rings.get_mut(0)).for_each(|outer| self.flared(outer));
    }

    /// Moves every position in a nested list by the flare.
    fn flared(&self, coordinates: &mut Value) {
        let Some(flare) = &self.flare else { return };
        if let Some(at) = place(&self.before.frame, coordinates) {
            if let Some(to) = flare.moved(at) {
                put(&self.before.frame, coordinates, at, to);
            }
        } else if let Some(list) = coordinates.as_array_mut() {
            list.iter_mut().for_each(|item| self.flared(item));
        }
    }
}

/// Writes other leaves into a gate's properties: only the words that differ from before.
fn leaves(words: &mut Map<String, Value>, old: &Leaves, new: &Leaves) {
    let (kind, hinge) = match new.arrangement {
        Arrangement::Single(side) => ("single", Some(side)),
        Arrangement::Slide(side) => ("slide", Some(side)),
        Arrangement::Double => ("double", None),
        Arrangement::None => ("none", None),
    };
    if old.arrangement != new.arrangement {
        words.insert("leaves".to_owned(), json!(kind));
        match hinge {
            Some(Side::Left) => words.insert("hinge".to_owned(), json!("left")),
            Some(Side::Right) => words.insert("hinge".to_owned(), json!("right")),
            None => words.shift_remove("hinge"),
        };
    }
    if old.opens != new.opens {
        let word = if new.opens == Swing::In { "in" } else { "out" };
        words.insert("opens".to_owned(), json!(word));
    }
    if old.open_angle_rad != new.open_angle_rad {
        let degrees = (new.open_angle_rad.to_degrees() * 1e6).round() / 1e6;
        words.insert("open_angle_deg".to_owned(), json!(degrees));
    }
}

/// A position in site meters; `None` for a list of positions.
fn place(frame: &Frame, position: &Value) -> Option<Point> {
    let (x, y) = (position.get(0)?.as_f64()?, position.get(1)?.as_f64()?);
    Some(frame.to_site([x, y]))
}

/// Rewrites a position if it has moved. A height that follows stays.
fn put(frame: &Frame, position: &mut Value, from: Point, to: Point) {
    if from.distance(to) < MOVED_M {
        return;
    }
    let steps = match frame {
        Frame::LonLat { .. } => 1e10,
        Frame::Local { .. } => 1e6,
    };
    let rounded = frame.to_plan(to).map(|v| (v * steps).round() / steps + 0.0);
    if let Some(numbers) = position.as_array_mut() {
        for (number, v) in numbers.iter_mut().zip(rounded) {
            // A coordinate that stays keeps the digits it was written with.
            if number.as_f64() != Some(v) {
                *number = json!(v);
            }
        }
    }
}
