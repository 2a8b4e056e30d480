//! A link in a picture: signal and noise through the pass, and where in the sky it was heard.

use std::fmt::Write as _;

use quick_xml::escape::escape;

use crate::listening::{Findings, Mark, Pass, State, horizon};
use crate::terms::seconds_between;

/// A panel's size, in the picture's own units.
const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 430.0;
/// The box of the curve: left, right, top, bottom.
const BOX: (f64, f64, f64, f64) = (70.0, 470.0, 80.0, 350.0);
/// Pieces of a pass along the curve.
const PIECES: usize = 30;
/// The map's middle and half its width.
const SKY: (f64, f64, f64) = (690.0, 215.0, 160.0);
/// More dots than these are thinned out.
const DOTS: usize = 2500;

const SIGNAL: &str = "#0a58a8";
const NOISE: &str = "#888";

/// All links below each other.
pub(super) fn draw(findings: &[Findings]) -> String {
    let height = HEIGHT * findings.len() as f64;
    let mut svg = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" \
         viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" height=\"{height}\" font-family=\"sans-serif\" \
         font-size=\"13\" fill=\"#222\">\n<title>What was heard</title>\n\
         <rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#fff\"/>\n"
    );
    for (at, link) in findings.iter().enumerate() {
        let _ = writeln!(svg, "<g transform=\"translate(0,{:.0})\">", HEIGHT * at as f64);
        panel(&mut svg, link);
        svg.push_str("</g>\n");
    }
    svg.push_str("</svg>\n");
    svg
}

fn panel(svg: &mut String, link: &Findings) {
    let (heard, judged) = link.verdict.heard;
    let title = format!(
        "{} {}: {}, heard in {heard} of {judged} good passes",
        link.satellite,
        link.link,
        link.verdict.state.name()
    );
    text(svg, 20.0, 30.0, "font-size=\"18\"", &title);
    // A link that is not heard has no passes to show but the silent ones.
    let is_active = link.verdict.state == State::Active;
    let shown = |pass: &&Pass| if is_active { pass.is_heard() } else { pass.is_judged() };
    let passes: Vec<&Pass> = link.passes.iter().filter(shown).collect();
    let what = if is_active { "passes in which it was heard" } else { "passes that were judged" };
    text(svg, 20.0, 52.0, "", &format!("from {} {what}", passes.len()));
    if passes.is_empty() {
        return text(
            svg,
            20.0,
            90.0,
            "",
            "Nothing to draw yet: no pass could be judged. The table says why.",
        );
    }
    curve(svg, &passes);
    sky(svg, &passes);
}

/// Levels in one piece of the pass: signal and noise.
#[derive(Clone, Default)]
struct Piece {
    signal: Vec<f32>,
    noise: Vec<f32>,
}

fn curve(svg: &mut String, passes: &[&Pass]) {
    let mut pieces = vec![Piece::default(); PIECES];
    for pass in passes {
        let length = seconds_between(pass.span.from, pass.span.until).max(1.0);
        for mark in &pass.marks {
            let part = seconds_between(pass.span.from, mark.at) / length;
            let Some(piece) = pieces.get_mut((part * PIECES as f64) as usize) else { continue };
            piece.signal.push(mark.noise + mark.excess);
            piece.noise.push(mark.noise);
        }
    }
    let all = pieces.iter().flat_map(|piece| &piece.signal);
    let top = f64::from(all.copied().fold(0.5, f32::max));
    axes(svg);
    band(svg, &mut pieces, top, NOISE, |piece| &mut piece.noise);
    band(svg, &mut pieces, top, SIGNAL, |piece| &mut piece.signal);
    let (left, _, _, bottom) = BOX;
    let _ = write!(
        svg,
        "<path stroke=\"{SIGNAL}\" stroke-width=\"2.5\" d=\"M {left} {0} h 30\"/>\
         <path stroke=\"{NOISE}\" stroke-width=\"2.5\" stroke-dasharray=\"6 4\" d=\"M {1} {0} h 30\"/>",
        bottom + 52.0,
        left + 150.0
    );
    text(svg, left + 36.0, bottom + 56.0, "", "in the pass");
    text(svg, left + 186.0, bottom + 56.0, "", "outside it, at the same dial settings");
    text(svg, left, bottom + 74.0, "font-size=\"11\"", "lines: the middle; areas: half of the passes");
}

fn axes(svg: &mut String) {
    let (left, right, top, bottom) = BOX;
    let _ = writeln!(
        svg,
        "<rect x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"#999\"/>",
        right - left,
        bottom - top
    );
    let words =
        [("rises", left, "start"), ("sets", right, "end"), ("middle", (left + right) / 2.0, "middle")];
    for (word, x, anchor) in words {
        text(svg, x, bottom + 18.0, &format!("text-anchor=\"{anchor}\""), word);
    }
    let middle = (top + bottom) / 2.0;
    let turned = format!("text-anchor=\"middle\" transform=\"rotate(-90 30 {middle})\"");
    text(svg, 30.0, middle, &turned, "squelch open and meter");
    text(svg, left - 6.0, top + 10.0, "text-anchor=\"end\" font-size=\"11\"", "loud");
    text(svg, left - 6.0, bottom, "text-anchor=\"end\" font-size=\"11\"", "silent");
}

