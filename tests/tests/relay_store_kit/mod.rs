//! What the tests that stop a relay's store share: a writer that tells what was made durable,
//! run as a process of its own, and the comparison afterwards.
//!
//! The writer is the test program started again, told by an environment variable. What it
//! writes follows from document and position alone, so that the reader knows every byte.
#![allow(dead_code, unreachable_pub, clippy::print_stdout, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use gudgeon_core::entry::DocumentId;
use gudgeon_relay::store::{Append, OnDisk, Options, Store, StoreError, snapshot};
use sha2::{Digest as _, Sha256};

const DIRECTORY: &str = "GUDGEON_TEST_STORE";
const MANNER: &str = "GUDGEON_TEST_STORE_MANNER";
const DOCUMENTS: u8 = 4;

/// How often a change has which size, of 64: entries mostly, and photos.
const SIZES: [(u8, usize); 6] =
    [(52, 100), (4, 0), (4, 16 * 1024), (2, 130_000), (1, 600_000), (1, 1024 * 1024)];

/// How a writer behaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// Says so once it is flushed.
    Honest,
    /// Says so and never flushes: to see that the test sees it.
    Careless,
}

/// Repeatable choices.
pub struct Dice(u64);

impl Dice {
    pub fn new() -> Self {
        let seed = u64::from(std::process::id());
        println!("seed {seed}");
        Self(seed)
    }

    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 += 1;
        let digest = Sha256::digest(self.0.to_be_bytes());
        u64::from_be_bytes(*digest.first_chunk().unwrap()) % bound
    }
}

fn document(number: u8) -> DocumentId {
    DocumentId::new([number; 32])
}

/// The change that belongs at a position.
fn row(number: u8, at: u64) -> Append {
    let digest = Sha256::digest([&[number][..], &at.to_be_bytes()].concat());
    let mut dice = digest[0] % 64;
    let size = SIZES.iter().find(|(often, _)| {
        let hit = dice < *often;
        dice = dice.saturating_sub(*often);
        hit
    });
    let raw: Vec<u8> = digest.iter().copied().cycle().take(size.unwrap().1).collect();
    Append { document: document(number), at, raw: raw.into() }
}

fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\n{line}").unwrap();
    out.flush().unwrap();
}

/// Becomes the writer if this process was started as one, and answers so at its end.
pub fn wrote_if_told() -> bool {
    let Some(directory) = std::env::var_os(DIRECTORY).map(PathBuf::from) else { return false };
    let careless = std::env::var_os(MANNER).is_some_and(|manner| manner == "Careless");
    if let Err(error) = write(&directory, careless) {
        say(&format!("failed {:?}", error.trouble()));
        println!("{error}; {}", error.hint());
    }
    true
}

/// Writes until the store fails or somebody ends this process.
fn write(directory: &Path, careless: bool) -> Result<(), StoreError> {
    let mut store = OnDisk::open(&directory.join("store"), Options::default())?;
    let mut next = (0..DOCUMENTS).map(|n| held(&store, n)).collect::<Result<Vec<_>, _>>()?;
    for turn in next.iter().sum::<u64>().. {
        store.append(&group(turn, &mut next))?;
        store.set_setting("turn", &turn.to_be_bytes())?;
        if !careless {
            store.flush()?;
        }
        tell(&next);
        if turn % 20 == 0 {
            let summary = snapshot::back_up(&store, &directory.join(format!("backup-{turn}")))?;
            say(&format!("backup {turn} {}", summary.changes));
        }
    }
    Ok(())
}

/// One to eight changes, for one document and another.
fn group(turn: u64, next: &mut [u64]) -> Vec<Append> {
    let wanted = 1 + turn % 8;
    let rows = (0..wanted).map(|i| {
        let number = u8::try_from((turn + i / 3) % u64::from(DOCUMENTS)).unwrap();
        let at = &mut next[usize::from(number)];
        *at += 1;
        row(number, *at - 1)
    });
    rows.collect()
}

fn tell(next: &[u64]) {
    let counts: Vec<String> = next.iter().map(u64::to_string).collect();
    say(&format!("kept {}", counts.join(" ")));
}

/// What a writer said: how many changes of each document, and of each backup.
#[derive(Clone, Debug, Default)]
pub struct Said {
    pub kept: Vec<u64>,
    pub backups: BTreeMap<u64, u64>,
    /// The trouble with which it ended, if it did.
    pub failed: Option<String>,
}

impl Said {
    fn take(&mut self, line: &str) {
        let (word, numbers) = line.split_once(' ').unwrap_or((line, ""));
        if word == "failed" {
            self.failed = Some(numbers.to_owned());
        }
        let Ok(numbers) = numbers.split(' ').map(str::parse).collect::<Result<Vec<u64>, _>>() else { return };
        match (word, numbers.as_slice()) {
            ("kept", kept) if kept.len() == usize::from(DOCUMENTS) => self.kept = kept.to_vec(),
            ("backup", [turn, changes]) => drop(self.backups.insert(*turn, *changes)),
            _ => {}
        }
    }

