//! Writes the seeds of the wire families from the captures: `cargo run --bin seeds`, in `fuzz`.

#[allow(dead_code)]
#[path = "../../../tests/wire/capture.rs"]
mod capture;

use std::fs;
use std::path::Path;

use beamhand::device::dialect::Dialect;
use beamhand_fuzz::index_of;
use capture::{Capture, Line};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    for name in Dialect::names() {
        let Some(dialect) = Dialect::builtin(name) else { continue };
        let family = dialect.family().name();
        let to = here.join("seeds").join(family.replace('-', "_"));
        fs::create_dir_all(&to)?;
        for entry in fs::read_dir(here.join("../tests/captures").join(name))? {
            let path = entry?.path();
            let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
            let capture = Capture::read(name, &fs::read_to_string(&path)?)?;
            fs::write(to.join(format!("{name}-{stem}")), seed(&capture, family))?;
        }
    }
    Ok(())
}

/// The capture as `converse` takes it.
fn seed(capture: &Capture, family: &str) -> Vec<u8> {
    let mut seed = Vec::new();
    for (_, line) in &capture.lines {
        match line {
            Line::Begin { verb, .. } => {
                let index = index_of(family, capture.dialect.name(), verb).unwrap_or_default();
                if !seed.is_empty() {
                    seed.push(255);
                }
                seed.push(index);
            }
            Line::Trouble => seed.push(254),
            Line::Came(_, bytes) => {
                if seed.is_empty() {
                    seed.push(0);
                }
                seed.push(bytes.len() as u8);
                seed.extend(bytes);
            }
            _ => {}
        }
    }
    seed
}
