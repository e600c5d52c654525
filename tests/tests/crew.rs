//! Who is on what: from the entries, and as `next --everybody` tells it.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{masked, shop};
use gudgeon_core::assess::Rule;
use gudgeon_core::crew::Crew;
use gudgeon_core::entry::EntryId;
use gudgeon_tests::kit::{self, Hand, Seen, Shop};

fn crew(seen: &Seen) -> Crew {
    Crew::read(seen.record(), seen.workshop(), seen.assessment())
}

/// Everybody's view once all is told, whatever order it came in.
fn seen(shop: &Shop) -> Seen {
    shop.check_lightly()
}

fn at(seen: &Seen, step: &str) -> usize {
    seen.assessment().steps().iter().position(|state| &*state.id == step).unwrap()
}

fn hands(seen: &Seen, step: &str) -> Vec<EntryId> {
    crew(seen).hands_on(at(seen, step)).collect()
}

fn ids<const N: usize>(people: [&Hand; N]) -> Vec<EntryId> {
    let mut ids = people.map(Hand::person).to_vec();
    ids.sort_unstable();
    ids
}

fn begun(seen: &Seen) -> Vec<String> {
    let steps = seen.assessment().steps();
    crew(seen).begun_and_free().map(|step| steps[step].id.to_string()).collect()
}

#[test]
fn whoever_reads_checks_or_signs_what_a_step_asks_for_is_on_it() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    shop.ann.tells(&shop.ben);
    shop.ben.checks("marked", "");
    shop.carl.read("crank", "end-float", "", "0.150 mm").with("F1").at_20();
    let seen = seen(&shop);
    assert_eq!(hands(&seen, "received"), ids([&shop.ann]));
    assert_eq!(hands(&seen, "marked"), ids([&shop.ben]));
    assert_eq!(hands(&seen, "as-found-end-float"), ids([&shop.carl]), "not the one of the trial build");
    assert_eq!(begun(&seen), ["received", "marked", "as-found-end-float"]);
    let nobody = seen.assessment().steps().len() - 3;
    assert_eq!(crew(&seen).waiting_for_hands(), nobody);
}

/// Work on a bore that was signed begins it anew, and whoever stops is to hear what to mind.
#[test]
fn cautions_are_said_anew_for_work_on_what_was_signed_and_for_a_stop() {
    let shop = kit::open();
    let said = |act: EntryId| {
        let seen = seen(&shop);
        let ix = seen.record().log().place(&act).unwrap();
        let all = gudgeon_core::crew::cautions(seen.record(), seen.assessment(), &[ix]);
        all.iter().map(|caution| caution.id.to_owned()).collect::<Vec<_>>()
    };
    let first = said(shop.ann.did("hone", "bore/1"));
    assert!(!first.is_empty());
    assert!(said(shop.ann.did("hone", "bore/1")).len() < first.len(), "said once");
    shop.ann.signs("honed/1");
    assert_eq!(said(shop.ann.did("hone", "bore/1")), first);
    shop.ann.checks("compressor-right", "cylinder/1");
    let stop = shop.ann.stops("piston-in/1", "cylinder/1", "it resists");
    assert!(said(stop).contains(&"resists".to_owned()));
}

/// The same diameter is read as found and once it is ground.
#[test]
fn a_reading_is_for_the_first_step_that_asks_for_it_and_was_not_signed_as_its_author_knew() {
    let shop = kit::open();
    let reads = |hand: &Hand| hand.read("pin/1", "diameter", "front/0", "47.742 mm").with("M1").at_20();
    reads(&shop.ann);
    assert_eq!(hands(&seen(&shop), "pins-measured/1"), ids([&shop.ann]));
    shop.ann.signs("pins-measured/1");
    shop.ann.tells(&shop.ben);
    reads(&shop.ben);
    // Carl was away and knows nothing of the signature.
    reads(&shop.carl);
    let seen = seen(&shop);
    assert_eq!(hands(&seen, "pins-measured/1"), ids([&shop.ann, &shop.carl]));
    assert_eq!(hands(&seen, "pin-sizes/1"), ids([&shop.ben]));
}

/// That the crank turns is checked after every stage; it is no beginning of the step that asks for it late.
#[test]
fn a_check_made_in_passing_begins_no_step_before_its_turn() {
    let shop = kit::open();
    shop.ann.checks("turns-free", "crank");
    assert_eq!(begun(&seen(&shop)), Vec::<String>::new());
}

#[test]
fn what_was_called_out_is_the_work_of_the_one_who_read() {
    let shop = kit::open();
    shop.ann.read("pin/1", "diameter", "front/0", "47.742 mm").with("M1").called_by(&shop.ben).at_20();
    let seen = seen(&shop);
    assert_eq!(hands(&seen, "pins-measured/1"), ids([&shop.ben]));
    assert!(
        crew(&seen).last_of(shop.ann.person()).is_some() && crew(&seen).last_of(shop.ben.person()).is_none()
    );
}

