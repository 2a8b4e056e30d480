use std::collections::VecDeque;
use std::sync::{Arc, Mutex};

use super::*;
use crate::device::conversation::ConversationSettings;
use crate::device::dialect::Dialect;
use crate::device::player::Urgency;
use crate::device::{Contact, Detail, Fact, Motion, RotatorView, Values};
use crate::terms::parse_time;

/// What happened to a scripted player.
#[derive(Default)]
struct Diary {
    wishes: VecDeque<(Urgency, Exchange)>,
    outcomes: Vec<Outcome>,
    halted: bool,
}

/// Says what it is told to say, and keeps a diary.
struct Scripted {
    diary: Arc<Mutex<Diary>>,
    stop: Option<Exchange>,
}

impl Player for Scripted {
    fn order(&mut self, _order: Order, _now: Moment) {}
    fn connected(&mut self, _now: Moment) {}
    fn disconnected(&mut self, _why: &str) {}

    fn wish(&mut self, now: Moment) -> Wish {
        match self.diary.lock().unwrap().wishes.front() {
            Some((urgency, exchange)) => Wish::Say(*urgency, exchange.clone()),
            None => Wish::Rest(now.mono + Duration::from_secs(9)),
        }
    }

    fn begun(&mut self, exchange: &Exchange, _now: Moment) {
        let mut diary = self.diary.lock().unwrap();
        if diary.wishes.front().is_some_and(|(_, wish)| wish == exchange) {
            diary.wishes.pop_front();
        }
    }

    fn done(&mut self, outcome: Outcome, _now: Moment) {
        self.diary.lock().unwrap().outcomes.push(outcome);
    }

    fn overheard(&mut self, _address: Option<u8>, _values: &Values, _now: Moment) {}
    fn noticed(&mut self, _fact: &Fact) {}
    fn refused_late(&mut self, _why: &str, _now: Moment) {}

    fn halt(&mut self, _now: Moment) -> Option<Exchange> {
        self.diary.lock().unwrap().halted = true;
        self.stop.clone()
    }

    fn resume(&mut self) {
        self.diary.lock().unwrap().halted = false;
    }

    fn memo(&self) -> Result<Memo, serde_json::Error> {
        Ok(Memo::new())
    }

    fn remember(&mut self, _memo: &Memo, _plan: Option<Order>) -> Result<(), String> {
        Ok(())
    }

