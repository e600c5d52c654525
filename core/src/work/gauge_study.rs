//! A gauge study: several people read the same parts several times. What is common to both ways of
//! reckoning it, and the way by averages and ranges.

use super::answer::Answer;
use super::error::WorkError;
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::{count, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};
use crate::quantity::Unit;

/// Readings of a study: `[person][trial][part]`, each list as long as the others.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Study {
    people: Vec<Vec<Vec<f64>>>,
}

/// Where a spread comes from, as standard deviations in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spreads {
    /// One person reading one part again.
    pub(super) repeat: f64,
    /// From person to person.
    pub(super) people: f64,
    /// Both together.
    pub(super) gauge: f64,
    /// From part to part.
    pub(super) parts: f64,
}

impl Spreads {
    /// Gauge and parts together: the total of this study.
    pub(super) fn total(&self) -> f64 {
        libm::hypot(self.gauge, self.parts)
    }
}

const PEOPLE: [&str; 3] = ["first", "second", "third"];

const fn readings(name: &'static str, need: Need, about: &'static str) -> Input {
    let takes = Takes::Quantities(Unit::Millimetre, Range::from(-2000.0, 2000.0), 4);
    Input { name, takes, need, about }
}

pub(super) const FIRST: Input =
    readings(PEOPLE[0], Need::Required, "readings of one person: every part in order, then every part again");
pub(super) const SECOND: Input =
    readings(PEOPLE[1], Need::Required, "of another, the parts in the same order");
pub(super) const THIRD: Input = readings(PEOPLE[2], Need::Optional, "and of a third");
pub(super) const TOLERANCE: Input = Input {
    name: "tolerance",
    takes: Takes::Quantity(Unit::Micrometre, Range::up_to(10_000.0)),
    need: Need::Optional,
    about: "upper less lower limit, to see the gauge against it",
};

pub(super) const fn parts_up_to(most: u32) -> Input {
    let takes = Takes::Whole(2, most);
    Input { name: "parts", takes, need: Need::Required, about: "how many parts each person read" }
}

pub(super) const REPEAT: Output = Output::new("repeat", "µm", 2, "EV: one person, one part, read again");
pub(super) const BY_PERSON: Output = Output::new("people", "µm", 2, "AV: from person to person");
pub(super) const GAUGE: Output = Output::new("gauge", "µm", 2, "GRR: both together");
pub(super) const BY_PART: Output = Output::new("between-parts", "µm", 2, "PV: from part to part");
pub(super) const TOTAL: Output = Output::new("total", "µm", 2, "TV: gauge and parts");
pub(super) const OF_TOTAL: Output = Output::new("gauge-of-total", "%", 2, "GRR by TV");
pub(super) const OF_TOLERANCE: Output = Output::new("gauge-of-tolerance", "%", 2, "6 GRR by the tolerance");
pub(super) const CLASSES: Output =
    Output::new("classes", "", 0, "ndc: classes of parts it can tell apart, cut down");
pub(super) const SAYS: Output = Output::new("says", "", 0, "in words");

pub(super) const MISTAKES: &[&str] = &[
    "per cent of the total and per cent of the tolerance mixed: say which",
    "classes rounded up",
    "parts picked alike: the total is small, and the gauge looks bad",
    "the second person sees what the first one read",
    "one place of a bore read with the dial left standing",
];

impl Study {
    /// The readings as given, cut by the count of parts.
    ///
    /// # Errors
    /// A list that is no whole number of rounds of at least two, lists of unlike length, or readings
    /// that are all alike, naming the list.
    pub(super) fn of(given: &Given) -> Result<Self, WorkError> {
        let parts = usize::try_from(given.whole("parts")?).unwrap_or(usize::MAX);
        let mut people: Vec<Vec<Vec<f64>>> = Vec::new();
        for name in PEOPLE {
            let all = given.list(name, Unit::Millimetre);
            if all.is_empty() {
                continue;
            }
            let rounds = people.first().map_or(all.len() / parts, Vec::len);
            if rounds < 2 || all.len() != rounds * parts {
                let cause =
                    format!("has {} readings, which is not {} of {parts} parts", all.len(), times(rounds));
                let hint = "give every part once, in order, then every part again; alike for every person";
                return Err(WorkError::of(name, cause, hint));
            }
            people.push(all.chunks(parts).map(<[f64]>::to_vec).collect());
        }
        let study = Self { people };
        if span(&study.all()) <= 0.0 {
            let hint = "parts that differ, and a gauge with a finer step, are needed";
            return Err(WorkError::of(PEOPLE[0], "and all other readings are alike", hint));
        }
        Ok(study)
    }

    pub(super) fn people(&self) -> usize {
        self.people.len()
    }

    pub(super) fn trials(&self) -> usize {
        self.people[0].len()
    }

    pub(super) fn parts(&self) -> usize {
        self.people[0][0].len()
    }

    /// Every reading.
    pub(super) fn all(&self) -> Vec<f64> {
        self.people.iter().flatten().flatten().copied().collect()
    }

    /// Readings of one person.
    pub(super) fn of_person(&self, person: usize) -> Vec<f64> {
        self.people[person].iter().flatten().copied().collect()
    }

    /// Readings of one part.
    pub(super) fn of_part(&self, part: usize) -> Vec<f64> {
        self.people.iter().flatten().map(|trial| trial[part]).collect()
    }

    /// Readings of one part by one person.
    pub(super) fn cell(&self, person: usize, part: usize) -> Vec<f64> {
        self.people[person].iter().map(|trial| trial[part]).collect()
    }
}

