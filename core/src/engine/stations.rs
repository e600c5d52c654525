//! Stations of every characteristic, counted once for an engine.

use super::characteristic::{CHARACTERISTICS, Characteristic};
use super::fastener::Fastener;
use super::layout::Layout;
use super::station::Counts;

/// Bolts of a place where no fastener says.
const USUAL_BOLTS: u8 = 2;

/// Stations by the index of the characteristic.
#[derive(Clone, Debug)]
pub(super) struct StationTable {
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
struct Row {
    needed: Vec<Box<str>>,
    allowed: Vec<Box<str>>,
}

impl StationTable {
    pub(super) fn new(layout: &Layout, fasteners: &[Fastener]) -> Self {
        let count = |row: &Characteristic| {
            let seated = fasteners.iter().find(|fastener| fastener.place == row.on);
            let bolts = seated.map_or(USUAL_BOLTS, |fastener| fastener.bolts);
            let (mains, cylinders) = (layout.mains(), layout.cylinders());
            let counts = Counts { bolts, mains, cylinders };
            let boxed = |list: Vec<String>| list.into_iter().map(String::into_boxed_str).collect();
            let mut allowed = row.stations.allowed(counts);
            allowed.sort_unstable();
            Row { needed: boxed(row.stations.needed(counts)), allowed: boxed(allowed) }
        };
        Self { rows: CHARACTERISTICS.iter().map(count).collect() }
    }

    /// Stations that must be read; one empty text for a single value.
    pub(super) fn needed(&self, row: &Characteristic) -> &[Box<str>] {
        &self.rows[row.ix().index()].needed
    }

    /// Whether a station may be written.
    pub(super) fn allows(&self, row: &Characteristic, station: &str) -> bool {
        let allowed = &self.rows[row.ix().index()].allowed;
        row.stations.free || allowed.binary_search_by(|known| (**known).cmp(station)).is_ok()
    }
}
