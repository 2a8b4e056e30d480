//! Passes for other programs.

use serde::Serialize;

use crate::cli::hindrance::Share;
use crate::cli::text::rounded;
use crate::sky::Eclipse;
use crate::terms::{Channel, Mode, Time, rfc3339};

use super::Found;
use super::dials::LinkDials;

/// The machine-readable line; what does not exist is null.
#[derive(Serialize)]
struct Line<'a> {
    satellite: &'a str,
    catalog_number: u32,
    aos: Option<String>,
    highest: String,
    tca: String,
    los: Option<String>,
    max_elevation_deg: f64,
    aos_azimuth_deg: Option<f64>,
    highest_azimuth_deg: f64,
    los_azimuth_deg: Option<f64>,
    duration_s: Option<f64>,
    sunlit_at_highest: bool,
    shadow: Vec<Shade>,
    dark_at_station: bool,
    grade: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    frequencies: Option<Vec<Dials<'a>>>,
}

/// One link's dials, in whole hertz; null where there is no such instant, or no uplink.
#[derive(Serialize)]
struct Dials<'a> {
    link: &'a str,
    receive_mode: Option<Mode>,
    transmit_mode: Option<Mode>,
    tone_hz: Option<f64>,
    aos: Option<Pair>,
    tca: Option<Pair>,
    los: Option<Pair>,
    on: &'static str,
    may_transmit: Option<bool>,
}

#[derive(Serialize)]
struct Pair {
    receive_hz: Option<i64>,
    transmit_hz: Option<i64>,
}

/// One stay in the Earth's shadow; null where it is outside the pass, or is half-shadow only.
#[derive(Serialize)]
struct Shade {
    dims: Option<String>,
    enters: Option<String>,
    leaves: Option<String>,
    brightens: Option<String>,
    total: bool,
}

pub(super) fn line(found: &Found<'_>) -> String {
    let Found { track, pass, grade, shadow, is_dark, dials, off: _ } = found;
    let line = Line {
        satellite: track.name(),
        catalog_number: track.catalog_number(),
        aos: pass.aos.map(rfc3339),
        highest: rfc3339(pass.highest),
        tca: rfc3339(pass.tca),
        los: pass.los.map(rfc3339),
        max_elevation_deg: rounded(pass.max_elevation_deg),
        aos_azimuth_deg: pass.aos_azimuth_deg.map(rounded),
        highest_azimuth_deg: rounded(pass.highest_azimuth_deg),
        los_azimuth_deg: pass.los_azimuth_deg.map(rounded),
        duration_s: pass.duration_s.map(rounded),
        sunlit_at_highest: pass.sunlit_at_highest,
        shadow: shadow.iter().map(shade).collect(),
        dark_at_station: *is_dark,
        grade: grade.name(),
        frequencies: dials.as_ref().map(|dials| dials.iter().map(frequencies).collect()),
    };
    serde_json::to_string(&line).unwrap_or_default()
}

fn frequencies(dials: &LinkDials) -> Dials<'_> {
    let LinkDials { link, aos, tca, los, on, allowed, .. } = dials;
    let receive = tca.and_then(|channel| channel.receive);
    let transmit = tca.and_then(|channel| channel.transmit);
    let pair = |channel: Channel| Pair {
        receive_hz: channel.receive.map(|dial| dial.hertz.0),
        transmit_hz: channel.transmit.map(|dial| dial.hertz.0),
    };
    Dials {
        link,
        receive_mode: receive.map(|dial| dial.mode),
        transmit_mode: transmit.map(|dial| dial.mode),
        tone_hz: transmit.and_then(|dial| dial.tone).map(|tone| f64::from(tone.tenths()) / 10.0),
        aos: aos.map(pair),
        tca: tca.map(pair),
        los: los.map(pair),
        on: on.name(),
        may_transmit: allowed.map(|share| share == Share::All),
    }
}

fn shade(stay: &Eclipse) -> Shade {
    let text = |time: Option<Time>| time.map(rfc3339);
    Shade {
        dims: text(stay.dims),
        enters: text(stay.enters),
        leaves: text(stay.leaves),
        brightens: text(stay.brightens),
        total: stay.is_total,
    }
}
