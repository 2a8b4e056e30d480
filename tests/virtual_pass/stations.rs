//! Stations of every shape that a configuration can have.

/// A station, and the satellite that it works.
pub(crate) struct Station {
    /// What it is, for messages.
    pub(crate) name: String,
    /// Its part of the configuration.
    pub(crate) equipment: String,
    /// GANNET-1 goes up on 2 m and comes down on 70 cm, PETREL-1 the other way round.
    pub(crate) satellite: &'static str,
}

/// The dialects of a half-duplex radio that works by split.
pub(crate) const BY_SPLIT: [&str; 4] = ["semicolon-eleven", "semicolon-nine", "fe-frames", "five-byte"];

/// A radio that is tuned as is usual in FM.
pub(crate) fn fm_radio(name: &str, dialect: &str, uses: &str) -> String {
    let address = if dialect == "fe-frames" { "address = 0x5A\n" } else { "" };
    format!(
        "[[radio]]\nname = \"{name}\"\nport = \"/dev/{name}\"\ndialect = \"{dialect}\"\nuse = \"{uses}\"\n\
         step_hz = 10\n{address}"
    )
}

/// Duplex, with its bands the wrong way round when the session begins.
pub(crate) fn crossed(dialect: &str) -> Station {
    let equipment = fm_radio("set", dialect, "both");
    Station { name: format!("{dialect}, bands crossed"), equipment, satellite: "PETREL-1" }
}

/// One radio for each direction, in two languages.
pub(crate) fn pair(receiver: &str, transmitter: &str) -> Station {
    let equipment =
        fm_radio("receiver", receiver, "receive") + &fm_radio("transmitter", transmitter, "transmit");
    Station { name: format!("{receiver} beside {transmitter}"), equipment, satellite: "GANNET-1" }
}

/// One radio that receives and transmits by turns.
pub(crate) fn half_duplex(dialect: &str) -> Station {
    let equipment = fm_radio("set", dialect, "half-duplex");
    Station { name: format!("{dialect}, half-duplex"), equipment, satellite: "GANNET-1" }
}

/// A receiver and nothing else.
pub(crate) fn receive_only(dialect: &str) -> Station {
    let equipment = fm_radio("receiver", dialect, "receive");
    Station { name: format!("{dialect}, receive only"), equipment, satellite: "GANNET-1" }
}

/// A mount that can't tilt.
pub(crate) fn azimuth_only(dialect: &str) -> Station {
    let equipment = format!(
        "[rotator]\nname = \"mast\"\nport = \"/dev/mast\"\ndialect = \"{dialect}\"\nazimuth_only = true\n\
         azimuth = {{ from = 0, to = 450 }}\nslew_deg_s = {{ azimuth = 6 }}\n"
    );
    Station { name: format!("{dialect}, azimuth only"), equipment, satellite: "GANNET-1" }
}

/// Two radios on one wire.
pub(crate) fn shared_bus() -> Station {
    let on_the_bus =
        |text: String| text.replace("/dev/receiver", "/dev/bus").replace("/dev/transmitter", "/dev/bus");
    let receiver = fm_radio("receiver", "fe-frames", "receive");
    let transmitter = fm_radio("transmitter", "fe-frames", "transmit").replace("0x5A", "0x4C");
    let equipment = on_the_bus(receiver + &transmitter);
    Station { name: "two on one bus".to_owned(), equipment, satellite: "GANNET-1" }
}

/// A duplex radio whose dials show 700 Hz too much on 70 cm and 2 millionths too little on 2 m.
pub(crate) fn calibrated(dialect: &str) -> Station {
    let equipment =
        fm_radio("set", dialect, "both") + "calibration = { receive_hz = 700, transmit_ppm = -2 }\n";
    Station { name: format!("{dialect}, calibrated"), equipment, satellite: "GANNET-1" }
}
