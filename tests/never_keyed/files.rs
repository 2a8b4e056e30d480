//! Users' dialect files that try to key, by chance: each is refused when it is read, or nothing
//! that it can say keys.

use beamhand::device::dialect::Dialect;

use crate::channel::Chance;
use crate::play::{Bench, Guarded};

/// For each built-in dialect, to build on and to judge by: the lines of a file without a base,
/// and forbidden commands as a template would write them.
const DIALECTS: [(&str, &str, &[&str]); 9] = [
    (
        "semicolon-eleven",
        "family = \"semicolon\"\nline = { baud = 9600 }\n",
        &[
            "TX;",
            "TX1;",
            "tx;",
            "RX;",
            "MX1;",
            "VX1;",
            "KY HELLO;",
            "PB1;",
            "AC002;",
            "PS0;",
            "MW0;",
            "SR1;",
            "EX0450001;",
            "BI1;",
        ],
    ),
    (
        "semicolon-nine",
        "family = \"semicolon\"\nline = { baud = 9600 }\n",
        &["TX;", "TX0;", "Tx1;", "KM1HELLO;", "LM01;", "AC001;", "AM;", "BM;", "MT000;"],
    ),
    (
        "semicolon-two-bands",
        "family = \"semicolon\"\nline = { baud = 9600 }\n",
        &["TX0;", "RX0;", "DC01;TX;", "PB01;", "KY;", "AM1;", "SR2;", "VX1;"],
    ),
    (
        "fe-frames",
        "family = \"fe-frames\"\nline = { baud = 9600 }\naddress = 0xA2\n",
        &[
            "1C 00 01",
            "1C 00 00",
            "1C 01 02",
            "17 45",
            "18 00",
            "28 01",
            "1A 00 01",
            "09",
            "0B",
            "1C 00 01 00",
            "16 46 01",
            "16 47 02",
            "1A 05 01 23 01",
            "1A 06 01",
            "03 FD FE FE A2 E0 1C 00 01",
        ],
    ),
    (
        "five-byte",
        "family = \"five-byte\"\nline = { baud = 9600, bits = \"8N2\" }\n",
        &[
            "00 00 00 00 08",
            "00 00 00 00 88",
            "00 00 00 00 0F",
            "00 00 00 00 8F",
            "00 00 00 00 BC",
            "00 00 00 00 BE",
        ],
    ),
    (
        "five-byte-duplex",
        "family = \"five-byte-duplex\"\nline = { baud = 9600, bits = \"8N2\" }\n",
        &["00 00 00 00 08", "14 59 50 00 88", "00 00 00 00 0F", "00 00 00 00 BE"],
    ),
    (
        "w-lines",
        "family = \"w-lines\"\nline = { baud = 9600 }\n",
        &["R", "L", "U", "D", "O", "F", "F2", "TX;"],
    ),
    (
        "az-el-words",
        "family = \"az-el-words\"\nline = { baud = 9600 }\n",
        &["ML", "MR", "MU", "MD", "RESET", "TX;"],
    ),
    (
        "thirteen-byte",
        "family = \"thirteen-byte\"\nline = { baud = 600 }\n",
        &["57 00 00 00 00 00 00 00 00 00 00 EE 20", "57 00 00 00 00 00 00 00 00 00 00 F8 20"],
    ),
];

/// Harmless frames to stand around the others.
fn harmless(base: &str) -> &'static [&'static str] {
    match base {
        "semicolon-eleven" => &["FA;", "TO1;", "XT0;", "TN{tone:table};", "MD{mode:table};"],
        "semicolon-nine" => &["FA;", "CT02;", "XT0;", "MD0{mode:table};"],
        "semicolon-two-bands" => &["FC;", "DC01;", "DC00;", "MD{mode:table};"],
        "fe-frames" => &["03", "06 {mode:table}", "1C 00", "0F 00", "21 01 00"],
        "five-byte" | "five-byte-duplex" => &["00 00 00 00 03", "{mode:table} 00 00 00 07", "00 00 00 00 E7"],
        "w-lines" => &["S", "C2", "W{az:dec3} {el:dec3}"],
        "az-el-words" => &["AZ EL", "SA SE", "AZ{az:fix1} EL{el:fix1}"],
        _ => &["57 00 00 00 00 00 00 00 00 00 00 1F 20", "57 00 00 00 00 00 00 00 00 00 00 0F 20"],
    }
}

