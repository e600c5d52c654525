//! One worksheet as a form from its row: inputs, bounds, answers with formula and source, cautions.
//!
//! It is worked out anew after every key: what is still needed is named, what is wrong is told at
//! its field. Where a record is held, inputs that nobody has typed are filled from it.

use gudgeon_core::engine::Subject;
use gudgeon_core::entry::DocumentId;
use gudgeon_core::quantity::{Kind, Unit};
use gudgeon_core::work::{
    FILLS, Filling, InRecord, Input, Need, Problem, Takes, Where, Worksheet, fill, fills, find, lacking,
    places,
};

use super::Desk;

/// What is typed, and what came of it.
#[derive(Default)]
pub struct Model {
    sheet: Option<&'static Worksheet>,
    fields: Vec<Typed>,
    record: Option<DocumentId>,
    at: String,
    of: String,
    /// What the record lacks beside what it gave.
    lacking: Vec<Problem>,
    worked: Worked,
}

/// One input as typed.
#[derive(Default)]
struct Typed {
    text: String,
    unit: Option<Unit>,
    /// Filled from the record and not touched since: where from; or why it was not filled.
    record: Option<Result<String, String>>,
}

/// What came of the inputs.
#[derive(Default)]
struct Worked {
    answers: Vec<AnswerLine>,
    notes: Vec<String>,
    problems: Vec<Problem>,
}

/// What may happen.
pub enum Event {
    /// An input, by its place in the row.
    Text(usize, String),
    /// Its unit, by symbol.
    Unit(usize, String),
    /// Fill from this record, or from none.
    Record(Option<DocumentId>),
    /// At this place of it.
    At(String),
    /// This value of the place.
    Of(String),
    /// Fill in the example.
    Example,
    /// Nothing typed.
    Clear,
}

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// There is no worksheet of this name.
    pub unknown: bool,
    /// What it is for.
    pub title: &'static str,
    /// The inputs.
    pub fields: Vec<Field>,
    /// Of which record they are filled; empty where none fills them.
    pub records: Vec<(DocumentId, String, bool)>,
    /// Places of the record that fill something: path, and whether it is meant.
    pub places: Vec<(String, bool)>,
    /// Values of the place, where one must be named.
    pub subjects: Vec<(&'static str, bool)>,
    /// Inputs still needed.
    pub still: Vec<&'static str>,
    /// What is wrong with no single input.
    pub problems: Vec<(String, String)>,
    /// The answers; none while something is needed or wrong.
    pub answers: Vec<AnswerLine>,
    /// The first answer, or what is still needed, to stand at the foot of the screen.
    pub foot: String,
    /// What else should be known.
    pub notes: Vec<String>,
    /// Whether the example is filled in by a tap: nothing is typed yet.
    pub untouched: bool,
    /// The formula.
    pub formula: &'static str,
    /// Within which bounds it holds.
    pub valid: &'static str,
    /// Where it comes from.
    pub source: String,
    /// The mistakes people make.
    pub mistakes: &'static [&'static str],
    /// What to mind.
    pub cautions: &'static [&'static str],
}

/// One output.
#[derive(Clone, Debug, PartialEq)]
pub struct AnswerLine {
    /// Name.
    pub name: &'static str,
    /// The value with its unit.
    pub value: String,
    /// What it is.
    pub about: &'static str,
}

/// One input.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Name.
    pub name: &'static str,
    /// What it is.
    pub about: &'static str,
    /// What is taken.
    pub bounds: String,
    /// What follows where it is left out; none: it must be given.
    pub left_out: Option<String>,
    /// As typed.
    pub text: String,
    /// Words that can be chosen; empty where it is typed.
    pub words: Vec<String>,
    /// Units that can be chosen; empty where there is none, or it stands in the text.
    pub units: Vec<&'static str>,
    /// The unit that is meant.
    pub unit: &'static str,
    /// What is wrong, and the way out.
    pub problem: Option<(String, String)>,
    /// Where the record has it, or why it has not.
    pub record: Option<String>,
}

impl Model {
    pub(super) fn open(name: &str) -> Self {
        let sheet = find(name);
        let fields = sheet.map_or(&[][..], |sheet| sheet.inputs).iter();
        let fields = fields.map(|input| Typed { unit: units(input).first().copied(), ..Typed::default() });
        let mut model = Self { sheet, fields: fields.collect(), ..Self::default() };
        model.work();
        model
    }

