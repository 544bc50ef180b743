//! What is wrong with a vehicle file: where, what, and what to do about it.
pub use crate::geometry::fault::Fault;
use crate::geometry::fault::list;

/// Why there is no vehicle.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum VehicleError {
    /// The file says things that cannot be; all that were found, in the order of the file. What contradicts a value
    /// that is itself at fault is found once that is mended.
    #[error("{}", list(.0))]
    Faults(Vec<Fault>),
    /// The library has no vehicle of this name.
    #[error("no vehicle named \"{name}\" in the library{}; `wideenough vehicles` lists them, and a path to a \
             vehicle file works too", .nearest.as_ref().map(|n| format!(" (did you mean \"{n}\"?)")).unwrap_or_default())]
    Unknown {
        /// The name asked for.
        name: String,
        /// The library name most like it, if one is near.
        nearest: Option<String>,
    },
}
