//! What a user may rely on who writes a dialect of their own.

// The helpers of tests may fail loudly too; the lint knows only the tests themselves.
#![allow(clippy::unwrap_used)]

use std::path::{Path, PathBuf};

use beamhand::config::{Config, ConfigErrors, DefaultPaths};
use beamhand::device::Values;
use beamhand::terms::{Hertz, Mode};
use tempfile::TempDir;

const STATION: &str = "format = 1\n[station]\nlatitude = 54\nlongitude = -2.5\n";

/// A configuration and the folder of dialects beside it.
struct Home(TempDir);

impl Home {
    fn with(dialects: &[(&str, &str)]) -> Self {
        let home = Self(tempfile::tempdir().unwrap());
        std::fs::create_dir(home.path("dialects")).unwrap();
        for (name, text) in dialects {
            std::fs::write(home.file(name), text).unwrap();
        }
        home
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn file(&self, dialect: &str) -> PathBuf {
        self.path("dialects").join(format!("{dialect}.toml"))
    }

    /// Checks the station with this equipment.
    fn load(&self, equipment: &str) -> Result<Config, ConfigErrors> {
        Config::parse(&self.path("beamhand.toml"), &format!("{STATION}{equipment}"), &DefaultPaths::system())
    }

    /// The errors' lines with the folder's name taken off.
    fn errors(&self, equipment: &str) -> Vec<String> {
        let folder = format!("{}/", self.0.path().display());
        let errors = self.load(equipment).err();
        errors
            .iter()
            .flat_map(ConfigErrors::iter)
            .map(|error| error.to_string().replace(&folder, ""))
            .collect()
    }
}

fn radio(dialect: &str) -> String {
    format!("[[radio]]\nname = \"a\"\nport = \"/dev/a\"\nuse = \"receive\"\ndialect = \"{dialect}\"\n")
}

/// The bytes of a frequency command of the configuration's radio.
fn tuning(config: &Config) -> String {
    let line = &config.radios[0].line;
    let said = line.dialect.exchange("do.hz", &Values::of_hertz(Hertz(145_950_000)), None).unwrap();
    String::from_utf8_lossy(said.frames().next().unwrap()).into_owned()
}

#[test]
fn a_file_of_the_users_is_the_dialect_of_its_name() {
    let home = Home::with(&[("mine", "base = \"semicolon-eleven\"\nline.baud = 57600\n")]);
    let config = home.load(&radio("mine")).unwrap();
    let line = &config.radios[0].line;
    assert_eq!((line.dialect.name(), line.dialect.line().baud), ("mine", 57_600));
    assert_eq!(line.dialect.root(), Some("semicolon-eleven"));
    assert_eq!(line.dialect_file, Some(home.file("mine")));
    assert_eq!(tuning(&config), "FA00145950000;");
    let shown = config.describe();
    let file = home.file("mine");
    assert!(shown.contains(&format!("mine is your own, {}", file.display())), "{shown}");
    assert!(shown.contains("built on the built-in semicolon-eleven"), "{shown}");
}

#[test]
fn a_file_named_like_a_built_in_one_stands_before_it_and_may_build_on_it() {
    let home = Home::with(&[("semicolon-nine", "base = \"semicolon-nine\"\ndo.hz = \"FC{hz:dec9};\"\n")]);
    assert_eq!(tuning(&home.load(&radio("semicolon-nine")).unwrap()), "FC145950000;");
    assert_eq!(tuning(&home.load(&radio("semicolon-eleven")).unwrap()), "FA00145950000;");
}

#[test]
fn a_file_may_build_on_another_one_of_the_users() {
    let home = Home::with(&[
        ("first", "base = \"second\"\ndo.hz = \"FA{hz:dec11};\"\n"),
        ("second", "base = \"semicolon-nine\"\nstep_hz = 100\ntable.mode = { fm = \"9\" }\n"),
        ("semicolon-nine", "base = \"semicolon-nine\"\nline.baud = 38400\n"),
    ]);
    let config = home.load(&radio("first")).unwrap();
    let dialect = &config.radios[0].line.dialect;
    assert_eq!(tuning(&config), "FA00145950000;");
    assert_eq!(
        (dialect.step(), dialect.line().baud, dialect.root()),
        (Hertz(100), 38_400, Some("semicolon-nine"))
    );
    let mode = dialect.exchange("do.mode", &Values::of_mode(Mode::Fm), None).unwrap();
    assert_eq!(mode.frames().next().unwrap(), b"MD09;");
}

#[test]
fn a_language_of_ones_own_family_line_and_all_needs_no_base() {
    let text = "family = \"semicolon\"\nline = { baud = 4800 }\n[do]\nhz = \"QF{hz/10:dec8};\"\n";
    let home = Home::with(&[("own", text)]);
    let config = home.load(&radio("own")).unwrap();
    assert_eq!(tuning(&config), "QF14595000;");
    assert_eq!(config.radios[0].line.dialect.root(), None);
}

#[test]
fn bases_that_go_round_in_a_circle_are_named() {
    let home = Home::with(&[("a", "base = \"b\"\n"), ("b", "line.baud = 4800\nbase = \"a\"\n")]);
    assert_eq!(
        home.errors(&radio("a")),
        ["dialects/b.toml:2:1: base goes round in a circle: a builds on b builds on a"]
    );
    let home = Home::with(&[("a", "base = \"a\"\n")]);
    assert_eq!(home.errors(&radio("a")), ["dialects/a.toml:1:1: base goes round in a circle: a builds on a"]);
    let home = Home::with(&[("a", "base = \"b\"\n")]);
    let unknown = &home.errors(&radio("a"))[0];
    assert!(
        unknown.starts_with("dialects/a.toml:1:1: no dialect \"b\"; one of semicolon-eleven, "),
        "{unknown}"
    );
}

/// `d0`, which builds on `d1`, and so on; the last one builds on a built-in dialect.
fn chain(files: usize) -> Home {
    let name = |i| if i < files { format!("d{i}") } else { "semicolon-nine".to_owned() };
    let texts: Vec<_> = (0..files).map(|i| (name(i), format!("base = \"{}\"\n", name(i + 1)))).collect();
    Home::with(&texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect::<Vec<_>>())
}

#[test]
fn eight_files_may_build_on_each_other_and_the_chain_of_more_is_named() {
    assert_eq!(tuning(&chain(8).load(&radio("d0")).unwrap()), "FA145950000;");
    assert_eq!(
        chain(9).errors(&radio("d0")),
        [
            "dialects/d7.toml:1:1: at most 8 files may build on each other: d0 builds on d1 builds on d2 builds on d3 \
          builds on d4 builds on d5 builds on d6 builds on d7 builds on d8"
        ]
    );
}

// Each file was read twice for the one above it: a chain of 40 would have taken hours.
#[test]
fn a_long_chain_is_refused_at_once() {
    let began = std::time::Instant::now();
    assert_eq!(chain(40).errors(&radio("d0")).len(), 1);
    assert!(began.elapsed() < std::time::Duration::from_secs(60));
}

#[test]
fn faults_are_errors_of_the_configuration_with_their_file_line_and_column() {
    let home = Home::with(&[("mine", "base = \"five-byte\"\nsteps = 1\n[do]\nhz = \"{hz/10:bcd4} 08\"\n")]);
    let errors = home.errors(&format!("{}colour = 1\n", radio("mine")));
    assert!(errors[0].starts_with("beamhand.toml:10:1: unknown key `colour`"), "{errors:#?}");
    assert_eq!(
        errors[1..],
        [
            "dialects/mine.toml:2:1: unknown key \"steps\"",
            "dialects/mine.toml:4:1: do.hz: 08 keys the transmitter"
        ]
    );
    std::fs::write(home.file("mine"), "base = \"five-byte\"\n[do]\nhz = \"{hz/10:bcd4} 08\"\n").unwrap();
    assert_eq!(home.errors(&radio("mine")), ["dialects/mine.toml:3:1: do.hz: 08 keys the transmitter"]);
    std::fs::write(home.file("mine"), "base = \n").unwrap();
    assert!(home.errors(&radio("mine"))[0].starts_with("dialects/mine.toml:1:"));
}

#[test]
fn a_fault_of_a_base_is_reported_in_the_bases_file() {
    let home = Home::with(&[("mine", "base = \"other\"\n"), ("other", "base = \"w-lines\"\n\nstep = 1\n")]);
    assert_eq!(home.errors(&radio("mine")), ["dialects/other.toml:3:1: unknown key \"step\""]);
}

#[test]
fn two_radios_of_one_faulty_dialect_report_it_once() {
    let home = Home::with(&[("mine", "base = \"semicolon-eleven\"\nstep = 1\n")]);
    let second = radio("mine").replace("\"a\"", "\"b\"").replace("/dev/a", "/dev/b");
    let errors = home.errors(&(radio("mine") + &second.replace("receive", "transmit")));
    assert_eq!(errors, ["dialects/mine.toml:2:1: unknown key \"step\""]);
}

#[test]
fn a_file_that_no_device_names_harms_nothing() {
    let home = Home::with(&[("broken", "base = \n"), ("notes", "")]);
    std::fs::write(home.path("dialects").join("README"), "words").unwrap();
    assert!(home.load(&radio("semicolon-eleven")).is_ok());
}

#[test]
fn a_name_that_is_almost_that_of_an_own_file_finds_it() {
    let home = Home::with(&[("shack-radio", "base = \"semicolon-eleven\"\n")]);
    let errors = home.errors(&radio("shack-rado"));
    assert!(errors[0].contains("nearest: shack-radio; accepted: semicolon-eleven"), "{errors:#?}");
    assert!(errors[0].ends_with(", shack-radio"), "{errors:#?}");
}

#[test]
fn a_folder_may_be_missing_unless_it_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let home = Home(folder);
    assert!(home.load(&radio("five-byte")).is_ok());
    let errors = home.errors("[files]\ndialects = \"tongues\"\n");
    assert_eq!(
        errors,
        ["beamhand.toml:6:1: the folder tongues can't be read: No such file or directory (os error 2)"]
    );
    std::fs::create_dir(home.path("tongues")).unwrap();
    std::fs::write(home.path("tongues").join("mine.toml"), "base = \"five-byte\"\n").unwrap();
    let equipment = format!("[files]\ndialects = \"tongues\"\n{}", radio("mine"));
    assert_eq!(home.load(&equipment).unwrap().radios[0].line.dialect.name(), "mine");
}

