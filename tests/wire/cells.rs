//! Far ends that only remember: each takes what a language sets and gives it back when asked.
//! Written by hand from the equipment notes; they know nothing of radios or mounts.

use std::collections::BTreeMap;

/// A far end.
pub(crate) trait Cell {
    /// Takes one whole frame; what comes back.
    fn hear(&mut self, frame: &[u8]) -> Vec<u8>;
}

/// The far end for a dialect.
pub(crate) fn cell_for(dialect: &str) -> Box<dyn Cell> {
    match dialect {
        // Each knows the other's way to select, FR or DC, and is told of it only by its own language.
        "semicolon-eleven" | "semicolon-two-bands" => Box::new(Semicolon::default()),
        "semicolon-nine" => Box::new(Semicolon { nine: true, ..Semicolon::default() }),
        "fe-frames" => Box::new(Bus::default()),
        "five-byte" => Box::new(FiveByte { acknowledges: true, ..FiveByte::default() }),
        "five-byte-duplex" => Box::new(FiveByte::default()),
        "w-lines" => Box::new(Lines::default()),
        "az-el-words" => Box::new(Words::default()),
        "thirteen-byte" => Box::new(Blocks::default()),
        other => unreachable!("no cell for {other}"),
    }
}

#[derive(Default)]
struct Semicolon {
    nine: bool,
    /// The dial that `FR` chose, and the band that `DC` did: mode and tone are theirs.
    receive: String,
    band: String,
    kept: BTreeMap<String, String>,
}

impl Cell for Semicolon {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let text = String::from_utf8(frame.to_vec()).unwrap();
        let command = text.strip_suffix(';').unwrap();
        if command == "ID" {
            return b"ID0990;".to_vec();
        }
        // How many letters and digits name the register.
        let name = match (&command[..2], self.nine) {
            ("CN", true) => 4,
            ("MD" | "OS" | "CT", true) => 3,
            _ => 2,
        };
        let (name, value) = command.split_at(name);
        match name {
            "FR" => value.clone_into(&mut self.receive),
            "DC" => value.clone_into(&mut self.band),
            _ => {}
        }
        let is_of_a_dial = !self.nine && matches!(name, "MD" | "TN" | "TO" | "OS" | "CT");
        let dial = if is_of_a_dial { format!(" of {} {}", self.receive, self.band) } else { String::new() };
        let register = name.to_owned() + &dial;
        if value.is_empty() {
            return format!("{name}{};", self.kept[&register]).into_bytes();
        }
        self.kept.insert(register, value.to_owned());
        Vec::new()
    }
}

#[derive(Default)]
struct Bus {
    /// The selected band.
    band: u8,
    /// By band, command and subcommand.
    kept: BTreeMap<(u8, Vec<u8>), Vec<u8>>,
}

impl Cell for Bus {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let [0xFE, 0xFE, to, from, content @ .., 0xFD] = frame else { unreachable!("{frame:02X?}") };
        let answer = self.obey(content);
        // One wire: the frame itself comes back first.
        [frame, &[0xFE, 0xFE, *from, *to], &answer, &[0xFD]].concat()
    }
}

impl Bus {
    fn obey(&mut self, content: &[u8]) -> Vec<u8> {
        // Frequency and mode are asked for by a command of their own.
        let (name, value): (&[u8], &[u8]) = match content {
            [0x07, band] => {
                self.band = *band;
                return vec![0xFB];
            }
            [0x03] => (&[0x05], &[]),
            [0x04] => (&[0x06], &[]),
            [0x16 | 0x1B | 0x21, ..] => content.split_at(2),
            _ => content.split_at(1),
        };
        if !value.is_empty() {
            self.kept.insert((self.band, name.to_vec()), value.to_vec());
            return vec![0xFB];
        }
        // Five bytes of digits answer a question that came before anything was set.
        let kept = self.kept.get(&(self.band, name.to_vec()));
        [content, kept.map_or(&[0, 0, 0x50, 0x45, 0x01][..], Vec::as_slice)].concat()
    }
}

/// Four parameters and an opcode; the high digit of the opcode is the band.
#[derive(Default)]
struct FiveByte {
    acknowledges: bool,
    hertz: BTreeMap<u8, [u8; 4]>,
    mode: BTreeMap<u8, u8>,
}

impl Cell for FiveByte {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let [digits @ .., opcode] = <[u8; 5]>::try_from(frame).unwrap();
        let band = opcode >> 4;
        match (opcode & 0x0F, band) {
            (0x01, 0..=2) => drop(self.hertz.insert(band, digits)),
            (0x07, 0..=2) => drop(self.mode.insert(band, digits[0])),
            (0x03, 0..=2) => {
                let hertz = self.hertz.get(&band).copied().unwrap_or([0x14, 0x50, 0, 0]);
                return [&hertz[..], &[self.mode.get(&band).copied().unwrap_or(0)]].concat();
            }
            _ => {}
        }
        if self.acknowledges { vec![0x00] } else { Vec::new() }
    }
}

#[derive(Default)]
struct Lines {
    azimuth: String,
    elevation: String,
}

impl Cell for Lines {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let text = String::from_utf8(frame.to_vec()).unwrap();
        let line = text.strip_suffix('\r').unwrap();
        match line.split_at(1) {
            ("W", aim) => {
                let (azimuth, elevation) = aim.split_once(' ').unwrap();
                (self.azimuth, self.elevation) = (azimuth.to_owned(), elevation.to_owned());
            }
            ("M", azimuth) => azimuth.clone_into(&mut self.azimuth),
            ("C", "2") => return format!("+0{}+0{}\r\n", self.azimuth, self.elevation).into_bytes(),
            ("C", "") => return format!("+0{}\r\n", self.azimuth).into_bytes(),
            _ => unreachable!("{line}"),
        }
        Vec::new()
    }
}

#[derive(Default)]
struct Words {
    azimuth: String,
    elevation: String,
}

impl Cell for Words {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let text = String::from_utf8(frame.to_vec()).unwrap();
        let mut asked = Vec::new();
        for word in text.trim_end().split(' ') {
            let (axis, degrees) = word.split_at(2);
            let kept = if axis == "AZ" { &mut self.azimuth } else { &mut self.elevation };
            if degrees.is_empty() {
                asked.push(format!("{axis} {kept}"));
            } else {
                degrees.clone_into(kept);
            }
        }
        if asked.is_empty() { Vec::new() } else { (asked.join("  ") + "\r\n").into_bytes() }
    }
}

/// Each axis as (degrees + 360) times ten, and its pulses.
#[derive(Default)]
struct Blocks {
    azimuth: (u32, u8),
    elevation: (u32, u8),
}

impl Cell for Blocks {
    fn hear(&mut self, frame: &[u8]) -> Vec<u8> {
        let axis = |bytes: &[u8]| {
            let number: u32 = std::str::from_utf8(&bytes[..4]).unwrap().parse().unwrap();
            let pulses = u32::from(bytes[4]);
            ((number * 10 + pulses / 2) / pulses, bytes[4])
        };
        if frame[11] == 0x2F {
            (self.azimuth, self.elevation) = (axis(&frame[1..6]), axis(&frame[6..11]));
            return Vec::new();
        }
        let digits = |(tenths, pulses): (u32, u8)| {
            let digit = |unit: u32| (tenths / unit % 10) as u8;
            [digit(1000), digit(100), digit(10), digit(1), pulses]
        };
        [&[0x57], &digits(self.azimuth)[..], &digits(self.elevation), &[0x20]].concat()
    }
}
