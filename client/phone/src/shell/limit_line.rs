//! A value on its limits, to scale: the picture that core computes, as markup.

use gudgeon_core::sheet::{Form, Mark, Picture, VerdictFigure, in_units, limit_line};
use leptos::prelude::*;

/// Draws a value on its limits; the words stand beside it, for those who cannot see it.
pub(super) fn draw(figure: &VerdictFigure) -> impl IntoView + use<> {
    let Picture { size, says, ground, value, state } = limit_line(figure);
    let view_box = format!("0 0 {} {}", in_units(size.0), in_units(size.1));
    view! {
        <div class="scrolls">
            <svg class="limitline" role="img" aria-label=says viewBox=view_box>
                {ground.into_iter().map(mark).collect_view()}
                <g class=state.class()>{value.into_iter().map(mark).collect_view()}</g>
            </svg>
        </div>
    }
}

fn mark(mark: Mark) -> AnyView {
    let class = mark.class;
    match mark.form {
        Form::Box { x, y, wide, high } => view! {
            <rect class=class x=in_units(x) y=in_units(y) width=in_units(wide) height=in_units(high) />
        }
        .into_any(),
        Form::Line(from, to) => view! {
            <line class=class x1=in_units(from.0) y1=in_units(from.1) x2=in_units(to.0) y2=in_units(to.1) />
        }
        .into_any(),
        Form::Polygon(corners) => {
            let corners = corners.iter().map(|(x, y)| format!("{},{}", in_units(*x), in_units(*y)));
            let points = corners.collect::<Vec<_>>().join(" ");
            view! { <polygon class=class points=points /> }.into_any()
        }
        Form::Label(at, text) => {
            view! { <text class=class x=in_units(at.0) y=in_units(at.1)>{text}</text> }.into_any()
        }
    }
}
