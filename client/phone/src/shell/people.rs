//! People and this phone.

use js_sys::Uint8Array;
use leptos::prelude::*;
use wasm_bindgen_futures::spawn_local;

use super::{js, parts, send};
use crate::app::people::{AskRow, Event, Invited, KeyRow, PersonRow, RecordRow, Report, ReportLine, View};
use crate::app::{Event as AppEvent, Failure, Place};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="sheet">
            {parts::problem(move || view.get().problem)}
            {move || view.get().busy.map(|text| view! { <p class="kept" role="status">{text}</p> })}
            {move || view.get().kept.map(|text| view! { <p class="kept" role="status">{text}</p> })}
            <h2>"Keys on this phone"</h2>
            <ul class="rows">{move || view.get().keys.into_iter().map(key).collect_view()}</ul>
            <button class="settle" on:click=|_| send(Event::Join)>"Join another person to this phone"</button>
            {move || asks(view.get())}
            {move || findings(view.get())}
            <h2>"Who works here"</h2>
            <ul class="rows">{move || view.get().people.into_iter().map(person).collect_view()}</ul>
            {move || view.get().root.map(|root| view! {
                <p class="quiet">"Root digits, as on the printed root sheet: " <code>{root}</code></p>
            })}
        </section>
        <Show when=move || view.get().leads>{invite(view)}</Show>
        {storage(view)}
        {carry(view)}
        <section class="sheet">
            <h2>"This app"</h2>
            <p>"Build " <code>{move || view.get().build.unwrap_or_else(|| "not said".to_owned())}</code></p>
            <p class="quiet">"A newer build waits until you go over to it: a band at the top says so."</p>
            <p class="quiet">
                "Whoever serves this page could serve a changed one, and that one could sign with your key while you have it open: take builds from your own office only, and compare the digits with the lead's."
            </p>
        </section>
        {parts::action(
            move || view.get().holder.map_or_else(|| "Say who holds the phone".to_owned(), |name| format!("{name} holds the phone: change")),
            || false,
            || send(Event::Who),
        )}
    }
}

fn key(row: KeyRow) -> impl IntoView {
    let KeyRow { name, digits, state, made, wrong_tries, holds } = row;
    let tries = (wrong_tries > 0)
        .then(|| view! { <span class="here">{format!("{wrong_tries} wrong PINs since")}</span> });
    view! {
        <li class="row">
            <strong>{name}</strong>
            {holds.then(|| view! { <span>"holds the phone"</span> })}
            <span>{state}</span>
            <em>"key " {digits} ", here since " {made}</em>
            {tries}
        </li>
    }
}

fn person(row: PersonRow) -> impl IntoView {
    let PersonRow { name, roles, devices } = row;
    view! { <li class="row"><strong>{name}</strong> <span>{roles}</span> <em>{devices.join("; ")}</em></li> }
}

fn asks(view: View) -> impl IntoView {
    let leads = view.leads;
    let row = move |AskRow { key, who, digits, why }: AskRow| {
        let why = why.unwrap_or_else(|| "the next meeting of the lead who invited lets it in".to_owned());
        view! {
            <li class="finding not-proven">
                <p><strong>{who}</strong> " asks to be let in, key " <code>{digits}</code></p>
                <p class="quiet">{why}</p>
                {leads.then(|| view! {
                    <p>"Let it in only if its owner reads these digits to you."</p>
                    <button class="settle" on:click=move |_| send(Event::LetIn(key))>"Let it in"</button>
                })}
            </li>
        }
    };
    (!view.asks.is_empty()).then(|| {
        view! { <h2>"Waits to be let in"</h2><ul class="rows">{view.asks.into_iter().map(row).collect_view()}</ul> }
    })
}

fn findings(view: View) -> impl IntoView {
    let row = |(words, way_out)| {
        view! { <li class="finding not-proven"><p>{words}</p><p class="quiet">{way_out}</p></li> }
    };
    (!view.findings.is_empty()).then(|| {
        view! { <h2>"To settle in the workshop"</h2><ul class="rows">{view.findings.into_iter().map(row).collect_view()}</ul> }
    })
}

