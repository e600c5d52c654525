//! What changed, and what needs somebody.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::changed::{Card, Event, Line, View, Way};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let open = Memo::new(move |_| view.with(|view| view.open.clone()));
    let conceding = Memo::new(move |_| view.with(|view| view.conceding));
    let may_concede = Memo::new(move |_| view.with(|view| view.may_concede));
    let cards = move || {
        let cards = open.get().into_iter().enumerate();
        cards.map(|(at, card)| draw_card(view, at, card, conceding, may_concede)).collect_view()
    };
    view! {
        <section class="sheet">
            {move || view.get().nothing.map(|text| view! { <p class="quiet">{text}</p> })}
            <p class="summary">{move || view.get().summary}</p>
            {parts::problem(move || view.get().problem)}
            {move || view.get().kept.map(|text| view! { <p class="kept" role="status">{text}</p> })}
            {move || parts::hidden(view.with(|view| view.hidden), || Event::Reveal)}
            {cards}
            {move || refused(view.get().refused)}
            {move || came(view.get())}
            {move || rest(view.get().rest)}
        </section>
        {parts::action(
            move || {
                let view = view.get();
                match (view.busy, view.unseen) {
                    (true, _) => "keeping",
                    (false, true) => "I have seen this",
                    (false, false) => "All of it was seen",
                }
                .to_owned()
            },
            move || view.with(|view| view.busy || !view.unseen),
            || send(Event::Seen),
        )}
    }
}

fn draw_card(
    view: Memo<View>,
    at: usize,
    card: Card,
    conceding: Memo<Option<usize>>,
    may_concede: Memo<bool>,
) -> impl IntoView {
    let Card { state, title, place, text, hint, time, way, new, can_concede, .. } = card;
    let (class, is_way) = (format!("finding {state}"), matches!(way, Way::Concede(_)));
    let words = move || {
        (conceding.get() == Some(at)).then(|| {
            view! {
                {parts::asked(
                    move || if view.with(|view| view.voids) { "Why it does not count" } else { "Why it is accepted" }.to_owned(),
                    move || view.get().words,
                    Event::Words,
                )}
                <button class="settle" on:click=|_| send(Event::KeepWords)>
                    {move || if view.with(|view| view.voids) { "Void it" } else { "Concede it" }}
                </button>
            }
        })
    };
    view! {
        <article class=class>
            <h2>{new.then(|| view! { <span class="new">"new"</span> " " })} {title}</h2>
            <p><strong>{place}</strong></p>
            <p>{text}</p>
            {times(time)}
            <p class="quiet">{hint}</p>
            {draw_way(at, way)}
            <Show when=move || can_concede && !is_way && may_concede.get()>
                <button
                    class="settle quiet"
                    aria-expanded=move || if conceding.get() == Some(at) { "true" } else { "false" }
                    on:click=move |_| send(Event::Concede(at))
                >"Concede, with the reason"</button>
            </Show>
            {words}
        </article>
    }
}

fn draw_way(at: usize, way: Way) -> impl IntoView {
    match way {
        Way::Go(place, words) => {
            view! { <button class="settle" on:click=move |_| send(Event::Go(place.clone()))>{words}</button> }.into_any()
        }
        Way::Concede(words) => {
            view! { <button class="settle" on:click=move |_| send(Event::Concede(at))>{words}</button> }.into_any()
        }
        Way::Void(words) => {
            view! { <button class="settle" on:click=move |_| send(Event::Void(at))>{words}</button> }.into_any()
        }
        Way::Order(one, other) => view! {
            <div class="choices two">
                <button class="settle" on:click=move |_| send(Event::First(at, true))>{format!("First {one}, then {other}")}</button>
                <button class="settle" on:click=move |_| send(Event::First(at, false))>{format!("First {other}, then {one}")}</button>
            </div>
        }
        .into_any(),
    }
}

fn times(lines: Vec<Line>) -> impl IntoView {
    let line = |Line { when, who, text }: Line| {
        view! { <li><time>{when}</time> <span>{who} ": " {text}</span></li> }
    };
    (!lines.is_empty()).then(|| view! { <ol class="times">{lines.into_iter().map(line).collect_view()}</ol> })
}

fn came(view: View) -> impl IntoView {
    let View { came, more, .. } = view;
    (!came.is_empty()).then(|| {
        view! {
            <details>
                <summary>{format!("What came: {}", came.len() + more)}</summary>
                {(more > 0).then(|| view! { <p class="quiet">{format!("{more} more came before these")}</p> })}
                {times(came)}
            </details>
        }
    })
}

fn rest(cards: Vec<Card>) -> impl IntoView {
    let one = |card: Card| {
        let word = if card.conceded { "conceded" } else { "to know" };
        view! {
            <article class="finding known">
                <h2>{card.title} " (" {word} ")"</h2>
                <p><strong>{card.place}</strong></p>
                <p>{card.text}</p>
                <p class="quiet">{card.hint}</p>
            </article>
        }
    };
    (!cards.is_empty()).then(|| {
        view! {
            <details>
                <summary>{format!("Conceded, or only to know: {}", cards.len())}</summary>
                {cards.into_iter().map(one).collect_view()}
            </details>
        }
    })
}

fn refused(all: Vec<(String, String)>) -> impl IntoView {
    let one = |(what, way_out)| view! { <li><strong>{what}</strong> <span>{way_out}</span></li> };
    (!all.is_empty()).then(|| {
        view! {
            <article class="finding outside">
                <h2>"Refused, and kept aside"</h2>
                <ul class="cautions">{all.into_iter().map(one).collect_view()}</ul>
                <button class="settle" on:click=|_| send(Event::Forget)>"Looked at: forget it"</button>
            </article>
        }
    })
}
