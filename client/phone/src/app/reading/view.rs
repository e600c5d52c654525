//! What is to be seen while readings are taken, all texts made.

use gudgeon_core::assess::{WouldBe, show};
use gudgeon_core::engine::{Characteristic, FeatureKind, condition, reads};
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::measure::{Reason, Verdict};
use gudgeon_core::quantity::{Comparator, Kind, Unit};
use gudgeon_core::sheet::{State, VerdictFigure};

use super::super::desk::Where;
use super::super::sight::Sight;
use super::seen::Said;
use super::{Desk, Model, Order, Panel, Spot, gauges, route, typed};
use crate::app::Failure;

/// What is to be seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// Where the reading is taken, such as `bore/1 top, thrust`.
    pub spot: String,
    /// What is read, in the trade's words.
    pub about: &'static str,
    /// How many of the route's stations are read.
    pub progress: (usize, usize),
    /// What stands at this station.
    pub stands: String,
    /// Another person's value is hidden here.
    pub hidden: bool,
    /// The feature, with the station at hand.
    pub drawing: Drawing,
    /// The value as typed.
    pub typed: String,
    /// Its unit.
    pub unit: String,
    /// Before the value, where the deviation is typed: the set size.
    pub set_to: Option<String>,
    /// Beneath: the same in the other unit; with a deviation the size it makes.
    pub beneath: String,
    /// The verdict there would be.
    pub verdict: Option<VerdictView>,
    /// What there is to say of the value and the gauge at once.
    pub remarks: Vec<String>,
    /// What is shown in the place of the keypad.
    pub panel: Panel,
    /// Gauge, temperature, conditions, reader: each opens its panel.
    pub tiles: Vec<Tile>,
    /// Stations of this feature.
    pub stations: Vec<StationLine>,
    /// Features read alike: path, number or name, whether it is this one, read and to be read.
    pub features: Vec<(String, String, bool, (usize, usize))>,
    /// Orders of reading; empty where there is no choice.
    pub orders: Vec<Choice<Order>>,
    /// Gauges; while their panel is open.
    pub gauges: Vec<GaugeLine>,
    /// Gauge, and what it is set on, as typed.
    pub gauge: (String, String),
    /// Marks of what it can be set on.
    pub masters: Vec<String>,
    /// The gauge's check beside this set.
    pub check: CheckView,
    /// Temperatures of part and gauge, as typed.
    pub temperatures: (String, String),
    /// What a reading must state, of each list one.
    pub conditions: Vec<Vec<Choice<&'static str>>>,
    /// Who may have read it.
    pub people: Vec<PersonLine>,
    /// Units to choose.
    pub units: Vec<Choice<Unit>>,
    /// Whether a deviation can be typed, and is.
    pub dial: Option<bool>,
    /// The set size as typed.
    pub set_size: String,
    /// The size meant at 20 °C, as typed.
    pub target: String,
    /// What to set the gauge to, or why that cannot be said.
    pub setting: Option<Result<String, Failure>>,
    /// Who would sign for it; none: nobody has said so.
    pub holder: Option<String>,
    /// Being kept: the screen says nothing more than that yet.
    pub keeping: bool,
    /// The last reading that was kept, and where it is.
    pub kept: Option<(String, String)>,
    /// What that did, and whether it can be taken back.
    pub after: Kept,
    /// What is wrong.
    pub problem: Option<Failure>,
}

/// Something to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice<T> {
    /// What.
    pub what: T,
    /// Its word.
    pub word: String,
    /// What it says; may be empty.
    pub about: &'static str,
    /// Whether it is chosen.
    pub chosen: bool,
}

/// Opens a panel, and says what is set there.
#[derive(Clone, Debug, PartialEq)]
pub struct Tile {
    /// Which.
    pub panel: Panel,
    /// Its name.
    pub name: &'static str,
    /// What is set.
    pub says: String,
    /// Something is missing there.
    pub wants: bool,
}

/// A station to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct StationLine {
    /// Its name.
    pub station: String,
    /// In words.
    pub word: String,
    /// What stands there.
    pub says: String,
    /// Style of its state.
    pub state: &'static str,
    /// Whether it is the one at hand.
    pub here: bool,
}

/// A gauge to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeLine {
    /// Its mark.
    pub mark: String,
    /// Sort, range, worth.
    pub about: String,
    /// What there is to say of it before it is used.
    pub remarks: Vec<String>,
    /// Whether it is made for this.
    pub reads_this: bool,
    /// Whether it is the one in hand.
    pub chosen: bool,
}

/// A person to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct PersonLine {
    /// None: who holds the phone.
    pub person: Option<EntryId>,
    /// Their name.
    pub name: String,
    /// Whether it is the one who reads.
    pub chosen: bool,
}

