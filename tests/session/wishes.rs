//! What the operator wishes: the arming tone, a kept trim, a radio that is left alone, and to hear
//! what is given up.

use beamhand::device::{Contact, Detail, Note, RadioOrder, RadioStage};
use beamhand::link::{LinkTone, Trim};
use beamhand::session::{Command, KeptTrim, Output, Phase, SentTone};
use beamhand::terms::{Hertz, later, parse_time};

use super::bench::{Bench, engages, ordered_tone, said};

/// A minute after AOS, with the radio following and its access tone set.
fn in_the_pass() -> Bench {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.tick();
    bench.radio_is(RadioStage::Following, None);
    bench.transmitter_is("67.0", Some(false));
    bench.now = later(bench.job.span.from, 60.0);
    bench.tick();
    assert_eq!(bench.session.phase(), Phase::Following);
    bench
}

/// The same with the arming tone set in the radio.
fn armed() -> Bench {
    let mut bench = in_the_pass();
    let outputs = bench.command(Command::Tone(LinkTone::Arming)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(744)));
    assert_eq!(said(&outputs), "the arming tone 74.4 Hz is being set: wait for it before you press your key");
    assert!(bench.tick().is_empty(), "the radio has not set it yet");
    bench.transmitter_is("74.4", Some(false));
    let by = later(bench.now, 30.0).format("%H:%M:%S");
    let set = format!(
        "the arming tone 74.4 Hz is set: press your key for two seconds; 67.0 Hz comes back after your \
         over, or at {by} UTC"
    );
    assert_eq!(said(&bench.tick()), set);
    assert!(bench.why().contains(&set), "{}", bench.why());
    bench
}

#[test]
fn the_arming_tone_is_set_and_the_access_tone_comes_back_after_the_over() {
    let mut bench = armed();
    bench.now = later(bench.now, 4.0);
    bench.transmitter_is("74.4", Some(true));
    assert!(bench.tick().is_empty());
    assert!(bench.why().contains("you transmit: 67.0 Hz comes back after your over"), "{}", bench.why());
    bench.now = later(bench.now, 2.0);
    bench.transmitter_is("74.4", None);
    assert!(bench.tick().is_empty(), "a state that is not known is no end of an over");
    bench.transmitter_is("74.4", Some(false));
    let outputs = bench.tick();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(670)));
    assert_eq!(said(&outputs), "the radio gets 67.0 Hz again: your over has ended");
    assert_eq!(bench.session.tone(), None);
}

#[test]
fn without_an_over_the_access_tone_comes_back_after_half_a_minute() {
    let mut bench = armed();
    let set = bench.now;
    let wanted = |tone: SentTone| (tone.which, tone.set, tone.until);
    assert_eq!(bench.session.tone().map(wanted), Some((LinkTone::Arming, true, Some(later(set, 30.0)))));
    bench.now = later(set, 29.9);
    assert!(bench.tick().is_empty());
    bench.now = later(set, 30.1);
    let outputs = bench.tick();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(670)));
    assert_eq!(said(&outputs), "the radio gets 67.0 Hz again: its time is up");
}

#[test]
fn a_step_of_the_clock_does_not_keep_the_arming_tone() {
    let mut bench = armed();
    bench.step_clock(-100.0);
    bench.now = later(bench.now, 30.1);
    assert_eq!(ordered_tone(&bench.tick(), bench.now), Some(Some(670)));
}

#[test]
fn an_over_that_does_not_end_keeps_the_arming_tone_for_three_minutes_at_most() {
    let mut bench = armed();
    let set = bench.now;
    bench.transmitter_is("74.4", Some(true));
    bench.now = later(set, 179.0);
    assert!(bench.tick().is_empty());
    bench.now = later(set, 181.0);
    assert_eq!(ordered_tone(&bench.tick(), bench.now), Some(Some(670)));
}

#[test]
fn the_access_tone_is_back_before_los() {
    let mut bench = in_the_pass();
    bench.now = later(bench.job.span.until, -20.0);
    bench.command(Command::Tone(LinkTone::Arming)).unwrap();
    bench.transmitter_is("74.4", Some(false));
    bench.tick();
    bench.now = later(bench.job.span.until, -4.9);
    assert_eq!(ordered_tone(&bench.tick(), bench.now), Some(Some(670)));
    let refusal = bench.command(Command::Tone(LinkTone::Arming)).err().unwrap();
    assert!(refusal.contains("about to set"), "{refusal}");
}

#[test]
fn the_operator_takes_the_arming_tone_back_at_once() {
    let mut bench = armed();
    let outputs = bench.command(Command::Tone(LinkTone::Access)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(670)));
    assert_eq!(said(&outputs), "the radio gets 67.0 Hz again");
    let outputs = bench.command(Command::Tone(LinkTone::Access)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), None);
    assert_eq!(said(&outputs), "67.0 Hz is the tone already");
}

#[test]
fn no_tone_stays_until_it_is_taken_back() {
    let mut bench = in_the_pass();
    let outputs = bench.command(Command::Tone(LinkTone::Off)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(None));
    bench.transmitter_is("", Some(false));
    assert_eq!(said(&bench.tick()), "no tone is set");
    bench.now = later(bench.now, 200.0);
    assert!(bench.tick().is_empty());
    let outputs = bench.command(Command::Tone(LinkTone::Access)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(670)));
}

