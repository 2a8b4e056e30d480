//! What a report leaves out: where the station is and who it is, unless that is wanted. What lets the
//! place be worked out goes with it: look angles, Doppler, and when a satellite rises to the second.

use serde_json::Value;
use toml::{Table, Value as Setting};

/// What may be told.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct May {
    /// Where the station is.
    pub(super) place: bool,
    /// Its callsign.
    pub(super) callsign: bool,
}

/// The settings that tell the place.
pub(super) const PLACE: [&str; 5] = ["latitude", "longitude", "altitude_m", "locator", "horizon"];

/// What stands where something was left out.
const LEFT_OUT: &str = "(left out)";

/// The settings of a configuration's text, without its comments, which may say anything; `None` if it
/// is no TOML.
pub(super) fn configuration(text: &str, may: May) -> Option<String> {
    let mut settings: Table = text.parse().ok()?;
    if let Some(Setting::Table(station)) = settings.get_mut("station") {
        if !may.callsign && station.contains_key("callsign") {
            station.insert("callsign".to_owned(), LEFT_OUT.into());
        }
        if !may.place {
            hide_place(station);
        }
    }
    for source in tables(settings.get_mut("elements").and_then(|elements| elements.get_mut("source"))) {
        // What stands behind a question mark may be somebody's key.
        if let Some(Setting::String(url)) = source.get_mut("url") {
            url.truncate(url.find('?').unwrap_or(url.len()));
        }
    }
    for command in tables(settings.get_mut("agenda").and_then(|agenda| agenda.get_mut("command"))) {
        if let Some(Setting::Array(run)) = command.get_mut("run") {
            run.truncate(1);
        }
    }
    toml::to_string(&settings).ok()
}

/// The callsign in a configuration's text.
pub(super) fn callsign_in(text: &str) -> Option<String> {
    let settings: Table = text.parse().ok()?;
    Some(settings.get("station")?.get("callsign")?.as_str()?.to_owned())
}

/// A dialect's text without its comments.
pub(super) fn dialect(text: &str) -> Option<String> {
    toml::to_string(&text.parse::<Table>().ok()?).ok()
}

/// Whole degrees, a locator's first four characters, hundreds of metres; no skyline.
fn hide_place(station: &mut Table) {
    for key in ["latitude", "longitude"] {
        if let Some(degrees) = station.get(key).and_then(number) {
            station.insert(key.to_owned(), Setting::Float(degrees.round()));
        }
    }
    if let Some(metres) = station.get("altitude_m").and_then(number) {
        station.insert("altitude_m".to_owned(), Setting::Float((metres / 100.0).round() * 100.0));
    }
    if let Some(Setting::String(locator)) = station.get_mut("locator") {
        *locator = locator.chars().take(4).collect();
    }
    if station.contains_key("horizon") {
        station.insert("horizon".to_owned(), LEFT_OUT.into());
    }
}

fn number(setting: &Setting) -> Option<f64> {
    match setting {
        Setting::Integer(number) => Some(*number as f64),
        Setting::Float(number) => Some(*number),
        _ => None,
    }
}

fn tables(list: Option<&mut Setting>) -> impl Iterator<Item = &mut Table> {
    let list = match list {
        Some(Setting::Array(list)) => list.as_mut_slice(),
        _ => &mut [],
    };
    list.iter_mut().filter_map(Setting::as_table_mut)
}

/// What is left out of a status where the place is not to be told, wherever it stands.
const TELLING: [&str; 13] = [
    "pass",
    "look",
    "plan",
    "position",
    "plan_hz",
    "dial_hz",
    "behind_hz",
    "last_over",
    "next",
    "from",
    "until",
    "rises",
    "sets",
];

/// A status in JSON. Sentences lose their numbers, except those of radios, which lose frequencies.
pub(super) fn status(status: &mut Value, may: May) {
    if !may.place {
        hide(status, "");
    }
    if !may.callsign && status.get("station").is_some_and(|station| !station.is_null()) {
        status["station"] = LEFT_OUT.into();
    }
}

fn hide(value: &mut Value, inside: &str) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                match (name.as_str(), &mut *field) {
                    (_, Value::Null) => {}
                    // A record is called by the second in which it began.
                    (_, Value::String(told)) if inside == "record" => *told = without_numbers(told),
                    (name, field) if TELLING.contains(&name) => *field = LEFT_OUT.into(),
                    ("why", Value::String(why)) if inside == "radios" => *why = without_frequencies(why),
                    ("why" | "text", Value::String(told)) => *told = without_numbers(told),
                    (name, field) => hide(field, name),
                }
            }
        }
        Value::Array(items) => items.iter_mut().for_each(|item| hide(item, inside)),
        _ => {}
    }
}

/// `LOS in # min # s`.
pub(super) fn without_numbers(told: &str) -> String {
    let mut out = String::new();
    for c in told.chars() {
        match c {
            '0'..='9' if out.ends_with('#') => {}
            '0'..='9' => out.push('#'),
            // The point and the digits behind it are of the same number.
            '.' if out.ends_with('#') => {}
            other => out.push(other),
        }
    }
    out
}

