//! A lead's invite: written into the workshop, then shown as a code and as a square to photograph.

use gudgeon_client::sync::Code;
use gudgeon_core::entry::Payload;
use gudgeon_core::entry::payload::{Invite, Role};
use qrcode::{Color, QrCode};

use super::super::{Desk, Failure};
use super::{Event, Model};

/// What an invited person may do: in words, and as roles.
pub const ROLES: &[(&str, &[Role])] = &[
    ("works, reads, signs", &[Role::Member]),
    ("leads, and works", &[Role::Member, Role::Lead]),
    ("leads only", &[Role::Lead]),
    ("looks on", &[Role::Viewer]),
];

/// For how many days an invite can be taken up.
const DAYS: i64 = 7;

const DAY: i64 = 24 * 60 * 60 * 1000;

/// Letters in a group of a code, as it is read out.
const GROUP: usize = 5;

/// Light modules round a square, so that a camera finds it (ISO/IEC 18004 asks for four).
const QUIET: usize = 4;

/// What is typed of an invite.
#[derive(Default)]
pub(super) struct Inviting {
    pub(super) name: String,
    pub(super) role: usize,
    pub(super) shown: Option<Invited>,
}

/// An invite as it is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Invited {
    /// For whom.
    pub name: String,
    /// The code in groups.
    pub code: String,
    /// The dark modules of its square as one path, a module a unit.
    pub square: String,
    /// How many units the square is wide, with what is light around it.
    pub side: usize,
    /// How many days it can be taken up.
    pub days: i64,
}

impl Model {
    pub(super) fn invite(&mut self, desk: &mut Desk) {
        match prepared(&self.inviting, desk) {
            Ok((offer, shown)) => {
                let Some(workshop) = desk.home().and_then(gudgeon_client::home::Home::workshop) else {
                    return;
                };
                self.begin("writing the invite");
                desk.state(workshop, &[Payload::Invite(offer)], |kept| {
                    Event::Invited(kept.map(|_| shown)).into()
                });
            }
            Err(failure) => self.stop(failure, desk),
        }
    }
}

/// The entry, and what is shown once it is kept.
fn prepared(inviting: &Inviting, desk: &Desk) -> Result<(Invite, Invited), Failure> {
    let name = inviting.name.trim();
    if name.is_empty() {
        return Err(Failure::new(
            "no-name",
            "the invite is for nobody yet",
            "type the name of who is invited",
        ));
    }
    let roster = desk.roster().ok_or_else(Failure::not_open)?;
    if !desk.holder().is_some_and(|key| roster.leads_now(key)) {
        let way_out = "a lead takes the phone, and invites";
        return Err(Failure::new("needs-lead", "only a lead invites", way_out));
    }
    let relay = desk.relay().ok_or_else(|| {
        let way_out = "open the app at the office's own address, then invite";
        Failure::new("no-relay", "it is not known where the office is", way_out)
    })?;
    let home = desk.home().ok_or_else(Failure::not_open)?;
    let workshop = home.workshop().ok_or_else(Failure::not_open)?;
    let code = Code::new(home.world(), workshop, &relay)
        .map_err(|none| Failure::new("no-randomness", none.to_string(), "close the app and open it again"))?;
    let mut same = roster.people().filter(|(_, known)| known.eq_ignore_ascii_case(name));
    let person = same.next().map(|(id, _)| id).filter(|_| same.next().is_none());
    let roles = ROLES.get(inviting.role).map_or(&[Role::Member][..], |(_, roles)| roles);
    let offer = Invite {
        person,
        person_name: name.to_owned(),
        roles: roles.to_vec(),
        expires: home.world().now() + DAYS * DAY,
        one_time_key: code.author().key(),
        relay,
    };
    Ok((offer, shown(name, &code.text())?))
}

fn shown(name: &str, code: &str) -> Result<Invited, Failure> {
    let square = QrCode::new(code.as_bytes()).map_err(|error| {
        Failure::new("code-too-long", format!("the code fits no square: {error}"), "use a shorter address")
    })?;
    let groups: Vec<&str> =
        (0..code.len()).step_by(GROUP).map(|at| &code[at..code.len().min(at + GROUP)]).collect();
    Ok(Invited {
        name: name.to_owned(),
        code: groups.join(" "),
        square: path(&square),
        side: square.width() + 2 * QUIET,
        days: DAYS,
    })
}

/// The dark modules, each run of them in a row as one rectangle.
fn path(square: &QrCode) -> String {
    let width = square.width();
    let mut path = String::new();
    for (y, row) in square.to_colors().chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run[0] == Color::Dark {
                let (left, top, long) = (x + QUIET, y + QUIET, run.len());
                path.push_str(&format!("M{left} {top}h{long}v1h-{long}z"));
            }
            x += run.len();
        }
    }
    path
}
