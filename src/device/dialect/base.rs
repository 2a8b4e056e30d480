//! Dialects that build on others: whose file is meant by `base`, and the laying of one file's tree
//! on the other's.

use std::collections::BTreeMap;

use super::document::{self, Item, Node};
use super::fault::DialectError;
use super::{BUILT_IN, Dialect, read, trial};

/// The user's own dialect files by name: each one's text, or why it can't be read.
pub type OwnTexts = BTreeMap<String, Result<String, DialectError>>;

/// A dialect's tree with all that it builds on.
struct Grown {
    tree: Node,
    root: Option<&'static str>,
}

/// Reads and checks a dialect file. `chain` are the names of the user's files that build on it.
pub(super) fn dialect(
    name: &str,
    text: &str,
    own: &OwnTexts,
    chain: &[&str],
) -> Result<Dialect, Vec<DialectError>> {
    let Grown { tree, root } = grown(name, text, own, chain)?;
    let (read, mut faults) = read::dialect(name, tree);
    let below = root.and_then(Dialect::builtin);
    faults.extend(read.iter().flat_map(|read| trial::faults(read, below.as_deref())));
    match read {
        Some(read) if faults.is_empty() => Ok(Dialect { root, ..read.dialect }),
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
    let refuse = |place, text: String| Err(vec![DialectError::at(name, place, text)]);
    if let Some(family) = keys.get("family") {
        return refuse(family.place, "a dialect with a base has its base's family".into());
    }
    let Item::Text(wanted) = &base.item else {
        return refuse(base.place, format!("base is the name of a dialect: {}", known(own)));
    };
    let chain = [chain, &[name]].concat();
    let is_own = wanted != name && own.contains_key(wanted);
    if is_own && chain.contains(&wanted.as_str()) {
        let circle = chain.iter().map(|name| format!("{name} builds on ")).collect::<String>();
        return refuse(base.place, format!("base goes round in a circle: {circle}{wanted}"));
    }
    let under = match own.get(wanted).filter(|_| is_own) {
        Some(text) => {
            let text = text.as_ref().map_err(|unreadable| vec![unreadable.clone()])?;
            // Its own faults are reported at their places before anything is laid on it.
            dialect(wanted, text, own, &chain)?;
            grown(wanted, text, own, &chain)?
        }
        None => match BUILT_IN.into_iter().find(|(known, _)| known == wanted) {
            Some((known, text)) => Grown { root: Some(known), ..grown(known, text, &OwnTexts::new(), &[])? },
            None => return refuse(base.place, format!("no dialect \"{wanted}\"; one of {}", known(own))),
        },
    };
    let tree = under.tree.without_places().merged(Node { place, item: Item::Table(keys) });
    Ok(Grown { tree, root: under.root })
}

fn known(own: &OwnTexts) -> String {
    let others = own.keys().map(String::as_str).filter(|name| Dialect::builtin_text(name).is_none());
    Dialect::names().map(|name| -> &str { name }).chain(others).collect::<Vec<_>>().join(", ")
}