    pub(super) fn handle(&mut self, event: Event, desk: &mut Desk) {
        match event {
            Event::Text(at, text) => {
                if let Some(field) = self.fields.get_mut(at) {
                    (field.text, field.record) = (text, None);
                }
            }
            Event::Unit(at, symbol) => {
                let unit = Unit::ALL.iter().copied().find(|unit| unit.symbol() == symbol);
                if let (Some(field), Some(unit)) = (self.fields.get_mut(at), unit) {
                    field.unit = Some(unit);
                }
            }
            Event::Record(record) => {
                (self.record, self.at, self.of) = (record, String::new(), String::new());
                record.into_iter().for_each(|record| desk.look(record));
                self.fill(desk);
            }
            Event::At(path) => {
                (self.at, self.of) = (path, String::new());
                self.fill(desk);
            }
            Event::Of(name) => {
                self.of = name;
                self.fill(desk);
            }
            Event::Example => self.example(),
            Event::Clear => self.clear(),
        }
        self.work();
    }

    fn clear(&mut self) {
        for field in &mut self.fields {
            (field.text, field.record) = (String::new(), None);
        }
        (self.record, self.lacking) = (None, Vec::new());
    }

    fn example(&mut self) {
        let Some(sheet) = self.sheet else { return };
        self.clear();
        for (name, value) in sheet.example.split_whitespace().filter_map(|text| text.split_once('=')) {
            if let Some(at) = sheet.inputs.iter().position(|input| input.name == name) {
                value.clone_into(&mut self.fields[at].text);
            }
        }
    }

    /// Fills what nobody has typed with what the record has.
    fn fill(&mut self, desk: &Desk) {
        for field in self.fields.iter_mut().filter(|field| field.record.is_some()) {
            (field.text, field.record) = (String::new(), None);
        }
        self.lacking.clear();
        let sight = self.record.and_then(|record| desk.sight(record));
        let Some((sheet, sight)) = self.sheet.zip(sight) else { return };
        let Some(definition) = sight.assessment.definition() else { return };
        let at = definition.feature(&self.at).ok();
        let place = InRecord {
            record: &sight.record,
            workshop: &sight.workshop,
            assessment: &sight.assessment,
            definition,
            at: at.as_ref(),
            of: (!self.of.is_empty()).then_some(&*self.of),
        };
        let mut fillings = fill(sheet, &place);
        fillings.retain(|filling| {
            let at = sheet.inputs.iter().position(|input| input.name == filling.input);
            at.is_some_and(|at| self.fields[at].text.is_empty())
        });
        self.lacking = lacking(sheet, &fillings, at.as_ref());
        for Filling { input, found } in fillings {
            let at = sheet.inputs.iter().position(|other| other.name == input);
            let Some(field) = at.and_then(|at| self.fields.get_mut(at)) else { continue };
            field.record = Some(found.map(|(text, from)| {
                field.text = text;
                from
            }));
        }
    }

    fn work(&mut self) {
        let Some(sheet) = self.sheet else { return };
        let typed = sheet.inputs.iter().zip(&self.fields);
        let texts: Vec<String> = typed.filter_map(|(input, field)| field.as_given(input)).collect();
        let empty = |problem: &&Problem| {
            let at = sheet.inputs.iter().position(|input| input.name == problem.input);
            at.is_some_and(|at| self.fields[at].text.trim().is_empty())
        };
        let lacking: Vec<Problem> = self.lacking.iter().filter(empty).cloned().collect();
        let problems = match sheet.work(&texts) {
            Ok((_, answer)) if lacking.is_empty() => {
                let line = |out: &gudgeon_core::work::Out| AnswerLine {
                    name: out.name,
                    value: out.words(sheet),
                    about: sheet.output(out.name).map_or("", |row| row.about),
                };
                let answers = answer.outputs().iter().map(line).collect();
                self.worked = Worked { answers, notes: answer.notes().to_vec(), problems: Vec::new() };
                return;
            }
            Ok(_) => lacking,
            Err(error) => lacking.into_iter().chain(error.problems).collect(),
        };
        self.worked = Worked { problems, ..Worked::default() };
    }

