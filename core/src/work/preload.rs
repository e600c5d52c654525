//! What a torque or a stretch makes in a bolt. Never a torque in place of the maker's.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::{MAKERS_FIGURE, TORQUES, torque};
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::thread::{leaves_a_core, no_core, pitch_diameter};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

pub(super) const FRICTION: Range = Range::from(0.02, 0.5);

/// Lengths of the steps of a shank.
pub(super) const LENGTHS: Input = Input::required(
    "lengths",
    Takes::Quantities(Unit::Millimetre, Range::up_to(1000.0), 1),
    "of each step between head and thread, engaged thread by half",
);
/// Diameters of the steps of a shank.
pub(super) const DIAMETERS: Input = Input::required(
    "diameters",
    Takes::Quantities(Unit::Millimetre, Range::up_to(100.0), 1),
    "of each step, in the same order; of a thread its stress diameter",
);
/// Modulus of a shank.
pub(super) const MODULUS: Input = Input::by_habit(
    "modulus",
    Takes::Quantity(Unit::Gigapascal, Range::up_to(500.0)),
    "207 GPa",
    "steel about 207",
);
/// Mean diameter under a head.
pub(super) const HEAD_DIAMETER: Input = Input::required(
    "head-diameter",
    Takes::Quantity(Unit::Millimetre, Range::from(1.0, 200.0)),
    "mean, of the face under the head",
);

/// Preload in N of a torque in N·m (ISO 16047): thread of diameter and pitch in mm, friction in the
/// thread and under the head, mean diameter under the head in mm.
///
/// `F = T / [P/(2 pi) + 1.154 mu_th d2/2 + mu_b Dm/2]`.
#[must_use]
pub fn preload_of_torque(
    torque: f64,
    (diameter, pitch): (f64, f64),
    thread: f64,
    head: f64,
    mean: f64,
) -> f64 {
    let [pitch_part, thread_part, head_part] = parts((diameter, pitch), thread, head, mean);
    1000.0 * torque / (pitch_part + thread_part + head_part)
}

/// The three parts of the lever in mm: pitch, thread friction, head friction.
fn parts((diameter, pitch): (f64, f64), thread: f64, head: f64, mean: f64) -> [f64; 3] {
    let d2 = pitch_diameter(diameter, pitch);
    [pitch / (2.0 * std::f64::consts::PI), 1.154 * thread * d2 / 2.0, head * mean / 2.0]
}

/// Preload from a torque.
pub(super) static TORQUE_PRELOAD: Worksheet = Worksheet {
    name: "torque-preload",
    title: "what preload the maker's torque makes, and where the torque goes",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's figure"),
        Input {
            name: "diameter",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(1.0, 100.0)),
            need: Need::Required,
            about: "of the thread, nominal",
        },
        Input {
            name: "pitch",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.2, 10.0)),
            need: Need::Required,
            about: "of the thread",
        },
        Input {
            name: "thread-friction",
            takes: Takes::Number(FRICTION),
            need: Need::Required,
            about: "by thread and lubricant; 0.08 to 0.16 oiled",
        },
        Input {
            name: "head-friction",
            takes: Takes::Number(FRICTION),
            need: Need::Required,
            about: "under the head",
        },
        HEAD_DIAMETER,
    ],
    example: "torque=42N.m diameter=9mm pitch=1mm thread-friction=0.11 head-friction=0.11 head-diameter=11.5mm",
    outputs: &[
        Output { name: "preload", unit: "kN", decimals: 2, about: "with these frictions" },
        Output { name: "to-preload", unit: "%", decimals: 0, about: "of the torque that stretches the bolt" },
        Output { name: "to-thread", unit: "%", decimals: 0, about: "lost in the thread" },
        Output { name: "to-head", unit: "%", decimals: 0, about: "lost under the head" },
    ],
    formula: "F = T / [P/(2 pi) + 1.154 mu_th d2/2 + mu_b Dm/2], d2 = d - 0.6495 P",
    valid: "60 degree threads; friction is known to some 20 % at best, so preload by torque alone scatters by 25 to 30 % (from memory)",
    source: Source { text: "ISO 16047:2005; VDI 2230-1:2015", standing: Standing::Published },
    mistakes: &[
        "the figure for dry threads used on oiled ones",
        "friction of one lubricant used with another",
        "a torque worked out backwards from this",
    ],
    cautions: &[MAKERS_FIGURE],
    compute: torque_preload,
};

fn torque_preload(given: &Given) -> Result<Answer, WorkError> {
    let mm = |name: &'static str| given.value(name, Unit::Millimetre);
    let thread = (mm("diameter")?, mm("pitch")?);
    if !leaves_a_core(thread.0, thread.1) {
        return Err(no_core(thread.0, thread.1));
    }
    let (friction, head) = (given.number("thread-friction")?, given.number("head-friction")?);
    let lever = parts(thread, friction, head, mm("head-diameter")?);
    let whole: f64 = lever.iter().sum();
    let torque = given.value("torque", Unit::NewtonMetre)?;
    Answer::new()
        .number("preload", torque / whole)?
        .number("to-preload", 100.0 * lever[0] / whole)?
        .number("to-thread", 100.0 * lever[1] / whole)?
        .number("to-head", 100.0 * lever[2] / whole)
}

