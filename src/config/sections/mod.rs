//! One function a section of the configuration; here the whole, the equipment beside.

mod agenda;
mod equipment;
pub(super) mod link;
mod listening;
mod station;
mod topology;

use std::io;
use std::path::{Path, PathBuf};

use super::defaults;
use super::dialects::Dialects;
use super::document::kind::{Kind, choice, flag, format, frequency, number, path, web_address, word};
use super::document::{Section, refuse_repeated};
use super::paths::DefaultPaths;
use super::settings::{Config, Control, Files, Record, Session, Texts};
use crate::almanac::Source;
use crate::clock::TrustPolicy;
use crate::terms::{Segment, Segments};

/// How a folder of dialects is read.
pub(super) type ReadFolder<'r> = &'r dyn Fn(&Path) -> io::Result<Dialects>;

/// Reads a configuration, or all of it but the equipment where no folder of dialects is to be read; `None`
/// only where an error was reported.
pub(super) fn config(
    mut root: Section<'_>,
    file: &Path,
    paths: &DefaultPaths,
    read_folder: Option<ReadFolder<'_>>,
) -> Option<Config> {
    root.required("format", &format());
    let station = station::station(root.section("station", "[station]"));
    let no_folder = |_: &Path| Ok(Dialects::built_in());
    let folder = read_folder.unwrap_or(&no_folder);
    let files = files(root.section("files", "[files]"), paths, folder);
    let sources = sources(root.section("elements", "[elements]"));
    let transmit = transmit(root.section("transmit", "[transmit]"));
    let clock = clock(root.section("clock", "[clock]"));
    let control = control(root.section("control", "[control]"), paths);
    let session = session(root.section("session", "[session]"));
    let record = record(root.section("record", "[record]"));
    let contact_log = contacts(root.section("contacts", "[contacts]"));
    let agenda = agenda::agenda(root.section("agenda", "[agenda]"));
    let listening = listening::listening(root.section("listening", "[listening]"));
    let dialects = files.as_ref().map_or_else(Dialects::built_in, |(_, dialects)| dialects.clone());
    let (radios, rotator) = match read_folder {
        Some(_) => topology::equipment(&mut root, &dialects),
        None => {
            root.know(["radio", "rotator"]);
            (Vec::new(), None)
        }
    };
    root.finish();
    let (file, (files, _)) = (file.to_owned(), files?);
    Some(Config {
        file,
        station: station?,
        files,
        sources,
        transmit,
        clock,
        control,
        session,
        agenda,
        listening,
        record,
        contact_log,
        radios,
        rotator,
        texts: Texts { dialects: dialects.readable(), ..Texts::default() },
    })
}

/// `[files]`, and the dialects in the folder that it names; `None` only where that was reported.
pub(super) fn files(
    mut files: Section<'_>,
    paths: &DefaultPaths,
    read_folder: ReadFolder<'_>,
) -> Option<(Files, Dialects)> {
    let folder = files.folder();
    let elements = files.one_or_more("elements", &path(folder));
    let satellites = files.or("satellites", &path(folder), folder.join(defaults::SATELLITES));
    let state = files.or("state", &path(folder), paths.state.clone());
    let dialects = files.or("dialects", &path(folder), folder.join(defaults::DIALECTS));
    let earth_orientation = files.optional("earth_orientation", &path(folder));
    files.finish();
    let elements_named = elements.is_some();
    let elements = elements.unwrap_or_else(|| vec![folder.join(defaults::ELEMENTS)]);
    let own = match read_folder(&dialects) {
        Err(error) if error.kind() == io::ErrorKind::NotFound && !files.has("dialects") => {
            Dialects::built_in()
        }
        Err(error) => {
            files.refuse("dialects", format!("the folder {} can't be read: {error}", dialects.display()));
            return None;
        }
        Ok(own) => own,
    };
    Some((Files { elements, elements_named, satellites, dialects, state, earth_orientation }, own))
}

