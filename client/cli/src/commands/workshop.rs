//! Founding, asking to join, enrolling, and the PIN of a key.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use gudgeon_client::home::{Home, fingerprint};
use gudgeon_core::entry::payload::{Device, Founding, Person, Role};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Envelope, Payload};
use gudgeon_core::roster::Roster;

use super::join::{DAYS, For, Invited};
use super::office::{RELAY, address};
use crate::ask_file::AskFile;
use crate::codes::Exit;
use crate::desk::{Desk, randomness};
use crate::enter::{Hand, saved};
use crate::failure::Failure;
use crate::file_sort::{self, FileSort};
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::says;
use crate::settings::Settings;
use crate::typed::words;

#[derive(Args, Debug)]
pub(crate) struct Found {
    /// Name of the workshop.
    name: String,
    /// Name of the first lead, whose key is made on this home.
    #[arg(long)]
    lead: String,
    /// What this device is called.
    #[arg(long, default_value = "first device")]
    label: String,
    /// Address of the workshop's relay: prints the first invite, for the lead's own phone.
    #[arg(long, value_name = "URL")]
    relay: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct Ask {
    /// What the key is called, such as "phone of Ben".
    #[arg(long)]
    label: String,
    /// File to write; the key's first digits otherwise.
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(crate) struct Enrol {
    /// The file with which the key asks.
    file: PathBuf,
    /// Whose key it is: a person already entered, or a new one.
    #[arg(long)]
    name: String,
    /// What it may do.
    #[arg(long, value_delimiter = ',', default_value = "member")]
    role: Vec<RoleWord>,
    /// Enter a new person, though one of that name is there.
    #[arg(long)]
    new_person: bool,
    /// Sign with the root key, from paper.
    #[arg(long)]
    by_root: bool,
}

#[derive(Args, Debug)]
pub(crate) struct ChangePin {}

/// A role as typed.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum RoleWord {
    Member,
    Lead,
    Viewer,
}

impl RoleWord {
    pub(crate) const fn role(self) -> Role {
        match self {
            Self::Member => Role::Member,
            Self::Lead => Role::Lead,
            Self::Viewer => Role::Viewer,
        }
    }
}

pub(crate) fn found(args: &Found, settings: &Settings) -> Outcome {
    let (name, lead) = (words("name", &args.name)?, words("lead's name", &args.lead)?);
    let mut desk = Desk::open_or_create(settings)?;
    if desk.home.workshop().is_some() {
        let hint = "name another directory with --home";
        return Err(Failure::refused("workshop-exists", "this home belongs to a workshop already", hint));
    }
    let root = Author::from_secret(&randomness()?);
    let founding =
        Founding { name, workshop: None, definition_digest: None, nonce: randomness::<16>()?.to_vec() };
    let pin = settings.new_pin(&lead)?;
    let own = desk.home.new_key(&lead, &pin)?;
    let relay = args.relay.as_deref().map(|relay| address(&desk.home, Some(relay))).transpose()?;
    let (workshop, person) = found_with_lead(&mut desk.home, &root, founding, &lead, &args.label, &own)?;
    let mut answer = founded(&root, workshop, &own);
    match relay {
        Some(relay) => first_invite(&mut desk, &own, workshop, (person, &lead), &relay, &mut answer)?,
        None => answer.say(format!(
            "For your own phone, once there is a relay: {}",
            settings.line(&["invite", &lead, "--role", "lead,member"])
        )),
    }
    Ok(answer)
}

/// The invite by which the lead's own next device comes to the workshop.
fn first_invite(
    desk: &mut Desk,
    own: &Author,
    workshop: DocumentId,
    (person, lead): (EntryId, &str),
    relay: &str,
    answer: &mut Answer,
) -> Result<(), Failure> {
    let roles = vec![Role::Lead, Role::Member];
    let whom = For { person: Some(person), name: lead, roles, days: DAYS };
    let invited = Invited::new(workshop, whom, desk.now(), relay)?;
    desk.home.state(workshop, own, &[Payload::Invite(invited.offer.clone())])?;
    desk.home.set_setting(RELAY, relay)?;
    invited.show(answer)
}

/// The workshop with its first lead, in one durable commit; its id, and the lead's as a person.
fn found_with_lead(
    home: &mut Home,
    root: &Author,
    founding: Founding,
    lead: &str,
    label: &str,
    own: &Author,
) -> Result<(DocumentId, EntryId), Failure> {
    let at = home.world().now();
    let sign = |document: Option<DocumentId>, after: Vec<EntryId>, payload: &Payload| {
        root.sign(Envelope {
            document,
            kind_code: payload.kind().code(),
            device_time: at,
            min_reader: 1,
            after,
            payload: payload.encode(),
        })
    };
    let first = sign(None, Vec::new(), &Payload::Founding(founding));
    let document = DocumentId::from(first.id());
    let person = sign(Some(document), vec![first.id()], &Payload::Person(Person { name: lead.to_owned() }));
    let device = Device {
        key: own.key(),
        person: person.id(),
        roles: vec![Role::Lead, Role::Member],
        label: label.to_owned(),
        invite: None,
        join_signature: Vec::new(),
    };
    let device = sign(Some(document), vec![person.id()], &Payload::Device(device));
    let lead = person.id();
    home.commit(document, &[first, person, device])?;
    Ok((document, lead))
}

fn founded(root: &Author, workshop: DocumentId, own: &Author) -> Answer {
    let secret = data_encoding::HEXLOWER.encode(&root.secret());
    let print = fingerprint(&root.key());
    let mut answer = Answer::new();
    answer.line(format!("workshop      {}", workshop.short()));
    answer.line(format!("root digits   {print}"));
    answer.line(format!("root key      {secret}"));
    answer.line(format!("your key      {}", own.key().short()));
    answer.say(
        "Saved. Write the root key on paper now and lock it away: it is shown this once and kept nowhere.",
    );
    answer.say("The root digits are no secret: whoever joins compares them.");
    answer.put("workshop", workshop.to_hex());
    answer.put("root", root.key().to_hex());
    answer.put("fingerprint", print);
    answer.put("root_key", secret);
    answer.put("key", own.key().to_hex());
    answer
}

pub(crate) fn ask(args: &Ask, settings: &Settings) -> Outcome {
    let label = words("label", &args.label)?;
    let mut desk = Desk::open_or_create(settings)?;
    let pin = settings.new_pin(&label)?;
    let author = desk.home.new_key(&label, &pin)?;
    let ask = AskFile::new(&author, &label);
    let path = args.to.clone().unwrap_or_else(|| PathBuf::from(format!("{}.ask", author.key().short())));
    let mut answer = Answer::new();
    answer.raw(&ask.to_text());
    answer.put("key", author.key().to_hex());
    answer.put("label", label);
    std::fs::write(&path, ask.to_text()).map_err(|error| Failure::io("writing", &path, &error))?;
    answer.say(format!(
        "Saved the key here, and what it asks in {}: give that file to a lead.",
        path.display()
    ));
    answer.put("file", path.display().to_string());
    Ok(answer)
}

pub(crate) fn enrol(args: &Enrol, settings: &Settings) -> Outcome {
    file_sort::wanted(&args.file, FileSort::Ask, settings)?;
    let ask = AskFile::read(&args.file)?;
    let name = words("name", &args.name)?;
    let mut desk = Desk::open(settings)?;
    let known = known_person(args, &ask, desk.workshop()?.roster())?;
    let roles: Vec<Role> = args.role.iter().map(|word| word.role()).collect();
    let by = Hand::of(args.by_root);
    let (mut ids, mut caveat) = match known {
        Some(_) => (Vec::new(), None),
        None => desk.enter_in_workshop(&[Payload::Person(Person { name: name.clone() })], by)?,
    };
    let person = known.or_else(|| ids.first().copied());
    let person = person
        .ok_or_else(|| Failure::not_found("unknown-person", "the person was not saved", "try again"))?;
    let device = Device {
        key: ask.key(),
        person,
        roles: roles.clone(),
        label: ask.label().to_owned(),
        invite: None,
        join_signature: Vec::new(),
    };
    let (more, again) = desk.enter_in_workshop(&[Payload::Device(device)], by)?;
    ids.extend(more);
    caveat = caveat.or(again);
    let mut answer = Answer::new();
    answer.line(format!("{name}: key {} ({}), {}", ask.key().short(), ask.label(), says::roles(&roles)));
    saved(&mut answer, "device", &ids, caveat.as_deref());
    answer.put("person", person.to_hex());
    answer.put("key", ask.key().to_hex());
    let roles: Vec<String> = args.role.iter().map(|word| format!("{word:?}").to_lowercase()).collect();
    answer.put("roles", roles);
    Ok(answer)
}

/// The person of that name, if already entered; an error if the key is somebody's.
fn known_person(args: &Enrol, ask: &AskFile, roster: &Roster) -> Result<Option<EntryId>, Failure> {
    if let Some(person) = roster.person_of(ask.key()) {
        let cause = format!(
            "key {} belongs to {} already",
            ask.key().short(),
            roster.name_of(person).unwrap_or("somebody")
        );
        let hint = "a new role or person is a new key: `ask` on that device";
        return Err(Failure::refused("key-enrolled", cause, hint));
    }
    match pick::person(roster, &args.name) {
        _ if args.new_person => Ok(None),
        Ok(person) => Ok(Some(person)),
        Err(failure) if failure.exit == Exit::NotFound => Ok(None),
        Err(failure) => Err(failure),
    }
}

pub(crate) fn change_pin(_: &ChangePin, settings: &Settings) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let key = desk.key()?;
    let old = settings.pin(&key.label)?;
    let new = settings.next_pin(&key.label)?;
    desk.home.change_pin(key.key, &old, &new)?;
    let mut answer = Answer::new();
    answer.say(format!("Saved: key {} has its new PIN.", key.key.short()));
    answer.put("key", key.key.to_hex());
    Ok(answer)
}
