//! What goes over a line, in words: bytes, and what they mean.

use crate::device::dialect::{Dialect, Specimen, Style};
use crate::device::{Question, Value, Values};

/// No more bytes than these are shown.
const SHOWN: usize = 24;

/// A frame as manuals show it: text, a CR or LF behind it by its name, or hexadecimal pairs; a
/// dot, or two, for what may be anything.
pub(super) fn frame(frame: &[Option<u8>], style: Style) -> String {
    shown(frame, style, "")
}

/// The same of what passed, for a sentence: text stands in quotation marks, and what the language
/// does not write as text is no text.
pub(super) fn bytes(bytes: &[u8], style: Style) -> String {
    let first: Specimen = bytes.iter().take(SHOWN).copied().map(Some).collect();
    let more = if bytes.len() > SHOWN { format!(" ... ({} bytes)", bytes.len()) } else { String::new() };
    shown(&first, style, "\"") + &more
}

/// A question's own bytes.
pub(super) fn question(question: &Question) -> String {
    bytes(question.frame(), question.style)
}

/// The bytes of a dialect's greeting, if it has one.
pub(super) fn greeting(dialect: &Dialect) -> Option<String> {
    let exchange = dialect.exchange("do.greeting", &Values::new(), dialect.address()).ok()?;
    let frames: Vec<String> = exchange.frames().map(|frame| bytes(frame, dialect.family().style())).collect();
    Some(frames.join(" "))
}

fn shown(frame: &[Option<u8>], style: Style, quote: &str) -> String {
    let ends = frame.iter().rev().take_while(|byte| matches!(byte, Some(b'\r' | b'\n'))).count();
    let (text, ends) = frame.split_at(frame.len() - ends);
    let is_text = text.iter().all(|byte| byte.is_none_or(|byte| matches!(byte, b' '..=b'~')));
    if style == Style::Hex || !is_text || text.is_empty() {
        let pair = |byte: &Option<u8>| byte.map_or("..".to_owned(), |byte| format!("{byte:02X}"));
        return frame.iter().map(pair).collect::<Vec<_>>().join(" ");
    }
    let text: String = text.iter().map(|byte| char::from(byte.unwrap_or(b'.'))).collect();
    let ends: String = ends.iter().map(|byte| if *byte == Some(b'\r') { " CR" } else { " LF" }).collect();
    format!("{quote}{text}{quote}{ends}")
}

/// What a question is for.
pub(super) fn item(name: &str) -> &str {
    match name {
        "hz" => "frequency",
        "rx_hz" => "receive dial",
        "tx_hz" => "transmit dial",
        "rx_mode" => "receive mode",
        "tx_mode" => "transmit mode",
        "transmitting" => "transmitting?",
        "signal" => "signal meter",
        "aim" => "position",
        other => other,
    }
}

/// A reading, item by item: `receive 435.213 790 MHz`, `azimuth 12.5`.
pub(super) fn reading(values: &Values) -> String {
    values.iter().map(|(field, value)| told(field, value)).collect::<Vec<_>>().join(", ")
}

fn told(field: &str, value: Value) -> String {
    let name = match field {
        "hz" | "mode" | "tone" => String::new(),
        "rx_hz" | "rx_mode" => "receive ".to_owned(),
        "tx_hz" | "tx_mode" | "tx_tone" => "transmit ".to_owned(),
        "az" => "azimuth ".to_owned(),
        "el" => "elevation ".to_owned(),
        "ph" => "pulses per degree of azimuth ".to_owned(),
        "pv" => "pulses per degree of elevation ".to_owned(),
        "signal" => "signal meter ".to_owned(),
        other => format!("{} ", other.replace('_', " ")),
    };
    match (field, value) {
        ("transmitting", Value::Flag(true)) => "TRANSMITTING NOW".to_owned(),
        ("transmitting", Value::Flag(false)) => "not transmitting".to_owned(),
        ("squelch_open", Value::Flag(true)) => "squelch open".to_owned(),
        ("squelch_open", Value::Flag(false)) => "squelch closed".to_owned(),
        (_, Value::Hertz(hertz)) => format!("{name}{hertz}"),
        (_, Value::Mode(mode)) => format!("{name}{mode}"),
        (_, Value::Tone(tone)) => format!("{name}tone {tone} Hz"),
        (_, Value::Number(number)) => format!("{name}{}", (number * 10.0).round() / 10.0),
        (_, Value::Flag(is)) => format!("{name}{}", if is { "yes" } else { "no" }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::Hertz;

    #[test]
    fn what_a_device_says_can_not_disturb_the_screen() {
        let text = |came: &[u8]| bytes(came, Style::Text);
        assert_eq!(text(b"FA00145950000;"), "\"FA00145950000;\"");
        assert_eq!(text(b"+0180+0045\r\n"), "\"+0180+0045\" CR LF");
        assert_eq!(text(b"A\x1b[2J"), "41 1B 5B 32 4A");
        assert_eq!(text(b"\r\n"), "0D 0A");
        assert_eq!(text(&[0xFF; 200]), format!("{} ... (200 bytes)", ["FF"; 24].join(" ")));
    }

    #[test]
    fn a_byte_of_a_binary_language_is_never_taken_for_a_letter() {
        assert_eq!(bytes(&[0x43], Style::Hex), "43");
        assert_eq!(frame(&[Some(0x43), None], Style::Hex), "43 ..");
        assert_eq!(frame(&[b'I', b'F', b'\r'].map(Some), Style::Text), "IF CR");
        assert_eq!(frame(&[Some(b'S'), None, Some(b';')], Style::Text), "S.;");
    }

    #[test]
    fn a_reading_is_told_in_the_trades_words() {
        let values = Values::new()
            .with("rx_hz", Value::Hertz(Hertz(435_213_790)))
            .with("transmitting", Value::Flag(true))
            .with("az", Value::Number(12.5));
        assert_eq!(reading(&values), "receive 435.213 790 MHz, TRANSMITTING NOW, azimuth 12.5");
    }
}
