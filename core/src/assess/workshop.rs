//! The workshop as the fold reads it: who counts, and what each gauge is worth.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::order::latest;
use super::spot::Noted;
use crate::engine::{Material, instrument, material};
use crate::entry::payload::{Instrument, Millis};
use crate::entry::{Entry, KeyId};
use crate::log::Log;
use crate::measure::{Expansion, Gauge, Uncertainty, combine};
use crate::quantity::{Amount, Kind, Quantity};
use crate::roster::{Roster, Version};

/// People, keys and instruments of a workshop.
#[derive(Clone, Debug)]
pub struct Workshop {
    log: Log,
    roster: Roster,
    gauges: BTreeMap<String, Pieces>,
}

/// What is stated of one instrument, a piece for each date of calibration, by date; undated: first.
type Pieces = Vec<GaugeFacts>;

/// What the fold needs to know of one instrument, as one of its calibrations found it.
#[derive(Clone, Debug)]
pub struct GaugeFacts {
    /// The shop's mark on it.
    pub mark: Arc<str>,
    /// Row of the instrument table, as stated.
    pub sort: String,
    /// What it reads.
    pub kind: Option<Kind>,
    /// Its own uncertainty, without that of its setting.
    pub own: Option<Uncertainty>,
    /// The part of its error that stays the same from reading to reading.
    pub systematic: Option<Uncertainty>,
    /// Mark of what it is set with; empty where it needs none.
    pub master: String,
    /// Whether a size can be read off it; so taken of a sort that is not known.
    pub shows: bool,
    /// Smallest step it shows.
    pub resolution: Option<i64>,
    /// Sizes it measures.
    pub range: (Option<Amount>, Option<Amount>),
    /// Expansion of its material.
    pub expansion: Option<Expansion>,
    /// What it may err by, where that is stated in per cent.
    pub error_percent: Option<Quantity>,
    /// Date of this calibration; none: stated without one.
    pub calibrated_on: Option<Millis>,
    /// Span of time in which this calibration held: from, to; several where it is disputed.
    pub calibrated: Vec<(Millis, Millis)>,
    /// Somebody saw the certificate.
    pub seen: bool,
    /// A lead stated it; what others state is kept, but proves nothing.
    pub by_lead: bool,
    /// Concurrent statements of one calibration that differ.
    pub disputed: bool,
}

impl Workshop {
    /// Reads a workshop's entries.
    #[must_use]
    pub fn read(log: Log) -> Self {
        let roster = Roster::read(&log);
        let gauges = gauges(&log, &roster);
        Self { log, roster, gauges }
    }

    /// The same workshop with one entry more.
    #[must_use]
    pub fn with(mut self, entry: &Entry) -> Self {
        self.log.insert(entry);
        Self::read(self.log)
    }

    /// Its entries.
    #[must_use]
    pub const fn log(&self) -> &Log {
        &self.log
    }

    /// Who counts.
    #[must_use]
    pub const fn roster(&self) -> &Roster {
        &self.roster
    }

    /// The instrument of a mark, as its newest calibration found it.
    #[must_use]
    pub fn gauge(&self, mark: &str) -> Option<&GaugeFacts> {
        self.stated(mark).last()
    }

    /// The instrument of a mark as it was at that moment of a reading's own device.
    ///
    /// The newest calibration not after the moment speaks; before the first, what was stated
    /// without a date, else the first itself (whose calibration did not hold yet).
    #[must_use]
    pub fn gauge_at(&self, mark: &str, moment: Millis) -> Option<&GaugeFacts> {
        speaking(self.stated(mark), moment)
    }

    /// All that is stated of a mark; see [`speaking`].
    fn stated(&self, mark: &str) -> &[GaugeFacts] {
        self.gauges.get(mark).map_or(&[], |pieces| &pieces[..])
    }

    /// The instrument of a mark as the calibration of that date found it; none: without a date.
    #[must_use]
    pub fn gauge_calibrated(&self, mark: &str, on: Option<Millis>) -> Option<&GaugeFacts> {
        self.stated(mark).iter().find(|facts| facts.calibrated_on == on)
    }

    /// All that is stated of a mark, the undated first, then by date of calibration.
    pub fn calibrations(&self, mark: &str) -> impl Iterator<Item = &GaugeFacts> {
        self.stated(mark).iter()
    }

    /// All instruments, by mark, each as its newest calibration found it.
    pub fn gauges(&self) -> impl Iterator<Item = &GaugeFacts> {
        self.gauges.values().filter_map(|pieces| pieces.last())
    }

    /// Changes whenever anything in the workshop might have.
    pub(super) fn generation(&self) -> usize {
        self.log.folded().len()
    }
}

/// Number of a gauge's mark in a record: to look it up, never to decide or to show.
pub(super) type MarkNumber = usize;

/// The gauges that a record's readings name, by number of the mark.
pub(super) struct Gauges<'a> {
    workshop: &'a Workshop,
    stated: Vec<&'a [GaugeFacts]>,
}

impl<'a> Gauges<'a> {
    pub(super) fn of(marks: &[String], workshop: &'a Workshop) -> Self {
        Self { workshop, stated: marks.iter().map(|mark| workshop.stated(mark)).collect() }
    }

