//! The records as cards.

use leptos::prelude::*;

use super::{drawing, parts, send};
use crate::app::records::{Card, Event, Glance, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="cards">
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
    let Card { record, name, glance, here_only } = card;
    let here =
        (here_only > 0).then(|| view! { <span class="here">{format!("{here_only} here only")}</span> });
    let glance = match glance {
        Some(seen) => at_a_glance(&seen).into_any(),
        None => view! { <span class="quiet">"being read"</span> }.into_any(),
    };
    view! {
        <li>
            <button class="engine-card" on:click=move |_| send(Event::Open(record))>
                <span class="over"><strong>{name}</strong>{here}</span>
                {glance}
            </button>
        </li>
    }
}

fn at_a_glance(glance: &Glance) -> impl IntoView + use<> {
    let (signed, all) = glance.signed;
    let next = glance.next.clone().map(|(place, what)| {
        let place = (!place.is_empty()).then(|| view! { <b>{place}", "</b> });
        view! { <span class="next"><em>"next "</em>{place}{what}</span> }
    });
    let needs =
        glance.needs.iter().map(|(state, many, what)| drawing::badge(*state, format!("{many} {what}")));
    let stopped = (glance.stopped > 0).then(|| view! { <strong class="outside">"work is stopped"</strong> });
    view! {
        <span class="quiet">{glance.engine.clone()}</span>
        {stopped}
        {next}
        {how_far(signed, all)}
        <span class="needs">{needs.collect_view()}</span>
    }
}

/// Steps signed of all, as a length and in figures.
fn how_far(signed: usize, all: usize) -> impl IntoView {
    let along = 100 * signed / all.max(1);
    view! {
        <span class="how-far">
            <svg class="along" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true">
                <rect class="edge" x="0" y="0" width="100" height="6" />
                <rect class="done" x="0" y="0" width=along height="6" />
            </svg>
            {format!("{signed} of {all} steps signed")}
        </span>
    }
}
