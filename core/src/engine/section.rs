//! Reading one table of a definition file key by key, with every problem noted.

use std::ops::RangeInclusive;

use super::file::{Field, Node, Value};
use super::nearest::suggest;
use super::problem::Problems;
use crate::quantity::{Kind, Quantity};

/// Most rows of one list; more is no engine, and would only cost time.
const MOST_ROWS: usize = 500;

/// A text and where it stands.
#[derive(Clone, Copy, Debug)]
pub(super) struct Text<'f> {
    pub(super) at: usize,
    pub(super) text: &'f str,
}

/// One table being read. Keys asked for are known; whatever else stands there is refused
/// by [`Section::finish`].
pub(super) struct Section<'f> {
    /// Where it is in the trade's words; extended once a name is known.
    pub(super) place: String,
    pub(super) at: usize,
    fields: &'f [Field],
    asked: Vec<&'static str>,
}

impl<'f> Section<'f> {
    pub(super) fn new(place: impl Into<String>, at: usize, fields: &'f [Field]) -> Self {
        Self { place: place.into(), at, fields, asked: Vec::new() }
    }

    /// Notes a problem at the start of this table.
    pub(super) fn problem(&self, out: &mut Problems, reason: impl Into<String>, hint: impl Into<String>) {
        out.add(self.at, self.place.clone(), reason, hint);
    }

    /// Refuses every key that nobody asked for.
    pub(super) fn finish(self, out: &mut Problems) {
        for field in self.fields {
            if !self.asked.contains(&field.name.as_str()) {
                let hint = suggest(&field.name, &self.asked);
                let reason = format!("unknown key `{}`", field.name);
                out.add(field.at, self.place.clone(), reason, hint);
            }
        }
    }

