//! The office over real processes: joining by invite, meeting, watching, being offline, and a
//! relay that is killed or wiped.
#![allow(clippy::unwrap_used)]

mod cli_kit;
mod office_kit;

use std::io::{BufRead as _, BufReader};
use std::process::Stdio;

use cli_kit::{Stage, shop};
use office_kit::Office;
use serde_json::Value as Json;

fn json(stage: &Stage, home: &str, line: &str) -> Json {
    stage.must(home, &format!("{line} --json")).json()
}

/// A shop whose relay knows it.
fn shop_with_office() -> (Stage, Office) {
    let stage = shop();
    let office = Office::open(&stage.path().join("office"), None);
    stage.must("ann", &format!("sync --relay {}", office.url));
    (stage, office)
}

fn assessment(stage: &Stage, home: &str) -> Json {
    let mut status = json(stage, home, "status --whole");
    // How far a home is from the office is its own affair.
    status.as_object_mut().unwrap().retain(|name, _| !name.starts_with("here_only"));
    status
}

#[test]
fn what_one_enters_the_other_has_after_both_have_met_the_relay() {
    let (stage, office) = shop_with_office();
    let first = json(&stage, "ben", &format!("sync --relay {}", office.url));
    assert_eq!(first["went"], 0, "what was carried in by hand is at the office already: {first}");
    stage.must("ben", r#"read pin/3 diameter 47.748mm --at front/0 --gauge M1 --both-at 20C"#);
    let went = json(&stage, "ben", "sync");
    assert_eq!((went["went"].as_u64(), went["here_only"].as_u64()), (Some(1), Some(0)), "{went}");
    let came = json(&stage, "ann", "sync");
    assert_eq!(came["came"], 1, "{came}");
    assert_eq!(assessment(&stage, "ann"), assessment(&stage, "ben"));
    let again = json(&stage, "ann", "sync");
    assert_eq!((again["came"].as_u64(), again["went"].as_u64()), (Some(0), Some(0)), "{again}");
}

#[test]
fn a_person_joins_by_the_code_of_an_invite_and_is_let_in_at_the_leads_next_meeting() {
    let (stage, _office) = shop_with_office();
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    let early = stage.run("cid", &["join", &code, "--label", "phone of Cid"]);
    assert_eq!(early.status, 5, "the relay has not heard of the invite: {early:?}");
    assert!(early.stderr.contains("whoever wrote the invite syncs first"), "{early:?}");
    for next in ["sync", "status", "people"] {
        let hint = stage.run("cid", &[next]).stderr;
        assert!(hint.contains("`join`"), "{next}: {hint}");
    }
    stage.must("ann", "sync");
    stage.must("cid", &format!("join {code} --label \"phone of Cid\""));
    let waits = json(&stage, "cid", "sync");
    assert_eq!(waits["invited"], true, "{waits}");
    let let_in = json(&stage, "ann", "sync");
    assert_eq!(let_in["let_in"].as_array().unwrap().len(), 1, "{let_in}");
    let met = json(&stage, "cid", "sync");
    assert_eq!(met["invited"], false, "{met}");
    stage.must("cid", r#"read pin/3 diameter 47.748mm --at front/0 --gauge M1 --both-at 20C"#);
    stage.must("cid", "sync");
    stage.must("ann", "sync");
    assert_eq!(assessment(&stage, "ann"), assessment(&stage, "cid"));
    let people = stage.must("ann", "people").stdout;
    assert!(people.contains("Cid") && people.contains("phone of Cid"), "{people}");
    let tally = json(&stage, "ann", "status");
    assert_eq!(tally["tally"]["not_counted"], 0, "asking is nobody's fault: {tally}");
}

#[test]
fn two_who_ask_on_one_invite_wait_for_a_person() {
    let (stage, _office) = shop_with_office();
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    stage.must("cid", &format!("join {code} --label one"));
    stage.must("dan", &format!("join {code} --label another"));
    let met = json(&stage, "ann", "sync");
    assert_eq!(met["let_in"].as_array().unwrap().len(), 0, "{met}");
    for home in ["cid", "dan"] {
        let waits = stage.must(home, "sync").stdout;
        assert!(waits.contains("2 devices ask by the one invite for Cid"), "{waits}");
    }
    let again = stage.run("cid", &["join", &code, "--label", "one"]);
    assert_eq!(again.status, 4, "one asks once: {again:?}");
    let told = stage.must("ann", "sync").stdout;
    assert!(told.contains("one (key ") && told.contains("another (key "), "{told}");
    let rules = |stage: &Stage| -> Vec<String> {
        let findings = json(stage, "ann", "findings")["workshop_findings"].as_array().unwrap().clone();
        findings.iter().map(|finding| finding["rule"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(rules(&stage), ["two-ask-by-one-invite"]);
    let status = stage.must("ann", "status").stdout;
    assert!(status.contains("2 devices ask by the one invite"), "{status}");
    // The lead asks whose they are: one is Cid's, the other nobody's.
    let key = |home: &str| {
        let refused = stage.run(home, &["--as", "nobody", "sync"]).stderr;
        refused.split_once('(').unwrap().1[..10].to_owned()
    };
    stage.must("ann", &format!("let-in {}", key("cid")));
    assert_eq!(rules(&stage), ["asks-to-join"], "the other's invite is taken up now");
    stage.must("ann", &format!("remove {} --reason \"nobody's\"", key("dan")));
    assert!(rules(&stage).is_empty(), "nothing is left over: {:?}", rules(&stage));
    stage.must("ann", "sync");
    assert_eq!(json(&stage, "cid", "sync")["invited"], false);
    let told = stage.run("dan", &["sync"]);
    assert!(
        told.status == 5 && told.stderr.contains("was removed"),
        "not to ask for another invite: {told:?}"
    );
    assert_eq!(stage.run("ann", &["let-in", &key("dan")]).status, 3, "a removed key asks no more");
}

/// Once two have asked by an invite, whoever is left is not thereby the right one.
#[test]
fn of_two_who_ask_the_one_that_is_left_is_let_in_by_hand_only() {
    let (stage, _office) = shop_with_office();
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    let joins = |home: &str, label: &str| {
        let joined = json(&stage, home, &format!("join {code} --label {label}"));
        joined["key"].as_str().unwrap()[..10].to_owned()
    };
    let (one, other) = (joins("cid", "one"), joins("dan", "another"));
    stage.must("ann", "sync");
    // The wrong one is removed.
    let removed = stage.must("ann", &format!("remove {one} --reason \"not Cid's\""));
    assert!(removed.stdout.contains("asked by the invite for Cid"), "{removed:?}");
    assert!(removed.stdout.contains(&format!("still asks: `let-in {other}`")), "{removed:?}");
    for _ in 0..2 {
        let met = json(&stage, "ann", "sync");
        assert_eq!(met["let_in"].as_array().unwrap().len(), 0, "{met}");
    }
    let told = stage.must("ann", "sync").stdout;
    assert!(told.contains("2 devices asked") && told.contains(&format!("`let-in {other}`")), "{told}");
    assert_eq!(json(&stage, "dan", "sync")["invited"], true);
    // The removed one is told that its way is another invite, wherever it looks.
    let denied = stage.run("cid", &["sync"]);
    assert!(denied.status == 5 && denied.stderr.contains("new invite"), "{denied:?}");
    let again = stage.run("cid", &["join", &code, "--label", "one"]);
    assert!(again.status == 4 && again.stderr.contains("new invite"), "{again:?}");
    let by_hand = stage.run("ann", &["let-in", &one]);
    assert!(by_hand.status == 3 && by_hand.stderr.contains("new invite"), "{by_hand:?}");
    let people = stage.must("ann", "people").stdout;
    let row = people.lines().find(|line| line.contains(&one)).unwrap();
    assert!(row.contains("Cid") && row.contains("removed: not Cid's"), "{people}");
    // It was the right one after all: the other ends, and a new invite lets it in, on the same phone.
    stage.must("ann", &format!("remove {other} --reason \"this is not Cid's\""));
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    stage.must("cid", &format!("join {code} --label one"));
    assert_eq!(json(&stage, "cid", "sync")["invited"], true);
    assert_eq!(json(&stage, "ann", "sync")["let_in"].as_array().unwrap().len(), 1);
    let let_in = stage.must("cid", "sync");
    assert!(let_in.stderr.contains("This key is let in."), "{let_in:?}");
    stage.must("cid", "note \"with the new key, which is meant by itself\"");
}

/// Whoever may not let in is not told to, and nobody is told two things at once.
#[test]
fn each_hears_of_who_asks_what_they_can_do_about_it() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    let joins = |home: &str| {
        let joined = json(&stage, home, &format!("join {code} --label \"phone of {home}\""));
        joined["key"].as_str().unwrap()[..10].to_owned()
    };
    let own = joins("cid");
    let alone = stage.must("cid", "sync");
    assert!(alone.stdout.is_empty() || !alone.stdout.contains("let-in"), "{alone:?}");
    assert!(alone.stderr.contains("when the lead who invited meets the relay next"), "{alone:?}");
    joins("dan");
    let waits = stage.must("cid", "sync");
    assert!(waits.stdout.contains(&format!("tell the lead that yours is key {own}")), "{waits:?}");
    assert!(!waits.stderr.contains("when the lead who invited meets"), "{waits:?}");
    stage.must("ben", "sync");
    stage.must("ann", "sync");
    for (home, may) in [("ann", true), ("ben", false), ("cid", false)] {
        let people = stage.must(home, "people").stdout;
        assert_eq!(people.contains("`remove` with"), may, "{home}: {people}");
    }
    assert!(stage.must("ben", "people").stdout.contains("a lead asks whose they are"));
}

/// An invite outlives the lead who wrote it; being let in by itself does not.
#[test]
fn an_invite_of_a_lead_who_left_is_another_leads_to_answer() {
    let (stage, office) = shop_with_office();
    let second = json(&stage, "ann", "invite Eva --role lead,member")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    stage.must("eva", &format!("join {second} --label \"phone of Eva\""));
    stage.must("ann", "sync");
    stage.must("eva", "sync");
    let code = json(&stage, "ann", "invite Cid")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    stage.must("cid", &format!("join {code} --label \"phone of Cid\""));
    stage.must("eva", "sync");
    stage.must("eva", "remove Ann --reason left");
    let own = json(&stage, "eva", "findings")["workshop_findings"][0]["text"].as_str().unwrap().to_owned();
    let told = stage.must("eva", "sync").stdout;
    assert!(told.contains("leads no more") && told.contains("`let-in "), "{told}");
    assert!(own.contains("phone of Cid"), "{own}");
    let waits = stage.must("cid", "sync");
    assert!(waits.stderr.contains("a lead does by `let-in "), "{waits:?}");
    assert!(!waits.stderr.contains("when the lead who invited"), "{waits:?}");
    let key = waits.stderr.split("`let-in ").nth(1).unwrap()[..10].to_owned();
    stage.must("eva", &format!("let-in {key}"));
    stage.must("eva", "sync");
    assert!(stage.must("cid", "sync").stderr.contains("This key is let in."));
    drop(office);
}

/// Who was removed and is invited again has two keys on the phone; only one of them can be meant.
#[test]
fn a_removed_person_comes_back_on_the_same_phone_without_naming_keys() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    stage.must("ann", "remove Ben --reason lost --lost");
    let code = json(&stage, "ann", "invite Ben")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    assert_eq!(stage.run("ben", &["sync"]).status, 5);
    let people = stage.must("ben", "people").stdout;
    assert!(people.contains("removed, as the office says"), "{people}");
    stage.must("ben", &format!("join {code} --label \"Ben again\""));
    stage.must("ben", "note \"waits to be let in\"");
    assert_eq!(json(&stage, "ben", "sync")["invited"], true);
    assert_eq!(json(&stage, "ann", "sync")["let_in"].as_array().unwrap().len(), 1);
    let let_in = stage.must("ben", "sync");
    assert!(let_in.stderr.contains("This key is let in."), "{let_in:?}");
    let note = stage.must("ben", "note \"let in\"");
    assert!(!note.stderr.contains("does not count") && !note.stderr.contains("removed"), "{note:?}");
    let again = stage.run("ann", &["remove", "Ben", "--reason", "twice"]);
    assert_eq!(again.status, 0, "the key in use: {again:?}");
    let old = json(&stage, "ann", "people");
    let keys =
        old["people"].as_array().unwrap().iter().find(|one| one["name"] == "Ben").unwrap()["keys"].clone();
    for key in keys.as_array().unwrap() {
        let twice = stage.run("ann", &["remove", key["key"].as_str().unwrap(), "--reason", "again"]);
        assert_eq!(twice.status, 4, "{twice:?}");
        assert!(twice.stderr.contains("was removed already"), "{twice:?}");
    }
}

/// What is only here is told of the workshop and of every record, not of the one in sight alone.
#[test]
fn status_counts_what_is_only_here_of_the_workshop_and_of_other_records() {
    let (stage, _office) = shop_with_office();
    stage.must("ann", "start J2 --engine engine.toml");
    stage.must("ann", "sync");
    let quiet = stage.must("ann", "--record J1 status").stdout;
    assert!(!quiet.contains("only here"), "{quiet}");
    stage.must("ann", "gauge add M9 --sort outside-micrometer --resolution \"0.001 mm\"");
    stage.must("ann", "--record J2 note \"of the other\"");
    let told = stage.must("ann", "--record J1 status").stdout;
    let lines: Vec<&str> = told.lines().filter(|line| line.contains("only here")).collect();
    assert_eq!(
        lines,
        ["workshop: 1 entry is only here: `sync`", "record J2: 1 entry is only here: `sync`"],
        "{told}"
    );
    let counts = json(&stage, "ann", "--record J1 status");
    assert_eq!(counts["here_only"], 0);
    assert_eq!(counts["here_only_elsewhere"].as_array().unwrap().len(), 2, "{counts}");
}

/// After a join that went as it should there is nothing to look at, for anybody.
#[test]
fn a_join_leaves_no_finding_behind() {
    let (stage, _office) = shop_with_office();
    for role in ["member", "viewer", "lead,member"] {
        let code =
            json(&stage, "ann", &format!("invite {role} --role {role}"))["code"].as_str().unwrap().to_owned();
        stage.must("ann", "sync");
        stage.must(role, &format!("join {code} --label phone"));
        stage.must("ann", "sync");
        stage.must(role, "sync");
        for home in ["ann", role] {
            let findings = json(&stage, home, "findings")["workshop_findings"].clone();
            assert_eq!(findings.as_array().unwrap().len(), 0, "{role} {home}: {findings}");
        }
    }
}

/// A meeting says what it changed, as a file carried in does.
#[test]
fn a_meeting_tells_which_findings_came_and_which_are_settled() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    let reads = |size: &str| format!("read pin/3 diameter {size} --at front/0 --gauge M1 --both-at 20C");
    stage.must("ben", &reads("47.600mm"));
    stage.must("ben", "sync");
    let came = stage.must("ann", "sync").stdout;
    assert!(came.contains("new: Outside the limits, pin/3"), "{came}");
    stage.must("ben", &reads("47.748mm"));
    stage.must("ben", "sync");
    let settled = json(&stage, "ann", "sync");
    let of_record = settled["documents"].as_array().unwrap().iter().find(|one| one["name"] == "record J1");
    let findings = of_record.unwrap()["settled_findings"].as_array().unwrap();
    assert_eq!(findings.len(), 1, "{settled}");
    let nothing = stage.must("ann", "sync").stdout;
    assert_eq!(nothing, "", "nothing came, so nothing is told of any record");
}

/// What a phone that was removed still holds goes by file only, and it is told so.
#[test]
fn a_removed_phone_is_told_that_its_entries_go_by_file() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    stage.must("ann", "remove Ben --reason lost --lost");
    stage.must("ann", "sync");
    let read = r#"read pin/3 diameter 47.748mm --at front/0 --gauge M1 --both-at 20C"#;
    let unaware = stage.must("ben", read);
    assert!(!unaware.stderr.contains("removed"), "nobody has told this home: {unaware:?}");
    let denied = stage.run("ben", &["sync"]);
    assert!(denied.status == 5 && denied.stderr.contains("carry out"), "{denied:?}");
    let status = stage.must("ben", "status").stdout;
    assert!(status.contains("only here, and the office takes none"), "{status}");
    let aware = stage.must("ben", "note \"written when it was known\"");
    assert!(aware.stderr.contains("the office says: this key was removed"), "{aware:?}");
    stage.must("ben", "carry out late.gudgeon");
    stage.must("ann", "carry in late.gudgeon");
    assert_eq!(json(&stage, "ann", "status")["tally"]["not_counted"], 2);
}

/// A lead who leaves gives the office what their removal leaves standing before the removal itself.
#[test]
fn a_lead_who_removes_their_own_key_leaves_nothing_behind_that_counts() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    stage.must("ann", r#"read pin/3 diameter 47.748mm --at front/0 --gauge M1 --both-at 20C"#);
    stage.must("ann", "start J2 --engine engine.toml");
    let removed = stage.must("ann", "remove Ann --reason retired --last");
    assert!(removed.stderr.contains("sync once more"), "{removed:?}");
    let left = json(&stage, "ann", "sync");
    assert_eq!((left["here_only"].as_u64(), left["invited"].as_bool()), (Some(0), Some(false)), "{left}");
    stage.must("ben", "sync");
    for record in ["J1", "J2"] {
        let status = json(&stage, "ben", &format!("--record {record} status"));
        assert_eq!(status["tally"]["not_counted"], 0, "{record}: {status}");
        assert!(status["tally"]["entries"].as_u64().unwrap() > 1, "{record}: {status}");
    }
    let findings = json(&stage, "ben", "people")["workshop_findings"].clone();
    assert_eq!(findings.as_array().unwrap().len(), 0, "leaving is nothing to look at: {findings}");
    let denied = stage.run("ann", &["sync"]);
    assert!(denied.status == 5 && denied.stderr.contains("was removed"), "{denied:?}");
}

/// A key's roles never change: a new role is a new key, on the home that one has.
#[test]
fn a_person_gets_a_second_key_with_another_role_on_the_same_home_and_both_work() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    let code = json(&stage, "ann", "invite Ben --role lead")["code"].as_str().unwrap().to_owned();
    stage.must("ann", "sync");
    stage.must("ben", &format!("join {code} --label \"Ben as lead\""));
    let early = stage.must("ben", "--as \"Ben as lead\" decide oversize \"0.25 mm\"");
    assert!(early.stderr.contains("does not count"), "asking lets nobody in: {early:?}");
    let meanwhile = stage.must("ben", "sync").stderr;
    assert!(meanwhile.contains("asks to be let in") && !meanwhile.contains("is let in."), "{meanwhile}");
    let let_in = json(&stage, "ann", "sync");
    assert_eq!(let_in["let_in"].as_array().unwrap().len(), 1, "{let_in}");
    assert!(stage.must("ben", "sync").stderr.contains("This key is let in."));
    for own in ["phone of Ben", "Ben as lead"] {
        let met = json(&stage, "ben", &format!("--as \"{own}\" sync"));
        assert_eq!(met["invited"], false, "{own}: {met}");
    }
    let people = json(&stage, "ann", "people");
    let ben = people["people"].as_array().unwrap().iter().filter(|person| person["name"] == "Ben");
    let keys: Vec<_> = ben.flat_map(|person| person["keys"].as_array().unwrap()).collect();
    assert_eq!(keys.len(), 2, "one person, two keys: {people}");

    let read = r#"read pin/3 diameter 47.748mm --at front/0 --gauge M1 --both-at 20C"#;
    stage.must("ben", &format!("--as \"phone of Ben\" {read}"));
    let decided = stage.must("ben", "--as \"Ben as lead\" decide bolts new");
    assert!(!decided.stderr.contains("does not count"), "{decided:?}");
    let crossed = stage.run("ben", &["--as", "phone of Ben", "decide", "shells", "new"]);
    assert_eq!(crossed.status, 5, "the first key is still a member's: {crossed:?}");
    // Where only one of a person's keys may, it is taken without asking.
    stage.must("ben", r#"read pin/3 diameter 47.747mm --at front/60 --gauge M1 --both-at 20C"#);
    stage.must("ben", "decide gasket thick");
    // Where both may, the member's key is meant, and that is said.
    let note = stage.must("ben", "note \"either key would do\"");
    assert!(note.stderr.contains("signed by Ben (") && note.stderr.contains("phone of Ben)"), "{note:?}");
    let signature = stage.run("ben", &["sign", "final-check", "--anyway"]);
    assert_ne!(signature.status, 0, "as what somebody signs is theirs to say: {signature:?}");
    stage.must("ben", "sync");
    stage.must("ann", "sync");
    assert_eq!(assessment(&stage, "ann"), assessment(&stage, "ben"));
    let tally = json(&stage, "ann", "status");
    assert_eq!(tally["tally"]["not_counted"], 0, "both count, from the first entry on: {tally}");
}

#[test]
fn a_code_with_a_slip_and_an_address_that_is_none_are_told_and_make_nothing() {
    let (stage, _office) = shop_with_office();
    let ran = stage.run("cid", &["join", "GUDGEON1ABCDEF", "--label", "phone"]);
    assert_eq!(ran.status, 4, "{ran:?}");
    assert!(ran.stderr.contains("mistyped"), "{ran:?}");
    assert!(!stage.path().join("cid").exists());
    let ran = stage.run("ann", &["sync", "--relay", "office"]);
    assert_eq!(ran.status, 2, "{ran:?}");
    let ran = stage.run("ben", &["sync"]);
    assert_eq!(ran.status, 6, "no relay is known yet: {ran:?}");
}

#[test]
fn offline_is_told_costs_nothing_and_the_next_meeting_brings_it_all() {
    let (stage, office) = shop_with_office();
    let url = office.kill();
    stage.must("ann", "note \"written without a relay\"");
    let ran = stage.run("ann", &["sync"]);
    assert_eq!(ran.status, 11, "{ran:?}");
    assert!(ran.stderr.contains("everything entered here is saved"), "{ran:?}");
    let _office = Office::open(&stage.path().join("office"), Some(&url));
    let met = json(&stage, "ann", "sync");
    assert_eq!((met["went"].as_u64(), met["here_only"].as_u64()), (Some(1), Some(0)), "{met}");
}

#[test]
fn a_relay_killed_in_the_middle_has_everything_that_was_said_to_be_at_the_office() {
    let (stage, mut office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    for round in 0..4 {
        stage.must("ann", &format!("note \"round {round}\""));
        let met = json(&stage, "ann", "sync");
        assert_eq!(met["here_only"], 0, "{met}");
        let url = office.kill();
        office = Office::open(&stage.path().join("office"), Some(&url));
        let came = json(&stage, "ben", "sync");
        assert_eq!(came["came"], 1, "round {round}: {came}");
    }
}

#[test]
fn a_wiped_relay_is_filled_again_by_the_homes() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    stage.must("ann", "note \"of Ann, at the office\"");
    stage.must("ann", "sync");
    stage.must("ben", "sync");
    let url = office.kill();
    std::fs::remove_dir_all(stage.path().join("office")).unwrap();
    let _office = Office::open(&stage.path().join("office"), Some(&url));
    stage.must("ben", "note \"of Ben, while it was away\"");
    let met = json(&stage, "ben", "sync");
    assert_eq!((met["brought"].as_bool(), met["here_only"].as_u64()), (Some(true), Some(0)), "{met}");
    let held = met["went"].as_u64().unwrap();
    assert!(held > 12, "everything went, not the new note alone: {met}");
    let filled = json(&stage, "ann", "sync");
    assert_eq!(
        (filled["went"].as_u64(), filled["came"].as_u64()),
        (Some(0), Some(1)),
        "the relay has it all from Ben: {filled}"
    );
    assert_eq!(assessment(&stage, "ann"), assessment(&stage, "ben"));
}

/// An office put back as it was some time ago is given what it has lost, and no more is said to have gone.
#[test]
fn a_relay_that_was_put_back_is_given_what_it_lost_and_the_count_says_so() {
    let (stage, office) = shop_with_office();
    let url = office.kill();
    let (data, kept) = (stage.path().join("office"), stage.path().join("kept"));
    copied(&data, &kept);
    let office = Office::open(&data, Some(&url));
    for text in ["one", "two"] {
        stage.must("ann", &format!("note {text}"));
        assert_eq!(json(&stage, "ann", "sync")["went"], 1);
    }
    let url = office.kill();
    std::fs::remove_dir_all(&data).unwrap();
    copied(&kept, &data);
    let _office = Office::open(&data, Some(&url));
    stage.must("ann", "note three");
    let met = json(&stage, "ann", "sync");
    assert_eq!((met["went"].as_u64(), met["here_only"].as_u64()), (Some(3), Some(0)), "{met}");
}

/// Copies a directory with what is in it.
fn copied(from: &std::path::Path, to: &std::path::Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let (entry, at) = (entry.as_ref().unwrap().path(), to.join(entry.as_ref().unwrap().file_name()));
        if entry.is_dir() { copied(&entry, &at) } else { std::fs::copy(&entry, &at).map(|_| ()).unwrap() }
    }
}

