//! The drawing's letters: they are in the module for the printed sheet, and travel once.

use gudgeon_core::sheet::FACES;
use leptos::prelude::document;
use wasm_bindgen::JsValue;

use super::js;

/// Gives the page its letters; without them it is drawn in the system's.
pub(super) fn bring() {
    for (weight, file) in FACES {
        if let Err(error) = face(weight, file) {
            leptos::logging::error!("font: {}", js::said(&error));
        }
    }
}

fn face(weight: u16, file: &[u8]) -> Result<(), JsValue> {
    let about = js::object(&[("weight", weight.to_string().into())]);
    let face = js::construct("FontFace", &["B612".into(), js_sys::Uint8Array::from(file).into(), about])?;
    js::call(&js::get(&document(), "fonts"), "add", &[face]).map(drop)
}
