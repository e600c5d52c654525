//! The little that is needed beside the typed bindings: calls by name, timers, promises.

use js_sys::{Array, Function, Promise, Reflect};
use leptos::prelude::window;
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

/// A field of an object; undefined where there is none.
pub(super) fn get(object: &JsValue, name: &str) -> JsValue {
    Reflect::get(object, &JsValue::from_str(name)).unwrap_or(JsValue::UNDEFINED)
}

/// Sets a field of an object.
pub(super) fn set(object: &JsValue, name: &str, value: &JsValue) {
    // Only a frozen object refuses, and ours are our own.
    let _ = Reflect::set(object, &JsValue::from_str(name), value);
}

/// Calls a method by name; an error where there is none.
pub(super) fn call(object: &JsValue, name: &str, arguments: &[JsValue]) -> Result<JsValue, JsValue> {
    let method: Function = get(object, name).dyn_into()?;
    method.apply(object, &arguments.iter().collect::<Array>())
}

/// Calls a method that answers with a promise, and waits for it.
pub(super) async fn call_later(
    object: &JsValue,
    name: &str,
    arguments: &[JsValue],
) -> Result<JsValue, JsValue> {
    JsFuture::from(Promise::resolve(&call(object, name, arguments)?)).await
}

/// Makes an object of a class of the browser's.
pub(super) fn construct(class: &str, arguments: &[JsValue]) -> Result<JsValue, JsValue> {
    let class: Function = get(&window(), class).dyn_into()?;
    Reflect::construct(&class, &arguments.iter().collect::<Array>())
}

/// An object with these fields.
pub(super) fn object(fields: &[(&str, JsValue)]) -> JsValue {
    let object = js_sys::Object::new().into();
    fields.iter().for_each(|(name, value)| set(&object, name, value));
    object
}

/// Does something after so many milliseconds.
pub(super) fn after(milliseconds: u32, then: impl FnOnce() + 'static) {
    let then = Closure::once_into_js(then);
    let milliseconds = i32::try_from(milliseconds).unwrap_or(i32::MAX);
    let timer =
        window().set_timeout_with_callback_and_timeout_and_arguments_0(then.unchecked_ref(), milliseconds);
    if timer.is_err() {
        leptos::logging::error!("no timer");
    }
}

/// Does something whenever an event of this name comes, for as long as the page lives.
pub(super) fn on(target: &JsValue, name: &str, then: impl FnMut(JsValue) + 'static) {
    let listener = Closure::<dyn FnMut(JsValue)>::new(then).into_js_value();
    if call(target, "addEventListener", &[JsValue::from_str(name), listener]).is_err() {
        leptos::logging::error!("no listener for {name}");
    }
}

/// What an error says.
pub(super) fn said(error: &JsValue) -> String {
    let text = |name| get(error, name).as_string().filter(|text| !text.is_empty());
    let (name, message) = (text("name"), text("message"));
    match (name, message) {
        (Some(name), Some(message)) => format!("{name}: {message}"),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => error.as_string().unwrap_or_else(|| format!("{error:?}")),
    }
}
