//! A gauge study by analysis of variance: it sees where people read some parts differently.

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::answer::Answer;
use super::error::WorkError;
use super::gauge_study::{
    BY_PART, BY_PERSON, CLASSES, FIRST, GAUGE, MISTAKES, OF_TOLERANCE, OF_TOTAL, REPEAT, SAYS, SECOND,
    Spreads, Study, THIRD, TOLERANCE, TOTAL, mean, parts_up_to, told,
};
use super::given::Given;
use super::input::{Input, Need, Range, Takes};
use super::values::{count, span};
use super::worksheet::{Output, Section, Source, Standing, Worksheet};

/// The study by analysis of variance.
pub(super) static GAUGE_STUDY_ANOVA: Worksheet = Worksheet {
    name: "gauge-study-anova",
    title: "how much of what is read is the gauge and the people: by analysis of variance",
    section: Section::Repeats,
    inputs: &[
        parts_up_to(50),
        FIRST,
        SECOND,
        THIRD,
        TOLERANCE,
        Input {
            name: "pool-above",
            takes: Takes::Number(Range::from(0.0, 1.0)),
            need: Need::Default("0.25", Standing::CommonPractice),
            about: "people and parts are taken not to interact where p is above this; 1 never, 0 always",
        },
    ],
    example: "parts=3 first=47.742,47.751,47.746,47.743,47.751,47.745mm second=47.743,47.753,47.747,47.743,47.752,47.748mm tolerance=30um",
    outputs: &[
        Output::new("f-interaction", "", 4, "mean square of people with parts by that of repeats"),
        Output::new("p-interaction", "", 4, "how often chance alone makes it so large"),
        Output::new("interaction", "", 0, "pooled with the repeats, or kept apart"),
        Output::new(
            "interacting",
            "µm",
            2,
            "from people reading some parts differently, where kept apart; in GRR",
        ),
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
    formula: "crossed two-way analysis, parts and people random: pooled (p above pool-above) EV^2 = (SS_int + SS_e)/(df_int + df_e), AV^2 = (MS_people - EV^2)/(n r), PV^2 = (MS_parts - EV^2)/(k r); kept apart EV^2 = MS_e, INT^2 = (MS_int - MS_e)/r, AV^2 = (MS_people - MS_int)/(n r), PV^2 = (MS_parts - MS_int)/(k r), GRR^2 = EV^2 + AV^2 + INT^2; nought where negative",
    valid: "two or three people, every part read by each as often; normal scatter",
    source: Source {
        text: "measurement systems analysis manual, 4th edition, ch. III; expected mean squares of a crossed random model",
        standing: Standing::Published,
    },
    mistakes: MISTAKES,
    cautions: &[],
    compute: gauge_study_anova,
};

/// Sums of squares with their degrees of freedom.
struct Table {
    parts: (f64, f64),
    people: (f64, f64),
    both: (f64, f64),
    repeats: (f64, f64),
}

fn square(off: f64) -> f64 {
    off * off
}

fn table(study: &Study) -> Table {
    let (n, k, r) = (count(study.parts()), count(study.people()), count(study.trials()));
    let grand = mean(&study.all());
    let of_people: Vec<f64> = (0..study.people()).map(|person| mean(&study.of_person(person))).collect();
    let of_parts: Vec<f64> = (0..study.parts()).map(|part| mean(&study.of_part(part))).collect();
    let (mut both, mut repeats) = (0.0, 0.0);
    for (person, of_person) in of_people.iter().enumerate() {
        for (part, of_part) in of_parts.iter().enumerate() {
            let cell = study.cell(person, part);
            let middle = mean(&cell);
            both += square(middle - of_person - of_part + grand);
            repeats += cell.iter().map(|value| square(value - middle)).sum::<f64>();
        }
    }
    // Below this it is the last digit of the sums and no scatter.
    let noise = 1e-18 * square(span(&study.all()));
    let heard = |squares: f64| if squares > noise { squares } else { 0.0 };
    let about_grand = |of: &[f64]| of.iter().map(|of| square(of - grand)).sum::<f64>();
    Table {
        parts: (heard(k * r * about_grand(&of_parts)), n - 1.0),
        people: (heard(n * r * about_grand(&of_people)), k - 1.0),
        both: (heard(r * both), (n - 1.0) * (k - 1.0)),
        repeats: (heard(repeats), n * k * (r - 1.0)),
    }
}

/// F of the interaction and how often chance makes it so large; none where repeats have no scatter.
fn interaction(table: &Table) -> Option<(f64, f64)> {
    let (both, repeats) = (ratio(table.both), ratio(table.repeats));
    if repeats <= 0.0 {
        return None;
    }
    let f = both / repeats;
    let distribution = FisherSnedecor::new(table.both.1, table.repeats.1).ok()?;
    Some((f, distribution.sf(f)))
}

fn ratio((squares, freedom): (f64, f64)) -> f64 {
    squares / freedom
}

/// Spreads in mm and, where people and parts interact, the spread from that.
fn spreads(study: &Study, table: &Table, pooled: bool) -> (Spreads, f64) {
    let (n, k, r) = (count(study.parts()), count(study.people()), count(study.trials()));
    let together = (table.both.0 + table.repeats.0, table.both.1 + table.repeats.1);
    let repeat = ratio(if pooled { together } else { table.repeats });
    let under = if pooled { repeat } else { ratio(table.both) };
    let spread = |above: f64, under: f64, count: f64| libm::sqrt(((above - under) / count).max(0.0));
    let interacting = if pooled { 0.0 } else { spread(under, repeat, r) };
    let people = spread(ratio(table.people), under, n * r);
    let repeat = libm::sqrt(repeat);
    let gauge = libm::hypot(libm::hypot(repeat, people), interacting);
    let parts = spread(ratio(table.parts), under, k * r);
    (Spreads { repeat, people, gauge, parts }, interacting)
}

fn gauge_study_anova(given: &Given) -> Result<Answer, WorkError> {
    let study = Study::of(given)?;
    let table = table(&study);
    let found = interaction(&table);
    let limit = given.number("pool-above")?;
    // Without scatter in the repeats nothing can be said of chance: whatever is there is kept apart.
    let pooled = found.map_or_else(|| table.both.0 <= 0.0, |(_, p)| p > limit);
    let (spreads, interacting) = spreads(&study, &table, pooled);
    let answer = match found {
        Some((f, p)) => Answer::new().number("f-interaction", f)?.number("p-interaction", p)?,
        None => {
            Answer::new().note("the repeats have no scatter: the gauge's step may be too coarse to show it")
        }
    };
    let answer = answer.word("interaction", if pooled { "pooled with the repeats" } else { "kept apart" });
    let answer = if pooled { answer } else { answer.number("interacting", 1000.0 * interacting)? };
    told(answer, spreads, given)
}
