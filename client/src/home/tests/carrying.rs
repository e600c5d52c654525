#![allow(clippy::unwrap_used)]
use super::saving::forge;
use super::*;
use gudgeon_core::document::{Actor, Document};

/// Two homes with one record, each having carried to the other.
fn two_homes() -> (Device, Home, Home, DocumentId) {
    let device = Device::default();
    let mut mine = device.home(1);
    let record = founded(&mut mine);
    says(&mut mine, record, &ada(), "common");
    let mut yours = Device::default().home(2);
    let carried = carry(&mine, &mut yours);
    assert!(carried.adopted);
    assert_eq!(carried.reports.iter().map(|report| report.new.len()).collect::<Vec<_>>(), [1, 2]);
    (device, mine, yours, record)
}

/// Carries to and fro until nothing is new; both must then hold the same.
fn converge(mine: &mut Home, yours: &mut Home, record: DocumentId) {
    for _ in 0..3 {
        carry(mine, yours);
        carry(yours, mine);
    }
    assert_eq!(ids(mine, record), ids(yours, record));
    assert!(mine.log(record).unwrap().waiting().next().is_none());
    mine.document(record).unwrap().check().unwrap();
    yours.document(record).unwrap().check().unwrap();
}

#[test]
fn two_homes_hold_the_same_after_carrying_both_ways() {
    let (_, mut mine, mut yours, record) = two_homes();
    says(&mut mine, record, &ada(), "mine");
    says(&mut yours, record, &ben(), "yours");
    let report = carry(&mine, &mut yours).reports.remove(1);
    assert_eq!((report.new.len(), report.refused.len(), report.repacked), (1, 0, false));
    converge(&mut mine, &mut yours, record);
    assert_eq!(texts(&mine, record), ["common", "mine", "yours"]);
}

#[test]
fn carrying_the_same_again_changes_nothing() {
    let (_, mine, mut yours, record) = two_homes();
    let changes = yours.document(record).unwrap().len();
    let carried = carry(&mine, &mut yours);
    assert!(!carried.adopted);
    assert!(carried.reports.iter().all(|report| report.new.is_empty() && report.refused.is_empty()));
    assert_eq!(yours.document(record).unwrap().len(), changes);
}

#[test]
fn a_restored_backup_that_writes_on_loses_nothing_and_converges() {
    let (device, mut mine, mut yours, record) = two_homes();
    let backup = device.copy();
    says(&mut mine, record, &ada(), "after the backup");
    carry(&mine, &mut yours);
    drop(mine);

    let mut restored = backup.home(3);
    let actor = restored.actor();
    says(&mut restored, record, &ada(), "after the restore");
    let report = carry(&yours, &mut restored).reports.remove(1);
    assert!(report.repacked);
    assert_eq!(report.refused, []);
    assert_ne!(restored.actor(), actor);
    converge(&mut restored, &mut yours, record);
    assert_eq!(texts(&yours, record), ["after the backup", "after the restore", "common"]);
    assert!(yours.log(record).unwrap().is_forked(ada().key()), "the fold is told of the copy");
    assert_eq!(texts(&backup.home(4), record), texts(&yours, record));
    assert_eq!(backup.home(4).actor(), restored.actor());
}

#[test]
fn a_restored_backup_that_has_not_written_yet_takes_a_fresh_actor_in_time() {
    let (device, mut mine, mut yours, record) = two_homes();
    let backup = device.copy();
    says(&mut mine, record, &ada(), "after the backup");
    carry(&mine, &mut yours);
    let mut restored = backup.home(3);
    let report = carry(&yours, &mut restored).reports.remove(1);
    assert!(!report.repacked);
    assert_ne!(restored.actor(), mine.actor());
    says(&mut restored, record, &ada(), "more");
    says(&mut mine, record, &ada(), "still writing with the old phone");
    carry(&restored, &mut yours);
    converge(&mut mine, &mut yours, record);
}

#[test]
fn three_homes_with_a_fork_between_them_hold_the_same_in_the_end() {
    let (device, mut mine, mut yours, record) = two_homes();
    let mut copy = device.copy().home(3);
    let mut third = Device::default().home(4);
    says(&mut mine, record, &ada(), "mine 1");
    says(&mut copy, record, &ada(), "copy 1");
    carry(&mine, &mut yours);
    carry(&copy, &mut third);
    says(&mut mine, record, &ada(), "mine 2");
    says(&mut yours, record, &ben(), "yours 1");
    says(&mut third, record, &ben(), "third 1");
    for _ in 0..2 {
        carry(&mine, &mut third);
        carry(&third, &mut copy);
        carry(&copy, &mut yours);
        carry(&yours, &mut mine);
    }
    converge(&mut mine, &mut yours, record);
    converge(&mut mine, &mut third, record);
    converge(&mut mine, &mut copy, record);
    let all = ["common", "copy 1", "mine 1", "mine 2", "third 1", "yours 1"];
    for home in [&mine, &yours, &copy] {
        assert_eq!(texts(home, record), all);
    }
}

