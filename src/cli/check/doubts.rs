//! What is allowed but deserves a second look, as far as this computer has to be asked for it.

use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};

use crate::clock::Trust;
use crate::config::{Config, ConfigError, Dialects, Listed, is_placeholder, load_earth_orientation};
use crate::daemon::{Catalog, NotInCatalog, deaf_radios};
use crate::link::{Link, LinkKind, Satellite, shift, third_harmonic};
use crate::terms::{Direction, Hertz, Time};

/// Ports that are not there, and two names of one port. `resolve` follows links to the file that
/// a port really is.
pub(super) fn ports(config: &Config, resolve: &dyn Fn(&Path) -> Option<PathBuf>) -> Vec<String> {
    let mut doubts = Vec::new();
    let mut seen: Vec<(&str, &Path, PathBuf)> = Vec::new();
    for (name, line) in config.lines() {
        let Some(real) = resolve(&line.port) else {
            if !is_placeholder(&line.port) {
                doubts.push(format!("{name}: its port {} is not there", line.port.display()));
            }
            continue;
        };
        // What is written alike is a bus, and was checked as one.
        let twin = seen.iter().find(|(_, port, other)| *port != line.port && *other == real);
        if let Some((other, ..)) = twin {
            doubts.push(format!("{name} and {other} are on one port under two names: {}", real.display()));
        }
        seen.push((name, &line.port, real));
    }
    doubts
}

/// Satellites of the agenda that are not known, and programs that can't be started.
pub(super) fn agenda(config: &Config, catalog: &Catalog) -> Vec<String> {
    let unknown = config.agenda.satellites.iter().filter_map(|listed| {
        let found = catalog.satellite(&listed.satellite);
        let link = found.and_then(|satellite| catalog.link(satellite, listed.link.as_deref()));
        Some(format!("{}: agenda: {}", listed.place, link.err()?))
    });
    let programs = config.agenda.commands.iter().filter_map(|command| command.run.first());
    let unusable = programs.filter(|program| !is_program(Path::new(program)));
    unknown
        .chain(unusable.map(|program| format!("agenda: {program} is no program that can be run")))
        .collect()
}

/// Links of the listening list that are not known, are worked anyway, or are off by the satellites file;
/// radios that hear nothing.
pub(super) fn listening(config: &Config, catalog: &Catalog) -> Vec<String> {
    let listed = &config.listening.satellites;
    if listed.is_empty() {
        return Vec::new();
    }
    let found = |one: &Listed| found(catalog, one);
    let name = |one: &Listed| found(one).ok().map(|(satellite, link)| (&satellite.name, &link.name));
    let worked: Vec<_> = config.agenda.satellites.iter().filter_map(name).collect();
    let doubt = |one: &Listed| {
        let (satellite, link) = match found(one) {
            Ok(found) => found,
            Err(why) => return Some(format!("{}: listening: {why}", one.place)),
        };
        let what = format!("listening: {} {}", satellite.name, link.name);
        if worked.contains(&(&satellite.name, &link.name)) {
            return Some(format!("{what} is in [agenda], so it is worked and not listened to"));
        }
        (!link.on.is_empty()).then(|| {
            format!("{what} is off at some hours, says the satellites file; it is listened to all the same")
        })
    };
    let mut doubts: Vec<String> = listed.iter().filter_map(doubt).collect();
    if !config.radios.iter().any(|radio| radio.uses.serves(Direction::Receive)) {
        doubts.push("listening: no radio receives, so nothing is listened to".to_owned());
    }
    doubts.extend(deaf_radios(config).into_iter().map(|why| format!("listening: {why}")));
    doubts
}

fn found<'c>(catalog: &'c Catalog, one: &Listed) -> Result<(&'c Satellite, &'c Link), NotInCatalog> {
    let satellite = catalog.satellite(&one.satellite)?;
    Ok((satellite, catalog.link(satellite, one.link.as_deref())?))
}

fn is_program(path: &Path) -> bool {
    path.metadata().is_ok_and(|file| file.is_file() && file.permissions().mode() & 0o111 != 0)
}

/// Uplinks that no segment holds, where there is a transmitter and a segment at all.
pub(super) fn uplinks(config: &Config, satellites: &[Satellite]) -> Vec<String> {
    if !config.transmits() {
        return Vec::new();
    }
    let doubt = |(satellite, link): (&Satellite, &Link)| {
        let uplink = link.uplink?;
        let shift = if uplink.fixed { 0.0 } else { shift(uplink.hertz.as_f64(), FASTEST_KM_S).abs() };
        let edge = |sign: f64| uplink.hertz + Hertz::rounded(sign * shift);
        let name = format!("{} {}: its uplink, {}", satellite.name, link.name, uplink.hertz);
        if !config.transmit.allow(uplink.hertz) {
            return Some(format!("{name}, is in no [transmit] segment: the transmitter is left alone"));
        }
        let leaves = ![-1.0, 1.0].into_iter().all(|sign| config.transmit.allow(edge(sign)));
        leaves.then(|| {
            format!(
                "{name}, can leave its [transmit] segment by the Doppler shift, up to {:.1} kHz: the \
                 transmitter is left alone there",
                shift / 1e3
            )
        })
    };
    links(satellites).filter_map(doubt).collect()
}