    /// The gauge of a numbered mark as it was at that moment; see [`Workshop::gauge_at`].
    pub(super) fn at(&self, mark: MarkNumber, moment: Millis) -> Option<&'a GaugeFacts> {
        speaking(self.stated.get(mark)?, moment)
    }

    /// What a reading's gauge was set on: whether anything is named, and its facts if it is known.
    pub(super) fn master_of(
        &self,
        (noted, moment): (&Noted, Millis),
        gauge: Option<&GaugeFacts>,
    ) -> (bool, Option<&'a GaugeFacts>) {
        match (noted.master, gauge) {
            (Some(mark), _) => (true, self.at(mark, moment)),
            (None, Some(gauge)) if !gauge.master.is_empty() => {
                (true, self.workshop.gauge_at(&gauge.master, moment))
            }
            (None, _) => (false, None),
        }
    }
}

/// Of what is stated of one mark, what speaks at a moment; see [`Workshop::gauge_at`].
fn speaking(stated: &[GaugeFacts], moment: Millis) -> Option<&GaugeFacts> {
    stated.iter().rfind(|facts| facts.calibrated_on <= Some(moment)).or_else(|| stated.first())
}

/// Every instrument that is stated, calibration by calibration.
fn gauges(log: &Log, roster: &Roster) -> BTreeMap<String, Pieces> {
    roster.instruments().iter().map(|(mark, stated)| (mark.clone(), pieces(log, stated.all()))).collect()
}

/// A lead's statements outweigh a member's; a later statement corrects those of the same
/// calibration and leaves the others alone.
fn pieces(log: &Log, stated: &[Version<Instrument>]) -> Pieces {
    let by_lead = stated.iter().any(|version| version.by_lead);
    let mut by_date: BTreeMap<Option<Millis>, Vec<&Version<Instrument>>> = BTreeMap::new();
    for version in stated.iter().filter(|version| version.by_lead == by_lead) {
        by_date.entry(version.says.calibrated_on).or_default().push(version);
    }
    by_date.into_values().map(|stated| facts(log, &stated, by_lead)).collect()
}

/// Of the statements on one calibration the latest known.
fn facts(log: &Log, stated: &[&Version<Instrument>], by_lead: bool) -> GaugeFacts {
    let newest = latest(log, stated.iter().filter_map(|version| log.place(&version.id)));
    let says: Vec<&Instrument> = stated
        .iter()
        .filter(|version| log.place(&version.id).is_some_and(|ix| newest.contains(&ix)))
        .map(|version| &version.says)
        .collect();
    let disputed = says.iter().any(|other| *other != says[0]);
    let calibrated = says.iter().filter_map(|says| Some((says.calibrated_on?, says.calibration_due?)));
    gauge_facts(says[0], by_lead, disputed, calibrated.collect())
}

fn gauge_facts(
    stated: &Instrument,
    by_lead: bool,
    disputed: bool,
    calibrated: Vec<(Millis, Millis)>,
) -> GaugeFacts {
    let base = |q: &Option<Quantity>| q.as_ref().map(|q| q.amount().base());
    let sort = instrument::find(&stated.sort);
    let gauge = Gauge {
        error_limit: base(&stated.error_limit),
        resolution: base(&stated.resolution),
        repeatability: base(&stated.repeatability),
        given: base(&stated.standard_uncertainty),
    };
    // A gauge that a member added on the spot is used, but its readings prove nothing yet.
    let known = by_lead && !disputed;
    let systematic = match (gauge.given, gauge.error_limit) {
        (Some(given), _) => Uncertainty::new(given).ok(),
        (None, Some(limit)) => Uncertainty::from_error_limit(limit).ok(),
        (None, None) => None,
    };
    let material = if stated.material.is_empty() {
        sort.and_then(|sort| sort.material)
    } else {
        Some(stated.material.as_str())
    };
    GaugeFacts {
        mark: Arc::from(stated.mark.as_str()),
        sort: stated.sort.clone(),
        kind: sort.map(|sort| sort.kind),
        own: gauge.standard(1).ok().flatten().filter(|_| known),
        systematic: systematic.filter(|_| known),
        master: stated.master.clone(),
        shows: sort.is_none_or(|sort| sort.shows),
        resolution: base(&stated.resolution),
        range: (
            stated.range_low.as_ref().map(Quantity::amount),
            stated.range_high.as_ref().map(Quantity::amount),
        ),
        expansion: material.and_then(material::find).and_then(expansion),
        error_percent: stated.error_percent.clone(),
        calibrated_on: stated.calibrated_on,
        calibrated,
        seen: stated.calibration_seen,
        by_lead,
        disputed,
    }
}

/// Expansion of a material of the table.
#[must_use]
pub fn expansion(material: &Material) -> Option<Expansion> {
    let alpha_e12 = i64::from(material.alpha_1e9) * 1000;
    Expansion::new(alpha_e12, alpha_e12 * i64::from(material.half_width_percent) / 100).ok()
}

/// Whether a key speaks for the lead, or for the workshop itself.
pub(super) fn leads(roster: &Roster, key: KeyId) -> bool {
    roster.roles_of(key).lead || roster.root() == Some(key)
}

impl GaugeFacts {
    /// Whether this calibration held at that moment of the reading's own device.
    #[must_use]
    pub fn calibrated_at(&self, moment: Millis) -> bool {
        self.calibrated.iter().any(|(from, to)| (*from..=*to).contains(&moment))
    }

    /// Uncertainty of a reading with this gauge set with that master; none where unknown.
    #[must_use]
    pub fn set_with(&self, master: Option<&Self>) -> Option<Uncertainty> {
        match master {
            None => self.own,
            Some(master) => combine(&[self.own?, master.own?]).ok(),
        }
    }
}