#[test]
fn a_change_that_squats_on_ones_own_number_costs_nothing() {
    let (_, mut mine, mut yours, record) = two_homes();
    // Somebody writes under the victim's actor, with its next number, a sound entry.
    let mut squatted = yours.document(record).unwrap().clone();
    says(&mut yours, record, &ben(), "carried by the squatter");
    let entries: Vec<_> =
        yours.document(record).unwrap().entries().map(|put| (put.id, put.value.to_vec())).collect();
    squatted.commit(mine.actor(), &entries).unwrap();
    says(&mut mine, record, &ada(), "mine");
    let actor = mine.actor();
    let report = carry_documents(
        &mine.document(mine.workshop().unwrap()).unwrap().clone(),
        &squatted,
        &mut mine,
        record,
    );
    assert!(report.repacked);
    assert_ne!(mine.actor(), actor);
    assert_eq!(texts(&mine, record), ["carried by the squatter", "common", "mine"]);
    converge(&mut mine, &mut yours, record);
}

/// Carries these very documents in.
fn carry_documents(
    workshop: &Document,
    other: &Document,
    to: &mut Home,
    record: DocumentId,
) -> crate::home::Report {
    let folder = Folder::new();
    let file = folder.file("made.gudgeon");
    write(root().key(), &[(to.workshop().unwrap(), workshop), (record, other)], &file);
    to.carry_in(&file, None).unwrap().reports.remove(1)
}

#[test]
fn a_forged_entry_is_refused_and_kept_aside_and_its_neighbours_are_taken() {
    let (device, mut mine, yours, record) = two_homes();
    let mut tampered = yours.document(record).unwrap().clone();
    let mut other = Device::default().home(5);
    carry(&mine, &mut other);
    let sound = says(&mut other, record, &ben(), "sound neighbour");
    let value = other.document(record).unwrap().entry(&sound).unwrap().to_vec();
    let (forged, forged_value) = forge_for(&mine, record);
    let mut entries = [(forged, forged_value.clone()), (sound, value)];
    entries.sort();
    tampered.commit(Actor([8; 16]), &entries).unwrap();
    let workshop = mine.document(mine.workshop().unwrap()).unwrap().clone();
    let report = carry_documents(&workshop, &tampered, &mut mine, record);
    assert_eq!(report.new, [sound]);
    assert_eq!(
        report.refused.iter().map(|r| (r.entry, r.rule)).collect::<Vec<_>>(),
        [(Some(forged), "bad-signature")]
    );
    assert!(!report.repacked);
    assert_eq!(texts(&mine, record), ["common", "sound neighbour"]);

    let again = carry_documents(&workshop, &tampered, &mut mine, record);
    assert_eq!((again.new.len(), again.refused.len()), (0, 1));
    let aside = device.home(6).aside(record).unwrap();
    assert_eq!(aside.len(), 1);
    assert_eq!((aside[0].entry, aside[0].rule.as_str()), (Some(forged), "bad-signature"));
    assert_eq!(aside[0].value, forged_value);
    mine.forget_aside(record).unwrap();
    assert_eq!(mine.aside(record).unwrap(), []);
}

#[test]
fn a_forged_twin_of_a_held_entry_is_refused_and_the_held_one_stays() {
    let (_, mut mine, yours, record) = two_homes();
    let id = *ids(&mine, record).iter().find(|id| mine.log(record).unwrap().place(id) == Some(1)).unwrap();
    let held = mine.document(record).unwrap().entry(&id).unwrap().to_vec();
    let mut twin = held.clone();
    twin[40] ^= 1;
    let mut tampered = yours.document(record).unwrap().clone();
    tampered.commit(Actor([8; 16]), &[(id, twin)]).unwrap();
    let workshop = mine.document(mine.workshop().unwrap()).unwrap().clone();
    let report = carry_documents(&workshop, &tampered, &mut mine, record);
    assert_eq!(report.new, []);
    assert_eq!(
        report.refused.iter().map(|r| (r.entry, r.rule)).collect::<Vec<_>>(),
        [(Some(id), "bad-signature")]
    );
    assert_eq!(mine.document(record).unwrap().entry(&id).unwrap(), held);
}

/// A forged entry of this record: right in all but the signature.
fn forge_for(home: &Home, record: DocumentId) -> (EntryId, Vec<u8>) {
    assert!(home.holds(&record));
    forge(record)
}

