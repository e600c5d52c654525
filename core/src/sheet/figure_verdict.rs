//! A verdict as a picture to scale: limits and the dimension between them, the zones in
//! which this gauge can prove nothing, the value as a pointer with its doubt as a bar.
//!
//! The bar reaches as far to either side as the rule in force asks. So the picture and the
//! word agree: the bar inside both limits means within, across one means not proven.

use super::model::VerdictFigure;
use super::picture::{Marks, Picture, Px};
use super::state::State;
use crate::assess::show;
use crate::quantity::{Amount, Kind, Unit};

const WIDTH: Px = 340_00;
const HEIGHT: Px = 96_00;
/// Room left and right of the scale, for the labels of what stands at its ends.
const MARGIN: Px = 26_00;
const BAND_TOP: Px = 36_00;
const BAND_FOOT: Px = 56_00;
const MIDDLE: Px = (BAND_TOP + BAND_FOOT) / 2;
/// About how wide a letter of a label is.
const LETTER: Px = 6_60;

/// From base units to drawing units.
struct Scale {
    from: i128,
    to: i128,
}

impl Scale {
    /// Room for limits, value and bar; a one-sided limit is seen against nought or the value.
    fn of(figure: &VerdictFigure) -> Self {
        let (low, high) = bar(figure);
        let wide = |limit: i128| (limit - low).abs().max((limit - high).abs()).max(1);
        let (lower, upper) = (figure.lower.map(i128::from), figure.upper.map(i128::from));
        let (from, to) = match (lower, upper) {
            (Some(lower), Some(upper)) => (lower.min(low), upper.max(high)),
            (None, Some(upper)) => {
                let open = upper - wide(upper) * 5 / 4;
                (if low >= 0 { open.max(0) } else { open }.min(low), upper.max(high))
            }
            (Some(lower), None) => (lower.min(low), (lower + wide(lower) * 5 / 4).max(high)),
            (None, None) => (low, high),
        };
        let room = ((to - from) / 8).max(1);
        Self { from: from - room, to: to + room }
    }

    fn x(&self, base: i128) -> Px {
        let along = (base - self.from) * i128::from(WIDTH - 2 * MARGIN) / (self.to - self.from);
        MARGIN + Px::try_from(along).unwrap_or(0).clamp(0, WIDTH - 2 * MARGIN)
    }
}

fn bar(figure: &VerdictFigure) -> (i128, i128) {
    let guard = i128::from(figure.guard);
    (i128::from(figure.low) - guard, i128::from(figure.high) + guard)
}

/// The picture of a value on its limits.
#[must_use]
pub fn limit_line(figure: &VerdictFigure) -> Picture {
    let scale = Scale::of(figure);
    let (mut ground, mut value) = (Marks::default(), Marks::default());
    band(&mut ground, figure, &scale);
    guard_zones(&mut ground, figure, &scale);
    dimension(&mut ground, figure, &scale);
    pointer(&mut value, figure, &scale);
    Picture {
        size: (WIDTH, HEIGHT),
        says: format!("{}: {}", value_label(figure), figure.state.word()),
        ground: ground.done(),
        value: value.done(),
        state: figure.state,
    }
}

/// The permitted sizes; open where there is no limit on that side.
fn band(marks: &mut Marks, figure: &VerdictFigure, scale: &Scale) {
    let left = figure.lower.map_or(MARGIN, |lower| scale.x(lower.into()));
    let right = figure.upper.map_or(WIDTH - MARGIN, |upper| scale.x(upper.into()));
    let wide = (right - left).max(0);
    marks.oblong("band", (left, BAND_TOP), (wide, BAND_FOOT - BAND_TOP));
    marks.line("edge", (left, BAND_TOP), (right, BAND_TOP)).line(
        "edge",
        (left, BAND_FOOT),
        (right, BAND_FOOT),
    );
    for limit in [figure.lower, figure.upper].into_iter().flatten() {
        let x = scale.x(limit.into());
        marks.line("limit", (x, 18_00), (x, BAND_FOOT + 8_00));
    }
}

/// Between a limit and its guard nothing can be proven with this gauge.
fn guard_zones(marks: &mut Marks, figure: &VerdictFigure, scale: &Scale) {
    let guard = i128::from(figure.guard);
    let (lower, upper) = (figure.lower.map(i128::from), figure.upper.map(i128::from));
    let zones = [
        lower.map(|lower| (lower, upper.map_or(lower + guard, |upper| upper.min(lower + guard)))),
        upper.map(|upper| (lower.map_or(upper - guard, |lower| lower.max(upper - guard)), upper)),
    ];
    for (from, to) in zones.into_iter().flatten().filter(|(from, to)| from < to) {
        let (left, right) = (scale.x(from), scale.x(to));
        marks.oblong("guard", (left, BAND_TOP), (right - left, BAND_FOOT - BAND_TOP));
    }
}

/// Limits in figures, and the dimension between two of them.
fn dimension(marks: &mut Marks, figure: &VerdictFigure, scale: &Scale) {
    let digits = |base: i64| {
        let (unit, decimals) = show::unit_of(figure.kind);
        Amount::new(figure.kind, base).digits(unit, decimals).unwrap_or_default()
    };
    if let (Some(lower), Some(upper)) = (figure.lower, figure.upper) {
        let (left, right) = (scale.x(lower.into()), scale.x(upper.into()));
        let (below, above) = (digits(lower), digits(upper));
        let apart = right - left;
        if apart < width(&below).max(width(&above)) + 8_00 {
            marks.label("tick end", (left + 4_00, 14_00), &below);
            marks.label("tick start", (right - 4_00, 14_00), &above);
        } else {
            marks.label("tick", (left, 14_00), &below).label("tick", (right, 14_00), &above);
        }
        if apart > 0 {
            between(marks, left, right, &tolerance(figure.kind, i128::from(upper) - i128::from(lower)));
        }
        return;
    }
    for (limit, word, way) in [(figure.lower, "at least", 1), (figure.upper, "at most", -1)] {
        let Some(limit) = limit else { continue };
        let x = scale.x(limit.into());
        let text = format!("{word} {}", digits(limit));
        marks.label("tick", (clamped(x, &text), 14_00), &text);
        marks.line("thin", (x, 26_00), (x + way * 44_00, 26_00));
        arrow(marks, x + way * 44_00, 26_00, way);
    }
}

