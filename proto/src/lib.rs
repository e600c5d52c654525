//! Generated.
