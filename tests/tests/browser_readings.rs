//! Taking readings on the phone app in a real browser: a whole set of bores, and with a comparator.
#![allow(clippy::unwrap_used)]

mod browser_kit;

use browser_kit::shop::{STATIONS, Shop};
use gudgeon_core::entry::payload::Reading;
use gudgeon_core::quantity::Quantity;

/// Six values of a bore, by its number: all within the limits of the example engine.
const BORES: [[&str; 6]; 4] = [
    ["80.508", "80.507", "80.509", "80.506", "80.510", "80.508"],
    ["80.505", "80.506", "80.507", "80.508", "80.509", "80.510"],
    ["80.511", "80.509", "80.508", "80.507", "80.506", "80.505"],
    ["80.507", "80.507", "80.508", "80.508", "80.509", "80.509"],
];

#[test]
fn a_whole_set_of_bores_is_read_station_by_station_and_goes_on_by_itself() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    phone.at_bore(1, "20");
    phone.says("0 of 24 read");

    // What is typed is judged while it is typed, and can be taken away.
    phone.taps("80.608");
    phone.says("outside");
    (0..3).for_each(|_| phone.presses("take one away"));
    phone.taps("508");
    phone.says("within");
    phone.presses("Keep");
    phone.says("kept: bore 1 top thrust 80.508 mm");
    for (station, value) in STATIONS.into_iter().zip(BORES[0]).skip(1) {
        phone.says(&format!("bore 1: {}", station.replace(' ', ", ")));
        phone.reads(value, &format!("bore 1 {station} {value} mm"));
    }
    // The others by a gauge that types like a keyboard.
    phone.reads_bore(2, BORES[1]);
    phone.reads_bore(3, BORES[2]);
    phone.reads_bore(4, BORES[3]);
    phone.says("24 of 24 read");
    assert_eq!(phone.place(), "read/bore/4/diameter", "the address has gone along");

    phone.goes("");
    phone.says("0 of 158 signed");
    for bore in 1..=4 {
        phone.goes(&format!("feature/bore/{bore}"));
        phone.says("6 of 6 read");
    }
    phone.says("all at the office");
    shop.lead.meets();
    let read = shop.lead.read();
    assert_eq!(read.len(), 24, "each once");
    for (at, values) in (1..).zip(BORES) {
        let of_bore = read.iter().filter(|reading| reading.feature == format!("bore/{at}"));
        let of_bore: Vec<_> = of_bore.map(|r| (r.station.replace('/', " "), r.value.typed())).collect();
        let meant: Vec<_> = STATIONS.into_iter().map(str::to_owned).zip(values).collect();
        assert_eq!(of_bore, meant);
    }
    assert!(read.iter().all(|reading| reading.gauge == "B1"));
    let celsius = |of: &Option<Quantity>| of.as_ref().map(|at| at.to_string());
    assert!(read.iter().all(|reading| celsius(&reading.part_temperature).as_deref() == Some("20 °C")));
    drop(phone);
    shop.ends();
}

#[test]
fn with_a_comparator_the_size_is_set_once_and_only_the_dial_is_typed() {
    let mut shop = Shop::opens();
    let phone = shop.phone_of("Ben");
    phone.at_bore(1, "20");
    phone.presses("Dial ±");
    phone.types("Set to", "80.500");
    phone.presses("Back to the keys");
    phone.taps("0.008");
    phone.says("80.508 mm");
    phone.says("within");
    phone.presses("Keep");
    phone.says("kept: bore 1 top thrust 80.500 mm +0.008 mm");
    phone.taps("-0.09");
    phone.says("outside");
    phone.presses("take one away");
    phone.taps("03");
    phone.says("80.497 mm");
    phone.presses("Keep");
    phone.says("kept: bore 1 top axial 80.500 mm -0.003 mm");
    phone.says("at the office");

    // What the dial was set to is true for the day, though the phone is killed.
    let phone = shop.kills(phone);
    phone.held_by("Ben", browser_kit::PIN);
    phone.goes("read/bore/2/diameter");
    phone.says("80.500 mm");
    phone.reads("0.006", "bore 2 top thrust 80.500 mm +0.006 mm");
    phone.says("at the office");
    shop.lead.meets();
    let read = shop.lead.read();
    let typed = |r: &Reading| {
        (r.set_size.as_ref().unwrap().typed().to_owned(), r.value.typed().to_owned(), r.gauge.clone())
    };
    let typed: Vec<_> = read.into_iter().map(typed).collect();
    let dial = |value: &str| ("80.500".to_owned(), value.to_owned(), "B1".to_owned());
    assert_eq!(typed, [dial("0.008"), dial("-0.003"), dial("0.006")]);
    drop(phone);
    shop.ends();
}
