//! May this person see it yet? What a second person is to read blind to the first is kept from everybody who
//! has not read it, until two have: asked by every screen that shows a value or what follows from one.
//!
//! Which characteristics are read twice, core's table says. Whoever read, or typed what was called out, knows
//! the value. Whoever has it shown to them all the same knows it from then on: that is remembered in the home
//! by person and record, and their own reading there is then not called blind.

use std::collections::{BTreeMap, BTreeSet};

use gudgeon_core::assess::{
    Assessment, Cause, Evidence, Finding, Judged, PersonId, Slot, Status, StepState, Taken, may_see,
};
use gudgeon_core::crew::missing;
use gudgeon_core::entry::{DocumentId, EntryId, KeyId};
use gudgeon_core::log::Ix;
use gudgeon_core::sheet::HIDDEN;

use super::sight::Sight;
use super::{Desk, Event, Failure};

/// A station as it is remembered: feature, part, characteristic, station.
type Station = String;

/// Stations that one person has read alone, of those that two are to read.
#[derive(Default)]
pub struct Firsts {
    stations: BTreeMap<Station, First>,
}

/// One of them.
struct First {
    /// Whoever read it, or typed it.
    known_to: BTreeSet<PersonId>,
    /// All that was read there since the last work on it.
    readings: Vec<Ix>,
}

impl Firsts {
    /// Looks at every feature of a record.
    pub(super) fn of(assessment: &Assessment) -> Self {
        let mut stations = BTreeMap::new();
        for view in assessment.features() {
            let twice = view.slots.iter().filter(|slot| slot.row.second_blind);
            let mut by_station: BTreeMap<Station, Vec<&Slot>> = BTreeMap::new();
            for slot in twice {
                let place = (view.feature.path(), view.part);
                by_station.entry(station(place, slot.row.name, &slot.station)).or_default().push(slot);
            }
            let alone =
                |(station, slots): (Station, Vec<&Slot>)| Some((station, First::of(assessment, &slots)?));
            stations.extend(by_station.into_iter().filter_map(alone));
        }
        Self { stations }
    }
}

impl First {
    /// None where nobody has read it, or two have.
    fn of(assessment: &Assessment, slots: &[&Slot]) -> Option<Self> {
        let all = || slots.iter().flat_map(|slot| &slot.readings);
        let live: Vec<&Taken> = all().filter(|taken| assessment.status(taken.ix).speaks()).collect();
        let readers: BTreeSet<PersonId> = live.iter().map(|taken| taken.person).collect();
        if readers.len() != 1 {
            return None;
        }
        let typed_by = live.iter().filter_map(|taken| assessment.person(taken.ix));
        let since = all().filter(|taken| !matches!(assessment.status(taken.ix), Status::Ended(_)));
        Some(Self {
            known_to: readers.iter().copied().chain(typed_by).collect(),
            readings: since.map(|taken| taken.ix).collect(),
        })
    }
}

fn station((feature, part): (&str, &str), name: &str, station: &str) -> Station {
    [feature, part, name, station].join("\t")
}

/// What a person may not see yet of a record.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Blind {
    stations: BTreeMap<Station, Vec<Ix>>,
    hidden: BTreeSet<Ix>,
}

impl Blind {
    /// As whoever holds the phone sees it.
    pub(super) fn of(sight: &Sight, holder: Option<KeyId>, shown: &Shown) -> Self {
        let person = holder.and_then(|key| sight.workshop.roster().person_of(key));
        Self::of_person(sight, person, shown)
    }

    /// As two see it who stand before the same screen: neither may learn anything too early.
    pub(super) fn and(mut self, other: Self) -> Self {
        self.stations.extend(other.stations);
        self.hidden.extend(other.hidden);
        self
    }

