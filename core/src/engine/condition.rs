//! Conditions: the state in which a reading means something.

/// Row of the table of conditions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Condition {
    /// Word carried by a reading.
    pub name: &'static str,
    /// What it says.
    pub about: &'static str,
}

const fn row(name: &'static str, about: &'static str) -> Condition {
    Condition { name, about }
}

/// Every condition (common practice, no source).
pub static CONDITIONS: [Condition; 15] = [
    row("caps-tightened", "cap on, its bolts oiled as given and at the final stage"),
    row("shells-out", "bare housing, shells out"),
    row("shells-in", "shells in place"),
    row("torque-plate-on", "bored or measured under a tightened torque plate"),
    row("torque-plate-off", "no torque plate"),
    row("liner-clamped", "liners clamped as the head will"),
    row("liner-free", "liners not clamped"),
    row("bolt-free", "bolt slack, before tightening"),
    row("bolt-tight", "bolt at its final stage"),
    row("ring-squared", "ring pushed square with a bare crown, at the tightest of its travel"),
    row("ring-in-groove", "clean ring in its clean groove, all round"),
    row("seals-out", "crank seals not fitted"),
    row("seals-in", "crank seals fitted"),
    row("at-top-dead-centre", "piston at the top, rocked to the mean"),
    row("rods-on-pin", "every rod of the pin in place and tightened"),
];

/// The condition of that name.
#[must_use]
pub fn find(name: &str) -> Option<&'static Condition> {
    CONDITIONS.iter().find(|condition| condition.name == name)
}

/// When a condition is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// Always.
    Always,
    /// On an engine with wet liners.
    WetLiners,
    /// Where the definition wants a torque plate.
    TorquePlate,
}

/// A condition that a reading must state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needed {
    /// Any one of these.
    pub one_of: &'static [&'static str],
    /// When.
    pub when: When,
}

impl Needed {
    /// This condition, always.
    pub(super) const fn always(one_of: &'static [&'static str]) -> Self {
        Self { one_of, when: When::Always }
    }
}
