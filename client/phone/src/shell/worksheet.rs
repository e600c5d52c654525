//! One worksheet as a form.

use leptos::prelude::*;

use super::send;
use crate::app::worksheet::{AnswerLine, Event, Field, View};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let count = Memo::new(move |_| view.with(|view| view.fields.len()));
    view! {
        <section class="sheet">
            <Show when=move || view.get().unknown><p>"There is no worksheet of this name."</p></Show>
            <p class="summary">{move || view.get().title}</p>
            {from_record(view)}
            {move || (0..count.get()).map(|at| field(view, at)).collect_view()}
            <div class="choices">
                <Show when=move || view.get().untouched>
                    <button class="unit" on:click=|_| send(Event::Example)>"Show with invented figures"</button>
                </Show>
                <Show when=move || !view.get().untouched>
                    <button class="unit" on:click=|_| send(Event::Clear)>"Clear"</button>
                </Show>
            </div>
        </section>
        <section class="sheet answers" aria-label="answers">
            <div role="status">{move || answers(view.get())}</div>
            {move || cautions(view.get())}
            <h2>"Formula"</h2>
            <p>{move || view.get().formula}</p>
            <p class="quiet">"Holds: " {move || view.get().valid}</p>
            <p class="quiet">"Source: " {move || view.get().source}</p>
            {move || mistakes(view.get())}
        </section>
        // It is said above already; here it stands where the hand types.
        <p class="strip" aria-hidden="true">{move || view.get().foot}</p>
    }
}

fn field(view: Memo<View>, at: usize) -> impl IntoView {
    let field = Memo::new(move |_| view.with(|view| view.fields.get(at).cloned()));
    let with = move |what: fn(Field) -> String| field.get().map(what).unwrap_or_default();
    let id = format!("input-{at}");
    let (about, told) = (format!("{id}-about"), format!("{id}-told"));
    let described = format!("{about} {told}");
    let unit = move |symbol: &'static str| {
        view! { <option value=symbol prop:selected=move || field.get().is_some_and(|field| field.unit == symbol)>{symbol}</option> }
    };
    let units = Memo::new(move |_| field.get().map(|field| field.units).unwrap_or_default());
    let words = Memo::new(move |_| field.get().map(|field| field.words).unwrap_or_default());
    let input = {
        let (id, described) = (id.clone(), described);
        move || {
            let (id, described) = (id.clone(), described.clone());
            if words.with(Vec::is_empty) {
                view! {
                    <input
                        id=id
                        aria-describedby=described
                        aria-invalid=move || if field.get().is_some_and(|field| field.problem.is_some()) { "true" } else { "false" }
                        type="text"
                        autocomplete="off"
                        autocapitalize="off"
                        spellcheck="false"
                        prop:value=move || with(|field| field.text)
                        on:input=move |event| send(Event::Text(at, event_target_value(&event)))
                    />
                }
                .into_any()
            } else {
                let word = move |word: String| {
                    let (value, shown) = (word.clone(), word.clone());
                    view! { <option value=value prop:selected=move || field.get().is_some_and(|field| field.text == word)>{shown}</option> }
                };
                view! {
                    <select id=id aria-describedby=described on:change=move |event| send(Event::Text(at, event_target_value(&event)))>
                        <option value="" prop:selected=move || field.get().is_some_and(|field| field.text.is_empty())>"not said"</option>
                        {words.get().into_iter().map(word).collect_view()}
                    </select>
                }
                .into_any()
            }
        }
    };
    let unit_name = move || format!("unit of {}", with(|field| field.name.to_owned()));
    view! {
        <div class="input" class:wrong=move || field.get().is_some_and(|field| field.problem.is_some())>
            <label for=id>{move || with(|field| field.name.replace('-', " "))}</label>
            <div class="entry">
                {input}
                <Show when=move || units.with(|units| units.len() > 1)>
                    <select aria-label=unit_name on:change=move |event| send(Event::Unit(at, event_target_value(&event)))>
                        {move || units.get().into_iter().map(unit).collect_view()}
                    </select>
                </Show>
                <Show when=move || units.with(|units| units.len() == 1)>
                    <span class="fixed">{move || units.get().first().copied()}</span>
                </Show>
            </div>
            <p class="quiet" id=about>
                {move || with(|field| field.about.to_owned())}
                {move || with(|field| if field.bounds.is_empty() { String::new() } else { format!("; {}", field.bounds) })}
                {move || with(|field| field.left_out.map_or_else(String::new, |text| format!("; {text}")))}
            </p>
            <div class="problem" id=told aria-live="polite">
                {move || field.get().and_then(|field| field.record).map(|text| view! { <p class="from">{text}</p> })}
                {move || field.get().and_then(|field| field.problem).map(|(cause, way_out)| view! {
                    <p class="cause">{cause}</p>
                    <p>{way_out}</p>
                })}
            </div>
        </div>
    }
}

