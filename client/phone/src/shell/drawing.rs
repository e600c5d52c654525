//! A shape in a state: its line, its hatching, its second line or its diagonal; colour comes after.

use gudgeon_core::sheet::State;
use leptos::prelude::*;

use super::go;
use crate::app::Place;
use crate::app::drawing::{Figure, Outline, Spot};

/// The hatchings, once on the page.
pub(super) fn hatchings() -> impl IntoView {
    view! {
        <svg class="hatchings" width="0" height="0" aria-hidden="true">
            <defs>
                <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
                    <line class="hatch" x1="0" y1="0" x2="0" y2="6" />
                </pattern>
                <pattern id="cross" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
                    <path class="cross" d="M0 0V5M0 0H5" />
                </pattern>
            </defs>
        </svg>
    }
}

/// An outline in a state.
pub(super) fn shape(state: State, outline: Outline) -> impl IntoView {
    let second = (state == State::InHand).then(|| plain("line2", outline, 4));
    let diagonal = (state == State::Disputed).then(|| {
        let (from, to) = match outline {
            Outline::Box(x, y, wide, high) => ((x, y + high), (x + wide, y)),
            // 0.7 of the radius: the diagonal at 45 degrees.
            Outline::Ring(x, y, radius) => {
                let reach = radius * 7 / 10;
                ((x - reach, y + reach), (x + reach, y - reach))
            }
        };
        view! { <line class="line" x1=from.0 y1=from.1 x2=to.0 y2=to.1 /> }
    });
    view! { <g class=format!("shape {}", state.class())>{plain("line", outline, 0)}{second}{diagonal}</g> }
}

fn plain(class: &'static str, outline: Outline, inset: i32) -> AnyView {
    match outline {
        Outline::Box(x, y, wide, high) => view! {
            <rect class=class x=x + inset y=y + inset width=wide - 2 * inset height=high - 2 * inset />
        }
        .into_any(),
        Outline::Ring(x, y, radius) => view! { <circle class=class cx=x cy=y r=radius - inset /> }.into_any(),
    }
}

/// A state drawn small with a word beside it, as it stands in lists and legends.
pub(super) fn badge(state: State, word: impl Into<String>) -> impl IntoView {
    view! {
        <span class=format!("badge {}", state.class())>
            <svg class="swatch" aria-hidden="true" viewBox="0 0 24 16">{shape(state, Outline::Box(2, 2, 20, 12))}</svg>
            {word.into()}
        </span>
    }
}

/// A figure of the drawing; each shape leads to its place.
pub(super) fn figure(figure: &Figure, places: &[Place]) -> impl IntoView + use<> {
    let Figure { title, aside, size, body: bodies, centres, plain, spots } = figure.clone();
    let centre = |((x1, y1), (x2, y2))| view! { <line class="centre" x1=x1 y1=y1 x2=x2 y2=y2 /> };
    let spots = spots.into_iter().zip(places.to_vec()).map(|(one, place)| spot(one, place));
    let body = |(x, y, wide, high)| view! { <rect class="body" x=x y=y width=wide height=high /> };
    let web = |corners: Vec<(i32, i32)>| {
        let points = corners.iter().map(|(x, y)| format!("{x},{y}")).collect::<Vec<_>>().join(" ");
        view! { <polygon class="web" points=points /> }
    };
    let name = title.clone();
    view! {
        <figure>
            <figcaption>{title}<span>{aside}</span></figcaption>
            <div class="scrolls">
                <svg class="figure" role="group" aria-label=name viewBox=format!("0 0 {} {}", size.0, size.1) width=rem(size.0) height=rem(size.1)>
                    {bodies.into_iter().map(body).collect_view()}
                    {centres.into_iter().map(centre).collect_view()}
                    {plain.into_iter().map(web).collect_view()}
                    {spots.collect_view()}
                </svg>
            </div>
        </figure>
    }
}

/// A shape that leads to its feature.
fn spot(spot: Spot, place: Place) -> impl IntoView {
    let Spot { path: _, name, state, outline, reach, label, captions } = spot;
    let address = format!("#{}", place.address());
    let (x, y) = outline.middle();
    let text = |class: &'static str, (text, (x, y)): (String, (i32, i32))| view! { <text class=class x=x y=y>{text}</text> };
    view! {
        // Within a group the link is one of the drawing, not of the page around it.
        <g>
            <a class="spot" href=address aria-label=name on:click=go(place)>
                <circle class="reach" cx=x cy=y r=reach />
                {shape(state, outline)}
                {text("label", label)}
                {captions.into_iter().map(|caption| text("caption", caption)).collect_view()}
            </a>
        </g>
    }
}

/// Pixels at a letter size of 16, so that drawings grow with the letters.
fn rem(pixels: i32) -> String {
    format!("{}.{:04}rem", pixels / 16, pixels % 16 * 625)
}
