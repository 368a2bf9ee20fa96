//! The shops of the plant.
