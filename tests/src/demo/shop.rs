//! The invented shop: homes on disk, and the command line under test.

use std::collections::BTreeSet;
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

impl Sight {
    /// The bytes that must be the same everywhere.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        self.assessment.to_bytes(&self.record, &self.workshop)
    }
}

impl Shop {
    /// A shop in an empty directory.
    ///
    /// # Errors
    /// Where the directory cannot be made.
    pub fn open(binary: PathBuf, directory: &Path) -> Result<Self, Failure> {
        if directory.join("homes").exists() {
            std::fs::remove_dir_all(directory.join("homes")).map_err(|e| e.to_string())?;
        }
        std::fs::create_dir_all(directory.join("homes")).map_err(|e| e.to_string())?;
        let directory = directory.to_owned();
        Ok(Self { binary, directory, said_saved: BTreeSet::new(), commands: 0 })
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

    /// Runs one command as somebody; it must succeed.
    ///
    /// # Errors
    /// What the command says where it does not.
    pub fn run(&mut self, who: &str, arguments: &[&str]) -> Result<Value, Failure> {
        let output = Command::new(&self.binary)
            .arg("--home")
            .arg(self.home(who))
            .arg("--json")
            .args(arguments)
            .env("GUDGEON_PIN", PIN)
            .stdin(Stdio::null())
            .output()
            .map_err(|error| format!("{}: {error}", self.binary.display()))?;
        self.commands += 1;
        let said = String::from_utf8_lossy(&output.stdout);
        if !output.status.success() {
            let talk = String::from_utf8_lossy(&output.stderr);
            return Err(format!("gudgeon {} as {who}: {}\n{said}{talk}", arguments.join(" "), output.status));
        }
        let value: Value = serde_json::from_str(&said).map_err(|error| format!("{error}: {said}"))?;
        for id in value["saved"].as_array().into_iter().flatten() {
            self.said_saved.extend(id.as_str().map(str::to_owned));
        }
        Ok(value)
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

    /// Carries all that `from` holds to the others, by file.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn carry(&mut self, from: &str, to: &[&str]) -> Result<(), Failure> {
        let file = self.file(&format!("from-{from}.gudgeon"));
        if Path::new(&file).exists() {
            std::fs::remove_file(&file).map_err(|error| error.to_string())?;
        }
        self.run(from, &["carry", "out", &file])?;
        for other in to.iter().filter(|other| **other != from) {
            self.run(other, &["carry", "in", &file])?;
        }
        Ok(())
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
