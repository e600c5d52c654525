//! An invite, as a code one can type and a square one can photograph, and joining by it.

use std::path::PathBuf;

use clap::Args;
use gudgeon_client::sync::native::{Relay, meet};
use gudgeon_client::sync::{BadCode, Code, Denial, Engine, Identity, Trouble, Why};
use gudgeon_client::world::Native;
use gudgeon_core::entry::payload::{Device, Invite, Role};
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::roster::join_request;
use qrcode::QrCode;
use qrcode::render::unicode;

use super::office::{INVITE, RELAY, address, away, bad_address, believing, root_digits, runtime, say_own};
use super::workshop::RoleWord;
use crate::asking::{self, Own};
use crate::codes::Exit;
use crate::desk::{Desk, no_randomness};
use crate::enter::Hand;
use crate::failure::Failure;
use crate::out::{Answer, Outcome};
use crate::pick;
use crate::settings::Settings;
use crate::typed::words;
use crate::when;

/// Characters in a group of a printed code.
const GROUP: usize = 5;

const DAY: i64 = 24 * 60 * 60 * 1000;

/// For how many days an invite can be taken up where nobody says.
pub(super) const DAYS: i64 = 7;

#[derive(Args, Debug)]
pub(crate) struct InviteArgs {
    /// Who is invited: a person already entered (for another device), or a new one.
    name: String,
    /// What the key may do; several with commas, such as lead,member: a lead alone may not read or sign.
    #[arg(long, value_delimiter = ',', default_value = "member")]
    role: Vec<RoleWord>,
    /// Days until it runs out.
    #[arg(long, default_value_t = DAYS, value_parser = clap::value_parser!(i64).range(1..=366))]
    days: i64,
    /// Address of the relay as the other device reaches it; the one kept here otherwise.
    #[arg(long, value_name = "URL")]
    relay: Option<String>,
}

#[derive(Args, Debug)]
pub(crate) struct JoinArgs {
    /// The code of the invite; blanks and line ends in it do not matter.
    #[arg(required = true)]
    code: Vec<String>,
    /// What this device is called, such as "phone of Ben".
    #[arg(long)]
    label: String,
    /// Address of the relay, where it is another than in the code.
    #[arg(long, value_name = "URL")]
    relay: Option<String>,
    /// Certificate of the authority to believe there, where it is another than in the code: PEM or DER.
    #[arg(long, value_name = "FILE")]
    authority: Option<PathBuf>,
}

/// Reads a code however it is spaced and cased.
pub(super) fn read(text: &str) -> Result<Code, Failure> {
    Code::read(text).map_err(|error| Failure::refused("bad-code", error.to_string(), BadCode::HINT))
}

pub(crate) fn invite(args: &InviteArgs, settings: &Settings) -> Outcome {
    let name = words("name", &args.name)?;
    let mut desk = Desk::open(settings)?;
    let relay = address(&desk.home, args.relay.as_deref())?;
    let person = match pick::person(desk.workshop()?.roster(), &name) {
        Ok(person) => Some(person),
        Err(failure) if failure.exit == Exit::NotFound => None,
        Err(failure) => return Err(failure),
    };
    let roles: Vec<Role> = args.role.iter().map(|word| word.role()).collect();
    let for_whom = For { person, name: &name, roles, days: args.days };
    let invited = Invited::new(desk.workshop_id()?, for_whom, desk.now(), &relay)?;
    let (ids, caveat) = desk.enter_in_workshop(&[Payload::Invite(invited.offer.clone())], Hand::of(false))?;
    desk.home.set_setting(RELAY, &relay)?;
    let mut answer = Answer::new();
    invited.show(&mut answer)?;
    answer.line(format!("root digits   {}", root_digits(&desk.home)?));
    if let Some(caveat) = caveat {
        answer.say(caveat);
    }
    answer.put("invite", ids.first().map(|id| id.to_hex()));
    answer.put("fingerprint", root_digits(&desk.home)?);
    Ok(answer)
}

