//! The command line as typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::codes;
use crate::commands::{
    about, carry, choose, engine, gauge, hand_over, history, join, let_in, look, next, office, oversizes,
    parts, people, print, read, ready, remove, settle, sign, tighten, work, worksheet, workshop,
};

/// The signed build record of an engine: readings, work, tightening and signatures of several people,
/// offline, with what is proven and what is not.
#[derive(Debug, Parser)]
#[command(name = "gudgeon", version, max_term_width = 100, after_help = after_help())]
pub(crate) struct Cli {
    #[command(flatten)]
    pub(crate) common: Common,
    #[command(subcommand)]
    pub(crate) command: Command,
}

fn after_help() -> String {
    let variables: String = VARIABLES.iter().map(|(name, about)| format!("  {name:<17} {about}\n")).collect();
    format!("Environment:\n{variables}\nTimes are UTC.\n\nExit codes:\n{}", codes::table())
}

/// Variables of the environment that are read, with what each is for.
pub(crate) const VARIABLES: [(&str, &str); 5] = [
    ("GUDGEON_HOME", "directory of the home"),
    ("GUDGEON_PIN", "the PIN, which is asked for otherwise"),
    ("GUDGEON_NEW_PIN", "the new PIN of `pin`"),
    ("GUDGEON_ROOT_KEY", "the root key from paper, for --by-root"),
    ("GUDGEON_LOG", "what is logged to stderr, such as info; nothing otherwise"),
];

/// What every command takes.
#[derive(Args, Debug)]
pub(crate) struct Common {
    /// Directory of this person's or this shared device's home.
    #[arg(long, global = true, env = "GUDGEON_HOME", hide_env_values = true, value_name = "DIR")]
    pub(crate) home: Option<PathBuf>,
    /// One JSON object on stdout instead of words.
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Whose key signs, where the home holds several: name of the person, or the first digits of the key.
    #[arg(long = "as", global = true, value_name = "NAME|KEY")]
    pub(crate) speaker: Option<String>,
    /// Which record, where the home holds several: its name, or the first digits of its id.
    #[arg(long, global = true, value_name = "NAME|ID")]
    pub(crate) record: Option<String>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    #[command(flatten)]
    Shop(Shop),
    #[command(flatten)]
    Bench(Bench),
    #[command(flatten)]
    Settle(Settle),
    #[command(flatten)]
    Look(Look),
    #[command(flatten)]
    About(About),
}

/// The workshop: people, keys, gauges, records.
#[derive(Debug, Subcommand)]
pub(crate) enum Shop {
    /// Found a workshop: its root key and the first lead's key.
    Found(workshop::Found),
    /// Make a key on this device and a file with which it asks to join.
    Ask(workshop::Ask),
    /// Give a key that asks to a person (a lead does this).
    Enrol(workshop::Enrol),
    /// Invite a person, or another device of one: a code and a square to photograph (a lead does this).
    Invite(join::InviteArgs),
    /// Make a key on this device and ask to be let in, by the code of an invite.
    Join(join::JoinArgs),
    /// Let in a key that asks by an invite, where it is not let in by itself (a lead does this).
    LetIn(let_in::LetIn),
    /// People, their keys and their roles.
    People(people::People),
    /// End a key: later entries of it do not count (a lead does this).
    Remove(remove::Remove),
    /// Let entries count that a removal cut off (a lead does this).
    Admit(remove::Admit),
    /// Change the PIN of a key.
    Pin(workshop::ChangePin),
    /// Add a gauge, or enter its check on a master.
    #[command(subcommand)]
    Gauge(gauge::Gauge),
    /// Gauges, and what is due.
    Gauges(gauge::Gauges),
    /// An engine definition: an example, the procedure that comes with the program, the check of one.
    #[command(subcommand)]
    Engine(engine::Engine),
    /// Start the record of an engine (a lead does this).
    Start(engine::Start),
    /// Records of the workshop.
    Records(engine::Records),
    /// Carry records by hand: out to a file, in from one.
    #[command(subcommand)]
    Carry(carry::Carry),
    /// Meet the relay: bring what is only here, take what is new.
    Sync(office::Sync),
    /// Meet the relay whenever there is something new, until ended.
    Watch(office::Watch),
    /// What was refused and is kept aside.
    Refused(carry::Refused),
}

/// Work on the engine.
#[derive(Debug, Subcommand)]
pub(crate) enum Bench {
    /// Enter a reading, or a whole set from a file.
    Read(Box<read::Read>),
    /// Log an operation; says what it ended.
    Operation(work::Work),
    /// Parts: received, allotted, fitted, taken out.
    #[command(subcommand)]
    Part(parts::Part),
    /// Parts out to somebody, or back.
    #[command(subcommand)]
    Custody(parts::Custody),
    /// Enter a nip, a stage or a slackening of fasteners.
    Tighten(tighten::Tighten),
    /// Enter a check, passed or failed.
    Checked(tighten::Checked),
    /// Sign a step, on what it rests on now.
    Sign(sign::Sign),
    /// Stop work on a step, with what was found.
    Stop(work::Stop),
    /// Take stopped work up again.
    Resume(work::Resume),
    /// Enter words.
    Note(work::Note),
    /// Enter a picture.
    Photo(work::Photo),
}

/// What settles, decides and closes.
#[derive(Debug, Subcommand)]
pub(crate) enum Settle {
    /// Withdraw an entry.
    Void(settle::Void),
    /// Accept a finding, with the reason (a lead does this).
    Concede(settle::Concede),
    /// Say which of two entries came first.
    Order(settle::Order),
    /// Set a limit or its decision rule anew (a lead does this).
    Limit(choose::Limit),
    /// Enter a decision (a lead does this).
    Decide(choose::Decide),
    /// Enter the customer's word on a decision (a lead does this).
    Approve(choose::Approve),
    /// Give a step to a person (a lead does this).
    Assign(choose::Assign),
    /// Hand the engine over (a lead does this).
    HandOver(hand_over::HandOver),
    /// Open the record again after a hand-over (a lead does this).
    Reopen(hand_over::Reopen),
}

/// Looking.
#[derive(Debug, Subcommand)]
pub(crate) enum Look {
    /// The record at a glance.
    Status(look::Status),
    /// What somebody has to look at, numbered, with the way out.
    Findings(look::Findings),
    /// Everything read and done on a feature, standing or not, and why.
    History(history::History),
    /// What can be done now, and what waits for what.
    Next(next::Next),
    /// One step: its evidence, its signatures, what it waits for.
    Step(next::Step),
    /// One entry, whole.
    Entry(history::Entry),
    /// Before work starts: what this build needs, and what of it the shop has not.
    Ready(ready::Ready),
    /// Bore sizes side by side: which cleans up every bore, and what each changes.
    Oversizes(oversizes::Oversizes),
    /// Print the record as one HTML file.
    Print(print::Print),
}

/// The program itself.
#[derive(Debug, Subcommand)]
pub(crate) enum About {
    /// Worksheets: list them, explain one, compute one; with --record from what stands in it.
    Work(worksheet::Work),
    /// Exit codes.
    Codes,
    /// Completions for a shell.
    Completions(about::Completions),
    /// Manual pages.
    Man(about::Man),
}
