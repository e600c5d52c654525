//! Taking readings.

mod drawing;
mod keyboard;
mod panels;

use leptos::prelude::*;

use super::{parts, send};
use crate::app::reading::{Event, Panel, Tile, VerdictView, View};

/// The screen's own keys, in the order of a phone's; with the unit and the dial in the corner.
const KEYS: [[char; 4]; 3] = [['1', '2', '3', '<'], ['4', '5', '6', '-'], ['7', '8', '9', 'u']];

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    keyboard::listen(view);
    let panel = Memo::new(move |_| view.with(|view| view.panel));
    view! {
        <section class="r-sheet">
            {place(view)}
            <div class="r-typed" class:folded=move || panel.get() != Panel::Keys>
                {value(view)}
                {beside(view)}
            </div>
            {tiles(view)}
            {move || match panel.get() == Panel::Keys {
                true => keypad(view).into_any(),
                false => panels::draw(panel.get(), view).into_any(),
            }}
        </section>
        {parts::action(
            move || view.with(|view| match (view.keeping, &view.holder) {
                (true, _) => "keeping".to_owned(),
                (false, None) => "Say who you are".to_owned(),
                (false, Some(_)) => "Keep".to_owned(),
            }),
            move || view.with(|view| view.keeping || (view.typed.is_empty() && view.holder.is_some())),
            || send(Event::Keep),
        )}
    }
}

/// The feature, the station at hand, and what stands there.
fn place(view: Memo<View>) -> impl IntoView {
    let figure = Memo::new(move |_| view.with(|view| view.drawing.clone()));
    let open = move || view.with(|view| if view.panel == Panel::Stations { "true" } else { "false" });
    let stands = move || {
        view.with(|view| if view.stands.is_empty() { "not read".to_owned() } else { view.stands.clone() })
    };
    view! {
        <button class="r-place" aria-expanded=open on:click=|_| send(Event::Panel(Panel::Stations))>
            {move || drawing::draw(&figure.get())}
            <span class="r-where">
                <strong>{move || view.with(|view| view.spot.clone())}</strong>
                <span class="r-stands">{stands}</span>
                <em>{move || view.with(|view| format!("{} of {} read", view.progress.0, view.progress.1))}</em>
            </span>
        </button>
        <Show when=move || view.with(|view| view.hidden)>
            <button class="r-plain" on:click=|_| send(Event::Reveal)>"Show it; mine is then not blind"</button>
        </Show>
    }
}

/// What is typed, large, and the same beneath in the other unit.
fn value(view: Memo<View>) -> impl IntoView {
    view! {
        <output class="r-value" aria-label="value">
            {move || view.with(|view| view.set_to.clone()).map(|set| view! { <small>{set}</small> })}
            <span class="r-digits">{move || view.with(|view| if view.typed.is_empty() { "\u{2013}".to_owned() } else { view.typed.clone() })}</span>
            <small>{move || view.with(|view| view.unit.clone())}</small>
        </output>
        <p class="r-beneath">{move || view.with(|view| view.beneath.clone())} "\u{a0}"</p>
    }
}

/// While typing the verdict there would be; after keeping what was kept.
fn beside(view: Memo<View>) -> impl IntoView {
    let would = Memo::new(move |_| view.with(|view| view.verdict.clone()));
    let follow = Memo::new(move |_| view.with(|view| view.would_follow.clone()));
    let remarks = Memo::new(move |_| view.with(|view| view.remarks.clone()));
    let kept = Memo::new(move |_| view.with(|view| view.kept.clone().map(|kept| (kept, view.after.clone()))));
    let idle = Memo::new(move |_| view.with(|view| view.typed.is_empty()));
    view! {
        {move || would.get().map(verdict)}
        {move || follow.get().into_iter().map(|(state, text)| view! { <p class=format!("r-follows {state}")>{text}</p> }).collect_view()}
        <ul class="r-remarks">
            {move || remarks.get().into_iter().map(|text| view! { <li>{text}</li> }).collect_view()}
        </ul>
        {parts::problem(move || view.with(|view| view.problem.clone()))}
        <div role="status">
            {move || kept.get().filter(|_| idle.get()).map(|((text, place), after)| {
                let word = if after.taken_back { "taken back: " } else { "kept: " };
                let can = after.can_take_back;
                view! {
                    <div class="kept r-kept">
                        <p>{word} <span>{text}</span> ", " <span class="where">{place}</span></p>
                        {can.then(|| view! { <button on:click=|_| send(Event::Panel(Panel::Back))>"Take it back"</button> })}
                    </div>
                    {after.follows.into_iter().map(|(state, text)| view! { <p class=format!("r-follows {state}")>{text}</p> }).collect_view()}
                }
            })}
        </div>
    }
}

fn verdict(would: VerdictView) -> impl IntoView {
    let VerdictView { state, word, way_out, figure } = would;
    view! {
        <div class=format!("r-verdict {}", state.class())>
            {figure.map(|figure| super::limit_line::draw(&figure))}
            <p aria-live="polite"><strong>{word}</strong> {way_out.map(|text| view! { <span>{text}</span> })}</p>
        </div>
    }
}

fn tiles(view: Memo<View>) -> impl IntoView {
    let tiles = Memo::new(move |_| view.with(|view| (view.tiles.clone(), view.panel)));
    let tile = |tile: Tile, open: Panel| {
        let Tile { panel, name, says, wants } = tile;
        view! {
            <button class="r-tile" class:wants=wants aria-expanded=if open == panel { "true" } else { "false" } on:click=move |_| send(Event::Panel(panel))>
                <em>{name}</em> <span>{says}</span>
            </button>
        }
    };
    view! {
        <div class="r-tiles" class:four=move || tiles.with(|(tiles, _)| tiles.len() == 4)>
            {move || { let (tiles, open) = tiles.get(); tiles.into_iter().map(|one| tile(one, open)).collect_view() }}
        </div>
    }
}

fn keypad(view: Memo<View>) -> impl IntoView {
    let unit = move || view.with(|view| view.unit.clone());
    let dial = Memo::new(move |_| view.with(|view| view.dial));
    let key = move |key: char| {
        match key {
        'u' => view! {
            <button class="key" aria-label=move || format!("unit: {}", unit()) on:click=|_| send(Event::Panel(Panel::Dial))>{unit}</button>
        }
        .into_any(),
        key => one_key(key).into_any(),
    }
    };
    view! {
        <div class="r-keys">
            {KEYS.into_iter().flatten().map(key).collect_view()}
            {one_key('.')}
            {one_key('0')}
            {move || dial.get().map(|on| view! {
                <button class="key r-dial" aria-pressed=panels::pressed(on) on:click=move |_| send(Event::Dial(!on))>
                    {if on { "Dial \u{b1}: on" } else { "Dial \u{b1}" }}
                </button>
            })}
        </div>
    }
}

fn one_key(key: char) -> impl IntoView {
    let (name, sign) = match key {
        '<' => ("take one away", "\u{232b}"),
        '-' => ("minus", "\u{2212}"),
        '.' => ("point", "."),
        _ => ("", ""),
    };
    let sign = if sign.is_empty() { key.to_string() } else { sign.to_owned() };
    let name = if name.is_empty() { sign.clone() } else { name.to_owned() };
    view! { <button class="key" aria-label=name on:click=move |_| send(Event::Key(key))>{sign}</button> }
}
