//! The paths that a source names: `a::b::c`, and each branch of `a::{b, c::d}`.

use super::lexer::{Token, tokens};

/// One path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Path {
    /// Its words; `*` for a glob.
    pub(crate) words: Vec<String>,
    /// Where it begins.
    pub(crate) line: usize,
    /// How many `mod name { }` stand around it.
    pub(crate) inline: usize,
    /// Whether it is given another name: `use a::b as c`.
    pub(crate) renamed: bool,
}

/// Every path, single words included. A string that begins like a path is one: attributes of some
/// derive macros name functions that way.
pub(crate) fn paths(source: &[Token<'_>]) -> Vec<Path> {
    let (mut found, mut open, mut at) = (Vec::new(), Vec::new(), 0);
    while let Some(token) = source.get(at) {
        let begun = found.len();
        at = match token.text {
            "{" => {
                open.push(at >= 2 && source[at - 2].text == "mod");
                at + 1
            }
            "}" => {
                open.pop();
                at + 1
            }
            _ if token.is_word() && !goes_on(source, at) => tree(source, at, &[], &mut found),
            quoted if quoted.starts_with("\"crate::") || quoted.starts_with("\"super::") => {
                tree(&tokens(quoted.trim_matches('"')), 0, &[], &mut found);
                at + 1
            }
            _ => at + 1,
        };
        for path in &mut found[begun..] {
            path.line = token.line;
            path.inline = open.iter().filter(|is_mod| **is_mod).count();
        }
    }
    found
}

/// Whether the word continues a path that began before something in `< >`.
fn goes_on(source: &[Token<'_>], at: usize) -> bool {
    at >= 2 && source[at - 1].text == "::" && (source[at - 2].is_word() || source[at - 2].text == ">")
}

/// Follows the path at `at` into all its branches; where it ends.
fn tree(source: &[Token<'_>], mut at: usize, stem: &[String], found: &mut Vec<Path>) -> usize {
    let text = |at: usize| source.get(at).map_or("", |token| token.text);
    let mut words = stem.to_vec();
    loop {
        match text(at) {
            "{" => return group(source, at + 1, &words, found),
            word => words.push(word.to_owned()),
        }
        at += 1;
        let more = source.get(at + 1).is_some_and(|next| next.is_word() || matches!(next.text, "{" | "*"));
        if text(at) != "::" || !more {
            break;
        }
        at += 1;
    }
    found.push(Path { words, line: 0, inline: 0, renamed: text(at) == "as" });
    at
}

/// The branches from behind `{` to behind its `}`.
fn group(source: &[Token<'_>], mut at: usize, stem: &[String], found: &mut Vec<Path>) -> usize {
    while let Some(token) = source.get(at) {
        at = match token.text {
            "}" => return at + 1,
            "," => at + 1,
            "as" => at + 2,
            _ => tree(source, at, stem, found),
        };
    }
    at
}

mod tests {
    use super::*;

    fn found(source: &str) -> Vec<String> {
        paths(&tokens(source)).into_iter().map(|path| path.words.join("::")).collect()
    }

    #[test]
    fn groups_are_taken_apart() {
        assert_eq!(
            found("use crate::{a, b::{self, c as d}, e::*};"),
            ["use", "crate::a", "crate::b::self", "crate::b::c", "crate::e::*"]
        );
    }

    #[test]
    fn paths_are_found_wherever_they_stand() {
        assert_eq!(found("-> crate::a::B<crate::c::D>"), ["crate::a::B", "crate::c::D"]);
        assert_eq!(found("a::<b>::c()"), ["a", "b"]);
        assert_eq!(found("::std::fs"), ["std::fs"]);
        assert_eq!(found("with = \"crate::a::b\", \"crate\""), ["with", "crate::a::b"]);
    }

    #[test]
    fn modules_around_a_path_and_new_names_are_seen() {
        let source = "mod a { fn b() { super::c } } use crate as d;";
        let all = paths(&tokens(source));
        let of = |text: &str| all.iter().find(|path| path.words.join("::") == text).unwrap();
        assert_eq!((of("super::c").inline, of("super::c").renamed), (1, false));
        assert_eq!((of("crate").inline, of("crate").renamed), (0, true));
    }
}
