//! One reading as typed, and what is wrong with it.

use gudgeon_core::engine::condition::CONDITIONS;
use gudgeon_core::engine::{Characteristic, Definition, Feature, characteristic, suggest};
use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::quantity::{Comparator, Kind, Quantity, Unit};

use crate::desk::Sight;
use crate::failure::Failure;
use crate::pick;
use crate::typed::{NO_SIZE, above_nothing, maybe, new_mark, part_mark};

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

impl Typed {
    /// The reading that is meant.
    ///
    /// # Errors
    /// Everything that is wrong with the line.
    pub(super) fn reading(&self, sight: &Sight) -> Result<Reading, Vec<Failure>> {
        let wrong = self.problems(sight);
        if wrong.is_empty() { self.build(sight).map_err(|failure| vec![failure]) } else { Err(wrong) }
    }

    /// All that is wrong at once, each field by itself.
    fn problems(&self, sight: &Sight) -> Vec<Failure> {
        let place = self.place(sight);
        let row = place.as_ref().ok().map(|(_, row)| *row);
        let kind = row.map(|row| row.kind);
        let value = self.value(kind);
        let set_size = self.set_size(kind, value.as_ref().ok());
        let size = match (row, &value, &set_size) {
            (Some(row), Ok(value), Ok(None)) => size_of(row, value),
            _ => Ok(()),
        };
        let station = row.map_or(Ok(()), |row| self.check_station(sight, row));
        let marks = [&self.gauge, &self.master].map(|text| mark(text).err());
        let fields = [
            place.err(),
            value.err(),
            set_size.err(),
            size.err(),
            station.err(),
            self.conditions().err(),
            self.temperatures().err(),
            self.part(sight).err(),
            self.read_by(sight).err(),
        ];
        fields.into_iter().chain(marks).flatten().collect()
    }

    fn build(&self, sight: &Sight) -> Result<Reading, Failure> {
        let (feature, row) = self.place(sight)?;
        let value = self.value(Some(row.kind))?;
        let (part_temperature, gauge_temperature) = self.temperatures()?;
        Ok(Reading {
            feature: feature.path().to_owned(),
            part: self.part(sight)?.unwrap_or_default(),
            characteristic: row.name.to_owned(),
            station: self.station.clone(),
            conditions: self.conditions()?,
            set_size: self.set_size(Some(row.kind), Some(&value))?,
            value,
            gauge: mark(&self.gauge)?,
            master: mark(&self.master)?,
            part_temperature,
            gauge_temperature,
            read_by: self.read_by(sight)?,
            called_out: self.called_out,
            blind: self.blind,
            reading_set: self.set.clone(),
            note: self.note.clone(),
        })
    }

    fn part(&self, sight: &Sight) -> Result<Option<String>, Failure> {
        self.part.as_deref().map(|part| part_mark(sight, part)).transpose()
    }

    fn read_by(&self, sight: &Sight) -> Result<Option<EntryId>, Failure> {
        self.read_by.as_deref().map(|name| pick::person(sight.roster(), name)).transpose()
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
            _ => kind
                .map_or_else(|| Quantity::parse(&self.value), |kind| Quantity::parse_as(&self.value, kind))?,
        };
        Ok(match kind {
            Some(kind) => parsed.of_kind(kind)?,
            None => parsed,
        })
    }

    fn set_size(&self, kind: Option<Kind>, value: Option<&Quantity>) -> Result<Option<Quantity>, Failure> {
        let Some(text) = self.set_size.as_deref() else { return Ok(None) };
        let set = Quantity::parse_as(text, kind.unwrap_or(Kind::Length))?;
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

/// Refuses a size of nothing or less where there must be something.
fn size_of(row: &Characteristic, value: &Quantity) -> Result<(), Failure> {
    if !row.above_nothing {
        return Ok(());
    }
    let hint = if row.comparator {
        "give a deviation with --set-size; else check the sign and the digits"
    } else {
        NO_SIZE
    };
    above_nothing(row.name, Some(value.clone())).map(|_| ()).map_err(|failure| failure.hinting(hint))
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
