//! Carrying by hand: out to a file that the phone gives on, in from one that was chosen.
//!
//! Signatures of a file are checked in slices, as those from the office are.

use std::collections::VecDeque;

use gudgeon_client::home::{Ahead, CarriedIn, Report as Brought};
use gudgeon_core::document::Bundle;
use gudgeon_core::entry::DocumentId;

use super::super::office::SLICE;
use super::super::{Desk, Effect, Event as AppEvent, Failure};
use super::{Event, Model};

/// A file that is being taken in.
#[derive(Default)]
pub(super) struct Carrying {
    name: String,
    bytes: Vec<u8>,
    ahead: VecDeque<Ahead>,
    pub(super) report: Option<Report>,
}

/// What a file brought.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Report {
    /// In a sentence.
    pub summary: String,
    /// One for each document.
    pub lines: Vec<ReportLine>,
}

/// What it brought of one document.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReportLine {
    /// Workshop or record.
    pub document: DocumentId,
    /// Its name.
    pub name: String,
    /// How many are new, refused and missing their ground, in words.
    pub counts: String,
    /// What was refused, and the way out.
    pub refused: Vec<String>,
    /// Whether it is a record, so that one can look what changed.
    pub is_record: bool,
}

impl Model {
    pub(super) fn carry_out(&mut self, desk: &mut Desk) {
        let Some(home) = desk.home() else { return };
        let records: Vec<DocumentId> = home.records().collect();
        match home.carry_out_bytes(&records) {
            Ok(bytes) => {
                let workshop = desk.workshop_name().unwrap_or_else(|| "workshop".to_owned());
                let name = format!("{}.gudgeon", file_name(&workshop));
                desk.effect(Effect::GiveOut { name, media: "application/octet-stream", bytes });
            }
            Err(error) => self.stop(error.into(), desk),
        }
    }

    pub(super) fn carry_in(&mut self, name: String, bytes: Vec<u8>, desk: &mut Desk) {
        self.begin("looking at the file");
        let bundle = match Bundle::read(&bytes) {
            Ok(bundle) => bundle,
            Err(error) => {
                let way_out = "choose the file that another phone or computer of this workshop carried out";
                return self.stop(Failure::new("bundle", format!("{name}: {error}"), way_out), desk);
            }
        };
        let Some(home) = desk.home() else { return };
        let ahead =
            bundle.documents().iter().map(|one| Ahead::of(home, one.document(), one.changes())).collect();
        self.carrying = Carrying { name, bytes, ahead, report: None };
        desk.effect(Effect::Later(0, Event::Check.into()));
    }

    /// Checks the next slice, the screen alive in between; then takes it in.
    pub(super) fn check(&mut self, desk: &mut Desk) {
        while self.carrying.ahead.front().is_some_and(|ahead| ahead.left() == 0) {
            self.carrying.ahead.pop_front();
        }
        if let Some(ahead) = self.carrying.ahead.front_mut() {
            desk.check_ahead(ahead, SLICE);
            return desk.effect(Effect::Later(0, Event::Check.into()));
        }
        let Carrying { name, bytes, .. } = std::mem::take(&mut self.carrying);
        desk.act(
            move |home| home.carry_in_bytes(&name, &bytes, None),
            |carried| AppEvent::from(Event::CarriedIn(carried)),
        );
    }
}

impl Report {
    pub(super) fn of(carried: &CarriedIn, desk: &Desk) -> Self {
        let new: usize = carried.reports.iter().map(|report| report.new.len()).sum();
        let refused: usize = carried.reports.iter().map(|report| report.refused.len()).sum();
        let refused = if refused == 0 { String::new() } else { format!(", {refused} refused") };
        Self {
            summary: format!("{new} new{refused}"),
            lines: carried.reports.iter().map(|report| line(report, carried.workshop, desk)).collect(),
        }
    }
}

fn line(report: &Brought, workshop: DocumentId, desk: &Desk) -> ReportLine {
    let (new, refused, missing) = (report.new.len(), report.refused.len(), report.missing_ground.len());
    let counts = [(new, "new"), (refused, "refused"), (missing, "missing their ground")];
    let said = counts.iter().filter(|(count, word)| *count > 0 || *word == "new");
    let said: Vec<String> = said.map(|(count, word)| format!("{count} {word}")).collect();
    let is_record = report.document != workshop;
    let told = |refused: &gudgeon_core::document::Refused| {
        let what = refused.entry.map_or_else(|| "a change".to_owned(), |id| format!("entry {}", id.short()));
        format!("{what}: {}; {}", refused.rule.replace('-', " "), refused.hint)
    };
    ReportLine {
        document: report.document,
        name: desk.record_name(report.document),
        counts: said.join(", "),
        refused: report.refused.iter().map(told).collect(),
        is_record,
    }
}

/// A name that every file system takes.
pub(in super::super) fn file_name(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let name: String = name.chars().map(plain).collect();
    let name = name.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-");
    if name.is_empty() { "record".to_owned() } else { name }
}
