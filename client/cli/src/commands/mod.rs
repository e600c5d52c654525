//! The commands, one file a family.

pub(crate) mod about;
pub(crate) mod carry;
pub(crate) mod choose;
pub(crate) mod engine;
mod everybody;
pub(crate) mod gauge;
mod gauge_again;
mod gauge_line;
pub(crate) mod hand_over;
pub(crate) mod history;
pub(crate) mod join;
pub(crate) mod let_in;
pub(crate) mod look;
pub(crate) mod next;
pub(crate) mod office;
pub(crate) mod oversizes;
pub(crate) mod parts;
pub(crate) mod people;
pub(crate) mod print;
pub(crate) mod read;
mod read_file;
mod read_twice;
mod read_typed;
pub(crate) mod ready;
pub(crate) mod remove;
pub(crate) mod settle;
pub(crate) mod sign;
mod slip;
pub(crate) mod tighten;
pub(crate) mod work;
pub(crate) mod worksheet;
pub(crate) mod workshop;

use gudgeon_core::entry::Payload;

use crate::args::{About, Bench, Command, Look, Settle, Shop};
use crate::desk::Desk;
use crate::failure::Failure;
use crate::out::Outcome;
use crate::settings::Settings;

/// Runs a command.
pub(crate) fn run(command: Command, settings: &Settings) -> Outcome {
    match command {
        Command::Shop(shop) => run_shop(shop, settings),
        Command::Bench(bench) => run_bench(bench, settings),
        Command::Settle(settle) => run_settle(settle, settings),
        Command::Look(look) => run_look(look, settings),
        Command::About(About::Work(args)) => worksheet::work(&args, settings),
        Command::About(About::Codes) => Ok(about::codes()),
        Command::About(About::Completions(args)) => Ok(about::completions(&args)),
        Command::About(About::Man(args)) => about::man(&args),
    }
}

fn run_shop(command: Shop, settings: &Settings) -> Outcome {
    match command {
        Shop::Found(args) => workshop::found(&args, settings),
        Shop::Ask(args) => workshop::ask(&args, settings),
        Shop::Enrol(args) => workshop::enrol(&args, settings),
        Shop::Pin(args) => workshop::change_pin(&args, settings),
        Shop::People(args) => people::people(&args, settings),
        Shop::Remove(args) => remove::remove(&args, settings),
        Shop::Admit(args) => remove::admit(&args, settings),
        Shop::Gauge(args) => gauge::gauge(args, settings),
        Shop::Gauges(args) => gauge::gauges(&args, settings),
        Shop::Engine(args) => engine::engine(&args, settings),
        Shop::Start(args) => engine::start(&args, settings),
        Shop::Records(args) => engine::records(&args, settings),
        Shop::Carry(args) => carry::carry(&args, settings),
        Shop::Invite(args) => join::invite(&args, settings),
        Shop::Join(args) => join::join(&args, settings),
        Shop::LetIn(args) => let_in::let_in(&args, settings),
        Shop::Sync(args) => office::sync(&args, settings),
        Shop::Watch(args) => office::watch(&args, settings),
        Shop::Refused(args) => carry::refused(&args, settings),
    }
}

fn run_bench(command: Bench, settings: &Settings) -> Outcome {
    match command {
        Bench::Read(args) => read::read(&args, settings),
        Bench::Operation(args) => work::work(&args, settings),
        Bench::Part(args) => parts::part(args, settings),
        Bench::Custody(args) => parts::custody(args, settings),
        Bench::Tighten(args) => tighten::tighten(&args, settings),
        Bench::Checked(args) => tighten::checked(&args, settings),
        Bench::Sign(args) => sign::sign(&args, settings),
        Bench::Stop(args) => work::stop(&args, settings),
        Bench::Resume(args) => work::resume(&args, settings),
        Bench::Note(args) => work::note(&args, settings),
        Bench::Photo(args) => work::photo(&args, settings),
    }
}

fn run_settle(command: Settle, settings: &Settings) -> Outcome {
    match command {
        Settle::Void(args) => settle::void(&args, settings),
        Settle::Concede(args) => settle::concede(&args, settings),
        Settle::Order(args) => settle::order(&args, settings),
        Settle::Limit(args) => choose::limit(&args, settings),
        Settle::Decide(args) => choose::decide(&args, settings),
        Settle::Approve(args) => choose::approve(&args, settings),
        Settle::Assign(args) => choose::assign(&args, settings),
        Settle::HandOver(args) => hand_over::hand_over(&args, settings),
        Settle::Reopen(args) => hand_over::reopen(&args, settings),
    }
}

fn run_look(command: Look, settings: &Settings) -> Outcome {
    match command {
        Look::Status(args) => look::status(&args, settings),
        Look::Findings(args) => look::findings(&args, settings),
        Look::History(args) => history::history(&args, settings),
        Look::Entry(args) => history::entry(&args, settings),
        Look::Oversizes(args) => oversizes::oversizes(&args, settings),
        Look::Next(args) => next::next(&args, settings),
        Look::Step(args) => next::step(&args, settings),
        Look::Ready(args) => ready::ready(&args, settings),
        Look::Print(args) => print::print(&args, settings),
    }
}

/// Enters one statement that is made from what the record shows.
fn enter_one(
    settings: &Settings,
    make: impl FnOnce(&Desk, &crate::desk::Sight) -> Result<Payload, Failure>,
) -> Outcome {
    let mut desk = Desk::open(settings)?;
    let sight = desk.sight()?;
    let payload = make(&desk, &sight)?;
    Ok(desk.enter(sight, &[payload])?.answer())
}
