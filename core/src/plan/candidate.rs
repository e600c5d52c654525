//! One bore size that could be chosen, with all that it changes.

use super::bores::Bores;
use super::fits;
use super::tools::{self, Tools};
use crate::assess::LimitInForce;
use crate::measure::{Rule, Uncertainty, Verdict, judge};
use crate::quantity::{Amount, Kind, Unit};
use crate::work::{Answer, Filling, InRecord, Problem, fill, find, gap_in_bore};

/// Whether a bore size cleans up every bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cleans {
    /// It does, proven.
    Yes,
    /// Too near for the gauge that read the bores, or that gauge is not known.
    NotProven,
    /// It does not.
    No,
    /// Not every bore is known.
    NotKnown,
}

impl Cleans {
    /// In words.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::NotProven => "not proven",
            Self::No => "no",
            Self::NotKnown => "not known",
        }
    }
}

/// A figure, or why there is none.
pub type Figure<T = Amount> = Result<T, String>;

/// One bore size that could be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// What it adds to the bore as the definition names it.
    pub oversize: Amount,
    /// The finished bore.
    pub bore: Amount,
    /// Whether it cleans up every bore.
    pub cleans: Cleans,
    /// Bore less the size needed, as far as the bores are known; below nought: too small.
    pub to_spare: Option<Amount>,
    /// To come off the diameter of the bore that is worn most, at its largest place.
    pub off_worst: Option<Amount>,
    /// The same of the bore that is worn least.
    pub off_best: Option<Amount>,
    /// Displacement of one cylinder.
    pub each: Figure,
    /// Displacement of all.
    pub all: Figure,
    /// Static compression ratio with the definition's volumes.
    pub ratio: Figure,
    /// What the gap of a ring of the bore as made would grow by.
    pub old_rings: Amount,
    /// Smallest and largest skirt for the limits of piston clearance.
    pub skirt: Figure<(Amount, Amount)>,
    /// What it needs to hand.
    pub tools: Tools,
    /// What stands in its way.
    pub notes: Vec<String>,
}

/// A quarter of a millimetre is called ten thousandths of an inch, 0.254 mm (common practice, no source).
const QUARTER: i64 = 250_000_000;
const TEN_THOUSANDTHS: i64 = 254_000_000;

impl Candidate {
    /// The oversize in inches as it is asked for over the counter, such as `+0.020 in`.
    #[must_use]
    pub fn called(&self) -> String {
        format!("+{}", called(self.oversize))
    }
}

/// An oversize or undersize as it is called in inches: ten thousandths for each whole quarter of a
/// millimetre, else in thousandths as it is.
pub(crate) fn called(size: Amount) -> String {
    let base = size.base();
    let called = match (base / QUARTER, base % QUARTER) {
        (quarters, 0) => quarters.saturating_mul(TEN_THOUSANDTHS),
        _ => base,
    };
    let digits = Amount::new(Kind::Length, called).digits(Unit::Inch, 3);
    format!("{} in", digits.unwrap_or_default())
}

/// What all candidates of a plan share.
pub(super) struct Common<'p> {
    pub(super) place: InRecord<'p>,
    pub(super) nominal: Amount,
    pub(super) made: Amount,
    pub(super) bores: &'p Bores,
    pub(super) needed: &'p Figure,
    /// How often wear counts: twice where it is on one wall.
    pub(super) times: i64,
    pub(super) clearance: &'p Figure<LimitInForce>,
    pub(super) bore_limits: &'p Figure<LimitInForce>,
}

