//! Tightening a group of fasteners.

use gudgeon_core::assess::NextAct;
use leptos::prelude::*;

use super::{parts, send, stop};
use crate::app::tightening::plan::{Line, LineState};
use crate::app::tightening::{Bolt, BoltState, Event, View, wrench};

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let slip = Memo::new(move |_| view.with(|view| view.slip.clone()));
    view! {
        <section class="sheet tightening">
            {stop::tags(move || view.get().stops, Event::Stop)}
            {bolts(view)}
            {figure(view)}
            {parts::cautions(move || view.with(|view| (view.cautions.clone(), view.foreword)))}
            {wrong(view)}
            {apart(view)}
            {hands(view)}
            <h2>"Stage by stage"</h2>
            <ol class="rows">{move || view.get().lines.into_iter().map(line).collect_view()}</ol>
            {beside(view)}
            {parts::kept(move || view.get().kept)}
            {parts::problem(move || view.get().problem)}
            {stop::slip(slip, move || view.get().keeping, Event::Stop)}
        </section>
        {bar(view)}
    }
}

/// Hexagons as a spanner meets them; state by outline and hatching, and in words.
fn bolts(view: Memo<View>) -> impl IntoView {
    let all = Memo::new(move |_| view.with(|view| view.bolts.clone()));
    let bolt = |bolt: Bolt| {
        let Bolt { number, state, .. } = bolt;
        let class = match state {
            BoltState::Slack => "bolt slack",
            BoltState::PartWay => "bolt part-way",
            BoltState::Tight => "bolt tight",
            BoltState::Apart => "bolt apart",
        };
        let name = format!("bolt {number}, {}; tap where it went otherwise", state.word());
        view! {
            <button class=class aria-pressed=(state == BoltState::Apart).to_string() aria-label=name on:click=move |_| send(Event::Bolt(number))>
                <svg viewBox="0 0 64 64" aria-hidden="true">
                    <polygon points="60,32 46,56 18,56 4,32 18,8 46,8" />
                    <path class="hatch" d="M10 42 36 16M20 48 48 20M30 52 54 28" />
                    <path class="cross" d="M12 24 40 52M20 16 48 44M32 12 52 32" />
                    <text x="32" y="40" text-anchor="middle">{number.to_string()}</text>
                </svg>
                <span>{state.word()}</span>
            </button>
        }
    };
    let row = move |row: u32| {
        let here: Vec<Bolt> = all.get().into_iter().filter(|bolt| bolt.at.0 == row).collect();
        view! { <div class="bolt-row">{here.into_iter().map(bolt).collect_view()}</div> }
    };
    let rows = move || all.with(|all| all.iter().map(|bolt| bolt.at.0 + 1).max().unwrap_or(0));
    view! {
        <div class="bolts" role="group" aria-label="bolts">{move || (0..rows()).map(row).collect_view()}</div>
        <p class="quiet mid">"numbers: the order in which they are pulled. " {move || view.get().order}</p>
    }
}

fn figure(view: Memo<View>) -> impl IntoView {
    let next = Memo::new(move |_| view.with(|view| view.next.clone()));
    view! {
        <div class="set-figure" role="group" aria-label="what comes next">
            <p class="mid">{move || next.get().words}</p>
            <Show when=move || !next.with(|next| next.figure.is_empty())>
                <output class="set-point">{move || next.get().figure} " " <small>{move || next.get().unit}</small></output>
                <p class="beneath">{move || next.get().beneath}</p>
            </Show>
        </div>
    }
}

fn wrong(view: Memo<View>) -> impl IntoView {
    let one =
        |(text, hint): (String, String)| view! { <li><strong>{text}</strong> " " <span>{hint}</span></li> };
    move || {
        let wrong = view.get().wrong;
        (!wrong.is_empty()).then(
            || view! { <ul class="amiss" role="alert">{wrong.into_iter().map(one).collect_view()}</ul> },
        )
    }
}

/// Bolts that went otherwise, each with its words.
fn apart(view: Memo<View>) -> impl IntoView {
    let numbers = Memo::new(move |_| {
        view.with(|view| view.apart.iter().map(|(number, _)| *number).collect::<Vec<_>>())
    });
    let words = move |number: u32| {
        view.with(|view| {
            view.apart
                .iter()
                .find(|(of, _)| *of == number)
                .map_or_else(String::new, |(_, words)| words.clone())
        })
    };
    let field = move |number: u32| {
        parts::asked(
            move || format!("Bolt {number} went otherwise: what happened"),
            move || words(number),
            move |text| Event::BoltWords(number, text),
        )
    };
    view! { <For each=move || numbers.get() key=|number| *number children=field /> }
}

