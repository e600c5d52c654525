//! Homes on a real disk that carry to each other, among them one restored from a copy.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod home_common;

use std::path::{Path, PathBuf};

use gudgeon_client::home::Home;
use gudgeon_core::entry::DocumentId;
use home_common::{Dice, Rehearsed, author, found, ids, note, root};

/// Copies a home as a backup program does.
fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
    }
}

fn carry(from: &Home, to: &mut Home, file: &Path) {
    let records: Vec<DocumentId> = from.records().collect();
    from.carry_out(&records, file).unwrap();
    to.carry_in(file, Some(root().key())).unwrap();
}

fn open(path: &Path, seed: u64) -> Home {
    Home::open(path, Rehearsed::new(seed)).unwrap()
}

#[test]
fn a_home_put_back_from_an_older_copy_and_written_on_converges() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let file = at("carried.gudgeon");
    let mut mine = Home::create(&at("mine"), Rehearsed::new(1)).unwrap();
    let mut yours = Home::create(&at("yours"), Rehearsed::new(2)).unwrap();
    let record = found(&mut mine);
    mine.state(record, &author(2), &[note("before the copy")]).unwrap();
    drop(mine);
    copy(&at("mine"), &at("backup"));

    let mut mine = open(&at("mine"), 3);
    mine.state(record, &author(2), &[note("after the copy"), note("and more")]).unwrap();
    carry(&mine, &mut yours, &file);
    drop(mine);
    std::fs::remove_dir_all(at("mine")).unwrap();
    copy(&at("backup"), &at("mine"));

    let mut mine = open(&at("mine"), 4);
    mine.state(record, &author(2), &[note("after putting it back")]).unwrap();
    yours.state(record, &author(3), &[note("meanwhile")]).unwrap();
    carry(&yours, &mut mine, &file);
    carry(&mine, &mut yours, &file);
    drop(mine);
    let mine = open(&at("mine"), 5);
    assert_eq!(ids(&mine, record).len(), 6);
    assert_eq!(ids(&mine, record), ids(&yours, record));
    assert!(mine.log(record).unwrap().is_forked(author(2).key()));
    mine.document(record).unwrap().check().unwrap();
}

/// Any order of writing, carrying, backing up and putting back: once everybody has carried
/// to everybody, all hold all that any of them ever held at a carry.
#[test]
fn homes_that_carry_back_up_and_put_back_in_any_order_converge() {
    let base = u64::from(std::process::id());
    for seed in base..base + 6 {
        println!("seed {seed}");
        shuffle(seed);
    }
}

struct Shop {
    folder: tempfile::TempDir,
    record: DocumentId,
    seed: u64,
    written: usize,
}

impl Shop {
    fn path(&self, name: &str, number: u64) -> PathBuf {
        self.folder.path().join(format!("{name}{number}"))
    }

    fn home(&mut self, number: u64) -> Home {
        self.seed += 1;
        open(&self.path("home", number), self.seed)
    }

    fn carry(&mut self, from: u64, to: u64) {
        if from != to {
            let file = self.folder.path().join("carried.gudgeon");
            let (from, mut to) = (self.home(from), self.home(to));
            carry(&from, &mut to, &file);
        }
    }

    fn write(&mut self, number: u64) {
        self.written += 1;
        let text = format!("{number} wrote {}", self.written);
        let author = author(2 + u8::try_from(number).unwrap());
        self.home(number).state(self.record, &author, &[note(&text)]).unwrap();
    }

    fn back_up(&self, number: u64) {
        copy(&self.path("home", number), &self.path("backup", number));
    }

    fn put_back(&self, number: u64) {
        if self.path("backup", number).exists() {
            std::fs::remove_dir_all(self.path("home", number)).unwrap();
            copy(&self.path("backup", number), &self.path("home", number));
        }
    }
}

const HOMES: u64 = 3;

fn shuffle(seed: u64) {
    let folder = tempfile::tempdir().unwrap();
    let mut first = Home::create(&folder.path().join("home0"), Rehearsed::new(seed)).unwrap();
    let record = found(&mut first);
    drop(first);
    let mut shop = Shop { folder, record, seed: seed << 20, written: 0 };
    for number in 1..HOMES {
        shop.seed += 1;
        Home::create(&shop.path("home", number), Rehearsed::new(shop.seed)).unwrap();
        shop.carry(0, number);
    }
    let mut dice = Dice(seed);
    for _ in 0..30 {
        let (who, whom) = (dice.below(HOMES), dice.below(HOMES));
        match dice.below(8) {
            0..=3 => shop.write(who),
            4 | 5 => shop.carry(who, whom),
            6 => shop.back_up(who),
            _ => shop.put_back(who),
        }
    }
    for (from, to) in [(0, 1), (1, 2), (2, 0), (0, 1), (1, 2)] {
        shop.carry(from, to);
    }
    let all: Vec<_> = (0..HOMES).map(|number| ids(&shop.home(number), record)).collect();
    assert!(all.iter().all(|ids| *ids == all[0]), "{:?}", all.iter().map(Vec::len).collect::<Vec<_>>());
    for number in 0..HOMES {
        shop.home(number).document(record).unwrap().check().unwrap();
    }
}