    pub(super) fn view(&self, desk: &Desk) -> View {
        let Some(sheet) = self.sheet else { return View { unknown: true, ..View::default() } };
        let fields = sheet.inputs.iter().zip(&self.fields);
        let fields: Vec<Field> = fields.map(|(input, typed)| self.field(input, typed)).collect();
        let is_empty = |problem: &&Problem| {
            let field = fields.iter().find(|field| field.name == problem.input);
            field.is_some_and(|field| field.text.trim().is_empty() && field.problem.is_none())
        };
        let named = |problem: &&Problem| sheet.inputs.iter().any(|input| input.name == problem.input);
        let told = |problem: &Problem| (format!("{}: {}", problem.input, problem.cause), hint(problem));
        let problems = self.worked.problems.iter();
        let missing = |name: &&str| problems.clone().filter(is_empty).any(|problem| problem.input == **name);
        let still: Vec<&str> = sheet.inputs.iter().map(|input| input.name).filter(missing).collect();
        View {
            unknown: false,
            title: sheet.title,
            foot: self.foot(&still),
            still,
            problems: problems.filter(|problem| !named(problem)).map(told).collect(),
            fields,
            records: if fills(sheet) { self.records(desk) } else { Vec::new() },
            places: self.places(sheet, desk),
            subjects: self.subjects(sheet, desk),
            answers: self.worked.answers.clone(),
            notes: self.worked.notes.clone(),
            untouched: self.fields.iter().all(|field| field.text.is_empty()),
            formula: sheet.formula,
            valid: sheet.valid,
            source: sheet.source.to_string(),
            mistakes: sheet.mistakes,
            cautions: sheet.cautions,
        }
    }

    fn foot(&self, still: &[&str]) -> String {
        let plain = |name: &str| name.replace('-', " ");
        match (self.worked.answers.first(), still) {
            (Some(first), _) => format!("{}: {}", plain(first.name), first.value),
            (None, []) => "see what is wrong above".to_owned(),
            (None, still) => {
                let still: Vec<String> = still.iter().map(|name| plain(name)).collect();
                format!("still needed: {}", still.join(", "))
            }
        }
    }

    fn field(&self, input: &Input, typed: &Typed) -> Field {
        let mut problems = self.worked.problems.iter().filter(|problem| problem.input == input.name);
        let lacking = |problem: &Problem| self.lacking.contains(problem);
        let told = |problem: &Problem| !typed.text.trim().is_empty() || lacking(problem);
        let problem = problems.find(|problem| told(problem));
        let own = typed.has_unit();
        Field {
            name: input.name,
            about: input.about,
            bounds: bounds(&input.takes),
            left_out: match input.need {
                Need::Required => None,
                Need::Optional => Some("may be left out".to_owned()),
                Need::Default(text, standing) => {
                    Some(format!("{text} where nothing is given ({})", standing.words()))
                }
            },
            text: typed.text.clone(),
            words: words(&input.takes),
            units: if own { Vec::new() } else { units(input).iter().map(|unit| unit.symbol()).collect() },
            unit: typed.unit.map_or("", Unit::symbol),
            problem: problem.map(|problem| (problem.cause.clone(), hint(problem))),
            record: typed.record.as_ref().map(|found| match found {
                Ok(from) => format!("from the record: {from}"),
                Err(why) => format!("not in the record: {why}"),
            }),
        }
    }

    fn records(&self, desk: &Desk) -> Vec<(DocumentId, String, bool)> {
        let records = desk.records().into_iter();
        records.map(|(id, name)| (id, name, Some(id) == self.record)).collect()
    }

    fn places(&self, sheet: &Worksheet, desk: &Desk) -> Vec<(String, bool)> {
        let sight = self.record.and_then(|record| desk.sight(record));
        let Some(definition) = sight.and_then(|sight| sight.assessment.definition()) else {
            return Vec::new();
        };
        places(sheet, definition).map(|path| (path.to_owned(), path == self.at)).collect()
    }

    /// Values of the place; only where the worksheet is about any of them.
    fn subjects(&self, sheet: &Worksheet, desk: &Desk) -> Vec<(&'static str, bool)> {
        let any = |fill: &&gudgeon_core::work::Fill| {
            fill.sheet == sheet.name && matches!(fill.from, Where::Judged(_))
        };
        let sight = self.record.filter(|_| FILLS.iter().any(|fill| any(&fill)));
        let definition =
            sight.and_then(|record| desk.sight(record)).and_then(|sight| sight.assessment.definition());
        let Some(at) = definition.and_then(|definition| definition.feature(&self.at).ok()) else {
            return Vec::new();
        };
        Subject::names_on(at.kind()).map(|name| (name, name == self.of)).collect()
    }
}

impl Typed {
    /// As a worksheet takes it, `journal=56.995mm`; none where nothing is typed.
    fn as_given(&self, input: &Input) -> Option<String> {
        let text = self.text.trim();
        if text.is_empty() {
            return None;
        }
        let unit = self.unit.filter(|_| !self.has_unit()).map_or("", Unit::symbol);
        Some(format!("{}={text}{unit}", input.name))
    }

    /// Whether the unit stands in the text, as a gauge or a paste gives it.
    fn has_unit(&self) -> bool {
        self.text.contains(|c: char| c.is_alphabetic() || matches!(c, '"' | '°' | '%' | ':'))
    }
}

