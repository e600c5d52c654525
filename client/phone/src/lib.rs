//! The phone app: one person's home in a browser.
//!
//! [`app`] is what happens: events in, effects and a view out, with no browser in it; it is
//! compiled and tested natively. `shell` is the browser: it draws the view, performs the effects
//! and brings back events; it decides nothing. See the head of each for how a screen is added.

pub mod app;
#[cfg(target_arch = "wasm32")]
mod shell;