/// `[contacts]`.
fn contacts(mut contacts: Section<'_>) -> Option<PathBuf> {
    let log = contacts.optional("log", &path(contacts.folder()));
    contacts.finish();
    log
}

/// `[[elements.source]]`.
fn sources(mut elements: Section<'_>) -> Vec<Source> {
    let mut heads = elements.sections("source", "[[elements.source]]");
    elements.finish();
    let source = |head: &mut Section<'_>| {
        let (name, url) = (head.required("name", &word()), head.required("url", &web_address()));
        head.finish();
        Some(Source { name: name?, url: url? })
    };
    let sources: Vec<Option<Source>> = heads.iter_mut().map(source).collect();
    refuse_repeated(&heads, &sources, "name", |source| source.name.to_lowercase());
    sources.into_iter().flatten().collect()
}

fn transmit(mut transmit: Section<'_>) -> Segments {
    let segments = transmit.sections("segments", "{ from = HZ, to = HZ }");
    transmit.finish();
    Segments::new(segments.into_iter().filter_map(segment).collect())
}

fn segment(mut segment: Section<'_>) -> Option<Segment> {
    let (from, to) = (segment.required("from", &frequency()), segment.required("to", &frequency()));
    segment.finish();
    let (from, to) = (from?, to?);
    if from > to {
        segment.refuse("to", format!("`to` ({to}) is below `from` ({from})"));
    }
    Some(Segment { from, to })
}

fn clock(mut clock: Section<'_>) -> TrustPolicy {
    let default = defaults::clock();
    let policy = TrustPolicy {
        always: clock.or("trust", &choice(&[("kernel", false), ("always", true)]), default.always),
        error_limit_s: clock.or("error_limit_s", &number(0.001..=10.0, "seconds"), default.error_limit_s),
        drift: clock.or("drift_ppm", &number(0.0..=1000.0, "ppm"), default.drift * 1e6) * 1e-6,
    };
    clock.finish();
    policy
}

fn control(mut control: Section<'_>, paths: &DefaultPaths) -> Control {
    let settings = Control {
        socket: control.or("socket", &path(control.folder()), paths.socket.clone()),
        mode: control.or("mode", &socket_mode(), defaults::SOCKET_MODE),
        group: control.optional("group", &word()),
    };
    control.finish();
    settings
}

/// Octal digits, as `chmod` takes them. The owner, who is the daemon, always may.
fn socket_mode() -> Kind<u32> {
    word().map("octal permissions in quotes, \"0600\" to \"0666\"", |text| {
        let digits = text.len() <= 4 && text.bytes().all(|digit| digit.is_ascii_digit());
        let mode = u32::from_str_radix(&text, 8).ok().filter(|_| digits)?;
        (mode & !0o666 == 0 && mode & 0o600 == 0o600).then_some(mode)
    })
}

fn session(mut session: Section<'_>) -> Session {
    let default = defaults::SESSION;
    let before = number(10.0..=1800.0, "seconds");
    let settings = Session {
        prepare_before_s: session.or("prepare_before_s", &before, default.prepare_before_s),
        park_after: session.or("park_after", &flag(), default.park_after),
        restore_radio: session.or("restore_radio", &flag(), default.restore_radio),
        arming_s: session.or("arming_s", &number(5.0..=180.0, "seconds"), default.arming_s),
    };
    session.finish();
    settings
}

fn record(mut record: Section<'_>) -> Record {
    let default = defaults::RECORD;
    let megabytes = || number(0.1..=1000.0, "megabytes");
    let settings = Record {
        enabled: record.or("enabled", &flag(), default.enabled),
        session_mb: record.or("session_mb", &megabytes(), default.session_mb),
        total_mb: record.or("total_mb", &megabytes(), default.total_mb),
    };
    if settings.total_mb < settings.session_mb {
        record.refuse("total_mb", "`total_mb` is less than `session_mb`: not even one record would fit");
    }
    record.finish();
    settings
}
