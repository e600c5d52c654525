//! What the build script makes of the directory that the phone app was built into.
#![allow(clippy::unwrap_used)]

#[path = "../build/embed.rs"]
mod embed;

fn dist(files: &[&str]) -> tempfile::TempDir {
    let dist = tempfile::tempdir().unwrap();
    for file in files {
        let at = dist.path().join(file);
        std::fs::create_dir_all(at.parent().unwrap()).unwrap();
        std::fs::write(at, "x").unwrap();
    }
    dist
}

#[test]
fn every_file_is_a_row_and_a_packed_form_belongs_to_its_file() {
    let dist = dist(&["index.html", "index.html.br", "fonts/a.woff2", "odd.br"]);
    let table = embed::table(dist.path()).unwrap();
    let rows: Vec<&str> = table.lines().filter(|line| line.contains("Asset {")).collect();
    assert_eq!(rows.len(), 3, "{table}");
    let row = |path: &str| rows.iter().find(|row| row.contains(&format!("path: {path:?}"))).unwrap();
    assert!(row("index.html").contains("index.html.br\")) }"), "{table}");
    assert!(row("fonts/a.woff2").contains("brotli: None"), "{table}");
    assert!(
        row("odd.br").contains("brotli: None"),
        "what is packed of nothing is a file of its own: {table}"
    );
}

#[test]
fn a_directory_that_is_not_there_or_holds_no_app_is_told_with_the_way_out() {
    let dist = dist(&["app.js"]);
    for (at, what) in [(dist.path().join("nowhere"), "No such file"), (dist.path().into(), "no index.html")] {
        let told = embed::table(&at).unwrap_err();
        assert!(told.contains(at.to_str().unwrap()) && told.contains("cargo xtask phone"), "{told}");
        #[cfg(target_os = "linux")]
        assert!(told.contains(what), "{told}");
    }
}