fn times(rounds: usize) -> String {
    if rounds < 2 { "twice or more each".to_owned() } else { format!("{rounds} times each") }
}

pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / count(values.len())
}

/// The spreads (in mm) as both sheets give them, with per cents, classes and words.
pub(super) fn told(answer: Answer, spreads: Spreads, given: &Given) -> Result<Answer, WorkError> {
    let Spreads { repeat, people, gauge, parts } = spreads;
    let total = spreads.total();
    let answer = answer
        .number("repeat", 1000.0 * repeat)?
        .number("people", 1000.0 * people)?
        .number("gauge", 1000.0 * gauge)?
        .number("between-parts", 1000.0 * parts)?
        .number("total", 1000.0 * total)?
        .number("gauge-of-total", 100.0 * gauge / total)?;
    let answer = match given.maybe("tolerance", Unit::Millimetre) {
        Some(tolerance) => answer.number("gauge-of-tolerance", 600.0 * gauge / tolerance)?,
        None => answer,
    };
    let answer =
        if gauge > 0.0 { answer.number("classes", libm::floor(1.41 * parts / gauge))? } else { answer };
    Ok(answer
        .word("says", says(100.0 * gauge / total))
        .note("gauge-of-total is by the total of this study: its own parts and people, not the tolerance")
        .note_if(gauge <= 0.0, "no scatter at all was seen: the gauge's step may be too coarse to show it"))
}

/// Bands of 10 and 30 per cent. Source: measurement systems analysis manual, 4th edition, ch. III.
fn says(of_total: f64) -> &'static str {
    match of_total {
        share if share < 10.0 => "fine enough (below 10 %)",
        share if share <= 30.0 => "may do, by what hangs on it (10 to 30 %)",
        _ => "not fine enough for parts that differ so little (above 30 %)",
    }
}

/// By two or three trials: from the mean range to a standard deviation.
const K1: [f64; 2] = [0.8862, 0.5908];
/// By two or three people.
#[expect(clippy::approx_constant, reason = "the table's four digits are the convention")]
const K2: [f64; 2] = [0.7071, 0.5231];
/// By two to ten parts.
#[expect(clippy::approx_constant, reason = "the table's four digits are the convention")]
const K3: [f64; 9] = [0.7071, 0.5231, 0.4467, 0.4030, 0.3742, 0.3534, 0.3375, 0.3249, 0.3146];

/// The study by averages and ranges.
pub(super) static GAUGE_STUDY: Worksheet = Worksheet {
    name: "gauge-study",
    title: "how much of what is read is the gauge and the people: by averages and ranges",
    section: Section::Repeats,
    inputs: &[parts_up_to(10), FIRST, SECOND, THIRD, TOLERANCE],
    example: "parts=3 first=47.742,47.751,47.746,47.743,47.751,47.745mm second=47.743,47.753,47.747,47.743,47.752,47.748mm tolerance=30um",
    outputs: &[
        Output::new("mean-range", "µm", 3, "of one part read again by one person"),
        Output::new("people-apart", "µm", 3, "largest mean of a person less smallest"),
        Output::new("parts-apart", "µm", 3, "largest mean of a part less smallest"),
        REPEAT,
        BY_PERSON,
        GAUGE,
        BY_PART,
        TOTAL,
        OF_TOTAL,
        OF_TOLERANCE,
        CLASSES,
        SAYS,
    ],
    formula: "EV = R K1; AV = sqrt((X K2)^2 - EV^2/(n r)), nought where negative; GRR = hypot(EV, AV); PV = Rp K3; TV = hypot(GRR, PV); classes = floor(1.41 PV/GRR)",
    valid: "two or three people, two or three trials, two to ten parts spread as the job's parts are; it does not see that people read some parts differently",
    source: Source {
        text: "measurement systems analysis manual, 4th edition, ch. III",
        standing: Standing::Published,
    },
    mistakes: MISTAKES,
    cautions: &[],
    compute: gauge_study,
};

fn gauge_study(given: &Given) -> Result<Answer, WorkError> {
    let study = Study::of(given)?;
    let (people, trials, parts) = (study.people(), study.trials(), study.parts());
    let (Some(k1), Some(k2), Some(k3)) = (K1.get(trials - 2), K2.get(people - 2), K3.get(parts - 2)) else {
        let cause = format!("gives {trials} trials, and the factors are for two or three");
        return Err(WorkError::of(PEOPLE[0], cause, "use the sheet gauge-study-anova"));
    };
    let cells = (0..people).flat_map(|person| (0..parts).map(move |part| (person, part)));
    let ranges: Vec<f64> = cells.map(|(person, part)| span(&study.cell(person, part))).collect();
    let means: Vec<f64> = (0..people).map(|person| mean(&study.of_person(person))).collect();
    let of_parts: Vec<f64> = (0..parts).map(|part| mean(&study.of_part(part))).collect();
    let (range, apart, parts_apart) = (mean(&ranges), span(&means), span(&of_parts));
    let repeat = range * k1;
    let by_person = (apart * k2) * (apart * k2) - repeat * repeat / count(parts * trials);
    let by_person = libm::sqrt(by_person.max(0.0));
    let gauge = libm::hypot(repeat, by_person);
    let spreads = Spreads { repeat, people: by_person, gauge, parts: parts_apart * k3 };
    let answer = Answer::new()
        .number("mean-range", 1000.0 * range)?
        .number("people-apart", 1000.0 * apart)?
        .number("parts-apart", 1000.0 * parts_apart)?;
    told(answer, spreads, given)
}
