#![allow(clippy::unwrap_used)]
//! A cold shop with a few gauges and two people; everything in it is invented.

use gudgeon_client::home::Home;
use gudgeon_client::store::{Memory, Mirror, Store as _};
use gudgeon_core::entry::payload::{Device, Person, Reading, Role};
use gudgeon_core::entry::{Author, DocumentId, EntryId, Payload};
use gudgeon_core::measure::Verdict;
use gudgeon_core::quantity::{Quantity, Unit};
use gudgeon_core::sheet::State;

use super::super::kit::{PIN, Phone, Rehearsed, gauge, let_in, rows, screen};
use super::super::{Buzz, Effect, Place, who};
use super::{Event, Order, Panel, View};

fn size(text: &str) -> Option<Quantity> {
    Some(Quantity::parse(text).unwrap())
}

/// Ann, who has read here before Ben came.
fn ann() -> Author {
    Author::from_secret(&[2; 32])
}

fn home_of(disk: &Memory) -> (Home, Mirror) {
    let mirror = Mirror::of(rows(disk));
    (Home::within(Box::new(mirror.clone()), Rehearsed).unwrap(), mirror)
}

/// A phone that was let in, in a workshop with gauges, with what Ann has read.
fn shop(read: &[Reading]) -> (Memory, DocumentId) {
    let (mut disk, record) = let_in();
    let (mut home, mirror) = home_of(&disk);
    let (root, workshop) = (Author::from_secret(&[1; 32]), home.workshop().unwrap());
    let person = Payload::Person(Person { name: "Ann".to_owned() });
    let person = home.state(workshop, &root, &[person]).unwrap().entries[0];
    let device = Device {
        key: ann().key(),
        person,
        roles: vec![Role::Member],
        label: "phone of Ann".to_owned(),
        invite: None,
        join_signature: Vec::new(),
    };
    let gauges = [
        Payload::Device(device),
        gauge("M7", "outside-micrometer", ("50 mm", "75 mm"), ""),
        gauge("B1", "bore-gauge", ("50 mm", "100 mm"), "R80"),
        gauge("R80", "setting-ring", ("80 mm", "80 mm"), ""),
        gauge("B2", "bore-gauge", ("18 mm", "35 mm"), "R80"),
    ];
    home.state(workshop, &root, &gauges).unwrap();
    for reading in read {
        home.state(record, &ann(), &[Payload::Reading(Box::new(reading.clone()))]).unwrap();
    }
    mirror.take().iter().for_each(|batch| disk.write(batch).unwrap());
    (disk, record)
}

/// Ben holds the phone, at a place to read.
fn at(disk: Memory, record: DocumentId, feature: &str, name: &str) -> Phone {
    let there = Place::Reading(record, feature.to_owned(), name.to_owned());
    let mut phone = Phone::on(disk, Place::Who(Box::new(there)));
    phone.send(who::Event::Pin(PIN.to_owned()));
    phone.send(who::Event::Open);
    phone
}

/// The same with gauge and temperature at hand.
fn ready(read: &[Reading]) -> (Phone, DocumentId) {
    let (disk, record) = shop(read);
    let mut phone = at(disk, record, "bore/1", "diameter");
    phone.send(Event::Gauge("B1".to_owned()));
    phone.send(Event::PartAt("20".to_owned()));
    (phone, record)
}

fn seen(phone: &Phone) -> View {
    screen!(phone, Reading)
}

fn keys(phone: &mut Phone, text: &str) {
    text.chars().for_each(|key| phone.send(Event::Key(key)));
}

fn keep(phone: &mut Phone, text: &str) {
    keys(phone, text);
    phone.send(Event::Keep);
    assert_eq!(seen(phone).problem, None, "{text}");
}

