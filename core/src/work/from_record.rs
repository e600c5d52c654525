//! Inputs of a worksheet from a record: what stands there, at 20 °C where that matters, or why not.

use std::collections::BTreeSet;

use super::error::Problem;
use super::from_record_table::{FILLS, Fill, Part, TOGETHER, Take, Where};
use super::worksheet::Worksheet;
use crate::assess::{Assessment, FeatureView, Judged, Record, Slot, Workshop};
use crate::engine::derivation::Input;
use crate::engine::material::{self, Material};
use crate::engine::{Definition, Feature, FeatureKind, FeatureRef, Subject, characteristic, suggest};
use crate::measure::{Reason, Rule, Verdict};
use crate::quantity::{Amount, Kind, Unit};

/// A record, and the place in it that is meant.
#[derive(Clone, Copy, Debug)]
pub struct InRecord<'r> {
    /// The record.
    pub record: &'r Record,
    /// Its workshop.
    pub workshop: &'r Workshop,
    /// What both come to.
    pub assessment: &'r Assessment,
    /// The engine's definition, as the record holds it.
    pub definition: &'r Definition,
    /// The place, such as `main/2`.
    pub at: Option<&'r Feature>,
    /// The value that is meant where any could be, such as `journal-diameter`.
    pub of: Option<&'r str>,
}

/// An input that a record can fill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Filling {
    /// Name of the input.
    pub input: &'static str,
    /// What it is filled with, as it would be typed, and where that is from; or why it is not.
    pub found: Result<(String, String), String>,
}

impl Filling {
    /// As it would be typed, `housing=61.005mm`; none where the record does not have it.
    #[must_use]
    pub fn typed(&self) -> Option<String> {
        let (text, _) = self.found.as_ref().ok()?;
        Some(format!("{}={text}", self.input))
    }

    /// Why an input is not filled, among these; none: it is, or nothing fills it.
    #[must_use]
    pub fn why_not<'f>(fillings: &'f [Self], input: &str) -> Option<&'f str> {
        let filling = fillings.iter().find(|filling| filling.input == input)?;
        filling.found.as_ref().err().map(String::as_str)
    }
}

/// Every input of a worksheet that a record can fill, in the order of its inputs.
#[must_use]
pub fn fill(sheet: &Worksheet, place: &InRecord) -> Vec<Filling> {
    let inputs = sheet.inputs.iter().map(|input| input.name);
    let rows = |input| FILLS.iter().filter(move |row| row.sheet == sheet.name && row.input == input);
    let filling = |input| {
        let found = place.first(rows(input))?;
        Some(Filling { input, found })
    };
    inputs.filter_map(filling).collect()
}

/// Whether a record fills anything of a worksheet.
#[must_use]
pub fn fills(sheet: &Worksheet) -> bool {
    FILLS.iter().any(|row| row.sheet == sheet.name)
}

/// Of the inputs to be filled: what may be left out, but not beside what the record gave: without them it says something else.
#[must_use]
pub fn lacking(sheet: &Worksheet, fillings: &[Filling], at: Option<&Feature>) -> Vec<Problem> {
    let of = |name: &str| fillings.iter().find(|filling| filling.input == name);
    let applies = |input: &str| {
        let mut rows = FILLS.iter().filter(|row| row.sheet == sheet.name && row.input == input);
        rows.any(|row| place(row.from) == at.map(Feature::kind))
    };
    let lacks = |(_, input, with): &(&str, &str, &str)| {
        let why = of(input)?.found.as_ref().err()?;
        let (_, from) = of(with)?.found.as_ref().ok()?;
        let cause = format!("is missing (the record: {why}), and {with} is from the record ({from})");
        let hint = format!(
            "read it, or give {input}=...; a bore read with its shells in is {with}=... and {input}=0mm"
        );
        applies(input).then(|| Problem { input: (*input).to_owned(), cause, hint })
    };
    TOGETHER.iter().filter(|row| row.0 == sheet.name).filter_map(lacks).collect()
}

/// Paths of the places at which a record fills something of a worksheet, in the definition's order.
pub fn places<'d>(sheet: &Worksheet, definition: &'d Definition) -> impl Iterator<Item = &'d str> {
    let rows: Vec<&Fill> = FILLS.iter().filter(|row| row.sheet == sheet.name).collect();
    let any = rows.iter().any(|row| matches!(row.from, Where::Judged(_)));
    let kinds: BTreeSet<FeatureKind> = rows.iter().filter_map(|row| place(row.from)).collect();
    let here = move |feature: &&Feature| any || kinds.contains(&feature.kind());
    definition.features().iter().filter(here).map(Feature::path)
}

