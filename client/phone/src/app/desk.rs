//! What every screen works with: the home, who holds the phone, what is on its way to the store.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::rc::Rc;

use gudgeon_client::HomeError;
use gudgeon_client::home::{Ahead, Home, KeyRow, Saved};
use gudgeon_client::store::{Mirror, Row, StoreError, Table};
use gudgeon_client::sync::Code;
use gudgeon_client::world::World;
use gudgeon_core::entry::{Author, DocumentId, EntryId, KeyId, Payload};
use gudgeon_core::roster::Roster;
use gudgeon_core::sheet::Moment;

use super::sight::{Sight, name_of};
use super::{About, Effect, Event, Failure, Place, Storage};

/// Setting of the home: the invite's code, until the key is let in.
const INVITE: &str = "invite";

/// Setting of the home: address of the office, as the invite by which this phone joined has it.
const RELAY: &str = "relay";

/// Setting of the home: when the office was met last, milliseconds since 1970.
const MET: &str = "met";

/// Whether this tab has the home.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Role {
    /// Not known yet.
    #[default]
    Unknown,
    /// This one writes.
    Writer,
    /// Another one writes; this one looks on.
    Follower,
}

/// Who holds the phone, unlocked by their PIN.
struct Holder {
    key: KeyId,
    author: Author,
}

/// Where an entry is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Where {
    /// On its way to the store of this phone: not to be called kept.
    Saving,
    /// On this phone only.
    Here,
    /// At the office.
    Office,
    /// The office does not take it; why, and the way out.
    Refused(String),
}

impl Where {
    /// In a few words.
    #[must_use]
    pub fn words(&self) -> &'static str {
        match self {
            Self::Saving => "being kept",
            Self::Here => "on this phone",
            Self::Office => "at the office",
            Self::Refused(_) => "refused by the office",
        }
    }
}

/// Something whose durability is not known yet.
struct Pending {
    entries: Vec<EntryId>,
    then: Box<dyn FnOnce(Result<(), Failure>) -> Option<Event>>,
}

/// See the [module](self).
pub struct Desk {
    world: fn() -> Box<dyn World>,
    role: Role,
    mirror: Mirror,
    home: Option<Home>,
    holder: Option<Holder>,
    sights: BTreeMap<DocumentId, Sight>,
    /// As of so many folded entries of the workshop.
    roster: RefCell<Option<(usize, Rc<Roster>)>>,
    /// Counted where the home has changed since: every view asks.
    here_only: Cell<Option<usize>>,
    pending: VecDeque<Pending>,
    events: VecDeque<Event>,
    effects: Vec<Effect>,
    going: Option<Place>,
    comes_back: bool,
    moved: Option<Place>,
    /// What is said over everything.
    pub(super) message: Option<Failure>,
    /// What the browser says of its storage.
    pub(super) storage: Storage,
    /// What the shell knows of the app itself.
    pub(super) about: About,
}

impl Desk {
    pub(super) fn new(world: fn() -> Box<dyn World>) -> Self {
        Self {
            world,
            role: Role::Unknown,
            mirror: Mirror::default(),
            home: None,
            holder: None,
            sights: BTreeMap::new(),
            roster: RefCell::default(),
            here_only: Cell::default(),
            pending: VecDeque::new(),
            events: VecDeque::new(),
            effects: Vec::new(),
            going: None,
            comes_back: false,
            moved: None,
            message: None,
            storage: Storage::default(),
            about: About::default(),
        }
    }

    // What screens ask of it.

    /// Goes to another place, once what is being handled is done.
    pub fn go(&mut self, place: Place) {
        self.going = Some(place);
    }

    /// Asks who holds the phone, then comes back to the open screen as it is, with all that is typed on it.
    pub fn ask_who(&mut self, here: Place) {
        self.comes_back = true;
        self.going = Some(Place::Who(Box::new(here)));
    }

    /// The open screen went along to another place by itself: it stays open, and the address follows.
    pub fn moved(&mut self, place: Place) {
        self.moved = Some(place);
    }

    /// Says something over everything.
    pub fn tell(&mut self, failure: Failure) {
        self.message = Some(failure);
    }

    /// Asks the shell for something.
    pub fn effect(&mut self, effect: Effect) {
        self.effects.push(effect);
    }

    /// Brings an event once the screen was drawn: before work that takes the screen away.
    pub fn once_drawn(&mut self, event: impl Into<Event>) {
        self.effect(Effect::Later(30, event.into()));
    }

