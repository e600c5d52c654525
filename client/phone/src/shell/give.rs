//! Giving a file on, and printing: what the phone has for it.

use js_sys::{Array, Uint8Array};
use leptos::prelude::{document, window};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::spawn_local;

use super::{js, send};
use crate::app::Event;
use crate::app::give::{By, first, instead};

/// How long an address of a file stays good, in milliseconds: a download begins later than the click.
const GOOD_FOR: u32 = 60_000;

/// By the share sheet, where there is one that takes such a file; else as a download.
pub(super) fn give_out(name: String, media: &'static str, bytes: &[u8]) {
    let options = js::object(&[("type", media.into())]);
    let parts = Array::of1(&Uint8Array::from(bytes));
    let file = match js::construct("File", &[parts.into(), name.as_str().into(), options]) {
        Ok(file) => file,
        Err(error) => return send(Event::NotGiven(js::said(&error))),
    };
    let navigator: JsValue = window().navigator().into();
    let data = js::object(&[("files", Array::of1(&file).into())]);
    let shares = js::call(&navigator, "canShare", std::slice::from_ref(&data));
    match first(shares.is_ok_and(|shares| shares.is_truthy())) {
        By::Download => download(&name, &file),
        By::ShareSheet => spawn_local(async move {
            if let Err(error) = js::call_later(&navigator, "share", &[data]).await {
                let error = js::get(&error, "name").as_string().unwrap_or_default();
                match instead(&error) {
                    Some(By::Download) => download(&name, &file),
                    Some(By::ShareSheet) | None => {}
                }
            }
        }),
    }
}

fn download(name: &str, file: &JsValue) {
    let begun = (|| {
        let url = js::get(&window(), "URL");
        let address = js::call(&url, "createObjectURL", std::slice::from_ref(file))?;
        let link: JsValue = document().create_element("a")?.into();
        js::set(&link, "href", &address);
        js::set(&link, "download", &name.into());
        js::call(&link, "click", &[])?;
        js::after(GOOD_FOR, move || {
            let _ = js::call(&url, "revokeObjectURL", &[address]);
        });
        Ok(())
    })();
    if let Err(error) = begun {
        let error: JsValue = error;
        send(Event::NotGiven(js::said(&error)));
    }
}

/// The browser's own printing.
pub(super) fn print() {
    if let Err(error) = js::call(&window(), "print", &[]) {
        leptos::logging::error!("print: {}", js::said(&error));
    }
}