#[test]
fn what_is_no_regular_file_is_refused_where_it_is_used() {
    let home = Home::with(&[("mine", "base = \"pipe\"\n")]);
    let pipe = home.file("pipe");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    std::fs::create_dir(home.file("folder")).unwrap();
    std::os::unix::fs::symlink("/dev/zero", home.file("endless")).unwrap();
    std::fs::write(home.file("large"), "#".repeat((64 << 10) + 1)).unwrap();
    std::fs::write(home.file("bytes"), b"base = \"\xFF\"\n").unwrap();
    for (dialect, error) in [
        ("pipe", "dialects/pipe.toml: is a named pipe, not a file"),
        ("mine", "dialects/pipe.toml: is a named pipe, not a file"),
        ("folder", "dialects/folder.toml: is a folder, not a file"),
        ("endless", "dialects/endless.toml: is a device, not a file"),
        ("large", "dialects/large.toml: is larger than 64 KiB"),
        ("bytes", "dialects/bytes.toml:1:9: the bytes from here on are not UTF-8"),
    ] {
        assert_eq!(home.errors(&radio(dialect)), [error]);
    }
    assert!(home.load(&radio("five-byte")).is_ok());
}

/// Each is refused at a place, soon, and by nothing but a message.
#[test]
fn no_shape_of_a_file_is_too_much() {
    let began = std::time::Instant::now();
    let many = |text: &str| text.repeat(15_000);
    let base = "base = \"semicolon-eleven\"\n";
    for (text, place) in [
        (format!("{}a = 1\n", many("a.")), "1:"),
        (format!("[{}a]\n", many("a.")), "1:"),
        (format!("{base}do.hz = {}{}\n", many("["), many("]")), "2:"),
        (format!("{base}do = {}1{}\n", many("{a="), many("}")), "2:"),
        (format!("{base}do.hz = \"FA{{hz{}:dec11}};\"\n", many("+1-1")), "2:4: "),
        (format!("{base}step_hz = 1{}\n", many("0")), "2:1: "),
        (format!("{base}line.baud = 1{}.5e999\n", many("0")), "2:6: "),
        (format!("{base}table.mode.fm = \"{}\"\n", many("4")), "2:"),
        (format!("\u{feff}{base}colour = 1\r\n"), "2:1: unknown key"),
        (format!("{base}do.quiet = \"AI0;\"\rcolour = 1\n"), "2:"),
    ] {
        let home = Home::with(&[("mine", &text)]);
        let errors = home.errors(&radio("mine"));
        let own = format!("dialects/mine.toml:{place}");
        assert!(errors.iter().any(|error| error.starts_with(&own)), "{place}: {errors:.300?}");
    }
    assert!(began.elapsed() < std::time::Duration::from_secs(20));
}

