//! The embedded demo: an invented club station and invented satellites.

use std::path::Path;

use super::dialects::Dialects;
use super::document::read_document;
use super::errors::ConfigErrors;
use super::paths::DefaultPaths;
use super::satellites::parse_satellites;
use super::sections;
use super::settings::Config;
use crate::link::Satellite;

/// The demo's configuration, as TOML.
pub const DEMO_CONFIG: &str = include_str!("../../config/demo/beamhand.toml");
/// The demo's element sets.
pub const DEMO_ELEMENTS: &str = include_str!("../../config/demo/elements.txt");
/// The demo's satellites, as TOML.
pub const DEMO_SATELLITES: &str = include_str!("../../config/demo/satellites.toml");

impl Config {
    /// The demo's configuration.
    ///
    /// # Errors
    /// None in a build that passed its tests.
    pub fn demo() -> Result<Self, ConfigErrors> {
        let (file, paths) = (Path::new("demo/beamhand.toml"), DefaultPaths::system());
        // It is embedded: no folder on this computer belongs to it.
        let none = |_: &Path| Ok(Dialects::built_in());
        let mut demo =
            read_document(file, DEMO_CONFIG, |root| sections::config(root, file, &paths, Some(&none)))?;
        demo.texts.configuration = DEMO_CONFIG.into();
        Ok(demo)
    }
}

/// The demo's satellites.
///
/// # Errors
/// None in a build that passed its tests.
pub fn demo_satellites() -> Result<Vec<Satellite>, ConfigErrors> {
    parse_satellites(Path::new("demo/satellites.toml"), DEMO_SATELLITES)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::{ByMode, Use};
    use crate::link::LinkKind;
    use crate::terms::{Hertz, Tone};

    #[test]
    fn the_demo_is_a_duplex_radio_and_a_mount_that_flips() {
        let demo = Config::demo().unwrap();
        assert_eq!(demo.station.callsign.as_deref(), Some("Q0HILL"));
        let radio = &demo.radios[0];
        assert_eq!((radio.uses, radio.step), (Use::Both, ByMode::all(Hertz(10))));
        assert_eq!(radio.line.dialect.name(), "semicolon-eleven");
        let rotator = demo.rotator.unwrap();
        assert_eq!((rotator.azimuth.to, rotator.elevation.unwrap().to), (450.0, 180.0));
    }

    #[test]
    fn the_demos_repeater_can_be_transmitted_to_with_the_demos_licence() {
        let demo = Config::demo().unwrap();
        let satellites = demo_satellites().unwrap();
        let gannet = satellites.iter().find(|satellite| satellite.catalog_number == 99002).unwrap();
        let repeater = &gannet.links[0];
        let uplink = repeater.uplink.unwrap();
        assert_eq!(repeater.kind, LinkKind::FmRepeater);
        assert_eq!(uplink.access_tone, Some(Tone::from_tenths(670).unwrap()));
        assert!(demo.transmit.allow(uplink.hertz));
    }

    // IARU Region 1 band plans (from memory): the amateur-satellite segments.
    #[test]
    fn everything_in_the_demo_is_invented_and_inside_the_satellite_segments() {
        let in_segment = |f: Hertz| {
            (145_800_000..=146_000_000).contains(&f.0) || (435_000_000..=438_000_000).contains(&f.0)
        };
        for satellite in demo_satellites().unwrap() {
            assert!((99001..=99999).contains(&satellite.catalog_number), "{}", satellite.name);
            for link in &satellite.links {
                assert!(in_segment(link.downlink), "{} {}", satellite.name, link.name);
                assert!(link.uplink.is_none_or(|uplink| in_segment(uplink.hertz)), "{}", satellite.name);
            }
        }
    }
}
