//! What a configuration means, in words for people.

use std::fmt::Write as _;
use std::path::Path;

use super::agenda::Listed;
use super::equipment::{Line, Radio, Rotator};
use super::settings::{Config, Record};
use crate::device::line::Raise;
use crate::device::{Approach, ByHand, ByMode, Correction, Use};
use crate::terms::{AngleRange, AzEl, Direction, NoGo};

impl Config {
    /// What will be used, as plain text of short lines.
    pub fn describe(&self) -> String {
        let mut text = String::new();
        let mut line = |name: &str, what: String| {
            // Writing to a String can't fail.
            let _ = writeln!(text, "{name:<12} {what}");
        };
        line("station", self.describe_station());
        line("", format!("passes above {} degrees", self.station.minimum_elevation));
        if let Some(horizon) = &self.station.horizon {
            let (lowest, highest) = (horizon.lowest_deg(), horizon.highest_deg());
            let corners = horizon.corners();
            line("", format!("own horizon, {lowest} to {highest} degrees high, by {corners} corners"));
        }
        for path in &self.files.elements {
            line("elements", path.display().to_string());
        }
        for source in &self.sources {
            line("", format!("{}, {}", source.name, source.url));
        }
        if let Some(file) = &self.files.earth_orientation {
            line("earth", file.display().to_string());
        }
        line("satellites", self.files.satellites.display().to_string());
        line("state", self.files.state.display().to_string());
        if let Some(log) = &self.contact_log {
            line("contacts", log.display().to_string());
        }
        line("control", self.describe_control());
        line("clock", self.describe_clock());
        line("session", self.describe_session());
        line("record", self.describe_record());
        for (i, what) in self.describe_agenda().into_iter().enumerate() {
            line(if i == 0 { "agenda" } else { "" }, what);
        }
        for (i, what) in self.describe_listening().into_iter().enumerate() {
            line(if i == 0 { "listening" } else { "" }, what);
        }
        for (i, what) in self.describe_transmit().into_iter().enumerate() {
            line(if i == 0 { "transmit" } else { "" }, what);
        }
        for (name, lines) in self.describe_equipment() {
            for (i, what) in lines.into_iter().enumerate() {
                line(if i == 0 { name } else { "" }, what);
            }
        }
        text
    }

    /// Everything that is allowed but deserves a second look; one line each.
    pub fn warnings(&self) -> Vec<String> {
        let raised = self.lines().filter(|(_, line)| line.raise.any()).map(|(name, line)| {
            let lines = lines_of(line.raise);
            format!("{name}: {lines} will be high; whatever keys a transmitter by it will transmit")
        });
        let transmits = |radio: &&Radio| radio.uses != Use::Receive && self.transmit.is_empty();
        let untouched = self.radios.iter().filter(transmits).map(|radio| {
            format!("{}: no [transmit] segments are given, so its transmitter is left alone", radio.name)
        });
        let unnamed = self.lines().filter(|(_, line)| is_placeholder(&line.port)).map(|(name, line)| {
            let port = line.port.display();
            format!("{name}: its port {port} is still the example's: see `beamhand ports`")
        });
        let guessed = self.rotator.iter().flat_map(unmeasured);
        let example = self.example_station().into_iter();
        example.chain(raised).chain(untouched).chain(unnamed).chain(guessed).collect()
    }

    /// Whether the station is still the one that the shipped file shows.
    fn example_station(&self) -> Option<String> {
        let at = self.station.position;
        let there = (at.latitude_deg(), at.longitude_deg()) == (54.0, -2.5);
        let unedited = there && self.station.callsign.as_deref() == Some("Q0HILL");
        unedited.then(|| {
            "station: Q0HILL at 54 N, 2.5 W is the example: put your own place in [station], or every angle \
             is wrong"
                .to_owned()
        })
    }

    fn describe_station(&self) -> String {
        let station = &self.station;
        let callsign = station.callsign.as_deref().unwrap_or("without callsign");
        let short = |degrees: f64| (degrees * 1e4).round() / 1e4;
        let latitude = short(station.position.latitude_deg());
        let longitude = short(station.position.longitude_deg());
        let place = format!(
            "{} {}, {} {}",
            latitude.abs(),
            if latitude < 0.0 { "S" } else { "N" },
            longitude.abs(),
            if longitude < 0.0 { "W" } else { "E" }
        );
        let size = station.locator.as_ref().map_or(String::new(), |locator| {
            format!(" (the middle of {locator}, good to {:.1} km)", locator.uncertainty_km())
        });
        format!("{callsign}, {place}, {} m{size}", station.position.altitude_m())
    }

