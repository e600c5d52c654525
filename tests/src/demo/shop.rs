//! The invented shop: homes on disk, an office, and the command line under test.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use gudgeon_client::home::Home;
use gudgeon_client::world::Native;
use gudgeon_core::assess::{Assessment, Record, Workshop, assess};
use gudgeon_core::entry::DocumentId;
use serde_json::Value;

use super::office::Office;

/// What went wrong, in words.
pub type Failure = String;

/// The PIN of everybody in the demo.
pub(super) const PIN: &str = "2468";

/// The programs under test.
#[derive(Clone, Debug)]
pub struct Programs {
    /// The command line.
    pub gudgeon: PathBuf,
    /// The relay.
    pub relay: PathBuf,
}

/// Directory of the relay's data, in the demo's directory.
pub const OFFICE: &str = "office";

/// Directories and counts of one play.
pub struct Shop {
    programs: Programs,
    /// The office's relay.
    pub office: Office,
    /// Where homes, bundles and the printed record are.
    pub directory: PathBuf,
    /// Every entry that some command said was saved.
    pub said_saved: BTreeSet<String>,
    /// Commands run.
    pub commands: usize,
    /// Files carried from one home to another.
    pub carried: usize,
    /// Meetings with the relay.
    pub meetings: usize,
    /// Homes with something that the office has not heard of.
    untold: BTreeSet<String>,
    /// How often the office got something new.
    office_news: usize,
    /// How much of that each home had heard when it was last there.
    heard: BTreeMap<String, usize>,
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
    /// A shop in a directory, from which an earlier play is taken away; its relay runs.
    ///
    /// # Errors
    /// Where the directory cannot be made or the relay does not start.
    pub fn open(programs: Programs, directory: &Path) -> Result<Self, Failure> {
        for name in ["homes", "carried", OFFICE] {
            let place = directory.join(name);
            if place.exists() {
                std::fs::remove_dir_all(&place).map_err(|error| format!("{}: {error}", place.display()))?;
            }
            std::fs::create_dir_all(&place).map_err(|error| format!("{}: {error}", place.display()))?;
        }
        let log = directory.join(OFFICE).with_extension("log");
        if log.exists() {
            std::fs::remove_file(&log).map_err(|error| format!("{}: {error}", log.display()))?;
        }
        let office = Office::open(&programs.relay, &directory.join(OFFICE), None)?;
        Ok(Self {
            programs,
            office,
            directory: directory.to_owned(),
            said_saved: BTreeSet::new(),
            commands: 0,
            carried: 0,
            meetings: 0,
            untold: BTreeSet::new(),
            office_news: 0,
            heard: BTreeMap::new(),
        })
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
            self.untold.insert(who.to_owned());
        }
        Ok(value)
    }

    /// Runs one command as somebody and gives what it wrote to stdout, byte by byte.
    ///
    /// # Errors
    /// What the command says where it does not succeed.
    pub fn said(&mut self, who: &str, arguments: &[&str]) -> Result<String, Failure> {
        let output = self.output(who, arguments)?;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        if output.status.success() {
            return Ok(said);
        }
        let talk = String::from_utf8_lossy(&output.stderr);
        Err(format!("gudgeon {} as {who}: {}\n{said}{talk}", arguments.join(" "), output.status))
    }

    /// Runs one command as somebody that must be turned down, and gives why.
    ///
    /// # Errors
    /// Where it ends otherwise than with this exit code.
    pub fn turned_down(&mut self, who: &str, arguments: &[&str], code: i32) -> Result<String, Failure> {
        let output = self.output(who, arguments)?;
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        if output.status.code() != Some(code) {
            return Err(format!(
                "gudgeon {} as {who}: {}, not {code}\n{said}",
                arguments.join(" "),
                output.status
            ));
        }
        let value: Value = serde_json::from_str(&said).map_err(|error| format!("{error}: {said}"))?;
        Ok(value["error"]["cause"].as_str().unwrap_or_default().to_owned())
    }

    fn output(&mut self, who: &str, arguments: &[&str]) -> Result<Output, Failure> {
        let gudgeon = &self.programs.gudgeon;
        let output = Command::new(gudgeon)
            .arg("--home")
            .arg(self.home(who))
            .arg("--json")
            .args(arguments)
            .env("GUDGEON_PIN", PIN)
            .stdin(Stdio::null())
            .output()
            .map_err(|error| {
                format!("{}: {error}; `cargo xtask demo` builds it and says where", gudgeon.display())
            })?;
        self.commands += 1;
        Ok(output)
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

    /// Carries all that `from` holds to a home without a workshop, by hand: the root's digits,
    /// as printed, go with the file.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn hand_over_file(&mut self, from: &str, to: &str, root: &str) -> Result<(), Failure> {
        let file = self.carry_out(from)?;
        self.run(to, &["carry", "in", &file, "--root", root])?;
        self.carried += 1;
        Ok(())
    }

    /// Meets the relay for the first time: its address is kept from then on.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn first_sync(&mut self, who: &str) -> Result<Value, Failure> {
        let url = self.office.url.clone();
        self.met(who, &["sync", "--relay", &url])
    }

    /// Meets the relay.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn sync(&mut self, who: &str) -> Result<Value, Failure> {
        self.met(who, &["sync"])
    }

    fn met(&mut self, who: &str, arguments: &[&str]) -> Result<Value, Failure> {
        let met = self.run(who, arguments)?;
        self.meetings += 1;
        let let_in = met["let_in"].as_array().is_some_and(|keys| !keys.is_empty());
        self.office_news += usize::from(met["went"] != 0 || met["brought"] == true || let_in);
        self.untold.remove(who);
        self.heard.insert(who.to_owned(), self.office_news);
        Ok(met)
    }

    /// Brings to the office what the others have, then to one person what is new to them.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn catch_up(&mut self, who: &str, others: &[&str]) -> Result<(), Failure> {
        for other in others.iter().filter(|other| **other != who) {
            if self.untold.contains(*other) {
                self.sync(other)?;
            }
        }
        if self.heard.get(who) != Some(&self.office_news) {
            self.sync(who)?;
        }
        Ok(())
    }

    /// Meets the relay until everybody has what anybody has.
    ///
    /// # Errors
    /// As [`Shop::run`].
    pub fn merge(&mut self, people: &[&str]) -> Result<(), Failure> {
        for who in people {
            if self.untold.contains(*who) {
                self.sync(who)?;
            }
        }
        people.iter().try_for_each(|who| self.catch_up(who, people))
    }

    /// Empties the relay; nobody knows what it has now until they meet it.
    ///
    /// # Errors
    /// Where it does not stop, is not emptied or does not start.
    pub fn wipe_office(&mut self) -> Result<(), Failure> {
        self.heard.clear();
        self.office.wipe()
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