/// The readings of the record, with the key that signed each, in order.
fn readings(phone: &Phone, record: DocumentId) -> Vec<Reading> {
    let log = phone.app.desk.sight(record).unwrap().log().folded();
    let reading = |payload: &Payload| {
        let Payload::Reading(reading) = payload else { return None };
        Some((**reading).clone())
    };
    log.iter().filter_map(|statement| reading(statement.payload.as_ref().ok()?)).collect()
}

/// What Ann read on bore 1.
fn of_ann(station: &str, value: &str) -> Reading {
    Reading {
        feature: "bore/1".to_owned(),
        part: String::new(),
        characteristic: "diameter".to_owned(),
        station: station.to_owned(),
        conditions: Vec::new(),
        value: Quantity::parse(value).unwrap(),
        set_size: None,
        gauge: "B1".to_owned(),
        master: String::new(),
        part_temperature: size("20 °C"),
        gauge_temperature: size("20 °C"),
        read_by: None,
        called_out: false,
        blind: false,
        reading_set: String::new(),
        note: String::new(),
    }
}

#[test]
fn a_whole_bore_is_read_without_a_tap_between_and_the_next_one_follows() {
    let (mut phone, record) = ready(&[]);
    assert_eq!(seen(&phone).spot, "bore 1: top, thrust");
    for value in ["80.508", "80.507", "80.509", "80.508", "80.506", "80.507"] {
        keep(&mut phone, value);
    }
    let read = readings(&phone, record);
    let stations: Vec<&str> = read.iter().map(|reading| reading.station.as_str()).collect();
    let all = ["top/thrust", "top/axial", "middle/thrust", "middle/axial", "bottom/thrust", "bottom/axial"];
    assert_eq!(stations, all);
    assert_eq!(seen(&phone).spot, "bore 2: top, thrust");
    assert!(phone.address.contains("bore/2"), "a reload finds the place: {}", phone.address);
    assert_eq!(seen(&phone).progress, (6, 24));
    let sets: std::collections::BTreeSet<_> = read.iter().map(|reading| &reading.reading_set).collect();
    assert!(sets.len() == 1 && !sets.contains(&String::new()), "one set: {sets:?}");
}

#[test]
fn level_by_level_goes_across_the_bores_first() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Panel(Panel::Stations));
    assert_eq!(seen(&phone).orders.len(), 2);
    phone.send(Event::Order(Order::ByLevel));
    phone.send(Event::Panel(Panel::Stations));
    for _ in 0..8 {
        keep(&mut phone, "80.508");
    }
    let read = readings(&phone, record);
    assert!(read.iter().all(|reading| reading.station.starts_with("top/")), "{read:?}");
    assert_eq!(read.last().unwrap().feature, "bore/4");
    assert_eq!(seen(&phone).spot, "bore 1: middle, thrust");
}

#[test]
fn a_station_that_is_read_again_goes_on_to_its_neighbour() {
    let (mut phone, _) = ready(&[]);
    for value in ["80.508", "80.507", "80.509"] {
        keep(&mut phone, value);
    }
    phone.send(Event::Station("top/thrust".to_owned()));
    keep(&mut phone, "80.510");
    assert_eq!(seen(&phone).spot, "bore 1: top, axial");
}

#[test]
fn the_verdict_is_there_while_it_is_typed() {
    // Limits 80.495 to 80.520 mm of the example; u about 1.4 µm.
    let (mut phone, _) = ready(&[]);
    for (value, state, word) in [
        ("80.508", State::Proven, "within"),
        ("80.519", State::NotProven, "not proven"),
        ("80.530", State::Outside, "outside"),
    ] {
        keys(&mut phone, value);
        let verdict = seen(&phone).verdict.unwrap();
        assert_eq!((verdict.state, verdict.word.as_str()), (state, word), "{value}");
        let figure = verdict.figure.unwrap();
        assert_eq!((figure.lower, figure.upper), (Some(80_495_000_000), Some(80_520_000_000)));
        value.chars().for_each(|_| phone.send(Event::Key('<')));
        assert_eq!(seen(&phone).typed, "");
    }
    phone.send(Event::PartAt(String::new()));
    keys(&mut phone, "80.508");
    let verdict = seen(&phone).verdict.unwrap();
    assert_eq!(verdict.word, "not judged: temperature missing");
    assert_eq!(verdict.way_out.as_deref(), Some("give the temperature of part and gauge"));
}

