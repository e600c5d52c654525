//! Where one is in the app, as an address: a reload and the back key find it again.

use gudgeon_core::entry::DocumentId;
use gudgeon_core::sheet;

use super::{
    Desk, Screen, changed, feature, join, people, print, reading, record, records, rings, step, tightening,
    who, worksheet, worksheets,
};

/// A place in the app.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// The beginning: leads on to joining, or to the records.
    Start,
    /// Joining by an invite.
    Join,
    /// Saying who holds the phone, then on to another place.
    Who(Box<Place>),
    /// The records.
    Records,
    /// One record.
    Record(DocumentId),
    /// One feature of a record.
    Feature(DocumentId, String),
    /// A reading on a feature.
    Reading(DocumentId, String, String),
    /// A step.
    Step(DocumentId, String),
    /// The worksheets.
    Worksheets,
    /// One worksheet.
    Worksheet(String),
    /// What changed in a record.
    Changed(DocumentId),
    /// People and this phone.
    People,
    /// The printed record.
    Print(DocumentId),
    /// A group of fasteners at a place.
    Tighten(DocumentId, String, String),
    /// The ring gaps of a cylinder's piston.
    Rings(DocumentId, u8),
}

impl Place {
    /// As it stands after the `#`.
    #[must_use]
    pub fn address(&self) -> String {
        match self {
            Self::Start => "/".to_owned(),
            Self::Join => "/join".to_owned(),
            Self::Who(then) => format!("/who{}", then.address()),
            Self::Records => "/records".to_owned(),
            Self::Record(record) => format!("/record/{}", record.to_hex()),
            Self::Feature(record, path) => format!("/record/{}/feature/{path}", record.to_hex()),
            Self::Reading(record, feature, name) => {
                format!("/record/{}/read/{feature}/{name}", record.to_hex())
            }
            Self::Step(record, step) => format!("/record/{}/step/{step}", record.to_hex()),
            Self::Worksheets => "/worksheets".to_owned(),
            Self::Worksheet(name) => format!("/worksheet/{name}"),
            Self::Changed(record) => format!("/record/{}/changed", record.to_hex()),
            Self::People => "/people".to_owned(),
            Self::Print(record) => format!("/record/{}/print", record.to_hex()),
            Self::Tighten(record, group, place) => {
                format!("/record/{}/tighten/{group}/{place}", record.to_hex())
            }
            Self::Rings(record, cylinder) => format!("/record/{}/rings/{cylinder}", record.to_hex()),
        }
    }

    /// The place at an address; the beginning where there is none such.
    #[must_use]
    pub fn at(address: &str) -> Self {
        Self::read(address).unwrap_or(Self::Start)
    }

    fn read(address: &str) -> Option<Self> {
        let rest = address.trim_start_matches('#').strip_prefix('/')?;
        let (first, rest) = rest.split_once('/').unwrap_or((rest, ""));
        match first {
            "join" => Some(Self::Join),
            "who" => Some(Self::Who(Box::new(Self::read(&format!("/{rest}"))?))),
            "records" => Some(Self::Records),
            "record" => Self::within(rest),
            "people" => Some(Self::People),
            "worksheets" => Some(Self::Worksheets),
            "worksheet" => Some(Self::Worksheet(rest.to_owned())),
            "" => Some(Self::Start),
            _ => None,
        }
    }

    fn within(rest: &str) -> Option<Self> {
        let (hex, rest) = rest.split_once('/').unwrap_or((rest, ""));
        let record = DocumentId::from_hex(hex).ok()?;
        let (what, rest) = rest.split_once('/').unwrap_or((rest, ""));
        match what {
            "" => Some(Self::Record(record)),
            "feature" => Some(Self::Feature(record, rest.to_owned())),
            "read" => {
                let (feature, name) = rest.rsplit_once('/')?;
                Some(Self::Reading(record, feature.to_owned(), name.to_owned()))
            }
            "step" => Some(Self::Step(record, rest.to_owned())),
            "changed" => Some(Self::Changed(record)),
            "print" => Some(Self::Print(record)),
            "tighten" => {
                let (group, place) = rest.split_once('/')?;
                Some(Self::Tighten(record, group.to_owned(), place.to_owned()))
            }
            "rings" => Some(Self::Rings(record, rest.parse().ok()?)),
            _ => None,
        }
    }

    /// The record that it is in.
    #[must_use]
    pub const fn record(&self) -> Option<DocumentId> {
        match self {
            Self::Record(record)
            | Self::Feature(record, _)
            | Self::Reading(record, ..)
            | Self::Step(record, _)
            | Self::Changed(record)
            | Self::Print(record)
            | Self::Tighten(record, ..)
            | Self::Rings(record, _) => Some(*record),
            Self::Start
            | Self::Join
            | Self::Who(_)
            | Self::Records
            | Self::Worksheets
            | Self::Worksheet(_)
            | Self::People => None,
        }
    }

    /// Whether hands are at work here, and the screen must not go dark under them.
    pub(super) const fn keeps_awake(&self) -> bool {
        matches!(self, Self::Reading(..) | Self::Step(..) | Self::Tighten(..) | Self::Rings(..))
    }