/// Units that an input can be given in, its own first; none where it takes none.
fn units(input: &Input) -> Vec<Unit> {
    let own = match input.takes {
        Takes::Quantity(unit, _) => unit,
        Takes::Quantities(unit, ..) if !matches!(unit.kind(), Kind::Ratio | Kind::Count) => unit,
        Takes::Quantities(..)
        | Takes::Number(_)
        | Takes::Whole(..)
        | Takes::Word(_)
        | Takes::Material
        | Takes::Unit
        | Takes::Anything => return Vec::new(),
    };
    let others = Unit::ALL.iter().copied().filter(|unit| unit.kind() == own.kind() && *unit != own);
    std::iter::once(own).chain(others).collect()
}

/// Words to choose from.
fn words(takes: &Takes) -> Vec<String> {
    match takes {
        Takes::Word(words) => words.iter().map(|word| (*word).to_owned()).collect(),
        Takes::Unit => Unit::ALL.iter().map(|unit| unit.symbol().to_owned()).collect(),
        Takes::Quantity(..)
        | Takes::Quantities(..)
        | Takes::Number(_)
        | Takes::Whole(..)
        | Takes::Material
        | Takes::Anything => Vec::new(),
    }
}

/// What may be typed, in a few words.
fn bounds(takes: &Takes) -> String {
    match takes {
        Takes::Quantity(unit, range) => range.words(unit.symbol()),
        Takes::Quantities(unit, range, least) => {
            let each = range.words(unit.symbol());
            format!(
                "{least} or more with commas between (semicolons where the comma is the decimal one); each {each}"
            )
        }
        Takes::Number(range) => range.words(""),
        Takes::Whole(low, high) => format!("a whole number, {low} to {high}"),
        Takes::Word(_) | Takes::Unit => String::new(),
        Takes::Material | Takes::Anything => takes.words(),
    }
}

