//! The procedure: stages, checks and steps, before they are expanded for an engine.
//!
//! [`DEFAULT`] is the one that comes with the program (common practice, no source). A
//! definition may replace a step, add one, or drop one with the reason.

use super::caution::{self, CAUTIONS, Caution};
use super::edit::{self, Edit};
use super::feature::FeatureKind;
use super::file;
use super::instrument::{self, INSTRUMENTS};
use super::name::{self, short};
use super::nearest::suggest;
use super::operation_edit::{kind_of, read_kinds};
use super::part::{self, PART_SORTS};
use super::problem::Problems;
use super::section::{Section, Text};

/// Text of the procedure that comes with the program.
pub const DEFAULT: &str = include_str!("procedure.toml");

/// A stage of the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// Number, from 1.
    pub number: u8,
    /// Title.
    pub title: String,
}

/// A check: a question answered yes or no.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// Name.
    pub name: String,
    /// What a yes says.
    pub says: String,
}

/// Who signs a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signer {
    /// Any member.
    Member,
    /// A lead.
    Lead,
}

/// A step as written, for each feature of its kinds.
#[derive(Clone, Debug)]
pub struct Step {
    /// Name.
    pub id: String,
    /// Stage.
    pub stage: u8,
    /// Title.
    pub title: String,
    /// Kinds of features it is done for; empty: once for the engine.
    pub per: Vec<FeatureKind>,
    /// Steps of which every instance comes before.
    pub after: Vec<String>,
    /// Steps of which the instances on the same or a related feature come before.
    pub after_same: Vec<String>,
    /// What must be there to sign it.
    pub evidence: Vec<Evidence>,
    /// Who signs.
    pub sign: Signer,
    /// Whether a second person signs as well.
    pub second_person: bool,
    /// Whether the second reading is taken blind to the first.
    pub blind: bool,
    /// The step that must be signed on the same feature before this one is begun on another.
    pub one_at_a_time: Option<String>,
    /// Whether it states how things were found: work that knew of its signature does not
    /// take the ground from it.
    pub as_found: bool,
    /// Cautions shown.
    pub cautions: Vec<&'static Caution>,
    /// Byte offset in the definition; in the default procedure, none.
    pub(super) at: Option<usize>,
}

/// What a piece of evidence is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Asked {
    /// A characteristic or derived value with a verdict.
    Judged(String),
    /// A reading of a characteristic at every needed station.
    Read(String),
    /// A check passed.
    Check(String),
    /// Every stage of a group of fasteners, the crank turned after each.
    Tightening(String),
    /// An operation logged.
    Operation(String),
    /// A part of a sort, fitted or allotted.
    Part(String),
    /// A decision of the lead on a subject.
    Decision(String),
    /// The customer's word on the decision of that subject.
    Approval(String),
    /// A passed check of an instrument of a sort.
    GaugeCheck(String),
}

impl Asked {
    /// What is asked for in words, on a feature if it is on one.
    #[must_use]
    pub fn on(&self, path: &str) -> String {
        let what = match self {
            // These are of the engine as a whole.
            Self::Decision(subject) => return format!("decision on {subject}"),
            Self::Approval(subject) => return format!("the customer's approval of {subject}"),
            Self::GaugeCheck(sort) => return format!("{sort} checked"),
            Self::Judged(name) => format!("{name} judged"),
            Self::Read(name) => format!("{name} read"),
            Self::Check(name) => format!("check {name}"),
            Self::Tightening(group) => format!("{group} tightened"),
            Self::Operation(name) => format!("operation {name}"),
            Self::Part(sort) => format!("{sort} entered"),
        };
        if path.is_empty() { what } else { format!("{what}, {path}") }
    }

    /// The name that is asked for.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Judged(name)
            | Self::Read(name)
            | Self::Check(name)
            | Self::Tightening(name)
            | Self::Operation(name)
            | Self::Part(name)
            | Self::Decision(name)
            | Self::Approval(name)
            | Self::GaugeCheck(name) => name,
        }
    }
}

