//! What is shown in the place of the keypad.

use leptos::prelude::*;

use super::super::{parts, send};
use crate::app::reading::{Choice, Event, GaugeLine, Panel, SLIPS, StationLine, View};

pub(super) fn draw(panel: Panel, view: Memo<View>) -> impl IntoView {
    let body = match panel {
        Panel::Keys => ().into_any(),
        Panel::Stations => stations(view).into_any(),
        Panel::Gauge => gauge(view).into_any(),
        Panel::Temperature => temperature(view).into_any(),
        Panel::Conditions => conditions(view).into_any(),
        Panel::People => people(view).into_any(),
        Panel::Dial => dial(view).into_any(),
        Panel::Note => note(view).into_any(),
        Panel::Back => back(view).into_any(),
    };
    view! {
        <div class="r-panel">
            {body}
            <button class="r-plain" on:click=move |_| send(Event::Panel(panel))>"Back to the keys"</button>
        </div>
    }
}

pub(super) const fn pressed(yes: bool) -> &'static str {
    if yes { "true" } else { "false" }
}

fn choice<T: Clone + 'static, E: Into<crate::app::Event> + 'static>(
    choice: Choice<T>,
    event: fn(T) -> E,
) -> impl IntoView {
    let Choice { what, word, about, chosen } = choice;
    view! {
        <button class="r-choice" aria-pressed=pressed(chosen) on:click=move |_| send(event(what.clone()))>
            <span>{word}</span> <em>{about}</em>
        </button>
    }
}

fn stations(view: Memo<View>) -> impl IntoView {
    let features = Memo::new(move |_| view.with(|view| view.features.clone()));
    let stations = Memo::new(move |_| view.with(|view| view.stations.clone()));
    let orders = Memo::new(move |_| view.with(|view| view.orders.clone()));
    let feature = |(path, word, here, (read, all)): (String, String, bool, (usize, usize))| {
        view! {
            <button class="r-choice" aria-pressed=pressed(here) on:click=move |_| send(Event::Feature(path.clone()))>
                <span>{word}</span> <em>{format!("{read} of {all}")}</em>
            </button>
        }
    };
    let station = |line: StationLine| {
        let StationLine { station, word, says, state, here } = line;
        view! {
            <button class=format!("r-choice r-station {state}") aria-pressed=pressed(here) on:click=move |_| send(Event::Station(station.clone()))>
                <span>{word}</span> <em>{says}</em>
            </button>
        }
    };
    view! {
        <p class="quiet">{move || view.with(|view| view.about)}</p>
        <div class="r-row">{move || features.get().into_iter().map(feature).collect_view()}</div>
        <div class="r-grid">{move || stations.get().into_iter().map(station).collect_view()}</div>
        <div class="r-row">{move || orders.get().into_iter().map(|one| choice(one, Event::Order)).collect_view()}</div>
    }
}

fn gauge(view: Memo<View>) -> impl IntoView {
    let gauges = Memo::new(move |_| view.with(|view| view.gauges.clone()));
    let masters = Memo::new(move |_| view.with(|view| view.masters.clone()));
    let check = Memo::new(move |_| view.with(|view| view.check.clone()));
    let line = |line: GaugeLine| {
        let GaugeLine { mark, about, remarks, reads_this, chosen } = line;
        let to = mark.clone();
        view! {
            <button class="r-choice r-gauge" class:other=!reads_this aria-pressed=pressed(chosen) on:click=move |_| send(Event::Gauge(to.clone()))>
                <strong>{mark}</strong> <em>{about}</em>
                {remarks.into_iter().map(|text| view! { <span class="r-remark">{text}</span> }).collect_view()}
            </button>
        }
    };
    view! {
        <h2>"Gauges that read this"</h2>
        <div class="r-list">{move || gauges.get().into_iter().map(line).collect_view()}</div>
        {parts::field("Another one, by its mark", "text", move || view.with(|view| view.gauge.0.clone()), Event::Gauge)}
        <h2>"Check of the gauge"</h2>
        <p>{move || check.with(|check| check.what.clone())} " " <em>{move || check.with(|check| check.says.clone())}</em></p>
        <div class="r-row">
            <button class="r-choice" on:click=|_| send(Event::Check(true))>"It is good"</button>
            <button class="r-choice" on:click=|_| send(Event::Check(false))>"It is out"</button>
        </div>
        <div class="r-row">
            {move || masters.get().into_iter().map(|mark| {
                let to = mark.clone();
                view! { <button class="r-choice" on:click=move |_| send(Event::Master(to.clone()))>{format!("set on {mark}")}</button> }
            }).collect_view()}
        </div>
        {parts::field("Set on another", "text", move || view.with(|view| view.gauge.1.clone()), Event::Master)}
    }
}