    /// Does something with the home. `then` makes the event that arrives when it is durable, or
    /// when it failed; where nothing was written, at once.
    pub fn act<T: 'static>(
        &mut self,
        doing: impl FnOnce(&mut Home) -> Result<T, HomeError>,
        then: impl FnOnce(Result<T, Failure>) -> Event + 'static,
    ) {
        self.act_on(doing, |_| Vec::new(), then);
    }

    /// Signs and saves statements with the key of who holds the phone.
    pub fn state(
        &mut self,
        document: DocumentId,
        says: &[Payload],
        then: impl FnOnce(Result<Saved, Failure>) -> Event + 'static,
    ) {
        match self.holder.as_ref().map(|holder| holder.author.clone()) {
            Some(author) => self.state_by(document, &author, says, then),
            None => self.events.push_back(then(Err(Failure::nobody()))),
        }
    }

    /// As [`Desk::state`], with a key that was opened for this alone.
    pub fn state_by(
        &mut self,
        document: DocumentId,
        author: &Author,
        says: &[Payload],
        then: impl FnOnce(Result<Saved, Failure>) -> Event + 'static,
    ) {
        self.act_on(|home| home.state(document, author, says), |saved| saved.entries.clone(), then);
    }

    fn act_on<T: 'static>(
        &mut self,
        doing: impl FnOnce(&mut Home) -> Result<T, HomeError>,
        entries: impl FnOnce(&T) -> Vec<EntryId>,
        then: impl FnOnce(Result<T, Failure>) -> Event + 'static,
    ) {
        let outcome = match self.writable() {
            Ok(home) => doing(home).map_err(Failure::from),
            Err(failure) => Err(failure),
        };
        let batches = self.mirror.take();
        if batches.is_empty() {
            self.events.push_back(then(outcome));
            return;
        }
        self.refresh();
        let entries = outcome.as_ref().map(entries).unwrap_or_default();
        let then = move |stored: Result<(), Failure>| Some(then(stored.and(outcome)));
        self.pending.push_back(Pending { entries, then: Box::new(then) });
        self.effects.push(Effect::Store(batches));
    }

    fn writable(&mut self) -> Result<&mut Home, Failure> {
        match (self.role, &mut self.home) {
            (Role::Writer, Some(home)) => Ok(home),
            (Role::Follower, _) => Err(Failure::following()),
            (Role::Unknown | Role::Writer, _) => Err(Failure::not_open()),
        }
    }

    /// Checks some signatures of what is to be taken in.
    pub(super) fn check_ahead(&mut self, ahead: &mut Ahead, most: usize) {
        if let Some(home) = &mut self.home {
            home.check_ahead(ahead, most);
        }
    }

    /// The home, to be looked at.
    #[must_use]
    pub const fn home(&self) -> Option<&Home> {
        self.home.as_ref()
    }

    /// Looks at a record: from now on [`Desk::sight`] has it, kept up to date.
    pub fn look(&mut self, record: DocumentId) {
        if self.sights.contains_key(&record) {
            return;
        }
        if let Some(home) = self.home.as_ref().filter(|home| home.holds(&record)) {
            match Sight::of(home, record) {
                Ok(sight) => {
                    self.sights.insert(record, sight);
                }
                Err(error) => self.message = Some(error.into()),
            }
        }
    }

    /// A record that was looked at, assessed.
    #[must_use]
    pub fn sight(&self, record: DocumentId) -> Option<&Sight> {
        self.sights.get(&record)
    }

    /// Where an entry of a record that was looked at is.
    #[must_use]
    pub fn whereabouts(&self, record: DocumentId, entry: EntryId) -> Where {
        if self.pending.iter().any(|pending| pending.entries.contains(&entry)) {
            return Where::Saving;
        }
        self.sight(record).map_or(Where::Here, |sight| sight.whereabouts(entry))
    }

    /// The records held, with their names, by name.
    #[must_use]
    pub fn records(&self) -> Vec<(DocumentId, String)> {
        let Some(home) = &self.home else { return Vec::new() };
        let mut held: Vec<_> = home.records().map(|id| (id, self.record_name(id))).collect();
        held.sort_by(|a, b| (&a.1, a.0).cmp(&(&b.1, b.0)));
        held
    }

    /// The name under which a record was founded.
    #[must_use]
    pub fn record_name(&self, record: DocumentId) -> String {
        let log = self.home.as_ref().and_then(|home| home.log(record).ok());
        log.map_or_else(|| record.short(), name_of)
    }

    /// The workshop's name.
    #[must_use]
    pub fn workshop_name(&self) -> Option<String> {
        self.roster()?.workshop_name().map(str::to_owned)
    }

    /// The workshop's roster; read anew only where the workshop has got an entry more, as every view asks.
    #[must_use]
    pub fn roster(&self) -> Option<Rc<Roster>> {
        let home = self.home.as_ref()?;
        let log = home.log(home.workshop()?).ok()?;
        let folded = log.folded().len();
        let mut kept = self.roster.borrow_mut();
        match &*kept {
            Some((of, roster)) if *of == folded => Some(Rc::clone(roster)),
            Some(_) | None => {
                let roster = Rc::new(Roster::read(log));
                *kept = Some((folded, Rc::clone(&roster)));
                Some(roster)
            }
        }
    }

    /// The keys on this phone.
    #[must_use]
    pub fn keys(&self) -> Vec<KeyRow> {
        self.home.as_ref().and_then(|home| home.keys().ok()).unwrap_or_default()
    }

    /// The key of who holds the phone.
    #[must_use]
    pub fn holder(&self) -> Option<KeyId> {
        self.holder.as_ref().map(|holder| holder.key)
    }

    /// Name of who holds the phone: the person's, or the label of a key that waits to be let in.
    #[must_use]
    pub fn holder_name(&self) -> Option<String> {
        self.holder().map(|key| self.name_of_key(key))
    }

    /// Name of the person behind a key, or its label.
    #[must_use]
    pub fn name_of_key(&self, key: KeyId) -> String {
        let roster = self.roster();
        let person = roster.as_ref().and_then(|roster| roster.name_of(roster.person_of(key)?));
        let label = || self.keys().into_iter().find(|row| row.key == key).map(|row| row.label);
        person.map(str::to_owned).or_else(label).unwrap_or_else(|| format!("key {}", key.short()))
    }

    /// From now on this one holds the phone; the office is met with their key.
    pub fn hold(&mut self, author: Author) {
        self.holder = Some(Holder { key: author.key(), author });
        self.events.push_back(Event::Awake);
    }

    /// Nobody holds the phone any more.
    pub fn let_go(&mut self) {
        self.holder = None;
    }

    pub(super) fn author(&self) -> Option<Author> {
        self.holder.as_ref().map(|holder| holder.author.clone())
    }

    /// The code of the invite by which this phone asked and is not let in yet.
    #[must_use]
    pub fn invite(&self) -> Option<Code> {
        let text = self.home.as_ref()?.setting(INVITE).ok()??;
        Code::read(&text).ok()
    }

    /// Address of the office, as others reach it: as an invite said, else where the app came from.
    #[must_use]
    pub fn relay(&self) -> Option<String> {
        let kept = self.home.as_ref().and_then(|home| home.setting(RELAY).ok()?);
        kept.or_else(|| self.about.origin.clone())
    }

    /// Keeps or forgets the code of an invite; within [`Desk::act`].
    pub(super) fn keep_invite(home: &mut Home, code: Option<&Code>) -> Result<(), HomeError> {
        if let Some(code) = code.filter(|code| !code.relay().is_empty()) {
            home.set_setting(RELAY, code.relay())?;
        }
        home.set_setting(INVITE, &code.map(Code::text).unwrap_or_default())
    }

    /// When the office was met last: milliseconds since 1970.
    #[must_use]
    pub fn met_at(&self) -> Option<i64> {
        self.home.as_ref()?.setting(MET).ok()??.parse().ok()
    }

    pub(super) fn keep_met(home: &mut Home) -> Result<(), HomeError> {
        let now = home.world().now().to_string();
        home.set_setting(MET, &now)
    }

    /// Whether the records are open.
    #[must_use]
    pub const fn is_open(&self) -> bool {
        self.home.is_some()
    }

    /// Whether this phone belongs to a workshop and has a key.
    #[must_use]
    pub fn has_joined(&self) -> bool {
        self.home.as_ref().is_some_and(|home| home.workshop().is_some()) && !self.keys().is_empty()
    }

    /// Whether this tab writes.
    #[must_use]
    pub const fn role(&self) -> Role {
        self.role
    }

    /// The time by this phone: milliseconds since 1970.
    #[must_use]
    pub fn now(&self) -> i64 {
        (self.world)().now()
    }

    /// A moment as the clocks here show it: the hour and minute, with the day before it where it is not today.
    #[must_use]
    pub fn when(&self, moment: i64) -> String {
        let world = (self.world)();
        let here = |at: i64| Moment(at).on_the_wall(world.minutes_ahead(at));
        let (day, clock) = here(moment);
        if day == here(world.now()).0 { clock } else { format!("{day} {clock}") }
    }

    /// The day of a moment as the calendars here show it.
    #[must_use]
    pub fn day(&self, moment: i64) -> String {
        Moment(moment).on_the_wall((self.world)().minutes_ahead(moment)).0
    }

    /// How many entries are only on this phone, as far as is known.
    #[must_use]
    pub fn here_only(&self) -> usize {
        let Some(home) = &self.home else { return 0 };
        let count = || {
            let documents: BTreeSet<DocumentId> = home.records().chain(home.workshop()).collect();
            documents.into_iter().filter_map(|id| home.here_only(id).ok()).map(|ids| ids.len()).sum()
        };
        let here = self.here_only.get().unwrap_or_else(count);
        self.here_only.set(Some(here));
        here
    }

    // What the app asks of it.

    pub(super) fn next_event(&mut self) -> Option<Event> {
        self.events.pop_front()
    }

    pub(super) fn queue(&mut self, event: Event) {
        self.events.push_back(event);
    }

    pub(super) const fn take_going(&mut self) -> Option<Place> {
        self.going.take()
    }

    pub(super) const fn take_comes_back(&mut self) -> bool {
        std::mem::replace(&mut self.comes_back, false)
    }

    pub(super) const fn take_moved(&mut self) -> Option<Place> {
        self.moved.take()
    }

    /// Whether the screen that was just opened wants to be kept awake.
    pub(super) fn wants_awake(&self) -> bool {
        self.effects.iter().any(|effect| matches!(effect, Effect::KeepAwake(true)))
    }

    pub(super) fn take_effects(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    pub(super) fn take_role(&mut self, role: Role) {
        if self.role != role {
            self.role = role;
            self.read_again();
        }
    }

    /// The home, from what is truly in the database.
    pub(super) fn open(&mut self, rows: Vec<(Table, Row)>, lost: bool) {
        if self.role == Role::Follower && rows.is_empty() {
            return;
        }
        self.close();
        if lost {
            self.message = Some(Failure::lost());
        }
        let mirror = Mirror::of(rows);
        self.mirror = mirror.clone();
        match Home::within(Box::new(mirror), Given((self.world)())) {
            Ok(home) => self.home = Some(home),
            Err(error) => self.message = Some(error.into()),
        }
        let batches = self.mirror.take();
        if !batches.is_empty() && self.role == Role::Writer {
            self.pending.push_back(Pending { entries: Vec::new(), then: Box::new(|_| None) });
            self.effects.push(Effect::Store(batches));
        }
        if self.holder().is_some_and(|key| self.keys().iter().all(|row| row.key != key)) {
            self.let_go();
        }
    }

    pub(super) fn not_read(&mut self, failure: Failure) {
        self.close();
        self.message = Some(failure);
    }

    /// The oldest of what is on its way is durable; answers whether there are entries in it.
    pub(super) fn stored(&mut self) -> bool {
        let Some(Pending { entries, then }) = self.pending.pop_front() else { return false };
        self.events.extend(then(Ok(())));
        !entries.is_empty()
    }

    /// The home has run ahead of the truth: it is thrown away and read again.
    pub(super) fn not_stored(&mut self, error: &StoreError) {
        let failure = Failure::not_stored(error);
        for Pending { then, .. } in std::mem::take(&mut self.pending) {
            self.events.extend(then(Err(failure.clone())));
        }
        self.message = Some(failure);
        self.read_again();
    }

    pub(super) fn changed(&mut self) {
        if self.role == Role::Follower {
            self.effects.push(Effect::Read);
        }
    }

    fn read_again(&mut self) {
        self.close();
        self.effects.push(Effect::Read);
    }

    fn close(&mut self) {
        self.home = None;
        self.sights.clear();
        self.roster.take();
        self.here_only.take();
        self.mirror = Mirror::default();
    }

    fn refresh(&mut self) {
        self.here_only.take();
        let Some(home) = &self.home else { return };
        for sight in self.sights.values_mut() {
            if let Err(error) = sight.catch_up(home) {
                self.message = Some(error.into());
            }
        }
    }
}

/// A world in a box is a world.
struct Given(Box<dyn World>);

impl World for Given {
    fn now(&self) -> i64 {
        self.0.now()
    }

    fn minutes_ahead(&self, moment: i64) -> i32 {
        self.0.minutes_ahead(moment)
    }

    fn fill(&self, bytes: &mut [u8]) -> Result<(), gudgeon_client::world::NoRandomness> {
        self.0.fill(bytes)
    }
}
