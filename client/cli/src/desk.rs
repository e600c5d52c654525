//! A home that is open, and what it shows of a record.

use gudgeon_client::home::{Home, KeyRow};
use gudgeon_client::world::{Native, NoRandomness, World as _};
use gudgeon_core::assess::{Assessment, Finding, Record, Weight, Workshop, assess};
use gudgeon_core::crew::decision_on;
use gudgeon_core::engine::Definition;
use gudgeon_core::entry::payload::Millis;
use gudgeon_core::entry::{Author, DocumentId, EntryId, KeyId, Kind, Payload};
use gudgeon_core::log::{Ix, Log};
use gudgeon_core::roster::Roster;

use crate::codes::Exit;
use crate::denial;
use crate::failure::Failure;
use crate::pick;
use crate::settings::Settings;

/// An open home.
#[derive(Debug)]
pub(crate) struct Desk<'s> {
    pub(crate) settings: &'s Settings,
    pub(crate) home: Home,
}

/// A record with its workshop, and all that follows from them.
#[derive(Debug)]
pub(crate) struct Sight {
    pub(crate) record: Record,
    pub(crate) workshop: Workshop,
    pub(crate) assessment: Assessment,
}

impl<'s> Desk<'s> {
    /// Opens the home of the settings.
    pub(crate) fn open(settings: &'s Settings) -> Result<Self, Failure> {
        Ok(Self { settings, home: Home::open(settings.home()?, Native)? })
    }

    /// Opens the home, making it where there is none.
    pub(crate) fn open_or_create(settings: &'s Settings) -> Result<Self, Failure> {
        let directory = settings.home()?;
        match Home::open(directory, Native) {
            Ok(home) => Ok(Self { settings, home }),
            Err(error) if error.code() == "no-home" => {
                Ok(Self { settings, home: Home::create(directory, Native)? })
            }
            Err(error) => Err(error.into()),
        }
    }

    /// The workshop's document.
    pub(crate) fn workshop_id(&self) -> Result<DocumentId, Failure> {
        self.home.workshop().ok_or_else(|| {
            let hint = "found one, `join` one by the code of an invite, or carry one in with `carry in FILE --root DIGITS`";
            Failure::new(Exit::NotReady, "no-workshop", "this home belongs to no workshop yet", hint)
        })
    }

    /// The workshop, read.
    pub(crate) fn workshop(&self) -> Result<Workshop, Failure> {
        Ok(Workshop::read(self.home.log(self.workshop_id()?)?.clone()))
    }

    /// The records held, with their names, by name.
    pub(crate) fn records(&self) -> Result<Vec<(DocumentId, String)>, Failure> {
        let mut held = Vec::new();
        for id in self.home.records() {
            held.push((id, name_of(self.home.log(id)?)));
        }
        held.sort_by(|a, b| (&a.1, a.0).cmp(&(&b.1, b.0)));
        Ok(held)
    }

    /// The record of the settings, or the only one.
    pub(crate) fn record_id(&self) -> Result<DocumentId, Failure> {
        pick::record(self, self.settings.record.as_deref())
    }

    /// The record of the settings, assessed.
    pub(crate) fn sight(&self) -> Result<Sight, Failure> {
        self.sight_of(self.record_id()?)
    }

    /// A record, assessed.
    pub(crate) fn sight_of(&self, record: DocumentId) -> Result<Sight, Failure> {
        let workshop = self.workshop()?;
        let record = Record::read(self.home.log(record)?.clone());
        let assessment = assess(&record, &workshop);
        Ok(Sight { record, workshop, assessment })
    }

    /// The key that signs, whatever is made.
    pub(crate) fn key(&self) -> Result<KeyRow, Failure> {
        self.key_for(&[])
    }

    /// The key that signs entries of these kinds.
    pub(crate) fn key_for(&self, kinds: &[Kind]) -> Result<KeyRow, Failure> {
        let roster = self.home.workshop().map(|_| self.workshop()).transpose()?;
        let roster = roster.as_ref().map(Workshop::roster);
        let (keys, ended) = (self.home.keys()?, denial::removed_keys(&self.home)?);
        let all = pick::Own { keys: &keys, ended: &ended, roster };
        pick::own_key(&all, self.settings.speaker.as_deref(), kinds)
    }

