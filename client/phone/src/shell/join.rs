//! Joining by an invite.

use leptos::prelude::*;

use super::{parts, send};
use crate::app::join::{Event, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="sheet">
            <p>"Paste the code of the invite that the lead gave you."</p>
            <label class="field">
                <span>"Code of the invite"</span>
                <textarea
                    rows="5"
                    autocapitalize="characters"
                    spellcheck="false"
                    prop:value=move || view.get().code
                    on:input=move |event| send(Event::Code(event_target_value(&event)))
                ></textarea>
            </label>
            {parts::field("Whose phone is it", "text", move || view.get().label, Event::Label)}
            {parts::field("A PIN for it", "password", move || view.get().pin, Event::Pin)}
            {parts::field("The PIN once more", "password", move || view.get().again, Event::Again)}
            {parts::problem(move || view.get().problem)}
            <button class="row" on:click=|_| send(Event::Worksheets)>"Worksheets: they need no workshop"</button>
        </section>
        {parts::action(
            move || view.get().doing.unwrap_or("Join").to_owned(),
            move || view.get().doing.is_some(),
            || send(Event::Join),
        )}
    }
}
