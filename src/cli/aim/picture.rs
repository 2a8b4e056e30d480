//! The sky from above, with the satellite's path and the beam's: an SVG.

use std::fmt::Write as _;

use quick_xml::escape::escape;

use crate::beam::loss_db;
use crate::sky::Horizon;
use crate::terms::{AzEl, Plan as _, Time, later, seconds_between};

use super::super::text::utc_clock;
use super::Planned;

/// Half the sky's width, in the picture's own units.
const RADIUS: f64 = 300.0;
/// Looks a pass, and seconds between two of them at least.
const LOOKS: f64 = 600.0;
const LOOK_S: f64 = 1.0;

/// What is drawn.
pub(super) struct Picture<'a> {
    pub(super) planned: &'a Planned<'a>,
    /// What stands around the station.
    pub(super) horizon: Option<&'a Horizon>,
}

impl Picture<'_> {
    /// The whole file.
    pub(super) fn draw(&self) -> String {
        let name = self.planned.track.name();
        let name = escape(name);
        let mut svg = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        let day = self.planned.span.from.format("%-d %b %Y");
        let (rises, sets) = (utc_clock(self.planned.span.from), utc_clock(self.planned.span.until));
        let parts = [
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-350 -380 700 800\" \
             font-family=\"sans-serif\" font-size=\"14\" fill=\"#222\">"
                .to_owned(),
            format!("<title>{name}: where the beam looks</title>"),
            "<rect x=\"-350\" y=\"-380\" width=\"700\" height=\"800\" fill=\"#fff\"/>".to_owned(),
            format!(
                "<text x=\"0\" y=\"-352\" text-anchor=\"middle\">{name}, {day}, {rises} to {sets} UTC</text>"
            ),
            self.ground(),
            self.sectors(),
            self.satellite(),
            self.beam(),
            self.minutes(),
            legend(),
            "</svg>".to_owned(),
        ];
        parts.iter().for_each(|part| {
            svg.push_str(part);
            svg.push('\n');
        });
        svg
    }

    /// Rings of elevation, compass points, and what stands around the station.
    fn ground(&self) -> String {
        let mut svg = String::new();
        if let Some(horizon) = self.horizon {
            let inner = (0..360).map(f64::from).map(|az| AzEl::new(az, horizon.elevation_deg(az).max(0.0)));
            // The whole sky with the open one cut out of it.
            let _ = write!(
                svg,
                "<path id=\"mask\" fill=\"#ccc\" fill-rule=\"evenodd\" d=\"M {RADIUS},0 A {RADIUS},{RADIUS} 0 1 1 \
                 -{RADIUS},0 A {RADIUS},{RADIUS} 0 1 1 {RADIUS},0 Z M {} Z\"/>",
                points(inner)
            );
        }
        for elevation in [0.0, 30.0, 60.0] {
            let radius = RADIUS * (90.0 - elevation) / 90.0;
            let _ = write!(
                svg,
                "<circle r=\"{radius:.1}\" fill=\"none\" stroke=\"#999\"/>\
                 <text x=\"4\" y=\"{:.1}\" font-size=\"11\" fill=\"#666\">{elevation}</text>",
                -radius - 3.0
            );
        }
        for (letter, azimuth) in [("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)] {
            let (x, y) = on_paper(AzEl::new(azimuth, 0.0));
            let _ = write!(
                svg,
                "<path d=\"M 0,0 L {x:.0},{y:.0}\" stroke=\"#ddd\"/>\
                 <text x=\"{:.0}\" y=\"{:.0}\" text-anchor=\"middle\">{letter}</text>",
                1.07 * x,
                1.07 * y + 5.0
            );
        }
        svg
    }

    /// Where the beam must not look.
    fn sectors(&self) -> String {
        let mut svg = String::new();
        for sector in &self.planned.mount.no_go {
            let (low, high) = (sector.elevation.from.clamp(0.0, 90.0), sector.elevation.to.clamp(0.0, 90.0));
            let width = match sector.azimuth.to - sector.azimuth.from {
                whole if whole >= 360.0 => 360.0,
                width => width.rem_euclid(360.0),
            };
            let along = |elevation: f64, back: bool| {
                (0..=60).map(move |step| {
                    let part = f64::from(if back { 60 - step } else { step }) / 60.0;
                    AzEl::new(sector.azimuth.from + part * width, elevation)
                })
            };
            let _ = write!(
                svg,
                "<path class=\"no-go\" fill=\"#b00\" fill-opacity=\"0.15\" stroke=\"#b00\" \
                 stroke-dasharray=\"2 3\" d=\"M {} Z\"/>",
                points(along(low, false).chain(along(high, true)))
            );
        }
        svg
    }

    fn times(&self) -> impl Iterator<Item = Time> {
        let span = self.planned.span;
        let seconds = seconds_between(span.from, span.until).max(0.0);
        let step = LOOK_S.max(seconds / LOOKS);
        (0..=(seconds / step) as u32).map(move |index| later(span.from, f64::from(index) * step))
    }

    fn satellite(&self) -> String {
        let path = self.times().filter_map(|time| Some(self.planned.track.at(time).ok()?.direction()));
        format!(
            "<path id=\"satellite\" fill=\"none\" stroke=\"#0a58a8\" stroke-width=\"2.5\" d=\"M {}\"/>",
            points(path)
        )
    }

    /// The beam's path, and thicker where it loses more than 3 dB.
    fn beam(&self) -> String {
        let planned = self.planned;
        let path =
            self.times().filter_map(|time| Some(planned.mount.lean.in_the_sky(planned.plan.at(time)?)));
        let mut svg = format!(
            "<path id=\"beam\" fill=\"none\" stroke=\"#c25a00\" stroke-width=\"2.5\" \
             stroke-dasharray=\"7 5\" d=\"M {}\"/>",
            points(path)
        );
        for time in self.times() {
            let (Some(beam), Ok(look)) = (planned.plan.at(time), planned.track.at(time)) else { continue };
            let error = planned.mount.error(beam, look.direction());
            if loss_db(error, planned.mount.beam_width) > 3.0 {
                let (x, y) = on_paper(planned.mount.lean.in_the_sky(beam));
                let _ = write!(
                    svg,
                    "<circle class=\"lost\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"#c25a00\"/>"
                );
            }
        }
        svg
    }

    /// A line from the satellite to the beam at each minute, with the time.
    fn minutes(&self) -> String {
        let (mut svg, span) = (String::new(), self.planned.span);
        let seconds = seconds_between(span.from, span.until).max(0.0);
        let step = 60.0 * (seconds / 60.0 / 20.0).ceil().max(1.0);
        for index in 0..=(seconds / step) as u32 {
            let time = later(span.from, f64::from(index) * step);
            let (Some(beam), Ok(look)) = (self.planned.plan.at(time), self.planned.track.at(time)) else {
                continue;
            };
            let ((x, y), (beam_x, beam_y)) = (on_paper(look.direction()), on_paper(beam));
            let _ = write!(
                svg,
                "<path stroke=\"#555\" d=\"M {x:.1},{y:.1} L {beam_x:.1},{beam_y:.1}\"/>\
                 <circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"#0a58a8\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\" font-size=\"11\">{}</text>",
                x + 6.0,
                y - 5.0,
                time.format("%H:%M")
            );
        }
        svg
    }
}

