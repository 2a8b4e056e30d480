//! Writes the seeds of the wire families from the captures, and those of what was heard:
//! `cargo run --bin seeds`, in `fuzz`.

#[allow(dead_code)]
#[path = "../../../tests/wire/capture.rs"]
mod capture;

use std::fs;
use std::path::Path;

use beamhand::device::dialect::Dialect;
use beamhand::listening::{Reading, Sight, Spell, form};
use beamhand::terms::{Hertz, Time, Validity, later};
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
    heard(&here.join("seeds/heard"))?;
    Ok(())
}

/// A file of two spells, and what stands in the block of each.
fn heard(to: &Path) -> std::io::Result<()> {
    fs::create_dir_all(to)?;
    let pass = Validity { from: Time::UNIX_EPOCH, until: later(Time::UNIX_EPOCH, 600.0) };
    let reading = |at: u16| Reading {
        at: later(Time::UNIX_EPOCH, f64::from(at) * 0.2),
        shift_hz: f32::from(at / 8) * -500.0,
        meter: (at % 5 > 0).then_some(at * 37 % 11),
        is_open: (at % 7 > 0).then_some(at > 20),
        sight: Sight {
            azimuth_deg: (f32::from(at) * 11.0) % 360.0,
            elevation_deg: f32::from(at) - 5.0,
            range_km: 1500.0 - f32::from(at) * f32::from(at),
            is_sunlit: at < 30,
        },
    };
    let spell = Spell {
        satellite: "GANNET-1".to_owned(),
        link: "repeater".to_owned(),
        antenna: "attic".to_owned(),
        downlink: Hertz(435_500_000),
        pass: Some(pass),
        others: vec![("FULMAR-3".to_owned(), pass)],
        readings: (0..40).map(reading).collect(),
    };
    let (others, readings) = (Vec::new(), spell.readings[..3].to_vec());
    let nothing = Spell { antenna: String::new(), pass: None, others, readings, ..spell.clone() };
    let blocks = [form::write(&spell), form::write(&nothing)];
    fs::write(to.join("two-spells"), blocks.concat())?;
    // Mark, length and checksum are twelve bytes.
    fs::write(to.join("pass"), &blocks[0][12..])?;
    fs::write(to.join("nothing"), &blocks[1][12..])
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
