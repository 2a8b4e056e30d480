//! How one number, or one table entry, looks on the wire.

use std::fmt::Write as _;

/// The form of a number. `N` counts digits in text forms and bytes in the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Codec {
    /// `decN`: N decimal digits, zeros in front.
    Digits(usize),
    /// `sdecN`: a sign and N decimal digits.
    SignedDigits(usize),
    /// `fixN`: a decimal number with N decimals, as long as it is.
    Fixed(usize),
    /// `num`: reads a number of any length, with or without sign and decimals; never written.
    Number,
    /// `digitsN`: N bytes of one decimal digit each, 00 to 09.
    RawDigits(usize),
    /// `bcdN`: N bytes of two decimal digits each, the highest first.
    Bcd(usize),
    /// `bcdleN`: the same, the lowest first.
    BcdLittle(usize),
    /// `rawN`: N bytes of binary, the highest first.
    Raw(usize),
    /// `anyN`: N bytes of anything; never written.
    Any(usize),
}

const NAMES: &str = "decN, sdecN, fixN, num, digitsN, bcdN, bcdleN, rawN, anyN, table, bitN, bitsN-M";

impl Codec {
    /// Reads a form's name.
    pub(super) fn parse(text: &str) -> Result<Self, String> {
        let letters = text.trim_end_matches(|c: char| c.is_ascii_digit());
        let count = text[letters.len()..].parse().ok().filter(|n| (1..=40).contains(n));
        let small = count.filter(|n| *n <= 15);
        let codec = match (letters, count, small) {
            ("num", None, _) if text == "num" => Some(Codec::Number),
            ("any", Some(n), _) => Some(Codec::Any(n)),
            ("dec", _, Some(n)) => Some(Codec::Digits(n)),
            ("sdec", _, Some(n)) => Some(Codec::SignedDigits(n)),
            ("digits", _, Some(n)) => Some(Codec::RawDigits(n)),
            ("fix", _, Some(n)) if n <= 6 => Some(Codec::Fixed(n)),
            ("bcd", _, Some(n)) if n <= 7 => Some(Codec::Bcd(n)),
            ("bcdle", _, Some(n)) if n <= 7 => Some(Codec::BcdLittle(n)),
            ("raw", _, Some(n)) if n <= 6 => Some(Codec::Raw(n)),
            _ => None,
        };
        codec.ok_or_else(|| format!("\"{text}\" is no form; one of {NAMES}"))
    }

    /// How many bytes it takes, if that is fixed.
    pub(super) fn length(self) -> Option<usize> {
        match self {
            Codec::Digits(n) | Codec::RawDigits(n) | Codec::Bcd(n) | Codec::BcdLittle(n) => Some(n),
            Codec::Raw(n) | Codec::Any(n) => Some(n),
            Codec::SignedDigits(n) => Some(n + 1),
            Codec::Fixed(_) | Codec::Number => None,
        }
    }

    /// Appends `number`, rounded to what the form resolves; `false`, and nothing is appended, if
    /// it does not fit.
    pub(super) fn encode(self, number: f64, out: &mut Vec<u8>) -> bool {
        if !number.is_finite() {
            return false;
        }
        let mut text = String::new();
        let whole = number.round();
        let fits = match self {
            Codec::Digits(n) => {
                write!(text, "{:0n$}", whole.max(0.0)).is_ok() && whole >= 0.0 && text.len() == n
            }
            Codec::SignedDigits(n) => {
                let sign = if whole < 0.0 { '-' } else { '+' };
                write!(text, "{sign}{:0n$}", whole.abs()).is_ok() && text.len() == n + 1
            }
            Codec::Fixed(n) => write!(text, "{number:.n$}").is_ok() && number.abs() < 1e9,
            Codec::Number | Codec::Any(_) => false,
            Codec::RawDigits(n) => return nibbles(whole, n, out, |digits, out| out.extend(digits)),
            Codec::Bcd(n) => return nibbles(whole, 2 * n, out, |digits, out| out.extend(pairs(&digits))),
            Codec::BcdLittle(n) => {
                return nibbles(whole, 2 * n, out, |digits, out| out.extend(pairs(&digits).rev()));
            }
            Codec::Raw(n) => return binary(whole, n, out),
        };
        if fits {
            out.extend_from_slice(text.as_bytes());
        }
        fits
    }