    /// The key that signs, in words, where nobody named it and another of this home could have been meant.
    pub(crate) fn chosen(
        &self,
        roster: &Roster,
        kinds: &[Kind],
        key: &KeyRow,
    ) -> Result<Option<String>, Failure> {
        let (keys, ended) = (self.home.keys()?, denial::removed_keys(&self.home)?);
        let all = pick::Own { keys: &keys, ended: &ended, roster: Some(roster) };
        let chosen = self.settings.speaker.is_none() && pick::is_chosen(&all, kinds);
        Ok(chosen.then(|| pick::in_words(Some(roster), key)))
    }

    /// The key that meets the relay.
    pub(crate) fn meeting_key(&self) -> Result<KeyRow, Failure> {
        let held = self.home.workshop().filter(|workshop| self.home.holds(workshop));
        let roster = held.map(|_| self.workshop()).transpose()?;
        let roster = roster.as_ref().map(Workshop::roster);
        let (keys, ended) = (self.home.keys()?, denial::removed_keys(&self.home)?);
        pick::meeting_key(&pick::Own { keys: &keys, ended: &ended, roster }, self.settings.speaker.as_deref())
    }

    /// Opens a key with its PIN.
    pub(crate) fn unlock(&mut self, key: &KeyRow) -> Result<Author, Failure> {
        let pin = self.settings.pin(&key.label)?;
        Ok(self.home.unlock(key.key, &pin)?)
    }

    /// The time of this device.
    pub(crate) fn now(&self) -> Millis {
        self.home.world().now()
    }
}

/// The system's clock and randomness, for what needs no home.
pub(crate) fn randomness<const N: usize>() -> Result<[u8; N], Failure> {
    let mut bytes = [0; N];
    Native.fill(&mut bytes).map_err(no_randomness)?;
    Ok(bytes)
}

/// The device has none to give.
pub(crate) fn no_randomness(error: NoRandomness) -> Failure {
    Failure::new(Exit::Device, "no-randomness", error.to_string(), "restart the device and try again")
}

impl Sight {
    pub(crate) fn log(&self) -> &Log {
        self.record.log()
    }

    pub(crate) const fn roster(&self) -> &Roster {
        self.workshop.roster()
    }

    /// The definition, without which nothing can be placed.
    pub(crate) fn definition(&self) -> Result<&Definition, Failure> {
        self.assessment.definition().ok_or_else(|| {
            let cause = "this record holds no usable definition of its engine";
            let hint = "carry it in from a device that has it, or bring this program up to date";
            Failure::new(Exit::NotReady, "no-definition", cause, hint)
        })
    }

    /// The findings as they are numbered from 1: what somebody settles, conceded or not, so that a
    /// concession moves no number; after them what is only worth knowing.
    pub(crate) fn findings(&self) -> Vec<&Finding> {
        let mut all = self.assessment.findings();
        all.sort_by_key(|finding| finding.rule.weight() == Weight::Note);
        all
    }

    /// The newest decision on a subject that no other one on it knows; none where two differ.
    pub(crate) fn decision_on(&self, subject: &str) -> Option<EntryId> {
        decision_on(&self.record, &self.assessment, subject)
    }

    /// Name of the record as founded.
    pub(crate) fn name(&self) -> String {
        name_of(self.log())
    }

    /// Name of the person behind a key.
    pub(crate) fn person_of_key(&self, key: KeyId) -> String {
        let roster = self.roster();
        let name = roster.person_of(key).and_then(|person| roster.name_of(person));
        name.map_or_else(|| format!("key {}", key.short()), str::to_owned)
    }

    /// Name of the person behind an entry.
    pub(crate) fn author(&self, ix: Ix) -> String {
        self.person_of_key(self.log().at(ix).key)
    }

    /// Name of a person.
    pub(crate) fn person(&self, id: EntryId) -> String {
        self.roster().name_of(id).map_or_else(|| format!("person {}", id.short()), str::to_owned)
    }
}

/// The name that a document was founded under.
pub(crate) fn name_of(log: &Log) -> String {
    let founding = gudgeon_core::assess::founding_id(log);
    match log.get(&founding).map(|statement| &statement.payload) {
        Some(Ok(Payload::Founding(founding))) => founding.name.clone(),
        _ => log.document().short(),
    }
}
