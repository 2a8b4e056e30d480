//! What goes over a line, in words: bytes, and what they mean.

use crate::device::{Value, Values};

/// No more bytes than these are shown.
const SHOWN: usize = 24;

/// Text in quotation marks, a CR or LF behind it by its name; anything else as hexadecimal pairs.
pub(super) fn bytes(bytes: &[u8]) -> String {
    let shown = &bytes[..bytes.len().min(SHOWN)];
    let more = if bytes.len() > SHOWN { format!(" ... ({} bytes)", bytes.len()) } else { String::new() };
    let text = shown.trim_ascii_end();
    let is_text = text.iter().all(|byte| matches!(byte, b' '..=b'~')) && !text.is_empty();
    if is_text {
        let name = |byte: &u8| match byte {
            b'\r' => " CR",
            b'\n' => " LF",
            _ => "",
        };
        let ends: String = shown[text.len()..].iter().map(name).collect();
        return format!("\"{}\"{ends}{more}", String::from_utf8_lossy(text));
    }
    shown.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ") + &more
}

/// A reading, item by item: `receive 435.213 790 MHz`, `azimuth 12.5`.
pub(super) fn reading(values: &Values) -> String {
    values.iter().map(|(field, value)| item(field, value)).collect::<Vec<_>>().join(", ")
}

fn item(field: &str, value: Value) -> String {
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
        assert_eq!(bytes(b"FA00145950000;"), "\"FA00145950000;\"");
        assert_eq!(bytes(b"+0180+0045\r\n"), "\"+0180+0045\" CR LF");
        assert_eq!(bytes(b"A\x1b[2J"), "41 1B 5B 32 4A");
        assert_eq!(bytes(b"  "), "20 20");
        assert_eq!(bytes(&[0xFF; 200]), format!("{} ... (200 bytes)", ["FF"; 24].join(" ")));
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
