//! The inputs of a worksheet as typed, read once by its rows; every problem at once.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::error::{Problem, WorkError};
use super::input::{Input, Need, Range, Takes};
use super::worksheet::{Standing, Worksheet};
use crate::engine::material::{self, MATERIALS, Material};
use crate::engine::suggest;
use crate::quantity::{Kind, Quantity, QuantityError, Unit};

/// One input, read.
#[derive(Clone, Debug)]
enum Read {
    Quantity(Quantity),
    Quantities(Vec<Quantity>),
    Whole(u32),
    Word(&'static str),
    Material(Cow<'static, Material>),
    Unit(Unit),
}

/// The inputs of one computation.
#[derive(Clone, Debug, Default)]
pub struct Given {
    read: BTreeMap<&'static str, Read>,
    typed: BTreeMap<&'static str, String>,
    taken: Vec<(&'static str, &'static str, Standing)>,
}

impl Given {
    /// Reads texts such as `journal=56.995mm` by the rows of a worksheet; defaults are filled in.
    ///
    /// # Errors
    /// Every problem at once: inputs that the worksheet does not have, given twice, missing,
    /// of another kind, out of range.
    pub fn read<T: AsRef<str>>(sheet: &Worksheet, texts: &[T]) -> Result<Self, WorkError> {
        let mut given = Self::default();
        let mut problems = Vec::new();
        for text in texts {
            if let Err(problem) = given.take(sheet, text.as_ref()) {
                problems.push(problem);
            }
        }
        for input in sheet.inputs {
            if given.typed.contains_key(input.name) {
                continue;
            }
            match input.need {
                Need::Optional => {}
                Need::Default(text, standing) => {
                    given.taken.push((input.name, text, standing));
                    if let Err(problem) = given.put(input, text) {
                        problems.push(problem);
                    }
                }
                Need::Required => problems.push(Problem {
                    input: input.name.to_owned(),
                    cause: "is missing".to_owned(),
                    hint: format!("give {}=..., {} ({})", input.name, input.about, input.takes.words()),
                }),
            }
        }
        if problems.is_empty() { Ok(given) } else { Err(WorkError { problems }) }
    }

    fn take(&mut self, sheet: &Worksheet, text: &str) -> Result<(), Problem> {
        let known: Vec<&str> = sheet.inputs.iter().map(|input| input.name).collect();
        let Some((name, value)) = text.split_once('=') else {
            let hint = format!("write NAME=VALUE; this worksheet takes {}", known.join(", "));
            return Err(Problem { input: text.to_owned(), cause: "has no `=`".to_owned(), hint });
        };
        let name = name.trim();
        let Some(input) = sheet.inputs.iter().find(|input| input.name == name) else {
            let cause = format!("is no input of {}", sheet.name);
            return Err(Problem { input: name.to_owned(), cause, hint: suggest(name, &known) });
        };
        if self.typed.contains_key(input.name) {
            let hint = "give it once; several values are one list: a,b,c".to_owned();
            return Err(Problem { input: name.to_owned(), cause: "is given twice".to_owned(), hint });
        }
        self.put(input, value.trim())
    }

    fn put(&mut self, input: &Input, text: &str) -> Result<(), Problem> {
        // Given is given, whether it can be read or not: it is not asked for as missing too.
        self.typed.insert(input.name, text.to_owned());
        let read = read(&input.takes, text).map_err(|(cause, hint)| Problem {
            input: input.name.to_owned(),
            cause,
            hint,
        })?;
        self.read.insert(input.name, read);
        Ok(())
    }

    /// The inputs as typed, by name; defaults that were taken included.
    pub fn typed(&self) -> impl Iterator<Item = (&'static str, &str)> {
        self.typed.iter().map(|(name, text)| (*name, text.as_str()))
    }

    /// What was taken without being given on no more than habit or memory, and where the growth of
    /// each material is from.
    pub(super) fn taken_notes(&self) -> impl Iterator<Item = String> {
        let weak = |standing: &Standing| matches!(standing, Standing::Memory | Standing::CommonPractice);
        let taken = self.taken.iter().filter(move |(.., standing)| weak(standing));
        let taken =
            taken.map(|(name, text, standing)| format!("{name}={text} was taken ({})", standing.words()));
        taken.chain(self.materials().into_iter().map(grows))
    }

    /// Each material once, in the order of the inputs' names.
    fn materials(&self) -> Vec<&Material> {
        let mut found: Vec<&Material> = Vec::new();
        for read in self.read.values() {
            if let Read::Material(material) = read
                && found.iter().all(|other| other.name != material.name)
            {
                found.push(material);
            }
        }
        found
    }

    /// A value in a unit; none: not given, or no single value.
    #[must_use]
    pub fn maybe(&self, name: &str, unit: Unit) -> Option<f64> {
        match self.read.get(name)? {
            Read::Quantity(quantity) => quantity.to_f64(unit),
            Read::Whole(whole) => Some(f64::from(*whole)),
            Read::Quantities(_) | Read::Word(_) | Read::Material(_) | Read::Unit(_) => None,
        }
    }

    /// A value in a unit.
    ///
    /// # Errors
    /// Where it is not given.
    pub fn value(&self, name: &'static str, unit: Unit) -> Result<f64, WorkError> {
        self.maybe(name, unit).ok_or_else(|| absent(name))
    }

    /// A bare number.
    ///
    /// # Errors
    /// Where it is not given.
    pub fn number(&self, name: &'static str) -> Result<f64, WorkError> {
        self.value(name, Unit::ToOne)
    }

    /// A whole number.
    ///
    /// # Errors
    /// Where it is not given.
    pub fn whole(&self, name: &'static str) -> Result<u32, WorkError> {
        let Some(Read::Whole(whole)) = self.read.get(name) else { return Err(absent(name)) };
        Ok(*whole)
    }

    /// The values of a list in a unit; empty: not given.
    #[must_use]
    pub fn list(&self, name: &str, unit: Unit) -> Vec<f64> {
        match self.read.get(name) {
            Some(Read::Quantities(all)) => all.iter().filter_map(|one| one.to_f64(unit)).collect(),
            _ => Vec::new(),
        }
    }

    /// The quantity as typed.
    #[must_use]
    pub fn quantity(&self, name: &str) -> Option<&Quantity> {
        let Read::Quantity(quantity) = self.read.get(name)? else { return None };
        Some(quantity)
    }

    /// A word of the row; empty: not given.
    #[must_use]
    pub fn word(&self, name: &str) -> &'static str {
        match self.read.get(name) {
            Some(Read::Word(word)) => word,
            _ => "",
        }
    }

    /// A material, of the table or with a coefficient of its own.
    #[must_use]
    pub fn material(&self, name: &str) -> Option<&Material> {
        let Read::Material(material) = self.read.get(name)? else { return None };
        Some(material)
    }

    /// A material.
    ///
    /// # Errors
    /// Where it is not given.
    pub fn made_of(&self, name: &'static str) -> Result<&Material, WorkError> {
        self.material(name).ok_or_else(|| WorkError::of(name, "is missing", "give a material"))
    }

    /// Coefficient of expansion of a material, per °C.
    ///
    /// # Errors
    /// Where it is not given.
    pub fn alpha(&self, name: &'static str) -> Result<f64, WorkError> {
        self.made_of(name).map(alpha)
    }

    /// A unit.
    #[must_use]
    pub fn unit(&self, name: &str) -> Option<Unit> {
        let Read::Unit(unit) = self.read.get(name)? else { return None };
        Some(*unit)
    }
}

/// Coefficient of expansion, per °C.
pub(super) fn alpha(material: &Material) -> f64 {
    f64::from(material.alpha_1e9) * 1e-9
}

fn grows(material: &Material) -> String {
    let alpha = f64::from(material.alpha_1e9) / 1000.0;
    let (name, within, source) = (&material.name, material.half_width_percent, &material.source);
    if within == 0 {
        return format!("{name} was taken as exact: where it is not, write {name}+-3%");
    }
    format!("{name} grows by {alpha}e-6 per °C, within {within} %; source: {source}")
}

fn absent(name: &'static str) -> WorkError {
    WorkError::of(name, "is missing", format!("give {name}=..."))
}

/// Cause and way out.
type Wrong = (String, String);

fn wrong(error: QuantityError) -> Wrong {
    (error.cause(), error.hint())
}

fn read(takes: &Takes, text: &str) -> Result<Read, Wrong> {
    match takes {
        Takes::Quantity(unit, range) => quantity(text, *unit, range).map(Read::Quantity),
        Takes::Quantities(unit, range, least) => list(text, *unit, range, *least).map(Read::Quantities),
        Takes::Number(range) => number(text, range).map(Read::Quantity),
        Takes::Whole(low, high) => whole(text, *low, *high).map(Read::Whole),
        Takes::Word(words) => word(text, words).map(Read::Word),
        Takes::Material => material_named(text).map(Read::Material),
        Takes::Unit => Unit::parse(text).map(Read::Unit).ok_or_else(|| {
            let hint = "such as mm, µm, thou, N·m, lbf·ft, °C, bar, psi, cm³, in³, g, oz".to_owned();
            (format!("`{text}` is not a known unit"), hint)
        }),
        Takes::Anything => Quantity::parse(text).map(Read::Quantity).map_err(wrong),
    }
}

fn quantity(text: &str, unit: Unit, range: &Range) -> Result<Quantity, Wrong> {
    let parsed = Quantity::parse_as(text, unit.kind()).map_err(|error| {
        let (cause, hint) = wrong(error);
        (cause, own_hint(text, unit).unwrap_or(hint))
    });
    in_range(parsed?, unit, range)
}

/// The way out where the unit that is asked for is often taken for another.
fn own_hint(text: &str, unit: Unit) -> Option<String> {
    if unit == Unit::Percent {
        return Some("write it in per cent, such as 5%; a bare 0.05 would be 5%".to_owned());
    }
    let typed = Quantity::parse(text).ok()?;
    let so_much = typed.typed();
    match (unit.kind(), typed.kind()) {
        (Kind::TemperatureChange, Kind::Temperature) => {
            let written = if typed.unit() == Unit::Fahrenheit {
                format!("{so_much}Δ°F (or \"{so_much} delta degF\") for so many °F more")
            } else {
                format!("{so_much}K for so many °C more")
            };
            Some(format!("it is how much warmer, not how warm: write {written}"))
        }
        (Kind::Temperature, Kind::TemperatureChange) => {
            Some("it is how warm, not how much warmer: write °C or °F; K less 273.15 is °C".to_owned())
        }
        _ => None,
    }
}

fn in_range(quantity: Quantity, unit: Unit, range: &Range) -> Result<Quantity, Wrong> {
    if quantity.to_f64(unit).is_some_and(|value| range.holds(value)) {
        return Ok(quantity);
    }
    let symbol = if unit == Unit::ToOne { "" } else { unit.symbol() };
    let shown = if unit == Unit::ToOne { quantity.typed().to_owned() } else { quantity.to_string() };
    let hint = "check the value, its sign, its unit and its decimal separator".to_owned();
    Err((format!("{shown} is outside {}", range.words(symbol)), hint))
}

fn number(text: &str, range: &Range) -> Result<Quantity, Wrong> {
    // A ratio is often written with what it is to.
    let text = text.strip_suffix(":1").map_or(text, str::trim_end);
    in_range(Quantity::parse_number(text, Unit::ToOne).map_err(wrong)?, Unit::ToOne, range)
}

/// `a,b,c`; with decimal commas `a;b;c`. The unit stands with each, or once at the end.
///
/// Whole numbers between commas may be halves of one number with a decimal comma: 80,14 mm is not
/// 80 mm and 14 mm. That is asked, not guessed; of angles whole degrees are the rule, and pieces are
/// whole in any case.
fn list(text: &str, unit: Unit, range: &Range, least: usize) -> Result<Vec<Quantity>, Wrong> {
    let separator = if text.contains(';') { ';' } else { ',' };
    let parts: Vec<&str> = text.split(separator).map(str::trim).collect();
    let whole = matches!(unit.kind(), Kind::Angle | Kind::Count);
    if separator == ',' && !whole && parts.windows(2).any(may_be_halves) {
        let hint = "write a;b;c where the comma is the decimal one, and for whole numbers too".to_owned();
        return Err((format!("`{text}` may be a list or have decimal commas"), hint));
    }
    if parts.len() < least {
        let hint = "separate them by commas; where the comma is the decimal one, by semicolons".to_owned();
        return Err((format!("`{text}` is {} of the {least} values needed", parts.len()), hint));
    }
    let bare = matches!(unit.kind(), Kind::Ratio | Kind::Count);
    let last = parts.last().copied().unwrap_or_default();
    let shared = if bare { unit } else { quantity(last, unit, range)?.unit() };
    let one = |part: &&str| {
        let has_unit = part.contains(|c: char| c.is_alphabetic() || c == '"' || c == '°' || c == '%');
        if has_unit && !bare {
            return quantity(part, unit, range);
        }
        in_range(Quantity::parse_number(part, shared).map_err(wrong)?, unit, range)
    };
    parts.iter().map(one).collect()
}

/// Whether two neighbours may be the halves of one number: digits, then digits without a point.
fn may_be_halves(pair: &[&str]) -> bool {
    let whole = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let [before, after] = pair else { return false };
    let rest = after.trim_start_matches(|c: char| c.is_ascii_digit());
    let begun = after.len() > rest.len();
    let goes_on = rest.trim_start().starts_with(|c: char| c == '.' || c == '/' || c.is_ascii_digit());
    whole(before.trim_start_matches(['-', '+'])) && begun && !goes_on
}

fn whole(text: &str, low: u32, high: u32) -> Result<u32, Wrong> {
    let hint = format!("give a whole number from {low} to {high}");
    let read: u32 = text.parse().map_err(|_| (format!("`{text}` is no whole number"), hint.clone()))?;
    if (low..=high).contains(&read) {
        Ok(read)
    } else {
        Err((format!("{read} is outside {low} to {high}"), hint))
    }
}

fn word(text: &str, words: &[&'static str]) -> Result<&'static str, Wrong> {
    let found = words.iter().copied().find(|word| *word == text);
    found.ok_or_else(|| (format!("`{text}` is not among {}", words.join(", ")), suggest(text, words)))
}

fn material_named(text: &str) -> Result<Cow<'static, Material>, Wrong> {
    if text.starts_with(|c: char| c.is_ascii_digit()) {
        return own_coefficient(text).map(Cow::Owned);
    }
    let names: Vec<&str> = MATERIALS.iter().map(|material| &*material.name).collect();
    let known = material::find(text).map(Cow::Borrowed);
    known.ok_or_else(|| (format!("`{text}` is no material of the table"), suggest(text, &names)))
}

/// Base units of an expansion, 1e-12 per °C, in the 1e-9 that materials count in.
const ALPHA_STEP: i64 = 1_000;

/// Base units of a ratio, 1e-9, in one per cent.
const PERCENT_STEP: i64 = 10_000_000;

/// A coefficient that the maker gives: `19.4e-6/K`, or `19.4e-6/K+-3%` where it is known so well.
fn own_coefficient(text: &str) -> Result<Material, Wrong> {
    let (alpha, within) = text.split_once("+-").or_else(|| text.split_once('±')).unwrap_or((text, "0%"));
    // Millionths are written so in handbooks; quantities know no exponents.
    let alpha = alpha.trim().replace("e-6/", "ppm/");
    let alpha = quantity(&alpha, Unit::PerMillionCelsius, &Range::from(0.1, 100.0))?;
    let within = quantity(within.trim(), Unit::Percent, &Range::from(0.0, 50.0))?;
    let unreadable = |_| (format!("`{text}` is no coefficient"), "write 19.4e-6/K".to_owned());
    // A part of a per cent counts as a whole one: nought would say that it is exact.
    let percent =
        u32::try_from((within.amount().base() + PERCENT_STEP - 1) / PERCENT_STEP).map_err(unreadable)?;
    Ok(Material {
        name: text.to_owned().into(),
        alpha_1e9: u32::try_from(alpha.amount().base() / ALPHA_STEP).map_err(unreadable)?,
        half_width_percent: u8::try_from(percent).map_err(unreadable)?,
        source: "as given".into(),
    })
}
