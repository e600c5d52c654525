//! Looking for words in source text, comments left out.

/// Lines (counted from 1) of `text` that hold `word` outside a `//` comment.
///
/// A word that begins or ends with a letter, digit or underscore is met only as a whole.
pub(crate) fn lines_with(text: &str, word: &str) -> Vec<usize> {
    let numbered = text.lines().enumerate();
    numbered.filter(|(_, line)| holds(code(line), word)).map(|(at, _)| at + 1).collect()
}

/// The line up to its comment. The `//` of an address (`https://`) begins none.
fn code(line: &str) -> &str {
    let comment = line.match_indices("//").find(|(at, _)| !line[..*at].ends_with(':'));
    comment.map_or(line, |(at, _)| &line[..at])
}

fn holds(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        let open = |outer: Option<char>, inner: Option<char>| {
            !(outer.is_some_and(in_name) && inner.is_some_and(in_name))
        };
        open(before, word.chars().next()) && open(after, word.chars().next_back())
    })
}

fn in_name(character: char) -> bool {
    character.is_alphanumeric() || character == '_'
}

#[cfg(test)]
mod tests {
    use super::lines_with;

    fn check(text: &str, word: &str, expected: &[usize]) {
        assert_eq!(lines_with(text, word), expected, "{word} in {text}");
    }

    #[test]
    fn a_word_is_met_as_a_whole() {
        check("let a: Instant;\nlet b: Instantly;\nfn my_Instant() {}", "Instant", &[1]);
        check("use std::time::Instant;", "std::time", &[1]);
        check("use std::timer;", "std::time", &[]);
        check("a.sin();\nb.asin();\nmy.sin(x)", ".sin(", &[1, 3]);
        check("println!();\neprintln!();", "println!", &[1]);
    }

    #[test]
    fn a_comment_does_not_count_but_an_address_is_no_comment() {
        check("// Instant\nx(); // Instant", "Instant", &[]);
        check("let a = \"https://example.org\"; Instant", "Instant", &[1]);
    }
}
