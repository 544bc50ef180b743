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

/// A vehicle of the library, by name.
///
/// # Errors
/// [`VehicleError::Unknown`], with the nearest name.
pub fn find(name: &str) -> Result<Vehicle, VehicleError> {
    match library().iter().find(|(known, _)| *known == name) {
        Some((known, text)) => read(text, &format!("vehicles/{known}.json")),
        None => Err(VehicleError::Unknown {
            name: name.to_owned(),
            nearest: nearest(name, library().iter().map(|(known, _)| *known)).map(str::to_owned),
        }),
    }
}
