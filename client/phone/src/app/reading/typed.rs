//! From what is typed to the reading that is meant.

use gudgeon_core::engine::Characteristic;
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::quantity::{Comparator, Kind, Quantity, Unit};

use super::Model;
use crate::app::Failure;

/// The longest value that is taken letter by letter: no gauge sends more.
const LONGEST: usize = 40;

/// Units that a kind is read in, the usual one first.
pub(super) const fn units(kind: Kind) -> &'static [Unit] {
    use Unit as U;
    match kind {
        Kind::Length => &[U::Millimetre, U::Micrometre, U::Inch, U::Thou],
        Kind::Mass => &[U::Gram, U::Kilogram, U::Ounce],
        Kind::Volume => &[U::CubicCentimetre, U::CubicInch],
        Kind::Torque => &[U::NewtonMetre, U::PoundForceFoot, U::PoundForceInch, U::KilogramForceMetre],
        Kind::Angle => &[U::Degree, U::ArcMinute],
        Kind::Temperature
        | Kind::TemperatureChange
        | Kind::Force
        | Kind::Pressure
        | Kind::Speed
        | Kind::Velocity
        | Kind::Acceleration
        | Kind::Area
        | Kind::Density
        | Kind::Expansion
        | Kind::Unbalance
        | Kind::Viscosity
        | Kind::Ratio
        | Kind::Count => &[],
    }
}

/// The unit beneath: what the other half of the trade thinks in.
pub(super) const fn other(unit: Unit) -> Option<Unit> {
    use Unit as U;
    #[allow(clippy::wildcard_enum_match_arm, reason = "the rest is read in one unit only")]
    match unit {
        U::Millimetre => Some(U::Inch),
        U::Inch => Some(U::Millimetre),
        U::Micrometre => Some(U::Thou),
        U::Thou => Some(U::Micrometre),
        U::Gram | U::Kilogram => Some(U::Ounce),
        U::Ounce => Some(U::Gram),
        U::CubicCentimetre => Some(U::CubicInch),
        U::CubicInch => Some(U::CubicCentimetre),
        U::NewtonMetre | U::KilogramForceMetre => Some(U::PoundForceFoot),
        U::PoundForceFoot | U::PoundForceInch => Some(U::NewtonMetre),
        _ => None,
    }
}

/// A number as typed, with the unit typed with it or else the usual one.
pub(super) fn number(text: &str, usual: Unit) -> Result<Quantity, Failure> {
    let text = text.trim();
    let has_unit = text.chars().any(|c| c.is_alphabetic() || "°\"″%".contains(c));
    let read =
        if has_unit { Quantity::parse_as(text, usual.kind()) } else { Quantity::parse_number(text, usual) };
    Ok(read?.of_kind(usual.kind())?)
}

fn temperature(text: &str) -> Result<Option<Quantity>, Failure> {
    if text.trim().is_empty() { Ok(None) } else { number(text, Unit::Celsius).map(Some) }
}

/// A mark that is given, or none.
fn mark(text: &str) -> Result<String, Failure> {
    let text = text.trim();
    if text.is_empty() || gudgeon_core::engine::is_mark(text) {
        return Ok(text.to_owned());
    }
    let cause = format!("`{text}` cannot be the mark of a gauge");
    Err(Failure::new("mark", cause, "letters, digits, `-`, `_`, `.`, `+`; at most 40"))
}

impl Model {
    /// One key more: of the screen, or of whatever types here.
    pub(super) fn key(&mut self, key: char) {
        self.problem = None;
        match key {
            '<' => {
                self.typed.pop();
            }
            '-' if self.typed.is_empty() || self.typed.starts_with(['-', '+']) || self.dial => {
                self.turn_sign()
            }
            key if key.is_control() || self.typed.chars().count() >= LONGEST => {}
            key => self.typed.push(key),
        }
    }

    /// A second minus takes the first one away.
    fn turn_sign(&mut self) {
        self.typed = match self.typed.strip_prefix(['-', '+']) {
            Some(rest) if self.typed.starts_with('-') => rest.to_owned(),
            Some(rest) => format!("-{rest}"),
            None => format!("-{}", self.typed),
        };
    }

    /// The unit that digits without one are in.
    pub(super) fn unit(&self, row: &Characteristic) -> Unit {
        if self.is_dial(row) { self.habit.dial_unit() } else { self.habit.unit(row.kind) }
    }

    /// Whether the deviation from a set size is typed.
    pub(super) fn is_dial(&self, row: &Characteristic) -> bool {
        self.dial && row.kind == Kind::Length
    }

    /// The size that the gauge was set to, where it is a comparator.
    pub(super) fn set_size(&self, row: &Characteristic) -> Result<Option<Quantity>, Failure> {
        if !self.is_dial(row) {
            return Ok(None);
        }
        if self.set_size.trim().is_empty() {
            let cause = "the size that the dial was set to is not given";
            return Err(Failure::new("set-size", cause, "give it once under Dial"));
        }
        number(&self.set_size, self.habit.unit(row.kind)).map(Some)
    }

    /// The reading that is meant.
    pub(super) fn reading(&self, row: &Characteristic) -> Result<Reading, Failure> {
        let set_size = self.set_size(row)?;
        let value = number(&self.typed, self.unit(row))?;
        match &set_size {
            Some(set) => {
                Comparator::new(set.clone(), value.clone())?;
            }
            None => above_nothing(row, &value)?,
        }
        let part_temperature = temperature(&self.part_at)?;
        let gauge_temperature =
            if self.gauge_at.is_empty() { part_temperature.clone() } else { temperature(&self.gauge_at)? };
        Ok(Reading {
            feature: self.spot.feature.clone(),
            part: self.part.clone(),
            characteristic: row.name.to_owned(),
            station: self.spot.station.clone(),
            conditions: self.conditions.iter().map(|word| (*word).to_owned()).collect(),
            value,
            set_size,
            gauge: mark(&self.gauge)?,
            master: mark(&self.master)?,
            part_temperature,
            gauge_temperature,
            read_by: self.reader,
            called_out: self.reader.is_some(),
            blind: self.blind,
            reading_set: String::new(),
            note: self.note.trim().to_owned(),
        })
    }
}

/// Refuses a size of nothing or less where there must be something.
fn above_nothing(row: &Characteristic, value: &Quantity) -> Result<(), Failure> {
    match row.cannot_be(value) {
        None => Ok(()),
        Some(cause) if row.comparator => Err(Failure::new(
            "no-size",
            cause,
            "give a deviation with Dial; else check the sign and the digits",
        )),
        Some(cause) => Err(Failure::new("no-size", cause, "check the sign and the digits")),
    }
}