fn legend() -> String {
    "<path stroke=\"#0a58a8\" stroke-width=\"2.5\" d=\"M -320,362 L -280,362\"/>\
     <text x=\"-272\" y=\"367\">satellite, dots each minute</text>\
     <path stroke=\"#c25a00\" stroke-width=\"2.5\" stroke-dasharray=\"7 5\" d=\"M -60,362 L -20,362\"/>\
     <text x=\"-12\" y=\"367\">beam; fat dots: loses more than 3 dB</text>\
     <text x=\"-320\" y=\"392\">grey: hidden by the horizon; dotted edge: no-go sector</text>"
        .to_owned()
}

/// North up and east to the right, as on a map; the zenith in the middle, wraps and flips seen through.
fn on_paper(place: AzEl) -> (f64, f64) {
    let flips = place.elevation > 90.0;
    let (azimuth, elevation) = if flips {
        (place.azimuth + 180.0, 180.0 - place.elevation)
    } else {
        (place.azimuth, place.elevation)
    };
    let radius = RADIUS * (90.0 - elevation.clamp(0.0, 90.0)) / 90.0;
    let (sine, cosine) = azimuth.to_radians().sin_cos();
    (radius * sine, -radius * cosine)
}

fn points(places: impl Iterator<Item = AzEl>) -> String {
    let all: Vec<String> = places
        .map(|place| {
            let (x, y) = on_paper(place);
            format!("{x:.1},{y:.1}")
        })
        .collect();
    all.join(" L ")
}
