//! The shape of a definition file: TOML as a tree that remembers where each value stands.
//!
//! The only module of the engine that names the TOML library; everything behind it works
//! on [`Node`]s and never sees a float.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::problem::Problems;

/// A value and the byte offset at which it stands.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) at: usize,
    pub(super) value: Value,
}

/// What a definition file can hold.
#[derive(Debug)]
pub(super) enum Value {
    Text(String),
    Whole(i64),
    Truth(bool),
    List(Vec<Node>),
    Table(Vec<Field>),
    /// A kind of value that no key of a definition takes; its name.
    Foreign(&'static str),
}

/// One key of a table.
#[derive(Debug)]
pub(super) struct Field {
    pub(super) name: String,
    pub(super) at: usize,
    pub(super) node: Node,
}

impl Value {
    /// The sort of value, for messages.
    pub(super) fn sort(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Whole(_) => "a whole number",
            Self::Truth(_) => "true or false",
            Self::List(_) => "a list",
            Self::Table(_) => "a table",
            Self::Foreign(sort) => sort,
        }
    }
}

/// Reads TOML; syntax errors go to `problems`, and what could be read is still returned.
pub(super) fn read(text: &str, problems: &mut Problems) -> Vec<Field> {
    let (table, errors) = DeTable::parse_recoverable(text);
    for error in errors {
        let at = error.span().map_or(0, |span| span.start);
        problems.add(at, "file", format!("not TOML: {}", error.message()), "");
    }
    fields(table.into_inner())
}

fn fields(table: DeTable<'_>) -> Vec<Field> {
    let mut list: Vec<Field> = table.into_iter().map(field).collect();
    list.sort_by_key(|field| field.at);
    list
}

fn field((key, value): (Spanned<std::borrow::Cow<'_, str>>, Spanned<DeValue<'_>>)) -> Field {
    let at = key.span().start;
    Field { name: key.into_inner().into_owned(), at, node: node(value) }
}

fn node(value: Spanned<DeValue<'_>>) -> Node {
    let at = value.span().start;
    let value = match value.into_inner() {
        DeValue::String(text) => Value::Text(text.into_owned()),
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix())
            .map_or(Value::Foreign("a number too large"), Value::Whole),
        DeValue::Float(_) => Value::Foreign("a decimal number without quotes"),
        DeValue::Boolean(truth) => Value::Truth(truth),
        DeValue::Datetime(_) => Value::Foreign("a date"),
        DeValue::Array(items) => Value::List(items.into_iter().map(node).collect()),
        DeValue::Table(table) => Value::Table(fields(table)),
    };
    Node { at, value }
}
