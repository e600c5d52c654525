//! Plays stories over the real program: homes in one directory, commands one after the other.
//!
//! A story is lines of `home> command`; lines that begin with `#` are for the reader. In a
//! command `{root}` stands for the root digits that `found` printed and `{reading}`,
//! `{sign-off}` and the like for the last entry of that kind that was said to be saved.
#![allow(dead_code, unreachable_pub, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use gudgeon_tests::programs::built;
use tempfile::TempDir;

/// The program, built once for a test run; GUDGEON_BIN names another.
pub fn program() -> &'static Path {
    static PROGRAM: OnceLock<PathBuf> = OnceLock::new();
    PROGRAM.get_or_init(|| {
        std::env::var_os("GUDGEON_BIN").map_or_else(|| built("gudgeon-cli", "gudgeon"), PathBuf::from)
    })
}

/// How one command came out.
#[derive(Clone, Debug)]
pub struct Ran {
    pub stdout: String,
    pub stderr: String,
    pub status: i32,
}

impl Ran {
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    fn of(output: Output) -> Self {
        Self {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            status: output.status.code().unwrap_or(-1),
        }
    }
}

/// Homes and files of one story.
pub struct Stage {
    pub directory: TempDir,
    words: BTreeMap<String, String>,
}

impl Default for Stage {
    fn default() -> Self {
        Self::new()
    }
}

impl Stage {
    pub fn new() -> Self {
        Self { directory: tempfile::tempdir().unwrap(), words: BTreeMap::new() }
    }

    pub fn path(&self) -> &Path {
        self.directory.path()
    }

    pub fn write(&self, file: &str, text: &str) {
        std::fs::write(self.path().join(file), text).unwrap();
    }

    pub fn read(&self, file: &str) -> String {
        std::fs::read_to_string(self.path().join(file)).unwrap()
    }

    /// The program on a home, ready to be started.
    pub fn command(&self, home: &str) -> Command {
        let mut command = Command::new(program());
        for (name, _) in std::env::vars().filter(|(name, _)| name.starts_with("GUDGEON_")) {
            command.env_remove(name);
        }
        command
            .env("GUDGEON_HOME", home)
            .env("GUDGEON_PIN", "2468")
            .env("COLUMNS", "100")
            .current_dir(self.path())
            .stdin(Stdio::null());
        command
    }

    /// Runs a command whose words are already apart.
    pub fn run(&self, home: &str, words: &[&str]) -> Ran {
        Ran::of(self.command(home).args(words).output().unwrap())
    }

    /// Runs a command that must succeed.
    pub fn must(&self, home: &str, line: &str) -> Ran {
        let line = self.filled(line);
        let words = split(&line);
        let ran = self.run(home, &words.iter().map(String::as_str).collect::<Vec<_>>());
        assert_eq!(ran.status, 0, "{home}> {line}\n{}{}", ran.stdout, ran.stderr);
        ran
    }

    /// What stands for a word in braces by now.
    pub fn word(&self, name: &str) -> &str {
        &self.words[name]
    }

    /// Plays the lines of a story and answers everything that was shown.
    pub fn play(&mut self, story: &str) -> String {
        let mut shown = String::new();
        for line in story.lines().map(str::trim).filter(|line| !line.is_empty()) {
            if line.starts_with('#') {
                shown.push_str(&format!("{line}\n"));
                continue;
            }
            let (home, command) = line.split_once("> ").unwrap();
            let ran = self.one(home, command);
            shown.push_str(&format!("{line}\n"));
            for (mark, text) in [("! ", &ran.stderr), ("", &ran.stdout)] {
                text.lines().for_each(|line| shown.push_str(&format!("  {mark}{line}\n")));
            }
            if ran.status != 0 {
                shown.push_str(&format!("  = {}\n", ran.status));
            }
        }
        shown
    }

    /// Plays lines of which only the outcome counts: all must succeed.
    pub fn prepare(&mut self, story: &str) {
        for line in story.lines().map(str::trim).filter(|line| !line.is_empty()) {
            let (home, command) = line.split_once("> ").unwrap();
            let ran = self.one(home, command);
            assert_eq!(ran.status, 0, "{line}\n{}{}", ran.stdout, ran.stderr);
        }
    }

