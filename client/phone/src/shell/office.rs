//! The way to the relay: at this page's own origin.

use std::cell::{Cell, RefCell};
use std::future::poll_fn;
use std::pin::pin;
use std::task::{Poll, Waker};

use gudgeon_client::sync::web::{Relay, Watch};
use gudgeon_client::sync::{Ask, Trouble};
use leptos::prelude::window;
use wasm_bindgen_futures::spawn_local;

use super::send;
use crate::app::Event;

thread_local! {
    static RELAY: RefCell<Option<Relay>> = const { RefCell::new(None) };
    /// Which ear is the one that is open, and what wakes it.
    static EAR: Cell<u64> = const { Cell::new(0) };
    static WAKES: Cell<Option<Waker>> = const { Cell::new(None) };
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

/// Listens until the ear is closed, or another one is opened in its place: each is a connection
/// of the browser's, and over plain HTTP it has six of them for everything.
pub(super) fn watch(session: Vec<u8>) {
    let Some(mut relay) = relay() else { return };
    let own = EAR.get().wrapping_add(1);
    EAR.set(own);
    if let Some(before) = WAKES.take() {
        before.wake();
    }
    spawn_local(async move {
        let mut ear = match relay.watch(session).await {
            Ok(ear) => ear,
            Err(_) if EAR.get() != own => return,
            Err(trouble) => return send(Event::Heard(Err(trouble))),
        };
        while let Some(heard) = hear(&mut ear, own).await {
            let over = heard.is_err();
            send(Event::Heard(heard));
            if over {
                return;
            }
        }
    });
}

/// The next that an ear hears; none: another one was opened.
async fn hear(ear: &mut Watch, own: u64) -> Option<Result<(), Trouble>> {
    let mut next = pin!(ear.next());
    poll_fn(|context| {
        if EAR.get() != own {
            return Poll::Ready(None);
        }
        WAKES.set(Some(context.waker().clone()));
        next.as_mut().poll(context).map(Some)
    })
    .await
}
