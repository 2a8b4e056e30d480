use super::*;
use crate::terms::Segment;

const WISHES: Wishes =
    Wishes { step: Hertz(5_000), receive_within: Hertz(2_500), transmit_within: Hertz(5_000) };
/// A 500 km orbit's.
const LARGEST: f64 = 7.1;

fn repeater(down: i64, up: i64) -> Link {
    Link {
        name: "repeater".to_owned(),
        kind: LinkKind::FmRepeater,
        downlink: Hertz(down),
        mode: Mode::Fm,
        uplink: Some(Uplink {
            hertz: Hertz(up),
            mode: Mode::Fm,
            access_tone: Tone::from_tenths(670).ok(),
            arming_tone: Tone::from_tenths(744).ok(),
            fixed: false,
        }),
        on: Vec::new(),
        sunlight_only: false,
        note: None,
    }
}

fn everywhere() -> Segments {
    Segments::new(vec![Segment { from: Hertz(0), to: Hertz(1_000_000_000) }])
}

fn dials(card: &Card) -> Vec<(i64, i64)> {
    let hertz = |setting: Option<Setting>| setting.map_or(0, |setting| setting.hertz.0);
    card.memories.iter().map(|memory| (hertz(memory.receive), hertz(memory.transmit))).collect()
}

/// Common practice (no source): 10 kHz up, 5 up, in the middle, 5 down, 10 down, and the 2 m uplink stays.
#[test]
fn a_70_cm_downlink_takes_five_memories_in_steps_of_5_kilohertz_and_the_2_m_uplink_is_left_alone() {
    let card =
        make(&repeater(435_500_000, 145_950_000), &everywhere(), &WISHES, Serves::Both, LARGEST).unwrap();
    let wanted = [435_510_000, 435_505_000, 435_500_000, 435_495_000, 435_490_000];
    assert_eq!(dials(&card), wanted.map(|down| (down, 145_950_000)));
    assert_eq!((card.tone, card.arming_tone), (Tone::from_tenths(670).ok(), Tone::from_tenths(744).ok()));
    assert_eq!(card.arming, [Arming { with: (0, 2) }], "all have one transmit frequency");
}

/// By hand: 435.5 MHz x 7.1 / 299,792 = 10.31 kHz either way, 20.63 kHz in all, which takes three reaches
/// of 10 kHz. With the receiver on the same radio it takes four: on 2 m its reaches end where the uplink is
/// 7.45 kHz off, and none of the transmitter's on the grid has both this and -7.45 kHz in it.
#[test]
fn a_70_cm_uplink_moves_and_each_of_its_frequencies_has_its_arming_memory() {
    let link = repeater(145_950_000, 435_500_000);
    let of = |serves| make(&link, &everywhere(), &WISHES, serves, LARGEST).unwrap();
    let mouth = of(Serves::Transmit);
    assert_eq!(dials(&mouth), [(0, 435_490_000), (0, 435_500_000), (0, 435_510_000)]);
    assert_eq!(mouth.arming, [Arming { with: (0, 0) }, Arming { with: (1, 1) }], "while it comes nearer");
    let card = of(Serves::Both);
    assert_eq!(card.memories.len(), 4);
    assert!(card.memories.iter().all(|memory| memory.transmit.unwrap().error <= Hertz(5_000)));
}

#[test]
fn an_uplink_that_stays_by_order_is_one_setting_whatever_it_misses() {
    let mut link = repeater(435_500_000, 145_927_000);
    link.uplink.as_mut().unwrap().fixed = true;
    let card = make(&link, &everywhere(), &WISHES, Serves::Both, LARGEST).unwrap();
    assert!(dials(&card).iter().all(|(_, up)| *up == 145_925_000), "{card:?}");
    // By hand: 2 kHz beside it, and 145.927 MHz x 7.1 / 299,792 = 3,456 Hz.
    let worst = card.memories.iter().map(|memory| memory.transmit.unwrap().error.0).max().unwrap();
    assert!((worst - 5_456).abs() < 3, "{worst}");
}

