//! Founding, enrolling, carrying, removing: what the command line shows.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use cli_kit::{Stage, masked, shop};

#[test]
fn a_workshop_is_founded_and_a_second_person_joins_by_carried_files() {
    let mut stage = Stage::new();
    stage.write("engine.toml", gudgeon_core::engine::EXAMPLE);
    let shown = stage.play(
        r#"
        ann> found "Invented Works" --lead Ann
        ann> found "Other Works" --lead Ann
        ben> ask --label "phone of Ben" --to ben.ask
        ann> enrol ben.ask --name Ben --role member
        ann> enrol ben.ask --name Ben --role lead
        ann> start J1 --engine engine.toml
        ann> start J1 --engine engine.toml
        ann> people
        ann> carry out shop.bundle
        ben> read pin/1 diameter "47.740 mm"
        ben> carry in shop.bundle
        ben> carry in shop.bundle --root "0000 0000 0000 0000 0000 0000 0000 0000"
        ben> carry in shop.bundle --root 1234
        ben> carry in shop.bundle --root "{root}"
        ben> records
        ben> carry in shop.bundle
        ben> start J2 --engine engine.toml
        "#,
    );
    masked(|| insta::assert_snapshot!("workshop", shown));
}

#[test]
fn gauges_say_what_they_are_worth_and_what_is_missing() {
    let mut stage = Stage::new();
    let shown = stage.play(
        r#"
        ann> found "Invented Works" --lead Ann
        ann> gauge add B1 --sort bore-gauge --error "5 µm" --resolution "0.001 mm" --set-with R80
        ann> gauge add R80 --sort setting-ring --error "2 µm" --calibrated 2020-01-10 --due 2021-01-10
        ann> gauge add M1 --sort outside-micrometer --range "0 mm..25 mm" --calibrated 2020-01-10 --due 2090-01-10
        ann> gauge add M1 --sort outside-micrometer --error "4 µm" --range "0 mm..25 mm" --calibrated 2020-01-10 --due 2090-01-10
        ann> gauge add W1 --sort click-torque-wrench --error "4 %" --calibrated 2020-01-10 --due 2090-01-10
        ann> gauges
        ann> gauges --due
        ann> gauge add X1 --sort outside-micromter
        ann> gauge add X1 --sort outside-micrometer --error "4 N·m"
        ann> gauge add X1 --sort outside-micrometer --range "25 mm..0 mm"
        ann> gauge add X1 --sort outside-micrometer --calibrated 2020-13-10 --due 2021-01-01
        ann> gauge add X1 --sort outside-micrometer --calibrated 2020-01-10
        "#,
    );
    masked(|| insta::assert_snapshot!("gauges", shown));
}

#[test]
fn a_removed_key_counts_up_to_its_last_accepted_entry() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ben> read pin/1 diameter "47.740 mm" --at front/0 --gauge M1 --both-at 20C
        ben> carry out one.bundle
        ann> carry in one.bundle
        "#,
    );
    let shown = stage.play(
        r#"
        # one record is listed and not here: the key's last entries are not known
        ann> --json start J2 --engine engine.toml
        ann> carry out all.bundle
        cid> ask --label "tablet of Cid" --to cid.ask
        ann> enrol cid.ask --name Cid --role lead,member
        ann> carry out workshop.bundle --workshop-only
        cid> carry in workshop.bundle --root "{root}"
        cid> remove Ben --reason "left the shop"
        cid> carry in all.bundle
        cid> remove Nobody --reason "left the shop"
        ben> remove Ann --reason "a coup"
        cid> remove Ben --reason "left the shop"
        cid> people
        cid> carry out removed.bundle
        ann> carry in removed.bundle
        # Ben knows nothing of it and goes on
        ben> read pin/1 diameter "47.741 mm" --at front/60 --gauge M1 --both-at 20C
        ben> carry out late.bundle
        ann> carry in late.bundle
        ann> --record J1 findings
        ann> --record J1 history pin/1
        ann> admit {reading} --reason "he read it before he left"
        ann> --record J1 history pin/1
        ann> admit ffffff --reason "no such entry"
        "#,
    );
    masked(|| insta::assert_snapshot!("removal", shown));
}

