//! One record.

use leptos::prelude::*;

use super::send;
use crate::app::record::{Event, FeatureLine, StepLine, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="sheet">
            {move || view.get().nothing.map(|text| view! { <p class="quiet">{text}</p> })}
            <h2>"Steps"</h2>
            <ul class="rows">{move || view.get().steps.into_iter().map(step).collect_view()}</ul>
            <h2>"What is read"</h2>
            <ul class="rows">{move || view.get().features.into_iter().map(feature).collect_view()}</ul>
        </section>
    }
}

fn step(line: StepLine) -> impl IntoView {
    let StepLine { id, title, progress, live } = line;
    let to = id.clone();
    view! {
        <li>
            <button class="row" class:live=live on:click=move |_| send(Event::Step(to.clone()))>
                <strong>{id}</strong> <span>{title}</span> <em>{progress}</em>
            </button>
        </li>
    }
}

fn feature(line: FeatureLine) -> impl IntoView {
    let FeatureLine { path, values } = line;
    let value = |(name, stands): (&'static str, String)| {
        let feature = path.clone();
        view! {
            <button class="row" on:click=move |_| send(Event::Read(feature.clone(), name.to_owned()))>
                <span>{name}</span> <em>{stands}</em>
            </button>
        }
    };
    view! { <li><h3>{path.clone()}</h3>{values.into_iter().map(value).collect_view()}</li> }
}