/// A piece of evidence of a step.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// What.
    pub asked: Asked,
    /// On which kind of related feature; none: on the step's own.
    pub on: Option<FeatureKind>,
    /// At which station; `{n}` stands for the number of the step's feature.
    pub station: Option<String>,
    pub(super) at: usize,
}

/// A procedure as written.
#[derive(Clone, Debug, Default)]
pub(super) struct Procedure {
    pub(super) stages: Vec<Stage>,
    pub(super) checks: Vec<Check>,
    pub(super) steps: Vec<Step>,
    /// What a definition changed.
    pub(super) edits: Vec<Edit>,
    /// Steps that a definition dropped, each with where it says so.
    pub(super) dropped: Vec<(String, usize)>,
}

/// Makes a piece of evidence from a name.
type Make = fn(String) -> Asked;

/// Keys of evidence, one of which each piece has.
static KEYS: [(&str, Make); 9] = [
    ("judged", Asked::Judged),
    ("read", Asked::Read),
    ("check", Asked::Check),
    ("tightening", Asked::Tightening),
    ("operation", Asked::Operation),
    ("part", Asked::Part),
    ("decision", Asked::Decision),
    ("approval", Asked::Approval),
    ("gauge-check", Asked::GaugeCheck),
];

impl Procedure {
    /// The default procedure.
    ///
    /// What is wrong with it is found by a test of this crate.
    pub(super) fn built_in(out: &mut Problems) -> Self {
        let fields = file::read(DEFAULT, out);
        let mut root = Section::new("procedure", 0, &fields);
        let mut procedure = Self { stages: read_stages(&mut root, out), ..Self::default() };
        procedure.edit(&mut root, out);
        root.finish(out);
        for step in &mut procedure.steps {
            step.at = None;
        }
        procedure.edits.clear();
        procedure
    }

    /// Adds and replaces checks and steps, and drops steps, as a file says.
    pub(super) fn edit(&mut self, root: &mut Section<'_>, out: &mut Problems) {
        for mut table in root.tables(out, "check", "check") {
            if let Some(check) = read_check(&mut table, out) {
                self.put_check(check);
            }
            table.finish(out);
        }
        let mut given: Vec<String> = Vec::new();
        for mut table in root.tables(out, "step", "step") {
            if let Some(step) = read_step(&mut table, &self.stages, out) {
                if given.contains(&step.id) {
                    table.problem(out, "this step is given twice", "each step has one id");
                }
                given.push(step.id.clone());
                self.put(step);
            }
            table.finish(out);
        }
        for mut table in root.tables(out, "dropped-step", "dropped-step") {
            self.drop_step(&mut table, out);
            table.finish(out);
        }
    }

    fn put_check(&mut self, check: Check) {
        let before = self.checks.iter().find(|other| other.name == check.name);
        self.edits.push(match before {
            Some(before) => {
                let lost = (before.says != check.says).then(|| format!("it says: {}", before.says));
                Edit::replaced(format!("check {}", check.name), lost.into_iter().collect())
            }
            None => Edit::added("check", &check.name, self.checks.iter().map(|other| &*other.name), ""),
        });
        self.checks.retain(|other| other.name != check.name);
        self.checks.push(check);
    }

    fn put(&mut self, step: Step) {
        let own = self.steps.iter().filter(|other| other.at.is_none()).map(|other| &*other.id);
        match self.steps.iter().position(|other| other.id == step.id) {
            Some(at) => {
                let lost = edit::lost(&self.steps[at], &step);
                self.edits.push(Edit::replaced(format!("step {}", step.id), lost));
                self.steps[at] = step;
            }
            None => {
                self.edits.push(Edit::added("step", &step.id, own, ""));
                self.steps.push(step);
            }
        }
    }

