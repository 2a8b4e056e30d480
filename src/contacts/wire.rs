//! How values stand in the log's lines: as people write them.

/// A value by its `Display` and `FromStr`.
pub(super) mod text {
    use std::fmt::Display;
    use std::str::FromStr;

    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    pub(crate) fn serialize<T: Display, S: Serializer>(value: &T, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(value)
    }

    pub(crate) fn deserialize<'de, T, D>(from: D) -> Result<T, D::Error>
    where
        T: FromStr,
        T::Err: Display,
        D: Deserializer<'de>,
    {
        String::deserialize(from)?.parse().map_err(D::Error::custom)
    }
}

/// The same where there may be none.
pub(super) mod maybe_text {
    use std::fmt::Display;
    use std::str::FromStr;

    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    pub(crate) fn serialize<T: Display, S: Serializer>(value: &Option<T>, to: S) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => to.collect_str(value),
            None => to.serialize_none(),
        }
    }

    pub(crate) fn deserialize<'de, T, D>(from: D) -> Result<Option<T>, D::Error>
    where
        T: FromStr,
        T::Err: Display,
        D: Deserializer<'de>,
    {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| text.parse().map_err(D::Error::custom)).transpose()
    }
}

/// An instant, RFC 3339 in UTC with milliseconds.
pub(super) mod time {
    use serde::{Deserialize as _, Deserializer, Serializer, de::Error as _};

    use crate::terms::{Time, parse_time, rfc3339};

    pub(crate) fn serialize<S: Serializer>(time: &Time, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&rfc3339(*time))
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Time, D::Error> {
        parse_time(&String::deserialize(from)?).map_err(D::Error::custom)
    }
}
