//! One reading as typed, and what is wrong with it.

use gudgeon_core::engine::condition::CONDITIONS;
use gudgeon_core::engine::{Characteristic, Definition, Feature, characteristic, suggest};
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::quantity::{Comparator, Kind, Quantity, Unit};

use crate::desk::Sight;
use crate::failure::Failure;
use crate::pick;
use crate::typed::{maybe, new_mark, part_mark};

/// The fields of a reading as they stand on a line.
#[derive(Clone, Debug, Default)]
pub(super) struct Typed {
    pub(super) feature: String,
    pub(super) characteristic: String,
    pub(super) value: String,
    pub(super) unit: Option<String>,
    pub(super) station: String,
    pub(super) gauge: String,
    pub(super) master: String,
    pub(super) set_size: Option<String>,
    pub(super) part_temp: Option<String>,
    pub(super) gauge_temp: Option<String>,
    pub(super) both_at: Option<String>,
    pub(super) conditions: Vec<String>,
    pub(super) part: Option<String>,
    pub(super) read_by: Option<String>,
    pub(super) called_out: bool,
    pub(super) blind: bool,
    pub(super) set: String,
    pub(super) note: String,
}

/// Gathers what is wrong and goes on, so that all of it is said at once.
#[derive(Default)]
struct Wrong(Vec<Failure>);

impl Wrong {
    fn take<T>(&mut self, result: Result<T, Failure>) -> Option<T> {
        result.map_err(|failure| self.0.push(failure)).ok()
    }
}

impl Typed {
    /// The reading that is meant.
    ///
    /// # Errors
    /// Everything that is wrong with the line.
    pub(super) fn reading(&self, sight: &Sight) -> Result<Reading, Vec<Failure>> {
        let mut wrong = Wrong::default();
        let placed = wrong.take(self.place(sight));
        let kind = placed.as_ref().map(|(_, row)| row.kind);
        let value = wrong.take(self.value(kind));
        let set_size = wrong.take(self.set_size(kind, value.as_ref()));
        if let Some((_, row)) = &placed {
            wrong.take(self.check_station(sight, row));
        }
        let conditions = wrong.take(self.conditions());
        let temperatures = wrong.take(self.temperatures());
        let part = wrong.take(self.part.as_deref().map(|part| part_mark(sight, part)).transpose());
        let read_by =
            wrong.take(self.read_by.as_deref().map(|name| pick::person(sight.roster(), name)).transpose());
        let gauge = wrong.take(mark(&self.gauge));
        let master = wrong.take(mark(&self.master));
        let all = (placed, value, set_size, conditions, temperatures, part, read_by, gauge, master);
        let (
            Some((feature, row)),
            Some(value),
            Some(set_size),
            Some(conditions),
            Some((part_temperature, gauge_temperature)),
            Some(part),
            Some(read_by),
            Some(gauge),
            Some(master),
        ) = all
        else {
            return Err(wrong.0);
        };
        if !wrong.0.is_empty() {
            return Err(wrong.0);
        }
        Ok(Reading {
            feature: feature.path().to_owned(),
            part: part.unwrap_or_default(),
            characteristic: row.name.to_owned(),
            station: self.station.clone(),
            conditions,
            value,
            set_size,
            gauge,
            master,
            part_temperature,
            gauge_temperature,
            read_by,
            called_out: self.called_out,
            blind: self.blind,
            reading_set: self.set.clone(),
            note: self.note.clone(),
        })
    }

    fn place(&self, sight: &Sight) -> Result<(Feature, &'static Characteristic), Failure> {
        let feature = pick::feature(sight, &self.feature)?;
        let kind = feature.kind();
        let row = characteristic::find(kind, &self.characteristic).ok_or_else(|| {
            let known: Vec<&str> = characteristic::of_kind(kind).iter().map(|row| row.name).collect();
            let cause = format!("`{}` is not read on a {kind}", self.characteristic);
            Failure::not_found("unknown-characteristic", cause, suggest(&self.characteristic, &known))
        })?;
        Ok((feature, row))
    }

    fn value(&self, kind: Option<Kind>) -> Result<Quantity, Failure> {
        let parsed = match self.unit.as_deref().map(str::trim) {
            // A unit typed with the value is meant for that value.
            Some(unit) if !self.value.chars().any(|c| c.is_alphabetic() || "°\"%".contains(c)) => {
                let unit = Unit::parse(unit).ok_or_else(|| {
                    Failure::refused(
                        "quantity",
                        format!("`{unit}` is not a known unit"),
                        "such as mm, µm, in, thou, N·m",
                    )
                })?;
                Quantity::parse_number(&self.value, unit)?
            }
            _ => Quantity::parse(&self.value)?,
        };
        Ok(match kind {
            Some(kind) => parsed.of_kind(kind)?,
            None => parsed,
        })
    }

    fn set_size(&self, kind: Option<Kind>, value: Option<&Quantity>) -> Result<Option<Quantity>, Failure> {
        let Some(text) = self.set_size.as_deref() else { return Ok(None) };
        let set = Quantity::parse(text)?.of_kind(kind.unwrap_or(Kind::Length))?;
        if let Some(value) = value {
            Comparator::new(set.clone(), value.clone())?;
        }
        Ok(Some(set))
    }

    fn check_station(&self, sight: &Sight, row: &Characteristic) -> Result<(), Failure> {
        let definition = sight.definition()?;
        if definition.allows_station(row, &self.station) {
            return Ok(());
        }
        let needed: Vec<&str> = definition.stations(row).iter().map(|station| &**station).collect();
        let (cause, hint) = if needed.is_empty() || needed == [""] {
            let cause = format!("{} has no stations, and `{}` is given", row.name, self.station);
            (cause, "leave the station out".to_owned())
        } else if self.station.is_empty() {
            (
                format!("{} is read at stations, and none is given", row.name),
                format!("one of {}", needed.join(", ")),
            )
        } else {
            (format!("{} has no station `{}`", row.name, self.station), suggest(&self.station, &needed))
        };
        Err(Failure::not_found("unknown-station", cause, hint))
    }

    fn conditions(&self) -> Result<Vec<String>, Failure> {
        let known: Vec<&str> = CONDITIONS.iter().map(|row| row.name).collect();
        let given = self.conditions.iter().map(|word| word.trim()).filter(|word| !word.is_empty());
        let check = |word: &str| crate::typed::one_of("condition", word, &known).map(str::to_owned);
        given.map(check).collect()
    }

    fn temperatures(&self) -> Result<(Option<Quantity>, Option<Quantity>), Failure> {
        let both = maybe(self.both_at.as_deref(), Kind::Temperature)?;
        let part = maybe(self.part_temp.as_deref(), Kind::Temperature)?;
        let gauge = maybe(self.gauge_temp.as_deref(), Kind::Temperature)?;
        Ok((part.or_else(|| both.clone()), gauge.or(both)))
    }
}

fn mark(text: &str) -> Result<String, Failure> {
    if text.is_empty() { Ok(String::new()) } else { new_mark(text) }
}

/// The conditions that a reading should have stated and did not, in words.
pub(super) fn missing_conditions(definition: &Definition, reading: &Reading) -> Option<String> {
    let feature = definition.feature(&reading.feature).ok()?;
    let row = characteristic::find(feature.kind(), &reading.characteristic)?;
    let missing: Vec<String> =
        definition.missing_conditions(row, &reading.conditions).map(|one_of| one_of.join(" or ")).collect();
    (!missing.is_empty()).then(|| missing.join(", "))
}
