//! Blanks on a coil's strip.