/// The check of the gauge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CheckView {
    /// Which gauge, on what; empty where one of them is not named.
    pub what: String,
    /// How it stands, and what comes next.
    pub says: String,
}

/// What the last reading did.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kept {
    /// Values that rest on it: style of the state, and the words.
    pub follows: Vec<(&'static str, String)>,
    /// It can be taken back.
    pub can_take_back: bool,
    /// It was taken back.
    pub taken_back: bool,
}

/// A verdict while it is typed.
#[derive(Clone, Debug, PartialEq)]
pub struct VerdictView {
    /// How it is drawn.
    pub state: State,
    /// The word.
    pub word: String,
    /// What would make it one, where it is none.
    pub way_out: Option<String>,
    /// Its numbers; none where there is nothing to draw against.
    pub figure: Option<VerdictFigure>,
}

/// What the drawing of a feature looks like.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Outline {
    /// A cylinder bore, cut open.
    Bore,
    /// A round hole, end on.
    Hole,
    /// A journal or pin, from the side.
    Shaft,
    /// A size between two faces.
    #[default]
    Size,
}

/// A place on the drawing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// All that is to be read there is read.
    pub read: bool,
    /// It is the one at hand.
    pub here: bool,
}

/// The feature, with the station at hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    /// What it looks like.
    pub outline: Outline,
    /// Levels along it.
    pub levels: Vec<Mark>,
    /// Directions across it.
    pub ways: Vec<Mark>,
}

/// What everything on the screen is made from.
struct Around<'a> {
    sight: &'a Sight,
    row: &'static Characteristic,
    person: Option<EntryId>,
    now: i64,
}

impl Model {
    pub(crate) fn view(&self, desk: &Desk) -> View {
        let (Some(record), Some(row)) = (self.record, self.row) else { return View::default() };
        let Some(sight) = desk.sight(record) else { return View::default() };
        let around = Around { sight, row, person: self.person(desk), now: desk.now() };
        let here = self.said(sight, around.person, &self.spot);
        let would = self.would_be(&around);
        let mut view = View {
            spot: self.spot_words(row),
            about: row.about,
            stands: here.text,
            hidden: here.hidden,
            typed: self.typed.clone(),
            unit: self.unit(row).symbol().to_owned(),
            set_to: self.is_dial(row).then(|| self.set_size_words(row)),
            beneath: self.beneath(row),
            verdict: would.as_ref().map(|(_, would)| verdict(would)),
            remarks: self.remarks(&around, would.as_ref()),
            panel: self.panel,
            tiles: self.tiles(&around),
            gauge: (self.gauge.clone(), self.master.clone()),
            temperatures: (self.part_at.clone(), self.gauge_at.clone()),
            dial: (row.kind == Kind::Length).then_some(self.dial),
            set_size: self.set_size.clone(),
            target: self.target.clone(),
            holder: desk.holder_name(),
            keeping: self.keeping,
            problem: self.problem.clone(),
            ..View::default()
        };
        self.view_route(&mut view, &around);
        self.view_panel(&mut view, &around);
        if let Some(last) = &self.last {
            view.kept = Some(kept(desk, record, last.entry));
            view.after = Kept {
                follows: last.follows.clone(),
                can_take_back: !last.taken_back && !self.keeping,
                taken_back: last.taken_back,
            };
        }
        view
    }

    // ---- the value

    fn would_be(&self, around: &Around) -> Option<(Reading, WouldBe)> {
        let reading = self.reading(around.row).ok()?;
        let sight = around.sight;
        let would = sight.assessment.would_be(&sight.record, &sight.workshop, &reading, around.now)?;
        Some((reading, would))
    }

    /// The same in the other unit; of a deviation the size that it makes.
    fn beneath(&self, row: &Characteristic) -> String {
        let unit = self.unit(row);
        let Ok(value) = typed::number(&self.typed, unit) else { return String::new() };
        if let Ok(Some(set)) = self.set_size(row) {
            let size = Comparator::new(set, value).map(|read| show::amount(Kind::Length, read.size().base()));
            return size.unwrap_or_default();
        }
        let other = typed::other(value.unit());
        other.map_or_else(String::new, |unit| value.show_in_rounded(unit))
    }

    fn set_size_words(&self, row: &Characteristic) -> String {
        match typed::number(&self.set_size, self.habit.unit(row.kind)) {
            Ok(size) => size.to_string(),
            Err(_) => "not set".to_owned(),
        }
    }

