//! The file carried by hand: whole or refused, with the reason.
#![allow(clippy::unwrap_used)]

mod document_kit;

use document_kit::{Dice, actor, entry, gate, unsigned};
use gudgeon_core::document::{BUNDLE_CHANGES, BUNDLE_DOCUMENTS, Bundle, BundleError, Document};
use gudgeon_core::entry::{DocumentId, KeyId};
use sha2::{Digest, Sha256};

const HEAD: usize = 17 + 32;

fn document(numbers: std::ops::Range<u32>) -> Document {
    let mut document = Document::new();
    for number in numbers {
        document.commit(actor(1), &[entry(number, 1, 200)]).unwrap();
    }
    document
}

fn bundle() -> Bundle {
    let mut bundle = Bundle::new(KeyId::new([5; 32]));
    bundle.add(DocumentId::new([1; 32]), &document(0..3));
    bundle.add(DocumentId::new([2; 32]), &document(3..9));
    bundle
}

/// A file with the right digest over any content.
fn sealed(content: &[u8]) -> Vec<u8> {
    [b"gudgeon bundle 1\n".as_slice(), &Sha256::digest(content), content].concat()
}

/// A field of bytes.
fn field(number: u64, bytes: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    unsigned(number << 3 | 2, &mut out);
    unsigned(u64::try_from(bytes.len()).unwrap(), &mut out);
    out.extend(bytes);
    out
}

#[test]
fn a_bundle_returns_as_written_and_is_taken() {
    let read = Bundle::read(&bundle().write().unwrap()).unwrap();
    assert_eq!(read, bundle());
    assert_eq!(read.root(), KeyId::new([5; 32]));
    let carried = &read.documents()[1];
    assert_eq!(carried.document(), DocumentId::new([2; 32]));
    let mut taken = Document::new();
    assert_eq!(taken.receive(carried.changes(), &mut gate).accepted.len(), 6);
    assert_eq!(taken.heads(), document(3..9).heads());
    let empty = Bundle::new(KeyId::new([5; 32]));
    assert_eq!(Bundle::read(&empty.write().unwrap()), Ok(empty));
}

#[test]
fn a_bundle_that_is_not_sound_says_why() {
    let good = bundle().write().unwrap();
    let mut altered = good.clone();
    *altered.last_mut().unwrap() ^= 1;
    let mut wrong_digest = good.clone();
    wrong_digest[20] ^= 1;
    let name = |length: usize, of: u64| [field(1, &[5; 32]), field(2, &field(of, &vec![1; length]))].concat();
    let cases = [
        (BundleError::NotABundle, b"PK\x03\x04 something else".to_vec()),
        (BundleError::NotABundle, b"gudgeon bundle \nno number".to_vec()),
        (BundleError::NotABundle, b"gudgeon bundle 0\n".to_vec()),
        (BundleError::NotABundle, [b"gudgeon bundle ".as_slice(), &[b'9'; 40]].concat()),
        (BundleError::Newer(2), b"gudgeon bundle 2\n and whatever it then is".to_vec()),
        (BundleError::Newer(37), b"gudgeon bundle 37\n".to_vec()),
        (BundleError::CutShort, Vec::new()),
        (BundleError::CutShort, good[..10].to_vec()),
        (BundleError::CutShort, good[..17].to_vec()),
        (BundleError::CutShort, good[..HEAD - 1].to_vec()),
        (BundleError::CutShort, good[..good.len() - 1].to_vec()),
        (BundleError::CutShort, good[..HEAD + 100].to_vec()),
        (BundleError::Damaged, altered),
        (BundleError::Damaged, wrong_digest),
        (BundleError::Damaged, sealed(&good[HEAD..good.len() - 1])),
        (BundleError::Damaged, sealed(&[0x0b])),
        (BundleError::BadName("the root key"), sealed(&[])),
        (BundleError::BadName("the root key"), sealed(&field(1, &[5; 31]))),
        (BundleError::BadName("a record"), sealed(&name(33, 1))),
    ];
    for (expected, file) in cases {
        assert_eq!(Bundle::read(&file), Err(expected), "{:?}", &file[..file.len().min(40)]);
    }
}

#[test]
fn counts_are_bounded_before_memory_is_given() {
    let empty_changes = [0x12, 0].repeat(BUNDLE_CHANGES + 1);
    let file = sealed(&field(2, &empty_changes));
    assert_eq!(Bundle::read(&file), Err(BundleError::TooManyChanges));
    let file = sealed(&[0x12, 0].repeat(BUNDLE_DOCUMENTS + 1));
    assert_eq!(Bundle::read(&file), Err(BundleError::TooManyDocuments));
}

#[test]
fn no_alteration_of_a_bundle_is_read_as_another() {
    let good = bundle().write().unwrap();
    let mut dice = Dice::new(1);
    for _ in 0..5000 {
        let mut file = good.clone();
        match dice.below(3) {
            0 => file.truncate(dice.below(good.len())),
            1 => {
                let at = dice.below(good.len());
                file[at] ^= 1 << dice.below(8);
            }
            _ => {
                let at = dice.below(good.len());
                file.insert(at, dice.byte());
            }
        }
        assert!(Bundle::read(&file).is_err());
    }
    // with the digest put right the content may be read or not, and never panics
    for _ in 0..5000 {
        let mut content = good[HEAD..].to_vec();
        for _ in 0..=dice.below(3) {
            let at = dice.below(content.len());
            content[at] = dice.byte();
        }
        if let Ok(read) = Bundle::read(&sealed(&content)) {
            for carried in read.documents() {
                let mut document = Document::new();
                document.receive(carried.changes(), &mut gate);
                assert!(document.len() <= 6);
            }
        }
    }
}

/// Written by the first release; every later one must read it and write it the same.
const FORM_1: &[u8] = include_bytes!("document_kit/form-1.bundle");

#[test]
fn the_first_form_is_read_for_ever() {
    let read = Bundle::read(FORM_1).unwrap();
    assert_eq!(read, bundle());
    assert_eq!(read.write().unwrap(), FORM_1);
    let mut taken = Document::new();
    taken.receive(read.documents()[1].changes(), &mut gate);
    assert_eq!(
        taken.heads()[0].to_string(),
        "e2d1936f988219f8e132dcebe484ab60b1bfec5f42a70bb5a4c8862a2c514c5b"
    );
}
