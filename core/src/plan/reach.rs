//! Whether a gauge reaches a size: one rule, for a plan and for what is to hand.

use crate::assess::{GaugeFacts, show};
use crate::quantity::{Amount, Kind};

/// Smallest and largest of the sizes that are asked for; none: not known at that end.
pub(crate) type Sizes = (Option<Amount>, Option<Amount>);

/// Whether the range that is entered of a gauge holds sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Holds {
    /// Both ends are entered, and no size lies beyond them.
    Yes,
    /// A size lies beyond an end that is entered.
    No,
    /// An end that would tell is not entered.
    NotEntered,
}

/// One rule for all: no where an end that is entered speaks against it, yes where both ends speak for it.
/// Where one size alone is known, it stands for both.
pub(crate) fn holds(gauge: &GaugeFacts, (low, high): Sizes) -> Holds {
    let (low, high) = (low.or(high), high.or(low));
    let (from, to) = gauge.range;
    let alike = |size: Amount, end: Amount| size.kind() == end.kind();
    let below = low.zip(from).is_some_and(|(size, end)| alike(size, end) && size.base() < end.base());
    let above = high.zip(to).is_some_and(|(size, end)| alike(size, end) && size.base() > end.base());
    if below || above {
        return Holds::No;
    }
    let tells = |end: Option<Amount>, size: Option<Amount>| {
        end.is_some_and(|end| size.is_none_or(|size| alike(size, end)))
    };
    if tells(from, low) && tells(to, high) { Holds::Yes } else { Holds::NotEntered }
}

/// The range that is entered, in words.
pub(crate) fn range(gauge: &GaugeFacts) -> String {
    let (from, to) = gauge.range;
    let kind = from.or(to).map_or(Kind::Length, Amount::kind);
    show::limits(kind, from.map(Amount::base), to.map(Amount::base))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use std::sync::Arc;

    use super::*;

    fn gauge(low: &str, high: &str) -> GaugeFacts {
        GaugeFacts {
            mark: Arc::from("M1"),
            sort: "outside-micrometer".to_owned(),
            kind: Some(Kind::Length),
            own: None,
            systematic: None,
            master: String::new(),
            shows: true,
            resolution: None,
            range: (size(low), size(high)),
            expansion: None,
            error_percent: None,
            calibrated_on: None,
            calibrated: Vec::new(),
            seen: false,
            by_lead: true,
            disputed: false,
        }
    }

    fn size(text: &str) -> Option<Amount> {
        (!text.is_empty()).then(|| crate::quantity::Quantity::parse(text).unwrap().amount())
    }

    #[test]
    fn an_end_that_is_not_entered_never_says_yes_and_one_that_is_may_say_no() {
        let check = |range: (&str, &str), sizes: (&str, &str), wanted| {
            let found = holds(&gauge(range.0, range.1), (size(sizes.0), size(sizes.1)));
            assert_eq!(found, wanted, "{range:?} {sizes:?}");
        };
        check(("25 mm", "50 mm"), ("25 mm", "50 mm"), Holds::Yes);
        check(("25 mm", "50 mm"), ("24.999 mm", "30 mm"), Holds::No);
        check(("25 mm", "50 mm"), ("30 mm", "50.001 mm"), Holds::No);
        check(("25 mm", "50 mm"), ("", "30 mm"), Holds::Yes);
        check(("25 mm", "50 mm"), ("", "20 mm"), Holds::No);
        check(("25 mm", "50 mm"), ("", ""), Holds::Yes);
        check(("", "50 mm"), ("30 mm", "40 mm"), Holds::NotEntered);
        check(("", "50 mm"), ("30 mm", "60 mm"), Holds::No);
        check(("25 mm", ""), ("30 mm", "40 mm"), Holds::NotEntered);
        check(("25 mm", ""), ("20 mm", "40 mm"), Holds::No);
        check(("", ""), ("30 mm", "40 mm"), Holds::NotEntered);
        check(("", ""), ("", ""), Holds::NotEntered);
        // A range in another kind says nothing.
        check(("25 g", "50 g"), ("30 mm", "40 mm"), Holds::NotEntered);
    }
}