    /// What came after a dropped step now comes after what that one waited for.
    fn drop_step(&mut self, table: &mut Section<'_>, out: &mut Problems) {
        let reason = table.needed(out, "reason");
        let Some(id) = table.needed(out, "id") else { return };
        table.place = format!("dropped-step {}", short(id.text));
        let Some(at) = self.steps.iter().position(|step| step.id == id.text) else {
            let known: Vec<&str> = self.steps.iter().map(|step| &*step.id).collect();
            let hint = suggest_few(id.text, &known);
            out.add(id.at, table.place.clone(), "there is no such step", hint);
            return;
        };
        let Some(reason) = reason else { return };
        self.dropped.push((id.text.to_owned(), id.at));
        let dropped = self.steps.remove(at);
        let waited = |step: &&Step| step.after.contains(&dropped.id) || step.after_same.contains(&dropped.id);
        let after: Vec<&str> = self.steps.iter().filter(waited).map(|step| &*step.id).collect();
        self.edits.push(Edit::dropped(&dropped, reason.text, &after));
        for step in &mut self.steps {
            inherit(&mut step.after, &dropped, &dropped.after, &dropped.after_same);
            inherit(&mut step.after_same, &dropped, &dropped.after_same, &dropped.after);
        }
    }
}

fn inherit(list: &mut Vec<String>, dropped: &Step, first: &[String], second: &[String]) {
    if !list.contains(&dropped.id) {
        return;
    }
    list.retain(|id| *id != dropped.id);
    for id in first.iter().chain(second) {
        if !list.contains(id) {
            list.push(id.clone());
        }
    }
}

/// As [`suggest`], without the list of all steps where none is near.
pub(super) fn suggest_few(given: &str, known: &[&str]) -> String {
    super::nearest::nearest(given, known.iter().copied())
        .map_or_else(String::new, |name| format!("did you mean `{name}`?"))
}

fn read_stages(root: &mut Section<'_>, out: &mut Problems) -> Vec<Stage> {
    let mut stages = Vec::new();
    for mut table in root.tables(out, "stage", "stage") {
        let number = table.needed_whole(out, "number", 1..=99);
        let title = table.needed(out, "title");
        if let (Some(number), Some(title)) = (number, title) {
            stages.push(Stage { number, title: title.text.to_owned() });
        }
        table.finish(out);
    }
    stages
}

fn read_check(table: &mut Section<'_>, out: &mut Problems) -> Option<Check> {
    let given = table.needed(out, "name");
    if let Some(given) = given {
        table.place = format!("check {}", short(given.text));
        name::check(out, &table.place, given);
    }
    let says = table.needed(out, "says");
    Some(Check { name: given?.text.to_owned(), says: says?.text.to_owned() })
}

fn read_step(table: &mut Section<'_>, stages: &[Stage], out: &mut Problems) -> Option<Step> {
    let id = table.needed(out, "id");
    if let Some(id) = id {
        table.place = format!("step {}", short(id.text));
        name::check(out, &table.place, id);
    }
    let stage = read_stage_number(table, stages, out);
    let title = table.needed(out, "title");
    let per = read_kinds(table, "per", out);
    if let Some(twice) = per.iter().enumerate().find(|&(at, kind)| per[..at].contains(kind)) {
        table.problem(out, format!("`per` names {} twice", twice.1), "");
    }
    let after = owned(&table.texts(out, "after"));
    let after_same = owned(&table.texts(out, "after-same"));
    let evidence = read_evidence(table, out);
    let sign = read_signer(table, out);
    let second_person = table.truth(out, "second-person");
    let blind = table.truth(out, "blind");
    let one_at_a_time = table.text(out, "one-at-a-time").map(|given| given.text.to_owned());
    let as_found = table.truth(out, "as-found");
    let cautions = read_cautions(table, out);
    Some(Step {
        id: id?.text.to_owned(),
        stage: stage?,
        title: title?.text.to_owned(),
        per,
        after,
        after_same,
        evidence,
        sign: sign?,
        second_person,
        blind,
        one_at_a_time,
        as_found,
        cautions,
        at: Some(table.at),
    })
}

