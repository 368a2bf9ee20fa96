//! Work to stations within takt.
