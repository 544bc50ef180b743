//! Published values, driven from the vehicle files. Each check names its source; a value that was not read in the
//! source itself says "from memory", and one computed by other means from the same geometry says "calculated".
//!
//! Convention of the design vehicle rows: the center of the *front axle* runs straight, on an arc of the centerline
//! turning radius (CTR), and straight again, without a spiral. The inside radius is the least distance from the
//! arc's center to the last axle's center, less half the width of the last unit.
mod design_vehicles;
mod drive;
mod rules;
mod sight;
