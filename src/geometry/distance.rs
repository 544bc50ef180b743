//! Distances between points, segments, outlines and shapes; whether one contains another.
