//! One engine.

use leptos::prelude::*;

use super::{drawing, go, send};
use crate::app::record::{Event, Feature, Fold, Line, Seen, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    // Drawn anew only where the record has changed.
    let seen = Memo::new(move |_| view.with(|view| view.seen.clone()));
    view! {
        {move || view.get().nothing.map(|text| view! { <p class="quiet sheet">{text}</p> })}
        <Show when=move || view.get().nothing.is_none()>{move || whole(view, &seen.get())}</Show>
    }
}

fn whole(view: Memo<View>, seen: &Seen) -> impl IntoView + use<> {
    let stop = |text: &String| view! { <p class="stop">{text.clone()}</p> };
    let (signed, all) = seen.signed;
    view! {
        {seen.stops.iter().map(stop).collect_view()}
        {seen.not_judged.clone().map(|text| view! { <p class="stop">{text}</p> })}
        <section class="drawing" aria-label="The engine">
            {seen.figures.iter().map(|(figure, places)| drawing::figure(figure, places)).collect_view()}
            <ul class="legend">
                {seen.legend.iter().map(|state| view! { <li>{drawing::badge(*state, state.word())}</li> }).collect_view()}
            </ul>
        </section>
        <section class="next" aria-label="What is next">
            <h2>"What is next"<small>{format!("{signed} of {all} signed")}</small></h2>
            <ul class="rows">{seen.next.iter().map(line).collect_view()}</ul>
            {lines(view, Fold::Besides, "more that can be done", &seen.besides)}
            {lines(view, Fold::Waits, "that wait, and for what", &seen.waits)}
            {features(view, &seen.features)}
        </section>
    }
}

fn line(line: &Line) -> impl IntoView + use<> {
    let Line { place, title, what, state, word, given, mine, action: (action, to) } = line.clone();
    let address = format!("#{}", to.address());
    let spoken = format!("{action}: {title}{}{place}", if place.is_empty() { "" } else { ", " });
    let heading = if place.is_empty() { title.clone() } else { place };
    let title = (heading != title).then(|| view! { <span>{title}</span> });
    let given = given.map(|name| view! { <span class="quiet">{format!("given to {name}")}</span> });
    let other = (!mine).then(|| view! { <span class="quiet">"for another to sign"</span> });
    view! {
        <li class=format!("line {}", state.class())>
            <div class="what"><strong>{heading}</strong>{title}{drawing::badge(state, word)}<span class="quiet">{what}</span>{given}{other}</div>
            <a class="go" href=address aria-label=spoken on:click=go(to)>{action}</a>
        </li>
    }
}

/// What is folded away until somebody wants it.
fn folded(
    view: Memo<View>,
    fold: Fold,
    what: String,
    shown: impl Fn() -> AnyView + Send + Sync + 'static,
) -> impl IntoView {
    let open = Memo::new(move |_| view.with(|view| view.open.contains(&fold)));
    let expanded = move || if open.get() { "true" } else { "false" };
    view! {
        <div class="folded">
            <button class="fold" aria-expanded=expanded on:click=move |_| send(Event::Fold(fold))>{what}</button>
            <ul class="rows">{move || open.get().then(&shown)}</ul>
        </div>
    }
}

fn lines(view: Memo<View>, fold: Fold, what: &str, all: &[Line]) -> impl IntoView + use<> {
    let all = all.to_vec();
    let what = format!("{} {what}", all.len());
    (!all.is_empty())
        .then(move || folded(view, fold, what, move || all.iter().map(line).collect_view().into_any()))
}

fn features(view: Memo<View>, all: &[Feature]) -> impl IntoView + use<> {
    let all = all.to_vec();
    let shown = move || all.iter().map(feature).collect_view().into_any();
    folded(view, Fold::Features, "everything else that is measured".to_owned(), shown)
}

fn feature(feature: &Feature) -> impl IntoView + use<> {
    let Feature { title, state, place } = feature.clone();
    let address = format!("#{}", place.address());
    view! {
        <li><a class="beside" href=address on:click=go(place)><span>{title}</span>{drawing::badge(state, state.word())}</a></li>
    }
}