/// The command that sets a frequency, which may stand among what tunes and nowhere else.
fn tuning(base: &str) -> &'static str {
    match base {
        "semicolon-eleven" => "FA{hz:dec11};",
        "semicolon-nine" => "FA{hz:dec9};",
        "semicolon-two-bands" => "FC{hz:dec11};",
        "fe-frames" => "05 {hz:bcdle5}",
        "five-byte" | "five-byte-duplex" => "{hz/10:bcd4} 01",
        other => harmless(other)[0],
    }
}

/// Lines that are in order in a file with this base.
fn in_order(base: &str) -> &'static [&'static str] {
    match base {
        "semicolon-eleven" | "semicolon-two-bands" => {
            &["do.quiet = \"AI00;\"", "do.mode = \"MD{mode:table};\""]
        }
        "semicolon-nine" => &["do.quiet = \"AI00;\"", "do.mode = \"MD0{mode:table};\""],
        "fe-frames" => {
            &["do.mode = \"06 {mode:table}\"", "do.tone = [\"1B 00 {tone*10:bcd2}\", \"16 42 01\"]"]
        }
        "five-byte" | "five-byte-duplex" => &["do.mode = \"{mode:table} 00 00 00 07\"", "line.baud = 4800"],
        "w-lines" => &["do.aim = \"W{az:dec3} {el:dec3}\"", "do.stop = \"S\""],
        "az-el-words" => &["do.aim = \"AZ{az:fix1} EL{el:fix1}\"", "do.stop = \"SA SE\""],
        _ => &["line.baud = 1200"],
    }
}

/// Files that were read, and files that were refused.
#[derive(Debug, Default)]
pub(crate) struct Tally {
    pub(crate) refused: u32,
    pub(crate) taken: u32,
    pub(crate) answered: u32,
}

/// Writes so many files and plays each that is read; the first that keys, with what it said.
pub(crate) fn play(count: u32, seed: u64) -> Result<Tally, String> {
    let mut chance = Chance(seed);
    let mut tally = Tally::default();
    for _ in 0..count {
        let (base, head, keys) = DIALECTS[chance.below(DIALECTS.len())];
        let text = Author { base, head, keys, chance: &mut chance }.file();
        let Ok(dialect) = Dialect::parse("own", &text) else {
            tally.refused += 1;
            continue;
        };
        tally.taken += 1;
        let Some(mut bench) = Bench::of_file(dialect, base, Chance(seed ^ u64::from(tally.taken))) else {
            continue;
        };
        for _ in 0..4 {
            if let Some(seen) = bench.play(Guarded::Yes) {
                return Err(format!("{seen}: {:02X?}\n{text}", bench.heard()));
            }
        }
        tally.answered += bench.answered();
    }
    Ok(tally)
}

/// Writes one file.
struct Author<'c> {
    base: &'static str,
    head: &'static str,
    keys: &'static [&'static str],
    chance: &'c mut Chance,
}