/// Stiffness of a stepped shank, `1/k = sum L/(A E)`; lengths, areas and modulus in matching units.
#[must_use]
pub fn stiffness(steps: &[(f64, f64)], modulus: f64) -> f64 {
    1.0 / steps.iter().map(|(length, area)| length / (area * modulus)).sum::<f64>()
}

/// Preload from the stretch of a stepped shank.
pub(super) static STRETCH_PRELOAD: Worksheet = Worksheet {
    name: "stretch-preload",
    title: "what preload a measured stretch means, of a stepped shank",
    section: Section::Fasteners,
    inputs: &[
        Input {
            name: "stretch",
            takes: Takes::Quantity(Unit::Millimetre, Range::from(0.0, 10.0)),
            need: Need::Required,
            about: "tight length less free length",
        },
        LENGTHS,
        DIAMETERS,
        MODULUS,
    ],
    example: "stretch=0.12mm lengths=28;14mm diameters=8.0,8.4mm",
    outputs: &[
        Output { name: "preload", unit: "kN", decimals: 2, about: "at that stretch" },
        Output { name: "stiffness", unit: "kN/mm", decimals: 1, about: "of the bolt" },
    ],
    formula: "F = k dL; 1/k = sum L_i / (A_i E)",
    valid: "below yield; bolt at one temperature for both lengths",
    source: Source {
        text: "Shigley ch. 8; VDI 2230-1:2015 adds 0.4 d for the head",
        standing: Standing::Published,
    },
    mistakes: &[
        "free length not measured first",
        "warm bolt against cold",
        "stress area taken for a necked shank",
        "dimpled ends measured beside the dimple",
    ],
    cautions: &[MAKERS_FIGURE],
    compute: stretch_preload,
};

fn stretch_preload(given: &Given) -> Result<Answer, WorkError> {
    let stiffness = bolt_stiffness(given)?;
    let stretch = given.value("stretch", Unit::Millimetre)?;
    Answer::new().number("preload", stiffness * stretch)?.number("stiffness", stiffness)
}

/// Of the shank of `lengths`, `diameters` and `modulus`, in kN/mm.
///
/// # Errors
/// Lists that do not go together.
pub(super) fn bolt_stiffness(given: &Given) -> Result<f64, WorkError> {
    let mm = Unit::Millimetre;
    let (lengths, diameters) = (given.list("lengths", mm), given.list("diameters", mm));
    if lengths.len() != diameters.len() {
        let cause = format!("has {} values, and lengths has {}", diameters.len(), lengths.len());
        return Err(WorkError::of("diameters", cause, "give one diameter for each length"));
    }
    let area = |d: &f64| std::f64::consts::FRAC_PI_4 * d * d;
    let steps: Vec<(f64, f64)> = lengths.iter().copied().zip(diameters.iter().map(area)).collect();
    Ok(stiffness(&steps, given.value("modulus", Unit::Megapascal)?) / 1000.0)
}

/// How far a torque tool is out.
pub(super) static WRENCH_DEVIATION: Worksheet = Worksheet {
    name: "wrench-deviation",
    title: "how far a torque wrench is out, by a reference",
    section: Section::Fasteners,
    inputs: &[
        torque("set", "what it was set to"),
        Input {
            name: "reference",
            takes: Takes::Quantities(Unit::NewtonMetre, TORQUES, 1),
            need: Need::Required,
            about: "what the reference read, pull by pull",
        },
    ],
    example: "set=42N.m reference=42.6,42.9,42.4,43.0,42.7N.m",
    outputs: &[
        Output { name: "deviation", unit: "%", decimals: 2, about: "of each pull, by the reference" },
        Output { name: "worst", unit: "%", decimals: 2, about: "largest, without its sign" },
    ],
    formula: "a = (set - reference) / reference x 100",
    valid: "five pulls each at 20, 60 and 100 % of its range after three at the largest",
    source: Source { text: "ISO 6789-1:2017 clause 7", standing: Standing::Published },
    mistakes: &["taken by the setting instead of the reference", "one pull taken for five"],
    cautions: &[
        "Pull, do not push. A wrench outside its class goes to be set, and its tightenings are looked at again.",
        MAKERS_FIGURE,
    ],
    compute: |given| {
        let set = given.value("set", Unit::NewtonMetre)?;
        let out = |read: f64| 100.0 * (set - read) / read;
        let all: Vec<f64> = given.list("reference", Unit::NewtonMetre).into_iter().map(out).collect();
        Answer::new()
            .numbers("deviation", &all)?
            .number("worst", all.iter().map(|a| a.abs()).fold(0.0, f64::max))
    },
};