fn owned(texts: &[Text<'_>]) -> Vec<String> {
    texts.iter().map(|text| text.text.to_owned()).collect()
}

fn read_stage_number(table: &mut Section<'_>, stages: &[Stage], out: &mut Problems) -> Option<u8> {
    let number = table.needed_whole(out, "stage", 1..=99)?;
    let found = stages.iter().find(|stage| stage.number == number);
    if found.is_none() {
        let last = stages.iter().map(|stage| stage.number).max().unwrap_or(0);
        table.problem(out, format!("there is no stage {number}"), format!("1 to {last}"));
    }
    found.map(|stage| stage.number)
}

fn read_signer(table: &mut Section<'_>, out: &mut Problems) -> Option<Signer> {
    let Some(text) = table.text(out, "sign") else { return Some(Signer::Member) };
    match text.text {
        "member" => Some(Signer::Member),
        "lead" => Some(Signer::Lead),
        other => {
            let reason = format!("`sign` is `{}`", short(other));
            out.add(text.at, table.place.clone(), reason, "member or lead");
            None
        }
    }
}

fn read_cautions(table: &mut Section<'_>, out: &mut Problems) -> Vec<&'static Caution> {
    let mut list = Vec::new();
    for text in table.texts(out, "cautions") {
        let found = caution::find(text.text);
        if found.is_none() {
            let known: Vec<&str> = CAUTIONS.iter().map(|caution| caution.id).collect();
            let reason = format!("unknown caution `{}`", short(text.text));
            out.add(text.at, table.place.clone(), reason, suggest(text.text, &known));
        }
        list.extend(found);
    }
    list
}

fn read_evidence(table: &mut Section<'_>, out: &mut Problems) -> Vec<Evidence> {
    let mut list = Vec::new();
    let place = table.place.clone();
    for (number, mut row) in (1..).zip(table.tables(out, "evidence", &place)) {
        row.place = format!("{place}, evidence {number}");
        list.extend(read_piece(&mut row, out));
        row.finish(out);
    }
    list
}

fn read_piece(row: &mut Section<'_>, out: &mut Problems) -> Option<Evidence> {
    let on = row.text(out, "on");
    let station = row.text(out, "station").map(|station| station.text.to_owned());
    let mut found: Vec<(Text<'_>, Make)> = Vec::new();
    for &(key, make) in &KEYS {
        found.extend(row.text(out, key).map(|text| (text, make)));
    }
    let [(text, make)] = found[..] else {
        let keys: Vec<&str> = KEYS.iter().map(|&(key, _)| key).collect();
        row.problem(out, "it must ask for one thing", format!("one of {}", keys.join(", ")));
        return None;
    };
    let on = match on {
        None => None,
        Some(on) => Some(kind_of(out, &row.place, on)?),
    };
    let asked = make(text.text.to_owned());
    check_known(row, &asked, text, out)?;
    Some(Evidence { asked, on, station, at: text.at })
}

/// Names that need no engine to be checked.
fn check_known(row: &Section<'_>, asked: &Asked, text: Text<'_>, out: &mut Problems) -> Option<()> {
    let (known, what): (Vec<&str>, &str) = match asked {
        Asked::Part(name) if part::find(name).is_none() => {
            (PART_SORTS.iter().map(|sort| sort.name).collect(), "sort of part")
        }
        Asked::GaugeCheck(name) if instrument::find(name).is_none() => {
            (INSTRUMENTS.iter().map(|sort| sort.name).collect(), "sort of instrument")
        }
        Asked::Decision(name) | Asked::Approval(name) if !name::is_name(name) => {
            (Vec::new(), "name of a decision")
        }
        Asked::Judged(_)
        | Asked::Read(_)
        | Asked::Check(_)
        | Asked::Tightening(_)
        | Asked::Operation(_)
        | Asked::Part(_)
        | Asked::Decision(_)
        | Asked::Approval(_)
        | Asked::GaugeCheck(_) => return Some(()),
    };
    let reason = format!("`{}` is no {what}", short(text.text));
    out.add(text.at, row.place.clone(), reason, suggest(text.text, &known));
    None
}