#[test]
fn the_verdict_while_typing_is_the_one_that_stands_then() {
    for (value, warm, expected) in [
        ("80.508", "20", Verdict::Within),
        ("80.519", "20", Verdict::NotProven),
        ("80.530", "20", Verdict::Outside),
        // Iron and a gauge of steel, both at 12 degC, shrink nearly alike.
        ("80.515", "12", Verdict::Within),
    ] {
        let (mut phone, record) = ready(&[]);
        phone.send(Event::PartAt(warm.to_owned()));
        keys(&mut phone, value);
        let before = seen(&phone).verdict.unwrap().figure.unwrap();
        phone.send(Event::Keep);
        let sight = phone.app.desk.sight(record).unwrap();
        let judged = sight.assessment.value("bore/1", "diameter").unwrap();
        assert_eq!(judged.verdict(), expected, "{value}");
        assert_eq!((judged.low, judged.guard()), (Some(before.low), Some(before.guard)), "{value}");
    }
}

#[test]
fn outside_is_felt_in_the_hand() {
    let (mut phone, _) = ready(&[]);
    keep(&mut phone, "80.508");
    let buzzed = |phone: &Phone, wanted: Buzz| {
        phone.seen.iter().filter(|effect| matches!(effect, Effect::Buzz(buzz) if *buzz == wanted)).count()
    };
    assert_eq!((buzzed(&phone, Buzz::Kept), buzzed(&phone, Buzz::Look)), (1, 0));
    keep(&mut phone, "80.530");
    assert_eq!((buzzed(&phone, Buzz::Kept), buzzed(&phone, Buzz::Look)), (1, 1));
}

#[test]
fn what_the_gauge_cannot_show_or_reach_is_said_while_it_is_typed() {
    let (mut phone, _) = ready(&[]);
    keys(&mut phone, "80.5081");
    let remarks = seen(&phone).remarks;
    assert!(remarks.iter().any(|text| text.contains("more digits than B1 shows")), "{remarks:?}");
    phone.send(Event::Gauge("B2".to_owned()));
    let remarks = seen(&phone).remarks;
    assert!(remarks.iter().any(|text| text.contains("outside the range of B2")), "{remarks:?}");
    phone.send(Event::Value("8.0508".to_owned()));
    let remarks = seen(&phone).remarks;
    assert!(
        remarks.iter().any(|text| text.contains("is the decimal point where it was read?")),
        "{remarks:?}"
    );
}

#[test]
fn a_comparator_is_set_once_and_then_only_the_deviation_is_typed() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Dial(true));
    assert_eq!(seen(&phone).panel, Panel::Dial, "the set size is asked for");
    keys(&mut phone, "8");
    assert_eq!(seen(&phone).panel, Panel::Keys, "whoever types sees what is typed");
    phone.send(Event::Keep);
    assert_eq!(seen(&phone).problem.unwrap().code, "set-size");
    phone.send(Event::Key('<'));
    phone.send(Event::Panel(Panel::Dial));
    phone.send(Event::SetSize("80.500".to_owned()));
    phone.send(Event::Unit(Unit::Micrometre));
    phone.send(Event::Panel(Panel::Dial));
    keys(&mut phone, "8");
    let view = seen(&phone);
    assert_eq!((view.set_to.as_deref(), view.beneath.as_str()), (Some("80.500 mm"), "80.508 mm"));
    assert_eq!(view.verdict.unwrap().word, "within");
    phone.send(Event::Keep);
    // A minus may come after the digits, and a second one takes it away.
    keys(&mut phone, "3-");
    assert_eq!((seen(&phone).typed.as_str(), seen(&phone).beneath.as_str()), ("-3", "80.497 mm"));
    keys(&mut phone, "--");
    phone.send(Event::Keep);
    let read = readings(&phone, record);
    let typed: Vec<_> = read.iter().map(|r| (r.set_size.clone(), r.value.to_string())).collect();
    let expected = [(size("80.500 mm"), "8 µm".to_owned()), (size("80.500 mm"), "-3 µm".to_owned())];
    assert_eq!(typed, expected);
}

