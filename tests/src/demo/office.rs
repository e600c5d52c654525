//! The office of the demo: a real relay process, what its store holds once it is stopped, and
//! somebody who brings it what it must not take.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use gudgeon_client::home::Home;
use gudgeon_client::keys::Pin;
use gudgeon_client::sync::native::{Relay, meet};
use gudgeon_client::sync::{Ask, Engine, Identity, Input, Reply};
use gudgeon_client::world::Native;
use gudgeon_core::document::{Document, Refused};
use gudgeon_relay::store::{OnDisk, Options, Store as _};
use rustix::process::{Pid, Signal, kill_process};

use super::ended;
use super::forge::Forged;
use super::shop::{Failure, PIN};

/// A port of this machine that is free.
const ANY: &str = "127.0.0.1:0";

/// How long a relay that is told to stop may take.
const DRAIN: Duration = Duration::from_secs(30);

/// A running relay; ended with the value, whatever becomes of the play.
#[derive(Debug)]
pub struct Office {
    child: Child,
    binary: PathBuf,
    data: PathBuf,
    /// Its address, such as `http://127.0.0.1:40123`.
    pub url: String,
    talk: BufReader<ChildStdout>,
}

/// What a stopped relay's store holds.
#[derive(Debug)]
pub(super) struct Kept {
    /// Entries of all documents.
    pub(super) entries: BTreeSet<String>,
    /// What was refused and is kept aside.
    pub(super) refused: usize,
}

impl Office {
    /// Starts a relay over `data`: at a free port, or at the address of one before it.
    /// What it logs is added to a file beside its data.
    ///
    /// # Errors
    /// Where it does not start, with what it said.
    pub fn open(binary: &Path, data: &Path, before: Option<&str>) -> Result<Self, Failure> {
        let listen = before.and_then(|url| url.strip_prefix("http://")).unwrap_or(ANY);
        let log = data.with_extension("log");
        let file = File::options().create(true).append(true).open(&log);
        let file = file.map_err(|error| format!("{}: {error}", log.display()))?;
        let mut command = Command::new(binary);
        command
            .args(["serve", "--listen", listen, "--log", "info", "--data"])
            .arg(data)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(file);
        let mut child = ended::start(&mut command).map_err(|error| {
            format!("{}: {error}; `cargo xtask demo` builds it and says where", binary.display())
        })?;
        let talk = child.stdout.take().map(BufReader::new).ok_or("the relay has no stdout")?;
        let (binary, data) = (binary.to_owned(), data.to_owned());
        let mut office = Self { child, binary, data, url: String::new(), talk };
        let mut line = String::new();
        office.talk.read_line(&mut line).map_err(|error| error.to_string())?;
        let url = line.trim().strip_prefix("listening at ");
        office.url = url.ok_or_else(|| format!("the relay did not start; see {}", log.display()))?.to_owned();
        Ok(office)
    }

    /// Tells it to stop, and waits until it has.
    ///
    /// # Errors
    /// Where it does not stop in time, or not in peace.
    pub fn stop(&mut self) -> Result<(), Failure> {
        let ended = match self.child.try_wait().map_err(|error| error.to_string())? {
            Some(status) => status,
            None => self.drained()?,
        };
        ended::over(&self.child);
        if ended.success() { Ok(()) } else { Err(format!("the relay ended with {ended}")) }
    }

