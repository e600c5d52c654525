//! What is to be seen of people and this phone.

use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_core::roster::{ASKS_RULE, ByHand, Roles, Roster, TWO_ASK_RULE, by_hand};

use super::super::{Desk, Failure, Storage, join};
use super::{Invited, Model, ROLES, Report, asks};

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Who holds the phone.
    pub holder: Option<String>,
    /// The keys of this phone.
    pub keys: Vec<KeyRow>,
    /// Who works here.
    pub people: Vec<PersonRow>,
    /// Who asks to be let in.
    pub asks: Vec<AskRow>,
    /// What somebody has to settle in the workshop itself: what, and the way out.
    pub findings: Vec<(String, &'static str)>,
    /// Whether whoever holds the phone leads.
    pub leads: bool,
    /// Who is invited, as typed.
    pub name: String,
    /// What they may do: words, and whether it is meant.
    pub roles: Vec<(&'static str, bool)>,
    /// The invite that was written last.
    pub invited: Option<Invited>,
    /// The workshop's root digits.
    pub root: Option<String>,
    /// What the browser promises, in words.
    pub storage: &'static str,
    /// Whether it can be asked for more.
    pub can_ask: bool,
    /// How much room is taken, in words.
    pub room: Option<String>,
    /// What is only on this phone.
    pub records: Vec<RecordRow>,
    /// What a file brought.
    pub report: Option<Report>,
    /// Build of the app.
    pub build: Option<String>,
    /// What is under way.
    pub busy: Option<&'static str>,
    /// What was kept last.
    pub kept: Option<String>,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// A key of this phone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyRow {
    /// Whose, or its label.
    pub name: String,
    /// First digits, as they are read out.
    pub digits: String,
    /// What it may do, or what it waits for.
    pub state: String,
    /// Since when it is here.
    pub made: String,
    /// Wrong PINs since the last right one.
    pub wrong_tries: u32,
    /// Whether it holds the phone.
    pub holds: bool,
}

/// A person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PersonRow {
    /// Name.
    pub name: String,
    /// What they may do, over all their keys that are not removed.
    pub roles: String,
    /// Their devices: label, and what became of a removed one.
    pub devices: Vec<String>,
}

/// A key that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AskRow {
    /// Which.
    pub key: KeyId,
    /// As whom, on which device.
    pub who: String,
    /// First digits: its owner reads them off their own device.
    pub digits: String,
    /// Why a person has to say that it is the right one; none: the next meeting lets it in.
    pub why: Option<String>,
}

/// A document, and how much of it is only here.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordRow {
    /// Its name.
    pub name: String,
    /// Entries only on this phone.
    pub here_only: usize,
}

impl Model {
    pub(in super::super) fn view(&self, desk: &Desk) -> View {
        let roster = desk.roster();
        let roles = ROLES.iter().enumerate();
        let (storage, can_ask) = promise(desk.storage);
        View {
            holder: desk.holder_name(),
            keys: keys(desk, roster.as_deref()),
            people: roster.as_deref().map(people).unwrap_or_default(),
            asks: roster.as_deref().map(|roster| ask_rows(desk, roster)).unwrap_or_default(),
            findings: roster.as_deref().map(findings).unwrap_or_default(),
            leads: desk.holder().zip(roster.as_ref()).is_some_and(|(key, roster)| roster.leads_now(key)),
            name: self.inviting.name.clone(),
            roles: roles.map(|(at, (words, _))| (*words, at == self.inviting.role)).collect(),
            invited: self.inviting.shown.clone(),
            root: join::root_digits(desk),
            storage,
            can_ask,
            room: desk.storage.room.map(|(used, all)| format!("{} of {} taken", size(used), size(all))),
            records: records(desk),
            report: self.carrying.report.clone(),
            build: desk.about.build.clone(),
            busy: self.busy,
            kept: self.kept.clone(),
            problem: self.problem.clone(),
        }
    }
}

/// What the browser promises, and whether asking may help.
const fn promise(storage: Storage) -> (&'static str, bool) {
    match storage.keeps {
        Some(true) => ("This browser keeps what is stored until you clear it yourself.", false),
        Some(false) => ("This browser may forget what is stored when room is short.", true),
        None => ("This browser does not say whether it keeps what is stored.", true),
    }
}