#[test]
fn the_unit_that_one_thinks_in_is_remembered_with_gauge_temperature_and_set_size() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Unit(Unit::Inch));
    keys(&mut phone, "3.16961");
    let view = seen(&phone);
    assert_eq!((view.unit.as_str(), view.beneath.as_str()), ("in", "80.5081 mm"));
    phone.send(Event::Keep);
    phone.send(Event::Dial(true));
    phone.send(Event::SetSize("3.1700".to_owned()));
    phone.send(Event::Panel(Panel::Dial));
    let phone = at(phone.disk, record, "bore/3", "diameter");
    let view = seen(&phone);
    assert_eq!(view.gauge.0, "B1");
    assert_eq!(view.temperatures.0, "20");
    assert_eq!((view.set_size.as_str(), view.set_to.as_deref()), ("3.1700", Some("3.1700 in")));
    assert_eq!(view.unit, "mm", "the dial counts in a unit of its own");
}

#[test]
fn a_gauge_that_types_sends_digits_a_unit_and_enter() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Enter);
    assert!(readings(&phone, record).is_empty(), "an empty line is nothing");
    keys(&mut phone, "80.508 mm");
    phone.send(Event::Enter);
    keys(&mut phone, "3.16961in");
    phone.send(Event::Enter);
    phone.send(Event::Value(" 80,507\r\n".to_owned()));
    phone.send(Event::Enter);
    let typed: Vec<String> = readings(&phone, record).iter().map(|r| r.value.to_string()).collect();
    assert_eq!(typed, ["80.508 mm", "3.16961 in", "80,507 mm"]);
}

#[test]
fn what_is_no_number_is_refused_with_the_way_out_and_stays_to_be_mended() {
    let (mut phone, record) = ready(&[]);
    for wrong in ["80..5", "-80.508", "80.508 g"] {
        phone.send(Event::Value(wrong.to_owned()));
        phone.send(Event::Keep);
        let view = seen(&phone);
        let problem = view.problem.unwrap();
        assert!(!problem.cause.is_empty() && !problem.way_out.is_empty(), "{wrong}");
        assert_eq!(view.typed, wrong);
    }
    assert!(readings(&phone, record).is_empty());
    phone.send(Event::Key('<'));
    assert_eq!(seen(&phone).problem, None, "typing goes on");
}

#[test]
fn the_first_persons_value_is_hidden_until_the_second_one_is_in() {
    let (mut phone, record) = ready(&[of_ann("top/thrust", "80.507 mm")]);
    let view = seen(&phone);
    assert!(view.hidden && !view.stands.contains("80.507"), "{}", view.stands);
    assert!(!format!("{view:?}").contains("80.507"), "nowhere on the screen");
    keep(&mut phone, "80.508");
    assert!(readings(&phone, record)[1].blind);
    phone.send(Event::Station("top/thrust".to_owned()));
    let view = seen(&phone);
    assert_eq!((view.hidden, view.stands.as_str()), (false, "Ann 80.507 mm; 80.508 mm"));
}

#[test]
fn who_looks_first_does_not_read_blind() {
    let (mut phone, record) = ready(&[of_ann("top/thrust", "80.507 mm")]);
    phone.send(Event::Reveal);
    assert_eq!(seen(&phone).stands, "Ann 80.507 mm");
    keep(&mut phone, "80.508");
    assert!(!readings(&phone, record)[1].blind);
}

