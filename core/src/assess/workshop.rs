//! The workshop as the fold reads it: who counts, and what each gauge is worth.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::order::latest;
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
    gauges: BTreeMap<String, GaugeFacts>,
}

/// What the fold needs to know of one instrument.
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
    /// Smallest step it shows.
    pub resolution: Option<i64>,
    /// Sizes it measures.
    pub range: (Option<Amount>, Option<Amount>),
    /// Expansion of its material.
    pub expansion: Option<Expansion>,
    /// Spans of time in which its calibration held: from, to.
    pub calibrated: Vec<(Millis, Millis)>,
    /// Somebody saw the certificate.
    pub seen: bool,
    /// A lead stated it; what others state is kept, but proves nothing.
    pub by_lead: bool,
    /// Concurrent statements of one mark that differ.
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

    /// The instrument of a mark.
    #[must_use]
    pub fn gauge(&self, mark: &str) -> Option<&GaugeFacts> {
        self.gauges.get(mark)
    }

    /// All instruments, by mark.
    pub fn gauges(&self) -> impl Iterator<Item = &GaugeFacts> {
        self.gauges.values()
    }

    /// Changes whenever anything in the workshop might have.
    pub(super) fn generation(&self) -> usize {
        self.log.folded().len()
    }
}

/// Every instrument that is stated, as its latest known statement has it.
fn gauges(log: &Log, roster: &Roster) -> BTreeMap<String, GaugeFacts> {
    roster.instruments().iter().map(|(mark, stated)| (mark.clone(), facts(log, stated.all()))).collect()
}

/// A lead's statements outweigh a member's; among those left, the latest known.
fn facts(log: &Log, stated: &[Version<Instrument>]) -> GaugeFacts {
    let by_lead = stated.iter().any(|version| version.by_lead);
    let weighty = || stated.iter().filter(|version| version.by_lead == by_lead);
    let newest = latest(log, weighty().filter_map(|version| log.place(&version.id)));
    let says: Vec<&Instrument> = weighty()
        .filter(|version| log.place(&version.id).is_some_and(|ix| newest.contains(&ix)))
        .map(|version| &version.says)
        .collect();
    let disputed = says.iter().any(|other| *other != says[0]);
    let calibrated =
        weighty().filter_map(|v| Some((v.says.calibrated_on?, v.says.calibration_due?))).collect();
    gauge_facts(says[0], by_lead, disputed, calibrated)
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
        resolution: base(&stated.resolution),
        range: (
            stated.range_low.as_ref().map(Quantity::amount),
            stated.range_high.as_ref().map(Quantity::amount),
        ),
        expansion: material.and_then(material::find).and_then(expansion),
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
    /// Whether some calibration held at that moment of the reading's own device.
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