/// The way out, as it is said beside a field.
fn hint(problem: &Problem) -> String {
    problem.hint.replace("=...", "")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use gudgeon_client::store::Memory;
    use gudgeon_core::work::{TOGETHER, WORKSHEETS};

    use super::super::kit::{Phone, held, screen};
    use super::*;
    use crate::app::{Place, ScreenView, join, worksheets};

    fn open(name: &str) -> Phone {
        Phone::on(Memory::default(), Place::Worksheet(name.to_owned()))
    }

    fn types(phone: &mut Phone, name: &str, text: &str) {
        let at = screen!(phone, Worksheet).fields.iter().position(|field| field.name == name).unwrap();
        phone.send(Event::Text(at, text.to_owned()));
    }

    fn answer(phone: &Phone, name: &str) -> String {
        screen!(phone, Worksheet).answers.into_iter().find(|line| line.name == name).unwrap().value
    }

    #[test]
    fn worksheets_are_there_before_joining_and_are_found_by_a_word() {
        let mut phone = Phone::on(Memory::default(), Place::Start);
        assert_eq!(screen!(phone, Join).code, join::View::default().code);
        phone.send(join::Event::Worksheets);
        let listed = |phone: &Phone| {
            let sections = screen!(phone, Worksheets).sections;
            sections.into_iter().flat_map(|(_, sheets)| sheets).map(|(name, _)| name).collect::<Vec<_>>()
        };
        assert_eq!(listed(&phone).len(), WORKSHEETS.len());
        phone.send(worksheets::Event::Find("Oil-Clear".to_owned()));
        assert_eq!(listed(&phone), ["oil-clearance"]);
        phone.send(worksheets::Event::Open("oil-clearance"));
        assert_eq!(phone.address, "/worksheet/oil-clearance");
        assert!(matches!(phone.view().screen, ScreenView::Worksheet(_)));
        assert_eq!(phone.view().head.title, "oil clearance");
        assert_eq!(screen!(phone, Worksheet).title, find("oil-clearance").unwrap().title);
    }

    #[test]
    fn every_worksheet_answers_its_example_on_the_form() {
        for sheet in WORKSHEETS {
            let mut phone = open(sheet.name);
            assert!(screen!(phone, Worksheet).untouched, "{}", sheet.name);
            phone.send(Event::Example);
            let view = screen!(phone, Worksheet);
            assert!(!view.answers.is_empty(), "{}: {view:?}", sheet.name);
            assert_eq!((view.still, view.problems), (vec![], vec![]), "{}", sheet.name);
            phone.send(Event::Clear);
            assert!(screen!(phone, Worksheet).answers.is_empty(), "{}", sheet.name);
        }
    }

    // 1 in = 25.4 mm exactly (yard and pound agreement of 1959): 80 mm bored out by 0.020 in is 80.508.
    #[test]
    fn a_bare_number_is_in_the_unit_that_is_chosen_and_a_typed_unit_wins() {
        let mut phone = open("size-at-20");
        let sheet = find("size-at-20").unwrap();
        let size = sheet.inputs.iter().position(|input| !units(input).is_empty()).unwrap();
        phone.send(Event::Example);
        phone.send(Event::Text(size, "2".to_owned()));
        assert_eq!(screen!(phone, Worksheet).fields[size].unit, "mm");
        let in_mm = screen!(phone, Worksheet).answers;
        phone.send(Event::Unit(size, "in".to_owned()));
        let in_inches = screen!(phone, Worksheet).answers;
        phone.send(Event::Text(size, "50.8mm".to_owned()));
        let view = screen!(phone, Worksheet);
        assert_eq!(view.answers, in_inches);
        assert_ne!(view.answers, in_mm);
        assert!(view.fields[size].units.is_empty(), "the unit stands in the text");
    }

    #[test]
    fn what_is_missing_is_named_and_a_mistake_is_told_at_its_field() {
        let mut phone = open("displacement");
        let view = screen!(phone, Worksheet);
        assert!(!view.still.is_empty() && view.answers.is_empty());
        assert!(view.fields.iter().all(|field| field.problem.is_none()), "nothing was typed yet");
        types(&mut phone, "bore", "-3");
        let view = screen!(phone, Worksheet);
        let bore = view.fields.iter().find(|field| field.name == "bore").unwrap();
        let (cause, way_out) = bore.problem.clone().unwrap();
        assert!(cause.contains("outside") && !way_out.is_empty(), "{cause}; {way_out}");
        assert!(!view.still.contains(&"bore") && !view.still.is_empty());
    }

    // 80.00 x 89.00, four cylinders: pi/4 * 8.0^2 * 8.9 * 4 = 1789.4 cm3.
    #[test]
    fn it_is_worked_out_while_one_types() {
        let mut phone = open("displacement");
        for (name, text) in [("bore", "80.00"), ("stroke", "89.00"), ("cylinders", "4")] {
            types(&mut phone, name, text);
        }
        assert!(answer(&phone, "all").starts_with("1789."), "{}", answer(&phone, "all"));
        let view = screen!(phone, Worksheet);
        assert!(!view.formula.is_empty() && !view.source.is_empty() && view.still.is_empty());
        // pi/4 * 8.0^2 * 8.9 = 447.4 cm3.
        assert!(view.foot.starts_with("each: 447.3"), "{}", view.foot);
        types(&mut phone, "stroke", "");
        assert_eq!(screen!(phone, Worksheet).foot, "still needed: stroke");
    }

    #[test]
    fn a_record_fills_what_nobody_typed_and_says_from_where() {
        let (mut phone, record) = held(|_| Place::Worksheet("displacement".to_owned()));
        types(&mut phone, "bore", "81");
        phone.send(Event::Record(Some(record)));
        let view = screen!(phone, Worksheet);
        let field = |name: &str| view.fields.iter().find(|field| field.name == name).unwrap();
        assert_eq!((field("bore").text.as_str(), &field("bore").record), ("81", &None));
        assert!(field("stroke").record.as_ref().unwrap().starts_with("from the record: "), "{view:?}");
        assert!(!field("stroke").text.is_empty() && !view.answers.is_empty());
        assert_eq!(view.records.len(), 1);
        phone.send(Event::Record(None));
        let view = screen!(phone, Worksheet);
        assert_eq!(
            view.fields.iter().filter(|field| !field.text.is_empty()).count(),
            1,
            "only what was typed"
        );
    }

    #[test]
    fn what_the_record_does_not_have_is_said_with_the_reason() {
        let name = TOGETHER[0].0;
        let (mut phone, record) = held(|_| Place::Worksheet(name.to_owned()));
        phone.send(Event::Record(Some(record)));
        let place = screen!(phone, Worksheet).places[0].0.clone();
        phone.send(Event::At(place));
        let view = screen!(phone, Worksheet);
        let why = view.fields.iter().filter_map(|field| field.record.clone()).collect::<Vec<_>>();
        assert!(why.iter().any(|why| why.starts_with("not in the record: ")), "{why:?}");
        assert!(view.answers.is_empty());
    }

    #[test]
    fn a_name_that_no_worksheet_has_is_said() {
        assert!(screen!(open("no-such"), Worksheet).unknown);
    }
}
