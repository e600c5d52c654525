//! The worksheets of the registry, by section; usable before joining and with no record at all.

use gudgeon_core::work::{WORKSHEETS, Worksheet};

use super::{Desk, Place};

/// What is looked for.
#[derive(Default)]
pub struct Model {
    find: String,
}

/// What may happen.
pub enum Event {
    /// Words of a name or a title.
    Find(String),
    /// A worksheet was tapped.
    Open(&'static str),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// As typed.
    pub find: String,
    /// Sections with their worksheets: name, and what it is for.
    pub sections: Vec<(&'static str, Vec<(&'static str, &'static str)>)>,
}

impl Model {
    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Find(text) => self.find = text,
            Event::Open(name) => desk.go(Place::Worksheet(name.to_owned())),
        }
    }

    pub(super) fn view(&self, _desk: &Desk) -> View {
        let mut sections: Vec<(&'static str, Vec<_>)> = Vec::new();
        for sheet in WORKSHEETS.iter().filter(|sheet| self.is_meant(sheet)) {
            let title = sheet.section.title();
            match sections.last_mut() {
                Some((last, sheets)) if *last == title => sheets.push((sheet.name, sheet.title)),
                Some(_) | None => sections.push((title, vec![(sheet.name, sheet.title)])),
            }
        }
        View { find: self.find.clone(), sections }
    }

    /// Every word that was typed stands in the name, the title or the section.
    fn is_meant(&self, sheet: &Worksheet) -> bool {
        let text = format!("{} {} {}", sheet.name, sheet.title, sheet.section.title()).to_lowercase();
        self.find.to_lowercase().split_whitespace().all(|word| text.contains(word))
    }
}
