//! The records as cards.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::records::{Card, Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="sheet">
            {move || view.get().waits.map(|text| view! { <p class="band">{text}</p> })}
            <ul class="rows">{move || view.get().cards.into_iter().map(card).collect_view()}</ul>
            <Show when=move || view.get().cards.is_empty() && view.get().waits.is_none()>
                <p class="quiet">"no record is on this phone yet"</p>
            </Show>
            {move || view.get().root.map(|root| view! { <p class="quiet">"root digits " <code>{root}</code></p> })}
        </section>
        {parts::action(
            move || view.get().holder.map_or_else(|| "Say who you are".to_owned(), |name| format!("{name} holds the phone")),
            || false,
            || send(Event::Who),
        )}
    }
}

fn card(card: Card) -> impl IntoView {
    let Card { record, name, lines, here_only } = card;
    let here =
        (here_only > 0).then(|| view! { <span class="here">{format!("{here_only} here only")}</span> });
    view! {
        <li>
            <button class="card" on:click=move |_| send(Event::Open(record))>
                <strong>{name}</strong>
                {lines.into_iter().map(|line| view! { <span>{line}</span> }).collect_view()}
                {here}
            </button>
        </li>
    }
}
