//! Every built-in dialect, byte by byte.

use super::*;

#[test]
fn every_built_in_dialect_is_in_order() {
    for name in Dialect::names() {
        let text = Dialect::builtin_text(name).unwrap();
        let errors = Dialect::parse(name, text).err().unwrap_or_default();
        assert!(errors.is_empty(), "{name}: {errors:#?}");
    }
}