/// A text as it would be typed, and where it is from.
type Found = Result<(String, String), String>;

impl InRecord<'_> {
    /// The first row that can be filled; else why the first that applies cannot; none: no row.
    fn first<'f>(&self, rows: impl Iterator<Item = &'f Fill>) -> Option<Found> {
        let rows: Vec<&Fill> = rows.collect();
        rows.first()?;
        let mut why = None;
        for row in rows.iter().filter(|row| self.applies(row.from)) {
            match self.one(row.from) {
                Ok(found) => return Some(Ok(found)),
                Err(reason) => {
                    why.get_or_insert(reason);
                }
            }
        }
        let kinds: Vec<&str> = rows.iter().filter_map(|row| place(row.from)).map(FeatureKind::name).collect();
        let elsewhere = || format!("name a {} with --at", kinds.join(" or a "));
        Some(Err(why.unwrap_or_else(elsewhere)))
    }

    fn applies(&self, from: Where) -> bool {
        let at = self.at.map(Feature::kind);
        match from {
            Where::Here(kind, ..) | Where::Material(Some(kind), _) => at == Some(kind),
            Where::Each(kind, ..) => self.at.is_none_or(|at| at.kind() == kind || !self.is_list_place(at)),
            Where::Dimensions(_)
            | Where::Cylinders
            | Where::Least(..)
            | Where::Parts(..)
            | Where::Material(None, _)
            | Where::Judged(_) => true,
        }
    }

    /// Whether a place says which of several lists is meant.
    fn is_list_place(&self, at: &Feature) -> bool {
        FILLS.iter().any(|row| matches!(row.from, Where::Each(kind, ..) if kind == at.kind()))
    }

    fn one(&self, from: Where) -> Found {
        match from {
            Where::Dimensions(names) => self.dimensions(names),
            Where::Cylinders => {
                let count = self.definition.layout().cylinders();
                Ok((count.to_string(), "the engine's definition".to_owned()))
            }
            Where::Here(_, meant, name, take) => {
                let at = self.at.ok_or("no place is named")?;
                match take {
                    Take::Level(level) => self.level_of(&self.seen(at, meant)?, name, level),
                    Take::Smallest | Take::Largest | Take::At(_) | Take::Uncertainty => {
                        self.taken(at, meant, name, take).map(Sized::text)
                    }
                }
            }
            Where::Each(kind, meant, name, take) => {
                let each = self.definition.features_of(kind).iter();
                together(each.map(|at| self.taken(at, meant, name, take)))
            }
            Where::Least(kind, name) => self.least(kind, name).map(Sized::text),
            Where::Parts(kind, name, take) => {
                let parts = self.assessment.features().filter(|view| view.feature.kind() == kind);
                together(parts.map(|view| self.taken_of(&view, name, take)))
            }
            Where::Material(_, role) => {
                let material = self.definition.material(role);
                Ok((as_typed(material), format!("the engine's definition: {}", material.name)))
            }
            Where::Judged(part) => self.judged(part),
        }
    }

    fn dimensions(&self, names: &[&str]) -> Found {
        let first = names.first().copied().unwrap_or_default();
        let given: Vec<(&str, Amount)> = names
            .iter()
            .filter_map(|name| Some((*name, self.definition.dimension(name)?.amount())))
            .collect();
        if given.first().is_none_or(|(name, _)| *name != first) {
            return Err(format!("the engine's definition gives no {first}"));
        }
        let sum = given.iter().skip(1).try_fold(given[0].1, |sum, (_, amount)| sum.checked_add(*amount));
        let sum = sum.ok_or("its dimensions do not add up")?;
        let names: Vec<&str> = given.iter().map(|(name, _)| *name).collect();
        Ok((typed(sum), format!("the engine's definition: {}", names.join(" + "))))
    }

    fn taken(&self, at: &Feature, meant: FeatureRef, name: &str, take: Take<'_>) -> Result<Sized, String> {
        self.taken_of(&self.seen(at, meant)?, name, take)
    }

    fn seen(&self, at: &Feature, meant: FeatureRef) -> Result<FeatureView<'_>, String> {
        self.assessment.seen_from(self.record, self.workshop, at, meant)
    }

    fn least(&self, kind: FeatureKind, name: &str) -> Result<Sized, String> {
        let each = self.definition.features_of(kind).iter();
        let all: Result<Vec<Sized>, String> =
            each.map(|at| self.taken(at, FeatureRef::Same, name, Take::Smallest)).collect();
        let least = all?.into_iter().min_by_key(|sized| sized.amount.base());
        least.ok_or_else(|| format!("the engine has no {}", kind.name()))
    }

    /// Of the value that is named: the end nearer to a limit, its uncertainty, its limits, their rule.
    fn judged(&self, part: Part) -> Found {
        let (at, of) = self.at.zip(self.of).ok_or("name the place with --at and the value with --of")?;
        let judged = self.assessment.value(at.path(), of).ok_or_else(|| self.no_value(at, of))?;
        let limit = judged.limit.as_ref();
        if part != Part::Value && part != Part::Uncertainty && limit.is_some_and(|l| !l.disputed.is_empty()) {
            return Err(format!("the limit of {at} {of} was set to different figures: a lead settles that"));
        }
        let (found, which) = match part {
            Part::Value => {
                let end = worse_end(judged).map_err(|why| self.ground_unfit(at, judged).unwrap_or(why))?;
                (Some(end), "the end nearer to a limit")
            }
            Part::Uncertainty => (judged.u.map(|u| u.base()), "uncertainty"),
            Part::Lower => (limit.and_then(|limit| limit.lower), "lower limit"),
            Part::Upper => (limit.and_then(|limit| limit.upper), "upper limit"),
            Part::Rule => {
                let limit = limit.ok_or_else(|| format!("{at} {of} has no limit"))?;
                return Ok((rule_word(limit.rule).to_owned(), format!("{at} {of}, from the limit")));
            }
        };
        let base = found.ok_or_else(|| format!("{at} {of} has no {which}"))?;
        let amount = Amount::new(judged.kind, base);
        let text = if part == Part::Uncertainty { typed_small(amount) } else { typed(amount) };
        Ok((text, format!("{at} {of}, {which}")))
    }

    /// Why a place has no value of a name: there is none such, or it is not read.
    fn no_value(&self, at: &Feature, of: &str) -> String {
        if Subject::find(at.kind(), of).is_none() {
            let known: Vec<&str> = Subject::names_on(at.kind()).collect();
            return format!("{at} has no value called {of}; {}", suggest(of, &known));
        }
        let view = self.assessment.feature(at.path());
        view.map_or_else(|| format!("{at} {of} is not read"), |view| self.not_read(&view, of))
    }

    /// That a value is not read; or that it was, but without the conditions it needs.
    fn not_read(&self, view: &FeatureView, name: &str) -> String {
        let path = view.feature.path();
        let unread = || format!("{path} {name} is not read");
        let Some(row) = characteristic::find(view.feature.kind(), name) else { return unread() };
        let mut unfit = view.slots.iter().filter(|slot| !slot.fit && slot.row.name == name);
        let Some(slot) = unfit.find(|slot| slot.value().is_some()) else { return unread() };
        let said: Vec<String> = slot.conditions.iter().map(|c| c.to_string()).collect();
        let without: Vec<String> =
            self.definition.missing_conditions(row, &said).map(|one_of| one_of.join(" or ")).collect();
        let as_said =
            |one_of: &[&'static str]| one_of.iter().copied().find(|name| said.iter().any(|s| s == name));
        let needed = self.definition.missing_conditions(row, &[]);
        let cond: Vec<&str> = needed.filter_map(|all| as_said(all).or(all.first().copied())).collect();
        let (without, cond) = (without.join(" and without "), cond.join(","));
        format!("{path} {name} was read without {without}: read it again so, with --cond {cond}")
    }

    /// Of a derived value: which reading under it lacks its conditions.
    fn ground_unfit(&self, at: &Feature, judged: &Judged) -> Option<String> {
        let unfit = |input: &Input| {
            let view = self.seen(at, input.from).ok()?;
            let unread = view.value(input.characteristic).is_none();
            let read = view.slots.iter().any(|slot| slot.row.name == input.characteristic);
            (unread && read).then(|| self.not_read(&view, input.characteristic))
        };
        judged.derivation?.inputs.iter().find_map(unfit)
    }

    fn taken_of(&self, view: &FeatureView, name: &str, take: Take<'_>) -> Result<Sized, String> {
        let path = view.feature.path();
        let judged = view.value(name).ok_or_else(|| self.not_read(view, name))?;
        if let Some(why) = judged.hindrance() {
            return Err(format!("{path} {name}: {why}"));
        }
        let (base, which) = match take {
            Take::Smallest => (judged.low, "smallest"),
            Take::Largest => (judged.high, "largest"),
            Take::Uncertainty => (judged.u.map(|u| u.base()), "uncertainty"),
            Take::At(station) | Take::Level(station) => (value_at(view, name, station), station),
        };
        let base =
            base.ok_or_else(|| format!("{path} {name} has no {which}: not read, or its gauge not known"))?;
        let (read, needed) = judged.stations;
        let stations = if read < needed { format!(", {read} of {needed} stations") } else { String::new() };
        let warning =
            view.uncorrected(name).map_or_else(String::new, |reason| format!(", not corrected: {reason}"));
        Ok(Sized {
            amount: Amount::new(judged.kind, base),
            small: take == Take::Uncertainty,
            from: format!("{path} {name}, {which}{stations}{warning}"),
        })
    }

    /// A value at every direction of one level, by the directions' names.
    fn level_of(&self, view: &FeatureView, name: &str, level: &str) -> Found {
        let at_level = |station: &&str| station.split('/').next() == Some(level);
        let stations: BTreeSet<&str> =
            view.stations(name).map(|slot| &*slot.station).filter(at_level).collect();
        together(stations.into_iter().map(|station| self.taken_of(view, name, Take::At(station))))
    }
}

