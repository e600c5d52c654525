//! One tab writes. It holds a lock of the browser for as long as it lives; the others look on,
//! read again when it has written, and the first of them takes over when it is gone.

use std::cell::RefCell;

use js_sys::Promise;
use leptos::prelude::window;
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::spawn_local;
use web_sys::BroadcastChannel;

use super::{js, send};
use crate::app::{Event, Failure, Role};

const NAME: &str = "gudgeon-home";

thread_local! {
    static CHANNEL: RefCell<Option<BroadcastChannel>> = const { RefCell::new(None) };
}

/// Asks for the lock; says which role this tab has, now and when that changes.
pub(super) fn claim() {
    if let Ok(channel) = BroadcastChannel::new(NAME) {
        js::on(&channel, "message", |_| send(Event::Changed));
        CHANNEL.set(Some(channel));
    }
    let locks = js::get(&window().navigator(), "locks");
    if locks.is_undefined() {
        send(Event::NotRead(Failure::new(
            "no-locks",
            "this browser cannot keep two tabs apart, or the address is not safe enough for it",
            "open the address that begins with https, in a browser of today",
        )));
        return;
    }
    let first = Closure::once_into_js(move |lock: JsValue| {
        if lock.is_null() {
            send(Event::Role(Role::Follower));
            wait_for_it();
            return JsValue::UNDEFINED;
        }
        hold()
    });
    request(vec![NAME.into(), js::object(&[("ifAvailable", true.into())]), first]);
}

fn wait_for_it() {
    let then = Closure::once_into_js(|_: JsValue| hold());
    request(vec![NAME.into(), then]);
}

/// The lock is held until a promise is settled that never is.
fn hold() -> JsValue {
    send(Event::Role(Role::Writer));
    Promise::new(&mut |_, _| {}).unchecked_into()
}

/// Asks for the lock; where the browser refuses, that is said: without it nothing is opened.
fn request(arguments: Vec<JsValue>) {
    spawn_local(async move {
        let locks = js::get(&window().navigator(), "locks");
        if let Err(error) = js::call_later(&locks, "request", &arguments).await {
            let cause = format!("this browser keeps nothing for this page ({})", js::said(&error));
            let way_out = "leave private browsing, or allow this page to keep data, then reload";
            send(Event::NotRead(Failure::new("refused", cause, way_out)));
        }
    });
}

/// Tells the other tabs that there is something new in the database.
pub(super) fn tell_others() {
    CHANNEL.with_borrow(|channel| {
        if let Some(channel) = channel {
            // A tab that is not told reads it when it takes over.
            let _ = channel.post_message(&JsValue::from_str("written"));
        }
    });
}
