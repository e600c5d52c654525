//! The feature as a line drawing, with the station at hand marked.
//!
//! Drawn in whole units on a sheet of 132 by 100. Solid: read. Dashed: to be read. Thick with
//! arrows: at hand.

use leptos::prelude::*;

use crate::app::reading::{Drawing, Mark, Outline};

pub(super) fn draw(drawing: &Drawing) -> impl IntoView + use<> {
    let marks = match drawing.outline {
        Outline::Bore => bore(drawing).into_any(),
        Outline::Hole => hole(drawing).into_any(),
        Outline::Shaft => shaft(drawing).into_any(),
        Outline::Size => size(drawing).into_any(),
    };
    view! { <svg class="r-drawing" viewBox="0 0 132 100" aria-hidden="true">{marks}</svg> }
}

/// How a mark is drawn.
const fn style(mark: &Mark) -> &'static str {
    match (mark.here, mark.read) {
        (true, _) => "here",
        (false, true) => "read",
        (false, false) => "open",
    }
}

fn line(class: &'static str, from: (i32, i32), to: (i32, i32)) -> impl IntoView + use<> {
    view! { <line class=class x1=from.0 y1=from.1 x2=to.0 y2=to.1/> }
}

/// Where the one of several stands on the way from one end to the other.
fn along(at: usize, of: usize, from: i32, to: i32) -> i32 {
    let (at, of) = (i32::try_from(at).unwrap_or(0), i32::try_from(of).unwrap_or(1).max(1));
    if of == 1 { i32::midpoint(from, to) } else { from + (to - from) * at / (of - 1) }
}

/// A line across a section, with arrows at both ends where it is at hand.
fn across(mark: &Mark, from: (i32, i32), to: (i32, i32)) -> impl IntoView + use<> {
    let tip = |(x, y): (i32, i32), way: i32| {
        let points = if from.1 == to.1 {
            format!("{x},{y} {},{} {},{}", x + 8 * way, y - 3, x + 8 * way, y + 3)
        } else {
            format!("{x},{y} {},{} {},{}", x - 3, y + 8 * way, x + 3, y + 8 * way)
        };
        view! { <polygon class="tip" points=points/> }
    };
    let tips = mark.here.then(|| view! { {tip(from, 1)} {tip(to, -1)} });
    view! { {line(style(mark), from, to)} {tips} }
}

fn bore(drawing: &Drawing) -> impl IntoView + use<> {
    let count = drawing.levels.len();
    let level = |(at, mark): (usize, &Mark)| {
        let y = along(at, count, 20, 86);
        across(mark, (20, y), (72, y)).into_any()
    };
    view! {
        <rect class="cut" x="8" y="8" width="12" height="86"/>
        <rect class="cut" x="72" y="8" width="12" height="86"/>
        {line("part", (20, 8), (20, 94))}
        {line("part", (72, 8), (72, 94))}
        {line("part", (4, 8), (88, 8))}
        {line("centre", (46, 2), (46, 98))}
        {drawing.levels.iter().enumerate().map(level).collect_view()}
        {ring(drawing, (110, 52), 18)}
    }
}

fn shaft(drawing: &Drawing) -> impl IntoView + use<> {
    let count = drawing.levels.len();
    let level = |(at, mark): (usize, &Mark)| {
        let x = along(at, count, 28, 68);
        across(mark, (x, 32), (x, 72)).into_any()
    };
    view! {
        <rect class="cut" x="6" y="12" width="10" height="80"/>
        <rect class="cut" x="80" y="12" width="10" height="80"/>
        {line("part", (16, 32), (80, 32))}
        {line("part", (16, 72), (80, 72))}
        {line("part", (16, 12), (16, 92))}
        {line("part", (80, 12), (80, 92))}
        {line("centre", (0, 52), (96, 52))}
        {drawing.levels.iter().enumerate().map(level).collect_view()}
        {ring(drawing, (114, 52), 15)}
    }
}

fn hole(drawing: &Drawing) -> impl IntoView + use<> {
    view! {
        <rect class="cut" x="10" y="4" width="92" height="92"/>
        <circle class="void" cx="56" cy="50" r="38"/>
        {line("centre", (4, 50), (108, 50))}
        {line("centre", (56, 0), (56, 100))}
        {ring(drawing, (56, 50), 38)}
        {ladder(drawing, 118)}
    }
}

fn size(drawing: &Drawing) -> impl IntoView + use<> {
    let one = Mark { name: String::new(), read: false, here: drawing.levels.is_empty() };
    let count = drawing.levels.len();
    let level = |(at, mark): (usize, &Mark)| {
        let y = along(at, count, 26, 82);
        across(mark, (30, y), (102, y)).into_any()
    };
    view! {
        <rect class="cut" x="14" y="10" width="16" height="84"/>
        <rect class="cut" x="102" y="10" width="16" height="84"/>
        {line("part", (30, 10), (30, 94))}
        {line("part", (102, 10), (102, 94))}
        {drawing.levels.is_empty().then(|| across(&one, (30, 52), (102, 52)))}
        {drawing.levels.iter().enumerate().map(level).collect_view()}
    }
}

/// The directions, end on.
fn ring(drawing: &Drawing, (x, y): (i32, i32), radius: i32) -> impl IntoView + use<> {
    let count = drawing.ways.len();
    let way = |(at, mark): (usize, &Mark)| {
        let turn = angle(&mark.name, at, count);
        let class = style(mark);
        view! {
            <g transform=format!("rotate({turn} {x} {y})")>
                {line(class, (x - radius, y), (x + radius, y))}
            </g>
        }
    };
    (count > 0).then(|| {
        view! {
            <circle class="part" cx=x cy=y r=radius/>
            {drawing.ways.iter().enumerate().map(way).collect_view()}
        }
    })
}

/// Levels of a hole that is seen end on.
fn ladder(drawing: &Drawing, x: i32) -> impl IntoView + use<> {
    let count = drawing.levels.len();
    let rung = |(at, mark): (usize, &Mark)| {
        let y = along(at, count, 16, 84);
        line(style(mark), (x - 8, y), (x + 8, y)).into_any()
    };
    drawing.levels.iter().enumerate().map(rung).collect_view()
}

/// Degrees from the horizontal: as the name says, else one after the other.
fn angle(name: &str, at: usize, count: usize) -> i32 {
    match (name.parse::<i32>(), name) {
        (Ok(degrees), _) => degrees,
        (Err(_), "thrust") => 0,
        (Err(_), "axial" | "vertical") => 90,
        (Err(_), _) => {
            let (at, count) = (i32::try_from(at).unwrap_or(0), i32::try_from(count).unwrap_or(1).max(1));
            90 + 180 * at / count
        }
    }
}
