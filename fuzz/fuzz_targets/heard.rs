//! Files of what was heard: whatever the bytes, they are read to the end, and what was read is kept the same
//! when it is written again. The bytes are taken as a file, and as what stands in one whole block.
#![no_main]

use beamhand::listening::form::{MARK, read, write};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    look(bytes);
    let mut block = MARK.to_vec();
    block.extend((bytes.len() as u32).to_le_bytes());
    block.extend(crc32fast::hash(bytes).to_le_bytes());
    block.extend(bytes);
    look(&block);
});

fn look(bytes: &[u8]) {
    let mut covered = 0;
    for item in read(bytes) {
        match item {
            Err(damage) => {
                assert!(covered <= damage.bytes.start && damage.bytes.end <= bytes.len());
                assert!(!damage.bytes.is_empty());
                covered = damage.bytes.end;
            }
            Ok(spell) => {
                assert!(!spell.readings.is_empty());
                let again: usize = read(&write(&spell)).flatten().map(|again| again.readings.len()).sum();
                assert_eq!(again, spell.readings.len());
            }
        }
    }
}
