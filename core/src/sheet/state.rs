//! How far something is known, as it is drawn: outline and hatching, colour, word.

use std::collections::BTreeSet;

use crate::assess::{FeatureView, Judged, Rule, Slot, Standing, may_see};
use crate::log::Ix;
use crate::measure::{Reason, Verdict};

macro_rules! states {
    ($($(#[$doc:meta])* $state:ident = $class:literal, $word:literal;)*) => {
        /// How far something is known. Later ones speak louder when several meet.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum State { $($(#[$doc])* $state,)* }

        impl State {
            /// Every state, the quietest first.
            pub const ALL: &[Self] = &[$(Self::$state,)*];

            /// The word beside the drawing.
            #[must_use]
            pub const fn word(self) -> &'static str {
                match self { $(Self::$state => $word,)* }
            }

            /// Name of its style.
            #[must_use]
            pub const fn class(self) -> &'static str {
                match self { $(Self::$state => $class,)* }
            }
        }
    };
}

states! {
    /// Nothing is known: dashed outline.
    NotRead = "not-read", "not read";
    /// Read, and nothing limits it: thin outline.
    Read = "read", "read, no limit";
    /// Within, by the rule in force: thick outline.
    Proven = "proven", "proven";
    /// Not everything is read yet: double outline.
    InHand = "in-hand", "in hand";
    /// Too near a limit for the gauge, or it cannot be judged: hatched.
    NotProven = "not-proven", "not proven";
    /// A signature on it no longer stands: long dashes.
    Stale = "stale", "stale signature";
    /// Readings differ, or it is not known which came first: split by a diagonal.
    Disputed = "disputed", "disputed";
    /// Outside its limits: cross hatched.
    Outside = "outside", "outside";
}

impl State {
    /// The state of one value.
    #[must_use]
    pub fn of_value(judged: &Judged) -> Self {
        match judged.verdict() {
            Verdict::Outside => Self::Outside,
            Verdict::NotProven => Self::NotProven,
            Verdict::Within if judged.is_complete() => Self::Proven,
            Verdict::Within => Self::InHand,
            Verdict::NotJudged(Reason::NoLimit) if judged.is_complete() => Self::Read,
            Verdict::NotJudged(Reason::NoLimit | Reason::NotRead) => Self::InHand,
            Verdict::NotJudged(Reason::Disputed | Reason::Undecided) => Self::Disputed,
            Verdict::NotJudged(
                Reason::NoUncertainty
                | Reason::NoTemperature
                | Reason::UnknownEntry
                | Reason::LimitsCrossed
                | Reason::TemperatureTooFar,
            ) => Self::NotProven,
        }
    }

    /// How a finding is drawn.
    #[must_use]
    #[allow(clippy::wildcard_enum_match_arm)] // every other rule leaves something unproven
    pub const fn of_finding(rule: Rule) -> Self {
        match rule {
            Rule::Outside | Rule::CheckFailed | Rule::Stopped => Self::Outside,
            Rule::Disputed | Rule::BeforeOrAfter | Rule::DisputedChoice | Rule::PartConflict => {
                Self::Disputed
            }
            Rule::StaleSignOff | Rule::ConcessionLapsed | Rule::OrderBroken | Rule::WrongSigner => {
                Self::Stale
            }
            Rule::ReadAgain => Self::Proven,
            _ => Self::NotProven,
        }
    }

    /// The state of one value as it looks to somebody from whom these readings are hidden.
    #[must_use]
    pub fn of_value_without(judged: &Judged, hidden: &BTreeSet<Ix>) -> Self {
        if may_see(hidden, &judged.readings) { Self::of_value(judged) } else { Self::InHand }
    }

    /// The loudest state on a feature.
    #[must_use]
    pub fn of_feature(view: &FeatureView) -> Self {
        Self::of_feature_without(view, &BTreeSet::new())
    }

    /// The loudest state on a feature as it looks to somebody from whom these readings are hidden.
    #[must_use]
    pub fn of_feature_without(view: &FeatureView, hidden: &BTreeSet<Ix>) -> Self {
        let slot = |standing: &Standing| match standing {
            Standing::Disputed(_) | Standing::Undecided(..) => Self::Disputed,
            Standing::Value(_) | Standing::Empty => Self::NotRead,
        };
        let nothing = |slot: &Slot| matches!(slot.standing, Standing::Empty);
        if view.slots.iter().all(nothing) && view.values.iter().all(|judged| judged.low.is_none()) {
            return Self::NotRead;
        }
        let slots = view.slots.iter().map(|s| slot(&s.standing));
        slots
            .chain(view.values.iter().map(|judged| Self::of_value_without(judged, hidden)))
            .max()
            .unwrap_or(Self::NotRead)
    }
}
