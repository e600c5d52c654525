//! The honed surface: what carries, what runs off, what holds oil.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Range, Takes};
use super::values::{count, one_for_each};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Parameters of the material ratio curve; heights in the unit of the curve, ratios in per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plateau {
    /// Core height.
    pub rk: f64,
    /// Reduced peak height.
    pub rpk: f64,
    /// Reduced valley depth.
    pub rvk: f64,
    /// Material ratio where the peaks end.
    pub mr1: f64,
    /// Material ratio where the valleys begin.
    pub mr2: f64,
}

/// The secant of the curve's middle covers so much of it, in per cent.
const SECANT: f64 = 40.0;

/// The parameters of a curve of points (ratio in per cent, height): ratios rising from 0 to 100,
/// heights never rising, straight between points.
///
/// The flattest secant over 40 % gives the core's line; where several are as flat, the first. Its
/// ends at 0 and 100 % bound the core; what lies outside becomes triangles of equal area. Source: the
/// construction of ISO 13565-2:1996, kept by ISO 21920-2:2021.
///
/// # Errors
/// A curve that does not run from 0 to 100 %, or rises.
pub fn plateau(curve: &[(f64, f64)]) -> Result<Plateau, WorkError> {
    let wrong =
        |cause: &str| WorkError::of("ratios", cause, "give them rising from 0 to 100, heights falling");
    let ends =
        curve.first().zip(curve.last()).is_some_and(|(a, b)| a.0.abs() < 1e-9 && (b.0 - 100.0).abs() < 1e-9);
    if !ends || curve.len() < 2 {
        return Err(wrong("do not run from 0 to 100"));
    }
    if curve.windows(2).any(|pair| pair[1].0 < pair[0].0 || pair[1].1 > pair[0].1) {
        return Err(wrong("do not rise, or the heights do not fall"));
    }
    let (start, fall) = flattest(curve);
    let slope = fall / SECANT;
    let top = height(curve, start) + slope * start;
    let bottom = top - slope * 100.0;
    let (mr1, mr2) = (ratio(curve, top), ratio(curve, bottom));
    let peaks = area(curve, 0.0, mr1, |h| h - top);
    let valleys = area(curve, mr2, 100.0, |h| bottom - h);
    let triangle = |area: f64, base: f64| if base > 1e-9 { 2.0 * area / base } else { 0.0 };
    Ok(Plateau { rk: top - bottom, rpk: triangle(peaks, mr1), rvk: triangle(valleys, 100.0 - mr2), mr1, mr2 })
}

/// Start of the flattest secant, and how far it falls. On straight pieces it begins or ends at a point.
fn flattest(curve: &[(f64, f64)]) -> (f64, f64) {
    let starts = curve.iter().flat_map(|(at, _)| [*at, at - SECANT]);
    let mut starts: Vec<f64> = starts.filter(|at| (0.0..=100.0 - SECANT).contains(at)).collect();
    starts.sort_by(f64::total_cmp);
    let falls = starts.into_iter().map(|at| (at, height(curve, at) - height(curve, at + SECANT)));
    // A hair flatter is no flatter: the first of equals.
    falls.fold((0.0, f64::MAX), |best, next| if next.1 < best.1 - 1e-12 { next } else { best })
}

/// Height at a ratio.
fn height(curve: &[(f64, f64)], at: f64) -> f64 {
    let after = curve.partition_point(|(ratio, _)| *ratio < at).clamp(1, curve.len() - 1);
    let ((x0, y0), (x1, y1)) = (curve[after - 1], curve[after]);
    if x1 > x0 { y0 + (y1 - y0) * ((at - x0) / (x1 - x0)).clamp(0.0, 1.0) } else { y1 }
}

/// Ratio at a height: the first, where the curve lies level.
fn ratio(curve: &[(f64, f64)], at: f64) -> f64 {
    let after = curve.partition_point(|(_, height)| *height > at + 1e-12);
    if after == 0 {
        return 0.0;
    }
    if after == curve.len() {
        return 100.0;
    }
    let ((x0, y0), (x1, y1)) = (curve[after - 1], curve[after]);
    if y0 > y1 { x0 + (x1 - x0) * (y0 - at) / (y0 - y1) } else { x1 }
}

