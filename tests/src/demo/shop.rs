//! The invented shop: homes on disk, and the command line under test.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use gudgeon_core::assess::{Assessment, Record, Workshop, assess};
use gudgeon_core::entry::DocumentId;
use serde_json::Value;

/// What went wrong, in words.
pub type Failure = String;

/// The PIN of everybody in the demo.
const PIN: &str = "2468";

/// Directories and counts of one play.
pub struct Shop {
    binary: PathBuf,
    /// Where homes, bundles and the printed record are.
    pub directory: PathBuf,
    /// Every entry that some command said was saved.
    pub said_saved: BTreeSet<String>,
    /// Commands run.
    pub commands: usize,
    /// Files carried from one home to another.
    pub carried: usize,
    /// How many of each person's commands are known on each home.
    known: BTreeMap<String, BTreeMap<String, usize>>,
}

/// A record as one home sees it.
pub struct Sight {
    /// The record.
    pub record: Record,
    /// The workshop.
    pub workshop: Workshop,
    /// What follows.
    pub assessment: Assessment,
}

impl Shop {
    /// A shop in a directory, from which an earlier play is taken away.
    ///
    /// # Errors
    /// Where the directory cannot be made.
    pub fn open(binary: PathBuf, directory: &Path) -> Result<Self, Failure> {
        for name in ["homes", "carried"] {
            let place = directory.join(name);
            if place.exists() {
                std::fs::remove_dir_all(&place).map_err(|error| format!("{}: {error}", place.display()))?;
            }
            std::fs::create_dir_all(&place).map_err(|error| format!("{}: {error}", place.display()))?;
        }
        let directory = directory.to_owned();
        let (said_saved, known) = (BTreeSet::new(), BTreeMap::new());
        Ok(Self { binary, directory, said_saved, commands: 0, carried: 0, known })
    }

    /// Directory of somebody's home.
    #[must_use]
    pub fn home(&self, who: &str) -> PathBuf {
        self.directory.join("homes").join(who)
    }

    /// A file in the demo's directory.
    #[must_use]
    pub fn file(&self, name: &str) -> String {
        self.directory.join(name).display().to_string()
    }

    /// A file that goes from hand to hand.
    #[must_use]
    pub fn carried_file(&self, name: &str) -> String {
        self.directory.join("carried").join(name).display().to_string()
    }

    /// Runs one command as somebody; it must succeed.
    ///
    /// # Errors
    /// What the command says where it does not.
    pub fn run(&mut self, who: &str, arguments: &[&str]) -> Result<Value, Failure> {
        let said = self.said(who, arguments)?;
        let value: Value = serde_json::from_str(&said).map_err(|error| format!("{error}: {said}"))?;
        let saved = value["saved"].as_array().into_iter().flatten();
        self.said_saved.extend(saved.filter_map(|id| id.as_str()).map(str::to_owned));
        if value.get("saved").is_some() {
            *self.known.entry(who.to_owned()).or_default().entry(who.to_owned()).or_default() += 1;
        }
        Ok(value)
    }

    /// Runs one command as somebody and gives what it wrote to stdout, byte by byte.
    ///
    /// # Errors
    /// What the command says where it does not succeed.
    pub fn said(&mut self, who: &str, arguments: &[&str]) -> Result<String, Failure> {
        let output = Command::new(&self.binary)
            .arg("--home")
            .arg(self.home(who))
            .arg("--json")
            .args(arguments)
            .env("GUDGEON_PIN", PIN)
            .stdin(Stdio::null())
            .output()
            .map_err(|error| {
                format!("{}: {error}; `cargo xtask demo` builds it and says where", self.binary.display())
            })?;
        self.commands += 1;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        if output.status.success() {
            return Ok(said);
        }
        let talk = String::from_utf8_lossy(&output.stderr);
        Err(format!("gudgeon {} as {who}: {}\n{said}{talk}", arguments.join(" "), output.status))
    }

    /// Runs a command and gives the first entry it saved.
    ///
    /// # Errors
    /// As [`Shop::run`], and where nothing was saved.
    pub fn enter(&mut self, who: &str, arguments: &[&str]) -> Result<String, Failure> {
        let value = self.run(who, arguments)?;
        let saved = value["saved"][0].as_str().map(str::to_owned);
        saved.ok_or_else(|| format!("gudgeon {} saved nothing: {value}", arguments.join(" ")))
    }

    /// Writes all that a home holds to a file.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn carry_out(&mut self, from: &str) -> Result<String, Failure> {
        let file = self.carried_file(&format!("from-{from}.gudgeon"));
        if Path::new(&file).exists() {
            std::fs::remove_file(&file).map_err(|error| error.to_string())?;
        }
        self.run(from, &["carry", "out", &file])?;
        Ok(file)
    }

    /// Carries all that `from` holds to the others, by file.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn carry(&mut self, from: &str, to: &[&str]) -> Result<(), Failure> {
        self.carry_with(from, to, &[])
    }

    /// Carries to homes without a workshop: the root's digits, as printed, go with it.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn join(&mut self, from: &str, to: &[&str], root: &str) -> Result<(), Failure> {
        self.carry_with(from, to, &["--root", root])
    }

    fn carry_with(&mut self, from: &str, to: &[&str], more: &[&str]) -> Result<(), Failure> {
        let file = self.carry_out(from)?;
        for other in to.iter().filter(|other| **other != from) {
            self.run(other, &[&["carry", "in", &file], more].concat())?;
            self.carried += 1;
            let news = self.known.get(from).cloned().unwrap_or_default();
            let held = self.known.entry((*other).to_owned()).or_default();
            for (author, count) in news {
                let known = held.entry(author).or_default();
                *known = count.max(*known);
            }
        }
        Ok(())
    }

    /// Carries to one person what the others have that is new to them.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn catch_up(&mut self, who: &str, others: &[&str]) -> Result<(), Failure> {
        for other in others.iter().filter(|other| **other != who) {
            if self.has_news(other, who) {
                self.carry(other, &[who])?;
            }
        }
        Ok(())
    }

    fn has_news(&self, from: &str, to: &str) -> bool {
        let count =
            |who: &str, author: &str| self.known.get(who).and_then(|known| known.get(author)).copied();
        let mut authors = self.known.get(from).into_iter().flat_map(BTreeMap::keys);
        authors.any(|author| count(from, author) > count(to, author))
    }

    /// Carries until everybody has what anybody has.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn merge(&mut self, people: &[&str]) -> Result<(), Failure> {
        let Some((hub, _)) = people.split_first() else { return Ok(()) };
        self.catch_up(hub, people)?;
        let behind: Vec<&str> = people.iter().copied().filter(|who| self.has_news(hub, who)).collect();
        self.carry(hub, &behind)
    }

    /// The record as somebody's home has it now.
    ///
    /// # Errors
    /// Where the home cannot be read or holds no record.
    pub fn look(&self, who: &str) -> Result<Sight, Failure> {
        let words = |error: gudgeon_client::HomeError| error.to_string();
        let home = Home::open(&self.home(who), Native).map_err(words)?;
        let workshop = home.workshop().ok_or("no workshop")?;
        let record: DocumentId = home.records().next().ok_or("no record")?;
        let workshop = Workshop::read(home.log(workshop).map_err(words)?.clone());
        let record = Record::read(home.log(record).map_err(words)?.clone());
        let assessment = assess(&record, &workshop);
        Ok(Sight { record, workshop, assessment })
    }
}
