//! Dialect files: what is refused, and where.

use super::*;

fn faults(text: &str) -> Vec<String> {
    Dialect::parse("own", text).err().unwrap_or_default().iter().map(DialectError::to_string).collect()
}

#[test]
fn every_built_in_dialect_is_in_order() {
    for name in Dialect::names() {
        let text = Dialect::builtin_text(name).unwrap();
        let errors = Dialect::parse(name, text).err().unwrap_or_default();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}

#[test]
fn a_file_overrides_its_base_key_by_key() {
    let text = "base = \"semicolon-eleven\"\nline.baud = 57600\ndo.quiet = \"AI00;\"\ndo.tone_off = false\nask.signal.answer = \"SM0{signal:dec3};\"";
    let own = Dialect::parse("own", text).unwrap();
    assert_eq!((own.line().baud, own.line().answer), (57_600, Duration::from_millis(200)));
    assert!(!own.can("do.tone_off") && own.can("do.tone"));
    assert_eq!(own.exchange("do.quiet", &Values::new(), None).unwrap().steps[0].frame, b"AI00;");
    assert_eq!(own.exchange("ask.signal", &Values::new(), None).unwrap().steps[0].frame, b"SM0;");
    assert_eq!((own.name(), own.family()), ("own", Family::Semicolon));
}

#[test]
fn a_key_command_is_refused_at_its_place() {
    for (base, line, word) in [
        ("semicolon-eleven", "do.quiet = \"TX;\"", "TX keys"),
        ("semicolon-eleven", "do.quiet = \"tx0;\"", "TX keys"),
        ("semicolon-eleven", "do.quiet = [\"AI0;\", \"KY HELLO;\"]", "KY sends Morse"),
        ("semicolon-eleven", "do.quiet = \"AI0;TX;\"", "TX keys"),
        ("semicolon-nine", "do.simplex = \"PS0;\"", "PS switches"),
        ("semicolon-nine", "do.tone_off = { send = \"CT00;\", finally = \"AC002;\" }", "AC starts"),
        ("fe-frames", "do.simplex = \"1C 00 01\"", "1C 00"),
        ("fe-frames", "do.simplex = \"1C 01 02\"", "1C 00"),
        ("fe-frames", "do.simplex = \"17 45\"", "17 sends Morse"),
        ("fe-frames", "do.simplex = \"0F FD FE FE A2 E0 1C 00 01\"", "no bytes FC to FF"),
        ("fe-frames", "do.simplex = \"16 46 01\"", "lets a sound key"),
        ("fe-frames", "do.simplex = \"16 47 02\"", "lets a Morse key"),
        ("fe-frames", "do.simplex = \"1A 05 01 23 01\"", "1A with data"),
        ("fe-frames", "do.simplex = \"1A 06 01\"", "1A with data"),
        ("semicolon-eleven", "do.quiet = \"EX0450001;\"", "EX writes"),
        ("semicolon-nine", "do.quiet = \"bi1;\"", "BI lets a Morse key"),
        ("five-byte", "do.simplex = \"00 00 00 00 08\"", "08 keys"),
        ("five-byte", "do.simplex = \"00 00 00 88 09\"", "one byte too many"),
        ("five-byte", "do.simplex = \"00 00 00 00\"", "five bytes"),
        ("five-byte-duplex", "do.rx_hz = \"00 00 00 00 {hz/1000000:bcd2} 08\"", "five bytes"),
        ("w-lines", "do.stop = \"R\"", "never touches"),
        ("w-lines", "do.stop = \"TX;\"", "never touches"),
        ("az-el-words", "do.stop = \"ML\"", "never touches"),
        ("thirteen-byte", "do.stop = \"57 00 00 00 00 00 00 00 00 00 00 EE 20\"", "a block has 13 bytes"),
    ] {
        let faults = faults(&format!("base = \"{base}\"\n{line}"));
        assert!(
            matches!(&faults[..], [fault] if fault.starts_with("2:4: ") && fault.contains(word)),
            "{line}: {faults:?}"
        );
    }
}

/// Whatever part of a file it hides in.
#[test]
fn no_trick_of_a_file_gets_a_key_command_past() {
    for (base, lines, word) in [
        ("semicolon-eleven", "do.quiet = { send = \"AI0;\", finally = [\"TX;\"] }", "TX keys"),
        ("semicolon-eleven", "do.other_hz = \"T{hz:dec11}X;\"", "TX keys"),
        ("semicolon-eleven", "do.quiet = [\"T\", \"X;\"]", "one command with the ;"),
        ("semicolon-eleven", "do.quiet = \"AI0;;\"", "one command with the ;"),
        ("semicolon-eleven", "do.greeting = \"FA0\"", "one command with the ;"),
        ("semicolon-eleven", "table.mode = { fm = \"4;TX\" }", "TX keys"),
        ("semicolon-eleven", "table.tone = { \"67.0\" = \"01;TX1\" }", "TX keys"),
        ("semicolon-eleven", "prepare.single = [\"start\"]\ndo.start = \"TX0;\"", "TX keys"),
        (
            "semicolon-eleven",
            "ask.signal = { send = \"KY1;\", answer = \"SM{signal:dec4};\" }",
            "KY sends Morse",
        ),
        ("semicolon-eleven", "refused = [\"FA{_:dec11};\"]", "is no refusal"),
        ("semicolon-eleven", "refused = [\"FA00145950000;\"]", "is no refusal"),
        ("semicolon-eleven", "refused = [\"{_:any14}\"]", "is no refusal"),
        ("semicolon-eleven", "prepare.duplex = [\"tx_hz\"]", "needs a value"),
        ("fe-frames", "do.swap_vfo = \"1C {split:raw1} 01\"\naddress = 0x4C", "split"),
        ("fe-frames", "table.mode.fm = \"05 FD FE FE 4C E0 1C 00 01\"", "no bytes FC to FF"),
        ("fe-frames", "do.mode = \"1C 00 {mode:table}\"", "1C 00"),
        ("fe-frames", "do.exchange_bands = { send = [\"07 B0\"], finally = [\"1C 00 01\"] }", "1C 00"),
        ("five-byte", "do.mode = \"00 00 00 00 {mode:table}\"", "08 keys"),
        ("five-byte", "do.swap_vfo = \"00 00 00 08 81\"", "one byte too many"),
        ("five-byte", "table.tone = { \"67.0\" = \"06 70 06 08\" }", "one byte too many"),
        ("five-byte-duplex", "do.greeting = \"00 00 00 00 08\"", "08 keys"),
        ("w-lines", "do.aim = \"W{az:dec3} {el:dec3}\\rR\"", "no place in a frame"),
    ] {
        let faults = faults(&format!("base = \"{base}\"\n{lines}"));
        assert!(faults.iter().any(|fault| fault.contains(word)), "{lines}: {faults:?}");
    }
}

#[test]
fn unknown_keys_and_wrong_values_are_all_reported_with_their_places() {
    let text = "base = \"w-lines\"\nstep = 1\nline = { baud = 1, bits = \"7E1\", stop = 2 }\n[do]\nstopp = \"S\"\naim = { send = \"W{az:dec3} {elv:dec3}\", answers = \"x\" }\n[ask]\naim = \"C2\"\n";
    let faults = faults(text);
    let places: Vec<&str> = faults.iter().map(|fault| fault.split(": ").next().unwrap()).collect();
    assert_eq!(places, ["2:1", "3:10", "3:20", "3:34", "5:1", "6:9", "6:41", "8:1"], "{faults:#?}");
}

#[test]
fn a_command_has_at_most_sixty_four_frames() {
    let quiet = |send: usize, finally: usize| {
        let list = |count| vec!["\"AI0;\""; count].join(", ");
        let (send, finally) = (list(send), list(finally));
        faults(&format!(
            "base = \"semicolon-eleven\"\ndo.quiet = {{ send = [{send}], finally = [{finally}] }}"
        ))
    };
    assert_eq!(quiet(60, 4), [""; 0]);
    assert_eq!(quiet(60, 5), ["2:4: do.quiet: at most 64 frames, those of `finally` included"]);
    assert_eq!(quiet(65, 0), ["2:14: a list has at most 64 texts"]);
    let steps = vec!["\"quiet\""; 65].join(", ");
    let preparation = format!("base = \"semicolon-eleven\"\nprepare.single = [{steps}]");
    assert_eq!(faults(&preparation), ["2:9: a list has at most 64 texts"]);
    assert_eq!(faults("base = \"w-lines\"\ndo.stop = [[\"S\"]]"), ["2:12: a text is needed here"]);
}

#[test]
fn a_family_can_not_be_changed_under_a_base() {
    assert_eq!(
        faults("base = \"semicolon-eleven\"\nfamily = \"w-lines\""),
        ["2:1: a dialect with a base has its base's family"]
    );
    assert!(faults("base = \"mine\"")[0].contains("no dialect \"mine\"; one of semicolon-eleven, "));
    assert!(faults("line = {}")[0].contains("`base` or `family` is missing"));
    assert!(faults("family = \"semicolon\"").iter().any(|fault| fault.contains("`line` is missing")));
    assert!(faults("base = ").iter().all(|fault| fault.starts_with("1:")));
}

#[test]
fn a_shorter_preparation_leaves_the_steps_of_the_base_as_they_are() {
    let own = Dialect::parse(
        "own",
        "base = \"semicolon-eleven\"\nprepare.single = [\"quiet\"]\nprepare.split = []\nprepare.duplex = []",
    )
    .unwrap();
    assert_eq!(own.preparation(Arrangement::Single), ["quiet"]);
    assert!(own.preparation(Arrangement::Duplex).is_empty() && own.can("do.simplex"));
}

#[test]
fn a_forbidden_command_is_reported_with_all_other_faults() {
    let faults = faults("base = \"semicolon-eleven\"\ncolour = 1\ndo.hz = \"TX;\"\n");
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(
        faults[0].starts_with("2:1: unknown key") && faults[1].starts_with("3:4: do.hz: TX keys"),
        "{faults:?}"
    );
}

#[test]
fn a_question_whose_answer_does_not_read_what_it_asks_for_is_a_fault() {
    let faults = faults(
        "base = \"semicolon-eleven\"\nask.transmitting = { send = \"IF;\", answer = \"IF{_:any35};\" }\n\
         ask.rx_hz = { send = \"FA;\", answer = \"FA{tx_hz:dec11};\" }\n",
    );
    assert_eq!(
        faults,
        [
            "2:5: ask.transmitting: no form of the answer reads transmitting",
            "3:5: ask.rx_hz: no form of the answer reads rx_hz"
        ]
    );
}

/// In a pass a mode comes without a tone, and a question with nothing.
#[test]
fn a_command_takes_no_value_that_is_not_known_when_it_is_sent() {
    for (base, line, fault) in [
        (
            "semicolon-eleven",
            "do.mode = \"MD{mode:table}{tone:table};\"",
            "needs tone; what is known when it is sent: mode",
        ),
        (
            "semicolon-eleven",
            "do.tx_mode = \"TN{tone:table};\"",
            "needs tone; what is known when it is sent: mode",
        ),
        ("semicolon-eleven", "do.tone_off = \"TN{tone:table};\"", "needs tone, and no value is known"),
        ("semicolon-eleven", "do.swap_vfo = \"XX{signal:dec4};\"", "needs signal, and no value is known"),
        ("semicolon-eleven", "ask.tone.send = \"TN{tone:table};\"", "needs tone, and no value is known"),
        (
            "thirteen-byte",
            "do.stop = \"57 00 00 00 00 {ph:raw1} 00 00 00 00 00 0F 20\"",
            "needs ph, and no value",
        ),
        (
            "thirteen-byte",
            "ask.aim.answer = \"57 {az+360:digits4} 02 {el+360:digits4} {pv:raw1} 20\"",
            "do.aim: it needs ph, which no answer to the question reads",
        ),
    ] {
        let faults = faults(&format!("base = \"{base}\"\n{line}"));
        assert!(matches!(&faults[..], [one] if one.contains(fault)), "{line}: {faults:?}");
    }
}

#[test]
fn a_frame_is_neither_empty_nor_endless_nor_unprintable() {
    let long = "1".repeat(70);
    for (line, fault) in [
        ("do.quiet = \"\"".to_owned(), "2:4: \"\": there is nothing in it"),
        ("do.quiet = []".to_owned(), "2:4: do.quiet sends nothing"),
        ("do.quiet = {}".to_owned(), "2:4: do.quiet sends nothing"),
        ("do.quiet = { finally = \"AI0;\" }".to_owned(), "2:4: do.quiet sends nothing"),
        (format!("do.quiet = \"AI{long};\""), "2:4: do.quiet: a frame has at most 64 bytes"),
        (format!("table.mode.fm = \"{long}\""), "a frame has at most 64 bytes"),
        ("table.mode.fm = \"4\\n\"".to_owned(), "2:12: '\\n' has no place in a frame"),
        ("table.mode.fm = \"4\u{e9}\"".to_owned(), "2:12: '\u{e9}' has no place in a frame"),
        ("ask.signal.answer = \"\"".to_owned(), "there is nothing in it"),
    ] {
        let faults = faults(&format!("base = \"semicolon-eleven\"\n{line}"));
        assert!(faults.iter().any(|one| one.contains(fault)), "{line}: {faults:?}");
    }
}

#[test]
fn a_table_without_codes_is_named_where_it_stands() {
    let own =
        "family = \"semicolon\"\nline = { baud = 9600 }\ntable.tone = {}\ndo.tone = \"TN{tone:table};\"";
    assert_eq!(faults(own)[0], "3:7: a table needs codes");
}

#[test]
fn the_names_of_steps_are_plain_words() {
    for name in ["\\u001b[31m", "a b", "", "Quiet", "do.quiet"] {
        let faults = faults(&format!("base = \"semicolon-eleven\"\nprepare.single = [\"{name}\"]"));
        let told = "2:19: the name of a step has small letters, digits and _";
        assert!(faults.iter().any(|one| one == told), "{name}: {faults:?}");
    }
}

#[test]
fn a_step_of_the_preparation_must_exist() {
    let faults = |lines: &str| faults(&format!("base = \"five-byte\"\n{lines}"));
    let gone = "\n[do]\nsimplex = false";
    assert_eq!(faults(gone), ["4:1: prepare names \"simplex\", but there is no do.simplex"]);
    let needy = "prepare.split = [\"hz\"]\ndo.hz = \"{hz/10:bcd4} 01\"";
    assert_eq!(faults(needy), ["3:4: prepare names \"hz\", but do.hz needs a value"]);
    let faults = faults("prepare.single = [\"simplex\", \"beacon\"]");
    assert_eq!(faults, ["2:30: prepare names \"beacon\", but there is no do.beacon"]);
}
