//! A step, what it needs, and signing it.

use leptos::prelude::*;

use super::{parts, send, stop};
use crate::app::step::answer::{Event as Answer, Gives};
use crate::app::step::sign::{Event as Sign, Line};
use crate::app::step::{Event, Piece, Stands, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let slip = Memo::new(move |_| view.with(|view| view.slip.clone()));
    view! {
        <section class="sheet step">
            {stop::tags(move || view.get().stops, Event::Stop)}
            <p class="quiet">{move || view.get().stage}</p>
            <p class="step-title">{move || view.get().title} ": " <em>{move || view.get().progress}</em></p>
            {waits(view)}
            {parts::cautions(move || view.with(|view| (view.cautions.clone(), view.foreword)))}
            <h2>"What it needs"</h2>
            {needs(view)}
            {signatures(view)}
            {signing(view)}
            {parts::kept(move || view.get().kept)}
            {parts::problem(move || view.with(|view| view.problem.clone().or_else(|| view.sign.problem.clone())))}
            {stop::slip(slip, move || view.get().keeping, Event::Stop)}
        </section>
        <div class="bar three">{stop::at_hand(Event::Stop)} {hold(view)}</div>
    }
}

fn waits(view: Memo<View>) -> impl IntoView {
    let wait = |(id, title, progress): (String, String, &'static str)| {
        let to = id.clone();
        view! {
            <li><button class="row" on:click=move |_| send(Event::Step(to.clone()))>
                <strong>{id}</strong> <span>{title}</span> <em>{progress}</em>
            </button></li>
        }
    };
    move || {
        let waits = view.get().waits;
        (!waits.is_empty()).then(|| {
            view! {
                <h2>"First"</h2>
                <ul class="rows">{waits.into_iter().map(wait).collect_view()}</ul>
            }
        })
    }
}

/// The list does not change its length while a step is open, so its rows stay where the finger is.
fn needs(view: Memo<View>) -> impl IntoView {
    let count = Memo::new(move |_| view.with(|view| view.pieces.len()));
    let row = move |at: usize| {
        let piece = Memo::new(move |_| view.with(|view| view.pieces.get(at).cloned()));
        let open =
            Memo::new(move |_| view.with(|view| view.answer.as_ref().is_some_and(|(piece, _)| *piece == at)));
        view! {
            <li>
                {move || piece.get().map(|piece| button(at, piece, open))}
                <Show when=move || open.get()>{answer(view)}</Show>
            </li>
        }
    };
    view! { <ul class="rows">{move || (0..count.get()).map(row).collect_view()}</ul> }
}

fn button(at: usize, piece: Piece, open: Memo<bool>) -> impl IntoView {
    let Piece { asked, found, stands, does } = piece;
    let class = match stands {
        Stands::There => "piece there",
        Stands::Missing => "piece missing",
        Stands::NotGood => "piece not-good",
    };
    view! {
        <button class=class aria-expanded=move || open.get().to_string() on:click=move |_| send(Event::Piece(at))>
            <span class="mark">{stands.word()}</span>
            <span class="asked"><strong>{asked}</strong> <em>{found}</em></span>
            <span class="does">{does}</span>
        </button>
    }
}

fn answer(view: Memo<View>) -> impl IntoView {
    let answer = Memo::new(move |_| {
        view.with(|view| view.answer.as_ref().map(|(_, answer)| answer.clone()).unwrap_or_default())
    });
    let gives = Memo::new(move |_| answer.get().gives);
    let choice = |(mark, about, chosen): (String, String, bool)| {
        let to = mark.clone();
        view! {
            <button class="station" aria-pressed=chosen.to_string() on:click=move |_| send(Event::Answer(Answer::Mark(to.clone())))>
                {mark} " " <em>{about}</em>
            </button>
        }
    };
    let give = move |gives: Gives| {
        view! {
            <button class="give" prop:disabled=move || view.get().keeping on:click=move |_| send(Event::Answer(Answer::Give(gives)))>{gives.words()}</button>
        }
    };
    view! {
        <section class="giving" aria-label=move || answer.get().title>
            <p>{move || answer.get().says}</p>
            <div class="choices">{move || answer.get().choices.into_iter().map(choice).collect_view()}</div>
            <Show when=move || answer.get().mark.is_some()>
                {parts::asked(
                    move || answer.get().mark.map_or_else(String::new, |(name, _)| name.to_owned()),
                    move || answer.get().mark.map_or_else(String::new, |(_, mark)| mark),
                    |text| Event::Answer(Answer::Mark(text)),
                )}
            </Show>
            <Show when=move || answer.get().who.is_some()>
                {parts::asked(
                    move || answer.get().who.map_or_else(String::new, |(name, _)| name.to_owned()),
                    move || answer.get().who.map_or_else(String::new, |(_, who)| who),
                    |text| Event::Answer(Answer::Who(text)),
                )}
            </Show>
            {parts::asked(move || answer.get().note.0.to_owned(), move || answer.get().note.1, |text| Event::Answer(Answer::Note(text)))}
            <div class="pair">
                {move || gives.get().into_iter().map(give).collect_view()}
                <button class="plain" on:click=move |_| send(Event::Answer(Answer::Close))>"Put it away"</button>
            </div>
        </section>
    }
}

