//! The way to the relay: at this page's own origin.

use std::cell::RefCell;

use gudgeon_client::sync::Ask;
use gudgeon_client::sync::web::Relay;
use leptos::prelude::window;
use wasm_bindgen_futures::spawn_local;

use super::send;
use crate::app::Event;

thread_local! {
    static RELAY: RefCell<Option<Relay>> = const { RefCell::new(None) };
}

/// Finds out where the relay is.
pub(super) fn begin() {
    RELAY.set(window().location().origin().ok().map(|origin| Relay::at(&origin)));
}

fn relay() -> Option<Relay> {
    RELAY.with_borrow(Clone::clone)
}

/// Asks the relay.
pub(super) fn ask(ask: Ask) {
    let Some(mut relay) = relay() else { return };
    spawn_local(async move { send(Event::Answered(relay.ask(ask).await)) });
}

/// Listens until the ear is closed.
pub(super) fn watch(session: Vec<u8>) {
    let Some(mut relay) = relay() else { return };
    spawn_local(async move {
        let mut ear = match relay.watch(session).await {
            Ok(ear) => ear,
            Err(trouble) => return send(Event::Heard(Err(trouble))),
        };
        loop {
            let heard = ear.next().await;
            let over = heard.is_err();
            send(Event::Heard(heard));
            if over {
                return;
            }
        }
    });
}
