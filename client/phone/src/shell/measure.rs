//! What this browser needs for the dear things, for whoever asks it by hand or by a bench.
#![allow(unreachable_pub, reason = "called from the page")]

use gudgeon_client::keys::{Pin, Sealed};
use gudgeon_client::world::{Browser, World as _};
use gudgeon_core::entry::payload::Note;
use gudgeon_core::entry::{Author, DocumentId, Envelope, Payload, READER, check};
use leptos::prelude::window;
use wasm_bindgen::prelude::wasm_bindgen;

/// Milliseconds by the page's own clock.
fn clock() -> f64 {
    super::js::get(&window(), "performance")
        .is_object()
        .then(|| super::js::call(&super::js::get(&window(), "performance"), "now", &[]).ok()?.as_f64())
        .flatten()
        .unwrap_or_default()
}

fn author() -> Author {
    Author::from_secret(&[7; 32])
}

/// Milliseconds to seal a key under a PIN.
#[wasm_bindgen]
pub fn measure_pin() -> f64 {
    let Ok(pin) = Pin::new("2468") else { return f64::NAN };
    let begun = clock();
    let sealed = Sealed::seal(&Browser, &author(), "measured", &pin);
    if sealed.is_ok() { clock() - begun } else { f64::NAN }
}

/// Milliseconds to check so many entries at the gate, signature and all.
#[wasm_bindgen]
pub fn measure_checks(count: u32) -> f64 {
    let document = DocumentId::new([7; 32]);
    let entry = |number: u32| {
        let payload = Payload::Note(Note { feature: String::new(), text: number.to_string() });
        author().sign(Envelope {
            document: Some(document),
            kind_code: payload.kind().code(),
            device_time: Browser.now(),
            min_reader: READER,
            after: Vec::new(),
            payload: payload.encode(),
        })
    };
    let entries: Vec<_> = (0..count).map(entry).collect();
    let begun = clock();
    let sound = entries.iter().all(|entry| check(entry.id(), entry.value(), document).is_ok());
    if sound { clock() - begun } else { f64::NAN }
}