    fn one(&mut self, home: &str, command: &str) -> Ran {
        let line = self.filled(command);
        let (home, settings) = home.split_once(' ').unwrap_or((home, ""));
        let mut program = self.command(home);
        for (name, value) in settings.split(' ').filter_map(|setting| setting.split_once('=')) {
            program.env(name, value);
        }
        let ran = Ran::of(program.args(split(&line)).output().unwrap());
        self.learn(&ran);
        ran
    }

    fn filled(&self, line: &str) -> String {
        let mut line = line.to_owned();
        for (name, value) in &self.words {
            line = line.replace(&format!("{{{name}}}"), value);
        }
        line
    }

    fn learn(&mut self, ran: &Ran) {
        if let Some(digits) = ran.stdout.lines().find_map(|line| line.strip_prefix("root digits   ")) {
            self.words.insert("root".to_owned(), digits.to_owned());
        }
        if let Some(key) = ran.stdout.lines().find_map(|line| line.strip_prefix("root key      ")) {
            self.words.insert("root-key".to_owned(), key.to_owned());
        }
        let saved = ran.stderr.lines().find_map(|line| line.strip_prefix("Saved ")?.strip_suffix('.'));
        if let Some((kind, id)) = saved.and_then(|saved| saved.split_once(' ')) {
            self.words.insert(kind.to_owned(), id.to_owned());
        }
    }
}

/// Words of a line; quotes keep words together.
pub fn split(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quoted, mut begun) = (Vec::new(), String::new(), false, false);
    for c in line.chars() {
        match c {
            '"' => (quoted, begun) = (!quoted, true),
            ' ' if !quoted => {
                if begun {
                    words.push(std::mem::take(&mut word));
                }
                begun = false;
            }
            c => {
                word.push(c);
                begun = true;
            }
        }
    }
    if begun {
        words.push(word);
    }
    words
}

/// A workshop with a lead, a member on a home of their own, gauges and one record.
pub const SHOP: &str = r#"
    ann> found "Invented Works" --lead Ann
    ann> gauge add M1 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --range "25 mm..50 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen
    ann> gauge add M2 --sort outside-micrometer --resolution "0.001 mm" --error "4 µm" --range "25 mm..50 mm" --calibrated 2020-01-10 --due 2090-01-10 --seen
    ann> gauge add R80 --sort setting-ring --error "2 µm" --calibrated 2020-01-10 --due 2090-01-10
    ann> gauge add B1 --sort bore-gauge --resolution "0.001 mm" --error "2 µm" --set-with R80 --calibrated 2020-01-10 --due 2090-01-10
    ann> gauge add W1 --sort click-torque-wrench --error "4 %" --range "10 N·m..100 N·m" --calibrated 2020-01-10 --due 2090-01-10
    ben> ask --label "phone of Ben" --to ben.ask
    ann> enrol ben.ask --name Ben --role member
    ann> start J1 --engine engine.toml
    ann> carry out shop.bundle
    ben> carry in shop.bundle --root "{root}"
"#;

/// A stage on which [`SHOP`] has been played.
pub fn shop() -> Stage {
    let mut stage = Stage::new();
    stage.write("engine.toml", gudgeon_core::engine::EXAMPLE);
    stage.prepare(SHOP);
    stage
}

/// Runs a check with everything masked that differs from run to run.
pub fn masked(check: impl FnOnce()) {
    let mut settings = insta::Settings::clone_current();
    settings.add_filter(r"\b[0-9a-f]{128}\b", "[SIGNATURE]");
    settings.add_filter(r"\b[0-9a-f]{64}\b", "[ID]");
    settings.add_filter(r"\b[0-9a-f]{10}\b", "[id]");
    settings.add_filter(r"\b([0-9a-f]{4} ){7}[0-9a-f]{4}\b", "[digits]");
    settings.add_filter(r"\b\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", "[time]");
    settings.add_filter(r"\b\d+ bytes", "[size]");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(check);
}
