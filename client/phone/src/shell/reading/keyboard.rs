//! A keyboard, a gauge that types like one, and paste: wherever on the screen the focus is.

use std::cell::Cell;
use std::rc::Rc;

use leptos::ev;
use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlElement;

use super::super::{js, send};
use crate::app::reading::{Event, Panel, View};

/// A gauge types faster than a hand, milliseconds: its Enter keeps, whatever has the focus.
const BURST: f64 = 300.0;

pub(super) fn listen(view: Memo<View>) {
    let last = Rc::new(Cell::new(f64::MIN));
    let keys = window_event_listener(ev::keydown, move |event| {
        if event.ctrl_key() || event.meta_key() || event.alt_key() || is_field(&event) {
            return;
        }
        let burst = event.time_stamp() - last.get() < BURST;
        let on_button = is_button(&event);
        let (typing, panel) = view.with_untracked(|view| (!view.typed.is_empty(), view.panel));
        let sent = match event.key().as_str() {
            "Enter" if burst || !on_button => Some(Event::Enter),
            "Backspace" => Some(Event::Key('<')),
            "Escape" if panel != Panel::Keys => Some(Event::Panel(panel)),
            " " if burst && typing => Some(Event::Key(' ')),
            key => one(key).filter(|key| typing || !key.is_alphabetic()).map(Event::Key),
        };
        if let Some(sent) = sent {
            if matches!(sent, Event::Key(_)) {
                last.set(event.time_stamp());
            }
            event.prevent_default();
            send(sent);
        }
    });
    let paste = window_event_listener(ev::paste, |event| {
        if is_field(&event) {
            return;
        }
        let data = js::get(&event, "clipboardData");
        if let Some(text) =
            js::call(&data, "getData", &["text".into()]).ok().and_then(|text| text.as_string())
        {
            event.prevent_default();
            send(Event::Value(text));
        }
    });
    on_cleanup(move || {
        keys.remove();
        paste.remove();
    });
}

/// The letter of a key that writes one.
fn one(key: &str) -> Option<char> {
    let mut letters = key.chars();
    let first =
        letters.next().filter(|letter| letter.is_alphanumeric() || ".,+-/\u{b0}\"".contains(*letter))?;
    letters.next().is_none().then_some(first)
}

fn tag(event: &web_sys::Event) -> String {
    let target = event.target().and_then(|target| target.dyn_into::<HtmlElement>().ok());
    target.map(|element| element.tag_name()).unwrap_or_default()
}

fn is_field(event: &web_sys::Event) -> bool {
    matches!(tag(event).as_str(), "INPUT" | "TEXTAREA" | "SELECT")
}

fn is_button(event: &web_sys::Event) -> bool {
    matches!(tag(event).as_str(), "BUTTON" | "A")
}
