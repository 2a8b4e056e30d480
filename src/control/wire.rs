//! How times are written on the wire: RFC 3339, UTC, milliseconds.

use serde::{Deserialize, Deserializer, Serializer};

use crate::terms::{Time, parse_time, rfc3339};

/// For `#[serde(skip_serializing_if)]` on a flag that is absent while it is not set.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over references")]
pub(super) fn is_false(flag: &bool) -> bool {
    !flag
}

/// For `#[serde(with)]` on a time that is always there.
pub(super) mod time {
    use super::*;

    pub(in crate::control) fn serialize<S: Serializer>(time: &Time, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&rfc3339(*time))
    }

    pub(in crate::control) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Time, D::Error> {
        parse_time(&String::deserialize(from)?).map_err(serde::de::Error::custom)
    }
}

/// For `#[serde(with)]` on a time that may not exist; then it is null.
pub(super) mod maybe_time {
    use super::*;

    pub(in crate::control) fn serialize<S: Serializer>(
        time: &Option<Time>,
        to: S,
    ) -> Result<S::Ok, S::Error> {
        match time {
            Some(time) => super::time::serialize(time, to),
            None => to.serialize_none(),
        }
    }

    pub(in crate::control) fn deserialize<'de, D: Deserializer<'de>>(
        from: D,
    ) -> Result<Option<Time>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| parse_time(&text).map_err(serde::de::Error::custom)).transpose()
    }
}