    /// What there is to say at once: of the value that is typed, else of the gauge alone.
    fn remarks(&self, around: &Around, would: Option<&(Reading, WouldBe)>) -> Vec<String> {
        if let Some((reading, would)) = would {
            let slip = around.sight.assessment.perhaps_a_slip(reading);
            return slip.into_iter().chain(would.remarks.iter().cloned()).collect();
        }
        let Some(gauge) = around.sight.workshop.gauge(&self.gauge) else { return Vec::new() };
        gauges::remarks(around.sight, gauge, around.row, (self.expected(around), around.now))
    }

    fn expected(&self, around: &Around) -> Option<i64> {
        let feature = self.feature(around.sight)?;
        let sight = around.sight;
        let limit =
            sight.assessment.limit_in_force(&sight.record, &sight.workshop, &feature, around.row.name)?;
        gauges::middle(limit.lower, limit.upper)
    }

    // ---- where

    fn spot_words(&self, row: &Characteristic) -> String {
        let station = words(row, &self.spot.station);
        let feature = self.spot.feature.replace('/', " ");
        if station.is_empty() { feature } else { format!("{feature}: {station}") }
    }

    fn view_route(&self, view: &mut View, around: &Around) {
        let Some(definition) = around.sight.assessment.definition() else { return };
        let Ok(feature) = definition.feature(&self.spot.feature) else { return };
        let row = around.row;
        let read = |spot: &Spot| self.is_read(around.sight, around.person, spot);
        let stations = self.stations(around.sight);
        let features = route::features(definition, &feature);
        let count = |feature: &str| {
            let at =
                |station: &&String| read(&Spot { feature: feature.to_owned(), station: (*station).clone() });
            (stations.iter().filter(at).count(), stations.len())
        };
        let counts: Vec<(usize, usize)> = features.iter().map(|feature| count(feature.path())).collect();
        view.progress = counts.iter().fold((0, 0), |(read, all), one| (read + one.0, all + one.1));
        view.drawing = self.drawing(definition, row, |station| read(&self.at(station)));
        if self.panel != Panel::Stations {
            return;
        }
        view.features = features
            .iter()
            .zip(counts)
            .map(|(feature, count)| {
                let path = feature.path().to_owned();
                (path.clone(), feature.suffix(), path == self.spot.feature, count)
            })
            .filter(|_| features.len() > 1)
            .collect();
        let line = |station: String| self.station_line(around, station);
        view.stations = self.more_stations(around, stations).into_iter().map(line).collect();
        if features.len() > 1 && route::levels(definition, row).len() > 1 {
            let choice = |order: Order| Choice {
                what: order,
                word: order.word().to_owned(),
                about: "",
                chosen: self.habit.order() == order,
            };
            view.orders = vec![choice(Order::ByFeature), choice(Order::ByLevel)];
        }
    }

    /// The stations that must be read, and those that may be besides.
    fn more_stations(&self, around: &Around, mut stations: Vec<String>) -> Vec<String> {
        let Some(definition) = around.sight.assessment.definition() else { return stations };
        let ways = route::ways(definition, around.row);
        for level in around.row.stations.more_levels {
            for way in &ways {
                stations.push(if way.is_empty() { (*level).to_owned() } else { format!("{level}/{way}") });
            }
        }
        stations
    }

    fn station_line(&self, around: &Around, station: String) -> StationLine {
        let spot = self.at(&station);
        let Said { state, text, .. } = self.said(around.sight, around.person, &spot);
        let state = state.unwrap_or(State::NotRead);
        let says = if text.is_empty() { state.word().to_owned() } else { text };
        let word = words(around.row, &station);
        let word = if word.is_empty() { around.row.name.replace('-', " ") } else { word };
        StationLine { word, says, state: state.class(), here: station == self.spot.station, station }
    }

    fn drawing(
        &self,
        definition: &gudgeon_core::engine::Definition,
        row: &'static Characteristic,
        read: impl Fn(&str) -> bool,
    ) -> Drawing {
        let (level, way) = row.stations.split(&self.spot.station);
        let stations = definition.stations(row);
        let all_read = |part: &dyn Fn(&str) -> bool| {
            let mut here = stations.iter().filter(|station| part(station)).peekable();
            here.peek().is_some() && here.all(|station| read(station))
        };
        let mark = |name: &str, here: bool, read: bool| Mark { name: name.replace('-', " "), read, here };
        let levels = route::levels(definition, row).into_iter().filter(|name| !name.is_empty());
        let levels = levels.map(|name| {
            mark(name, name == level, all_read(&|station: &str| row.stations.split(station).0 == name))
        });
        let ways = route::ways(definition, row).into_iter().filter(|name| !name.is_empty());
        let ways = ways.map(|name| {
            let at_level = |station: &str| row.stations.split(station) == (level, name);
            mark(name, name == way, all_read(&at_level))
        });
        Drawing { outline: outline(row), levels: levels.collect(), ways: ways.collect() }
    }

