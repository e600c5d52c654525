//! The worksheets.

use leptos::prelude::*;

use super::{go, parts};
use crate::app::Place;
use crate::app::worksheets::{Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let row = |(name, title): (&'static str, &'static str)| {
        let place = Place::Worksheet(name.to_owned());
        let address = format!("#{}", place.address());
        view! { <li><a class="row" href=address on:click=go(place)><strong>{name}</strong> <span>{title}</span></a></li> }
    };
    let section = move |(title, sheets): (&'static str, Vec<(&'static str, &'static str)>)| {
        view! { <section><h2>{title}</h2><ul class="rows">{sheets.into_iter().map(row).collect_view()}</ul></section> }
    };
    view! {
        <section class="sheet">
            {parts::field("Look for", "search", move || view.get().find, Event::Find)}
            {move || view.get().sections.into_iter().map(section).collect_view()}
            <Show when=move || view.get().sections.is_empty()>
                <p class="quiet" role="status">"no worksheet has these words"</p>
            </Show>
        </section>
    }
}