    /// Reads from the front of `bytes`: the number and how many bytes it took.
    pub(super) fn decode(self, bytes: &[u8]) -> Option<(f64, usize)> {
        match self {
            Codec::Fixed(_) | Codec::Number => number_in_front(bytes),
            Codec::Any(n) => bytes.get(..n).map(|_| (0.0, n)),
            Codec::SignedDigits(n) => {
                let sign = match bytes.first()? {
                    b'+' => 1.0,
                    b'-' => -1.0,
                    _ => return None,
                };
                let value = decimal(bytes.get(1..=n)?.iter().map(|byte| byte.wrapping_sub(b'0')))?;
                Some((sign * value, n + 1))
            }
            Codec::Digits(n) => {
                fixed(bytes, n, |digits| decimal(digits.iter().map(|byte| byte.wrapping_sub(b'0'))))
            }
            Codec::RawDigits(n) => fixed(bytes, n, |digits| decimal(digits.iter().copied())),
            Codec::Bcd(n) => {
                fixed(bytes, n, |bcd| decimal(bcd.iter().flat_map(|byte| [byte >> 4, byte & 15])))
            }
            Codec::BcdLittle(n) => {
                fixed(bytes, n, |bcd| decimal(bcd.iter().rev().flat_map(|byte| [byte >> 4, byte & 15])))
            }
            Codec::Raw(n) => {
                fixed(bytes, n, |raw| Some(raw.iter().fold(0.0, |sum, byte| sum * 256.0 + f64::from(*byte))))
            }
        }
    }
}

fn fixed(bytes: &[u8], n: usize, read: impl Fn(&[u8]) -> Option<f64>) -> Option<(f64, usize)> {
    Some((read(bytes.get(..n)?)?, n))
}

fn decimal(digits: impl Iterator<Item = u8>) -> Option<f64> {
    let mut sum = 0.0;
    for digit in digits {
        if digit > 9 {
            return None;
        }
        sum = sum * 10.0 + f64::from(digit);
    }
    Some(sum)
}

fn nibbles(whole: f64, n: usize, out: &mut Vec<u8>, put: impl Fn(Vec<u8>, &mut Vec<u8>)) -> bool {
    if !(0.0..10f64.powi(n as i32)).contains(&whole) {
        return false;
    }
    let text = format!("{whole:0n$}");
    put(text.bytes().map(|byte| byte - b'0').collect(), out);
    true
}

fn pairs(digits: &[u8]) -> impl DoubleEndedIterator<Item = u8> {
    digits.chunks_exact(2).map(|pair| pair[0] << 4 | pair[1])
}

fn binary(whole: f64, n: usize, out: &mut Vec<u8>) -> bool {
    if !(0.0..256f64.powi(n as i32)).contains(&whole) {
        return false;
    }
    out.extend_from_slice(&(whole as u64).to_be_bytes()[8 - n..]);
    true
}

/// A decimal number at the front: an optional sign, digits, and optionally a point with digits.
fn number_in_front(bytes: &[u8]) -> Option<(f64, usize)> {
    let signed = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let digits = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    let whole = digits(signed);
    let mut end = signed + whole;
    if whole > 0 && bytes.get(end) == Some(&b'.') {
        end += 1 + digits(end + 1);
    }
    if whole == 0 || end > 20 {
        return None;
    }
    let number = std::str::from_utf8(&bytes[..end]).ok()?.parse().ok()?;
    Some((number, end))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn encoded(form: &str, number: f64) -> Option<Vec<u8>> {
        let mut out = Vec::new();
        Codec::parse(form).unwrap().encode(number, &mut out).then_some(out)
    }

    #[test]
    fn every_form_is_written_as_its_name_says() {
        assert_eq!(encoded("dec11", 145_950_000.0).unwrap(), b"00145950000");
        assert_eq!(encoded("sdec4", -7.0).unwrap(), b"-0007");
        assert_eq!(encoded("fix1", 180.0).unwrap(), b"180.0");
        assert_eq!(encoded("digits4", 5405.0).unwrap(), [5, 4, 0, 5]);
        assert_eq!(encoded("bcd4", 14_595_000.0).unwrap(), [0x14, 0x59, 0x50, 0x00]);
        assert_eq!(encoded("bcdle5", 145_950_000.0).unwrap(), [0x00, 0x00, 0x95, 0x45, 0x01]);
        assert_eq!(encoded("raw2", 258.0).unwrap(), [1, 2]);
    }

    #[test]
    fn what_does_not_fit_is_not_written() {
        for (form, number) in
            [("dec3", 1000.0), ("dec3", -1.0), ("bcd1", 100.0), ("raw1", 256.0), ("raw1", -1.0)]
        {
            assert_eq!(encoded(form, number), None, "{form} {number}");
        }
        for form in ["dec3", "sdec3", "fix1", "bcd2", "bcdle2", "raw2", "digits3"] {
            assert_eq!(encoded(form, f64::NAN), None, "{form}");
            assert_eq!(encoded(form, f64::INFINITY), None, "{form}");
        }
    }

    #[test]
    fn a_number_is_read_to_its_end_and_no_further() {
        assert_eq!(Codec::Number.decode(b"-12.50EL"), Some((-12.5, 6)));
        assert_eq!(Codec::Number.decode(b"045\r"), Some((45.0, 3)));
        assert_eq!(Codec::Number.decode(b".5"), None);
        assert_eq!(Codec::Number.decode(b"+"), None);
        assert_eq!(Codec::Bcd(1).decode(&[0x1A]), None);
    }

    #[test]
    fn unknown_forms_are_refused() {
        for form in ["", "dec", "dec0", "dec99", "hex4", "num3", "raw9", "decN", "décimal3"] {
            assert!(Codec::parse(form).is_err(), "{form}");
        }
    }
}
