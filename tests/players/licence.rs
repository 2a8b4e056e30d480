//! Whatever calibration, steps and trim are, nothing is set on which the operator may not transmit.

use std::rc::Rc;
use std::sync::Arc;

use beamhand::device::*;
use beamhand::terms::*;
use proptest::prelude::*;

use crate::semi;
use crate::stand::*;

const FROM: i64 = 145_940_000;
const TO: i64 = 145_960_000;

/// The transmitting dial's settings, and whether each and its true frequency were inside.
fn settings(correction: Correction, step: i64, off: i64, trim: i64) -> Vec<(i64, bool)> {
    let DeviceSetup::Radio(setup) = radio("semicolon-eleven", Use::Both, None, "a") else { unreachable!() };
    let setup = RadioSetup {
        step: ByMode { fm: Some(Hertz(step)), ..ByMode::default() },
        worthwhile: ByMode::all(Hertz(10)),
        calibration: Calibration { transmit: correction, ..Calibration::default() },
        segments: Segments::new(vec![Segment { from: Hertz(FROM), to: Hertz(TO) }]),
        ..setup
    };
    let mut s = Stand::new(plan(vec![DeviceSetup::Radio(setup)], 9600), semi(Rc::default()));
    let mut channel = channel(None);
    channel.transmit.as_mut().unwrap().hertz = Hertz(FROM + off);
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel, 90.0)))));
    s.run(3.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(30.0);
    channel.transmit.as_mut().unwrap().hertz = Hertz(FROM + off + trim);
    s.order(0, Order::Radio(RadioOrder::Follow(Arc::new(Fixed(channel, -90.0)))));
    s.run(60.0);
    let dials = s.sent.iter().filter_map(|(_, frame)| {
        let digits = frame.strip_prefix(b"FB")?.strip_suffix(b";")?;
        std::str::from_utf8(digits).ok()?.parse::<i64>().ok()
    });
    let inside = |hertz: f64| FROM as f64 <= hertz && hertz <= TO as f64;
    dials
        .map(|dial| {
            let truth = ((dial - correction.hz.0) as f64 / (1.0 + correction.ppm / 1e6)).round();
            (dial, inside(dial as f64) && inside(truth))
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn the_transmitter_stays_inside_the_segments_on_both_scales(
        ppm in -20.0..20.0_f64,
        hz in -3_000..3_000_i64,
        step in prop::sample::select(vec![10_i64, 100, 1_250, 5_000]),
        off in -2_000..22_000_i64,
        trim in -5_000..5_000_i64,
    ) {
        let settings = settings(Correction { ppm, hz: Hertz(hz) }, step, off, trim);
        prop_assert!(settings.iter().all(|(_, inside)| *inside), "{settings:?}");
    }
}

#[test]
fn inside_the_segments_the_calibrated_dial_is_set() {
    // 2 ppm of 145.950 MHz are 292 Hz; together with 1000 Hz the dial stands at 145.951 290.
    let settings = settings(Correction { ppm: 2.0, hz: Hertz(1_000) }, 10, 10_000, 0);
    assert!(settings.len() > 100 && settings.iter().all(|(_, inside)| *inside));
    assert!((settings[0].0 - 145_951_290).abs() < 500, "{}", settings[0].0);
}

fn without_segments(uses: Use) -> Stand {
    let DeviceSetup::Radio(setup) = radio("semicolon-eleven", uses, None, "a") else { unreachable!() };
    let setup = RadioSetup { segments: Segments::default(), ..setup };
    let mut s = Stand::new(plan(vec![DeviceSetup::Radio(setup)], 9600), semi(Rc::default()));
    s.run(0.5);
    s.order(0, Order::Radio(RadioOrder::Engage(Arc::new(Fixed(channel(Some(670)), 0.0)))));
    s.run(5.0);
    s.order(0, Order::Radio(RadioOrder::Proceed));
    s.run(30.0);
    s
}

// `XT` is the transmitter's clarifier, `FR1` and `FT1` make VFO B the one that shift and squelch
// act on; `FR0` and `FT1` keep the transmitter off VFO A, which the downlink is tuned on.
#[test]
fn without_segments_only_what_the_receiver_needs_is_prepared() {
    let s = without_segments(Use::Both);
    let told = |frame: &[u8]| s.sent.iter().any(|(at, sent)| *at > 5.0 && sent == frame);
    assert!(told(b"OS0;") && told(b"FR0;") && told(b"FT1;"), "{:?}", s.text());
    assert!(!told(b"XT0;") && !told(b"FR1;") && !told(b"TO0;"), "{:?}", s.text());
    let notes = s.status()[0].radio().unwrap().notes.clone();
    assert!(notes.len() == 1 && notes[0].why.contains("split is switched on"), "{notes:?}");
}

#[test]
fn a_transmitter_without_segments_is_told_nothing_and_still_asked() {
    let s = without_segments(Use::Transmit);
    let told = s.sent.iter().find(|(_, frame)| frame.len() > 3 && *frame != b"ID;");
    assert_eq!(told, None);
    let asked = s.sent.iter().filter(|(at, _)| *at > 20.0).count();
    assert!(asked >= 3, "{asked} questions in 10 s");
}
