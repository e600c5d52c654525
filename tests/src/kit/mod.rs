//! A shop in few words, so that a test reads like the story it tells.
//!
//! [`open`] founds a workshop with its people, gauges and one record on the example engine.
//! Each person has a phone of their own and knows only what was [`carry`](Hand::tells)d to
//! it; what they enter goes through the real signature and the real gate.
//!
//! ```
//! let shop = gudgeon_tests::kit::open();
//! let first = shop.ann.read("pin/3", "diameter", "front/0", "47.742 mm").with("M1").at_20();
//! shop.ann.tells(&shop.ben);
//! let second = shop.ben.read("pin/3", "diameter", "front/0", "47.744 mm").with("M2").at_20();
//! let seen = shop.check(); // in every order of delivery
//! seen.finds(&[]);
//! seen.stand(&[first, second]);
//! seen.value("pin/3", "diameter", "front/0", "47.743 mm");
//! ```
//!
//! People, marks and figures are invented.
#![allow(clippy::unwrap_used)]

mod delivery;
mod gauges;
mod hand;
mod order;
mod say;
mod seen;
mod walk;
mod world;

use std::cell::RefCell;
use std::rc::Rc;

use gudgeon_core::assess::{Record, assess};
use gudgeon_core::engine::EXAMPLE;
use gudgeon_core::entry::payload::Role;
use gudgeon_core::entry::{self, DocumentId, Entry, EntryId};

pub use hand::Hand;
pub use order::signed_before;
pub use say::{Reads, Tightens};
pub use seen::Seen;
pub use walk::Walk;
pub use world::{DAY, MINUTE, OPENING};

use world::World;

/// A workshop with its people and one record.
pub struct Shop {
    world: Rc<RefCell<World>>,
    /// Fitter.
    pub ann: Hand,
    /// Machinist.
    pub ben: Hand,
    /// Second fitter.
    pub carl: Hand,
    /// Lead, not a member.
    pub lena: Hand,
    /// Second lead, who also works.
    pub max: Hand,
    /// Looks on.
    pub vera: Hand,
}

/// Founds the workshop and the record.
#[must_use]
pub fn open() -> Shop {
    open_on(EXAMPLE)
}

/// As [`open`], on another engine.
#[must_use]
pub fn open_on(engine: &str) -> Shop {
    let world = Rc::new(RefCell::new(World::found()));
    let enrol = |name: &str, roles: &[Role]| Hand::enrol(&world, name, roles);
    let shop = Shop {
        ann: enrol("Ann", &[Role::Member]),
        ben: enrol("Ben", &[Role::Member]),
        carl: enrol("Carl", &[Role::Member]),
        lena: enrol("Lena", &[Role::Lead]),
        max: enrol("Max", &[Role::Member, Role::Lead]),
        vera: enrol("Vera", &[Role::Viewer]),
        world: Rc::clone(&world),
    };
    gauges::list(&shop.lena);
    let lead = shop.lena.number();
    world.borrow_mut().found_record(lead, engine);
    shop
}

impl Shop {
    /// Everybody learns everything.
    pub fn everybody_meets(&self) {
        self.world.borrow_mut().meet();
    }

    /// The same shop, in which one person stands in for those who build and for the second person.
    fn with_all_done_by(&self, hand: &Hand) -> Self {
        Self {
            world: Rc::clone(&self.world),
            ann: self.ann.clone(),
            ben: hand.clone(),
            carl: self.carl.clone(),
            lena: self.lena.clone(),
            max: hand.clone(),
            vera: self.vera.clone(),
        }
    }

    /// What the same entries come to in another order of arrival.
    ///
    /// # Panics
    /// If one of them is not of this shop.
    #[must_use]
    pub fn bytes_in_order(&self, order: &[EntryId]) -> Vec<u8> {
        let world = self.world.borrow();
        let mut record = world.fresh_view();
        for id in order {
            record.insert(world.said.iter().find(|entry| entry.id() == *id).expect("an entry of this shop"));
        }
        assess(&record, &world.workshop).to_bytes(&record, &world.workshop)
    }

    /// A key that nobody was given.
    #[must_use]
    pub fn stranger(&self) -> Hand {
        Hand::stranger(&self.world)
    }

    /// Moves the clock of all devices.
    pub fn wait(&self, millis: i64) {
        self.world.borrow_mut().clock += millis;
    }

    /// Delivers everything in every order and says what is seen.
    ///
    /// # Panics
    /// If two orders of delivery, or taking in piece by piece and all at once, differ.
    #[must_use]
    pub fn check(&self) -> Seen {
        self.check_without(&[])
    }

    /// As [`Shop::check`], in a few random orders only: for long stories.
    ///
    /// # Panics
    /// As [`Shop::check`].
    #[must_use]
    pub fn check_lightly(&self) -> Seen {
        let world = self.world.borrow();
        delivery::check_lightly(&world, &world.said)
    }

    /// What is seen in the order in which it was said; no other order is tried.
    #[must_use]
    pub fn check_in_order(&self) -> Seen {
        let world = self.world.borrow();
        delivery::in_order(&world, &world.said)
    }

    /// As [`Shop::check`], but some entries never arrive.
    ///
    /// # Panics
    /// As [`Shop::check`].
    #[must_use]
    pub fn check_without(&self, lost: &[EntryId]) -> Seen {
        let world = self.world.borrow();
        let held: Vec<Entry> =
            world.said.iter().filter(|entry| !lost.contains(&entry.id())).cloned().collect();
        delivery::check(&world, &held)
    }

    /// The record's name.
    #[must_use]
    pub fn record(&self) -> DocumentId {
        self.world.borrow().record
    }

    /// What a record of these entries comes to.
    ///
    /// # Panics
    /// If one of them does not pass the gate.
    #[must_use]
    pub fn bytes_of<'e>(&self, entries: impl IntoIterator<Item = (EntryId, &'e [u8])>) -> Vec<u8> {
        let world = self.world.borrow();
        let mut record = Record::new(world.record);
        for (id, value) in entries {
            record.insert(&entry::check(id, value, world.record).unwrap());
        }
        assess(&record, &world.workshop).to_bytes(&record, &world.workshop)
    }

    /// Entries of the record so far, the founding and the definition first.
    #[must_use]
    pub fn entries(&self) -> Vec<Entry> {
        let world = self.world.borrow();
        world.base.iter().chain(&world.said).cloned().collect()
    }
}