    /// Where "up" leads.
    #[must_use]
    pub fn up(&self) -> Option<Self> {
        match self {
            Self::Start | Self::Records => None,
            Self::Join => Some(Self::People),
            Self::Who(_) | Self::Record(_) | Self::Worksheets | Self::People => Some(Self::Records),
            Self::Worksheet(_) => Some(Self::Worksheets),
            Self::Reading(record, feature, _) => Some(Self::Feature(*record, feature.clone())),
            Self::Feature(record, _)
            | Self::Step(record, _)
            | Self::Changed(record)
            | Self::Print(record)
            | Self::Tighten(record, ..)
            | Self::Rings(record, _) => Some(Self::Record(*record)),
        }
    }

    pub(super) fn title(&self, desk: &Desk) -> String {
        match self {
            Self::Start => "Gudgeon".to_owned(),
            Self::Join => "Join a workshop".to_owned(),
            Self::Who(_) => "Who holds the phone".to_owned(),
            Self::Records => desk.workshop_name().unwrap_or_else(|| "Records".to_owned()),
            Self::Record(record) => desk.record_name(*record),
            Self::Feature(_, path) => sheet::place(path),
            Self::Reading(_, feature, name) => reading::title(feature, name),
            Self::Step(_, step) => step.clone(),
            Self::Worksheets => "Worksheets".to_owned(),
            Self::Worksheet(name) => name.replace('-', " "),
            Self::Changed(_) => "What changed".to_owned(),
            Self::People => "People and this phone".to_owned(),
            Self::Print(_) => "Printed record".to_owned(),
            Self::Tighten(_, group, place) => format!("{group}, {place}"),
            Self::Rings(_, cylinder) => format!("Ring gaps, cylinder {cylinder}"),
        }
    }

    /// What else there is from here.
    pub(super) fn ways(&self) -> Vec<(&'static str, Self)> {
        if let Self::Record(record) = self {
            return vec![("What changed", Self::Changed(*record)), ("Printed record", Self::Print(*record))];
        }
        if matches!(self, Self::Start | Self::Records) {
            return vec![("Worksheets", Self::Worksheets), ("People and this phone", Self::People)];
        }
        Vec::new()
    }

    /// Whether there is something here without a workshop, and without a home that can be read.
    pub(super) const fn needs_nothing(&self) -> bool {
        matches!(self, Self::Worksheets | Self::Worksheet(_))
    }

    /// Opens the screen of this place; where it cannot be yet, the one that leads there.
    pub(super) fn open(&self, desk: &mut Desk) -> Screen {
        if !desk.is_open() && !self.needs_nothing() {
            return Screen::Opening;
        }
        if !desk.has_joined() && !self.needs_nothing() {
            return Screen::Join(join::Model::open(desk));
        }
        match self {
            Self::Start | Self::Records => Screen::Records(records::Model::open(desk)),
            Self::Join => Screen::Join(join::Model::open(desk)),
            Self::Who(then) => Screen::Who(who::Model::open(desk, (**then).clone())),
            Self::Record(record) => Screen::Record(record::Model::open(*record, desk)),
            Self::Feature(record, path) => Screen::Feature(feature::Model::open(*record, path, desk)),
            Self::Reading(record, feature, name) => {
                Screen::Reading(reading::Model::open(*record, feature, name, desk))
            }
            Self::Step(record, step) => Screen::Step(step::Model::open(*record, step, desk)),
            Self::Tighten(record, group, place) => {
                Screen::Tightening(tightening::Model::open(*record, group, place, desk))
            }
            Self::Rings(record, cylinder) => Screen::Rings(rings::Model::open(*record, *cylinder, desk)),
            Self::Worksheets => Screen::Worksheets(worksheets::Model::default()),
            Self::Worksheet(name) => Screen::Worksheet(worksheet::Model::open(name)),
            Self::Changed(record) => Screen::Changed(changed::Model::open(*record, desk)),
            Self::People => Screen::People(people::Model::default()),
            Self::Print(record) => Screen::Print(print::Model::open(*record, desk)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_is_found_again_by_its_address() {
        let record = DocumentId::new([7; 32]);
        let step = Place::Step(record, "big-end-clearance/2".to_owned());
        let places = [
            Place::Start,
            Place::Join,
            Place::Records,
            Place::Record(record),
            Place::Feature(record, "ring/3/top".to_owned()),
            Place::Reading(record, "rod/3/big-end".to_owned(), "diameter".to_owned()),
            step.clone(),
            Place::Worksheets,
            Place::People,
            Place::Changed(record),
            Place::Print(record),
            Place::Worksheet("oil-clearance".to_owned()),
            Place::Tighten(record, "rod-bolts".to_owned(), "rod/3/bolts".to_owned()),
            Place::Rings(record, 3),
            Place::Who(Box::new(step)),
        ];
        for place in places {
            assert_eq!(Place::at(&format!("#{}", place.address())), place);
        }
        for nowhere in [
            "",
            "#",
            "#/nowhere",
            "#/record/12",
            "#/record/xyz/step/a",
            "#/record/12/rings/x",
            "#/who/nowhere",
        ] {
            assert_eq!(Place::at(nowhere), Place::Start, "{nowhere}");
        }
    }
}
