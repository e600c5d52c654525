//! What supplies a piece of evidence that is missing: the one thing to be done for it, as data.
//!
//! A command line makes a command of it, a screen the way to another screen.

use crate::assess::{Assessment, Record};
use crate::engine::{
    Ask, Asked, Characteristic, Definition, Feature, FeatureKind, FeatureRef, Subject, Target,
    characteristic, part,
};
use crate::entry::EntryId;
use crate::entry::payload::Payload;
use crate::log::Ix;

/// What is to be done.
#[derive(Clone, Debug)]
pub enum Way {
    /// A reading.
    Read {
        /// On which feature.
        feature: Feature,
        /// Of what.
        row: &'static Characteristic,
        /// Where on it; empty: it has no stations.
        station: String,
    },
    /// A check.
    Check {
        /// Its name.
        name: String,
        /// Path of the feature; empty: the engine.
        feature: String,
    },
    /// An operation logged.
    Operation {
        /// Its name.
        name: String,
        /// Path of the feature; empty: the engine.
        feature: String,
    },
    /// A group of fasteners tightened.
    Tighten {
        /// The group.
        group: String,
        /// Path of its place.
        place: String,
    },
    /// A part put in its place.
    Allot {
        /// Of which sort.
        sort: String,
        /// Path of the place.
        place: String,
    },
    /// A part received.
    Receive {
        /// Of which sort.
        sort: String,
    },
    /// A lead's decision.
    Decide {
        /// On what.
        subject: String,
    },
    /// The customer's word on a decision.
    Approve {
        /// On what.
        subject: String,
        /// The decision that stands.
        decision: EntryId,
    },
    /// An instrument tried on its master.
    CheckGauge {
        /// Of which sort.
        sort: String,
    },
    /// A finding settled: everything is read, and it is not good.
    Settle {
        /// Path of the feature.
        feature: String,
        /// The value.
        subject: String,
    },
}

impl Way {
    /// What supplies a piece of evidence of a step; none where no single thing does.
    #[must_use]
    pub fn to(record: &Record, assessment: &Assessment, step: usize, piece: usize) -> Option<Self> {
        let definition = assessment.definition()?;
        let ask = definition.steps().get(step)?.asks.get(piece)?;
        let place = match target(assessment, definition, ask) {
            Ok(place) => place,
            Err((sort, place)) => return Some(Self::Allot { sort, place }),
        };
        let path = place.as_ref().map_or("", Feature::path).to_owned();
        let name = ask.asked.name().to_owned();
        Some(match &ask.asked {
            Asked::Judged(_) | Asked::Read(_) => {
                return to_value(record, assessment, definition, &place?, ask);
            }
            Asked::Check(_) => Self::Check { name, feature: path },
            Asked::Operation(_) => Self::Operation { name, feature: path },
            Asked::Tightening(_) => Self::Tighten { group: name, place: place?.path().to_owned() },
            Asked::Part(_) if path.is_empty() => Self::Receive { sort: name },
            Asked::Part(_) => Self::Allot { sort: name, place: path },
            Asked::Approval(_) => match decision_on(record, assessment, &name) {
                Some(decision) => Self::Approve { subject: name, decision },
                None => Self::Decide { subject: name },
            },
            Asked::Decision(_) => Self::Decide { subject: name },
            Asked::GaugeCheck(_) => Self::CheckGauge { sort: name },
        })
    }
}

/// The newest decision on a subject that no other one on it knows; none where two differ.
#[must_use]
pub fn decision_on(record: &Record, assessment: &Assessment, subject: &str) -> Option<EntryId> {
    let log = record.log();
    let on = |ix: &Ix| {
        matches!(&log.at(*ix).payload, Ok(Payload::Decision(decision)) if decision.subject == subject)
            && assessment.status(*ix).stands()
    };
    let all: Vec<Ix> = (0..).zip(log.folded()).map(|(ix, _)| ix).filter(on).collect();
    let newest = |ix: &&Ix| !all.iter().any(|other| log.knows(*other, **ix));
    match all.iter().filter(newest).collect::<Vec<_>>()[..] {
        [one] => Some(log.at(*one).id),
        _ => None,
    }
}

