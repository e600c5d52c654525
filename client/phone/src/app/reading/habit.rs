//! What a person is not asked twice: their unit, gauge, temperatures, set size and reading order.
//!
//! Kept as one setting of the home for each key. Nothing of it is a fact: it only fills in what
//! the screen shows, and the reading states it.

use std::collections::BTreeMap;

use gudgeon_client::HomeError;
use gudgeon_client::home::Home;
use gudgeon_core::engine::Characteristic;
use gudgeon_core::entry::KeyId;
use gudgeon_core::quantity::{Kind, Unit};

use super::route::Order;

/// How long a temperature, a set size or an open set is still true: a working day (common
/// practice, no source).
const A_DAY: i64 = 12 * 60 * 60 * 1000;

const TEMPERATURE: &str = "temperature";
const ORDER: &str = "order";
const SET: &str = "set";
const DIAL_UNIT: &str = "dial-unit";

/// See the [module](self).
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Habit {
    says: BTreeMap<String, String>,
}

impl Habit {
    /// What is remembered of whoever has this key.
    pub(super) fn of(home: &Home, key: KeyId) -> Self {
        // A habit that cannot be read is none: it is only a convenience.
        let text = home.setting(&name(key)).ok().flatten().unwrap_or_default();
        let pair =
            |line: &str| line.split_once('\t').map(|(name, value)| (name.to_owned(), value.to_owned()));
        Self { says: text.lines().filter_map(pair).collect() }
    }

    /// Remembers it, within `Desk::act`.
    pub(super) fn keep(&self, home: &mut Home, key: KeyId) -> Result<(), HomeError> {
        let lines: Vec<String> = self.says.iter().map(|(name, value)| format!("{name}\t{value}")).collect();
        home.set_setting(&name(key), &lines.join("\n"))
    }

    fn get(&self, name: &str) -> Option<&str> {
        self.says.get(name).map(String::as_str)
    }

    fn put(&mut self, name: &str, value: &str) {
        let value: String = value.chars().filter(|c| !c.is_control()).collect();
        if value.trim().is_empty() {
            self.says.remove(name);
        } else {
            self.says.insert(name.to_owned(), value.trim().to_owned());
        }
    }

    /// The unit that sizes of a kind are thought in.
    pub(super) fn unit(&self, kind: Kind) -> Unit {
        let kept = self.get(&unit_of(kind)).and_then(Unit::parse).filter(|unit| unit.kind() == kind);
        kept.unwrap_or_else(|| kind.main_unit())
    }

    pub(super) fn set_unit(&mut self, unit: Unit) {
        self.put(&unit_of(unit.kind()), unit.symbol());
    }

    /// The unit that the dial of a comparator counts in.
    pub(super) fn dial_unit(&self) -> Unit {
        self.get(DIAL_UNIT).and_then(Unit::parse).unwrap_or(Unit::Millimetre)
    }

    pub(super) fn set_dial_unit(&mut self, unit: Unit) {
        self.put(DIAL_UNIT, unit.symbol());
    }

    /// The mark of the gauge that this was read with last.
    pub(super) fn gauge(&self, row: &Characteristic) -> &str {
        self.get(&format!("gauge/{}", on(row))).unwrap_or_default()
    }

    pub(super) fn set_gauge(&mut self, row: &Characteristic, mark: &str) {
        self.put(&format!("gauge/{}", on(row)), mark);
    }

    /// Whether a gauge was used for anything before.
    pub(super) fn has_used(&self, mark: &str) -> bool {
        self.says.iter().any(|(name, value)| name.starts_with("gauge/") && value == mark)
    }

    /// Temperatures of part and gauge as typed, while they are still true.
    pub(super) fn temperatures(&self, now: i64) -> (String, String) {
        let both = self.fresh(TEMPERATURE, now).and_then(|text| text.split_once('|'));
        both.map(|(part, gauge)| (part.to_owned(), gauge.to_owned())).unwrap_or_default()
    }

    pub(super) fn set_temperatures(&mut self, (part, gauge): (&str, &str), now: i64) {
        let same = self.temperatures(now) == (part.to_owned(), gauge.to_owned());
        if !same {
            self.put_fresh(TEMPERATURE, &format!("{part}|{gauge}"), now);
        }
    }

    /// The size that the comparator was set to for this, while it is still true.
    pub(super) fn set_size(&self, row: &Characteristic, now: i64) -> &str {
        self.fresh(&format!("set-size/{}", on(row)), now).unwrap_or_default()
    }

    pub(super) fn put_set_size(&mut self, row: &Characteristic, size: &str, now: i64) {
        let name = format!("set-size/{}", on(row));
        if size.is_empty() {
            self.says.remove(&name);
        } else if self.set_size(row, now) != size {
            self.put_fresh(&name, size, now);
        }
    }

    pub(super) fn order(&self) -> Order {
        self.get(ORDER).and_then(Order::find).unwrap_or_default()
    }

    pub(super) fn set_order(&mut self, order: Order) {
        self.put(ORDER, order.word());
    }

    /// The set of readings that is open with a gauge: begun, and not closed by a check.
    pub(super) fn open_set(&self, gauge: &str, now: i64) -> Option<&str> {
        let (with, set) = self.fresh(SET, now)?.split_once('|')?;
        (with == gauge).then_some(set)
    }

    /// Begins a set, named after its moment; or, with none, closes it.
    pub(super) fn put_open_set(&mut self, gauge: &str, set: Option<&str>, now: i64) {
        match set {
            Some(set) => self.put_fresh(SET, &format!("{gauge}|{set}"), now),
            None => {
                self.says.remove(SET);
            }
        }
    }

    fn fresh(&self, name: &str, now: i64) -> Option<&str> {
        let (at, value) = self.get(name)?.split_once('|')?;
        let at: i64 = at.parse().ok()?;
        (at..at.saturating_add(A_DAY)).contains(&now).then_some(value)
    }

    fn put_fresh(&mut self, name: &str, value: &str, now: i64) {
        self.put(name, &format!("{now}|{value}"));
    }
}

fn name(key: KeyId) -> String {
    format!("readings/{}", key.to_hex())
}

fn unit_of(kind: Kind) -> String {
    format!("unit/{}", kind.main_unit().symbol())
}

fn on(row: &Characteristic) -> String {
    format!("{}/{}", row.on.name(), row.name)
}
