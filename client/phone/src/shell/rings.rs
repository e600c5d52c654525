//! The ring gaps round a piston, as a dial.

use leptos::prelude::*;
use leptos::svg;

use super::{parts, send};
use crate::app::rings::{Event, Gap, View};

/// Radius of the piston as drawn.
const PISTON: f64 = 96.0;

/// Between the rings as drawn.
const PITCH: f64 = 18.0;

pub(super) fn draw(view: Memo<View>) -> impl IntoView {
    let count = Memo::new(move |_| view.with(|view| view.gaps.len()));
    view! {
        <section class="sheet rings">
            {dial(view)}
            <p class="verdict" class:right=move || view.get().right role="status">
                <span class="mark">{move || if view.get().right { "right" } else { "not right" }}</span>
                {move || view.get().says}
            </p>
            <ul class="rows">{move || (0..count.get()).map(|at| row(view, at)).collect_view()}</ul>
            <dl class="angles">
                {move || view.get().angles.into_iter().map(|(what, angle)| view! { <dt>{what}</dt><dd>{angle}</dd> }).collect_view()}
            </dl>
            {move || view.get().beside.map(|text| view! { <p class="quiet">{text}</p> })}
            <p class="quiet">{move || view.get().source} ". " {move || view.get().cautions.join(" ")}</p>
            {move || view.get().entered.map(|text| view! { <p class="kept">{text}</p> })}
            {parts::kept(move || view.get().kept.map(|place| ("gaps kept", place)))}
            {parts::problem(move || view.get().problem)}
        </section>
        <div class="bar two">
            <button class="aside" on:click=|_| send(Event::Step)>"Back to the step"</button>
            <button class="action" prop:disabled=move || view.get().keeping on:click=|_| send(Event::Keep)>
                {move || if view.get().keeping { "keeping" } else { "They stand like this" }}
            </button>
        </div>
    }
}

/// One ring: where its gap stands, moved by a slide or by steps.
fn row(view: Memo<View>, at: usize) -> impl IntoView {
    let gap = Memo::new(move |_| view.with(|view| view.gaps.get(at).cloned()));
    let name = move || gap.get().map(|gap| gap.name).unwrap_or_default();
    let degrees = move || gap.get().and_then(|gap| gap.at);
    let said = move || degrees().map_or_else(|| "not set".to_owned(), |at| format!("{at}°"));
    let guide = move || gap.get().and_then(|gap| gap.guide);
    let slid = move |event| {
        if let Ok(to) = event_target_value(&event).parse::<i32>() {
            send(Event::Move(at, to - degrees().unwrap_or(0)));
        }
    };
    view! {
        <li class="gap-row">
            <span class="mark">{(at + 1).to_string()}</span>
            <span class="asked"><strong>{name}</strong> " " <em>{said}</em></span>
            <button class="turn" aria-label=move || format!("{}: 5 degrees back", name()) on:click=move |_| send(Event::Move(at, -5))>"−5°"</button>
            <button class="turn" aria-label=move || format!("{}: 5 degrees on", name()) on:click=move |_| send(Event::Move(at, 5))>"+5°"</button>
            <Show when=move || guide().is_some()>
                <button class="turn" aria-label=move || format!("{}: to its mark", name()) on:click=move |_| send(Event::ToMark(at))>
                    {move || guide().map(|at| format!("to {at}°"))}
                </button>
            </Show>
            <input
                type="range" min="0" max="355" step="5"
                aria-label=move || format!("{}, degrees clockwise from the thrust face", name())
                aria-valuetext=said
                prop:value=move || degrees().unwrap_or(0).to_string()
                on:input=slid
            />
        </li>
    }
}

/// The piston from above, the thrust face at the top; each ring's gap is a handle.
fn dial(view: Memo<View>) -> impl IntoView {
    let face: NodeRef<svg::Svg> = NodeRef::new();
    let gaps = Memo::new(move |_| view.with(|view| view.gaps.clone()));
    let held = Memo::new(move |_| view.with(|view| view.held));
    let moved = move |event: leptos::ev::PointerEvent| {
        if let (Some(face), true) = (face.get_untracked(), held.get_untracked().is_some()) {
            let (right, up) = from_middle(&face, f64::from(event.client_x()), f64::from(event.client_y()));
            send(Event::Drag(right, up));
        }
    };
    view! {
        <svg node_ref=face class="dial" viewBox="-130 -130 260 260" aria-hidden="true"
            on:pointermove=moved on:pointerup=|_| send(Event::Let) on:pointercancel=|_| send(Event::Let) on:pointerleave=|_| send(Event::Let)>
            <circle class="part" r="112" />
            <path class="centre-line" d="M0 -126V126M-126 0H126" />
            <text y="-116" text-anchor="middle">"thrust"</text>
            <text y="125" text-anchor="middle">"thrust"</text>
            <text x="-114" y="-6" text-anchor="middle">"pin"</text>
            <text x="114" y="-6" text-anchor="middle">"pin"</text>
            {move || gaps.get().into_iter().enumerate().map(|(at, gap)| ring(at, &gap, held.get() == Some(at))).collect_view()}
        </svg>
    }
}

fn ring(at: usize, gap: &Gap, held: bool) -> impl IntoView + use<> {
    let radius = PISTON - PITCH * f64::from(u8::try_from(at).unwrap_or(u8::MAX));
    let guide = gap.guide.map(|degrees| {
        let turn = format!("rotate({degrees})");
        let (inner, outer) = (-radius + 5.0, -radius - 5.0);
        view! { <path class="guide" transform=turn d=format!("M0 {inner}V{outer}") /> }
    });
    let set = gap.at;
    let turn = format!("rotate({})", set.unwrap_or(0));
    let back = format!("rotate({} 0 {})", -set.unwrap_or(0), -radius);
    let class = match (set, held) {
        (None, _) => "gap unset",
        (Some(_), false) => "gap",
        (Some(_), true) => "gap held",
    };
    view! {
        <circle class="ring-line" r=radius.to_string() />
        {guide}
        <g class=class transform=turn on:pointerdown=move |event| { event.prevent_default(); send(Event::Take(at)); }>
            <circle class="finger" cy=(-radius).to_string() r="24" />
            <path class="notch" d=format!("M-4 {}V{}M4 {}V{}", -radius - 6.0, -radius + 6.0, -radius - 6.0, -radius + 6.0) />
            <circle class="handle" cy=(-radius).to_string() r="9" />
            <text transform=back y=(-radius + 4.0).to_string() text-anchor="middle">{(at + 1).to_string()}</text>
        </g>
    }
}

/// To the right and upwards of the middle of the dial, in thousandths of its half width.
fn from_middle(face: &web_sys::Element, x: f64, y: f64) -> (i32, i32) {
    let of = face.get_bounding_client_rect();
    let half = (of.width() / 2.0).max(1.0);
    let part = |from: f64| format!("{:.0}", from / half * 1000.0).parse().unwrap_or(0);
    (part(x - of.x() - half), part(of.y() + half - y))
}
