//! How the engine is laid out: cylinders, banks, mains, crankpins, firing order, liners.

use std::sync::Arc;

use super::feature::Feature;
use super::problem::Problems;
use super::section::{Section, quantity_of};
use crate::quantity::{Kind, Quantity};

/// Most cylinders, and so most of anything that is counted by cylinder.
pub const MOST_CYLINDERS: u8 = 16;

/// Sorts of parts that only the main with the crank's end thrust carries (common practice, no source).
const AT_THE_THRUST: [&str; 1] = ["thrust-washers"];

/// How the cylinders stand.
#[derive(Clone, Debug)]
pub enum Form {
    /// One row.
    Inline,
    /// Two rows at an angle.
    Vee {
        /// Angle between the banks.
        bank_angle: Quantity,
    },
    /// Two rows opposed.
    Flat,
}

/// How crankpins are shared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pins {
    /// One pin a rod; a pin has the number of its cylinder.
    Own,
    /// One pin for the rods that stand in the same place of each bank, counted from the front.
    Shared,
}

/// What the pistons run in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Liners {
    /// Bored straight into the block.
    None,
    /// Pressed or slipped in, backed by the block all along.
    Dry,
    /// Backed by coolant, held only when clamped.
    Wet,
}

/// One row of cylinders, numbered from the front.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bank {
    /// Name, such as `left`; the one bank of an inline engine is `inline`.
    pub name: Arc<str>,
    /// Its cylinders from the front.
    pub cylinders: Vec<u8>,
}

/// The layout of an engine, checked.
#[derive(Clone, Debug)]
pub struct Layout {
    form: Form,
    cylinders: u8,
    mains: u8,
    thrust_main: u8,
    cam_bearings: u8,
    pins: Pins,
    pin_of: Vec<u8>,
    banks: Vec<Bank>,
    firing_order: Vec<u8>,
    liners: Liners,
    torque_plate: bool,
}

impl Layout {
    /// How the cylinders stand.
    #[must_use]
    pub const fn form(&self) -> &Form {
        &self.form
    }

    /// How many cylinders.
    #[must_use]
    pub const fn cylinders(&self) -> u8 {
        self.cylinders
    }

    /// How many main bearings.
    #[must_use]
    pub const fn mains(&self) -> u8 {
        self.mains
    }

    /// Whether a place of the kind where a sort of part sits carries one: thrust washers sit at one main.
    #[must_use]
    pub fn carries(&self, sort: &str, place: &Feature) -> bool {
        !AT_THE_THRUST.contains(&sort) || place.number() == Some(self.thrust_main)
    }

    /// The main bearing that takes the crank's end thrust.
    #[must_use]
    pub const fn thrust_main(&self) -> u8 {
        self.thrust_main
    }

    /// How many cam bearings in the block; none where the cam is elsewhere.
    #[must_use]
    pub const fn cam_bearings(&self) -> u8 {
        self.cam_bearings
    }

    /// Own or shared crankpins.
    #[must_use]
    pub const fn pins(&self) -> Pins {
        self.pins
    }

    /// How many crankpins.
    #[must_use]
    pub fn pin_count(&self) -> u8 {
        self.pin_of.iter().copied().max().unwrap_or(0)
    }

    /// The crankpin that the rod of a cylinder runs on.
    #[must_use]
    pub fn pin_of_rod(&self, rod: u8) -> Option<u8> {
        let index = usize::from(rod).checked_sub(1)?;
        self.pin_of.get(index).copied()
    }