#[test]
fn a_tone_that_the_radio_does_not_take_is_said_and_the_access_tone_stays() {
    for (late, why) in [(false, "not accepted (?;)"), (true, "in the time")] {
        let mut bench = in_the_pass();
        bench.command(Command::Tone(LinkTone::Arming)).unwrap();
        if late {
            bench.now = later(bench.now, 30.1);
        } else if let Detail::Radio(view) = &mut bench.radio.detail {
            view.notes.push(Note { what: "tone 74.4 Hz".to_owned(), why: why.to_owned() });
        }
        let outputs = bench.tick();
        let said = said(&outputs);
        assert!(said.starts_with("the arming tone 74.4 Hz was not set: ") && said.contains(why), "{said}");
        assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(670)));
    }
}

#[test]
fn the_arming_tone_is_refused_with_the_reason() {
    let refusal = |bench: &mut Bench| bench.command(Command::Tone(LinkTone::Arming)).err().unwrap();
    let mut bench = Bench::new();
    assert!(refusal(&mut bench).contains("no session is running"));
    bench.start().unwrap();
    assert!(refusal(&mut bench).contains("not prepared yet; preparation starts"));

    let mut bench = in_the_pass();
    bench.transmitter_is("67.0", Some(true));
    assert!(refusal(&mut bench).contains("let go of the key first"));
    bench.transmitter_is("67.0", Some(false));
    bench.radio.contact = Contact::Bad("no answer".to_owned());
    assert!(refusal(&mut bench).contains("does not answer"));

    let mut bench = Bench::without_tones("rig can't be given a tone");
    bench.until_read();
    assert!(refusal(&mut bench).contains("rig can't be given a tone"));

    let mut bench = Bench::of("GANNET-1", Some("beacon"));
    bench.until_read();
    assert!(refusal(&mut bench).contains("GANNET-1 beacon has no uplink"));
    let mut bench = Bench::of("PETREL-1", None);
    bench.until_read();
    assert!(refusal(&mut bench).contains("PETREL-1 repeater has no arming tone"));
}

#[test]
fn a_session_that_ends_armed_says_when_the_tone_stays_on_the_radio() {
    for restores in [true, false] {
        let mut bench = if restores { Bench::new() } else { Bench::that_leaves_the_radio() };
        bench.until_read();
        bench.radio_is(RadioStage::Following, None);
        bench.command(Command::Tone(LinkTone::Arming)).unwrap();
        let outputs = bench.command(Command::Stop).unwrap();
        assert_eq!(said(&outputs).contains("74.4 Hz stays on the radio"), !restores);
        assert_eq!(bench.session.tone(), None);
    }
}

#[test]
fn a_session_begins_with_the_trim_that_was_kept_and_says_so_while_it_is_in_force() {
    let mut bench = Bench::new();
    let trim = Trim { receive: Hertz(500), transmit: Hertz(-200) };
    let on = parse_time("2026-11-21T20:00:00Z").unwrap();
    bench.job = bench.job.with_kept(KeptTrim { trim, on });
    let words = "trim receive +500 Hz, transmit -200 Hz as kept on 21 Nov";
    assert!(said(&bench.start().unwrap()).contains(words));
    assert_eq!(bench.session.trim(), trim);
    assert!(bench.why().contains(words));
    bench.command(Command::Trim(Trim::default())).unwrap();
    assert!(!bench.why().contains("as kept"));
}

#[test]
fn a_trim_leaves_the_arming_tone_and_the_tone_leaves_the_trim() {
    let mut bench = armed();
    let trim = Trim { receive: Hertz(300), transmit: Hertz(0) };
    let outputs = bench.command(Command::Trim(trim)).unwrap();
    assert_eq!(ordered_tone(&outputs, bench.now), Some(Some(744)));
    bench.command(Command::Tone(LinkTone::Access)).unwrap();
    assert_eq!(bench.session.trim(), trim);
}

#[test]
fn a_radio_that_is_in_use_is_left_alone_until_it_is_free_if_so_wished() {
    let mut bench = Bench::new();
    bench.job.when_free = true;
    bench.start().unwrap();
    bench.now = later(bench.job.prepare_at, 1.0);
    bench.somebody_uses_the_radio(Some("its dial was turned by hand 2 min ago"));
    let outputs = bench.tick();
    assert!(!engages(&outputs));
    let left_alone = "left alone: radio is in use: its dial was turned by hand 2 min ago";
    assert_eq!(said(&outputs), format!("GANNET-1 repeater: {left_alone}"));
    assert_eq!(bench.session.phase(), Phase::Waiting);
    assert!(bench.why().contains(left_alone), "{}", bench.why());
    bench.somebody_uses_the_radio(Some("its dial was turned by hand 3 min ago"));
    assert!(bench.tick().is_empty(), "it is said once");
    bench.somebody_uses_the_radio(None);
    let outputs = bench.tick();
    assert!(engages(&outputs) && said(&outputs).contains("the radio is free; preparing"));
}