    fn status(&self, _now: Moment) -> DeviceStatus {
        let view = RotatorView {
            motion: Motion::Resting,
            target: None,
            position: None,
            stop_pending: false,
            pace: Default::default(),
            notes: Vec::new(),
        };
        DeviceStatus {
            name: "scripted".to_owned(),
            contact: Contact::Good,
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
}

fn at(milliseconds: u64) -> Moment {
    let mono = Duration::from_millis(milliseconds);
    let start = parse_time("2026-11-25T18:30:00Z").unwrap();
    Moment { utc: crate::terms::later(start, mono.as_secs_f64()), mono, speed: 1.0 }
}

fn dialect() -> Arc<Dialect> {
    Dialect::builtin("w-lines").unwrap()
}

fn say(verb: &str) -> Exchange {
    dialect().exchange(verb, &Values::of_direction(180.0, 45.0), None).unwrap()
}

/// A line with `players` scripted devices, and their diaries.
fn line(players: usize, stop: Option<Exchange>) -> (Line, Vec<Arc<Mutex<Diary>>>) {
    let diaries: Vec<Arc<Mutex<Diary>>> = (0..players).map(|_| Arc::default()).collect();
    let player = |diary: &Arc<Mutex<Diary>>| -> Box<dyn Player> {
        Box::new(Scripted { diary: diary.clone(), stop: stop.clone() })
    };
    let conversation = Conversation::new(dialect().family(), ConversationSettings::of(&dialect(), None));
    (Line::new(diaries.iter().map(player).collect(), conversation), diaries)
}

fn wishes(diary: &Arc<Mutex<Diary>>, wish: (Urgency, &str)) {
    diary.lock().unwrap().wishes.push_back((wish.0, say(wish.1)));
}

fn bytes(writes: &[Write]) -> Vec<String> {
    writes.iter().map(|write| String::from_utf8_lossy(&write.bytes).into_owned()).collect()
}

#[test]
fn after_an_open_the_line_stays_silent_for_the_recovery_time() {
    let (mut line, diaries) = line(1, None);
    wishes(&diaries[0], (Urgency::Poll, "ask.aim"));
    assert!(line.step(at(0), LineInput::Opened).is_empty());
    let silence = dialect().family().recovery();
    assert!(line.step(at(silence.as_millis() as u64 - 1), LineInput::Time).is_empty());
    assert_eq!(line.wake_at(), silence);
    assert_eq!(bytes(&line.step(at(silence.as_millis() as u64), LineInput::Time)), ["C2\r"]);
}

#[test]
fn on_a_shared_line_the_most_urgent_goes_first() {
    let (mut line, diaries) = line(2, None);
    line.step(at(0), LineInput::Opened);
    wishes(&diaries[0], (Urgency::Poll, "ask.aim"));
    wishes(&diaries[1], (Urgency::Tune, "do.aim"));
    assert_eq!(bytes(&line.step(at(1000), LineInput::Time)), ["W180 045\r"]);
}

#[test]
fn one_command_is_outstanding_at_a_time() {
    let (mut line, diaries) = line(2, None);
    line.step(at(0), LineInput::Opened);
    wishes(&diaries[0], (Urgency::Poll, "ask.aim"));
    wishes(&diaries[1], (Urgency::Poll, "ask.aim"));
    assert_eq!(line.step(at(1000), LineInput::Time).len(), 1);
    assert!(line.step(at(1010), LineInput::Time).is_empty());
    let writes = line.step(at(1020), LineInput::Bytes(b"+0180+0045\r\n"));
    assert_eq!(bytes(&writes), ["C2\r"], "the other's question, as soon as the first is answered");
}

#[test]
fn halt_writes_the_stop_without_waiting_for_an_answer() {
    let (mut line, diaries) = line(1, Some(say("do.stop")));
    line.step(at(0), LineInput::Opened);
    wishes(&diaries[0], (Urgency::Poll, "ask.aim"));
    line.step(at(1000), LineInput::Time);
    let writes = line.step(at(1001), LineInput::Halt);
    assert_eq!(bytes(&writes), ["S\r"]);
    assert_eq!(writes[0].not_after, None, "a stop never grows too old");
    assert_eq!(diaries[0].lock().unwrap().outcomes, [Outcome::TooLate], "the question is let go");
}

#[test]
fn a_halt_while_the_cable_is_out_stops_the_motors_as_soon_as_it_is_back() {
    let (mut line, _) = line(1, Some(say("do.stop")));
    line.step(at(0), LineInput::Opened);
    line.step(at(1000), LineInput::Lost("unplugged"));
    assert!(line.step(at(1100), LineInput::Halt).is_empty());
    assert_eq!(bytes(&line.step(at(5000), LineInput::Opened)), ["S\r"]);
}

#[test]
fn a_command_has_a_moment_after_which_it_must_not_leave() {
    let (mut line, diaries) = line(1, None);
    line.step(at(0), LineInput::Opened);
    wishes(&diaries[0], (Urgency::Tune, "do.aim"));
    let writes = line.step(at(1000), LineInput::Time);
    assert_eq!(writes[0].not_after, Some(at(1000).mono + VALID_FOR));
    line.step(at(1300), LineInput::NotSent);
    assert_eq!(diaries[0].lock().unwrap().outcomes.len(), 1, "the player hears of it");
}

#[test]
fn a_line_without_a_port_does_not_ask_to_be_woken_all_the_time() {
    let (mut line, diaries) = line(1, None);
    line.step(at(0), LineInput::Opened);
    wishes(&diaries[0], (Urgency::Poll, "ask.aim"));
    line.step(at(1000), LineInput::Lost("unplugged"));
    assert!(line.wake_at() > at(1000).mono);
}

#[test]
fn a_flooded_line_keeps_to_a_slow_pace_but_a_stop_leaves_at_once() {
    let (mut line, diaries) = line(1, Some(say("do.stop")));
    line.step(at(0), LineInput::Opened);
    for second in 1..=2 {
        line.step(at(second * 1000), LineInput::Bytes(&[0x8F; 900]));
    }
    assert!(line.is_flooded());
    (0..30).for_each(|_| wishes(&diaries[0], (Urgency::Tune, "do.aim")));
    let flooded = (0..30).flat_map(|i| line.step(at(2100 + 100 * i), LineInput::Bytes(&[0x8F; 90])));
    assert_eq!(flooded.count(), 3, "one a second");
    assert_eq!(bytes(&line.step(at(5150), LineInput::Halt)), ["S\r"]);
    diaries[0].lock().unwrap().wishes.clear();
    wishes(&diaries[0], (Urgency::Stop, "do.stop"));
    assert_eq!(bytes(&line.step(at(5200), LineInput::Time)), ["S\r"]);
}
