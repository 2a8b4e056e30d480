//! Whether somebody else uses a radio, as far as that can be seen.

use std::time::Duration;

use crate::device::DeviceStatus;
use crate::terms::Moment;

/// A radio that was seen transmitting is in use for this long, monotonic: one that is left alone
/// is asked every few seconds only, and an operator also listens.
const AFTER_AN_OVER: Duration = Duration::from_secs(60);

/// When each radio was last seen transmitting, monotonic.
#[derive(Debug, Clone, Default)]
pub(super) struct Usage(Vec<Option<Duration>>);

impl Usage {
    /// Looks at all radios, always in the same order.
    pub(super) fn look(&mut self, radios: &[DeviceStatus], now: Moment) {
        self.0.resize(radios.len(), None);
        for (seen, status) in self.0.iter_mut().zip(radios) {
            if status.radio().is_some_and(|radio| radio.transmitting == Some(true)) {
                *seen = Some(now.mono);
            }
        }
    }

    /// The first radio that is in use, and how that shows, in words.
    pub(super) fn in_use(&self, radios: &[DeviceStatus], now: Moment) -> Option<String> {
        radios.iter().zip(&self.0).find_map(|(status, seen)| {
            // HERE a radio's own word for being in use joins, once its view has one.
            let ago = now.mono.saturating_sub((*seen)?);
            (ago < AFTER_AN_OVER).then(|| format!("{} transmitted less than a minute ago", status.name))
        })
    }
}
