//! What a worksheet takes: one row an input, with its range and the words for the error.

use super::worksheet::Standing;
use crate::engine::material::MATERIALS;
use crate::quantity::Unit;

/// One input.
#[derive(Clone, Copy, Debug)]
pub struct Input {
    /// Name, such as `journal`.
    pub name: &'static str,
    /// What it takes.
    pub takes: Takes,
    /// Whether it must be given.
    pub need: Need,
    /// What it is.
    pub about: &'static str,
}

impl Input {
    /// One that must be given.
    pub(super) const fn required(name: &'static str, takes: Takes, about: &'static str) -> Self {
        Self { name, takes, need: Need::Required, about }
    }

    /// One that may be left out.
    pub(super) const fn optional(name: &'static str, takes: Takes, about: &'static str) -> Self {
        Self { name, takes, need: Need::Optional, about }
    }

    /// One that is taken by habit where it is not given.
    pub(super) const fn by_habit(
        name: &'static str,
        takes: Takes,
        text: &'static str,
        about: &'static str,
    ) -> Self {
        Self { name, takes, need: Need::Default(text, Standing::CommonPractice), about }
    }
}

/// Values that are taken, both ends included unless said otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest.
    pub low: f64,
    /// Largest.
    pub high: f64,
    /// Whether the smallest itself is not taken.
    pub above: bool,
}

impl Range {
    /// From `low` to `high`, both taken.
    #[must_use]
    pub const fn from(low: f64, high: f64) -> Self {
        Self { low, high, above: false }
    }

    /// Above nought, up to `high`.
    #[must_use]
    pub const fn up_to(high: f64) -> Self {
        Self { low: 0.0, high, above: true }
    }

    /// Whether a value is in it; what is no number never is.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        let low = if self.above { value > self.low } else { value >= self.low };
        low && value <= self.high
    }

    /// In words, with a unit.
    #[must_use]
    pub fn words(&self, unit: &str) -> String {
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        if self.above {
            format!("above {} and up to {}{unit}", self.low, self.high)
        } else {
            format!("{} to {}{unit}", self.low, self.high)
        }
    }
}

/// What an input takes.
#[derive(Clone, Copy, Debug)]
pub enum Takes {
    /// A value with a unit of the same kind as this; the range counts in this one.
    Quantity(Unit, Range),
    /// Several of them, at least so many.
    Quantities(Unit, Range, usize),
    /// A bare number.
    Number(Range),
    /// A whole number.
    Whole(u32, u32),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A material of the table.
    Material,
    /// A unit.
    Unit,
    /// A value of any kind, with its unit.
    Anything,
}

impl Takes {
    /// In words: what may be written.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Quantity(unit, range) => format!("{}, {}", unit.kind(), range.words(unit.symbol())),
            Self::Quantities(unit, range, least) => {
                let each = range.words(unit.symbol());
                format!(
                    "{least} or more as a,b,c (with decimal commas \"a;b;c\", in quotes for the shell), each {}, {each}; the unit once at the end will do",
                    unit.kind()
                )
            }
            Self::Number(range) => format!("a number, {}", range.words("")),
            Self::Whole(low, high) => format!("a whole number, {low} to {high}"),
            Self::Word(words) => words.join(" or "),
            Self::Material => {
                let names: Vec<&str> = MATERIALS.iter().map(|material| &*material.name).collect();
                format!("a material: {}; or the maker's coefficient, as 19.4e-6/K+-3%", names.join(", "))
            }
            Self::Unit => "a unit, such as thou or lbf·ft".to_owned(),
            Self::Anything => "a value with its unit".to_owned(),
        }
    }
}

/// Whether an input must be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Required,
    /// It may be left out; what follows from that is said.
    Optional,
    /// This is taken where nothing is given, and how well founded that is.
    Default(&'static str, Standing),
}
