//! A client that calls all the time.

use beamhand::control::{Client, Method};

use crate::ward::{Tongue, Ward};

#[test]
fn a_flood_of_halts_fills_no_log() {
    let ward = Ward::open(Tongue::Semicolon);
    let before = ward.log().len();
    let mut client = Client::connect(&ward.control()).unwrap();
    for _ in 0..2000 {
        client.call(Method::Halt).unwrap();
    }
    let lines = ward.log().len() - before;
    // Twenty of the caller, twenty of the session, and what the devices did meanwhile.
    assert!((1..=46).contains(&lines), "{lines} lines for 2000 calls");
}
