//! Placeholder, filled below.
