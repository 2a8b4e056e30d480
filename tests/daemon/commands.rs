//! Programs of the user's own that run at moments of a pass. They never run as root: where the
//! tests do, the daemon is made somebody else.

use std::fs::read_to_string;
use std::os::unix::fs::{MetadataExt as _, chown};
use std::os::unix::process::CommandExt as _;
use std::path::Path;

use beamhand::control::State;
use beamhand::terms::{Direction, later};
use chrono::Utc;

use crate::patience::{let_pass, until};
use crate::process::Daemon;
use crate::station::Station;

/// A user that owns nothing.
const SOMEBODY: u32 = 65_534;

fn is_root(station: &Station) -> bool {
    station.path("beamhand.toml").metadata().unwrap().uid() == 0
}

/// In mid-pass, with these commands; `FOLDER` in them is the station's.
fn station(commands: &str) -> Station {
    let station = Station::with(&|config| config, later(Utc::now(), 60.0));
    let file = station.path("beamhand.toml");
    let commands = commands.replace("FOLDER", station.path("").to_str().unwrap());
    std::fs::write(&file, read_to_string(&file).unwrap() + &commands).unwrap();
    station
}

/// A daemon that is not root's.
fn run(station: &Station) -> Daemon {
    let mut command = station.command(&["run"]);
    if is_root(station) {
        let inside = std::fs::read_dir(station.path("")).unwrap().map(|entry| entry.unwrap().path());
        for path in inside.chain([station.path("")]) {
            // Of a port the device itself, through its name.
            chown(path, Some(SOMEBODY), Some(SOMEBODY)).unwrap();
        }
        command.uid(SOMEBODY).gid(SOMEBODY);
    }
    Daemon::start(command, &station.path(""))
}

fn shell(at: &str, script: &str, limit_s: u32) -> String {
    format!(
        "[[agenda.command]]\nat = \"{at}\"\nrun = [\"/bin/sh\", \"-c\", \"{script}\"]\nlimit_s = {limit_s}\n"
    )
}

fn has_written(path: &Path) -> bool {
    read_to_string(path).is_ok_and(|text| text.ends_with("end\n"))
}

#[test]
fn a_command_runs_at_aos_and_at_the_end_and_is_told_of_the_pass_and_nothing_else() {
    let write =
        |to: &str| format!("env > FOLDER/{to}; ls -l /proc/self/fd >> FOLDER/{to}; echo end >> FOLDER/{to}");
    let station = station(&(shell("aos", &write("aos"), 10) + &shell("los", &write("los"), 10)));
    let _daemon = run(&station);
    station.work();
    until(5.0, "the command has run", || has_written(&station.path("aos")));
    let told = read_to_string(station.path("aos")).unwrap();
    for line in ["BEAMHAND_SATELLITE=GANNET-1", "BEAMHAND_LINK=repeater", "BEAMHAND_MOMENT=aos"] {
        assert!(told.lines().any(|own| own == line), "{line}: {told}");
    }
    assert!(!told.contains("HOME=") && !told.contains("NOTIFY_SOCKET"), "{told}");
    for device in ["radio", "mast"] {
        let port = station.path(device).canonicalize().unwrap();
        assert!(
            !told.contains(&format!("-> {}\n", port.display())),
            "{device}'s line is handed down: {told}"
        );
    }
    assert!(!station.path("los").exists());
    station.say(&["stop"]).assert_done();
    until(5.0, "the session's end is told", || has_written(&station.path("los")));
}

#[test]
fn commands_that_fail_hang_or_flood_disturb_nothing() {
    let commands = [
        "[[agenda.command]]\nat = \"aos\"\nrun = [\"/no/such/program\"]\n".to_owned(),
        shell("aos", "echo no microphone; exit 7", 5),
        shell("aos", "trap '' TERM; while :; do sleep 1; done", 1),
        shell("aos", "while :; do echo flood; done", 3),
    ];
    let station = station(&commands.concat());
    let daemon = run(&station);
    station.work();
    for _ in 0..20 {
        let off = station.off(Direction::Receive, Utc::now()).unwrap();
        assert!(off < 60.0, "{off} Hz off");
        let_pass(0.2);
    }
    let log = || read_to_string(station.path("log")).unwrap();
    until(5.0, "the hanging one is ended", || log().contains("its time limit was over"));
    let log = log();
    assert!(log.contains("/no/such/program can't be started: "), "{log}");
    assert!(log.contains("/bin/sh failed: exit status: 7; it said: no microphone"), "{log}");
    assert!(log.len() < 20_000, "{} bytes of log", log.len());
    assert_eq!(station.status().state, State::Following);
    drop(daemon);
}

#[test]
fn a_daemon_that_ends_leaves_no_command_running() {
    let station = station(&shell("aos", "echo $$ > FOLDER/pid; echo end >> FOLDER/pid; sleep 1000", 1000));
    let mut daemon = run(&station);
    station.work();
    until(5.0, "the command runs", || has_written(&station.path("pid")));
    let pid = read_to_string(station.path("pid")).unwrap().lines().next().unwrap().to_owned();
    let running = || Path::new(&format!("/proc/{pid}/cmdline")).exists();
    assert!(running());
    daemon.signal("TERM");
    assert_eq!(daemon.wait().0.code(), Some(0));
    until(2.0, "the command has ended", || !running());
}

#[test]
fn no_command_runs_as_root() {
    let station = station(&shell("aos", "echo end > FOLDER/aos", 5));
    if !is_root(&station) {
        println!("left out: this is not root");
        return;
    }
    let _daemon = station.run();
    station.work();
    let log = || read_to_string(station.path("log")).unwrap();
    until(5.0, "it is said", || log().contains("/bin/sh is not started: the daemon runs as root"));
    assert!(!station.path("aos").exists());
}
