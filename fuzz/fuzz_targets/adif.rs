//! Other people's logs: what is read is written and read again as it was.
#![no_main]

use beamhand::contacts::adif::{Names, read, write};
use beamhand::terms::Time;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let names = Names::new([("GANNET-1".to_owned(), "GN-1".to_owned())]);
    let first = read(bytes, &names).contacts;
    let text = write(&first, &names, Time::UNIX_EPOCH);
    let second = read(text.as_bytes(), &names);
    assert_eq!(second.refused, []);
    assert_eq!(second.contacts, first);
});
