//! `satellites.toml`: the satellites and their links.

use std::path::Path;

use super::document::kind::{Kind, format, text, whole};
use super::document::{Section, read_document, read_text, refuse_repeated};
use super::errors::ConfigErrors;
use super::sections::link::link;
use crate::link::{Link, Satellite};

/// Reads and checks a file of satellites.
///
/// # Errors
/// Everything that is wrong with it.
pub fn load_satellites(file: &Path) -> Result<Vec<Satellite>, ConfigErrors> {
    let if_missing = "copy the examples (README, step 5), or name another file as `satellites` in [files]";
    parse_satellites(file, &read_text(file, if_missing)?)
}

/// Checks a text as if it were the file's.
///
/// # Errors
/// Everything that is wrong with it.
pub fn parse_satellites(file: &Path, text: &str) -> Result<Vec<Satellite>, ConfigErrors> {
    read_document(file, text, satellites)
}

fn satellites(mut root: Section<'_>) -> Option<Vec<Satellite>> {
    root.required("format", &format());
    let mut heads = root.sections("satellite", "[[satellite]]");
    root.finish();
    let satellites: Vec<Option<Satellite>> = heads.iter_mut().map(satellite).collect();
    refuse_repeated(&heads, &satellites, "name", |satellite| satellite.name.to_lowercase());
    refuse_repeated(&heads, &satellites, "catalog_number", |satellite| satellite.catalog_number);
    satellites.into_iter().collect()
}

fn satellite(satellite: &mut Section<'_>) -> Option<Satellite> {
    let name = satellite.required("name", &text());
    let catalog_number = satellite.required("catalog_number", &catalog_number());
    let exchange_name = satellite.optional("exchange_name", &text());
    let note = satellite.optional("note", &text());
    let mut heads = satellite.sections("link", "[[satellite.link]]");
    satellite.finish();
    let links: Vec<Option<Link>> = heads.iter_mut().map(link).collect();
    refuse_repeated(&heads, &links, "name", |link| link.name.to_lowercase());
    let links = links.into_iter().collect::<Option<Vec<Link>>>();
    Some(Satellite { name: name?, catalog_number: catalog_number?, exchange_name, note, links: links? })
}

fn catalog_number() -> Kind<u32> {
    whole(1..=999_999_999, "")
        .map("a whole number of one to nine digits", |number| u32::try_from(number).ok())
}

#[cfg(test)]
mod tests;