#[test]
fn what_is_voided_or_does_not_count_is_nobodys_work() {
    let shop = kit::open();
    let wrong = shop.ann.checks("photographed", "");
    shop.ann.voids(wrong);
    shop.stranger().checks("marked", "");
    shop.vera.checks("marked", "");
    assert_eq!(begun(&seen(&shop)), Vec::<String>::new());
}

/// The second person of a step signs what somebody else did: they are not on it in the other's place.
#[test]
fn a_second_signature_is_not_work_on_a_step_given_to_another() {
    let shop = kit::open();
    shop.lena.assigns("pins-measured/1", &shop.ann);
    shop.lena.tells(&shop.ann);
    shop.ann.signs("pins-measured/1");
    shop.ann.tells(&shop.ben);
    shop.ben.seconds("pins-measured/1");
    let seen = seen(&shop);
    assert_eq!(crew(&seen).others_on(at(&seen, "pins-measured/1")), []);
}

#[test]
fn a_step_given_to_one_and_worked_on_by_another_is_told_and_no_finding() {
    let shop = kit::open();
    shop.lena.assigns("received", &shop.ann);
    // Ben is away and has not heard of it.
    shop.ben.checks("photographed", "");
    let told = seen(&shop);
    let received = at(&told, "received");
    assert_eq!(crew(&told).given_to(shop.ann.person()).collect::<Vec<_>>(), [received]);
    assert_eq!(crew(&told).others_on(received), ids([&shop.ben]));
    assert!(!crew(&told).is_begun_by_its_own(received));
    assert_eq!(begun(&told), Vec::<String>::new(), "it is given to somebody");
    told.finds(&[]);

    shop.ann.checks("photographed", "");
    let told = seen(&shop);
    assert_eq!(crew(&told).others_on(received), ids([&shop.ben]));
    assert!(crew(&told).is_begun_by_its_own(received));
    // Signed by both offline is another matter, and found.
    shop.ann.signs("received");
    shop.ben.signs("received");
    let signed = seen(&shop);
    assert!(signed.assessment().findings().iter().any(|finding| finding.rule == Rule::SignedByTwo));
}

#[test]
fn the_last_of_a_person_is_what_none_of_their_other_entries_knew() {
    let shop = kit::open();
    shop.ann.checks("photographed", "");
    let last = shop.ann.checks("marked", "");
    let told = seen(&shop);
    let (ix, step) = crew(&told).last_of(shop.ann.person()).unwrap();
    assert_eq!(told.record().log().at(ix).id, last);
    assert_eq!(step, Some(at(&told, "marked")));

    // Another phone of hers, apart from the first: the later by the clock is shown.
    let other = shop.ann.second_phone(&shop.lena, &[gudgeon_core::entry::payload::Role::Member]);
    let note = other.notes("the plugs are in the tray");
    let told = seen(&shop);
    let (ix, step) = crew(&told).last_of(shop.ann.person()).unwrap();
    assert_eq!((told.record().log().at(ix).id, step), (note, None));
}

// ---- on the command line

#[test]
fn everybody_is_told_with_what_they_are_on() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ann> assign received Ben
        ann> assign marked Ann
        ann> assign as-found-end-float Ben
        ann> assign stripped-and-clean Ben
        ann> carry out given.bundle
        ben> carry in given.bundle
        ann> checked photographed
        ann> sign received
        ann> stop as-found-end-float --found "the crank catches at a quarter turn, with a scrape that is heard all through the shop"
        ben> checked photographed
        ben> read pin/2 diameter "47.742 mm" --at front/0 --gauge M1 --both-at 20C
        ben> carry out ben.bundle
        ann> carry in ben.bundle
        "#,
    );
    let told = stage.must("ann", "next --everybody").stdout;
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    let shown = stage.play(
        r#"
        ann> next --everybody
        ann> next --mine
        ann> step as-found-end-float
        ann> next --everybody --mine
        "#,
    );
    masked(|| insta::assert_snapshot!("everybody", shown));
    let json = stage.must("ben", "--json next --everybody").json();
    let ben = json["people"].as_array().unwrap().iter().find(|person| person["name"] == "Ben").unwrap();
    assert_eq!(ben["given"][0]["id"], "received");
    assert_eq!(ben["last"]["step"], "pins-measured/2");
    assert_eq!(json["begun_given_to_nobody"][0]["worked_on_by"], serde_json::json!(["Ben"]), "{json}");
}

#[test]
fn a_long_list_is_cut_and_says_how_to_see_it_whole() {
    let mut stage = shop();
    for pin in 1..=4 {
        stage.prepare(&format!("ann> assign pins-measured/{pin} Ben\nann> assign pin-sizes/{pin} Ben"));
        stage.prepare(&format!("ann> assign bores-measured/{pin} Ben\nann> assign honed/{pin} Ben"));
    }
    let short = stage.must("ann", "next --everybody").stdout;
    assert!(short.contains("given: 16 steps") && short.contains("and 4 more (--all)"), "{short}");
    let whole = stage.must("ann", "next --everybody --all").stdout;
    assert!(whole.lines().count() > short.lines().count() && !whole.contains("(--all)"), "{whole}");
}
