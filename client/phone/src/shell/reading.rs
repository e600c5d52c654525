//! Taking one reading.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::reading::{Event, View};

/// The screen's own keys, in the order of a phone's.
const KEYS: [char; 13] = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', '-', '<'];

const UNITS: [&str; 4] = ["mm", "µm", "in", "thou"];

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let station = |(name, read, meant): (String, String, bool)| {
        let to = name.clone();
        view! {
            <button class="station" aria-pressed=pressed(meant) on:click=move |_| send(Event::Station(to.clone()))>
                {name} <em>{read}</em>
            </button>
        }
    };
    let condition = |(word, about, stated): (&'static str, &'static str, bool)| {
        view! {
            <button class="station" aria-pressed=pressed(stated) title=about on:click=move |_| send(Event::Condition(word))>{word}</button>
        }
    };
    let unit = move |unit: &'static str| {
        view! {
            <button class="unit" aria-pressed=move || pressed(view.get().unit == unit) on:click=move |_| send(Event::Unit(unit.to_owned()))>{unit}</button>
        }
    };
    let key = |key: char| {
        let name = if key == '<' { "take one away".to_owned() } else { key.to_string() };
        view! { <button class="key" aria-label=name on:click=move |_| send(Event::Key(key))>{key.to_string()}</button> }
    };
    view! {
        <section class="sheet">
            <div class="choices">{move || view.get().stations.into_iter().map(station).collect_view()}</div>
            <div class="choices">{move || view.get().conditions.into_iter().map(condition).collect_view()}</div>
            {parts::field("Gauge", "text", move || view.get().gauge, Event::Gauge)}
            {parts::field("Temperature of both, °C", "text", move || view.get().temperature, Event::Temperature)}
            <output class="value" aria-label="value">{move || view.get().typed} <small>{move || view.get().unit}</small></output>
            <div class="choices">{UNITS.into_iter().map(unit).collect_view()}</div>
            <div class="keypad">{KEYS.into_iter().map(key).collect_view()}</div>
            {parts::problem(move || view.get().problem)}
            {move || view.get().kept.map(|(text, place)| view! { <p class="kept" role="status">"kept: " <span>{text}</span> ", " <span class="where">{place}</span></p> })}
        </section>
        {parts::action(
            move || if view.get().keeping { "keeping" } else { "Keep" }.to_owned(),
            move || view.get().keeping,
            || send(Event::Keep),
        )}
    }
}

const fn pressed(yes: bool) -> &'static str {
    if yes { "true" } else { "false" }
}
