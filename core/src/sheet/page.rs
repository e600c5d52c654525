//! Writing markup so that nothing a person typed can ever become markup: only texts fixed
//! at compile time are written as they are; all others go through [`Page::text`].

use std::fmt::Display;

pub(super) use super::picture::Px;
use super::picture::in_units;

/// Markup under construction.
#[derive(Debug, Default)]
pub(super) struct Page(String);

impl Page {
    /// Markup of our own.
    pub(super) fn raw(&mut self, markup: &'static str) -> &mut Self {
        self.0.push_str(markup);
        self
    }

    /// Whole rules of style, of our own making.
    pub(super) fn style(&mut self, rules: &str) -> &mut Self {
        // A style ends at the first `</`; ours have none.
        debug_assert!(!rules.contains("</"));
        self.0.push_str(rules);
        self
    }

    /// Anybody's text, made harmless in content and in quoted attributes.
    ///
    /// Characters that steer the direction or the device, not the meaning, are shown as
    /// `U+FFFD`, so that what is printed is what is there.
    pub(super) fn text(&mut self, text: impl Display) -> &mut Self {
        for letter in text.to_string().chars() {
            match letter {
                '&' => self.0.push_str("&amp;"),
                '<' => self.0.push_str("&lt;"),
                '>' => self.0.push_str("&gt;"),
                '"' => self.0.push_str("&quot;"),
                '\'' => self.0.push_str("&#39;"),
                '\n' | '\t' => self.0.push(' '),
                hidden if is_hidden(hidden) => self.0.push('\u{fffd}'),
                plain => self.0.push(plain),
            }
        }
        self
    }

    /// Markup around a text; nothing where the text is empty.
    pub(super) fn wrap(&mut self, before: &'static str, text: &str, after: &'static str) -> &mut Self {
        if text.is_empty() {
            return self;
        }
        self.raw(before).text(text).raw(after)
    }

    /// A number in drawing units: `12.5` for 1250 hundredths.
    pub(super) fn px(&mut self, hundredths: Px) -> &mut Self {
        self.0.push_str(&in_units(hundredths));
        self
    }

    /// An empty element of a drawing: name, class, measures.
    pub(super) fn shape(
        &mut self,
        name: &'static str,
        class: &'static str,
        measures: &[(&'static str, Px)],
    ) -> &mut Self {
        self.raw("<").raw(name).raw(" class=\"").raw(class).raw("\"");
        for (measure, at) in measures {
            self.raw(" ").raw(measure).raw("=\"").px(*at).raw("\"");
        }
        self.raw("/>")
    }

    /// A line of a drawing.
    pub(super) fn line(&mut self, class: &'static str, from: (Px, Px), to: (Px, Px)) -> &mut Self {
        self.shape("line", class, &[("x1", from.0), ("y1", from.1), ("x2", to.0), ("y2", to.1)])
    }

    /// A filled outline of a drawing.
    pub(super) fn polygon(&mut self, class: &'static str, corners: &[(Px, Px)]) -> &mut Self {
        self.raw("<polygon class=\"").raw(class).raw("\" points=\"");
        for (x, y) in corners {
            self.px(*x).raw(",").px(*y).raw(" ");
        }
        self.raw("\"/>")
    }

    /// A text in a drawing.
    pub(super) fn label(&mut self, class: &'static str, at: (Px, Px), text: &str) -> &mut Self {
        self.raw("<text class=\"").raw(class).raw("\" x=\"").px(at.0).raw("\" y=\"").px(at.1).raw("\">");
        self.text(text).raw("</text>")
    }

    /// Opens a drawing of a size in drawing units, with a sentence for those who cannot see it.
    pub(super) fn drawing(&mut self, class: &'static str, size: (Px, Px), says: &str) -> &mut Self {
        self.raw("<svg class=\"").raw(class).raw("\" role=\"img\" viewBox=\"0 0 ");
        self.px(size.0).raw(" ").px(size.1).raw("\" width=\"").px(size.0).raw("\" height=\"").px(size.1);
        self.raw("\" aria-label=\"").text(says).raw("\">")
    }

    pub(super) fn finish(self) -> String {
        self.0
    }
}

/// Control characters, and those that turn the direction of reading or take no room.
const fn is_hidden(letter: char) -> bool {
    matches!(letter,
        '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{61c}' | '\u{200b}'..='\u{200f}'
        | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        let mut page = Page::default();
        page.text(text);
        page.finish()
    }

    #[test]
    fn nothing_typed_becomes_markup() {
        assert_eq!(shown("<script>alert('x')</script>"), "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;");
        assert_eq!(shown("a & \"b\""), "a &amp; &quot;b&quot;");
    }

    #[test]
    fn what_hides_is_shown_as_hidden() {
        assert_eq!(shown("47.7\u{202e}48\0"), "47.7\u{fffd}48\u{fffd}");
        assert_eq!(shown("two\nlines"), "two lines");
    }
}
