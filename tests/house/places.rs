//! Somebody's own folders have no place in the project.

/// Top folders under which people and build machines keep their work.
const PRIVATE: [&str; 6] = ["home", "Users", "root", "work", "workspace", "builds"];

/// A made-up user for tests and examples.
const NOBODY: &str = "u";

/// Every line of `text` that names an absolute path below one of the private folders.
pub(crate) fn private_places(name: &str, text: &str) -> Vec<String> {
    let lines = text.lines().enumerate().filter(|(_, line)| PRIVATE.iter().any(|top| names(line, top)));
    lines.map(|(at, line)| format!("{name}:{}: {}", at + 1, line.trim())).collect()
}

fn names(line: &str, top: &str) -> bool {
    let folder = format!("/{top}/");
    line.match_indices(&folder).any(|(at, _)| {
        // `a/home/b` and `~/home/b` are not absolute.
        let absolute = !line[..at].ends_with(|c: char| c.is_alphanumeric() || "~._-})/".contains(c));
        let rest = &line[at + folder.len()..];
        let owner = rest.split(|c: char| !c.is_alphanumeric()).next().unwrap_or(rest);
        absolute && !owner.is_empty() && owner != NOBODY
    })
}

mod tests {
    use super::*;

    #[test]
    fn a_private_place_is_reported_with_its_line() {
        // Put together here, so that this file does not name one.
        for top in PRIVATE {
            let text = format!("a\nsee \"/{top}/someone/beamhand\"");
            assert_eq!(private_places("README.md", &text).len(), 1, "{top}");
            assert!(private_places("README.md", &text)[0].starts_with("README.md:2: "), "{top}");
        }
    }

    #[test]
    fn relative_and_made_up_places_are_fine() {
        for text in
            ["src/home/a.rs", "~/home/a", "$HOME/home/a", "/home/u/.config", "/etc/beamhand", "/home/"]
        {
            assert!(private_places("a", text).is_empty(), "{text}");
        }
    }
}