fn keys(desk: &Desk, roster: Option<&Roster>) -> Vec<KeyRow> {
    let state = |key| {
        let Some(roster) = roster else { return String::new() };
        match roster.removals_of(key).first() {
            Some(removal) => format!("removed: {}", removal.reason),
            None if roster.is_unknown(key) => "waits to be let in".to_owned(),
            None => roles(roster.roles_of(key)),
        }
    };
    let row = |row: gudgeon_client::home::KeyRow| KeyRow {
        name: desk.name_of_key(row.key),
        digits: row.key.short(),
        state: state(row.key),
        made: desk.day(row.made),
        wrong_tries: row.wrong_tries,
        holds: desk.holder() == Some(row.key),
    };
    desk.keys().into_iter().map(row).collect()
}

fn people(roster: &Roster) -> Vec<PersonRow> {
    let mut people: Vec<(EntryId, &str)> = roster.people().collect();
    people.sort_by_key(|(id, name)| (name.to_lowercase(), *id));
    let row = |(person, name): (EntryId, &str)| {
        let keys: Vec<KeyId> = roster.keys().filter(|key| roster.person_of(*key) == Some(person)).collect();
        let live = keys.iter().filter(|key| roster.may_connect(**key)).map(|key| roster.roles_of(*key));
        let all = live.fold(Roles::default(), |a, b| Roles {
            member: a.member || b.member,
            lead: a.lead || b.lead,
            viewer: a.viewer || b.viewer,
        });
        PersonRow {
            name: name.to_owned(),
            roles: roles(all),
            devices: keys.iter().map(|key| device(roster, *key)).collect(),
        }
    };
    people.into_iter().map(row).collect()
}

fn device(roster: &Roster, key: KeyId) -> String {
    let label = roster.label_of(key).unwrap_or("a device");
    match roster.removals_of(key).first() {
        Some(removal) => format!("{label} ({}), removed: {}", key.short(), removal.reason),
        None => format!("{label} ({})", key.short()),
    }
}

fn ask_rows(desk: &Desk, roster: &Roster) -> Vec<AskRow> {
    let log = desk.home().and_then(|home| home.log(home.workshop()?).ok());
    let why = |invite| by_hand(roster, log?, invite, Some(desk.now())).map(ByHand::words);
    let row = |asker: gudgeon_client::sync::Asker| AskRow {
        key: asker.key,
        who: format!("{}, {}", asker.person, asker.label),
        digits: asker.key.short(),
        why: why(asker.invite),
    };
    asks(desk).into_iter().map(row).collect()
}

/// Keys that ask are listed by themselves, each with its action.
fn findings(roster: &Roster) -> Vec<(String, &'static str)> {
    let others =
        roster.findings().iter().filter(|finding| ![ASKS_RULE, TWO_ASK_RULE].contains(&finding.rule));
    others.map(|finding| (finding.words.clone(), finding.way_out)).collect()
}

/// The workshop first, then the records by name.
fn records(desk: &Desk) -> Vec<RecordRow> {
    let Some(home) = desk.home() else { return Vec::new() };
    let row = |(id, name): (DocumentId, String)| RecordRow {
        name,
        here_only: home.here_only(id).map_or(0, |entries| entries.len()),
    };
    let workshop = home.workshop().map(|id| (id, "the workshop itself".to_owned()));
    workshop.into_iter().chain(desk.records()).map(row).collect()
}

/// Roles in words.
fn roles(roles: Roles) -> String {
    let words = [("works", roles.member), ("leads", roles.lead), ("looks on", roles.viewer)];
    let words: Vec<&str> = words.iter().filter(|(_, has)| *has).map(|(word, _)| *word).collect();
    if words.is_empty() { "no key that counts".to_owned() } else { words.join(", ") }
}

fn size(bytes: u64) -> String {
    match bytes / 1_000_000 {
        0 => format!("{} kB", bytes.div_ceil(1_000)),
        millions if millions < 10_000 => format!("{millions} MB"),
        millions => format!("{} GB", millions / 1_000),
    }
}