#[test]
fn a_removed_device_is_turned_away_and_what_it_still_wrote_does_not_count() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    let key = json(&stage, "ben", "people")["own"].clone();
    let people = json(&stage, "ann", "people");
    let ben = people["people"].as_array().unwrap().iter().find(|person| person["name"] == "Ben").unwrap();
    let ben_key = ben["keys"][0]["key"].as_str().unwrap().to_owned();
    assert!(key.is_null() || key == ben_key.as_str());
    stage.must("ann", &format!("remove {ben_key} --reason \"left\""));
    stage.must("ann", "sync");
    stage.must("ben", "note \"written after the removal\"");
    let ran = stage.run("ben", &["sync"]);
    assert_eq!(ran.status, 5, "{ran:?}");
    assert!(ran.stderr.contains("removed"), "{ran:?}");
}

/// Ends the program it watches, whatever becomes of the test.
struct Ended(std::process::Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _gone = self.0.kill();
        let _waited = self.0.wait();
    }
}

#[test]
fn a_watch_hears_what_another_brings_and_leaves_the_home_free_meanwhile() {
    let (stage, office) = shop_with_office();
    stage.must("ben", &format!("sync --relay {}", office.url));
    let mut command = stage.command("ann");
    let mut watch = Ended(command.args(["watch", "--json"]).stdout(Stdio::piped()).spawn().unwrap());
    let mut heard = BufReader::new(watch.0.stdout.take().unwrap()).lines().map(|line| line.unwrap());
    // The first meeting, and the one after the ear was opened.
    heard.next().unwrap();
    heard.next().unwrap();
    stage.must("ann", "status");
    stage.must("ben", "note \"hear this\"");
    stage.must("ben", "sync");
    let met: Json = serde_json::from_str(&heard.next().unwrap()).unwrap();
    assert_eq!(met["came"], 1, "{met}");
}

