//! The plan of both dials through a pass.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::sky::Track;
use crate::terms::{Channel, Dial, Generation, Hertz, Mode, Plan, Time, Tone, Validity};

use super::{Link, Watch, received, to_arrive_on};

/// What the operator adds to a direction by hand, because a satellite's oscillator is off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Trim {
    /// Added to the downlink.
    pub receive: Hertz,
    /// Added to the uplink.
    pub transmit: Hertz,
}

/// For people: `receive +500 Hz, transmit +0 Hz`.
impl fmt::Display for Trim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "receive {:+} Hz, transmit {:+} Hz", self.receive.0, self.transmit.0)
    }
}

/// Which tone goes along with the uplink.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LinkTone {
    /// The one without which the satellite does not repeat, if there is one.
    #[default]
    Access,
    /// The one that switches the repeater on.
    Arming,
    /// None.
    Off,
}

/// A link's dials through one pass: Doppler from the track, the link's modes and tone, the
/// operator's trim. Before AOS and after LOS it stands at the values of AOS and LOS, so that the
/// radio is right when the satellite rises and idle while it is not there.
#[derive(Clone)]
pub struct Tuning {
    track: Track,
    link: Link,
    trim: Trim,
    tone: LinkTone,
    pass: Validity,
    /// It is only listened to.
    watch: Option<Watch>,
    generation: Generation,
}

impl Tuning {
    /// The tuning of `link` while `pass` (AOS to LOS) lasts.
    pub fn new(track: Track, link: Link, trim: Trim, pass: Validity, generation: Generation) -> Self {
        Self { track, link, trim, tone: LinkTone::Access, pass, watch: None, generation }
    }

    /// The receiving dial alone, through a watch of `link`: nothing is wanted of a transmitter.
    pub fn to_listen(track: Track, link: Link, trim: Trim, watch: Watch, generation: Generation) -> Self {
        let tuning = Self::new(track, link, trim, watch.span, generation);
        Self { watch: Some(watch), ..tuning }
    }

    /// The same link with another trim, as a newer plan.
    pub fn with_trim(&self, trim: Trim) -> Self {
        Self { trim, generation: self.generation + 1, ..self.clone() }
    }

    /// The same link with another tone, as a newer plan.
    pub fn with_tone(&self, tone: LinkTone) -> Self {
        Self { tone, generation: self.generation + 1, ..self.clone() }
    }

    /// The frequency of a tone of the link; `None` where it has none.
    pub fn hertz_of(&self, tone: LinkTone) -> Option<Tone> {
        let uplink = self.link.uplink?;
        match tone {
            LinkTone::Access => uplink.access_tone,
            LinkTone::Arming => uplink.arming_tone,
            LinkTone::Off => None,
        }
    }

    /// The tone that goes along.
    pub fn tone(&self) -> LinkTone {
        self.tone
    }

    /// The trim in force.
    pub fn trim(&self) -> Trim {
        self.trim
    }

    /// The link that is tuned.
    pub fn link(&self) -> &Link {
        &self.link
    }
}

impl Plan<Channel> for Tuning {
    fn at(&self, time: Time) -> Option<Channel> {
        let time = time.clamp(self.pass.from, self.pass.until);
        let range_rate = match self.watch.and_then(|watch| watch.swept_km_s(time)) {
            Some(swept) => swept,
            None => self.track.topocentric(time).ok()?.range_rate_km_s,
        };
        let down = received((self.link.downlink + self.trim.receive).as_f64(), range_rate);
        let uplink = self.link.uplink.filter(|_| self.watch.is_none());
        let transmit = uplink.map(|uplink| {
            let at_the_satellite = (uplink.hertz + self.trim.transmit).as_f64();
            let range_rate = if uplink.fixed { 0.0 } else { range_rate };
            dial(to_arrive_on(at_the_satellite, range_rate), uplink.mode, self.hertz_of(self.tone))
        });
        let receive = Some(dial(down, self.link.mode, None));
        Some(Channel { receive, transmit })
    }

    fn validity(&self) -> Validity {
        self.pass
    }

    fn generation(&self) -> Generation {
        self.generation
    }
}

