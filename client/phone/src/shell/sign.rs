//! A step, and signing it.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::sign::{Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let evidence = |(asked, found, met): (String, String, bool)| {
        let mark = if met { "there" } else { "missing" };
        view! { <li class="evidence" class:met=met><span>{mark}</span> {asked} ": " <em>{found}</em></li> }
    };
    view! {
        <section class="sheet">
            <p>{move || view.get().title} ", " <em>{move || view.get().progress}</em></p>
            <ul class="cautions">
                {move || view.get().cautions.into_iter().map(|text| view! { <li>{text}</li> }).collect_view()}
            </ul>
            <Show when=move || !view.get().cautions.is_empty()>
                <p class="quiet">{move || view.get().foreword}</p>
            </Show>
            <ul class="rows">{move || view.get().evidence.into_iter().map(evidence).collect_view()}</ul>
            {move || view.get().why_not.map(|why| view! { <p class="quiet">{why}</p> })}
            <Show when=move || view.get().can_sign && view.get().signer.is_some()>
                {parts::field("PIN", "password", move || view.get().pin, Event::Pin)}
            </Show>
            {parts::problem(move || view.get().problem)}
            {move || view.get().signed.map(|place| view! { <p class="kept" role="status">"signed, " <span class="where">{place}</span></p> })}
        </section>
        {parts::action(
            move || {
                let view = view.get();
                match (view.busy, view.signer) {
                    (true, _) => "signing".to_owned(),
                    (false, None) => "Say who you are".to_owned(),
                    (false, Some(name)) => format!("Sign as {name}"),
                }
            },
            move || view.get().busy || !view.get().can_sign,
            || send(Event::Sign),
        )}
    }
}
