//! The build record of one engine: typed readings, signed entries, one gate, one fold.
//!
//! Pure: no clock, no random source, no file, socket, thread or async; the world is an
//! argument. Builds for native targets and for `wasm32-unknown-unknown`.

pub mod assess;
pub mod crew;
pub mod document;
pub mod engine;
pub mod entry;
pub mod log;
pub mod measure;
pub mod plan;
pub mod quantity;
pub mod ready;
pub mod roster;
pub mod sheet;
pub mod work;
