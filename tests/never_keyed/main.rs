//! Beamhand never keys a transmitter, whatever the wire does to its bytes.
//!
//! Real conversations play random exchanges of every dialect against a judge: a parser of the
//! family, written by hand from the equipment notes, that answers as such a device would. Between
//! the two, a channel loses bytes (singly, in bursts, whole frames), cuts frames off, and pads;
//! answers get lost, cut or late. The line may have been left with half a command by somebody
//! else. In none of the streams may the judge see a command of the never-list.
//!
//! Users' dialect files that name key commands, whole, in parts, in tables and by sums, are
//! refused or say nothing that keys (`files.rs`). Whole radios with their players follow plans on
//! bad lines while the operator keys and turns the dial (`radios.rs`).
//!
//! `cargo test` plays a share; `.ci/never` plays ten million sequences, or as many as it is told.
//!
//! Padding that is covered: in the silences `00`, `FF`, blanks and line ends, in text also any
//! byte twice; on the bus `FF` between frames; to the byte-counting families one byte more
//! between two silences of 200 ms. Noise that forges the bytes of a key command, or an answer,
//! can't be told from the real thing and is not played. Bytes may stand still for 40 ms on their
//! way; an answer may come late, but not later than the silence that follows a missing one.
//!
//! On the bus any loss whatever must not key or start the tuner (`1C 00`, `1C 01` with the data
//! that the language knows: 00 and up); the commands with decimal codes (Morse, voice, power,
//! memory) are held against losses of up to one byte a frame and of whole frames.

mod channel;
mod files;
mod judge;
mod judges;
mod play;
mod radios;

use beamhand::device::dialect::Dialect;
use judges::judge_for;
use play::{Bench, Guarded};

/// How many streams are played in all; files and radios come on top.
fn sequences() -> u32 {
    from_environment("BEAMHAND_SEQUENCES", 500_000)
}

/// Where chance begins.
fn seed() -> u64 {
    from_environment("BEAMHAND_SEED", 0x5EED)
}

fn from_environment<T: std::str::FromStr>(name: &str, default: T) -> T {
    let Ok(text) = std::env::var(name) else { return default };
    text.parse().unwrap_or_else(|_| unreachable!("{name}={text} is no number"))
}

fn bytes_heard(dialect: &str, bytes: &[u8]) -> Option<String> {
    let mut judge = judge_for(dialect);
    for byte in bytes {
        judge.hear(*byte, std::time::Duration::ZERO);
    }
    judge.verdict()
}

/// A ninth of all for each of the nine dialects.
fn no_stream_keys(dialect: &'static str) {
    let mut bench = Bench::new(dialect, seed());
    let streams = sequences() / 9;
    for number in 0..streams {
        let seen = bench.play(Guarded::Yes);
        assert_eq!(seen, None, "{dialect}, stream {number}: the judge heard {:02X?}", bench.heard());
    }
    println!("{dialect}: {streams} streams, {} exchanges ended well", bench.answered());
    assert!(bench.answered() > streams, "{dialect}: only {} answers were understood", bench.answered());
}

/// One file for two hundred sequences, with four streams each if it is read.
#[test]
fn no_users_file_keys() {
    let files = sequences() / 200;
    let tally = files::play(files, seed()).unwrap_or_else(|why| unreachable!("{why}"));
    println!("users' files: {tally:?}");
    assert!(
        tally.refused > files / 4 && tally.taken > files / 20 && tally.answered > tally.taken,
        "{tally:?}"
    );
}

/// One run for eight thousand sequences.
#[test]
fn no_radio_is_keyed_or_leaves_its_segments_whatever_its_line_and_its_operator_do() {
    let runs = sequences() / 8000;
    let tally = radios::play(runs, seed()).unwrap_or_else(|why| unreachable!("{why}"));
    println!("radios: {tally:?}");
    assert!(tally.followed > runs / 3 && tally.keyed_by_the_operator > runs, "{tally:?}");
    assert!(tally.only_listened > runs / 10, "{tally:?}");
}

