//! The vehicle library as a table, and one vehicle with its dimensions and their sources.
use super::table::{clear_table, wrapped};
use super::words::Line;
use crate::geometry::length::{Round, show, show_fine};
use crate::geometry::{Point, Units};
use crate::vehicle::{Measure, Vehicle};
use comfy_table::{ColumnConstraint, Width};

/// Least width with room for the vehicles' titles beside their names and figures.
const WIDE: u16 = 88;

/// Radius of the circle the outer front tire's contact follows at full lock ("curb to curb" is twice this).
///
/// `None` if the vehicle cannot turn, or has no steered tire. Pythagoras about the center of the turn, which lies on
/// the line of the rear axle, 1/curvature to the left.
#[must_use]
pub fn curb_radius_m(vehicle: &Vehicle) -> Option<f64> {
    let lead = vehicle.units.first()?;
    let curvature = vehicle.steering.max_curvature;
    if curvature <= 0.0 {
        return None;
    }
    let center = Point::new(0.0, 1.0 / curvature);
    let steered = lead.tires.iter().filter(|t| t.steered).map(|t| t.center.distance(center));
    steered.max_by(f64::total_cmp)
}

/// Names, titles, lengths, widths and turning radii.
#[must_use]
pub fn vehicle_list(vehicles: &[Vehicle], units: Units, width: u16) -> String {
    let wide = width >= WIDE;
    let mut table = clear_table(width);
    let cut = |mut row: Vec<String>| {
        if !wide {
            row.remove(1);
        }
        row
    };
    let header = ["Name", "Vehicle", "Length", "Body", "Over all", "Curb radius"];
    table.set_header(cut(header.map(str::to_owned).to_vec()));
    for vehicle in vehicles {
        let widest = |measure: &dyn Fn(&crate::vehicle::Unit) -> f64| {
            show(vehicle.units.iter().map(measure).fold(0.0, f64::max), units, Round::Nearest)
        };
        table.add_row(cut(vec![
            vehicle.name.clone(),
            vehicle.title.clone(),
            show(vehicle.length_m(), units, Round::Nearest),
            widest(&|u| u.width_m),
            widest(&|u| u.widest_m()),
            curb_radius_m(vehicle).map_or_else(String::new, |r| show(r, units, Round::Nearest)),
        ]));
    }
    for (index, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        column.set_constraint(if wide && index == 1 {
            ColumnConstraint::LowerBoundary(Width::Fixed(20))
        } else {
            ColumnConstraint::ContentWidth
        });
    }
    let mut text = trimmed(&table.to_string());
    for line in [
        "",
        "Body: widest unit without mirrors. Over all: with mirrors and whatever else sticks out. Curb radius: of the \
         circle the outer front tire follows at full lock.",
        "`wideenough vehicles NAME` shows one with the source of each figure. Measure the vehicle that matters: any \
         file of your own works the same way.",
    ] {
        push(&mut text, line, width);
    }
    text
}

/// One vehicle: its description, and every figure with its source.
#[must_use]
pub fn vehicle_sheet(vehicle: &Vehicle, units: Units, width: u16) -> String {
    let mut text = String::new();
    push(&mut text, &format!("{} ({})", vehicle.title, vehicle.name), width);
    push(&mut text, &vehicle.about, width);
    text.push('\n');
    let mut table = clear_table(width);
    table.set_header(["Dimension", "Measure", "Source"]);
    // The same few sources apply to most figures: they are numbered, and spelled out once.
    let mut sources: Vec<&str> = Vec::new();
    for dimension in &vehicle.dimensions {
        let source = dimension.source.as_str();
        let number = sources.iter().position(|s| *s == source).unwrap_or_else(|| {
            sources.push(source);
            sources.len() - 1
        });
        let measure = match dimension.measure {
            Measure::Length(meters) => show_fine(meters, units, Round::Nearest),
            Measure::Angle(radians) => format!("{:.1}\u{b0}", radians.to_degrees()),
        };
        table.add_row([dimension.name.as_str(), &measure, &format!("[{}]", number + 1)]);
    }
    table.column_iter_mut().for_each(|column| {
        column.set_padding((0, 2));
    });
    text.push_str(&trimmed(&table.to_string()));
    text.push('\n');
    for (number, source) in sources.iter().enumerate() {
        push(&mut text, &format!("[{}] {source}", number + 1), width);
    }
    text.push('\n');
    let shown = |m: f64| show(m, units, Round::Nearest);
    let turning = curb_radius_m(vehicle).map_or_else(String::new, |r| {
        format!(" At full lock the outer front tire follows a circle of {} radius.", shown(r))
    });
    push(
        &mut text,
        &format!("Length over all, standing straight: {}.{turning}", shown(vehicle.length_m())),
        width,
    );
    text
}

fn push(text: &mut String, line: &str, width: u16) {
    for row in wrapped(&Line::plain(line), width) {
        text.push_str(&row.text);
        text.push('\n');
    }
}

fn trimmed(table: &str) -> String {
    table.lines().map(|row| format!("{}\n", row.trim_end())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::{find, library};

    #[test]
    fn the_curb_radius_is_that_of_the_published_circle() {
        // A vehicle file may give its curb-to-curb circle itself: half of it must then come back.
        let text = r#"{ "title": "Test car", "steering": { "turning_circle": { "kind": "curb", "diameter": 10.8 } },
            "units": [ { "name": "car", "wheelbase": 2.7, "front_overhang": 0.9, "rear_overhang": 1.0, "width": 1.8,
            "height": 1.5, "front_axle": { "track": 1.55 }, "rear_axle": { "track": 1.55 } } ] }"#;
        let car = crate::vehicle::read(text, "test-car.json").unwrap();
        assert!((curb_radius_m(&car).unwrap() - 5.4).abs() < 1e-9, "{:?}", curb_radius_m(&car));
    }

    #[test]
    fn every_library_vehicle_is_listed_and_has_a_sheet() {
        let vehicles: Vec<Vehicle> = library().iter().map(|(name, _)| find(name).unwrap()).collect();
        for width in [60, 100] {
            let list = vehicle_list(&vehicles, Units::Feet, width);
            for vehicle in &vehicles {
                let row = list.lines().find(|l| l.split_whitespace().next() == Some(&vehicle.name));
                assert!(row.is_some_and(|r| r.contains('\'')), "{}\n{list}", vehicle.name);
                let sheet = vehicle_sheet(vehicle, Units::Meters, width);
                let words = |text: &str| text.split_whitespace().collect::<Vec<&str>>().join(" ");
                for dimension in &vehicle.dimensions {
                    if width >= WIDE {
                        let row =
                            sheet.lines().find(|l| l.starts_with(&format!("{} ", dimension.name))).unwrap();
                        let number = &row[row.rfind('[').unwrap()..];
                        let source = words(&format!("{number} {}", dimension.source));
                        assert!(words(&sheet).contains(&source), "{row}\n{sheet}");
                    }
                    assert!(!dimension.source.is_empty(), "{}: {}", vehicle.name, dimension.name);
                    assert!(words(&sheet).contains(&words(&dimension.source)), "{sheet}");
                }
                assert!(sheet.lines().all(|l| l.chars().count() <= usize::from(width)), "{sheet}");
            }
        }
    }
}