/// The same for words with a point between digits, and what follows them of the same number.
fn without_frequencies(told: &str) -> String {
    let mut after_point = false;
    let words = told.split(' ').map(|word| {
        let is_number = word.starts_with(|c: char| c.is_ascii_digit());
        after_point = is_number && (after_point || word.contains('.'));
        if after_point { without_numbers(word) } else { word.to_owned() }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// A whole text without the callsign, in whatever case it stands: it may be part of a path.
pub(super) fn without_callsign(text: &str, callsign: &str) -> String {
    let (lower, wanted) = (text.to_ascii_lowercase(), callsign.trim().to_ascii_lowercase());
    if wanted.is_empty() {
        return text.to_owned();
    }
    let (mut out, mut from) = (String::new(), 0);
    for (at, found) in lower.match_indices(&wanted) {
        out.push_str(&text[from..at]);
        out.push_str("(callsign)");
        from = at + found.len();
    }
    out + &text[from..]
}

/// A record's name with its hour only: it begins so and so long before the satellite rises.
pub(super) fn record_name(name: &str, may: May) -> String {
    // 2026-11-25T18-30-24Z-GANNET-1
    match (name.get(..13), name.get(19..)) {
        (Some(hour), Some(rest)) if !may.place && rest.starts_with("Z-") => format!("{hour}-xx-xx{rest}"),
        _ if may.place => name.to_owned(),
        _ => LEFT_OUT.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const ALL: May = May { place: true, callsign: true };

    const FILE: &str = "# we live at 54.3 north, says Q0HILL\nformat = 1\n[station]\ncallsign = \"Q0HILL\"\n\
        latitude = 54.321\nlongitude = -2.5432\naltitude_m = 123\nhorizon = [[0, 2], [90, 5]]\n\
        [[elements.source]]\nname = \"club\"\nurl = \"https://example.org/a?key=SECRET\"\n\
        [[agenda.command]]\nat = \"aos\"\nrun = [\"/bin/tell\", \"PASSWORD\"]\n";

    #[test]
    fn a_place_becomes_whole_degrees_and_a_callsign_nothing() {
        let told = configuration(FILE, May::default()).unwrap();
        for hidden in ["Q0HILL", "54.3", "2.54", "123", "SECRET", "PASSWORD", "[90, 5]"] {
            assert!(!told.contains(hidden), "{hidden}: {told}");
        }
        for shown in ["latitude = 54.0", "longitude = -3.0", "altitude_m = 100.0", "/bin/tell", "a\""] {
            assert!(told.contains(shown), "{shown}: {told}");
        }
        let told = configuration(FILE, ALL).unwrap();
        assert!(told.contains("54.321") && told.contains("Q0HILL") && !told.contains("SECRET"), "{told}");
        let locator = configuration("[station]\nlocator = \"IO84RA\"\n", May::default()).unwrap();
        assert!(locator.contains("\"IO84\""), "{locator}");
        assert_eq!(configuration("[[[", ALL), None);
    }

    #[test]
    fn a_status_tells_nothing_by_which_the_place_could_be_worked_out() {
        let mut told = json!({
            "station": "Q0HILL", "state": "following", "why": "GANNET-1 is up; LOS in 5 min 20 s",
            "look": {"azimuth_deg": 301.5}, "pass": {"aos": "2026-11-25T18:32:26Z"}, "note": null,
            "radios": [{"name": "duplex", "why": "no answer to 5 questions at 9600 baud; at 435.213 790 MHz",
                        "last_sent": {"text": "receive 435.213 790 MHz", "age_s": 0.1},
                        "receive": {"dial_hz": 435_213_790, "mode": "fm"}, "commands": 49}],
            "record": {"name": "2026-11-25T18-30-24Z-GANNET-1", "trouble": null},
            "rotator": {"why": "stands at azimuth 301.2", "position": {"azimuth": 301.2}, "commands": 57},
        });
        status(&mut told, May::default());
        let text = told.to_string();
        for hidden in ["Q0HILL", "301", "18:32", "30-24", "435", "213", "790", "5 min"] {
            assert!(!text.contains(hidden), "{hidden}: {text}");
        }
        for shown in
            ["no answer to 5 questions at 9600 baud", "\"commands\":49", "\"mode\":\"fm\"", "LOS in # min"]
        {
            assert!(text.contains(shown), "{shown}: {text}");
        }
    }

    #[test]
    fn a_callsign_is_found_in_any_case_and_anywhere() {
        let text = "/srv/q0hill/state: Q0HILL, and q0Hill\u{e9}";
        assert_eq!(
            without_callsign(text, "Q0HILL"),
            "/srv/(callsign)/state: (callsign), and (callsign)\u{e9}"
        );
        assert_eq!(without_callsign(text, " "), text);
    }

    #[test]
    fn a_records_name_tells_the_hour() {
        let name = "2026-11-25T18-30-24Z-GANNET-1";
        assert_eq!(record_name(name, May::default()), "2026-11-25T18-xx-xxZ-GANNET-1");
        assert_eq!(record_name(name, ALL), name);
        assert_eq!(record_name("q0hill-at-home", May::default()), "(left out)");
    }
}