/// The middle of each piece as a line, and its middle half as an area.
fn band(
    svg: &mut String,
    pieces: &mut [Piece],
    top_level: f64,
    colour: &str,
    of: fn(&mut Piece) -> &mut Vec<f32>,
) {
    let (left, right, top, bottom) = BOX;
    let (mut low, mut middle, mut high) = (Vec::new(), Vec::new(), Vec::new());
    for (at, piece) in pieces.iter_mut().enumerate() {
        let levels = of(piece);
        levels.sort_by(f32::total_cmp);
        let x = left + (right - left) * (at as f64 + 0.5) / PIECES as f64;
        let point = |quarter: usize| {
            let level = levels.get((levels.len() * quarter / 4).min(levels.len().checked_sub(1)?))?;
            Some(format!("{x:.1},{:.1}", bottom - (bottom - top) * f64::from(*level) / top_level))
        };
        low.extend(point(1));
        middle.extend(point(2));
        high.extend(point(3));
    }
    low.reverse();
    high.append(&mut low);
    let dashes = if colour == NOISE { " stroke-dasharray=\"6 4\"" } else { "" };
    let _ = writeln!(
        svg,
        "<polygon points=\"{}\" fill=\"{colour}\" fill-opacity=\"0.18\"/>\n\
         <polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2.5\"{dashes}/>",
        high.join(" "),
        middle.join(" ")
    );
}

/// North up, east to the right, the zenith in the middle: full dots where it was heard, rings where not.
fn sky(svg: &mut String, passes: &[&Pass]) {
    let (x, y, radius) = SKY;
    for elevation in [0.0, 30.0, 60.0] {
        let ring = radius * (90.0 - elevation) / 90.0;
        let _ =
            writeln!(svg, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{ring:.1}\" fill=\"none\" stroke=\"#bbb\"/>");
        let small = "font-size=\"10\" fill=\"#777\"";
        text(svg, x + 3.0, y - ring + 11.0, small, &format!("{elevation:.0}"));
    }
    let points = [("N", 0.0), ("E", 90.0), ("S", 180.0), ("W", 270.0)];
    for (letter, azimuth) in points {
        let (at_x, at_y) = place(azimuth, -7.0);
        text(svg, at_x, at_y + 5.0, "text-anchor=\"middle\"", letter);
    }
    let marks: Vec<&Mark> = passes.iter().flat_map(|pass| &pass.marks).collect();
    for mark in marks.iter().step_by(marks.len() / DOTS + 1) {
        let (at_x, at_y) = place(f64::from(mark.sight.azimuth_deg), f64::from(mark.sight.elevation_deg));
        let dot = if mark.is_heard {
            format!("r=\"1.6\" fill=\"{SIGNAL}\"")
        } else {
            "r=\"1.6\" fill=\"none\" stroke=\"#c25a00\" stroke-width=\"0.6\"".to_owned()
        };
        let _ = writeln!(svg, "<circle cx=\"{at_x:.1}\" cy=\"{at_y:.1}\" {dot}/>");
    }
    edge(svg, passes);
    let under = y + radius + 34.0;
    let _ = writeln!(
        svg,
        "<circle cx=\"{0}\" cy=\"{1}\" r=\"3\" fill=\"{SIGNAL}\"/><circle cx=\"{2}\" cy=\"{1}\" r=\"3\" \
         fill=\"none\" stroke=\"#c25a00\"/><path stroke=\"#222\" stroke-dasharray=\"5 3\" d=\"M {3} {1} h 24\"/>",
        x - 155.0,
        under - 4.0,
        x - 75.0,
        x + 20.0
    );
    text(svg, x - 147.0, under, "", "heard");
    text(svg, x - 67.0, under, "", "not heard");
    text(svg, x + 50.0, under, "", "heard above this");
}

/// The horizon as it was heard.
fn edge(svg: &mut String, passes: &[&Pass]) {
    let corners = horizon(passes.iter().copied());
    if !corners.iter().all(|corner| corner.is_known()) {
        return;
    }
    let points: Vec<String> = corners
        .iter()
        .map(|corner| {
            let (x, y) = place(corner.azimuth_deg, corner.elevation_deg);
            format!("{x:.1},{y:.1}")
        })
        .collect();
    let _ = writeln!(
        svg,
        "<polygon points=\"{}\" fill=\"none\" stroke=\"#222\" stroke-width=\"1.5\" stroke-dasharray=\"5 3\"/>",
        points.join(" ")
    );
}

fn place(azimuth_deg: f64, elevation_deg: f64) -> (f64, f64) {
    let (x, y, radius) = SKY;
    let out = radius * (90.0 - elevation_deg) / 90.0;
    let (sine, cosine) = azimuth_deg.to_radians().sin_cos();
    (x + out * sine, y - out * cosine)
}

fn text(svg: &mut String, x: f64, y: f64, style: &str, words: &str) {
    let _ = writeln!(svg, "<text x=\"{x:.1}\" y=\"{y:.1}\" {style}>{}</text>", escape(words));
}