    /// Takes over what a later writer said.
    pub fn extend(&mut self, later: Self) {
        self.backups.extend(later.backups);
        self.failed = later.failed;
        if !later.kept.is_empty() {
            self.kept = later.kept;
        }
    }

    /// Sum of all changes said to be kept.
    pub fn changes(&self) -> u64 {
        self.kept.iter().sum()
    }
}

/// A writer at work; killed when it is dropped.
pub struct Writer {
    child: Child,
    reader: Option<JoinHandle<Said>>,
    /// Lines heard so far.
    heard: Arc<AtomicU64>,
}

impl Writer {
    /// Starts the named test again as a writer.
    pub fn start(test: &str, directory: &Path, manner: Manner) -> Self {
        Self::spawn(Command::new(std::env::current_exe().unwrap()), test, directory, manner)
    }

    /// The same, with no room beyond `blocks` of 512 or 1,024 bytes in any one file.
    pub fn start_within(blocks: u32, test: &str, directory: &Path) -> Self {
        let limits = format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\"");
        let mut shell = Command::new("sh");
        shell.args(["-c", &limits]).arg(std::env::current_exe().unwrap());
        Self::spawn(shell, test, directory, Manner::Honest)
    }

    fn spawn(mut command: Command, test: &str, directory: &Path, manner: Manner) -> Self {
        let mut child = command
            .args(["--exact", test, "--nocapture", "--test-threads=1"])
            .env(DIRECTORY, directory)
            .env(MANNER, format!("{manner:?}"))
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .unwrap();
        let output = BufReader::new(child.stdout.take().unwrap());
        let heard = Arc::new(AtomicU64::new(0));
        let counter = Arc::clone(&heard);
        let reader = std::thread::spawn(move || {
            let mut said = Said::default();
            for line in output.lines().map_while(Result::ok) {
                counter.fetch_add(u64::from(line.starts_with("kept ")), Ordering::Relaxed);
                said.take(&line);
            }
            said
        });
        Self { child, reader: Some(reader), heard }
    }

    pub fn pid(&self) -> u32 {
        self.child.id()
    }

    /// Kills it with no warning and answers what it said until then.
    pub fn kill(mut self) -> Said {
        assert!(self.child.try_wait().unwrap().is_none(), "the writer ended by itself");
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.reader.take().unwrap().join().unwrap()
    }
}

impl Writer {
    /// Waits for a moment at random: often in the middle of its work, whatever the machine
    /// is busy with, and sometimes while it still opens the store.
    pub fn wait_at_random(&mut self, dice: &mut Dice) {
        if dice.below(4) > 0 {
            let flushes = 1 + dice.below(30);
            self.wait_until(|writer| writer.heard.load(Ordering::Relaxed) >= flushes);
        }
        std::thread::sleep(Duration::from_micros(dice.below(30_000)));
    }

    /// Waits until it fails by itself.
    pub fn fails(mut self) -> Said {
        self.wait_until(|writer| writer.child.try_wait().unwrap().is_some());
        self.reader.take().unwrap().join().unwrap()
    }

    /// Looks every millisecond, for a minute at most.
    fn wait_until(&mut self, done: impl Fn(&mut Self) -> bool) {
        for _ in 0..60_000 {
            if done(self) {
                return;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        panic!("the writer hangs");
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        // already gone after `kill`; a test that fails leaves no writer behind
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// Opens a store again and compares it with what its writer said; answers what is wrong.
pub fn lost(directory: &Path, said: &Said) -> Vec<String> {
    let mut wrong = Vec::new();
    let store = match OnDisk::open(&directory.join("store"), Options::default()) {
        Ok(store) => store,
        Err(error) => return vec![format!("not to be opened: {error}")],
    };
    for (number, kept) in (0..).zip(&said.kept) {
        match held(&store, number) {
            Ok(held) if held >= *kept => {}
            Ok(held) => wrong.push(format!("document {number}: {held} of {kept} changes")),
            Err(error) => wrong.push(format!("document {number}: {error}")),
        }
    }
    for (turn, changes) in &said.backups {
        match snapshot::check(&directory.join(format!("backup-{turn}"))) {
            Ok(summary) if summary.changes == *changes => {}
            other => wrong.push(format!("backup {turn}: {other:?} in place of {changes} changes")),
        }
    }
    wrong
}

/// How many changes a document holds, each of them what it should be.
fn held(store: &OnDisk, number: u8) -> Result<u64, StoreError> {
    let mut count = 0;
    store.walk(document(number), &mut |at, raw| {
        assert!(*row(number, at).raw == *raw, "change {at} of document {number} was altered");
        count += 1;
        Ok(())
    })?;
    Ok(count)
}