/// A satellite that just stays up goes 7.9 km/s, and none comes nearer or goes away faster on a round
/// orbit (by hand: the root of 398601 / 6378).
const FASTEST_KM_S: f64 = 7.9;

/// Uplinks whose third harmonic falls into the station's own receiver.
pub(super) fn harmonics(config: &Config, satellites: &[Satellite]) -> Vec<String> {
    if !config.transmits() {
        return Vec::new();
    }
    let near =
        links(satellites).filter_map(|(satellite, link)| Some((satellite, link, third_harmonic(link)?)));
    near.map(|(satellite, link, off)| {
        let elsewhere = match link.kind {
            LinkKind::Linear { .. } => "another place in the passband",
            LinkKind::FmRepeater | LinkKind::Beacon => "another link",
        };
        format!(
            "{} {}: three times its uplink is {:.1} kHz from its downlink: while you transmit, your \
             receiver hears your own third harmonic, as noise, your voice or silence, and not the \
             satellite. This is physics, not a fault. What helps: a filter between transmitter and \
             antenna or before the receiver, less power, {elsewhere}",
            satellite.name,
            link.name,
            off.as_f64() / 1e3
        )
    })
    .collect()
}

fn links(satellites: &[Satellite]) -> impl Iterator<Item = (&Satellite, &Link)> {
    satellites.iter().flat_map(|satellite| satellite.links.iter().map(move |link| (satellite, link)))
}

/// Dialects of the user's own that are not in order; no device names them, else they were errors.
pub(super) fn dialects(config: &Config) -> Vec<String> {
    let own = Dialects::in_folder(&config.files.dialects).unwrap_or_else(|_| Dialects::built_in());
    let faulty = |name: &str| own.get(name)?.err();
    let faults = own.own().filter_map(|name| Some((name, faulty(name)?)));
    faults
        .flat_map(|(name, errors)| {
            let told = |error: &ConfigError| format!("dialect {name}, which no device uses: {error}");
            errors.iter().map(told).collect::<Vec<_>>()
        })
        .collect()
}

/// A file of the Earth's orientation that can't be read, or does not reach to now.
pub(super) fn earth(config: &Config, now: Time) -> Option<String> {
    let file = config.files.earth_orientation.as_deref()?;
    let (first, last) = match load_earth_orientation(file) {
        Ok(earth) => earth.span(),
        Err(why) => return Some(why),
    };
    let day = |time: Time| time.format("%-d %b %Y");
    (now < first || now > last).then(|| {
        format!(
            "{}: the Earth's orientation is known from {} to {}, and not now: it is taken to turn evenly (UT1 = \
             UTC); a newer file from the IERS is needed",
            file.display(),
            day(first),
            day(last)
        )
    })
}

