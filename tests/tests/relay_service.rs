//! The relay's service over a real port, by the client that is generated from the protocol.
#![allow(clippy::unwrap_used)]

mod relay_kit;

#[path = "relay_service/durable.rs"]
mod durable;
#[path = "relay_service/exchanges.rs"]
mod exchanges;
#[path = "relay_service/first_sync.rs"]
mod first_sync;
#[path = "relay_service/homes.rs"]
mod homes;
#[path = "relay_service/port.rs"]
mod port;
#[path = "relay_service/sessions.rs"]
mod sessions;
#[path = "relay_service/slow.rs"]
mod slow;
#[path = "relay_service/watching.rs"]
mod watching;
#[path = "relay_service/web.rs"]
mod web;
