//! A dialect file as a tree that remembers where each key stands, and the merging of two.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Line and column, both from 1; `None` for what came from the base.
pub(super) type Place = Option<(usize, usize)>;

/// A value and where its key stands.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub(super) place: Place,
    pub(super) item: Item,
}

/// The few kinds of TOML value that dialects use.
#[derive(Debug, Clone)]
pub(super) enum Item {
    Text(String),
    Integer(i64),
    Float(f64),
    Flag(bool),
    List(Vec<Node>),
    Table(BTreeMap<String, Node>),
    /// Taken away by a `false` laid on it: what it was.
    Off(Box<Item>),
    Unused,
}

/// Reads TOML text; what is wrong with it and where.
pub(super) fn parse(text: &str) -> Result<Node, (Place, String)> {
    let lines = Lines(text);
    match DeTable::parse(text) {
        Ok(table) => Ok(Node { place: Some((1, 1)), item: lines.table(table.get_ref()) }),
        Err(error) => {
            Err((lines.place(error.span().map_or(0, |span| span.start)), error.message().to_owned()))
        }
    }
}

impl Node {
    /// This tree with `over` laid on it, key by key: tables are merged, anything else replaced. What
    /// `false` takes away is kept aside.
    pub(super) fn merged(self, over: Node) -> Node {
        match (self.item, over.item) {
            (Item::Table(mut base), Item::Table(over_keys)) => {
                for (key, node) in over_keys {
                    let node = match base.remove(&key) {
                        Some(old) => old.merged(node),
                        None => node,
                    };
                    base.insert(key, node);
                }
                Node { place: over.place, item: Item::Table(base) }
            }
            (was @ (Item::Text(_) | Item::List(_) | Item::Table(_)), Item::Flag(false)) => {
                Node { place: over.place, item: Item::Off(Box::new(was)) }
            }
            (was @ Item::Off(_), Item::Flag(false)) => Node { place: over.place, item: was },
            (_, item) => Node { place: over.place, item },
        }
    }

    /// The same tree with its places forgotten: they would point into another file.
    pub(super) fn without_places(self) -> Node {
        let item = match self.item {
            Item::List(nodes) => Item::List(nodes.into_iter().map(Node::without_places).collect()),
            Item::Table(keys) => {
                Item::Table(keys.into_iter().map(|(key, node)| (key, node.without_places())).collect())
            }
            item => item,
        };
        Node { place: None, item }
    }
}

struct Lines<'t>(&'t str);

impl Lines<'_> {
    fn place(&self, offset: usize) -> Place {
        let before = self.0.get(..offset).unwrap_or(self.0);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Some((before.matches('\n').count() + 1, before[line_start..].chars().count() + 1))
    }

    fn table(&self, table: &DeTable<'_>) -> Item {
        let keys = table.iter().map(|(key, value)| {
            (key.get_ref().to_string(), Node { place: self.place(key.span().start), item: self.item(value) })
        });
        Item::Table(keys.collect())
    }

    fn item(&self, value: &Spanned<DeValue<'_>>) -> Item {
        match value.get_ref() {
            DeValue::String(text) => Item::Text(text.to_string()),
            DeValue::Integer(integer) => {
                i64::from_str_radix(integer.as_str(), integer.radix()).map_or(Item::Unused, Item::Integer)
            }
            DeValue::Float(float) => float.as_str().parse().map_or(Item::Unused, Item::Float),
            DeValue::Boolean(flag) => Item::Flag(*flag),
            DeValue::Array(nodes) => Item::List(nodes.iter().map(|node| self.node(node)).collect()),
            DeValue::Table(table) => self.table(table),
            DeValue::Datetime(_) => Item::Unused,
        }
    }

    fn node(&self, value: &Spanned<DeValue<'_>>) -> Node {
        Node { place: self.place(value.span().start), item: self.item(value) }
    }
}
