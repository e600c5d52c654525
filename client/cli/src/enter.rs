//! Making entries: who may, the PIN, the durable commit, and what it changed.

use gudgeon_client::home::Home;
use gudgeon_client::sync::Why;
use gudgeon_core::assess::{Progress, StepState};
use gudgeon_core::crew::cautions;
use gudgeon_core::engine::caution::FOREWORD;
use gudgeon_core::entry::{DocumentId, EntryId, KeyId, Kind, Payload};
use gudgeon_core::log::Ix;
use gudgeon_core::roster::{NotCounted, Roster};
use serde_json::{Value as Json, json};

use crate::changes::{Changes, NOT_SEEN, changed};
use crate::codes::Exit;
use crate::denial;
use crate::desk::{Desk, Sight};
use crate::failure::Failure;
use crate::out::{Answer, progress};
use crate::settings::Settings;
use crate::way;
use crate::words;

/// Entries that are durable now, and the record before and after them.
#[derive(Debug)]
pub(crate) struct Entered {
    pub(crate) before: Sight,
    pub(crate) after: Sight,
    pub(crate) ids: Vec<EntryId>,
    /// Why they do not count yet, although they are kept.
    caveat: Option<String>,
    settings: Settings,
}

impl Desk<'_> {
    /// Signs and saves statements in a record; all of them or none.
    pub(crate) fn enter(&mut self, before: Sight, says: &[Payload]) -> Result<Entered, Failure> {
        let record = before.log().document();
        let (ids, caveat) = self.state(record, before.roster(), says)?;
        let after = self.sight_of(record)?;
        Ok(Entered { before, after, ids, caveat, settings: self.settings.clone() })
    }

    /// Signs and saves statements in the workshop, with a key of this home or the root's.
    pub(crate) fn enter_in_workshop(
        &mut self,
        says: &[Payload],
        by: Hand,
    ) -> Result<(Vec<EntryId>, Option<String>), Failure> {
        let workshop = self.workshop_id()?;
        match by {
            Hand::Own => self.state(workshop, self.workshop()?.roster(), says),
            Hand::Root => {
                let author = self.settings.root_key()?;
                if author.key() != self.home.root()? {
                    let cause = "this is the root key of another workshop";
                    return Err(Failure::new(
                        Exit::NotAllowed,
                        "other-root",
                        cause,
                        "take the paper of this one",
                    ));
                }
                Ok((self.home.state(workshop, &author, says)?.entries, None))
            }
        }
    }

    fn state(
        &mut self,
        document: DocumentId,
        roster: &Roster,
        says: &[Payload],
    ) -> Result<(Vec<EntryId>, Option<String>), Failure> {
        let kinds: Vec<Kind> = says.iter().map(Payload::kind).collect();
        let key = self.key_for(&kinds)?;
        let caveat = may(roster, key.key, says)?.or(told_removed(&self.home, key.key)?);
        if let Some(chosen) = self.chosen(roster, &kinds, &key)?.filter(|_| !self.settings.json) {
            progress(&format!("signed by {chosen}; --as names another key"));
        }
        let author = self.unlock(&key)?;
        let saved = self.home.state(document, &author, says)?;
        Ok((saved.entries, caveat))
    }
}

/// Who signs in the workshop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hand {
    /// A key of this home.
    Own,
    /// The root key, typed from paper.
    Root,
}

impl Hand {
    pub(crate) const fn of(by_root: bool) -> Self {
        if by_root { Self::Root } else { Self::Own }
    }
}

/// Refuses what the key's roles can never make; else says why it does not count yet.
pub(crate) fn may(roster: &Roster, key: KeyId, says: &[Payload]) -> Result<Option<String>, Failure> {
    for payload in says {
        match roster.may_make(key, payload.kind()) {
            Ok(()) => {}
            Err(reason @ (NotCounted::UnknownKey(_) | NotCounted::ConflictingGrants(_))) => {
                return Ok(Some(format!("kept, but it does not count: {reason}; {}", reason.way_out())));
            }
            Err(reason) => return Err(reason.into()),
        }
    }
    let removed = roster.removals_of(key).first();
    Ok(removed.map(|removal| {
        format!("kept, but it does not count: key {} was removed ({})", key.short(), removal.reason)
    }))
}

/// What the office said of this key, where that was that it is removed: the removal itself never came.
fn told_removed(home: &Home, key: KeyId) -> Result<Option<String>, Failure> {
    if !denial::removed_keys(home)?.contains(&key) {
        return Ok(None);
    }
    let denial = denial::last(home)?.filter(|denial| denial.why == Why::Removed);
    let said = denial.map_or_else(|| "this key was removed".to_owned(), |denial| denial.said);
    Ok(Some(format!("kept, but the office says: {said}")))
}

impl Entered {
    /// Where the first of the new entries stands.
    pub(crate) fn first(&self) -> Option<Ix> {
        self.places().next()
    }