#[test]
fn nothing_is_on_the_card_that_the_licence_leaves_out() {
    let link = repeater(435_500_000, 145_950_000);
    let of = |segments: Segments| make(&link, &segments, &WISHES, Serves::Both, LARGEST).unwrap();
    let without = of(Segments::default());
    assert_eq!(without.silent, Some(NoCard::NoSegments));
    assert!(without.memories.len() == 5 && without.memories.iter().all(|memory| memory.transmit.is_none()));
    assert!(without.arming.is_empty() && without.tone.is_none());
    let beside = Segments::new(vec![Segment { from: Hertz(145_951_000), to: Hertz(145_954_000) }]);
    assert_eq!(of(beside).silent, Some(NoCard::OutsideSegments(5_000)));
    // The upper half only: 145.950 is left out, and 145.955 is 5 kHz off at the middle and worse before.
    let half = Segments::new(vec![Segment { from: Hertz(145_951_000), to: Hertz(146_000_000) }]);
    assert_eq!(of(half.clone()).silent, Some(NoCard::OutsideSegments(5_000)));
    assert!(make(&link, &half, &WISHES, Serves::Transmit, LARGEST).is_err());
}

#[test]
fn two_radios_have_a_card_each() {
    let link = repeater(435_500_000, 145_950_000);
    let of = |serves| make(&link, &everywhere(), &WISHES, serves, LARGEST).unwrap();
    assert_eq!(of(Serves::Transmit).memories.len(), 1);
    assert_eq!(of(Serves::Transmit).arming, [Arming { with: (0, 0) }]);
    let ear = of(Serves::Receive);
    assert!(ear.memories.len() == 5 && ear.arming.is_empty() && ear.tone.is_none() && ear.silent.is_none());
}

#[test]
fn what_can_t_be_done_is_said() {
    let mut link = repeater(435_500_000, 145_950_000);
    let narrow = Wishes { receive_within: Hertz(2_000), ..WISHES };
    let refusal = make(&link, &everywhere(), &narrow, Serves::Both, LARGEST).unwrap_err().to_string();
    assert!(refusal.contains("receive dial within 2000 Hz: allow at least half a step"), "{refusal}");
    link.uplink = None;
    assert_eq!(make(&link, &everywhere(), &WISHES, Serves::Transmit, LARGEST), Err(NoCard::NoUplink));
    link.kind = LinkKind::Linear { inverting: true, passband: Hertz(30_000) };
    assert_eq!(make(&link, &everywhere(), &WISHES, Serves::Both, LARGEST), Err(NoCard::Linear));
}

/// The errors on the card against the dials worked afresh, over all range rates.
#[test]
fn every_memory_keeps_its_bounds_and_the_errors_on_the_card_are_the_largest() {
    for (down, up) in [(435_217_000, 145_927_000), (145_891_000, 435_347_000), (437_262_499, 145_999_999)] {
        let card = make(&repeater(down, up), &everywhere(), &WISHES, Serves::Both, LARGEST).unwrap();
        let mut largest = vec![(0.0f64, 0.0f64); card.memories.len()];
        for number in -7_100..=7_100 {
            let rate = f64::from(number) / 1000.0;
            let at = card.memory_at(rate);
            let (receive, transmit) =
                (card.memories[at].receive.unwrap(), card.memories[at].transmit.unwrap());
            let off_down = (receive.hertz.as_f64() - down as f64 * (1.0 - rate / 299_792.458)).abs();
            let off_up = (transmit.hertz.as_f64() - up as f64 / (1.0 - rate / 299_792.458)).abs();
            assert!(off_down <= 2_500.0 + 1e-3 && off_up <= 5_000.0 + 1e-3, "{rate} {off_down} {off_up}");
            largest[at] = (largest[at].0.max(off_down), largest[at].1.max(off_up));
        }
        for (memory, (off_down, off_up)) in card.memories.iter().zip(largest) {
            assert!((memory.receive.unwrap().error.as_f64() - off_down).abs() < 3.0, "{memory:?} {off_down}");
            assert!((memory.transmit.unwrap().error.as_f64() - off_up).abs() < 3.0, "{memory:?} {off_up}");
        }
    }
}
