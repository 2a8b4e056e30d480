//! Says in the log when a device goes and when it comes back; a fault that lasts, or comes and
//! goes all the time, fills no log.

use std::time::Duration;

use crate::control::fact;
use crate::device::{Contact, DeviceStatus};

/// A state is news when it has lasted this long.
const LASTS: Duration = Duration::from_secs(1);
/// The least time between two lines about one device: six a minute.
const BETWEEN: Duration = Duration::from_secs(10);

/// What was last said of each device.
#[derive(Debug, Default)]
pub(super) struct Watch(Vec<Watched>);

#[derive(Debug, Clone, Default)]
struct Watched {
    now: String,
    since: Duration,
    said: String,
    said_at: Option<Duration>,
    /// Changes that were not said because they did not last, or came too fast.
    unsaid: u32,
}

impl Watch {
    /// Looks at all devices, always in the same order; returns the lines that are due.
    pub(super) fn look<'a>(
        &mut self,
        devices: impl Iterator<Item = &'a DeviceStatus>,
        now: Duration,
    ) -> Vec<String> {
        let mut lines = Vec::new();
        for (index, device) in devices.enumerate() {
            if self.0.len() <= index {
                self.0.push(Watched::default());
            }
            lines.extend(self.0[index].look(device, now));
        }
        lines
    }
}

impl Watched {
    fn look(&mut self, device: &DeviceStatus, now: Duration) -> Option<String> {
        let state = match &device.contact {
            Contact::Good => "answers",
            Contact::Unopened | Contact::Unheard => return None,
            Contact::Closed(why) | Contact::Bad(why) | Contact::Odd(why) => why,
        };
        // Numbers of attempts grow; the fault is the same.
        let kind = fact(state);
        if kind != self.now {
            self.unsaid += u32::from(!self.now.is_empty() && self.now != self.said);
            self.now = kind;
            self.since = now;
        }
        let lasts = now.saturating_sub(self.since) >= LASTS;
        let may_speak = self.said_at.is_none_or(|at| now.saturating_sub(at) >= BETWEEN);
        if self.now == self.said || !lasts || !may_speak {
            return None;
        }
        self.said.clone_from(&self.now);
        self.said_at = Some(now);
        let unsaid = std::mem::take(&mut self.unsaid);
        let more = if unsaid == 0 { String::new() } else { format!(" ({unsaid} changes in between)") };
        Some(format!("{}: {state}{more}", device.name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::{Detail, Motion, RotatorView};

    fn device(contact: Contact) -> DeviceStatus {
        let view = RotatorView {
            motion: Motion::Resting,
            target: None,
            position: None,
            stop_pending: false,
            pace: Default::default(),
            notes: Vec::new(),
        };
        DeviceStatus {
            name: "mast".to_owned(),
            contact,
            last_sent: None,
            last_read: None,
            commands: 0,
            bytes: 0,
            refused: 0,
            orders: 0,
            behind: false,
            detail: Detail::Rotator(view),
        }
    }

    fn lines(watch: &mut Watch, contact: Contact, at: u64) -> Vec<String> {
        watch.look([device(contact)].iter(), Duration::from_secs(at))
    }

    #[test]
    fn going_and_coming_back_are_said_once() {
        let mut watch = Watch::default();
        let said: Vec<String> = (0..100)
            .flat_map(|second| {
                let gone = (20..50).contains(&second);
                let contact =
                    if gone { Contact::Bad(format!("no answer to {second}")) } else { Contact::Good };
                lines(&mut watch, contact, second)
            })
            .collect();
        assert_eq!(said, ["mast: answers", "mast: no answer to 21", "mast: answers"]);
    }

    #[test]
    fn a_fault_that_comes_and_goes_says_six_lines_a_minute_at_most() {
        let mut watch = Watch::default();
        let flapping = (0..600).flat_map(|second| {
            let contact =
                if second / 2 % 2 == 0 { Contact::Good } else { Contact::Closed("gone".to_owned()) };
            lines(&mut watch, contact, second)
        });
        let count = flapping.count();
        assert!((10..=60).contains(&count), "{count}");
    }
}
