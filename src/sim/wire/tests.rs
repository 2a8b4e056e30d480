use super::*;
use crate::terms::{parse_time, seconds_between};

/// Says back what it heard, three bytes at a time and a tenth of a second later.
struct Parrot {
    handles: Handles,
    heard: Vec<(Time, u8)>,
    said: Vec<Utterance>,
}

impl Device for Parrot {
    fn hear(&mut self, byte: u8, at: Time) {
        self.heard.push((at, byte));
        self.handles.record.landed(crate::sim::Landing {
            at,
            cause: crate::sim::Cause::Command,
            what: crate::sim::Change::Receive(crate::terms::Hertz(byte.into())),
        });
        if self.heard.len().is_multiple_of(3) {
            let bytes = self.heard[self.heard.len() - 3..].iter().map(|(_, byte)| *byte).collect();
            self.said.push(Utterance { at: later(at, 0.1), bytes });
        }
    }
    fn advance(&mut self, _: Time) {}
    fn next_event(&self) -> Option<Time> {
        None
    }
    fn say(&mut self) -> Vec<Utterance> {
        std::mem::take(&mut self.said)
    }
    fn handles(&self) -> &Handles {
        &self.handles
    }
}

fn start() -> Time {
    parse_time("2026-11-25T18:30:00Z").unwrap()
}

fn after(seconds: f64) -> Time {
    later(start(), seconds)
}

fn wire(settings: WireSettings) -> Wire {
    Wire::new(Parrot { handles: Handles::default(), heard: Vec::new(), said: Vec::new() }, settings)
}

fn plain() -> Wire {
    wire(WireSettings::default())
}

/// When each byte had arrived at the device, milliseconds after the start.
fn arrivals_ms(wire: &Wire) -> Vec<f64> {
    let landings = wire.handles().record.landings();
    landings.iter().map(|landing| seconds_between(start(), landing.at) * 1e3).collect()
}

fn heard(wire: &Wire) -> usize {
    wire.handles().record.counts().bytes_heard as usize
}

#[test]
fn fourteen_bytes_at_9600_baud_land_14_58_ms_after_their_write() {
    let mut wire = plain();
    wire.write(b"FA00145950000;", start());
    wire.advance(after(1.0));
    let arrivals = arrivals_ms(&wire);
    assert_eq!(arrivals.len(), 14);
    assert!((arrivals[0] - 1.0417).abs() < 1e-3 && (arrivals[13] - 14.5833).abs() < 1e-3, "{arrivals:?}");
}

#[test]
fn eleven_bits_at_4800_baud_take_2_29_ms_a_byte() {
    let mut wire = wire(WireSettings { baud: 4800, bits_per_byte: 11, ..WireSettings::default() });
    wire.write(b"abcde", start());
    wire.advance(after(1.0));
    assert!((arrivals_ms(&wire)[4] - 11.4583).abs() < 1e-3);
}

#[test]
fn a_second_write_waits_for_the_first_and_one_on_a_free_line_does_not() {
    let mut wire = plain();
    wire.write(b"ab", start());
    wire.write(b"c", after(0.001));
    wire.write(b"d", after(0.010));
    wire.advance(after(1.0));
    let arrivals = arrivals_ms(&wire);
    assert!((arrivals[2] - 3.125).abs() < 1e-3 && (arrivals[3] - 11.0417).abs() < 1e-3, "{arrivals:?}");
}

#[test]
fn an_answer_arrives_byte_by_byte_and_the_next_event_says_when() {
    let mut wire = plain();
    wire.write(b"abc", start());
    let mut seen = Vec::new();
    while let Some(at) = wire.next_event() {
        let read = wire.read(at);
        seen.extend(read.into_iter().map(|byte| (byte, seconds_between(start(), at))));
    }
    let bytes: Vec<u8> = seen.iter().map(|(byte, _)| *byte).collect();
    assert_eq!(bytes, b"abc");
    for (index, (_, seconds)) in seen.iter().enumerate() {
        let expected = 0.1 + (4.0 + index as f64) * 10.0 / 9600.0;
        assert!((seconds - expected).abs() < 1e-6, "{seconds} {expected}");
    }
}

#[test]
fn the_same_bytes_arrive_whether_it_is_looked_at_often_or_once() {
    let mut once = plain();
    once.write(b"abcdef", start());
    let mut often = plain();
    often.write(b"abcdef", start());
    let slices: Vec<u8> = (0..400).flat_map(|ms| often.read(after(f64::from(ms) * 1e-3))).collect();
    assert_eq!(once.read(after(0.4)), slices);
    assert_eq!(arrivals_ms(&once), arrivals_ms(&often));
}

#[test]
fn on_one_wire_the_sender_hears_itself_and_the_answer_waits() {
    let mut wire = wire(WireSettings { one_wire: true, ..WireSettings::default() });
    wire.write(b"abc", start());
    assert_eq!(wire.read(after(0.004)), b"abc");
    // The bus is busy with the next command while the answer comes due.
    wire.write(b"0123456789", after(0.1));
    assert_eq!(wire.read(after(1.0)), b"0123456789abc012345678");
}

#[test]
fn on_one_wire_a_command_waits_for_the_end_of_an_answer() {
    let mut wire = wire(WireSettings { one_wire: true, ..WireSettings::default() });
    wire.write(b"abc", start());
    // The answer takes from 103.125 to 106.25 ms.
    wire.write(b"d", after(0.104));
    wire.advance(after(1.0));
    let arrivals = arrivals_ms(&wire);
    assert!((arrivals[3] - (106.25 + 1.0417)).abs() < 1e-3, "{arrivals:?}");
}

