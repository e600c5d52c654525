//! What screens are put together from.

use leptos::prelude::*;

use super::{go, send};
use crate::app::{Event, Failure, Head, Place};

/// The sheet's head: where one is, who holds the phone, the truth about storage.
pub(super) fn head(head: Memo<Head>) -> impl IntoView {
    let up = move || {
        head.get().up.map(|place| {
            let address = format!("#{}", place.address());
            view! { <a class="up" href=address on:click=go(place) aria-label="up">"<"</a> }
        })
    };
    let who = move || {
        head.get().who.map(|name| {
            let place = Place::Who(Box::new(Place::Records));
            let address = format!("#{}", place.address());
            view! { <a class="who" href=address on:click=go(place)>{name}</a> }
        })
    };
    view! {
        <header>
            {up}
            <h1>{move || head.get().title}</h1>
            {who}
            <p class="chip" class:wants=move || head.get().chip.wants role="status">{move || head.get().chip.text}</p>
        </header>
        <Show when=move || head.with(|head| !head.ways.is_empty())>
            <nav class="ways" aria-label="from here">{move || head.get().ways.into_iter().map(way).collect_view()}</nav>
        </Show>
        <Show when=move || head.get().following>
            <p class="band">"another tab has the records open: this one only looks on"</p>
        </Show>
        <Show when=move || head.get().update>
            <button class="band" on:click=|_| send(Event::Update)>"a newer version is here: go over to it"</button>
        </Show>
    }
}

fn way((words, place): (&'static str, Place)) -> impl IntoView {
    let address = format!("#{}", place.address());
    view! { <a href=address on:click=go(place)>{words}</a> }
}

/// What is said over everything.
pub(super) fn message(message: Memo<Option<Failure>>) -> impl IntoView {
    move || {
        message.get().map(|failure| {
            view! {
                <section class="message" role="alert">
                    <p class="cause">{failure.cause}</p>
                    <p>{failure.way_out}</p>
                    <button on:click=|_| send(Event::Dismissed)>"read"</button>
                </section>
            }
        })
    }
}

/// What is wrong on a screen.
pub(super) fn problem(problem: impl Fn() -> Option<Failure> + Send + Sync + 'static) -> impl IntoView {
    view! {
        <div class="problem" role="alert">
            {move || problem().map(|failure| view! {
                <p class="cause">{failure.cause}</p>
                <p>{failure.way_out}</p>
            })}
        </div>
    }
}

/// That a first person's values are kept from this one at so many stations, and having them shown all the same.
pub(super) fn hidden<E: Into<Event> + 'static>(stations: usize, reveal: fn() -> E) -> impl IntoView {
    (stations > 0).then(|| {
        let many = gudgeon_core::sheet::count(stations, "station");
        view! {
            <section class="hidden-values">
                <p>{format!("{many}: read by one person, hidden until a second one has read it.")}</p>
                <button class="settle" on:click=move |_| send(reveal())>"Show it; mine is then not blind"</button>
            </section>
        }
    })
}

/// A field with its name; what is typed is sent letter by letter.
pub(super) fn field<E: Into<Event> + 'static>(
    name: &'static str,
    kind: &'static str,
    value: impl Fn() -> String + Send + Sync + 'static,
    typed: fn(String) -> E,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>{name}</span>
            <input
                type=kind
                autocomplete="off"
                autocapitalize="off"
                spellcheck="false"
                prop:value=value
                on:input=move |event| send(typed(event_target_value(&event)))
            />
        </label>
    }
}

/// A field whose name may change; what is typed is sent letter by letter.
pub(super) fn asked<E: Into<Event> + 'static>(
    name: impl Fn() -> String + Send + Sync + 'static,
    value: impl Fn() -> String + Send + Sync + 'static,
    typed: impl Fn(String) -> E + 'static,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>{name}</span>
            <input type="text" autocomplete="off" spellcheck="false" prop:value=value on:input=move |event| send(typed(event_target_value(&event))) />
        </label>
    }
}

/// The PIN, of somebody who is named or of whoever is meant; locked while it is tried.
pub(super) fn asked_pin<E: Into<Event> + 'static>(
    whose: impl Fn() -> Option<String> + Send + Sync + 'static,
    value: impl Fn() -> String + Send + Sync + 'static,
    locked: impl Fn() -> bool + Send + Sync + 'static,
    typed: impl Fn(String) -> E + 'static,
) -> impl IntoView {
    view! {
        <label class="field">
            <span>"PIN" {move || whose().map(|name| format!(" of {name}"))}</span>
            <input type="password" autocomplete="off" prop:disabled=locked prop:value=value on:input=move |event| send(typed(event_target_value(&event))) />
        </label>
    }
}

/// Where something is kept, said once it is.
pub(super) fn kept(
    kept: impl Fn() -> Option<(&'static str, &'static str)> + Send + Sync + 'static,
) -> impl IntoView {
    view! {
        <div role="status">
            {move || kept().map(|(what, place)| view! { <p class="kept">{what} ", " <span class="where">{place}</span></p> })}
        </div>
    }
}

/// What to mind, where the hands are.
pub(super) fn cautions(
    cautions: impl Fn() -> (Vec<&'static str>, &'static str) + Send + Sync + 'static,
) -> impl IntoView {
    move || {
        let (cautions, foreword) = cautions();
        (!cautions.is_empty()).then(|| {
            let one = |text| view! { <li>{text}</li> };
            view! {
                <section class="mind" aria-label="cautions">
                    <ul>{cautions.into_iter().map(one).collect_view()}</ul>
                    <p>{foreword}</p>
                </section>
            }
        })
    }
}

/// The one full-width action at the bottom.
pub(super) fn action(
    text: impl Fn() -> String + Send + Sync + 'static,
    off: impl Fn() -> bool + Send + Sync + 'static,
    act: impl Fn() + 'static,
) -> impl IntoView {
    view! { <button class="action" prop:disabled=off on:click=move |_| act()>{text}</button> }
}
