//! Dialects that build on others: whose file is meant by `base`, and the laying of one file's tree
//! on the other's.

use std::collections::BTreeMap;

use super::document::{self, Item, Node};
use super::fault::DialectError;
use super::{BUILT_IN, Dialect, read, trial};

/// The user's own dialect files by name: each one's text, or why it can't be read.
pub type OwnTexts = BTreeMap<String, Result<String, DialectError>>;

/// So many of the user's files may stand in one chain.
const DEPTH: usize = 8;

/// A dialect's tree with all that it builds on.
struct Grown {
    tree: Node,
    root: Option<&'static str>,
}

/// Reads and checks a dialect file and those that it builds on.
pub(super) fn dialect(name: &str, text: &str, own: &OwnTexts) -> Result<Dialect, Vec<DialectError>> {
    checked(name, text, own, &[]).map(|(dialect, _)| dialect)
}

/// Each file is read once, and its own faults are reported at their places before anything is laid
/// on it. `chain` are the names of the user's files that build on it.
fn checked(
    name: &str,
    text: &str,
    own: &OwnTexts,
    chain: &[&str],
) -> Result<(Dialect, Grown), Vec<DialectError>> {
    let grown = grown(name, text, own, chain)?;
    let (read, mut faults) = read::dialect(name, grown.tree.clone());
    let below = grown.root.and_then(Dialect::builtin);
    faults.extend(read.iter().flat_map(|read| trial::faults(read, below.as_deref())));
    match read {
        Some(read) if faults.is_empty() => Ok((Dialect { root: grown.root, ..read }, grown)),
        _ => {
            faults.sort_by_key(|fault| (fault.line, fault.column));
            Err(faults)
        }
    }
}

fn grown(name: &str, text: &str, own: &OwnTexts, chain: &[&str]) -> Result<Grown, Vec<DialectError>> {
    let root = document::parse(text).map_err(|(place, why)| vec![DialectError::at(name, place, why)])?;
    let place = root.place;
    let Item::Table(mut keys) = root.item else { return Ok(Grown { tree: root, root: None }) };
    let Some(base) = keys.remove("base") else {
        return Ok(Grown { tree: Node { place, item: Item::Table(keys) }, root: None });
    };
    if let Some(family) = keys.get("family") {
        let text = "a dialect with a base has its base's family";
        return Err(vec![DialectError::at(name, family.place, text)]);
    }
    let under = under(&base, own, &[chain, &[name]].concat())?;
    let tree = under.tree.without_places().merged(Node { place, item: Item::Table(keys) });
    Ok(Grown { tree, root: under.root })
}

/// What `base` names. `chain` ends with the file in which it stands.
fn under(base: &Node, own: &OwnTexts, chain: &[&str]) -> Result<Grown, Vec<DialectError>> {
    let name = chain.last().copied().unwrap_or_default();
    let refuse = |text: String| Err(vec![DialectError::at(name, base.place, text)]);
    let Item::Text(wanted) = &base.item else {
        return refuse(format!("base is the name of a dialect: {}", known(own)));
    };
    let built_in = BUILT_IN.into_iter().find(|(known, _)| known == wanted);
    let built_on = || chain.iter().map(|name| format!("{name} builds on ")).collect::<String>() + wanted;
    match (own.get(wanted), built_in) {
        (text, Some((known, built_in))) if text.is_none() || wanted == name => {
            Ok(Grown { root: Some(known), ..grown(known, built_in, &OwnTexts::new(), &[])? })
        }
        (None, _) => refuse(format!("no dialect \"{wanted}\"; one of {}", known(own))),
        _ if chain.contains(&wanted.as_str()) => {
            refuse(format!("base goes round in a circle: {}", built_on()))
        }
        _ if chain.len() >= DEPTH => {
            refuse(format!("at most {DEPTH} files may build on each other: {}", built_on()))
        }
        (Some(Err(unreadable)), _) => Err(vec![unreadable.clone()]),
        (Some(Ok(text)), _) => checked(wanted, text, own, chain).map(|(_, grown)| grown),
    }
}

fn known(own: &OwnTexts) -> String {
    let others = own.keys().map(String::as_str).filter(|name| Dialect::builtin_text(name).is_none());
    Dialect::names().map(|name| -> &str { name }).chain(others).collect::<Vec<_>>().join(", ")
}