#[test]
fn the_root_key_on_paper_outweighs_every_lead() {
    let mut stage = shop();
    stage.prepare(r#"cid> ask --label "tablet of Cid" --to cid.ask"#);
    let shown = stage.play(
        r#"
        ann GUDGEON_ROOT_KEY=12> enrol cid.ask --name Cid --role lead --by-root
        ann GUDGEON_ROOT_KEY=0000000000000000000000000000000000000000000000000000000000000001> enrol cid.ask --name Cid --role lead --by-root
        ben> enrol cid.ask --name Cid --role lead
        "#,
    );
    masked(|| insta::assert_snapshot!("root_key", shown));
    let root = stage.word("root-key");
    let mut by_root = stage.command("ann");
    let words = ["enrol", "cid.ask", "--name", "Cid", "--role", "lead", "--by-root"];
    let ran = by_root.env("GUDGEON_ROOT_KEY", root).args(words).output().unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    assert!(stage.must("ann", "people").stdout.contains("tablet of Cid"));
}

#[test]
fn a_lost_device_is_removed_without_the_records_that_are_not_here() {
    let mut stage = shop();
    stage.prepare(
        r#"
        cid> ask --label "tablet of Cid" --to cid.ask
        ann> enrol cid.ask --name Cid --role lead
        ann> carry out workshop.bundle --workshop-only
        cid> carry in workshop.bundle --root "{root}"
        "#,
    );
    let shown = stage.play(
        r#"
        cid> remove Ben --reason "lost in the river" --lost
        cid> records
        cid> status
        # Cid is lead only: no member's work
        ann> carry out all.bundle
        cid> carry in all.bundle
        cid> operation hone bore/1
        cid> decide oversize "+0.50"
        "#,
    );
    masked(|| insta::assert_snapshot!("lost", shown));
}

#[test]
fn a_shared_phone_holds_several_keys_each_under_its_own_pin() {
    let mut stage = shop();
    stage.prepare(
        r#"
        ben GUDGEON_PIN=7777> ask --label "Cid on the shared phone" --to cid.ask
        ann> enrol cid.ask --name Cid
        ann> carry out all.bundle
        ben> carry in all.bundle
        "#,
    );
    let shown = stage.play(
        r#"
        ben> note "whose?"
        ben> --as Ben note "by Ben"
        ben> --as Cid note "by Cid"
        ben GUDGEON_PIN=7777> --as Cid note "by Cid"
        ben GUDGEON_PIN=7777> --as "Cid on the shared phone" note "by Cid again"
        ben> --as Ann note "not here"
        ben> people
        ann> --json start J2 --engine engine.toml
        ann> status
        ann> --record j2 status
        ann> --record J status
        "#,
    );
    masked(|| insta::assert_snapshot!("shared_phone", shown));
}

#[test]
fn a_key_that_nobody_enrolled_yet_enters_what_counts_later() {
    let mut stage = shop();
    stage.prepare(
        r#"
        dan> ask --label "phone of Dan" --to dan.ask
        ann> carry out all.bundle
        dan> carry in all.bundle --root "{root}"
        "#,
    );
    let shown = stage.play(
        r#"
        dan> read pin/1 diameter "47.740 mm" --at front/0 --gauge M1 --both-at 20C
        dan> carry out dan.bundle
        ann> carry in dan.bundle
        ann> enrol dan.ask --name Dan
        ann> history pin/1
        ann> findings
        "#,
    );
    masked(|| insta::assert_snapshot!("not_enrolled", shown));
}

#[test]
fn the_last_key_that_leads_is_not_removed_by_a_slip() {
    let stage = shop();
    let refused = stage.run("ann", &["remove", "Ann", "--reason", "typed the wrong name"]);
    assert_eq!(refused.status, 6, "{refused:?}");
    assert!(refused.stderr.contains("hint: let somebody else lead first, or say --last"), "{refused:?}");
    // A fitter is removed as ever.
    stage.must("ann", r#"remove Ben --reason "left the shop""#);
    stage.must("ann", r#"remove Ann --reason "the shop closes" --last"#);
}
