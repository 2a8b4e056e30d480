//! What is read, what is kept, and what comes back.

use proptest::prelude::*;

use super::*;
use crate::contacts::adif::write;
use crate::terms::parse_time;

fn names() -> Names {
    Names::new([("GANNET-1".to_owned(), "GN-1".to_owned())])
}

fn one(text: &str) -> Contact {
    let file = read(text.as_bytes(), &names());
    assert_eq!(file.refused, []);
    file.contacts.into_iter().next().unwrap()
}

fn again(contact: &Contact) -> Contact {
    one(&write([contact], &names(), parse_time("2026-11-30T21:00:00Z").unwrap()))
}

fn kept(contact: &Contact) -> Vec<(&str, &str)> {
    contact.other.iter().map(|other| (other.field.as_str(), other.value.as_str())).collect()
}

fn full() -> Contact {
    Contact {
        satellite: Some("GANNET-1".to_owned()),
        link: Some("repeater".to_owned()),
        receive_hz: Some(Hertz(435_213_790)),
        transmit_hz: Some(Hertz(145_928_090)),
        mode: Some(Mode::Usb),
        sent: Some("59".to_owned()),
        received: Some("55".to_owned()),
        locator: Some("IO84,IO94".parse().unwrap()),
        name: Some("José".to_owned()),
        note: Some("on a hill <so> windy".to_owned()),
        own_callsign: Some("Q0HILL/P".parse().unwrap()),
        own_locator: Some("JN58SA".parse().unwrap()),
        ..Contact::new("Q1ABC".parse().unwrap(), parse_time("2026-11-25T18:38:05Z").unwrap())
    }
}

#[test]
fn a_contact_is_written_in_the_formats_words() {
    let text = write([&full()], &names(), parse_time("2026-11-30T21:00:00Z").unwrap());
    let (head, record) = text.split_once("<EOH>\n").unwrap();
    assert!(head.contains("<ADIF_VER:5>3.1.4\n") && head.contains("<CREATED_TIMESTAMP:15>20261130 210000\n"));
    let wanted = "<CALL:5>Q1ABC\n<QSO_DATE:8>20261125\n<TIME_ON:6>183805\n<BAND:2>2m\n<FREQ:10>145.928090\n\
        <BAND_RX:4>70cm\n<FREQ_RX:10>435.213790\n<MODE:3>SSB\n<SUBMODE:3>USB\n<PROP_MODE:3>SAT\n\
        <SAT_NAME:4>GN-1\n<SAT_MODE:3>V/U\n<RST_SENT:2>59\n<RST_RCVD:2>55\n<VUCC_GRIDS:9>IO84,IO94\n\
        <NAME:5>José \n<COMMENT:20>on a hill <so> windy\n<STATION_CALLSIGN:8>Q0HILL/P\n\
        <MY_GRIDSQUARE:6>JN58SA\n<APP_BEAMHAND_LINK:8>repeater\n<EOR>\n";
    assert_eq!(record, wanted);
}

#[test]
fn what_was_written_is_read_again() {
    assert_eq!(again(&full()), full());
    let bare = Contact::new("Q1A".parse().unwrap(), parse_time("2026-01-02T03:04:05Z").unwrap());
    assert_eq!(again(&bare), bare);
}

/// The format's list of squares knows four characters only.
#[test]
fn a_border_known_more_finely_is_told_in_squares_and_comes_back_whole() {
    let at = |own: &str| Contact { own_locator: Some(own.parse().unwrap()), ..full() };
    for (own, told) in [
        ("IO84XA,IO94AA", "<MY_VUCC_GRIDS:9>IO84,IO94\n<APP_BEAMHAND_MY_BORDER:13>IO84XA,IO94AA\n"),
        ("IO84SA,IO84TA", "<MY_GRIDSQUARE:4>IO84\n<APP_BEAMHAND_MY_BORDER:13>IO84SA,IO84TA\n"),
        ("IO84,IO94", "<MY_VUCC_GRIDS:9>IO84,IO94\n<APP_BEAMHAND_LINK"),
    ] {
        let text = write([&at(own)], &names(), full().time);
        assert!(text.contains(told), "{text}");
        assert_eq!(again(&at(own)), at(own));
    }
    // Another program has changed the squares, and knows nothing of the finer ones.
    let head = "<EOH><CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>1838";
    let moved = one(&format!("{head}<VUCC_GRIDS:9>JN58,JN68<APP_BEAMHAND_BORDER:13>IO84XA,IO94AA<EOR>"));
    assert_eq!(moved.locator, Some("JN58,JN68".parse().unwrap()));
}

