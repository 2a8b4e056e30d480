//! Every built-in dialect, byte by byte and in both directions. The bytes are written by hand
//! from the equipment notes' examples; what the notes don't spell out is from memory of manuals.

mod asks;
mod dials;
mod files;
mod motions;
mod proof;
mod returns;
mod sets;
mod siblings;

use proptest::prelude::*;

use super::*;

/// A frame as people read it: a text family's as text without its CR, any other in hex.
fn shown(family: Family, frame: &[u8]) -> String {
    match family.style() {
        Style::Text => String::from_utf8_lossy(frame).trim_end_matches('\r').to_owned(),
        Style::Hex => frame.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" "),
    }
}

fn built_in(name: &str) -> Arc<Dialect> {
    Dialect::builtin(name).unwrap()
}

#[test]
fn a_built_in_dialect_is_read_once() {
    for name in Dialect::names() {
        assert!(Arc::ptr_eq(&built_in(name), &built_in(name)), "{name}");
    }
}

fn tone(tenths: u16) -> Values {
    Values::of_tone(Tone::from_tenths(tenths).unwrap())
}

/// What a command's last frame's template reads from its own bytes.
fn read_back(dialect: &Dialect, verb: &str, frame: &[u8]) -> Option<Values> {
    let content = match dialect.family() {
        Family::FeFrames => &frame[4..frame.len() - 1],
        _ => frame.strip_suffix(b"\r").unwrap_or(frame),
    };
    dialect.verbs[verb].send.last()?.decode(content)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_frequency_is_read_as_it_was_written(step in 0_i64..99_999_999, which in 0_usize..5) {
        let name = ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte", "five-byte-duplex"][which];
        let dialect = built_in(name);
        for verb in ["do.hz", "do.rx_hz"].into_iter().filter(|verb| dialect.can(verb)) {
            let hertz = Hertz(step * 10);
            let exchange = dialect.exchange(verb, &Values::of_hertz(hertz), Some(0xA2)).unwrap();
            let frame = &exchange.steps.last().unwrap().frame;
            prop_assert_eq!(read_back(&dialect, verb, frame).unwrap().hertz("hz"), Some(hertz));
        }
    }

    #[test]
    fn every_direction_is_read_as_it_was_written(az in 0_i32..4500, el in 0_i32..1800, pulses in 0_usize..3) {
        let (az, el) = (f64::from(az) / 10.0, f64::from(el) / 10.0);
        let pulses = [1.0, 2.0, 4.0][pulses];
        let values = Values::of_direction(az, el)
            .with("ph", Value::Number(pulses))
            .with("pv", Value::Number(pulses));
        for (name, error) in [("w-lines", 0.5), ("az-el-words", 1e-9), ("thirteen-byte", 0.5 / pulses)] {
            let dialect = built_in(name);
            let exchange = dialect.exchange("do.aim", &values, None).unwrap();
            let read = read_back(&dialect, "do.aim", &exchange.steps[0].frame).unwrap();
            prop_assert!((read.number("az").unwrap() - az).abs() <= error + 1e-9, "{name} {az}");
            prop_assert!((read.number("el").unwrap() - el).abs() <= error + 1e-9, "{name} {el}");
        }
    }

    #[test]
    fn no_bytes_whatever_upset_a_decoder(bytes in proptest::collection::vec(any::<u8>(), 0..60)) {
        for name in Dialect::names() {
            let dialect = built_in(name);
            let verbs = dialect.verbs.values().flat_map(|verb| verb.send.iter().chain(&verb.finally).chain(verb.answer.iter()));
            for template in verbs.chain(dialect.unasked.iter()).chain(dialect.refused.iter()) {
                template.decode(&bytes);
            }
        }
    }
}

#[test]
fn every_code_of_every_table_is_read_as_it_was_written() {
    for name in Dialect::names() {
        let dialect = built_in(name);
        for (kind, values) in [
            ("mode", dialect.modes().into_iter().map(Values::of_mode).collect::<Vec<_>>()),
            ("tone", dialect.tones().into_iter().map(Values::of_tone).collect()),
        ] {
            let is_own = |verb: &&str| verb.starts_with("do.") && dialect.needs(verb) == [kind];
            for (verb, values) in
                dialect.verbs().filter(is_own).flat_map(|verb| values.iter().map(move |v| (verb, v)))
            {
                let exchange = dialect.exchange(verb, values, Some(0xA2)).unwrap();
                let templates = &dialect.verbs[verb].send;
                let read = templates.iter().zip(&exchange.steps).find_map(|(template, step)| {
                    let frame = &step.frame;
                    let content = if name == "fe-frames" { &frame[4..frame.len() - 1] } else { frame };
                    template.decode(content).filter(|values| !values.is_empty())
                });
                assert_eq!(read.as_ref(), Some(values), "{name} {verb}");
            }
        }
    }
}

#[test]
fn every_table_is_complete() {
    let tones = |name| built_in(name).tones().len();
    assert_eq!(
        Dialect::names().map(tones).collect::<Vec<_>>(),
        [38, 50, 38, 50, 50, 38, 50, 50, 50],
        "the rotators have no table, and so no limit"
    );
    for name in Dialect::names().filter(|name| built_in(name).can("do.mode")) {
        assert_eq!(built_in(name).modes().len(), Mode::ALL.len(), "{name}");
    }
}

#[test]
fn a_frequency_whose_bytes_the_guard_avoids_is_moved_by_a_step() {
    let five = built_in("five-byte");
    assert_eq!(five.settable("do.hz", Hertz(145_950_004)), Hertz(145_950_000));
    assert_eq!(five.settable("do.hz", Hertz(145_950_880)), Hertz(145_950_890));
    assert_eq!(five.settable("do.hz", Hertz(145_950_080)), Hertz(145_950_090));
    let bus = built_in("fe-frames");
    assert_eq!(bus.settable("do.rx_hz", Hertz(145_951_717)), Hertz(145_951_720));
    let fine = Dialect::parse("fine", "base = \"fe-frames\"\nstep_hz = 1").unwrap();
    assert_eq!(fine.settable("do.rx_hz", Hertz(145_951_717)), Hertz(145_951_716));
    assert_eq!(fine.settable("do.rx_hz", Hertz(145_951_718)), Hertz(145_951_719));
}