#[test]
fn semicolon_eleven_never_keys() {
    no_stream_keys("semicolon-eleven");
}

#[test]
fn semicolon_nine_never_keys() {
    no_stream_keys("semicolon-nine");
}

#[test]
fn semicolon_two_bands_never_keys() {
    no_stream_keys("semicolon-two-bands");
}

#[test]
fn fe_frames_never_key() {
    no_stream_keys("fe-frames");
}

#[test]
fn five_byte_never_keys() {
    no_stream_keys("five-byte");
}

#[test]
fn five_byte_duplex_never_keys() {
    no_stream_keys("five-byte-duplex");
}

#[test]
fn w_lines_start_no_motor_by_letter() {
    no_stream_keys("w-lines");
}

#[test]
fn az_el_words_say_nothing_else() {
    no_stream_keys("az-el-words");
}

#[test]
fn thirteen_bytes_never_restart_or_configure() {
    no_stream_keys("thirteen-byte");
}

/// The same frames over the same channel without the guard do key: the judge can see it, and the
/// streams go where it is dangerous.
#[test]
fn without_the_guard_the_judge_sees_keying() {
    let radios = Dialect::names().filter(|name| !["w-lines", "az-el-words", "thirteen-byte"].contains(name));
    for dialect in radios {
        let mut bench = Bench::new(dialect, 0x5EED);
        let keyed = (0..20_000).filter(|_| bench.play(Guarded::No).is_some()).count();
        assert!(keyed > 5, "{dialect}: only {keyed} of 20,000 unguarded streams keyed");
    }
}

#[test]
fn each_judge_knows_its_key_commands() {
    let keyed: [(&str, &[u8]); 19] = [
        ("semicolon-eleven", b"FA;TX;"),
        ("semicolon-eleven", b"TX1;"),
        ("semicolon-eleven", b"ky hello;"),
        ("semicolon-nine", b"AC002;"),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x1C, 0x00, 0x01, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x1C, 0x00, 0x00, 0x95, 0xFD]),
        ("fe-frames", &[0x12, 0xFE, 0xFE, 0xFE, 0xA2, 0x70, 0x1C, 0x01, 0x02, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x17, 0x45, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x16, 0x46, 0x01, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x16, 0x47, 0x02, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x1A, 0x05, 0x01, 0x23, 0x01, 0xFD]),
        ("semicolon-eleven", b"EX0450001;"),
        ("semicolon-nine", b"bi1;"),
        ("five-byte", &[0, 0, 0, 0, 0x08]),
        ("five-byte-duplex", &[0, 0, 0, 0, 3, 0, 0, 0, 0, 0x88]),
        ("w-lines", b"R\r"),
        ("w-lines", b"S\rF2\r"),
        ("az-el-words", b"ML\r"),
        ("thirteen-byte", b"W\0\0\0\0\0\0\0\0\0\0\xEE "),
    ];
    for (dialect, bytes) in keyed {
        assert!(bytes_heard(dialect, bytes).is_some(), "{dialect} {bytes:02X?}");
    }
    let harmless: [(&str, &[u8]); 8] = [
        ("semicolon-eleven", b"TO1;XT0;"),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x1C, 0x00, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0x70, 0xE0, 0x1C, 0x00, 0x01, 0xFD]),
        ("fe-frames", &[0xFE, 0xFE, 0xA2, 0xE0, 0x16, 0x46, 0x00, 0xFD]),
        ("semicolon-nine", b"BI;BI0;"),
        ("five-byte", &[0x08, 0, 0, 0, 0x07]),
        ("w-lines", b"W180 045\r"),
        ("thirteen-byte", b"W1080\x020810\x02/ "),
    ];
    for (dialect, bytes) in harmless {
        assert_eq!(bytes_heard(dialect, bytes), None, "{dialect} {bytes:02X?}");
    }
}