/// The kind of place a row asks for.
const fn place(from: Where) -> Option<FeatureKind> {
    match from {
        Where::Here(kind, ..) | Where::Each(kind, ..) | Where::Material(Some(kind), _) => Some(kind),
        Where::Dimensions(_)
        | Where::Cylinders
        | Where::Least(..)
        | Where::Parts(..)
        | Where::Material(None, _)
        | Where::Judged(_) => None,
    }
}

/// The word by which a worksheet takes a decision rule.
const fn rule_word(rule: Rule) -> &'static str {
    match rule {
        Rule::Strict => "strict",
        Rule::Shared => "shared",
        Rule::Simple => "simple",
    }
}

fn worse_end(judged: &Judged) -> Result<i64, String> {
    // It is asked for at 20 °C, and a missing temperature is never taken for that.
    if let Verdict::NotJudged(reason @ (Reason::NoTemperature | Reason::TemperatureTooFar)) = judged.verdict()
    {
        return Err(format!("{} is not known at 20 °C: {reason}", judged.name));
    }
    let ends = judged.low.zip(judged.high);
    let why = || judged.hindrance().unwrap_or_else(|| "nothing stands".to_owned());
    let (low, high) = ends.ok_or_else(why)?;
    let room = |limit: Option<i64>, sign: i64, end: i64| {
        limit.map_or(i64::MAX, |limit| sign.saturating_mul(limit.saturating_sub(end)))
    };
    let limit = judged.limit.as_ref();
    let (lower, upper) = (limit.and_then(|limit| limit.lower), limit.and_then(|limit| limit.upper));
    Ok(if room(lower, -1, low) < room(upper, 1, high) { low } else { high })
}