/// What is in the hands: the wrench, and what is on the threads.
fn hands(view: Memo<View>) -> impl IntoView {
    let wrenches = Memo::new(move |_| view.with(|view| (view.wrenches.clone(), view.wrench.clone())));
    let pulls = Memo::new(move |_| view.with(|view| matches!(view.next.act, NextAct::Stage(_))));
    let oils =
        Memo::new(move |_| view.with(|view| matches!(view.next.act, NextAct::Stage(_) | NextAct::Nip)));
    let wrench = |line: wrench::Line, chosen: &str| {
        let wrench::Line { mark, fits, range, remarks } = line;
        let (to, pressed) = (mark.clone(), (mark == chosen).to_string());
        view! {
            <button class="station wrench" class:unfit=!fits aria-pressed=pressed on:click=move |_| send(Event::Wrench(to.clone()))>
                <strong>{mark}</strong> " " {range} <em>{remarks.join("; ")}</em>
            </button>
        }
    };
    view! {
        <Show when=move || oils.get()>
            <h2>"On thread and face"</h2>
            {lubricant(view)}
        </Show>
        <Show when=move || pulls.get()>
            <h2>"Wrench"</h2>
            <div class="choices" role="group" aria-label="wrench">
                {move || { let (lines, chosen) = wrenches.get(); lines.into_iter().map(|line| wrench(line, &chosen)).collect_view() }}
            </div>
            {parts::asked(|| "Mark of the wrench".to_owned(), move || view.get().wrench, Event::Wrench)}
            {parts::asked(
                move || format!("Set to something else, {}", view.get().next.unit),
                move || view.get().next.set.unwrap_or_default(),
                Event::Set,
            )}
        </Show>
    }
}

fn lubricant(view: Memo<View>) -> impl IntoView {
    let wanted = Memo::new(move |_| view.with(|view| view.lubricant.0.clone()));
    let said = Memo::new(move |_| view.with(|view| view.lubricant.1.clone()));
    let is_wanted = move || said.get().as_deref() == Some(wanted.get().as_str());
    view! {
        <div class="choices">
            <button class="station" aria-pressed=move || is_wanted().to_string() on:click=move |_| send(Event::Lubricant(wanted.get_untracked()))>
                {move || if is_wanted() { format!("{}: said", wanted.get()) } else { format!("It is {}", wanted.get()) }}
            </button>
        </div>
        {parts::asked(|| "What is on thread and face".to_owned(), move || said.get().unwrap_or_default(), Event::Lubricant)}
    }
}

fn line(line: Line) -> impl IntoView {
    let Line { name, how, state, by } = line;
    let class = match state {
        LineState::Done => "act done",
        LineState::Now => "act now",
        LineState::Later => "act later",
        LineState::Undone => "act undone",
    };
    view! {
        <li class=class>
            <span class="mark">{state.word()}</span>
            <span class="asked"><strong>{name}</strong> " " {how} " " <em>{by}</em></span>
        </li>
    }
}

/// Lengths of the bolts, the other places of the group, what is known of it.
fn beside(view: Memo<View>) -> impl IntoView {
    let lengths = Memo::new(move |_| view.with(|view| view.lengths.clone()));
    let others = Memo::new(move |_| view.with(|view| view.others.clone()));
    let length = |(name, when): (&'static str, &'static str)| {
        view! { <button class="row" on:click=move |_| send(Event::Length(name))><strong>{name}</strong> <em>{when}</em></button> }
    };
    let other = |(path, far): (String, String)| {
        let to = path.clone();
        view! { <button class="station" on:click=move |_| send(Event::Place(to.clone()))>{path} " " <em>{far}</em></button> }
    };
    view! {
        {move || lengths.get().into_iter().map(length).collect_view()}
        <Show when=move || others.with(|others| !others.is_empty())>
            <h2>"The others of the group"</h2>
            <div class="choices">{move || others.get().into_iter().map(other).collect_view()}</div>
        </Show>
        <h2>"By the definition"</h2>
        <ul class="facts">{move || view.get().facts.into_iter().map(|fact| view! { <li>{fact}</li> }).collect_view()}</ul>
        {parts::asked(|| "Words".to_owned(), move || view.get().note, Event::Note)}
    }
}

/// One tap for what comes next; for the turn check a yes and a no.
fn bar(view: Memo<View>) -> impl IntoView {
    let turns = Memo::new(move |_| view.with(|view| view.next.act == NextAct::Turn));
    let keeping = move || view.with(|view| view.keeping);
    let text =
        move || view.with(|view| if view.keeping { "keeping".to_owned() } else { view.next.button.clone() });
    view! {
        <Show when=move || turns.get()>
            <div class="turns" role="group" aria-label="turns freely?">
                <p>"Turns freely, all the way round?"</p>
                <Show when=move || view.get().bound>
                    {parts::asked(|| "Where it binds, what was felt".to_owned(), move || view.get().note, Event::Note)}
                </Show>
            </div>
        </Show>
        <div class="bar three">
            {stop::at_hand(Event::Stop)}
            <Show
                when=move || turns.get()
                fallback=move || view! { <button class="action" prop:disabled=keeping on:click=move |_| send(Event::Done)>{text}</button> }
            >
                <div class="yes-no">
                    <button class="aside" prop:disabled=keeping on:click=move |_| send(Event::Turns(false))>"No"</button>
                    <button class="action" prop:disabled=keeping on:click=move |_| send(Event::Turns(true))>"Yes, it turns"</button>
                </div>
            </Show>
        </div>
    }
}
