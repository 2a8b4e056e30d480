//! The status as a line for each change: for logs and pipes, where a page again and again is of
//! no use.

use crate::control::{DeviceState, Status, fact};

use super::text::{noted, utc_clock};

/// What is new since `before`, a line each. The first time, everything is.
pub(super) fn changes(before: Option<&Status>, now: &Status) -> Vec<String> {
    let rehearsal = if now.rehearsal { "REHEARSAL " } else { "" };
    let old = before.map(facts).unwrap_or_default();
    let news = facts(now).into_iter().filter(|fact| !old.contains(fact));
    news.map(|fact| format!("{rehearsal}{} UTC {}", utc_clock(now.time), fact.sentence)).collect()
}

/// Something that is so; equal as long as the same is so, whatever is counted down in its sentence.
struct Fact {
    is: String,
    sentence: String,
}

impl PartialEq for Fact {
    fn eq(&self, other: &Self) -> bool {
        self.is == other.is
    }
}

fn facts(status: &Status) -> Vec<Fact> {
    let name = status.state.name();
    let target = [&status.satellite, &status.link].map(|word| word.as_deref().unwrap_or_default());
    let session =
        Fact { is: format!("{name} {}", target.join(" ")), sentence: format!("{name}: {}", status.why) };
    let clock = match &status.clock.why {
        Some(why) => Fact { is: "clock bad".to_owned(), sentence: format!("clock not trusted: {why}") },
        None => plain("clock trusted".to_owned()),
    };
    let (receive, transmit) = (status.trims.receive.0, status.trims.transmit.0);
    let trim = plain(format!("trim receive {receive:+} Hz, transmit {transmit:+} Hz"));
    let tone = status.tone.iter().map(|tone| plain(tone.why.clone()));
    let note = status.note.iter().map(|note| plain(noted(note)));
    let auto = status.agenda.iter().map(|agenda| plain(format!("auto: {}", agenda.why)));
    let antenna = status.antenna.iter().map(|antenna| plain(format!("antenna: {antenna}")));
    let trouble = status.listening.iter().filter_map(|listening| listening.trouble.clone());
    let trouble = trouble.map(|why| plain(format!("listening: {why}")));
    let radios = status.radios.iter().map(|radio| device(&radio.name, radio.state, &radio.why));
    let rotator = status.rotator.iter().map(|rotator| device(&rotator.name, rotator.state, &rotator.why));
    [session, clock, trim]
        .into_iter()
        .chain(note)
        .chain(auto)
        .chain(antenna)
        .chain(trouble)
        .chain(tone)
        .chain(radios)
        .chain(rotator)
        .collect()
}

fn device(name: &str, state: DeviceState, why: &str) -> Fact {
    let sentence = format!("{name} {}: {why}", state.name());
    Fact { is: format!("{name} {}: {}", state.name(), fact(why)), sentence }
}

fn plain(sentence: String) -> Fact {
    Fact { is: sentence.clone(), sentence }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::control::State;
    use crate::terms::later;

    fn status() -> Status {
        Status {
            why: "GANNET-1 is up; LOS in 10 min 00 s".to_owned(),
            satellite: Some("GANNET-1".to_owned()),
            ..Status::made_up()
        }
    }

    #[test]
    fn a_countdown_is_no_change_and_everything_else_is_one_line() {
        let first = status();
        assert_eq!(changes(None, &first).len(), 4);
        let mut next = Status { time: later(first.time, 1.0), ..first.clone() };
        next.why = "GANNET-1 is up; LOS in 9 min 59 s".to_owned();
        assert_eq!(changes(Some(&first), &next), [""; 0]);
        next.rotator.iter_mut().for_each(|mast| mast.state = DeviceState::Lost);
        assert_eq!(changes(Some(&first), &next), ["00:00:01 UTC mast lost: following the plan"]);
        let silent = |seconds: u32| {
            let mut status = next.clone();
            let why = format!("no answer to {seconds} questions");
            status.rotator.iter_mut().for_each(|mast| mast.why.clone_from(&why));
            status
        };
        assert_eq!(changes(Some(&next), &silent(35)).len(), 1);
        assert_eq!(changes(Some(&silent(35)), &silent(36)), [""; 0], "the same, counted on");
        next.state = State::Halted;
        let halted = changes(Some(&first), &next);
        assert_eq!(halted[0], "00:00:01 UTC halted: GANNET-1 is up; LOS in 9 min 59 s");
        assert_eq!(halted.len(), 2);
    }
}