    fn describe_control(&self) -> String {
        let group = self.control.group.as_ref().map_or(String::new(), |group| format!(", group {group}"));
        format!("{} (mode {:04o}{group})", self.control.socket.display(), self.control.mode)
    }

    fn describe_clock(&self) -> String {
        if self.clock.always {
            return "trusted whatever the system says of it".into();
        }
        format!(
            "up to {} s of error; without a time service {:.1} s more each day",
            self.clock.error_limit_s,
            self.clock.drift * 86_400.0
        )
    }

    fn describe_record(&self) -> String {
        let Record { enabled, session_mb, total_mb } = self.record;
        match enabled {
            true => format!("each session is recorded: {session_mb} MB at most, {total_mb} MB in all"),
            false => "no session is recorded".to_owned(),
        }
    }

    fn describe_session(&self) -> String {
        let park = if self.session.park_after { "park after LOS" } else { "stay after LOS" };
        let restore = if self.session.restore_radio { "restore the radio" } else { "leave the radio" };
        format!("prepare {} s before AOS, {park}, {restore}", self.session.prepare_before_s)
    }

    /// One line a link, in the order of priority.
    fn describe_agenda(&self) -> Vec<String> {
        let listed = &self.agenda.satellites;
        let before = std::iter::once(None).chain(listed.iter().map(|one| Some(one.rank)));
        let mut lines: Vec<String> = before.zip(listed).map(|(rank, one)| in_turn(rank, one)).collect();
        if lines.is_empty() {
            return vec!["nothing".to_owned()];
        }
        lines.extend(self.agenda.terms());
        lines
    }

    /// The links, and how they are listened to.
    fn describe_listening(&self) -> Vec<String> {
        let listed = &self.listening.satellites;
        if listed.is_empty() {
            return vec!["to nothing".to_owned()];
        }
        let mut lines: Vec<String> = listed.iter().map(|one| in_turn(None, one)).collect();
        lines.extend(self.listening.terms());
        lines
    }

    fn describe_transmit(&self) -> Vec<String> {
        if self.transmit.is_empty() {
            return vec!["no segments: receive only".into()];
        }
        self.transmit.iter().map(|segment| format!("{} to {}", segment.from, segment.to)).collect()
    }

