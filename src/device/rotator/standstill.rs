//! Whether a mount that was sent somewhere moves at all.

use std::time::Duration;

use crate::terms::{AzEl, Moment};

/// How long a mount may take to start, seconds of plan time: a brake has to let go, and a slow
/// motor needs this long for a degree that its read-out can show.
const STARTS_WITHIN_S: f64 = 1.5;

/// A mount on its way: since when, from where, and where to.
#[derive(Debug, Clone, Default)]
pub(super) struct Standstill(Option<(Moment, AzEl, AzEl)>);

impl Standstill {
    /// An aim was sent; the mount's position is the one that was read last.
    pub(super) fn sent(&mut self, aim: AzEl, position: Option<(AzEl, Duration)>, now: Moment) {
        let before = self.0.map(|(since, from, _)| (since, from));
        let away = before.or(position.map(|(position, _)| (now, position)));
        self.0 = away.map(|(since, from)| (since, from, aim));
    }

    /// It is told nothing any more.
    pub(super) fn over(&mut self) {
        self.0 = None;
    }

    /// Where it was sent last.
    pub(super) fn aim(&self) -> Option<AzEl> {
        self.0.map(|(_, _, aim)| aim)
    }

    /// What is to be said of a mount that was just read at `position`; `is_off`: it is not where
    /// it was sent.
    pub(super) fn judge(
        &mut self,
        position: AzEl,
        is_off: bool,
        resolution: f64,
        now: Moment,
    ) -> Option<String> {
        if !is_off {
            self.over();
        }
        let (since, from, aim) = self.0?;
        if position.angle_to(from) > resolution / 2.0 {
            self.0 = Some((now, position, aim));
            return None;
        }
        let seconds = now.mono.saturating_sub(since.mono).as_secs_f64() * now.speed;
        (seconds >= STARTS_WITHIN_S).then(|| {
            format!(
                "it stays at azimuth {:.1} elevation {:.1}, {seconds:.0} s after it was sent to azimuth {:.1} \
                 elevation {:.1}: check its motor supply, its brake and its own limits",
                position.azimuth, position.elevation, aim.azimuth, aim.elevation
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::terms::{later, parse_time};

    fn at(seconds: f64) -> Moment {
        let start = parse_time("2026-11-25T18:30:00Z").unwrap();
        Moment { utc: later(start, seconds), mono: Duration::from_secs_f64(seconds), speed: 1.0 }
    }

    #[test]
    fn a_mount_that_does_not_start_is_named_soon_and_until_it_moves() {
        let (here, aim) = (AzEl::new(10.0, 5.0), AzEl::new(90.0, 30.0));
        let read = Some((here, Duration::ZERO));
        let mut standstill = Standstill::default();
        standstill.sent(aim, read, at(0.0));
        assert_eq!(standstill.judge(here, true, 0.1, at(1.0)), None);
        standstill.sent(aim, read, at(1.5));
        let said = standstill.judge(here, true, 0.1, at(2.1)).unwrap();
        assert!(said.starts_with("it stays at azimuth 10.0 elevation 5.0, 2 s after it was sent"), "{said}");
        assert_eq!(standstill.judge(AzEl::new(11.0, 5.0), true, 0.1, at(3.0)), None);
        assert_eq!(standstill.judge(AzEl::new(90.0, 30.0), false, 0.1, at(9.0)), None);
        assert_eq!(standstill.aim(), None);
    }
}
