//! `beamhand guide`.

use std::process::Stdio;
use std::time::{Duration, Instant};

use nix::errno::Errno;
use nix::sys::signal::{Signal, kill};
use nix::unistd::Pid;

use crate::program::{Home, beamhand};

#[test]
fn the_demos_pass_is_told_from_before_it_rises_until_it_has_set() {
    let ran = beamhand(&["guide", "GANNET-1", "--demo", "--speed", "400"]);
    ran.assert_fits_the_screen();
    let told: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("REHEARSAL")).collect();
    assert!((10..60).contains(&told.len()), "{}", ran.out);
    let all = ran.out.replace('\n', " ");
    for wanted in [
        "CAUTION: look for power lines",
        "rises in two minutes",
        "Face ",
        "Channel one.",
        "Channel three.",
        "Highest now.",
        "Sets in one minute",
        "It has set.",
        "Twist the beam",
    ] {
        assert!(all.contains(wanted), "no {wanted:?} in {}", ran.out);
    }
    assert!(!ran.out.contains('\u{7}'));
}

#[test]
fn degrees_and_the_bell_come_if_they_are_wished_for() {
    let ran = beamhand(&["guide", "GANNET-1", "--demo", "--speed", "800", "--degrees", "--bell"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.contains(" degrees, raise to ") && !ran.out.contains("palm"), "{}", ran.out);
    assert!(ran.out.matches('\u{7}').count() > 10);
}

#[test]
fn each_sentence_is_piped_to_a_command_and_one_that_hangs_holds_nothing_up() {
    let home = Home::empty();
    let voice = home.file("voice", "#!/bin/sh\nread sentence\necho \"$sentence\" >> heard\n");
    let spoken = home.file("my voice", "#!/bin/sh\nread sentence\necho \"$1 $sentence\" >> \"$2\"\n");
    let run = |command: &str, speed: &str| {
        home.run(&["guide", "GANNET-1", "--demo", "--speed", speed, "--say", command])
    };
    let ran = run(&format!("/bin/sh {voice}"), "100");
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let heard = std::fs::read_to_string(home.path().join("heard")).unwrap();
    assert!(heard.contains("It has set.") && heard.lines().count() > 5, "{heard}");
    let ran = run(&format!("/bin/sh '{spoken}' 'Now: ' \"what was heard\""), "400");
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let heard = std::fs::read_to_string(home.path().join("what was heard")).unwrap();
    assert!(heard.lines().all(|line| line.starts_with("Now:  ")), "{heard}");
    let begun = Instant::now();
    let ran = run("/bin/sleep 600", "400");
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.contains("It has set."), "{}", ran.out);
    assert!(ran.err.contains("it was ended after 8 seconds"), "{}", ran.err);
    assert!(begun.elapsed().as_secs() < 40, "{:?}", begun.elapsed());
    let ran = run("/no/such/voice", "800");
    assert_eq!(ran.code, Some(0), "the sentences are still shown");
    assert_eq!(ran.err.matches("/no/such/voice").count(), 1, "{}", ran.err);
}

#[test]
fn a_link_without_channels_is_guided_without_them() {
    let ran = beamhand(&["guide", "TERN-1", "--demo", "--speed", "800"]);
    ran.assert_fits_the_screen();
    assert!(ran.out.contains("No channels are told") && !ran.out.contains("Channel "), "{}", ran.out);
    beamhand(&["guide", "AUK-7", "--demo"]).assert_refused(1, &["AUK-7", "GANNET-1"]);
    beamhand(&["guide", "GANNET-1", "--demo", "--say", " "]).assert_refused(2, &["--say"]);
    beamhand(&["guide", "GANNET-1", "--demo", "--say", "my 'voice"])
        .assert_refused(2, &["quote", "my 'voice"]);
}

#[test]
fn an_interrupt_ends_the_voice_too() {
    let home = Home::empty();
    let voice = home.file("voice", "#!/bin/sh\nread sentence\necho $$ > speaks\nexec sleep 600\n");
    let say = format!("/bin/sh {voice}");
    let mut command = home.command(&["guide", "GANNET-1", "--demo", "--speed", "10", "--say", &say]);
    let child = command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
    let speaks = home.path().join("speaks");
    let begun = Instant::now();
    let pid = loop {
        let told = std::fs::read_to_string(&speaks).ok().filter(|told| told.ends_with('\n'));
        if let Some(told) = told {
            break told.trim().parse().unwrap();
        }
        assert!(begun.elapsed().as_secs() < 60, "nothing was said");
        std::thread::sleep(Duration::from_millis(20));
    };
    kill(Pid::from_raw(child.id() as i32), Signal::SIGINT).unwrap();
    let ended = child.wait_with_output().unwrap();
    assert_eq!(ended.status.code(), Some(0), "{ended:?}");
    assert!(String::from_utf8(ended.stderr).unwrap().is_empty());
    assert_eq!(kill(Pid::from_raw(pid), None), Err(Errno::ESRCH), "the voice goes on");
}
