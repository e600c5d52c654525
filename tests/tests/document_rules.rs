//! Every rule of a change has an attack that breaks it, and nothing else passes.
#![allow(clippy::unwrap_used)]

mod document_kit;

use document_kit::{ACTION, Forged, INSERT, KEY, OBJECT_COUNTER, SIZE, VALUE, actor, entry, gate, keys};
use document_kit::{open, rules, seal, signed};
use gudgeon_core::document::{
    Actor, ChangeHash, Document, GENESIS, GENESIS_ACTOR, MAX_CHANGE, MAX_DEPS, MAX_ENTRY, MAX_OP, MAX_PUTS,
    MAX_SEQ, Rule, encode, genesis_hash, parse,
};
use gudgeon_core::entry::EntryId;

type Attack = (Rule, &'static str, Vec<u8>);

fn sound() -> Forged {
    let (id, value) = entry(1, 1, 300);
    Forged::sound(id, &value)
}

/// A sound change with one thing altered.
fn with(alter: impl FnOnce(&mut Forged)) -> Vec<u8> {
    let mut forged = sound();
    alter(&mut forged);
    forged.build()
}

/// A run-length column that claims a hundred million values in a few bytes.
fn bomb(value: u8) -> Vec<u8> {
    let mut column = Vec::new();
    signed(100_000_000, &mut column);
    column.push(value);
    column
}

fn chunk_attacks() -> Vec<Attack> {
    let good = sound().build();
    let mut altered = good.clone();
    *altered.last_mut().unwrap() ^= 1;
    let mut wrong_sum = good.clone();
    wrong_sum[4] ^= 1;
    let mut long_length = good[..9].to_vec();
    long_length.extend([good[9], good[10] | 0x80, 0]);
    long_length.extend(&good[11..]);
    vec![
        (Rule::TooLarge, "more than one change may have", vec![0; MAX_CHANGE + 1]),
        (Rule::Chunk, "nothing at all", vec![]),
        (Rule::Chunk, "half a header", good[..7].to_vec()),
        (Rule::Chunk, "a document chunk", seal(0, open(&good))),
        (Rule::Chunk, "a deflate bomb in a compressed chunk", seal(2, &vec![0xff; 65_000])),
        (Rule::Chunk, "a bundle chunk", seal(3, open(&good))),
        (Rule::Chunk, "text", b"not a change at all, just text".to_vec()),
        (Rule::Length, "cut short", good[..good.len() - 1].to_vec()),
        (Rule::Length, "two changes in one", [good.clone(), good.clone()].concat()),
        (Rule::Length, "the content ends within the names", seal(1, &[3, 1, 2])),
        (Rule::Checksum, "altered", altered),
        (Rule::Checksum, "another checksum", wrong_sum),
        (Rule::Number, "a length written longer than it need be", long_length),
        (Rule::Number, "no content", seal(1, &[])),
    ]
}

fn heading_attacks() -> Vec<Attack> {
    let name = |byte| ChangeHash([byte; 32]);
    let many = (0..=64).map(name).collect::<Vec<_>>();
    vec![
        (Rule::DepsCount, "no earlier change", with(|f| f.deps.clear())),
        (Rule::DepsCount, "65 earlier changes", with(|f| f.deps = many)),
        (Rule::DepsOrder, "unsorted", with(|f| f.deps = vec![name(2), name(1)])),
        (Rule::DepsOrder, "named twice", with(|f| f.deps = vec![name(1), name(1)])),
        (Rule::ActorLength, "17 bytes", with(|f| f.actor.push(0))),
        (Rule::ActorLength, "none", with(|f| f.actor.clear())),
        (Rule::ActorGenesis, "the genesis actor", with(|f| f.actor = GENESIS_ACTOR.bytes().to_vec())),
        (Rule::Seq, "number 0", with(|f| f.seq = 0)),
        (Rule::Seq, "past the last number", with(|f| f.seq = MAX_SEQ + 1)),
        (Rule::Number, "a number past 63 bits", with(|f| f.seq = u64::MAX)),
        (Rule::StartOp, "operation 0", with(|f| f.start_op = 0)),
        (Rule::StartOp, "the genesis operation", with(|f| f.start_op = 1)),
        (Rule::StartOp, "near the end of 32 bits", with(|f| f.start_op = u64::from(u32::MAX) - 1)),
        (Rule::StartOp, "past the last number", with(|f| f.start_op = MAX_OP + 1)),
        (Rule::Time, "a time", with(|f| f.time = 1_700_000_000)),
        (Rule::Time, "a time before zero", with(|f| f.time = -1)),
        (Rule::Message, "a message", with(|f| f.message = b"hello".to_vec())),
        (Rule::OtherActors, "no other actor", with(|f| f.other_actors.clear())),
        (Rule::OtherActors, "one more", with(|f| f.other_actors.push(vec![9; 16]))),
        (Rule::OtherActors, "another in its place", with(|f| f.other_actors = vec![vec![9; 16]])),
    ]
}

fn column_attacks() -> Vec<Attack> {
    let column = |at: usize, data: Vec<u8>| with(|f| f.columns[at].1 = data);
    vec![
        (Rule::Columns, "a column too few", with(|f| drop(f.columns.pop()))),
        (
            Rule::Columns,
            "predecessors",
            with(|f| f.columns.extend([(0x71, vec![0x7f, 0]), (0x73, vec![0x7f, 1])])),
        ),
        (Rule::Columns, "a mark", with(|f| f.columns.push((0x94, vec![0, 1])))),
        (Rule::Columns, "a deflated column", with(|f| f.columns[VALUE].0 |= 8)),
        (Rule::Columns, "no columns", with(|f| f.columns.clear())),
        (Rule::ExtraBytes, "bytes after the columns", with(|f| f.extra = vec![1, 2, 3])),
        (Rule::PutCount, "no put", column(KEY, vec![])),
        (Rule::PutCount, "257 puts", column(KEY, keys(&[""; MAX_PUTS + 1]))),
        (Rule::PutCount, "a bomb of keys", column(KEY, bomb(64))),
        (Rule::PutCount, "a run of one key", column(KEY, vec![2, 64])),
        (Rule::Key, "too short", column(KEY, keys(&["ab"]))),
        (Rule::Key, "not hexadecimal", column(KEY, keys(&[&"g".repeat(64)]))),
        (Rule::Key, "upper case", column(KEY, keys(&[&"AB".repeat(32)]))),
        (Rule::Key, "cut short", column(KEY, vec![0x7f, 64, b'a'])),
        (Rule::KeyOrder, "unsorted", two_puts("bb", "aa")),
        (Rule::KeyOrder, "one key twice", two_puts("aa", "aa")),
        (Rule::ValueKind, "text", column(SIZE, vec![0x7f, 0x16])),
        (Rule::ValueKind, "null", column(SIZE, vec![0x7f, 0])),
        (Rule::ValueKind, "a run of nulls", column(SIZE, vec![0, 1])),
        (
            Rule::EntryEmpty,
            "no bytes",
            with(|f| {
                f.columns[SIZE].1 = vec![0x7f, 7];
                f.columns[VALUE].1.clear();
            }),
        ),
        (
            Rule::EntryTooLarge,
            "one byte too many",
            Forged::sound(entry(1, 1, 9).0, &vec![1; MAX_ENTRY + 1]).build(),
        ),
    ]
}

fn two_puts(first: &str, second: &str) -> Vec<u8> {
    two_puts_forged(first, second).build()
}

/// Sound in every part that has a rule of its own, yet not what the encoder writes.
fn other_attacks() -> Vec<Attack> {
    let column = |at: usize, data: Vec<u8>| with(|f| f.columns[at].1 = data);
    let not = |what, bytes| (Rule::NotCanonical, what, bytes);
    let mut literal_sizes = two_puts_forged("aa", "bb");
    literal_sizes.columns[SIZE].1 = vec![0x7e, 0x17, 0x17];
    vec![
        not("a bomb of actions", column(ACTION, bomb(1))),
        not("a bomb of sizes", column(SIZE, bomb(0x17))),
        not("a bomb of objects", column(OBJECT_COUNTER, bomb(1))),
        not("a put at the root", with(|f| f.columns[0].1.clear())),
        not("another object", column(OBJECT_COUNTER, vec![0x7f, 2])),
        not("a deletion", column(ACTION, vec![0x7f, 3])),
        not("an inner map", column(ACTION, vec![0x7f, 0])),
        not("an insertion", column(INSERT, vec![0, 1])),
        not("a value cut short", column(SIZE, vec![0x7f, 0xe7, 0x7f])),
        not("bytes of no value", column(SIZE, vec![0x7f, 0x17])),
        not("two sizes for one key", column(SIZE, vec![0x7e, 0x17, 0x27])),
        not("equal sizes written one by one", literal_sizes.build()),
        not("a run of one", column(ACTION, vec![1, 1])),
        not("a predecessor counted and not given", column(7, vec![0x7f, 1])),
    ]
}

fn two_puts_forged(first: &str, second: &str) -> Forged {
    let mut forged = sound();
    forged.columns = vec![
        (0x01, vec![2, 1]),
        (0x02, vec![2, 1]),
        (0x15, keys(&[&first.repeat(32), &second.repeat(32)])),
        (0x34, vec![2]),
        (0x42, vec![2, 1]),
        (0x56, vec![2, 0x17]),
        (0x57, vec![5, 6]),
        (0x70, vec![2, 0]),
    ];
    forged
}

fn attacks() -> Vec<Attack> {
    [chunk_attacks(), heading_attacks(), column_attacks(), other_attacks()].concat()
}

#[test]
fn every_attack_is_refused_by_its_rule() {
    for (rule, what, bytes) in attacks() {
        let illegal = parse(&bytes).expect_err(what);
        assert_eq!(illegal.rule(), rule, "{what}");
        assert!(illegal.hint().starts_with(rule.hint()), "{what}");

        let mut document = Document::new();
        let received = document.receive(&[&bytes], &mut gate);
        assert_eq!(rules(&received), [rule.name()], "{what}");
        assert!(document.is_empty() && received.accepted.is_empty(), "{what}");
    }
}

#[test]
fn every_rule_of_the_bytes_has_an_attack() {
    let in_document = [Rule::FollowsRefused, Rule::ActorTaken, Rule::OwnLast, Rule::StartOpFollows];
    let attacked: Vec<Rule> = attacks().into_iter().map(|(rule, ..)| rule).collect();
    for rule in Rule::ALL {
        assert!(attacked.contains(rule) != in_document.contains(rule), "{rule:?}");
    }
}

#[test]
fn the_forge_and_the_encoder_write_the_same_change() {
    let (id, value) = entry(1, 1, 300);
    let written = encode(actor(7), 1, 2, &[genesis_hash()], &[(id, &value)]).unwrap();
    assert_eq!(Forged::sound(id, &value).build(), written);
    let two = [EntryId::new([0xaa; 32]), EntryId::new([0xbb; 32])];
    let puts: [(EntryId, &[u8]); 2] = [(two[0], &[5]), (two[1], &[6])];
    let written = encode(actor(7), 1, 2, &[genesis_hash()], &puts).unwrap();
    assert_eq!(two_puts("aa", "bb"), written);
}

#[test]
fn the_encoder_keeps_the_rules_it_defines() {
    let (id, value) = entry(1, 1, 300);
    let put: (EntryId, &[u8]) = (id, &value);
    let base = [genesis_hash()];
    let large = vec![1; MAX_ENTRY];
    let pair = [(EntryId::new([1; 32]), large.as_slice()), (EntryId::new([2; 32]), large.as_slice())];
    let many: Vec<_> = (0..=MAX_DEPS).map(|n| ChangeHash([n.to_le_bytes()[0]; 32])).collect();
    let refused = [
        (Rule::DepsCount, encode(actor(7), 1, 2, &[], &[put])),
        (Rule::DepsCount, encode(actor(7), 1, 2, &many, &[put])),
        (Rule::DepsOrder, encode(actor(7), 1, 2, &[base[0], base[0]], &[put])),
        (Rule::ActorGenesis, encode(GENESIS_ACTOR, 1, 2, &base, &[put])),
        (Rule::Seq, encode(actor(7), 0, 2, &base, &[put])),
        (Rule::StartOp, encode(actor(7), 1, u64::MAX, &base, &[put])),
        (Rule::StartOp, encode(actor(7), 1, 1, &base, &[put])),
        (Rule::PutCount, encode(actor(7), 1, 2, &base, &[])),
        (Rule::PutCount, encode(actor(7), 1, 2, &base, &[put; MAX_PUTS + 1])),
        (Rule::KeyOrder, encode(actor(7), 1, 2, &base, &[put, put])),
        (Rule::EntryEmpty, encode(actor(7), 1, 2, &base, &[(id, &[])])),
        (Rule::EntryTooLarge, encode(actor(7), 1, 2, &base, &[(id, &vec![1; MAX_ENTRY + 1])])),
        (Rule::TooLarge, encode(actor(7), 1, 2, &base, &pair)),
    ];
    for (rule, result) in refused {
        assert_eq!(result.unwrap_err().rule(), rule);
    }
    let last = encode(actor(7), MAX_SEQ, MAX_OP, &base, &[(id, &large)]).unwrap();
    assert_eq!(parse(&last).unwrap().max_op(), MAX_OP);
}

/// A change on this document that puts one entry, with its numbers as given.
fn change(actor: Actor, seq: u64, start_op: u64, deps: &[ChangeHash], number: u32) -> Vec<u8> {
    let (id, value) = entry(number, 1, 40);
    let mut deps = deps.to_vec();
    deps.sort_unstable();
    encode(actor, seq, start_op, &deps, &[(id, &value)]).unwrap()
}

fn name(raw: &[u8]) -> ChangeHash {
    parse(raw).unwrap().hash()
}

#[test]
fn a_taken_actor_and_number_refuses_the_change_and_what_builds_on_it() {
    let mut document = Document::new();
    let squatter = change(actor(1), 1, 2, &[genesis_hash()], 1);
    document.receive(&[&squatter], &mut gate);
    let own = change(actor(1), 1, 2, &[genesis_hash()], 2);
    let next = change(actor(1), 2, 3, &[name(&own)], 3);
    let other = change(actor(2), 1, 2, &[genesis_hash()], 4);
    let received = document.receive(&[&next, &other, &own], &mut gate);
    assert_eq!(received.accepted, [name(&other)]);
    assert_eq!(rules(&received), ["actor-taken", "follows-refused"]);
    assert_eq!(received.refused[1].change, name(&next));
    assert!(received.unknown_deps.is_empty());
}

#[test]
fn the_numbers_of_an_actor_have_no_gap() {
    let mut document = Document::new();
    let third = change(actor(1), 3, 2, &[genesis_hash()], 1);
    assert_eq!(rules(&document.receive(&[third], &mut gate)), ["own-last-unnamed"]);
}

#[test]
fn a_change_names_the_one_before_it_of_its_actor() {
    // both would number their operation 2 of actor 1: two operations of one name
    let mut document = Document::new();
    let first = change(actor(1), 1, 2, &[genesis_hash()], 1);
    let second = change(actor(1), 2, 2, &[genesis_hash()], 2);
    let received = document.receive(&[&first, &second], &mut gate);
    assert_eq!(received.accepted, [name(&first)]);
    assert_eq!(rules(&received), ["own-last-unnamed"]);
}

#[test]
fn the_first_operation_follows_on_what_was_known() {
    let mut document = Document::new();
    let first = change(actor(1), 1, 2, &[genesis_hash()], 1);
    let low = change(actor(2), 1, 2, &[name(&first)], 2);
    let high = change(actor(3), 1, 4, &[name(&first)], 3);
    let far = change(actor(4), 1, MAX_OP, &[name(&first)], 4);
    let right = change(actor(5), 1, 3, &[name(&first)], 5);
    let received = document.receive(&[low, high, far, right.clone(), first.clone()], &mut gate);
    assert_eq!(received.accepted, [name(&first), name(&right)]);
    assert_eq!(rules(&received), ["start-op"; 3]);
    document.check().unwrap();
}

#[test]
fn a_change_with_an_unknown_dep_is_named_and_not_kept() {
    let mut document = Document::new();
    let first = change(actor(1), 1, 2, &[genesis_hash()], 1);
    let second = change(actor(1), 2, 3, &[name(&first)], 2);
    let third = change(actor(1), 3, 4, &[name(&second)], 3);
    let received = document.receive(&[&third, &second], &mut gate);
    assert!(document.is_empty() && received.refused.is_empty());
    assert_eq!(received.unknown_deps, [name(&first)]);
    let received = document.receive(&[&third, &first, &second], &mut gate);
    assert_eq!(received.accepted, [name(&first), name(&second), name(&third)]);
}

#[test]
fn an_entry_that_fails_the_gate_refuses_its_change_and_what_builds_on_it() {
    let mut document = Document::new();
    let (good, value) = entry(1, 1, 40);
    let bad = [EntryId::new([0; 32]), EntryId::new([0xff; 32])];
    let puts: [(EntryId, &[u8]); 3] = [(bad[0], &value), (good, &value), (bad[1], &value)];
    let forged = encode(actor(1), 1, 2, &[genesis_hash()], &puts).unwrap();
    let follower = change(actor(2), 1, 5, &[name(&forged)], 3);
    let sound = change(actor(3), 1, 2, &[genesis_hash()], 4);
    let received = document.receive(&[&follower, &forged, &sound], &mut gate);
    assert_eq!(received.accepted, [name(&sound)]);
    let at_fault: Vec<_> = received.refused.iter().map(|refused| refused.entry).collect();
    assert!(at_fault.contains(&Some(bad[0])) && at_fault.contains(&Some(bad[1])));
    assert!(!at_fault.contains(&Some(good)));
    assert_eq!(document.entries().len(), 1);
}

#[test]
fn what_builds_on_an_illegal_change_is_refused_not_asked_for() {
    let mut document = Document::new();
    let mut forged = sound();
    forged.time = 5;
    let illegal = forged.build();
    let hash = parse(&illegal).unwrap_err().hash().unwrap();
    let follower = change(actor(2), 1, 3, &[hash], 3);
    let received = document.receive(&[&follower, &illegal], &mut gate);
    assert_eq!(rules(&received), ["time", "follows-refused"]);
    assert!(received.unknown_deps.is_empty());
}

#[test]
fn held_changes_and_the_genesis_change_nothing() {
    let mut document = Document::new();
    let first = change(actor(1), 1, 2, &[genesis_hash()], 1);
    document.receive(&[&first], &mut gate);
    let before = document.heads();
    let received = document.receive(&[&first, &first, &GENESIS.to_vec()], &mut gate);
    assert_eq!(received, Default::default());
    assert_eq!(document.heads(), before);
}

#[test]
fn the_gate_sees_each_new_value_once() {
    let mut document = Document::new();
    let (id, value) = entry(1, 9, 40);
    let (_, smaller) = entry(1, 3, 40);
    let put =
        |number: u8, value: &[u8]| encode(actor(number), 1, 2, &[genesis_hash()], &[(id, value)]).unwrap();
    let batch = [put(1, &value), put(2, &value), put(3, &smaller), put(4, &value)];
    let mut seen = Vec::new();
    let received = document.receive(&batch, &mut |id, value| {
        seen.push(value.to_vec());
        gate(id, value)
    });
    seen.sort();
    assert_eq!(seen, [smaller.clone(), value]);
    assert_eq!(received.accepted.len(), 4);
    assert_eq!(received.new_entries, [id]);
    assert_eq!(document.entry(&id), Some(smaller.as_slice()));
    assert_eq!(document.entries().len(), 1);
    document.check().unwrap();
}
