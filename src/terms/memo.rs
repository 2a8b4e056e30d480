//! What a state machine remembers, as JSON, so that another run of it can begin in the same state.

use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Fields by name.
pub type Memo = serde_json::Map<String, serde_json::Value>;

/// Writes a field down.
pub(crate) fn put<T: Serialize>(memo: &mut Memo, name: &str, field: &T) -> Result<(), serde_json::Error> {
    memo.insert(name.to_owned(), serde_json::to_value(field)?);
    Ok(())
}

/// A field as it was written down; one that was not is null.
pub(crate) fn kept<T: DeserializeOwned>(memo: &Memo, name: &str) -> Result<T, String> {
    let value = memo.get(name).unwrap_or(&serde_json::Value::Null);
    T::deserialize(value).map_err(|error| format!("`{name}` can't be remembered: {error}"))
}

/// Gives a type `memo_of_fields`, which writes down its state, and `remember_fields`, which takes it
/// back. Every field is named, those too that are left out, so that the compiler asks about a new one.
macro_rules! remembers {
    ($of:ty, kept: [$($field:ident),* $(,)?], left_out: [$($other:ident),* $(,)?]) => {
        impl $of {
            /// The state as it is now.
            fn memo_of_fields(&self) -> Result<$crate::terms::Memo, serde_json::Error> {
                let Self { $($field,)* $($other: _,)* } = self;
                let mut memo = $crate::terms::Memo::new();
                $($crate::terms::memo::put(&mut memo, stringify!($field), $field)?;)*
                Ok(memo)
            }

            /// Takes the state of a memo.
            fn remember_fields(&mut self, memo: &$crate::terms::Memo) -> Result<(), String> {
                let Self { $($field,)* $($other: _,)* } = self;
                $(*$field = $crate::terms::memo::kept(memo, stringify!($field))?;)*
                Ok(())
            }
        }
    };
}
pub(crate) use remembers;

/// For serde's `with`: something that may be unknown, or known to be nothing, as a list of one or
/// none. JSON's null is both.
pub(crate) mod maybe_known {
    use super::{Deserialize, Deserializer, Serialize, Serializer};

    pub(crate) fn serialize<T: Serialize, S: Serializer>(
        known: &Option<T>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        known.as_slice().serialize(serializer)
    }

    pub(crate) fn deserialize<'de, T: Deserialize<'de>, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Option<T>, D::Error> {
        Ok(Vec::deserialize(deserializer)?.pop())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Default, PartialEq, Debug)]
    struct Machine {
        count: u32,
        name: String,
        wire: u8,
    }

    remembers!(Machine, kept: [count, name], left_out: [wire]);

    #[derive(Serialize, Deserialize, PartialEq, Debug)]
    struct Tone(#[serde(with = "maybe_known")] Option<Option<u32>>);

    #[test]
    fn what_is_kept_comes_back_and_what_is_left_out_stays() {
        let memo = Machine { count: 3, name: "a".to_owned(), wire: 9 }.memo_of_fields().unwrap();
        let mut other = Machine { wire: 1, ..Machine::default() };
        other.remember_fields(&memo).unwrap();
        assert_eq!(other, Machine { count: 3, name: "a".to_owned(), wire: 1 });
        let said = other.remember_fields(&Memo::new()).unwrap_err();
        assert!(said.contains("`count` can't be remembered"), "{said}");
    }

    #[test]
    fn not_known_and_known_to_be_nothing_are_two_things() {
        for tone in [Tone(None), Tone(Some(None)), Tone(Some(Some(67)))] {
            let text = serde_json::to_string(&tone).unwrap();
            assert_eq!(serde_json::from_str::<Tone>(&text).unwrap(), tone, "{text}");
        }
    }
}
