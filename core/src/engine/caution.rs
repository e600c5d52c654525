//! Short cautions, shown at the moment they matter.

/// Said wherever cautions are shown: they do not claim to be complete.
pub const FOREWORD: &str = "General reminders, not a risk assessment: the maker's instructions \
    and local law come first.";

/// One caution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caution {
    /// Name used by the steps.
    pub id: &'static str,
    /// What to mind.
    pub text: &'static str,
    /// At what it is said besides the step itself.
    pub when: When,
}

/// At what of a step a caution is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// At everything that is done for the step: something moves or is pulled.
    EachTime,
    /// At the first thing that is done for the step.
    Once,
    /// At the first, unless it is a reading.
    OnceAtWork,
}

const fn row(id: &'static str, text: &'static str) -> Caution {
    Caution { id, text, when: When::OnceAtWork }
}

impl Caution {
    const fn said(self, when: When) -> Self {
        Self { when, ..self }
    }
}

/// The cautions (common practice, no source, unless the text names one).
pub static CAUTIONS: [Caution; 20] = [
    row("lifting", "Know the weight; crane or two people; nothing of you under a hanging or unpinned load.").said(When::Once),
    row("stand", "Stand rated for the load, bolts fully in; the block swings when weight moves.").said(When::Once),
    row("springs", "Eye protection; point circlips and springs away from faces.").said(When::Once),
    row("edges", "Ring ends, fresh chamfers and fresh-cut decks cut: gloves, break the edges.").said(When::Once),
    row(
        "caustic",
        "Read the data sheet; face shield and gauntlets; chemical into water, never the reverse. \
         Never on aluminium or on soft bearing metal.",
    ),
    row("solvent", "Ventilate; no chlorinated solvent near a flame or welding."),
    row("hammer", "Soft face on hard parts, never hard on hard; goggles."),
    row(
        "resists",
        "Never drive a piston that resists: take it out, look at the rings and the compressor. Guard the rod bolts, \
         and keep them off the journal.",
    ).said(When::EachTime),
    row(
        "yield",
        "Fasteners taken past yield are not used again unless the maker says so; keep to the maker's lengths.",
    ).said(When::EachTime),
    row("hone", "Goggles; stones and spindle turn: nothing loose near them, hands out until they stand."),
    row(
        "spray",
        "Penetrants and sprays burn and harm the lungs: ventilate, no flame; never look into the lamp.",
    ),
    row("hands-out", "Call clear and see every hand out of the crankcase before it turns.").said(When::EachTime),
    row("rotating", "One person at the bar; hair, rags and gloves away from what turns.").said(When::EachTime),
    row("press", "Guard the press and stand aside; a hot pin looks like a cold one."),
    row("air", "Goggles; no compressed air on skin, and never spin a bearing with it."),
    row("torque", "Pull, do not push; socket fully on; be braced in case something breaks.").said(When::EachTime),
    row("oil", "Used oil harms skin: gloves, soap instead of solvent, no oily rags in pockets."),
    row("dust", "Old gasket and brake dust may hold asbestos: damp it, mask, no air line."),
    row("fire", "Oily rags into a lidded bin; fuel away; extinguisher to hand."),
    row(
        "first-start",
        "Eyes and ears protected, exhaust outdoors, eyes on oil pressure, a hand on the stop.",
    ),
];

/// The caution of that name.
#[must_use]
pub fn find(id: &str) -> Option<&'static Caution> {
    CAUTIONS.iter().find(|caution| caution.id == id)
}