fn signatures(view: Memo<View>) -> impl IntoView {
    let line = |line: Line| {
        let Line { who, what, when, stands, why, read_again } = line;
        let word = if stands { "stands" } else { "no longer stands" };
        let why = why.into_iter().map(|cause| view! { <li>{cause}</li> }).collect_view();
        let again = (read_again > 0).then(|| view! { <li>"read again since, and it agrees"</li> });
        view! {
            <li class="signature" class:gone=!stands>
                <span class="mark">{word}</span>
                <span class="asked"><strong>{who}</strong> ", " {what} <em>{when}</em><ul>{why}{again}</ul></span>
            </li>
        }
    };
    move || {
        let signatures = view.get().signatures;
        (!signatures.is_empty()).then(|| {
            view! {
                <h2>"Signatures"</h2>
                <ul class="rows">{signatures.into_iter().map(line).collect_view()}</ul>
            }
        })
    }
}

fn signing(view: Memo<View>) -> impl IntoView {
    let signers = Memo::new(move |_| view.with(|view| view.sign.signers.clone()));
    let signer = |(key, name, chosen)| {
        view! { <button class="station" aria-pressed=bool::to_string(&chosen) on:click=move |_| send(Event::Sign(Sign::Signer(key)))>{name}</button> }
    };
    view! {
        <h2>{move || if view.get().sign.second { "Sign as second person" } else { "Sign" }}</h2>
        {move || view.get().sign.why_not.map(|why| view! { <p class="quiet">{why}</p> })}
        <Show when=move || signers.with(|signers| signers.len() > 1)>
            <div class="choices" role="group" aria-label="who signs">{move || signers.get().into_iter().map(signer).collect_view()}</div>
        </Show>
        <Show when=move || view.get().sign.can>
            {parts::asked_pin(move || view.get().sign.signer, move || view.get().sign.pin, move || view.get().sign.busy, |text| Event::Sign(Sign::Pin(text)))}
        </Show>
        <Show when=move || view.get().sign.asks && view.get().sign.can>
            <div class="pair" role="alert">
                <p>"Hold the button to sign. Where holding is hard:"</p>
                <button class="give" on:click=move |_| send(Event::Sign(Sign::Confirm))>"Sign without holding"</button>
            </div>
        </Show>
        <div role="status">
            {move || view.get().sign.signed.map(|place| view! { <p class="kept">"signed, " <span class="where">{place}</span></p> })}
        </div>
    }
}

/// The button that is held: by a finger, or by Enter or the space bar.
fn hold(view: Memo<View>) -> impl IntoView {
    let off = move || view.with(|view| view.sign.busy || !view.sign.can);
    let text = move || {
        view.with(|view| match (view.sign.busy, view.sign.can, &view.sign.signer) {
            (true, ..) => "opening the key\u{2026}".to_owned(),
            (false, false, _) => view.progress.to_owned(),
            (false, true, Some(name)) if view.sign.pressed => format!("hold, {name}"),
            (false, true, Some(name)) => format!("Hold to sign as {name}"),
            (false, true, None) => "Hold to sign".to_owned(),
        })
    };
    let sign = |event: Sign| send(Event::Sign(event));
    let is_key = |key: &str| key == "Enter" || key == " ";
    view! {
        <button
            class="action hold"
            class:holding=move || view.get().sign.pressed
            prop:disabled=off
            on:pointerdown=move |_| sign(Sign::Press)
            on:pointerup=move |_| sign(Sign::Release)
            on:pointerleave=move |_| sign(Sign::Release)
            on:pointercancel=move |_| sign(Sign::Release)
            on:contextmenu=|event| event.prevent_default()
            on:blur=move |_| sign(Sign::Release)
            on:click=move |_| sign(Sign::Tap)
            on:keydown=move |event| {
                if is_key(&event.key()) {
                    event.prevent_default();
                    if !event.repeat() {
                        sign(Sign::Press);
                    }
                }
            }
            on:keyup=move |event| {
                if is_key(&event.key()) {
                    event.prevent_default();
                    sign(Sign::Release);
                    sign(Sign::Tap);
                }
            }
        >{text}</button>
    }
}
