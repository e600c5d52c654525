//! Operations: work that changes a part, and what each ends.
//!
//! What an operation ends stays visible as "before". Only what is measured, tightened or
//! checked is listed: derived values follow from their inputs. The rows stand in
//! `operation_table.rs`; a definition may replace a row or add one.

use super::feature::{Feature, FeatureKind, Place, Spread};
use super::layout::Layout;
use super::operation_table::{EndsRow, OPERATIONS, WhatRow};
use super::pattern::{FeaturePattern, variable};

/// An operation on kinds of features, with all that it ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Operation {
    /// Name, such as `hone`.
    pub name: String,
    /// Kind of feature it is logged on.
    pub on: FeatureKind,
    /// What it ends.
    pub ends: Vec<Ends>,
}

/// One thing that an operation ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ends {
    /// Where: a path with `*` and [`VARIABLES`].
    pub feature: String,
    /// What.
    pub what: What,
    /// Why, in plain words.
    pub reason: String,
}

/// What of a feature ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// Readings of these characteristics.
    Characteristics(Vec<String>),
    /// Readings of every characteristic.
    EveryCharacteristic,
    /// The tightening of every fastener there.
    Tightening,
    /// These checks.
    Checks(Vec<String>),
}

impl What {
    /// Whether readings of a characteristic end.
    #[must_use]
    pub fn ends_reading(&self, characteristic: &str) -> bool {
        match self {
            Self::Characteristics(names) => names.iter().any(|name| name == characteristic),
            Self::EveryCharacteristic => true,
            Self::Tightening | Self::Checks(_) => false,
        }
    }

    /// Whether a check ends.
    #[must_use]
    pub fn ends_check(&self, check: &str) -> bool {
        match self {
            Self::Checks(names) => names.iter().any(|name| name == check),
            Self::Characteristics(_) | Self::EveryCharacteristic | Self::Tightening => false,
        }
    }
}

/// One thing that an operation on a touched feature ends.
#[derive(Clone, Debug)]
pub struct Ended<'d> {
    /// On which features.
    pub features: FeaturePattern,
    /// What.
    pub what: &'d What,
    /// Why.
    pub reason: &'d str,
}

/// A variable of a path in [`Ends`]: filled from the touched feature.
#[derive(Clone, Copy, Debug)]
pub struct Variable {
    /// Name between the braces.
    pub name: &'static str,
    /// What stands for it.
    pub about: &'static str,
}

/// The variables.
pub static VARIABLES: [Variable; 6] = [
    Variable { name: "n", about: "number of the touched feature, or where the part is fitted" },
    Variable { name: "bank", about: "bank of the touched feature" },
    Variable { name: "ring", about: "ring of the touched feature" },
    Variable { name: "mark", about: "mark of the touched part" },
    Variable { name: "in-bank", about: "cylinders of the touched bank" },
    Variable { name: "on-pin", about: "rods that run on the touched crankpin" },
];

/// Whether a feature of a kind fills a variable.
#[must_use]
pub(super) fn fills(kind: FeatureKind, name: &str) -> bool {
    let spread = kind.row().spread;
    let of_cylinder = matches!(spread, Spread::Cylinders | Spread::Liners | Spread::Rings(_));
    let of_part = matches!(spread, Spread::Part | Spread::PartRings);
    match name {
        "n" => of_cylinder || of_part || matches!(spread, Spread::Mains | Spread::Pins | Spread::CamBearings),
        "bank" => of_cylinder || spread == Spread::Banks,
        "ring" => matches!(spread, Spread::Rings(_) | Spread::PartRings),
        "mark" => of_part,
        "in-bank" => spread == Spread::Banks,
        "on-pin" => spread == Spread::Pins,
        _ => false,
    }
}

/// What fills a variable; none where the touched feature does not say.
fn filling(layout: &Layout, touched: &Feature, fitted: Option<u8>, name: &str) -> Option<Vec<String>> {
    if !fills(touched.kind(), name) {
        return None;
    }
    let one = |text: &str| Some(vec![text.to_owned()]);
    let numbers = |list: Vec<u8>| Some(list.iter().map(u8::to_string).collect());
    match (name, touched.place()) {
        ("n", Place::Part(_) | Place::PartRing(..)) => numbers(vec![fitted?]),
        ("n", _) => numbers(vec![touched.number()?]),
        ("bank", Place::Bank(bank)) => one(bank),
        ("bank", _) => one(&layout.bank_of(touched.number()?)?.name),
        ("ring", Place::Ring(_, ring) | Place::PartRing(_, ring)) => one(ring),
        ("mark", _) => one(touched.mark()?),
        ("in-bank", Place::Bank(bank)) => {
            let bank = layout.banks().iter().find(|other| other.name == *bank)?;
            numbers(bank.cylinders.clone())
        }
        ("on-pin", _) => numbers(layout.rods_of_pin(touched.number()?).collect()),
        _ => None,
    }
}

impl Ends {
    /// This, on the features that the touched one points to; none where it points nowhere,
    /// such as a part that is fitted nowhere.
    pub(super) fn resolve<'d>(
        &'d self,
        layout: &Layout,
        touched: &Feature,
        fitted: Option<u8>,
    ) -> Option<Ended<'d>> {
        let fill = |name: &str| filling(layout, touched, fitted, name);
        let mut variables = self.feature.split('/').filter_map(variable);
        if variables.any(|name| fill(name).is_none()) {
            return None;
        }
        let features = FeaturePattern::filled(&self.feature, fill);
        Some(Ended { features, what: &self.what, reason: &self.reason })
    }
}

/// The built-in rows, one for each operation and kind of feature.
#[must_use]
pub fn built_in() -> Vec<Operation> {
    let mut list = Vec::new();
    for row in &OPERATIONS {
        for name in row.names {
            for &on in row.on {
                let ends = row.ends.iter().flat_map(|ends| ends.iter()).map(owned).collect();
                list.push(Operation { name: (*name).to_owned(), on, ends });
            }
        }
    }
    list
}

fn owned(row: &EndsRow) -> Ends {
    let names = |list: &[&str]| list.iter().map(|&name| name.to_owned()).collect();
    let what = match row.what {
        WhatRow::Characteristics(list) => What::Characteristics(names(list)),
        WhatRow::EveryCharacteristic => What::EveryCharacteristic,
        WhatRow::Tightening => What::Tightening,
        WhatRow::Checks(list) => What::Checks(names(list)),
    };
    Ends { feature: row.feature.to_owned(), what, reason: row.reason.to_owned() }
}
