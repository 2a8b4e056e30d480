//! What a file may hold.

use super::paths::paths;
use super::source::Source;

/// The rooms that are functions of their arguments.
const PURE: [&str; 10] =
    ["terms", "sky", "link", "beam", "agenda", "card", "guide", "listening", "contacts", "session"];

/// Paths that begin like this reach the world outside.
const OUTSIDE: [&str; 8] =
    ["std::fs", "std::net", "std::thread", "std::io", "std::env", "std::process", "tokio", "tracing"];

/// Paths that end like this read a clock.
const CLOCKS: [&str; 4] = ["SystemTime::now", "Instant::now", "Utc::now", "Local::now"];

/// The one file that may hold `unsafe`.
const KERNEL: &str = "src/clock/kernel.rs";

/// The most lines of a file, its tests not counted.
const LONGEST: usize = 600;

/// I/O, logging and clocks in a pure room.
pub(crate) fn impure(source: &Source) -> Vec<String> {
    if !PURE.contains(&source.room()) {
        return Vec::new();
    }
    let outside = |path: &str| OUTSIDE.iter().any(|o| path == *o || path.starts_with(&format!("{o}::")));
    let reads_clock = |path: &str| CLOCKS.iter().any(|c| path == *c || path.ends_with(&format!("::{c}")));
    let prints = |path: &str| matches!(path, "print" | "println" | "eprint" | "eprintln" | "dbg");
    let program = source.program();
    let named = paths(&program).into_iter().map(|path| (path.words.join("::"), path.line));
    let found = named.filter(|(path, _)| outside(path) || reads_clock(path) || prints(path));
    found.map(|(path, line)| format!("{}:{line}: {path} in a pure room", source.name)).collect()
}

/// `unsafe` where it may not be.
pub(crate) fn unsafe_code(source: &Source) -> Vec<String> {
    let tokens = source.tokens();
    let found = tokens.iter().filter(|token| token.text == "unsafe" && source.name != KERNEL);
    found.map(|token| format!("{}:{}: unsafe", source.name, token.line)).collect()
}

/// Ways to end the program by surprise. The linter sees types and so sees more; this sees what an
/// `allow` hides from it. A method of our own may be called `expect` if it takes no message.
pub(crate) fn panics(source: &Source) -> Vec<String> {
    let program = source.program();
    let text = |at: usize| program.get(at).map_or("", |token| token.text);
    let surprises = |at: usize| match (text(at), text(at + 1), text(at + 2)) {
        (".", "unwrap" | "unwrap_err", "(") | ("::", "unwrap" | "expect", _) => true,
        (".", "expect" | "expect_err", "(") => text(at + 3).starts_with(['"', '&']),
        (_, "panic" | "todo" | "unimplemented", "!") => true,
        _ => false,
    };
    let found = (0..program.len()).filter(|at| surprises(*at)).map(|at| program[at + 1]);
    found.map(|token| format!("{}:{}: {}", source.name, token.line, token.text)).collect()
}

/// A file that should be two.
pub(crate) fn too_long(source: &Source) -> Option<String> {
    let lines = source.program_lines();
    (lines > LONGEST).then(|| format!("{}: {lines} lines without its tests, over {LONGEST}", source.name))
}

mod tests {
    use super::*;

    fn seen(check: impl Fn(&Source) -> Vec<String>, name: &str, text: &str) -> bool {
        !check(&Source::new(name, text)).is_empty()
    }

    #[test]
    fn the_world_outside_is_seen_in_a_pure_room_only() {
        for text in [
            "use std::fs::File;",
            "use std::{fmt, thread};",
            "std::io::stdout()",
            "tokio::spawn(a)",
            "tracing::info!()",
            "let a = std::time::Instant::now();",
            "let a = Utc::now();",
            "println!()",
        ] {
            assert!(seen(impure, "src/sky/a.rs", text), "{text}");
            assert!(!seen(impure, "src/daemon/a.rs", text), "{text}");
            assert!(!seen(impure, "src/sky/a.rs", &format!("#[cfg(test)] mod tests {{ {text} }}")), "{text}");
        }
        for text in ["use std::{fmt, f64};", "// std::fs", "fn now() {}", "now::Instant", "tokio_like::a"] {
            assert!(!seen(impure, "src/sky/a.rs", text), "{text}");
        }
    }

    #[test]
    fn unsafe_is_seen_everywhere_but_in_its_one_file() {
        let text = "#[cfg(test)] mod tests { fn a() { unsafe { b() } } }";
        assert!(seen(unsafe_code, "src/sky/a.rs", text));
        assert!(!seen(unsafe_code, KERNEL, text));
        assert!(!seen(unsafe_code, "src/sky/a.rs", "#![deny(unsafe_code)] // unsafe\n\"unsafe\""));
    }

    #[test]
    fn panics_are_seen_outside_tests() {
        for text in [
            "a.unwrap();",
            "a\n.expect(\"b\")",
            "a.expect(&b)",
            "a.map(Option::unwrap);",
            "panic!()",
            "{ todo!() }",
        ] {
            let text = format!("fn a() {{ {text} }}");
            assert!(seen(panics, "src/a.rs", &text), "{text}");
            assert!(!seen(panics, "src/a.rs", &format!("#[cfg(test)] mod b {{ {text} }}")), "{text}");
        }
        for text in ["a.unwrap_or(0)", "a.expect(1)", "fn expect(a: u8) {}", "std::panic::catch_unwind(a)"] {
            assert!(!seen(panics, "src/a.rs", text), "{text}");
        }
    }

    #[test]
    fn a_files_length_is_that_of_its_program() {
        let program = "a\n".repeat(LONGEST);
        let tests = format!("#[cfg(test)]\nmod tests {{\n{program}}}\n");
        assert_eq!(too_long(&Source::new("src/a.rs", &format!("{program}{tests}"))), None);
        assert!(too_long(&Source::new("src/a.rs", &format!("{program}b\n{tests}"))).is_some());
    }
}
