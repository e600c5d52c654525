//! Licence expressions: `MIT OR (Apache-2.0 WITH LLVM-exception AND Zlib)`.
//!
//! The grammar is that of SPDX 2.3, annex D, plus the `/` that old manifests write for `OR`.

/// Whether a licence expression can be met with allowed licences alone.
///
/// `None` when the text is no licence expression.
pub(crate) fn allowed(expression: &str, allow: &[String]) -> Option<bool> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut reader = Reader { words: &words, allow };
    let answer = reader.any()?;
    reader.words.is_empty().then_some(answer)
}

struct Reader<'a> {
    words: &'a [&'a str],
    allow: &'a [String],
}

impl Reader<'_> {
    fn any(&mut self) -> Option<bool> {
        let mut answer = self.all()?;
        while self.take("OR") {
            answer |= self.all()?;
        }
        Some(answer)
    }

    fn all(&mut self) -> Option<bool> {
        let mut answer = self.one()?;
        while self.take("AND") {
            answer &= self.one()?;
        }
        Some(answer)
    }

    fn one(&mut self) -> Option<bool> {
        if self.take("(") {
            let answer = self.any()?;
            return self.take(")").then_some(answer);
        }
        let mut licence = self.name()?.to_owned();
        if self.take("WITH") {
            licence = format!("{licence} WITH {}", self.name()?);
        }
        Some(self.allow.contains(&licence))
    }

    fn name(&mut self) -> Option<&str> {
        let (first, rest) = self.words.split_first()?;
        if matches!(*first, "OR" | "AND" | "WITH" | "(" | ")") {
            return None;
        }
        self.words = rest;
        Some(first)
    }

    fn take(&mut self, word: &str) -> bool {
        let found = self.words.first() == Some(&word);
        if found {
            self.words = &self.words[1..];
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::allowed;

    fn check(expression: &str, expected: Option<bool>) {
        let allow = ["MIT", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "Unicode-3.0"];
        let allow = allow.map(str::to_owned);
        assert_eq!(allowed(expression, &allow), expected, "{expression}");
    }

    #[test]
    fn one_allowed_branch_is_enough_and_every_joined_one_is_needed() {
        check("MIT", Some(true));
        check("GPL-3.0-only", Some(false));
        check("GPL-3.0-only OR MIT", Some(true));
        check("GPL-3.0-only AND MIT", Some(false));
        check("(MIT OR Apache-2.0) AND Unicode-3.0", Some(true));
        check("MIT OR Apache-2.0 AND GPL-3.0-only", Some(true));
        check("(MIT OR Apache-2.0) AND GPL-3.0-only", Some(false));
        check("MIT/Apache-2.0", Some(true));
    }

    #[test]
    fn an_exception_is_part_of_the_licence() {
        check("Apache-2.0 WITH LLVM-exception", Some(true));
        check("MIT WITH LLVM-exception", Some(false));
    }

    #[test]
    fn what_is_no_expression_is_not_guessed() {
        for text in ["", "MIT OR", "(MIT", "MIT)", "MIT Apache-2.0", "OR MIT", "MIT WITH", "()"] {
            check(text, None);
        }
    }
}