#[test]
fn a_mute_device_hears_and_one_that_is_off_does_not() {
    let mut mute = plain();
    mute.handles().faults.switch_on(Fault::Mute);
    mute.write(b"abc", start());
    assert_eq!((mute.read(after(1.0)), heard(&mute)), (vec![], 3));
    let mut off = plain();
    off.handles().faults.switch_on(Fault::Off);
    off.write(b"abc", start());
    assert_eq!((off.read(after(1.0)), heard(&off)), (vec![], 0));
}

#[test]
fn half_a_frame_is_half_a_frame() {
    let mut wire = plain();
    wire.handles().faults.switch_on(Fault::HalfFrame);
    wire.write(b"abc", start());
    assert_eq!(wire.read(after(1.0)), b"a");
}

#[test]
fn slow_bytes_come_slower() {
    let mut wire = plain();
    wire.handles().faults.switch_on(Fault::SlowBytes { byte_s: 0.0104 });
    wire.write(b"abc", start());
    assert_eq!(wire.read(after(0.1 + 0.003125 + 0.0105)), b"a");
    assert_eq!(wire.read(after(0.1 + 0.003125 + 0.0313)), b"bc");
}

#[test]
fn an_echo_comes_back_with_the_byte() {
    let mut wire = plain();
    wire.handles().faults.switch_on(Fault::Echo);
    wire.write(b"ab", start());
    assert_eq!(wire.read(after(0.0011)), b"a");
    assert_eq!(wire.read(after(0.05)), b"b");
}

#[test]
fn lost_and_inserted_bytes_are_about_as_many_as_asked_and_repeatable() {
    let run = |fault, seed| {
        let mut wire = wire(WireSettings { seed, ..WireSettings::default() });
        wire.handles().faults.switch_on(fault);
        wire.write(&[b'x'; 3_000], start());
        wire.advance(after(10.0));
        heard(&wire)
    };
    let lost = Fault::LostBytes { one_in: 10 };
    assert!((2_550..2_850).contains(&run(lost, 1)));
    assert_eq!(run(lost, 1), run(lost, 1));
    assert!((3_150..3_450).contains(&run(Fault::InsertedBytes { one_in: 10 }, 1)));
}

#[test]
fn a_collision_on_the_bus_is_seen_by_both_ends() {
    let mut wire = wire(WireSettings { one_wire: true, ..WireSettings::default() });
    wire.handles().faults.switch_on(Fault::Collisions { one_in: 4 });
    wire.write(&[b'x'; 1_000], start());
    let echoed = wire.read(after(1_000.0 * 10.0 / 9600.0 + 0.01));
    let marks = echoed[..1_000].iter().filter(|byte| **byte == 0xFC).count();
    let collided = crate::sim::Change::Receive(crate::terms::Hertz(0xFC));
    let landings = wire.handles().record.landings();
    assert_eq!(marks, landings.iter().filter(|landing| landing.what == collided).count());
    assert!((200..300).contains(&marks), "{marks}");
}

#[test]
fn garbage_and_a_wrong_speed_are_no_longer_what_was_said() {
    for (fault, both_ways) in [(Fault::Garbage, false), (Fault::WrongSpeed, true)] {
        let mut wire = plain();
        wire.handles().faults.switch_on(fault);
        wire.write(&[b'x'; 300], start());
        let read = wire.read(after(2.0));
        assert_eq!(read.len(), 300);
        assert!(read.iter().filter(|byte| **byte == b'x').count() < 30, "{fault:?}");
        let landings = wire.handles().record.landings();
        let intact = landings
            .iter()
            .filter(|landing| landing.what == crate::sim::Change::Receive(crate::terms::Hertz(b'x'.into())))
            .count();
        assert_eq!(intact < 30, both_ways, "{fault:?}");
    }
}

#[test]
fn what_was_on_a_pulled_cable_is_lost() {
    let mut wire = plain();
    wire.write(b"abcdef", start());
    wire.advance(after(0.0033));
    wire.handles().faults.switch_on(Fault::Unplugged);
    wire.write(b"ghi", after(0.01));
    assert_eq!((wire.read(after(1.0)), heard(&wire)), (vec![], 3));
    wire.handles().faults.clear();
    wire.write(b"jkl", after(2.0));
    assert_eq!(wire.read(after(3.0)), b"jkl");
}

#[test]
fn a_device_that_babbles_fills_the_line_with_nonsense_and_answers_nothing() {
    let mut wire = plain();
    wire.handles().faults.plan(Fault::Babble, after(1.0), Some(after(2.0)));
    assert!(wire.read(after(1.0)).is_empty());
    wire.write(b"abc", after(1.2));
    let said = wire.read(after(2.5));
    // 9600 baud carry 960 bytes of ten bits a second.
    assert!((959..=961).contains(&said.len()), "{}", said.len());
    assert!(said.iter().collect::<std::collections::BTreeSet<_>>().len() > 200);
    assert!(wire.read(after(5.0)).is_empty());
}

#[test]
fn a_planned_fault_comes_at_its_instant_however_rarely_the_wire_is_looked_at() {
    let mut wire = plain();
    wire.handles().faults.plan(Fault::Unplugged, after(0.0015), Some(after(0.5)));
    // A byte takes 1.04 ms: the first has arrived when the cable goes, the others have not.
    wire.write(b"abc", start());
    wire.write(b"d", after(1.0));
    assert_eq!(wire.handles().record.counts().bytes_heard, 1);
    wire.read(after(2.0));
    assert_eq!(wire.handles().record.counts().bytes_heard, 2);
}