#[test]
fn a_pass_that_ends_while_the_radio_is_in_use_is_said_to_have_been_left_alone() {
    let mut bench = Bench::new();
    bench.job.when_free = true;
    bench.start().unwrap();
    bench.somebody_uses_the_radio(Some("it is transmitting"));
    bench.now = later(bench.job.span.until, -1.0);
    bench.tick();
    bench.now = later(bench.now, 2.0);
    let outputs = bench.tick();
    assert!(said(&outputs).contains("the pass is over; it was left alone"), "{}", said(&outputs));
    assert_eq!(bench.session.phase(), Phase::Idle);
    assert!(!outputs.iter().any(|output| matches!(output, Output::Radio(..))), "nothing was given back");
}

#[test]
fn a_plain_start_takes_a_radio_that_is_in_use() {
    let mut bench = Bench::new();
    bench.now = bench.job.prepare_at;
    bench.somebody_uses_the_radio(Some("it is transmitting"));
    assert!(engages(&bench.start().unwrap()));
    bench.job.when_free = true;
    assert!(bench.start().err().unwrap().contains("a session holds the radio"));
}

#[test]
fn a_pass_that_waits_for_a_free_radio_waits_for_one_that_is_given_back_too() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.command(Command::Stop).unwrap();
    bench.radio_is(RadioStage::GivingBack, None);
    bench.job.when_free = true;
    assert!(!engages(&bench.start().unwrap()));
    assert!(!engages(&bench.tick()));
    bench.radio_is(RadioStage::Idle, None);
    assert!(engages(&bench.tick()));
}

#[test]
fn stop_says_what_it_ends_and_what_it_gives_up() {
    let mut bench = in_the_pass();
    let outputs = bench.command(Command::Stop).unwrap();
    let stopped = said(&outputs);
    assert!(stopped.starts_with("GANNET-1 repeater: stopped by the operator, "), "{stopped}");
    assert!(stopped.contains(" before LOS"), "{stopped}");
    assert!(outputs.iter().any(|output| matches!(output, Output::Radio(0, RadioOrder::GiveBack(_)))));
    assert_eq!(said(&bench.command(Command::Stop).unwrap()), "the session is ending already");
    let mut later_pass = bench.job.clone();
    later_pass.prepare_at = later(bench.now, 3600.0);
    later_pass.span.until = later(bench.now, 4000.0);
    bench.command(Command::Start(Box::new(later_pass))).unwrap();
    assert_eq!(said(&bench.command(Command::Stop).unwrap()), "GANNET-1 repeater given up");
}

#[test]
fn the_same_pass_taken_again_gives_nothing_up() {
    let mut bench = in_the_pass();
    assert!(!said(&bench.start().unwrap()).contains("given up"));
}

#[test]
fn before_aos_the_arming_tone_waits_for_the_satellite_and_its_time_counts_from_aos() {
    let mut bench = Bench::new();
    bench.until_read();
    bench.session.saved(1);
    bench.tick();
    bench.radio_is(RadioStage::Following, None);
    bench.transmitter_is("67.0", Some(false));
    let aos = bench.job.span.from;
    bench.now = later(aos, -60.0);
    bench.command(Command::Tone(LinkTone::Arming)).unwrap();
    bench.transmitter_is("74.4", Some(false));
    let (rises, by) = (aos.format("%H:%M:%S"), later(aos, 30.0).format("%H:%M:%S"));
    let words = format!(
        "the arming tone 74.4 Hz is set, but the satellite is not up yet: press your key for two seconds \
         after AOS at {rises} UTC; 67.0 Hz comes back after your over, or at {by} UTC"
    );
    let told = said(&bench.tick());
    assert!(told.contains(&words), "{told}");
    // Nobody up there hears this over.
    for transmitting in [true, false] {
        bench.now = later(bench.now, 10.0);
        bench.transmitter_is("74.4", Some(transmitting));
        assert_eq!(ordered_tone(&bench.tick(), bench.now), None);
    }
    bench.now = later(aos, 1.0);
    bench.tick();
    assert!(bench.why().contains("is set: press your key for two seconds;"), "{}", bench.why());
    bench.now = later(aos, 29.9);
    assert_eq!(ordered_tone(&bench.tick(), bench.now), None);
    bench.now = later(aos, 30.1);
    assert_eq!(ordered_tone(&bench.tick(), bench.now), Some(Some(670)));
}

#[test]
fn an_over_does_not_end_because_a_reading_is_late() {
    for (unknown_for, is_over) in [(0.4, false), (2.9, false), (3.1, true)] {
        let mut bench = armed();
        bench.now = later(bench.now, 29.0);
        bench.transmitter_is("74.4", Some(true));
        bench.tick();
        // Its half minute is up two seconds into the over.
        bench.now = later(bench.now, 2.0);
        assert!(bench.tick().is_empty());
        bench.transmitter_is("74.4", None);
        bench.now = later(bench.now, unknown_for);
        let back = ordered_tone(&bench.tick(), bench.now).is_some();
        assert_eq!(back, is_over, "{unknown_for}");
    }
}