#[test]
fn the_lead_brings_their_own_phone_by_the_invite_that_founding_prints() {
    let stage = Stage::new();
    let office = Office::open(&stage.path().join("office"), None);
    let line = format!(r#"found "Invented Works" --lead Ann --relay {}"#, office.url);
    let founded = json(&stage, "ann", &line);
    let code = founded["code"].as_str().unwrap().to_owned();
    assert_eq!(founded["relay"], office.url);
    stage.must("ann", "sync");
    stage.must("phone", &format!("join {code} --label \"Ann's phone\""));
    let let_in = json(&stage, "ann", "sync");
    assert_eq!(let_in["let_in"].as_array().unwrap().len(), 1, "{let_in}");
    stage.must("phone", "sync");
    let people = json(&stage, "phone", "people");
    let one = people["people"].as_array().unwrap();
    assert_eq!(one.len(), 1, "one person with two keys: {people}");
    // The phone leads as well: who is invited by it is let in by it.
    stage.must("phone", "invite Ben");
    assert_eq!(json(&stage, "phone", "sync")["went"], 1);
    let again = stage.run("other", &["join", &code, "--label", "found on the floor"]);
    assert_eq!(again.status, 5, "taken up already: {again:?}");
    assert!(again.stderr.contains("ask the lead for another one\nhint: nothing was made yet\n"), "{again:?}");
}
