//! The judges, one for each family, written from the equipment notes alone.

use std::time::Duration;

use crate::judge::Judge;

/// The judge of a dialect's family.
pub(crate) fn judge_for(dialect: &str) -> Box<dyn Judge> {
    match dialect {
        "semicolon-eleven" | "semicolon-two-bands" => {
            Box::new(Semicolon { nine: false, ..Semicolon::default() })
        }
        "semicolon-nine" => Box::new(Semicolon { nine: true, ..Semicolon::default() }),
        "fe-frames" => Box::new(Bus::default()),
        "five-byte" => Box::new(FiveByte { duplex: false, ..FiveByte::default() }),
        "five-byte-duplex" => Box::new(FiveByte { duplex: true, ..FiveByte::default() }),
        "w-lines" => Box::new(Lines { words: false, ..Lines::default() }),
        "az-el-words" => Box::new(Lines { words: true, ..Lines::default() }),
        "thirteen-byte" => Box::new(ThirteenByte::default()),
        other => unreachable!("no judge for {other}"),
    }
}

/// Acts on the first two letters of a command as soon as they are in.
#[derive(Default)]
struct Semicolon {
    nine: bool,
    command: String,
    seen: Option<String>,
}

impl Judge for Semicolon {
    fn hear(&mut self, byte: u8, _at: Duration) -> Vec<u8> {
        if byte == b';' {
            let command = std::mem::take(&mut self.command);
            // Break-in that is switched on lets a Morse key transmit; anything but a digit or two
            // behind the letters is refused.
            let is_set = |data: &str| matches!(data.len(), 1 | 2) && data.bytes().all(|b| b.is_ascii_digit());
            if command
                .strip_prefix("BI")
                .is_some_and(|data| is_set(data) && data.contains(|digit| digit != '0'))
            {
                self.seen.get_or_insert_with(|| command.clone());
            }
            return self.answer(&command).into_bytes();
        }
        let is_padding = self.command.is_empty() && !byte.is_ascii_alphabetic();
        if !is_padding && self.command.len() < 40 {
            self.command.push(char::from(byte.to_ascii_uppercase()));
        }
        let forbidden =
            ["TX", "RX", "MX", "VX", "KY", "KM", "PB", "LM", "AC", "PS", "MW", "MT", "AM", "BM", "SR", "EX"];
        if self.command.len() == 2 && forbidden.contains(&self.command.as_str()) {
            self.seen.get_or_insert_with(|| self.command.clone());
        }
        Vec::new()
    }

    fn verdict(&self) -> Option<String> {
        self.seen.clone()
    }
}

impl Semicolon {
    fn answer(&self, command: &str) -> String {
        let answer = match (command, self.nine) {
            ("ID", _) => "ID019;",
            ("FA", false) => "FA00145950000;",
            ("FB", false) => "FB00435070000;",
            ("FC", false) => "FC00435500000;",
            ("DC", false) => "DC00;",
            ("SM1", false) => "SM10015;",
            ("MD", false) => "MD4;",
            ("TN", false) => "TN08;",
            ("FT", false) => "FT1;",
            ("OS", false) => "OS0;",
            ("CT", false) => "CT0;",
            ("SM0", false) => "SM00015;",
            ("IF", false) => "IF00145950000     +00000000004000000000;",
            ("FA", true) => "FA145950000;",
            ("FB", true) => "FB435070000;",
            ("MD0", true) => "MD04;",
            ("MD1", true) => "MD14;",
            ("CN00", true) => "CN00008;",
            ("CN10", true) => "CN10008;",
            ("CT0", true) => "CT00;",
            ("CT1", true) => "CT10;",
            ("OS1", true) => "OS10;",
            ("ST", true) => "ST1;",
            ("OS0", true) => "OS00;",
            ("SM0", true) => "SM0015;",
            ("RT", _) => "RT0;",
            ("XT", _) => "XT0;",
            ("BY", _) => "BY1;",
            (set, _) if set.len() > 2 && set.bytes().take(2).all(|byte| byte.is_ascii_uppercase()) => "",
            _ => "?;",
        };
        answer.to_owned()
    }
}

/// The radio at address A2; FE FE starts a frame at any time.
#[derive(Default)]
struct Bus {
    preamble: u32,
    in_frame: bool,
    frame: Vec<u8>,
    seen: Option<String>,
}

impl Judge for Bus {
    fn hear(&mut self, byte: u8, _at: Duration) -> Vec<u8> {
        if byte == 0xFE {
            self.preamble += 1;
            self.in_frame |= self.preamble == 2;
            if self.preamble >= 2 {
                self.frame.clear();
                return Vec::new();
            }
        } else {
            self.preamble = 0;
        }
        if byte != 0xFD {
            if self.in_frame && self.frame.len() < 60 {
                self.frame.push(byte);
            }
            return Vec::new();
        }
        self.in_frame = false;
        let frame = std::mem::take(&mut self.frame);
        match &frame[..] {
            [0xA2, from, content @ ..] => self.obey(*from, content),
            _ => Vec::new(),
        }
    }

    fn verdict(&self) -> Option<String> {
        self.seen.clone()
    }
}

