//! Keys that ask to be let in: to each reader what is the matter, and what they can do about it.

use gudgeon_client::sync::turned_away;
use gudgeon_core::assess::Workshop;
use gudgeon_core::entry::{EntryId, KeyId};
use gudgeon_core::roster::{ASKS_RULE, ByHand, RosterFinding, TWO_ASK_RULE, asking, by_hand};

use crate::denial;
use crate::desk::Desk;
use crate::failure::Failure;
use crate::out::Answer;

/// What is said to somebody whose key asked and was removed.
pub(crate) const NEW_INVITE: &str = "a lead who wants this device in writes a new invite: `join` by its code";

/// Who reads what is said of keys that ask.
pub(crate) struct Reader<'w> {
    workshop: &'w Workshop,
    own: Vec<KeyId>,
    now: i64,
}

impl<'w> Reader<'w> {
    pub(crate) fn new(desk: &Desk, workshop: &'w Workshop) -> Result<Self, Failure> {
        let own = desk.home.keys()?.iter().map(|row| row.key).collect();
        Ok(Self { workshop, own, now: desk.now() })
    }

    /// Whether this home holds the key.
    pub(crate) fn has(&self, key: KeyId) -> bool {
        self.own.contains(&key)
    }

    fn leads(&self) -> bool {
        self.own.iter().any(|key| self.workshop.roster().leads_now(*key))
    }

    /// A finding's words.
    pub(crate) fn words(&self, finding: &RosterFinding) -> String {
        match self.by_hand(finding) {
            // No clock decides in the roster: that an invite has run out is known here only.
            Some(why @ ByHand::RunOut) => format!("{}, {}", finding.words, why.words()),
            _ => finding.words.clone(),
        }
    }

    /// A finding's way out, for who reads it: only a lead lets in and removes.
    pub(crate) fn way_out(&self, finding: &RosterFinding) -> String {
        let several = finding.rule == TWO_ASK_RULE;
        if !several && finding.rule != ASKS_RULE {
            return finding.way_out.to_owned();
        }
        let digits = finding.keys.first().map(KeyId::short).unwrap_or_default();
        if let Some(own) = finding.keys.iter().find(|key| self.has(**key)) {
            return self.to_who_asks(finding, *own);
        }
        match (self.leads(), several) {
            (false, false) => "a lead lets it in, or removes it".to_owned(),
            (false, true) => "a lead asks whose they are, and lets the right one in".to_owned(),
            (true, true) => finding.way_out.to_owned(),
            (true, false) if self.by_hand(finding).is_none() => {
                format!("the lead who invited syncs; or `let-in {digits}`, and `remove {digits}` ends it")
            }
            (true, false) => format!("if it is theirs, `let-in {digits}`; `remove {digits}` ends it"),
        }
    }

    fn to_who_asks(&self, finding: &RosterFinding, own: KeyId) -> String {
        let digits = own.short();
        match self.by_hand(finding) {
            None => "the lead who invited syncs, and it is let in".to_owned(),
            Some(_) => {
                format!("tell the lead that yours is key {digits}: any lead lets it in by `let-in {digits}`")
            }
        }
    }

    fn by_hand(&self, finding: &RosterFinding) -> Option<ByHand> {
        let roster = self.workshop.roster();
        let invite: EntryId = *finding.entries.iter().find(|id| roster.invites().contains_key(id))?;
        by_hand(roster, self.workshop.log(), invite, Some(self.now))
    }

    /// Findings about keys that wait for a lead to say who they are.
    fn waiting(&self) -> impl Iterator<Item = &'w RosterFinding> + '_ {
        let asks = |finding: &&RosterFinding| [ASKS_RULE, TWO_ASK_RULE].contains(&finding.rule);
        let findings = self.workshop.roster().findings().iter().filter(asks);
        findings.filter(|finding| self.by_hand(finding).is_some())
    }
}

/// Says which keys wait for a lead's word: a lead hears whom to let in, who asks hears what to tell the lead.
pub(crate) fn say_waiting(answer: &mut Answer, desk: &Desk) -> Result<(), Failure> {
    if desk.home.workshop().is_none_or(|workshop| !desk.home.holds(&workshop)) {
        return Ok(());
    }
    let workshop = desk.workshop()?;
    let reader = Reader::new(desk, &workshop)?;
    for finding in reader.waiting() {
        if reader.leads() || finding.keys.iter().any(|key| reader.has(*key)) {
            answer.line(format!("{}; {}", reader.words(finding), reader.way_out(finding)));
        }
    }
    Ok(())
}

/// How the asking of this home's keys stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Own {
    /// None of them asks, and the newest is not of the workshop.
    None,
    /// The newest is of the workshop.
    LetIn,
    /// The lead who invited lets it in by syncing.
    Waits(KeyId),
    /// A lead has to say that it is the right one.
    WaitsForHand(KeyId),
    /// It was removed, and no other asks.
    TurnedAway(KeyId),
}

/// How the asking of this home's keys stands.
pub(crate) fn own(desk: &Desk) -> Result<Own, Failure> {
    if desk.home.workshop().is_none_or(|workshop| !desk.home.holds(&workshop)) {
        return Ok(Own::None);
    }
    let workshop = desk.workshop()?;
    let reader = Reader::new(desk, &workshop)?;
    let (roster, log) = (workshop.roster(), workshop.log());
    let told = denial::removed_keys(&desk.home)?;
    let asks = asking(roster, log);
    let asks: Vec<_> = asks.iter().filter(|ask| reader.has(ask.device.key)).collect();
    if let Some(ask) = asks.iter().find(|ask| !told.contains(&ask.device.key)) {
        let by_hand = by_hand(roster, log, ask.invite, Some(reader.now)).is_some();
        return Ok(if by_hand { Own::WaitsForHand(ask.device.key) } else { Own::Waits(ask.device.key) });
    }
    // Whoever was turned away and came back by a new invite has a newer key.
    let newest = desk.home.keys()?.into_iter().max_by_key(|row| (row.made, row.key)).map(|row| row.key);
    let ended = turned_away(log).into_iter().map(|asker| asker.key).find(|key| Some(*key) == newest);
    let ended = asks.first().map(|ask| ask.device.key).or(ended);
    let otherwise = if newest.is_some_and(|key| roster.may_connect(key)) { Own::LetIn } else { Own::None };
    Ok(ended.map_or(otherwise, Own::TurnedAway))
}
