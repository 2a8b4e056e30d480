//! What is still sent of an ability that a file takes away.

use super::*;

fn still_sent(dialect: &str) -> Vec<String> {
    let dialect = Dialect::parse("own", dialect).unwrap();
    let told = |still: StillSent| format!("{}: {} by {}", still.verb, still.code, still.by.join(" "));
    dialect.still_sent().into_iter().map(told).collect()
}

// TO0; switches the tone off: on the receive VFO, and behind FR1; on the other one.
#[test]
fn what_still_sends_the_code_of_an_ability_that_is_off_is_named() {
    let eleven = |lines: &str| still_sent(&format!("base = \"semicolon-eleven\"\n[do]\n{lines}"));
    assert_eq!(eleven("tone_off = false"), ["do.tone_off: TO0; by do.other_tone_off do.tx_tone_off"]);
    assert_eq!(eleven("tone_off = false\ntx_tone_off = false\nother_tone_off = false"), [""; 0]);
    assert_eq!(
        eleven("tx_tone_off = false\nother_tone_off = false"),
        ["do.other_tone_off: TO0; by do.tone_off", "do.tx_tone_off: TO0; by do.tone_off"]
    );
    let another_code = "tone_off = false\ntx_tone_off = \"TO9;\"\nother_tone_off = \"TO9;\"";
    assert_eq!(eleven(another_code), [""; 0]);
}

// 03 asks for the frequency, and on the five-byte radio for the mode too.
#[test]
fn questions_are_named_and_what_is_only_selected_before_is_not() {
    assert_eq!(
        still_sent("base = \"fe-frames\"\nask.tx_hz = false"),
        ["ask.tx_hz: 03 by ask.hz ask.other_hz ask.rx_hz"],
        "07 D0 before it is the main band, which others select too"
    );
    let bytes = still_sent("base = \"five-byte\"\nask.hz = false");
    assert_eq!(bytes, ["ask.hz: 00 00 00 00 03 by ask.mode ask.other_hz ask.other_mode"]);
    assert_eq!(still_sent("base = \"five-byte\"\nask.transmitting = false"), [""; 0]);
}

#[test]
fn a_step_that_no_preparation_names_sends_nothing() {
    let file = |split: &str| {
        let prepare = format!("prepare = {{ single = [], split = [{split}], duplex = [] }}");
        still_sent(&format!("base = \"semicolon-eleven\"\n{prepare}\ndo.tone_squelch_off = false"))
    };
    let step = "transmit_tone_squelch_off";
    assert_eq!(file(&format!("\"{step}\"")), [format!("do.tone_squelch_off: CT0; by do.{step}")]);
    assert_eq!(file(""), [""; 0]);
}

#[test]
fn what_another_file_took_away_stays_away_and_what_it_had_is_remembered() {
    let own = |text: &str| Ok(text.to_owned());
    let texts = OwnTexts::from([
        ("first".into(), own("base = \"second\"\ndo.tone_off = false\n")),
        ("second".into(), own("base = \"third\"\ndo.tone_off = false\n")),
        (
            "third".into(),
            own("base = \"semicolon-eleven\"\n[do]\ntone_off = \"TO9;\"\ntx_tone_off = \"TO9;\"\n"),
        ),
    ]);
    let first = Dialect::of_user("first", &texts).unwrap();
    assert!(!first.can("do.tone_off"));
    let still = &first.still_sent()[0];
    assert_eq!((still.code.as_str(), &still.by[..]), ("TO9;", &["do.tx_tone_off".to_owned()][..]));
}