    fn describe_equipment(&self) -> Vec<(&'static str, Vec<String>)> {
        let mut devices: Vec<(&'static str, Vec<String>)> =
            self.radios.iter().map(|radio| ("radio", describe_radio(radio))).collect();
        if devices.is_empty() {
            devices.push(("radio", vec!["none".into()]));
        }
        devices.push(("rotator", self.rotator.as_ref().map_or(vec!["none".into()], describe_rotator)));
        devices
    }
}

/// Whether a port's name is still one that the shipped file shows.
pub fn is_placeholder(port: &Path) -> bool {
    port.file_name().is_some_and(|name| name.to_string_lossy().starts_with("YOUR-"))
}

/// A link of the agenda after one of that rank.
fn in_turn(rank: Option<usize>, one: &Listed) -> String {
    let turn = match rank {
        None => "",
        Some(rank) if rank == one.rank => "or ",
        Some(_) => "then ",
    };
    let link = one.link.as_ref().map_or(String::new(), |link| format!(" {link}"));
    format!("{turn}{}{link}", one.satellite)
}

fn describe_radio(radio: &Radio) -> Vec<String> {
    let serves = radio.uses.name();
    let mut lines = vec![
        format!("{}, {}, for {serves}", radio.name, radio.line.dialect.name()),
        connection(&radio.line, radio.address),
    ];
    lines.extend(language(&radio.line));
    lines.extend(by_mode(radio.step).map(|steps| format!("step {steps}")));
    lines.extend(by_mode(radio.worthwhile).map(|least| format!("tuned when due: {least} or more")));
    lines.extend(Direction::BOTH.into_iter().filter_map(|direction| {
        let Correction { ppm, hz } = radio.calibration.of(direction);
        (ppm != 0.0 || hz.0 != 0).then(|| format!("{direction} calibration {ppm:+} ppm and {:+} Hz", hz.0))
    }));
    lines.extend(radio.hold_uplink.then(|| "its uplink is held while it transmits".to_owned()));
    lines.extend(raised(radio.line.raise));
    lines
}

/// `10 Hz`, or `fm 5000 Hz, ssb 10 Hz`.
fn by_mode(given: ByMode) -> Option<String> {
    let least = given.least()?;
    if given == ByMode::all(least) {
        return Some(format!("{} Hz", least.0));
    }
    let each: Vec<String> = given.iter().map(|(mode, hertz)| format!("{mode} {} Hz", hertz.0)).collect();
    Some(each.join(", "))
}

fn describe_rotator(rotator: &Rotator) -> Vec<String> {
    let range = |name, limits: AngleRange| format!("{name} {} to {}", limits.from, limits.to);
    let elevation = rotator.elevation.map_or("no elevation".into(), |limits| range("elevation", limits));
    let mut lines = vec![
        format!("{}, {}", rotator.name, rotator.line.dialect.name()),
        connection(&rotator.line, None),
        format!("{}, {elevation} degrees", range("azimuth", rotator.azimuth)),
        speed(rotator),
        starts(rotator),
        format!("parks at {} {}", rotator.park.azimuth, rotator.park.elevation),
        format!("beam {} degrees wide, moved when {} are due", rotator.beam_width, rotator.worthwhile_deg()),
    ];
    lines.extend(rotator.no_go.iter().map(|NoGo { azimuth, elevation }| {
        format!("never at {}, {}", range("azimuth", *azimuth), range("elevation", *elevation))
    }));
    if rotator.offset != AzEl::ZERO {
        let AzEl { azimuth, elevation } = rotator.offset;
        lines.push(format!(
            "true azimuth and elevation are {azimuth:+} and {elevation:+} from its controller's"
        ));
    }
    if rotator.lean.degrees > 0.0 {
        lines.push(format!(
            "its mast leans by {} degrees towards {}",
            rotator.lean.degrees, rotator.lean.towards
        ));
    }
    lines.extend(rotator.approach.map(|Approach { clockwise, play }| {
        let side = if clockwise { "clockwise" } else { "counter-clockwise" };
        format!("approached {side}, for {play} degrees of play")
    }));
    lines.push(match rotator.by_hand {
        ByHand::Follow => "goes back to its plan when it was turned by hand".into(),
        ByHand::HandOver => "left to you when it was turned by hand".into(),
    });
    lines.extend(language(&rotator.line));
    lines.extend(raised(rotator.line.raise));
    lines
}

/// How fast it turns; one that only turns does not tilt.
fn speed(rotator: &Rotator) -> String {
    let AzEl { azimuth, elevation } = rotator.slew;
    let tilts = rotator.elevation.map_or(String::new(), |_| format!(" and tilts {elevation}"));
    format!("turns {azimuth}{tilts} degrees per second")
}

/// How soon it is at its speed.
fn starts(rotator: &Rotator) -> String {
    let tilts = rotator.elevation.map_or(0.0, |_| rotator.slew.elevation / rotator.acceleration.elevation);
    let takes = (rotator.slew.azimuth / rotator.acceleration.azimuth).max(tilts);
    format!("at its speed within {takes:.1} s")
}

/// What of a mount nobody has measured: its passes are planned and judged by it.
fn unmeasured(rotator: &Rotator) -> Vec<String> {
    let name = &rotator.name;
    let AzEl { azimuth, elevation } = rotator.slew;
    let degrees = if rotator.elevation.is_some() {
        format!("{azimuth} and {elevation} degrees per second are")
    } else {
        format!("{azimuth} degrees per second is")
    };
    let slew = rotator.slew_is_default.then(|| {
        format!("{name}: {degrees} only the usual slew_deg_s: time how long yours takes for a known turn")
    });
    let beam = rotator.beam_width_is_default.then(|| {
        let width = rotator.beam_width;
        format!("{name}: {width} degrees is only the usual beam_width: take your antenna's from its data")
    });
    slew.into_iter().chain(beam).collect()
}

/// Where a dialect of the user's own comes from.
fn language(line: &Line) -> Option<String> {
    let file = line.dialect_file.as_ref()?.display();
    let root = line.dialect.root().map_or(String::new(), |root| format!(", built on the built-in {root}"));
    Some(format!("{} is your own, {file}{root}", line.dialect.name()))
}

fn connection(line: &Line, address: Option<u8>) -> String {
    let baud = line.baud.map_or(String::new(), |baud| format!(", {baud} baud"));
    let address = address.map_or(String::new(), |address| format!(", address {address:#04x}"));
    format!("on {}{baud}{address}", line.port.display())
}

fn raised(raise: Raise) -> Option<String> {
    raise.any().then(|| format!("{} raised", lines_of(raise)))
}

fn lines_of(raise: Raise) -> &'static str {
    match (raise.dtr, raise.rts) {
        (true, true) => "DTR and RTS",
        (true, false) => "DTR",
        (false, true) => "RTS",
        (false, false) => "no line",
    }
}
