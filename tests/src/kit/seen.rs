//! What an assessment says, put so that a story can expect it in a line.

use gudgeon_core::assess::{
    Assessment, Finding, Record, Signature, Standing, Status, StepState, Workshop, show,
};
use gudgeon_core::entry::EntryId;

/// What everybody sees once everything is delivered.
#[derive(Debug)]
pub struct Seen {
    record: Record,
    workshop: Workshop,
    assessment: Assessment,
}

impl Seen {
    pub(super) const fn new(record: Record, workshop: Workshop, assessment: Assessment) -> Self {
        Self { record, workshop, assessment }
    }

    /// The canonical bytes.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        self.assessment.to_bytes(&self.record, &self.workshop)
    }

    /// The assessment itself.
    #[must_use]
    pub const fn assessment(&self) -> &Assessment {
        &self.assessment
    }

    /// The record.
    #[must_use]
    pub const fn record(&self) -> &Record {
        &self.record
    }

    /// The workshop.
    #[must_use]
    pub const fn workshop(&self) -> &Workshop {
        &self.workshop
    }

    /// Exactly these findings, each as rule, feature and subject; work ahead of its order aside, parts
    /// that were never received and decisions before anything was measured, since a story of one rule does not do all that comes before: see
    /// [`Seen::finds_ahead`] and [`Seen::of_rule`].
    ///
    /// # Panics
    /// If others are found.
    pub fn finds(&self, expected: &[&str]) {
        let found: Vec<String> =
            self.assessment.findings().into_iter().filter(|finding| !is_before(finding)).map(line).collect();
        let mut expected: Vec<String> = expected.iter().map(|&line| line.to_owned()).collect();
        let mut sorted = found.clone();
        sorted.sort_unstable();
        expected.sort_unstable();
        assert_eq!(sorted, expected, "\n{}", self.told());
    }

    /// As [`Seen::finds`], leaving aside that earlier steps are not signed.
    ///
    /// # Panics
    /// If others are found.
    pub fn finds_besides_order(&self, expected: &[&str]) {
        let broken = |finding: &&&Finding| finding.rule == gudgeon_core::assess::Rule::OrderBroken;
        let order: Vec<String> = self.assessment.findings().iter().filter(broken).map(|f| line(f)).collect();
        let mut all = expected.to_vec();
        all.extend(order.iter().map(String::as_str));
        self.finds(&all);
    }

    /// Exactly these findings of work ahead of its order, each as feature and subject.
    ///
    /// # Panics
    /// If others are found.
    pub fn finds_ahead(&self, expected: &[&str]) {
        let found: Vec<String> =
            self.assessment.findings().into_iter().filter(|finding| is_ahead(finding)).map(line).collect();
        let expected: Vec<String> = expected.iter().map(|line| format!("work-ahead {line}")).collect();
        assert_eq!(found, expected, "\n{}", self.told());
    }

    /// Whether there is a step of that name.
    #[must_use]
    pub fn has_step(&self, id: &str) -> bool {
        self.assessment.steps().iter().any(|step| &*step.id == id)
    }

    /// Name of a step by its place.
    #[must_use]
    pub fn step_id(&self, at: usize) -> String {
        self.assessment.steps()[at].id.to_string()
    }

    /// What comes before anything more is pulled on a group.
    #[must_use]
    pub fn comes_first(&self, group: &str, place: &str) -> Option<String> {
        self.assessment.comes_first(group, place)
    }

    /// The findings of one rule, each as feature and subject.
    #[must_use]
    pub fn of_rule(&self, rule: &str) -> Vec<String> {
        let all = self.assessment.findings().into_iter();
        let of_rule = all.filter(|finding| finding.rule.name() == rule).map(line);
        of_rule.map(|line| line.trim_start_matches(rule).trim_start().to_owned()).collect()
    }

    /// The one finding of a line.
    ///
    /// # Panics
    /// If there is none, or more than one.
    #[must_use]
    pub fn finding(&self, wanted: &str) -> &Finding {
        let all = self.assessment.findings();
        let found: Vec<&&Finding> = all.iter().filter(|finding| line(finding) == wanted).collect();
        assert_eq!(found.len(), 1, "{wanted}\n{}", self.told());
        found[0]
    }

    /// The finding of that line rests on these.
    ///
    /// # Panics
    /// If it does not.
    pub fn rests(&self, wanted: &str, on: &[EntryId]) {
        let mut on = on.to_vec();
        on.sort_unstable();
        assert_eq!(self.finding(wanted).ids, on, "{wanted}");
    }

    /// The finding of that line says this.
    ///
    /// # Panics
    /// If it does not.
    pub fn says(&self, wanted: &str, words: &str) {
        assert_eq!(self.finding(wanted).text, words);
    }

    /// What became of an entry.
    ///
    /// # Panics
    /// If it is not folded.
    #[must_use]
    pub fn status(&self, id: EntryId) -> &Status {
        self.assessment.status(self.record.log().place(&id).expect("a folded entry"))
    }

    /// These entries stand.
    ///
    /// # Panics
    /// If one does not.
    pub fn stand(&self, ids: &[EntryId]) {
        for id in ids {
            assert!(self.status(*id).stands(), "{:?}\n{}", self.status(*id), self.told());
        }
    }

    /// That is what became of the entry, by these.
    ///
    /// # Panics
    /// If something else did.
    pub fn became(&self, id: EntryId, word: &str, by: &[EntryId]) {
        let status = self.status(id);
        assert_eq!(status.word(), word, "\n{}", self.told());
        let mut causes: Vec<EntryId> =
            status.causes().iter().map(|ix| self.record.log().at(*ix).id).collect();
        causes.sort_unstable();
        let mut by = by.to_vec();
        by.sort_unstable();
        assert_eq!(causes, by, "{word}");
    }

    /// The standing value of a station: a size, or `disputed`, `before or after?`, `nothing`.
    ///
    /// # Panics
    /// If it is another.
    pub fn value(&self, feature: &str, characteristic: &str, station: &str, expected: &str) {
        let view = self.assessment.feature(feature).expect("a feature");
        let slots = view.slots.iter();
        let at = slots.filter(|slot| slot.row.name == characteristic && &*slot.station == station);
        let found: Vec<String> = at
            .map(|slot| match &slot.standing {
                Standing::Value(value) => show::amount(slot.row.kind, value.value),
                Standing::Disputed(_) => "disputed".to_owned(),
                Standing::Undecided(..) => "before or after?".to_owned(),
                Standing::Empty => "nothing".to_owned(),
            })
            .collect();
        assert_eq!(found, [expected], "{feature} {characteristic} {station}\n{}", self.told());
    }

    /// The verdict on a value of a feature.
    ///
    /// # Panics
    /// If it is another.
    pub fn verdict(&self, feature: &str, name: &str, expected: &str) {
        let found = self.assessment.value(feature, name).map(|judged| judged.verdict().to_string());
        assert_eq!(found.as_deref(), Some(expected), "{feature} {name}\n{}", self.told());
    }

    /// Nothing usable was read: there is no value to judge.
    ///
    /// # Panics
    /// If there is one.
    pub fn verdict_is_missing(&self, feature: &str, name: &str) {
        assert!(self.assessment.value(feature, name).is_none(), "{}", self.told());
    }

    /// A step.
    ///
    /// # Panics
    /// If there is none of that name.
    #[must_use]
    pub fn step(&self, id: &str) -> &StepState {
        self.assessment.steps().iter().find(|step| &*step.id == id).expect("a step")
    }

    /// How far a step is.
    ///
    /// # Panics
    /// If it is elsewhere.
    pub fn progress(&self, id: &str, expected: &str) {
        let step = self.step(id);
        assert_eq!(step.progress.word(), expected, "{step:#?}\n{}", self.told());
    }

    /// The signature of a step is stale for this reason.
    ///
    /// # Panics
    /// If it stands, or for another.
    pub fn stale(&self, id: &str, words: &str) {
        let signature = self.step(id).signature.as_ref().expect("a signature");
        let causes: Vec<&str> = signature.stale.iter().map(|cause| cause.text.as_str()).collect();
        assert_eq!(causes, [words]);
    }

    /// Which of several signatures speaks.
    #[must_use]
    pub fn signed_by(&self, id: &str) -> Option<EntryId> {
        let entry = |signature: &Signature| self.record.log().at(signature.by).id;
        self.step(id).signature.as_ref().map(entry)
    }

    /// The id of the concession that accepts a finding.
    #[must_use]
    pub fn conceded(&self, wanted: &str) -> Option<EntryId> {
        self.finding(wanted).conceded
    }

    /// A group of fasteners: stages done, and whether complete.
    #[must_use]
    pub fn tightened(&self, group: &str, place: &str) -> Option<(u32, bool)> {
        let mut groups = self.assessment.tightenings();
        groups.find(|(g, p, ..)| (*g, *p) == (group, place)).map(|(_, _, done, complete)| (done, complete))
    }

    /// What comes next on a group of fasteners.
    #[must_use]
    pub fn next_act(&self, group: &str, place: &str) -> Option<gudgeon_core::assess::NextAct> {
        self.assessment.next_act(group, place)
    }

    /// What each finding of one rule rests on.
    #[must_use]
    pub fn grounds_of(&self, rule: &str) -> Vec<Vec<EntryId>> {
        let all = self.assessment.findings().into_iter();
        all.filter(|finding| finding.rule.name() == rule).map(|finding| finding.ids.clone()).collect()
    }

    /// All findings in words, for a test that fails.
    fn told(&self) -> String {
        let told = |f: &&Finding| format!("  {}: {}\n", line(f), f.text);
        self.assessment.findings().iter().map(told).collect()
    }
}

/// Whether it is about what should have come before.
fn is_before(finding: &Finding) -> bool {
    use gudgeon_core::assess::Rule;
    is_ahead(finding) || matches!(finding.rule, Rule::NotReceived | Rule::DecidedEarly)
}

fn is_ahead(finding: &Finding) -> bool {
    finding.rule == gudgeon_core::assess::Rule::WorkAhead
}

fn line(finding: &Finding) -> String {
    let parts = [finding.rule.name(), &finding.feature, &finding.subject];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}
