//! The file of the Earth's orientation.

use std::path::Path;
use std::sync::Arc;

use super::text_file::{ELEMENTS_LIMIT, read_text};
use crate::sky::EarthOrientation;

/// Reads the file.
///
/// # Errors
/// In words, and what is done instead: nobody needs the file to work a pass.
pub fn load_earth_orientation(file: &Path) -> Result<Arc<EarthOrientation>, String> {
    let text = read_text(file, ELEMENTS_LIMIT).map_err(|error| error.to_string());
    let read = text.and_then(|text| EarthOrientation::parse(&text).map_err(|error| error.to_string()));
    read.map(Arc::new).map_err(|reason| {
        format!("{}: {reason}; the Earth is taken to turn evenly (UT1 = UTC)", file.display())
    })
}
