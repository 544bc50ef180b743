//! The vehicles compiled into the program: one JSON file each in `vehicles/`, read like any user's file.
use super::{Vehicle, VehicleError, read};
use crate::geometry::json_place::nearest;

/// Name and text of a library file.
macro_rules! library {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../vehicles/", $name, ".json")))),*]
    };
}

/// Every library vehicle: its name and the text of its file, everyday vehicles first, then the design vehicles of
/// road engineers.
#[must_use]
pub const fn library() -> &'static [(&'static str, &'static str)] {
    library![
        "car",
        "compact-suv",
        "pickup",
        "delivery-van",
        "box-truck-16",
        "box-truck-26",
        "dump-truck",
        "concrete-mixer",
        "refuse-truck",
        "fire-engine",
        "school-bus",
        "motorhome",
        "pickup-bumper-pull-20",
        "pickup-travel-trailer",
        "gooseneck-horse-40",
        "car-boat-trailer",
        "semitrailer",
        "tractor-implement",
        "aashto-p",
        "aashto-su-30",
        "aashto-su-40",
        "aashto-s-bus-36",
        "aashto-mh",
        "aashto-p-t",
        "aashto-p-b",
        "aashto-mh-b",
        "aashto-wb-40",
        "aashto-wb-62",
        "aashto-wb-67",
    ]
}

/// Names like the one asked for: the one that differs by a slip, else those that hold all of its words.
fn suggested(name: &str) -> Vec<String> {
    let names = || library().iter().map(|(known, _)| *known);
    let words = name.to_lowercase();
    let words = || words.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let holds_all = |known: &&str| words().next().is_some() && words().all(|word| known.contains(word));
    let alike: Vec<&str> = nearest(name, names()).into_iter().collect();
    let alike = if alike.is_empty() { names().filter(holds_all).collect() } else { alike };
    alike.into_iter().map(str::to_owned).collect()
}

/// A vehicle of the library, by name.
///
/// ```
/// let error = wideenough::vehicle::find("horse").unwrap_err();
/// assert!(error.to_string().contains("did you mean \"gooseneck-horse-40\"?"), "{error}");
/// ```
///
/// # Errors
/// [`VehicleError::Unknown`], with the names most like it.
pub fn find(name: &str) -> Result<Vehicle, VehicleError> {
    match library().iter().find(|(known, _)| *known == name) {
        Some((known, text)) => read(text, &format!("vehicles/{known}.json")),
        None => Err(VehicleError::Unknown { name: name.to_owned(), nearest: suggested(name) }),
    }
}
