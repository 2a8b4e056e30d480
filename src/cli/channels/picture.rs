//! A card as a picture to print: the memories, and the pass as a curve with its steps.

use std::fmt::Write as _;

use crate::card::Setting;
use crate::cli::text::{compass, utc_clock, wrap_at};
use crate::link::{received, to_arrive_on};
use crate::terms::{Hertz, Time, later, seconds_between};

use super::{Page, link, megahertz};

/// Width of a card and height of its lines and of its curve, in the picture's units (a millimetre is four).
const WIDTH: f64 = 720.0;
const LINE: f64 = 24.0;
const CURVE: f64 = 220.0;
/// Where the curve's box begins and ends from left to right.
const BOX: (f64, f64) = (96.0, 690.0);
/// Points along the curve.
const POINTS: u32 = 120;
/// Where the columns of the tables begin.
const COLUMNS: [f64; 5] = [30.0, 110.0, 250.0, 390.0, 480.0];

/// A step's name, which stays readable where it crosses the curve.
const NAME: &str =
    "text-anchor=\"middle\" font-weight=\"bold\" paint-order=\"stroke\" stroke=\"white\" stroke-width=\"4\"";

/// All cards below each other.
pub(super) fn svg(pages: &[Page<'_>]) -> String {
    let (mut body, mut top) = (String::new(), 0.0);
    for page in pages {
        top = Drawing { body: &mut body, y: top }.card(page);
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\" viewBox=\"0 0 {WIDTH} {top}\" \
         font-family=\"sans-serif\" font-size=\"15\">\n<rect width=\"{WIDTH}\" height=\"{top}\" \
         fill=\"white\"/>\n{body}</svg>\n",
        WIDTH / 4.0,
        top / 4.0
    )
}

struct Drawing<'b> {
    body: &'b mut String,
    y: f64,
}

impl Drawing<'_> {
    /// Draws a card; gives the y at which the next one may begin.
    fn card(mut self, page: &Page<'_>) -> f64 {
        self.y += 2.0 * LINE;
        self.text(COLUMNS[0], &page.title(), "font-size=\"20\" font-weight=\"bold\"");
        self.paragraph(&page.promise());
        self.y += LINE / 2.0;
        self.row(["memory", "receive MHz", "transmit MHz", "tone Hz", ""], "font-weight=\"bold\"");
        for row in page.rows() {
            let dial =
                |setting: Option<Setting>| setting.map_or("-".to_owned(), |setting| megahertz(setting.hertz));
            let tone = row.tone.map_or("-".to_owned(), |tone| tone.to_string());
            let arms = row.arms.as_ref().map_or(String::new(), |with| format!("to arm, before {with}"));
            let cells = [&row.name, &dial(row.memory.receive), &dial(row.memory.transmit), &tone, &arms];
            self.row(cells.map(String::as_str), "");
        }
        self.y += LINE;
        self.pass(page);
        for remark in page.remarks() {
            self.paragraph(&remark);
        }
        self.y + LINE
    }

    fn text(&mut self, x: f64, text: &str, style: &str) {
        let text = text.replace('&', "&amp;").replace('<', "&lt;");
        let _ = writeln!(self.body, "<text x=\"{x:.1}\" y=\"{:.1}\" {style}>{text}</text>", self.y);
    }

    fn row(&mut self, cells: [&str; 5], style: &str) {
        self.y += LINE;
        for (x, cell) in COLUMNS.into_iter().zip(cells).filter(|(_, cell)| !cell.is_empty()) {
            self.text(x, cell, style);
        }
    }

    fn paragraph(&mut self, text: &str) {
        for line in wrap_at(text, 0).lines() {
            self.y += LINE;
            self.text(COLUMNS[0], line, "");
        }
    }

    /// What the dial should show through the pass, and the steps of the memories.
    fn pass(&mut self, page: &Page<'_>) {
        let (span, pass) = (page.job.span, &page.job.pass);
        self.y += LINE;
        let title = format!(
            "{}, highest {:.0} degrees in the {}; times are UTC",
            span.from.format("%-d %b %Y"),
            pass.max_elevation_deg,
            compass(pass.highest_azimuth_deg)
        );
        self.text(COLUMNS[0], &title, "font-weight=\"bold\"");
        let Some(curve) = Curve::of(page, self.y + LINE / 2.0) else { return };
        let (left, right) = BOX;
        let _ = writeln!(
            self.body,
            "<rect x=\"{left}\" y=\"{:.1}\" width=\"{}\" height=\"{CURVE}\" fill=\"none\" stroke=\"black\"/>",
            curve.top,
            right - left
        );
        let points: Vec<String> = curve
            .right
            .iter()
            .map(|(time, hertz)| format!("{:.1},{:.1}", curve.x(*time), curve.y(*hertz)))
            .collect();
        let _ = writeln!(
            self.body,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"gray\" stroke-dasharray=\"4 3\"/>",
            points.join(" ")
        );
        for step in &curve.steps {
            let (from, to, y) = (curve.x(step.from), curve.x(step.until), curve.y(step.hertz));
            let _ = writeln!(
                self.body,
                "<path d=\"M{from:.1} {y:.1}H{to:.1}\" stroke=\"black\" stroke-width=\"3\"/>\
                 <path d=\"M{from:.1} {:.1}V{:.1}\" stroke=\"silver\"/>",
                curve.top,
                curve.top + CURVE
            );
            self.y = y - 6.0;
            self.text((from + to) / 2.0, &step.name, NAME);
            self.y = y + 5.0;
            self.text(
                left - 6.0,
                &megahertz(Hertz::rounded(step.hertz)),
                "text-anchor=\"end\" font-size=\"12\"",
            );
        }
        self.times(&curve);
        self.y = curve.top + CURVE + 2.0 * LINE;
    }

    /// The times of the changes; where two are near each other, one stands lower.
    fn times(&mut self, curve: &Curve) {
        let mut ends = [f64::MIN; 2];
        for step in &curve.steps {
            let x = curve.x(step.from);
            let lower = usize::from(x < ends[0]);
            ends[lower] = x + 66.0;
            self.y = curve.top + CURVE + LINE * (0.7 + 0.7 * lower as f64);
            self.text(x, &utc_clock(step.from), "font-size=\"12\"");
        }
    }
}