#[test]
fn two_who_differ_are_shown_as_disputed() {
    let (mut phone, _) = ready(&[of_ann("top/thrust", "80.507 mm")]);
    keep(&mut phone, "80.530");
    phone.send(Event::Panel(Panel::Stations));
    let line = seen(&phone).stations.into_iter().find(|line| line.station == "top/thrust").unwrap();
    assert_eq!(line.state, State::Disputed.class());
}

#[test]
fn a_mate_types_what_is_called_out_and_both_are_recorded() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Panel(Panel::People));
    let ann = seen(&phone).people.into_iter().find(|line| line.name == "Ann").unwrap().person;
    phone.send(Event::Reader(ann));
    keep(&mut phone, "80.508");
    let read = readings(&phone, record);
    assert_eq!((read[0].read_by, read[0].called_out, read[0].blind), (ann, true, false));
    assert!(seen(&phone).tiles.iter().any(|tile| tile.says == "Ann, called out"));
}

#[test]
fn the_last_one_is_taken_back_with_a_word_and_its_station_is_open_again() {
    let (mut phone, record) = ready(&[]);
    keep(&mut phone, "80.580");
    assert_eq!(seen(&phone).spot, "bore 1: top, axial");
    phone.holds_back = true;
    phone.send(Event::TakeBack("typed wrong"));
    assert!(!seen(&phone).after.taken_back, "not before it is durable");
    phone.let_through();
    let view = seen(&phone);
    assert!(view.after.taken_back && !view.after.can_take_back);
    assert_eq!((view.spot.as_str(), view.progress.0), ("bore 1: top, thrust", 0));
    phone.send(Event::TakeBack("typed wrong"));
    let sight = phone.app.desk.sight(record).unwrap();
    let voids = sight.log().folded().iter().filter(|s| matches!(s.payload, Ok(Payload::Void(_)))).count();
    assert_eq!(voids, 1);
    let entry: EntryId = sight.log().folded()[2].id;
    assert_eq!(sight.assessment.status(sight.log().place(&entry).unwrap()).word(), "voided");
}

#[test]
fn a_set_lies_between_two_checks_of_its_gauge() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Panel(Panel::Gauge));
    assert_eq!(seen(&phone).check.what, "B1 on R80");
    phone.send(Event::Check(true));
    assert_eq!(seen(&phone).check.says, "good before the set; check it again after");
    keep(&mut phone, "80.508");
    phone.send(Event::Panel(Panel::Gauge));
    assert_eq!(seen(&phone).check.says, "good before, 1 read since; check it again");
    phone.send(Event::Check(false));
    assert!(seen(&phone).check.says.contains("in doubt"), "{:?}", seen(&phone).check);
    let line = seen(&phone).gauges.into_iter().find(|line| line.mark == "B1").unwrap();
    assert!(line.remarks.contains(&"found out at its last check".to_owned()), "{line:?}");
    // A reading in doubt is to be read again.
    assert_eq!(seen(&phone).progress.0, 0);
    let first = readings(&phone, record)[0].reading_set.clone();
    keep(&mut phone, "80.508");
    assert_ne!(readings(&phone, record)[1].reading_set, first, "the check closed the set");
}

#[test]
fn gauges_that_read_this_come_first_and_what_is_the_matter_with_them_is_said() {
    let (disk, record) = shop(&[]);
    let mut phone = at(disk, record, "bore/1", "diameter");
    phone.send(Event::Panel(Panel::Gauge));
    let lines = seen(&phone).gauges;
    let marks: Vec<(&str, bool)> = lines.iter().map(|line| (line.mark.as_str(), line.reads_this)).collect();
    assert_eq!(marks, [("B1", true), ("B2", true), ("M7", false), ("R80", false)]);
    assert!(lines[0].remarks.is_empty(), "{lines:?}");
    assert_eq!(lines[1].remarks, ["does not reach 80.508 mm"]);
    assert!(lines[2].remarks.contains(&"not made for this".to_owned()));
    // A borrowed one is never refused.
    phone.send(Event::Gauge("LENT-3".to_owned()));
    keep(&mut phone, "80.508");
    assert_eq!(readings(&phone, record)[0].gauge, "LENT-3");
}

