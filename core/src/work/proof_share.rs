//! Preload beside the proof load, and how far friction alone spreads it.

use super::answer::Answer;
use super::error::WorkError;
use super::fastener::{MAKERS_FIGURE, torque};
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::preload::{FRICTION, HEAD_DIAMETER, preload_of_torque};
use super::thread::{CLASS, DIAMETER, PER_INCH, PITCH, proof_load, thread};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// From this share in per cent on, what is said of it. Source: Shigley ch. 8 has 75 % for joints to
/// be taken apart and 90 % for those that stay; from memory.
const SAYS: [(f64, &str); 5] = [
    (
        100.0,
        "WARNING: beyond the proof load; the bolt may stay longer. Stop: only the maker's procedure goes there",
    ),
    (90.0, "WARNING: less than a tenth below the proof load; scatter may take it beyond"),
    (75.0, "high: usual for joints that stay together"),
    (50.0, "usual for joints that come apart again"),
    (0.0, "low: the joint may slip or work loose; check torque, friction and class"),
];

fn says(percent: f64) -> &'static str {
    SAYS.iter().find(|(from, _)| percent >= *from).map_or("", |(_, says)| says)
}

/// A preload beside the proof load.
pub(super) static PROOF_SHARE: Worksheet = Worksheet {
    name: "proof-share",
    title: "a preload as a share of the proof load, with a warning",
    section: Section::Fasteners,
    inputs: &[
        Input::required(
            "preload",
            Takes::Quantity(Unit::Kilonewton, Range::from(0.0, 5000.0)),
            "as worked out from stretch, angle or torque",
        ),
        DIAMETER,
        PITCH,
        PER_INCH,
        Input { need: Need::Required, ..CLASS },
    ],
    example: "preload=28kN diameter=9mm pitch=1mm class=10.9",
    outputs: &[
        Output::new("share", "%", 0, "preload by proof load"),
        Output::new("proof-load", "kN", 1, "stress area by proof stress"),
        Output::new("says", "", 0, "in words, with a warning where it is due"),
    ],
    formula: "share = F / (A S_p)",
    valid: "standard threads in the bolt's narrowest place; a shank necked below the thread yields at less",
    source: Source {
        text: "ISO 898-1:2013 Table 3, SAE J429 (proof stress); the bands after Shigley ch. 8, from memory",
        standing: Standing::Memory,
    },
    mistakes: &[
        "class guessed from the bolt's looks",
        "the mean preload judged, and not the highest that scatter makes",
        "proof load taken for the load at which it breaks",
    ],
    cautions: &[
        MAKERS_FIGURE,
        "A bolt that may have been beyond its proof load is measured or replaced, not used again.",
    ],
    compute: proof_share,
};

fn proof_share(given: &Given) -> Result<Answer, WorkError> {
    let Some(proof) = proof_load(given, &thread(given)?)? else {
        return Err(WorkError::of("class", "is missing", "give class=10.9"));
    };
    let share = 100.0 * given.value("preload", Unit::Kilonewton)? / proof;
    Ok(Answer::new().number("share", share)?.number("proof-load", proof)?.word("says", says(share)))
}

/// How far friction spreads the preload of one torque.
pub(super) static PRELOAD_SCATTER: Worksheet = Worksheet {
    name: "preload-scatter",
    title: "how far friction alone spreads the preload of the maker's torque",
    section: Section::Fasteners,
    inputs: &[
        torque("torque", "the maker's figure"),
        DIAMETER,
        PITCH,
        PER_INCH,
        Input::required("friction-low", Takes::Number(FRICTION), "smallest that thread and head may have"),
        Input::required("friction-high", Takes::Number(FRICTION), "largest that they may have"),
        HEAD_DIAMETER,
        CLASS,
    ],
    example: "torque=42N.m diameter=9mm pitch=1mm friction-low=0.09 friction-high=0.14 head-diameter=11.5mm class=10.9",
    outputs: &[
        Output::new("most", "kN", 2, "preload at the smallest friction"),
        Output::new("least", "kN", 2, "preload at the largest"),
        Output::new("ratio", "", 2, "most by least"),
        Output::new("either-way", "%", 0, "half of their difference by their mean"),
        Output::new("most-of-proof", "%", 0, "the most by the proof load"),
        Output::new("says", "", 0, "of that share, in words"),
    ],
    formula: "F = T / [P/(2 pi) + 1.154 mu d2/2 + mu Dm/2] at both ends of the friction",
    valid: "one friction in thread and under the head; the wrench's own error comes on top",
    source: Source { text: "ISO 16047:2005", standing: Standing::Published },
    mistakes: &[
        "friction taken for known because the lubricant is",
        "used bolts and new ones in one set: their friction differs",
        "the torque raised or lowered because of this",
    ],
    cautions: &[MAKERS_FIGURE],
    compute: preload_scatter,
};

fn preload_scatter(given: &Given) -> Result<Answer, WorkError> {
    let (torque, thread) = (given.value("torque", Unit::NewtonMetre)?, thread(given)?);
    let head = given.value("head-diameter", Unit::Millimetre)?;
    let (low, high) = (given.number("friction-low")?, given.number("friction-high")?);
    if low > high {
        let cause = format!("{low} is more than friction-high, {high}");
        return Err(WorkError::of("friction-low", cause, "give the smaller one here"));
    }
    let preload = |mu: f64| preload_of_torque(torque, (thread.diameter, thread.pitch), mu, mu, head) / 1000.0;
    let (most, least) = (preload(low), preload(high));
    let answer = Answer::new()
        .number("most", most)?
        .number("least", least)?
        .number("ratio", most / least)?
        .number("either-way", 100.0 * (most - least) / (most + least))?;
    match proof_load(given, &thread)? {
        Some(proof) => {
            let share = 100.0 * most / proof;
            Ok(answer.number("most-of-proof", share)?.word("says", says(share)))
        }
        None => Ok(answer.note("no class given: not compared with the proof load")),
    }
}
