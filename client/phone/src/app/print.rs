//! The printed record: shown as it will be printed, printed by the browser, or given on as a file.

use std::sync::Arc;

use gudgeon_core::entry::DocumentId;
use gudgeon_core::sheet;

use super::people::file_name;
use super::{Desk, Effect, Failure, Place};

/// The page, once it is drawn.
pub struct Model {
    record: DocumentId,
    page: Option<Page>,
    problem: Option<Failure>,
}

/// The page as one file, and in the two parts that are shown in the app.
struct Page {
    file: String,
    style: Arc<str>,
    body: Arc<str>,
}

/// What may happen.
pub enum Event {
    /// The screen was drawn: draw the page now, it takes a moment.
    Draw,
    /// Print it.
    Print,
    /// Give it on as a file.
    GiveOut,
    /// Show what is hidden from this person: their own readings are then not blind.
    Reveal,
    /// It is remembered that it was shown, or not.
    Revealed(Result<(), Failure>),
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// The page's style and its body; none while it is being drawn.
    pub page: Option<(Arc<str>, Arc<str>)>,
    /// At how many stations a first person's value is hidden: the page, which has them all, is not shown then.
    pub hidden: usize,
    /// How large it is, in words.
    pub size: String,
    /// What is wrong.
    pub problem: Option<Failure>,
}

impl Model {
    pub(super) fn open(record: DocumentId, desk: &mut Desk) -> Self {
        desk.look(record);
        desk.once_drawn(Event::Draw);
        Self { record, page: None, problem: None }
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match (event, &self.page) {
            (Event::Draw | Event::Revealed(Ok(())), _) => self.draw(desk),
            (Event::Reveal, _) => self.reveal(desk),
            (Event::Revealed(Err(failure)), _) => self.problem = Some(failure),
            (Event::Print, Some(_)) => desk.effect(Effect::Print),
            (Event::GiveOut, Some(page)) => {
                let name = format!("{}.html", file_name(&desk.record_name(self.record)));
                let bytes = page.file.as_bytes().to_vec();
                desk.effect(Effect::GiveOut { name, media: "text/html", bytes });
            }
            (Event::Print | Event::GiveOut, None) => {}
        }
    }

    fn draw(&mut self, desk: &Desk) {
        let Some(sight) = desk.sight(self.record) else {
            let way_out = "it comes with the next meeting with the office";
            self.problem = Some(Failure::new("unknown-record", "this record is not on this phone", way_out));
            return;
        };
        if desk.blind(self.record).count() > 0 {
            return;
        }
        let sheet = sheet::model(&sight.record, &sight.workshop, &sight.assessment);
        self.page = Some(Page::of(sheet::html(&sheet)));
    }

    fn reveal(&self, desk: &mut Desk) {
        if desk.holder().is_none() {
            return desk.go(Place::Who(Box::new(Place::Print(self.record))));
        }
        let hidden = desk.blind(self.record).stations_on(None);
        desk.show(self.record, hidden, |done| Event::Revealed(done).into());
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        View {
            hidden: if self.page.is_some() { 0 } else { desk.blind(self.record).count() },
            page: self.page.as_ref().map(|page| (Arc::clone(&page.style), Arc::clone(&page.body))),
            size: self
                .page
                .as_ref()
                .map_or_else(String::new, |page| format!("{} kB", page.file.len().div_ceil(1_000))),
            problem: self.problem.clone(),
        }
    }
}

impl Page {
    /// In the app the page stands in a tree of its own under one element, which takes the place of the
    /// document and its body; fonts and the size of the paper are the app's.
    fn of(file: String) -> Self {
        let style = between(&file, "<style>", "</style>").unwrap_or_default();
        let style =
            style.replace(":root{", ":host{").replace("html{", ":host{").replace("\nbody{", "\n:host{");
        let style = style.replace(" body{", " :host{");
        let body: Arc<str> = between(&file, "<body>", "</body>").unwrap_or_default().into();
        Self { style: style.into(), body, file }
    }
}

fn between<'t>(text: &'t str, begin: &str, end: &str) -> Option<&'t str> {
    let (_, rest) = text.split_once(begin)?;
    Some(rest.split_once(end)?.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::super::kit::{held, screen};
    use super::*;
    use crate::app::Place;

    #[test]
    fn the_printed_record_is_shown_printed_and_given_on_as_a_file() {
        let (mut phone, _) = held(Place::Print);
        let view = screen!(phone, Print);
        let (style, body) = view.page.unwrap();
        assert!(body.starts_with("<svg") && body.contains("Engine one") && body.ends_with("</main>"));
        assert!(!body.contains("<script") && !body.contains("style="), "the page's policy takes neither");
        assert!(
            style.contains(":host{") && !style.contains(":root{") && !style.contains("\nbody{"),
            "{style}"
        );
        phone.send(Event::Print);
        assert!(matches!(phone.seen.last(), Some(Effect::Print)));
        phone.send(Event::GiveOut);
        let Some(Effect::GiveOut { name, media, bytes }) = phone.seen.last() else { panic!("not given out") };
        assert_eq!((name.as_str(), *media), ("Engine-one.html", "text/html"));
        assert!(bytes.starts_with(b"<!DOCTYPE html>") && bytes.ends_with(b"</html>\n"));
    }

    #[test]
    fn a_record_that_is_not_here_is_said() {
        let (phone, _) = held(|_| Place::Print(DocumentId::new([9; 32])));
        assert_eq!(screen!(phone, Print).problem.unwrap().code, "unknown-record");
    }
}