#[test]
fn the_gauge_is_set_to_what_it_must_show_on_a_cold_part() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Panel(Panel::Dial));
    assert_eq!(seen(&phone).setting.unwrap().unwrap(), "80.5075 mm", "at 20 degC as it is");
    phone.send(Event::PartAt("12".to_owned()));
    phone.send(Event::GaugeAt("20".to_owned()));
    phone.send(Event::Target("80.500".to_owned()));
    let shown = seen(&phone).setting.unwrap().unwrap();
    let shown = Quantity::parse(&shown).unwrap().amount().base();
    // 80.5 mm of grey iron, 10.5e-6 to 11.5e-6 per degC, 8 degC down: 6.8 to 7.4 µm less.
    assert!((80_492_600_000..80_493_300_000).contains(&shown), "{shown}");
    phone.send(Event::UseTarget);
    assert!(seen(&phone).set_to.is_some());
    keep(&mut phone, "0.000");
    let read = readings(&phone, record);
    assert_eq!(read[0].set_size.as_ref().unwrap().amount().base(), shown);
}

#[test]
fn a_reading_without_its_conditions_is_kept_and_said_not_to_be_judged() {
    let (disk, record) = shop(&[]);
    let mut phone = at(disk, record, "main/2", "housing-diameter");
    phone.send(Event::Gauge("B1".to_owned()));
    phone.send(Event::PartAt("20".to_owned()));
    keys(&mut phone, "61.009");
    let verdict = seen(&phone).verdict.unwrap();
    assert_eq!(verdict.word, "not judged");
    assert_eq!(verdict.way_out.as_deref(), Some("state caps tightened, shells out"));
    phone.send(Event::Condition("caps-tightened"));
    phone.send(Event::Condition("shells-out"));
    assert_eq!(seen(&phone).verdict.unwrap().word, "within");
    phone.send(Event::Keep);
    assert_eq!(readings(&phone, record)[0].conditions, ["caps-tightened", "shells-out"]);
    // They hold for the next station too.
    keys(&mut phone, "61.009");
    assert_eq!(seen(&phone).verdict.unwrap().word, "within");
}

#[test]
fn a_turn_from_one_condition_to_its_contrary_takes_one_tap() {
    let (disk, record) = shop(&[]);
    let mut phone = at(disk, record, "crank", "turning-torque");
    phone.send(Event::Panel(Panel::Conditions));
    phone.send(Event::Condition("seals-out"));
    phone.send(Event::Condition("seals-in"));
    let chosen: Vec<&str> =
        seen(&phone).conditions[0].iter().filter(|choice| choice.chosen).map(|choice| choice.what).collect();
    assert_eq!(chosen, ["seals-in"]);
}

#[test]
fn the_drawing_marks_the_station_at_hand() {
    let (mut phone, _) = ready(&[]);
    keep(&mut phone, "80.508");
    keep(&mut phone, "80.508");
    let drawing = seen(&phone).drawing;
    let levels: Vec<_> =
        drawing.levels.iter().map(|mark| (mark.name.as_str(), mark.read, mark.here)).collect();
    assert_eq!(levels, [("top", true, false), ("middle", false, true), ("bottom", false, false)]);
    assert!(drawing.ways[0].here && !drawing.ways[1].here);
}

