//! One error for all that the library may refuse, for callers that do not care which part of it did.
#[cfg(feature = "sheets")]
use crate::drawing::print::PrintError;
use crate::gate::AllowancesError;
use crate::geometry::length::LengthError;
use crate::motion::route::RouteError;
use crate::site::changes::ChangeError;
use crate::site::sketch::SketchError;
use crate::site::{PlanError, RewriteError};
use crate::sweep::SweepError;
use crate::vehicle::{OutlineError, VehicleError};

/// Why the library did not do what it was asked: one variant for the error of each part, with its message unchanged.
///
/// Every error of the library converts into it, so that `?` works across the parts:
///
/// ```
/// use wideenough::geometry::length;
///
/// fn read(plan: &str, vehicle: &str, clearance: &str) -> Result<f64, wideenough::Error> {
///     let _site = wideenough::site::read(plan, "plan.geojson")?;
///     let _vehicle = wideenough::vehicle::find(vehicle)?;
///     Ok(length::parse(clearance)?)
/// }
///
/// let fault = read("{}", "car", "1 ft").unwrap_err();
/// assert!(matches!(fault, wideenough::Error::Plan(_)));
/// assert!(fault.to_string().starts_with("plan.geojson"), "{fault}");
/// ```
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A text is not a length.
    #[error(transparent)]
    Length(#[from] LengthError),
    /// A plan cannot be used; holds every fault that was found in it.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// Measurements make no plan.
    #[error(transparent)]
    Sketch(#[from] SketchError),
    /// A change cannot be made to a site.
    #[error(transparent)]
    Change(#[from] ChangeError),
    /// A changed plan cannot be written.
    #[error(transparent)]
    Rewrite(#[from] RewriteError),
    /// A vehicle cannot be used, or is not in the library; holds every fault that was found in its file.
    #[error(transparent)]
    Vehicle(#[from] VehicleError),
    /// An outline cannot be split into convex parts.
    #[error(transparent)]
    Outline(#[from] OutlineError),
    /// A drawn line cannot be driven.
    #[error(transparent)]
    Route(#[from] RouteError),
    /// A file of hardware allowances cannot be used; holds every fault that was found in it.
    #[error(transparent)]
    Allowances(#[from] AllowancesError),
    /// There is no swept path.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// A drawing cannot be printed.
    #[cfg(feature = "sheets")]
    #[error(transparent)]
    Print(#[from] PrintError),
}