    /// The value of a key, if it is there.
    pub(super) fn get(&mut self, key: &'static str) -> Option<&'f Node> {
        if !self.asked.contains(&key) {
            self.asked.push(key);
        }
        let field = self.fields.iter().find(|field| field.name == key);
        field.map(|field| &field.node)
    }

    /// A text that may be absent.
    pub(super) fn text(&mut self, out: &mut Problems, key: &'static str) -> Option<Text<'f>> {
        let node = self.get(key)?;
        self.as_text(out, key, node)
    }

    /// A text that must be there and not be empty.
    pub(super) fn needed(&mut self, out: &mut Problems, key: &'static str) -> Option<Text<'f>> {
        if self.get(key).is_none() {
            self.problem(out, format!("`{key}` is missing"), "");
            return None;
        }
        let text = self.text(out, key)?;
        if text.text.trim().is_empty() {
            out.add(text.at, self.place.clone(), format!("`{key}` is empty"), "");
            return None;
        }
        Some(text)
    }

    /// A whole number within bounds, that may be absent.
    pub(super) fn whole(
        &mut self,
        out: &mut Problems,
        key: &'static str,
        bounds: RangeInclusive<u8>,
    ) -> Option<u8> {
        let node = self.get(key)?;
        self.as_whole(out, key, node, &bounds)
    }

    /// A whole number within bounds that must be there.
    pub(super) fn needed_whole(
        &mut self,
        out: &mut Problems,
        key: &'static str,
        bounds: RangeInclusive<u8>,
    ) -> Option<u8> {
        if self.get(key).is_none() {
            self.problem(out, format!("`{key}` is missing"), "");
        }
        self.whole(out, key, bounds)
    }

    /// True or false; absent means false.
    pub(super) fn truth(&mut self, out: &mut Problems, key: &'static str) -> bool {
        match self.get(key) {
            None => false,
            Some(Node { value: Value::Truth(truth), .. }) => *truth,
            Some(node) => {
                self.wrong_sort(out, key, node, "true or false");
                false
            }
        }
    }

    /// A list of whole numbers within bounds, that may be absent.
    pub(super) fn wholes(
        &mut self,
        out: &mut Problems,
        key: &'static str,
        bounds: &RangeInclusive<u8>,
    ) -> Option<(usize, Vec<u8>)> {
        let node = self.get(key)?;
        let items = self.as_list(out, key, node)?;
        let read = items.iter().map(|item| self.as_whole(out, key, item, bounds));
        let list: Option<Vec<u8>> = read.collect::<Vec<_>>().into_iter().collect();
        Some((node.at, list?))
    }

    /// A list of texts; absent means empty.
    pub(super) fn texts(&mut self, out: &mut Problems, key: &'static str) -> Vec<Text<'f>> {
        let Some(node) = self.get(key) else { return Vec::new() };
        let items = self.as_list(out, key, node).unwrap_or_default();
        items.iter().filter_map(|item| self.as_text(out, key, item)).collect()
    }

    /// A quantity of a kind, such as `"80.495 mm"`, that may be absent.
    pub(super) fn quantity(&mut self, out: &mut Problems, key: &'static str, kind: Kind) -> Option<Quantity> {
        let text = self.text(out, key)?;
        quantity_of(out, &self.place, text, &[kind])
    }

    /// A table under a key, if it is there.
    pub(super) fn table(
        &mut self,
        out: &mut Problems,
        key: &'static str,
        place: &str,
    ) -> Option<Section<'f>> {
        let node = self.get(key)?;
        self.as_table(out, key, node, place)
    }

    /// The tables of a list such as `[[limit]]`; absent means none.
    pub(super) fn tables(&mut self, out: &mut Problems, key: &'static str, place: &str) -> Vec<Section<'f>> {
        let Some(node) = self.get(key) else { return Vec::new() };
        let items = self.as_list(out, key, node).unwrap_or_default();
        let tables = items.iter().take(MOST_ROWS);
        tables.filter_map(|item| self.as_table(out, key, item, place)).collect()
    }

    /// Every key and value as they stand, for tables whose keys are names.
    pub(super) fn all(&self) -> &'f [Field] {
        self.fields
    }

    fn as_text(&self, out: &mut Problems, key: &str, node: &'f Node) -> Option<Text<'f>> {
        let Value::Text(text) = &node.value else {
            self.wrong_sort(out, key, node, "a text in quotes");
            return None;
        };
        Some(Text { at: node.at, text })
    }

    fn as_whole(
        &self,
        out: &mut Problems,
        key: &str,
        node: &Node,
        bounds: &RangeInclusive<u8>,
    ) -> Option<u8> {
        let Value::Whole(whole) = node.value else {
            self.wrong_sort(out, key, node, "a whole number");
            return None;
        };
        let found = u8::try_from(whole).ok().filter(|whole| bounds.contains(whole));
        if found.is_none() {
            let (low, high) = (bounds.start(), bounds.end());
            let reason = format!("`{key}` is {whole}; it may be {low} to {high}");
            out.add(node.at, self.place.clone(), reason, "");
        }
        found
    }

    fn as_list(&self, out: &mut Problems, key: &str, node: &'f Node) -> Option<&'f [Node]> {
        let Value::List(items) = &node.value else {
            self.wrong_sort(out, key, node, "a list");
            return None;
        };
        if items.len() > MOST_ROWS {
            let reason = format!("`{key}` has {} rows; at most {MOST_ROWS} are read", items.len());
            out.add(node.at, self.place.clone(), reason, "");
        }
        Some(items)
    }

    fn as_table(&self, out: &mut Problems, key: &str, node: &'f Node, place: &str) -> Option<Section<'f>> {
        let Value::Table(fields) = &node.value else {
            self.wrong_sort(out, key, node, "a table");
            return None;
        };
        Some(Section::new(place, node.at, fields))
    }

    fn wrong_sort(&self, out: &mut Problems, key: &str, node: &Node, wanted: &str) {
        let reason = format!("`{key}` is {}; it takes {wanted}", node.value.sort());
        out.add(node.at, self.place.clone(), reason, "");
    }
}

/// Reads a quantity of one of the kinds wanted; anything else is a problem.
pub(super) fn quantity_of(
    out: &mut Problems,
    place: &str,
    text: Text<'_>,
    wanted: &[Kind],
) -> Option<Quantity> {
    let quantity = match Quantity::parse(text.text) {
        Ok(quantity) => quantity,
        Err(error) => {
            out.add(text.at, place, error.cause(), error.hint());
            return None;
        }
    };
    if wanted.contains(&quantity.kind()) {
        return Some(quantity);
    }
    let kinds: Vec<&str> = wanted.iter().map(|kind| kind.name()).collect();
    let units: Vec<&str> = wanted.iter().map(|kind| kind.main_unit().symbol()).collect();
    let reason = format!("{quantity} is {}; {} is needed", quantity.kind(), kinds.join(" or "));
    out.add(text.at, place, reason, format!("such as in {}", units.join(" or ")));
    None
}