/// A dial through the pass.
struct Curve {
    top: f64,
    from: Time,
    duration_s: f64,
    /// The right setting, hertz.
    right: Vec<(Time, f64)>,
    steps: Vec<Step>,
    range: (f64, f64),
}

struct Step {
    name: String,
    from: Time,
    until: Time,
    hertz: f64,
}

impl Curve {
    /// The receiver's dial, or that of a radio that only transmits.
    fn of(page: &Page<'_>, top: f64) -> Option<Self> {
        let span = page.job.span;
        let duration_s = seconds_between(span.from, span.until);
        let receives = page.card.memories.first()?.receive.is_some();
        let dial = |range_rate: f64| match link(page.job).uplink {
            Some(uplink) if !receives => to_arrive_on(uplink.hertz.as_f64(), range_rate),
            _ => received(link(page.job).downlink.as_f64(), range_rate),
        };
        let right = (0..=POINTS).filter_map(|point| {
            let time = later(span.from, duration_s * f64::from(point) / f64::from(POINTS));
            Some((time, dial(page.job.track.at(time).ok()?.range_rate_km_s)))
        });
        let right: Vec<(Time, f64)> = right.collect();
        let ends = page.changes.iter().skip(1).map(|change| change.time).chain([span.until]);
        let steps = page.changes.iter().zip(ends).filter_map(|(change, until)| {
            let memory = page.card.memories.get(change.memory)?;
            let hertz = memory.receive.filter(|_| receives).or(memory.transmit)?.hertz.as_f64();
            Some(Step { name: (change.memory + 1).to_string(), from: change.time, until, hertz })
        });
        let steps: Vec<Step> = steps.collect();
        let all = right.iter().map(|(_, hertz)| *hertz).chain(steps.iter().map(|step| step.hertz));
        let (low, high) = all.fold((f64::MAX, f64::MIN), |(low, high), hz| (low.min(hz), high.max(hz)));
        let edge = (high - low).max(100.0) * 0.12;
        let range = (low - edge, high + edge);
        Some(Self { top, from: span.from, duration_s: duration_s.max(1.0), right, steps, range })
    }

    fn x(&self, time: Time) -> f64 {
        BOX.0 + (BOX.1 - BOX.0) * seconds_between(self.from, time) / self.duration_s
    }

    fn y(&self, hertz: f64) -> f64 {
        self.top + CURVE * (self.range.1 - hertz) / (self.range.1 - self.range.0)
    }
}
