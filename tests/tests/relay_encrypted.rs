//! Homes that meet a relay by TLS: whom they believe, how they come to, and what they say of a stranger.
#![allow(clippy::unwrap_used)]

mod cli_kit;
mod office_kit;

use cli_kit::{Stage, shop};
use office_kit::Office;

/// A shop whose relay has an authority of its own and knows the shop.
fn shop_with_office() -> (Stage, Office) {
    let stage = shop();
    let office = Office::encrypted(&stage.path().join("office"));
    stage.must("ann", &format!("sync --relay {}", office.url));
    (stage, office)
}

/// The address without the digits.
fn bare(office: &Office) -> &str {
    office.url.split('#').next().unwrap()
}

#[test]
fn somebody_joins_by_an_invite_and_believes_the_authority_that_it_names() {
    let (stage, office) = shop_with_office();
    let invited = stage.must("ann", "invite Cid --json").json();
    assert_eq!(invited["relay"], office.url, "the digits go along");
    stage.must("ann", "sync");
    let code = invited["code"].as_str().unwrap();
    stage.must("cid", &format!("join {code} --label \"phone of Cid\""));
    let let_in = stage.must("ann", "sync --json").json();
    assert_eq!(let_in["let_in"].as_array().unwrap().len(), 1, "{let_in}");
    let met = stage.must("cid", "sync").stderr;
    assert!(met.contains(&format!("Met {}: ", bare(&office))), "people are not shown the digits: {met}");
    stage.must("cid", "note \"through TLS\"");
    stage.must("cid", "sync");
    let came = stage.must("ann", "watch --meetings 1 --json").json();
    assert_eq!((came["came"].as_u64(), came["went"].as_u64()), (Some(1), Some(0)), "{came}");
}

#[test]
fn a_relay_that_is_not_believed_is_told_so_and_nothing_is_kept_of_it() {
    let (stage, office) = shop_with_office();
    let others = Office::encrypted(&stage.path().join("others"));
    let digits = |of: &Office| of.url.split_once('#').unwrap().1.to_owned();
    let strange = [
        bare(&office).to_owned(),
        format!("{}#{}", bare(&office), digits(&others)),
        format!("{}#{}", bare(&others), digits(&office)),
    ];
    for url in strange {
        let ran = stage.run("ben", &["sync", "--relay", &url]);
        assert_eq!(ran.status, 11, "{url}: {ran:?}");
        assert!(ran.stderr.contains("comes from nobody who is believed here"), "{url}: {ran:?}");
        assert!(ran.stderr.contains("--authority FILE"), "{url}: {ran:?}");
    }
    let ran = stage.run("ben", &["sync"]);
    assert_eq!(ran.status, 6, "no relay was kept: {ran:?}");
    let by_name = office.url.replace("127.0.0.1", "localhost");
    let ran = stage.run("ben", &["sync", "--relay", &by_name]);
    assert!(ran.status == 11 && ran.stderr.contains("is for another name"), "{ran:?}");
    let plain = bare(&office).replace("https://", "http://");
    let ran = stage.run("ben", &["sync", "--relay", &plain]);
    assert_eq!(ran.status, 11, "{ran:?}");
}

#[test]
fn the_file_of_an_authority_does_as_well_as_its_digits_and_is_kept() {
    let (stage, office) = shop_with_office();
    let path = bare(&office);
    stage.must("ben", &format!("sync --relay {path} --authority office/authority/authority.crt"));
    let kept = stage.must("ben", "sync --json").json();
    assert_eq!(kept["relay"], office.url, "{kept}");
    stage.write("no.crt", "no certificate");
    let table = [
        (path.to_owned(), "no.crt", 4),
        (path.to_owned(), "nosuch.crt", 3),
        (path.replace("https", "http"), "office/authority/authority.crt", 4),
        ("office".to_owned(), "office/authority/authority.crt", 2),
        (format!("{path}#0123"), "office/authority/authority.crt", 2),
    ];
    for (url, file, status) in table {
        let ran = stage.run("ben", &["sync", "--relay", &url, "--authority", file]);
        assert_eq!(ran.status, status, "{url} {file}: {ran:?}");
    }
}