#[test]
fn of_two_files_put_together_each_head_counts_for_the_whole() {
    let record = "<CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>1838<SWEATERSIZE:1>M<EOR>\n";
    let text = format!("one<EOH>{record}two <USERDEF1:19:E>SweaterSize,{{S,M,L}}<EOH>{record}");
    let first = read(text.as_bytes(), &names());
    assert!(first.contacts.iter().all(|contact| contact.other[0].defined.is_some()), "{first:?}");
    let written = write(&first.contacts, &names(), parse_time("2026-11-30T21:00:00Z").unwrap());
    assert_eq!(read(written.as_bytes(), &names()), first);
}

#[test]
fn unknown_fields_survive_in_their_order_with_their_types() {
    let text = "head <USERDEF1:19:E>SweaterSize,{S,M,L}\n<USERDEF2:6:N>ShoeNo<EOH><QSO_DATE:8>20261125<TIME_ON:4>1838\
        <ZZZ:3>abc<CALL:5>q1abc<SWEATERSIZE:1>M<A_FIELD:2:N>42<NOTES:7>a\r\nb\r\nc<EOR>";
    let contact = one(text);
    let wanted = [("ZZZ", "abc"), ("SWEATERSIZE", "M"), ("A_FIELD", "42"), ("NOTES", "a\r\nb\r\nc")];
    assert_eq!(kept(&contact), wanted);
    let written = write([&contact], &names(), contact.time);
    assert!(written.contains("<USERDEF1:19:E>SweaterSize,{S,M,L}\n"), "{written}");
    assert!(!written.contains("ShoeNo"), "nobody uses it");
    assert!(written.contains("<A_FIELD:2:N>42\n"));
    assert_eq!(again(&contact), contact);
}

#[test]
fn what_another_log_says_in_its_own_way_is_not_replaced() {
    let record =
        |fields: &str| one(&format!("<CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>1838{fields}<EOR>"));
    let contact = record("<BAND:2>2M<SAT_MODE:2>VU<SAT_NAME:4>gn-1<MODE:3>FT8<FREQ:7>145.927<FREQ_RX:3>x.y");
    assert_eq!(contact.satellite.as_deref(), Some("GANNET-1"));
    assert_eq!(kept(&contact), [("SAT_MODE", "VU"), ("MODE", "FT8"), ("FREQ_RX", "x.y")]);
    assert_eq!(contact.mode_name().as_deref(), Some("FT8"));
    assert_eq!(again(&contact), contact);
    // A band without a frequency; a sideband as older files have it; a locator of two letters.
    let contact = record("<BAND:4>70cm<MODE:3>LSB<GRIDSQUARE:2>IO<MODE:2>XX");
    assert_eq!((contact.mode, &contact.locator), (Some(Mode::Lsb), &None));
    assert_eq!(kept(&contact), [("BAND", "70cm"), ("GRIDSQUARE", "IO")]);
    let contact = record("<MODE:3>SSB");
    assert_eq!((contact.mode, kept(&contact)), (None, vec![("MODE", "SSB")]));
    assert_eq!(again(&contact), contact);
}

#[test]
fn of_a_field_that_comes_twice_the_first_counts_and_the_other_is_kept() {
    let contact =
        one("<CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>1838<CALL:5>Q1XYZ<NAME:2>Al<NAME:2>Bo<EOR>");
    assert_eq!((contact.callsign.to_string(), contact.name.as_deref()), ("Q1ABC".to_owned(), Some("Al")));
    assert_eq!(kept(&contact), [("CALL", "Q1XYZ"), ("NAME", "Bo")]);
    assert_eq!(again(&contact), contact);
}

