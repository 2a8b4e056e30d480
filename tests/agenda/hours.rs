//! Hours that cut a pass: quiet ones by the clock on the wall, the link's by UTC, and the shadow.

use beamhand::agenda::{Unfit, quiet_spans, useful};
use beamhand::link::{Link, LinkKind, Schedule};
use beamhand::terms::{Hertz, Mode, Time, Validity, parse_time, seconds_between};
use chrono::{NaiveDateTime, NaiveTime, TimeDelta, Weekday, WeekdaySet};

use crate::made::{at, span};

fn schedule(days: WeekdaySet, from: (u32, u32), to: (u32, u32)) -> Schedule {
    let hour = |(hour, minute)| NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
    Schedule { days, from: hour(from), to: hour(to) }
}

fn link(on: Vec<Schedule>, sunlight_only: bool) -> Link {
    Link {
        name: "beacon".to_owned(),
        kind: LinkKind::Beacon,
        downlink: Hertz(435_000_000),
        mode: Mode::Cw,
        uplink: None,
        on,
        sunlight_only,
        note: None,
    }
}

/// Within a second.
#[track_caller]
fn assert_spans(found: &[Validity], expected: &[(Time, Time)]) {
    assert_eq!(found.len(), expected.len(), "{found:?}");
    for (found, (from, until)) in found.iter().zip(expected) {
        for (found, expected) in [(found.from, *from), (found.until, *until)] {
            assert!(seconds_between(found, expected).abs() < 0.1, "{found} {expected}");
        }
    }
}

fn time(text: &str) -> Time {
    parse_time(text).unwrap()
}

#[test]
fn a_link_counts_only_while_it_is_on() {
    // 2026-11-25 is a Wednesday; minute 0 is 18:00 UTC.
    let wednesdays = schedule(WeekdaySet::single(Weekday::Wed), (18, 5), (18, 30));
    let part = useful(span(0.0, 12.0), &link(vec![wednesdays], false), |part| vec![part], &[]).unwrap();
    assert_spans(&part, &[(at(5.0), at(12.0))]);
    let thursdays = schedule(WeekdaySet::single(Weekday::Thu), (0, 0), (0, 0));
    let off = useful(span(0.0, 12.0), &link(vec![thursdays], false), |part| vec![part], &[]);
    assert_eq!(off, Err(Unfit::Off));
    let both = link(vec![wednesdays, thursdays], false);
    assert!(useful(span(0.0, 12.0), &both, |part| vec![part], &[]).is_ok());
}

#[test]
fn where_sunlight_is_needed_the_shadow_does_not_count() {
    let sunlit = |part: Validity| {
        let lit = [(at(-60.0), at(4.0)), (at(9.0), at(60.0))];
        let cut =
            lit.map(|(from, until)| Validity { from: from.max(part.from), until: until.min(part.until) });
        cut.into_iter().filter(|lit| lit.from < lit.until).collect()
    };
    let parts = useful(span(0.0, 12.0), &link(Vec::new(), true), sunlit, &[]).unwrap();
    assert_spans(&parts, &[(at(0.0), at(4.0)), (at(9.0), at(12.0))]);
    assert_eq!(useful(span(5.0, 8.0), &link(Vec::new(), true), sunlit, &[]), Err(Unfit::Shadow));
    assert!(useful(span(5.0, 8.0), &link(Vec::new(), false), sunlit, &[]).is_ok());
}

#[test]
fn quiet_hours_cut_a_pass_and_what_is_too_short_is_none() {
    let any = link(Vec::new(), false);
    let rest = useful(span(0.0, 12.0), &any, |part| vec![part], &[span(8.0, 60.0)]).unwrap();
    assert_spans(&rest, &[(at(0.0), at(8.0))]);
    assert_eq!(useful(span(0.0, 12.0), &any, |part| vec![part], &[span(-9.0, 60.0)]), Err(Unfit::Quiet));
    assert_eq!(useful(span(0.0, 12.0), &any, |part| vec![part], &[span(1.9, 60.0)]), Err(Unfit::Short));
}

/// A zone as Central Europe has it in 2026: from UTC+2 to UTC+1 on 25 October at 01:00 UTC; from
/// UTC+1 to UTC+2 on 29 March at 01:00 UTC (directive 2000/84/EC).
fn wall(time: Time) -> NaiveDateTime {
    let summer = (self::time("2026-03-29T01:00:00Z")..self::time("2026-10-25T01:00:00Z")).contains(&time);
    time.naive_utc() + TimeDelta::hours(if summer { 2 } else { 1 })
}

fn quiet(hours: &[Schedule], from: &str, until: &str) -> Vec<Validity> {
    quiet_spans(hours, Validity { from: time(from), until: time(until) }, wall)
}

#[test]
fn quiet_hours_are_those_of_the_wall_and_run_past_midnight() {
    let weekdays = [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri];
    let nights = [schedule(weekdays.into_iter().collect(), (22, 0), (6, 30))];
    // 2026-11-26 is a Thursday; UTC+1. Friday's night ends on Saturday, and Saturday has none.
    let found = quiet(&nights, "2026-11-26T12:00:00Z", "2026-11-29T12:00:00Z");
    let expected = [
        (time("2026-11-26T21:00:00Z"), time("2026-11-27T05:30:00Z")),
        (time("2026-11-27T21:00:00Z"), time("2026-11-28T05:30:00Z")),
    ];
    assert_spans(&found, &expected);
}

#[test]
fn an_hour_that_the_wall_shows_twice_is_quiet_twice_and_one_it_leaves_out_never_comes() {
    let early = [schedule(WeekdaySet::ALL, (2, 0), (3, 0))];
    let autumn = quiet(&early, "2026-10-24T22:00:00Z", "2026-10-25T12:00:00Z");
    assert_spans(&autumn, &[(time("2026-10-25T00:00:00Z"), time("2026-10-25T02:00:00Z"))]);
    assert_spans(&quiet(&early, "2026-03-28T22:00:00Z", "2026-03-29T12:00:00Z"), &[]);
    let night = [schedule(WeekdaySet::ALL, (22, 0), (6, 30))];
    let spring = quiet(&night, "2026-03-28T12:00:00Z", "2026-03-29T12:00:00Z");
    assert_spans(&spring, &[(time("2026-03-28T21:00:00Z"), time("2026-03-29T04:30:00Z"))]);
}