/// Area of a curve's distance from a line between two ratios, in per cent times height.
fn area(curve: &[(f64, f64)], from: f64, to: f64, above: impl Fn(f64) -> f64) -> f64 {
    let inside = curve.iter().filter(|(at, _)| (from..=to).contains(at)).map(|(at, h)| (*at, *h));
    let mut points = vec![(from, height(curve, from))];
    points.extend(inside);
    points.push((to, height(curve, to)));
    points.windows(2).map(|w| (w[1].0 - w[0].0) * (above(w[0].1) + above(w[1].1)) / 2.0).sum()
}

/// The material ratio curve of heights at equal steps: sorted from the top.
fn curve_of(mut heights: Vec<f64>) -> Vec<(f64, f64)> {
    heights.sort_by(|a, b| b.total_cmp(a));
    let last = count(heights.len() - 1);
    heights.iter().enumerate().map(|(at, height)| (100.0 * count(at) / last, *height)).collect()
}

/// Plateau of a honed bore.
pub(super) static PLATEAU: Worksheet = Worksheet {
    name: "plateau",
    title: "core, peaks and valleys of a honed surface from its heights",
    section: Section::Honing,
    inputs: &[
        Input::required(
            "heights",
            Takes::Quantities(Unit::Micrometre, Range::from(-1000.0, 1000.0), 2),
            "of the roughness profile at equal steps; or of the material ratio curve, with ratios",
        ),
        Input::optional(
            "ratios",
            Takes::Quantities(Unit::ToOne, Range::from(0.0, 100.0), 2),
            "material ratio in per cent of each height, rising from 0 to 100; left out: the heights are a profile",
        ),
    ],
    example: "heights=2.2;1.6;1.1;-1.4um ratios=0;9;78;100",
    outputs: &[
        Output::new("rk", "µm", 3, "core height"),
        Output::new("rpk", "µm", 3, "reduced peak height"),
        Output::new("rvk", "µm", 3, "reduced valley depth"),
        Output::new("mr1", "%", 1, "material ratio where the peaks end"),
        Output::new("mr2", "%", 1, "material ratio where the valleys begin"),
    ],
    formula: "the flattest secant over 40 % of the material ratio curve, drawn on to 0 and 100 %, bounds R_k; R_pk = 2 A1 / Mr1, R_vk = 2 A2 / (100 - Mr2)",
    valid: "an S-shaped curve of a skidless profile, filtered, usually 0.8 mm, over five cut-offs, across the hatch; straight between points",
    source: Source {
        text: "construction of ISO 13565-2:1996, kept by ISO 21920-2:2021",
        standing: Standing::Published,
    },
    mistakes: &[
        "Ra taken to describe a plateau",
        "a profile without its filter, or along the hatch",
        "a skid instrument",
    ],
    cautions: &["The maker's finish for ring and bore comes first."],
    compute: |given| {
        let (heights, ratios) = (given.list("heights", Unit::Micrometre), given.list("ratios", Unit::ToOne));
        if ratios.is_empty() {
            return answer(plateau(&curve_of(heights))?, given);
        }
        one_for_each("ratios", ratios.len(), ("heights", heights.len()), "give one for each height")?;
        let curve: Vec<(f64, f64)> = ratios.into_iter().zip(heights).collect();
        answer(plateau(&curve)?, given)
    },
};

fn answer(found: Plateau, given: &Given) -> Result<Answer, WorkError> {
    let few =
        given.list("ratios", Unit::ToOne).is_empty() && given.list("heights", Unit::Micrometre).len() < 1000;
    Ok(Answer::new()
        .number("rk", found.rk)?
        .number("rpk", found.rpk)?
        .number("rvk", found.rvk)?
        .number("mr1", found.mr1)?
        .number("mr2", found.mr2)?
        .note_if(few, "few points for a profile: an instrument takes thousands"))
}