    /// The rods that run on a crankpin.
    pub fn rods_of_pin(&self, pin: u8) -> impl Iterator<Item = u8> + '_ {
        (1..=self.cylinders).filter(move |&rod| self.pin_of_rod(rod) == Some(pin))
    }

    /// The bore that a rod's piston runs in: rods are numbered as their cylinders.
    #[must_use]
    pub fn bore_of_rod(&self, rod: u8) -> Option<u8> {
        (1..=self.cylinders).contains(&rod).then_some(rod)
    }

    /// The banks.
    #[must_use]
    pub fn banks(&self) -> &[Bank] {
        &self.banks
    }

    /// The bank that a cylinder stands in.
    #[must_use]
    pub fn bank_of(&self, cylinder: u8) -> Option<&Bank> {
        self.banks.iter().find(|bank| bank.cylinders.contains(&cylinder))
    }

    /// Cylinders in the order in which they fire.
    #[must_use]
    pub fn firing_order(&self) -> &[u8] {
        &self.firing_order
    }

    /// What the pistons run in.
    #[must_use]
    pub const fn liners(&self) -> Liners {
        self.liners
    }

    /// Whether bores are to be measured with a torque plate on.
    #[must_use]
    pub const fn torque_plate(&self) -> bool {
        self.torque_plate
    }

    /// Reads the table `[layout]`.
    pub(super) fn read(mut section: Section<'_>, out: &mut Problems) -> Option<Self> {
        let form = read_form(&mut section, out);
        let cylinders = section.needed_whole(out, "cylinders", 1..=MOST_CYLINDERS);
        let mains = section.needed_whole(out, "mains", 2..=MOST_CYLINDERS + 1);
        let thrust = section.needed_whole(out, "thrust-main", 1..=MOST_CYLINDERS + 1);
        let cam_bearings = section.whole(out, "cam-bearings", 0..=MOST_CYLINDERS + 1);
        let pins = read_pins(&mut section, out);
        let liners = read_liners(&mut section, out);
        let torque_plate = section.truth(out, "torque-plate");
        let order = section.wholes(out, "firing-order", &(1..=MOST_CYLINDERS));
        let banks = section.tables(out, "bank", "layout, bank");
        if section.get("firing-order").is_none() {
            section.problem(out, "`firing-order` is missing", "");
        }
        check_thrust(&section, out, thrust, mains);
        let firing_order = check_order(&section, out, order, cylinders);
        let banks = read_banks(&section, banks, out, form.as_ref(), cylinders);
        let pin_of = pin_map(&section, out, pins, banks.as_deref(), cylinders);
        section.finish(out);
        Some(Self {
            form: form?,
            cylinders: cylinders?,
            mains: mains?,
            thrust_main: thrust?,
            cam_bearings: cam_bearings.unwrap_or(0),
            pins: pins?,
            pin_of: pin_of?,
            banks: banks?,
            firing_order: firing_order?,
            liners: liners?,
            torque_plate,
        })
    }
}

fn read_form(section: &mut Section<'_>, out: &mut Problems) -> Option<Form> {
    let angle = section.text(out, "bank-angle");
    let form = section.needed(out, "form")?;
    let place = section.place.clone();
    match (form.text, angle) {
        ("inline", None) => Some(Form::Inline),
        ("flat", None) => Some(Form::Flat),
        ("inline" | "flat", Some(angle)) => {
            out.add(angle.at, place, "`bank-angle` is for a vee", "leave it out");
            None
        }
        ("vee", Some(angle)) => {
            let bank_angle = quantity_of(out, &place, angle, &[Kind::Angle])?;
            Some(Form::Vee { bank_angle })
        }
        ("vee", None) => {
            out.add(form.at, place, "a vee needs its `bank-angle`", "such as \"90 deg\"");
            None
        }
        (other, _) => {
            let reason = format!("`form` is `{other}`");
            out.add(form.at, place, reason, "inline, vee or flat");
            None
        }
    }
}

fn read_pins(section: &mut Section<'_>, out: &mut Problems) -> Option<Pins> {
    let Some(text) = section.text(out, "pins") else { return Some(Pins::Own) };
    match text.text {
        "own" => Some(Pins::Own),
        "shared" => Some(Pins::Shared),
        other => {
            let reason = format!("`pins` is `{other}`");
            out.add(text.at, section.place.clone(), reason, "own or shared");
            None
        }
    }
}

fn read_liners(section: &mut Section<'_>, out: &mut Problems) -> Option<Liners> {
    let Some(text) = section.text(out, "liners") else { return Some(Liners::None) };
    match text.text {
        "none" => Some(Liners::None),
        "dry" => Some(Liners::Dry),
        "wet" => Some(Liners::Wet),
        other => {
            let reason = format!("`liners` is `{other}`");
            out.add(text.at, section.place.clone(), reason, "none, dry or wet");
            None
        }
    }
}

