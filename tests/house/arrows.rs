//! Which room may import which.

use std::collections::BTreeSet;

use super::paths::{Path, paths};
use super::source::Source;

/// The rooms from the ground up, and what each may import besides `terms` and itself.
pub(crate) const TABLE: [(&str, &[&str]); 21] = [
    ("terms", &[]),
    ("clock", &[]),
    ("sky", &[]),
    ("store", &[]),
    ("record", &["store"]),
    ("almanac", &["sky", "store"]),
    ("control", &[]),
    ("link", &["sky"]),
    ("beam", &["sky"]),
    ("agenda", &["sky", "link"]),
    ("card", &["sky", "link"]),
    ("guide", &["sky"]),
    ("listening", &["sky", "link"]),
    ("contacts", &["sky"]),
    ("device", &["clock"]),
    ("sim", &["clock", "sky"]),
    ("session", &["clock", "sky", "link", "beam", "device"]),
    ("config", &["clock", "sky", "almanac", "link", "beam", "device"]),
    ("daemon", &DAEMON),
    ("rehearsal", &REHEARSAL),
    ("cli", &CLI),
];

const DAEMON: [&str; 13] = [
    "clock",
    "sky",
    "store",
    "record",
    "almanac",
    "control",
    "link",
    "beam",
    "agenda",
    "listening",
    "device",
    "session",
    "config",
];
const REHEARSAL: [&str; 10] =
    ["clock", "sky", "link", "beam", "device", "sim", "session", "control", "config", "daemon"];
const CLI: [&str; 19] = [
    "clock",
    "sky",
    "store",
    "record",
    "almanac",
    "control",
    "link",
    "beam",
    "agenda",
    "card",
    "guide",
    "listening",
    "contacts",
    "device",
    "sim",
    "session",
    "config",
    "daemon",
    "rehearsal",
];

/// One room's import of another, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Arrow {
    pub(crate) from: String,
    pub(crate) to: String,
    pub(crate) place: String,
}

/// Every arrow that leaves the file's room. The program's root reaches the rooms by the crate's
/// name, all others by `crate` or by climbing with `super`.
pub(crate) fn arrows(source: &Source) -> Vec<Arrow> {
    let own = source.room();
    let depth = source.module().len();
    let arrow = |path: Path| {
        let to = target(&path, depth)?;
        let place = format!("{}:{}", source.name, path.line);
        (to != own).then(|| Arrow { from: own.to_owned(), to, place })
    };
    paths(&source.tokens()).into_iter().filter_map(arrow).collect()
}

/// The room that a path leads to: the word behind the crate's root.
fn target(path: &Path, depth: usize) -> Option<String> {
    let words: Vec<&str> = path.words.iter().map(String::as_str).skip_while(|word| *word == "self").collect();
    let climbed = words.iter().take_while(|word| **word == "super").count();
    let root = match words.first()? {
        &"crate" | &"beamhand" => 1,
        &"super" if climbed >= depth + path.inline => climbed,
        _ => return None,
    };
    match words.get(root) {
        Some(room) => Some((*room).to_owned()),
        // `use crate as other` would hide whatever is reached through the new name.
        None => path.renamed.then(|| "the whole crate".to_owned()),
    }
}

/// What the table does not allow.
pub(crate) fn forbidden(arrow: &Arrow) -> Option<String> {
    let Arrow { from, to, place } = arrow;
    let allowed: &[&str] = match from.as_str() {
        "main" => &["cli"],
        "lib" => &[],
        _ => match TABLE.iter().find(|(room, _)| room == from) {
            Some((_, allowed)) => allowed,
            None => return Some(format!("{place}: \"{from}\" is no room of the table")),
        },
    };
    if !TABLE.iter().any(|(room, _)| room == to) {
        return Some(format!("{place}: \"{to}\" is no room of the table"));
    }
    let fine = to == "terms" || allowed.contains(&to.as_str());
    (!fine).then(|| format!("{place}: \"{from}\" may not import \"{to}\""))
}

/// A way from a room back to itself.
pub(crate) fn circle(edges: &BTreeSet<(String, String)>) -> Option<String> {
    // A room from which nothing leads on is in no circle; neither is one that leads only to such.
    let mut left = edges.clone();
    loop {
        let leads_on: BTreeSet<String> = left.iter().map(|(from, _)| from.clone()).collect();
        let before = left.len();
        left.retain(|(_, to)| leads_on.contains(to));
        if left.is_empty() {
            return None;
        }
        if left.len() == before {
            let names: Vec<String> = left.into_iter().map(|(from, to)| format!("{from} -> {to}")).collect();
            return Some(names.join(", "));
        }
    }
}

mod tests {
    use super::*;

    fn to(name: &str, text: &str) -> Vec<String> {
        arrows(&Source::new(name, text)).into_iter().map(|arrow| arrow.to).collect()
    }

    fn refused(from: &str, to: &str) -> Option<String> {
        forbidden(&Arrow { from: from.into(), to: to.into(), place: "here".into() })
    }

    #[test]
    fn an_import_is_seen_in_any_disguise() {
        for text in [
            "use crate::link::Link;",
            "fn a() -> crate::link::Link {}",
            "use crate::{terms, link::*};",
            "#[cfg(test)] mod tests { use crate::link; }",
            "use super::super::link;",
            "mod inner { fn a() { super::super::super::link::b() } }",
            "#[serde(with = \"crate::link::wire\")]",
            "macro_rules! a { () => { $crate::link::b() } }",
        ] {
            assert!(to("src/sky/sun.rs", text).contains(&"link".to_owned()), "{text}");
        }
        assert_eq!(to("src/sky/mod.rs", "use super::link;"), ["link"]);
        assert_eq!(to("src/main.rs", "fn main() { beamhand::sky::a() }"), ["sky"]);
        assert_eq!(to("src/sky/mod.rs", "use crate as c;"), ["the whole crate"]);
    }

    #[test]
    fn what_stays_in_the_room_or_is_only_said_is_no_import() {
        for text in [
            "// crate::link",
            "/// [`crate::link::Link`]",
            "\"see crate::link\"",
            "use super::link; use crate::sky::link; pub(crate) fn a() {} pub(super) fn b() {}",
            "mod tests { use super::super::link; }",
        ] {
            assert!(to("src/sky/sun.rs", text).is_empty(), "{text}");
        }
    }

    #[test]
    fn only_the_tables_arrows_pass() {
        assert_eq!(refused("link", "sky"), None);
        assert_eq!(refused("store", "terms"), None);
        assert_eq!(refused("main", "cli"), None);
        for (from, to) in
            [("sky", "link"), ("device", "sky"), ("sim", "device"), ("main", "sky"), ("lib", "sky")]
        {
            assert!(refused(from, to).is_some_and(|why| why.contains("may not import")), "{from} {to}");
        }
        for (from, to) in [("sky", "attic"), ("attic", "sky"), ("cli", "Track"), ("sky", "*")] {
            assert!(refused(from, to).is_some_and(|why| why.contains("no room")), "{from} {to}");
        }
    }

    #[test]
    fn a_circle_is_found_behind_any_number_of_rooms() {
        let edges = |pairs: &[(&str, &str)]| pairs.iter().map(|(a, b)| ((*a).into(), (*b).into())).collect();
        assert_eq!(circle(&edges(&[("a", "b"), ("b", "c"), ("a", "c")])), None);
        let round = circle(&edges(&[("a", "b"), ("b", "c"), ("c", "b"), ("c", "d")])).unwrap();
        assert!(round.contains("b -> c, c -> b") && !round.contains('d'), "{round}");
    }
}
