//! What players do and ask for by name, and what they read from the answers.

use super::DIALS;
use super::template::Template;

/// What can be done. A preparation step may have any other name.
pub(super) const DO: [&str; 20] = [
    "greeting",
    "hz",
    "mode",
    "tone",
    "tone_off",
    "other_hz",
    "other_mode",
    "other_tone",
    "other_tone_off",
    "swap_vfo",
    "exchange_bands",
    "rx_hz",
    "tx_hz",
    "rx_mode",
    "tx_mode",
    "tx_tone",
    "tx_tone_off",
    "aim",
    "azimuth",
    "stop",
];

/// What can be asked for.
pub(super) const ASK: [&str; 16] = [
    "hz",
    "mode",
    "tone",
    "other_hz",
    "other_mode",
    "rx_hz",
    "tx_hz",
    "rx_mode",
    "tx_mode",
    "tx_tone",
    "transmitting",
    "signal",
    "squelch",
    "aim",
    "azimuth",
    "split",
];

/// The fields whose values are known when `verb` is sent.
pub(super) fn carried(verb: &str) -> &'static [&'static str] {
    let Some(ability) = verb.strip_prefix("do.") else { return &[] };
    let plain = DIALS.into_iter().find_map(|dial| ability.strip_prefix(dial)).unwrap_or(ability);
    match plain {
        "hz" => &["hz"],
        "mode" => &["mode"],
        "tone" => &["tone"],
        "aim" => &["az", "el", "ph", "pv"],
        "azimuth" => &["az", "ph", "pv"],
        _ => &[],
    }
}

/// The field for which `verb` asks and that no form of its answer reads: a player would ask for
/// ever.
pub(super) fn unread(verb: &str, answer: &[Template]) -> Option<&'static str> {
    let item = verb.strip_prefix("ask.").and_then(|item| ASK.into_iter().find(|known| *known == item))?;
    let wanted: &[&'static str] = match item {
        "aim" => &["az", "el"],
        "azimuth" => &["az"],
        "squelch" => &["squelch_open"],
        _ => &[item],
    };
    // What a VFO answers is what it answers when it is the one in use.
    let reads = |form: &Template, field: &str| {
        let fields = form.fields();
        fields.contains(&field) || field.strip_prefix("other_").is_some_and(|plain| fields.contains(&plain))
    };
    wanted.iter().copied().find(|field| !answer.iter().any(|form| reads(form, field)))
}
