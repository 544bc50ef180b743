//! Faults of a vehicle file, each with its place and its remedy.
pub use crate::geometry::fault::Fault;
use crate::geometry::fault::list;

/// The reason there is no vehicle.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum VehicleError {
    /// All faults found in the file, in its order. A contradiction with a value that is itself at fault is found once
    /// that value is fixed.
    #[error("{}", list(.0))]
    Faults(Vec<Fault>),
    /// The library has no vehicle of this name.
    #[error("no vehicle named \"{name}\" in the library{}; `wideenough vehicles` lists them, and a path to a \
             vehicle file works too", suggestion(.nearest))]
    Unknown {
        /// The requested name.
        name: String,
        /// The library name most similar to it, or those that contain it; empty if there are none.
        nearest: Vec<String>,
    },
}

/// " (did you mean "box-truck-16" or "box-truck-26"?)"; empty without names.
fn suggestion(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    if quoted.is_empty() { String::new() } else { format!(" (did you mean {}?)", quoted.join(" or ")) }
}
