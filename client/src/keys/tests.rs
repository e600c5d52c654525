#![allow(clippy::unwrap_used)]
use super::*;
use crate::world::test::Rehearsed;
use prost::Message as _;

fn author() -> Author {
    Author::from_secret(&[7; 32])
}

fn sealed(pin: &str) -> Sealed {
    Sealed::seal(&Rehearsed::new(1), &author(), "Ada, bench phone", &Pin::new(pin).unwrap()).unwrap()
}

#[test]
fn a_pin_has_four_characters_at_least_whatever_they_are() {
    assert_eq!(Pin::new("123").unwrap_err(), KeyError::PinTooShort { found: 3 });
    assert_eq!(Pin::new(&"x".repeat(129)).unwrap_err(), KeyError::PinTooLong { found: 129 });
    assert!(Pin::new("öäüß").is_ok());
    assert_eq!(format!("{:?}", Pin::new("1234").unwrap()), "Pin(..)");
}

#[test]
fn the_right_pin_opens_and_the_stored_shape_keeps_everything() {
    let pin = Pin::new("24 mars").unwrap();
    let stored = sealed("24 mars").to_shape().encode_to_vec();
    assert!(!stored.windows(32).any(|bytes| bytes == [7; 32]), "the secret lies open");
    let mut read = Sealed::from_shape(shape::SealedKey::decode(stored.as_slice()).unwrap()).unwrap();
    assert_eq!(read, sealed("24 mars"));
    assert_eq!(read.open(&pin, 0).unwrap().secret(), [7; 32]);
}

#[test]
fn a_wrong_pin_says_so_counts_and_makes_one_wait() {
    let mut sealed = sealed("1234");
    let (wrong, right) = (Pin::new("4321").unwrap(), Pin::new("1234").unwrap());
    for tries in 1..=3 {
        let wait_ms = WAITS[tries as usize];
        let label = sealed.label().to_owned();
        assert_eq!(sealed.open(&wrong, 1_000).unwrap_err(), KeyError::WrongPin { label, tries, wait_ms });
    }
    let early = sealed.open(&right, 2_000).unwrap_err();
    assert!(matches!(early, KeyError::TooSoon { tries: 3, wait_ms: 4_000, .. }), "{early}");
    assert!(early.hint().contains("4 s"), "{}", early.hint());
    assert!(sealed.open(&right, 6_000).is_ok());
    assert_eq!(sealed.wrong_tries(), 0);
}

#[test]
fn a_clock_put_back_starts_the_wait_anew_and_no_more() {
    let mut sealed = sealed("1234");
    (sealed.wrong_tries, sealed.last_wrong) = (3, 1_000_000);
    let pin = Pin::new("1234").unwrap();
    assert!(matches!(sealed.open(&pin, 10), Err(KeyError::TooSoon { wait_ms: 5_000, .. })));
    assert!(sealed.open(&pin, 5_010).is_ok());
}

#[test]
fn an_altered_seal_does_not_open() {
    let pin = Pin::new("1234").unwrap();
    let whole = sealed("1234").to_shape();
    let other_key = shape::SealedKey { key: vec![9; 32], ..whole.clone() };
    let mut other_bytes = whole.clone();
    other_bytes.sealed[3] ^= 1;
    for altered in [other_key, other_bytes] {
        let mut sealed = Sealed::from_shape(altered).unwrap();
        assert!(matches!(sealed.open(&pin, 0), Err(KeyError::WrongPin { .. })));
    }
    let cheap = whole.derivation.replace("m=32768", "m=8");
    for broken in [
        shape::SealedKey { derivation: cheap, ..whole.clone() },
        shape::SealedKey { nonce: vec![0; 12], ..whole.clone() },
        shape::SealedKey { key: vec![0; 31], ..whole.clone() },
    ] {
        assert!(matches!(Sealed::from_shape(broken), Err(KeyError::Damaged { .. })));
    }
    let newer = shape::SealedKey { version: 2, ..whole };
    assert!(matches!(Sealed::from_shape(newer), Err(KeyError::NewerShape { found: 2, .. })));
}

#[test]
fn a_secret_of_another_key_is_damage_not_a_key() {
    let mut sealed = sealed("1234");
    let pin = Pin::new("1234").unwrap();
    sealed.key = Author::from_secret(&[8; 32]).key();
    let aad = bound(&sealed.key, &sealed.derivation);
    let payload = Payload { msg: &[7; 32], aad: &aad };
    let cipher = cipher(&sealed.derivation, &pin).unwrap();
    sealed.sealed = cipher.encrypt(&XNonce::from(sealed.nonce), payload).unwrap();
    assert!(matches!(sealed.open(&pin, 0), Err(KeyError::Damaged { .. })));
}
