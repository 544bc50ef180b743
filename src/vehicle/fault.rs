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
             vehicle file works too", .nearest.as_ref().map(|n| format!(" (did you mean \"{n}\"?)")).unwrap_or_default())]
    Unknown {
        /// The requested name.
        name: String,
        /// The library name most similar to it, if one is near.
        nearest: Option<String>,
    },
}
