//! A relay's store on a device without room says so, and loses nothing that was flushed.
//!
//! The shell's limit of file size answers a write with an error, as a broken device does,
//! and needs no rights; the store cannot see it coming. A device that fills up it can see
//! coming, and keeps some room free: `relay_power_cut.rs` has the rights for that.
#![cfg(unix)]
#![allow(clippy::print_stdout, clippy::unwrap_used)]

mod relay_store_kit;

use relay_store_kit::{Writer, lost};

#[test]
fn a_write_that_fails_is_told_and_nothing_flushed_is_lost() {
    if relay_store_kit::wrote_if_told() {
        return;
    }
    let test = "a_write_that_fails_is_told_and_nothing_flushed_is_lost";
    for blocks in [30_000, 45_001, 60_500] {
        let folder = tempfile::tempdir().unwrap();
        let said = Writer::start_within(blocks, test, folder.path()).fails();
        println!("{} changes kept, then {:?}", said.changes(), said.failed);
        assert!(matches!(said.failed.as_deref(), Some("Full")), "{said:?}");
        assert!(said.changes() > 20, "{said:?}");
        assert_eq!(lost(folder.path(), &said), Vec::<String>::new());
    }
}