#[test]
fn what_is_typed_before_one_says_who_one_is_is_there_when_one_comes_back() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Unit(Unit::Inch));
    keep(&mut phone, "3.1695");
    phone.app.desk.let_go();
    let there = Place::Reading(record, "bore/2".to_owned(), "diameter".to_owned());
    phone.send(crate::app::Event::Went(there.clone()));
    phone.send(Event::Station("middle/axial".to_owned()));
    phone.send(Event::Condition("block-cold"));
    keys(&mut phone, "80.511");
    let before = seen(&phone);
    assert_eq!(before.unit, "mm", "nobody's habit");
    phone.send(Event::Keep);
    assert!(phone.address.starts_with("/who/record/"));
    phone.send(who::Event::Pin("0000".to_owned()));
    phone.send(who::Event::Open);
    phone.send(who::Event::Pin(PIN.to_owned()));
    phone.seen.clear();
    phone.send(who::Event::Open);
    assert_eq!(phone.address, there.address());
    let view = seen(&phone);
    assert_eq!((view.typed.as_str(), view.unit.as_str()), ("80.511", "mm"), "as it was meant");
    assert_eq!((view.spot.as_str(), view.spot == before.spot), ("bore 2: middle, axial", true));
    assert_eq!((view.gauge.0.as_str(), view.temperatures.0.as_str()), ("B1", "20"), "and Ben's own");
    assert!(matches!(phone.seen.last(), Some(Effect::KeepAwake(true))), "{:?}", phone.seen);
    phone.send(Event::Keep);
    let kept = readings(&phone, record).pop().unwrap();
    assert_eq!((kept.feature.as_str(), kept.station.as_str()), ("bore/2", "middle/axial"));
    assert_eq!((kept.value.to_string().as_str(), kept.gauge.as_str()), ("80.511 mm", "B1"));
}

#[test]
fn what_is_typed_is_gone_when_one_goes_elsewhere_instead() {
    let (mut phone, record) = ready(&[]);
    phone.app.desk.let_go();
    keys(&mut phone, "80.511");
    phone.send(Event::Keep);
    phone.send(crate::app::Event::Went(Place::Record(record)));
    phone.send(crate::app::Event::Went(Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned())));
    assert_eq!(seen(&phone).typed, "");
}

#[test]
fn a_note_is_of_one_reading_and_is_kept_with_it() {
    let (mut phone, record) = ready(&[]);
    phone.send(Event::Panel(Panel::Note));
    phone.send(Event::Note(" light score at the top ".to_owned()));
    assert!(seen(&phone).tiles.iter().any(|tile| tile.panel == Panel::Note && tile.says.contains("score")));
    assert!(seen(&phone).parts.is_empty(), "nothing came in");
    keep(&mut phone, "80.508");
    keep(&mut phone, "80.507");
    let notes: Vec<String> = readings(&phone, record).into_iter().map(|reading| reading.note).collect();
    assert_eq!(notes, ["light score at the top", ""]);
}

#[test]
fn the_part_in_hand_is_named_where_the_place_does_not_name_it() {
    let (disk, record) = shop(&[]);
    let mut phone = at(disk, record, "main/2", "shell-wall");
    let came = |sort: &str, mark: &str| {
        Payload::PartReceived(gudgeon_core::entry::payload::PartReceived {
            mark: mark.to_owned(),
            sort: sort.to_owned(),
            batch: String::new(),
            weight: None,
            wall: None,
            count: 1,
            note: String::new(),
        })
    };
    let came = [came("main-shells", "S2"), came("piston", "A")];
    phone.app.desk.state(record, &came, |kept| {
        kept.unwrap();
        crate::app::Event::Dismissed
    });
    phone.send(Event::Panel(Panel::Note));
    let marks: Vec<String> = seen(&phone).parts.into_iter().map(|choice| choice.what).collect();
    assert_eq!(marks, ["", "main-shells/S2"], "a piston has no such wall");
    phone.send(Event::Part("main-shells/S2".to_owned()));
    let first = seen(&phone).spot;
    keep(&mut phone, "1.825");
    assert_eq!(readings(&phone, record)[0].part, "main-shells/S2");
    phone.send(Event::Station("upper".to_owned()));
    assert_eq!(
        (seen(&phone).spot == first, seen(&phone).stands.as_str()),
        (true, "1.825 mm"),
        "of this part"
    );
    phone.send(Event::Feature("main/3".to_owned()));
    keep(&mut phone, "1.826");
    assert_eq!(readings(&phone, record)[1].part, "", "another place has another part");
}