#[test]
fn a_dialect_of_ones_own_must_fit_its_device_too() {
    let home =
        Home::with(&[("mast", "base = \"w-lines\"\n"), ("dumb", "base = \"five-byte\"\ndo.hz = false\n")]);
    assert!(home.errors(&radio("mast"))[0].starts_with("beamhand.toml:9:1: `mast` is a rotator's language"));
    let dumb = &home.errors(&radio("dumb"))[0];
    assert!(dumb.starts_with("beamhand.toml:9:1: `dumb` has no command for a frequency"), "{dumb}");
    let rotator = "[rotator]\nname = \"m\"\nport = \"/dev/m\"\ndialect = \"mast\"\n";
    assert_eq!(
        home.load(rotator).unwrap().rotator.unwrap().line.dialect_file.as_deref(),
        Some(Path::new(&home.file("mast")))
    );
}

#[test]
fn an_address_in_the_dialects_file_is_the_radios() {
    let home = Home::with(&[("bus", "base = \"fe-frames\"\naddress = 0x5A\n")]);
    let config = home.load(&radio("bus")).unwrap();
    let said = config.radios[0].line.dialect.exchange("ask.hz", &Values::new(), None).unwrap();
    assert_eq!(said.frames().next().unwrap(), [0xFE, 0xFE, 0x5A, 0xE0, 0x03, 0xFD]);
}