impl Common<'_> {
    /// What an oversize comes to; none past the range of sizes.
    pub(super) fn candidate(&self, oversize: Amount) -> Option<Candidate> {
        let bore = self.nominal.checked_add(oversize)?;
        let off = |found: Option<Amount>| bore.checked_sub(found?);
        let skirt = self.clearance.clone().and_then(|limit| fits::skirt(bore, &limit));
        let displacement = self.worked("displacement", bore);
        let cleans = self.cleans(bore);
        let volume = |name| figure(&displacement, name, Unit::CubicCentimetre);
        Some(Candidate {
            oversize,
            bore,
            cleans,
            to_spare: off(self.needed.clone().ok()),
            off_worst: off(self.bores.worst().map(|bore| bore.largest)),
            off_best: off(self.bores.best().map(|bore| bore.largest)),
            each: volume("each"),
            all: volume("all"),
            ratio: figure(&self.worked("compression", bore), "ratio", Unit::ToOne),
            old_rings: self.old_rings(bore)?,
            tools: tools::tools(&self.place, bore, skirt.clone().ok()),
            skirt,
            notes: self.notes(bore, cleans),
        })
    }

    fn cleans(&self, bore: Amount) -> Cleans {
        let Ok(needed) = self.needed else { return Cleans::NotKnown };
        if self.bores.no_wear {
            // A bore that is larger already is cleaned up by no smaller one; of the rest nothing is known.
            let larger = self.bores.worst().is_some_and(|worst| worst.largest.base() > bore.base());
            return if larger { Cleans::No } else { Cleans::NotKnown };
        }
        let u = self.bores.u().and_then(|u| Uncertainty::new(u.base().checked_mul(self.times)?).ok());
        let verdict = judge(needed.base(), u, None, Some(bore.base()), Rule::Strict).verdict;
        let as_found = if needed.base() > bore.base() { Cleans::No } else { Cleans::NotProven };
        let known = match verdict {
            Verdict::Within => Cleans::Yes,
            Verdict::NotProven => Cleans::NotProven,
            Verdict::Outside => Cleans::No,
            Verdict::NotJudged(_) => as_found,
        };
        // A bore that is not known can only be worse than those that are.
        if known == Cleans::No || self.bores.unknown.is_empty() { known } else { Cleans::NotKnown }
    }

    fn old_rings(&self, bore: Amount) -> Option<Amount> {
        let mm = Unit::Millimetre;
        Amount::from_f64(gap_in_bore(0.0, self.made.to_f64(mm)?, bore.to_f64(mm)?), mm)
    }

    /// A worksheet for a bore, all else from the definition.
    fn worked(&self, name: &str, bore: Amount) -> Figure<Answer> {
        let sheet = find(name).ok_or_else(|| format!("there is no worksheet {name}"))?;
        let mut fillings = fill(sheet, &self.place);
        fillings.retain(|filling| filling.input != "bore");
        let found = fillings.iter().filter_map(Filling::typed);
        let texts: Vec<String> = found.chain([format!("bore={}", typed(bore))]).collect();
        sheet.work(&texts).map(|(_, answer)| answer).map_err(|error| {
            let why = |p: &Problem| match Filling::why_not(&fillings, &p.input) {
                Some(reason) => reason.to_owned(),
                None => format!("{} {}", p.input, p.cause),
            };
            error.problems.iter().map(why).collect::<Vec<_>>().join("; ")
        })
    }

    fn notes(&self, bore: Amount, cleans: Cleans) -> Vec<String> {
        let mut notes = Vec::new();
        if cleans == Cleans::NotProven {
            let why = "too near for what the gauge that read the bores may err by, or that is not known";
            notes.push(why.to_owned());
        }
        let gasket = self.place.definition.dimension("gasket-bore").map(|gasket| gasket.amount());
        if let Some(gasket) = gasket.filter(|gasket| *gasket < bore) {
            notes.push(format!("the gasket's bore, {}, is smaller than this one", shown(gasket)));
        }
        if let Ok(limit) = self.bore_limits
            && (limit.lower.is_some_and(|low| bore.base() < low)
                || limit.upper.is_some_and(|high| bore.base() > high))
        {
            let limits = crate::assess::show::limits(Kind::Length, limit.lower, limit.upper);
            notes.push(format!("outside the limits of the bore in force ({limits}): set them anew with it"));
        }
        notes
    }
}

/// A number of an answer, rounded to whole base units.
pub(super) fn figure(answer: &Figure<Answer>, name: &str, unit: Unit) -> Figure {
    let answer = answer.as_ref().map_err(Clone::clone)?;
    let value = answer.get(name).and_then(|value| Amount::from_f64(value, unit));
    value.ok_or_else(|| format!("{name} comes out as no number"))
}

/// A length as a worksheet takes it: exact to the picometre.
pub(super) fn typed(length: Amount) -> String {
    format!("{}mm", length.digits(Unit::Millimetre, 9).unwrap_or_default())
}

/// A length as it is shown.
pub(super) fn shown(length: Amount) -> String {
    crate::assess::show::amount(Kind::Length, length.base())
}
