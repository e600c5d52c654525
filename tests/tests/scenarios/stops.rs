//! Work gone on with under a stop: found where whoever did it knew of the stop, and of nobody's having
//! resumed it.

use gudgeon_core::entry::EntryId;
use gudgeon_core::entry::payload::{Payload, Stop};
use gudgeon_tests::kit::{self, Hand};

const LINE: &str = "work-under-stop main/2 mains-tightened/2";
const STOPPED: &str = "stopped main/2 mains-tightened/2";

/// A stop without a tag.
fn stops(hand: &Hand, step: &str, found: &str) -> EntryId {
    let (step, found) = (step.to_owned(), found.to_owned());
    hand.says(&Payload::Stop(Stop { step, feature: String::new(), found, tag: String::new() }))
}

#[test]
fn who_turns_under_a_tag_is_found_until_it_is_checked_again_when_it_was_resumed() {
    let shop = kit::open();
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "the crank binds");
    shop.ann.tells(&shop.ben);
    let turned = shop.ben.checks("turns-free", "crank");
    let seen = shop.check();
    seen.finds(&[STOPPED, LINE]);
    seen.rests(LINE, &[stop, turned]);
    seen.says(LINE, "Ben checked turns-free, knowing that it was stopped: the crank binds [do not turn]");
    shop.ben.resumes(stop);
    shop.check().finds(&[LINE]);
    shop.ben.checks("turns-free", "crank");
    shop.check().finds(&[]);
}

#[test]
fn who_did_not_know_of_the_stop_is_not_blamed_and_who_knew_it_resumed_may_go_on() {
    let shop = kit::open();
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "the crank binds");
    shop.ben.checks("turns-free", "crank");
    shop.check().finds(&[STOPPED]);
    shop.ann.resumes(stop);
    shop.ann.checks("turns-free", "crank");
    shop.ann.tightens("main-bolts", "main/2").stage(1, "30 N·m");
    shop.check().finds(&[]);
}

/// Somebody resumed it, and whoever went on did not know.
#[test]
fn a_resuming_that_was_not_known_does_not_excuse() {
    let shop = kit::open();
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "the crank binds");
    shop.ann.tells(&shop.ben);
    shop.ann.resumes(stop);
    shop.ben.checks("turns-free", "crank");
    shop.check().finds(&[LINE]);
}

#[test]
fn a_stage_pulled_under_a_stop_is_found_until_it_is_slackened() {
    let shop = kit::open();
    let main = |number: u32, set: &str| shop.ann.tightens("main-bolts", "main/2").stage(number, set);
    let stop = stops(&shop.ann, "mains-tightened/2", "end of the day");
    let (first, check) = (main(1, "30 N·m"), shop.ann.checks("turns-free", "crank"));
    let line = "work-under-stop mains-tightened/2";
    let seen = shop.check();
    seen.rests(line, &[stop, first, check]);
    let said = "Ann pulled stage 1 of main-bolts (and 1 more), knowing that it was stopped: end of the day";
    seen.says(line, said);
    shop.ann.resumes(stop);
    shop.ann.slackens("main-bolts", "main/2");
    main(1, "30 N·m");
    shop.ann.checks("turns-free", "crank");
    shop.check().finds(&[]);
}

/// Without a tag a stop holds up its own step, and nothing else; slackening undoes and is no going on.
#[test]
fn a_stop_without_a_tag_holds_up_its_own_step_alone() {
    let shop = kit::open();
    stops(&shop.ann, "mains-tightened/3", "another main");
    shop.ann.tightens("main-bolts", "main/2").stage(1, "30 N·m");
    shop.ann.slackens("main-bolts", "main/3");
    shop.ann.checks("photographed", "");
    shop.check().finds(&["stopped mains-tightened/3"]);
}

#[test]
fn a_lead_concedes_what_was_gone_on_with() {
    let shop = kit::open();
    let stop = shop.ann.stops("mains-tightened/2", "main/2", "the crank binds");
    let turned = shop.ann.checks("turns-free", "crank");
    shop.ann.resumes(stop);
    shop.ann.tells(&shop.lena);
    let conceded = shop.lena.concedes("work-under-stop", "main/2", "mains-tightened/2", &[stop, turned]);
    assert_eq!(shop.check().conceded(LINE), Some(conceded));
}
