//! What has changed from one JSON value to the next: an object with the fields that differ, or the
//! new value itself. A value that is an object and takes the place of something else stands under `=`.

use serde_json::{Map, Value};

/// What stands for itself and is no change within.
const WHOLE: &str = "=";

/// The change from `old` to `new`; `None` if there is none.
pub(super) fn change(old: &Value, new: &Value) -> Option<Value> {
    if old == new {
        return None;
    }
    Some(match (old, new) {
        (Value::Object(old), Value::Object(new)) if old.keys().eq(new.keys()) => {
            let fields = old.iter().zip(new);
            let changed =
                fields.filter_map(|((name, old), (_, new))| Some((name.clone(), change(old, new)?)));
            Value::Object(changed.collect())
        }
        (_, Value::Object(_)) => Value::Object(Map::from_iter([(WHOLE.to_owned(), new.clone())])),
        _ => new.clone(),
    })
}

/// Makes the change.
pub(super) fn apply(change: &Value, to: &mut Value) {
    match (change, to) {
        (Value::Object(fields), to) if fields.len() == 1 && fields.contains_key(WHOLE) => {
            *to = fields[WHOLE].clone();
        }
        (Value::Object(fields), Value::Object(to)) => {
            for (name, change) in fields {
                apply(change, to.entry(name.clone()).or_insert(Value::Null));
            }
        }
        (change, to) => *to = change.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn every_change_leads_to_the_new_value_and_tells_no_more_than_differs() {
        let values = [
            json!(null),
            json!({ "contact": "Good", "view": { "stage": "Idle", "over": null }, "notes": [] }),
            json!({ "contact": "Good", "view": { "stage": "Idle", "over": false }, "notes": [] }),
            json!({ "contact": { "Odd": "echo" }, "view": { "stage": "Idle", "over": false }, "notes": [1] }),
            json!({ "contact": { "Bad": "silent" }, "view": { "stage": "Reading", "over": null }, "notes": [] }),
            json!({ "other": 5 }),
            json!("word"),
        ];
        for old in &values {
            for new in &values {
                let mut value = old.clone();
                if let Some(change) = change(old, new) {
                    apply(&change, &mut value);
                }
                assert_eq!(&value, new, "from {old}");
            }
        }
        assert_eq!(change(&values[1], &values[2]), Some(json!({ "view": { "over": false } })));
        assert_eq!(change(&values[1], &values[1]), None);
    }
}
