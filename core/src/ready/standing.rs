//! How one gauge stands with what is asked of it, and which of several serves.

use super::{Build, Remedy, State};
use crate::assess::GaugeFacts;
use crate::engine::reads;
use crate::entry::payload::Millis;
use crate::plan::reach::{Holds, Sizes, holds, range};
use crate::sheet::Moment;

/// How long ahead a calibration is looked at: a build takes its weeks. Common practice, no source.
const BUILD: Millis = 30 * 24 * 60 * 60 * 1000;

/// Something that is lacking, and the way out.
#[derive(Clone, Debug)]
pub(super) struct Lack {
    pub(super) text: String,
    pub(super) remedy: Remedy,
}

impl Lack {
    pub(super) fn new(text: String, remedy: Remedy) -> Self {
        Self { text, remedy }
    }

    /// What a new statement of the gauge puts right.
    fn entered(gauge: &GaugeFacts, what: &str) -> Self {
        Self::new(format!("{}{what}", gauge.mark), Remedy::Enter(gauge.mark.clone()))
    }
}

/// What speaks against a gauge, and what somebody has to look at.
#[derive(Clone, Debug, Default)]
pub(super) struct Standing {
    pub(super) bad: Vec<Lack>,
    pub(super) look: Vec<Lack>,
}

impl Standing {
    /// Whether anything would be proven with a gauge, whatever the size.
    pub(super) fn trusted(build: Build, gauge: &GaugeFacts) -> Self {
        let bad = |what: &str| Self { bad: vec![Lack::entered(gauge, what)], look: Vec::new() };
        if gauge.disputed {
            return bad(": two statements of it differ");
        }
        if !gauge.by_lead {
            return bad(" was added on the spot, and no lead has entered it");
        }
        if gauge.calibrated.is_empty() {
            return bad(": its calibration is not known");
        }
        if !gauge.calibrated_at(build.now) {
            return bad(" is out of calibration");
        }
        let until = gauge.calibrated.iter().map(|(_, to)| *to).max().unwrap_or_default();
        let soon = (until < build.now.saturating_add(BUILD)).then(|| {
            let text = format!(
                "{}: its calibration runs out on {}, within the build",
                gauge.mark,
                Moment(until).day()
            );
            Lack::new(text, Remedy::Words("have it calibrated before, or be done by then".to_owned()))
        });
        Self { bad: Vec::new(), look: soon.into_iter().collect() }
    }

    /// Whether it reaches sizes, and would prove anything.
    pub(super) fn of(build: Build, gauge: &GaugeFacts, sizes: Sizes) -> Self {
        let mut standing = Self::trusted(build, gauge);
        match holds(gauge, sizes) {
            Holds::Yes => {}
            Holds::No => {
                let text = format!("{} reaches {}", gauge.mark, range(gauge));
                standing.bad.push(Lack::new(text, Remedy::None));
            }
            Holds::NotEntered => standing.look.push(Lack::entered(gauge, ": its range is not entered")),
        }
        standing
    }

    /// The same of a gauge that reads a deviation, with the best it can be set on: the one that is
    /// named, else another of the workshop that reaches the sizes.
    pub(super) fn with_master<'w>(
        build: Build<'w>,
        gauge: &GaugeFacts,
        sizes: Sizes,
    ) -> (Self, Option<&'w GaugeFacts>) {
        let mut standing = Self::of(build, gauge, sizes);
        let sorts = reads::set_on(&gauge.sort);
        if sorts.is_empty() || !standing.bad.is_empty() {
            return (standing, build.workshop.gauge(&gauge.master));
        }
        let named = build.workshop.gauge(&gauge.master);
        let others = build.workshop.gauges().filter(|other| sorts.contains(&other.sort.as_str()));
        let all = named.into_iter().chain(others.filter(|other| *other.mark != *gauge.master));
        let all: Vec<_> = all.map(|master| (master, Self::of(build, master, sizes))).collect();
        let best = all.iter().filter(|(_, of)| of.bad.is_empty()).min_by_key(|(_, of)| of.look.len());
        match best {
            Some((master, of)) => {
                standing.look.extend(of.look.clone());
                (standing, Some(*master))
            }
            None => {
                standing.bad.extend(unset(gauge, named.is_some(), all.into_iter().map(|(_, of)| of)));
                (standing, None)
            }
        }
    }
}

/// Why there is nothing that a gauge can be set on.
fn unset(gauge: &GaugeFacts, listed: bool, masters: impl Iterator<Item = Standing>) -> Vec<Lack> {
    let (mark, master) = (&gauge.mark, &gauge.master);
    let usual = reads::set_on(&gauge.sort).first().copied().unwrap_or_default();
    if !master.is_empty() && !listed {
        let remedy = Remedy::run(&["gauge", "add", master, "--sort", "SORT", "--range", "LOW..HIGH"]);
        return vec![Lack::new(format!("{mark} is set with {master}, which is not listed"), remedy)];
    }
    // What does not reach is no use, however it stands otherwise.
    let reach = masters.map(|of| of.bad).filter(|bad| bad.iter().all(|lack| lack.remedy != Remedy::None));
    let mut lacks: Vec<Lack> = reach.flatten().collect();
    match lacks.first_mut() {
        Some(first) => first.text = format!("nothing to set {mark} on: {}", first.text),
        None => {
            let text = format!("{mark}: nothing that it can be set on reaches the size");
            lacks.push(Lack::new(text, Remedy::add(usual)));
        }
    }
    lacks
}

/// What serves of several: one that is good, else one that somebody looks at, else why none does.
pub(super) fn best(all: Vec<(String, Standing)>, none: Lack) -> State {
    let good = |(_, of): &&(String, Standing)| of.bad.is_empty();
    let usable = all.iter().filter(good).min_by_key(|(_, of)| of.look.len());
    match usable {
        Some((text, of)) => there_or_look(text.clone(), &of.look),
        None => missing(all.into_iter().map(|(_, of)| of.bad).collect(), none),
    }
}

/// There, where there is nothing to look at.
pub(super) fn there_or_look(text: String, look: &[Lack]) -> State {
    if look.is_empty() {
        return State::There(text);
    }
    let texts = once(look.iter().map(|lack| lack.text.as_str()));
    let found = match texts.first() {
        // What is to be looked at names the gauge already.
        Some(first) if first.starts_with(&text) => texts.join("; "),
        _ => format!("{text}; {}", texts.join("; ")),
    };
    let mut remedies = look.iter().map(|lack| &lack.remedy);
    let remedy = remedies.find(|remedy| **remedy != Remedy::None);
    State::Look(found, remedy.cloned().unwrap_or(Remedy::None))
}

/// Missing, for what is bad of each gauge; where there is none, for that one reason. The way out is that
/// of the first gauge that would serve once it is put right, else that of the one reason.
pub(super) fn missing(bad: Vec<Vec<Lack>>, none: Lack) -> State {
    let mended = |lacks: &&Vec<Lack>| lacks.iter().all(|lack| lack.remedy != Remedy::None);
    let remedy = bad.iter().find(mended).and_then(|lacks| lacks.first()).map(|lack| lack.remedy.clone());
    let texts = once(bad.iter().flatten().map(|lack| lack.text.as_str()));
    let text = if texts.is_empty() { none.text } else { texts.join("; ") };
    State::Missing(text, remedy.unwrap_or(none.remedy))
}

/// Each text once, in the order in which it came first.
fn once<'t>(texts: impl Iterator<Item = &'t str>) -> Vec<&'t str> {
    let mut said: Vec<&str> = Vec::new();
    for text in texts {
        if !said.contains(&text) {
            said.push(text);
        }
    }
    said
}
