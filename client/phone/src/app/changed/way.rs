//! What settles a finding: for every rule a row, with what is on the button and where it is looked for, in
//! this order. What settles no finding of a rule has no place in its row.

use gudgeon_core::assess::Rule;
use gudgeon_core::crew::next;
use gudgeon_core::engine::{Asked, Definition, Target, characteristic, part};
use gudgeon_core::entry::payload::Payload;
use gudgeon_core::entry::{DocumentId, EntryId};

use super::super::Place;
use super::super::sight::Sight;

/// What settles it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    /// Going there.
    Go(Place, &'static str),
    /// Saying which came first: what the first is called, and the other.
    Order(String, String),
    /// A lead accepts it, with the reason, here.
    Concede(&'static str),
    /// Whoever entered it voids it, with the reason, here.
    Void(&'static str),
}

/// What a finding says of where it is.
pub(super) struct About<'f> {
    pub(super) record: DocumentId,
    pub(super) rule: Rule,
    pub(super) feature: &'f str,
    pub(super) subject: &'f str,
    pub(super) ids: &'f [EntryId],
}

/// Where it is looked for.
type Find = fn(&About, &Sight, &Definition, &'static str) -> Option<Way>;

/// One row for every rule.
pub(super) const WAYS: &[(Rule, &str, &[Find])] = &[
    (Rule::UnknownKind, "See the app and this phone", &[people]),
    (Rule::NoDefinition, "Carry it in", &[people]),
    (Rule::MissingGround, "Carry it in", &[people]),
    (Rule::NotCounted, "People and keys", &[people]),
    (Rule::Unreadable, "Void it, with the reason", &[void]),
    (Rule::ForkedKey, "People and keys", &[people]),
    (Rule::ClockBackwards, "People and keys", &[people]),
    (Rule::UnknownFeature, "Void it, with the reason", &[void]),
    (Rule::UnknownCharacteristic, "Void it, with the reason", &[void]),
    (Rule::WrongQuantity, "Void it, with the reason", &[void]),
    (Rule::ConditionsMissing, "Read again under them", &[reading, reading_of]),
    (Rule::GaugeUnknown, "Read with a gauge that is listed", GAUGE),
    (Rule::GaugeOverdue, "Read with another gauge", GAUGE),
    (Rule::GaugeFailed, "Read with another gauge", GAUGE),
    (Rule::GaugeRange, "Read with another gauge", GAUGE),
    (Rule::GaugeShowsNothing, "Read with a gauge", GAUGE),
    (Rule::FinerThanGauge, "Read again", GAUGE),
    (Rule::Disputed, "Take a third reading", &[reading, reading_of]),
    (Rule::BeforeOrAfter, "Read again", &[reading, tightening, asking, reading_of]),
    (Rule::DisputedChoice, "State it once more", &[step, asking, feature]),
    (Rule::DecidedEarly, "Decide anew", &[asking, step]),
    (Rule::Outside, "See what it follows from", &[reading_again, feature]),
    (Rule::NotProven, "Read with a finer gauge", &[reading, reading_of]),
    (Rule::NotJudged, "Supply what is missing", &[reading, reading_of]),
    (Rule::StaleSignOff, "See the cause, sign again", &[step]),
    (Rule::SignedWithoutEvidence, "Supply it, sign again", &[step]),
    (Rule::WrongSigner, "Have it signed", &[step]),
    (Rule::OrderBroken, "Sign the earlier step", &[earlier, step]),
    (Rule::SignedByTwo, "See the step", &[step]),
    (Rule::WorkAhead, "Sign the earlier step", &[earlier, step]),
    (Rule::SeveralAtOnce, "See the step", &[step]),
    (Rule::UnevenRise, "Turn it again", &[reading_of, feature]),
    (Rule::StagesOutOfOrder, "Slacken, begin again", FASTENERS),
    (Rule::LeftPartTightened, "Slacken, begin again", FASTENERS),
    (Rule::SetPoint, "Slacken, begin again", FASTENERS),
    (Rule::FastenerLeftOut, "Pull the stage again", FASTENERS),
    (Rule::FastenerGrown, "Measure the new ones", &[reading_of, feature]),
    (Rule::WrenchRange, "Slacken, begin again", FASTENERS),
    (Rule::Lubricant, "Slacken, begin again", FASTENERS),
    (Rule::TurnCheckMissing, "Slacken, begin again", FASTENERS),
    (Rule::CheckFailed, "Check again", &[asking, feature]),
    (Rule::PartConflict, "Enter where it is", &[asking, asking_sort, feature]),
    (Rule::UnknownPlace, "Void it, with the reason", &[void]),
    (Rule::NotReceived, "Enter what came", &[asking, asking_sort, feature]),
    (Rule::CutWithPartIn, "Take it out", &[asking, asking_sort, feature]),
    (Rule::TicketUnmeasured, "Measure it", &[feature_of_part, asking_sort]),
    (Rule::OutWhileBuiltIn, "Slacken it", &[tightening_of, feature]),
    (Rule::OutTwice, "Void it, with the reason", &[void]),
    (Rule::PartOut, "See its place", &[feature_of_part, asking_sort]),
    (Rule::Stopped, "Go on with it", &[step, first_step]),
    (Rule::WorkUnderStop, "Go on with it", &[step, first_step]),
    (Rule::ConcessionLapsed, "Decide anew: concede it, with the reason", &[concede]),
    (Rule::AfterHandOver, "Concede it, with the reason", &[concede]),
    (Rule::ReadAgain, "See the step", &[step]),
];

const GAUGE: &[Find] = &[reading, tightening, reading_of, tightening_of];
const FASTENERS: &[Find] = &[tightening, tightening_of];

/// What settles a finding; the record's own page where its row finds nothing.
pub(super) fn way(about: &About, sight: &Sight) -> Way {
    let home = || Way::Go(Place::Record(about.record), "See the engine");
    let row = WAYS.iter().find(|(rule, ..)| *rule == about.rule);
    let Some((_, word, finds)) = row else { return home() };
    let definition = sight.assessment.definition();
    // People are found without a definition: what is missing may be the definition itself.
    let Some(definition) = definition else { return Way::Go(Place::People, word) };
    finds.iter().find_map(|find| find(about, sight, definition, word)).unwrap_or_else(home)
}

fn people(_: &About, _: &Sight, _: &Definition, word: &'static str) -> Option<Way> {
    Some(Way::Go(Place::People, word))
}

fn concede(about: &About, _: &Sight, _: &Definition, word: &'static str) -> Option<Way> {
    (!about.ids.is_empty()).then_some(Way::Concede(word))
}

fn void(about: &About, _: &Sight, _: &Definition, word: &'static str) -> Option<Way> {
    (!about.ids.is_empty()).then_some(Way::Void(word))
}

/// The reading of the characteristic that is named.
fn reading(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    let feature = definition.feature(about.feature).ok()?;
    characteristic::find(feature.kind(), about.subject)?;
    let place = Place::Reading(about.record, about.feature.to_owned(), about.subject.to_owned());
    Some(Way::Go(place, word))
}

/// As [`reading`], for what is outside: one more reading, or another size.
fn reading_again(about: &About, sight: &Sight, definition: &Definition, _: &'static str) -> Option<Way> {
    reading(about, sight, definition, "Read again")
}

/// The reading that one of the entries is.
fn reading_of(about: &About, sight: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    about.ids.iter().find_map(|id| match &sight.log().get(id)?.payload {
        Ok(Payload::Reading(read)) => {
            definition.feature(&read.feature).ok()?;
            let place = Place::Reading(about.record, read.feature.clone(), read.characteristic.clone());
            Some(Way::Go(place, word))
        }
        Ok(_) | Err(_) => None,
    })
}

fn feature(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    definition.feature(about.feature).ok()?;
    Some(Way::Go(Place::Feature(about.record, about.feature.to_owned()), word))
}

/// The step that is named.
fn step(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    definition.step_index(about.subject)?;
    Some(to_step(about, about.subject, word))
}

fn to_step(about: &About, step: &str, word: &'static str) -> Way {
    Way::Go(Place::Step(about.record, step.to_owned()), word)
}

/// The first that the step which is named waits for.
fn earlier(about: &About, sight: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    let steps = sight.assessment.steps();
    let first = steps[definition.step_index(about.subject)?].waits_for.first()?;
    Some(to_step(about, &steps[*first].id, word))
}

/// The first step that can be worked on: every step shows a stop of the whole engine.
fn first_step(about: &About, sight: &Sight, _: &Definition, word: &'static str) -> Option<Way> {
    let first = next(&sight.assessment).next()?;
    Some(to_step(about, &sight.assessment.steps()[first].id, word))
}

/// The step that asks for what is named, there.
fn asking(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    asks(about, definition, word, |asked| asked.name() == about.subject)
}

/// The step that asks for a part of the sort that is named, there; else anywhere.
fn asking_sort(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    let sort = part::of_mark(about.subject)?;
    let is_sort = |asked: &Asked| matches!(asked, Asked::Part(of) if of == sort.name);
    let anywhere = || asks(&About { feature: "", ..*about }, definition, word, is_sort);
    asks(about, definition, word, is_sort).or_else(anywhere)
}

fn asks(
    about: &About,
    definition: &Definition,
    word: &'static str,
    is_meant: impl Fn(&Asked) -> bool,
) -> Option<Way> {
    let here = |target: Target| match target {
        Target::Feature(at) | Target::PartAt { place: at, .. } => {
            about.feature.is_empty() || definition.feature_at(at).path() == about.feature
        }
        Target::Engine => about.feature.is_empty(),
    };
    let mut steps = definition.steps().iter();
    let step = steps.find(|step| step.asks.iter().any(|ask| is_meant(&ask.asked) && here(ask.target)))?;
    Some(to_step(about, &step.id, word))
}

/// The group that is named, at its place.
fn tightening(about: &About, _: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    definition.fastener(about.subject)?;
    let place = Place::Tighten(about.record, about.subject.to_owned(), about.feature.to_owned());
    Some(Way::Go(place, word))
}

/// The group that one of the entries tightened.
fn tightening_of(about: &About, sight: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    about.ids.iter().find_map(|id| match &sight.log().get(id)?.payload {
        Ok(Payload::Tightening(done)) => {
            definition.fastener(&done.group)?;
            Some(Way::Go(Place::Tighten(about.record, done.group.clone(), done.place.clone()), word))
        }
        Ok(_) | Err(_) => None,
    })
}

/// The place at which the part that is named lies.
fn feature_of_part(about: &About, sight: &Sight, definition: &Definition, word: &'static str) -> Option<Way> {
    let here =
        |mark: &str| mark == about.subject || mark.split_once('/').is_some_and(|(_, m)| m == about.subject);
    let lies = |path: &str| sight.assessment.parts_in(path).any(|(mark, _)| here(mark));
    let feature = definition.features().iter().find(|feature| lies(feature.path()))?;
    Some(Way::Go(Place::Feature(about.record, feature.path().to_owned()), word))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::collections::BTreeSet;

    use gudgeon_core::assess::RULES;
    use gudgeon_core::engine::EXAMPLE;
    use gudgeon_core::entry::payload::{Note, Tightening, TighteningAct};

    use super::super::super::Event;
    use super::super::super::kit::{Phone, held, reads_diameter};
    use super::*;

    #[test]
    fn every_rule_has_one_row() {
        let rows: BTreeSet<Rule> = WAYS.iter().map(|(rule, ..)| *rule).collect();
        assert_eq!(rows.len(), WAYS.len());
        assert_eq!(rows, RULES.iter().copied().collect());
    }

    /// A phone whose record holds a reading, a tightening and a note; their entries.
    fn worked() -> (Phone, DocumentId, Vec<EntryId>) {
        let (mut phone, record) = held(Place::Changed);
        reads_diameter(&mut phone, record, "bore/1", "top/thrust", "80.51 mm");
        let definition = Definition::parse(EXAMPLE).unwrap();
        let group = definition.fasteners()[0].group.clone();
        let place = definition.features_of(definition.fasteners()[0].place)[0].path().to_owned();
        let nipped = Payload::Tightening(Tightening {
            group,
            place,
            act: TighteningAct::Nipped,
            set_point: None,
            wrench: String::new(),
            lubricant: String::new(),
            exceptions: Vec::new(),
            note: String::new(),
        });
        let note = Payload::Note(Note { feature: String::new(), text: "invented".to_owned() });
        phone.app.desk.state(record, &[nipped, note], |kept| {
            kept.unwrap();
            Event::Dismissed
        });
        phone.send(Event::Dismissed);
        let log = phone.app.desk.sight(record).unwrap().log();
        let ids = log.folded().iter().rev().take(3).map(|statement| statement.id).collect();
        (phone, record, ids)
    }

    #[test]
    fn every_rule_leads_to_what_settles_it_and_never_to_the_record_alone() {
        let (phone, record, ids) = worked();
        let sight = phone.app.desk.sight(record).unwrap();
        let group = sight.assessment.definition().unwrap().fasteners()[0].group.clone();
        let step = sight.assessment.steps().iter().find(|step| !step.waits_for.is_empty()).unwrap();
        // Feature and subject as findings of these rules have them.
        let subjects = [
            ("bore/1", "diameter"),
            ("rod/1/bolts", group.as_str()),
            ("", &step.id),
            ("bore/1", "piston/A"),
            ("cylinder/1", "gaps-staggered"),
            ("", "sizes"),
            ("", ""),
        ];
        for (rule, word, _) in WAYS {
            let found = subjects.iter().any(|(feature, subject)| {
                let about = About { record, rule: *rule, feature, subject, ids: &ids };
                way(&about, sight) != Way::Go(Place::Record(record), "See the engine")
            });
            assert!(found, "{}: {word}", rule.name());
        }
    }

    #[test]
    fn a_finding_leads_to_the_one_act_that_its_hint_names() {
        let (phone, record, ids) = worked();
        let sight = phone.app.desk.sight(record).unwrap();
        let at = |rule, feature, subject| way(&About { record, rule, feature, subject, ids: &ids }, sight);
        let reads = |path: &str, name: &str| Place::Reading(record, path.to_owned(), name.to_owned());
        let go = |way| if let Way::Go(place, _) = way { place } else { panic!("{way:?}") };
        assert_eq!(go(at(Rule::Disputed, "bore/1", "diameter")), reads("bore/1", "diameter"));
        // Of a derived value: what it follows from is read.
        assert_eq!(go(at(Rule::NotJudged, "bore/1", "piston-clearance")), reads("bore/1", "diameter"));
        assert!(matches!(go(at(Rule::CheckFailed, "cylinder/1", "gaps-staggered")), Place::Step(..)));
        let last = sight.assessment.steps().iter().rfind(|step| !step.waits_for.is_empty()).unwrap();
        let first = sight.assessment.steps()[last.waits_for[0]].id.to_string();
        assert_eq!(go(at(Rule::WorkAhead, "", &last.id)), Place::Step(record, first));
        assert!(matches!(go(at(Rule::OutWhileBuiltIn, "rod/1/bolts", "x")), Place::Tighten(..)));
        assert_eq!(at(Rule::WrongQuantity, "bore/1", "diameter"), Way::Void("Void it, with the reason"));
        assert!(matches!(at(Rule::AfterHandOver, "", ""), Way::Concede(_)));
    }
}
