//! The circumstances of a reading as they are shown: tiles, and the panel that is open.

use gudgeon_core::engine::condition;
use gudgeon_core::engine::part::PART_SORTS;
use gudgeon_core::quantity::Unit;

use super::show::Around;
use super::view::{CheckView, Choice, PersonLine, Tile, View};
use super::{Model, Panel, gauges, typed};

impl Model {
    pub(super) fn tiles(&self, around: &Around) -> Vec<Tile> {
        let tile = |panel, name, says: String, wants| Tile { panel, name, says, wants };
        let needed = around.sight.assessment.definition().map(|definition| {
            let stated: Vec<String> = self.conditions.iter().map(|word| (*word).to_owned()).collect();
            let all = definition.missing_conditions(around.row, &[]).count();
            (definition.missing_conditions(around.row, &stated).count(), all)
        });
        let (missing, all) = needed.unwrap_or_default();
        let gauge = match (self.gauge.as_str(), self.checks.after.or(self.checks.before)) {
            ("", _) => "none chosen".to_owned(),
            (mark, Some(true)) => format!("{mark}, checked good"),
            (mark, Some(false)) => format!("{mark}, found out"),
            (mark, None) => mark.to_owned(),
        };
        let mut tiles = vec![tile(Panel::Gauge, "Gauge", gauge, self.gauge.is_empty())];
        let warm = around.row.made_of.is_some();
        if warm || !self.part_at.is_empty() {
            let cold = self.part_at.is_empty() && around.row.temperature_matters;
            tiles.push(tile(Panel::Temperature, "Temperature", self.temperature_words(), cold));
        }
        if all > 0 {
            let says = if missing > 0 {
                format!("{missing} to state")
            } else {
                let words: Vec<String> = self.conditions.iter().map(|word| word.replace('-', " ")).collect();
                words.join(", ")
            };
            tiles.push(tile(Panel::Conditions, "Conditions", says, missing > 0));
        }
        let reader = self.reader.and_then(|person| around.sight.workshop.roster().name_of(person));
        let reader = reader.map_or_else(|| "me".to_owned(), |name| format!("{name}, called out"));
        tiles.push(tile(Panel::People, "Read by", reader, false));
        let said = [self.part.as_str(), self.note.trim()].into_iter().filter(|text| !text.is_empty());
        let said: Vec<&str> = said.collect();
        let says = if said.is_empty() { "none".to_owned() } else { said.join("; ") };
        tiles.push(tile(Panel::Note, "Note", says, false));
        tiles
    }

    fn temperature_words(&self) -> String {
        let degrees = |text: &str| {
            let plain = text.chars().all(|c| c.is_ascii_digit() || "+-.,".contains(c));
            if plain { format!("{text} °C") } else { text.to_owned() }
        };
        match (self.part_at.trim(), self.gauge_at.trim()) {
            ("", "") => "not given".to_owned(),
            (part, gauge) if gauge.is_empty() || gauge == part => degrees(part),
            (part, gauge) => format!("{}, gauge {}", degrees(part), degrees(gauge)),
        }
    }

    pub(super) fn view_panel(&self, view: &mut View, around: &Around) {
        match self.panel {
            Panel::Keys | Panel::Stations | Panel::Temperature | Panel::Back => {}
            Panel::Note => view.parts = self.parts(around),
            Panel::Gauge => {
                let known = (&self.habit, self.gauge.as_str());
                let expected = (self.expected(around), around.now);
                view.gauges = gauges::lines(around.sight, around.row, known, expected);
                view.masters = gauges::masters(around.sight, &self.gauge);
                view.check = self.check_view(around);
            }
            Panel::Conditions => view.conditions = self.condition_choices(around),
            Panel::People => view.people = self.people(around),
            Panel::Dial => {
                let now = self.unit(around.row);
                let units = typed::units(around.row.kind).iter();
                let unit = |unit: &Unit| Choice {
                    what: *unit,
                    word: unit.symbol().to_owned(),
                    about: "",
                    chosen: *unit == now,
                };
                view.units = units.map(unit).collect();
                if around.row.made_of.is_some() {
                    let setting = self.setting(around.sight, around.row);
                    view.setting = Some(setting.map(|size| size.to_string()));
                }
            }
        }
    }

    fn condition_choices(&self, around: &Around) -> Vec<Vec<Choice<&'static str>>> {
        let Some(definition) = around.sight.assessment.definition() else { return Vec::new() };
        let choice = |word: &&'static str| Choice {
            what: *word,
            word: word.replace('-', " "),
            about: condition::find(word).map_or("", |row| row.about),
            chosen: self.conditions.contains(word),
        };
        let asked = definition.missing_conditions(around.row, &[]);
        asked.map(|one_of| one_of.iter().map(choice).collect()).collect()
    }

    /// The parts that it may have been read on, where the place does not name its own: of the sorts that this is
    /// a size of, all that came in.
    fn parts(&self, around: &Around) -> Vec<Choice<String>> {
        let sight = around.sight;
        if around.row.on.is_part() {
            return Vec::new();
        }
        let sorts = PART_SORTS.iter().filter(|sort| sort.owns(around.row));
        let marks = sorts.flat_map(|sort| {
            let marks = sight.assessment.parts_of(&sight.record, sort.name).into_iter();
            marks.map(|mark| format!("{}/{mark}", sort.name))
        });
        let choice = |what: String| {
            let word = if what.is_empty() { "no part named".to_owned() } else { what.replace('/', " ") };
            Choice { chosen: what == self.part, what, word, about: "" }
        };
        let marks: Vec<String> = marks.collect();
        if marks.is_empty() {
            return Vec::new();
        }
        std::iter::once(String::new()).chain(marks).map(choice).collect()
    }

    fn people(&self, around: &Around) -> Vec<PersonLine> {
        let roster = around.sight.workshop.roster();
        let own = PersonLine { person: None, name: "I read it".to_owned(), chosen: self.reader.is_none() };
        let mut others: Vec<PersonLine> = roster
            .people()
            .filter(|(person, _)| Some(*person) != around.person || self.reader.is_some())
            .map(|(person, name)| PersonLine {
                person: Some(person),
                name: name.to_owned(),
                chosen: self.reader == Some(person),
            })
            .collect();
        others.sort_by(|a, b| (&a.name, a.person).cmp(&(&b.name, b.person)));
        others.insert(0, own);
        others
    }

    fn check_view(&self, around: &Around) -> CheckView {
        let on = self.set_on(around.sight);
        let what = on.filter(|_| !self.gauge.is_empty());
        let what = what.map(|on| format!("{} on {on}", self.gauge)).unwrap_or_default();
        let word = |passed| if passed { "good" } else { "out" };
        let readings = self.checks.readings;
        let says = match (self.checks.before, self.checks.after) {
            (_, Some(true)) => "good after the set".to_owned(),
            (_, Some(false)) => {
                "out after the set: its readings since its last good check are in doubt".to_owned()
            }
            (Some(true), None) if readings == 0 => "good before the set; check it again after".to_owned(),
            (Some(passed), None) if readings == 0 => format!("{} before the set", word(passed)),
            (Some(passed), None) => format!("{} before, {readings} read since; check it again", word(passed)),
            (None, None) if readings == 0 => "not checked before this set".to_owned(),
            (None, None) => format!("not checked; {readings} read in this set"),
        };
        CheckView { what, says }
    }
}