impl Author<'_> {
    fn file(&mut self) -> String {
        let with_base = self.chance.percent(60);
        let head = if with_base { format!("base = \"{}\"\n", self.base) } else { self.head.to_owned() };
        // Tables that hide a part of a key command in a code.
        let tables = match self.chance.below(3) {
            0 => self.tables(),
            _ if with_base => String::new(),
            _ => {
                "table.mode = { fm = \"04\", usb = \"01\" }\ntable.tone = { \"67.0\" = \"01\" }\n".to_owned()
            }
        };
        // One that is in order but for what its tables hide is read and played.
        let is_careful = with_base && self.chance.percent(35);
        let attempts: String = if is_careful {
            self.one_of(in_order(self.base)).to_owned()
        } else {
            (0..1 + self.chance.below(3)).map(|_| self.attempt()).collect()
        };
        head + &tables + &attempts
    }

    /// One ability, step, list or table that may hold something forbidden.
    fn attempt(&mut self) -> String {
        let ability =
            self.one_of(&["hz", "rx_hz", "tx_hz", "mode", "tone", "tone_off", "tx_tone", "aim", "stop"]);
        let question = self.one_of(&["hz", "mode", "transmitting", "signal", "aim", "split"]);
        let tunes = ability.ends_with("hz") && self.chance.percent(70);
        let tuning = if tunes { format!("\"{}\", ", tuning(self.base)) } else { String::new() };
        let (frames, more) = (self.frames(), self.frames());
        match self.chance.below(7) {
            0 | 1 => format!("do.{ability} = [{tuning}{frames}]\n"),
            2 => format!("do.{ability} = {{ send = [{tuning}{frames}], finally = [{more}] }}\n"),
            3 => format!("ask.{question} = {{ send = [{frames}], answer = [{more}] }}\n"),
            4 => format!("ask.{question} = {{ send = [{frames}], answer = \"00\", finally = [{more}] }}\n"),
            5 => {
                let step = format!("extra{}", self.chance.below(1000));
                format!("prepare.single = [\"{step}\"]\ndo.{step} = [{frames}]\n")
            }
            _ => {
                let list = self.one_of(&["unasked", "refused", "acknowledged"]);
                format!("{list} = [{frames}]\n")
            }
        }
    }

    fn tables(&mut self) -> String {
        let (key, digits) =
            (self.fragment(), self.one_of(&["4", "04", "08", "88", "X", "T", "1C 00 01", "00"]));
        format!(
            "table.mode = {{ fm = \"{key}\", usb = \"{digits}\" }}\ntable.tone = {{ \"67.0\" = \"{digits}\" }}\n"
        )
    }

    fn frames(&mut self) -> String {
        let frames: Vec<String> =
            (0..1 + self.chance.below(3)).map(|_| format!("\"{}\"", self.frame())).collect();
        frames.join(", ")
    }

    /// A forbidden command, a part of one, one that a sum or a code makes, or something harmless.
    fn frame(&mut self) -> String {
        let made = [
            "00 00 00 00 {hz/10000000:bcd1}",
            "00 00 00 {hz/10000000:bcd1}",
            "00 00 00 {hz/10000000:bcd1} 01",
            "00 00 00 00 {mode:table}",
            "{hz:raw5}",
            "1C 00 {signal:raw1}",
            "1C {signal:raw1} 01",
            "{hz/10000000:bcd1} 00 01",
            "1A {signal:raw1}",
            "T{mode:table};",
            "{mode:table}X;",
            "{mode:table};",
            "{tone:table}",
        ];
        match self.chance.below(10) {
            0 | 1 => self.one_of(self.keys).to_owned(),
            2 | 3 => self.fragment(),
            4 => self.one_of(&made).to_owned(),
            5 => format!("{}{}", self.one_of(harmless(self.base)), self.fragment()),
            6 => format!("{}{}", self.fragment(), self.one_of(harmless(self.base))),
            _ => self.one_of(harmless(self.base)).to_owned(),
        }
    }

    /// Some letters, or some pairs of digits, from inside a forbidden command.
    fn fragment(&mut self) -> String {
        let key = self.one_of(self.keys);
        let unit = if key.contains(' ') && !key.starts_with('K') { 3 } else { 1 };
        let units = key.len().div_ceil(unit);
        let from = self.chance.below(units);
        let until = from + 1 + self.chance.below(units - from);
        key[from * unit..(until * unit).min(key.len())].trim().to_owned()
    }

    fn one_of(&mut self, texts: &[&'static str]) -> &'static str {
        texts[self.chance.below(texts.len())]
    }
}

#[test]
fn a_file_that_names_a_key_command_is_refused_wherever_it_stands() {
    for (base, _, keys) in DIALECTS {
        let good = harmless(base)[0];
        for key in keys {
            for line in [
                format!("do.stop = \"{key}\""),
                format!("do.stop = [\"{good}\", \"{key}\"]"),
                format!("do.stop = {{ send = \"{good}\", finally = \"{key}\" }}"),
                format!("ask.signal = {{ send = \"{key}\", answer = \"{good}\" }}"),
                format!("ask.signal = {{ send = \"{good}\", answer = \"{good}\", finally = \"{key}\" }}"),
                format!("prepare.single = [\"extra\"]\ndo.extra = \"{key}\""),
            ] {
                let text = format!("base = \"{base}\"\n{line}\n");
                let errors = Dialect::parse("own", &text).err().unwrap_or_default();
                let line = errors.first().map(|error| error.line);
                assert!(matches!(line, Some(2 | 3)), "{text}{errors:?}");
            }
        }
    }
}
