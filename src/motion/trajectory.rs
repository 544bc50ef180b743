//! Paths together with the frame they are given in.
use super::Path;
use std::marker::PhantomData;

/// The frame of the site: x east, y north.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OnSite {}

/// The frame of the gate: x along the gate line to the right, y inward, from the middle of the gate as drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AtGate {}

/// A path and the frame it is given in, [`OnSite`] or [`AtGate`]; a bare path may be given in any.
///
/// A function that takes one frame accepts no path given in the other:
///
/// ```
/// use wideenough::motion::{AtGate, Path, State, Trajectory};
/// fn at_the_gate(_: &Trajectory<AtGate>) {}
/// at_the_gate(&Trajectory::<AtGate>::new(Path { start: State::default(), legs: vec![] }));
/// ```
///
/// ```compile_fail,E0308
/// use wideenough::motion::{AtGate, OnSite, Path, State, Trajectory};
/// fn at_the_gate(_: &Trajectory<AtGate>) {}
/// at_the_gate(&Trajectory::<OnSite>::new(Path { start: State::default(), legs: vec![] }));
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Trajectory<F> {
    path: Path,
    frame: PhantomData<F>,
}

impl<F> Trajectory<F> {
    /// A path given in this frame.
    #[must_use]
    pub const fn new(path: Path) -> Self {
        Self { path, frame: PhantomData }
    }

    /// The path itself, in this frame.
    #[must_use]
    pub const fn path(&self) -> &Path {
        &self.path
    }

    /// The path itself, in this frame.
    #[must_use]
    pub fn into_path(self) -> Path {
        self.path
    }
}