    // ---- circumstances

    fn tiles(&self, around: &Around) -> Vec<Tile> {
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

    fn view_panel(&self, view: &mut View, around: &Around) {
        match self.panel {
            Panel::Keys | Panel::Stations | Panel::Temperature | Panel::Back => {}
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

/// What is read, without its number: the readings go on from one to the next.
pub(crate) fn title(feature: &str, name: &str) -> String {
    let plain = |word: &&str| !word.is_empty() && !word.bytes().all(|byte| byte.is_ascii_digit());
    let words: Vec<&str> = feature.split('/').filter(plain).collect();
    format!("{} {}", words.join(" "), name.replace('-', " "))
}

/// A station in words: `top, thrust`.
fn words(row: &Characteristic, station: &str) -> String {
    let (level, way) = row.stations.split(station);
    let degrees = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let way = if degrees(way) { format!("{way}°") } else { way.replace('-', " ") };
    match (level, way.as_str()) {
        ("", way) => way.to_owned(),
        (level, "") => level.replace('-', " "),
        (level, way) => format!("{}, {way}", level.replace('-', " ")),
    }
}

/// What it looks like, by what reads it first.
fn outline(row: &Characteristic) -> Outline {
    let first = reads::ways(row).and_then(|ways| ways.first()).map(|way| way.sort);
    match first {
        Some("bore-gauge") if row.on == FeatureKind::Bore => Outline::Bore,
        Some("bore-gauge") => Outline::Hole,
        Some("outside-micrometer") if row.name.ends_with("diameter") => Outline::Shaft,
        Some(_) | None => Outline::Size,
    }
}

/// A would-be verdict in words and numbers.
fn verdict(would: &WouldBe) -> VerdictView {
    let judged = &would.judged;
    let verdict = judged.verdict();
    let missing = would.missing.iter().map(|one_of| one_of.join(" or ").replace('-', " "));
    let missing: Vec<String> = missing.collect();
    let (state, word, way_out) = match verdict {
        _ if !missing.is_empty() => {
            (State::NotProven, "not judged".to_owned(), Some(format!("state {}", missing.join(", "))))
        }
        Verdict::Within => (State::Proven, "within".to_owned(), None),
        Verdict::Outside => (State::Outside, "outside".to_owned(), None),
        Verdict::NotProven => {
            (State::NotProven, "not proven".to_owned(), Some("too near the limit for this gauge".to_owned()))
        }
        Verdict::NotJudged(Reason::NoLimit) => (State::Read, "no limit".to_owned(), None),
        Verdict::NotJudged(reason) => {
            (State::NotProven, format!("not judged: {reason}"), way_out(reason).map(str::to_owned))
        }
    };
    VerdictView { state, word, way_out, figure: figure(would, state) }
}

/// The one thing that would give a verdict, while it is still typed.
const fn way_out(reason: Reason) -> Option<&'static str> {
    match reason {
        Reason::NoUncertainty => Some("choose a gauge whose error limit a lead has stated"),
        Reason::NoTemperature => Some("give the temperature of part and gauge"),
        Reason::TemperatureTooFar => Some("let part and gauge come within 50 °C of 20 °C"),
        Reason::LimitsCrossed => Some("the lead sets the limit again"),
        Reason::UnknownEntry => Some("bring this phone up to date"),
        Reason::Disputed => Some("the lead settles the limit"),
        Reason::NoLimit | Reason::Undecided | Reason::NotRead => None,
    }
}

fn figure(would: &WouldBe, state: State) -> Option<VerdictFigure> {
    let judged = &would.judged;
    let limit = judged.limit.as_ref()?;
    if limit.lower.is_none() && limit.upper.is_none() {
        return None;
    }
    Some(VerdictFigure {
        kind: judged.kind,
        low: would.sized.value,
        high: would.sized.value,
        guard: judged.guard().unwrap_or(0),
        lower: limit.lower,
        upper: limit.upper,
        state,
    })
}

/// The reading as it stands in the record, and where it is.
fn kept(desk: &Desk, record: DocumentId, entry: EntryId) -> (String, String) {
    let statement = desk.sight(record).and_then(|sight| sight.log().get(&entry));
    let text = match statement.map(|statement| &statement.payload) {
        Some(Ok(Payload::Reading(reading))) => {
            let place = format!("{} {}", reading.feature, reading.station).replace('/', " ");
            format!("{} {}", place.trim(), show::reading(reading))
        }
        Some(Ok(_) | Err(_)) | None => entry.short(),
    };
    let place = desk.whereabouts(record, entry);
    let why = if let Where::Refused(why) = &place { format!(": {why}") } else { String::new() };
    (text, format!("{}{why}", place.words()))
}
