//! Sheets of the two mistakes a decision can make, and of when a limit is surely exceeded.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::risk::{Process, Sides, drawn_in, global_risks, guard_for_risk, guarded_rejection};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

const LENGTHS: Range = Range::from(-2000.0, 2000.0);
const ABOVE_NOTHING: Range = Range::up_to(2000.0);

const fn length(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Millimetre, LENGTHS), need, about }
}

const fn micrometres(name: &'static str, need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Micrometre, ABOVE_NOTHING), need, about }
}

const fn share(name: &'static str, (low, high): (f64, f64), need: Need, about: &'static str) -> Input {
    Input { name, takes: Takes::Quantity(Unit::Percent, Range::from(low, high)), need, about }
}

/// How often bad parts pass and good ones do not.
pub(super) static DECISION_RISK: Worksheet = Worksheet {
    name: "decision-risk",
    title: "how often a bad part is accepted and a good one rejected, and the guard for a wanted risk",
    section: Section::Decisions,
    inputs: &[
        length("mean", Need::Required, "true size of the parts as they come, on the average"),
        micrometres("spread", Need::Required, "standard deviation of their true sizes"),
        micrometres("u", Need::Required, "standard uncertainty of a reading"),
        length("lower", Need::Optional, "lower limit"),
        length("upper", Need::Optional, "upper limit"),
        Input {
            name: "guard",
            takes: Takes::Quantity(Unit::Micrometre, Range::from(0.0, 2000.0)),
            need: Need::Default("0 µm", Standing::Computed),
            about: "kept clear of each limit when accepting",
        },
        share("wanted", (0.0001, 50.0), Need::Optional, "accepted though outside, at most, of all parts"),
    ],
    example: "mean=47.750mm spread=4um u=2.3um lower=47.742mm upper=47.758mm guard=2um wanted=0.1%",
    outputs: &[
        Output::new("accept-from", "mm", 4, "least reading that is accepted"),
        Output::new("accept-to", "mm", 4, "largest reading that is accepted"),
        Output::new("consumer", "%", 4, "accepted though outside, of all parts"),
        Output::new("producer", "%", 4, "rejected though within, of all parts"),
        Output::new("outside", "%", 4, "outside the limits, of all parts"),
        Output::new("guard-wanted", "µm", 3, "guard that brings the consumer's risk down to the wanted one"),
        Output::new("wanted-from", "mm", 4, "least reading accepted then"),
        Output::new("wanted-to", "mm", 4, "largest reading accepted then"),
        Output::new("producer-then", "%", 4, "rejected though within, then"),
    ],
    formula: "R_C = integral outside the limits of p(x) P(accept|x) dx; R_P = integral within them of p(x) P(reject|x) dx; p normal with mean and spread, reading about x normal with u",
    valid: "true sizes and readings normal; a share of all parts, not of those accepted; the spread is of true sizes, the gauge's scatter taken out: spread^2 = s^2 - u^2",
    source: Source { text: "JCGM 106:2012 clause 9", standing: Standing::Published },
    mistakes: &[
        "the spread of readings given for that of true sizes",
        "taken for the risk of one reading: that is the sheet conformance",
        "a guard set for few bad parts, and the good ones it costs not looked at",
        "U (k = 2) given for u",
    ],
    cautions: &[],
    compute: decision_risk,
};

fn decision_risk(given: &Given) -> Result<Answer, WorkError> {
    let mm = Unit::Millimetre;
    let limits = (given.maybe("lower", mm), given.maybe("upper", mm));
    let process = Process::Normal(given.value("mean", mm)?, given.value("spread", mm)?);
    let (u, guard) = (given.value("u", mm)?, given.value("guard", mm)?);
    let accept = drawn_in(limits, guard);
    if let (Some(low), Some(high)) = accept
        && low >= high
        && guard > 0.0
    {
        let cause = format!("of {} µm at each limit leaves nothing of the tolerance", 1000.0 * guard);
        return Err(WorkError::of("guard", cause, "give less than half of the tolerance"));
    }
    let risks = global_risks(process, u, limits, accept)?;
    let answer = between(Answer::new(), ["accept-from", "accept-to"], accept)?
        .number("consumer", 100.0 * risks.consumer)?
        .number("producer", 100.0 * risks.producer)?
        .number("outside", 100.0 * risks.outside)?;
    let Some(wanted) = given.maybe("wanted", Unit::ToOne) else { return Ok(answer) };
    let guard = guard_for_risk(process, u, limits, wanted)?;
    let accept = drawn_in(limits, guard);
    let producer = global_risks(process, u, limits, accept)?.producer;
    let answer = answer.number("guard-wanted", 1000.0 * guard)?;
    let answer = between(answer, ["wanted-from", "wanted-to"], accept)?;
    Ok(answer.number("producer-then", 100.0 * producer)?.note_if(
        guard <= 0.0,
        "no guard is needed: bad parts are accepted no more often than wanted without one",
    ))
}

fn between(answer: Answer, names: [&'static str; 2], sides: Sides) -> Result<Answer, WorkError> {
    let answer = match sides.0 {
        Some(low) => answer.number(names[0], low)?,
        None => answer,
    };
    match sides.1 {
        Some(high) => answer.number(names[1], high),
        None => Ok(answer),
    }
}

/// When an upper limit is surely exceeded.
pub(super) static SURELY_OVER: Worksheet = Worksheet {
    name: "surely-over",
    title: "from which reading on an upper limit is surely exceeded, with an uncertainty in per cent of the reading",
    section: Section::Decisions,
    inputs: &[
        length("limit", Need::Required, "upper limit"),
        share("u", (0.001, 30.0), Need::Required, "standard uncertainty, of the reading"),
        share("sure", (50.0, 99.9999), Need::Default("95 %", Standing::Published), "how sure"),
    ],
    example: "limit=0.150mm u=5% sure=95%",
    outputs: &[
        Output::new("over-from", "mm", 5, "least reading that proves the limit exceeded"),
        Output::new("guard", "µm", 2, "beyond the limit"),
    ],
    formula: "v = limit / (1 - z u), z the normal point of how sure one wants to be",
    valid: "one limit, normal error, u a fixed share of the reading; who rejects carries the uncertainty",
    source: Source { text: "JCGM 106:2012 8.3.3 (guarded rejection)", standing: Standing::Published },
    mistakes: &[
        "a reading just over the limit taken for a proof against the part",
        "u taken at the limit where it grows with the reading",
    ],
    cautions: &[],
    compute: surely_over,
};

fn surely_over(given: &Given) -> Result<Answer, WorkError> {
    let share = |name: &'static str| given.value(name, Unit::ToOne);
    let limit = given.value("limit", Unit::Millimetre)?;
    if limit <= 0.0 {
        let cause = format!("{limit} mm is not above nought, and u is a share of the reading");
        return Err(WorkError::of("limit", cause, "use the sheet conformance, which takes u as a length"));
    }
    let from = guarded_rejection(limit, share("u")?, share("sure")?).ok_or_else(|| {
        WorkError::of("u", "is so large that no reading is ever sure", "give a finer gauge, or be less sure")
    })?;
    Answer::new().number("over-from", from)?.number("guard", 1000.0 * (from - limit))
}