fn dial(hertz: f64, mode: Mode, tone: Option<Tone>) -> Dial {
    Dial { hertz: Hertz::rounded(hertz), mode, tone }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::{LinkKind, Uplink};
    use crate::sky::{ElementSet, Pass, Station, next_pass};
    use crate::terms::{later, parse_time};

    /// An invented satellite in a circular orbit of 500 km.
    fn orbit() -> ElementSet {
        ElementSet {
            name: "GANNET-1".to_owned(),
            catalog_number: 99_002,
            epoch: parse_time("2026-11-24T00:00:00Z").unwrap(),
            inclination_deg: 97.4,
            right_ascension_deg: 20.0,
            eccentricity: 0.001,
            argument_of_perigee_deg: 10.0,
            mean_anomaly_deg: 0.0,
            mean_motion_rev_day: 15.21,
            drag_term: 0.0,
        }
    }

    fn repeater() -> Link {
        Link {
            name: "repeater".to_owned(),
            kind: LinkKind::FmRepeater,
            downlink: Hertz(435_500_000),
            mode: Mode::Fm,
            uplink: Some(Uplink {
                hertz: Hertz(145_950_000),
                mode: Mode::Fm,
                access_tone: Some(Tone::from_tenths(670).unwrap()),
                arming_tone: Some(Tone::from_tenths(744).unwrap()),
                fixed: false,
            }),
            on: Vec::new(),
            sunlight_only: false,
            note: None,
        }
    }

    fn planned(trim: Trim) -> (Tuning, Track, Pass) {
        let station = Station::new(54.0, -2.5, 120.0).unwrap();
        let track = Track::new(&orbit(), station).unwrap();
        let start = parse_time("2026-11-25T00:00:00Z").unwrap();
        let pass = next_pass(&track, start, 24.0, 30.0).unwrap().unwrap();
        let span = Validity { from: pass.aos.unwrap(), until: pass.los.unwrap() };
        (Tuning::new(track.clone(), repeater(), trim, span, 1), track, pass)
    }

    #[test]
    fn the_downlink_starts_high_ends_low_and_is_right_at_closest_approach() {
        let (tuning, _, pass) = planned(Trim::default());
        let receive = |time| tuning.at(time).unwrap().receive.unwrap().hertz - Hertz(435_500_000);
        assert!(receive(pass.aos.unwrap()) > Hertz(6_000));
        assert!(receive(pass.los.unwrap()) < Hertz(-6_000));
        assert!(receive(pass.tca).abs() < Hertz(20), "{}", receive(pass.tca));
    }

    #[test]
    fn the_uplink_arrives_on_the_satellites_own_frequency() {
        let (tuning, track, pass) = planned(Trim::default());
        for seconds in [0.0, 40.0, 80.0, 120.0] {
            let time = later(pass.aos.unwrap(), seconds);
            let dial = tuning.at(time).unwrap().transmit.unwrap();
            let arrives = received(dial.hertz.as_f64(), track.at(time).unwrap().range_rate_km_s);
            assert!((arrives - 145_950_000.0).abs() < 0.6, "{arrives}");
            assert_eq!(dial.tone, Some(Tone::from_tenths(670).unwrap()));
        }
    }

    #[test]
    fn a_fixed_uplink_stands_at_its_frequency_and_trim_while_the_downlink_is_followed() {
        let (followed, _, pass) = planned(Trim { receive: Hertz(0), transmit: Hertz(-300) });
        let mut link = repeater();
        link.uplink.as_mut().unwrap().fixed = true;
        let fixed = Tuning { link, ..followed.clone() };
        for seconds in [0.0, 60.0, 240.0] {
            let time = later(pass.aos.unwrap(), seconds);
            let channel = fixed.at(time).unwrap();
            assert_eq!(channel.transmit.unwrap().hertz, Hertz(145_949_700));
            assert_eq!(channel.receive, followed.at(time).unwrap().receive);
        }
    }

    #[test]
    fn outside_of_the_pass_the_dials_stand_at_its_ends() {
        let (tuning, _, pass) = planned(Trim::default());
        let (aos, los) = (pass.aos.unwrap(), pass.los.unwrap());
        assert_eq!(tuning.at(later(aos, -3600.0)), tuning.at(aos));
        assert_eq!(tuning.at(later(los, 3600.0)), tuning.at(los));
    }

    #[test]
    fn another_tone_makes_a_newer_plan_that_keeps_the_trim_and_the_dials() {
        let (plain, _, pass) = planned(Trim { receive: Hertz(500), transmit: Hertz(0) });
        let tone = |plan: &Tuning| plan.at(pass.tca).unwrap().transmit.unwrap().tone.map(Tone::tenths);
        let armed = plain.with_tone(LinkTone::Arming);
        assert_eq!((tone(&plain), tone(&armed)), (Some(670), Some(744)));
        assert_eq!(tone(&armed.with_tone(LinkTone::Off)), None);
        assert_eq!(armed.at(pass.tca).unwrap().receive, plain.at(pass.tca).unwrap().receive);
        assert!(armed.generation() > plain.generation());
        let trimmed = armed.with_trim(Trim::default());
        assert_eq!(tone(&trimmed), Some(744), "a trim leaves the tone");
    }

    #[test]
    fn a_trim_shifts_one_direction_and_makes_a_newer_plan() {
        let (plain, _, pass) = planned(Trim::default());
        let trimmed = plain.with_trim(Trim { receive: Hertz(500), transmit: Hertz(0) });
        let (before, after) = (plain.at(pass.tca).unwrap(), trimmed.at(pass.tca).unwrap());
        assert_eq!(after.receive.unwrap().hertz - before.receive.unwrap().hertz, Hertz(500));
        assert_eq!(after.transmit, before.transmit);
        assert!(trimmed.generation() > plain.generation());
    }
}