#[test]
fn records_that_are_no_contacts_are_named_by_their_line() {
    let text = "<EOH>\n<CALL:5>Q1ABC<QSO_DATE:8>20261131<TIME_ON:4>1838<EOR>\n\
        <QSO_DATE:8>20261125<TIME_ON:4>1838<EOR>\n\
        <CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>2438<EOR>\n\
        <CALL:7>nobody!<QSO_DATE:8>20261125<TIME_ON:4>1838<EOR>\n\
        <CALL:5>Q1ABC\n<QSO_DATE:x>20261125<TIME_ON:4>1838<EOR>\n\
        <EOR>\n<CALL:5>Q1GUD<QSO_DATE:8>20261125<TIME_ON:4>1838<EOR>\n<CALL:5>Q1CUT";
    let file = read(text.as_bytes(), &names());
    assert_eq!(file.contacts.len(), 1);
    let told: Vec<String> = file.refused.iter().map(|bad| format!("{}: {}", bad.line, bad.why)).collect();
    let wanted = [
        "2: QSO_DATE is \"20261131\", which is no date",
        "3: CALL is missing",
        "4: TIME_ON is \"2438\", which is no time",
        "5: CALL is \"nobody!\", which is no callsign",
        "7: <QSO_DATE:x> has no length",
        "10: this record has no <EOR>",
    ];
    assert_eq!(told.len(), wanted.len(), "{told:?}");
    told.iter().zip(wanted).for_each(|(told, wanted)| assert!(told.starts_with(wanted), "{told}"));
}

const ODD: [&str; 24] = [
    "CALL",
    "TIME_ON",
    "BAND",
    "FREQ",
    "BAND_RX",
    "FREQ_RX",
    "MODE",
    "SUBMODE",
    "PROP_MODE",
    "SAT_NAME",
    "SAT_MODE",
    "RST_SENT",
    "GRIDSQUARE",
    "VUCC_GRIDS",
    "NAME",
    "COMMENT",
    "NOTES",
    "STATION_CALLSIGN",
    "MY_GRIDSQUARE",
    "MY_VUCC_GRIDS",
    "APP_BEAMHAND_LINK",
    "APP_BEAMHAND_BORDER",
    "APP_BEAMHAND_MY_BORDER",
    "XYZ",
];
const VALUES: [&str; 19] = [
    "",
    "",
    "2m",
    "70CM",
    "145.927",
    "435.2",
    "SSB",
    "USB",
    "FM",
    "FT8",
    "SAT",
    "GN-1",
    "gannet-1",
    "V/U",
    "IO84",
    "IO84,IO94",
    "IO84XA,IO94AA",
    "IO84SA,IO84TA",
    "Q1XYZ",
];

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_comes_back_as_it_went(
        name in "[^\\p{C}]{1,20}",
        note in "[^\\p{C}]{1,40}",
        fields in prop::collection::vec(("X[A-Z_0-9]{1,10}", "[^\\p{Cc}]{1,20}"), 0..5),
    ) {
        let text = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        let other = |(field, value): &(String, String)| Other {
            field: field.clone(), value: value.clone(), kind: None, defined: None,
        };
        let contact = Contact {
            name: text(&name), note: text(&note), other: fields.iter().map(other).collect(), ..full()
        };
        prop_assert_eq!(again(&contact), contact);
    }

    /// What another log said is read, written and read again as it was, however odd.
    #[test]
    fn any_record_comes_back_as_it_was_read(
        fields in prop::collection::vec((0..ODD.len(), 0..VALUES.len(), "[ -~\r\n\u{e9}]{0,8}"), 0..12),
    ) {
        let mut text = "<EOH><CALL:5>Q1ABC<QSO_DATE:8>20261125<TIME_ON:4>1838".to_owned();
        for (name, value, odd) in &fields {
            let value = if VALUES[*value].is_empty() { odd } else { VALUES[*value] };
            text.push_str(&format!("<{}:{}>{value}", ODD[*name], value.len()));
        }
        text.push_str("<EOR>");
        let first = one(&text);
        prop_assert_eq!(again(&first), first);
    }

    #[test]
    fn no_bytes_disturb_the_reader(bytes in prop::collection::vec(any::<u8>(), 0..200), cut in 0usize..400) {
        read(&bytes, &names());
        let whole = write([&full()], &names(), full().time).into_bytes();
        let mut spoilt = whole[..cut.min(whole.len())].to_vec();
        spoilt.extend(bytes);
        read(&spoilt, &names());
    }
}