impl Bus {
    fn obey(&mut self, from: u8, content: &[u8]) -> Vec<u8> {
        let forbidden = match content {
            [0x1C, 0x00, 0x00 | 0x01, ..] => "a key command",
            [0x1C, 0x01, 0x00..=0x02, ..] => "the tuner",
            [0x16, 0x46 | 0x47, data @ ..] if data.iter().any(|byte| *byte != 0) => {
                "transmitting by sound or Morse key (gentle)"
            }
            [0x1A, 0x01..=0xFF, _, ..] => "a menu write (gentle)",
            [0x1A, 0x00, ..] | [0x09 | 0x0B, ..] => "a memory write (gentle)",
            [0x17, ..] => "Morse (gentle)",
            [0x18, ..] => "power (gentle)",
            [0x28, ..] => "voice memory (gentle)",
            _ => "",
        };
        if !forbidden.is_empty() && (self.seen.is_none() || !forbidden.ends_with("(gentle)")) {
            self.seen = Some(forbidden.to_owned());
        }
        let data: &[u8] = match content {
            [0x03] => &[0x00, 0x00, 0x95, 0x45, 0x01],
            [0x04] => &[0x05, 0x01],
            [0x1B, 0x00] => &[0x00, 0x08, 0x85],
            [0x0F] | [0x21, 0x01] | [0x16, 0x43 | 0x5A] | [0x1C, 0x00] => &[0x00],
            [0x15, 0x02] => &[0x01, 0x20],
            [0x15, 0x01] => &[0x01],
            _ => return [&[0xFE, 0xFE, from, 0xA2][..], &[0xFB, 0xFD]].concat(),
        };
        [&[0xFE, 0xFE, from, 0xA2][..], content, data, &[0xFD]].concat()
    }
}

/// Four parameters and an opcode; half a command is forgotten after 200 ms of silence.
#[derive(Default)]
struct FiveByte {
    duplex: bool,
    command: Vec<u8>,
    last: Duration,
    seen: Option<String>,
}

impl Judge for FiveByte {
    fn hear(&mut self, byte: u8, at: Duration) -> Vec<u8> {
        if at.saturating_sub(self.last) >= Duration::from_millis(200) {
            self.command.clear();
        }
        self.last = at;
        self.command.push(byte);
        if self.command.len() < 5 {
            return Vec::new();
        }
        self.command.clear();
        if matches!(byte, 0x08 | 0x88 | 0x0F | 0x8F | 0xBC | 0xBE) {
            self.seen.get_or_insert_with(|| format!("opcode {byte:02X}"));
        }
        match (byte, self.duplex) {
            (0x03, _) | (0x13 | 0x23, true) => vec![0x14, 0x59, 0x50, 0x00, 0x08],
            (0xE7, _) => vec![0x05],
            (0xF7, _) => vec![0xFF],
            (_, true) => Vec::new(),
            (_, false) => vec![0xF0],
        }
    }

    fn verdict(&self) -> Option<String> {
        self.seen.clone()
    }
}

/// Both rotators that speak in lines.
#[derive(Default)]
struct Lines {
    words: bool,
    line: String,
    seen: Option<String>,
}

impl Judge for Lines {
    fn hear(&mut self, byte: u8, _at: Duration) -> Vec<u8> {
        if byte != b'\r' {
            if self.line.len() < 40 {
                self.line.push(char::from(byte));
            }
            return Vec::new();
        }
        let line = std::mem::take(&mut self.line);
        let line = line.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        let forbidden = if self.words {
            line.split(' ')
                .any(|word| word.starts_with(['M', 'R', 'U', 'D', 'P', 'T', 'V', 'B', 'I', 'O', 'Q']))
        } else {
            line.contains(['R', 'L', 'U', 'D', 'O', 'F', 'T', 'N', 'P', 'H', 'G', 'K', 'B', 'Z', 'Y'])
        };
        if forbidden {
            self.seen.get_or_insert_with(|| line.to_owned());
        }
        let answer: &[u8] = match line {
            "C2" => b"+0180+0045\r\n",
            "C" => b"+0180\r\n",
            "AZ EL" => b"AZ180.0 EL45.0\r\n",
            "AZ" => b"AZ180.0\r\n",
            _ if self.words || line.starts_with(['W', 'M', 'S', 'A', 'E']) => b"",
            _ => b"?>\r\n",
        };
        answer.to_vec()
    }

    fn verdict(&self) -> Option<String> {
        self.seen.clone()
    }
}

/// From 57 on thirteen bytes; the twelfth says what to do. Restarting and configuring are
/// forbidden (their codes from memory).
#[derive(Default)]
struct ThirteenByte {
    block: Vec<u8>,
    seen: Option<String>,
}

impl Judge for ThirteenByte {
    fn hear(&mut self, byte: u8, _at: Duration) -> Vec<u8> {
        if self.block.is_empty() && byte != 0x57 {
            return Vec::new();
        }
        self.block.push(byte);
        if self.block.len() < 13 {
            return Vec::new();
        }
        let command = self.block[11];
        self.block.clear();
        if matches!(command, 0xEE | 0xF7..=0xFA) {
            self.seen.get_or_insert_with(|| format!("command {command:02X}"));
        }
        match command {
            0x0F | 0x1F => vec![0x57, 5, 4, 0, 5, 2, 4, 0, 5, 0, 2, 0x20],
            _ => Vec::new(),
        }
    }

    fn verdict(&self) -> Option<String> {
        self.seen.clone()
    }
}