fn temperature(view: Memo<View>) -> impl IntoView {
    view! {
        {parts::field("Part, \u{b0}C", "text", move || view.with(|view| view.temperatures.0.clone()), Event::PartAt)}
        {parts::field("Gauge, \u{b0}C; empty: as the part", "text", move || view.with(|view| view.temperatures.1.clone()), Event::GaugeAt)}
        <p class="quiet">"Remembered for this working day. Write F after it for Fahrenheit."</p>
    }
}

fn conditions(view: Memo<View>) -> impl IntoView {
    let lists = Memo::new(move |_| view.with(|view| view.conditions.clone()));
    view! {
        <p class="quiet">"What holds while it is read. Without it a reading is kept and not judged."</p>
        {move || lists.get().into_iter().map(|list| view! {
            <div class="r-list">{list.into_iter().map(|one| choice(one, Event::Condition)).collect_view()}</div>
        }).collect_view()}
    }
}

fn note(view: Memo<View>) -> impl IntoView {
    let marks = Memo::new(move |_| view.with(|view| view.parts.clone()));
    view! {
        {parts::field("Note on this reading", "text", move || view.with(|view| view.note.clone()), Event::Note)}
        <Show when=move || marks.with(|marks| !marks.is_empty())>
            <p class="r-quiet">"The part in hand:"</p>
            <div class="r-list">{move || marks.get().into_iter().map(|one| choice(one, Event::Part)).collect_view()}</div>
        </Show>
    }
}

fn people(view: Memo<View>) -> impl IntoView {
    let people = Memo::new(move |_| view.with(|view| view.people.clone()));
    view! {
        <p class="quiet">"Who has the gauge in hand and calls it out. A reading called out is not blind."</p>
        <div class="r-list">
            {move || people.get().into_iter().map(|line| view! {
                <button class="r-choice" aria-pressed=pressed(line.chosen) on:click=move |_| send(Event::Reader(line.person))>{line.name}</button>
            }).collect_view()}
        </div>
    }
}

fn dial(view: Memo<View>) -> impl IntoView {
    let units = Memo::new(move |_| view.with(|view| view.units.clone()));
    let dial = Memo::new(move |_| view.with(|view| view.dial));
    let setting = Memo::new(move |_| view.with(|view| view.setting.clone()));
    view! {
        <h2>{move || if dial.get() == Some(true) { "The dial counts in" } else { "Unit" }}</h2>
        <div class="r-row">{move || units.get().into_iter().map(|one| choice(one, Event::Unit)).collect_view()}</div>
        <Show when=move || dial.get().is_some()>
            <h2>"Dial"</h2>
            <button class="r-choice" aria-pressed=move || pressed(dial.get() == Some(true)) on:click=move |_| send(Event::Dial(dial.get_untracked() != Some(true)))>
                "Only the deviation is typed"
            </button>
            {parts::field("Set to", "text", move || view.with(|view| view.set_size.clone()), Event::SetSize)}
        </Show>
        {move || setting.get().map(|setting| view! {
            <h2>"Set your gauge to"</h2>
            {match setting {
                Ok(size) => view! {
                    <p class="r-setting"><strong>{size}</strong></p>
                    <button class="r-choice" on:click=|_| send(Event::UseTarget)>"It is set to that"</button>
                }.into_any(),
                Err(failure) => view! { <p>{failure.cause} ": " {failure.way_out}</p> }.into_any(),
            }}
        })}
        <Show when=move || setting.with(Option::is_some)>
            {parts::field("for this size at 20 \u{b0}C; empty: the middle of the limits", "text", move || view.with(|view| view.target.clone()), Event::Target)}
        </Show>
    }
}

fn back(view: Memo<View>) -> impl IntoView {
    let kept = move || view.with(|view| view.kept.as_ref().map(|(text, _)| text.clone())).unwrap_or_default();
    view! {
        <h2>"Take it back: " {kept}</h2>
        <p class="quiet">"It stays in the record as voided, with your name and the word."</p>
        <div class="r-grid">
            {SLIPS.into_iter().map(|word| view! {
                <button class="r-choice" on:click=move |_| send(Event::TakeBack(word))>{word}</button>
            }).collect_view()}
        </div>
    }
}