fn invite(view: Memo<View>) -> impl IntoView {
    let role = |(at, (words, meant)): (usize, (&'static str, bool))| {
        let pressed = if meant { "true" } else { "false" };
        view! { <button class="station" aria-pressed=pressed on:click=move |_| send(Event::Role(at))>{words}</button> }
    };
    let invited = Memo::new(move |_| view.with(|view| view.invited.clone()));
    view! {
        <section class="sheet">
            <h2>"Invite"</h2>
            {move || invited.get().map(square)}
            {parts::field("Who", "text", move || view.get().name, Event::Name)}
            <div class="choices">{move || view.get().roles.into_iter().enumerate().map(role).collect_view()}</div>
            <button class="settle" on:click=|_| send(Event::Invite)>"Write an invite"</button>
        </section>
    }
}

/// The square is black on white in both themes: a camera has to read it.
fn square(invited: Invited) -> impl IntoView {
    let Invited { name, code, square, side, days } = invited;
    let (frame, label) =
        (format!("0 0 {side} {side}"), format!("the invite for {name} as a square to photograph"));
    view! {
        <figure class="invite">
            <svg viewBox=frame role="img" aria-label=label shape-rendering="crispEdges">
                <rect width=side height=side fill="white"></rect>
                <path d=square fill="black"></path>
            </svg>
            <figcaption>
                <p><strong>"For " {name}</strong> ", for " {days} " days"</p>
                <p><code>{code}</code></p>
                <p class="quiet">"Whoever has the code can ask once in that name: show it, do not post it."</p>
            </figcaption>
        </figure>
        <button class="settle quiet" on:click=|_| send(Event::PutAway)>"Put it away"</button>
    }
}

fn storage(view: Memo<View>) -> impl IntoView {
    let row = |RecordRow { name, here_only }: RecordRow| {
        let only = match here_only {
            0 => view! { <em>"all at the office"</em> }.into_any(),
            here => view! { <span class="here">{format!("{here} here only")}</span> }.into_any(),
        };
        view! { <li class="row"><strong>{name}</strong> {only}</li> }
    };
    view! {
        <section class="sheet">
            <h2>"What is kept here"</h2>
            <p>{move || view.get().storage}</p>
            {move || view.get().room.map(|room| view! { <p class="quiet">{room}</p> })}
            <Show when=move || view.get().can_ask>
                <button class="settle" on:click=|_| send(Event::AskToKeep)>"Ask the browser to keep it"</button>
            </Show>
            <ul class="rows">{move || view.get().records.into_iter().map(row).collect_view()}</ul>
        </section>
    }
}

fn carry(view: Memo<View>) -> impl IntoView {
    view! {
        <section class="sheet">
            <h2>"Carry by hand"</h2>
            <p class="quiet">"Where there is no office in reach: give the file to another phone or computer of this workshop, which takes it in."</p>
            <button class="settle" on:click=|_| send(Event::CarryOut)>"Give out a file of everything here"</button>
            <label class="settle file">
                "Take in a file"
                <input type="file" on:change=move |event| chosen(&event) />
            </label>
            {move || view.get().report.map(report)}
        </section>
    }
}

fn report(report: Report) -> impl IntoView {
    let line = |line: ReportLine| {
        let ReportLine { document, name, counts, refused, is_record } = line;
        let look = is_record.then(|| {
            let place = Place::Changed(document);
            let address = format!("#{}", place.address());
            view! { <a class="settle" href=address on:click=super::go(place)>"What changed"</a> }
        });
        view! {
            <li>
                <p><strong>{name}</strong> ": " {counts}</p>
                {refused.into_iter().map(|text| view! { <p class="quiet">"refused: " {text}</p> }).collect_view()}
                {look}
            </li>
        }
    };
    view! {
        <p class="kept" role="status">{report.summary}</p>
        <ul class="rows">{report.lines.into_iter().map(line).collect_view()}</ul>
    }
}

/// Reads the file that was chosen.
fn chosen(event: &leptos::ev::Event) {
    let input = js::get(event, "target");
    let file = js::get(&js::get(&input, "files"), "0");
    if file.is_undefined() {
        return;
    }
    let name = js::get(&file, "name").as_string().unwrap_or_else(|| "the file".to_owned());
    spawn_local(async move {
        match js::call_later(&file, "arrayBuffer", &[]).await {
            Ok(buffer) => send(Event::CarryIn(name, Uint8Array::new(&buffer).to_vec())),
            Err(error) => {
                let cause = format!("{name} cannot be read: {}", js::said(&error));
                let failure = Failure::new("not-read", cause, "choose it again");
                send(AppEvent::from(Event::CarriedIn(Err(failure))));
            }
        }
        // The same file may be chosen once more.
        js::set(&input, "value", &"".into());
    });
}