/// Where a piece of evidence is given; else the sort of part that is missing, and its place.
fn target(
    assessment: &Assessment,
    definition: &Definition,
    ask: &Ask,
) -> Result<Option<Feature>, (String, String)> {
    match ask.target {
        Target::Engine => Ok(None),
        Target::Feature(at) => Ok(Some(definition.feature_at(at).clone())),
        Target::PartAt { place, part } => {
            part_feature(assessment, definition, definition.feature_at(place), part).map(Some)
        }
    }
}

/// The feature of the part at a place.
fn part_feature(
    assessment: &Assessment,
    definition: &Definition,
    place: &Feature,
    kind: FeatureKind,
) -> Result<Feature, (String, String)> {
    let sort = part::carrying(kind).map_or("part", |sort| sort.name);
    let missing = || (sort.to_owned(), place.path().to_owned());
    let mut here = assessment.parts_in(place.path()).map(|(part, _)| part.split_once('/'));
    let mark = here.find_map(|part| part.filter(|(of, _)| *of == sort).map(|(_, mark)| mark));
    let path = kind.row().pattern.replace("{mark}", mark.ok_or_else(missing)?);
    definition.feature(&path).map_err(|_| missing())
}

/// The reading that a value still lacks; or the finding that stands in its way.
fn to_value(
    record: &Record,
    assessment: &Assessment,
    definition: &Definition,
    place: &Feature,
    ask: &Ask,
) -> Option<Way> {
    let name = ask.asked.name();
    let missing = |feature: &Feature, row, only: &str| {
        let station = unread(record, assessment, definition, feature, row, only)?;
        Some(Way::Read { feature: feature.clone(), row, station })
    };
    let lacking = match Subject::find(place.kind(), name)? {
        Subject::Measured(row) => missing(place, row, &ask.station),
        Subject::Derived(row) => row.inputs.iter().find_map(|input| {
            let from = seen_from(assessment, definition, place, input.from)?;
            missing(&from, characteristic::find(from.kind(), input.characteristic)?, "")
        }),
    };
    lacking.or_else(|| {
        let findings = assessment.findings();
        let open = findings.iter().any(|f| f.is_open() && f.feature == place.path() && f.subject == name);
        open.then(|| Way::Settle { feature: place.path().to_owned(), subject: name.to_owned() })
    })
}

fn seen_from(
    assessment: &Assessment,
    definition: &Definition,
    place: &Feature,
    meant: FeatureRef,
) -> Option<Feature> {
    let first = |kind| definition.related(place, kind).first().map(|feature| (*feature).clone());
    match meant {
        FeatureRef::Same => Some(place.clone()),
        FeatureRef::PinOfRod => first(FeatureKind::Pin),
        FeatureRef::SameNumber(kind) => first(kind),
        FeatureRef::PartAt { place: at, part } => {
            let at = if at == place.kind() { place.clone() } else { first(at)? };
            part_feature(assessment, definition, &at, part).ok()
        }
    }
}

/// The first station where nothing stands.
fn unread(
    record: &Record,
    assessment: &Assessment,
    definition: &Definition,
    feature: &Feature,
    row: &Characteristic,
    only: &str,
) -> Option<String> {
    let stands = |station: &str| {
        (0..).zip(record.log().folded()).any(|(ix, statement)| match &statement.payload {
            Ok(Payload::Reading(reading)) => {
                reading.feature == feature.path()
                    && reading.characteristic == row.name
                    && (reading.station == station || definition.stations(row).is_empty())
                    && assessment.status(ix).stands()
            }
            _ => false,
        })
    };
    if !only.is_empty() {
        return (!stands(only)).then(|| only.to_owned());
    }
    let needed: Vec<&str> = definition.stations(row).iter().map(|station| &**station).collect();
    let needed = if needed.is_empty() { vec![""] } else { needed };
    needed.into_iter().find(|station| !stands(station)).map(str::to_owned)
}