fn between(marks: &mut Marks, left: Px, right: Px, text: &str) {
    let (half, centre) = (width(text) / 2 + 3_00, (left + right) / 2);
    if right - left > 2 * half + 24_00 {
        marks.line("thin", (left, 26_00), (centre - half, 26_00));
        marks.line("thin", (centre + half, 26_00), (right, 26_00));
        arrow(marks, left, 26_00, -1);
        arrow(marks, right, 26_00, 1);
        marks.label("tick", (centre, 29_50), text);
    } else {
        // Too narrow for figures: arrows from outside, the figure beside them (ISO 129).
        marks.line("thin", (left - 18_00, 26_00), (left, 26_00));
        marks.line("thin", (right, 26_00), (right + 18_00, 26_00));
        arrow(marks, left, 26_00, 1);
        arrow(marks, right, 26_00, -1);
        if right + 22_00 + width(text) <= WIDTH {
            marks.label("tick start", (right + 22_00, 29_50), text);
        } else {
            marks.label("tick end", (left - 22_00, 29_50), text);
        }
    }
}

/// An arrow head with its tip at a point.
fn arrow(marks: &mut Marks, x: Px, y: Px, way: i64) {
    marks.polygon("ink", &[(x, y), (x - way * 7_00, y - 2_20), (x - way * 7_00, y + 2_20)]);
}

/// The value, its doubt as a bar, and the words.
fn pointer(marks: &mut Marks, figure: &VerdictFigure, scale: &Scale) {
    let (from, to) = bar(figure);
    let (left, right) = (scale.x(from), scale.x(to));
    let (low, high) = (scale.x(figure.low.into()), scale.x(figure.high.into()));
    marks.line("bar", (left, MIDDLE), (right, MIDDLE));
    for x in [left, right] {
        marks.line("bar", (x, MIDDLE - 6_00), (x, MIDDLE + 6_00));
    }
    if high - low > 1_00 {
        marks.line("span", (low, MIDDLE), (high, MIDDLE));
    }
    for x in if high - low > 1_00 { vec![low, high] } else { vec![low] } {
        marks.polygon(
            "tip",
            &[(x, BAND_FOOT + 3_00), (x - 6_00, BAND_FOOT + 14_00), (x + 6_00, BAND_FOOT + 14_00)],
        );
    }
    let text = value_label(figure);
    marks.label("said", (clamped((low + high) / 2, &text), 88_00), &text);
}

fn value_label(figure: &VerdictFigure) -> String {
    let value = show::span(figure.kind, figure.low, figure.high);
    if figure.guard == 0 || figure.state == State::NotRead {
        return value;
    }
    format!("{value}, ± {}", show::uncertainty(figure.kind, figure.guard))
}

fn tolerance(kind: Kind, base: i128) -> String {
    let base = i64::try_from(base).unwrap_or(i64::MAX);
    if kind == Kind::Length {
        let text = Amount::new(kind, base).show(Unit::Micrometre, 1);
        return text.replace(".0 ", " ");
    }
    show::amount(kind, base)
}

fn width(text: &str) -> Px {
    Px::try_from(text.chars().count()).unwrap_or(0) * LETTER
}

/// Keeps a centred text on the sheet.
fn clamped(x: Px, text: &str) -> Px {
    let half = (width(text) / 2).min(WIDTH / 2);
    x.clamp(half, WIDTH - half)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(low: i64, high: i64, guard: i64, lower: Option<i64>, upper: Option<i64>) -> VerdictFigure {
        VerdictFigure { kind: Kind::Length, low, high, guard, lower, upper, state: State::Proven }
    }

    #[test]
    fn the_bar_crosses_a_limit_on_paper_when_it_does_in_figures() {
        let um = 1_000_000;
        for value in -10..40 {
            let f = figure(value * um, value * um, 8 * um, Some(0), Some(25 * um));
            let scale = Scale::of(&f);
            let (from, to) = bar(&f);
            assert_eq!(scale.x(from) < scale.x(0), value - 8 < 0, "{value}");
            assert_eq!(scale.x(to) > scale.x(i128::from(25 * um)), value + 8 > 25, "{value}");
        }
    }

    #[test]
    fn everything_stays_on_the_sheet() {
        let far = i64::MAX;
        for f in [
            figure(0, 0, 0, Some(0), Some(0)),
            figure(-far, far, far, Some(-far), Some(far)),
            figure(far, far, 0, None, Some(0)),
            figure(5, 9, 1, Some(7), None),
            figure(1, 1, 0, None, None),
        ] {
            let scale = Scale::of(&f);
            for base in [bar(&f).0, bar(&f).1, i128::from(f.low), i128::from(f.high)] {
                assert!((MARGIN..=WIDTH - MARGIN).contains(&scale.x(base)), "{f:?}");
            }
            assert_eq!(limit_line(&f).size, (WIDTH, HEIGHT));
        }
    }

    #[test]
    fn a_size_above_nought_is_seen_against_nought() {
        let um = 1_000_000;
        let scale = Scale::of(&figure(4 * um, 4 * um, um, None, Some(15 * um)));
        assert!(scale.from < 0 && scale.from > -i128::from(5 * um));
    }
}
