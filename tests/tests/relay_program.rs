//! The relay as a program: started, stopped, killed, looked after.
#![allow(clippy::unwrap_used)]

mod relay_kit;

#[path = "relay_program/care.rs"]
mod care;
#[path = "relay_program/killed.rs"]
mod killed;
#[path = "relay_program/program.rs"]
mod program;
#[path = "relay_program/started.rs"]
mod started;
#[path = "relay_program/tls.rs"]
mod tls;
#[path = "relay_program/trust.rs"]
mod trust;