    /// Where the new entries stand.
    pub(crate) fn places(&self) -> impl Iterator<Item = Ix> + '_ {
        self.ids.iter().filter_map(|id| self.after.log().place(id))
    }

    /// What was saved and what that changed.
    pub(crate) fn answer(&self) -> Answer {
        let mut answer = Answer::new();
        self.say_saved(&mut answer);
        self.add_ended(&mut answer);
        self.add_changes(&mut answer);
        answer
    }

    /// Adds what no longer stands, or may no longer stand, by the new entries; says whether there is any.
    pub(crate) fn add_ended(&self, answer: &mut Answer) -> bool {
        let after = &self.after;
        let new: Vec<Ix> = self.places().collect();
        let mut ended: Vec<Json> = Vec::new();
        for (ix, statement) in (0..).zip(after.log().folded()) {
            let status = after.assessment.status(ix);
            let by_new = status.causes().iter().any(|cause| new.contains(cause));
            if by_new && !new.contains(&ix) {
                let (word, says) = (status.word(), words::what(after, statement));
                answer.line(format!("{word}: {says} ({} {})", after.author(ix), statement.id.short()));
                ended.push(json!({ "id": statement.id.to_hex(), "status": word, "says": says }));
            }
        }
        let any = !ended.is_empty();
        answer.put("ended", ended);
        any
    }

    /// Says what is durable now.
    pub(crate) fn say_saved(&self, answer: &mut Answer) {
        let kind =
            self.first().and_then(|ix| self.after.log().at(ix).kind()).map_or("entry", |kind| kind.name());
        saved(answer, kind, &self.ids, self.caveat.as_deref());
        answer.put("record", self.after.log().document().to_hex());
        self.say_away(answer);
        self.say_cautions(answer);
    }

    /// Says of readings of a part that is out that they wait.
    fn say_away(&self, answer: &mut Answer) {
        let mut said: Vec<String> = Vec::new();
        for ix in self.places() {
            let Some((part, whom)) = self.after.assessment.read_while_away(ix) else { continue };
            let line = format!("note: {part} is with {whom}: what is read of it waits until it is back");
            if !said.contains(&line) {
                said.push(line);
            }
        }
        said.into_iter().for_each(|line| answer.say(line));
    }

    /// Says what to mind with what is being done, where the step that it is work on carries cautions.
    fn say_cautions(&self, answer: &mut Answer) {
        let act: Vec<Ix> = self.places().collect();
        let cautions = cautions(&self.after.record, &self.after.assessment, &act);
        cautions.iter().for_each(|caution| answer.say(format!("caution: {}", caution.text)));
        if !cautions.is_empty() {
            answer.say(FOREWORD);
        }
        answer.put("cautions", cautions.iter().map(|caution| caution.text).collect::<Vec<_>>());
    }

    /// Adds the findings that came and went.
    pub(crate) fn add_changes(&self, answer: &mut Answer) {
        let Changes { new, settled, hidden } = changed(&self.before, &self.after);
        for finding in &new {
            answer.line(format!("new: {}", words::finding(finding)));
            answer.line(format!("     {}", way::out_of(&self.after, &self.settings, finding)));
        }
        for finding in &settled {
            answer.line(format!("settled: {}", words::finding(finding)));
        }
        for finding in &hidden {
            answer.line(format!("{NOT_SEEN}: {}", words::finding(finding)));
        }
        for at in self.now_ready() {
            answer.line(way::of_step(&self.after, &self.settings, at));
        }
        answer.put("new_findings", new.into_iter().map(words::finding_json).collect::<Json>());
        answer.put("settled_findings", settled.into_iter().map(words::finding_json).collect::<Json>());
        answer.put("hidden_findings", hidden.into_iter().map(words::finding_json).collect::<Json>());
    }
}

impl Entered {
    /// Steps that can be signed now, and could not before.
    fn now_ready(&self) -> impl Iterator<Item = usize> + '_ {
        let ready =
            |state: &StepState| matches!(state.progress, Progress::ReadyToSign | Progress::WantsSecond);
        let (before, after) = (self.before.assessment.steps(), self.after.assessment.steps());
        (0..after.len()).filter(move |at| ready(&after[*at]) && !before.get(*at).is_some_and(ready))
    }

    /// Adds the steps that the new entries serve, each with what it asks for next.
    pub(crate) fn add_served(&self, answer: &mut Answer) -> bool {
        let new: Vec<Ix> = self.places().collect();
        let serves = |state: &StepState| {
            state.evidence.iter().any(|evidence| evidence.entries.iter().any(|ix| new.contains(ix)))
        };
        let steps = self.after.assessment.steps();
        let served: Vec<usize> = (0..steps.len()).filter(|at| serves(&steps[*at])).collect();
        let ready: Vec<usize> = self.now_ready().collect();
        for at in served.iter().filter(|at| !ready.contains(at)) {
            answer.line(way::of_step(&self.after, &self.settings, *at));
        }
        answer.put("serves", served.iter().map(|at| json!(&*steps[*at].id)).collect::<Json>());
        !served.is_empty()
    }
}

/// Says what is durable now, and whether it counts.
pub(crate) fn saved(answer: &mut Answer, kind: &str, ids: &[EntryId], caveat: Option<&str>) {
    match ids {
        [one] => answer.say(format!("Saved {kind} {}.", one.short())),
        several => answer.say(format!("Saved {} entries.", several.len())),
    }
    if let Some(caveat) = caveat {
        answer.say(format!("note: {caveat}"));
    }
    answer.put("saved", ids.iter().map(|id| json!(id.to_hex())).collect::<Json>());
    answer.put("counts", caveat.is_none());
}