fn check_thrust(section: &Section<'_>, out: &mut Problems, thrust: Option<u8>, mains: Option<u8>) {
    if let (Some(thrust), Some(mains)) = (thrust, mains)
        && thrust > mains
    {
        let reason = format!("thrust at main {thrust}, but there are {mains} mains");
        section.problem(out, reason, "");
    }
}

fn check_order(
    section: &Section<'_>,
    out: &mut Problems,
    order: Option<(usize, Vec<u8>)>,
    cylinders: Option<u8>,
) -> Option<Vec<u8>> {
    let ((at, order), cylinders) = (order?, cylinders?);
    if is_permutation(&order, cylinders) {
        return Some(order);
    }
    let reason = format!("the firing order {} is wrong", dashed(&order));
    let hint = format!("each cylinder 1 to {cylinders} fires once");
    out.add(at, section.place.clone(), reason, hint);
    None
}

fn is_permutation(list: &[u8], count: u8) -> bool {
    let mut sorted = list.to_vec();
    sorted.sort_unstable();
    sorted.into_iter().eq(1..=count)
}

fn dashed(list: &[u8]) -> String {
    list.iter().map(u8::to_string).collect::<Vec<_>>().join("-")
}

fn read_banks(
    section: &Section<'_>,
    tables: Vec<Section<'_>>,
    out: &mut Problems,
    form: Option<&Form>,
    cylinders: Option<u8>,
) -> Option<Vec<Bank>> {
    let given = !tables.is_empty();
    let read = tables.into_iter().map(|table| read_bank(table, out));
    let banks: Option<Vec<Bank>> = read.collect::<Vec<_>>().into_iter().collect();
    let (banks, form, cylinders) = (banks?, form?, cylinders?);
    let banks = if given || !matches!(form, Form::Inline) {
        banks
    } else {
        vec![Bank { name: "inline".into(), cylinders: (1..=cylinders).collect() }]
    };
    let wanted = if matches!(form, Form::Inline) { 1 } else { 2 };
    if banks.len() != wanted {
        let reason = format!("{} banks are given; this form has {wanted}", banks.len());
        section.problem(out, reason, "one [[layout.bank]] each, with name and cylinders");
        return None;
    }
    let all: Vec<u8> = banks.iter().flat_map(|bank| bank.cylinders.iter().copied()).collect();
    if !is_permutation(&all, cylinders) {
        let reason = format!("the banks hold the cylinders {}", dashed(&all));
        section.problem(out, reason, format!("each cylinder 1 to {cylinders} stands once"));
        return None;
    }
    Some(banks)
}

fn read_bank(mut section: Section<'_>, out: &mut Problems) -> Option<Bank> {
    let name = section.needed(out, "name");
    if let Some(name) = name {
        section.place = format!("layout, bank {}", name.text);
        super::name::check(out, &section.place, name);
    }
    let cylinders = section.wholes(out, "cylinders", &(1..=MOST_CYLINDERS));
    if section.get("cylinders").is_none() {
        section.problem(out, "`cylinders` is missing", "from the front, such as [1, 3]");
    }
    section.finish(out);
    Some(Bank { name: name?.text.into(), cylinders: cylinders?.1 })
}

fn pin_map(
    section: &Section<'_>,
    out: &mut Problems,
    pins: Option<Pins>,
    banks: Option<&[Bank]>,
    cylinders: Option<u8>,
) -> Option<Vec<u8>> {
    let (pins, banks, cylinders) = (pins?, banks?, cylinders?);
    if pins == Pins::Own {
        return Some((1..=cylinders).collect());
    }
    if banks.len() < 2 || banks[0].cylinders.len() != banks[1].cylinders.len() {
        section.problem(out, "shared pins need two banks of equal length", "or `pins = \"own\"`");
        return None;
    }
    let place_of = |cylinder: u8| {
        let mut places = banks.iter().flat_map(|bank| (1u8..).zip(&bank.cylinders));
        places.find(|&(_, &number)| number == cylinder).map(|(place, _)| place)
    };
    (1..=cylinders).map(place_of).collect()
}