    /// As somebody sees it.
    pub(super) fn of_person(sight: &Sight, person: Option<PersonId>, shown: &Shown) -> Self {
        let unknown = |(station, first): &(&Station, &First)| {
            !person.is_some_and(|person| first.known_to.contains(&person)) && !shown.0.contains(*station)
        };
        let unknown = sight.firsts().stations.iter().filter(unknown);
        let stations: BTreeMap<Station, Vec<Ix>> =
            unknown.map(|(station, first)| (station.clone(), first.readings.clone())).collect();
        Self { hidden: stations.values().flatten().copied().collect(), stations }
    }

    /// The readings whose values they may not see.
    pub(super) const fn hidden(&self) -> &BTreeSet<Ix> {
        &self.hidden
    }

    /// At how many stations there is something that they may not see.
    pub(super) fn count(&self) -> usize {
        self.stations.len()
    }

    /// Whether a station is one of these.
    pub(super) fn hides(&self, place: (&str, &str), name: &str, at: &str) -> bool {
        self.stations.contains_key(&station(place, name, at))
    }

    /// Whether they may see what rests on these readings.
    pub(super) fn may_see(&self, readings: &[Ix]) -> bool {
        may_see(&self.hidden, readings)
    }

    /// Whether they may see a value.
    pub(super) fn may_see_value(&self, judged: &Judged) -> bool {
        self.may_see(&judged.readings)
    }

    /// Whether they may see what is said of these entries.
    pub(super) fn may_see_said(&self, sight: &Sight, entries: &[EntryId]) -> bool {
        entries.iter().all(|id| sight.log().place(id).is_none_or(|ix| !self.hidden.contains(&ix)))
    }

    /// What there is of a piece of evidence, or what is missing.
    pub(super) fn found(&self, piece: &Evidence) -> String {
        if self.may_see(&piece.entries) { piece.found.clone() } else { HIDDEN.to_owned() }
    }

    /// What a step still misses, in a few words.
    pub(super) fn missing(&self, state: &StepState) -> String {
        let hidden = state.evidence.iter().any(|piece| !piece.met && !self.may_see(&piece.entries));
        if hidden { VEILED.to_owned() } else { missing(state) }
    }

    /// Why a signature does not stand, in words.
    pub(super) fn words_of_cause(&self, sight: &Sight, cause: &Cause) -> String {
        if self.may_see_said(sight, &cause.entries) { cause.words() } else { VEILED.to_owned() }
    }

    /// What is the matter, in words; where it would betray a value, that there is something.
    pub(super) fn words_of(&self, sight: &Sight, finding: &Finding) -> String {
        if self.may_see_said(sight, &finding.ids) { finding.text.clone() } else { VEILED.to_owned() }
    }

    /// The hidden stations of this name, whichever part it is of.
    pub(super) fn stations_at(&self, feature: &str, name: &str, at: &str) -> Vec<String> {
        let meant = |station: &&Station| {
            let words: Vec<&str> = station.split('\t').collect();
            matches!(words[..], [path, _, what, where_] if (path, what, where_) == (feature, name, at))
        };
        self.stations.keys().filter(meant).cloned().collect()
    }

    /// The stations that are hidden on a feature, whichever part it is of; everywhere, where none is named.
    pub(super) fn stations_on(&self, feature: Option<&str>) -> Vec<String> {
        let on = |station: &&Station| feature.is_none_or(|path| station.split('\t').next() == Some(path));
        self.stations.keys().filter(on).cloned().collect()
    }
}

/// What stands in the place of words that would betray a hidden value.
pub const VEILED: &str = "read by one person: what follows is hidden until a second one has read it";

/// The stations that one person had shown to them before they were to see them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown(BTreeSet<Station>);

impl Shown {
    fn read(text: &str) -> Self {
        Self(text.lines().map(str::to_owned).collect())
    }
}

impl Desk {
    /// What whoever holds the phone may not see yet of a record that was looked at.
    #[must_use]
    pub fn blind(&self, record: DocumentId) -> Blind {
        let of = |sight| Blind::of(sight, self.holder(), &self.shown(record));
        self.sight(record).map(of).unwrap_or_default()
    }

