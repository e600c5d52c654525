//! The browser is killed at random moments while readings are entered: whatever was shown as kept
//! is there when it is started again. `GUDGEON_SEEDS` says how many moments, `GUDGEON_SEED` which.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod browser_kit;

use std::sync::mpsc;
use std::time::Duration;

use browser_kit::PIN;
use browser_kit::driver::ENTER;
use browser_kit::shop::{Phone, Shop};

/// Moments in a run of everything; each starts a browser anew.
const MOMENTS: u64 = 4;

/// The latest moment, in milliseconds from the first key.
const LATEST: u64 = 1_500;

fn seeds() -> Vec<u64> {
    let number = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<u64>().ok());
    match number("GUDGEON_SEED") {
        Some(seed) => vec![seed],
        None => (1..=number("GUDGEON_SEEDS").unwrap_or(MOMENTS)).collect(),
    }
}

/// When it is killed, from a seed (a step of SplitMix64, from memory).
fn moment(seed: u64) -> Duration {
    let mixed = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    Duration::from_millis((mixed ^ (mixed >> 27)) % LATEST)
}

/// Enters readings until the browser is gone; the values that were shown as kept.
fn enters_until_killed(phone: &Phone, next: &mut u32, seed: u64) -> Vec<String> {
    let (tell, told) = mpsc::channel::<()>();
    let killer = phone.killer();
    let hand = std::thread::spawn(move || {
        // Nobody tells: it is the moment that is waited for.
        let _moment = told.recv_timeout(moment(seed));
        killer.kills();
    });
    let mut shown = Vec::new();
    'alive: loop {
        *next += 1;
        let value = format!("7{}.{:03}", *next / 1000, *next % 1000);
        if phone.tries_keys(&format!("{value}{ENTER}")).is_err() {
            break;
        }
        loop {
            match phone.tries_text() {
                Ok(text) if text.contains(&format!("{value} mm, on this phone")) => break,
                Ok(_) => {}
                Err(_) => break 'alive,
            }
        }
        shown.push(value);
    }
    drop(tell);
    hand.join().unwrap();
    shown
}

#[test]
fn what_was_shown_as_kept_is_there_however_the_browser_was_killed() {
    let mut shop = Shop::opens();
    let mut phone = shop.phone_of("Ben");
    shop.office_closes();
    let (mut kept, mut next) = (Vec::new(), 0);
    for seed in seeds() {
        phone.at_bore(1, "20");
        let shown = enters_until_killed(&phone, &mut next, seed);
        println!("seed {seed}: killed after {:?}, {} shown as kept", moment(seed), shown.len());
        kept.extend(shown);
        phone = shop.kills(phone);
        // What one person has read alone is shown to that person only.
        phone.held_by("Ben", PIN);
        phone.goes("print");
        phone.until("the record", || !phone.printed().is_empty());
        let printed = phone.printed();
        let lost: Vec<&String> =
            kept.iter().filter(|value| !printed.contains(&format!("{value} mm"))).collect();
        assert!(lost.is_empty(), "seed {seed}: shown as kept and lost: {lost:?}");
    }
    shop.office_opens();
    phone.says("all at the office");
    shop.lead.meets();
    let read = shop.lead.readings();
    let mut once = read.clone();
    once.dedup();
    assert_eq!(read, once, "each once");
    assert!(kept.iter().all(|value| read.contains(value)), "{kept:?} of {read:?}");
    println!("{} shown as kept, {} entered", kept.len(), read.len());
    drop(phone);
    shop.ends();
}
