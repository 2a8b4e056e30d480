//! Everything that can be wrong with an element set, in words.

/// One fault; the place is in [`super::Refused`].
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(in crate::sky) enum Fault {
    #[error("neither an element line nor the name above one")]
    Stray,
    #[error("a name with nothing below it: the file ends before its set")]
    LastName,
    #[error("line 1 of a set without its line 2 below it")]
    NoSecondLine,
    #[error("line 2 of a set without its line 1 above it")]
    NoFirstLine,
    #[error("an element line is plain ASCII")]
    NotAscii,
    #[error("an element line has 69 columns, this one {0}")]
    Columns(usize),
    #[error("the checksum in column 69 is '{written}', the line adds up to {sum}")]
    Checksum { written: char, sum: u32 },
    #[error("'{found}' in column {column}, where numbers are written")]
    NotNumeric { column: usize, found: char },
    #[error("line 1 is of catalog number {first}, line 2 of {second}")]
    TwoSatellites { first: String, second: String },
    /// What the crate says of the fields themselves.
    #[error("a field can't be read ({0})")]
    Field(sgp4::TleError),
    #[error("{quantity} is {value}; it lies between {least} and {most}")]
    Range { quantity: &'static str, value: f64, least: f64, most: f64 },
    #[error("it describes no orbit that can be followed, not even at its epoch ({0})")]
    NoOrbit(String),
    #[error("no JSON object: {0}")]
    Json(String),
    #[error("text that belongs to no JSON object")]
    Outside,
    #[error("the {0} that begins here does not end")]
    Unfinished(&'static str),
    #[error("not well-formed XML on line {line}: {what}")]
    Xml { line: usize, what: String },
    #[error("<{0}> where <omm>, or <ndm> around it, is wanted: this is no file of element sets")]
    OtherRoot(String),
    #[error("{0}")]
    Csv(String),
    #[error("{found} fields under a head of {wanted}")]
    Row { found: usize, wanted: usize },
    #[error("line {0} is no KEYWORD = value")]
    NoPair(usize),
    #[error("a message of the kind {0}; only OMM holds mean elements")]
    OtherMessage(String),
    #[error("{0} is given twice")]
    Twice(&'static str),
    #[error("{key} is in {found}; it is wanted in {wanted}")]
    Unit { key: &'static str, found: String, wanted: &'static str },
    #[error("{0} is missing")]
    Missing(&'static str),
    #[error("{key} is {found}; a number is wanted")]
    NoNumber { key: &'static str, found: String },
    #[error("{key} is {found}; SGP4 is for {wanted} only")]
    OtherTheory { key: &'static str, found: String, wanted: &'static str },
    /// From memory: the number is given to sets of the extended theory, SGP4-XP.
    #[error("the ephemeris type is 4; such elements are not made for SGP4")]
    ExtendedTheory,
    #[error("EPOCH is {0}; a UTC time such as 2026-11-25T18:30:00.000000 is wanted")]
    Epoch(String),
    #[error("NORAD_CAT_ID is {0}; one to nine digits are wanted")]
    CatalogNumber(String),
}
