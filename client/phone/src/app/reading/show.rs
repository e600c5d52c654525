//! Makes what is to be seen, from what is typed and from the record.

use gudgeon_core::assess::{Judged, WouldBe, show};
use gudgeon_core::engine::{Characteristic, Definition, FeatureKind, reads};
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::entry::{DocumentId, EntryId, Payload};
use gudgeon_core::measure::{Reason, Verdict};
use gudgeon_core::quantity::{Comparator, Kind};
use gudgeon_core::sheet::{State, VerdictFigure, place};

use super::super::blind::Blind;
use super::super::desk::Where;
use super::super::sight::Sight;
use super::seen::Said;
use super::view::{Choice, Drawing, Kept, Mark, Outline, StationLine, VerdictView, View};
use super::{Desk, Model, Order, Panel, Spot, gauges, route, typed};

/// What everything on the screen is made from.
pub(super) struct Around<'a> {
    pub(super) sight: &'a Sight,
    pub(super) row: &'static Characteristic,
    pub(super) person: Option<EntryId>,
    pub(super) now: i64,
    pub(super) blind: Blind,
}

impl Model {
    pub(crate) fn view(&self, desk: &Desk) -> View {
        let (Some(record), Some(row)) = (self.record, self.row) else { return View::default() };
        let Some(sight) = desk.sight(record) else { return View::default() };
        let around =
            Around { sight, row, person: self.person(desk), now: desk.now(), blind: self.blind(desk) };
        let here = self.said(sight, (around.person, &around.blind), &self.spot);
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
            would_follow: would.as_ref().map(|typed| Self::would_follow(&around, typed)).unwrap_or_default(),
            remarks: self.remarks(&around, would.as_ref()),
            panel: self.panel,
            tiles: self.tiles(&around),
            gauge: (self.gauge.clone(), self.master.clone()),
            temperatures: (self.part_at.clone(), self.gauge_at.clone()),
            dial: (row.kind == Kind::Length).then_some(self.dial),
            note: self.note.clone(),
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

    /// What would follow from it, those apart that would betray a value that is hidden.
    fn would_follow(around: &Around, (reading, would): &(Reading, WouldBe)) -> Vec<(&'static str, String)> {
        let sight = around.sight;
        let all = sight.assessment.would_follow(&sight.record, &sight.workshop, reading, would).into_iter();
        let seen = all.filter(|(_, judged)| around.blind.may_see_value(judged));
        let words = |path: &str, text: String| {
            if path == reading.feature { text } else { format!("{}: {text}", place(path)) }
        };
        let line = |(path, judged): (&str, Judged)| {
            (State::of_value(&judged).class(), words(path, show::value_against_limit(&judged)))
        };
        seen.map(line).collect()
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

    pub(super) fn expected(&self, around: &Around) -> Option<i64> {
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
        let Said { state, text, .. } = self.said(around.sight, (around.person, &around.blind), &spot);
        let state = state.unwrap_or(State::NotRead);
        let says = if text.is_empty() { state.word().to_owned() } else { text };
        let word = words(around.row, &station);
        let word = if word.is_empty() { around.row.name.replace('-', " ") } else { word };
        StationLine { word, says, state: state.class(), here: station == self.spot.station, station }
    }

    fn drawing(
        &self,
        definition: &Definition,
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