    fn drained(&mut self) -> Result<ExitStatus, Failure> {
        kill_process(Pid::from_child(&self.child), Signal::TERM).map_err(|error| error.to_string())?;
        let told = Instant::now();
        while told.elapsed() < DRAIN {
            if let Some(status) = self.child.try_wait().map_err(|error| error.to_string())? {
                return Ok(status);
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Err(format!("the relay did not stop within {DRAIN:?} of being told to"))
    }

    /// Stops it, takes away all that it keeps, and starts it anew at the same port.
    ///
    /// # Errors
    /// Where one of these fails.
    pub(super) fn wipe(&mut self) -> Result<(), Failure> {
        self.stop()?;
        fs::remove_dir_all(&self.data).map_err(|error| format!("{}: {error}", self.data.display()))?;
        *self = Self::open(&self.binary, &self.data, Some(&self.url))?;
        Ok(())
    }

    /// Stops it, has its own `check` look at all it keeps, and reads that.
    ///
    /// # Errors
    /// Where anything in it is not sound, or `check` counts other entries than are there.
    pub(super) fn close(&mut self) -> Result<Kept, Failure> {
        self.stop()?;
        let checked = Command::new(&self.binary).args(["check", "--data"]).arg(&self.data).output();
        let checked = checked.map_err(|error| error.to_string())?;
        let said = String::from_utf8_lossy(&checked.stdout);
        if !checked.status.success() || said.contains("DAMAGED") {
            return Err(format!("the relay's store: {said}{}", String::from_utf8_lossy(&checked.stderr)));
        }
        let kept = self.kept()?;
        let counted: usize = said.lines().filter_map(entries_in).sum();
        if counted == kept.entries.len() {
            return Ok(kept);
        }
        Err(format!("the relay's check counts {counted} entries, its store holds {}", kept.entries.len()))
    }

    fn kept(&self) -> Result<Kept, Failure> {
        let words = |error: gudgeon_relay::store::StoreError| error.to_string();
        let store = OnDisk::open(&self.data, Options::default()).map_err(words)?;
        let (mut entries, mut refused) = (BTreeSet::new(), 0);
        for id in store.documents().map_err(words)? {
            let mut document = Document::new();
            document.receive(&store.load(id).map_err(words)?, &mut |_, _| Ok(()));
            entries.extend(document.entries().map(|put| put.id.to_hex()));
        }
        for id in store.refused_documents().map_err(words)? {
            refused += store.refused(id).map_err(words)?.len();
        }
        Ok(Kept { entries, refused })
    }
}

impl Drop for Office {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing left to do.
        let _gone = self.child.kill();
        ended::over(&self.child);
        let _waited = self.child.wait();
    }
}

/// The count in a line of `check`, such as `0a1b2c  sound  12 changes, 34 entries`.
fn entries_in(line: &str) -> Option<usize> {
    line.strip_suffix(" entries")?.rsplit(' ').next()?.parse().ok()
}

/// Brings a forged change to the relay in a session of the home's own key, and gives what the
/// relay refused. The home itself never holds it: only a program that is not ours does this.
pub(super) fn offer(home: &Path, url: &str, forged: &Forged) -> Result<Vec<Refused>, Failure> {
    let words = |error: &dyn std::fmt::Display| error.to_string();
    let mut home = Home::open(home, Native).map_err(|e| words(&e))?;
    let workshop = home.workshop().ok_or("no workshop")?;
    let key = home.keys().map_err(|e| words(&e))?.first().ok_or("no key")?.key;
    let author = home.unlock(key, &Pin::new(PIN).map_err(|e| words(&e))?).map_err(|e| words(&e))?;
    let mut engine = Engine::new(workshop, vec![Identity { author, invite: false }]);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
    let answer = runtime.map_err(|e| words(&e))?.block_on(async {
        let mut relay = Relay::at(url).map_err(|e| words(&e))?;
        let met = meet(&mut relay, &mut engine, &mut home).await.map_err(|e| words(&e))?;
        met.map_err(|trouble| format!("{trouble:?}"))?;
        let session = engine.session().ok_or("no session")?.to_vec();
        let changes = vec![forged.change.clone()];
        let ask = Ask::Exchange { session, document: forged.document, heads: forged.heads.clone(), changes };
        Ok::<Input, Failure>(relay.ask(ask).await)
    })?;
    match answer {
        Input::Reply(Reply::Exchanged(answer)) => Ok(answer.refused),
        other @ (Input::Begin | Input::Reply(_) | Input::Failed(_)) => {
            Err(format!("no exchange came about: {other:?}"))
        }
    }
}