    /// What whoever holds the phone had shown to them.
    pub(super) fn shown(&self, record: DocumentId) -> Shown {
        let kept = self.home().zip(self.holder()).and_then(|(home, key)| {
            // What cannot be read was not shown: the value stays hidden.
            home.setting(&setting(record, key, self)).ok()?
        });
        kept.map(|text| Shown::read(&text)).unwrap_or_default()
    }

    /// These stations are shown to whoever holds the phone from now on; `then` as of [`Desk::act`].
    pub(super) fn show(
        &mut self,
        record: DocumentId,
        stations: Vec<String>,
        then: impl FnOnce(Result<(), Failure>) -> Event + 'static,
    ) {
        let name = self.holder().map(|key| setting(record, key, self));
        let mut shown = self.shown(record).0;
        shown.extend(stations);
        let text = shown.into_iter().collect::<Vec<_>>().join("\n");
        self.act(|home| name.map_or(Ok(()), |name| home.set_setting(&name, &text)), then);
    }
}

/// Under which it is kept, by person, not by key.
fn setting(record: DocumentId, key: KeyId, desk: &Desk) -> String {
    let person = desk.roster().and_then(|roster| roster.person_of(key));
    let who = person.map_or_else(|| key.to_hex(), |person| person.to_hex());
    format!("shown/{}/{who}", record.to_hex())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]

    use gudgeon_core::engine::{Definition, EXAMPLE};
    use gudgeon_core::entry::Payload;
    use gudgeon_core::entry::payload::Role;

    use super::super::kit::{PIN, Phone, gauge, screen, works};
    use super::super::{Place, ScreenView, feature, print, reading, who};
    use super::*;

    /// Ann's value of a bore: outside its limits, so that it would be told everywhere. Invented.
    const ANNS: &str = "80.641";

    /// A phone of Ben and Ann, held by Ben; Ann has read bore 1.
    fn read_by_ann(there: impl FnOnce(DocumentId) -> Place) -> (Phone, DocumentId, [KeyId; 2]) {
        let gauges = [
            gauge("B1", "bore-gauge", ("50 mm", "100 mm"), "R80"),
            gauge("R80", "setting-ring", ("80 mm", "80 mm"), ""),
        ];
        let people: [(&str, &[Role]); 2] = [("Ben", &[Role::Member, Role::Lead]), ("Ann", &[Role::Member])];
        let (disk, record, keys) = works(EXAMPLE, &people, &gauges);
        let there = there(record);
        let mut phone = Phone::on(disk, Place::Who(Box::new(bore(record))));
        takes(&mut phone, keys[1]);
        for _ in 0..6 {
            reads(&mut phone, ANNS);
        }
        phone.send(Event::Went(Place::Who(Box::new(there))));
        takes(&mut phone, keys[0]);
        (phone, record, [keys[0], keys[1]])
    }

    fn bore(record: DocumentId) -> Place {
        Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned())
    }

    fn reads(phone: &mut Phone, value: &str) {
        phone.send(reading::Event::Gauge("B1".to_owned()));
        phone.send(reading::Event::PartAt("20".to_owned()));
        phone.send(reading::Event::Value(value.to_owned()));
        phone.send(reading::Event::Keep);
        assert_eq!(screen!(phone, Reading).problem, None);
    }

    fn takes(phone: &mut Phone, key: KeyId) {
        phone.send(who::Event::Choose(key));
        phone.send(who::Event::Pin(PIN.to_owned()));
        phone.send(who::Event::Open);
        assert!(!matches!(phone.view().screen, ScreenView::Who(_)));
    }

    /// Every place on which a value of bore 1 could be told.
    fn places(record: DocumentId) -> Vec<Place> {
        let definition = Definition::parse(EXAMPLE).unwrap();
        let steps = definition.steps().iter().map(|step| Place::Step(record, step.id.to_string()));
        let others = [
            Place::Records,
            Place::Record(record),
            Place::Changed(record),
            Place::Print(record),
            bore(record),
        ];
        let features = definition.features().iter().map(|f| Place::Feature(record, f.path().to_owned()));
        others.into_iter().chain(features).chain(steps).collect()
    }

    fn tells(phone: &mut Phone, place: Place, value: &str) -> bool {
        phone.send(Event::Went(place));
        format!("{:?}", phone.view()).contains(value)
    }

    #[test]
    fn that_something_hangs_on_what_is_hidden_is_neither_told_nor_denied() {
        let (mut phone, record, _) = read_by_ann(Place::Record);
        phone.send(Event::Went(Place::Changed(record)));
        let summary = screen!(phone, Changed).summary;
        assert!(summary.contains("Of what hangs on the hidden readings nothing is said yet"), "{summary}");
    }

    #[test]
    fn no_screen_tells_a_first_persons_value_before_the_second_is_in() {
        let (mut phone, record, [_, ann]) = read_by_ann(Place::Record);
        for place in places(record) {
            // In millimetres, in base units, and by the verdict on it.
            for value in [ANNS, "80641000000", "Outside", "outside"] {
                assert!(!tells(&mut phone, place.clone(), value), "{} tells {value}", place.address());
            }
        }
        // Whoever read it sees it all over the place.
        phone.send(Event::Went(Place::Who(Box::new(Place::Record(record)))));
        takes(&mut phone, ann);
        let told = places(record).into_iter().filter(|place| tells(&mut phone, place.clone(), ANNS)).count();
        assert!(told >= 4, "{told}");
        assert!(tells(&mut phone, Place::Record(record), "Outside"));
    }

    #[test]
    fn who_has_it_shown_sees_it_from_then_on_and_reads_no_more_blind() {
        let (mut phone, record, [ben, _]) = read_by_ann(|record| Place::Feature(record, "bore/1".to_owned()));
        assert!(screen!(phone, Feature).seen.hidden > 1);
        phone.fails = Some(gudgeon_client::store::Trouble::Full);
        phone.send(feature::Event::Reveal);
        assert!(!format!("{:?}", phone.view()).contains(ANNS), "not before it is remembered");
        phone.fails = None;
        phone.send(Event::Went(Place::Who(Box::new(Place::Feature(record, "bore/1".to_owned())))));
        takes(&mut phone, ben);
        phone.send(feature::Event::Reveal);
        assert!(format!("{:?}", screen!(phone, Feature)).contains(ANNS));
        // Another day, another start.
        let mut phone = Phone::on(phone.disk, Place::Who(Box::new(Place::Print(record))));
        takes(&mut phone, ben);
        assert_eq!(screen!(phone, Print).hidden, 0);
        phone.send(Event::Went(bore(record)));
        assert!(!screen!(phone, Reading).hidden);
        reads(&mut phone, "80.508");
        let sight = phone.app.desk.sight(record).unwrap();
        let Ok(Payload::Reading(reading)) = &sight.log().folded().last().unwrap().payload else { panic!() };
        assert!(!reading.blind);
    }

    #[test]
    fn the_printed_record_is_drawn_once_one_takes_it_upon_oneself() {
        let (mut phone, _, _) = read_by_ann(Place::Print);
        let view = screen!(phone, Print);
        assert!(view.page.is_none() && view.hidden > 1, "{}", view.hidden);
        phone.send(print::Event::Reveal);
        let view = screen!(phone, Print);
        assert!(view.hidden == 0 && view.page.unwrap().1.contains(ANNS));
    }

    #[test]
    fn once_two_have_read_everybody_sees_it() {
        let (mut phone, record, _) = read_by_ann(bore);
        assert_eq!(phone.app.desk.blind(record).count(), 6);
        reads(&mut phone, "80.640");
        assert_eq!(phone.app.desk.blind(record).count(), 5);
        phone.app.desk.let_go();
        assert_eq!(phone.app.desk.blind(record).count(), 5, "nobody sees what Ben does not");
        assert!(tells(&mut phone, Place::Feature(record, "bore/1".to_owned()), "80.640 mm"));
    }
}
