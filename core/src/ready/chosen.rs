//! The sizes that are chosen for a build: by a lead's decision, else by the definition.

use super::Build;
use crate::assess::show;
use crate::entry::Payload;
use crate::plan::called;
use crate::quantity::{Amount, Kind, Quantity};

/// Subjects of decisions that may name a bore.
const SUBJECTS: [&str; 2] = ["oversize", "sizes"];

/// The bore that the build is to have.
pub(super) struct Bore {
    size: Amount,
    /// What the definition says, where a decision says otherwise.
    otherwise: Option<Amount>,
}

impl Bore {
    pub(super) fn words(&self) -> String {
        match self.otherwise {
            None => shown(self.size),
            Some(own) => format!("{}, as decided; the definition says {}", shown(self.size), shown(own)),
        }
    }
}

/// The bore that is decided on, in the words that the plan of oversizes proposes; else as the definition
/// names it with its oversize.
pub(super) fn bore(build: Build) -> Option<Bore> {
    let own = own_bore(build);
    match decided(build) {
        Some(size) => Some(Bore { size, otherwise: own.filter(|own| *own != size) }),
        None => own.map(|size| Bore { size, otherwise: None }),
    }
}

fn own_bore(build: Build) -> Option<Amount> {
    let bore = size(build, "bore")?;
    size(build, "oversize").map_or(Some(bore), |oversize| bore.checked_add(oversize))
}

fn size(build: Build, name: &str) -> Option<Amount> {
    build.definition.dimension(name).map(Quantity::amount)
}

/// The newest decision that stands and names a bore.
fn decided(build: Build) -> Option<Amount> {
    let stands = |ix| build.assessment.status(ix).stands();
    let standing = (0..).zip(build.record.log().folded()).filter(|(ix, _)| stands(*ix));
    let named = standing.filter_map(|(_, statement)| match &statement.payload {
        Ok(Payload::Decision(decision)) if SUBJECTS.contains(&decision.subject.as_str()) => {
            bore_named(&decision.text)
        }
        _ => None,
    });
    named.last()
}

/// `+0.500 mm, bore 80.500 mm` names 80.500 mm.
fn bore_named(text: &str) -> Option<Amount> {
    let (_, after) = text.split_once("bore ")?;
    let size = after.split([';', '(']).next()?.trim().trim_end_matches('.');
    Quantity::parse(size).ok().filter(|size| size.kind() == Kind::Length).map(|size| size.amount())
}

/// Of which size parts of a sort are to be, where the definition or a decision says so.
pub(super) fn of_part(build: Build, sort: &str) -> String {
    let oversize = || {
        let bore = bore(build)?.size;
        Some((bore.checked_sub(size(build, "bore")?)?, "over"))
    };
    let undersize = || Some((size(build, "undersize")?, "under"));
    let chosen = match sort {
        "piston" | "ring-set" => oversize(),
        "main-shells" | "rod-shells" => undersize(),
        _ => None,
    };
    let chosen = chosen.filter(|(size, _)| size.base() > 0);
    chosen.map_or_else(String::new, |(size, way)| format!(", {} ({}) {way}", shown(size), called(size)))
}

fn shown(size: Amount) -> String {
    show::amount(Kind::Length, size.base())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use super::*;

    #[test]
    fn a_decision_names_a_bore_in_the_words_of_the_plan() {
        let named = |text: &str| bore_named(text).map(shown);
        assert_eq!(named("+0.500 mm, bore 80.500 mm").as_deref(), Some("80.500 mm"));
        assert_eq!(named("+0.750 mm (+0.030 in), bore 80.750 mm (3.1791 in)").as_deref(), Some("80.750 mm"));
        assert_eq!(named("bore 3.170 in; pistons ordered").as_deref(), Some("80.518 mm"));
        assert_eq!(named("half a millimetre"), None);
        assert_eq!(named("bore all four"), None);
    }
}
