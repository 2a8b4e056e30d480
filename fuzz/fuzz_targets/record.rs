//! Flight records: what can be read is, the rest is named, and what was read is written the same again.
#![no_main]

use beamhand::record::{Entry, from_text, read, to_text};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    assert_eq!(from_text(&to_text(bytes)).as_deref(), Some(bytes));
    let Ok(record) = read(bytes) else { return };
    let lines = bytes.iter().filter(|byte| **byte == b'\n').count() + 1;
    assert!(record.entries.len() + record.passed_over.len() + record.not_named < lines.max(2));
    for (line, entry) in &record.entries {
        assert!((2..=lines).contains(line));
        if let Entry::Pause(pause) | Entry::Ticks(pause) = entry {
            assert_eq!(pause.stamps().count(), pause.later.len() + 1);
            if let Some(looks) = pause.looks() {
                assert_eq!(looks.len(), pause.later.len() + 1);
            }
        }
        let text = serde_json::to_string(entry).unwrap_or_default();
        let again: Entry = serde_json::from_str(&text).unwrap_or_else(|error| panic!("{error}: {text}"));
        assert_eq!(serde_json::to_string(&again).unwrap_or_default(), text);
    }
});