/// Whom an invite is for, what they may do, and for how many days.
pub(super) struct For<'a> {
    /// Somebody entered already, for another device.
    pub(super) person: Option<EntryId>,
    pub(super) name: &'a str,
    pub(super) roles: Vec<Role>,
    pub(super) days: i64,
}

/// A new invite: what is entered, and the code that is given by hand.
pub(super) struct Invited {
    pub(super) offer: Invite,
    code: Code,
}

impl Invited {
    pub(super) fn new(workshop: DocumentId, whom: For, now: i64, relay: &str) -> Result<Self, Failure> {
        let code = Code::new(&Native, workshop, relay).map_err(no_randomness)?;
        let offer = Invite {
            person: whom.person,
            person_name: whom.name.to_owned(),
            roles: whom.roles,
            expires: now + whom.days * DAY,
            one_time_key: code.author().key(),
            relay: relay.to_owned(),
        };
        Ok(Self { offer, code })
    }

    /// The code as groups and as a square, and what to do with it.
    pub(super) fn show(&self, answer: &mut Answer) -> Result<(), Failure> {
        let (text, offer) = (self.code.text(), &self.offer);
        let another = if offer.person.is_some() { ", another device" } else { "" };
        answer.line(grouped(&text));
        answer.raw(&square(&text)?);
        answer.line(format!("for           {}{another}", offer.person_name));
        answer.line(format!("runs out      {}", when::day(offer.expires)));
        answer.say("Saved. Sync now, so that the relay knows of the invite; then on the other device:");
        answer.say("  gudgeon join CODE --label \"phone of ...\"");
        answer.say("Whoever has the code can ask once in that name: give it by hand, not by post.");
        answer.put("code", text);
        answer.put("expires", offer.expires);
        answer.put("relay", offer.relay.as_str());
        Ok(())
    }
}

pub(crate) fn join(args: &JoinArgs, settings: &Settings) -> Outcome {
    let label = words("label", &args.label)?;
    let code = read(&args.code.concat())?;
    let relay_at = args.relay.clone().unwrap_or_else(|| code.relay().to_owned());
    let relay_at = believing(relay_at, args.authority.as_deref())?;
    let mut desk = Desk::open_or_create(settings)?;
    if desk.home.workshop().is_some_and(|own| own != code.workshop()) {
        let hint = "keep a home for each workshop; name another one with --home";
        return Err(Failure::refused("other-workshop", "this home belongs to another workshop", hint));
    }
    must_not_have_asked(&desk, &code)?;
    let pin = settings.new_pin(&label)?;
    let mut engine = Engine::new(code.workshop(), vec![Identity { author: code.author(), invite: true }]);
    let runtime = runtime()?;
    let mut relay = runtime.block_on(async { Relay::at(&relay_at) }).map_err(bad_address)?;
    let meeting = |relay: &mut Relay, engine: &mut Engine, desk: &mut Desk| {
        let met = runtime.block_on(meet(relay, engine, &mut desk.home))?;
        met.map_err(|trouble| {
            // A relay that answers says itself what to do.
            let hint = match trouble {
                Trouble::Denied(Denial { why: Why::Unknown, .. }) => {
                    "nothing was made yet; whoever wrote the invite syncs first, so that the relay hears of it, then \
                     join again"
                }
                Trouble::Denied(_) => "nothing was made yet",
                Trouble::Offline(_) | Trouble::NoSession | Trouble::Busy(_) | Trouble::Broken(_) => {
                    "nothing was made yet; ask the lead whether the relay runs and the invite has reached it"
                }
            };
            away(&trouble, &relay_at).hinting(hint)
        })
    };
    meeting(&mut relay, &mut engine, &mut desk)?;
    let offered = desk.workshop()?.roster().invites().iter().find_map(|(id, invite)| {
        (invite.offer.one_time_key == code.author().key()).then(|| (*id, invite.offer.clone()))
    });
    let (invite, offer) = offered.ok_or_else(|| {
        let hint = "the lead syncs, then try again";
        Failure::new(Exit::NotReady, "unknown-invite", "the relay does not know this invite yet", hint)
    })?;
    let author = desk.home.new_key(&label, &pin)?;
    // The secret is kept before the asking: a key that is let in must never be without it.
    desk.home.set_setting(RELAY, &relay_at)?;
    desk.home.set_setting(INVITE, &code.text())?;
    let asks = join_request(&author, code.workshop(), invite);
    let device = Device {
        key: author.key(),
        person: offer.person.unwrap_or(invite),
        roles: offer.roles.clone(),
        label: label.clone(),
        invite: Some(invite),
        join_signature: asks.signature.to_vec(),
    };
    desk.home.state(code.workshop(), &author, &[Payload::Device(device)])?;
    engine.again();
    let told = meeting(&mut relay, &mut engine, &mut desk);
    let mut answer = Answer::new();
    answer.line(format!("workshop      {}", desk.workshop()?.roster().workshop_name().unwrap_or_default()));
    answer.line(format!("root digits   {}", root_digits(&desk.home)?));
    answer.line(format!("your key      {}", author.key().short()));
    answer.say("Saved. Compare the root digits with the workshop's printed ones.");
    match told {
        Ok(_) => say_own(&mut answer, &mut desk, true)?,
        Err(_) => answer.say("The relay went away before it heard; sync, and it is told then."),
    }
    answer.put("workshop", code.workshop().to_hex());
    answer.put("key", author.key().to_hex());
    answer.put("fingerprint", root_digits(&desk.home)?);
    Ok(answer)
}

