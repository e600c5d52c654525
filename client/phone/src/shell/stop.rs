//! Stops: the tags that hang out, the slip that is written, and what is always at hand.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::stop::{Event, Line, View};

/// The tags of stops that nothing has resumed, at the top.
pub(super) fn tags<E: Into<crate::app::Event> + 'static>(
    stops: impl Fn() -> Vec<Line> + Send + Sync + 'static,
    event: fn(Event) -> E,
) -> impl IntoView {
    let tag = move |line: Line| {
        let Line { stop, step, here, tag, found, by } = line;
        let resume = here.then(|| {
            view! { <button class="plain" on:click=move |_| send(event(Event::Resume(stop)))>"Go on with it"</button> }
        });
        let of = if here { String::new() } else { format!("{step}: ") };
        view! {
            <li class="tag" class:elsewhere=!here>
                <strong>"Stopped. " {tag}</strong>
                <span>{of} {found} " (" {by} ")"</span>
                {resume}
            </li>
        }
    };
    move || {
        let stops = stops();
        (!stops.is_empty())
            .then(|| view! { <ul class="tags" role="alert">{stops.into_iter().map(tag).collect_view()}</ul> })
    }
}

/// The slip, where it is open.
pub(super) fn slip<E: Into<crate::app::Event> + 'static>(
    slip: Memo<Option<View>>,
    keeping: impl Fn() -> bool + Copy + Send + Sync + 'static,
    event: fn(Event) -> E,
) -> impl IntoView {
    let of = move |take: fn(View) -> String| slip.get().map(take).unwrap_or_default();
    view! {
        <Show when=move || slip.get().is_some()>
            <section class="slip" aria-label=move || of(|slip| slip.title.to_owned())>
                <h2>{move || of(|slip| slip.title.to_owned())}</h2>
                <p>{move || of(|slip| slip.now.to_owned())}</p>
                {parts::asked(move || of(|slip| slip.asked.to_owned()), move || of(|slip| slip.words), move |text| event(Event::Words(text)))}
                <Show when=move || slip.get().is_some_and(|slip| slip.tag.is_some())>
                    {parts::asked(|| "Tag that everybody sees".to_owned(), move || of(|slip| slip.tag.unwrap_or_default()), move |text| event(Event::Tag(text)))}
                </Show>
                <div class="pair">
                    <button class="plain" on:click=move |_| send(event(Event::Close))>"Put it away"</button>
                    <button class="give" prop:disabled=keeping on:click=move |_| send(event(Event::Keep))>{move || of(|slip| slip.keep.to_owned())}</button>
                </div>
            </section>
        </Show>
    }
}

/// What is always at hand while there is work.
pub(super) fn at_hand<E: Into<crate::app::Event> + 'static>(event: fn(Event) -> E) -> impl IntoView {
    view! {
        <button class="aside" on:click=move |_| send(event(Event::Resists))>"It resists"</button>
        <button class="aside" on:click=move |_| send(event(Event::ForToday))>"Stop for today"</button>
    }
}
