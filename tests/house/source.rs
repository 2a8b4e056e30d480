//! A file of `src` with its tests told apart.

use std::path::{Path, PathBuf};

use super::lexer::{Token, tokens};

/// One source file.
#[derive(Debug, Clone)]
pub(crate) struct Source {
    /// Its path below the project's folder, with `/`: `src/sky/mod.rs`.
    pub(crate) name: String,
    pub(crate) text: String,
    /// Whether the whole file is a test module.
    is_test: bool,
}

impl Source {
    pub(crate) fn new(name: &str, text: &str) -> Self {
        Self { name: name.to_owned(), text: text.to_owned(), is_test: false }
    }

    /// The words below `src` that lead to the module: `["sky", "frames"]`; none for the roots.
    pub(crate) fn module(&self) -> Vec<&str> {
        let below = self.name.trim_start_matches("src/").trim_end_matches(".rs");
        below.split('/').filter(|word| !matches!(*word, "mod" | "lib" | "main")).collect()
    }

    /// The room that it belongs to; `lib` and `main` for the roots.
    pub(crate) fn room(&self) -> &str {
        let below = self.name.trim_start_matches("src/");
        below.split(['/', '.']).next().unwrap_or(below)
    }

    /// All of it, tests included.
    pub(crate) fn tokens(&self) -> Vec<Token<'_>> {
        tokens(&self.text)
    }

    /// What is compiled into the program.
    pub(crate) fn program(&self) -> Vec<Token<'_>> {
        let all = self.tokens();
        let tests = if self.is_test { vec![(0, all.len())] } else { test_items(&all) };
        let outside = |at: usize| !tests.iter().any(|(from, to)| (*from..*to).contains(&at));
        all.iter().enumerate().filter(|(at, _)| outside(*at)).map(|(_, token)| *token).collect()
    }

    /// How many lines it has without its tests.
    pub(crate) fn program_lines(&self) -> usize {
        let all = self.tokens();
        let lines = |(from, to): (usize, usize)| all[to - 1].line - all[from].line + 1;
        let tests: usize = test_items(&all).into_iter().map(lines).sum();
        if self.is_test { 0 } else { self.text.lines().count() - tests }
    }

    /// The names of the files, without `.rs`, that this one declares as test modules.
    fn test_files(&self) -> Vec<String> {
        let all = self.tokens();
        let folder = ["src"].into_iter().chain(self.module()).collect::<Vec<_>>().join("/");
        let ends = test_items(&all).into_iter().map(|(from, to)| &all[from..to]);
        let names = ends.filter_map(|item| match item {
            [.., keyword, name, end] if keyword.text == "mod" && end.text == ";" => Some(name.text),
            _ => None,
        });
        names.map(|name| format!("{folder}/{name}")).collect()
    }
}

/// Tells the sources which of them are test modules as a whole.
pub(crate) fn with_tests_marked(mut sources: Vec<Source>) -> Vec<Source> {
    let tests: Vec<String> = sources.iter().flat_map(Source::test_files).collect();
    for source in &mut sources {
        let below = |test: &String| source.name.strip_prefix(test.as_str());
        source.is_test = tests.iter().filter_map(below).any(|rest| rest.starts_with(['.', '/']));
    }
    sources
}

/// Every item under `#[cfg(test)]`, as ranges of tokens that include the attribute.
fn test_items(all: &[Token<'_>]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for at in 0..all.len() {
        let inside_one = found.last().is_some_and(|(_, to)| at < *to);
        if !inside_one && is_test_attribute(&all[at..]) {
            found.push((at, item_end(all, at)));
        }
    }
    found
}

fn is_test_attribute(rest: &[Token<'_>]) -> bool {
    let words = rest.iter().take_while(|token| token.text != "]").map(|token| token.text);
    let words: Vec<&str> = words.collect();
    words.starts_with(&["#", "[", "cfg", "("]) && words.contains(&"test") && !words.contains(&"not")
}

/// Behind the `;` or the `}` that ends the item whose attributes begin at `from`.
fn item_end(all: &[Token<'_>], from: usize) -> usize {
    let mut depth = 0;
    for (at, token) in all.iter().enumerate().skip(from) {
        match token.text {
            "(" | "[" | "{" => depth += 1,
            ")" | "]" | "}" => depth -= 1,
            _ => {}
        }
        if depth == 0 && matches!(token.text, ";" | "}") {
            return at + 1;
        }
    }
    all.len()
}

/// Every file below `folder`, sorted, except in folders that `skip` names.
pub(crate) fn files(folder: &Path, skip: &dyn Fn(&str) -> bool) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    let kept = paths.into_iter().filter(|path| !skip(&path.file_name().unwrap().to_string_lossy()));
    kept.flat_map(|path| if path.is_dir() { files(&path, skip) } else { vec![path] }).collect()
}

mod tests {
    use super::*;

    fn words(source: &Source) -> Vec<&str> {
        source.program().into_iter().map(|token| token.text).collect()
    }

    #[test]
    fn a_file_knows_its_room_and_its_module() {
        let of = |name: &str| {
            let source = Source::new(name, "");
            (source.room().to_owned(), source.module().join("::"))
        };
        assert_eq!(of("src/sky/passes/mod.rs"), ("sky".into(), "sky::passes".into()));
        assert_eq!(of("src/store.rs"), ("store".into(), "store".into()));
        assert_eq!(of("src/lib.rs"), ("lib".into(), String::new()));
        assert_eq!(of("src/main.rs"), ("main".into(), String::new()));
    }

    #[test]
    fn tests_are_no_part_of_the_program() {
        let source = Source::new(
            "src/a.rs",
            "b\n#[cfg(test)]\n#[allow(x)]\nmod tests {\n{ c }\n}\n#[cfg(not(test))] d\n#[cfg(test)] use e; f",
        );
        assert_eq!(words(&source), ["b", "#", "[", "cfg", "(", "not", "(", "test", ")", ")", "]", "d", "f"]);
        assert_eq!(source.program_lines(), 2);
    }

    #[test]
    fn a_test_module_in_a_file_of_its_own_is_no_part_either() {
        let parent = Source::new("src/a/mod.rs", "#[cfg(test)]\nmod tests;\nmod b;");
        let others =
            ["src/a/tests.rs", "src/a/tests/more.rs", "src/a/b.rs"].map(|name| Source::new(name, "c"));
        let all = with_tests_marked([vec![parent], others.into()].concat());
        let kept: Vec<usize> = all.iter().map(|source| source.program().len()).collect();
        assert_eq!(kept, [3, 0, 0, 1]);
    }
}