#[test]
fn not_more_is_kept_aside_than_the_limit() {
    let (_, mut mine, yours, record) = two_homes();
    let mut tampered = yours.document(record).unwrap().clone();
    let (_, value) = forge(record);
    let values: Vec<_> = (0..u16::try_from(crate::home::KEPT_ASIDE + 9).unwrap())
        .map(|i| {
            let mut value = value.clone();
            value[50..52].copy_from_slice(&i.to_be_bytes());
            value.extend_from_slice(&[0x82, 0x01, 2]);
            value.extend_from_slice(&i.to_be_bytes());
            (gudgeon_core::entry::claimed_id(&value).unwrap(), value)
        })
        .collect();
    tampered.commit(Actor([8; 16]), &values).unwrap();
    let workshop = mine.document(mine.workshop().unwrap()).unwrap().clone();
    let report = carry_documents(&workshop, &tampered, &mut mine, record);
    assert_eq!(report.refused.len(), values.len());
    assert_eq!(mine.aside(record).unwrap().len(), crate::home::KEPT_ASIDE);
}

#[test]
fn a_part_that_lacks_something_says_what_and_takes_nothing_of_it() {
    let (_, mut mine, mut yours, record) = two_homes();
    says(&mut mine, record, &ada(), "one");
    says(&mut mine, record, &ada(), "two");
    let changes = mine.document(record).unwrap().changes_from(0);
    let (missing, last) = (changes[changes.len() - 2].clone(), changes[changes.len() - 1].clone());
    let report = yours.receive(record, &[last.raw()]).unwrap();
    assert_eq!((report.new, report.unknown_deps), (vec![], vec![missing.hash()]));
    let report = yours.receive(record, &[last.raw(), missing.raw()]).unwrap();
    assert_eq!((report.new.len(), report.unknown_deps), (2, vec![]));
    assert_eq!(texts(&yours, record), ["common", "one", "two"]);
}

#[test]
fn a_part_that_does_not_fit_is_refused_with_the_rule_and_packs_nothing_anew() {
    let (device, mut mine, mut yours, record) = two_homes();
    let mut copy = device.copy().home(3);
    says(&mut mine, record, &ada(), "mine");
    says(&mut copy, record, &ada(), "copy");
    carry(&mine, &mut yours);
    let raws: Vec<Vec<u8>> =
        copy.document(record).unwrap().changes_from(0).iter().map(|c| c.raw().to_vec()).collect();
    let report = yours.receive(record, &raws).unwrap();
    assert_eq!(report.refused.iter().map(|r| r.rule).collect::<Vec<_>>(), ["actor-taken"]);
    assert!(!report.repacked);
    assert_eq!(texts(&yours, record), ["common", "mine"]);
}

#[test]
fn an_entry_without_its_ground_is_held_and_reported() {
    let (_, mut mine, mut yours, record) = two_homes();
    let first = says(&mut mine, record, &ada(), "ground");
    let second = says(&mut mine, record, &ada(), "stands on it");
    let document = mine.document(record).unwrap();
    let value = |id| document.entry(&id).unwrap().to_vec();
    let mut other = yours.document(record).unwrap().clone();
    let only_second = other.commit(Actor([8; 16]), &[(second, value(second))]).unwrap();
    let report = yours.receive(record, &[only_second[0].raw()]).unwrap();
    assert_eq!((report.new, report.missing_ground), (vec![second], vec![second]));
    let rest = other.commit(Actor([8; 16]), &[(first, value(first))]).unwrap();
    let report = yours.receive(record, &[rest[0].raw()]).unwrap();
    assert_eq!((report.new, report.missing_ground), (vec![first], vec![]));
}

#[test]
fn a_full_device_takes_nothing_in_and_the_next_try_works() {
    let (_, mut mine, _, record) = two_homes();
    says(&mut mine, record, &ada(), "late");
    let device = Device::default();
    let mut third = device.home(9);
    let folder = Folder::new();
    let file = folder.file("carried.gudgeon");
    mine.carry_out(&[record], &file).unwrap();
    device.set(FULL);
    let error = third.carry_in(&file, Some(root().key())).unwrap_err();
    assert_eq!(error.code(), "not-saved");
    assert_eq!((third.workshop(), third.holds(&record)), (None, false));
    device.set(SOUND);
    third.carry_in(&file, Some(root().key())).unwrap();
    assert_eq!(texts(&third, record), ["common", "late"]);
}

#[test]
fn a_repack_that_is_not_saved_leaves_actor_and_document_as_they_were() {
    let (device, mut mine, mut yours, record) = two_homes();
    let backup = device.copy();
    says(&mut mine, record, &ada(), "after the backup");
    carry(&mine, &mut yours);
    let mut restored = backup.home(3);
    says(&mut restored, record, &ada(), "after the restore");
    let (actor, before) = (restored.actor(), ids(&restored, record));
    let folder = Folder::new();
    let file = folder.file("carried.gudgeon");
    yours.carry_out(&[record], &file).unwrap();
    backup.set(FULL);
    assert_eq!(restored.carry_in(&file, None).unwrap_err().code(), "not-saved");
    assert_eq!((restored.actor(), ids(&restored, record)), (actor, before));
    backup.set(SOUND);
    restored.carry_in(&file, None).unwrap();
    converge(&mut restored, &mut yours, record);
}
