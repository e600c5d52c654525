//! The phone itself: its address line, its screen, its buzzer, what it says of storage.

use std::cell::{Cell, RefCell};

use leptos::prelude::{document, window};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::spawn_local;
use web_sys::VisibilityState;

use super::{js, send};
use crate::app::{About, Buzz, Event, Place, Storage};

thread_local! {
    static AWAKE: Cell<bool> = const { Cell::new(false) };
    static LOCK: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

/// The place that the address names.
pub(super) fn address() -> Place {
    let hash = window().location().hash().unwrap_or_default();
    let plain = js_sys::decode_uri_component(&hash).map_or(hash, String::from);
    Place::at(&plain)
}

/// Shows an address, as a new step or in the place of the last one.
pub(super) fn show_address(place: &Place, replace: bool) {
    let address = format!("#{}", String::from(js_sys::encode_uri(&place.address())));
    let Ok(history) = window().history() else { return };
    let shown = if replace {
        history.replace_state_with_url(&JsValue::NULL, "", Some(&address))
    } else {
        history.push_state_with_url(&JsValue::NULL, "", Some(&address))
    };
    if let Err(error) = shown {
        leptos::logging::error!("address: {}", js::said(&error));
    }
}

/// Listens to the back key, the network, and the app being brought to the front.
pub(super) fn listen() {
    js::on(&window(), "popstate", |_| send(Event::Went(address())));
    js::on(&window(), "online", |_| send(Event::Awake));
    js::on(&document(), "visibilitychange", |_| {
        if document().visibility_state() == VisibilityState::Visible {
            send(Event::Awake);
            // The browser lets go of the screen whenever the page is hidden.
            if AWAKE.get() {
                request_wake();
            }
        }
    });
    spawn_local(tell_storage());
    spawn_local(tell_about());
}

/// Tells where the app is from and which build it is, as its own file says.
async fn tell_about() {
    let origin = window().location().origin().ok();
    send(Event::About(About { origin: origin.clone(), build: None }));
    let fetched = js::call_later(&window(), "fetch", &["build.txt".into()]).await.ok();
    let fetched = fetched.filter(|answer| js::get(answer, "ok").is_truthy());
    let Some(answer) = fetched else { return };
    let text = js::call_later(&answer, "text", &[]).await.ok().and_then(|text| text.as_string());
    send(Event::About(About { origin, build: text.map(|text| text.trim().to_owned()) }));
}

/// Keeps the screen awake, or lets it sleep.
pub(super) fn keep_awake(awake: bool) {
    if AWAKE.replace(awake) == awake {
        return;
    }
    if awake {
        request_wake();
    } else if let Some(lock) = LOCK.take() {
        let _ = js::call(&lock, "release", &[]);
    }
}

/// Where it is refused (battery low) the screen sleeps as always: nothing is lost by it.
fn request_wake() {
    spawn_local(async {
        let wake = js::get(&window().navigator(), "wakeLock");
        if let Ok(lock) = js::call_later(&wake, "request", &["screen".into()]).await {
            LOCK.set(Some(lock));
        }
    });
}

/// A short buzz, where the phone has one.
pub(super) fn buzz(buzz: Buzz) {
    let pattern: js_sys::Array = match buzz {
        Buzz::Kept => [40].as_slice(),
        Buzz::Look => [60, 60, 60].as_slice(),
    }
    .iter()
    .map(|milliseconds| JsValue::from(*milliseconds))
    .collect();
    let _ = js::call(&window().navigator(), "vibrate", &[pattern.into()]);
}

/// Asks the browser to keep what is stored, and tells what it said.
pub(super) fn ask_to_keep() {
    spawn_local(async {
        let storage = js::get(&window().navigator(), "storage");
        if let Err(error) = js::call_later(&storage, "persist", &[]).await {
            leptos::logging::warn!("persist: {}", js::said(&error));
        }
        tell_storage().await;
    });
}

async fn tell_storage() {
    let storage = js::get(&window().navigator(), "storage");
    let keeps = js::call_later(&storage, "persisted", &[]).await.ok().and_then(|keeps| keeps.as_bool());
    let estimate = js::call_later(&storage, "estimate", &[]).await.ok();
    let whole = |name| {
        let bytes = js::get(estimate.as_ref()?, name).as_f64()?;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole bytes below 2^53")]
        let bytes = bytes as u64;
        Some(bytes)
    };
    let room = whole("usage").zip(whole("quota"));
    send(Event::Storage(Storage { keeps, room }));
}
