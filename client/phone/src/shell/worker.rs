//! The service worker: registered once, and asked to take over only when the person wants it.

use std::cell::RefCell;

use leptos::prelude::window;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::spawn_local;

use super::{js, send};
use crate::app::Event;

thread_local! {
    static WAITING: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// Milliseconds until it is tried again where the files did not all come: until they have, the app
/// does not open without the office.
const AGAIN: u32 = 10_000;

/// Registers it and watches for a newer one.
pub(super) fn register() {
    let container = js::get(&window().navigator(), "serviceWorker");
    if container.is_undefined() {
        return;
    }
    let options = js::object(&[("updateViaCache", "none".into())]);
    spawn_local(async move {
        match js::call_later(&container, "register", &["sw.js".into(), options]).await {
            Ok(registration) => watch(&registration),
            // Offline on the first visit, or a page that is not safe: the app runs all the same.
            Err(error) => leptos::logging::warn!("service worker: {}", js::said(&error)),
        }
    });
}

fn watch(registration: &JsValue) {
    is_waiting(registration);
    follow(registration);
    let of = registration.clone();
    js::on(registration, "updatefound", move |_| follow(&of));
}

/// Follows one that comes; the first is fetched again where it came to nothing.
fn follow(registration: &JsValue) {
    let (of, coming) = (registration.clone(), js::get(registration, "installing"));
    if !coming.is_truthy() {
        return;
    }
    js::on(&coming.clone(), "statechange", move |_| {
        is_waiting(&of);
        let is_gone = js::get(&coming, "state").as_string().as_deref() == Some("redundant");
        if is_gone && !js::get(&of, "active").is_truthy() {
            js::after(AGAIN, register);
        }
    });
}

/// A newer one waits while an older one serves this page.
fn is_waiting(registration: &JsValue) {
    let waiting = js::get(registration, "waiting");
    let controlled = js::get(&js::get(&window().navigator(), "serviceWorker"), "controller");
    if waiting.is_truthy() && controlled.is_truthy() {
        WAITING.set(Some(waiting));
        send(Event::UpdateReady);
    }
}

/// Lets the newer one take over, and reloads under it.
pub(super) fn update() {
    let container = js::get(&window().navigator(), "serviceWorker");
    js::on(&container, "controllerchange", |_| {
        if let Err(error) = window().location().reload() {
            leptos::logging::error!("reload: {}", js::said(&error));
        }
    });
    WAITING.with_borrow(|waiting| {
        if let Some(waiting) = waiting {
            let _ = js::call(waiting, "postMessage", &["take over".into()]);
        }
    });
}