/// Which record, place and value fill it.
fn from_record(view: Memo<View>) -> impl IntoView {
    let records = Memo::new(move |_| view.with(|view| view.records.clone()));
    let places = Memo::new(move |_| view.with(|view| view.places.clone()));
    let subjects = Memo::new(move |_| view.with(|view| view.subjects.clone()));
    let record = move || {
        let options = records.get().into_iter().map(|(id, name, meant)| {
            view! { <option value=id.to_hex() prop:selected=meant>{name}</option> }
        });
        let chosen = move |event| {
            let hex = event_target_value(&event);
            let record = records.get_untracked().into_iter().map(|(id, ..)| id).find(|id| id.to_hex() == hex);
            send(Event::Record(record));
        };
        let none = !records.get().iter().any(|(.., meant)| *meant);
        view! {
            <label class="field">
                <span>"Fill from"</span>
                <select on:change=chosen>
                    <option value="" prop:selected=none>"no record"</option>
                    {options.collect_view()}
                </select>
            </label>
        }
    };
    view! {
        <Show when=move || !records.with(Vec::is_empty)>{record}</Show>
        <Show when=move || !places.with(Vec::is_empty)>
            {move || choice("At", places.get(), |path| send(Event::At(path)))}
        </Show>
        <Show when=move || !subjects.with(Vec::is_empty)>
            {move || {
                let subjects = subjects.get().into_iter().map(|(name, meant)| (name.to_owned(), meant));
                choice("The value of it", subjects.collect(), |name| send(Event::Of(name)))
            }}
        </Show>
    }
}

fn choice(name: &'static str, all: Vec<(String, bool)>, chosen: fn(String)) -> impl IntoView {
    let none = !all.iter().any(|(_, meant)| *meant);
    let option = |(text, meant): (String, bool)| {
        let value = text.clone();
        view! { <option value=value prop:selected=meant>{text}</option> }
    };
    view! {
        <label class="field">
            <span>{name}</span>
            <select on:change=move |event| chosen(event_target_value(&event))>
                <option value="" prop:selected=none>"not said"</option>
                {all.into_iter().map(option).collect_view()}
            </select>
        </label>
    }
}

fn answers(view: View) -> impl IntoView {
    let line = |AnswerLine { name, value, about }: AnswerLine| {
        view! { <div class="answer"><dt>{name.replace('-', " ")}</dt><dd>{value}</dd><dd class="quiet">{about}</dd></div> }
    };
    let still = (!view.still.is_empty()).then(|| {
        let names = view.still.iter().map(|name| name.replace('-', " ")).collect::<Vec<_>>().join(", ");
        view! { <p class="quiet">"still needed: " {names}</p> }
    });
    let problem = |(cause, way_out)| view! { <p class="cause">{cause}</p><p>{way_out}</p> };
    view! {
        {still}
        <div class="problem">{view.problems.into_iter().map(problem).collect_view()}</div>
        <dl>{view.answers.into_iter().map(line).collect_view()}</dl>
        {view.notes.into_iter().map(|note| view! { <p class="note">{note}</p> }).collect_view()}
    }
}

fn cautions(view: View) -> impl IntoView {
    (!view.cautions.is_empty()).then(|| {
        view! {
            <h2>"Mind"</h2>
            <ul class="cautions">{view.cautions.iter().map(|text| view! { <li>{*text}</li> }).collect_view()}</ul>
        }
    })
}

fn mistakes(view: View) -> impl IntoView {
    (!view.mistakes.is_empty()).then(|| {
        view! {
            <h2>"Mistakes people make"</h2>
            <ul class="cautions">{view.mistakes.iter().map(|text| view! { <li>{*text}</li> }).collect_view()}</ul>
        }
    })
}
