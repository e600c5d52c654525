//! Values with their verdicts: what they are, what they follow from, what decides.

use super::model::{Derived, Mention, ValueSheet, VerdictFigure};
use super::sight::Sight;
use super::state::State;
use super::words::{HIDDEN, place, plain};
use crate::assess::{FeatureView, Judged, show};
use crate::engine::derivation::Input;
use crate::engine::{FeatureKind, FeatureRef};
use crate::entry::payload::Payload;
use crate::measure::{Reason, Rule, Verdict};

pub(super) fn value(sight: &Sight, view: &FeatureView, judged: &Judged) -> ValueSheet {
    let may_see = sight.may_see(&judged.readings);
    let ends = judged.low.zip(judged.high).filter(|_| may_see);
    let limit = judged.limit.as_ref();
    let span = |(low, high)| show::span(judged.kind, low, high);
    let state = State::of_value_without(judged, sight.hidden());
    ValueSheet {
        name: plain(judged.name),
        value: ends.map(span).unwrap_or_default(),
        as_read: judged.as_read.filter(|_| may_see).map(span).unwrap_or_default(),
        u: judged.u.filter(|_| may_see).map(|u| show::uncertainty(judged.kind, u.base())).unwrap_or_default(),
        limits: limit.map(|l| show::limits(judged.kind, l.lower, l.upper)).unwrap_or_default(),
        rule: limit.map(|l| l.rule.to_string()).unwrap_or_default(),
        limit_source: limit.map(|l| l.source.clone()).unwrap_or_default(),
        limit_by: limit.and_then(|l| l.by).map(|ix| sight.mention(ix)),
        verdict: if may_see { verdict(judged) } else { HIDDEN.to_owned() },
        state,
        conceded: conceded(sight, view, judged),
        hindrance: judged.hindrance().unwrap_or_default(),
        stations: judged.stations,
        derived: judged.derivation.map(|row| Derived {
            formula: row.text,
            source: row.source,
            inputs: row.inputs.iter().map(|input| input_words(sight, view, input)).collect(),
        }),
        figure: ends.and_then(|(low, high)| figure(judged, low, high, state)),
    }
}

fn figure(judged: &Judged, low: i64, high: i64, state: State) -> Option<VerdictFigure> {
    let limit = judged.limit.as_ref().filter(|l| l.lower.is_some() || l.upper.is_some())?;
    let guard = judged.judgement.guard;
    let (kind, lower, upper) = (judged.kind, limit.lower, limit.upper);
    Some(VerdictFigure { kind, low, high, guard, lower, upper, state })
}

/// The verdict, and what it is worth: without a guard nothing is proven by it.
fn verdict(judged: &Judged) -> String {
    let word = judged.verdict().to_string();
    match (judged.verdict(), judged.judgement.rule) {
        (Verdict::Within, Rule::Strict) => "within, proven".to_owned(),
        (Verdict::Within, Rule::Shared) => "within, proven by the shared rule".to_owned(),
        (Verdict::Within, Rule::Simple) => "within, by the value alone".to_owned(),
        (Verdict::NotJudged(Reason::NoLimit), _) => "no limit".to_owned(),
        (Verdict::NotJudged(Reason::NotRead), _) => "not read yet".to_owned(),
        (Verdict::Outside | Verdict::NotProven | Verdict::NotJudged(_), _) => word,
    }
}

/// The concession that accepts a finding on this value.
fn conceded(sight: &Sight, view: &FeatureView, judged: &Judged) -> Option<(Mention, String)> {
    let on_this = sight
        .assessment
        .findings()
        .into_iter()
        .find(|f| f.conceded.is_some() && f.feature == view.feature.path() && f.subject == judged.name)?;
    concession(sight, on_this.conceded?)
}

/// Who conceded, and why.
pub(super) fn concession(sight: &Sight, id: crate::entry::EntryId) -> Option<(Mention, String)> {
    let reason = match &sight.log().get(&id)?.payload {
        Ok(Payload::Concession(concession)) => concession.reason.clone(),
        _ => String::new(),
    };
    Some((sight.mention_of(id)?, reason))
}

/// Name, place and value of an input.
fn input_words(sight: &Sight, view: &FeatureView, input: &Input) -> (String, String, String) {
    let name = plain(input.characteristic);
    let path = match source(sight, view, input) {
        Ok(path) => path,
        Err(missing) => return (name, missing, String::new()),
    };
    let same = path == view.feature.path();
    let judged = if same {
        view.values.iter().find(|value| value.name == input.characteristic)
    } else {
        sight.assessment.value(&path, input.characteristic)
    };
    if judged.is_some_and(|judged| !sight.may_see(&judged.readings)) {
        return (name, place(&path), HIDDEN.to_owned());
    }
    let text = judged.and_then(|judged| Some(show::span(judged.kind, judged.low?, judged.high?)));
    (name, place(&path), text.unwrap_or_else(|| "no value".to_owned()))
}

/// The path on which an input is read now.
fn source(sight: &Sight, view: &FeatureView, input: &Input) -> Result<String, String> {
    let number = view.feature.number();
    let numbered =
        |kind: FeatureKind| kind.row().pattern.replace("{n}", &number.unwrap_or_default().to_string());
    match input.from {
        FeatureRef::Same => Ok(view.feature.path().to_owned()),
        FeatureRef::SameNumber(kind) => Ok(numbered(kind)),
        FeatureRef::PinOfRod => {
            let layout = sight.assessment.definition().map(|definition| definition.layout());
            let pin = number.zip(layout).and_then(|(number, layout)| layout.pin_of_rod(number));
            Ok(format!("pin/{}", pin.unwrap_or_default()))
        }
        FeatureRef::PartAt { place: at, part } => {
            let (at, pattern) = (numbered(at), part.row().pattern);
            let sort = pattern.split('/').next().unwrap_or_default();
            let of_sort = |mark: &&str| mark.split_once('/').is_some_and(|(own, _)| own == sort);
            let all: Vec<_> = sight.assessment.parts_in(&at).filter(|(mark, _)| of_sort(mark)).collect();
            let fitted: Vec<_> = all.iter().copied().filter(|(_, by)| sight.is_fitted(*by)).collect();
            let here = if fitted.is_empty() { all } else { fitted };
            let here: Vec<&str> = here.into_iter().map(|(mark, _)| mark).collect();
            match here[..] {
                [one] => Ok(pattern.replace("{mark}", one.split_once('/').map_or(one, |(_, mark)| mark))),
                [] => Err(format!("no {sort} at {}", place(&at))),
                _ => Err(format!("more than one {sort} at {}", place(&at))),
            }
        }
    }
}
