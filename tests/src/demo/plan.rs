//! What one person enters at a time: a set of readings, and few commands that each say much.

use std::fs;

use super::shop::{Failure, Shop};

/// What is to be entered, in the order in which it is done.
#[derive(Debug, Default)]
pub(super) struct Plan {
    rows: String,
    commands: Vec<Vec<String>>,
    parts: Vec<(String, String)>,
    tighten: Vec<(String, Vec<String>)>,
    sign: Vec<String>,
    second: Vec<String>,
}

/// A group of fasteners as this shop pulls it: the wrench on the shelf, and its marks.
struct Pull {
    group: &'static str,
    lubricant: &'static str,
    nip: bool,
    wrench: &'static str,
    stages: &'static [&'static str],
    /// What is turned after each stage: the crank, or the cylinder of each place.
    by_cylinder: bool,
}

/// The maker's figures of the invented engine; for the rods as their wrench is marked.
const PULLS: [Pull; 2] = [
    Pull {
        group: "main-bolts",
        lubricant: "engine oil",
        nip: false,
        wrench: "W1",
        stages: &["30 N·m", "60 N·m", "90 N·m"],
        by_cylinder: false,
    },
    Pull {
        group: "rod-bolts",
        lubricant: "moly paste",
        nip: true,
        wrench: "W2",
        stages: &["21 lbf·ft", "31 lbf·ft"],
        by_cylinder: true,
    },
];

/// Columns of a set.
const HEAD: &str = "feature,characteristic,value,station,gauge,master,both-at,cond,blind\n";

impl Plan {
    /// A line of the set.
    pub(super) fn row(&mut self, line: String) {
        if !self.rows.contains(&line) {
            self.rows.push_str(&line);
        }
    }

    /// A command, once.
    pub(super) fn command(&mut self, words: &[&str]) {
        let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
        if !self.commands.contains(&words) {
            self.commands.push(words);
        }
    }

    /// A check; the same one on other places is the same command.
    pub(super) fn check(&mut self, name: &str, place: &str, note: &str) {
        let mut start = vec!["checked", name];
        if !note.is_empty() {
            start.extend(["--note", note]);
        }
        self.extend(&start, place);
    }

    /// An operation; the same one on other places is the same command.
    pub(super) fn work(&mut self, operation: &str, place: &str) {
        self.extend(&["operation", operation], place);
    }

    /// Adds a place to the command that begins like this, or begins it.
    fn extend(&mut self, start: &[&str], place: &str) {
        let fits =
            |command: &&mut Vec<String>| command.len() > start.len() && command.starts_with_words(start);
        match self.commands.iter_mut().find(fits) {
            Some(command) if !place.is_empty() => {
                if !command.iter().any(|word| word == place) {
                    command.push(place.to_owned());
                }
            }
            _ if place.is_empty() => self.command(start),
            _ => self.command(&[start, &[place]].concat()),
        }
    }

    /// A part that is received and put in its place.
    pub(super) fn part(&mut self, sort: &str, place: &str) {
        self.parts.push((sort.to_owned(), place.to_owned()));
    }

    /// A group at a place; all places of a group go stage by stage together.
    pub(super) fn tighten(&mut self, group: &str, place: &str) {
        match self.tighten.iter_mut().find(|(other, _)| other == group) {
            Some((_, places)) => places.push(place.to_owned()),
            None => self.tighten.push((group.to_owned(), vec![place.to_owned()])),
        }
    }

    /// A first signature.
    pub(super) fn sign(&mut self, step: &str) {
        self.sign.push(step.to_owned());
    }

    /// A second signature.
    pub(super) fn second(&mut self, step: &str) {
        self.second.push(step.to_owned());
    }

    /// Enters all of it; says whether there was anything.
    pub(super) fn enter(mut self, shop: &mut Shop, who: &str) -> Result<bool, Failure> {
        self.receive();
        for (group, places) in std::mem::take(&mut self.tighten) {
            self.pull(&group, &places)?;
        }
        let anything = !(self.commands.is_empty() && self.rows.is_empty());
        // Work before the readings that follow it.
        for command in &self.commands {
            run(shop, who, command)?;
        }
        if !self.rows.is_empty() {
            let file = shop.carried_file(&format!("set-{who}.csv"));
            fs::write(&file, format!("{HEAD}{}", self.rows)).map_err(|error| error.to_string())?;
            shop.run(who, &["read", "--csv", &file])?;
        }
        let signatures = [(&["sign"][..], &self.sign), (&["sign", "--second"], &self.second)];
        for (start, steps) in signatures.into_iter().filter(|(_, steps)| !steps.is_empty()) {
            let words: Vec<String> =
                start.iter().map(|word| (*word).to_owned()).chain(steps.iter().cloned()).collect();
            run(shop, who, &words)?;
        }
        Ok(anything || !self.sign.is_empty() || !self.second.is_empty())
    }

    /// Parts of a sort come in together; a piston brings its gudgeon, and both are chosen for a bore
    /// long before they go in.
    fn receive(&mut self) {
        for (sort, place) in std::mem::take(&mut self.parts) {
            let gudgeon = (sort == "piston").then_some("gudgeon");
            for sort in [sort.as_str()].into_iter().chain(gudgeon) {
                let mark = format!("{sort}/{}", letter(&place));
                self.extend(&["part", "receive", "--sort", sort], &mark);
                match gudgeon {
                    Some(_) => self.command(&["part", "allot", &mark, &place]),
                    None => self.command(&["part", "fit", &mark, &place, "--way", "mark to the front"]),
                }
            }
        }
    }

    /// Stage by stage, turned after each.
    fn pull(&mut self, group: &str, places: &[String]) -> Result<(), Failure> {
        let pull =
            PULLS.iter().find(|pull| pull.group == group).ok_or_else(|| format!("no wrench for {group}"))?;
        let places: Vec<&str> = places.iter().map(String::as_str).collect();
        let lubricant = ["--lubricant", pull.lubricant];
        if pull.nip {
            self.command(&[&["tighten", group], &places[..], &["--nip"], &lubricant].concat());
        }
        for (number, set) in (1..).zip(pull.stages) {
            let stage = u32::to_string(&number);
            let how = ["--stage", &stage, "--set", set, "--wrench", pull.wrench];
            self.command(&[&["tighten", group], &places[..], &how, &lubricant].concat());
            let note = format!("{group} after stage {stage}: one full turn, no tight spot");
            if !pull.by_cylinder {
                self.check("turns-free", "crank", &note);
                continue;
            }
            for place in &places {
                let cylinder = format!("cylinder/{}", number_of(place));
                self.check("turns-free", &cylinder, &note);
            }
        }
        Ok(())
    }
}

fn run(shop: &mut Shop, who: &str, words: &[String]) -> Result<(), Failure> {
    shop.run(who, &words.iter().map(String::as_str).collect::<Vec<_>>()).map(|_| ())
}

trait StartsWith {
    fn starts_with_words(&self, words: &[&str]) -> bool;
}

impl StartsWith for Vec<String> {
    fn starts_with_words(&self, words: &[&str]) -> bool {
        self.iter().zip(words).filter(|(a, b)| a == *b).count() == words.len()
    }
}

fn number_of(place: &str) -> u8 {
    place.split('/').nth(1).and_then(|number| number.parse().ok()).unwrap_or(1)
}

/// `B` for the second of its kind.
pub(super) fn letter(place: &str) -> char {
    char::from(b'A' + number_of(place).saturating_sub(1))
}