/// A clock by which no pass would be started, and what to do.
pub(super) fn clock(trust: &Trust) -> Option<String> {
    let Trust::Untrusted { why } = trust else { return None };
    Some(format!("clock: no pass is started: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::{KernelStatus, TrustPolicy};
    use crate::config::{DefaultPaths, demo_satellites};

    fn config(text: &str) -> Config {
        let text = format!("format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n{text}");
        Config::parse(Path::new("/a.toml"), &text, &DefaultPaths::system()).unwrap()
    }

    fn pair(first: &str, second: &str) -> Config {
        let radio = |name: &str, uses: &str, port: &str| {
            let line = format!("port = \"{port}\"\ndialect = \"fe-frames\"\naddress = 0x4{}", name.len());
            format!("[[radio]]\nname = \"{name}\"\nuse = \"{uses}\"\n{line}\n")
        };
        config(&(radio("a", "receive", first) + &radio("bb", "transmit", second)))
    }

    #[test]
    fn a_port_that_is_not_there_is_named() {
        let doubts = ports(&pair("/dev/a", "/dev/b"), &|port| (port != "/dev/a").then(|| port.to_owned()));
        assert_eq!(doubts, ["a: its port /dev/a is not there"]);
    }

    #[test]
    fn two_names_of_one_port_are_seen_and_a_bus_is_none() {
        let same = |_: &Path| Some(PathBuf::from("/dev/tty0"));
        let doubts = ports(&pair("/dev/a", "/dev/b"), &same);
        assert_eq!(doubts, ["bb and a are on one port under two names: /dev/tty0"]);
        assert_eq!(ports(&pair("/dev/bus", "/dev/bus"), &same), [""; 0]);
    }

    #[test]
    fn an_uplink_outside_every_segment_is_named() {
        let radio = "[[radio]]\nname = \"a\"\nuse = \"both\"\nport = \"/dev/a\"\n\
                     dialect = \"semicolon-eleven\"\n";
        let licence = "[transmit]\nsegments = [{ from = 145_800_000, to = 145_920_000 }]\n";
        let satellites = demo_satellites().unwrap();
        let doubts = uplinks(&config(&format!("{radio}{licence}")), &satellites);
        assert_eq!(doubts.len(), 2, "{doubts:?}");
        assert!(doubts[0].starts_with("GANNET-1 repeater: its uplink, 145.927 000 MHz, is in no"));
        assert!(doubts[1].starts_with("PETREL-1 repeater"), "{doubts:?}");
        // By hand: 145.927 MHz x 7.9 / 299792 = 3.8 kHz.
        let near = "[transmit]\nsegments = [{ from = 145_800_000, to = 145_930_000 }]\n";
        let doubts = uplinks(&config(&format!("{radio}{near}")), &satellites);
        let leaves = "GANNET-1 repeater: its uplink, 145.927 000 MHz, can leave its [transmit] segment by the \
                      Doppler shift, up to 3.8 kHz";
        assert!(doubts[0].starts_with(leaves), "{doubts:?}");
        assert_eq!(uplinks(&config(radio), &satellites), [""; 0]);
        assert_eq!(
            uplinks(&config(&format!("{}{licence}", radio.replace("both", "receive"))), &satellites),
            [""; 0]
        );
    }

    /// By hand: 3 x 145.927 MHz = 437.781 MHz, 31 kHz above 437.750 MHz and within 21.9 + 25 kHz.
    #[test]
    fn an_uplink_whose_third_harmonic_is_heard_comes_with_what_helps() {
        let radio = "[[radio]]\nname = \"a\"\nuse = \"both\"\nport = \"/dev/a\"\n\
                     dialect = \"semicolon-eleven\"\n";
        let licence = "[transmit]\nsegments = [{ from = 145_800_000, to = 146_000_000 }]\n";
        let mut satellites = demo_satellites().unwrap();
        let transmitting = config(&format!("{radio}{licence}"));
        assert_eq!(harmonics(&transmitting, &satellites), [""; 0], "no link of the demo is so");
        satellites[1].links[0].downlink = crate::terms::Hertz(437_750_000);
        let doubts = harmonics(&transmitting, &satellites);
        assert_eq!(doubts.len(), 1, "{doubts:?}");
        let start = "GANNET-1 repeater: three times its uplink is 31.0 kHz from its downlink";
        assert!(doubts[0].starts_with(start) && doubts[0].contains("a filter"), "{doubts:?}");
        assert_eq!(harmonics(&config(radio), &satellites), [""; 0], "nothing is transmitted");
    }

    #[test]
    fn what_is_listened_to_in_vain_is_named() {
        let listed = "[agenda]\nsatellites = [\"GANNET-1\"]\n[listening]\n\
                      satellites = [\"GANNET-1\", \"PETREL-1\", \"AUK-9\", \"FULMAR-1\"]\n";
        let catalog = Catalog::new(demo_satellites().unwrap(), Vec::new());
        let doubts = listening(&config(listed), &catalog);
        assert_eq!(doubts.len(), 4, "{doubts:#?}");
        assert!(doubts[0].contains("GANNET-1 repeater is in [agenda]"), "{doubts:#?}");
        assert!(doubts[1].contains("PETREL-1 repeater is off at some hours"), "{doubts:#?}");
        assert!(doubts[2].contains("AUK-9") && doubts[2].starts_with("/a.toml:"), "{doubts:#?}");
        assert!(doubts[3].contains("no radio receives"), "{doubts:#?}");
        assert_eq!(listening(&config(""), &catalog), [""; 0]);
    }

    #[test]
    fn a_clock_that_is_not_trusted_comes_with_the_remedy_once() {
        let doubt = clock(&TrustPolicy::default().judge(&KernelStatus::Unsynchronised, None)).unwrap();
        assert!(doubt.starts_with("clock: no pass is started: no time service"), "{doubt}");
        for remedy in ["`timedatectl`", "trust = \"always\""] {
            assert_eq!(doubt.matches(remedy).count(), 1, "{doubt}");
        }
        assert_eq!(clock(&Trust::Trusted { error_s: None }), None);
    }
}