#[test]
fn what_would_follow_is_there_while_it_is_typed_and_is_what_follows_then() {
    let (mut phone, record) = ready(&[]);
    keys(&mut phone, "80.508");
    assert!(seen(&phone).would_follow.is_empty(), "one station alone is neither round nor tapered");
    phone.send(Event::Keep);
    keys(&mut phone, "80.540");
    let would = seen(&phone).would_follow;
    assert!(would.iter().any(|(_, text)| text.contains("out-of-round 0.032")), "{would:?}");
    phone.send(Event::Keep);
    let sight = phone.app.desk.sight(record).unwrap();
    let value = sight.assessment.value("bore/1", "out-of-round").unwrap();
    let then = (State::of_value(value).class(), gudgeon_core::assess::show::value_against_limit(value));
    assert!(would.contains(&then), "{would:?} {then:?}");
    // Read once more it takes the place of what stands there.
    phone.send(Event::Station("top/axial".to_owned()));
    keys(&mut phone, "80.509");
    let would = seen(&phone).would_follow;
    assert!(would.iter().any(|(_, text)| text.contains("out-of-round 0.001")), "{would:?}");
}

#[test]
fn what_would_follow_betrays_nothing_that_is_hidden() {
    let (mut phone, _) = ready(&[of_ann("top/thrust", "80.507 mm")]);
    phone.send(Event::Station("top/axial".to_owned()));
    keys(&mut phone, "80.540");
    let view = seen(&phone);
    assert!(view.verdict.is_some() && view.would_follow.is_empty(), "{:?}", view.would_follow);
}

#[test]
fn the_clearance_that_a_bore_would_give_is_there_while_it_is_typed() {
    use gudgeon_core::entry::payload::{Fitting, FittingState, PartReceived};
    let (mut phone, record) = ready(&[]);
    let came = Payload::PartReceived(PartReceived {
        mark: "A".to_owned(),
        sort: "piston".to_owned(),
        batch: String::new(),
        weight: None,
        wall: None,
        count: 1,
        note: String::new(),
    });
    let lies = Payload::Fitting(Fitting {
        part: "piston/A".to_owned(),
        place: "bore/1".to_owned(),
        state: FittingState::Allotted,
        orientation: String::new(),
        note: String::new(),
    });
    phone.app.desk.state(record, &[came, lies], |kept| {
        kept.unwrap();
        crate::app::Event::Dismissed
    });
    keep(&mut phone, "80.508");
    let skirt = Place::Reading(record, "piston/A/skirt".to_owned(), "diameter".to_owned());
    phone.send(crate::app::Event::Went(skirt));
    phone.send(Event::Gauge("M7".to_owned()));
    keep(&mut phone, "80.460");
    phone.send(crate::app::Event::Went(Place::Reading(record, "bore/1".to_owned(), "diameter".to_owned())));
    keys(&mut phone, "80.530");
    let would = seen(&phone).would_follow;
    // 80.508 and 80.530 less 80.460.
    let words = would.iter().map(|(_, text)| text.as_str()).find(|text| text.contains("piston-clearance"));
    assert!(words.unwrap().contains("0.048") && words.unwrap().contains("0.070"), "{would:?}");
    // From the other side: what the skirt would give in the bore where it lies.
    phone.send(crate::app::Event::Went(Place::Reading(
        record,
        "piston/A/skirt".to_owned(),
        "diameter".to_owned(),
    )));
    keys(&mut phone, "80.470");
    let would = seen(&phone).would_follow;
    assert!(would.iter().any(|(_, text)| text.starts_with("Bore 1: piston-clearance 0.038")), "{would:?}");
}
