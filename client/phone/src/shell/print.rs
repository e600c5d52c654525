//! The printed record, in a tree of its own under one element: its style does not reach the app, and
//! the app's does not reach it.

use leptos::html::Div;
use leptos::prelude::*;
use wasm_bindgen::JsValue;

use super::{js, parts, send};
use crate::app::print::{Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let place: NodeRef<Div> = NodeRef::new();
    let page = Memo::new(move |_| view.with(|view| view.page.clone()));
    Effect::new(move |_| {
        if let (Some(element), Some((style, body))) = (place.get(), page.get()) {
            let element: &JsValue = element.as_ref();
            if let Err(error) = fill(element, &style, &body) {
                leptos::logging::error!("printed record: {}", js::said(&error));
            }
        }
    });
    view! {
        <section class="sheet noprint">
            {parts::problem(move || view.get().problem)}
            <Show when=move || view.with(|view| view.page.is_none() && view.problem.is_none() && view.hidden == 0)>
                <p class="quiet" role="status">"drawing the sheet"</p>
            </Show>
            {move || parts::hidden(view.with(|view| view.hidden), || Event::Reveal)}
            <Show when=move || view.with(|view| view.page.is_some())>
                <button class="settle" on:click=|_| send(Event::GiveOut)>
                    "Give it on as a file, " {move || view.get().size}
                </button>
            </Show>
        </section>
        <div class="printed" node_ref=place></div>
        {parts::action(
            || "Print".to_owned(),
            move || view.with(|view| view.page.is_none()),
            || send(Event::Print),
        )}
    }
}

/// Sets the page under the element. The style is made here and not written into the page, which the
/// policy would not take; the page has no script, and none would run.
fn fill(element: &JsValue, style: &str, body: &str) -> Result<(), JsValue> {
    let root = js::get(element, "shadowRoot");
    let root = if root.is_truthy() {
        root
    } else {
        js::call(element, "attachShadow", &[js::object(&[("mode", "open".into())])])?
    };
    let sheet = js::construct("CSSStyleSheet", &[])?;
    js::call(&sheet, "replaceSync", &[style.into()])?;
    js::set(&root, "adoptedStyleSheets", &js_sys::Array::of1(&sheet).into());
    js::set(&root, "innerHTML", &body.into());
    Ok(())
}
