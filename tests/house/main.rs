//! Holds the architecture: the arrows between the rooms, the pure rooms' purity, and what a file
//! may hold. The checks read the sources as text; each is shown able to fail beside its code.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

mod arrows;
mod lexer;
mod paths;
mod places;
mod rules;
mod source;

use std::collections::BTreeSet;
use std::path::Path;

use arrows::{Arrow, TABLE};
use source::{Source, files, with_tests_marked};

fn project() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn name_of(file: &Path) -> String {
    file.strip_prefix(project()).unwrap().to_string_lossy().replace('\\', "/")
}

fn house() -> Vec<Source> {
    let sources = files(&project().join("src"), &|_| false).into_iter().map(|file| {
        let text = std::fs::read_to_string(&file).unwrap();
        Source::new(&name_of(&file), &text)
    });
    with_tests_marked(sources.collect())
}

fn all_arrows() -> Vec<Arrow> {
    house().iter().flat_map(arrows::arrows).collect()
}

#[track_caller]
fn assert_none(found: impl IntoIterator<Item = String>) {
    let found: Vec<String> = found.into_iter().collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn every_import_between_rooms_runs_downward() {
    let arrows = all_arrows();
    for known in [("link", "sky"), ("beam", "terms"), ("config", "clock")] {
        assert!(arrows.iter().any(|arrow| (arrow.from.as_str(), arrow.to.as_str()) == known), "{known:?}");
    }
    assert_none(arrows.iter().filter_map(arrows::forbidden));
}

#[test]
fn no_imports_run_in_a_circle() {
    let drawn = all_arrows().into_iter().map(|arrow| (arrow.from, arrow.to)).collect();
    assert_none(arrows::circle(&drawn));
    let pair = |from: &str, to: &str| (from.to_owned(), to.to_owned());
    let allowed = TABLE.iter().flat_map(|(from, to)| to.iter().map(|to| pair(from, to)));
    assert_none(arrows::circle(&allowed.collect::<BTreeSet<_>>()));
}

#[test]
fn every_room_is_in_the_table() {
    let rooms: BTreeSet<String> = house().iter().map(|source| source.room().to_owned()).collect();
    let known = |room: &String| TABLE.iter().any(|(known, _)| known == room);
    assert_none(rooms.into_iter().filter(|room| !known(room) && !matches!(room.as_str(), "lib" | "main")));
}

#[test]
fn the_contributors_page_shows_the_same_table() {
    let page = std::fs::read_to_string(project().join("DEVELOPERS.md")).unwrap();
    let row = |(room, allowed): &(&str, &[&str])| {
        let names: Vec<String> = allowed.iter().map(|to| format!("`{to}`")).collect();
        format!("| `{room}` | {} |", if names.is_empty() { "-".into() } else { names.join(", ") })
    };
    assert_none(TABLE.iter().map(row).filter(|row| !page.contains(row)));
}

#[test]
fn pure_rooms_do_no_io_read_no_clock_and_log_nothing() {
    assert_none(house().iter().flat_map(rules::impure));
}

#[test]
fn unsafe_code_stays_in_its_one_file() {
    assert_none(house().iter().flat_map(rules::unsafe_code));
}

#[test]
fn nothing_unwraps_or_panics_outside_tests() {
    assert_none(house().iter().flat_map(rules::panics));
}

#[test]
fn files_are_short() {
    assert_none(house().iter().filter_map(rules::too_long));
}

#[test]
fn no_file_names_a_private_place() {
    let skip = |name: &str| name == "target" || (name.starts_with('.') && name != ".ci");
    let found = files(project(), &skip).into_iter().flat_map(|file| {
        let bytes = std::fs::read(&file).unwrap();
        places::private_places(&name_of(&file), &String::from_utf8_lossy(&bytes))
    });
    assert_none(found);
}