/// Refuses to ask twice by one invite: that would leave a lead in doubt whose the keys are.
fn must_not_have_asked(desk: &Desk, code: &Code) -> Result<(), Failure> {
    if desk.home.setting(INVITE)?.as_deref() != Some(&*code.text()) {
        return Ok(());
    }
    if let Own::TurnedAway(key) = asking::own(desk)? {
        let cause = format!("this device asked by this invite, and its key {} was removed", key.short());
        return Err(Failure::refused("turned-away", cause, asking::NEW_INVITE));
    }
    let hint = "`sync`: it says whether this device is let in";
    Err(Failure::refused("asked-already", "this device has asked by this invite already", hint))
}

/// A code in groups, as it is read out and typed.
fn grouped(text: &str) -> String {
    let groups: Vec<String> =
        text.as_bytes().chunks(GROUP).map(|group| String::from_utf8_lossy(group).into_owned()).collect();
    groups.chunks(10).map(|line| line.join(" ")).collect::<Vec<_>>().join("\n")
}

/// The code as a square of half blocks, for a camera.
fn square(text: &str) -> Result<String, Failure> {
    let square = QrCode::new(text.as_bytes()).map_err(|error| {
        Failure::refused(
            "code-too-long",
            format!("the code does not fit a square: {error}"),
            "use a shorter address",
        )
    })?;
    // Light upon dark, as terminals mostly are; cameras read either.
    let mut drawing = square.render::<unicode::Dense1x2>();
    let (light, dark) = (unicode::Dense1x2::Light, unicode::Dense1x2::Dark);
    Ok(format!("{}\n", drawing.dark_color(light).light_color(dark).build()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_is_small_enough_for_a_terminal() {
        let believing = "https://relay.workshop.lan:7474#0123456789abcdef0123456789abcdef";
        for relay in ["http://127.0.0.1:7474", believing] {
            let code = Code::new(&Native, DocumentId::new([7; 32]), relay);
            let square = code.map_err(no_randomness).and_then(|code| square(&code.text()));
            let square = square.map(|square| square.lines().count());
            assert!(square.is_ok_and(|lines| lines <= 36));
        }
    }
}