/// A value of a record, and where it is from.
struct Sized {
    amount: Amount,
    small: bool,
    from: String,
}

impl Sized {
    fn text(self) -> (String, String) {
        let text = if self.small { typed_small(self.amount) } else { typed(self.amount) };
        (text, self.from)
    }
}

fn value_at(view: &FeatureView, name: &str, station: &str) -> Option<i64> {
    let mut slots = view.stations(name).filter(|slot| *slot.station == *station);
    slots.find_map(Slot::value).map(|value| value.value)
}

/// A list as it would be typed; every place must have its value.
fn together(each: impl Iterator<Item = Result<Sized, String>>) -> Found {
    let all: Vec<Sized> = each.collect::<Result<_, _>>()?;
    if all.is_empty() {
        return Err("the record holds none".to_owned());
    }
    let texts: Vec<String> = all.iter().map(|sized| typed(sized.amount)).collect();
    let from: Vec<&str> = all.iter().map(|sized| &*sized.from).collect();
    Ok((texts.join(";"), from.join("; ")))
}

/// A material by its name in the table, or by its coefficient.
fn as_typed(material: &Material) -> String {
    if material::find(&material.name).is_some_and(|known| known == material) {
        return material.name.to_string();
    }
    let (whole, part) = (material.alpha_1e9 / 1000, material.alpha_1e9 % 1000);
    format!("{whole}.{part:03}e-6/K+-{}%", material.half_width_percent)
}

/// An amount with its unit, as fine as a worksheet may need it.
fn typed(amount: Amount) -> String {
    let (unit, _) = crate::assess::show::unit_of(amount.kind());
    exact(amount, unit)
}

/// The same for what is small: lengths in micrometres.
fn typed_small(amount: Amount) -> String {
    if amount.kind() == Kind::Length { exact(amount, Unit::Micrometre) } else { typed(amount) }
}

fn exact(amount: Amount, unit: Unit) -> String {
    let digits = amount.digits(unit, 6).unwrap_or_default();
    let digits =
        if digits.contains('.') { digits.trim_end_matches('0').trim_end_matches('.') } else { &digits };
    format!("{digits}{}", unit.symbol())
}
