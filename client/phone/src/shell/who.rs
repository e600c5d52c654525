//! Who holds the phone.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::who::{Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let busy = move || view.with(|view| view.busy);
    let key = move |(key, name, meant)| {
        view! {
            <li><button class="row" aria-pressed=if meant { "true" } else { "false" } prop:disabled=busy on:click=move |_| send(Event::Choose(key))>{name}</button></li>
        }
    };
    view! {
        <section class="sheet">
            <ul class="rows">{move || view.get().keys.into_iter().map(key).collect_view()}</ul>
            {parts::asked_pin(|| None, move || view.get().pin, busy, Event::Pin)}
            <p class="quiet" role="status">{move || view.get().wrong}</p>
            {parts::problem(move || view.get().problem)}
            <Show when=move || view.get().holds.is_some()>
                <button class="row" prop:disabled=busy on:click=|_| send(Event::LetGo)>"Put the phone down: nobody holds it"</button>
            </Show>
        </section>
        {parts::action(
            move || if view.get().busy { "opening the key\u{2026}" } else { "That is me" }.to_owned(),
            move || view.get().busy,
            || send(Event::Open),
        )}
    }
}
