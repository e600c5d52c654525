//! The demo build over real processes: three homes, files carried by hand, and what is left.
#![allow(clippy::unwrap_used)]

mod cli_kit;

use gudgeon_tests::demo::play;

#[test]
fn three_people_build_an_engine_and_nothing_is_lost() {
    let directory = tempfile::tempdir().unwrap();
    let mut story = Vec::new();
    let counts =
        play(cli_kit::program().to_owned(), directory.path(), &mut |words| story.push(words.to_owned()))
            .unwrap();
    let number = |name: &str| counts[name].as_u64().unwrap_or_else(|| panic!("{name} in {counts}"));

    assert_eq!(counts["converged"], true);
    assert_eq!(number("lost"), 0);
    assert_eq!(number("people"), 4);
    assert!(number("entries") > 700, "{counts}");
    assert_eq!((number("steps_signed"), number("steps_total")), (154, 154));
    assert_eq!((number("disputed"), number("stale_signoffs"), number("not_proven")), (0, 0, 0));
    assert_eq!((number("outside"), number("conceded")), (1, 1));
    assert_eq!((number("refused"), number("not_counted")), (1, 3));

    let story = story.join("\n");
    for told in [
        "47.753 mm by Cleo Marsh (M3)",
        "pull the housing out of shape",
        "as read (not proven)",
        "at 20 degC: within",
        "neither knew of the other",
        "refused (\"bad-signature\")",
    ] {
        assert!(story.contains(told), "the story does not tell `{told}`:\n{story}");
    }
    let sheet = std::fs::read_to_string(counts["sheet"].as_str().unwrap()).unwrap();
    assert!(sheet.trim_end().ends_with("</html>") && sheet.contains("Ouse 1.8, no. 17"));
}
