//! The halt latch: one for the whole station, looked at by every line.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// While it is set, no line moves a motor. It counts its turns, so that a line which looks only
/// now and then still sees a halt that was taken back at once. Clones share the same latch.
#[derive(Debug, Clone, Default)]
pub struct HaltLatch(Arc<AtomicU64>);

/// What a line has seen of the latch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Seen(u64);

impl HaltLatch {
    /// Halts.
    pub fn set(&self) {
        let to_odd = |turns: u64| turns.is_multiple_of(2).then_some(turns + 1);
        // Nothing is to be done if it is set already.
        let _ = self.0.fetch_update(Ordering::SeqCst, Ordering::SeqCst, to_odd);
    }

    /// Motors may move again.
    pub fn clear(&self) {
        let to_even = |turns: u64| (!turns.is_multiple_of(2)).then_some(turns + 1);
        let _ = self.0.fetch_update(Ordering::SeqCst, Ordering::SeqCst, to_even);
    }

    /// Whether motors are halted.
    pub fn is_set(&self) -> bool {
        !self.0.load(Ordering::SeqCst).is_multiple_of(2)
    }

    /// What has happened since `seen` was brought up to date: whether there was a halt, and
    /// whether motors may move now; `None` if nothing has.
    pub(super) fn news(&self, seen: &mut Seen) -> Option<News> {
        let turns = self.0.load(Ordering::SeqCst);
        let before = std::mem::replace(&mut seen.0, turns);
        if turns == before {
            return None;
        }
        let is_set = !turns.is_multiple_of(2);
        let was_set = !before.is_multiple_of(2);
        Some(News { halted: is_set || turns - before > 1 || !was_set, resumed: !is_set })
    }
}

/// What a line has to do: first halt, then resume.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct News {
    /// There was a halt, even if it is over.
    pub(super) halted: bool,
    /// Motors may move.
    pub(super) resumed: bool,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_halt_that_was_taken_back_at_once_is_still_seen() {
        let (latch, mut seen) = (HaltLatch::default(), Seen::default());
        assert_eq!(latch.news(&mut seen), None);
        latch.set();
        latch.clear();
        assert_eq!(latch.news(&mut seen), Some(News { halted: true, resumed: true }));
        latch.set();
        latch.set();
        assert_eq!(latch.news(&mut seen), Some(News { halted: true, resumed: false }));
        assert_eq!(latch.news(&mut seen), None);
        latch.clear();
        assert_eq!(latch.news(&mut seen), Some(News { halted: false, resumed: true }));
        latch.set();
        latch.clear();
        latch.set();
        assert_eq!(latch.news(&mut seen), Some(News { halted: true, resumed: false }));
    }
}
