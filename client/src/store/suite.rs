//! What every store must do; each store's tests call these.
#![allow(clippy::unwrap_used)]

use super::{Batch, Store, Table};

fn put(store: &mut dyn Store, table: Table, key: &[u8], value: &[u8]) {
    let mut batch = Batch::new();
    batch.put(table, key, value);
    store.write(&batch).unwrap();
}

/// Order, prefixes, tables apart, batches in order; leaves the store empty.
pub(crate) fn holds(store: &mut dyn Store) {
    reads_back(store);
    scans_in_order(store);
    does_the_steps_in_order(store);
    keeps_large_and_empty_values(store);
    let mut batch = Batch::new();
    Table::ALL.iter().for_each(|table| batch.remove_all(*table, b""));
    store.write(&batch).unwrap();
    for table in Table::ALL {
        assert_eq!(store.scan(*table, b"").unwrap(), []);
    }
}

fn reads_back(store: &mut dyn Store) {
    assert_eq!(store.get(Table::Settings, b"a").unwrap(), None);
    put(store, Table::Settings, b"a", b"1");
    put(store, Table::Keys, b"a", b"2");
    put(store, Table::Settings, b"a", b"3");
    assert_eq!(store.get(Table::Settings, b"a").unwrap().unwrap(), b"3");
    assert_eq!(store.get(Table::Keys, b"a").unwrap().unwrap(), b"2");
    assert_eq!(store.get(Table::Documents, b"a").unwrap(), None);
}

fn scans_in_order(store: &mut dyn Store) {
    for key in [&[0, 0, 0, 1, 0, 0, 1, 0][..], &[0, 0, 0, 1, 0, 0, 0, 255], &[0, 0, 0, 2, 0, 0, 0, 0], &[255]]
    {
        put(store, Table::Changes, key, key);
    }
    let first = store.scan(Table::Changes, &[0, 0, 0, 1]).unwrap();
    let keys: Vec<_> = first.iter().map(|(key, _)| key.as_slice()).collect();
    assert_eq!(keys, [&[0, 0, 0, 1, 0, 0, 0, 255], &[0, 0, 0, 1, 0, 0, 1, 0]]);
    assert_eq!(store.scan(Table::Changes, &[255]).unwrap().len(), 1);
    assert_eq!(store.scan(Table::Changes, &[]).unwrap().len(), 4);
    assert_eq!(store.scan(Table::Changes, &[7]).unwrap(), []);
}

fn does_the_steps_in_order(store: &mut dyn Store) {
    let mut batch = Batch::new();
    batch.put(Table::Aside, b"x1", b"old");
    batch.put(Table::Aside, b"x2", b"old");
    batch.put(Table::Aside, b"y", b"stays");
    batch.remove_all(Table::Aside, b"x");
    batch.put(Table::Aside, b"x2", b"new");
    batch.remove(Table::Aside, b"never there");
    store.write(&batch).unwrap();
    let rows = store.scan(Table::Aside, b"").unwrap();
    let expected = [(b"x2".to_vec(), b"new".to_vec()), (b"y".to_vec(), b"stays".to_vec())];
    assert_eq!(rows, expected);
    store.write(&Batch::new()).unwrap();
    assert_eq!(store.scan(Table::Aside, b"").unwrap(), rows);
}

fn keeps_large_and_empty_values(store: &mut dyn Store) {
    let large: Vec<u8> = (0..1_048_576_u32).map(|i| i.to_be_bytes()[3]).collect();
    put(store, Table::Changes, b"large", &large);
    put(store, Table::Changes, b"", b"");
    assert_eq!(store.get(Table::Changes, b"large").unwrap().unwrap(), large);
    assert_eq!(store.get(Table::Changes, b"").unwrap().unwrap(), b"");
}

/// Fills a store, for [`is_filled`] after it was opened again.
pub(crate) fn fill(store: &mut dyn Store) {
    for table in Table::ALL {
        put(store, *table, table.name().as_bytes(), b"value");
    }
}

/// Whether everything of [`fill`] is there and nothing else.
pub(crate) fn is_filled(store: &dyn Store) {
    for table in Table::ALL {
        let expected = (table.name().as_bytes().to_vec(), b"value".to_vec());
        assert_eq!(store.scan(*table, b"").unwrap(), [expected]);
    }
}

#[test]
fn the_store_in_memory_passes_the_suite() {
    let mut store = super::Memory::default();
    holds(&mut store);
    fill(&mut store);
    is_filled(&store);
}

#[test]
fn tables_have_names_of_their_own() {
    let mut names: Vec<_> = Table::ALL.iter().map(|table| table.name()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), Table::ALL.len());
}
