//! A demo that is told to end takes its relay with it, in the middle of the play as well.
//!
//! Nothing can be done where it is killed outright (SIGKILL): then the relay stays.

use std::process::{Child, Command};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::channel;
use std::sync::{Mutex, MutexGuard, PoisonError};

use rustix::process::{Pid, Signal, WaitId, WaitIdOptions, kill_process, waitid};
use tokio::signal::unix::{SignalKind, signal};

use super::shop::Failure;

/// The relay that runs, and whether the demo was told to end: then no other one is started.
static RUNNING: Mutex<Running> = Mutex::new(Running { relay: None, told: false });

struct Running {
    relay: Option<Pid>,
    told: bool,
}

/// The play is over, and ending is what is waited for.
static STAYS: AtomicBool = AtomicBool::new(false);

fn running() -> MutexGuard<'static, Running> {
    RUNNING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Starts a relay, which is ended with the demo from now on.
pub(super) fn start(relay_program: &mut Command) -> std::io::Result<Child> {
    let mut running = running();
    if running.told {
        return Err(std::io::Error::other("the demo was told to end"));
    }
    let child = relay_program.spawn()?;
    running.relay = Some(Pid::from_child(&child));
    Ok(child)
}

/// A relay has ended: its number may soon be another program's.
pub(super) fn over(child: &Child) {
    let mut running = running();
    if running.relay == Some(Pid::from_child(child)) {
        running.relay = None;
    }
}

/// How it came to an end.
#[derive(Debug)]
pub enum Ended {
    /// The work is done, or failed.
    Done(Result<(), Failure>),
    /// It was told to end, and the relay has ended; with the code to end with.
    Told(u8),
}

/// Does the work on a thread of its own, until it is done or SIGTERM or ctrl-C comes; then the
/// relay is ended. Whatever else the work holds goes with the process.
///
/// # Errors
/// Where the system gives no ear for signals, or no thread.
pub fn until_told(work: impl FnOnce() -> Result<(), Failure> + Send + 'static) -> Result<Ended, Failure> {
    let words = |error: std::io::Error| error.to_string();
    let (ended, ends) = channel();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(words)?;
    let ears = runtime.block_on(async {
        Ok::<_, std::io::Error>((signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?))
    });
    let (mut told, mut typed) = ears.map_err(words)?;
    let tells = ended.clone();
    let thread = |name: &str| std::thread::Builder::new().name(name.to_owned());
    thread("told")
        .spawn(move || {
            let signal = runtime.block_on(async {
                tokio::select! {
                    _ = told.recv() => Signal::TERM,
                    _ = typed.recv() => Signal::INT,
                }
            });
            tells.send(Ended::Told(end(signal)))
        })
        .map_err(words)?;
    thread("work").spawn(move || ended.send(Ended::Done(work()))).map_err(words)?;
    loop {
        match ends.recv() {
            // The work fails where its relay goes away: that is no news, and the other word comes.
            Ok(Ended::Done(_)) if running().told => {}
            Ok(ended) => return Ok(ended),
            Err(_) => return Err("the work ended without a word".to_owned()),
        }
    }
}

/// Until the demo is told to end, which is then a good end.
pub fn stay() -> ! {
    STAYS.store(true, Ordering::SeqCst);
    loop {
        std::thread::park();
    }
}

/// Ends the relay; the code to end with.
fn end(signal: Signal) -> u8 {
    let relay = {
        let mut running = running();
        running.told = true;
        running.relay
    };
    if let Some(pid) = relay {
        // An error means that it has ended by itself. It is left to be waited for by whoever
        // started it, so that its number stays its own.
        let _gone = kill_process(pid, Signal::TERM);
        let _ended = waitid(WaitId::Pid(pid), WaitIdOptions::EXITED | WaitIdOptions::NOWAIT);
    }
    if STAYS.load(Ordering::SeqCst) { 0 } else { u8::try_from(128 + signal.as_raw()).unwrap_or(1) }
}
